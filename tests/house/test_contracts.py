"""Imports look down, and the tools that read the code find nothing: import-linter, ruff, mypy."""

import os
import pathlib
import subprocess
import sys
import tomllib

import pytest

from tests.house.tree import ROOT, SRC, short

Done = subprocess.CompletedProcess[str]
ROOMS = [
    "cli",
    "web",
    "api",
    "log",
    "papers",
    "plan",
    "notice",
    "trace",
    "fault",
    "reach",
    "radio",
    "power",
    "copper",
    "model",
]


def settings() -> dict[str, object]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]


def contracts(existing: set[str]) -> str:
    """The contracts of pyproject.toml without the rooms that do not exist yet (import-linter refuses those)."""
    text = ["[importlinter]", f"root_package = {settings()['root_package']}"]
    for number, contract in enumerate(settings()["contracts"]):
        kept = {key: value for key, value in contract.items() if key != "id"}
        if contract["type"] == "forbidden":
            for key in ("source_modules", "forbidden_modules"):
                kept[key] = [name for name in contract[key] if name.removeprefix("pullstring.") in existing]
            if not kept["source_modules"] or not kept["forbidden_modules"]:
                continue
        text.append(f"[importlinter:contract:{number}]")
        for key, value in kept.items():
            lines = "".join(f"\n    {one}" for one in value) if isinstance(value, list) else f" {value}"
            text.append(f"{key} ={lines}")
    return "\n".join(text) + "\n"


def lint(source: pathlib.Path, folder: pathlib.Path) -> Done:
    package = source / "pullstring"
    modules = {file.relative_to(package).as_posix() for file in package.rglob("*.py")}
    existing = {room for room in ROOMS if modules & {f"{room}.py", f"{room}/__init__.py"}}
    config = folder / "contracts.ini"
    config.write_text(contracts(existing), "utf-8")
    words = ["-c", "from importlinter.cli import lint_imports_command as lint; lint()"]
    return tool(*words, "--no-cache", str(config), cwd=folder, path=source)


def tool(*words: str, cwd: pathlib.Path = ROOT, path: pathlib.Path = SRC.parent) -> Done:
    env = dict(os.environ, NO_COLOR="1", PYTHONPATH=str(path))
    return subprocess.run([sys.executable, *words], cwd=cwd, env=env, capture_output=True, text=True)


def planted(folder: pathlib.Path, **code: str) -> pathlib.Path:
    """A whole house of empty rooms with some code in them."""
    for room in {*ROOMS, *code}:
        home = folder / "src" / "pullstring" / room
        home.mkdir(parents=True)
        (home / "__init__.py").write_text(code.get(room, ""), "utf-8")
    (folder / "src" / "pullstring" / "__init__.py").write_text("", "utf-8")
    return folder / "src"


ALLOWED = {
    "cli": "import pullstring.api",
    "api": "import pullstring.plan, pullstring.papers, pullstring.log",
    "plan": "import pullstring.trace, pullstring.copper",
    "papers": "import pullstring.model",
    "log": "import pullstring.model",
}
FORBIDDEN = [
    ("model", "import pullstring.copper", "only downwards"),
    ("copper", "import pullstring.power", "only downwards"),
    ("trace", "import pullstring.notice", "only downwards"),
    ("radio", "import pullstring.reach", "only downwards"),
    ("web", "import pullstring.cli", "only downwards"),
    ("papers", "import pullstring.log", "only downwards"),
    ("papers", "import pullstring.power", "papers imports no law"),
    ("papers", "import pullstring.plan", "papers imports no law"),
    ("cli", "import pullstring.copper", "only through api"),
    ("web", "import pullstring.fault", "only through api"),
    ("log", "import pullstring.copper", "log imports only model"),
    ("utils", "", "every child of every container"),
]


def test_contracts__the_allowed_house_stands(tmp_path):
    done = lint(planted(tmp_path, **ALLOWED), tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Contracts: 4 kept, 0 broken" in done.stdout


@pytest.mark.parametrize(("room", "code", "says"), FORBIDDEN)
def test_contracts__a_planted_import_is_found(room, code, says, tmp_path):
    done = lint(planted(tmp_path, **{**ALLOWED, room: code}), tmp_path)
    assert done.returncode == 1, done.stdout + done.stderr
    broken = done.stdout.partition("Broken contracts")[2]
    assert says in broken


def test_contracts__see_every_folder():
    folders = {file.parent for file in SRC.rglob("*.py")}
    assert SRC in folders
    assert [short(folder) for folder in folders if not (folder / "__init__.py").exists()] == []


def test_contracts__hold_in_the_program(tmp_path):
    done = lint(SRC.parent, tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken" in done.stdout


def test_ruff__finds_nothing():
    done = tool("-m", "ruff", "check", "--quiet", "src", "tests", "run.py")
    assert done.returncode == 0, done.stdout + done.stderr


def test_mypy__strict_finds_nothing():
    done = tool("-m", "mypy", "--strict", "src")
    assert done.returncode == 0, done.stdout + done.stderr

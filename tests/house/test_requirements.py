"""The pinned lists: no addresses, a hash for every pin, the tests' list agrees with the program's."""

import re
import tomllib

import pytest

from tests.house.tree import ROOT

LISTS = ("run.txt", "dev.txt")
_PIN = re.compile(r"^(?P<name>[a-z0-9._-]+)==(?P<version>[^ ;\\]+)(?: ; (?P<when>[^\\]+?))? \\$", re.MULTILINE)


def pins(name: str) -> dict[tuple[str, str], str]:
    """Version by package; where a package is pinned twice, for old and new Pythons, by its condition as well."""
    found = [match.group("name", "when", "version") for match in _PIN.finditer(text(name))]
    names = [package for package, _, _ in found]
    return {(package, when if names.count(package) > 1 else ""): version for package, when, version in found}


def text(name: str) -> str:
    return (ROOT / "requirements" / name).read_text("utf-8")


def project() -> dict[str, object]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def bare(requirement: str) -> str:
    return re.split(r"[\[<>=!~ ;]", requirement, maxsplit=1)[0].lower()


@pytest.mark.parametrize("name", LISTS)
def test_list__holds_no_address(name):
    assert "://" not in text(name)
    assert "--index" not in text(name) and "--find-links" not in text(name)


@pytest.mark.parametrize("name", LISTS)
def test_list__every_pin_has_a_hash(name):
    blocks = [block for block in re.split(r"^(?=\S)", text(name), flags=re.MULTILINE) if block.strip()]
    assert len(blocks) >= 20
    assert [block.splitlines()[0] for block in blocks if "--hash=sha256:" not in block] == []
    assert len(blocks) == len(pins(name))


def test_dev_list__takes_the_same_versions_as_the_run_list():
    run, dev = pins("run.txt"), pins("dev.txt")
    shared = run.keys() & dev.keys()
    assert ("rich", "") in shared  # import-linter and the program both use it: there is something to check
    assert {key: (run[key], dev[key]) for key in shared if run[key] != dev[key]} == {}
    # A package pinned once in one list and twice in the other would slip through the comparison above.
    assert {name for name, _ in run} & {name for name, _ in dev} == {name for name, _ in shared}


def test_run_list__covers_what_pyproject_asks_for():
    asked = project()["project"]["dependencies"] + project()["build-system"]["requires"]
    assert {bare(one) for one in asked} - {name for name, _ in pins("run.txt")} == set()


def test_dev_list__covers_what_pyproject_asks_for():
    asked = project()["dependency-groups"]["dev"]
    assert {bare(one) for one in asked} - {name for name, _ in pins("dev.txt")} == set()


def test_run_list__holds_no_test_package():
    tests_only = {"pytest", "hypothesis", "mypy", "ruff", "playwright", "import-linter", "coverage"}
    assert {name for name, _ in pins("run.txt")} & tests_only == set()


def test_build_group__is_what_the_build_back_end_asks_for():
    assert project()["dependency-groups"]["build"] == project()["build-system"]["requires"]


def test_lock_of_another_tool__is_not_kept():
    assert "uv.lock" in (ROOT / ".gitignore").read_text("utf-8").split()

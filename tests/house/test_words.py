"""Words that may not stand in the program: the demo property, machine paths, registries, words not for users."""

import re

import pytest

from tests.house.tree import ROOT, SRC, short

TEXT = {".py", ".toml", ".md", ".sh", ".txt", ".csv", ".js", ".mjs", ".css", ".html", ".j2", ".typ", ".json", ""}
FOLDERS = ("src", "tests", "tools", "requirements", "docs", "bench", ".ci")
# Letters in brackets keep this file from finding itself.
DEMO = re.compile(r"three[\s_-]*lamp[s]|ostrewic[k]|vennmoo[r]|\bTL[H]\b|\bM00[1-9]\b|\bM[12]0\d\b|\bBX[1-9]\b", re.I)
MACHINE = re.compile(r"(?<![\w.])/(work|root|home)/\w|\bshare[d]/(?:facts|look|reference|demo|[A-Z])|\\User[s]\\")
REGISTRY = re.compile(r"\bpyp[i]\b|python[h]osted|npm[j]s|registry\.np[m]|crates\.i[o]", re.I)
UNFINISHED = re.compile(r"\b(TOD[O]|FIXM[E]|XX[X]|HAC[K])\b|lorem ipsu[m]")
NOT_FOR_USERS = re.compile(r"\b(posterior|closure|sentinel|bits|events?|schema)\b", re.I)
EVERYWHERE = {"a machine path": MACHINE, "a registry": REGISTRY, "unfinished": UNFINISHED}


def written_files():
    top = [file for file in ROOT.iterdir() if file.is_file() and file.suffix in TEXT - {""}]
    inner = [file for name in FOLDERS for file in (ROOT / name).rglob("*") if file.is_file()]
    files = [file for file in [*top, *inner] if file.suffix in TEXT and "__pycache__" not in file.parts]
    return sorted(file for file in files if not file.name.startswith(".coverage"))


def is_demo_data(file) -> bool:
    """Tables and texts of the built-in property; its Python is not data."""
    return "demo" in file.relative_to(SRC).parts[:-1] and (file.suffix != ".py" or file.parent.name == "demo")


def hits(pattern: re.Pattern[str], text: str) -> list[str]:
    lines = text.splitlines()
    return [f"{number}: {line.strip()}" for number, line in enumerate(lines, 1) if pattern.search(line)]


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (DEMO, "Three Lamp" + "s House"),
        (DEMO, "three_lamp" + "s"),
        (DEMO, "room == 'M00" + "4'"),
        (MACHINE, "open('/wor" + "k/x')"),
        (MACHINE, "see share" + "d/facts"),
        (REGISTRY, "from py" + "pi"),
        (UNFINISHED, "# TO" + "DO"),
        (NOT_FOR_USERS, "the posterior odds"),
    ],
)
def test_check_itself__finds(pattern, line):
    assert hits(pattern, line) == [f"1: {line}"]


@pytest.mark.parametrize(
    ("pattern", "line"),
    [(MACHINE, "site/work/done"), (DEMO, "three lights"), (NOT_FOR_USERS, "a bit of wire, prevented")],
)
def test_check_itself__lets_pass(pattern, line):
    assert hits(pattern, line) == []


@pytest.mark.parametrize("what", EVERYWHERE)
def test_everywhere__no(what):
    files = written_files()
    assert len(files) > 20
    found = {short(file): hits(EVERYWHERE[what], file.read_text("utf-8")) for file in files}
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_program__no_demo_tag_or_place():
    files = [file for file in written_files() if SRC in file.parents and not is_demo_data(file)]
    assert files
    found = {short(file): hits(DEMO, file.read_text("utf-8")) for file in files}
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_pages__no_word_that_is_not_for_users():
    """The sentences of terminal, page and paper; the answer's own field name is written in quotes and allowed."""
    files = [file for file in (SRC / "papers").rglob("words*.py")]
    files += [file for file in SRC.rglob("*") if file.suffix in {".j2", ".html", ".typ"}]
    found = {short(file): hits(NOT_FOR_USERS, file.read_text("utf-8").replace('"schema"', "")) for file in files}
    assert {name: lines for name, lines in found.items() if lines} == {}

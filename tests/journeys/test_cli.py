"""From the shell: what a person types, sees, and what a wrong request leaves behind."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from pullstring.cli import VERBS
from tests.journeys.sites import make, packaged, write


def run(*args: str | Path, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pullstring", *map(str, args)],
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "120", **env},
        timeout=120,
        check=False,
    )


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_help__lists_the_verbs_that_work() -> None:
    text = run("--help").stdout
    assert all(f"\n  {verb} " in text for verb in VERBS)
    for verb in VERBS:
        assert run(verb, "--help").returncode == 0


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


def test_new_import_add_export__the_way_a_person_types_it(tmp_path: Path) -> None:
    tables, path = write(tmp_path / "t", packaged("two_rooms")), tmp_path / "kc.site"
    assert run("new", path, "--code", "KC").returncode == 0
    assert "85 statements would be entered" in run("import", path, tables, "--dry").stdout
    assert "85 statements entered" in run("import", path, tables).stdout
    assert "0 statements entered, 85 were in the record already" in run("import", path, tables).stdout
    assert run("add", path, "ends", "end=E3", "found=loose, taped", "grade=seen").returncode == 0
    assert "loose, taped" in run("site", path, "--why", "E3.found").stdout
    assert run("export", path, tmp_path / "out").returncode == 0
    assert "loose, taped" in (tmp_path / "out" / "ends.csv").read_text()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("runs", "SITE", "E99"), "there is nothing tagged 'E99'"),
        (("runs", "SITE", "--as-of", "yesterday"), "'yesterday' is no date"),
        (("site", "SITE", "--today", "2026-02-30"), "is no day"),
        (("add", "SITE", "endz", "end=E1"), "there is no table 'endz'; did you mean ends?"),
        (("add", "SITE", "ends", "end=E1", "cable=C9"), "there is no cable 'C9'"),
        (("add", "SITE", "ends", "E1"), "is no cell"),
        (("add", "SITE", "units", "unit=U1", "password=x"), "never stands here in plain"),
        (("print", "SITE", "OUT", "--floor", "Q7"), "there is no floor 'Q7'"),
        (("import", "SITE", "OUT"), "there is no such folder"),
        (("frobnicate", "SITE"), "No such command"),
    ],
)
def test_wrong_request__one_sentence_exit_2_file_untouched(
    site: Path,
    tmp_path: Path,
    args: tuple[str, ...],
    words: str,
) -> None:
    before = digest(site)
    done = run(*(str(site) if a == "SITE" else str(tmp_path / "nowhere") if a == "OUT" else a for a in args))
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert digest(site) == before


@pytest.mark.parametrize("content", [b"", b"not a record", b"SQLite format 3\0" + b"\0" * 200, b"\xff" * 5000])
def test_strange_file__one_sentence_exit_2_untouched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "odd.site"
    path.write_bytes(content)
    done = run("site", path)
    assert (done.returncode, path.read_bytes()) == (2, content)
    assert len(done.stderr.strip().splitlines()) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["odd.site"]


def test_faults__all_at_once_and_nothing_entered(site: Path, tmp_path: Path) -> None:
    before = digest(site)
    folder = write(
        tmp_path / "bad",
        {
            "cables": [
                {"cable": "C1", "jacket": "cat5ee", "length_m": "zwölf", "pairs": "4.5"},
                {"cable": "", "jacket": "cat6", "length_m": "3 bananas", "pairs": ""},
            ],
            "ends": [{"end": "E1", "pluged": "U1.1", "at": "03/11/26", "grade": "sure"}],
        },
    )
    done = run("import", site, folder)
    assert done.returncode == 2
    for words in (
        "cables.csv row 2, column jacket",
        "did you mean cat5e?",
        "column length_m: 'zwölf' is no number",
        "'4.5' is no whole number",
        "row 3, column cable: this cell is blank",
        "'bananas' is no unit of length",
        "did you mean plugged?",
        "column at: '03/11/26' is no date",
        "'sure' is not one of",
    ):
        assert words in done.stderr, words
    assert digest(site) == before


def test_strict__exit_1_when_something_goes_dark(site: Path) -> None:
    assert run("if-cut", site, "switch:W1", "--strict").returncode == 1
    assert run("if-cut", site, "switch:W1").returncode == 0


def test_json__one_object_that_names_its_entries(site: Path) -> None:
    said = json.loads(run("runs", site, "E1", "--json").stdout)
    assert set(said) == {
        "schema",
        "verb",
        "site",
        "as_of",
        "known_by",
        "rules",
        "answer",
        "because",
        "assumed",
        "problems",
        "cautions",
        "ask",
    }
    assert said["because"]

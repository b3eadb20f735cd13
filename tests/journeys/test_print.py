"""The verb `print`: all papers of a house into a folder, and nothing half written that passes for new."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pullstring import api
from pullstring.cli.group import program
from tests.journeys.printed import flat, pages
from tests.journeys.sites import ASKED, make, packaged

TODAY = ["--today", ASKED.today]


@pytest.fixture(scope="module")
def cottage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("cottage"), packaged("two_rooms"))


def printed(site: Path, folder: Path, *options: str) -> Path:
    assert program(["print", str(site), str(folder), *TODAY, *options]) == 0
    return folder


@pytest.fixture(scope="module")
def whole(cottage: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return printed(cottage, tmp_path_factory.mktemp("out") / "papers")


def test_print__all_papers_and_an_index_that_leads_to_each(whole: Path) -> None:
    names = {p.name for p in whole.iterdir()}
    assert {
        "index.html", "first_page.pdf", "first_page.html", "book.pdf", "closet.pdf", "closet_1.svg", "riser.svg", "riser.pdf",
        "labels_ends_a4.pdf", "labels_ends_tape12.pdf", "tables.xlsx", "blanks.pdf",
    } <= names  # fmt: skip
    index = (whole / "index.html").read_text(encoding="utf-8")
    assert set(re.findall(r'<a href="([^"]+)"', index)) == names - {"index.html"}
    assert "10 March 2026" in index and "From an earlier print" not in index


def test_print__only_what_is_named(cottage: Path, tmp_path: Path) -> None:
    made = printed(cottage, tmp_path / "a", "--only", "first", "--only", "tables")
    assert {p.name for p in made.iterdir()} == {"first_page.pdf", "first_page.html", "tables.xlsx", "index.html"}
    one = printed(cottage, tmp_path / "b", "--for", "ends")
    assert {p.name for p in one.iterdir()} == {"blanks.pdf", "index.html"}
    tape = printed(cottage, tmp_path / "c", "--tape", "24", "--labels", "ends")
    assert {p.name for p in tape.iterdir()} == {"labels_ends_tape24.pdf", "index.html"}


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--floor", "Z9"), "there is no floor 'Z9' to draw"),
        (("--for", "spoons"), "there is no blank sheet 'spoons'; there are ends,"),
        (("--sheet", "a4", "--tape", "12"), "name one of --tape and --sheet"),
        (("--labels", "spoons"), "there are no such labels"),
        (("--sheet", "9x9"), "this is no sheet"),
    ],
)
def test_print__a_wrong_wish_is_a_sentence_and_nothing_is_written(
    options: tuple[str, ...], words: str, cottage: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert program(["print", str(cottage), str(tmp_path / "out"), *TODAY, *options]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_print__progress_never_goes_back(cottage: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed(cottage, tmp_path / "a")
    told = [int(n) for n in re.findall(r"^ *(\d+) % ", capsys.readouterr().err, re.MULTILINE)]
    assert told == sorted(told) and told[-1] == 100 and len(told) > 8


def test_print__papers_of_an_earlier_print_are_named_as_such_and_others_left_alone(
    cottage: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "book.pdf").write_bytes(b"old")
    (folder / "my notes.pdf").write_bytes(b"mine")
    printed(cottage, folder, "--only", "first")
    index = (folder / "index.html").read_text(encoding="utf-8")
    before, after = index.split("From an earlier print")
    assert 'href="book.pdf"' in after and 'href="book.pdf"' not in before
    assert 'href="first_page.pdf"' in before
    assert "my notes.pdf" not in index and (folder / "my notes.pdf").read_bytes() == b"mine"


def test_print__stopped_in_the_middle_leaves_no_index_and_no_old_file_of_a_new_name(
    cottage: Path, tmp_path: Path
) -> None:
    """A folder in the place of the third file stops the writing there, as a full disk would."""
    folder = printed(cottage, tmp_path / "out", "--only", "first", "--only", "tables", "--only", "blanks")
    was = (folder / "blanks.pdf").read_bytes()
    (folder / "tables.xlsx").unlink()
    (folder / "tables.xlsx.part").mkdir()
    asked = ["print", str(cottage), str(folder), "--today", "2026-05-05"]
    assert program([*asked, "--only", "first", "--only", "tables", "--only", "blanks"]) == 2
    left = {p.name for p in folder.iterdir()}
    assert "index.html" not in left and "blanks.pdf" not in left and was
    assert "5 May 2026" in flat(pages(folder / "first_page.pdf")[0])


def test_print__no_answer_no_change(cottage: Path, tmp_path: Path) -> None:
    folder = printed(cottage, tmp_path / "out", "--only", "first")
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    assert program(["print", str(cottage), str(folder), "--as-of", "never"]) == 2
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_print__same_bytes_in_another_folder_zone_and_tongue(cottage: Path, tmp_path: Path, whole: Path) -> None:
    far = tmp_path / "far away" / "größer"
    env = {**os.environ, "TZ": "Asia/Tokyo", "LC_ALL": "C", "PYTHONHASHSEED": "77"}
    command = [sys.executable, "-m", "pullstring", "print", str(cottage), str(far), *TODAY]
    subprocess.run(command, check=True, capture_output=True, env=env, timeout=120, cwd=tmp_path)
    names = sorted(p.name for p in whole.iterdir())
    assert sorted(p.name for p in far.iterdir()) == names
    assert [n for n in names if (far / n).read_bytes() != (whole / n).read_bytes()] == []


def test_first__loads_no_numbers_and_no_shapes(cottage: Path, tmp_path: Path) -> None:
    """The first page must not wait for what only laws of copper and drawings need."""
    code = (
        "import sys; from pullstring.cli.group import program; "
        f"assert program(['print', {str(cottage)!r}, {str(tmp_path / 'o')!r}, '--only', 'first']) == 0; "
        "print(sorted({'numpy', 'shapely', 'cryptography', 'xlsxwriter', 'segno'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.splitlines()[-1] == "[]"


def test_print__site_file_is_only_read(cottage: Path, whole: Path) -> None:
    before = cottage.read_bytes()
    api.sheet(cottage, ASKED)
    assert cottage.read_bytes() == before and whole.is_dir()

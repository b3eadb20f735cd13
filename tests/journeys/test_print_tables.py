"""The workbook: the same words as the book, texts never formulas, same bytes, ready to filter and to print."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook

from pullstring import api
from pullstring.cli.group import program
from tests.journeys.sites import ASKED, Rows, make, packaged

TODAY = ["--today", ASKED.today]
SHEETS = ["cable schedule", "ends", "outlets", "port table", "power by port", "next tests"]


def tables(site: Path, folder: Path) -> Path:
    assert program(["print", str(site), str(folder), *TODAY, "--only", "tables"]) == 0
    return folder / "tables.xlsx"


@pytest.fixture(scope="module")
def inn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("inn"), packaged("three_lamps/1_arrival"), code="IN")


@pytest.fixture(scope="module")
def book(inn: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tables(inn, tmp_path_factory.mktemp("out"))


def parts(path: Path) -> dict[str, str]:
    with zipfile.ZipFile(path) as held:
        return {n: held.read(n).decode() for n in held.namelist()}


def test_tables__one_row_for_each_thing_of_the_record(inn: Path, book: Path) -> None:
    read = CalamineWorkbook.from_path(str(book))
    assert read.sheet_names == SHEETS
    site = api.load(inn, ASKED)
    rows = {name: read.get_sheet_by_name(name).to_python() for name in SHEETS}
    assert [r[0] for r in rows["ends"][1:]] == [e.ref.tag for e in site.of_kind("end")]
    assert [r[0] for r in rows["outlets"][1:]] == [o.ref.tag for o in site.of_kind("outlet")]
    assert [r[0] for r in rows["port table"][1:]] == [p.ref.tag for p in site.of_kind("port")]
    runs = api.runs(inn, ASKED).answer["runs"]
    assert [(r[0], r[1]) for r in rows["cable schedule"][1:]] == [(r["end"], ", ".join(r["cables"])) for r in runs]
    assert all(cell != "" and "None" not in str(cell) for name in SHEETS for row in rows[name] for cell in row)


def test_tables__head_frozen_filter_and_pages(book: Path) -> None:
    """ECMA-376: paper 9 is A4; the printed head is a name of the sheet; a pane frozen below row 1."""
    held = parts(book)
    sheets = [text for name, text in held.items() if name.startswith("xl/worksheets/sheet")]
    assert len(sheets) == len(SHEETS)
    for text in sheets:
        assert re.search(r'<pane [^>]*ySplit="1"[^>]*state="frozen"', text)
        assert "<autoFilter " in text and 'paperSize="9"' in text and 'orientation="landscape"' in text
    assert held["xl/workbook.xml"].count("_xlnm.Print_Titles") == len(SHEETS)


def test_tables__texts_are_texts(tmp_path: Path) -> None:
    rows: Rows = {
        "property": [{"property": "FX", "name": "=1+1"}],
        "ends": [
            {"end": "E1", "found": "=1+1", "label": "@SUM(A1)"},
            {"end": "E2", "found": "+4 -3", "label": "http://x"},
        ],
    }
    path = tables(make(tmp_path, rows, code="FX"), tmp_path / "out")
    held = parts(path)
    assert not any("<f>" in text or "<hyperlink" in text for text in held.values())
    ends = CalamineWorkbook.from_path(str(path)).get_sheet_by_name("ends").to_python()
    assert ends[1][7] == "=1+1; @SUM(A1)" and ends[2][7] == "+4 -3; http://x"


def test_tables__dated_by_the_day_it_tells_of_and_the_same_bytes_again(inn: Path, book: Path, tmp_path: Path) -> None:
    assert f"{ASKED.today}T00:00:00Z</dcterms:created>" in parts(book)["docProps/core.xml"]
    assert tables(inn, tmp_path / "again").read_bytes() == book.read_bytes()


def test_tables__empty_house(tmp_path: Path) -> None:
    path = tables(make(tmp_path, {"property": [{"property": "NO", "name": "Nothing"}]}, code="NO"), tmp_path / "out")
    assert CalamineWorkbook.from_path(str(path)).sheet_names == SHEETS

"""Workbooks in and out: what a cell says by its type, what the reader must be told, and what may not be lost."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from python_calamine import CalamineWorkbook

from pullstring.log.refusals import RecordError
from pullstring.log.workbook import Book, column_letters, number_cell, read_workbook
from pullstring.log.workbook_out import write_workbook


def book(path: Path, fill: Callable[[Any, Any], None], *names: str) -> Book:
    """A workbook filled by hand, read."""
    made = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False})
    for name in names or ("rooms",):
        fill(made, made.add_worksheet(name))
    made.close()
    return read_workbook(path)


def test_cells__each_type_as_a_text(tmp_path: Path) -> None:
    """Expected texts are what a person would type for the same thing."""

    def fill(made: Any, sheet: Any) -> None:
        day, clock, span = (made.add_format({"num_format": f}) for f in ("yyyy-mm-dd", "hh:mm", "[h]:mm"))
        unit = made.add_format({"num_format": '0.0 "dB"'})
        sheet.write_string(1, 1, "name")
        sheet.write_number(2, 1, 3)
        sheet.write_number(3, 1, 0.1 + 0.2)
        sheet.write_number(4, 1, 1e-7)
        sheet.write_boolean(5, 1, True)
        sheet.write_datetime(6, 1, dt.datetime(2026, 3, 3), day)
        sheet.write_datetime(7, 1, dt.time(8, 30), clock)
        sheet.write_datetime(8, 1, dt.timedelta(hours=26, minutes=5), span)
        sheet.write_string(9, 1, "=1+1")
        sheet.write_formula(11, 1, "=1+2", None, 3)
        sheet.write_number(12, 1, 7.5, unit)
        sheet.write_string(13, 1, "a\r\nb _x0041_ #REF!")

    (sheet,) = book(tmp_path / "b.xlsx", fill).sheets
    assert {n: cells[1] for n, cells in sheet.rows} == {
        2: "name", 3: "3", 4: "0.3", 5: "1e-07", 6: "yes", 7: "2026-03-03", 8: "08:30", 9: "26:05", 10: "=1+1",
        12: "3", 13: "7.5", 14: "a\r\nb _x0041_ #REF!",
    }  # fmt: skip


def test_errors_and_formulas_without_result__named_by_their_cell(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        sheet.write_row(0, 0, ["room", "name"])
        sheet.write_formula(1, 1, "=1/0", None, "#DIV/0!")
        sheet.write_formula(2, 0, "=A9", None, "")
        sheet.write_string(3, 0, "R1")

    read = book(tmp_path / "b.xlsx", fill)
    said = [(f.row, f.says) for f in read.faults]
    assert [row for row, _ in said] == [2, 3]
    assert (
        "cell B2 holds the error #DIV/0!" in said[0][1]
        and "cell A3 holds a formula that was never worked out" in said[1][1]
    )


def test_moments__midnight_is_the_day_and_any_other_is_asked_for_its_offset(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        moment = made.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        sheet.write_row(0, 0, ["room", "at"])
        sheet.write_datetime(1, 1, dt.datetime(2026, 3, 3, 0, 0), moment)
        sheet.write_datetime(2, 1, dt.datetime(2026, 3, 3, 14, 5), moment)

    read = book(tmp_path / "b.xlsx", fill)
    assert read.sheets[0].rows[1] == (2, ("", "2026-03-03"))
    (fault,) = read.faults
    assert fault.row == 3 and "cell B3" in fault.says and "2026-03-03T14:05+01:00" in fault.says


def test_merged_cells__below_the_names_count_for_each_row_and_a_merged_title_for_none(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        sheet.merge_range(0, 0, 0, 1, "room")
        sheet.write_string(0, 2, "floor")
        sheet.merge_range(1, 2, 3, 2, "F0")
        for row in (1, 2, 3):
            sheet.write_string(row, 0, f"R{row}")
        sheet.merge_range(4, 0, 4, 1, "R4")

    read = book(tmp_path / "b.xlsx", fill)
    assert [cells for _, cells in read.sheets[0].rows[1:]] == [
        ("R1", "", "F0"),
        ("R2", "", "F0"),
        ("R3", "", "F0"),
        ("R4", "", ""),
    ]
    assert read.said == (("merged", ("b.xlsx, sheet rooms", "C2:C4")),)


def test_cell_far_away__refused_before_it_is_held(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        sheet.write_string(0, 0, "room")
        sheet.write_string(1048575, 16383, "stray")

    (fault,) = book(tmp_path / "b.xlsx", fill).faults
    assert "column XFD and row 1048576" in fault.says


def test_blank_cell_far_away_with_a_colour__is_nothing(tmp_path: Path) -> None:
    def fill(made: Any, sheet: Any) -> None:
        sheet.write_row(0, 0, ["room", "name"])
        sheet.write_row(1, 0, ["R1", "Hall"])
        sheet.write_blank(1048575, 16383, None, made.add_format({"bg_color": "yellow"}))

    read = book(tmp_path / "b.xlsx", fill)
    assert read.faults == () and [n for n, _ in read.sheets[0].rows] == [1, 2]


@pytest.mark.parametrize("cut", [0, 1, 4, 100, 0.3, 0.9])
def test_broken_file__is_a_sentence(tmp_path: Path, cut: float) -> None:
    book(tmp_path / "b.xlsx", lambda made, sheet: sheet.write_string(0, 0, "room"))
    data = (tmp_path / "b.xlsx").read_bytes()
    (tmp_path / "c.xlsx").write_bytes(data[: cut if isinstance(cut, int) else int(cut * len(data))])
    (fault,) = read_workbook(tmp_path / "c.xlsx").faults
    assert fault.file == "c.xlsx" and ("save" in fault.says)


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"])
def test_broken_part__is_a_sentence_and_never_an_empty_table(tmp_path: Path, part: str) -> None:
    book(tmp_path / "b.xlsx", lambda made, sheet: sheet.write_column(0, 0, ["room", "R1"]))
    with zipfile.ZipFile(tmp_path / "b.xlsx") as old, zipfile.ZipFile(tmp_path / "c.xlsx", "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name)[: old.getinfo(name).file_size // 2 if name == part else None])
    read = read_workbook(tmp_path / "c.xlsx")
    assert read.faults and read.sheets == ()


def test_zip_that_is_no_workbook(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "c.xlsx", "w") as other:
        other.writestr("readme.txt", "words")
    assert "no workbook" in read_workbook(tmp_path / "c.xlsx").faults[0].says


def written(path: Path, **cells: str) -> dict[str, Any]:
    """One row of cables, written and read by the reader of sheets alone."""
    write_workbook(path, {"cables": [{"cable": "C1", **cells}]}, site="WM", says="Invented.")
    names, row = CalamineWorkbook.from_filelike(io.BytesIO(path.read_bytes())).get_sheet_by_name("cables").to_python()
    return {n: row[names.index(n)] for n in cells}


def test_written_cells__numbers_are_numbers_and_all_else_is_text(tmp_path: Path) -> None:
    cells = {"length_m": "24.9936", "pairs": "4", "look": "007", "note": "=1+1", "at": "2026-03-03", "gauge_awg": "nan"}
    expected = {**cells, "length_m": 24.9936, "pairs": 4.0}
    assert written(tmp_path / "a.xlsx", **cells) == expected


@pytest.mark.parametrize("text", ["0.30000000000000004", "1_000", "inf", "1e5", "-0"])
def test_written_number__only_if_it_is_read_again_as_the_same_text(tmp_path: Path, text: str) -> None:
    write_workbook(tmp_path / "a.xlsx", {"cables": [{"cable": "C1", "length_m": text}]}, site="WM", says="Invented.")
    (sheet,) = read_workbook(tmp_path / "a.xlsx").sheets
    assert sheet.rows[1][1][sheet.header.index("length_m")] == text


def test_text_too_long_for_a_cell__is_refused_and_no_file_is_left(tmp_path: Path) -> None:
    """32,767 characters are the limit of the file format; one more would be lost in silence."""
    assert len(written(tmp_path / "a.xlsx", note="x" * 32767)["note"]) == 32767
    with pytest.raises(RecordError, match=r"sheet cables, cell [A-Z]+2: this text of 32768 characters"):
        written(tmp_path / "b.xlsx", note="x" * 32768)
    assert [p.name for p in tmp_path.iterdir()] == ["a.xlsx"]


def test_written_sheet__frozen_filtered_and_with_its_choices(tmp_path: Path) -> None:
    written(tmp_path / "a.xlsx", twisted="yes")
    with zipfile.ZipFile(tmp_path / "a.xlsx") as packed:
        xml = packed.read("xl/worksheets/sheet2.xml").decode()
    assert 'state="frozen"' in xml and "<autoFilter" in xml
    lists = re.findall(r'<dataValidation type="list".*?<formula1>"(.*?)"</formula1>', xml)
    assert "yes,no" in lists and all(len(text) <= 255 for text in lists)


def test_own_about_sheet__is_no_table_and_another_one_is_not_passed_over(tmp_path: Path) -> None:
    written(tmp_path / "a.xlsx", twisted="yes")
    assert [s.table for s in read_workbook(tmp_path / "a.xlsx").sheets] == ["cables"]
    other = book(tmp_path / "b.xlsx", lambda made, sheet: sheet.write_string(0, 0, "My house"), "about")
    assert [s.table for s in other.sheets] == ["about"]


@pytest.mark.parametrize(
    ("index", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA"), (16383, "XFD")]
)  # fmt: skip
def test_column_letters__as_spreadsheets_show_them(index: int, letters: str) -> None:
    assert column_letters(index) == letters


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (3.0, "3"),
        (-3.0, "-3"),
        (0.30000000000000004, "0.3"),
        (1e14, "100000000000000"),
        (1e15, "1e+15"),
        (2.75, "2.75"),
    ],
)
def test_number_cell__as_short_as_it_can_be(value: float, text: str) -> None:
    assert number_cell(value) == text

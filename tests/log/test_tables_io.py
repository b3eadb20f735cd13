"""CSV bytes in and out: rows with the numbers a spreadsheet shows, and cells that no spreadsheet runs."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from pullstring.log.tables_io import guarded, parse_csv, read_source, write_folder

ROWS = (
    ("commas", "a,b\n1,2\n", ((1, ("a", "b")), (2, ("1", "2")))),
    ("semicolons with commas in cells", "a;b\n1,5;2,5\n", ((1, ("a", "b")), (2, ("1,5", "2,5")))),
    ("tabs", "a\tb\n1\t2\n", ((1, ("a", "b")), (2, ("1", "2")))),
    ("commas inside a quoted name", '"a,b,c";d\n1;2\n', ((1, ("a,b,c", "d")), (2, ("1", "2")))),
    ("a row that names the separator", "sep=;\na;b\n1;2\n", ((2, ("a", "b")), (3, ("1", "2")))),
    ("rows above and between", "\n,\na,b\n\n1,2\n", ((3, ("a", "b")), (5, ("1", "2")))),
    ("a cell of two lines counts as one row", 'a,b\n"1\n1",2\n3,4\n', ((1, ("a", "b")), (2, ("1\n1", "2")), (3, ("3", "4")))),
    ("two bytes end a line", "a,b\r\n1,2\r\n", ((1, ("a", "b")), (2, ("1", "2")))),
    ("an apostrophe before a formula goes", "a\n'=1+1\n''=1\n'n Abend\n",
     ((1, ("a",)), (2, ("=1+1",)), (3, ("'=1",)), (4, ("'n Abend",)))),
    ("nothing", " \n,,\n", ()),
)  # fmt: skip


@pytest.mark.parametrize(("text", "rows"), [r[1:] for r in ROWS], ids=[r[0] for r in ROWS])
def test_parse_csv__rows_by_hand(text: str, rows: tuple[tuple[int, tuple[str, ...]], ...]) -> None:
    assert parse_csv(text) == rows


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("+49 30 1", "'+49 30 1"),
        ("-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"),
        ("-", "'-"),
        ("'=1", "''=1"),
        ("-3.5", "-3.5"),
        ("-0,5 V", "-0,5 V"),
        ("'n Abend", "'n Abend"),
        ("a=b", "a=b"),
        ("", ""),
    ],
)
def test_guarded__what_a_spreadsheet_would_run_and_only_that(cell: str, written: str) -> None:
    assert guarded(cell) == written
    out = io.StringIO(newline="")
    csv.writer(out).writerows([["head"], [guarded(cell) or "x"]])
    assert parse_csv(out.getvalue())[1][1] == (cell or "x",)


def test_source__every_file_is_read_refused_or_listed(tmp_path: Path) -> None:
    for name, data in {
        "Wall Types.csv": b"wall_type\nWT1\n",
        "rooms.TSV": b"room\tname\nR1\tHall\n",
        "empty.csv": b"",
        "old.xls": b"x",
        "notes.txt": b"words",
        ".hidden.csv": b"x",
        "~$rooms.xlsx": b"lock",
        "Photos/a.jpg": b"\xff\xd8\xff",
        "more/rooms.csv": b"room\nR2\n",
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(data)
    source = read_source(tmp_path)
    assert [(s.table, s.rows[0][1]) for s in source.sheets] == [
        ("wall_types", ("wall_type",)),
        ("rooms", ("room", "name")),
    ]
    assert [f.file for f in source.faults] == ["empty.csv", "old.xls"]
    assert sorted(p.name for p in source.unread) == ["a.jpg", "more", "notes.txt"]


def test_source__nothing_there_or_no_table_is_told(tmp_path: Path) -> None:
    assert "there is no such folder or file" in str(read_source(tmp_path / "nowhere").faults[0])
    assert "holds no table" in str(read_source(tmp_path).faults[0])
    (tmp_path / "plan.pdf").write_bytes(b"%PDF-")
    assert "this is no table" in str(read_source(tmp_path / "plan.pdf").faults[0])


def test_latin_1__the_line_of_the_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "rooms.csv").write_bytes("room,name\nR1,Hall\nR2,Küche\n".encode("latin-1"))
    (fault,) = read_source(tmp_path).faults
    assert "in line 3 of the file" in fault.says and "CSV UTF-8" in fault.says


def test_write_folder__names_tables_left_from_before(tmp_path: Path) -> None:
    (tmp_path / "cables.csv").write_text("cable\nC1\n", "utf-8")
    (tmp_path / "mine.csv").write_text("x\n", "utf-8")
    assert write_folder(tmp_path, {"rooms": [{"room": "R1", "name": "=x"}]}, {"rooms": ["room", "name"]}) == [
        "cables.csv"
    ]
    assert (tmp_path / "rooms.csv").read_bytes() == b"room,name\nR1,'=x\n"


@pytest.mark.parametrize(
    ("text", "cut"),
    [("a,b,c\n1,2,3\n4,5", True), ("a,b,c\n1,2,3\n4,5\n", False), ("a,b,c\n1,2,3\n4,5,6", False), ("a,b,c", False)],
)
def test_read_csv__a_file_that_ends_in_the_middle_of_a_row_is_told(tmp_path: Path, text: str, cut: bool) -> None:
    """Rows that a spreadsheet left short end their line; a file cut on its way does not."""
    (tmp_path / "ends.csv").write_text(text, encoding="utf-8")
    faults = read_source(tmp_path).faults
    assert [str(f) for f in faults] == (
        ["ends.csv row 3: the file ends in the middle of this row: 2 of 3 cells; get the whole file, or end the line"]
        if cut
        else []
    )

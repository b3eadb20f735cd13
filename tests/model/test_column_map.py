"""Maps for foreign sheets: cells as they should come out, written by hand, and every fault of a map at its place."""

from __future__ import annotations

import datetime as dt
import tomllib
from typing import Any

import pytest

from pullstring.model.column_map import mapped, read_map
from pullstring.model.fits import fit, map_to_begin_with
from pullstring.model.sheets import Gathered, Sheet, gathered, placed
from pullstring.model.tables import Fault, understand


def sheet(*lines: str, file: str = "list.csv", name: str = "list", first: int = 1) -> Sheet:
    """Cells parted by bars; the first line names the columns."""
    rows = tuple((n, tuple(c.strip() for c in line.split("|"))) for n, line in enumerate(lines, start=first))
    return Sheet(file, name, file, rows)


def through(toml: str, *sheets: Sheet) -> Gathered:
    parts, faults = read_map("m.toml", tomllib.loads(toml))
    assert faults == []
    return mapped(sheets, parts, "m.toml")


CABLES = '[[sheet]]\nfile = "list.csv"\ntable = "cables"\n'


@pytest.mark.parametrize(
    ("means", "cell", "ours"),
    [
        ('"cable"', "7", "7"),
        ('{ column = "cable", prefix = "C" }', "7", "C7"),
        ('{ column = "cable", prefix = "C" }', "", ""),
        ('{ column = "length_m", unit = "ft" }', "82", "82 ft"),
        ('{ column = "length_m", unit = "ft" }', "25 m", "25 m"),
        ('{ column = "length_m", unit = "ft" }', "", ""),
        ('"length_ft"', "82", "82 ft"),
        ('{ column = "twisted", replace = { "Ja" = "yes", "-" = "" } }', "JA", "yes"),
        ('{ column = "twisted", replace = { "Ja" = "yes", "-" = "" } }', "-", ""),
        ('{ column = "twisted", replace = { "Ja" = "yes", "-" = "" } }', "no", "no"),
    ],
)
def test_cell__as_the_map_says(means: str, cell: str, ours: str) -> None:
    found = through(f'{CABLES}ignore = ["Nr"]\n[sheet.columns]\n"Theirs" = {means}\n', sheet("Nr|Theirs", f"1|{cell}"))
    column = found.tables[0].header[0]
    rows = [dict(zip(found.tables[0].header, cells, strict=True)) for _, cells in found.tables[0].rows]
    assert found.faults == () and [r[column] for r in rows] == ([ours] if ours or column != "cable" else [])


def test_one_sheet__gives_several_tables_and_rows_that_give_nothing_are_told() -> None:
    toml = (
        CABLES
        + '[sheet.columns]\n"Wire" = "cable"\n[sheet.constants]\ngrade = "told"\ntwisted = true\nat = 2019-05-01\n'
    )
    toml += '[[sheet]]\nfile = "LIST.csv"\ntable = "rooms"\n[sheet.columns]\n"Room" = "room"\n'
    found = through(toml, sheet("Wire|Room", "C1|Hall", "|Loft", "|", "C4|", first=3))
    assert [(t.file, t.table, t.header) for t in found.tables] == [
        ("list.csv as cables", "cables", ("cable", "grade", "twisted", "at")),
        ("list.csv as rooms", "rooms", ("room",)),
    ]
    assert found.tables[0].rows == ((4, ("C1", "told", "yes", "2019-05-01")), (7, ("C4", "told", "yes", "2019-05-01")))
    assert found.tables[1].rows == ((4, ("Hall",)), (5, ("Loft",)))
    assert found.said == (("rows_left", ("list.csv", "6")),)


def test_note__is_joined_with_the_names_of_its_columns() -> None:
    toml = f'{CABLES}note = ["Remark", "Colour"]\n[sheet.columns]\n"Wire" = "cable"\n'
    found = through(toml, sheet("Wire|Remark|Colour", "C1|loose|grey", "C2||red", "C3||"))
    assert [cells[1] for _, cells in found.tables[0].rows] == ["Remark: loose; Colour: grey", "Colour: red", ""]


def test_columns__none_is_lost_in_silence() -> None:
    """Two of one name, one without a name, one the map does not mention, one beyond the header: four faults."""
    toml = f'{CABLES}[sheet.columns]\n"Wire" = "cable"\n"Room" = "look"\n'
    found = through(toml, sheet("Wire|Room|room||Age", "C1|Hall|Loft|x|5|y"))
    assert [(f.row, f.column) for f in found.faults] == [(1, "room"), (1, "number 4"), (1, "Age"), (1, "number 6")]


def test_blank_columns_without_cells__are_no_fault() -> None:
    found = through(f'{CABLES}[sheet.columns]\n"Wire" = "cable"\n', sheet("Wire||", "C1||"))
    assert found.faults == ()


@pytest.mark.parametrize(
    ("more", "where", "words"),
    [
        ('[sheet.columns]\nA = { column = "length_m", unit = "kg" }', "A", "no unit of length"),
        ('[sheet.columns]\nA = { column = "pairs", unit = "m" }', "A", "leave the unit out"),
        ('[sheet.columns]\nA = "cable"\n[sheet.constants]\ncable = "C1"', "cable", "gives this already"),
        ('note = ["B"]\n[sheet.columns]\nA = "note"', "note", "gives the note already"),
        ('[sheet.columns]\nA = "lenght_m"', "A", "did you mean length_m?"),
        ("columns = 3", "columns", "write it as [sheet.columns]"),
    ],
)
def test_map__fault_at_its_place(more: str, where: str, words: str) -> None:
    _, faults = read_map("m.toml", tomllib.loads(CABLES + more))
    assert [(f.file, f.column) for f in faults] == [("m.toml, sheet 1", where)] and words in faults[0].says


def test_reading__may_have_the_unit_of_any_reading() -> None:
    toml = '[[sheet]]\nfile = "x.csv"\ntable = "measurements"\n[sheet.columns]\nA = {{ column = "value", unit = "{}" }}'
    assert read_map("m.toml", tomllib.loads(toml.format("nF")))[1] == []
    assert "no unit of any reading" in read_map("m.toml", tomllib.loads(toml.format("kg")))[1][0].says


@pytest.mark.parametrize("raw", [{}, {"sheet": []}, {"sheet": 3}, {"sheet": [3]}, {"sheet": {"file": "x"}}])
def test_map__of_a_wrong_form_is_a_fault(raw: dict[str, Any]) -> None:
    parts, faults = read_map("m.toml", raw)
    assert parts == () and len(faults) == 1


def test_fault__with_the_row_and_the_header_of_the_foreign_sheet() -> None:
    found = through(f'{CABLES}[sheet.columns]\n"Run" = "length_m"\n', sheet("Run", "5 kg", first=4))
    said = understand(found.tables, known={}, today="2026-04-01")
    told = [str(placed(f, found.origins)) for f in said.faults]
    assert told[0] == "list.csv row 4, column cable: this column is missing; every row needs it"
    assert told[1].startswith("list.csv row 5, column Run (length_m): 'kg' is no unit of length")


def test_header__below_empty_rows_and_with_spaces_is_found_where_it_stands() -> None:
    found = gathered([sheet(" Room |hight_m ", "R1|2", file="rooms.csv", name=" Rooms", first=3)])
    said = understand(found.tables, known={}, today="2026-04-01")
    assert [(placed(f, found.origins).row, f.column) for f in said.faults] == [(3, "hight_m")]


def test_two_rows_of_names__told_once_and_a_repeated_one_where_it_stands() -> None:
    above = gathered([sheet("Cable||", "cable|length_m|pairs", "C1|3|4", name="cables")])
    assert [(f.row, f.says.split(";")[0]) for f in above.faults] == [
        (1, "the names of the columns seem to stand in row 2")
    ]
    again = gathered([sheet("cable|pairs", "C1|4", "Cable|Pairs", "C2|4", name="cables")])
    assert again.faults == (Fault("list.csv", 3, "", "this row names the columns once more; take it out"),)
    assert above.tables == again.tables == ()


def test_table_in_two_places__both_are_read_and_it_is_said() -> None:
    found = gathered([sheet("room", "R1", file="a.csv", name="rooms"), sheet("room", "R2", file="b.csv", name="Rooms")])
    assert len(found.tables) == 2 and found.said == (("table_twice", ("rooms", "a.csv", "b.csv")),)


@pytest.mark.parametrize(
    ("header", "table"),
    [
        ("cable|jacket|length_ft", "cables"),
        ("Cable|Length (ft)|Pairs", "cables"),
        ("subject|quantity|value|key", "measurements"),
        ("unit|model|serial|at|by", "units"),
        ("Haus|Farbe", ""),
        ("at|by|note", ""),
    ],
)
def test_fit__most_probable_table(header: str, table: str) -> None:
    assert fit(sheet(header, "1")).table == table


def test_fit__unit_in_brackets_is_read_and_what_is_no_unit_is_not() -> None:
    found = fit(sheet("Cable|Length (ft)|length_dozens", name="cables"))
    assert found.understood == (("Cable", "cable", ""), ("Length (ft)", "length_m", "ft"))
    assert [h for h, _ in found.strange] == ["length_dozens"]


def test_map_to_begin_with__is_toml_whatever_the_names() -> None:
    odd = sheet('cable|Länge "grob"|\U0001f50c|back\\slash|\x7f|length_m|length (m)|cable', file="a b.csv", name="a b")
    made = tomllib.loads(map_to_begin_with([fit(odd)]))["sheet"]
    assert made == [
        {"file": "a b.csv", "sheet": "a b", "table": "cables", "ignore": [], "constants": {"grade": "told"},
         "columns": {"cable": "cable", "length_m": "length_m"}}
    ]  # fmt: skip
    assert read_map("m.toml", {"sheet": made})[1] == []


def test_map_to_begin_with__leaves_out_what_is_read_as_it_stands() -> None:
    assert map_to_begin_with([fit(sheet("cable|length_ft", name="cables"))]) == ""


def test_constants__dates_and_yes() -> None:
    raw = {"sheet": [{"file": "x.csv", "table": "rooms", "constants": {"closet": False, "at": dt.date(1994, 5, 1)}}]}
    (part,), faults = read_map("m.toml", raw)
    assert faults == [] and part.constants == {"closet": "no", "at": "1994-05-01"}

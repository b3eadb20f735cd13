"""Cells to statements, without a file: every fault with its place, and the same house in feet or in metres."""

from __future__ import annotations

import random

import pytest

from pullstring.model.cells import Names, read_cell
from pullstring.model.columns import tables
from pullstring.model.entries import Claimed, Noted
from pullstring.model.tables import RawTable, Understood, understand
from pullstring.model.units import BASE_UNIT


def raw(table: str, *lines: str) -> RawTable:
    """Cells parted by bars."""
    head, *rows = [tuple(c.strip() for c in line.split("|")) for line in lines]
    return RawTable(f"{table}.csv", table, head, tuple(enumerate(rows, start=2)))


def read(*tables: RawTable) -> Understood:
    return understand(tables, known={}, today="2026-04-01")


FLOORS = raw("floors", "floor|building", "F0|H1")
BUILDINGS = raw("buildings", "building", "H1")


def test_twelve_faults__each_told_at_its_place() -> None:
    said = read(
        BUILDINGS,
        FLOORS,
        raw("rums", "room", "R1"),
        raw("rooms", "room|floor|hight_m|closet", "R1|F00|2|yes", "R2|G7|2|ja", "|F0||", "R4|F0||no|stray"),
        raw("cables", "cable|jacket|pairs|length_m|gauge_awg", "C1|cat5f|4.5|5 kg|24 AWG", "C:2||4|1 m|24"),
        raw("measurements", "subject|quantity|value|at", "C1|length|3 m|2026-02-30", "cable:C1|colour|3 m|"),
        raw("ends", "end|cable|cable", "E1|C1|C1"),
    )
    assert sorted((f.file, f.row, f.column) for f in said.faults) == sorted(
        [
            ("rums.csv", 0, ""),
            ("rooms.csv", 1, "hight_m"),
            ("rooms.csv", 3, "floor"),
            ("rooms.csv", 3, "closet"),
            ("rooms.csv", 4, "room"),
            ("rooms.csv", 5, ""),
            ("cables.csv", 2, "jacket"),
            ("cables.csv", 2, "pairs"),
            ("cables.csv", 2, "length_m"),
            ("cables.csv", 3, "cable"),
            ("measurements.csv", 2, "subject"),
            ("measurements.csv", 2, "at"),
            ("measurements.csv", 3, "quantity"),
            ("ends.csv", 1, "cable"),
        ]
    )
    told = {(f.file, f.row, f.column): f.says for f in said.faults}
    assert "did you mean rooms?" in told["rums.csv", 0, ""]
    assert "did you mean height_m?" in told["rooms.csv", 1, "hight_m"]
    assert "did you mean cat5?" in told["cables.csv", 2, "jacket"] or "cat5e?" in told["cables.csv", 2, "jacket"]
    assert "no day of the calendar" in told["measurements.csv", 2, "at"]


def facts(said: Understood) -> list[str]:
    assert said.faults == ()
    return sorted(repr((s.at, s.key)) for s in said.statements)


def test_feet_commas_and_order__say_the_same() -> None:
    """12 ft = 3.6576 m and 10 ft = 3.048 m exactly: the international foot is 0.3048 m."""
    metres = raw("cables", "cable|length_m|pairs|at", "C1|3.6576|4|2026-03-01", "C2|3.048|2|2026-03-01")
    feet = raw("cables", "cable|length_ft|pairs|at", "C1|12|4|2026-03-01", "C2|10|2|2026-03-01")
    commas = raw("cables", "cable|length_m|pairs|at", "c01|3,6576|4|2026-03-01", "C002|304,8 cm|2|2026-03-01")
    turned = raw("cables", "at|pairs|Length ft|cable", "2026-03-01|2|10|C2", "2026-03-01|4|12 ft|C1")
    assert facts(read(metres)) == facts(read(feet)) == facts(read(commas)) == facts(read(turned))


def test_shuffled_tables__say_the_same() -> None:
    ends = raw("ends", "end|cable|ends_at|grade", "E1|C1|O1|toned", "E2|C1||seen")
    tables = [ends, raw("cables", "cable|look", "C1|grey"), raw("outlets", "outlet|plate", "O1|none")]
    first = facts(read(*tables))
    random.Random(1).shuffle(tables)
    assert facts(read(*tables)) == first


def test_row__plain_cells_are_noted_and_relations_claimed() -> None:
    said = read(
        raw("cables", "cable", "C1"),
        raw("outlets", "outlet", "O1"),
        raw("ends", "end|cable|goes_to|found|label|grade", "E1|C1|O1||none|toned"),
    )
    note = next(s.body for s in said.statements if isinstance(s.body, Noted) and s.body.subject.kind == "end")
    (claim,) = [s.body for s in said.statements if isinstance(s.body, Claimed)]
    assert dict(note.fields) == {"cable": "cable:C1", "label": "none"}, "a blank is not said; none is said to be none"
    assert (str(claim.subject), claim.relation, str(claim.object), claim.evidence.grade) == (
        "end:E1",
        "goes_to",
        "outlet:O1",
        "toned",
    )
    assert [a.split()[0] for a in said.assumed] == ["2", "3"], "two rows without grade, three without date"


def test_columns__none_stands_twice_in_a_table_and_every_thing_has_its_tag() -> None:
    for table in tables().values():
        names = [c.name for c in table.columns]
        assert len(names) == len(set(names)), f"{table.name}: {names}"
        if table.kind:
            assert [(c.name, c.required) for c in table.columns if c.type == "tag"] == [(table.kind, True)]


def test_evidence__none_is_as_blank() -> None:
    said = read(raw("circuits", "circuit|at|grade|by", "F1|none|none|none"))
    assert not said.faults and [s.at for s in said.statements] == ["before 2026-04-01"]
    assert said.statements[0].body.evidence.grade == "assumed"


def test_every_number_column__has_a_quantity_and_takes_its_unit():
    """A column whose numbers have no quantity would end the import of whoever fills it."""
    for table in tables().values():
        for column in table.columns:
            if column.type == "number":
                value = max(column.low, min(3.0, column.high))
                text = f"{value:g} {BASE_UNIT[column.of]}"
                assert read_cell(column, text, None, Names({}, ())) == pytest.approx(value), column.name


@pytest.mark.parametrize(
    "written", ["EG 1 & EG 2", "EG 1; EG 2", "EG 1 EG 2", "floor:EG 1 floor:EG 2", "eg 01 &  EG 2"]
)
def test_several_tags_in_one_cell__a_tag_with_a_space_stays_whole(written: str) -> None:
    raw = [
        RawTable("b", "buildings", ("building",), ((2, ("B",)),)),
        RawTable("f", "floors", ("floor", "building"), ((2, ("EG 1", "B")), (3, ("EG 2", "B")), (4, ("EG", "B")))),
        RawTable("w", "walls", ("wall", "floors", "line"), ((2, ("w1", written, "0 0; 1 0")),)),
    ]
    understood = understand(raw, known={}, today="2026-01-01")
    assert understood.faults == ()
    wall = next(s.body for s in understood.statements if isinstance(s.body, Noted) and s.body.subject.kind == "wall")
    assert wall.fields["floors"] == "floor:EG 1 & floor:EG 2"

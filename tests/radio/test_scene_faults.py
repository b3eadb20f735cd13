"""Faults of the drawing and of the readings: each told in one sentence with its entries, and the rest answered all the same."""

from __future__ import annotations

import pytest

from pullstring.model.answers import Problem
from pullstring.model.problems import catalogue
from pullstring.radio.scene_faults import CODES, scene_problems
from pullstring.radio.scene_of import made_scene
from tests.radio.drawn_house import house

BY = "grade=seen by=TEC at=2026-03-01"
LEVEL = "quantity='level 5 GHz' value='-61 dBm' grade=metered by=TEC at=2026-03-02"


def told(**how: object) -> tuple[Problem, ...]:
    found = house(**how)  # type: ignore[arg-type]
    made = made_scene(found, doors="usual", step_m=1.0)
    assert made.scene.rooms and made.scene.walls, "an answer for the rest"
    return scene_problems(found, made)


CASES: dict[str, tuple[dict[str, object], str, str]] = {
    "outline_touches": (
        {"add": f"rooms room=MR9 floor=MF0 outline='20 0; 24 0; 24 4; 22 0; 20 4' {BY}"},
        "room:MR9",
        "at 22 0",
    ),
    "room_undrawn": (
        {"add": f"rooms room=MR9 floor=MF0 outline='20 0; 24 0' {BY}"},
        "room:MR9",
        "encloses nothing",
    ),
    "wall_unbuilt": (
        {"add": f"walls wall=MW9 floors=MF0 line='2 1; 2 3' z0_m=2 z1_m=1 wall_type=MT1 {BY}"},
        "wall:MW9",
        "not above its foot",
    ),
    "slab_misfit": (
        {"add": f"slabs slab=MS9 floor=MF1 outline='1 1; 3 2' {BY}"},
        "slab:MS1 and slab:MS9",
        "2.0 m2 are noted twice",
    ),
    "sender_elsewhere": (
        {"swap": {"x_m=<2> y_m=<2> z_m=<2.5>": "x_m=<2> y_m=<6> z_m=<2.5>"}},
        "unit:MU1",
        "noted in room:MR1, placed in room:MR2",
    ),
    "reading_impossible": (
        {"add": f"measurements subject=room:MR1 {LEVEL.replace('-61', '61')}"},
        "room:MR1",
        "61 dBm",
    ),
    "reading_band": (
        {"add": f"measurements subject=room:MR1 conditions='heard from MU1' {LEVEL.replace('5 GHz', '6 GHz')}"},
        "room:MR1",
        "6 GHz",
    ),
    "reading_elsewhere": (
        {"add": f"measurements subject=room:MR1 conditions='at 2 6' {LEVEL}"},
        "room:MR1",
        "room:MR2",
    ),
    "rooms_overlap": ({"swap": {'<0 4; 6 8>" height': '<0 3; 6 8>" height'}}, "room:MR1 and room:MR2", "6.0 m2"),
    "room_gap": ({"drop": ("MW4",)}, "room:MR1", "m long"),
    "wall_astray": ({"add": f"walls wall=MW9 floors=MF0 line='9 0; 9 4' wall_type=MT1 {BY}"}, "wall:MW9", "3.0 m"),
    "walls_double": (
        {"add": f"walls wall=MW9 floors=MF0 line='6 4; 2 4' wall_type=MT1 {BY}"},
        "wall:MW5 and wall:MW9",
        "along 4.0 m",
    ),
    "opening_outside": ({"swap": {"u1_m=<1.4> fill=open": "u1_m=<2.4> fill=open"}}, "opening:MD4", "ends at 2.4 m"),
    "openings_overlap": (
        {"add": f"openings opening=MD9 wall=MW1 u0_m=3 u1_m=4 z0_m=0 z1_m=2 fill=door {BY}"},
        "opening:MD2 and opening:MD9",
        "0.20 m of wall:MW1",
    ),
    "sender_outside": ({"swap": {"x_m=<2> y_m=<2> z_m=<2.5>": "x_m=<-2> y_m=<2> z_m=<2.5>"}}, "unit:MU1", "-2.0 2.0"),
    "sender_placeless": ({"add": f"units unit=MU2 model=MM1 {BY}"}, "unit:MU2", ""),
    "reading_far": (
        {"add": f"measurements subject=room:MR1 conditions='at 90 2' {LEVEL}"},
        "room:MR1",
        "88 m",
    ),
    "reading_of_nobody": (
        {"add": f"measurements subject=room:MR1 conditions='heard from MU7' {LEVEL}"},
        "room:MR1",
        "MU7",
    ),
    "reading_nowhere": (
        {"add": f"rooms room=MR9 grade=told by=OWN at=2026-03-01\nmeasurements subject=room:MR9 {LEVEL}"},
        "room:MR9",
        "",
    ),
    "reading_unread": (
        {"add": f"measurements subject=room:MR1 conditions='doors ajar' {LEVEL}"},
        "room:MR1",
        "write doors shut",
    ),
}


def test_every_code__has_a_case_and_a_sentence() -> None:
    assert set(CASES) == set(CODES) <= set(catalogue())


def test_house_as_drawn__has_no_fault() -> None:
    assert told() == ()


@pytest.mark.parametrize("code", CASES)
def test_fault__is_told_where_it_is_with_entries(code: str) -> None:
    how, where, says = CASES[code]
    found = [p for p in told(**how) if p.code == code]
    assert found and where in found[0].where and says in found[0].says, told(**how)
    assert all(p.because and p.remedy for p in found)


@pytest.mark.parametrize("code", [c for c in CASES if c not in ("room_gap", "rooms_overlap", "outline_touches")])
def test_fault__is_told_alone(code: str) -> None:
    """The three left out tell more: a missing wall opens both floors, a wall then stands inside a room, a room has no walls."""
    how, _, _ = CASES[code]
    assert [p.code for p in told(**how)] == [code]


def test_outer_wall_missing__opens_every_room_along_it() -> None:
    found = {p.where for p in told(drop=("MW4",)) if p.code == "room_gap"}
    assert found == {"room:MR1", "room:MR2", "room:MR3"}


def test_gap_of_a_door_width__is_no_gap() -> None:
    """A wall that ends 1.2 m before the corner leaves no more open than a door would."""
    short = {"<0 8; 0 0>": "<0 8; 0 1.2>"}
    assert [p for p in told(swap=short) if p.code == "room_gap"] == []
    wide = {"<0 8; 0 0>": "<0 8; 0 2.2>"}
    assert {p.where for p in told(swap=wide)} == {"room:MR1", "room:MR3"}


def test_opening_beyond_its_wall__is_cut_and_the_rest_of_it_counts() -> None:
    found = house(swap={"u1_m=<1.4> fill=open": "u1_m=<2.4> fill=open"})
    (opening,) = next(w for w in made_scene(found, doors="usual", step_m=1.0).scene.walls if w.name == "MW6").openings
    assert (opening.u0_m, opening.u1_m) == (0.5, 2.0)


def test_openings_that_overlap__do_not_overlap_in_the_scene() -> None:
    found = house(**CASES["openings_overlap"][0])  # type: ignore[arg-type]
    wall = next(w for w in made_scene(found, doors="usual", step_m=1.0).scene.walls if w.name == "MW1")
    spans = {o.name: (o.u0_m, o.u1_m) for o in wall.openings}
    assert spans["MD2"] == (2, 3.2) and spans["MD9"] == (3.2, 4)


def test_sender_that_was_there_once__readings_of_it_are_no_fault() -> None:
    gone = (
        "acts act='take out' subject=unit:MU1 grade=seen by=TEC at=2026-03-20\n"
        + f"units unit=MU2 model=MM1 room=MR2 {BY}"
    )
    assert [p.code for p in told(add=gone)] == []


def test_many_readings_of_one_fault__are_told_once_with_all_entries() -> None:
    row = f"measurements subject=room:MR1 conditions='heard from MU7' {LEVEL}"
    (found,) = told(add=f"{row} key=K7\n{row} key=K8")
    assert len(found.because) == 2

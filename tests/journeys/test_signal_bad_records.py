"""`signal` on records with faults: every fault told at its place, the rest answered, and no question ends in a traceback."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math

import pytest

from pullstring import api
from pullstring.api import signal_worked
from pullstring.model.answers import plain
from pullstring.papers.words_signal import signal as page
from tests.journeys.sites import ASKED, make
from tests.journeys.tarn_house import BY, FOOT_M, rows, tarn_house

READING = {"instrument": "phone", "grade": "metered", "by": "TEC", "at": "2026-03-05"}


def read(number, subject, conditions="heard from A1", value="-60 dBm", quantity="level 5 GHz"):
    named = {"subject": subject, "quantity": quantity, "value": value, "conditions": conditions, "key": f"Q{number}"}
    return {**named, **READING}


def house(folder, *, drop=(), change=(), read_too=True, **more):
    """Tarn House with rows more, tables less, or cells changed: (table, key column, tag, {cell: value})."""
    tables = rows() if read_too else rows(read=())
    for table, column, tag, cells in change:
        for row in tables[table]:
            if row[column] == tag:
                row.update(cells)
    for table, added in more.items():
        tables[table] = [*tables.get(table, []), *({**BY, **row} for row in added)]
    for table, content in tables.items():
        columns = list(dict.fromkeys(name for row in content for name in row))
        tables[table] = [{name: row.get(name, "") for name in columns} for row in content]
    return make(folder, {name: c for name, c in tables.items() if c and name not in drop}, code="TH")


def answer(path, **how):
    """The whole answer as JSON holds it, without a number that JSON has not; its page can be written."""
    found = api.signal(path, ASKED, **how)
    said = plain(found)
    json.dumps(said, allow_nan=False)
    assert page(found)[1]
    return said


def by_room(said):
    return {r["room"]: r for r in said["answer"]["rooms"]}


PLANTED = {
    "rooms": [
        ({"room": "Z1", "outline": "20 0; 22 2"}, "room_undrawn", "room:Z1", "no floor"),
        ({"room": "Z2", "floor": "T0", "outline": "20 0; 22 0"}, "room_undrawn", "room:Z2", "encloses nothing"),
        ({"room": "Z3", "floor": "T0", "outline": "20 0; 20 0"}, "room_undrawn", "room:Z3", "encloses nothing"),
        ({"room": "Z4", "floor": "T0", "outline": "20 3; 22 3; 22 5; 21 3; 20 5"}, "outline_touches", "room:Z4", "21 3"),
        ({"room": "Z5", "floor": "T0", "outline": "25 0; 27 2"}, "room_gap", "room:Z5", "8.0 m"),
        ({"room": "Z6", "floor": "S0", "outline": "2 2; 5 5"}, "rooms_overlap", "room:SHED and room:Z6", "1.1 m2"),
    ],
    "walls": [
        ({"wall": "z1", "floors": "T0", "line": "5 5; 5 5"}, "wall_unbuilt", "wall:z1", "no length"),
        ({"wall": "z2", "floors": "T0", "line": "5 5; 5.001 5"}, "wall_unbuilt", "wall:z2", "no length"),
        ({"wall": "z3", "floors": "T0", "line": "2 0; 2 6", "z0_m": "2", "z1_m": "1"}, "wall_unbuilt", "wall:z3", "foot"),
        ({"wall": "z4", "floors": "T0", "line": "2 1; 2 2; 3 2"}, "wall_unbuilt", "wall:z4", "3 points"),
        ({"wall": "z5", "floors": "T0", "line": "2 1; 2 2 | 3 1; 3 2"}, "wall_unbuilt", "wall:z5", "4 points"),
        ({"wall": "z6", "floors": "T0 S0", "line": "1 1; 1 2"}, "wall_unbuilt", "wall:z6", "two buildings"),
        ({"wall": "z7", "floors": "T0", "line": "1 30; 5 30"}, "wall_astray", "wall:z7", "from the nearest"),
        ({"wall": "z8", "floors": "S0", "line": "900 0; 901 0"}, "wall_astray", "wall:z8", "from the nearest"),
        ({"wall": "z9", "floors": "T1", "line": "6.096 1; 6.096 5"}, "walls_double", "wall:i3 and wall:z9", "4.0 m"),
    ],
    "slabs": [
        ({"slab": "z1", "floor": "T0", "outline": "0 0; 4 0"}, "slab_misfit", "slab:z1", "encloses nothing"),
        ({"slab": "z2", "floor": "S0", "outline": "0 0; 3 3", "holes": "2 2; 5 3"}, "slab_misfit", "slab:z2", "2.0 m2"),
        ({"slab": "z3", "floor": "T1", "outline": "1 1; 3 2"}, "slab_misfit", "slab:f1 and slab:z3", "2.0 m2"),
    ],
    "openings": [
        ({"opening": "z1", "wall": "o1", "u0_m": "3", "u1_m": "1"}, "opening_outside", "opening:z1", "begins at 3 m"),
        ({"opening": "z2", "wall": "o1"}, "opening_outside", "opening:z2", "ends at 0 m"),
        ({"opening": "z3", "wall": "o1", "u0_m": "90", "u1_m": "91"}, "opening_outside", "opening:z3", "ends at 91 m"),
        ({"opening": "z4", "wall": "o1", "u0_m": "4", "u1_m": "5", "z0_m": "-9", "z1_m": "-8"}, "opening_outside",
         "opening:z4", "-9.00"),
        ({"opening": "z5", "wall": "o1", "u0_m": "7", "u1_m": "8", "z0_m": "2", "z1_m": "1"}, "opening_outside",
         "opening:z5", "top is not above"),
        ({"opening": "z6", "wall": "i2", "u0_m": "3", "u1_m": "4", "z1_m": "2"}, "openings_overlap",
         "opening:d2 and opening:z6", "0.35 m of wall:i2"),
    ],
    "units": [
        ({"unit": "Z1", "model": "MA", "room": "HALL", "x_m": "500", "y_m": "3"}, "sender_outside", "unit:Z1", "500.0"),
        ({"unit": "Z2", "model": "MA", "room": "HALL", "x_m": "2", "y_m": "3", "z_m": "30"}, "sender_outside", "unit:Z2",
         "30.0 m above"),
        ({"unit": "Z3", "model": "MA", "room": "HALL", "x_m": "2", "y_m": "3", "z_m": "-4"}, "sender_outside", "unit:Z3",
         "-4.0 m above"),
        ({"unit": "Z4", "model": "MA", "room": "HALL", "x_m": "7", "y_m": "3"}, "sender_elsewhere", "unit:Z4",
         "placed in room:PARL"),
        ({"unit": "Z5", "model": "MA"}, "sender_placeless", "unit:Z5", ""),
        ({"unit": "Z6", "model": "MA", "x_m": "2", "y_m": "3"}, "sender_placeless", "unit:Z6", ""),
    ],
    "measurements": [
        (read(1, "room:HALL", "heard from Zulu"), "reading_of_nobody", "room:HALL", "Zulu"),
        (read(2, "room:PARL", "heard from room:HALL"), "reading_of_nobody", "room:PARL", "room:HALL"),
        (read(3, "building:T", ""), "reading_nowhere", "building:T", ""),
        (read(4, "room:HALL", "at 900 900; heard from A1"), "reading_far", "room:HALL", " m"),
        (read(5, "room:HALL", "doors ajar"), "reading_unread", "room:HALL", "doors ajar"),
        (read(6, "room:PARL", "at 5"), "reading_unread", "room:PARL", "at 5"),
        (read(7, "room:KITC", "mean of 0"), "reading_unread", "room:KITC", "mean of 0"),
        (read(8, "room:BEDR", "stranger on channel 300"), "reading_unread", "room:BEDR", "channel 300"),
        (read(9, "room:STUD", "heard from A1; heard from A2"), "reading_unread", "room:STUD", "'A1' and 'A2'"),
        (read(10, "room:HALL", value="-200 dBm"), "reading_impossible", "room:HALL", "-200 dBm"),
        (read(11, "room:PARL", value="60 dBm"), "reading_impossible", "room:PARL", "60 dBm"),
        (read(12, "room:KITC", value="< -200 dBm"), "reading_impossible", "room:KITC", "-200 dBm"),
        (read(13, "room:HALL", quantity="level 6 GHz"), "reading_band", "room:HALL", "6 GHz"),
        (read(14, "room:HALL", "at 7 3; heard from A1"), "reading_elsewhere", "room:HALL", "room:PARL"),
    ],
}  # fmt: skip
"""Row, code, where, and a piece of what is said; written before the program was asked."""


def test_forty_faults__all_told_and_the_house_answered_all_the_same(tmp_path):
    planted = [fault for of_table in PLANTED.values() for fault in of_table]
    assert len(planted) >= 40
    path = house(tmp_path, **{table: [row for row, *_ in faults] for table, faults in PLANTED.items()})
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    said = answer(path)
    told = [(p["code"], p["where"], p["says"]) for p in said["problems"]]
    missed = [f[1:] for f in planted if not any(f[1] == c and f[2] in w and f[3] in s for c, w, s in told)]
    assert missed == []
    for room in ("HALL", "PARL", "KITC", "BEDR", "STUD"):
        assert by_room(said)[room]["known"], room
    assert all(p["because"] for p in said["problems"])
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before


def test_house_as_noted__has_no_fault(tmp_path):
    assert answer(tarn_house(tmp_path))["problems"] == []


@pytest.mark.parametrize(
    "how",
    [
        {"drop": ("units",)},
        {"drop": ("units", "measurements")},
        {"drop": ("rooms", "measurements", "needs", "units")},
        {"drop": ("needs",)},
        {"change": [("models", "model", "MA", {"eirp_2g4_dbm": "none", "eirp_5g_dbm": "none"})]},
        {"change": [("units", "unit", "A1", {"state": "planned"}), ("units", "unit", "A2", {"state": "planned"})]},
    ],
)
def test_nobody_sends_or_nothing_to_hear__is_an_answer(tmp_path, how):
    said = answer(house(tmp_path, **how))
    assert all(r["why_not_known"] == "no_sender" for r in by_room(said).values()) or how["drop"] == ("needs",)


def test_moved__an_access_point_that_sends_in_no_band_changes_nothing(tmp_path):
    none = [("models", "model", "MA", {"eirp_2g4_dbm": "none", "eirp_5g_dbm": "none"})]
    path = house(tmp_path, change=none, read_too=False)
    said = plain(api.signal_moved(path, ASKED, sender="A2", x_m=2.0, y_m=2.0, floor="T0"))
    assert by_room(said) and all(r["why_not_known"] == "no_sender" for r in by_room(said).values())


def test_outlines_noted_as_none__count_as_blank(tmp_path):
    none = [
        ("rooms", "room", "BEDR", {"outline": "none"}),
        ("slabs", "slab", "f1", {"outline": "none", "holes": "none"}),
    ]
    path = house(tmp_path, change=none, walls=[{"wall": "z1", "floors": "T1", "line": "none"}])
    said = answer(path)
    assert by_room(said)["BEDR"]["why_not_known"] == "no_points"
    assert by_room(said)["STUD"]["known"]
    assert api.signal_field(path, ASKED, floor="T1", band="5 GHz", step_m=1.0)["level_dbm"]


@pytest.mark.parametrize("width", ["5", "30", "47", "100", "160", "320"])
def test_channel_width_between_those_that_exist__is_the_next_smaller(tmp_path, width):
    said = answer(house(tmp_path, change=[("units", "unit", "A1", {"width_mhz": width, "channel": "36"})]))
    (a1,) = [s for s in said["answer"]["senders"] if s["sender"] == "A1"]
    assert a1["bands"]["5 GHz"]["channel"] is not None


def test_slip_of_the_pen_in_a_level__moves_no_room(tmp_path):
    """A phone that once showed -200 dBm does not hear down to there, so what it did not hear in the shed says what it said."""
    plain_house = answer(tarn_house(tmp_path / "plain"))
    slip = answer(house(tmp_path / "slip", measurements=[read(1, "room:PARL", value="-200 dBm")]))
    assert [r for r in slip["answer"]["readings"] if r["why_not"] == "no_such_level"]
    for room, of in by_room(plain_house).items():
        for band, at in of["bands"].items():
            assert by_room(slip)[room]["bands"][band]["level_dbm"] == pytest.approx(at["level_dbm"], abs=0.01), room


def test_asked_wrongly__is_refused_in_a_sentence(tmp_path):
    path = tarn_house(tmp_path)
    cases = [
        (lambda: api.signal(path, dataclasses.replace(ASKED, tags=("unit:A1",))), "unit:A1 is no room"),
        (lambda: api.signal(path, dataclasses.replace(ASKED, seed=-3)), "below 0"),
        (lambda: api.signal_moved(path, ASKED, sender="A2", x_m=math.nan, y_m=0.0, floor="T1"), "no place"),
        (lambda: api.signal_moved(path, ASKED, sender="A2", x_m=0.0, y_m=math.inf, floor="T1"), "no place"),
        (lambda: api.signal_moved(path, ASKED, sender="A2", x_m=1e6, y_m=0.0, floor="T1"), "no place"),
    ]
    for ask, words in cases:
        with pytest.raises(api.BadRequest) as refused:
            ask()
        assert words in refused.value.faults[0]


def test_moved_to_where_it_stands__on_floors_of_which_nobody_noted_the_height(tmp_path):
    """Their heights are then taken by their level; where it stands must be the same place for both questions."""
    blank = [("floors", "floor", f, {"z_m": ""}) for f in ("T0", "T1", "S0")]
    path = house(tmp_path, change=blank, read_too=False)
    stays = plain(api.signal_moved(path, ASKED, sender="A2", x_m=32 * FOOT_M, y_m=10 * FOOT_M, floor="T1"))
    for room, of in by_room(answer(path)).items():
        for band, at in of["bands"].items():
            assert by_room(stays)[room]["bands"][band]["level_dbm"] == pytest.approx(at["level_dbm"], abs=1.5), room


def test_large_property__says_that_fewer_paths_were_followed(tmp_path, monkeypatch):
    assert "fewer_paths" not in answer(tarn_house(tmp_path / "small"))["answer"]["limits"]
    monkeypatch.setattr(signal_worked, "LONGEST_S", 0.0)
    found = api.signal(tarn_house(tmp_path / "large"), ASKED)
    assert "fewer_paths" in found.answer["limits"]
    assert any("fewer ways" in str(block) for block in page(found)[1])

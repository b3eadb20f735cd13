"""Level readings as learning wants them: place, access point, device; and why one cannot be learned from."""

from __future__ import annotations

import pytest

from pullstring.radio.readings_of import Level, readings_of
from pullstring.radio.scene_of import scene_of
from tests.radio.drawn_house import house

BY = "grade=metered by=TEC"


def read(*rows: str, add: str = "") -> list[Level]:
    text = "\n".join(f"measurements {row} {BY} {usual(row)}" for row in rows)
    found = house(add=f"{add}\n{text}", drop=("K1",))
    return list(readings_of(found, scene_of(found, doors="usual", step_m=1.0)))


def usual(row: str) -> str:
    """What most rows leave out."""
    day = "" if " at=" in row else "at=2026-03-02"
    return day if "quantity" in row else f"{day} quantity='level 5 GHz'"


def one(row: str, add: str = "") -> Level:
    (found,) = read(row, add=add)
    return found


def test_reading_in_a_room__stands_for_all_its_points() -> None:
    level = one("subject=room:MR2 value='-61 dBm' key=K9 conditions='heard from MU1; mean of 5' instrument='My Phone'")
    assert level.reading is not None and len(level.reading.spots) == 24 and level.room == "MR2"
    said = level.reading
    assert (said.key, said.sender, said.device, said.band) == ("K9", "MU1", "my phone", "5 GHz")
    assert (said.level_dbm, said.count, said.floor_dbm) == (-61, 5, -90)


def test_reading_at_a_spot__in_the_axes_of_the_building_and_in_the_room_that_is_there() -> None:
    level = one("subject=room:MR1 value='-61 dBm' conditions='at 2 5; heard from MU1'")
    assert level.reading is not None and level.reading.spots == (pytest.approx((2, 5, 1.2)),)
    assert level.room == "MR2", "the point lies in the other room"


def test_reading_at_a_spot__with_its_height_on_the_upper_floor() -> None:
    level = one("subject=room:MR3 value='-61 dBm' conditions='at 2 5 0.4'")
    assert level.reading is not None and level.reading.spots == (pytest.approx((2, 5, 3.4)),)


@pytest.mark.parametrize(
    ("subject", "row"),
    [
        ("outlet:MO1", "outlets outlet=MO1 room=MR2 x_m=1 y_m=7 z_m=0.3"),
        ("position:MP1", "positions position=MP1 room=MR2 x_m=1 y_m=7"),
        ("unit:MU9", "units unit=MU9 room=MR2 x_m=1 y_m=7"),
    ],
)
def test_reading_at_a_thing__is_at_its_place(subject: str, row: str) -> None:
    level = one(f"subject={subject} value='-61 dBm'", add=f"{row} grade=seen by=TEC at=2026-03-01")
    assert level.reading is not None and level.reading.spots == (pytest.approx((1, 7, 1.2)),)


def test_none_heard__is_below_what_the_device_hears() -> None:
    """The device that once read -93 dBm hears at least as weak as that: none is taken as below -94."""
    none, weak, other = read(
        "subject=room:MR2 value=none instrument=phone",
        "subject=room:MR1 value='-93 dBm' instrument=phone",
        "subject=room:MR2 value=none instrument=laptop key=K3",
    )
    assert none.reading is not None and other.reading is not None and weak.reading is not None
    assert (none.reading.level_dbm, none.reading.floor_dbm, none.reading.sender) == (None, -94, None)
    assert other.reading.floor_dbm == -90


def test_below_a_level__is_censored_at_that_level() -> None:
    level = one("subject=room:MR2 value='< -85 dBm' conditions='heard from MU1'")
    assert level.reading is not None and (level.reading.level_dbm, level.reading.floor_dbm) == (None, -85)


def test_bands__each_by_its_quantity() -> None:
    found = read(*(f"subject=room:MR2 value='-60 dBm' key=K{n} quantity='level {n} GHz'" for n in ("2.4", "5", "6")))
    assert [level.band for level in found] == ["2.4 GHz", "5 GHz", "6 GHz"]


def test_position_named__means_the_unit_that_hangs_there() -> None:
    rows = """
positions position=MP1 room=MR1 x_m=2 y_m=2 grade=seen by=TEC at=2026-03-01
units unit=MU1 position=MP1 grade=seen by=TEC at=2026-03-01
"""
    level = one("subject=room:MR2 value='-61 dBm' conditions='heard from MP1'", add=rows)
    assert level.reading is not None and level.reading.sender == "MU1" and str(level.heard) == "unit:MU1"


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("subject=room:MR2 value='-61 dBm' conditions='heard from MU7'", "no_such_sender"),
        ("subject=room:MR2 value='-61 dBm' conditions='heard from MU8'", "not_sending"),
        ("subject=room:MR7 value='-61 dBm' conditions='heard from MU1'", "no_place"),
        ("subject=room:MR2 value='-61 dBm' conditions='stranger on channel 6'", "stranger"),
        ("subject=room:MR2 value='> -20 dBm'", "too_strong"),
    ],
)
def test_not_to_be_learned_from__says_why(row: str, why: str) -> None:
    more = "rooms room=MR7 grade=told by=OWN at=2026-03-01"
    more += "\nmodels model=MM5 what=switch grade=seen by=TEC at=2026-03-01"
    more += "\nunits unit=MU8 model=MM5 room=MR1 grade=seen by=TEC at=2026-03-01"
    level = one(row, add=more)
    assert (level.reading, level.why_not) == (None, why)


def test_access_point_moved_since__its_older_readings_teach_nothing() -> None:
    move = "acts act=move subject=unit:MU1 object=room:MR2 from=MR1 grade=seen by=TEC at=2026-03-{}"
    row = "subject=room:MR2 value='-61 dBm' conditions='heard from MU1' at=2026-03-04"
    assert one(row, add=move.format("05")).why_not == "moved_since"
    assert one(row, add=move.format("03")).why_not == ""


def test_access_point_come_since__older_silence_teaches_nothing() -> None:
    came = "units unit=MU2 model=MM1 room=MR2 x_m=1 y_m=6 z_m=2 grade=seen by=TEC at=2026-03-{}"
    row = "subject=room:MR2 value=none at=2026-03-04"
    assert one(row, add=came.format("05")).why_not == "came_since"
    assert one(row, add=came.format("03")).why_not == ""

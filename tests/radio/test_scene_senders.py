"""What sends, where it hangs when nobody noted it, what it is taken to radiate."""

from __future__ import annotations

import pytest

from pullstring.radio.scene import Sender
from pullstring.radio.scene_of import Made, made_scene
from tests.radio.drawn_house import house

BY = "grade=seen by=TEC at=2026-03-01"
MODELS = f"""
models model=MM2 what=router {BY}
models model=MM3 what=repeater {BY}
models model=MM4 what="access point" {BY}
models model=MM5 what=switch {BY}
"""


def made(add: str, **how: object) -> Made:
    return made_scene(house(add=MODELS + add, **how), doors="usual", step_m=1.0)  # type: ignore[arg-type]


def sender(found: Made, name: str) -> Sender | None:
    return next((s for s in found.scene.senders if s.name == name), None)


def codes(found: Made, name: str) -> set[str]:
    return {t.code for t in found.taken if name in {str(r) for r in t.of}}


def test_access_point_of_which_nothing_is_noted__in_the_middle_of_its_room_and_said_so() -> None:
    found = made(f"units unit=MU2 model=MM4 room=MR2 {BY}")
    one = sender(found, "MU2")
    assert one is not None and one.spot == pytest.approx((3, 6, 1.0)) and one.room == "MR2"
    assert set(one.eirp_dbm) == {"2.4 GHz", "5 GHz"} and one.spread_db == 4
    expected = {"power_assumed", "antenna_assumed", "place_in_room_assumed", "height_assumed"}
    assert codes(found, "unit:MU2") == expected and codes(found, "unit:MU1") == set()


def test_power__of_the_unit_before_the_model_and_none_sends_nothing() -> None:
    found = made("units unit=MU1 eirp_2g4_dbm=none eirp_5g_dbm='14 dBm' grade=seen by=TEC at=2026-03-02")
    one = sender(found, "MU1")
    assert one is not None and dict(one.eirp_dbm) == {"5 GHz": 14} and one.spread_db == 1.5


def test_middle_of_a_room_with_a_corner_cut_out__lies_in_the_room() -> None:
    row = f"rooms room=MR8 floor=MF0 outline='10 0; 16 0; 16 1; 11 1; 11 6; 10 6' {BY}\nunits unit=MU2 model=MM4 room=MR8 {BY}"
    one = sender(made(row), "MU2")
    assert one is not None
    x, y, _ = one.spot
    assert (10 <= x <= 16 and 0 <= y <= 1) or (10 <= x <= 11 and 0 <= y <= 6)


def test_position__gives_place_height_and_mount() -> None:
    rows = f"""
positions position=MP1 room=MR2 x_m=1 y_m=7 mount=ceiling {BY}
units unit=MU2 model=MM4 room=MR2 position=MP1 {BY}
"""
    one = sender(made(rows), "MU2")
    assert one is not None and one.spot == pytest.approx((1, 7, 2.55)), "2.6 m of ceiling less 5 cm"
    assert (one.antenna, one.tilt_deg) == ("ceiling", -90)


def test_on_the_wall__looks_into_the_room_and_hangs_just_inside() -> None:
    rows = f"units unit=MU2 model=MM4 room=MR2 x_m=0 y_m=6 z_m=1.5 antenna=wall {BY}"
    one = sender(made(rows), "MU2")
    assert one is not None and one.spot == pytest.approx((0.05, 6, 1.5))
    assert one.azimuth_deg == pytest.approx(0), "from the west wall towards the middle: east"


def test_router__sends_only_when_noted_or_heard() -> None:
    plain = made(f"units unit=MU2 model=MM2 room=MR2 {BY}")
    assert sender(plain, "MU2") is None and codes(plain, "unit:MU2") == {"router_without_radio"}
    noted = made(f"units unit=MU2 model=MM2 room=MR2 antenna=table {BY}")
    assert sender(noted, "MU2") is not None
    heard = f"measurements subject=room:MR2 quantity='level 5 GHz' value='-50 dBm' conditions='heard from mu02' {BY}"
    assert sender(made(f"units unit=MU2 model=MM2 room=MR2 {BY}\n{heard}"), "MU2") is not None
    assert sender(made(f"units unit=MU2 model=MM2 room=MR2 antenna=none {BY}\n{heard}"), "MU2") is None


@pytest.mark.parametrize("state", ["state=removed", "state='out of use'", "state=lost", "health='called dead'"])
def test_not_in_use__does_not_send(state: str) -> None:
    assert sender(made(f"units unit=MU1 {state} grade=seen by=TEC at=2026-03-02"), "MU1") is None


def test_in_a_box__does_not_send_until_it_hangs_somewhere() -> None:
    boxed = f"""
boxes box=MX1 room=MR2 {BY}
units unit=MU2 model=MM4 room=MR2 {BY}
parts part=MI1 box=MX1 unit=MU2 {BY}
"""
    assert sender(made(boxed), "MU2") is None
    assert sender(made(boxed + f"units unit=MU2 x_m=1 y_m=6 z_m=1 {BY}"), "MU2") is not None


def test_planned__unit_and_place_are_flagged() -> None:
    rows = f"""
units unit=MU2 model=MM4 room=MR3 state=planned {BY}
positions position=MP1 room=MR2 x_m=1 y_m=7 mount=wall state=planned eirp_5g_dbm=20 eirp_2g4_dbm=16 {BY}
positions position=MP2 room=MR2 x_m=2 y_m=7 mount=wall {BY}
"""
    found = made(rows)
    assert {s.name: s.planned for s in found.scene.senders} == {"MU1": False, "MU2": True, "MP1": True}
    place = sender(found, "MP1")
    assert place is not None and dict(place.eirp_dbm) == {"2.4 GHz": 16, "5 GHz": 20}


def test_switch_or_unknown_unit__does_not_send() -> None:
    found = made(f"units unit=MU2 model=MM5 room=MR2 {BY}\nunits unit=MU3 room=MR2 {BY}")
    assert [s.name for s in found.scene.senders] == ["MU1"]


def test_without_a_room__is_named_as_placeless() -> None:
    found = made(f"units unit=MU2 model=MM4 {BY}")
    assert sender(found, "MU2") is None and [str(r) for r in found.placeless] == ["unit:MU2"]


def test_outside_every_room__has_no_room() -> None:
    one = sender(made(f"units unit=MU2 model=MM4 room=MR2 x_m=-3 y_m=6 z_m=2 {BY}"), "MU2")
    assert one is not None and one.spot == pytest.approx((-3, 6, 2)) and one.room == ""


def test_right_outside_by_the_thickness_of_a_wall__is_in_the_room() -> None:
    one = sender(made(f"units unit=MU2 model=MM4 room=MR2 x_m=-0.2 y_m=6 z_m=2 {BY}"), "MU2")
    assert one is not None and one.spot == pytest.approx((0.05, 6, 2)) and one.room == "MR2"

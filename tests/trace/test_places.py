"""Outlets as places: what stops one, what to mind, what it costs; one fact in the record at a time."""

from __future__ import annotations

import dataclasses
import pathlib

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.refs import parse_ref
from pullstring.reach.walking import assumed_guesses, way_up
from pullstring.trace.places import Effort, OutletPlace, assumed_effort, outlet_places
from tests.demo.inn import HAND, bring_in
from tests.notice.lines import site

EFFORT = Effort(furniture_s=100, heavy_kg=50, open_s=10, ladder_s=1, high_m=2)
ROOM = "buildings building=H\nfloors floor=F0 building=H level=0\nrooms room=A floor=F0\n"


def the(line: str, more: str = "", ways_up: str = "stairs") -> OutletPlace:
    house = site(ROOM + f"outlets outlet=O1 {line}\n" + more)
    (found,) = outlet_places(house, effort=EFFORT, ways_up={parse_ref("room:A"): ways_up})
    return found


def codes(place: OutletPlace) -> tuple[list[str], list[str]]:
    return [w.code for w in place.stops], [w.code for w in place.cautions]


def test_plain_outlet__is_reached_and_costs_nothing_more() -> None:
    found = the("room=A x_m=1 y_m=1 z_m=0.35 condition=good")
    assert found == OutletPlace(
        *map(parse_ref, ("outlet:O1", "room:A", "floor:F0", "building:H")), False, True, (), (), (), 0.0
    )


@pytest.mark.parametrize(
    ("line", "more", "stop"),
    [
        ("shares_box_with_mains=yes", "", "mains"),
        ("blocked_by='electrician looks first'", "", "mains"),
        ("", "hazards hazard=Z style=mains where=outlet:O1", "mains"),
        ("", "constraints constraint=K untouched=outlet:O1", "untouched"),
        ("condition='painted over'", "", "painted"),
        ("found='painted over, not opened'", "", "painted"),
        ("blocked_by='wardrobe, 120 kg'", "", "heavy"),
        ("state=lost", "", "lost"),
    ],
)
def test_stops(line: str, more: str, stop: str) -> None:
    found = the(f"room=A x_m=1 y_m=1 {line}", more)
    assert (found.reachable, codes(found)[0]) == (False, [stop])


@pytest.mark.parametrize(
    ("line", "more"),
    [
        ("shares_box_with_mains=no", ""),
        ("blocked_by=none", ""),
        ("blocked_by='chest, 20 kg'", ""),
        ("reachable=no", ""),  # says that no guest can plug in, not that a hand cannot get there
        ("", "outlets outlet=O2 state=removed\nhazards hazard=Z style=mains where=outlet:O2"),
        ("", "outlets outlet=O2 state=removed\nconstraints constraint=K untouched=outlet:O2"),
        ("", "constraints constraint=K untouched=outlet:O1 state=removed"),
    ],
)
def test_no_stop(line: str, more: str) -> None:
    assert the(f"room=A x_m=1 y_m=1 {line}", more).reachable


def test_several_stops__hurt_first() -> None:
    found = the("room=A condition='painted over' blocked_by='dresser 80 kg' shares_box_with_mains=yes")
    assert codes(found)[0] == ["mains", "painted", "heavy"]


@pytest.mark.parametrize(
    ("line", "extra_s"),
    [
        ("blocked_by='four-poster bed'", 100),
        ("blocked_by=none", 0),
        ("condition='not opened'", 10),
        ("found='blank plate, not opened'", 10),
        ("z_m=2.4", 1),
        ("z_m=1.9", 0),
        ("z_m=2.4 blocked_by=bed condition='not opened'", 111),
    ],
)
def test_extra_seconds__add_up(line: str, extra_s: float) -> None:
    assert the(f"room=A x_m=1 y_m=1 {line}").extra_s == extra_s


@pytest.mark.parametrize(
    ("line", "more", "caution"),
    [
        ("outdoors=yes", "", "outdoors"),
        ("condition=wet", "", "wet"),
        ("blocked_by=bed", "", "furniture"),
        ("", "hazards hazard=Z style=asbestos where=room:A sample='not taken'", "hazard asbestos"),
        ("", "hazards hazard=Z style=asbestos where=room:A sample=found", "hazard asbestos"),
        ("", "hazards hazard=Z style=floor where=outlet:O1", "hazard floor"),
        ("", "rooms room=A access='key with the caretaker'", "access"),
        ("", "keys key=Y opens=building:H", "key"),
        ("", "keys key=Y opens=room:A", "key"),
        ("", "seasons season=S rooms=A", "season"),
        ("", "constraints constraint=K rooms=A hours=21-10", "hours"),
    ],
)
def test_cautions__are_shown_and_decide_nothing(line: str, more: str, caution: str) -> None:
    found = the(f"room=A x_m=1 y_m=1 {line}", more)
    assert (found.reachable, codes(found)[1]) == (True, [caution])


@pytest.mark.parametrize(
    ("line", "more"),
    [
        ("", "hazards hazard=Z style=asbestos where=room:A sample=clear"),
        ("", "hazards hazard=Z style=damp where=room:B"),
        ("", "rooms room=A access=none"),
        ("", "keys key=Y opens=room:B"),
        ("", "seasons season=S rooms=B"),
        ("", "constraints constraint=K rooms=A"),
    ],
)
def test_no_caution(line: str, more: str) -> None:
    assert the(f"room=A x_m=1 y_m=1 {line}", "rooms room=B floor=F0\n" + more).cautions == ()


def test_loft__a_ladder_where_only_a_hatch_leads_up() -> None:
    assert codes(the("room=A", ways_up="hatch"))[1] == ["ladder"]
    assert the("room=A", ways_up="hatch").extra_s == EFFORT.ladder_s
    assert codes(the("room=A", ways_up="not noted"))[1] == ["way_up_not_noted"]
    assert the("room=A", ways_up="not noted").extra_s == 0


def test_unknown__is_listed_and_stops_nothing() -> None:
    assert (the("").unknown, the("").reachable) == (("room", "coordinates"), True)
    assert the("room=A").unknown == ("coordinates",)
    assert the("room=B x_m=1 y_m=1", "rooms room=B").unknown == ("floor",)
    assert the("outdoors=yes x_m=1 y_m=1").unknown == ()


def test_gone_outlets__are_no_places() -> None:
    house = site(ROOM + "outlets outlet=O1 room=A state=removed\noutlets outlet=O2 room=A state=planned\n")
    assert outlet_places(house, effort=EFFORT, ways_up={}) == ()


def test_effort__is_assumed_and_may_be_replaced() -> None:
    assert all(v > 0 for v in dataclasses.asdict(assumed_effort()).values())


@pytest.fixture(scope="module")
def inn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, OutletPlace]:
    path: pathlib.Path = tmp_path_factory.mktemp("places") / "house.site"
    api.new(path, Request(today="2026-03-03"), code="TLH", name="", wrote="2026-03-03T12:00:00+00:00", **HAND)
    bring_in(path, "1_arrival")
    arrived = api.load(path, Request(today="2026-03-03"))
    ways_up = way_up(arrived, walk_m_per_s=1.1, stairs_s=25.0, door_s=3.0, guesses=assumed_guesses())
    return {p.outlet.tag: p for p in outlet_places(arrived, effort=assumed_effort(), ways_up=ways_up)}


def test_inn__the_three_plates_that_cannot_be_opened(inn: dict[str, OutletPlace]) -> None:
    """The inn's plan of visit 1 leaves out O05 (mains in the box), O10 (painted over), O15 (wardrobe, two people)."""
    assert {tag: codes(p)[0] for tag, p in inn.items() if not p.reachable} == {
        "O05": ["mains", "untouched"],
        "O10": ["painted"],
        "O15": ["heavy"],
    }


def test_inn__what_to_mind(inn: dict[str, OutletPlace]) -> None:
    assert inn["O11"].extra_s == assumed_effort().furniture_s  # the four-poster slides
    assert "outdoors" in codes(inn["O24"])[1] and inn["O24"].room is None and inn["O24"].unknown == ()
    assert {"hazard floor", "way_up_not_noted"} <= set(codes(inn["O22"])[1])
    assert {"season", "key"} <= set(codes(inn["O29"])[1])
    assert "hours" in codes(inn["O17"])[1]
    assert len(inn) == 30

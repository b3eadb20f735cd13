"""Walking times, worked out by head on small houses; and what must hold in every house."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.reach.walking import Walking, assumed_guesses, constants, walk_times, way_up
from pullstring.reach.walking_ways import Guesses
from tests.notice.lines import site

GUESSES = Guesses(room_m=5, outdoors_m=40, unknown_m=20, detour=1.3, ladder_s=30)
PACE = {"walk_m_per_s": 1.0, "stairs_s": 20.0, "door_s": 2.0, "guesses": GUESSES}
GROUND = "buildings building=H x_m=0 y_m=0\nfloors floor=F0 building=H level=0 z_m=0\n"
UPPER = GROUND + "floors floor=F1 building=H level=1 z_m=3\n"


def walk(house: Site, *names: str) -> Walking:
    return walk_times(house, [parse_ref(n) for n in names], **PACE)


def codes(walking: Walking) -> list[str]:
    return sorted({t.code for t in walking.assumed})


def outlet(tag: str, room: str, x: float, y: float) -> str:
    return f"outlets outlet={tag} room={room} x_m={x} y_m={y}\n"


TWO = GROUND + 'rooms room=A floor=F0 outline="0 0; 4 3"\nrooms room=B floor=F0 outline="4 0; 8 3"\n'
RING = """
walls wall=w1 floors=F0 line="0 0; 8 0" thickness_m=0.2
walls wall=w2 floors=F0 line="8 0; 8 3" thickness_m=0.2
walls wall=w3 floors=F0 line="0 3; 8 3" thickness_m=0.2
walls wall=w4 floors=F0 line="0 0; 0 3" thickness_m=0.2
walls wall=w5 floors=F0 line="4 0; 4 3" thickness_m=0.2
"""
ENDS = outlet("O1", "A", 1, 1.5) + outlet("O2", "B", 7, 1.5)


def test_door__straight_through_it() -> None:
    """Six metres at 1 m/s, and a shut door of 2 s; an open one costs nothing."""
    door = 'openings opening=d wall=w5 u0_m=1 u1_m=2 fill=door usual="{}"\n'
    shut = walk(site(TWO + RING + door.format("shut") + ENDS), "outlet:O1", "outlet:O2")
    assert (shut.seconds[0, 1], shut.how[0, 1], shut.assumed) == (pytest.approx(8), "plan", ())
    left_open = walk(site(TWO + RING + door.format("open") + ENDS), "outlet:O1", "outlet:O2")
    assert left_open.seconds[0, 1] == pytest.approx(6)


def test_door__at_the_far_corner_is_a_way_round() -> None:
    """To (4, 0.5) and on: twice the root of 3^2 + 1^2, and the door."""
    there = "openings opening=d wall=w5 u0_m=0 u1_m=1 fill=door\n"
    found = walk(site(TWO + RING + there + ENDS), "outlet:O1", "outlet:O2")
    assert found.seconds[0, 1] == pytest.approx(2 * math.sqrt(10) + 2)


@pytest.mark.parametrize("gone", ["fill=window", "fill=door state=removed", "fill=door state=planned"])
def test_window_or_door_that_is_not_there__is_no_way_and_the_way_is_guessed(gone: str) -> None:
    """Each room has a door outdoors, on the south side; so nobody goes through the wall: out, along the front, and in."""
    fronts = "".join(f"openings opening=f{u} wall=w1 u0_m={u} u1_m={u + 1} fill=door\n" for u in (1, 6))
    found = walk(
        site(TWO + RING + fronts + f"openings opening=d wall=w5 u0_m=1 u1_m=2 {gone}\n" + ENDS),
        "outlet:O1",
        "outlet:O2",
    )
    assert found.how[0, 1] == "plan"
    assert found.seconds[0, 1] > 2 * 1.5 + 5 + 2 * 2  # to the wall and back, 5 m between the doors, two doors
    assert found.seconds[0, 1] < 2 * 1.6 + 5.2 + 2 * 2 + 4 * 0.4  # a little way off the wall


def test_room_without_a_door__one_is_guessed_in_the_wall_it_shares() -> None:
    """B has no door noted anywhere; one is guessed in the middle of the wall, and it is said."""
    front = "openings opening=f wall=w1 u0_m=1 u1_m=2 fill=door\n"
    found = walk(site(TWO + RING + front + ENDS), "outlet:O1", "outlet:O2")
    assert (found.seconds[0, 1], found.how[0, 1], codes(found)) == (pytest.approx(8), "guessed", ["door_not_noted"])


@pytest.mark.parametrize(("walls", "code"), [("", "rooms_touch"), (RING, "no_doors_noted")])
def test_rooms_that_touch__one_passes_where_no_door_is_noted_at_all(walls: str, code: str) -> None:
    found = walk(site(TWO + walls + ENDS), "outlet:O1", "outlet:O2")
    assert (found.seconds[0, 1], found.how[0, 1], codes(found)) == (pytest.approx(8), "boxes", [code])


def test_rooms_that_meet_at_a_corner__do_not_touch() -> None:
    """A and B meet at one corner; C touches both, so the way leads through C: two doors."""
    rooms = "".join(
        f'rooms room={r} floor=F0 outline="{o}"\n' for r, o in (("A", "0 0; 4 3"), ("B", "4 3; 8 6"), ("C", "4 0; 8 3"))
    )
    found = walk(site(GROUND + rooms), "room:A", "room:B")
    through_c = (
        2 + math.hypot(2, 1.5) + 1.5 + 2 * 2
    )  # middle of A to (4, 1.5), to (6, 3), to the middle of B, two doors
    assert found.seconds[0, 1] == pytest.approx(through_c)


def test_bent_room__one_walks_round_its_inner_corner() -> None:
    """From (0.5, 1.9) by (4, 2) to (4.1, 5.5): the corner is on the way, the straight line would leave the room."""
    bent = GROUND + 'rooms room=A floor=F0 outline="0 0; 6 0; 6 6; 4 6; 4 2; 0 2"\n'
    found = walk(site(bent + outlet("O1", "A", 0.5, 1.9) + outlet("O2", "A", 4.1, 5.5)), "outlet:O1", "outlet:O2")
    assert found.seconds[0, 1] == pytest.approx(math.hypot(3.5, 0.1) + math.hypot(0.1, 3.5))


def test_no_outlines__beside_and_above_and_a_guess() -> None:
    """A room without outline is crossed at 5 m, half of it to its edge. A to B: a door. B to C above it: a stair."""
    rooms = (
        UPPER
        + "rooms room=A floor=F0 name=hall beside=B\nrooms room=B floor=F0 name=study\nrooms room=C floor=F1 above=B\n"
    )
    found = walk(site(rooms), "room:A", "room:B", "room:C")
    assert found.seconds[0, 1] == pytest.approx(2.5 + 2 + 2.5)
    assert found.seconds[1, 2] == pytest.approx(2.5 + 20 + 2.5)
    assert found.seconds[0, 2] == pytest.approx(2.5 + 2 + 2.5 + 20 + 2.5)
    assert set(found.how[np.triu_indices(3, 1)]) == {"boxes"}
    assert codes(found) == ["beside", "stair_where_above"]


def test_names_only__same_floor_is_nearer_than_another_and_another_building_farther_still() -> None:
    rooms = UPPER + "buildings building=K\nfloors floor=K0 building=K level=0\n"
    rooms += (
        "rooms room=A floor=F0\nrooms room=B floor=F0\nrooms room=C floor=F1\nrooms room=D floor=K0\nrooms room=E\n"
    )
    found = walk(site(rooms), *(f"room:{r}" for r in "ABCDE"))
    beside, upstairs, other_house = found.seconds[0, 1:4]
    assert 0 < beside < upstairs < other_house < np.inf
    assert upstairs == pytest.approx(beside + 20)
    assert set(found.how[np.triu_indices(5, 1)]) == {"guessed"}
    assert np.all(np.isfinite(found.seconds))


STACK = UPPER + 'rooms room=A floor=F0 {} outline="0 0; 4 3"\nrooms room=B floor=F1 {} outline="0 0; 4 3"\n'
INNER = outlet("O1", "A", 2, 1.5) + outlet("O2", "B", 2, 1.5)


@pytest.mark.parametrize(
    ("names", "how", "code"),
    [
        (('name="hall and stair"', 'name="landing"'), "plan", []),
        (('name="hall"', 'name="stairhead"'), "boxes", ["stair_by_name"]),
        (('name="hall"', 'name="study" above=A'), "boxes", ["stair_where_above"]),
        (('name="hall"', 'name="study"'), "guessed", ["stair_not_noted"]),
    ],
)
def test_stair__where_rooms_lie_above_each_other(names: tuple[str, str], how: str, code: list[str]) -> None:
    found = walk(site(STACK.format(*names) + INNER), "outlet:O1", "outlet:O2")
    assert (found.seconds[0, 1], found.how[0, 1], codes(found)) == (pytest.approx(20), how, code)


def test_stair__a_hole_in_the_slab_says_where() -> None:
    """The hole is round (3.5, 2.5): there and up and back, the root of 1.5^2 + 1^2 each time."""
    hole = 'slabs slab=S floor=F1 outline="0 0; 4 3" holes="3 2; 4 3"\n'
    found = walk(site(STACK.format("", "") + hole + INNER), "outlet:O1", "outlet:O2")
    assert (found.seconds[0, 1], found.how[0, 1]) == (pytest.approx(20 + 2 * math.hypot(1.5, 1)), "plan")


def test_stair__two_levels_up_takes_two_floors() -> None:
    tall = GROUND + "floors floor=F2 building=H level=2 z_m=6\n"
    rooms = 'rooms room=A floor=F0 name=stair outline="0 0; 4 3"\nrooms room=B floor=F2 name=stair outline="0 0; 4 3"\n'
    assert walk(site(tall + rooms), "room:A", "room:B").seconds[0, 1] == pytest.approx(40)


def test_hatch__a_ladder_costs_more_than_a_stair() -> None:
    """A hatch high up leads to the loft above; a loft without one has its stair guessed, and both are told apart."""
    wall = 'walls wall=w floors=F0 line="0 0; 4 0"\nopenings opening=h wall=w u0_m=1 u1_m=2 z0_m=2.2 fill=hatch\n'
    with_hatch = site(STACK.format("", "") + wall + INNER)
    found = walk(with_hatch, "outlet:O1", "outlet:O2")
    assert (found.seconds[0, 1], found.how[0, 1], codes(found)) == (pytest.approx(20 + 30), "boxes", ["ladder"])
    ways = [way_up(s, **PACE)[parse_ref("room:B")] for s in (with_hatch, site(STACK.format("", "") + INNER))]
    assert ways == ["hatch", "not noted"]
    assert way_up(site(STACK.format("name=stair", "name=stair")), **PACE)[parse_ref("room:B")] == "stairs"


HOUSES = """
buildings building=K {place}
floors floor=K0 building=K level=0 z_m=0
rooms room=D floor=K0 outline="0 0; 4 3"
walls wall=k1 floors=K0 line="0 0; 4 0" thickness_m=0.2
walls wall=k2 floors=K0 line="4 0; 4 3" thickness_m=0.2
walls wall=k3 floors=K0 line="0 3; 4 3" thickness_m=0.2
walls wall=k4 floors=K0 line="0 0; 0 3" thickness_m=0.2
openings opening=kd wall=k4 u0_m=1 u1_m=2 fill=door
openings opening=d wall=w5 u0_m=1 u1_m=2 fill=door
openings opening=e wall=w2 u0_m=1 u1_m=2 fill=door
"""


def test_two_buildings__over_the_yard_from_door_to_door() -> None:
    """Doors face each other at x 8 and x 20, y 1.5: from (7, 1.5) to (22, 1.5) straight, two doors."""
    yard = site(TWO + RING + HOUSES.format(place="x_m=20 y_m=0") + ENDS)
    found = walk(yard, "outlet:O2", "room:D")
    assert (found.seconds[0, 1], found.how[0, 1]) == (pytest.approx(15 + 4), "plan")
    nowhere = walk(site(TWO + RING + HOUSES.format(place="") + ENDS), "outlet:O2", "room:D")
    assert nowhere.how[0, 1] == "guessed" and "outdoors_not_noted" in codes(nowhere)
    assert 40 < nowhere.seconds[0, 1] < np.inf


def test_two_buildings__round_a_third_that_stands_between() -> None:
    """A wall of a house 10 m long stands in the yard; the way bends round it and is longer than straight."""
    block = 'buildings building=Z x_m=12 y_m=-5\nfloors floor=Z0 building=Z level=0\nrooms room=Z floor=Z0 outline="0 0; 2 13"\n'
    straight = 15 + 4
    found = walk(site(TWO + RING + HOUSES.format(place="x_m=20 y_m=0") + ENDS + block), "outlet:O2", "room:D")
    by_corners = 1 + math.hypot(4, 6.5) + 2 + math.hypot(6, 6.5) + 2 + 4  # over (12, 8) and (14, 8)
    assert straight < by_corners <= found.seconds[0, 1] < by_corners + 2


def test_unknown_room__is_reached_all_the_same_and_said() -> None:
    found = walk(site(TWO + ENDS + "outlets outlet=O9\n"), "outlet:O1", "outlet:O9", "outlet:O9")
    assert found.how[0, 1] == "guessed" and 0 < found.seconds[0, 1] < np.inf
    assert found.seconds[1, 2] == 0 and "no_room" in codes(found)


def test_parts_of_things__are_met_where_the_whole_hangs() -> None:
    """A jack at its plate, a row and an end on the row at their block, a port at its unit."""
    more = (
        "blocks block=B1 room=B x_m=7 y_m=1.5\nrows row=B1.3\ncables cable=C1 pairs=2\n"
        "ends end=E1 cable=C1 room=B ends_at=row:B1.3\n"
        "units unit=U1 room=B x_m=7 y_m=1.5\nports port=U1.1\njacks jack=O1.1\n"
    )
    house = site(TWO + ENDS + more)
    found = walk(house, "outlet:O1", "outlet:O2", "row:B1.3", "end:E1", "port:U1.1", "jack:O1.1")
    assert found.seconds[0] == pytest.approx([0, 8, 8, 8, 8, 0])


def test_no_places_at_all() -> None:
    assert walk(site(TWO)).seconds.shape == (0, 0)


def test_constants__are_marked_assumed() -> None:
    c = constants()
    assert all(v > 0 for v in c.values())
    assert assumed_guesses() == Guesses(c["room_m"], c["outdoors_m"], c["unknown_m"], c["detour"], c["ladder_s"])


def test_outside_stair__a_door_high_in_an_outer_wall() -> None:
    """From B's middle (2, 1.5) to the door (4, 1.5) upstairs; down; in by the door below it to A's middle: two doors."""
    walls = 'walls wall=v{0} floors="F0 F1" line="{1}" thickness_m=0.2\n'
    house = STACK.format("", "") + "".join(
        walls.format(n, line) for n, line in enumerate(("0 0; 4 0", "4 0; 4 3", "0 3; 4 3", "0 0; 0 3"))
    )
    doors = "openings opening=low wall=v1 u0_m=1 u1_m=2 z0_m=0 fill=door\n"
    doors += "openings opening=high wall=v1 u0_m=1 u1_m=2 z0_m=3 fill=door\n"
    found = walk(site(house + doors + INNER), "outlet:O1", "outlet:O2")
    assert (found.how[0, 1], codes(found)) == ("boxes", ["outside_stair"])
    assert found.seconds[0, 1] == pytest.approx(2 + 2 + 2 * 2 + 20, abs=2 * 0.5)  # and half a metre off the wall


def test_single_building__needs_no_place_on_the_site() -> None:
    """Out by one door and in by the other, though nobody noted where the house stands."""
    fronts = "".join(f"openings opening=f{u} wall=w1 u0_m={u} u1_m={u + 1} fill=door\n" for u in (1, 6))
    nowhere = (TWO + RING + fronts + ENDS).replace("x_m=0 y_m=0", "", 1)
    found = walk(site(nowhere), "outlet:O1", "outlet:O2")
    assert (found.how[0, 1], found.assumed) == ("plan", ())


def test_way_out_nobody_noted__is_dearer_by_a_room() -> None:
    """Ten metres more for a room are ten metres more for the one guessed way out."""
    no_door = HOUSES.format(place="x_m=20 y_m=0").replace("openings opening=kd wall=k4 u0_m=1 u1_m=2 fill=door\n", "")
    house, asked = site(TWO + RING + no_door + ENDS), [parse_ref("outlet:O2"), parse_ref("room:D")]
    times = [
        walk_times(house, asked, **{**PACE, "guesses": dataclasses.replace(GUESSES, room_m=m)}).seconds[0, 1]
        for m in (5, 15)
    ]
    assert times[1] - times[0] == pytest.approx(10)


def test_outdoor_plate__hangs_on_the_building_it_is_nearest_to() -> None:
    """At (8.2, 1.5) it is 0.2 m off the house of 8 m, not 4.2 m off the other of 4 m: 1.2 m from O2 and a door."""
    yard = TWO + RING + HOUSES.format(place="x_m=20 y_m=0") + ENDS + "outlets outlet=O8 x_m=8.2 y_m=1.5 outdoors=yes\n"
    found = walk(site(yard), "outlet:O2", "outlet:O8")
    assert found.seconds[0, 1] == pytest.approx(1.2 + 2, abs=0.5)
    assert (found.how[0, 1], codes(found)) == ("boxes", ["nearest_building"])

"""The inn as a scene at four moments: its walls counted by hand, who sends when, nothing amiss in its drawing."""

from __future__ import annotations

import math

import pytest

from pullstring.model.asbuilt import Site
from pullstring.radio.crossed import crossings, straight_loss_db
from pullstring.radio.readings_of import readings_of
from pullstring.radio.scene_faults import scene_problems
from pullstring.radio.scene_of import made_scene, scene_of

LEVEL_M = {0: 0.0, 1: 3.3}
"""Floors of the main inn."""

# from, level, to, distance as printed, build-ups in the order met, loss at 2437 and 5500 MHz as printed
CROSSED = [
    ((8.2, 3.5), 0, (3.0, 2.5), "5.3", "W2", "62.7", "75.7"),
    ((8.2, 3.5), 0, (3.0, 7.0), "6.27", "W2+W5", "88.1", "93.2"),
    ((8.2, 3.5), 0, (4.0, 11.5), "9.04", "W4+W2+W1", "89.3", "114.4"),
    ((9.5, 8.5), 0, (3.0, 2.5), "8.85", "W4+W4+W2+W5", "99.1", "108.2"),
    ((8.2, 3.5), 0, (15.75, 2.5), "7.62", "W2+W2", "73.8", "92.9"),
    ((8.2, 6.5), 1, (3.0, 2.0), "6.88", "W5", "80.9", "80.0"),
    ((8.2, 6.5), 1, (3.0, 7.2), "5.25", "W2", "62.6", "75.7"),
    ((16.0, 4.7), 1, (16.0, 2.0), "2.7", "W5", "72.8", "71.9"),
    ((16.0, 4.7), 1, (18.75, 7.2), "3.72", "W5", "75.6", "74.7"),
    ((8.2, 6.5), 1, (4.0, 11.5), "6.53", "W1", "74.5", "91.6"),
]
"""The scenario's own check cases: a wall counts once at its planning loss, at any angle; doors are ignored."""


@pytest.mark.parametrize(("a", "level", "b", "far", "crossed", "low", "high"), CROSSED)
def test_crossings__as_the_scenario_prints_them(arrived: Site, a, level, b, far, crossed, low, high) -> None:
    scene = scene_of(arrived, doors="usual", step_m=1.0)
    z = LEVEL_M[level] + 1.2
    met = crossings(scene, (*a, z), (*b, z), ignore_openings=True)
    skins = {w.name: w.skin for w in scene.walls}
    assert "+".join(skins[name] for name in met) == crossed
    distance = math.dist(a, b)
    assert printed(distance, far) == far
    for band, megahertz, loss in (("2.4 GHz", 2437, low), ("5 GHz", 5500, high)):
        found = straight_loss_db(scene, met, band=band, distance_m=distance, frequency_hz=megahertz * 1e6)
        assert printed(found, loss) == loss


@pytest.mark.parametrize(("a", "level", "b", "far", "crossed", "low", "high"), CROSSED)
def test_crossings__the_other_way_round_meet_the_same_walls(
    arrived: Site, a, level, b, far, crossed, low, high
) -> None:
    scene = scene_of(arrived, doors="usual", step_m=1.0)
    z = LEVEL_M[level] + 1.2
    there, back = (crossings(scene, p, q, ignore_openings=True) for p, q in (((*a, z), (*b, z)), ((*b, z), (*a, z))))
    assert there == back[::-1]


def printed(value: float, like: str) -> str:
    """A number with as many decimals as another has."""
    return f"{value:.{len(like.partition('.')[2])}f}"


def test_open_door__is_crossed_without_a_wall(arrived: Site) -> None:
    """The door of the lounge stands at u 1 to 1.9 of wall w11; with all doors open the way through it meets nothing."""
    a, b = (8.0, 1.5, 1.2), (4.0, 1.5, 1.2)
    opened, shut = (scene_of(arrived, doors=doors, step_m=1.0) for doors in ("open", "shut"))
    assert crossings(opened, a, b, ignore_openings=False) == ()
    assert crossings(shut, a, b, ignore_openings=False) == crossings(opened, a, b, ignore_openings=True) == ("w11",)


SENDING = {
    "arrived": {"D03", "D05", "D07"},
    "traced": {"D03", "D05", "D07"},
    "visited": {"D03", "D05", "D06", "D21", "N03", "N04", "N06", "N07", "N08"},
    "year_after": {"D05", "D06", "N03", "N04", "N05", "N06", "N07", "N08", "N09"},
}
PLANNED = {"arrived": set(), "traced": set(), "visited": {"N05", "N09"}, "year_after": set()}


@pytest.mark.parametrize("moment", SENDING)
def test_senders__those_in_use_at_that_moment(moment: str, request: pytest.FixtureRequest) -> None:
    """Two access points lie in a box on arrival; the repeater goes at the first visit, the old router at the second."""
    scene = scene_of(request.getfixturevalue(moment), doors="usual", step_m=1.0)
    assert {s.name for s in scene.senders if not s.planned} == SENDING[moment]
    assert {s.name for s in scene.senders if s.planned} == PLANNED[moment]
    hall = next(s for s in scene.senders if s.name == "D05")
    assert hall.spot == pytest.approx((8.2, 3.5, 2.85)) and (hall.antenna, hall.tilt_deg) == ("ceiling", -90)


@pytest.mark.parametrize("moment", SENDING)
def test_drawing__27_rooms_52_walls_and_nothing_amiss(moment: str, request: pytest.FixtureRequest) -> None:
    site = request.getfixturevalue(moment)
    made = made_scene(site, doors="usual", step_m=1.0)
    assert (len(made.scene.rooms), len(made.scene.walls)) == (27, 52)
    assert sum(len(w.openings) for w in made.scene.walls) == 54
    assert scene_problems(site, made) == () and made.undrawn == ()
    assert all(1 <= len(r.points) <= 200 for r in made.scene.rooms)


def test_losses__are_the_planning_values_and_metal_is_worse_at_the_lower_band(arrived: Site) -> None:
    skins = scene_of(arrived, doors="usual", step_m=1.0).skins
    assert (skins["W1"].loss_db["2.4 GHz"], skins["W1"].loss_db["5 GHz"]) == (18, 28)
    assert skins["W5"].loss_db["2.4 GHz"] > skins["W5"].loss_db["5 GHz"] and skins["W5"].spread_db["5 GHz"] >= 5
    assert {s.origin for name, s in skins.items() if name in ("W1", "W2", "W3", "W4", "W5", "W6", "F1", "F2")} == {
        "planning"
    }


def test_floor_over_the_kitchen__is_the_one_with_metal(arrived: Site) -> None:
    scene = scene_of(arrived, doors="usual", step_m=1.0)
    assert {s.name: s.skin for s in scene.slabs if s.z_m == 3.3} == {"L1": "F1", "L2": "F2"}


def test_readings__38_on_arrival_all_to_be_learned_from(arrived: Site, year_after: Site) -> None:
    """By the list of readings: 19 rooms in two bands, 17 times the one in the hall, 4 and 4 the others, 13 times none heard."""
    levels = readings_of(arrived, scene_of(arrived, doors="usual", step_m=1.0))
    assert len(levels) == 38 and all(level.reading and level.reading.count == 5 for level in levels)
    named = [level.reading.sender for level in levels if level.reading]
    assert {who: named.count(who) for who in set(named)} == {"D05": 17, "D03": 4, "D07": 4, None: 13}
    late = readings_of(year_after, scene_of(year_after, doors="usual", step_m=1.0))
    assert {level.heard.tag for level in late if level.reading and level.heard} == {"D05"}

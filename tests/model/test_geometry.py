"""Floor plans: turning or shifting a house moves it on the site and changes no room."""

from __future__ import annotations

import math

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import floor_plan, place_of
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from tests.model.make import entry, noted

FLOOR = Ref("floor", "F0")


def house(*, x_m: float, y_m: float, z_m: float, angle_deg: float) -> Site:
    """A room of 6 m by 5 m and one of an L shape; an outlet in the first; a wall of 6 m with a door and a window."""
    frame = {"x_m": x_m, "y_m": y_m, "z_m": z_m, "angle_deg": angle_deg}
    bodies = [
        noted("building:H1", frame, new=True),
        noted("floor:F0", {"building": "building:H1", "z_m": 1.5, "ceiling_m": 2.8}, new=True),
        noted("room:R1", {"floor": "floor:F0", "outline": "0 0; 6 5"}, new=True),
        noted("room:R2", {"floor": "floor:F0", "outline": "6 0; 10 0; 10 5; 8 5; 8 2; 6 2"}, new=True),
        noted("outlet:O1", {"room": "room:R1", "x_m": 4.0, "y_m": 3.0, "z_m": 0.3}, new=True),
        noted("wall_type:T1", {"thickness_m": 0.45, "hatch": "rubble"}, new=True),
        noted("wall:W1", {"floors": "floor:F0", "line": "0 0; 6 0", "wall_type": "wall_type:T1"}, new=True),
        noted("opening:D1", {"wall": "wall:W1", "u0_m": 1.0, "u1_m": 1.9, "z1_m": 2.0, "fill": "door"}, new=True),
        noted("opening:G1", {"wall": "wall:W1", "u0_m": 3.0, "u1_m": 4.2, "z0_m": 0.9, "state": "removed"}, new=True),
    ]
    return replay([entry(f"i{n}", b, tick=n) for n, b in enumerate(bodies, 1)], today="2026-04-01")


@pytest.mark.parametrize("angle_deg", [0, 30, 90, 217.5, -45])
def test_turned_house__keeps_its_rooms_and_carries_its_outlet(angle_deg: float) -> None:
    """Rotation to the left: (x cos a - y sin a, x sin a + y cos a), then the shift."""
    site = house(x_m=100, y_m=-20, z_m=7, angle_deg=angle_deg)
    areas = {str(r.ref): r.area_m2 for r in floor_plan(site, FLOOR).rooms}
    assert areas == {"room:R1": pytest.approx(6 * 5), "room:R2": pytest.approx(4 * 5 - 2 * 3)}
    place = place_of(site, site.things[Ref("outlet", "O1")])
    assert place is not None and (place.x_m, place.y_m, place.floor) == (4, 3, FLOOR)
    a = math.radians(angle_deg)
    assert place.on_site == (
        pytest.approx(100 + 4 * math.cos(a) - 3 * math.sin(a)),
        pytest.approx(-20 + 4 * math.sin(a) + 3 * math.cos(a)),
        pytest.approx(7 + 1.5 + 0.3),
    )


def test_turned_house__keeps_distances_between_its_points() -> None:
    here, there = (house(x_m=x, y_m=2, z_m=0, angle_deg=a) for x, a in ((0, 0), (50, 137)))
    corners = [(0, 0), (6, 5), (10, 2)]
    spans = [
        [math.dist(frame.to_site(p, 0), frame.to_site(q, 0)) for p in corners for q in corners]
        for frame in (floor_plan(s, FLOOR).frame for s in (here, there))
    ]
    assert spans[0] == pytest.approx(spans[1])


def test_wall__takes_height_and_thickness_from_floor_and_type_and_keeps_standing_openings() -> None:
    (wall,) = floor_plan(house(x_m=0, y_m=0, z_m=0, angle_deg=0), FLOOR).walls
    assert (wall.thickness_m, wall.hatch, wall.z0_m, wall.z1_m) == (0.45, "rubble", 0, 2.8)
    assert [(str(o.ref), o.u0_m, o.u1_m, o.z0_m, o.z1_m, o.fill) for o in wall.openings] == [
        ("opening:D1", 1.0, 1.9, 0, 2.0, "door")
    ]


def test_place__unknown_point_is_no_place() -> None:
    site = house(x_m=0, y_m=0, z_m=0, angle_deg=0)
    assert place_of(site, site.things[Ref("room", "R1")]) is None

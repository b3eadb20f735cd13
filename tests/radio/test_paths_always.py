"""What must hold of paths in any house: reciprocity, turning, more kinds only add, a shut door changes only its own paths."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest

from pullstring.radio.gates import bend
from pullstring.radio.paths import Kinds
from pullstring.radio.scene import BANDS, Scene
from tests.radio.by_hand import (
    BEST,
    EDGES,
    STRAIGHT,
    arrived,
    house_of,
    sender,
    spots,
    thrown,
    traced,
    turned,
    turned_points,
)


@pytest.mark.parametrize("seed", range(4))
def test_swapping_the_ends__moves_nothing(seed):
    """Reciprocity: from sender to point as from point to sender, in three bands, all kinds of paths."""
    house = thrown(seed, turn_deg=31.0 * seed)
    points = spots(seed, house, count=5)
    there = traced(house, points, BEST, bands=BANDS).level_dbm()[:, 0]
    other = dataclasses.replace(house, senders=tuple(sender(*p, name=f"P{n}") for n, p in enumerate(points)))
    back = traced(other, [house.senders[0].spot], BEST, bands=BANDS).level_dbm()[:, :, 0]
    assert np.abs(there - back).max() < 0.1


@pytest.mark.parametrize("seed", range(3))
def test_house_turned_and_shifted__the_same_levels(seed):
    house = thrown(seed, antennas=("isotropic",))
    points = spots(seed, house, count=8)
    where = {"turn_deg": 117.0, "shift": (-40.0, 12.5, 6.0)}
    here = traced(house, points, BEST).level_dbm()
    there = traced(turned(house, **where), turned_points(points, **where), BEST).level_dbm()
    assert np.abs(here - there).max() < 0.01


@pytest.mark.parametrize("seed", range(4))
def test_more_kinds__only_add(seed):
    house = thrown(seed)
    points = spots(seed, house, count=15)
    kinds = [STRAIGHT, EDGES, Kinds(reflections=1, openings=1), Kinds(reflections=1, openings=2), BEST]
    found = [traced(house, points, k).level_dbm() for k in kinds]
    for less, more in itertools.pairwise(found):
        assert (more >= less - 1e-4).all()


def doors(house: Scene) -> list[tuple[int, int]]:
    return [(w, o) for w, wl in enumerate(house.walls) for o, op in enumerate(wl.openings) if op.skin is None]


def shut(house: Scene, w: int, o: int) -> Scene:
    one = house.walls[w]
    openings = tuple(dataclasses.replace(op, skin="lath") if n == o else op for n, op in enumerate(one.openings))
    walls = tuple(dataclasses.replace(one, openings=openings) if n == w else wl for n, wl in enumerate(house.walls))
    return dataclasses.replace(house, walls=walls)


@pytest.mark.parametrize("seed", [0, 1, 3, 4, 8])
def test_shutting_a_door__changes_the_paths_through_it_and_no_other_point(seed):
    """Straight path and edges: a point whose straight line meets the doorway, or which a path by its edges or through it
    reaches, changes; any other keeps its level to the last digit."""
    house = thrown(seed)
    points = spots(seed + 50, house, count=60)
    spot = house.senders[0].spot
    assert doors(house)
    for w, o in doors(house):
        before, after = arrived(house, spot, points, EDGES), arrived(shut(house, w, o), spot, points, EDGES)
        changed = np.abs(_power(before, len(points)) / _power(after, len(points)) - 1) > 1e-9
        assert changed.tolist() == _through(house, w, o, before, spot, points).tolist()


def _power(paths, count) -> np.ndarray:
    power = np.zeros(count)
    for p in paths:
        np.add.at(power, p.which, p.share[0])
    return power


def _through(house, w, o, paths, spot, points) -> np.ndarray:
    """Whether any leg of a point's paths meets the doorway: by the equation of the wall's line, apart from the engine's."""
    hit = np.zeros(len(points), bool)
    gates = {g.patch: g for g in house_of(house).gates}
    name = house.walls[w].openings[o].name
    names = house_of(house).surfaces.patch_names
    for p in paths:
        if any(names[t] == name for t in p.touched):
            hit[p.which] = True
        if not p.touched:
            for n in p.which:
                hit[n] |= _meets(house.walls[w], o, spot, points[n])
    for gate in gates.values():
        for edge in gate.edges:
            for n in range(len(points)):
                hit[n] |= _bent_meets(house, w, o, gate, edge, np.array(spot), points[n])
    return hit


def _bent_meets(house, w, o, gate, edge, spot, point) -> bool:
    one = house.walls[w]
    normal = np.array([-gate.along[1], gate.along[0]])
    if ((spot[:2] - gate.foot[:2]) @ normal) * ((point[:2] - gate.foot[:2]) @ normal) >= 0:
        return False
    bent = bend(edge, spot[None], point[None])[0]
    along = np.subtract(one.end, one.start)
    if abs(along[0] * normal[0] + along[1] * normal[1]) < 1e-9 and abs((gate.foot[:2] - one.start) @ normal) < 1e-9:
        return False  # its own wall: told by what the path touches
    return _meets(one, o, spot, bent) or _meets(one, o, bent, point)


def _meets(one, o, a, b) -> bool:
    (x0, y0), (x1, y1) = one.start, one.end
    size = math.hypot(x1 - x0, y1 - y0)
    side = [(p[0] - x0) * (y1 - y0) - (p[1] - y0) * (x1 - x0) for p in (a, b)]
    if side[0] * side[1] >= 0:
        return False
    t = side[0] / (side[0] - side[1])
    x, y, z = (a[n] + t * (b[n] - a[n]) for n in range(3))
    u = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / size
    op = one.openings[o]
    return op.u0_m <= u < op.u1_m and op.z0_m <= z < op.z1_m

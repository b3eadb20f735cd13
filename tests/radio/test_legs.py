"""One straight leg: what it meets, how fields go through, come back and bend; by hand and by what must hold."""

from __future__ import annotations

import numpy as np
import pytest

from pullstring.radio import legs
from pullstring.radio.legs import Rays
from pullstring.radio.scene import BANDS, Slab
from pullstring.radio.skins import Responses, responses
from tests.radio.by_hand import hole, house_of, layered, plain, rect, scene, wall

A_WALL = wall("w", 0, 2, 6, 2, skin="a", openings=[hole("door", 1, 2, 0, 2), hole("pane", 3, 4, 1, 2, skin="b")])
A_FLOOR = Slab("f", 3.0, (rect(0, 0, 6, 6),), (rect(4, 4, 5, 5),), "a")
SKINS = (plain("a", loss_db=10, mirror_db=0.0), plain("b", loss_db=3))


def house(*walls, slabs=(), skins=SKINS):
    return house_of(scene(walls=walls, slabs=slabs, skins=skins))


def carried(of, start, end, skip=()):
    """Power left of a leg, and the crossings of each skin."""
    A, B = np.atleast_2d(np.asarray(start, float)), np.atleast_2d(np.asarray(end, float))
    A, B = np.broadcast_arrays(A, B)
    k, _ = legs.directions(A, B)
    rays = Rays(legs.upright(k).astype(complex)[None].copy(), np.zeros((len(A), len(of.made.names)), np.uint8))
    legs.carry(of.surfaces, of.made, A, B, rays, skip)
    return (np.abs(rays.field) ** 2).sum(2)[0], rays.crossings


@pytest.mark.parametrize(
    ("u", "z", "skin"),
    [
        (0.5, 1, 0),
        (1.5, 1, -1),
        (1.5, 2.5, 0),
        (3.5, 1.5, 1),
        (3.5, 0.5, 0),
        (5, 2.9, 0),
        (6.1, 1, -1),
        (-0.1, 1, -1),
        (5, 3.1, -1),
    ],
)
def test_met__wall_door_pane_and_beyond_the_wall(u, z, skin):
    assert legs.met(house(A_WALL).surfaces, 0, np.array([[u, 2.0, z]])).tolist() == [skin]


def test_met__at_a_common_edge_one_of_two_walls_only():
    """Two walls in one line: the point where they meet belongs to the second alone; so does a height between two storeys."""
    line = house(wall("w", 0, 2, 3, 2, skin="a"), wall("v", 3, 2, 6, 2, skin="a")).surfaces
    there = [legs.met(line, k, np.array([[3.0, 2.0, 1.0]]))[0] for k in (0, 1)]
    assert sorted(there) == [-1, 0]
    stack = house(wall("w", 0, 2, 3, 2, skin="a"), wall("v", 0, 2, 3, 2, skin="a", z0_m=3, z1_m=6)).surfaces
    assert sorted(legs.met(stack, k, np.array([[1.0, 2.0, 3.0]]))[0] for k in (0, 1)) == [-1, 0]


def test_met__floor_that_is_not_convex():
    """An L: the missing corner is open, by the even-odd rule along any line."""
    shape = ((0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6))
    found = house(slabs=[Slab("f", 3.0, (shape,), (), "a")]).surfaces
    points = np.array([[x, y, 3.0] for x, y in [(1, 1), (5, 1), (1, 5), (4, 4), (2.5, 2.5), (7, 1), (-1, 1)]])
    assert legs.met(found, 0, points).tolist() == [0, 0, 0, -1, -1, -1, -1]


def test_met__level_with_the_corners_of_a_floor():
    """A diamond, looked at along the line through two of its corners: in it and beside it, never the other way round."""
    found = house(slabs=[Slab("f", 3.0, (((0, 2), (2, 0), (4, 2), (2, 4)),), (), "a")]).surfaces
    points = np.array([[x, 2.0, 3.0] for x in (-1, 0.5, 2, 3.5, 5)] + [[-1, 0, 3], [-1, 4, 3.0]])
    assert legs.met(found, 0, points).tolist() == [-1, 0, 0, 0, -1, -1, -1]


def test_carry__each_crossing_takes_its_loss():
    """Through the wall 10 dB; through the door nothing; through the pane 3 dB; over a wall that ends below the leg nothing."""
    power, crossed = carried(
        house(A_WALL),
        [[0.5, 0, 1], [1.5, 0, 1], [3.5, 0, 1.5], [5, 0, 4]],
        [[0.5, 4, 1], [1.5, 4, 1], [3.5, 4, 1.5], [5, 4, 3.5]],
    )
    assert 10 * np.log10(power) == pytest.approx([-10, 0, -3, 0], abs=1e-4)
    assert crossed.tolist() == [[1, 0], [0, 0], [0, 1], [0, 0]]


def test_carry__floor_and_hole():
    power, crossed = carried(
        house(slabs=[A_FLOOR]), [[1, 1, 1], [4.5, 4.5, 1], [7, 7, 1]], [[2, 2, 5], [4.5, 4.6, 5], [7, 7.1, 5]]
    )
    assert 10 * np.log10(power) == pytest.approx([-10, 0, 0], abs=1e-4)
    assert crossed[:, 0].tolist() == [1, 0, 0]


def test_carry__an_end_on_a_plane_does_not_cross_it():
    power, crossed = carried(house(A_WALL), [[0.5, 2.0, 1], [0.5, 2 - 1e-7, 1], [0.5, 2 - 1e-5, 1]], [0.5, 4, 1])
    assert crossed[:, 0].tolist() == [0, 0, 1] and power[0] == pytest.approx(1)


def test_carry__along_a_wall_is_not_through_it():
    _, crossed = carried(house(A_WALL), [-1, 2.0, 1], [7, 2.0, 1])
    assert crossed.tolist() == [[0, 0]]


def test_carry__what_is_left_out_costs_nothing():
    power, crossed = carried(house(A_WALL), [0.5, 0, 1], [0.5, 4, 1], skip=(0,))
    assert power == pytest.approx([1]) and crossed.tolist() == [[0, 0]]


def test_carry__both_ways_the_same():
    """Reciprocity of a leg through slanted walls of layers."""
    of = house(
        wall("w", 0, 2, 6, 3, skin="x"),
        wall("v", 0, 3, 5, 6, skin="x"),
        slabs=[A_FLOOR],
        skins=(*SKINS, layered("x", ("brick", 0.1))),
    )
    dice = np.random.default_rng(3)
    A, B = dice.uniform(0, 6, (40, 3)), dice.uniform(0, 6, (40, 3))
    (_, crossed), (_, crossed_back) = carried(of, A, B), carried(of, B, A)
    assert crossed.tolist() == crossed_back.tolist() and crossed.sum() > 20
    kept, kept_back = (np.abs(_received(of, *ends)) for ends in ((A, B), (B, A)))
    assert kept == pytest.approx(kept_back, rel=1e-6)


def _received(of, A, B):
    k, _ = legs.directions(A, B)
    rays = Rays(legs.upright(k).astype(complex)[None].copy(), np.zeros((len(A), len(of.made.names)), np.uint8))
    legs.carry(of.surfaces, of.made, A, B, rays, ())
    return (rays.field[0] * legs.upright(k)).sum(1)


def given(te: complex, tm: complex) -> Responses:
    """A skin that lets `te` and `tm` through and throws as much back, at every angle."""
    made = responses({"a": SKINS[0]}, bands=BANDS[:1], frequencies_hz=[2.4e9], interference=False)
    made.through[:, :, 0], made.through[:, :, 1] = te, tm
    made.back[:, :, 0], made.back[:, :, 1] = te, tm
    return made


SLANT = np.array([[3.0, 4.0, 0.0], [1.0, -2.0, 2.0], [0.0, 3.0, -4.0]]) / np.array([[5.0], [3.0], [5.0]])


def test_through__level_leg_and_upright_wall_are_te_alone():
    """An upright field stands across the level plane of incidence: TE. Only a leg that climbs brings in TM."""
    n = np.array([0.0, 1.0, 0.0])
    rays = Rays(legs.upright(SLANT).astype(complex)[None].copy(), np.zeros((3, 1), np.uint8))
    legs.through(given(0.5, 0.0), rays, np.arange(3), np.zeros(3, np.int64), SLANT, n)
    kept = (np.abs(rays.field) ** 2).sum(2)[0]
    assert kept[0] == pytest.approx(0.25)
    assert kept[1] < 0.24 and kept[2] == pytest.approx(0), "straight up a wall the field lies in the plane: TM"


def test_through__floor_and_upright_rod_are_tm_alone():
    n = np.array([0.0, 0.0, 1.0])
    rays = Rays(legs.upright(SLANT[1:]).astype(complex)[None].copy(), np.zeros((2, 1), np.uint8))
    legs.through(given(0.0, 0.5), rays, np.arange(2), np.zeros(2, np.int64), SLANT[1:], n)
    assert (np.abs(rays.field) ** 2).sum(2)[0] == pytest.approx([0.25, 0.25])


def test_through__equal_in_both_is_a_number():
    rays = Rays(legs.upright(SLANT).astype(complex)[None].copy(), np.zeros((3, 1), np.uint8))
    legs.through(given(0.3j, 0.3j), rays, np.arange(3), np.zeros(3, np.int64), SLANT, np.array([0.6, 0.8, 0.0]))
    assert rays.field[0] == pytest.approx(0.3j * legs.upright(SLANT)) and rays.crossings.tolist() == [[1], [1], [1]]


@pytest.mark.parametrize("n", [(0.0, 1.0, 0.0), (0.6, -0.8, 0.0), (0.0, 0.0, 1.0)])
def test_bounce__a_metal_mirror_keeps_power_and_sends_the_image_of_the_field(n):
    """At a good conductor (TE -1, TM +1) the field along the face turns over and that across stays: E' = 2 (n . E) n - E."""
    normal = np.array(n)
    E = legs.upright(SLANT)
    rays = Rays(E.astype(complex)[None].copy(), np.zeros((3, 1), np.uint8))
    legs.bounce(given(-1.0, 1.0), rays, np.zeros(3, np.int64), SLANT, normal)
    expected = 2 * (E @ normal)[:, None] * normal - E
    assert rays.field[0] == pytest.approx(expected, abs=1e-9)
    after = SLANT - 2 * (SLANT @ normal)[:, None] * normal
    assert (rays.field[0] * after).sum(1) == pytest.approx(0, abs=1e-9), "it stands across the new direction"


def test_bounce__parts_go_with_their_own_ratio():
    """Level leg, upright wall: the rod's field is all TE. Level floor: all TM."""
    flat, climbing = SLANT[:1], SLANT[1:2]
    for k, n, kept in ((flat, (0.0, 1.0, 0.0), 0.2), (climbing, (0.0, 0.0, 1.0), 0.7)):
        rays = Rays(legs.upright(k).astype(complex)[None].copy(), np.zeros((1, 1), np.uint8))
        legs.bounce(given(0.2, 0.7), rays, np.zeros(1, np.int64), k, np.array(n))
        assert np.sqrt((np.abs(rays.field) ** 2).sum()) == pytest.approx(kept)


def test_turn__upright_stays_upright_and_level_stays_level():
    E = (2 * legs.upright(SLANT) + 1j * np.cross(SLANT, legs.upright(SLANT))).astype(complex)
    after = SLANT[[1, 2, 0]]
    rays = Rays(E[None].copy(), np.zeros((3, 1), np.uint8))
    legs.turn(rays, SLANT, after)
    assert rays.field[0] == pytest.approx(2 * legs.upright(after) + 1j * np.cross(after, legs.upright(after)))


def test_upright__is_a_unit_across_the_way_in_its_upright_plane():
    dice = np.random.default_rng(1)
    k = dice.normal(size=(50, 3))
    k /= np.linalg.norm(k, axis=1, keepdims=True)
    up = legs.upright(k)
    assert (up * k).sum(1) == pytest.approx(0, abs=1e-12) and (up**2).sum(1) == pytest.approx(1)
    assert (up[:, 2] > 0).all()
    assert np.cross(k, up)[:, 2] == pytest.approx(0, abs=1e-12)
    assert (legs.upright(np.array([[0.0, 0, 1], [0, 0, -1]])) ** 2).sum(1) == pytest.approx(1)


def test_planes__normal_and_offset_hold_every_point_of_the_surface():
    of = house(wall("w", 1, 2, 4, 6, skin="a"), slabs=[A_FLOOR]).surfaces
    for k, points in ((0, [(1, 2, 0), (4, 6, 3), (2.5, 4, 1)]), (1, [(0, 0, 3), (5, 9, 3)])):
        n, at = legs.normal_of(of, k), legs.offset_of(of, k)
        assert np.linalg.norm(n) == pytest.approx(1) and np.array(points) @ n == pytest.approx(at)

"""Scenes as flat arrays: what is left out, what is joined, what is numbered."""

from __future__ import annotations

import numpy as np
import pytest

from pullstring.radio.legs import met
from pullstring.radio.paths import Kinds
from pullstring.radio.scene import Slab
from pullstring.radio.surfaces import surfaces_of
from tests.radio.by_hand import arrived, hole, plain, rect, scene, sender, wall

SKINS = (plain("b", loss_db=1), plain("a", loss_db=2), plain("c", loss_db=3))


def found(*walls, slabs=()):
    return surfaces_of(scene(walls=walls, slabs=slabs, skins=SKINS))


def test_nothing__is_no_surface():
    none = found()
    assert (none.walls, none.total) == (0, 0)


def test_walls__slips_of_the_pen_and_walls_without_height_are_left_out():
    walls = [
        wall("dot", 1, 1, 1.005, 1, skin="a"),
        wall("flat", 0, 0, 4, 0, skin="a", z0_m=1, z1_m=1),
        wall("upside down", 0, 0, 4, 0, skin="a", z0_m=2, z1_m=1),
        wall("real", 0, 0, 3, 4, skin="b"),
    ]
    kept = found(*walls)
    assert kept.names == ("real",) and kept.length == pytest.approx([5]) and kept.along[0] == pytest.approx([0.6, 0.8])


def test_skins__numbered_in_the_order_of_their_names():
    kept = found(wall("w", 0, 0, 4, 0, skin="c", openings=[hole("x", 1, 2, 0, 2), hole("y", 3, 4, 0, 2, skin="b")]))
    assert kept.wall_skin.tolist() == [2] and kept.patch_skin.tolist() == [-1, 1] and kept.patch_names == ("x", "y")


def test_openings__stay_with_their_wall_when_walls_are_put_in_order():
    """The upper wall comes first in the scene and last among the surfaces."""
    upper = wall("up", 0, 0, 4, 0, skin="a", z0_m=3, z1_m=6, openings=[hole("hatch", 1, 2, 3, 4)])
    lower = wall("low", 0, 1, 4, 1, skin="b", openings=[hole("door", 0, 1, 0, 2), hole("window", 2, 3, 1, 2, skin="c")])
    kept = found(upper, lower)
    assert kept.names == ("low", "up")
    mine = {kept.names[k]: kept.patch_names[kept.patch_from[k] : kept.patch_from[k + 1]] for k in range(kept.walls)}
    assert mine == {"low": ("door", "window"), "up": ("hatch",)}


def test_slabs__pieces_that_touch_have_no_seam():
    """Two rooms side by side: a point on their common line is on the slab, as one step to either side is."""
    kept = found(slabs=[Slab("s", 3.0, (rect(0, 0, 2, 4), rect(2, 0, 5, 4)), (), "a")])
    points = np.array([[x, 1.5, 3.0] for x in (1.9, 2.0, 2.1, 5.1)])
    assert met(kept, 0, points).tolist() == [0, 0, 0, -1]


def test_slabs__pieces_that_overlap_count_once():
    """By the even-odd rule alone an overlap would be a hole."""
    kept = found(slabs=[Slab("s", 3.0, (rect(0, 0, 3, 4), rect(2, 0, 5, 4)), (), "a")])
    assert met(kept, 0, np.array([[2.5, 2.0, 3.0]])).tolist() == [0]


def test_slabs__holes_and_courts_are_empty_and_islands_are_not():
    ring = Slab("s", 3.0, (rect(0, 0, 9, 9),), (rect(1, 1, 4, 4), rect(3, 3, 6, 6)), "a")
    island = Slab("t", 4.0, (rect(0, 0, 9, 9),), (rect(8, 8, 12, 12),), "a")
    kept = found(slabs=[ring, island])
    places = np.array([[2, 2, 3.0], [3.5, 3.5, 3], [5, 5, 3], [5, 2, 3], [7, 7, 3]])
    assert met(kept, 0, places).tolist() == [-1, -1, -1, 0, 0]
    assert met(kept, 1, np.array([[8.5, 8.5, 4.0], [7.5, 7.5, 4]])).tolist() == [-1, 0]


def test_slabs__an_outline_that_crosses_itself_is_mended():
    """A bow tie: its two wings are floor, nothing between them."""
    kept = found(slabs=[Slab("s", 3.0, (((0, 0), (2, 2), (2, 0), (0, 2)),), (), "a")])
    assert met(kept, 0, np.array([[0.5, 1, 3.0], [1.5, 1, 3], [1, 1.5, 3]])).tolist() == [0, 0, -1]


def test_slabs__a_hole_as_large_as_the_floor_leaves_nothing():
    kept = found(slabs=[Slab("s", 3.0, (rect(0, 0, 2, 2),), (rect(-1, -1, 3, 3),), "a")])
    assert kept.total == 1 and met(kept, 0, np.array([[1, 1, 3.0]])).tolist() == [-1]


def crossed(*walls) -> int:
    """How many walls the straight way from (0, 0) to (4, 10) crosses."""
    of = scene(walls=walls, senders=(sender(0.0, 0.0, 1.0),), skins=SKINS)
    (straight,) = arrived(of, (0.0, 0.0, 1.0), [(4.0, 10.0, 1.0)], Kinds(0, 0))
    return int(straight.crossings.sum())


@pytest.mark.parametrize("first", [((2, -5), (2, 5)), ((2, 5), (2, -5))])
@pytest.mark.parametrize("second", [((8, 5), (2, 5)), ((2, 5), (8, 5))])
def test_corner__a_ray_exactly_through_it_meets_both_walls(first, second):
    assert crossed(wall("x", *first[0], *first[1], skin="a"), wall("y", *second[0], *second[1], skin="b")) == 2


@pytest.mark.parametrize("other", [((2, 5), (8, 5)), ((8, 5), (2, 5))])
def test_joint__a_ray_exactly_through_two_walls_in_a_line_meets_one(other):
    assert crossed(wall("x", 0, 5, 2, 5, skin="a"), wall("y", *other[0], *other[1], skin="b")) == 1

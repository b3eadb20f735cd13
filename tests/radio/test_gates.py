"""Openings in which nothing stands: their edges, the shortest string round them, what an edge costs."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from pullstring.radio import gates
from pullstring.radio.knife_edge import detour_factor, knife_edge_loss_db
from tests.radio.by_hand import hole, house_of, plain, scene, wall

SKINS = (plain("a", loss_db=10), plain("b", loss_db=3))


def found(*openings, z0_m=0.0, z1_m=3.0):
    return house_of(
        scene(walls=[wall("w", 0, 2, 6, 2, skin="a", z0_m=z0_m, z1_m=z1_m, openings=openings)], skins=SKINS)
    ).gates


def length(*points):
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


@pytest.mark.parametrize(
    ("box", "edges"),
    [
        ((1, 2, 0, 2), 3),  # a door: two jambs, a lintel, no sill
        ((1, 2, 0.9, 2.1), 4),  # a window: a sill as well
        ((1, 2, 0, 3), 2),  # a gap to the ceiling: jambs alone
        ((0, 2, 0, 2), 2),  # from the end of the wall: one jamb and the lintel
        ((0, 6, 0, 2), 1),  # the whole wall below a beam
        ((0, 6, 0, 3), 0),  # no wall at all
        ((1, 2, 0.03, 2), 3),  # a threshold is no sill
        ((-1, 8, -1, 2), 1),  # drawn beyond the wall: cut to it
    ],
)
def test_edges__only_where_the_wall_goes_on(box, edges):
    (one,) = found(hole("g", *box))
    assert len(one.edges) == edges


def test_gates__openings_with_something_in_them_are_none_and_neither_are_those_beyond_the_wall():
    assert found(hole("pane", 1, 2, 1, 2, skin="b"), hole("far", 7, 8, 0, 2), hole("high", 1, 2, 4, 5)) == ()


def test_gates__lie_where_the_wall_lies():
    (one,) = found(hole("g", 1, 2.5, 0.9, 2.1))
    assert one.foot == pytest.approx([1, 2, 0.9]) and one.along == pytest.approx([1, 0, 0])
    assert (one.width_m, one.low_m, one.high_m) == pytest.approx((1.5, 0.9, 2.1))
    corners = {tuple(np.round(p, 9)) for edge in one.edges for p in edge}
    assert corners == {(1, 2, 0.9), (1, 2, 2.1), (2.5, 2, 0.9), (2.5, 2, 2.1)}


def test_knife_edge__the_values_of_the_source():
    """ITU-R P.526: 6.0 dB at nu = 0, 13.9 dB at nu = 1; nu = 2 sqrt(detour / wavelength), so nu = 1 is a quarter of a wave."""
    lost = gates.knife_db(detour_m=np.array([0.0, 0.03, 0.12]), wavelength_m=np.array([0.12]))
    assert lost[0] == pytest.approx([6.03, 13.9, 19.0], abs=0.06)


def test_knife_edge__is_the_law_of_links_between_buildings():
    """The same formula stands for links; both must say the same, band by band."""
    detour, wave = np.array([0.001, 0.05, 0.7]), np.array([0.123, 0.0545])
    for b, n in itertools.product(range(2), range(3)):
        nu = detour_factor(detour_m=detour[n], frequency_hz=299_792_458.0 / wave[b])
        assert gates.knife_db(detour_m=detour, wavelength_m=wave)[b, n] == pytest.approx(
            float(knife_edge_loss_db(edge_factor=nu))
        )


def test_knife_edge__a_detour_below_zero_by_rounding_is_none():
    assert gates.knife_db(detour_m=np.array([-1e-12]), wavelength_m=np.array([0.1]))[0, 0] == pytest.approx(
        6.03, abs=0.01
    )


EDGE = (np.array([1.0, 2.0, 0.5]), np.array([1.0, 2.0, 2.5]))
SLOPING = (np.array([1.0, 2.0, 0.5]), np.array([3.0, 2.0, 0.5]))


@pytest.mark.parametrize("edge", [EDGE, SLOPING])
@pytest.mark.parametrize("seed", range(5))
def test_bend__no_other_point_of_the_edge_is_shorter(edge, seed):
    dice = np.random.default_rng(seed)
    A, B = dice.uniform(-2, 5, (20, 3)), dice.uniform(-2, 5, (20, 3))
    point = gates.bend(edge, A, B)
    tries = [edge[0] + t * (edge[1] - edge[0]) for t in np.linspace(0, 1, 401)]
    for a, b, p in zip(A, B, point, strict=True):
        assert length(a, p, b) <= min(length(a, q, b) for q in tries) + 1e-9
        assert min(math.dist(p, q) for q in tries) < 0.01, "it lies on the edge"


def test_bend__straight_through_the_middle_by_symmetry():
    point = gates.bend(EDGE, np.array([[0.0, 0, 1]]), np.array([[0.0, 4, 2]]))
    assert point[0] == pytest.approx([1, 2, 1.5])


def test_bend__cut_to_the_ends_of_the_edge():
    point = gates.bend(EDGE, np.array([[0.0, 0, 9]]), np.array([[0.0, 4, 9]]))
    assert point[0] == pytest.approx([1, 2, 2.5])


TWO = (
    wall("w", 0, 2, 6, 2, skin="a", openings=[hole("g", 1, 2, 0, 2)]),
    wall("v", 3, 4, 9, 4, skin="a", openings=[hole("h", 1, 1.8, 0, 2)]),
)


def test_taut__the_string_through_two_openings_is_near_the_shortest():
    """Against every pair of points of a fine net in both openings. Heights are pulled along straight lines and not folded
    round the jambs: 1 mm too long on average, 5 cm at the worst, which costs a quarter of a decibel at 5 GHz."""
    one, two = house_of(scene(walls=TWO, skins=SKINS)).gates
    net = [(u, z) for u in np.linspace(0, 1, 21) for z in np.linspace(0, 2, 21)]
    first, second = (np.array([g.foot + u * g.width_m * g.along + [0, 0, z] for u, z in net]) for g in (one, two))
    between = np.linalg.norm(first[:, None] - second[None], axis=2)
    longer = []
    for seed in range(60):
        dice = np.random.default_rng(seed)
        A, B = dice.uniform((0, -2, 0.5), (4, 1.5, 2.5)), dice.uniform((2, 4.5, 0.5), (9, 8, 2.5), (1, 3))
        P, Q = gates.taut(one, two, A[None], B)
        best = (
            np.linalg.norm(first - A, axis=1)[:, None] + between + np.linalg.norm(second - B[0], axis=1)[None]
        ).min()
        longer.append(length(A, P[0], Q[0], B[0]) - best)
    assert np.mean(longer) < 0.003 and max(longer) < 0.06


def test_at_edge__rim_and_middle():
    (one,) = found(hole("g", 1, 2, 0.9, 2.1))
    places = np.array([[1, 2, 1.5], [2, 2, 1.5], [1.5, 2, 0.9], [1.5, 2, 2.1], [1.5, 2, 1.5]])
    assert gates.at_edge(one, places).tolist() == [True, True, True, True, False]

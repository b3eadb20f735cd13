"""Knife edges against the Fresnel integral, against the Recommendation's two edges, and against both directions."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.radio.knife_edge import (
    bullington_loss_db,
    detour_factor,
    deygout_loss_db,
    fresnel_radius_m,
    height_factor,
    knife_edge_loss_db,
)

LAMBDA_M = 299_792_458.0 / 5.5e9


def integral_db(nu: float) -> float:
    """Loss by the Fresnel integral itself, summed by the trapezium rule from 0 to nu; from 0 to infinity both parts are 1/2."""
    t = np.linspace(0, nu, 200_001)
    C, S = np.trapezoid(np.cos(np.pi * t**2 / 2), t), np.trapezoid(np.sin(np.pi * t**2 / 2), t)
    return -10 * math.log10(((0.5 - C) ** 2 + (0.5 - S) ** 2) / 2)


@pytest.mark.parametrize("nu", [-0.5, 0.0, 0.3, 1.0, 2.4, 5.0, 7.6])
def test_knife_edge__is_near_the_fresnel_integral(nu):
    assert knife_edge_loss_db(edge_factor=nu) == pytest.approx(integral_db(nu), abs=0.3)


def test_knife_edge__does_not_jump_where_it_ends():
    just = np.array([-0.78 - 1e-9, -0.78 + 1e-9])
    assert np.abs(np.diff(knife_edge_loss_db(edge_factor=just))) < 0.01
    assert knife_edge_loss_db(edge_factor=-50.0) == 0


@given(st.floats(-3, 10), st.floats(0, 1))
def test_knife_edge__deeper_never_costs_less(nu, more):
    assert knife_edge_loss_db(edge_factor=nu + more) >= knife_edge_loss_db(edge_factor=nu) >= 0


def test_knife_edge__nothing_known_stays_nothing_known():
    assert math.isnan(knife_edge_loss_db(edge_factor=math.nan))


@given(st.floats(-3, 3), st.floats(20, 500), st.floats(20, 500))
def test_height_factor__turns_with_the_height_and_not_with_the_direction(h, a, b):
    def nu(height, before, after):
        return float(height_factor(height_m=height, before_m=before, after_m=after, frequency_hz=5.5e9))

    assert nu(h, a, b) == -nu(-h, a, b) == pytest.approx(nu(h, b, a))


@given(st.floats(0.1, 1), st.floats(30, 300), st.floats(30, 300))
def test_detour_factor__agrees_with_the_height_for_small_angles(h, a, b):
    detour_m = math.hypot(a, h) + math.hypot(b, h) - a - b
    by_height = height_factor(height_m=h, before_m=a, after_m=b, frequency_hz=5.5e9)
    assert detour_factor(detour_m=detour_m, frequency_hz=5.5e9) == pytest.approx(float(by_height), rel=1e-3)
    assert detour_factor(detour_m=-detour_m, frequency_hz=5.5e9) == pytest.approx(-float(by_height), rel=1e-3)


@given(st.floats(20, 300), st.floats(20, 300))
def test_fresnel_radius__makes_a_detour_of_half_a_wavelength(a, b):
    r = float(fresnel_radius_m(order=1, before_m=a, after_m=b, frequency_hz=5.5e9))
    assert math.hypot(a, r) + math.hypot(b, r) - a - b == pytest.approx(LAMBDA_M / 2, rel=2e-3)
    assert float(fresnel_radius_m(order=4, before_m=a, after_m=b, frequency_hz=5.5e9)) == pytest.approx(2 * r)


def test_height_factor__at_the_edge_of_the_first_zone_is_the_root_of_two():
    """h = F1 gives nu = sqrt 2; 0.6 F1 clear gives -0.85, just free."""
    r = float(fresnel_radius_m(order=1, before_m=30, after_m=70, frequency_hz=5.5e9))
    assert height_factor(height_m=r, before_m=30, after_m=70, frequency_hz=5.5e9) == pytest.approx(math.sqrt(2))
    clear = height_factor(height_m=-0.6 * r, before_m=30, after_m=70, frequency_hz=5.5e9)
    assert knife_edge_loss_db(edge_factor=clear) == 0


@given(st.floats(10, 90), st.floats(-2, 4))
def test_deygout__one_edge_costs_what_one_edge_costs(place, h):
    nu = height_factor(height_m=h, before_m=place, after_m=100 - place, frequency_hz=5.5e9)
    found = deygout_loss_db([(place, h)], length_m=100, frequency_hz=5.5e9)
    assert found == pytest.approx(float(knife_edge_loss_db(edge_factor=nu)))


def two_edges_db(a: float, b: float, c: float, h1: float, h2: float) -> float:
    """ITU-R P.526 section 4.2, first method (memory): each edge alone between its neighbours, plus Lc; above 15 dB each."""
    top1, top2 = h1 - h2 * a / (a + b), h2 - h1 * c / (b + c)
    nu1 = height_factor(height_m=top1, before_m=a, after_m=b, frequency_hz=5.5e9)
    nu2 = height_factor(height_m=top2, before_m=b, after_m=c, frequency_hz=5.5e9)
    both = knife_edge_loss_db(edge_factor=np.array([nu1, nu2]))
    assert np.all(both > 15)
    return float(both.sum()) + 10 * math.log10((a + b) * (b + c) / (b * (a + b + c)))


@pytest.mark.parametrize(("a", "b", "c", "h1", "h2"), [(40, 60, 40, 6, 6), (30, 80, 50, 5, 7), (50, 50, 50, 8, 8)])
def test_deygout__two_edges_are_near_the_recommendation_and_on_the_safe_side(a, b, c, h1, h2):
    found = deygout_loss_db([(a, h1), (a + b, h2)], length_m=a + b + c, frequency_hz=5.5e9)
    assert -0.5 < found - two_edges_db(a, b, c, h1, h2) < 4


EDGES = st.lists(st.tuples(st.floats(5, 95), st.floats(-2, 5)), max_size=5)


@given(EDGES)
def test_deygout__costs_the_same_from_the_other_end(edges):
    back = [(100 - d, h) for d, h in edges]
    there = deygout_loss_db(edges, length_m=100, frequency_hz=5.5e9)
    assert deygout_loss_db(back, length_m=100, frequency_hz=5.5e9) == pytest.approx(there)
    assert bullington_loss_db(back, length_m=100, frequency_hz=5.5e9) == pytest.approx(
        bullington_loss_db(edges, length_m=100, frequency_hz=5.5e9)
    )


def test_deygout__two_equal_edges_leave_no_choice_of_direction():
    """Edges of 2 m at 20 and 80 m have one nu. With the second as the main one, the low one behind it counts as well."""
    edges = [(20.0, 2.0), (80.0, 2.0), (95.0, 0.6)]
    back = [(100 - d, h) for d, h in edges][::-1]
    found = [deygout_loss_db(one, length_m=100, frequency_hz=5.5e9) for one in (edges, back)]
    assert found[0] == pytest.approx(found[1])


@given(EDGES, st.floats(0, 2))
def test_deygout__at_least_the_greatest_edge(edges, lift):
    higher = [(d, h + lift) for d, h in edges]
    found = deygout_loss_db(higher, length_m=100, frequency_hz=5.5e9)
    alone = [deygout_loss_db([edge], length_m=100, frequency_hz=5.5e9) for edge in higher]
    assert found >= max(alone, default=0.0) - 1e-9


def test_several_edges__none_or_far_below_cost_nothing():
    for law in (deygout_loss_db, bullington_loss_db):
        assert law([], length_m=100, frequency_hz=5.5e9) == 0
        assert law([(50.0, -20.0), (70.0, -9.0)], length_m=100, frequency_hz=5.5e9) == 0
        assert law([(-1.0, 9.0), (101.0, 9.0)], length_m=100, frequency_hz=5.5e9) == 0


def test_bullington__by_hand():
    """Edges of 2 m at 25 and 75 m: the rays rise 2 in 25 and cross at 50 m, 4 m up; J there, then the hill term."""
    J = float(knife_edge_loss_db(edge_factor=height_factor(height_m=4, before_m=50, after_m=50, frequency_hz=5.5e9)))
    found = bullington_loss_db([(25.0, 2.0), (75.0, 2.0)], length_m=100, frequency_hz=5.5e9)
    assert found == pytest.approx(J + (1 - math.exp(-J / 6)) * 10.002)

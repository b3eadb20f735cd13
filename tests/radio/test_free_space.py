"""Free space and the bounce off the ground against what follows from geometry alone."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.radio.free_space import free_space_loss_db, received_level_dbm, two_ray_gain_db, wavelength_m

HZ = st.floats(1e9, 1e10)
METRES = st.floats(0.5, 1000)


def test_wavelength__light_takes_one_period():
    assert wavelength_m(frequency_hz=299_792_458.0) == pytest.approx(1.0)


def test_free_space__is_the_share_of_a_sphere_that_an_isotropic_antenna_catches():
    """Its aperture is lambda^2 / 4 pi; at 10 m the power stands on 4 pi 100 m^2."""
    aperture_m2 = 0.1**2 / (4 * math.pi)
    share = aperture_m2 / (4 * math.pi * 10**2)
    assert free_space_loss_db(distance_m=10, frequency_hz=2.99792458e9) == pytest.approx(-10 * math.log10(share))


@given(METRES, HZ)
def test_free_space__twice_as_far_or_twice_the_frequency_costs_a_quarter_of_the_power(d, f):
    here = free_space_loss_db(distance_m=d, frequency_hz=f)
    assert free_space_loss_db(distance_m=2 * d, frequency_hz=f) - here == pytest.approx(20 * math.log10(2))
    assert free_space_loss_db(distance_m=d, frequency_hz=2 * f) - here == pytest.approx(20 * math.log10(2))


@pytest.mark.parametrize("none", [0.0, -3.0, math.nan])
def test_free_space__no_path_no_number(none):
    assert math.isnan(free_space_loss_db(distance_m=none, frequency_hz=2e9))
    assert math.isnan(free_space_loss_db(distance_m=3.0, frequency_hz=none))


def test_free_space__arrays_go_through():
    found = free_space_loss_db(distance_m=np.array([1.0, 10.0, 100.0]), frequency_hz=5.5e9)
    assert np.diff(found) == pytest.approx([20.0, 20.0])


def test_received_level__adds_up():
    assert received_level_dbm(eirp_dbm=23, loss_db=80, receive_gain_dbi=7) == -50


@given(st.floats(300, 1000), st.floats(1, 3), st.floats(1, 3))
def test_two_rays__far_away_follow_the_plane_earth_law(d, near, far):
    """Over a full mirror at grazing angle the whole loss tends to 40 log d - 20 log(h1 h2), whatever the frequency."""
    f = 1e9
    whole = float(free_space_loss_db(distance_m=d, frequency_hz=f)) - two_ray_gain_db(
        plan_m=d, near_height_m=near, far_height_m=far, reflection_ratio=-1, frequency_hz=f
    )
    # Where twice pi h1 h2 / (lambda d) is small the law is near: at 0.63 rad the sine is 6.5 % below its angle, 0.6 dB.
    assert whole == pytest.approx(40 * math.log10(d) - 20 * math.log10(near * far), abs=0.65)


def test_two_rays__half_a_wave_longer_off_a_mirror_that_turns_the_field_doubles_it():
    """Masts of 3 and 4 m over 12 m: 12.04 straight, sqrt(144 + 49) = 13.892 by the ground."""
    straight, bounced = math.hypot(12, 1), math.hypot(12, 7)
    f = 299_792_458.0 / (2 * (bounced - straight))  # the detour is half of this wavelength
    found = two_ray_gain_db(plan_m=12, near_height_m=3, far_height_m=4, reflection_ratio=-1, frequency_hz=f)
    assert found == pytest.approx(20 * math.log10(1 + straight / bounced))


def test_two_rays__antennas_on_the_ground_hear_nothing():
    assert (
        two_ray_gain_db(plan_m=50, near_height_m=0, far_height_m=2, reflection_ratio=-1, frequency_hz=5e9) == -math.inf
    )


@given(st.floats(5, 200), st.floats(0, 10), st.floats(0, 10), st.floats(0.0, 0.95))
def test_two_rays__swing_no_further_than_the_bounce_allows_and_the_same_both_ways(d, near, far, ratio):
    def found(a, b):
        return two_ray_gain_db(plan_m=d, near_height_m=a, far_height_m=b, reflection_ratio=-ratio, frequency_hz=5.5e9)

    assert 20 * math.log10(1 - ratio) - 1e-9 <= found(near, far) <= 20 * math.log10(1 + ratio) + 1e-9
    assert found(near, far) == found(far, near)

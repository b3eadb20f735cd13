"""Antenna classes: the parabola by hand, and what holds for any antenna."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.radio.antennas import antenna_class, antennas, gain_db

EAST, NORTH, WEST, UP, DOWN = (1.0, 0, 0), (0, 1.0, 0), (-1.0, 0, 0), (0, 0, 1.0), (0, 0, -1.0)
ANGLES, TILTS = st.floats(-360, 360), st.floats(-90, 90)


def on_a_sphere(count: int) -> np.ndarray:
    """Directions that share a sphere evenly: a spiral by the golden ratio."""
    i = np.arange(count) + 0.5
    z, turn = 1 - 2 * i / count, np.pi * (1 + 5**0.5) * i
    return np.column_stack([np.sqrt(1 - z**2) * np.cos(turn), np.sqrt(1 - z**2) * np.sin(turn), z])


def gain(antenna: str, *directions, azimuth_deg=0.0, tilt_deg=0.0) -> list[float]:
    return gain_db(antenna, azimuth_deg=azimuth_deg, tilt_deg=tilt_deg, directions=np.array(directions)).tolist()


def away(degrees: float) -> tuple[float, float, float]:
    """Level, so many degrees to the left of east."""
    return (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), 0.0)


def test_panel__by_the_table_of_the_standard():
    """TR 38.901 Table 7.3-1, 65 deg and 30 dB: 3 dB at 32.5 deg, 12 dB at 65, the floor from 102.8 deg on."""
    found = gain("panel", away(0), away(32.5), away(-65), away(102), away(103), WEST, UP)
    assert found == pytest.approx([0, -3, -12, -12 * (102 / 65) ** 2, -30, -30, -12 * (90 / 65) ** 2], abs=1e-6)


def test_panel__across_and_up_add_until_the_floor():
    """20 deg to the left and 20 deg up: twice 12 (20/65)^2, with the turn about the upright axis after the lift."""
    left, up = math.radians(20), math.radians(20)
    direction = (math.cos(up) * math.cos(left), math.cos(up) * math.sin(left), math.sin(up))
    assert gain("panel", direction) == pytest.approx([-2 * 12 * (20 / 65) ** 2])
    assert min(gain("panel", *on_a_sphere(500))) == -30


def test_wall__has_its_own_widths_across_and_up():
    """Half of 120 deg across and half of 100 deg up are 3 dB each."""
    up = math.radians(50)
    assert gain("wall", away(60), (math.cos(up), 0.0, math.sin(up))) == pytest.approx([-3, -3])


def test_omni__the_same_all_round_and_weak_along_its_rod():
    level = gain("omni", *(away(degrees) for degrees in range(0, 360, 15)))
    assert level == pytest.approx([0] * 24)
    assert gain("omni", UP, DOWN) == pytest.approx([-12 * (90 / 78) ** 2] * 2)


def test_omni__falls_over_with_its_tilt():
    """A rod that looks straight up lies: its axis points west and east."""
    assert gain("omni", UP, NORTH, EAST, tilt_deg=90) == pytest.approx([0, 0, -12 * (90 / 78) ** 2], abs=1e-9)


def test_ceiling__strongest_straight_below_and_the_same_all_round():
    rest = antenna_class("ceiling").rest_tilt_deg
    below, level, above = gain("ceiling", DOWN, EAST, UP, tilt_deg=rest)
    assert (below, level, above) == pytest.approx((0, -12 * (90 / 140) ** 2, -12), abs=1e-6)
    assert gain("ceiling", NORTH, WEST, tilt_deg=rest) == pytest.approx([level, level])


@pytest.mark.parametrize("name", antennas())
def test_class__radiates_no_more_than_it_is_given(name):
    """The gain of any antenna is at most its directivity: 1 over the mean of its relative power over all directions."""
    kind = antenna_class(name)
    relative = gain_db(name, azimuth_deg=0, tilt_deg=kind.rest_tilt_deg, directions=on_a_sphere(100_000))
    directivity_dbi = -10 * math.log10(float(np.mean(10 ** (relative / 10))))
    assert directivity_dbi - 3 < kind.gain_dbi <= directivity_dbi + 0.05


@pytest.mark.parametrize("name", antennas())
@given(ANGLES, TILTS)
def test_class__best_where_it_looks_and_nowhere_better(name, azimuth, tilt):
    a, t = math.radians(azimuth), math.radians(tilt)
    looks = (math.cos(a) * math.cos(t), math.sin(a) * math.cos(t), math.sin(t))
    assert gain(name, looks, azimuth_deg=azimuth, tilt_deg=tilt) == pytest.approx([0], abs=1e-6)
    around = gain_db(name, azimuth_deg=azimuth, tilt_deg=tilt, directions=on_a_sphere(200))
    assert np.all(around <= 0) and np.all(around >= -antenna_class(name).floor_db - 1e-9)


@pytest.mark.parametrize("name", antennas())
@given(ANGLES, TILTS, st.floats(0.01, 100))
def test_class__turns_with_the_house_and_takes_directions_of_any_length(name, turn, tilt, length):
    around = on_a_sphere(60)
    a = math.radians(turn)
    turned = around @ np.array([[math.cos(a), math.sin(a), 0], [-math.sin(a), math.cos(a), 0], [0, 0, 1]])
    here = gain_db(name, azimuth_deg=0, tilt_deg=tilt, directions=around)
    there = gain_db(name, azimuth_deg=turn, tilt_deg=tilt, directions=length * turned)
    assert there == pytest.approx(here, abs=1e-6)


def test_class__unknown_names_what_is_held():
    with pytest.raises(ValueError, match="ceiling, wall"):
        gain("horn", EAST)
    assert gain(" Ceiling ", DOWN, tilt_deg=-90) == pytest.approx([0])


def test_classes__each_says_what_it_rests_on():
    assert [kind.name for kind in antennas().values() if len(kind.provenance) < 10] == []
    assert {kind.form for kind in antennas().values()} == {"even", "rod", "cone", "sector"}

"""Volts left on a 24 V always-on line over two pairs of 24 AWG at 20 C.

Source: common practice of the trade for the arrangement (two conductors a pole, 4-5 plus, 7-8 minus); the
numbers are solved by hand from V = (24 + sqrt(576 - 4 P R)) / 2 with 0.0842 ohm a metre, so they check
arithmetic, not a standard.
"""

import math

import pytest

from pullstring.copper.line import powered_loop_ohm
from pullstring.power.loop import greatest_load_w, load_current_a, load_voltage_v


def loop(length_m, awg):
    return powered_loop_ohm(length_m=length_m, awg=awg, temperature_c=20, pairs=2)


def test_powered_loop__sixty_metres():
    assert loop(60, 24) == pytest.approx(5.052, abs=0.002)


@pytest.mark.parametrize(("load_w", "length_m", "volts"), [(6, 60, 22.66), (8, 60, 22.18), (12, 100, 18.55)])
def test_load_voltage__24_v_lines(load_w, length_m, volts):
    assert load_voltage_v(supply_v=24, load_w=load_w, loop_ohm=loop(length_m, 24)) == pytest.approx(volts, abs=0.01)


@pytest.mark.parametrize(("load_w", "length_m", "amps"), [(6, 60, 0.265), (12, 100, 0.647)])
def test_load_current__24_v_lines(load_w, length_m, amps):
    assert load_current_a(supply_v=24, load_w=load_w, loop_ohm=loop(length_m, 24)) == pytest.approx(amps, abs=0.001)


def test_greatest_load__24_v_at_100_m():
    """576 / (4 x 8.42) = 17.1 W."""
    assert greatest_load_w(supply_v=24, loop_ohm=loop(100, 24)) == pytest.approx(17.1, abs=0.05)


def test_load_voltage__12_w_over_100_m_of_26_awg_has_no_solution():
    assert math.isnan(load_voltage_v(supply_v=24, load_w=12, loop_ohm=loop(100, 26)))
    assert greatest_load_w(supply_v=24, loop_ohm=loop(100, 26)) < 12

"""Volts left on a 24 V always-on line over two pairs of 24 AWG at 20 C.

Source: common practice of the trade for the arrangement (two conductors a pole, 4-5 plus, 7-8 minus); the
numbers are solved by hand from V = (24 + sqrt(576 - 4 P R)) / 2 with 0.0842 ohm a metre, so they check
arithmetic, not a standard.
"""

import math

import pytest

from pullstring.copper.line import powered_loop_ohm
from pullstring.model.answers import Band, Interval
from pullstring.power.loop import (
    far_end,
    greatest_length_m,
    greatest_load_w,
    load_current_a,
    load_voltage_v,
    poles_loop,
)
from pullstring.power.verdicts import Code


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


def test_far_end__12_w_over_100_m_of_26_awg_is_a_no_with_its_reason():
    found = far_end(
        supply=Interval.exact(24, "V"),
        load=Interval.exact(12, "W"),
        loop=Interval.exact(loop(100, 26), "ohm"),
        least_v=None,
    )
    assert (found.works, found.code) == (Band.NO, Code.NO_VOLTAGE)
    assert (found.volts, found.current, found.watts) == (None, None, None)


def test_greatest_length__12_w_at_24_v():
    """The loop may be 24^2 / 48 = 12 ohm: 142.5 m of 24 AWG, 89.6 m of 26 AWG, and there it collapses."""
    facts = {"supply_v": 24, "load_w": 12, "least_v": 0, "temperature_c": 20, "pairs": 2, "cords_ohm": 0}
    assert greatest_length_m(**facts, awg=24) == pytest.approx(142.5, abs=0.1)
    assert greatest_length_m(**facts, awg=26) == pytest.approx(89.6, abs=0.1)


def test_greatest_length__12_w_that_need_18_55_v():
    """18.55 V are what is left over 100 m of 24 AWG."""
    found = greatest_length_m(supply_v=24, load_w=12, least_v=18.55, awg=24, temperature_c=20, pairs=2, cords_ohm=0)
    assert found == pytest.approx(100, abs=0.1)


def test_poles__one_corroded_wire_of_each_pole_doubles_the_loop():
    """60 m and 6 W: 22.66 V whole; with one wire left on each pole 10.1 ohm, (24 + sqrt(576 - 242.4)) / 2 = 21.13 V."""
    wire = Interval.exact(60 * 0.0842, "ohm")
    one_left = poles_loop(plus=[wire], minus=[wire])
    assert one_left is not None
    assert load_voltage_v(supply_v=24, load_w=6, loop_ohm=one_left.middle) == pytest.approx(21.13, abs=0.01)


@pytest.mark.parametrize(
    ("length_m", "load_w", "ohm", "volts"),
    [(20.65, 6, 1.739, 23.56), (16.15, 6, 1.360, 23.66), (19.0, 8, 1.600, 23.45)],
)
def test_load_voltage__three_short_lines(length_m, load_w, ohm, volts):
    """0.0842 ohm a metre, by hand."""
    assert loop(length_m, 24) == pytest.approx(ohm, abs=0.001)
    assert load_voltage_v(supply_v=24, load_w=load_w, loop_ohm=loop(length_m, 24)) == pytest.approx(volts, abs=0.01)

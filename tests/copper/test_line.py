"""Laws of the wire beyond the printed tables: directions, inverses, shares."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.line import (
    capacitance_f,
    conductor_ohm_per_m,
    length_from_capacitance_m,
    length_from_loop_m,
    loop_ohm,
    powered_loop_ohm,
)

LENGTHS = st.floats(0.1, 500)
GAUGES = st.integers(12, 28)
TEMPERATURES = st.floats(-30, 80)


@given(LENGTHS, GAUGES, TEMPERATURES, st.floats(0.1, 50))
def test_loop__longer_hotter_thinner_is_more(length_m, awg, temperature_c, more):
    here = loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c)
    assert loop_ohm(length_m=length_m + more, awg=awg, temperature_c=temperature_c) > here
    assert loop_ohm(length_m=length_m, awg=awg + 1, temperature_c=temperature_c) > here
    assert loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c + more) > here


def test_conductor__ten_degrees_add_3_93_percent_at_20_c():
    """The coefficient itself, read from the law."""
    cold = conductor_ohm_per_m(awg=24, temperature_c=20)
    assert conductor_ohm_per_m(awg=24, temperature_c=30) / cold == pytest.approx(1.0393, abs=1e-6)


def test_conductor__three_gauges_double_it():
    """92^(6/39) = 2.005: the old rule of thumb of the gauge table."""
    ratio = conductor_ohm_per_m(awg=27, temperature_c=20) / conductor_ohm_per_m(awg=24, temperature_c=20)
    assert ratio == pytest.approx(2.005, abs=0.001)


@given(LENGTHS, GAUGES, TEMPERATURES)
def test_length_from_loop__is_the_inverse(length_m, awg, temperature_c):
    reading = loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c)
    assert length_from_loop_m(loop_ohm=reading, awg=awg, temperature_c=temperature_c) == pytest.approx(length_m)


@given(LENGTHS, GAUGES, TEMPERATURES)
def test_powered_loop__pole_by_pole_from_parallel_conductors(length_m, awg, temperature_c):
    """Kirchhoff by another way: conductances of one pole add, the two poles are in series."""
    one = length_m * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c)
    for pairs in (2, 4):
        pole = 1 / sum(1 / one for _ in range(pairs))
        got = powered_loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c, pairs=pairs)
        assert got == pytest.approx(2 * pole)


def test_capacitance__fifty_metres_of_52_pf_per_metre():
    """Usual data cable, 52 pF/m (from memory): 2.6 nF is 50 m, both ways."""
    assert capacitance_f(length_m=50, capacitance_f_per_m=52e-12) == pytest.approx(2.6e-9, rel=1e-9)
    assert length_from_capacitance_m(capacitance_f=2.6e-9, capacitance_f_per_m=52e-12) == pytest.approx(50)

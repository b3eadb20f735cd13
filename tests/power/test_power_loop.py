"""The quadratic: its roots, its ends, and which way it moves."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pullstring.copper.line import powered_loop_ohm
from pullstring.model.answers import Interval, spread
from pullstring.power.loop import greatest_load_w, load_current_a, load_voltage_v, supply_power_w

SUPPLY = st.floats(12, 57)
LOAD = st.floats(0.1, 90)
LOOP = st.floats(0.01, 40)


@given(SUPPLY, LOAD, LOOP)
def test_load_voltage__solves_the_quadratic_with_the_larger_root(supply_v, load_w, loop_ohm):
    volts = load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)
    assume(not math.isnan(volts))
    assert volts**2 - supply_v * volts + load_w * loop_ohm == pytest.approx(0, abs=1e-9 * supply_v**2)
    assert supply_v / 2 <= volts <= supply_v


@given(SUPPLY, LOAD, LOOP)
def test_load_voltage__kirchhoff_and_the_heat_in_the_wire(supply_v, load_w, loop_ohm):
    facts = {"supply_v": supply_v, "load_w": load_w, "loop_ohm": loop_ohm}
    volts, amps, watts = load_voltage_v(**facts), load_current_a(**facts), supply_power_w(**facts)
    assume(not math.isnan(volts))
    assert supply_v - amps * loop_ohm == pytest.approx(volts)
    assert watts == pytest.approx(load_w + amps**2 * loop_ohm)


@given(SUPPLY, LOAD, LOOP)
def test_load_voltage__has_a_value_exactly_up_to_the_greatest_load(supply_v, load_w, loop_ohm):
    most = greatest_load_w(supply_v=supply_v, loop_ohm=loop_ohm)
    assume(abs(load_w / most - 1) > 1e-9)
    assert math.isnan(load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)) == (load_w > most)


@pytest.mark.parametrize("law", [load_current_a, supply_power_w])
def test_laws__nan_where_no_voltage_can_carry_it(law):
    assert math.isnan(law(supply_v=24, load_w=12, loop_ohm=13.39))


def test_laws__no_resistance_loses_nothing():
    """12 W at 24 V is half an ampere, by P = V I."""
    assert load_voltage_v(supply_v=24, load_w=12, loop_ohm=0) == 24
    assert load_current_a(supply_v=24, load_w=12, loop_ohm=0) == 0.5
    assert greatest_load_w(supply_v=24, loop_ohm=0) == math.inf


@given(
    st.floats(20, 57), st.floats(1, 8), st.floats(1, 60), st.integers(20, 25), st.floats(-20, 50),
    st.floats(0.1, 20), st.sampled_from([2, 4]),
)  # fmt: skip
def test_load_voltage__longer_hotter_thinner_never_raises_it(
    supply_v, load_w, length_m, awg, temperature_c, more, pairs
):
    def volts(length_m, awg, temperature_c):
        loop = powered_loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c, pairs=pairs)
        got = load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop)
        return 0.0 if math.isnan(got) else got

    here = volts(length_m, awg, temperature_c)
    assert here > 0
    assert volts(length_m + more, awg, temperature_c) <= here
    assert volts(length_m, awg + 1, temperature_c) <= here
    assert volts(length_m, awg, temperature_c + more) <= here


def test_load_voltage__a_spread_names_its_inputs_and_fixing_one_shrinks_it():
    given_ = {
        "supply_v": Interval(23, 25, "V"), "load_w": Interval(5, 8, "W"), "loop_ohm": Interval(4, 6, "ohm"),
    }  # fmt: skip
    wide = spread(load_voltage_v, "V", **given_)
    assert wide.inputs == ("supply_v", "load_w", "loop_ohm")
    for name, one in given_.items():
        narrow = spread(load_voltage_v, "V", **{**given_, name: Interval.exact(one.high, one.unit)})
        assert narrow.high - narrow.low < wide.high - wide.low
        assert set(narrow.inputs) == set(given_) - {name}

"""The quadratic: its roots, its ends, and which way it moves."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pullstring.copper.line import conductor_ohm_per_m, powered_loop_ohm
from pullstring.model.answers import Band, Interval, spread
from pullstring.power.loop import (
    STRANDED,
    Stretch,
    far_end,
    greatest_length_m,
    greatest_load_w,
    greatest_loop_for_volts_ohm,
    greatest_loop_ohm,
    load_current_a,
    load_power_w,
    load_voltage_v,
    pole_ohm,
    poles_loop,
    supply_power_w,
    wire_over,
)
from pullstring.power.verdicts import Code

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


def ohm(low, high=None):
    return Interval(low, low if high is None else high, "ohm", ("reading",) if high not in (None, low) else ())


def exact(value, unit):
    return Interval.exact(value, unit)


@given(SUPPLY, LOAD, LOOP)
def test_load_power__takes_the_current_back_to_the_load(supply_v, load_w, loop_ohm):
    amps = load_current_a(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)
    assume(not math.isnan(amps))
    assert load_power_w(supply_v=supply_v, current_a=amps, loop_ohm=loop_ohm) == pytest.approx(load_w)


@given(SUPPLY, LOAD, LOOP)
def test_greatest_loop__spends_exactly_what_the_port_has_to_spare(supply_v, load_w, loop_ohm):
    watts = supply_power_w(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)
    assume(not math.isnan(watts))
    found = greatest_loop_ohm(supply_v=supply_v, load_w=load_w, supply_w=watts)
    assert found == pytest.approx(loop_ohm, rel=1e-6, abs=1e-6)


def test_greatest_loop__a_port_with_nothing_to_spare():
    assert greatest_loop_ohm(supply_v=44, load_w=16, supply_w=15.4) == 0


def test_pole__one_of_two_alike_lost_doubles_it():
    assert pole_ohm(wires_ohm=[8.4, 8.4]) == pytest.approx(4.2)
    assert pole_ohm(wires_ohm=[8.4]) == 8.4
    assert pole_ohm(wires_ohm=[8.4] * 4) == pytest.approx(2.1)
    assert pole_ohm(wires_ohm=[]) == math.inf
    assert pole_ohm(wires_ohm=[0.0, 8.4]) == 0


def test_poles__what_is_lost_in_each():
    """100 m of 24 AWG have 8.42 ohm a wire: 8.42 whole, 12.63 with one wire lost, 16.84 with one lost at each pole."""
    wire = ohm(8.42)
    loops = [
        poles_loop(plus=plus, minus=minus)
        for plus, minus in (([wire] * 2, [wire] * 2), ([wire], [wire] * 2), ([wire], [wire]), ([wire] * 4, [wire] * 4))
    ]
    assert [x.middle for x in loops] == pytest.approx([8.42, 12.63, 16.84, 4.21])
    assert poles_loop(plus=[], minus=[wire]) is None


def test_poles__a_corroded_wire_counts_little_beside_a_good_one():
    """8.4 beside 50 ohm: 7.19, not the half of it."""
    assert pole_ohm(wires_ohm=[8.4, 50]) == pytest.approx(7.192, abs=0.001)


def test_poles__names_the_inputs_of_its_wires():
    found = poles_loop(plus=[ohm(8, 9), ohm(8, 9)], minus=[ohm(8), ohm(8)])
    assert (found.low, found.high, found.inputs) == (8, 8.5, ("reading",))
    assert poles_loop(plus=[ohm(8)], minus=[ohm(8)]).inputs == ()


def test_wire_over__a_run_and_its_cords():
    """50 m of 24 AWG solid and 5 m of 26 AWG stranded, at 20 C: 4.21 + 0.67 x 1.023 ohm."""
    at_20 = exact(20, "C")
    run = Stretch(exact(50, "m"), exact(24, "AWG"), at_20, False)
    cord = Stretch(exact(5, "m"), exact(26, "AWG"), at_20, True)
    assert wire_over(stretches=[run]).middle == pytest.approx(4.21, abs=0.005)
    both = wire_over(stretches=[run, cord])
    assert both.middle == pytest.approx(4.21 + 0.67 * 7.95 / 7.77, abs=0.01)
    assert pytest.approx(1.023, abs=0.001) == STRANDED
    vague = wire_over(stretches=[run, Stretch(Interval(1, 5, "m"), exact(26, "AWG"), at_20, True)])
    assert vague.inputs == ("length_m",)
    assert vague.high == pytest.approx(both.middle)


@given(SUPPLY, LOAD, st.floats(0.51, 0.99))
def test_greatest_loop_for_volts__leaves_just_those_volts(supply_v, load_w, part):
    least = part * supply_v
    loop = greatest_loop_for_volts_ohm(supply_v=supply_v, load_w=load_w, least_v=least)
    assert load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop) == pytest.approx(least)


def test_greatest_loop_for_volts__its_edges():
    """Below half of the supply the collapse decides: 24^2 / (4 x 12) = 12 ohm."""
    assert greatest_loop_for_volts_ohm(supply_v=24, load_w=12, least_v=0) == 12
    assert greatest_loop_for_volts_ohm(supply_v=24, load_w=12, least_v=6) == 12
    assert greatest_loop_for_volts_ohm(supply_v=24, load_w=12, least_v=25) == 0
    assert greatest_loop_for_volts_ohm(supply_v=24, load_w=0, least_v=12) == math.inf


def test_greatest_length__four_pairs_twice_as_far_and_cords_come_off():
    facts = {"supply_v": 50, "load_w": 25.5, "least_v": 42.5, "awg": 24, "temperature_c": 20}
    two = greatest_length_m(**facts, pairs=2, cords_ohm=0)
    assert greatest_length_m(**facts, pairs=4, cords_ohm=0) == pytest.approx(2 * two)
    per_m = conductor_ohm_per_m(awg=24, temperature_c=20)
    assert greatest_length_m(**facts, pairs=2, cords_ohm=10 * per_m) == pytest.approx(two - 10)
    assert greatest_length_m(**facts, pairs=2, cords_ohm=100) == 0
    with pytest.raises(ValueError, match="2 or 4"):
        greatest_length_m(**facts, pairs=3, cords_ohm=0)


@pytest.mark.parametrize(
    ("load", "loop", "least_v", "works", "code"),
    [
        ((6, 6), (5, 5), 18, Band.LIKELY, Code.GRANTED),
        ((6, 6), None, 18, Band.NO, Code.PAIRS_MISSING),
        ((12, 12), (13.4, 13.4), 18, Band.NO, Code.NO_VOLTAGE),
        ((12, 12), (13.4, 13.4), None, Band.NO, Code.NO_VOLTAGE),
        ((6, 12), (13, 13.4), 10, Band.POSSIBLE, Code.NEAR_COLLAPSE),
        ((12, 12), (8.4, 8.4), 20, Band.NO, Code.VOLTS_TOO_LOW),
        ((6, 12), (8.4, 8.4), 20, Band.POSSIBLE, Code.VOLTS_TOO_LOW),
        ((6, 6), (5, 5), None, Band.POSSIBLE, Code.LEAST_VOLTS_UNKNOWN),
    ],
)
def test_far_end__a_band_and_a_reason_never_nan(load, loop, least_v, works, code):
    """At 24 V over 8.4 ohm 12 W have 18.6 V and 6 W have 21.7 V; over 13.4 ohm 12 W have none."""
    found = far_end(
        supply=exact(24, "V"), load=Interval(*load, "W"), loop=Interval(*loop, "ohm") if loop else None, least_v=least_v
    )
    assert (found.works, found.code) == (works, code)
    figures = (found.volts, found.current, found.watts)
    no_figure = code in (Code.PAIRS_MISSING, Code.NO_VOLTAGE, Code.NEAR_COLLAPSE)
    assert [x is None for x in figures] == [no_figure] * 3


BANDS = list(Band)


@given(
    st.floats(20, 57), st.floats(1, 30), st.floats(0, 5), st.floats(0.5, 20), st.floats(0, 5), st.floats(10, 40),
    st.floats(0.01, 5), st.sampled_from(["load", "loop", "supply", "least_v", "wider"]),
)  # fmt: skip
def test_far_end__a_worse_input_never_raises_the_band(supply_v, load_w, more_w, loop, more_ohm, least_v, worse, which):
    def found(supply_v, load, loop, least_v):
        return far_end(supply=exact(supply_v, "V"), load=Interval(*load, "W"), loop=ohm(*loop), least_v=least_v)

    given_ = {
        "supply_v": supply_v, "load": (load_w, load_w + more_w), "loop": (loop, loop + more_ohm), "least_v": least_v,
    }  # fmt: skip
    changed = {
        "load": {"load": (load_w + worse, load_w + more_w + worse)},
        "loop": {"loop": (loop + worse, loop + more_ohm + worse)},
        "supply": {"supply_v": supply_v - worse},
        "least_v": {"least_v": least_v + worse},
        "wider": {"load": (load_w, load_w + more_w + worse)},
    }[which]
    here, there = found(**given_), found(**{**given_, **changed})
    assert BANDS.index(there.works) >= BANDS.index(here.works)
    if here.volts and there.volts:
        assert there.volts.high <= here.volts.high + 1e-9
        assert there.volts.low <= here.volts.low + 1e-9

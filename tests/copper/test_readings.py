"""What the numbers of a meter say.

Reasons outside the code: the wire table at 20 C (read: 24 AWG 8.42, 26 AWG 13.39 ohm for 100 m), 56 pF/m as the limit of data
cable (TIA-568, from memory), a ringer of 0.47 to 2.2 uF and end-of-line resistors (common practice); the worked
values of the invented demo property (0.52 nF at 52 pF/m is 10.0 m, 0.36 nF is 6.9 m, marks 412 and 439 are 27 m).
"""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.line import capacitance_f, loop_ohm
from pullstring.copper.readings import (
    Cause,
    length_by_capacitance,
    length_by_loop,
    length_by_marks,
    open_distance,
    open_distance_by_sister,
    open_share,
    overlap,
    what_capacitor,
    what_resistor,
)
from pullstring.model.answers import Interval


def exact(value, unit):
    return Interval.exact(value, unit)


def ohm(low, high=None):
    return Interval(low, low if high is None else high, "ohm")


def farad(low, high=None):
    return Interval(low, low if high is None else high, "F")


DATA = Interval(46e-12, 56e-12, "F/m")
HOUSE = Interval(10, 30, "C")
AT_20 = exact(20, "C")


def test_marks__demo_27_m_whichever_end_is_higher():
    for near_m, far_m in ((412, 439), (439, 412)):
        got = length_by_marks(near_m=near_m, far_m=far_m, spread_m=1.0)
        assert (got.low, got.high, got.unit, got.inputs) == (26, 28, "m", ("mark_m",))
    assert length_by_marks(near_m=5, far_m=5, spread_m=1.0).low == 0
    assert length_by_marks(near_m=412, far_m=439, spread_m=0.0).inputs == ()


def test_loop__known_gauge_is_the_wire_table():
    """8.42 ohm at 24 AWG and 20 C: 50.0 m."""
    got = length_by_loop(loop=ohm(8.42), awg=exact(24, "AWG"), temperature=AT_20)
    assert got.low == got.high == pytest.approx(50.0, abs=0.02)


def test_loop__gauge_unknown_moves_it_by_59_percent():
    """13.39 / 8.42 = 1.59: the same ohms are 31.4 m of 26 AWG or 50.0 m of 24 AWG."""
    got = length_by_loop(loop=ohm(8.42), awg=Interval(24, 26, "AWG"), temperature=AT_20)
    assert (got.low, got.high) == (pytest.approx(31.45, abs=0.05), pytest.approx(50.0, abs=0.02))
    assert got.high / got.low == pytest.approx(1.59, abs=0.002)
    assert got.inputs == ("awg",)


def test_loop__each_input_fixed_shrinks_it_and_drops_its_name():
    wide = {"loop": ohm(8, 9), "awg": Interval(24, 26, "AWG"), "temperature": HOUSE}
    full = length_by_loop(**wide)
    assert full.inputs == ("loop_ohm", "awg", "temperature_c")
    for key, point, name in (
        ("loop", ohm(8.5), "loop_ohm"), ("awg", exact(24, "AWG"), "awg"), ("temperature", AT_20, "temperature_c"),
    ):  # fmt: skip
        got = length_by_loop(**{**wide, key: point})
        assert got.high - got.low < full.high - full.low and name not in got.inputs


def test_capacitance__demo_ten_metres():
    """0.52 nF at 52 pF/m is 10.0 m, 0.36 nF is 6.9 m; over the spread of data cable 9.3 to 11.3 m."""
    at_52 = exact(52e-12, "F/m")
    assert length_by_capacitance(capacitance=farad(0.52e-9), capacitance_f_per_m=at_52).low == pytest.approx(10.0)
    assert length_by_capacitance(capacitance=farad(0.36e-9), capacitance_f_per_m=at_52).low == pytest.approx(
        6.92, abs=0.01
    )
    got = length_by_capacitance(capacitance=farad(0.52e-9), capacitance_f_per_m=DATA)
    assert (got.low, got.high) == (pytest.approx(9.29, abs=0.01), pytest.approx(11.30, abs=0.01))


@given(st.floats(0.1, 1e3), st.floats(1.01, 10))
def test_lengths__scale_with_the_reading(loop, times):
    def by_loop(x):
        return length_by_loop(loop=ohm(x), awg=Interval(22, 26, "AWG"), temperature=HOUSE)

    def by_farads(x):
        return length_by_capacitance(capacitance=farad(x * 1e-9), capacitance_f_per_m=DATA)

    for law in (by_loop, by_farads):
        assert law(loop * times).low == pytest.approx(law(loop).low * times)
        assert law(loop * times).high == pytest.approx(law(loop).high * times)


def test_overlap__names_the_inputs_that_make_its_ends():
    a, b, c = Interval(1, 5, "m", ("a",)), Interval(3, 9, "m", ("b",)), Interval(0, 20, "m", ("c",))
    assert overlap(lengths=[a, b, c]) == Interval(3, 5, "m", ("b", "a"))
    assert overlap(lengths=[a, Interval(6, 7, "m")]) is None
    assert overlap(lengths=[a, Interval(5, 7, "m")]) is not None, "one common value is enough"
    assert overlap(lengths=[]) is None


@given(st.floats(1, 300), st.floats(0.02, 0.98), st.floats(30e-12, 130e-12))
def test_open__ratio_needs_no_farads_per_metre(length_m, share, per_m):
    """Two stubs of one line: the near one is the share of the way, whatever the cable."""
    near, far = farad(length_m * share * per_m), farad(length_m * (1 - share) * per_m)
    assert open_share(near=near, far=far).low == pytest.approx(share)
    assert open_distance(near=near, far=far, length=exact(length_m, "m")).low == pytest.approx(share * length_m)
    sound = farad(length_m * per_m)
    got = open_distance_by_sister(broken=near, sound=sound, length=exact(length_m, "m"))
    assert got.low == pytest.approx(share * length_m)


def test_open__by_hand_with_a_spread():
    """0.3 nF here and 0.9 nF there on 40 m: a quarter of the way, 10 m. With 0.27 to 0.33 here: 0.231 to 0.268 of it."""
    assert open_distance(near=farad(0.3e-9), far=farad(0.9e-9), length=exact(40, "m")).low == pytest.approx(10)
    got = open_share(near=farad(0.27e-9, 0.33e-9), far=farad(0.9e-9))
    assert (got.low, got.high) == (pytest.approx(0.2308, abs=1e-4), pytest.approx(0.2683, abs=1e-4))
    assert got.inputs == ("near_f",)


def test_open__nothing_read_at_either_end_says_nothing():
    assert open_share(near=farad(0), far=farad(0)) is None
    assert open_distance(near=farad(0), far=farad(0), length=exact(40, "m")) is None
    at_near_end = open_share(near=farad(0, 1e-12), far=farad(0, 1e-12))
    assert (at_near_end.low, at_near_end.high) == (0, 1)


def test_open_by_sister__never_beyond_the_way():
    got = open_distance_by_sister(broken=farad(1e-9, 1.1e-9), sound=farad(1e-9), length=exact(20, "m"))
    assert (got.low, got.high) == (20, 20)


@pytest.mark.parametrize(
    ("reading_f", "wanted"),
    [
        (0.47e-6, Cause.RINGER),
        (1.0e-6, Cause.RINGER),
        (2.2e-6, Cause.RINGER),
        (22e-9, Cause.CAPACITOR),
        (10e-6, Cause.CAPACITOR),
        (5.6e-9, None),
        (16.7e-9, None),
        (16.9e-9, Cause.CAPACITOR),
    ],
)
def test_what_capacitor__more_than_300_m_of_data_cable(reading_f, wanted):
    """300 m at 56 pF/m is 16.8 nF: above it no data cable of a house can be all."""
    assert what_capacitor(capacitance=farad(reading_f), capacitance_f_per_m=DATA, longest_m=300) is wanted


@pytest.mark.parametrize(
    ("reading_ohm", "wanted"),
    [
        (16.8, None),
        (80.0, None),
        (84.0, Cause.NOT_COPPER),
        (990.0, Cause.NOT_COPPER),
        (1000.0, Cause.RESISTOR),
        (4700.0, Cause.RESISTOR),
        (100e3, Cause.RESISTOR),
        (101e3, Cause.OPEN_OR_LEAK),
        (2e6, Cause.OPEN_OR_LEAK),
    ],
)
def test_what_resistor__more_than_300_m_of_26_awg(reading_ohm, wanted):
    """300 m x 2 x 0.1339 x 1.0393 (30 C) = 83.5 ohm."""
    got = what_resistor(resistance=ohm(reading_ohm), awg=Interval(22, 26, "AWG"), temperature=HOUSE, longest_m=300)
    assert got is wanted


def test_a_spread_that_reaches_into_copper_is_left_a_length():
    got = what_resistor(resistance=ohm(80, 2000), awg=Interval(22, 26, "AWG"), temperature=HOUSE, longest_m=300)
    assert got is None
    assert what_capacitor(capacitance=farad(1e-9, 1e-6), capacitance_f_per_m=DATA, longest_m=300) is None


def test_a_thousand_runs__the_truth_lies_inside():
    """Readings drawn inside the spreads: no interval may lose the length, and a tap only ever adds farads."""
    dice = random.Random(4)
    for _ in range(1000):
        length_m, awg = dice.uniform(1, 200), dice.choice((22, 23, 24, 25, 26))
        per_m, temperature_c = dice.uniform(46e-12, 56e-12), dice.uniform(10, 30)
        read_ohm = loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c) * dice.uniform(0.99, 1.01)
        read_f = capacitance_f(length_m=length_m, capacitance_f_per_m=per_m) * dice.uniform(0.97, 1.03)
        by_loop = length_by_loop(
            loop=ohm(read_ohm / 1.01, read_ohm / 0.99), awg=Interval(22, 26, "AWG"), temperature=HOUSE
        )
        by_farads = length_by_capacitance(capacitance=farad(read_f / 1.03, read_f / 0.97), capacitance_f_per_m=DATA)
        marks = length_by_marks(near_m=0, far_m=length_m + dice.uniform(-1, 1), spread_m=1.0)
        for got in (by_loop, by_farads, marks):
            assert got.low - 1e-9 <= length_m <= got.high + 1e-9
        both = overlap(lengths=[by_loop, by_farads, marks])
        assert both is not None and both.high - both.low <= marks.high - marks.low
        tapped = read_f + dice.uniform(1, 30) * per_m
        longer = length_by_capacitance(capacitance=farad(tapped / 1.03, tapped / 0.97), capacitance_f_per_m=DATA)
        assert longer.low > by_farads.low and longer.high > by_farads.high

"""Port against device.

Reasons outside the code: IEEE 802.3 clauses 33 and 145 (detection, classes, alternatives A and B: read in
published texts); an always-on port asks nobody (read in articles); 24 V on 4-5 and 7-8 (common practice).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.line import powered_loop_ohm
from pullstring.model.answers import Band, Interval, plain
from pullstring.power.classes import power_class
from pullstring.power.modes import Code, DevicePower, Mode, PortPower, match

ORDER = list(Band)
ALL = frozenset({"1-2", "3-6", "4-5", "7-8"})
STANDARD = (Mode.AF, Mode.AT, Mode.BT)


def port(mode, **said):
    usual = None if mode is Mode.ALWAYS_24V else "A"  # 24 V gear by habit uses 4-5 and 7-8
    facts = {"supply": None, "highest_class": None, "alternative": usual, "limit_w": None}
    return PortPower(mode, **{**facts, **said})


def device(mode, **said):
    return DevicePower(mode, **{"class_number": None, "load": None, "least_v": None, **said})


def watts(value):
    return Interval.exact(value, "W")


def ohms(length_m, awg=24):
    return Interval.exact(powered_loop_ohm(length_m=length_m, awg=awg, temperature_c=20, pairs=2), "ohm")


def matched(a_port, a_device, *, pairs=ALL, shorts=(), loop=None):
    return match(port=a_port, device=a_device, whole_pairs=pairs, shorts=frozenset(shorts), loop=loop or ohms(60))


def feed(load_w, length_m, awg=24, least_v=None, **said):
    return matched(
        port(Mode.ALWAYS_24V), device(Mode.ALWAYS_24V, load=watts(load_w), least_v=least_v),
        loop=ohms(length_m, awg), **said,
    )  # fmt: skip


@pytest.mark.parametrize("mode", STANDARD)
def test_match__24_v_device_on_a_standard_port_stays_dark_without_harm(mode):
    got = matched(port(mode), device(Mode.ALWAYS_24V, load=watts(6)))
    assert (got.works, got.code, got.hazard) == (Band.NO, Code.STAYS_DARK, False)


@pytest.mark.parametrize("mode", STANDARD)
def test_match__standard_device_on_an_always_on_port_does_not_start(mode):
    got = matched(port(Mode.ALWAYS_24V), device(mode, class_number=3))
    assert (got.works, got.code, got.hazard) == (Band.NO, Code.DOES_NOT_START, True)
    assert Code.NEVER_PATCH_ALWAYS_ON in got.because


@pytest.mark.parametrize("mode", [None, Mode.OFF, Mode.PLUG])
def test_match__always_on_port_is_a_hazard_to_anything_not_known_to_want_it(mode):
    got = matched(port(Mode.ALWAYS_24V), device(mode))
    assert got.hazard
    assert Code.NEVER_PATCH_ALWAYS_ON in got.because
    assert got.works is (Band.NO if mode is None else Band.LIKELY)


@pytest.mark.parametrize("mode", STANDARD)
def test_match__unknown_device_on_a_standard_port_is_safe_but_open(mode):
    got = matched(port(mode), device(None))
    assert (got.works, got.code, got.hazard) == (Band.POSSIBLE, Code.DEVICE_UNKNOWN, False)


@pytest.mark.parametrize("mode", [Mode.OFF, Mode.PLUG])
def test_match__port_without_power(mode):
    assert matched(port(mode), device(Mode.AF, class_number=3)).code is Code.PORT_GIVES_NONE
    assert matched(port(mode), device(Mode.PLUG)).works is Band.LIKELY
    assert matched(port(None), device(Mode.AF)).works is Band.POSSIBLE


@pytest.mark.parametrize(
    ("mode", "number", "works"),
    [
        (Mode.AF, 3, Band.LIKELY), (Mode.AF, 4, Band.NO),
        (Mode.AT, 0, Band.LIKELY), (Mode.AT, 4, Band.LIKELY), (Mode.AT, 5, Band.NO),
        (Mode.BT, 4, Band.LIKELY), (Mode.BT, 6, Band.LIKELY), (Mode.BT, 8, Band.POSSIBLE),
    ],
)  # fmt: skip
def test_match__class_of_the_device_against_the_port(mode, number, works):
    """802.3af goes to class 3, at to 4, bt to 6 or 8 by type; 60 m of 24 AWG is inside every loop limit."""
    asked = next(m for m in STANDARD if number <= {Mode.AF: 3, Mode.AT: 4, Mode.BT: 8}[m])
    got = matched(port(mode), device(asked, class_number=number))
    assert got.works is works
    assert (got.code is Code.CLASS_NOT_GRANTED) == (works is Band.NO)


def test_match__port_limited_to_class_1_does_not_grant_class_0():
    """Class 0 may take 15.4 W although its number is lower: the watts decide."""
    got = matched(port(Mode.AF, highest_class=1), device(Mode.AF, class_number=0))
    assert got.code is Code.CLASS_NOT_GRANTED
    assert matched(port(Mode.BT, highest_class=8), device(Mode.BT, class_number=8)).works is Band.LIKELY


def test_match__two_pair_run_is_fed_by_alternative_a_only():
    two = frozenset({"1-2", "3-6"})
    wants = device(Mode.AF, class_number=3)
    assert matched(port(Mode.AF, alternative="A"), wants, pairs=two).works is Band.LIKELY
    got_b = matched(port(Mode.AF, alternative="B"), wants, pairs=two)
    assert (got_b.works, got_b.code) == (Band.NO, Code.PAIRS_MISSING)
    got_either = matched(port(Mode.AF, alternative=None), wants, pairs=two)
    assert (got_either.works, got_either.code) == (Band.POSSIBLE, Code.ALTERNATIVE_UNKNOWN)
    assert feed(6, 60, pairs=two).code is Code.PAIRS_MISSING


def test_match__alternative_does_not_matter_where_all_pairs_are_whole():
    assert matched(port(Mode.AF, alternative=None), device(Mode.AF, class_number=3)).works is Band.LIKELY


def test_match__classes_5_to_8_take_four_pairs():
    three = frozenset({"1-2", "3-6", "4-5"})
    got = matched(port(Mode.BT), device(Mode.BT, class_number=5), pairs=three)
    assert (got.works, got.code) == (Band.NO, Code.PAIRS_MISSING)


def test_match__nobody_has_looked_at_the_pairs():
    assert matched(port(Mode.AF), device(Mode.AF, class_number=3), pairs=None).works is Band.POSSIBLE


@pytest.mark.parametrize("short", [(5, 7), (7, 5), (4, 8)])
def test_match__short_between_unequal_poles_is_a_hazard_only_to_a_port_that_asks_nobody(short):
    """A standard port must refuse what is under 15 kilohm (IEEE 802.3 clause 33, from memory): dark, no harm."""
    by_24v = feed(6, 60, shorts=[short])
    by_b = matched(port(Mode.AF, alternative="B"), device(Mode.AF, class_number=3), shorts=[short])
    assert (by_24v.works, by_24v.code, by_24v.hazard) == (Band.NO, Code.SHORT_BETWEEN_POLES, True)
    assert (by_b.works, by_b.code, by_b.hazard) == (Band.NO, Code.SHORT_BETWEEN_POLES, False)


def test_match__short_inside_a_pair_joins_equal_poles_and_is_only_said():
    got = feed(6, 60, shorts=[(4, 5)])
    assert (got.works, got.hazard) == (Band.LIKELY, False)
    assert Code.SHORT_INSIDE_PAIR in got.because


def test_match__short_on_idle_pairs_does_not_stop_alternative_a():
    got = matched(port(Mode.AF, alternative="A"), device(Mode.AF, class_number=3), shorts=[(5, 7)])
    assert (got.works, got.hazard) == (Band.LIKELY, False)
    assert (
        matched(port(Mode.AF, alternative="A"), device(Mode.AF, class_number=3), shorts=[(2, 3)]).code
        is Code.SHORT_BETWEEN_POLES
    )


def test_match__short_from_a_powered_to_a_data_pair_is_unlikely():
    assert feed(6, 60, shorts=[(2, 4)]).works is Band.UNLIKELY


def test_match__short_where_the_alternative_is_unknown_leaves_both_outcomes_open():
    got = matched(port(Mode.AF, alternative=None), device(Mode.AF, class_number=3), shorts=[(5, 7)])
    assert (got.works, got.hazard) == (Band.POSSIBLE, False)
    assert {Code.ALTERNATIVE_UNKNOWN, Code.SHORT_BETWEEN_POLES} <= set(got.because)


@pytest.mark.parametrize(("load_w", "length_m", "volts"), [(6, 60, 22.66), (8, 60, 22.18), (12, 100, 18.55)])
def test_match__24_v_drop(load_w, length_m, volts):
    got = feed(load_w, length_m, least_v=16)
    assert got.works is Band.LIKELY
    assert got.volts.low == got.volts.high == pytest.approx(volts, abs=0.01)
    assert got.watts.low == pytest.approx(24 * load_w / volts, rel=1e-3)


def test_match__24_v_load_that_no_voltage_can_carry():
    got = feed(12, 100, awg=26)
    assert (got.works, got.code, got.volts, got.watts) == (Band.NO, Code.NO_VOLTAGE, None, None)


def test_match__24_v_load_that_may_collapse_is_only_possible():
    """100 m, 24 to 26 AWG: 8.42 ohm carries 12 W, 13.39 ohm does not."""
    got = matched(port(Mode.ALWAYS_24V), device(Mode.ALWAYS_24V, load=watts(12)), loop=Interval(8.42, 13.39, "ohm"))
    assert (got.works, got.code, got.volts) == (Band.POSSIBLE, Code.NEAR_COLLAPSE, None)


def test_match__volts_below_the_least_of_the_device():
    assert feed(12, 100, least_v=20).code is Code.VOLTS_TOO_LOW
    assert feed(12, 100, least_v=20).works is Band.NO
    assert feed(12, 100).code is Code.LEAST_VOLTS_UNKNOWN
    assert feed(6, 60).code is Code.FED_24V
    assert matched(port(Mode.ALWAYS_24V), device(Mode.ALWAYS_24V)).code is Code.LOAD_UNKNOWN


def test_match__volts_of_a_range_straddle_the_least():
    """24 V, 12 W: 18.55 V over 8.42 ohm, more over less wire."""
    got = matched(
        port(Mode.ALWAYS_24V), device(Mode.ALWAYS_24V, load=watts(12), least_v=20.0),
        loop=Interval(4.21, 8.42, "ohm"),
    )  # fmt: skip
    assert (got.works, got.code) == (Band.POSSIBLE, Code.VOLTS_TOO_LOW)
    assert got.volts.inputs == ("loop_ohm",)


def test_match__one_end_of_the_range_too_low_and_the_other_without_a_voltage_is_no():
    """12 W at 24 V is under 20 V already at 8.42 ohm; more wire cannot make it better."""
    got = matched(
        port(Mode.ALWAYS_24V), device(Mode.ALWAYS_24V, load=watts(12), least_v=20.0),
        loop=Interval(8.42, 13.39, "ohm"),
    )  # fmt: skip
    assert (got.works, got.code) == (Band.NO, Code.VOLTS_TOO_LOW)


def test_match__port_that_cannot_give_so_much():
    """12 W over 8.42 ohm takes 24 x 0.647 = 15.5 W at the port."""
    for limit_w, works in ((15.0, Band.NO), (16.0, Band.LIKELY)):
        got = matched(
            port(Mode.ALWAYS_24V, limit_w=limit_w), device(Mode.ALWAYS_24V, load=watts(12), least_v=16.0),
            loop=ohms(100),
        )  # fmt: skip
        assert got.works is works


def test_match__over_the_limit_at_best_and_without_a_voltage_at_worst_is_no():
    """The best end of the range takes 15.5 W at the port, and it gives 15 W."""
    got = matched(
        port(Mode.ALWAYS_24V, limit_w=15.0),
        device(Mode.ALWAYS_24V, load=watts(12)),
        loop=Interval(8.42, 13.39, "ohm"),
    )
    assert (got.works, got.code) == (Band.NO, Code.OVER_PORT_LIMIT)


def test_match__standard_port_gives_44_to_57_v_where_its_own_is_not_known():
    """Type 1 ports give 44 to 57 V (from memory); without wire the device sees just that."""
    got = matched(port(Mode.AF), device(Mode.AF, class_number=3), loop=Interval(0, 0, "ohm"))
    assert (got.volts.low, got.volts.high) == (44, 57)
    assert got.volts.inputs == ("supply_v",)


@pytest.mark.parametrize("number", range(9))
def test_match__worst_case_of_every_class_gives_its_volts(number):
    """At the least port voltage and the greatest loop the device sees its specified volts, and the port gives
    what the class allows (both within the rounding of the standard's figures)."""
    one = power_class(class_number=number)
    share = 2 if one.pairs == 4 else 1
    got = matched(
        port(Mode.BT, highest_class=8, supply=Interval.exact(one.pse_voltage.value, "V")),
        device(Mode.BT, class_number=number),
        loop=Interval.exact(one.loop_resistance.value * share, "ohm"),
    )
    assert got.works is Band.LIKELY
    assert got.watts.high == pytest.approx(one.pse_power.value, abs=0.1)
    if one.pd_voltage:
        assert got.volts.low == pytest.approx(one.pd_voltage.value, abs=0.1)


@pytest.mark.parametrize(
    ("low", "high", "works"), [(10, 12.5, Band.LIKELY), (12, 13, Band.POSSIBLE), (12.6, 13, Band.UNLIKELY)]
)
def test_match__loop_beyond_the_limit_of_the_class(low, high, works):
    """Class 4 promises 25.5 W over 12.5 ohm and nothing beyond."""
    got = matched(port(Mode.AT), device(Mode.AT, class_number=4), loop=Interval(low, high, "ohm"))
    assert got.works is works


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ({"pairs": frozenset({"1-3"})}, "is no pair"),
        ({"shorts": [(0, 5)]}, "pins run from 1 to 8"),
        ({"loop": Interval(1, 2, "m")}, "give ohm"),
    ],
)
def test_match__a_wrong_question_is_refused(said, fault):
    with pytest.raises(ValueError, match=fault):
        matched(port(Mode.AF), device(Mode.AF), **said)


MODES = st.none() | st.sampled_from(list(Mode))
PAIRED = st.tuples(st.sampled_from(STANDARD), st.sampled_from(STANDARD)) | st.just((Mode.ALWAYS_24V,) * 2)
RANGES = st.tuples(st.floats(0, 40), st.floats(0, 20))


@given(
    modes=PAIRED | st.tuples(MODES, MODES), number=st.none() | st.integers(0, 8),
    highest=st.none() | st.integers(0, 8), alternative=st.sampled_from(["A", "B", None]),
    pairs=st.none() | st.frozensets(st.sampled_from(sorted(ALL))),
    shorts=st.frozensets(st.tuples(st.integers(1, 8), st.integers(1, 8)), max_size=2),
    load=st.none() | st.tuples(st.floats(0.5, 80), st.floats(0, 10)), loop=RANGES, longer=st.floats(0, 30),
    least_v=st.none() | st.floats(10, 50), limit_w=st.none() | st.floats(2, 90),
)  # fmt: skip
def test_match__never_nan_always_a_reason_and_a_longer_run_never_helps(
    modes, number, highest, alternative, pairs, shorts, load, loop, longer, least_v, limit_w
):
    a_port = port(modes[0], highest_class=highest, alternative=alternative, limit_w=limit_w)
    a_device = device(modes[1], class_number=number, load=load and Interval(load[0], sum(load), "W"), least_v=least_v)
    low, high = loop[0], sum(loop)
    near = matched(a_port, a_device, pairs=pairs, shorts=shorts, loop=Interval(low, high, "ohm"))
    far = matched(a_port, a_device, pairs=pairs, shorts=shorts, loop=Interval(low + longer, high + longer, "ohm"))
    assert ORDER.index(far.works) >= ORDER.index(near.works)
    assert near.because[0] is near.code
    plain(near)
    for value in (near.volts, near.watts):
        assert value is None or math.isfinite(value.low + value.high)

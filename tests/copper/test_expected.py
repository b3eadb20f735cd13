"""What a meter should read: corners, names of inputs, and that knowing more narrows it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.expected import Verdict, compare, expected_capacitance, expected_loop, expected_wire
from pullstring.copper.readings import Cause
from pullstring.model.answers import Interval


def metres(low, high):
    return Interval(low, high, "m")


def test_expected_loop__corners_by_hand():
    """50 m of 24 AWG at 20 C is 8.42 ohm; 60 m of 26 AWG at 30 C is 60 x 0.26772 x 1.0393 = 16.69 ohm."""
    got = expected_loop(length=metres(50, 60), awg=Interval(24, 26, "AWG"), temperature=Interval(20, 30, "C"))
    assert got.interval.low == pytest.approx(8.42, abs=0.01)
    assert got.interval.high == pytest.approx(16.69, abs=0.03)
    assert got.interval.unit == "ohm"
    assert got.interval.inputs == ("length_m", "awg", "temperature_c")
    assert got.model == "copper.loop"
    assert "no_joint" in got.assumed


@given(st.floats(1, 200), st.floats(1, 50), st.floats(-10, 30), st.floats(1, 20))
def test_expected_loop__fixing_an_input_shrinks_it_and_drops_its_name(start, more, cold, warmer):
    full = {
        "length": metres(start, start + more),
        "awg": Interval(24, 26, "AWG"),
        "temperature": Interval(cold, cold + warmer, "C"),
    }
    fixed = {"length": metres(start, start), "awg": 24, "temperature": Interval.exact(cold, "C")}
    names = {"length": "length_m", "awg": "awg", "temperature": "temperature_c"}
    wide = expected_loop(**full).interval
    for key, name in names.items():
        narrow = expected_loop(**{**full, key: fixed[key]}).interval
        assert narrow.high - narrow.low < wide.high - wide.low
        assert set(narrow.inputs) == set(names.values()) - {name}


def test_expected_loop__all_known_is_a_point_without_inputs():
    got = expected_loop(length=metres(60, 60), awg=24, temperature=Interval.exact(20, "C")).interval
    assert got.low == got.high == pytest.approx(10.10, abs=0.01)
    assert got.inputs == ()


def test_expected_loop__feet_are_refused():
    with pytest.raises(ValueError, match="length: the range is in 'ft'; give it in 'm'"):
        expected_loop(length=Interval(50, 60, "ft"), awg=24, temperature=Interval(20, 30, "C"))


def test_expected_capacitance__fifty_metres_of_data_cable():
    """46 to 56 pF/m over 50 m: 2.3 to 2.8 nF."""
    got = expected_capacitance(length=metres(50, 50), capacitance_f_per_m=Interval(46e-12, 56e-12, "F/m"))
    assert got.interval.low == pytest.approx(2.3e-9)
    assert got.interval.high == pytest.approx(2.8e-9)
    assert got.interval.unit == "F"
    assert got.interval.inputs == ("capacitance_f_per_m",)


def test_expected_capacitance__picofarads_are_refused():
    with pytest.raises(ValueError, match="capacitance_f_per_m"):
        expected_capacitance(length=metres(50, 50), capacitance_f_per_m=Interval(46, 56, "pF/m"))


def test_expected_wire__half_of_the_loop():
    """50 m of 24 AWG at 20 C: 4.21 ohm for one wire (wire table: 8.42 ohm for 100 m)."""
    given = {"length": metres(50, 60), "awg": Interval(24, 26, "AWG"), "temperature": Interval(20, 30, "C")}
    got, loop = expected_wire(**given).interval, expected_loop(**given).interval
    assert got.low == pytest.approx(4.21, abs=0.005)
    assert (got.low, got.high) == (pytest.approx(loop.low / 2), pytest.approx(loop.high / 2))
    assert got.inputs == ("length_m", "awg", "temperature_c")


@pytest.mark.parametrize(
    ("unit", "low", "high", "verdict", "causes"),
    [
        ("ohm", 4, 5, Verdict.WITHIN, ()),
        ("ohm", 6, 7, Verdict.WITHIN, ()),
        ("ohm", 2, 4, Verdict.WITHIN, ()),
        ("ohm", 6.1, 7, Verdict.ABOVE, (Cause.BAD_JOINT, Cause.SPLICE_OR_THINNER, Cause.LONGER_WAY)),
        ("ohm", 1, 2.9, Verdict.BELOW, (Cause.SHORT_IN_THE_WAY, Cause.THICKER_WIRE)),
        ("F", 6.1, 7, Verdict.ABOVE, (Cause.TAP_OR_RINGER, Cause.LONGER_WAY)),
        ("F", 1, 2.9, Verdict.BELOW, (Cause.CUT,)),
    ],
)
def test_compare__joints_add_ohms_branches_add_farads_a_cut_takes_them(unit, low, high, verdict, causes):
    got = compare(quantity="x", read=Interval(low, high, unit), expected=Interval(3, 6, unit))
    assert (got.verdict, got.causes) == (verdict, causes)


def test_compare__nothing_to_compare_with_and_other_units():
    assert compare(quantity="x", read=metres(1, 2), expected=None).verdict is Verdict.NOT_COMPARABLE
    with pytest.raises(ValueError, match="x: the range is in 'm'; give it in 'ohm'"):
        compare(quantity="x", read=metres(1, 2), expected=Interval(1, 2, "ohm"))

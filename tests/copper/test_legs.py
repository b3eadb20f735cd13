"""Single wires of a pair.

Reasons outside the code: two definitions of unbalance with their limits, 5 % of cable, 3 % or 0.2 ohm of a channel (TIA-568-C.2,
from memory); 10.0 against 9.4 ohm is 6.4 % by the first and 3.1 % by the second (computed by hand: 0.6/9.4, 0.6/19.4).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.legs import blame, unbalance, unbalance_of_smaller, unbalance_of_sum, wire_ohm
from pullstring.copper.readings import Cause
from pullstring.model.answers import Interval

OHMS = st.floats(0.1, 50)


def ohm(low, high=None):
    return Interval(low, low if high is None else high, "ohm")


@given(OHMS, OHMS, OHMS)
def test_wire__three_loops_give_back_each_wire(first, second, third):
    """Kirchhoff the other way: build the loops from the wires."""
    got = wire_ohm(with_second_ohm=first + second, with_third_ohm=first + third, second_third_ohm=second + third)
    assert got == pytest.approx(first, abs=1e-9)


def test_wire__readings_that_do_not_belong_together_go_below_zero():
    assert wire_ohm(with_second_ohm=1.0, with_third_ohm=1.0, second_third_ohm=4.0) == -1.0


def test_unbalance__the_two_definitions():
    assert unbalance_of_smaller(first_ohm=10.0, second_ohm=9.4) == pytest.approx(0.0638, abs=5e-5)
    assert unbalance_of_sum(first_ohm=10.0, second_ohm=9.4) == pytest.approx(0.0309, abs=5e-5)
    assert unbalance_of_smaller(first_ohm=9.4, second_ohm=10.0) == pytest.approx(0.0638, abs=5e-5)
    assert unbalance_of_sum(first_ohm=9.4, second_ohm=10.0) == pytest.approx(0.0309, abs=5e-5)


@given(OHMS, OHMS)
def test_unbalance__the_value_type_says_the_same_as_the_laws(first, second):
    got = unbalance(first=ohm(first), second=ohm(second))
    assert got.of_smaller.low == pytest.approx(unbalance_of_smaller(first_ohm=first, second_ohm=second), abs=1e-9)
    assert got.of_sum.low == pytest.approx(unbalance_of_sum(first_ohm=first, second_ohm=second), abs=1e-9)


@pytest.mark.parametrize(
    ("first", "second", "cable", "channel"),
    [
        (10.0, 9.4, False, False),
        (10.0, 9.6, True, True),
        (10.0, 9.5, False, True),
        (1.2, 1.0, False, True),
        (1.3, 1.0, False, False),
    ],
)
def test_unbalance__limits(first, second, cable, channel):
    """10 and 9.6 are 4.2 % and 2.0 %; 10 and 9.5 are 5.3 % and 2.6 %; 1.2 and 1.0 are 9.1 % of the sum but 0.2 ohm apart."""
    got = unbalance(first=ohm(first), second=ohm(second))
    assert (got.within_cable, got.within_channel) == (cable, channel)
    assert (got.cable.value, got.channel.value) == (0.05, 0.03)


def test_unbalance__a_spread_that_reaches_over_the_limit_leaves_it_open():
    got = unbalance(first=ohm(9.9, 10.1), second=ohm(9.3, 9.7))
    assert got.within_cable is None and got.within_channel is None
    assert got.of_smaller.inputs == ("first_ohm", "second_ohm")
    assert unbalance(first=ohm(9.9, 10.1), second=ohm(10.0)).of_sum.low == 0


EXPECTED = ohm(4.0, 4.6)


@pytest.mark.parametrize(
    ("first", "second", "wanted", "wire"),
    [
        (ohm(4.2), ohm(4.3), None, 0),
        (ohm(7.2), ohm(4.2), Cause.BAD_JOINT, 1),
        (ohm(4.2), ohm(7.2), Cause.BAD_JOINT, 2),
        (ohm(6.7), ohm(6.8), Cause.SPLICE_OR_THINNER, 0),
        (ohm(6.7), ohm(9.8), Cause.SPLICE_OR_THINNER, 0),
    ],
)
def test_blame__one_wire_or_both(first, second, wanted, wire):
    got = blame(first=first, second=second, expected=EXPECTED)
    assert (got.cause, got.wire) == (wanted, wire)


def test_blame__the_ohms_too_many():
    """7.2 less 4.2 is 3.0; two wires of 6.7 against 4.0 to 4.6 are 2.1 to 2.7 too many."""
    joint = blame(first=ohm(7.2), second=ohm(4.2), expected=EXPECTED)
    assert joint.extra.low == joint.extra.high == pytest.approx(3.0)
    both = blame(first=ohm(6.7), second=ohm(6.8), expected=EXPECTED)
    assert (both.extra.low, both.extra.high) == (pytest.approx(2.1), pytest.approx(2.7))


def test_blame__without_marks_only_a_difference_shows():
    assert blame(first=ohm(6.7), second=ohm(6.8), expected=None).cause is None
    assert blame(first=ohm(6.7), second=ohm(3.8), expected=None).cause is Cause.BAD_JOINT


def test_blame__a_difference_inside_the_spread_is_no_joint():
    assert blame(first=ohm(4.0, 4.6), second=ohm(4.1, 4.9), expected=EXPECTED).cause is None

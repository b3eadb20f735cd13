"""Wires and pairs that share a current: Kirchhoff, the limits, and the wire that is worse than its partner."""

from __future__ import annotations

import random

import pytest

from pullstring.model.answers import Interval
from pullstring.power.unbalance import (
    Reason,
    current_shares,
    shared_pair,
    two_pairs,
    unbalance_current_a,
    unbalance_limit,
)


def ohm(value: float, within: float = 0.0) -> Interval:
    return Interval(value - within, value + within, "ohm", ("reading",) if within else ())


def amps(value: float) -> Interval:
    return Interval.exact(value, "A")


def judged(first, second, current=0.35, type_number=1, expected=None):
    return shared_pair(first=first, second=second, current=amps(current), type_number=type_number, expected=expected)


def test_shares__as_conductances():
    """Two alike carry half each; 1 and 3 ohm carry three quarters and a quarter."""
    assert current_shares(wires_ohm=[5, 5]) == (0.5, 0.5)
    assert current_shares(wires_ohm=[1, 3]) == pytest.approx((0.75, 0.25))
    assert sum(current_shares(wires_ohm=[1, 2, 3, 4])) == pytest.approx(1)


def test_unbalance_current__is_the_difference_of_the_shares():
    """10.0 and 9.4 ohm: 0.6 / 19.4 = 3.09 %, of 350 mA 10.8 mA."""
    assert unbalance_current_a(current_a=0.35, first_ohm=10, second_ohm=9.4) == pytest.approx(0.01082, abs=1e-5)
    first, second = current_shares(wires_ohm=[10, 9.4])
    assert 0.35 * (second - first) == pytest.approx(0.01082, abs=1e-5)


@pytest.mark.parametrize(("type_number", "milliamps"), [(1, 10.5), (2, 18), (3, 18), (4, 28.8)])
def test_limit__three_percent_of_the_greatest_current(type_number, milliamps):
    limit = unbalance_limit(type_number=type_number)
    assert limit.value == pytest.approx(milliamps / 1000)
    assert limit.provenance == "from memory"


def test_limit__there_is_no_fifth_type():
    with pytest.raises(ValueError, match="types 1 to 4"):
        unbalance_limit(type_number=5)


def test_pair__two_alike():
    one = judged(ohm(8.4), ohm(8.4))
    assert one.codes == (Reason.WITHIN,)
    assert (one.worse, one.apart.high) == (0, 0)
    assert [s.middle for s in one.shares] == [0.5, 0.5]


def test_pair__both_definitions_of_one_difference():
    """10.0 against 9.4 ohm: 6.4 % of the smaller, beyond the cable's 5 %; 3.1 % of the sum, beyond the channel's 3 %."""
    one = judged(ohm(10.0), ohm(9.4))
    assert one.unbalance is not None
    assert one.unbalance.of_smaller.middle == pytest.approx(0.0638, abs=1e-4)
    assert one.unbalance.of_sum.middle == pytest.approx(0.0309, abs=1e-4)
    assert one.codes == (Reason.SATURATION, Reason.OVER_CHANNEL, Reason.OVER_CABLE, Reason.WORSE_WIRE)
    assert one.worse == 1
    assert one.shares[0].high < one.shares[1].low


def test_pair__short_cable_is_saved_by_its_two_tenths_of_an_ohm_and_yet_its_coil_may_not_be():
    """1.15 and 1.0 ohm: 7 % of the sum, but 0.15 ohm apart; 0.07 x 350 mA = 24 mA."""
    one = judged(ohm(1.15), ohm(1.0))
    assert Reason.OVER_CHANNEL not in one.codes
    assert one.codes[0] is Reason.SATURATION
    assert judged(ohm(1.15), ohm(1.0), current=0.05).codes[0] is not Reason.SATURATION


def test_pair__one_wire_lost_carries_all_over_the_other():
    one = judged(None, ohm(8.4))
    assert (one.codes, one.worse) == ((Reason.SATURATION, Reason.ONE_WIRE), 1)
    assert [s.middle for s in one.shares] == [0, 1]
    assert one.apart.high == 0.35
    none = judged(None, None)
    assert (none.codes, none.apart.high) == ((Reason.NOT_KNOWN,), 0)


def test_pair__both_high_is_other_wire_and_not_a_bad_joint():
    one = judged(ohm(13.4), ohm(13.4), expected=ohm(8.4, 0.5))
    assert one.codes == (Reason.OTHER_WIRE,)
    assert one.worse == 0


def test_pair__a_reading_that_leaves_it_open_says_so_and_a_better_one_decides():
    assert Reason.NOT_KNOWN in judged(ohm(8.6, 0.2), ohm(8.4, 0.2)).codes
    wide, narrow = judged(ohm(8.6, 0.2), ohm(8.4, 0.2)), judged(ohm(8.6), ohm(8.4, 0.2))
    assert narrow.apart.high - narrow.apart.low < wide.apart.high - wide.apart.low
    assert wide.apart.inputs


@pytest.mark.parametrize(
    ("second", "code"),
    [(4.2, Reason.WITHIN), (4.7, Reason.WITHIN), (5.2, Reason.PAIRS_UNLIKE)],
)
def test_two_pairs__seven_percent(second, code):
    """4.2 against 4.7: 5.6 %; against 5.2: 10.6 % and 1 ohm."""
    assert two_pairs(first=ohm(4.2), second=ohm(second)).code is code


@pytest.mark.parametrize(
    ("apart", "code"), [(0.04, Reason.WITHIN), (0.08, Reason.NOT_KNOWN), (0.12, Reason.PAIRS_UNLIKE)]
)
def test_two_pairs__ohms_that_count_whatever_the_share(apart, code):
    """0.2 ohm and a little more is over 7 %; up to 0.05 ohm it may be, beyond 0.1 not, between the two nobody can say."""
    assert two_pairs(first=ohm(0.2), second=ohm(0.2 + apart)).code is code


def test_two_pairs__the_better_pair_carries_more():
    found = two_pairs(first=ohm(4.0), second=ohm(6.0))
    assert found.shares[0].middle == pytest.approx(0.6)
    assert found.shares[1].middle == pytest.approx(0.4)


def test_pair__a_worse_wire_never_lowers_the_difference():
    dice = random.Random(4)
    for _ in range(500):
        better, more, current = dice.uniform(0.5, 10), dice.uniform(0, 3), dice.uniform(0.05, 0.9)
        worse = better + dice.uniform(0, 3)
        here = judged(ohm(worse), ohm(better), current)
        there = judged(ohm(worse + more), ohm(better), current)
        assert there.apart.high >= here.apart.high - 1e-12
        assert (Reason.SATURATION in there.codes) >= (Reason.SATURATION in here.codes)

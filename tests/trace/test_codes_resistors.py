"""Sets of resistors against published sets, against trying every set, and against hand sums."""

import itertools
import math

import pytest

from pullstring.trace.codes_resistors import (
    APART_SDS,
    BadParts,
    Errors,
    Part,
    choose,
    highest,
    judge,
    most_outlets,
    shown_by,
)
from pullstring.trace.codes_search import search

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
"""IEC 60063, series E12 (from memory)."""
EXACT = Errors(meter=0.0, line_ohm=(0.0, 0.0))
HAND = Errors(meter=0.005, line_ohm=(0.0, 10.0))
EIGHT = (1.2, 2.2, 3.9, 4.7, 6.8, 12, 18, 33)


def parts(kilohms, *, tolerance=0.01, count=1):
    return [Part(ohm=k * 1000, tolerance=tolerance, count=count) for k in kilohms]


def gap_of(ohms, up_to):
    """The smallest gap over the smaller value, from scratch."""
    values = [1 / sum(1 / o for o in c) for k in range(1, up_to + 1) for c in itertools.combinations(ohms, k)]
    values.sort()
    return min((b / a - 1 for a, b in itertools.pairwise(values)), default=math.inf)


def test_judge__eight_values_are_told_apart_in_pairs_not_in_triples():
    """8 + 28 = 36 values, smallest gap 2.92 % (published with the set); the triples are 92 values and lie 0.27 % apart."""
    kept = judge(parts=parts(EIGHT), up_to=2, errors=EXACT).kept
    assert [k.readings for k in kept] == [8, 36, 92]
    assert kept[1].gap == pytest.approx(0.0292, abs=5e-5)
    assert [round(k.gap, 12) for k in kept] == [round(gap_of([v * 1000 for v in EIGHT], k), 12) for k in (1, 2, 3)]
    assert [k.worst for k in kept] == [True, True, False]


def test_judge__says_which_two_lie_nearest_and_what_is_not_kept_apart():
    """1.2 k beside 18 k is 1125 ohm, beside 33 k 1157.9 ohm: 2.92 % of the smaller."""
    choice = judge(parts=parts(EIGHT), up_to=2, errors=EXACT)
    assert {s.values for s in choice.wanted.nearest} == {(1200, 18000), (1200, 33000)}
    assert (choice.order_worst, choice.not_kept) == (2, (3,))


def test_judge__a_poor_meter_and_a_long_line_take_the_pairs_away():
    """1 % parts, a 1 % meter and 20 ohm of line: twice 2 % is more than the gap of 2.92 %."""
    choice = judge(parts=parts(EIGHT), up_to=2, errors=Errors(meter=0.01, line_ohm=(0.0, 20.0)))
    assert (choice.order_worst, choice.order_likely) == (1, 1)
    assert choice.bands == tuple(shown_by(parts=choice.parts, up_to=1, errors=Errors(meter=0.01, line_ohm=(0, 20))))


def test_judge__parts_read_beforehand_are_apart_again():
    """With the meter of the job the parts are known to 0.2 %."""
    errors = Errors(meter=0.002, line_ohm=(0.0, 10.0))
    assert judge(parts=parts(EIGHT, tolerance=0.002), up_to=2, errors=errors).order_worst == 2


def test_judge__decades_are_too_wide():
    """1 k beside 220 k is 0.45 % below 1 k alone; 1.0 k beside 2.2 k would be 687.5."""
    choice = judge(parts=parts([1, 220]), up_to=2, errors=EXACT)
    assert choice.wanted.gap == pytest.approx(1 / 220)
    assert (choice.order_worst, choice.order_likely) == (1, 1)
    (pair,) = [s for s in shown_by(parts=parts([1, 2.2]), up_to=2, errors=EXACT) if len(s.values) == 2]
    assert pair.ohm == pytest.approx(687.5)


def test_judge__two_of_one_value_read_alike():
    choice = judge(parts=parts([1.2, 1.2]), up_to=1, errors=EXACT)
    assert (choice.order_likely, choice.wanted.gap, choice.wanted.sds) == (0, 0.0, 0.0)


def test_band__worst_case_by_hand():
    """10 k of 1 %, meter 0.5 %, line up to 10 ohm: 9900 * 0.995 = 9850.5 and (10100 + 10) * 1.005 = 10160.55.

    As sd: (100^2 + (10005 * 0.005)^2) / 3 + 10^2 / 12, rooted, is 64.62.
    """
    (shown,) = shown_by(parts=parts([10]), up_to=1, errors=HAND)
    assert shown.low_ohm == pytest.approx(9850.5) and shown.high_ohm == pytest.approx(10160.55)
    assert shown.sd_ohm == pytest.approx(math.sqrt((100**2 + 50.025**2) / 3 + 100 / 12))


def test_band__two_parts_are_off_independently():
    """Two of 10 k and 1 %: 5 k together, each moves it by half its own 57.7 ohm of sd at half weight: 5000 * 0.01 / sqrt(6)."""
    (pair,) = [s for s in shown_by(parts=parts([10, 10]), up_to=2, errors=EXACT) if len(s.values) == 2]
    assert pair.sd_ohm == pytest.approx(5000 * 0.01 / math.sqrt(6))


def test_band__every_corner_of_the_errors_lies_inside():
    one, two = Part(ohm=3900, tolerance=0.01, count=1), Part(ohm=4700, tolerance=0.05, count=1)
    pair = next(s for s in shown_by(parts=[one, two], up_to=2, errors=HAND) if len(s.values) == 2)
    for a, b, m, own, common in itertools.product((-1, 1), (-1, 1), (-1, 1), (0, 5), (0, 5)):
        first, second = 3900 * (1 + a * 0.01) + own, 4700 * (1 + b * 0.05) + own
        read = (first * second / (first + second) + common) * (1 + m * 0.005)
        assert pair.low_ohm <= read <= pair.high_ohm


@pytest.mark.parametrize(("wanted", "gap"), [(4, 0.149), (6, 0.060), (8, 0.0292)])
def test_choose__is_as_good_as_the_published_sets(wanted, gap):
    """1.8/3.3/5.6/12 k, 3.3/5.6/10/15/22/39 k and the eight of E12 are published with these gaps; two decades hold no better."""
    found = choose(parts=parts([e * d for e in E12 for d in (1, 10)]), wanted=wanted, up_to=2, errors=EXACT)
    assert found.wanted.gap == pytest.approx(gap, abs=6e-4)
    assert found.proved


@pytest.mark.parametrize(("pool", "wanted", "up_to"), [
    (E12[:10], 4, 2), (E12, 3, 2), (E12[::2], 4, 3), (tuple(e * d for e in E12[::3] for d in (1, 10)), 4, 2),
])  # fmt: skip
def test_choose__equals_trying_every_set(pool, wanted, up_to):
    found = choose(parts=parts(pool), wanted=wanted, up_to=up_to, errors=EXACT)
    every = max(gap_of(c, up_to) for c in itertools.combinations(pool, wanted))
    assert found.proved
    assert found.kept[up_to - 1].gap == pytest.approx(every, rel=1e-9)


def test_choose__a_long_line_drives_the_values_up():
    """With 100 ohm of line unknown, the same ratios ten times higher lose a tenth."""
    found = choose(parts=parts([1, 1.8, 10, 18]), wanted=2, up_to=2, errors=Errors(meter=0, line_ohm=(0, 100)))
    assert found.values == (10_000, 18_000)


def test_search__runs_out_and_says_so():
    found = search(ohms=[e * d for e in E12 for d in (1, 10)], wanted=8, up_to=2, span_ohm=0, nodes=10)
    assert not found.proved


def test_choose__of_equal_values_one_and_the_closer():
    stock = [*parts([1.2, 2.2], tolerance=0.05, count=5), *parts([1.2], tolerance=0.01, count=2)]
    found = choose(parts=stock, wanted=2, up_to=2, errors=EXACT)
    assert [(p.ohm, p.tolerance) for p in found.parts] == [(1200, 0.01), (2200, 0.05)]


def test_choose__too_few_values_in_one_sentence():
    with pytest.raises(BadParts) as caught:
        choose(parts=[*parts([1.2], count=9), *parts([4.7], count=0)], wanted=3, up_to=2, errors=EXACT)
    (fault,) = caught.value.faults
    assert "3 outlets need 3 different values and only 1 different value" in fault and "each walk" in fault


def test_choose__all_faults_at_once():
    bad = [Part(ohm=0, tolerance=0.01, count=1), Part(ohm=100, tolerance=1.5, count=1)]
    with pytest.raises(BadParts) as caught:
        choose(parts=bad, wanted=0, up_to=0, errors=Errors(meter=1, line_ohm=(9, 3)))
    assert len(caught.value.faults) == 6


def test_highest__goes_down_to_what_can_be_kept_apart():
    """Eight of E12 with 1 % parts and a hand meter: pairs lie 3.3 sd apart, less than the four that are wanted; singles do."""
    stock = parts([e * d for e in E12 for d in (1, 10)])
    found = highest(parts=stock, wanted=8, up_to=2, errors=HAND)
    assert (found.up_to, found.order_likely) == (1, 1)
    six = highest(parts=stock, wanted=6, up_to=3, errors=HAND)
    assert (six.up_to, six.order_likely) == (2, 2) and six.wanted.sds >= APART_SDS


def test_most_outlets__seven_with_one_percent_parts():
    """Seven have a gap of 4.5 % in two decades of E12, eight only 2.92 %, which 1 % parts and 0.5 % of meter eat up."""
    stock = parts([e * d for e in E12 for d in (1, 10)])
    found = most_outlets(parts=stock, up_to=2, errors=HAND)
    assert len(found.values) == 7 and found.wanted.likely
    assert most_outlets(parts=[], up_to=2, errors=HAND) is None

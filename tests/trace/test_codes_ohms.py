"""Ohms at an end against plain sums over the line, and against what a meter would show."""

import math

import pytest

from pullstring.trace.ohms_on_net import ASSUMED, fit, log_likelihood, parallel_ohm
from pullstring.trace.readings import Ohms

PLACED = {3: 1200.0, 7: 2200.0, 14: 3900.0, 15: 4700.0}


def read(ohm, *, baseline=None, off=0.008, line_ohm=(0.0, 20.0)):
    return Ohms(key="a", end=0, ohm=ohm, placed=PLACED, off=off, line_ohm=line_ohm, baseline=baseline)


def best(reading, sets):
    return max(sets, key=lambda s: log_likelihood(reading, frozenset(s)))


SETS = [(), (3,), (7,), (14,), (15,), (3, 7), (14, 15), (3, 14), (3, 7, 14)]


def test_parallel__by_hand():
    """1.0 k beside 2.2 k: 2.2e6 / 3.2e3 = 687.5; 3.9 k beside 4.7 k: 18.33e6 / 8.6e3 = 2131.4."""
    assert parallel_ohm([1000, 2200]) == pytest.approx(687.5)
    assert parallel_ohm([3900, 4700]) == pytest.approx(2131.3953, abs=1e-3)
    assert parallel_ohm([]) == math.inf
    assert parallel_ohm([1000, 0]) == 0.0


@pytest.mark.parametrize(
    ("ohm", "on"), [(1206.0, (3,)), (2134.0, (14, 15)), (2209.0, (7,)), (781.0, (3, 7)), (None, ())]
)
def test_likeliest__is_what_was_clipped_on(ohm, on):
    """3.9 k beside 4.7 k is 2131 ohm, 3 in a hundred from the single 2.2 k; 1.2 k beside 2.2 k is 776 ohm."""
    assert best(read(ohm), SETS) == on


@pytest.mark.parametrize("ohm", [2100.0, 2131.4, 2150.0, 2300.0])
@pytest.mark.parametrize("line_ohm", [(0.0, 20.0), (5.0, 300.0), (0.0, 1e-4)])
def test_fit__equals_the_plain_sum_over_the_line(ohm, line_ohm):
    """Ten thousand lines, each with the textbook density of a normal error on the log."""
    off, steps = 0.008, 10_000
    whole, share = parallel_ohm([3900, 4700]), (2131.3953 / 3900) ** 2 + (2131.3953 / 4700) ** 2
    low, high = line_ohm[0] * share, line_ohm[1]
    total = 0.0
    for n in range(steps):
        z = math.log(ohm / (whole + low + (high - low) * (n + 0.5) / steps)) / off
        total += math.exp(-z * z / 2) / (off * math.sqrt(2 * math.pi)) / steps
    assert fit(read(ohm, line_ohm=line_ohm), [3900, 4700]) == pytest.approx(total, rel=1e-5, abs=1e-12)


def test_fit__is_a_density():
    """Summed over all readings it is one."""
    step = 1e-4
    total = sum(fit(read(math.exp(math.log(1100) + n * step)), [1200]) * step for n in range(2500))
    assert total == pytest.approx(1, abs=1e-6)


def test_baseline__a_foreign_resistor_lies_beside_ours():
    """A bell of 1 k was there before: 2.2 k beside it reads 687.5, and without ours it stays 1 k.

    Beside it 3.9 k and 4.7 k together read 680.7, so that the pair and the 2.2 k come nearer: only singles are asked here.
    """
    singles = [(), (3,), (7,), (14,), (15,)]
    assert best(read(689.0, baseline=1000.0), singles) == (7,)
    assert best(read(1004.0, baseline=1000.0), singles) == ()
    assert (
        log_likelihood(read(689.0), frozenset({7})) < log_likelihood(read(689.0, baseline=1000.0), frozenset({7})) - 5
    )


def test_something_else__fits_none_alike_and_is_never_impossible():
    """5 k 6 was never clipped on: every set is as poor as the others, and none is minus infinity."""
    logs = {s: log_likelihood(read(5600.0), frozenset(s)) for s in SETS}
    floor = math.log(ASSUMED.something_else / math.log(ASSUMED.most_ohm / ASSUMED.least_ohm))
    assert all(value == pytest.approx(floor, abs=1e-6) for value in logs.values())
    assert math.isfinite(log_likelihood(read(0.0), frozenset({3})))
    assert math.isfinite(log_likelihood(read(None, baseline=1000.0), frozenset()))


def test_no_contact__open_although_clipped_is_possible_but_poor():
    """One clip in a hundred has no contact (assumed); two of two only as something else."""
    bare, one, two = (log_likelihood(read(None), frozenset(s)) for s in ((), (3,), (3, 7)))
    assert bare == pytest.approx(math.log(0.99 + 1e-4))
    assert one == pytest.approx(math.log(0.99 * 0.01 + 1e-4))
    assert two == pytest.approx(math.log(1e-4))
    lost = log_likelihood(read(2205.0), frozenset({3, 7}))
    assert lost == pytest.approx(log_likelihood(read(2205.0), frozenset({7})) + math.log(0.01 / 0.99), abs=0.02)


def test_outlets_without_a_resistor__do_not_count():
    assert log_likelihood(read(1206.0), frozenset({3, 99})) == log_likelihood(read(1206.0), frozenset({3}))

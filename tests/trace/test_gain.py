"""Expected information against adding it up over every outcome by hand."""

import math

import numpy as np
import pytest

from pullstring.trace import gain, weighing
from pullstring.trace import readings as read
from pullstring.trace.scene import Scene
from tests.trace.frozen import constants

NOISE = constants()["noise"]
WHERE = Scene(2, 5, ((0, 1, 2, 3, 4),), ((1, 2, 3),))


def drawn_row(seed):
    row = np.random.default_rng(seed).random(len(WHERE.hypotheses) + 1)
    return row / row.sum()


def by_hand(row, outcomes):
    """Prior entropy of the hypotheses less what is left on average; outcomes are readings that exclude each other."""
    before, left, total = _bits(row), 0.0, 0.0
    for reading in outcomes:
        chances = np.exp(weighing.weigh(WHERE, NOISE, reading)[1])
        joint = row * chances
        total += joint.sum()
        left += joint.sum() * _bits(joint / joint.sum())
    assert total == pytest.approx(1.0)
    return before - left


def _bits(row):
    return -sum(p * math.log2(p) for p in row if p > 0)


@pytest.mark.parametrize("seed", range(4))
def test_gain__of_a_touch(seed):
    row = drawn_row(seed)
    for end, bits in enumerate(gain.of_touch(row, WHERE, NOISE)):
        outcomes = [read.Tone(key="k", outlet=0, end=end, level=level) for level in range(3)]
        assert bits == pytest.approx(by_hand(row, outcomes), abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_gain__of_a_set(seed):
    row = drawn_row(seed)
    sets = [frozenset(s) for s in ((0,), (0, 1), (2, 4), (0, 1, 2, 3, 4))]
    for ends, bits in zip(sets, gain.of_set(row, WHERE, NOISE, sets), strict=True):
        outcomes = [read.Bundle(key="k", outlet=0, ends=ends, level=level) for level in range(3)]
        assert bits == pytest.approx(by_hand(row, outcomes), abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_gain__of_a_clip_adds_up_over_the_outlets_with_a_remote(seed):
    rows = np.stack([drawn_row(seed), drawn_row(seed + 100)])
    for end, bits in enumerate(gain.of_clip(rows, WHERE, NOISE)):
        outcomes = [read.Remote(key="k", outlet=0, end=end, hit=hit) for hit in (True, False)]
        assert bits == pytest.approx(sum(by_hand(row, outcomes) for row in rows), abs=1e-9)


def test_gain__a_settled_outlet_has_nothing_left_to_tell():
    row = np.zeros(len(WHERE.hypotheses) + 1)
    row[0] = 1.0
    assert gain.of_touch(row, WHERE, NOISE) == pytest.approx(np.zeros(5), abs=1e-9)
    assert gain.of_clip(row[None], WHERE, NOISE) == pytest.approx(np.zeros(5), abs=1e-9)


FOUR = Scene(1, 4, (), ((2, 3),))


def even(scene, nets):
    """The same chance for some nets, each on its lowest end."""
    row = np.array([float((end, net) in [(min(n), n) for n in nets]) for end, net in scene.hypotheses] + [0.0])
    return row[None] / row.sum()


def test_gain__of_marks_on_all_ends_is_what_is_open():
    """Four nets alike: 2 bits, less the little that a mark errs; each reading then leaves one net."""
    rows = even(FOUR, [frozenset((e,)) for e in range(4)])
    told = gain.of_numbers(rows, FOUR, NOISE, range(4), sure=0.99)
    assert told.bits[0] == pytest.approx(2.0)
    assert (told.likeliest[0], told.settles[0]) == pytest.approx((0.25, 1.0))


def test_gain__of_one_mark_is_yes_or_no():
    """A quarter yes: no more than the entropy of 1/4, 0.811 bits, and by the mark's errors a little less."""
    rows = even(FOUR, [frozenset((e,)) for e in range(4)])
    told = gain.of_numbers(rows, FOUR, NOISE, [1], sure=0.99)
    assert 0.75 < told.bits[0] < 0.8113
    assert told.bits[0] == pytest.approx(gain.of_clip(rows, FOUR, NOISE)[1])
    assert (told.likeliest[0], told.settles[0]) == pytest.approx((0.75, 0.25))


def test_gain__of_words_joined_ends_add_up():
    """Words 1, 2, 4, 2 read as 1, 2, 4, 2, and the joined ends 2 and 3 together as 6: only ends 1 and 3 are alike."""
    rows = even(FOUR, [frozenset((0,)), frozenset((1,)), frozenset((2,)), frozenset((3,)), frozenset((2, 3))])
    told = gain.of_words(rows, FOUR, NOISE, {0: 1, 1: 2, 2: 4, 3: 2}, pairs=4, sure=0.99)
    assert told.likeliest[0] == pytest.approx(0.4)
    assert told.settles[0] == pytest.approx(0.6)
    assert told.bits[0] == pytest.approx(3 * 0.2 * math.log2(5) + 0.4 * math.log2(2.5))


def test_gain__of_no_marks_is_nothing():
    rows = even(FOUR, [frozenset((0,)), frozenset((1,))])
    told = gain.of_numbers(rows, FOUR, NOISE, [], sure=0.99)
    assert (told.bits[0], told.likeliest[0], told.settles[0]) == pytest.approx((0.0, 1.0, 0.0))

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

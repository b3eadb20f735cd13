"""Walks against every order there is."""

import itertools

import numpy as np
import pytest

from pullstring.trace.tours import path_s, walk


def places(count, seed):
    at = np.random.default_rng(seed).random((count, 2)) * 30
    return np.abs(at[:, None] - at[None]).sum(axis=2)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("end", [None, 0])
def test_walk__near_the_shortest_of_all_orders(seed, end):
    travel = places(7, seed)
    order = walk(travel, 0, range(1, 7), end=end)
    tail = [] if end is None else [end]
    least = min(path_s(travel, [0, *o, *tail]) for o in itertools.permutations(range(1, 7)))
    assert sorted(order) == list(range(1, 7))
    assert least - 1e-9 <= path_s(travel, [0, *order, *tail]) <= 1.12 * least


def test_walk__no_change_of_two_legs_helps_any_more():
    travel = places(25, 99)
    order = list(walk(travel, 0, range(1, 25)))
    cost = path_s(travel, [0, *order])
    for i, j in itertools.combinations(range(24), 2):
        other = order[:i] + order[i : j + 1][::-1] + order[j + 1 :]
        assert path_s(travel, [0, *other]) >= cost - 1e-9


@pytest.mark.parametrize("seed", range(8))
def test_walk__what_has_to_come_off_comes_off_in_time(seed):
    """Three out, one at hand, three to place: never more placed than there are."""
    travel = places(7, seed)
    off = (1, 2, 3)

    def may(order):
        at_hand = 1
        for stop in order:
            at_hand += 1 if stop in off else -1
            if at_hand < 0:
                return False
        return True

    order = walk(travel, 0, range(1, 7), end=0, first=off, may=may)
    assert may(order) and sorted(order) == list(range(1, 7))
    free = walk(travel, 0, range(1, 7), end=0)
    assert path_s(travel, [0, *free, 0]) <= path_s(travel, [0, *order, 0]) + 1e-9 or not may(free)


def test_walk__nothing_and_one_stop():
    travel = places(3, 1)
    assert walk(travel, 0, ()) == ()
    assert walk(travel, 0, (2,), end=0) == (2,)


def test_walk__equal_ways_go_by_number():
    travel = np.ones((5, 5)) - np.eye(5)
    assert walk(travel, 0, (3, 1, 4, 2)) == (1, 2, 3, 4)

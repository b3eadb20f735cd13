"""Marks and plugs through the world and into the odds: one walk over the outlets, as a person would do it without a planner."""

import numpy as np
import pytest

from bench.tracing_world import numbers, practice, runs, under_test
from bench.tracing_world.drive import drive
from bench.tracing_world.rounds import Step
from bench.tracing_world.world import Bag, World
from pullstring.trace import readings as read
from pullstring.trace.desk import Desk


class OneWalk:
    """Put a mark on every end, read every outlet a number of times, believe the likeliest net."""

    def __init__(self, site, marks, times):
        believed = under_test.noise_of(numbers.instruments())
        self.desk = Desk(under_test.scene_of(site), prior=under_test.prior_of(numbers.habits()), noise=believed)
        put = [Step("mark", end, mark) for end, mark in enumerate(marks)]
        self.steps = [*put, *(Step("read", o) for o in practice.tour_of(site) for _ in range(times))]

    def next_acts(self):
        steps, self.steps = self.steps, ()
        return steps

    def told(self, readings, *, position, seconds):
        self.desk.add_all(readings)

    def answer(self):
        return [max(nets, key=nets.get) for nets in self.desk.posterior().nets]

    def claimed(self):
        return [max(nets.values()) for nets in self.desk.posterior().nets]


def walked(bag, marks, times, count=20, size=(20, 30)):
    """Seconds, share right, share claimed; seconds as they add up by hand; kinds of readings."""
    rows, kinds = [], set()
    for number in range(count):
        site, truth, rng = runs.scenario(runs.Case(*size, "", "", 31, number))
        world = World(site, truth, bag=bag, instruments=numbers.instruments(), times=numbers.times(), rng=rng)
        done = drive(OneWalk(site, marks(rng, site.ends), times), world)
        told = practice.Done(done.seconds, done.answer)
        tour = [site.closet, *practice.tour_of(site)]
        way_s = sum(site.travel_s[a, b] for a, b in zip(tour, tour[1:], strict=False))
        by_hand = way_s + 8 * site.ends + site.outlets * (10 + 14 * times + 6)
        rows.append((done.seconds, told.right(truth) / site.outlets, np.mean(done.claimed), by_hand))
        kinds |= {type(r) for r in done.readings}
    return np.array(rows).T, kinds


def test_marks__one_number_an_end_and_one_walk():
    """A number is missed 2 times in 100, joined ends more often; over 400 answers a standard error is about 0.01."""
    (seconds, right, claimed, by_hand), kinds = walked(Bag(marks=30), lambda rng, ends: range(ends), times=1)
    assert seconds == pytest.approx(by_hand)
    assert kinds == {read.Remote}
    assert right.mean() > 0.93
    assert claimed.mean() == pytest.approx(right.mean(), abs=0.03)


def test_marks__read_twice_is_surer():
    """Both readings miss in 4 of 10000."""
    (_, right, claimed, _), _ = walked(Bag(marks=30), lambda rng, ends: range(ends), times=2)
    assert right.mean() > 0.985
    assert claimed.mean() == pytest.approx(right.mean(), abs=0.01)


def test_plugs__words_drawn_by_dice_leave_two_of_thirty_ends_alike():
    """15 words on 30 ends: each end shares its word with about one other, so half of the outlets at best can be told apart."""
    drawn = lambda rng, ends: [int(w) for w in rng.permutation([*range(1, 16)] * 2)[:ends]]  # noqa: E731
    (seconds, right, claimed, by_hand), kinds = walked(Bag(plugs=30), drawn, times=1)
    assert seconds == pytest.approx(by_hand)
    assert kinds == {read.Plugs}
    assert 0.3 < right.mean() < 0.7
    assert claimed.mean() == pytest.approx(right.mean(), abs=0.08)

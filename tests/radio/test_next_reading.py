"""Where to read next: against all choices one by one, against choosing at random, and against spreading out."""

import dataclasses

import numpy as np
import pytest

from pullstring.radio.learning import FOUR_IN_FIVE
from pullstring.radio.learning_draws import Worlds
from pullstring.radio.learning_levels import Ground
from pullstring.radio.next_reading import Chooser, Wanted
from tests.radio.learning_by_hand import SPOTS, conditioned, one_scale
from tests.radio.learning_world import BOTH, LATH, traced, truth, world

ROOMS = ("G1", "G2", "G3", "U1", "U2", "U3")


def wanted(variant, need_dbm=-55.0):
    rooms = truth(variant)[2]
    return tuple(
        Wanted(room, band, tuple(i for i, one in enumerate(rooms) if one == room), need_dbm, 1.0)
        for room in ROOMS
        for band in BOTH
    )


def chooser(drawn, variant, house, read, minutes=None, need_dbm=-55.0, given=None):
    learned = drawn.learn(house.read(read) if given is None else given)
    candidates = tuple(i for i in range(60) if i not in set(read))
    walk = np.zeros((len(candidates) + 1, len(candidates))) if minutes is None else minutes(candidates)
    ground = Ground.of(drawn.tables).moved_to(learned)
    like = house.reading(0, BOTH[0])
    return Chooser(learned, ground, wanted(variant, need_dbm), candidates, like, walk, 1.0)


def day(variant, seed, **drawing):
    drawn = traced(variant, **drawing)
    house = world(*truth(variant)[:2], seed, power_db=1.5)
    return drawn, house, [int(i) for i in house.rng.choice(60, 2, replace=False)]


def test_next__what_each_reading_narrows_is_what_conditioning_by_hand_gives():
    """The joint covariance of readings and room levels, conditioned on the chosen readings by plain linear algebra."""
    drawn, house, read = day("lath", 1)
    ask = chooser(drawn, "lath", house, read)
    cov, per_band = ask._covariance(), len(ask.candidates)
    levels = np.arange(cov.shape[0]) >= 2 * per_band
    noise = [dataclasses.replace(ask.like, band=band).noise_db for band in BOTH]
    starts = np.cumsum([0, *(len(points) for points in ask._deciding)])
    mean = np.zeros((len(ask.wanted), levels.sum()))
    for i, (start, end) in enumerate(zip(starts, starts[1:], strict=False)):
        mean[i, start:end] = 1 / (end - start)
    spread, taken = np.sqrt(np.diag(mean @ cov[np.ix_(levels, levels)] @ mean.T)), []
    for one in ask.walk(3):
        taken += [one.candidate, one.candidate + per_band]
        read_cov = cov[np.ix_(taken, taken)] + np.diag(np.square(noise * (len(taken) // 2)))
        left = cov[np.ix_(levels, levels)] - cov[levels][:, taken] @ np.linalg.inv(read_cov) @ cov[taken][:, levels]
        after = np.sqrt(np.diag(mean @ left @ mean.T))
        assert one.narrows_db == pytest.approx(2 * FOUR_IN_FIVE * (spread - after).max(), rel=1e-3)
        spread = after


def test_next__covariance_of_the_rooms_is_that_of_drawn_worlds():
    """Worlds drawn under the likeliest scale alone have the covariance that the choice goes by."""
    drawn, house, read = day("brick", 2)
    ask = chooser(drawn, "brick", house, read)
    learned = one_scale(ask.learned)
    points = list(ask._deciding[0])
    worlds = Worlds(learned, ask.ground, points).draw(20_000, np.random.default_rng(3))[:, 0, 0]
    first = 2 * len(ask.candidates)
    there = slice(first, first + len(points))
    assert np.cov(worlds.T) == pytest.approx(ask._covariance()[there, there], rel=0.06, abs=0.15)


def test_next__what_a_device_read_before_is_known_when_it_reads_again():
    """Covariance of the readings still to come, against the whole model written out by hand."""
    drawn, house, read = day("brick", 2)
    readings = house.read(read)
    ask = chooser(drawn, "brick", house, read, given=readings)
    few = dataclasses.replace(ask, candidates=ask.candidates[:6], minutes=np.zeros((7, 6)))
    targets = [dataclasses.replace(few.like, band=band, spots=(SPOTS[c],)) for band in BOTH for c in few.candidates]
    k = int(ask.learned.solved.weight.argmax())
    _, cov = conditioned(ask.learned, ask.ground, readings, targets, k, device=True)
    assert few._covariance()[:12, :12] == pytest.approx(cov, rel=0.01, abs=0.02)


def test_next__first_is_the_best_of_all_one_by_one():
    drawn, house, read = day("lath", 3)
    ask = chooser(drawn, "lath", house, read)
    everyone = [dataclasses.replace(ask, candidates=(one,), minutes=np.zeros((2, 1))).walk(1) for one in ask.candidates]
    best = max((one[0].narrows_db for one in everyone if one), default=0.0)
    chosen = ask.walk(1)[0]
    alone = dataclasses.replace(ask, candidates=(ask.candidates[chosen.candidate],), minutes=np.zeros((2, 1))).walk(1)[
        0
    ]
    assert chosen.narrows_db == pytest.approx(alone.narrows_db)
    assert chosen.narrows_db > 0.6 * best  # the best in all need not be the best for one room


def test_next__never_the_same_spot_twice_and_each_tells_less():
    drawn, house, read = day("brick", 4)
    found = chooser(drawn, "brick", house, read).walk(6)
    assert len({one.candidate for one in found}) == len(found) == 6
    assert found[0].narrows_db >= found[-1].narrows_db


def test_next__a_long_walk_must_be_worth_it():
    """The spot that was best free of charge is put half an hour away: another comes first."""
    drawn, house, read = day("lath", 5)
    first = chooser(drawn, "lath", house, read).walk(1)[0].candidate

    def far(candidates):
        minutes = np.full((len(candidates) + 1, len(candidates)), 0.5)
        minutes[:, first] = 30.0
        return minutes

    ask = chooser(drawn, "lath", house, read, minutes=far)
    again = ask.walk(1)[0]
    assert again.candidate != first
    assert again.minutes == pytest.approx(1.5)


def test_next__the_walk_is_counted_from_where_one_stands():
    drawn, house, read = day("brick", 6)

    def chain(candidates):
        minutes = np.full((len(candidates) + 1, len(candidates)), 5.0)
        minutes[0] = 1.0
        return minutes

    found = chooser(drawn, "brick", house, read, minutes=chain).walk(2)
    assert [one.minutes for one in found] == [2.0, 6.0]


def test_next__needs_near_their_edge_come_first():
    """Only the far upper room is near its need: it is among the rooms that the first reading helps."""
    drawn, house, read = day("lath", 7)
    ask = chooser(drawn, "lath", house, read)
    level = {one.room: ask._foretold.level_dbm[0, 0, list(one.points)].min() for one in ask.wanted}
    one_edge = tuple(
        dataclasses.replace(one, need_dbm=level[one.room] if one.room == "U2" else -300.0) for one in ask.wanted
    )
    assert "U2" in dataclasses.replace(ask, wanted=one_edge).walk(1)[0].helps


def room_error(drawn, variant, house, read):
    """Error of every room's level exceeded at 90 % of its points, over rooms and bands, after these readings."""
    found = drawn.foretell(drawn.learn(house.read(read)))
    off = []
    for one in wanted(variant):
        band, points = BOTH.index(one.band), list(one.points)
        off.append(np.quantile(house.true_dbm[band, points], 0.1) - np.quantile(found.level_dbm[band, 0, points], 0.1))
    return np.mean(np.square(off))


def all_at_their_edge(ask):
    """Every room needs just what it is foretold to have, so that all count alike."""
    level = ask._foretold.level_dbm
    return dataclasses.replace(
        ask,
        wanted=tuple(
            dataclasses.replace(one, need_dbm=float(np.quantile(level[BOTH.index(one.band), 0, list(one.points)], 0.1)))
            for one in ask.wanted
        ),
    )


def farthest(spots, read, count):
    chosen = list(read)
    for _ in range(count):
        away = np.linalg.norm(np.asarray(spots)[:, None] - np.asarray(spots)[chosen][None], axis=2).min(axis=1)
        chosen.append(int(away.argmax()))
    return chosen


def test_next__beats_choosing_at_random_and_spreading_out():
    """Four readings more after two, where the drawing has a wall type or two doors wrong; 40 days."""
    cases = (
        ("lath", {"missing": ("d1_open", "d3_open")}),
        ("brick", {"named": (("brick 100", LATH),)}),
    )
    ours, chance, spread = [], [], []
    for variant, drawing in cases:
        for seed in range(20):
            drawn, house, read = day(variant, seed, **drawing)
            ask = all_at_their_edge(chooser(drawn, variant, house, read))
            ours.append(
                room_error(drawn, variant, house, [*read, *(ask.candidates[one.candidate] for one in ask.walk(4))])
            )
            chance.append(
                room_error(drawn, variant, house, [*read, *house.rng.choice(ask.candidates, 4, replace=False)])
            )
            spread.append(room_error(drawn, variant, house, farthest(truth(variant)[1], read, 4)))
    assert np.sqrt(np.mean(ours)) < 0.85 * np.sqrt(np.mean(chance))
    assert np.sqrt(np.mean(ours)) < 0.97 * np.sqrt(np.mean(spread))

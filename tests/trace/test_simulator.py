"""The world of the bench against frozen cases of other programs: present practice, bounds, least expected time.

The frozen figures come with tolerances: order, answers and counts exact, seconds 0.01, entropy 0.001 bit; a mean of K draws
lies within 4 standard errors of a mean of 200 others. What was published of drawn sites are means over 60, with their spread.
"""

import math

import numpy as np
import pytest

from bench.tracing_world import frozen, numbers, practice, site, truth
from bench.tracing_world.drive import drive
from bench.tracing_world.optimum import Optimum
from bench.tracing_world.rounds import FixedRounds
from bench.tracing_world.tours import walking_order
from bench.tracing_world.world import Bag, World
from tests.tiers import slow

TIMES, HABITS, ERRING = numbers.times(), numbers.habits(), numbers.instruments()
SCENARIOS = {case["id"]: case for case in frozen.cases("scenarios")}
TINY = {case["id"]: case for case in frozen.cases("identify_small")}
WAYS = {"until_found": practice.until_found, "probe_all": practice.probe_every_end}
PUBLISHED = {
    # until found [s] and its spread, share right and its spread, probing every end / until found and its spread, visit bound
    (8, 12): ((677, 47), (0.854, 0.13), (1.311, 0.077), (265, 3.3)),
    (20, 30): ((3109, 145), (0.708, 0.09), (1.460, 0.063), (708, 6.4)),
    (48, 60): ((11309, 505), (0.672, 0.08), (1.638, 0.073), (1693, 11)),
    (80, 120): ((28216, 1404), (0.607, 0.05), (1.869, 0.093), (2806, 10)),
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_practice__frozen_draw(name):
    case = SCENARIOS[name]
    place, hidden, levels = frozen.site_of(case), frozen.truth_of(case), frozen.levels_of(case)
    tour = practice.tour_of(place)
    assert tour == case["tour"]
    for way, known in case["naive"].items():
        done = WAYS[way](place, levels, TIMES, tour)
        assert done.seconds == pytest.approx(known["seconds"], abs=0.01)
        assert [sorted(ends) for ends in done.answer] == known["answer"]
        assert (done.right(hidden), done.any_end(hidden)) == (known["right"], known["right_any_end"])


@pytest.mark.parametrize("name", SCENARIOS)
def test_bounds__frozen(name):
    case = SCENARIOS[name]
    place = frozen.site_of(case)
    assert site.visit_bound_s(place, TIMES) == pytest.approx(case["visit_bound_s"], abs=0.01)
    bits = truth.entropy_bits(place.outlets, place.ends, place.blocks, HABITS)
    assert bits == pytest.approx(case["prior_entropy_bits"], abs=0.001)


@pytest.mark.parametrize("name", SCENARIOS)
def test_practice__means_over_draws(name):
    case, draws = SCENARIOS[name], 30
    place, hidden = frozen.site_of(case), frozen.truth_of(case)
    rng = np.random.default_rng([1, case["seed"], place.outlets])
    known = case["naive"]["until_found"]
    took = []
    for _ in range(draws):
        levels = practice.drawn_levels(place, hidden, ERRING, rng)
        took.append(practice.until_found(place, levels, TIMES, case["tour"]).seconds)
    apart = 4 * known["sd_seconds"] * math.sqrt(1 / 200 + 1 / draws)
    assert np.mean(took) == pytest.approx(known["mean_seconds"], abs=apart)


@pytest.mark.parametrize("name", ["J0", "J1", "J2", "J3", "J4", pytest.param("J5", marks=slow("3 s, 41000 states"))])
def test_optimum__frozen(name):
    case = TINY[name]
    least = Optimum(frozen.site_of(case), remotes=case["remotes"], habits=HABITS, times=TIMES)
    assert len(least.owns) == case["hypotheses"]
    assert least.expected_s() == pytest.approx(case["optimal_expected_s"], abs=0.01)


def test_optimum__never_more_remotes_out_than_there_are():
    """Places on a ring of 5 s: closet, 2, 0, 1, 3. From 0 and 1 to 2 and 3 with two remotes.

    Round the ring (5 s) would put one on first. One has to come off first: 0, 1, 3 and back to 2 takes 7 s. Besides four
    times 10 to enter, 2 x 6 off, 2 x 15 on.
    """
    at = np.array([2, 3, 1, 4, 0])
    ring = np.minimum((at[:, None] - at) % 5, (at - at[:, None]) % 5).astype(float)
    place = site.Site(1, ring, (), ())
    least = Optimum(place, remotes=2, habits=HABITS, times=TIMES)
    assert least._trip_s(frozenset({0, 1}), frozenset({2, 3}), False) == 7 + 40 + 12 + 30
    roomy = Optimum(place, remotes=4, habits=HABITS, times=TIMES)
    assert roomy._trip_s(frozenset({0, 1}), frozenset({2, 3}), False) == 5 + 40 + 12 + 30


@pytest.mark.parametrize("name", TINY)
def test_practice__without_noise_averaged_over_all_assignments(name):
    case = TINY[name]
    place = frozen.site_of(case)
    least = Optimum(place, remotes=case["remotes"], habits=HABITS, times=TIMES)
    tour, rng = practice.tour_of(place), np.random.default_rng(1)
    expected = dict.fromkeys(WAYS, 0.0)
    for own, chance in zip(least.owns, least.odds, strict=True):
        levels = practice.drawn_levels(place, truth.Truth(own, ()), numbers.CERTAIN, rng)
        for way, act in WAYS.items():
            expected[way] += chance * act(place, levels, TIMES, tour).seconds
    assert expected["until_found"] == pytest.approx(case["naive_until_found_expected_s"], abs=0.01)
    assert expected["probe_all"] == pytest.approx(case["naive_probe_all_expected_s"], abs=0.01)


def sampled(outlets, ends, count):
    """Rows of what was published, for drawn sites."""
    rows = []
    for number in range(count):
        rng = np.random.default_rng([11, outlets, ends, number])
        place = site.drawn_site(outlets, ends, times=TIMES, rng=rng)
        hidden = truth.drawn_truth(place, habits=HABITS, rng=rng)
        levels, tour = practice.drawn_levels(place, hidden, ERRING, rng), practice.tour_of(place)
        done = practice.until_found(place, levels, TIMES, tour)
        every = practice.probe_every_end(place, levels, TIMES, tour)
        bound = site.visit_bound_s(place, TIMES)
        rows.append((done.seconds, done.right(hidden) / outlets, every.seconds / done.seconds, bound))
    return np.array(rows).T


@pytest.mark.parametrize(
    ("size", "count"),
    [((8, 12), 400), ((20, 30), 150), ((48, 60), 40), pytest.param((80, 120), 100, marks=slow("8 s, large sites"))],
)
def test_drawn_sites__means_and_spreads_as_published(size, count):
    for found, (mean, spread) in zip(sampled(*size, count), PUBLISHED[size], strict=True):
        apart = 4 * spread * math.sqrt(1 / 60 + 1 / count)
        assert found.mean() == pytest.approx(mean, abs=apart)
        # A spread over k has a relative standard error of about 1 / sqrt(2 k); what is bounded or skewed has more.
        assert found.std(ddof=1) == pytest.approx(spread, rel=5 * math.sqrt(1 / 120 + 1 / (2 * count)))


@pytest.mark.parametrize(
    ("remotes", "size", "ratio", "right"),
    [(8, (8, 12), (0.82, 0.09), 0.975), (8, (20, 30), (0.68, 0.06), 0.963), (16, (20, 30), (0.59, 0.06), 0.964)],
)
def test_fixed_rounds__ratio_to_present_practice_as_published(remotes, size, ratio, right):
    """Published over 60 sites: ratio and its spread, share right; 4 standard errors and half a last digit."""
    count, found = 60, []
    for number in range(count):
        rng = np.random.default_rng([13, *size, number])
        place = site.drawn_site(*size, times=TIMES, rng=rng)
        hidden = truth.drawn_truth(place, habits=HABITS, rng=rng)
        levels = practice.drawn_levels(place, hidden, ERRING, rng)
        usual = practice.until_found(place, levels, TIMES, practice.tour_of(place))
        here = World(place, hidden, bag=Bag(remotes=remotes), instruments=ERRING, times=TIMES, rng=rng)
        done = drive(FixedRounds(place, remotes), here)
        told = practice.Done(done.seconds, done.answer)
        found.append((done.seconds / usual.seconds, told.right(hidden) / place.outlets))
    apart = 4 * math.sqrt(1 / 60 + 1 / count)
    assert np.mean([r for r, _ in found]) == pytest.approx(ratio[0], abs=ratio[1] * apart + 0.005)
    assert np.mean([r for _, r in found]) == pytest.approx(right, abs=0.05 * apart)


@pytest.mark.parametrize(
    ("size", "on_ends", "nones", "bits"),
    [
        ((8, 12), (4.21, 7.61, 0.18, 0.003), 0.021, 25.58),
        ((20, 30), (10.58, 18.87, 0.53, 0.013), 0.024, 96.96),
        ((48, 60), (14.43, 43.28, 2.18, 0.103), 0.041, 273.58),
        ((80, 120), (42.48, 75.13, 2.32, 0.069), 0.025, 546.34),
    ],
)
def test_prior__expected_counts_as_published(size, on_ends, nones, bits):
    counts = truth.Counts(*size, HABITS)
    found = counts.of_ends()
    assert found[:3] == pytest.approx(on_ends[:3], abs=0.006)
    assert found[3] == pytest.approx(on_ends[3], abs=0.0006)
    assert counts.none_odds() @ np.arange(size[0] + 1) == pytest.approx(nones, abs=0.0006)
    blocks = [range(4)] * (size[1] // 15)
    assert truth.entropy_bits(*size, blocks, HABITS) == pytest.approx(bits, abs=0.006)


def test_blocks__odds_of_four_ends_as_published():
    odds = truth.group_odds(4, HABITS)
    sizes = [len(groups) for groups in truth.parted(range(4))]
    assert len(sizes) == 15  # Bell number of 4
    assert odds[sizes.index(4)] == pytest.approx(0.192, abs=0.0005)
    assert odds[sizes.index(1)] == pytest.approx(0.0175, abs=0.00005)


def test_walking_order__turned_round_where_that_is_shorter():
    """Stops on a line at 1, -1.5 and 4 from 0: the nearest first goes 1, -1.5, 4 (9 m); turned round -1.5, 1, 4 (7 m)."""
    at = np.array([1.0, -1.5, 4.0, 0.0])
    assert walking_order(np.abs(at[:, None] - at), 3, range(3)) == [1, 0, 2]


def test_walking_order__ties_go_to_the_lower_number_and_nothing_is_nothing():
    away = np.ones((4, 4))
    assert walking_order(away, 3, [2, 0, 1]) == [0, 1, 2]
    assert walking_order(away, 3, []) == []

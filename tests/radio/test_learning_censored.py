"""None heard, against integrating over everything it leaves possible; and how scales are weighed, against the same."""

import dataclasses
import math

import numpy as np
import pytest

from pullstring.radio.learning_censored import Scale, below, scales, solve
from pullstring.radio.learning_readings import Reading
from pullstring.radio.learning_rows import Prior, Rows

ONE = Scale(field_factor=1.0, wall_factor=1.0, odds=1.0)


def normal(x, mean, var):
    return np.exp(-0.5 * (x - mean) ** 2 / var) / np.sqrt(2 * np.pi * var)


def chance_below(x):
    return np.vectorize(lambda one: 0.5 * math.erfc(-one / math.sqrt(2)))(x)


def rows(values, heard, where_m, *, noise_db=2.0):
    """Readings of one sender along a line, in a world without walls, of targets given straight."""
    prior = Prior(("AP",), ("5 GHz",), (), (1.5,), np.zeros((1, 0)))
    count = len(values)
    blank = Reading("r", ((0.0, 0.0, 0.0),), "AP", "phone", "5 GHz", None, -90.0, 5, True, "day")
    made = [
        dataclasses.replace(blank, key=str(i), level_dbm=value if yes else None)
        for i, (value, yes) in enumerate(zip(values, heard, strict=True))
    ]
    return Rows(
        prior=prior,
        readings=tuple(made),
        sender=np.zeros(count, dtype=int),
        band=np.zeros(count, dtype=int),
        target_db=np.array(values, dtype=float),
        heard=np.array(heard),
        noise_db=np.full(count, noise_db),
        shared=np.array([[-10 * math.log10(max(x, 1.0))] for x in where_m]),
        spots=np.array([[x, 0.0, 0.0] for x in where_m]),
        mix=np.eye(count),
        item_row=np.arange(count),
        item_field_db=np.full(count, 4.0),
    )


def by_integration(one, quiet, heard_row, *, noise_db):
    """Mean and variance of every latent level, and the chance of what was seen, on a grid of two levels."""
    solved = solve(one, among=(ONE,))
    cov = solved.prior_rows[0]
    grid = np.linspace(-45, 45, 721)
    x, y = np.meshgrid(grid, grid, indexing="ij")
    both = np.linalg.inv(cov)
    density = np.exp(-0.5 * (both[0, 0] * x**2 + 2 * both[0, 1] * x * y + both[1, 1] * y**2))
    density /= 2 * np.pi * np.sqrt(np.linalg.det(cov))
    density *= chance_below((one.target_db[quiet] - (x, y)[quiet]) / noise_db)
    if heard_row is not None:
        density *= normal(one.target_db[heard_row], (x, y)[heard_row], noise_db**2)
    else:
        other = 1 - quiet
        density *= chance_below((one.target_db[other] - (x, y)[other]) / noise_db)
    step = (grid[1] - grid[0]) ** 2
    total = density.sum() * step
    mean = np.array([(density * x).sum(), (density * y).sum()]) * step / total
    var = np.array([(density * x**2).sum(), (density * y**2).sum()]) * step / total - mean**2
    return mean, var, math.log(total)


@pytest.mark.parametrize("floor", [-9.0, -3.0, 2.0, 8.0])
def test_none_heard__one_beside_one_heard_equals_integration(floor):
    one = rows([floor, 1.0], [False, True], [2.0, 3.5])
    mean, var, log_chance = by_integration(one, 0, 1, noise_db=2.0)
    solved = solve(one, among=(ONE,))
    cov = solved.prior_rows[0]
    found = cov @ solved.pull[0]
    assert found == pytest.approx(mean, abs=0.02)
    assert np.diag(cov - cov @ solved.inverse[0] @ cov) == pytest.approx(var, rel=0.01)
    assert solved.evidence[0] == pytest.approx(log_chance, abs=0.01)


@pytest.mark.parametrize(("first", "second"), [(-6.0, -6.0), (-8.0, 3.0), (5.0, 5.0)])
def test_none_heard__twice_is_near_integration(first, second):
    """Two at once are not exact: what is left over is told by how far off it may be."""
    one = rows([first, second], [False, False], [2.0, 3.5])
    mean, var, log_chance = by_integration(one, 0, None, noise_db=2.0)
    solved = solve(one, among=(ONE,))
    cov = solved.prior_rows[0]
    assert cov @ solved.pull[0] == pytest.approx(mean, abs=0.1)
    assert np.diag(cov - cov @ solved.inverse[0] @ cov) == pytest.approx(var, rel=0.05)
    assert solved.evidence[0] == pytest.approx(log_chance, abs=0.02)


def test_none_heard__says_nothing_where_nothing_was_expected():
    """A floor 40 dB over what is foretold: hearing nothing is no news."""
    solved = solve(rows([40.0, 1.0], [False, True], [2.0, 3.5]), among=(ONE,))
    alone = solve(rows([1.0], [True], [3.5]), among=(ONE,))
    assert (solved.prior_rows[0] @ solved.pull[0])[1] == pytest.approx(
        (alone.prior_rows[0] @ alone.pull[0])[0], abs=1e-3
    )


def test_none_heard__pulls_down_the_more_the_higher_it_was_foretold():
    pulled = [
        float((solve(rows([floor], [False], [2.0]), among=(ONE,)).pull[0] * 1.0)[0])
        for floor in (6.0, 0.0, -6.0, -12.0)
    ]
    assert pulled == sorted(pulled, reverse=True)
    assert pulled[0] < 0


def test_scales__weighed_as_their_densities_say():
    """Two heard readings under all scales: the weight of each is its odds times the density of what was read."""
    one = rows([7.0, -6.0], [True, True], [2.0, 9.0])
    solved = solve(one, among=scales(), keep_all=True)
    log = []
    for scale, cov in zip(solved.scales, solved.prior_rows, strict=True):
        full = cov + 4.0 * np.eye(2)
        fit = one.target_db @ np.linalg.inv(full) @ one.target_db
        log.append(math.log(scale.odds) - 0.5 * (fit + math.log(np.linalg.det(full))))
    expected = np.exp(log) / np.exp(log).sum()
    assert solved.weight == pytest.approx(expected)


def test_scales__are_odds_over_all_ways():
    assert sum(one.odds for one in scales()) == pytest.approx(1)
    assert max(scales(), key=lambda one: one.odds).wall_factor == 1


def test_scales__readings_that_scatter_speak_for_a_worse_drawing():
    where = [2.0, 6.0, 11.0, 17.0, 24.0]
    calm = solve(rows([1.0, 0.5, -0.5, 0.0, 1.0], [True] * 5, where, noise_db=1.0), among=scales())
    wild = solve(rows([9.0, -8.0, 7.0, -9.0, 8.0], [True] * 5, where, noise_db=1.0), among=scales())

    def mean(solved):
        return sum(w * one.field_factor for w, one in zip(solved.weight, solved.scales, strict=True))

    assert mean(calm) < 0.5
    assert mean(wild) > 1.0


@pytest.mark.parametrize("z", [-35.0, -30.5, -29.5, -8.0, -1.0, 0.0, 2.0, 9.0])
def test_below__against_the_error_function(z):
    """Beyond 30 standard deviations the chance by `math.erfc` still holds (to -38), so the series can be held to it."""
    chance = 0.5 * math.erfc(-z / math.sqrt(2))
    log, ratio = below(z_ratio=np.array([z]))
    assert log[0] == pytest.approx(math.log(chance), abs=2e-3)
    assert ratio[0] == pytest.approx(math.exp(-z * z / 2) / math.sqrt(2 * math.pi) / chance, rel=2e-3)

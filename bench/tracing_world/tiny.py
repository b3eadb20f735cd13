"""Tiny jobs without noise: the way of working under test against the exact least expected time."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np

from bench.tracing_world import frozen, numbers, under_test
from bench.tracing_world.drive import drive
from bench.tracing_world.optimum import Optimum
from bench.tracing_world.site import Site, drawn_places, walked_s
from bench.tracing_world.truth import Truth
from bench.tracing_world.world import Bag, World

SIZES = ((2, 3), (2, 4), (3, 3), (3, 4))


@dataclasses.dataclass(frozen=True)
class Tiny:
    """One tiny job: expected seconds of the way under test and of the optimum, and the share of chance that it got right."""

    name: str
    expected_s: float
    optimum_s: float
    right: float

    @property
    def ratio(self) -> float:
        return self.expected_s / self.optimum_s


Maker = Callable[[Site, Bag], Any]


def make_job(site: Site, bag: Bag) -> Any:
    return under_test.job(site, bag, believed=numbers.CERTAIN, habits=numbers.habits(), times=numbers.times())


def judged(name: str, site: Site, remotes: int, make: Maker = make_job) -> Tiny:
    """Every assignment that may be, each with its chance."""
    times, habits = numbers.times(), numbers.habits()
    least = Optimum(site, remotes=remotes, habits=habits, times=times)
    bag, expected_s, right = Bag(remotes=remotes), 0.0, 0.0
    for own, chance in zip(least.owns, least.odds, strict=True):
        truth, rng = Truth(own, ()), np.random.default_rng(0)
        world = World(site, truth, bag=bag, instruments=numbers.CERTAIN, times=times, rng=rng)
        done = drive(make(site, bag), world)
        expected_s += chance * done.seconds
        right += chance * (done.answer == truth.nets)
    return Tiny(name, expected_s, least.expected_s(), right)


def drawn(number: int, seed: int) -> tuple[Site, int]:
    """A tiny site and how many remotes there are, one at least and one per outlet at most."""
    outlets, ends = SIZES[number % len(SIZES)]
    rng = np.random.default_rng([seed, number])
    travel_s = walked_s(drawn_places(outlets, rng), numbers.times())
    return Site(ends, travel_s, (), ()), int(rng.integers(1, outlets + 1))


def shown(count: int, seed: int, progress: Callable[[str], None]) -> str:
    """A table: the frozen jobs, then drawn ones."""
    jobs = [(c["id"], frozen.site_of(c), c["remotes"]) for c in frozen.cases("identify_small")]
    jobs += [(f"drawn {n}", *drawn(n, seed)) for n in range(count)]
    found = []
    for name, site, remotes in jobs:
        progress(f"tiny: {name}")
        found.append(judged(name, site, remotes))
    progress("")
    rows = [f"{t.name:10s} {t.expected_s:9.2f} {t.optimum_s:9.2f} {t.ratio:7.4f} {t.right:7.4f}" for t in found]
    ratios = [t.ratio for t in found]
    rows.append(f"{len(found)} jobs: mean {np.mean(ratios):.4f} (target 1.03), worst {max(ratios):.4f} (target 1.10)")
    return "\n".join(["job         expected   optimum   ratio   right", *rows])

"""Tiny jobs without noise: the least expected seconds with k remotes, by looking at everything that can be done.

State: the assignments still possible, and where remotes sit; one stands in the closet. A round is a trip that takes off and
places (or none) and one clip that tells some of them apart; when one is left, what is out is fetched and the job ends there.
"""

from __future__ import annotations

import functools
import itertools
import math

from bench.tracing_world.numbers import Habits, Times
from bench.tracing_world.site import Site
from bench.tracing_world.truth import NONE

Own = tuple[int, ...]
Out = frozenset[int]


def all_assignments(outlets: int, ends: int, habits: Habits) -> dict[Own, float]:
    """Every assignment that may be, with its chance; no blocks."""
    found = {}
    for own in itertools.product([*range(ends), NONE], repeat=outlets):
        counts = [own.count(e) for e in range(ends)]
        if max(counts) < len(habits.on_end):
            weight = habits.no_cable ** own.count(NONE) * math.prod(habits.on_end[c] for c in counts)
            found[own] = weight
    total = sum(found.values())
    return {own: weight / total for own, weight in found.items()}


class Optimum:
    """Least expected seconds of one site."""

    def __init__(self, site: Site, *, remotes: int, habits: Habits, times: Times) -> None:
        self.site, self.remotes, self.times = site, remotes, times
        odds = all_assignments(site.outlets, site.ends, habits)
        self.owns, self.odds = list(odds), list(odds.values())
        self.on = {
            (o, e): sum(1 << n for n, own in enumerate(self.owns) if own[o] == e)
            for o in range(site.outlets)
            for e in range(site.ends)
        }
        self._least = functools.cache(self._least_s)
        self._trip = functools.cache(self._trip_s)
        outlets = range(site.outlets)
        sizes = range(min(remotes, site.outlets) + 1)
        self.places = [frozenset(c) for size in sizes for c in itertools.combinations(outlets, size)]

    def expected_s(self) -> float:
        """Over all assignments, tags included."""
        everything = (1 << len(self.owns)) - 1
        return self._least(everything, frozenset())[0] + self.site.outlets * self.times.tag_outlet

    def _least_s(self, possible: int, out: Out) -> tuple[float, float]:
        """Seconds times chance, summed over what is possible (one bit each), and the chance of it."""
        chance = sum(p for n, p in enumerate(self.odds) if possible >> n & 1)
        if not possible & (possible - 1):
            return chance * self._trip(out, frozenset(), True), chance
        best = math.inf
        for placed in self.places:
            act_s = chance * (self._trip(out, placed, False) + self.times.clip_end)
            for end in range(self.site.ends):
                if act_s < best and len(parts := self._told_apart(possible, placed, end)) > 1:
                    best = min(best, act_s + sum(self._least(part, placed)[0] for part in parts))
        return best, chance

    def _told_apart(self, possible: int, placed: Out, end: int) -> list[int]:
        """What a clip on an end makes of it: one part for each set of numbers that may be read."""
        parts = [possible]
        for outlet in placed:
            on = self.on[outlet, end]
            parts = [half for part in parts for half in (part & on, part & ~on) if half]
        return parts

    def _trip_s(self, out: Out, placed: Out, last: bool) -> float:
        """Cheapest way to change what is out; never more than k out at once; the last trip ends at its last outlet."""
        visits = sorted(out ^ placed)
        if not visits:
            return 0.0
        fixed_s = sum(self.times.take_source if o in out else self.times.put_source for o in visits)
        fixed_s += len(visits) * self.times.enter_outlet
        orders = itertools.permutations(visits)
        return fixed_s + min(self._way_s(order, last) for order in orders if self._fits(order, out))

    def _fits(self, order: tuple[int, ...], out: Out) -> bool:
        count = len(out)
        for outlet in order:
            count += -1 if outlet in out else 1
            if count > self.remotes:
                return False
        return True

    def _way_s(self, order: tuple[int, ...], last: bool) -> float:
        stops = [self.site.closet, *order, *([] if last else [self.site.closet])]
        return sum(float(self.site.travel_s[a, b]) for a, b in itertools.pairwise(stops))

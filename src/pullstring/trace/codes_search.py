"""Search for resistor values whose singles and parallels stay furthest apart. Deterministic: no dice, no clock.

The score of a set is the smallest :math:`b/(a+s)-1` over neighbours a < b among all its readings, with s the range of the line:
the gap that is left when a is read behind the longest line and b behind the shortest.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
BEAM = 150
"""Ours: sets kept at each step of the first search."""
LARGE = 60
"""Ours: a pool with more values is first searched in every second, third ... of them."""
NUDGE = 3
"""Ours: how many places up or down two values of a large pool are moved at once."""


@dataclasses.dataclass(frozen=True)
class Found:
    """Numbers of the values chosen, their score, and whether no better set exists in the pool."""

    chosen: tuple[int, ...]
    score: float
    proved: bool


@dataclasses.dataclass(frozen=True)
class _Set:
    """A set of values, with siemens of all its parallels of fewer than the highest order by size, and ohms of all readings."""

    chosen: tuple[int, ...]
    below: tuple[Floats, ...]
    ohms: Floats
    score: float


def search(*, ohms: Sequence[float], wanted: int, up_to: int, span_ohm: float, nodes: int) -> Found | None:
    """The set of `wanted` values whose smallest gap is largest; None when the pool is too small.

    Parameters
    ----------
    ohms : sequence of float
        Different values, ascending. [ohm]
    wanted : int
        How many to choose, at least one.
    up_to : int
        Parallels of so many parts count.
    span_ohm : float
        By how much the line may differ. [ohm]
    nodes : int
        Sets looked at after the first search; when they run out the answer is the best found, not proved.
    """
    if len(ohms) < wanted:
        return None
    job = _Job(np.array(ohms, dtype=float), wanted, up_to, span_ohm)
    best = job.improved(max(job.beam(), key=lambda s: s.score))
    step = -(-len(ohms) // LARGE)
    if step > 1:
        thin = list(range(0, len(ohms), step))
        found = search(ohms=[ohms[n] for n in thin], wanted=wanted, up_to=up_to, span_ohm=span_ohm, nodes=nodes)
        if found:
            other = job.improved(job.made([thin[n] for n in found.chosen]))
            best = max(best, other, key=lambda s: s.score)
    best, proved = job.deepened(best, nodes)
    return Found(best.chosen, best.score, proved)


class _Job:
    def __init__(self, ohms: Floats, wanted: int, up_to: int, span_ohm: float) -> None:
        self.ohms, self.siemens, self.wanted, self.up_to, self.span = ohms, 1 / ohms, wanted, up_to, span_ohm
        self.empty = _Set((), (np.zeros(1), *(np.zeros(0) for _ in range(up_to - 1))), np.zeros(0), np.inf)

    def with_one(self, of: _Set, number: int) -> _Set:
        """The set with one value more."""
        one = self.siemens[number]
        below = [of.below[0]]
        below += [np.concatenate([of.below[k], of.below[k - 1] + one]) for k in range(1, self.up_to)]
        ohms = np.sort(np.concatenate([of.ohms, *(1 / (size + one) for size in of.below)]))
        return _Set((*of.chosen, number), tuple(below), ohms, self.score(ohms[None, :])[0])

    def made(self, chosen: Sequence[int]) -> _Set:
        """The set of these values."""
        found = self.empty
        for number in chosen:
            found = self.with_one(found, number)
        return found

    def score(self, rows: Floats) -> Floats:
        """The smallest gap in each sorted row."""
        if rows.shape[1] < 2:
            return np.full(len(rows), np.inf)
        smallest: Floats = (rows[:, 1:] / (rows[:, :-1] + self.span)).min(axis=1) - 1
        return smallest

    def scores_with(self, of: _Set, numbers: npt.NDArray[np.int64]) -> Floats:
        """The score of the set with each of some values more."""
        below = np.concatenate(of.below)
        new = 1 / (self.siemens[numbers][:, None] + below[None, :])
        rows = np.concatenate([np.broadcast_to(of.ohms, (len(numbers), len(of.ohms))), new], axis=1)
        rows.sort(axis=1)
        return self.score(rows)

    def beam(self) -> list[_Set]:
        """A first search: values ascending, at each step only the best sets, and of those the ones with the smallest last value."""
        sets = [self.with_one(self.empty, n) for n in range(len(self.ohms) - self.wanted + 1)]
        for step in range(1, self.wanted):
            grown = []
            for of in sets:
                numbers = np.arange(of.chosen[-1] + 1, len(self.ohms) - (self.wanted - step) + 1)
                if len(numbers):
                    grown += [(s, int(n), of) for n, s in zip(numbers, self.scores_with(of, numbers), strict=True)]
            grown.sort(key=lambda g: (-g[0], g[1], g[2].chosen))
            sets = [self.with_one(of, n) for _, n, of in grown[:BEAM]]
        return sets

    def improved(self, best: _Set) -> _Set:
        """Swap one or two values at a time while that helps."""
        while True:
            better = self._swapped(best, 1)
            better = better or (self._swapped(best, 2) if len(self.ohms) <= LARGE else self._nudged(best))
            if better is None:
                return best
            best = better

    def _swapped(self, best: _Set, many: int) -> _Set | None:
        if many > len(best.chosen):
            return None
        for out in itertools.combinations(best.chosen, many):
            kept = [self.made([c for c in best.chosen if c not in out])]
            for _ in range(many - 1):
                kept = [self.with_one(k, n) for k in kept for n in range(len(self.ohms)) if n not in k.chosen]
            for of in kept:
                numbers = np.array([n for n in range(len(self.ohms)) if n not in of.chosen], dtype=np.int64)
                scores = self.scores_with(of, numbers)
                top = int(scores.argmax())
                if scores[top] > best.score * (1 + 1e-9):
                    return self.made(sorted((*of.chosen, int(numbers[top]))))
        return None

    def _nudged(self, best: _Set) -> _Set | None:
        """Two values moved a few places each; the best of all such moves when it helps."""
        moves = range(-NUDGE, NUDGE + 1)
        top = best
        for a, b in itertools.combinations(range(len(best.chosen)), 2):
            for up, down in itertools.product(moves, moves):
                moved = list(best.chosen)
                moved[a] += up
                moved[b] += down
                if len(set(moved)) == len(moved) and min(moved) >= 0 and max(moved) < len(self.ohms):
                    top = max(top, self.made(sorted(moved)), key=lambda s: s.score)
        return top if top.score > best.score * (1 + 1e-9) else None

    def deepened(self, best: _Set, nodes: int) -> tuple[_Set, bool]:
        """Branch and bound: a value that leaves a gap no larger than the best is never added, for gaps only shrink."""
        left = nodes
        stack = [(self.empty, np.arange(len(self.ohms)))]
        while stack:
            of, numbers = stack.pop()
            missing = self.wanted - len(of.chosen)
            if len(numbers) < missing:
                continue
            if not left:
                return best, False
            left -= 1
            scores = self.scores_with(of, numbers)
            fits = numbers[scores > best.score * (1 + 1e-9)]
            if missing == 1:
                if len(fits):
                    best = self.with_one(of, int(numbers[scores.argmax()]))
                continue
            if len(fits) >= missing:
                stack += [(self.with_one(of, int(n)), fits[k + 1 :]) for k, n in reversed(list(enumerate(fits)))]
        return best, True

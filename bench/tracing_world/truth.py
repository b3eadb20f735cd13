"""What is hidden: the end of each outlet and the bridges; drawn exactly, counted exactly.

A labelled assignment weighs no_cable^(outlets without) times, over all ends, on_end[outlets on it]. By how many outlets each
end has there are n! / (product of factorials) of them, so counts are drawn first, end by end, and outlets dealt to them.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence

import numpy as np

from bench.tracing_world.numbers import Habits
from bench.tracing_world.site import Floats, Site

NONE = -1
Ends = frozenset[int]


@dataclasses.dataclass(frozen=True)
class Truth:
    """End of each outlet (-1: no cable here) and the groups of two or more joined ends."""

    own: tuple[int, ...]
    joined: tuple[Ends, ...]

    def net(self, outlet: int) -> Ends:
        """Joined ends on which an outlet is; empty without a cable."""
        end = self.own[outlet]
        if end == NONE:
            return frozenset()
        return next((g for g in self.joined if end in g), frozenset((end,)))

    @property
    def nets(self) -> tuple[Ends, ...]:
        return tuple(self.net(o) for o in range(len(self.own)))


def parted(ends: Sequence[int]) -> Iterator[list[list[int]]]:
    """All ways to part ends into groups."""
    if not ends:
        yield []
        return
    for rest in parted(ends[1:]):
        yield [[ends[0]], *rest]
        for n in range(len(rest)):
            yield [*rest[:n], [ends[0], *rest[n]], *rest[n + 1 :]]


class Counts:
    """Sums of weights by how many outlets are dealt: `upto[i][r]` deals r outlets to the first i ends, factorials divided out."""

    def __init__(self, outlets: int, ends: int, habits: Habits) -> None:
        self.outlets, self.ends = outlets, ends
        self.of_end = np.array([w / math.factorial(k) for k, w in enumerate(habits.on_end)])
        self.of_none = np.array([habits.no_cable**k / math.factorial(k) for k in range(outlets + 1)])
        first = np.zeros(outlets + 1)
        first[0] = 1.0
        self.upto, self.scales = [first], [0.0]
        for _ in range(ends):
            row = np.convolve(self.upto[-1], self.of_end)[: outlets + 1]
            self.scales.append(self.scales[-1] + math.log(row.max()))
            self.upto.append(row / row.max())

    def log_total(self) -> float:
        """Natural log of the sum of the weights of all labelled assignments."""
        total = float(self.upto[-1] @ self.of_none[::-1])
        return math.log(total) + self.scales[-1] + math.lgamma(self.outlets + 1)

    def none_odds(self) -> Floats:
        """Chances of 0, 1, 2 ... outlets without a cable."""
        odds: Floats = self.upto[-1][::-1] * self.of_none
        return odds / odds.sum()

    def of_ends(self) -> Floats:
        """Expected number of ends with 0, 1, 2, 3 outlets."""
        rest = np.convolve(self.upto[-2], self.of_none)[: self.outlets + 1] if self.ends else np.zeros(self.outlets + 1)
        deals = min(len(self.of_end), self.outlets + 1)
        odds = np.zeros(len(self.of_end))
        odds[:deals] = [self.of_end[k] * rest[self.outlets - k] for k in range(deals)]
        found: Floats = self.ends * odds / odds.sum()
        return found

    def dealt(self, rng: np.random.Generator) -> list[int]:
        """Outlets without a cable, then outlets on end 0, 1, 2 ..."""
        none = int(rng.choice(self.outlets + 1, p=self.none_odds()))
        left, found = self.outlets - none, [0] * self.ends
        for end in range(self.ends, 0, -1):
            most = min(len(self.of_end) - 1, left)
            odds = self.of_end[: most + 1] * self.upto[end - 1][left - np.arange(most + 1)]
            found[end - 1] = int(rng.choice(most + 1, p=odds / odds.sum()))
            left -= found[end - 1]
        return [none, *found]


def drawn_truth(site: Site, *, habits: Habits, rng: np.random.Generator) -> Truth:
    """One state of the world with its exact chance."""
    none, *on_end = Counts(site.outlets, site.ends, habits).dealt(rng)
    slots = [NONE] * none + [end for end, count in enumerate(on_end) for _ in range(count)]
    own = tuple(slots[i] for i in rng.permutation(site.outlets))
    joined = [group for block in site.blocks for group in drawn_groups(block, habits, rng)]
    return Truth(own, tuple(frozenset(g) for g in joined if len(g) > 1))


def drawn_groups(block: Sequence[int], habits: Habits, rng: np.random.Generator) -> list[list[int]]:
    ways = list(parted(block))
    return ways[int(rng.choice(len(ways), p=group_odds(len(block), habits)))]


def group_odds(size: int, habits: Habits) -> Floats:
    """Chance of each way to part a block, in the order of `parted`."""
    weights = np.array([habits.bridge ** (size - len(groups)) for groups in parted(range(size))])
    found: Floats = weights / weights.sum()
    return found


def entropy_bits(outlets: int, ends: int, blocks: Sequence[Sequence[int]], habits: Habits) -> float:
    """How much is unknown before anything is read: own ends and bridges together."""
    counts = Counts(outlets, ends, habits)
    nones = float(counts.none_odds() @ np.arange(outlets + 1))
    expected = nones * math.log(habits.no_cable) + float(counts.of_ends() @ np.log(habits.on_end))
    bits = (counts.log_total() - expected) / math.log(2)
    for block in blocks:
        odds = group_odds(len(block), habits)
        bits -= float(odds @ np.log2(odds))
    return bits

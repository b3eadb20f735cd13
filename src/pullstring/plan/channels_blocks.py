"""The blocks that radios choose from, and what a choice costs: the common ground of the exact and the searching way.

Blocks of 20 MHz channels lie inside each other or are apart, so they form trees. Two radios whose blocks share a channel pay
the weight of their pair. What a radio pays by itself for a block (strangers on it, width it goes without) is in `alone`. All costs
are whole numbers in one sum: an overlap of 1 dB counts `Costs.step`, everything of lesser rank stays below that.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
NEVER = 1 << 50
"""Cost of what may not be; sums of a few of these still fit."""


@dataclasses.dataclass(frozen=True)
class Blocks:
    """Blocks in the order given. `inside` is the smallest block around each, -1 where there is none."""

    parts: tuple[frozenset[int], ...]
    inside: tuple[int, ...]

    @functools.cached_property
    def within(self) -> tuple[tuple[int, ...], ...]:
        """The next smaller blocks in each."""
        return tuple(tuple(i for i, outer in enumerate(self.inside) if outer == b) for b in range(len(self.parts)))

    @functools.cached_property
    def outermost(self) -> tuple[int, ...]:
        """Blocks that lie in no other."""
        return tuple(b for b, outer in enumerate(self.inside) if outer < 0)

    @functools.cached_property
    def shared(self) -> NDArray[np.bool_]:
        """Whether two blocks share a channel."""
        return np.array([[bool(a & b) for b in self.parts] for a in self.parts], dtype=bool)


def blocks_of(parts: Sequence[frozenset[int]]) -> Blocks:
    """Blocks from their channels; ValueError when two of them cross without one lying in the other, or are the same."""
    inside = []
    for number, own in enumerate(parts):
        for other in parts[:number]:
            if own & other and not (own < other or other < own):
                raise ValueError(f"blocks {sorted(own)} and {sorted(other)} cross; one must lie in the other")
        around = [b for b, other in enumerate(parts) if own < other]
        inside.append(min(around, key=lambda b: len(parts[b]), default=-1))
    return Blocks(tuple(parts), tuple(inside))


@dataclasses.dataclass(frozen=True)
class Costs:
    """Weights of pairs in whole dB, symmetric, and what each radio pays alone for each block; `step` is the cost of 1 dB."""

    blocks: Blocks
    pairs: Whole
    alone: Whole
    step: int

    @property
    def radios(self) -> int:
        """How many radios choose."""
        return len(self.pairs)

    def of(self, chosen: Sequence[int]) -> int:
        """Cost of one block for each radio."""
        picked = np.asarray(chosen, dtype=np.intp)
        if not len(picked):
            return 0
        meets = self.blocks.shared[np.ix_(picked, picked)]
        paid = int((np.triu(self.pairs, 1) * meets).sum()) * self.step
        return paid + int(self.alone[np.arange(len(picked)), picked].sum())

    def part(self, members: Sequence[int]) -> Costs:
        """The same for some of the radios."""
        picked = np.asarray(members, dtype=np.intp)
        return dataclasses.replace(self, pairs=self.pairs[np.ix_(picked, picked)], alone=self.alone[picked])


def components(pairs: Whole) -> list[list[int]]:
    """Radios that weigh on each other, directly or through others; each list rising."""
    left, found = set(range(len(pairs))), []
    while left:
        edge, group = [min(left)], set()
        while edge:
            one = edge.pop()
            if one not in group:
                group.add(one)
                edge.extend(np.flatnonzero(pairs[one]).tolist())
        left -= group
        found.append(sorted(group))
    return found

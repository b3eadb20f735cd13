"""The cheapest choice of blocks for any number of radios: exact tables where they are small enough, else branch and bound.

Radios that do not weigh on each other are solved apart. Branch and bound starts from a good choice (greedy, then moves
that may go uphill but not back), takes the most pressed radio next, tries only one of several blocks that are still
alike, and cuts where

    paid so far + least each open radio pays to the seated ones + least the open radios of each group pay among themselves

reaches the best known. The last term stands in the tables of `channels_exact.py` over groups of radios. It counts its steps, never
time, so the same question has the same answer everywhere; out of steps, it says how low the cost may still be.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.plan.channels_blocks import NEVER, Costs, Whole, components
from pullstring.plan.channels_exact import chosen, tables

TABLE_WORK = 112 * 3**15
"""Most work for which the tables are used, blocks times 3 for each radio: 15 radios on the 112 blocks of the widest band take
seconds, and so do 18 on three channels. Ours."""
GROUP_MOST = 11
MOVES_A_RADIO = 60
HELD_MOVES = 7
"""How the start is searched: moves for each radio, and for how many a radio may not go back. Ours."""


@dataclasses.dataclass(frozen=True)
class Cheapest:
    """A choice of blocks, what it costs, and the least that any choice can cost. Proven when both are equal."""

    picked: tuple[int, ...]
    cost: int
    bound: int
    steps: int

    @property
    def proven(self) -> bool:
        """Whether no choice is cheaper."""
        return self.bound >= self.cost


def cheapest(costs: Costs, *, step_limit: int, table_work: int) -> Cheapest:
    """The cheapest choice, group by group of radios that weigh on each other; steps are shared out one group after the other."""
    picked, steps, bound = [0] * costs.radios, 0, 0
    for members in components(costs.pairs):
        part = costs.part(members)
        few = 3 ** len(members) * len(costs.blocks.parts) <= table_work
        found = _by_tables(part) if few else Search(part, good_start(part), step_limit=step_limit - steps).run()
        for member, block in zip(members, found.picked, strict=True):
            picked[member] = block
        steps, bound = steps + found.steps, bound + found.bound
    return Cheapest(tuple(picked), costs.of(picked), bound, steps)


def _by_tables(costs: Costs) -> Cheapest:
    made = tables(costs)
    picked = chosen(made)
    cost = costs.of(picked)
    return Cheapest(tuple(picked), cost, cost, 0)


def groups(pairs: Whole, most: int) -> list[list[int]]:
    """Radios in groups of at most so many, heavy pairs together: each grows by the radio that weighs most on it."""
    left, found = list(range(len(pairs))), []
    while left:
        group = [max(left, key=lambda r: (int(pairs[r, left].sum()), -r))]
        left.remove(group[0])
        while left and len(group) < most:
            group.append(max(left, key=lambda r: (int(pairs[r, group].sum()), -r)))
            left.remove(group[-1])
        found.append(group)
    return found


def good_start(costs: Costs) -> list[int]:
    """A good choice, not proven: the heaviest radio first takes its cheapest block, then single moves improve it.

    A move takes the best change of one radio, even uphill; a radio that moved may not go back for a while.
    """
    meets, pairs, n = costs.blocks.shared.astype(np.int64), costs.pairs * costs.step, costs.radios
    pays = costs.alone.copy()
    picked = np.full(n, -1, dtype=np.intp)
    for radio in sorted(range(n), key=lambda r: (-int(costs.pairs[r].sum()), r)):
        picked[radio] = int(np.argmin(pays[radio]))
        pays += np.outer(pairs[radio], meets[picked[radio]])
    now = best = costs.of(picked.tolist())
    kept = picked.copy()
    until = np.zeros_like(pays)
    rows = np.arange(n)
    for turn in range(MOVES_A_RADIO * n):
        change = pays - pays[rows, picked][:, None]
        open_to = (until <= turn) | (now + change < best)
        open_to[rows, picked] = False
        change = np.where(open_to, change, NEVER)
        radio, block = divmod(int(np.argmin(change)), change.shape[1])
        if change[radio, block] >= NEVER // 2:
            break
        now += int(change[radio, block])
        until[radio, picked[radio]] = turn + HELD_MOVES + turn % 5
        pays += np.outer(pairs[radio], meets[block] - meets[picked[radio]])
        picked[radio] = block
        if now < best:
            best, kept = now, picked.copy()
    return [int(block) for block in kept]


class Search:
    """One run of branch and bound over radios that weigh on each other, from a choice that is to be bettered."""

    def __init__(self, costs: Costs, start: Sequence[int], *, step_limit: int) -> None:
        self.costs, self.limit, self.steps = costs, step_limit, 0
        self.meets = costs.blocks.shared.astype(np.int64)
        self.pairs = costs.pairs * costs.step
        self.groups = groups(costs.pairs, GROUP_MOST)
        self.among = [tables(costs.part(group)).every for group in self.groups]
        self.bit = {r: (g, 1 << i) for g, group in enumerate(self.groups) for i, r in enumerate(group)}
        self.alike = _alike(costs)
        self.kept = list(start)
        self.best = costs.of(self.kept)
        self.unproven = NEVER
        self.picked = [-1] * costs.radios

    def run(self) -> Cheapest:
        """Search until done or out of steps."""
        nothing = np.zeros_like(self.costs.alone)
        left = [len(table) - 1 for table in self.among]
        self._go(0, nothing, left, self._least(0, nothing, left))
        return Cheapest(tuple(self.kept), self.best, min(self.best, self.unproven), self.steps)

    def _least(self, paid: int, outer: Whole, left: list[int]) -> int:
        """The bound: `outer` is what each radio would pay to the seated ones for each block."""
        open_ones = [r for r, block in enumerate(self.picked) if block < 0]
        may = np.where(self.costs.alone[open_ones] < NEVER, outer[open_ones], NEVER)
        among = sum(int(table[members]) for table, members in zip(self.among, left, strict=True))
        return paid + int(may.min(axis=1).sum()) + among if open_ones else paid

    def _next(self, outer: Whole) -> int:
        """The open radio with fewest cheapest blocks, the dearest and heaviest of equals."""
        open_ones = np.array([r for r, block in enumerate(self.picked) if block < 0])
        would = outer[open_ones] + self.costs.alone[open_ones]
        least = outer[open_ones].min(axis=1)
        many = (outer[open_ones] + np.where(self.costs.alone[open_ones] < NEVER, 0, NEVER) <= least[:, None]).sum(
            axis=1
        )
        weight = self.costs.pairs[open_ones][:, open_ones].sum(axis=1)
        order = np.lexsort((open_ones, -weight, many, -would.min(axis=1)))
        return int(open_ones[order[0]])

    def _go(self, paid: int, outer: Whole, left: list[int], least: int) -> None:
        if least >= self.best:
            return
        if all(block >= 0 for block in self.picked):
            self.best, self.kept = paid, list(self.picked)
            return
        if self.steps >= self.limit:
            self.unproven = min(self.unproven, least)
            return
        self.steps += 1
        radio = self._next(outer)
        group, bit = self.bit[radio]
        rest = [members & ~bit if g == group else members for g, members in enumerate(left)]
        ways = []
        for block in self._unlike():
            now = paid + int(outer[radio, block] + self.costs.alone[radio, block])
            if now >= NEVER // 2:
                continue
            then = outer + np.outer(self.pairs[radio], self.meets[block])
            self.picked[radio] = block
            ways.append((max(least, self._least(now, then, rest)), block, now, then))
            self.picked[radio] = -1
        for bound, block, now, then in sorted(ways, key=lambda way: way[:2]):
            self.picked[radio] = block
            self._go(now, then, rest, bound)
            self.picked[radio] = -1

    def _unlike(self) -> list[int]:
        """One block of each sort that differs by what is seated; blocks that nobody touches yet may be alike."""
        blocks = self.costs.blocks
        touched = set()
        for block in self.picked:
            while block >= 0 and block not in touched:
                touched.add(block)
                block = blocks.inside[block]
        seen, found = set(), []
        for block in range(len(blocks.parts)):
            path, at = [], block
            while at >= 0 and at not in touched:
                path.append(int(self.alike[at]))
                at = blocks.inside[at]
            key = (at if path else block, not path, tuple(path))
            if key not in seen:
                seen.add(key)
                found.append(block)
        return found


def _alike(costs: Costs) -> NDArray[np.intp]:
    """A number for each block; equal numbers mean equal costs for every radio, on it and on all that lies in it."""
    known: dict[tuple[bytes, Sequence[int]], int] = {}
    number = np.zeros(len(costs.blocks.parts), dtype=np.intp)
    for block in sorted(range(len(costs.blocks.parts)), key=lambda b: len(costs.blocks.parts[b])):
        key = (costs.alone[:, block].tobytes(), tuple(sorted(int(number[i]) for i in costs.blocks.within[block])))
        number[block] = known.setdefault(key, len(known))
    return number

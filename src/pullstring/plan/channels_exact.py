"""The cheapest choice of blocks for up to about fifteen radios, proven: a table over all sets of radios for every block.

For a block and a set S of radios that all sit in it, F(S) is the least they pay. Some of S sit on the whole block, the rest T in
the smaller blocks within, where they pay G(T); whoever sits on the whole block shares with everybody:

    F(S) = min over T of  G(T) + alone(S - T) + pairs(S) - pairs(T)

    G(S) = min over ways to split S among the blocks within, each paying its own F

The first is one sweep for each radio (`_with_wide`), the second looks at 3^n splits (`split`). Equal blocks share one table.
The time does not depend on how crowded the air is.
"""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
from numpy.typing import NDArray

from pullstring.plan.channels_blocks import NEVER, Costs, Whole

FEW = 9
"""Sets over this many radios are split by one look-up."""


@functools.cache
def _splits(radios: int) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """For every set in turn all ways to cut it in two: both halves, and where each set's ways begin."""
    first, both = np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp)
    for bit in (1 << i for i in range(radios)):
        first = np.concatenate([first, first, first + bit])
        both = np.concatenate([both, both + bit, both + bit])
    order = np.lexsort((first, both))
    first, both = first[order], both[order]
    return first, both - first, np.searchsorted(both, np.arange(1 << radios)).astype(np.intp)


def split(left: Whole, right: Whole) -> Whole:
    """Least cost of cutting every set in two, one half paying `left` and the other `right`."""
    size = len(left)
    if size <= 1 << FEW:
        one, other, begins = _splits(size.bit_length() - 1)
        return np.minimum(np.minimum.reduceat(left[one] + right[other], begins), NEVER)
    half = size // 2
    high = split(left[half:], right[:half])
    if left is not right:
        high = np.minimum(high, split(left[:half], right[half:]))
        return np.concatenate([split(left[:half], right[:half]), high])
    low = left[:half]
    return np.concatenate([split(low, low), high])


def _sums(values: Whole) -> Whole:
    """Sum of a value over the members of every set."""
    total = np.zeros(1, dtype=np.int64)
    for value in values:
        total = np.concatenate([total, total + value])
    return total


def _pair_sums(pairs: Whole) -> Whole:
    """Weight of all pairs inside every set."""
    total = np.zeros(1, dtype=np.int64)
    for number in range(len(pairs)):
        total = np.concatenate([total, total + _sums(pairs[number, :number])])
    return total


@dataclasses.dataclass
class Tables:
    """Tables of one problem. `beneath` and `least` hold G and F by kind of block, `chain` F over the first outermost blocks."""

    costs: Costs
    paid: Whole
    kind: dict[int, int]
    beneath: dict[int, Whole]
    least: dict[int, Whole]
    chain: list[Whole]

    @property
    def every(self) -> Whole:
        """Least cost of every set of radios in all blocks together."""
        return self.chain[-1]


def tables(costs: Costs) -> Tables:
    """All tables of a problem; memory and time grow as 2^n and 3^n with the radios."""
    made = Tables(costs, _pair_sums(costs.pairs) * costs.step, {}, {}, {}, [])
    known: dict[tuple[bytes, tuple[int, ...]], int] = {}
    for block in costs.blocks.outermost:
        _fill(made, block, known)
    for block in costs.blocks.outermost:
        own = made.least[made.kind[block]]
        made.chain.append(split(made.chain[-1], own) if made.chain else own)
    return made


def _fill(made: Tables, block: int, known: dict[tuple[bytes, tuple[int, ...]], int]) -> int:
    within = [_fill(made, inner, known) for inner in made.costs.blocks.within[block]]
    key = (made.costs.alone[:, block].tobytes(), tuple(sorted(within)))
    if key in known:
        made.kind[block] = known[key]
        return known[key]
    kind = made.kind[block] = known[key] = len(known)
    beneath = np.full(len(made.paid), NEVER, dtype=np.int64)
    beneath[0] = 0
    for inner in key[1]:
        beneath = made.least[inner] if beneath[1:].min(initial=NEVER) == NEVER else split(beneath, made.least[inner])
    made.beneath[kind] = beneath
    made.least[kind] = _with_wide(made, block, beneath)
    return kind


def _before(made: Tables, block: int, beneath: Whole) -> tuple[Whole, Whole]:
    """What a set pays less by going beneath, and what every set would pay alone on the whole block."""
    own = made.costs.alone[:, block]
    alone = _sums(np.where(own < NEVER, own, 0))
    return beneath - made.paid - alone, alone


def _with_wide(made: Tables, block: int, beneath: Whole) -> Whole:
    low, alone = _before(made, block, beneath)
    for number in np.flatnonzero(made.costs.alone[:, block] < NEVER).tolist():
        view = low.reshape(-1, 2, 1 << number)
        np.minimum(view[:, 1], view[:, 0], out=view[:, 1])
    found = low + made.paid + alone
    found[found >= NEVER // 2] = NEVER
    return found


def _subsets(members: int, size: int) -> NDArray[np.intp]:
    return np.flatnonzero((np.arange(size) & ~members) == 0)


def chosen(made: Tables) -> list[int]:
    """A cheapest block for every radio; -1 for all when there is none. Always the same one of several."""
    picked = [-1] * made.costs.radios
    left = len(made.paid) - 1
    if made.every[left] >= NEVER:
        return picked
    for number in range(len(made.chain) - 1, -1, -1):
        block = made.costs.blocks.outermost[number]
        own = made.least[made.kind[block]]
        if number == 0:
            _sit(made, block, left, picked)
            break
        some = _subsets(left, len(own))
        here = int(some[np.argmin(own[some] + made.chain[number - 1][left ^ some])])
        _sit(made, block, here, picked)
        left ^= here
    return picked


def _sit(made: Tables, block: int, members: int, picked: list[int]) -> None:
    """Seat a set in a block: who sits on the whole of it, and where the rest goes."""
    if not members:
        return
    beneath = made.beneath[made.kind[block]]
    low, _ = _before(made, block, beneath)
    own = made.costs.alone[:, block]
    must = sum(1 << n for n in range(made.costs.radios) if own[n] >= NEVER and members >> n & 1)
    some = _subsets(members & ~must, len(low)) | must
    lower = int(some[np.argmin(low[some])])
    for number in range(made.costs.radios):
        if (members & ~lower) >> number & 1:
            picked[number] = block
    inner = list(made.costs.blocks.within[block])
    while lower:
        last = inner.pop()
        table = made.least[made.kind[last]]
        if not inner:
            _sit(made, last, lower, picked)
            return
        others = table_of_all(made, inner)
        some = _subsets(lower, len(table))
        here = int(some[np.argmin(table[some] + others[lower ^ some])])
        _sit(made, last, here, picked)
        lower ^= here


def table_of_all(made: Tables, blocks: list[int]) -> Whole:
    """Least cost of every set in several blocks together."""
    total = made.least[made.kind[blocks[0]]]
    for block in blocks[1:]:
        total = split(total, made.least[made.kind[block]])
    return total

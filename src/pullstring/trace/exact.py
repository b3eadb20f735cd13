"""Exact odds for few outlets: sums over all ways to put them on ends, by subset convolution over units.

A function of a set of outlets is an array of 2^k numbers. An end gives one by its count of outlets, a group of joined ends
the convolution of its ends, a block the sum over its partitions, the scene the convolution of all units and of 'no cable
here'. Chances are what the total would gain by each part (its derivative): the convolutions run backwards.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Sequence

import numpy as np

from pullstring.trace.relations import Floats, Whole
from pullstring.trace.scene import Net, partitions
from pullstring.trace.table import Shared, Table

MOST_OUTLETS = 10
"""Ours: 3^10 products a convolution; more outlets go by messages."""
MOST_PRODUCTS = 6_000_000
"""Ours: products over all ways to part the blocks; beyond, a component with large blocks goes by messages too."""
FLOOR = -57.0
"""Ours: within an outlet nothing counts less than e^-57 of its likeliest hypothesis, so that nothing runs out of digits."""


class TooMany(ValueError):
    """More outlets than can be summed over exactly."""


@dataclasses.dataclass(frozen=True)
class Summed:
    """Beliefs [outlets of the component, hypotheses + 1], chance of each partition by block, and the log of the sum."""

    beliefs: Floats
    parts: dict[int, Floats]
    log_total: float


@functools.cache
def _pairs(count: int) -> tuple[Whole, Whole, Whole]:
    """All pairs of disjoint sets of outlets, and their union: 3^count of each."""
    first = np.zeros(1, dtype=np.int64)
    other = np.zeros(1, dtype=np.int64)
    for bit in range(count):
        first = np.concatenate([first, first | 1 << bit, first])
        other = np.concatenate([other, other, other | 1 << bit])
    return first, other, first | other


@dataclasses.dataclass(eq=False)
class _Node:
    """An array of 2^k numbers, what it was made of, and how the total changes with it."""

    value: Floats
    of: tuple[_Node, ...] = ()
    weights: tuple[float, ...] | None = None
    gain: Floats = dataclasses.field(default_factory=lambda: np.zeros(0))


class _Sums:
    """Convolutions and weighted sums, run forwards and then backwards."""

    def __init__(self, count: int) -> None:
        self.count, self.nodes = count, list[_Node]()
        self.first, self.other, self.union = _pairs(count)

    def leaf(self, value: Floats) -> _Node:
        return self._keep(_Node(value))

    def together(self, a: _Node, b: _Node) -> _Node:
        """Disjoint sets on a and on b."""
        products = a.value[self.first] * b.value[self.other]
        return self._keep(_Node(np.bincount(self.union, products, minlength=1 << self.count).astype(float), (a, b)))

    def times(self, a: _Node, fixed: _Node) -> _Node:
        """Each set with a factor of its own."""
        return self._keep(_Node(a.value * fixed.value, (a, fixed), weights=()))

    def weighted(self, nodes: Sequence[_Node], weights: Sequence[float]) -> _Node:
        value = sum(w * n.value for n, w in zip(nodes, weights, strict=True))
        return self._keep(_Node(value, tuple(nodes), tuple(weights)))  # type: ignore[arg-type]

    def _keep(self, node: _Node) -> _Node:
        self.nodes.append(node)
        return node

    def backwards(self, top: _Node) -> None:
        """Set the gain of every node: how the value of all outlets together at the top changes with it."""
        for node in self.nodes:
            node.gain = np.zeros(1 << self.count)
        top.gain[-1] = 1.0
        for node in reversed(self.nodes):
            if node.weights is None and node.of:
                a, b = node.of
                above = node.gain[self.union]
                a.gain += np.bincount(self.first, above * b.value[self.other], minlength=1 << self.count)
                b.gain += np.bincount(self.other, above * a.value[self.first], minlength=1 << self.count)
            elif node.weights == ():
                a, fixed = node.of
                a.gain += node.gain * fixed.value
            elif node.weights:
                for part, weight in zip(node.of, node.weights, strict=True):
                    part.gain += weight * node.gain


def summed(table: Table, outlets: Sequence[int], ends: Net) -> Summed:
    """Exact beliefs of some outlets that are on no end but the named ones (whole blocks), all others being elsewhere.

    Raises
    ------
    TooMany
        More than `MOST_OUTLETS` outlets, or blocks of too many partitions for so many outlets.
    """
    if len(outlets) > MOST_OUTLETS:
        raise TooMany(f"{len(outlets)} outlets are too many to sum over; at most {MOST_OUTLETS}")
    blocks = {n for e in ends if (n := table.scene.block_of[e]) is not None}
    sizes = [len(table.scene.blocks[n]) for n in blocks]
    if sum(size * sum(1 for _ in partitions(range(size))) for size in sizes) * 3 ** len(outlets) > MOST_PRODUCTS:
        raise TooMany("blocks that can be parted in too many ways to sum over")
    return _Component(table, outlets, ends).result()


class _Component:
    def __init__(self, table: Table, outlets: Sequence[int], ends: Net) -> None:
        self.table, self.outlets, self.count = table, list(outlets), len(outlets)
        logs = table.logs[self.outlets]
        self.shift = logs.max(axis=1, keepdims=True) if self.outlets else np.zeros((0, 1))
        self.chance = np.exp(np.maximum(logs - self.shift, FLOOR))
        self.row = {hypothesis: n for n, hypothesis in enumerate(table.scene.hypotheses)}
        self.weights = table.end_weights()
        self.size = np.array([bin(s).count("1") for s in range(1 << self.count)])
        self.sums = _Sums(self.count)
        self.on_row: dict[int, _Node] = {}
        self.blocks: dict[int, list[_Node]] = {}
        self.part_logs: dict[int, Floats] = {}
        self.log_scale = 0.0
        self.top = self._all(ends)

    def _all(self, ends: Net) -> _Node:
        none = self._product(self.chance[:, -1] * self.table.prior.no_cable)
        top = self.none = self.sums.leaf(none)
        for number in sorted({self.table.scene.block_of[e] for e in ends} - {None}):  # type: ignore[type-var]
            top = self.sums.together(top, self._block(number))  # type: ignore[arg-type]
        for end in sorted(e for e in ends if self.table.scene.block_of[e] is None):
            top = self.sums.together(top, self._group((end,), frozenset((end,))))
        return top

    def _product(self, of_outlet: Floats) -> Floats:
        found = np.ones(1)
        for value in of_outlet:
            found = np.concatenate([found, found * value])
        return found

    def _end(self, end: int, net: Net) -> _Node:
        """Sets of outlets on one end while it is on a net."""
        row = self.row[end, net]
        if row not in self.on_row:
            by_count = np.concatenate([self.weights[end], np.zeros(self.count + 1)])
            value = self._product(self.chance[:, row]) * by_count[self.size]
            for one in self._readings_at(net, opened=True):
                if one.end == end:
                    value = value * self._factor(one)
            self.on_row[row] = self.sums.leaf(value)
        return self.on_row[row]

    def _group(self, ends: Sequence[int], net: Net) -> _Node:
        node = self._end(ends[0], net)
        for end in ends[1:]:
            node = self.sums.together(node, self._end(end, net))
        for one in self._readings_at(net, opened=False):
            node = self.sums.times(node, self.sums.leaf(self._factor(one)))
        return node

    def _block(self, number: int) -> _Node:
        scene = self.table.scene
        block = scene.blocks[number]
        groups: dict[Net, _Node] = {}
        nodes = []
        for parted in partitions(range(len(block))):
            node = None
            for local in parted:
                net = frozenset(block[i] for i in local)
                if net not in groups:
                    groups[net] = self._group(sorted(net), net)
                node = groups[net] if node is None else self.sums.together(node, groups[net])
            assert node is not None
            nodes.append(node)
        self.blocks[number] = nodes
        logs = self._part_logs(number)
        self.part_logs[number] = logs - logs.max()
        self.log_scale += float(logs.max())
        return self.sums.weighted(nodes, list(np.exp(self.part_logs[number])))

    def _part_logs(self, number: int) -> Floats:
        from pullstring.trace.relations import layout

        shape = next(s for s in layout(self.table.scene).shapes if number in s.blocks)
        found: Floats = self.table.part_logs(shape)[shape.blocks.index(number)]
        return found

    def _readings_at(self, net: Net, *, opened: bool) -> list[Shared]:
        return [
            s
            for s in self.table.shared.values()
            if s.end in net and (self.table.scene.block_of[s.end] in s.opened) == opened
        ]

    def _factor(self, one: Shared) -> Floats:
        """Chance of a reading for each set of outlets on the net of its end."""
        place = {o: n for n, o in enumerate(self.outlets)}
        bits = [(o, 1 << place[o]) for o in one.members if o in place]
        mask = sum(bit for _, bit in bits)
        known: dict[int, float] = {}
        for s in range(1 << self.count):
            if s & mask not in known:
                known[s & mask] = one.chance(frozenset(o for o, bit in bits if s & bit))
        return np.array([known[s & mask] for s in range(1 << self.count)])

    def result(self) -> Summed:
        total = float(self.top.value[-1])
        beliefs = np.zeros((self.count, self.chance.shape[1]))
        if total <= 0 or not math.isfinite(total):
            raise ArithmeticError("the readings leave nothing to sum")
        self.sums.backwards(self.top)
        for row, node in [*self.on_row.items(), (beliefs.shape[1] - 1, self.none)]:
            share = node.value * node.gain / total
            for n in range(self.count):
                beliefs[n, row] += share[np.arange(1 << self.count) >> n & 1 == 1].sum()
        parts = {}
        for number in self.blocks:
            parts[number] = self._part_chances(number, total)
        log_total = math.log(total) + float(self.shift.sum()) + self.log_scale
        return Summed(beliefs, parts, log_total)

    def _part_chances(self, number: int, total: float) -> Floats:
        """Chance of each partition: its share of the block, weighed with what the rest of the scene gains by it."""
        block = next(n for n in self.sums.nodes if n.weights and n.of == tuple(self.blocks[number]))
        weights = np.exp(self.part_logs[number])
        found = np.array(
            [w * float((n.value * block.gain).sum()) for n, w in zip(self.blocks[number], weights, strict=True)]
        )
        return found / total

"""Readings added up: for each outlet the log of its chances, for ends and blocks their weights, and readings over several outlets.

Readings add, so their order does not matter and taking one back leaves no trace. The same class and key counts once: the last
told stands, since it is the same physical reading.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.relations import ON, BlockShape, Floats, relations
from pullstring.trace.scene import NO_NET, Net, Scene, partitions
from pullstring.trace.weighing import LEAST, check, weigh


@dataclasses.dataclass(frozen=True)
class Shared:
    """A reading at one end over several outlets: its chance depends on which of them are on the net of that end."""

    key: tuple[type, str]
    end: int
    members: tuple[int, ...]
    opened: Net
    chance: Callable[[Net], float]


class Table:
    """What all readings say, ready to be turned into odds."""

    def __init__(self, scene: Scene, *, prior: Prior, noise: Noise) -> None:
        self.scene, self.prior, self.noise = scene, prior, noise
        self.read: dict[tuple[type, str], read.Any] = {}
        self._of_outlet: dict[tuple[type, str], tuple[int, Floats]] = {}
        self.shared: dict[tuple[type, str], Shared] = {}
        self._ends: dict[tuple[type, str], read.EndLeaning] = {}
        self._joins: dict[tuple[type, str], read.JoinLeaning] = {}
        self._sum = np.zeros((scene.outlets, len(scene.hypotheses) + 1))

    def copy(self) -> Table:
        """Another table that may go its own way."""
        other = Table(self.scene, prior=self.prior, noise=self.noise)
        other.read, other._of_outlet, other.shared = dict(self.read), dict(self._of_outlet), dict(self.shared)
        other._ends, other._joins, other._sum = dict(self._ends), dict(self._joins), self._sum.copy()
        return other

    def add(self, reading: read.Any) -> None:
        """Count a reading; raises BadScene when it does not fit."""
        check(self.scene, reading)
        key = (type(reading), reading.key)
        self.take_back(reading)
        if isinstance(reading, read.EndLeaning):
            self._ends[key] = reading
        elif isinstance(reading, read.JoinLeaning):
            self._joins[key] = reading
        elif isinstance(reading, read.Short | read.Ohms):
            shared = self._shared(key, reading)
            if len(shared.members) == 1:
                outlet, weights = self._of_outlet[key] = _of_one(self.scene, shared)
                self._sum[outlet] += weights
            else:
                self.shared[key] = shared
        elif not isinstance(reading, read.Checked):
            outlet, weights = self._of_outlet[key] = weigh(self.scene, self.noise, reading)
            self._sum[outlet] += weights
        self.read[key] = reading

    def take_back(self, reading: read.Any) -> None:
        """Forget a reading; nothing happens when it was never counted."""
        key = (type(reading), reading.key)
        if self.read.pop(key, None) is None:
            return
        for kept in (self.shared, self._ends, self._joins):
            kept.pop(key, None)
        if (told := self._of_outlet.pop(key, None)) is not None:
            outlet = told[0]
            rest = [w for o, w in self._of_outlet.values() if o == outlet]
            self._sum[outlet] = np.sum(rest, axis=0) if rest else 0.0

    def put(self, key: tuple[type, str], outlet: int, weights: Floats) -> None:
        """Let a reading of one outlet weigh otherwise than the instrument's usual noise has it; KeyError when it was never read."""
        before = self._of_outlet[key]
        self._of_outlet[key] = outlet, weights
        self._sum[outlet] += weights - before[1]

    def of_outlet(self, outlet: int) -> list[read.Any]:
        """The readings that speak of one outlet alone, in the order told."""
        return [self.read[key] for key, (o, _) in self._of_outlet.items() if o == outlet]

    @property
    def logs(self) -> Floats:
        """Natural log of the chance of all that was read of each outlet alone, by hypothesis; 'no cable here' last."""
        return self._sum

    def part(self, key: tuple[type, str]) -> tuple[int, Floats]:
        """What one reading of one outlet adds; KeyError for another kind."""
        return self._of_outlet[key]

    def end_weights(self) -> Floats:
        """Weight of each end by its count of outlets."""
        counts = len(self.prior.by_count)
        found = np.tile(np.array(self.prior.by_count, dtype=float), (self.scene.ends, 1))
        for leaning in self._ends.values():
            logs = [*leaning.log_weight, *[leaning.log_weight[-1]] * counts][:counts]
            found[leaning.end] *= np.exp(logs)
        return found

    def part_logs(self, shape: BlockShape) -> Floats:
        """Log of the weight of each partition of each block of one size."""
        ends = np.array([self.scene.blocks[b] for b in shape.blocks])
        size = ends.shape[1]
        found = np.tile((size - shape.groups) * math.log(max(self.prior.joined, LEAST)), (len(ends), 1))
        parted = list(partitions(range(size)))
        for leaning in self._joins.values():
            at = shape.blocks.index(b) if (b := self.scene.block_of[leaning.a]) in shape.blocks else None
            if at is None:
                continue
            i, j = (list(ends[at]).index(e) for e in (leaning.a, leaning.b))
            found[at] += [leaning.log_odds * any(i in g and j in g for g in p) for p in parted]
        return found

    def _shared(self, key: tuple[type, str], reading: read.Short | read.Ohms) -> Shared:
        if isinstance(reading, read.Ohms):
            from pullstring.trace.ohms_on_net import log_likelihood

            ohms = reading
            known: dict[Net, float] = {}

            def chance(present: Net) -> float:
                if present not in known:
                    known[present] = math.exp(max(log_likelihood(ohms, present), math.log(LEAST)))
                return known[present]

            return Shared(key, ohms.end, tuple(sorted(ohms.placed)), ohms.opened, chance)
        short, noise = reading, self.noise

        def closed(present: Net) -> float:
            yes = noise.pair_hit if present else noise.pair_false
            return max(yes if short.closed else 1 - yes, LEAST)

        return Shared(key, short.end, tuple(sorted(short.outlets)), short.opened, closed)


def _of_one(scene: Scene, shared: Shared) -> tuple[int, Floats]:
    """A reading over a single outlet weighs by itself: on the net of the end, or not."""
    (outlet,) = shared.members
    there, away = math.log(shared.chance(frozenset((outlet,)))), math.log(shared.chance(NO_NET))
    return outlet, np.where(relations(scene, shared.opened)[:, shared.end] == ON, there, away)


def log_prior_total(scene: Scene, prior: Prior) -> float:
    """Natural log of the sum of all prior weights, by counting how many outlets each end has.

    Outlets are told apart: n! times the coefficient of x^n in exp(no_cable x) times, for each end, the sum of w_k x^k / k!.
    """
    power = np.zeros(scene.outlets + 1)
    power[0], scale = 1.0, 0.0
    of_end = np.array([w / math.factorial(k) for k, w in enumerate(prior.by_count)])
    for _ in range(scene.ends):
        power = np.convolve(power, of_end)[: scene.outlets + 1]
        scale += math.log(power.max())
        power /= power.max()
    none = [prior.no_cable**k / math.factorial(k) for k in range(min(scene.outlets, 60) + 1)]
    total = sum(c * power[scene.outlets - k] for k, c in enumerate(none))
    blocks = 0.0
    for block in scene.blocks:
        blocks += math.log(sum(prior.joined ** (len(block) - len(p)) for p in partitions(range(len(block)))))
    return math.log(total) + scale + math.lgamma(scene.outlets + 1) + blocks if total > 0 else -math.inf


def subsets(members: tuple[int, ...], most: int) -> list[Net]:
    """All sets of at most so many of the members, the empty one first."""
    return [NO_NET, *(frozenset(c) for k in range(1, most + 1) for c in itertools.combinations(members, k))]

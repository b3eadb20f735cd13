"""Odds over what all ends carry together: a clip is on one net only, and two ends that read the same clip are joined.

Ends are taken one after the other; each carries something else, or starts a net with a set of outlets that is still free, or
joins a net that fits its reading. All states are kept, unless there are more than `BEAM`.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Sequence

from pullstring.trace.assumed import Prior
from pullstring.trace.decode_sets import Options
from pullstring.trace.scene import NO_NET, Net

BEAM = 4000
"""Ours: states kept after each end; when some were left out the answer says so."""
DROP = 40.0
"""Ours: a state e^40 below the best is left out without a word."""
TINY = 1e-12


@dataclasses.dataclass(frozen=True, kw_only=True)
class Joining:
    """Weights of joining: `on_block` for two ends of one block, `elsewhere` for any two others (a ring, a hidden joint).

    `unseen` is the weight of an outlet that is on no end that was read.
    """

    on_block: float
    elsewhere: float
    unseen: float


@dataclasses.dataclass(frozen=True)
class Group:
    """A net in one state: its ends, its outlets, on how many cables they lie, and whether it joins ends of no one block."""

    ends: Net
    outlets: Net
    cables: int
    ring: bool


@dataclasses.dataclass(frozen=True)
class State:
    """What all ends of a component carry: the log of its weight, its nets, and ends on which something else hangs."""

    log: float
    groups: tuple[Group, ...]
    other: Net

    @functools.cached_property
    def used(self) -> Net:
        """Outlets that are on a net."""
        return frozenset(o for g in self.groups for o in g.outlets)


def components(options: Sequence[Options]) -> list[list[Options]]:
    """Units that may share an outlet, together."""
    found: list[tuple[set[int], list[Options]]] = []
    for one in options:
        outlets = {o for s in one.sets for o in s}
        touching = [f for f in found if f[0] & outlets]
        found = [f for f in found if not f[0] & outlets]
        found.append((outlets.union(*(f[0] for f in touching)), [*(u for f in touching for u in f[1]), one]))
    return [units for _, units in found]


def states_of(
    component: Sequence[Options], *, prior: Prior, joining: Joining, block_of: dict[int, int]
) -> tuple[list[tuple[float, State]], bool]:
    """The states of a component with their chances, likeliest first, and whether all were counted."""
    join = _Join(prior, joining, block_of)
    states, whole = [State(0.0, (), NO_NET)], True
    for one in sorted(component, key=lambda o: (len(o.sets), sorted(o.unit.ends))):
        states = [new for state in states for new in join.with_unit(state, one)]
        top = max(s.log for s in states)
        states = sorted((s for s in states if s.log > top - DROP), key=lambda s: -s.log)
        whole, states = whole and len(states) <= BEAM, states[:BEAM]
    top = states[0].log
    weights = [math.exp(s.log - top) for s in states]
    total = sum(weights)
    return [(w / total, s) for w, s in zip(weights, states, strict=True) if w / total > TINY], whole


class _Join:
    def __init__(self, prior: Prior, joining: Joining, block_of: dict[int, int]) -> None:
        self.prior, self.joining, self.block_of = prior, joining, block_of
        self.weights: dict[tuple[int, int], float] = {}

    def with_unit(self, state: State, one: Options) -> list[State]:
        """All ways to add a unit."""
        ends = one.unit.ends
        bare = self.weight(len(ends), 0)
        found = [State(state.log + one.other + bare, state.groups, state.other | ends)]
        for outlets, log in one.sets.items():
            if not outlets & state.used and (weight := self.weight(len(ends), len(outlets))) > -math.inf:
                free = -len(outlets) * math.log(self.joining.unseen)
                group = Group(ends, outlets, len(ends), False)
                found.append(State(state.log + log + weight + free, (*state.groups, group), state.other))
        for n, group in enumerate(state.groups):
            if group.outlets and group.outlets in one.sets:
                log, wider = self._joined(group, one)
                if log > -math.inf:
                    groups = (*state.groups[:n], wider, *state.groups[n + 1 :])
                    found.append(State(state.log + log + one.sets[group.outlets], groups, state.other))
        return found

    def _joined(self, group: Group, one: Options) -> tuple[float, Group]:
        ends = one.unit.ends
        blocks = {self.block_of.get(e) for e in group.ends | ends}
        on_block = len(blocks) == 1 and None not in blocks and not one.unit.opened
        cables = group.cables + (len(ends) if on_block else len(ends) - 1)
        wider = Group(group.ends | ends, group.outlets, cables, group.ring or not on_block)
        weight = self.joining.on_block if on_block else self.joining.elsewhere
        k = len(group.outlets)
        log = math.log(weight) if weight > 0 else -math.inf
        return log + self.weight(cables, k) - self.weight(group.cables, k), wider

    def weight(self, cables: int, outlets: int) -> float:
        r"""Log of the prior weight of `outlets` outlets on `cables` joined cables, all ways to share them out.

        :math:`k!\,[x^k](\sum_j w_j x^j/j!)^m`, with w_j the weight of an end by its count of outlets.
        """
        if (cables, outlets) not in self.weights:
            power = [1.0] + [0.0] * outlets
            for _ in range(cables):
                power = [
                    sum(power[n - j] * w / math.factorial(j) for j, w in enumerate(self.prior.by_count) if j <= n)
                    for n in range(outlets + 1)
                ]
            whole = power[outlets] * math.factorial(outlets)
            self.weights[cables, outlets] = math.log(whole) if whole > 0 else -math.inf
        return self.weights[cables, outlets]

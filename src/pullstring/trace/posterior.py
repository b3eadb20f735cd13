"""Odds over where each outlet belongs: exact for few outlets or small components, by messages for the rest.

Outlets and units that can still belong together form components; a component of few outlets is summed over exactly, all
others keep what the messages say. Which may still belong together is read off the messages: a belief below `STILL` is let go.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.exact import MOST_OUTLETS, TooMany, summed
from pullstring.trace.propagate import Messages, propagate
from pullstring.trace.relations import Floats, layout
from pullstring.trace.scene import NO_NET, Net, Scene, partitions
from pullstring.trace.table import Table, log_prior_total

STILL = 1e-6


@dataclasses.dataclass(frozen=True, eq=False)
class Posterior:
    """Odds after all readings.

    `beliefs[o]` are chances over `scene.hypotheses`, 'no cable here' last; `parts` the chance of each way to part each block;
    `log_evidence` the natural log of the chance of all readings; `how` is 'exact', 'propagated' or 'mixed'.
    """

    scene: Scene
    beliefs: Floats
    parts: Mapping[int, Floats]
    log_evidence: float
    how: str

    @functools.cached_property
    def own(self) -> Floats:
        """Chance of each end to be the own end of each outlet; the last column is 'no cable here'."""
        found = np.zeros((self.scene.outlets, self.scene.ends + 1))
        np.add.at(found.T, [*(end for end, _ in self.scene.hypotheses), self.scene.ends], self.beliefs.T)
        return found

    @functools.cached_property
    def nets(self) -> tuple[Mapping[Net, float], ...]:
        """For each outlet the chance of each net as wired, before any block was opened; the empty net is 'no cable here'."""
        every = [net for _, net in self.scene.hypotheses] + [NO_NET]
        names = list(dict.fromkeys([NO_NET, *every]))
        place = {net: n for n, net in enumerate(names)}
        found = np.zeros((len(names), self.scene.outlets))
        np.add.at(found, [place[net] for net in every], self.beliefs.T)
        return tuple(dict(zip(names, map(float, column), strict=True)) for column in found.T)

    @functools.cached_property
    def joined(self) -> Mapping[tuple[int, int], float]:
        """Chance that two ends of one block are joined, the lower number first."""
        found: dict[tuple[int, int], float] = {}
        for number, chances in sorted(self.parts.items()):
            block = self.scene.blocks[number]
            found.update({(min(a, b), max(a, b)): 0.0 for a, b in itertools.combinations(block, 2)})
            for parted, chance in zip(partitions(range(len(block))), chances, strict=True):
                for group in parted:
                    for i, j in itertools.combinations(sorted(group), 2):
                        found[min(block[i], block[j]), max(block[i], block[j])] += float(chance)
        return found


def posterior(scene: Scene, readings: Iterable[read.Any], *, prior: Prior, noise: Noise) -> Posterior:
    """Odds for every outlet; the order of the readings does not matter.

    Raises
    ------
    BadScene
        A reading that does not fit the scene.
    """
    table = Table(scene, prior=prior, noise=noise)
    for reading in readings:
        table.add(reading)
    return odds_of(table)[0]


def odds_of(
    table: Table, start: Messages | None = None, *, up_to: int = MOST_OUTLETS
) -> tuple[Posterior, Messages | None]:
    """Odds from a table, and the messages to start from next time; components of at most `up_to` outlets exactly."""
    scene = table.scene
    if 0 < scene.outlets <= up_to and (whole := _sum_over(table, range(scene.outlets), frozenset(range(scene.ends)))):
        beliefs, parts, log_total = whole
        odds = _posterior(table, beliefs, parts, log_total, "exact")
        return odds, None
    spread = propagate(table, start)
    beliefs, parts = spread.beliefs.copy(), dict(spread.parts)
    left = set(range(scene.outlets))
    for outlets, units in _components(table, spread.beliefs):
        ends = _ends_of(scene, units)
        if len(outlets) <= up_to and (found := _sum_over(table, outlets, ends)):
            beliefs[list(outlets)] = found[0]
            parts.update(found[1])
            left -= set(outlets)
    how = "propagated" if len(left) == scene.outlets else "mixed" if left else "exact"
    return _posterior(table, beliefs, parts, spread.log_total, how if scene.outlets else "exact"), spread.messages


def mixed(scene: Scene, odds: Sequence[tuple[float, Posterior]]) -> Posterior:
    """Odds where one of several accounts holds, each with its share; the shares add up to 1."""
    if len(odds) == 1:
        return odds[0][1]
    best = max(odds, key=lambda pair: pair[0])[1]
    beliefs = sum((share * one.beliefs for share, one in odds), start=np.zeros_like(best.beliefs))
    parts = {
        n: sum((share * one.parts[n] for share, one in odds), start=np.zeros_like(p)) for n, p in best.parts.items()
    }
    return Posterior(scene, beliefs, parts, best.log_evidence, best.how)


def _sum_over(table: Table, outlets: Iterable[int], ends: Net) -> tuple[Floats, dict[int, Floats], float] | None:
    """The exact sum; None where the numbers run out of digits or the ways are too many."""
    try:
        found = summed(table, list(outlets), ends)
    except (ArithmeticError, TooMany):
        return None
    return found.beliefs, found.parts, found.log_total


def _components(table: Table, beliefs: Floats) -> list[tuple[list[int], set[int]]]:
    """Outlets and units that may still belong together.

    Outlets that may be on the net of a reading over several share the unit of its end, so they are together already.
    """
    lay = layout(table.scene)
    units_of: list[set[int]] = []
    for row in beliefs:
        units_of.append({int(u) for u in lay.unit[np.flatnonzero(row[:-1] >= STILL)]})
    groups: list[tuple[list[int], set[int]]] = []
    for outlet, units in enumerate(units_of):
        groups = _merge(groups, [outlet], units)
    return [(sorted(o), u) for o, u in groups]


def _merge(
    groups: list[tuple[list[int], set[int]]], outlets: list[int], units: set[int]
) -> list[tuple[list[int], set[int]]]:
    touching = [g for g in groups if g[1] & units]
    rest = [g for g in groups if not g[1] & units]
    return [*rest, ([*outlets, *(o for g in touching for o in g[0])], units.union(*(g[1] for g in touching)))]


def _ends_of(scene: Scene, units: set[int]) -> Net:
    free = [e for e in range(scene.ends) if scene.block_of[e] is None]
    blocks = [scene.blocks[u - len(free)] for u in units if u >= len(free)]
    return frozenset([free[u] for u in units if u < len(free)] + [e for b in blocks for e in b])


def _posterior(table: Table, beliefs: Floats, parts: Mapping[int, Floats], log_total: float, how: str) -> Posterior:
    return Posterior(table.scene, beliefs, parts, log_total - log_prior_total(table.scene, table.prior), how)

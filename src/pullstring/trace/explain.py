"""Why an outlet is believed where it is: what each reading adds, who else holds the rivals, and which readings to repeat.

A reading weighs for or against by the log of the ratio of its chance if the outlet is where it is believed to its chance if it is
anywhere else, everything but this reading being known. A reading is surprising when all others together give it a small part of
the chance that it could have had at best: it is the one to repeat, not the others.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior, constants
from pullstring.trace.doubts import SURELY, Doubt, Heard, doubted
from pullstring.trace.posterior import Posterior
from pullstring.trace.relations import ON, Floats, relations
from pullstring.trace.scene import NO_NET, Net, Scene
from pullstring.trace.table import Shared, Table
from pullstring.trace.weighing import weigh

HARDLY = 1e-9
"""Ours: what nobody believes any more still counts as much in all, so that a reading is weighed against something."""
SMALL = 0.02
"""Ours: a weight nearer to nothing than this (natural log) is left out of a list of reasons."""


@dataclasses.dataclass(frozen=True)
class Reason:
    """A reading with its weight for (above 0) or against (below 0) where the outlet is believed to be; natural log of a ratio."""

    reading: read.Any
    weight: float


@dataclasses.dataclass(frozen=True)
class Explained:
    """Where an outlet is believed to be and with what chance, its reasons by weight, and the weight of what others leave it.

    `others` is the natural log of the ratio that the rest of the house adds: rivals taken by other outlets (above 0), or this
    place taken by another (below 0). `rests_on` names the outlets that hold its rivals, likeliest first.
    """

    net: Net
    chance: float
    reasons: tuple[Reason, ...]
    others: float
    rests_on: tuple[int, ...]


@dataclasses.dataclass(frozen=True)
class Repeat:
    """A reading that all others make unlikely: its chance by them against its best case."""

    reading: read.Any
    chance: float


def explain(
    scene: Scene, readings: Iterable[read.Any], outlet: int, *, prior: Prior, noise: Noise, net: Net | None = None
) -> Explained:
    """The reasons for an outlet, heaviest first, with instruments doubted; for its likeliest net unless another is named.

    Raises
    ------
    BadScene
        A reading that does not fit the scene.
    IndexError
        No such outlet.
    """
    if not 0 <= outlet < scene.outlets:
        raise IndexError(f"outlet {outlet} is not one of the {scene.outlets} outlets")
    log = list(readings)
    found = doubted(scene, log, prior=prior, noise=noise)
    return reasons_of(found.table, found.posterior, outlet, net=net)


def reasons_of(table: Table, odds: Posterior, outlet: int, *, net: Net | None = None) -> Explained:
    """The reasons for an outlet, from odds already worked out."""
    scene = table.scene
    nets = odds.nets[outlet]
    of = max(nets, key=lambda n: (nets[n], -len(n), sorted(n))) if net is None else net
    there = np.array([hypothesis[1] == of for hypothesis in scene.hypotheses] + [of == NO_NET])
    beliefs = odds.beliefs[outlet]
    reasons = [
        Reason(reading, _weight(beliefs, table.part((type(reading), reading.key))[1], there))
        for reading in table.of_outlet(outlet)
    ]
    reasons += [
        Reason(table.read[one.key], _weight(beliefs, _alone(table, odds, one, outlet), there))
        for one in table.shared.values()
        if outlet in one.members
    ]
    reasons = sorted((r for r in reasons if abs(r.weight) > SMALL), key=lambda r: (-abs(r.weight), r.reading.key))
    own = sum((r.weight for r in reasons), 0.0)
    chance = float(nets.get(of, 0.0))
    return Explained(of, chance, tuple(reasons), _log_odds(chance) - own, _holders(odds, outlet, of))


def to_repeat(table: Table, odds: Posterior, doubts: Sequence[Doubt] = ()) -> tuple[Repeat, ...]:
    """Readings that everything else makes unlikely, the most surprising first; not those whose instrument is doubted anyway."""
    threshold = constants()["surprising"]
    told = {id(r) for d in doubts if d.chance > SURELY for r in d.readings}
    found = []
    for outlet in range(table.scene.outlets):
        for reading in table.of_outlet(outlet):
            counted = table.part((type(reading), reading.key))[1]
            plain = weigh(table.scene, table.noise, reading)[1] if isinstance(reading, Heard) else counted
            chance = _predicted(odds.beliefs[outlet], counted, plain)
            if chance < threshold and id(reading) not in told:
                found.append(Repeat(reading, chance))
    for one in table.shared.values():
        chance = _predicted_shared(odds, table.scene, one)
        if chance < threshold:
            found.append(Repeat(table.read[one.key], chance))
    return tuple(sorted(found, key=lambda r: (r.chance, r.reading.key)))


def _weight(beliefs: Floats, logs: Floats, there: np.typing.NDArray[np.bool_]) -> float:
    """Log of the ratio of a reading's chance inside to outside, everything else being known."""
    chances = np.exp(logs - logs.max())
    others = np.maximum(beliefs, HARDLY / len(beliefs)) / np.maximum(chances, 1e-300)
    inside, outside = others[there].sum(), others[~there].sum()
    if not inside > 0 or not outside > 0:
        return 0.0
    yes, no = (others * chances)[there].sum() / inside, (others * chances)[~there].sum() / outside
    return math.log(max(yes, 1e-300)) - math.log(max(no, 1e-300))


def _predicted(beliefs: Floats, counted: Floats, plain: Floats) -> float:
    """Chance of a reading by all others, against the best it could have.

    `counted` is how it weighs in the beliefs, which a doubted instrument makes less; `plain` what a sound one would say.
    """
    others = beliefs / np.maximum(np.exp(counted - counted.max()), 1e-300)
    return min(1.0, float((others * np.exp(plain - plain.max())).sum() / max(others.sum(), 1e-300)))


def _on(odds: Posterior, scene: Scene, outlet: int, one: Shared) -> float:
    """Chance of an outlet to be on the net of the end when it was read: alone once the block was opened."""
    if scene.block_of[one.end] in one.opened:
        return float(odds.own[outlet, one.end])
    return sum(c for net, c in odds.nets[outlet].items() if one.end in net)


def _alone(table: Table, odds: Posterior, one: Shared, outlet: int) -> Floats:
    """What a reading over several outlets says of one, the others being where they are believed."""
    others = frozenset(o for o in one.members if o != outlet and _on(odds, table.scene, o, one) > 0.5)
    on = relations(table.scene, one.opened)[:, one.end] == ON
    return np.where(on, math.log(one.chance(others | {outlet})), math.log(one.chance(others)))


def _predicted_shared(odds: Posterior, scene: Scene, one: Shared) -> float:
    """The chance of what was read with the outlets where they are believed, against the best set of at most two of them."""
    believed = frozenset(o for o in one.members if _on(odds, scene, o, one) > 0.5)
    best = max(
        one.chance(s) for s in (frozenset[int](), *(frozenset((a, b)) for a in one.members for b in one.members))
    )
    return min(1.0, one.chance(believed) / max(best, 1e-300))


def _holders(odds: Posterior, outlet: int, net: Net) -> tuple[int, ...]:
    """Outlets that hold an end which this one would otherwise likely be on, or its own."""
    own = odds.own[:, :-1]
    if not own.size:
        return ()
    rivals = {int(e) for e in np.argsort(-own[outlet])[:3] if own[outlet, e] > 0.001} | set(net)
    held = [(float(own[o, e]), o) for o in range(len(own)) for e in rivals if o != outlet and own[o, e] > 0.5]
    return tuple(o for _, o in sorted(held, key=lambda pair: (-pair[0], pair[1])))


def _log_odds(chance: float) -> float:
    bounded = min(max(chance, 1e-12), 1 - 1e-12)
    return math.log(bounded) - math.log1p(-bounded)

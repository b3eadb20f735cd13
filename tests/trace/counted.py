"""Odds by plain counting: every way to give outlets an end, times every way to part the blocks. Shares nothing with the engine."""

import itertools
import math
from collections.abc import Iterable, Sequence
from typing import Any

from pullstring.trace import readings as read
from pullstring.trace.scene import Scene

W, NU, KAPPA = (0.18, 1.0, 0.20, 0.06), 0.08, 0.45
ON, BESIDE, FAR = (0.03, 0.07, 0.90), (0.55, 0.38, 0.07), (0.97, 0.025, 0.005)


def parted(items: Sequence[int]) -> Iterable[list[list[int]]]:
    """All set partitions, by putting each item into an old group or a new one."""
    if not items:
        yield []
        return
    for rest in parted(items[1:]):
        for n in range(len(rest)):
            yield [*rest[:n], [items[0], *rest[n]], *rest[n + 1 :]]
        yield [[items[0]], *rest]


def chance_of(scene: Scene, r: read.Any, own: Sequence[int | None], group: dict[int, frozenset[int]]) -> float:
    """Chance of one reading in one state of the world, from the observation model as written down."""

    def net(outlet: int) -> frozenset[int]:
        end = own[outlet]
        if end is None:
            return frozenset()
        block = next((n for n, b in enumerate(scene.blocks) if end in b), None)
        return frozenset((end,)) if block in r.opened else group[end]

    def tone(outlet: int, end: int) -> tuple[float, float, float]:
        on = net(outlet)
        if end in on:
            return ON
        beside = {
            b[i + d] for b in scene.bundles for i, e in enumerate(b) if e in on for d in (-1, 1) if 0 <= i + d < len(b)
        }
        return BESIDE if end in beside else FAR

    match r:
        case read.Tone():
            return tone(r.outlet, r.end)[r.level]
        case read.Bundle():
            draws = [tone(r.outlet, e) for e in r.ends]
            at_most = lambda level: math.prod(sum(d[: level + 1]) for d in draws) if level >= 0 else 0.0  # noqa: E731
            return at_most(r.level) - at_most(r.level - 1)
        case read.Remote():
            yes = 0.98 if r.end in net(r.outlet) else 0.0005
            return yes if r.hit else 1 - yes
        case read.Plugs():
            word = 0
            for end in net(r.outlet):
                word |= r.words.get(end, 0)
            closed = [0.985 if word >> p & 1 else 0.01 for p in range(r.pairs)]
            return math.prod(c if r.bits >> p & 1 else 1 - c for p, c in enumerate(closed))
        case read.Short():
            yes = 0.985 if any(r.end in net(o) for o in r.outlets) else 0.01
            return yes if r.closed else 1 - yes
    raise AssertionError(r)


def counted(scene: Scene, log: Sequence[read.Any]) -> dict[str, Any]:
    """Own ends, nets as wired, joined pairs and the log of the evidence."""
    own_odds = [dict.fromkeys([*range(scene.ends), None], 0.0) for _ in range(scene.outlets)]
    nets: list[dict[frozenset[int], float]] = [{} for _ in range(scene.outlets)]
    joined: dict[tuple[int, int], float] = {}
    total = prior_total = 0.0
    for parts in itertools.product(*(list(parted(b)) for b in scene.blocks)):
        group = {e: frozenset((e,)) for e in range(scene.ends)}
        group |= {e: frozenset(g) for p in parts for g in p for e in g}
        weight = KAPPA ** sum(len(b) - len(p) for b, p in zip(scene.blocks, parts, strict=True))
        for own in itertools.product([*range(scene.ends), None], repeat=scene.outlets):
            counts = [own.count(e) for e in range(scene.ends)]
            if max(counts, default=0) > 3:
                continue
            prior = weight * NU ** own.count(None) * math.prod(W[c] for c in counts)
            chance = prior * math.prod(chance_of(scene, r, own, group) for r in log)
            total, prior_total = total + chance, prior_total + prior
            for o, end in enumerate(own):
                own_odds[o][end] += chance
                on = group[end] if end is not None else frozenset()
                nets[o][on] = nets[o].get(on, 0.0) + chance
            for block in scene.blocks:
                for a, b in itertools.combinations(sorted(block), 2):
                    joined[a, b] = joined.get((a, b), 0.0) + chance * (group[a] == group[b])
    return {
        "own": [[odds[e] / total for e in [*range(scene.ends), None]] for odds in own_odds],
        "nets": [{n: c / total for n, c in found.items()} for found in nets],
        "joined": {pair: c / total for pair, c in joined.items()},
        "log_evidence": math.log(total / prior_total),
    }

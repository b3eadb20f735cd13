"""What if an instrument was not what it seems: a flat battery for an afternoon, a stuck remote, a house in which tones bleed more.

Readings of one instrument at one outlet in a row form a *stay*. Within a stay the instrument is in one state; a tone set may fall
silent between stays and stay so for a while, a remote is sound, dead or stuck for good. Each stay weighs as the mixture of what its
readings say in each state, with the chance of the state that the other stays give; this is repeated until it settles.
How much tones bleed is weighed by the evidence for the whole log under each of three noises. All constants are assumed.
"""

from __future__ import annotations

import collections
import dataclasses
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior, constants
from pullstring.trace.posterior import Posterior, mixed, odds_of
from pullstring.trace.relations import Floats
from pullstring.trace.scene import Scene
from pullstring.trace.table import Table

ROUNDS = 4
"""Ours: how often doubts and odds are worked out from each other; they seldom move after the second."""
WORTH_SAYING = 0.2
"""Ours: a doubt with a lower chance is counted but not told."""
SURELY = 0.6
"""Ours: a house is said to bleed more only above this chance, since it is no fault of a reading."""
CHECK_FAILS = 0.02
"""Assumed: a sound instrument seems silent when it is tried on itself."""


Heard = read.Tone | read.Bundle | read.Remote


@dataclasses.dataclass(frozen=True)
class Doubt:
    """An instrument, what is doubted of it ('silent', 'dead', 'stuck', 'bleeds'), the chance, and the readings concerned."""

    source: str
    what: str
    chance: float
    readings: tuple[Heard, ...]


@dataclasses.dataclass(frozen=True)
class Doubted:
    """Odds with instruments doubted, what is doubted of them worth saying, and the table that gave the odds."""

    posterior: Posterior
    doubts: tuple[Doubt, ...]
    table: Table


@dataclasses.dataclass
class _Stay:
    """Readings of one instrument at one outlet in a row, and how they weigh when all is well.

    `works` is the chance, by all other stays, that the instrument was sound; `ill` that it was not, this stay counted too.
    """

    source: str
    outlet: int
    readings: list[Heard]
    said: Floats
    parts: list[Floats]
    silent: bool
    everywhere: bool
    checked: bool = False
    works: float = 1.0
    ill: float = 0.0

    @property
    def because(self) -> tuple[Heard, ...]:
        return tuple(self.readings)


def doubted(scene: Scene, readings: Iterable[read.Any], *, prior: Prior, noise: Noise) -> Doubted:
    """Odds with every instrument doubted as far as its readings give reason to.

    Raises
    ------
    BadScene
        A reading that does not fit the scene.
    """
    log = list(readings)
    houses = _houses(noise) if any(isinstance(r, read.Tone | read.Bundle) for r in log) else [("", 1.0, noise)]
    found = [_in_one_house(scene, log, prior=prior, noise=n) for _, _, n in houses]
    logs = [math.log(share) + odds.log_evidence for (_, share, _), (odds, _, _) in zip(houses, found, strict=True)]
    weights = [math.exp(x - max(logs)) for x in logs]
    weights = [w / sum(weights) for w in weights]
    best = max(range(len(houses)), key=lambda n: weights[n])
    together = mixed(scene, [(w, odds) for w, (odds, _, _) in zip(weights, found, strict=True)])
    bleeds = sum(w for w, (what, _, _) in zip(weights, houses, strict=True) if what == "bleeds")
    doubts = list(found[best][1])
    if bleeds > SURELY:
        doubts.append(Doubt("", "bleeds", bleeds, ()))
    return Doubted(together, tuple(doubts), found[best][2])


def _houses(noise: Noise) -> list[tuple[str, float, Noise]]:
    """The assumed noise, one in which the neighbour is heard twice as often, one in which it is heard half as often."""
    c = constants()

    def beside(times: float) -> Noise:
        faint, loud = (min(x * times, 0.49) for x in noise.beside[1:])
        return dataclasses.replace(noise, beside=(1 - faint - loud, faint, loud))

    loud, quiet = c["doubt_crosstalk"], c["doubt_quiet"]
    return [("", 1 - loud - quiet, noise), ("bleeds", loud, beside(2.0)), ("", quiet, beside(0.5))]


def _in_one_house(
    scene: Scene, log: Sequence[read.Any], *, prior: Prior, noise: Noise
) -> tuple[Posterior, list[Doubt], Table]:
    table = Table(scene, prior=prior, noise=noise)
    for reading in log:
        table.add(reading)
    stays = list(_stays(table))
    start, odds = None, None
    for _ in range(ROUNDS):
        odds, start = odds_of(table, start)
        before = [s.works for s in stays]
        _judge(table, odds, stays)
        for stay, was in zip(stays, before, strict=True):
            if min(stay.works, was) < 1.0:
                _reweigh(table, stay)
        if max((abs(a - s.works) for a, s in zip(before, stays, strict=True)), default=0.0) < 1e-4:
            break
    odds, _ = odds_of(table, start)
    return odds, list(_told(stays)), table


def _stays(table: Table) -> Iterator[_Stay]:
    """Stays in which an instrument can be doubted: a tone set that heard nothing, a remote that answered always or never."""
    by_source: dict[str, list[read.Any]] = collections.defaultdict(list)
    for reading in table.read.values():
        if reading.source and isinstance(reading, Heard | read.Checked):
            by_source[reading.source].append(reading)
    for source, told in sorted(by_source.items()):
        told.sort(key=lambda r: (r.when, r.key))
        for outlet, group in itertools.groupby(told, key=lambda r: r.outlet if isinstance(r, Heard) else None):
            some = list(group)
            heard = [r for r in some if isinstance(r, Heard)]
            checks = [r for r in some if isinstance(r, read.Checked)]
            if outlet is None or not heard:
                for one in checks:
                    yield _Stay(source, -1, [], np.zeros(0), [], silent=not one.works, everywhere=False, checked=True)
                continue
            parts = [table.part((type(r), r.key))[1] for r in heard]
            loud = [_loud(r) for r in heard]
            yield _Stay(source, outlet, heard, np.sum(parts, axis=0), parts, silent=not any(loud), everywhere=all(loud))


def _loud(reading: Heard) -> bool:
    return reading.hit if isinstance(reading, read.Remote) else reading.level > 0


def _judge(table: Table, odds: Posterior, stays: Sequence[_Stay]) -> None:
    """Set for each stay the chance, given all the others, that its instrument was sound."""
    for _, group in itertools.groupby(stays, key=lambda s: s.source):
        some = list(group)
        remote = any(isinstance(r, read.Remote) for s in some for r in s.readings)
        if remote and not (all(s.silent for s in some) or all(s.everywhere for s in some)):
            continue  # read here and not there: neither dead nor stuck
        sound = [_if_sound(odds, s) for s in some]
        if remote:
            _judge_remote(some, sound, table.noise)
        else:
            _judge_tone(some, sound)


def _if_sound(odds: Posterior, stay: _Stay) -> float:
    """Chance of what a stay heard if the instrument was sound, by what everything else says of the outlet."""
    if stay.checked:
        return CHECK_FAILS if stay.silent else 1.0
    weighs = np.exp(_mixture(stay))
    others = odds.beliefs[stay.outlet] / np.maximum(weighs, 1e-300)
    return float((others * np.exp(stay.said)).sum() / max(others.sum(), 1e-300))


def _judge_tone(stays: Sequence[_Stay], sound: Sequence[float]) -> None:
    """A chain of two states over the stays: the set works, or it is silent whatever it is on (forward and backward)."""
    begins, lasts = constants()["doubt_flat_begins"], constants()["doubt_flat_lasts"]
    step = np.array([[1 - begins, begins], [1 - lasts, lasts]])
    seen = np.array([[p, 1.0 if s.silent else 0.0] for s, p in zip(stays, sound, strict=True)])
    ahead, behind = np.zeros_like(seen), np.ones_like(seen)
    state = np.array([1 - begins, begins])
    for n in range(len(seen)):
        ahead[n] = state
        state = state * seen[n]
        state = state / max(state.sum(), 1e-300) @ step
    state = np.ones(2)
    for n in reversed(range(len(seen))):
        behind[n] = state
        state = step @ (state * seen[n])
        state = state / max(state.max(), 1e-300)
    for stay, a, b, by_itself in zip(stays, ahead, behind, seen, strict=True):
        _settle(stay, a * b, by_itself)


def _judge_remote(stays: Sequence[_Stay], sound: Sequence[float], noise: Noise) -> None:
    """One state for all stays: sound, dead (never read) or stuck (read everywhere); less often where readings are sure."""
    dead = min(constants()["doubt_remote_dead"], (1 - noise.remote_hit) / 2)
    stuck = min(constants()["doubt_remote_stuck"], 10 * noise.remote_false)
    logs = [math.log(max(p, 1e-300)) for p in sound]
    loud = sum(not s.silent for s in stays)
    quiet = sum(not s.everywhere for s in stays)
    for n, stay in enumerate(stays):
        well = math.log(1 - dead - stuck) + math.fsum(logs) - logs[n]
        never = dead * (stay.silent and loud == 0)
        always = stuck * (stay.everywhere and quiet == 0)
        ill = max(never, always)
        top = max(well, math.log(ill)) if ill else well
        by_others = np.array([math.exp(well - top), math.exp(math.log(ill) - top) if ill else 0.0])
        _settle(stay, by_others, np.array([sound[n], 1.0 if ill else 0.0]))


def _settle(stay: _Stay, by_others: Floats, by_itself: Floats) -> None:
    """Chances that an instrument was sound and that it was ill; what it heard while it cannot have been ill says it was sound."""
    total, both = float(by_others.sum()), by_others * by_itself
    stay.works = float(by_others[0]) / total if by_itself[1] > 0 and total > 0 else 1.0
    stay.ill = float(both[1] / both.sum()) if both.sum() > 0 else 0.0


def _mixture(stay: _Stay) -> Floats:
    """Log of what a stay weighs: sound and so heard, or ill and so heard whatever it was on."""
    if stay.works >= 1.0:
        return stay.said
    found: Floats = np.logaddexp(math.log(max(stay.works, 1e-300)) + stay.said, math.log1p(-stay.works))
    return found


def _reweigh(table: Table, stay: _Stay) -> None:
    """Put the mixture in the place of the first reading of a doubted stay; the others then weigh nothing."""
    parts = stay.parts
    if stay.works < 1.0 and stay.readings:
        parts = [_mixture(stay), *[np.zeros_like(stay.said)] * (len(stay.readings) - 1)]
    for reading, part in zip(stay.readings, parts, strict=True):
        table.put((type(reading), reading.key), stay.outlet, part)


def _told(stays: Sequence[_Stay]) -> Iterator[Doubt]:
    """Doubts worth saying, the stays of one silence told as one."""
    for (source, ill), group in itertools.groupby(
        stays, key=lambda s: (s.source, s.ill > WORTH_SAYING and not s.checked)
    ):
        if ill:
            some = list(group)
            remote = isinstance(some[0].readings[0], read.Remote)
            what = ("dead" if some[0].silent else "stuck") if remote else "silent"
            chance = max(s.ill for s in some)
            yield Doubt(source, what, chance, tuple(r for s in some for r in s.readings))

"""How likely a reading is under each hypothesis: natural logs over `scene.hypotheses`, 'no cable here' last.

Readings with different keys are independent once it is known where the outlets belong (assumed). What instruments show
comes in as `Noise`.
"""

from __future__ import annotations

import math

import numpy as np

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise
from pullstring.trace.relations import ON, Floats, relations
from pullstring.trace.scene import BadScene, Scene

LEAST = 1e-12
"""A chance below this counts as this (ours): nothing read is held to be impossible."""


def weigh(scene: Scene, noise: Noise, reading: read.OfOutlet) -> tuple[int, Floats]:
    """The outlet of a reading, and the log of its chance under each hypothesis.

    Raises
    ------
    BadScene
        The reading names an outlet or an end that the scene has not, or a level that is none.
    """
    check(scene, reading)
    if isinstance(reading, read.Leaning):
        return reading.outlet, _leaning(scene, reading)
    on = relations(scene, reading.opened)
    if isinstance(reading, read.Tone):
        chances = np.array([noise.far, noise.beside, noise.on])[:, reading.level]
        return reading.outlet, np.log(np.maximum(chances, LEAST))[on[:, reading.end]]
    if isinstance(reading, read.Bundle):
        return reading.outlet, _loudest(scene, noise, reading)
    if isinstance(reading, read.Remote):
        yes = np.where(on[:, reading.end] == ON, noise.remote_hit, noise.remote_false)
        return reading.outlet, np.log(np.maximum(yes if reading.hit else 1 - yes, LEAST))
    return reading.outlet, _plugs(scene, noise, reading)


def _leaning(scene: Scene, reading: read.Leaning) -> Floats:
    by_end = np.zeros(scene.ends + 1)
    for end, weight in reading.log_weight.items():
        by_end[end] = weight
    by_end[scene.ends] = reading.log_none
    if not reading.by_net:
        return by_end[[*(end for end, _ in scene.hypotheses), scene.ends]]
    on = relations(scene, reading.opened)[:-1] == ON
    most = np.where(on, by_end[:-1], -np.inf).max(axis=1)
    least = np.where(on, by_end[:-1], np.inf).min(axis=1)
    return np.append(np.where(most > 0, most, least), reading.log_none)


def _loudest(scene: Scene, noise: Noise, reading: read.Bundle) -> Floats:
    """The loudest of independent draws, one for each end: no more than l with the product of their chances for that."""
    touched = relations(scene, reading.opened)[:, sorted(reading.ends)]
    counts = np.stack([(touched == relation).sum(axis=1) for relation in (0, 1, 2)])
    at_most = np.cumsum([noise.far, noise.beside, noise.on], axis=1)
    at_most[:, 2] = 1.0

    def chance(level: int) -> Floats:
        if level < 0:
            return np.zeros(len(touched))
        steps: Floats = (at_most[:, level][:, None] ** counts).prod(axis=0)
        return steps

    return np.log(np.maximum(chance(reading.level) - chance(reading.level - 1), LEAST))


def _plugs(scene: Scene, noise: Noise, reading: read.Plugs) -> Floats:
    """The words on all ends of a net add up: a pair shorted on any of them is closed."""
    words = np.zeros(scene.ends, dtype=np.int64)
    for end, word in reading.words.items():
        words[end] = word
    joint = np.bitwise_or.reduce(np.where(relations(scene, reading.opened) == ON, words, 0), axis=1)
    found = np.zeros(len(joint))
    for pair in range(reading.pairs):
        shorted = (joint >> pair & 1).astype(bool)
        closed = np.where(shorted, noise.pair_hit, noise.pair_false)
        found += np.log(np.maximum(closed if reading.bits >> pair & 1 else 1 - closed, LEAST))
    return found


def check(scene: Scene, reading: read.Any) -> None:
    """Refuse a reading that does not fit the scene."""
    outlets, ends = _named(reading)
    faults = [
        f"reading {reading.key}: outlet {o} is not one of the {scene.outlets} outlets"
        for o in outlets
        if not 0 <= o < scene.outlets
    ]
    faults += [
        f"reading {reading.key}: end {e} is not one of the {scene.ends} ends" for e in ends if not 0 <= e < scene.ends
    ]
    if isinstance(reading, read.Tone | read.Bundle) and reading.level not in (0, 1, 2):
        faults.append(f"reading {reading.key}: level {reading.level} is none; 0 nothing, 1 faint, 2 loud")
    if isinstance(reading, read.JoinLeaning) and not faults and not _of_one_block(scene, reading):
        faults.append(f"reading {reading.key}: ends {reading.a} and {reading.b} are no two ends of one block")
    if any(not math.isfinite(weight) for weight in _weights(reading)):
        faults.append(f"reading {reading.key}: a weight is no finite number")
    if faults:
        raise BadScene(faults)


def _of_one_block(scene: Scene, reading: read.JoinLeaning) -> bool:
    at = scene.block_of[reading.a]
    return at is not None and at == scene.block_of[reading.b] and reading.a != reading.b


def _named(reading: read.Any) -> tuple[list[int], list[int]]:
    match reading:
        case read.Tone() | read.Remote():
            return [reading.outlet], [reading.end]
        case read.Bundle():
            return [reading.outlet], sorted(reading.ends)
        case read.Plugs():
            return [reading.outlet], sorted(reading.words)
        case read.Leaning():
            return [reading.outlet], sorted(reading.log_weight)
        case read.Short():
            return sorted(reading.outlets), [reading.end]
        case read.Ohms():
            return sorted(reading.placed), [reading.end]
        case read.EndLeaning():
            return [], [reading.end]
        case read.JoinLeaning():
            return [], [reading.a, reading.b]
    return [], []


def _weights(reading: read.Any) -> list[float]:
    match reading:
        case read.Leaning():
            return [reading.log_none, *reading.log_weight.values()]
        case read.EndLeaning():
            return list(reading.log_weight)
        case read.JoinLeaning():
            return [reading.log_odds]
    return []

"""What a reading not yet taken may be expected to tell: bits by which it narrows where an outlet is.

The gain is the mutual information of reading and hypothesis: the entropy of the reading less the entropy it keeps when the
hypothesis is known [shannon1948]. Readings of several outlets at once count as the sum over outlets.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.trace.assumed import Noise
from pullstring.trace.relations import FAR, ON, Floats, Whole, relations
from pullstring.trace.scene import Net, Scene


def entropy(chances: Floats, axis: int = -1) -> Floats:
    """Entropy in bits along an axis of chances that add up to 1."""
    bounded = np.maximum(chances, 1e-300)
    found: Floats = -(chances * np.log2(bounded)).sum(axis=axis)
    return found


@functools.lru_cache(maxsize=64)
def on_net(scene: Scene) -> Floats:
    """1 where an end is on the net of a hypothesis, [hypotheses + 1, ends]."""
    found: Floats = (relations(scene) == ON).astype(float)
    found.setflags(write=False)
    return found


def of_clip(rows: Floats, scene: Scene, noise: Noise) -> Floats:
    """Bits by end that clipping a reader on it tells of outlets with a remote; rows are their chances over hypotheses."""
    there = rows @ on_net(scene)
    hit = there * noise.remote_hit + (1 - there) * noise.remote_false
    kept = there * _yes_no(noise.remote_hit) + (1 - there) * _yes_no(noise.remote_false)
    found: Floats = np.maximum(_yes_no(hit) - kept, 0.0).sum(axis=0)
    return found


@dataclasses.dataclass(frozen=True)
class Told:
    """What a tester is expected to tell at each outlet.

    Bits; the chance of the likeliest true reading; the chance of a true reading after which one net is sure enough.
    """

    bits: Floats
    likeliest: Floats
    settles: Floats


def of_numbers(rows: Floats, scene: Scene, noise: Noise, marked: Sequence[int], *, sure: float) -> Told:
    """At each outlet, with numbered marks on some ends."""
    signs = on_net(scene)[:, sorted(marked)]
    return _told(_by_net(rows, scene), signs[_nets(scene)], noise.remote_hit, noise.remote_false, sure)


def of_words(rows: Floats, scene: Scene, noise: Noise, words: Mapping[int, int], *, pairs: int, sure: float) -> Told:
    """At each outlet, with coded plugs on some ends; words of joined ends add up."""
    on, by_pair = on_net(scene), np.zeros((scene.ends, pairs))
    for end, word in words.items():
        by_pair[end] = [word >> pair & 1 for pair in range(pairs)]
    signs = (on @ by_pair > 0).astype(float)
    return _told(_by_net(rows, scene), signs[_nets(scene)], noise.pair_hit, noise.pair_false, sure)


@functools.lru_cache(maxsize=64)
def _net_of(scene: Scene) -> tuple[Whole, Whole]:
    """For each net the first hypothesis of it, and for each hypothesis its net."""
    _, first, net = np.unique(on_net(scene), axis=0, return_index=True, return_inverse=True)
    return first, np.ravel(net)


def _nets(scene: Scene) -> Whole:
    return _net_of(scene)[0]


def _by_net(rows: Floats, scene: Scene) -> Floats:
    first, net = _net_of(scene)
    found: Floats = rows @ (net[:, None] == np.arange(len(first))).astype(float)
    return found


def _told(chances: Floats, signs: Floats, hit: float, ghost: float, sure: float) -> Told:
    """Bits are no more than true readings differ, and no more than all signs tell alone."""
    order = np.lexsort(signs.T) if signs.shape[1] else np.arange(len(signs))
    chances, signs = chances[:, order], signs[order]
    begins = np.flatnonzero(np.r_[True, (signs[1:] != signs[:-1]).any(axis=1)])
    classes = np.add.reduceat(chances, begins, axis=1)
    best = np.maximum.reduceat(chances, begins, axis=1)
    there = np.clip(chances @ signs, 0.0, 1.0)
    alone = _yes_no(there * hit + (1 - there) * ghost) - there * _yes_no(hit) - (1 - there) * _yes_no(ghost)
    bits = np.minimum(entropy(classes), np.maximum(alone, 0.0).sum(axis=1))
    settles = (classes * (best >= sure * classes)).sum(axis=1)
    return Told(bits, classes.max(axis=1), settles)


def of_touch(row: Floats, scene: Scene, noise: Noise) -> Floats:
    """Bits by end that probing it tells of the outlet with the tone."""
    levels = np.array([noise.far, noise.beside, noise.on])
    where = relations(scene)
    chances = np.stack([(where == relation).T.astype(float) @ row for relation in range(3)], axis=1)
    found: Floats = np.maximum(entropy(chances @ levels) - chances @ entropy(levels), 0.0)
    return found


def of_set(row: Floats, scene: Scene, noise: Noise, sets: Sequence[Net]) -> Floats:
    """Bits that the loudest tone over each set of ends tells of the outlet with the tone."""
    where = relations(scene)
    counts = np.stack(
        [[(where[:, sorted(s)] == relation).sum(axis=1) for s in sets] for relation in range(FAR, ON + 1)]
    )
    at_most = np.cumsum([noise.far, noise.beside, noise.on], axis=1)
    at_most[:, 2] = 1.0
    steps = np.stack([(at_most[:, level][:, None, None] ** counts).prod(axis=0) for level in range(3)], axis=-1)
    levels = np.diff(steps, axis=-1, prepend=0.0)
    kept = (row * entropy(levels)).sum(axis=-1)
    found: Floats = np.maximum(entropy((row[:, None] * levels).sum(axis=1)) - kept, 0.0)
    return found


def _yes_no(chance: Floats | float) -> Floats:
    bounded = np.clip(chance, 1e-15, 1 - 1e-15)
    found: Floats = -(bounded * np.log2(bounded) + (1 - bounded) * np.log2(1 - bounded))
    return found

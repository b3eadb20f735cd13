"""What a reading not yet taken may be expected to tell: bits by which it narrows where an outlet is.

The gain is the mutual information of reading and hypothesis: the entropy of the reading less the entropy it keeps when the
hypothesis is known [shannon1948]. Readings of several outlets at once count as the sum over outlets.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pullstring.trace.assumed import Noise
from pullstring.trace.relations import FAR, ON, Floats, relations
from pullstring.trace.scene import Net, Scene


def entropy(chances: Floats, axis: int = -1) -> Floats:
    """Entropy in bits along an axis of chances that add up to 1."""
    bounded = np.maximum(chances, 1e-300)
    found: Floats = -(chances * np.log2(bounded)).sum(axis=axis)
    return found


def of_clip(rows: Floats, scene: Scene, noise: Noise) -> Floats:
    """Bits by end that clipping a reader on it tells of outlets with a remote; rows are their chances over hypotheses."""
    on = (relations(scene) == ON).astype(float)
    there = rows @ on
    hit = there * noise.remote_hit + (1 - there) * noise.remote_false
    kept = there * _yes_no(noise.remote_hit) + (1 - there) * _yes_no(noise.remote_false)
    found: Floats = np.maximum(_yes_no(hit) - kept, 0.0).sum(axis=0)
    return found


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

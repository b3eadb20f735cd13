"""What was traced, kept while the plan stays as it is: a new reading at a place that was traced before traces nothing anew."""

from __future__ import annotations

import dataclasses
import threading
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pullstring.model.answers import Progress
from pullstring.radio.paths import Kinds
from pullstring.radio.scene import Scene, Spot
from pullstring.radio.traced import BUNDLES, Traced, trace_scene

if TYPE_CHECKING:
    from collections.abc import Sequence

KEPT = 3
"""Ours: plans whose tables are kept at a time."""
_lock = threading.Lock()
_kept: list[_Table] = []


@dataclasses.dataclass(frozen=True)
class _Table:
    """What was traced of one plan, and under which spot it stands."""

    asked: tuple[Scene, tuple[str, ...], Kinds, bool]
    traced: Traced
    at: dict[Spot, int]


def tables(
    scene: Scene, spots: Sequence[Spot], *, bands: Sequence[str], kinds: Kinds, even: bool, progress: Progress
) -> Traced:
    """Every sender at every spot, in the order of the spots; only spots that are new to this plan are traced."""
    bare = dataclasses.replace(scene, rooms=())  # rooms only say where to look
    asked = (bare, tuple(bands), kinds, even)
    with _lock:  # two who ask for the same plan wait for one tracing
        held = next((t for t in _kept if t.asked == asked), None)
        new = [s for s in dict.fromkeys(spots) if held is None or s not in held.at]
        if held is None or new:
            points = np.array(new, float).reshape(-1, 3)
            if not (scene.senders and bands and new):
                return _nothing(scene, np.array(spots, float).reshape(-1, 3), bands)
            traced = trace_scene(scene, points, bands=bands, kinds=kinds, interference=even, progress=progress)
            grown = (
                _Table(asked, traced, {s: i for i, s in enumerate(new)}) if held is None else _grown(held, traced, new)
            )
            _kept[:] = [grown, *(t for t in _kept if t is not held)][:KEPT]
            held = grown
        return part(held.traced, [held.at[s] for s in spots])


def _nothing(scene: Scene, points: NDArray[np.float64], bands: Sequence[str]) -> Traced:
    """Tables where nobody sends, or there is no place to send to."""
    senders, skins = [s.name for s in scene.senders], tuple(sorted(scene.skins))
    shape = (len(senders), len(points), BUNDLES)
    return Traced(
        tuple(bands),
        tuple(senders),
        skins,
        points,
        np.array([s.spot for s in scene.senders], float).reshape(-1, 3),
        np.full((len(bands), len(senders)), np.nan),
        np.zeros((len(bands), *shape), np.float32),
        np.zeros((*shape, len(skins)), np.uint8),
    )


def _grown(held: _Table, traced: Traced, new: Sequence[Spot]) -> _Table:
    """A table with more spots."""
    both = dataclasses.replace(
        held.traced,
        points=np.concatenate([held.traced.points, traced.points]),
        share=np.concatenate([held.traced.share, traced.share], axis=2),
        crossed=np.concatenate([held.traced.crossed, traced.crossed], axis=1),
    )
    first = len(held.at)
    return _Table(held.asked, both, held.at | {s: first + i for i, s in enumerate(new)})


def part(traced: Traced, at: Sequence[int]) -> Traced:
    """The tables of some of the points."""
    which = np.asarray(at, int)
    return dataclasses.replace(
        traced, points=traced.points[which], share=traced.share[:, :, which], crossed=traced.crossed[:, which]
    )

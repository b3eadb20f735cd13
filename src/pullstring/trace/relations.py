"""The hypotheses of a scene as arrays: which ends are on a net, which lie beside it, how a block may be parted."""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
import numpy.typing as npt

from pullstring.trace.scene import NO_NET, Net, Scene, partitions

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
FAR, BESIDE, ON = 0, 1, 2


@functools.lru_cache(maxsize=256)
def relations(scene: Scene, opened: Net = NO_NET) -> npt.NDArray[np.int8]:
    """For each hypothesis (the last row is 'no cable here') and each end: ON its net, BESIDE it in a bundle, or FAR.

    Once a block was opened, an outlet is on its own end alone.
    """
    found = np.full((len(scene.hypotheses) + 1, scene.ends), FAR, dtype=np.int8)
    for row, (end, wired) in enumerate(scene.hypotheses):
        net = frozenset((end,)) if scene.block_of[end] in opened else wired
        found[row, list(scene.neighbours(net))] = BESIDE
        found[row, list(net)] = ON
    found.setflags(write=False)
    return found


@dataclasses.dataclass(frozen=True)
class BlockShape:
    """Blocks of one size: `rows[b, l]` is the hypothesis of block b for local hypothesis l, `parts[p, i]` the local hypothesis
    that partition p gives to local end i, `inside[p, l]` 1 where it does, `groups[p]` how many groups it has."""

    blocks: tuple[int, ...]
    rows: Whole
    parts: Whole
    inside: Floats
    groups: Floats


@dataclasses.dataclass(frozen=True)
class Layout:
    """Where each hypothesis stands: its own end, the ends outside of blocks, and the blocks by size."""

    end: Whole
    alone: Whole
    shapes: tuple[BlockShape, ...]
    unit: Whole
    units: int


@functools.lru_cache(maxsize=64)
def layout(scene: Scene) -> Layout:
    """The arrays of a scene; a unit is a block or an end outside of blocks."""
    number = {hypothesis: row for row, hypothesis in enumerate(scene.hypotheses)}
    end = np.array([e for e, _ in scene.hypotheses], dtype=np.int64)
    free = [e for e in range(scene.ends) if scene.block_of[e] is None]
    alone = np.array([number[e, frozenset((e,))] for e in free], dtype=np.int64)
    unit_of_end = {e: n for n, e in enumerate(free)}
    for n, block in enumerate(scene.blocks):
        unit_of_end.update(dict.fromkeys(block, len(free) + n))
    unit = np.array([unit_of_end[e] for e, _ in scene.hypotheses], dtype=np.int64)
    sizes = sorted({len(b) for b in scene.blocks if b})
    shapes = tuple(_shape(scene, number, size) for size in sizes)
    return Layout(end, alone, shapes, unit, len(free) + len(scene.blocks))


def _shape(scene: Scene, number: dict[tuple[int, Net], int], size: int) -> BlockShape:
    which = tuple(n for n, b in enumerate(scene.blocks) if len(b) == size)
    local = [
        (i, frozenset(j for j in range(size) if mask >> j & 1))
        for i in range(size)
        for mask in range(1 << size)
        if mask >> i & 1
    ]
    place = {hypothesis: n for n, hypothesis in enumerate(local)}
    rows = [[number[b[i], frozenset(b[j] for j in net)] for i, net in local] for b in (scene.blocks[n] for n in which)]
    parted = list(partitions(range(size)))
    parts = [[next(place[i, g] for g in p if i in g) for i in range(size)] for p in parted]
    inside = np.zeros((len(parted), len(local)))
    for n, part in enumerate(parts):
        inside[n, part] = 1.0
    groups = np.array([float(len(p)) for p in parted])
    return BlockShape(which, np.array(rows, dtype=np.int64), np.array(parts, dtype=np.int64), inside, groups)

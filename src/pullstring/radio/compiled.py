"""The door to the compiled kernels: arrays for them, made once for a scene. Importing it fails where there is no compiler."""

from __future__ import annotations

import itertools
import sys
from collections.abc import Callable
from pathlib import Path

import numba
import numpy as np
from numpy.typing import NDArray

from pullstring.radio.gates import Gate
from pullstring.radio.paths import House, Kinds

Floats = NDArray[np.float64]
Tracer = Callable[[Floats, Floats], tuple[NDArray[np.float32], NDArray[np.uint8]]]

if not numba.config.CACHE_DIR:  # what was compiled stays with the environment, not beside the source
    numba.config.CACHE_DIR = str(Path(sys.prefix) / "compiled")

from pullstring.radio import kernels  # noqa: E402
from pullstring.radio.kernels_path import Flat, Work  # noqa: E402


def tracer(house: House, points: Floats, kinds: Kinds, *, cut: float, least: float, bundles: int) -> Tracer:
    """A function that traces one sender (spot, antenna table) to the points, by the compiled kernels."""
    flat = flat_of(house)
    bands, skins = house.made.through.shape[:2]
    ways_from, ways = np.zeros(len(points) + 1, np.int64), np.empty((0, 2), np.int32)
    if kinds.mixed and len(house.gates):
        found = [kernels.reached(flat, *p) for p in points]
        ways_from = np.cumsum([0, *(len(f) for f in found)])
        ways = np.concatenate([*found, ways])
    hit = np.zeros(8 * (house.surfaces.walls // 8 + 1), np.uint8)
    work = Work(
        np.zeros((bands, 3), np.complex128),
        np.zeros(skins, np.uint8),
        hit,
        hit.view(np.uint64),
        *(np.zeros(bands) for _ in range(3)),
    )

    def traced(spot: Floats, gain: Floats) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
        out = kernels.Bundles(
            np.zeros((bands, len(points), bundles)),
            np.zeros((len(points), bundles, skins), np.uint8),
            np.zeros((len(points), bundles), np.uint8),
        )
        kernels.trace(
            flat, spot, gain, points, ways_from, ways, kinds.reflections, kinds.openings, cut, least, work, out
        )
        return out.power.astype(np.float32), out.crossings

    return traced


def flat_of(house: House) -> Flat:
    """The surfaces, tables and gates of a house as the kernels take them."""
    s, made = house.surfaces, house.made
    walls, slabs = s.walls, s.total - s.walls
    boxes = [s.edge[a:b] for a, b in zip(s.edge_from[:-1], s.edge_from[1:], strict=True)]
    frames = [(b[:, 0].min(), b[:, 0].max(), b[:, 1].min(), b[:, 1].max()) if len(b) else (0, 0, 0, 0) for b in boxes]
    nothing = np.zeros(slabs)
    frame = np.array(frames, float).reshape(-1, 4).T
    of_walls = [*s.along.T, s.along[:, 0] * s.start[:, 1] - s.along[:, 1] * s.start[:, 0], (s.along * s.start).sum(1)]
    of_walls += [s.length, s.low, s.high, s.wall_skin, s.patch_from[:-1], s.patch_from[1:]]
    of_slabs = [nothing, nothing, s.level, *frame, s.slab_skin, s.edge_from[:-1], s.edge_from[1:]]
    starts = [0, *(np.flatnonzero((np.diff(s.low) != 0) | (np.diff(s.high) != 0)) + 1), walls] if walls else [0]
    storeys = [(s.low[a], s.high[a], a, b) for a, b in itertools.pairwise(starts)]
    return Flat(
        walls,
        np.array(storeys, float).reshape(-1, 4),
        np.hstack([np.array(of_walls, float).reshape(10, walls), np.array(of_slabs, float).reshape(10, slabs)]),
        np.column_stack([s.patch, s.patch_skin]),
        s.edge,
        np.stack([made.through, made.back]).astype(np.complex128),
        brightest(house),
        house.wavelength_m,
        np.array([_gate(g) for g in house.gates]).reshape(-1, 9),
        np.array([(*_rim(*e), g.wall) for g in house.gates for e in g.edges]).reshape(-1, 8),
    )


def brightest(house: House) -> Floats:
    """Largest power a surface or a patch in it can throw back, between a step of the cosine and the next. [bands, surfaces, steps]"""
    s = house.surfaces
    power = (np.abs(house.made.back) ** 2).max(2)
    power = np.maximum(power, np.concatenate([power[..., 1:], power[..., -1:]], -1))
    skins = [
        [s.wall_skin[k], *(p for p in s.patch_skin[s.patch_from[k] : s.patch_from[k + 1]] if p >= 0)]
        for k in range(s.walls)
    ] + [[k] for k in s.slab_skin]
    found: Floats = np.stack([power[:, k].max(1) for k in skins], 1) if skins else np.zeros((len(power), 0, 1))
    return found


def _gate(gate: Gate) -> tuple[float, ...]:
    return (*gate.foot, gate.along[0], gate.along[1], gate.width_m, gate.low_m, gate.high_m, float(gate.wall))


def _rim(foot: Floats, end: Floats) -> tuple[float, ...]:
    size = float(np.sqrt(((end - foot) ** 2).sum()))
    return (*foot, *((end - foot) / size), size)

"""The door to the compiled kernels: arrays for them, made once for a scene. Importing it fails where there is no compiler."""

from __future__ import annotations

import dataclasses
import hashlib
import importlib.resources
import itertools
import sysconfig
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor

import numba
import numpy as np
from numpy.typing import NDArray

from pullstring.radio.gates import Gate
from pullstring.radio.paths import House, Kinds
from pullstring.radio.skins import STEPS
from pullstring.radio.surfaces import CLOSED_M

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]
Ratio = float
Many = int
Sending = tuple[Floats, Floats]
"""Where a sender stands, and the table of its antenna."""
Into = tuple[NDArray[np.float32], NDArray[np.uint8]]
Tracer = Callable[[Sequence[Sending], NDArray[np.float32], NDArray[np.uint8]], Iterator[Many]]
TASKS = 8  # ours: fewer senders are traced one after the other, each in so many parts, by cells
CELL_M = 3.0  # ours: points so close together share their lists of surfaces
SAMPLE_M = 2.0  # ours: so far apart a wall is looked at from afar
NOWHERE_M = 1e9  # ours: a size below zero by so much is touched by nothing; the kernels know no infinity
MARGIN = 2.0  # ours: sight from afar is taken to be 3 dB too dark


def _edition() -> str:
    """Which text the kernels have: what was compiled of another text must not be taken, and the compiler looks at one file only."""
    folder = importlib.resources.files("pullstring.radio")
    texts = sorted((one.name, one.read_bytes()) for one in folder.iterdir() if one.name.startswith("kernels"))
    return hashlib.sha256(repr(texts).encode()).hexdigest()[:12]


if not numba.config.CACHE_DIR:  # what was compiled stays with the environment, not beside the source
    numba.config.CACHE_DIR = f"{sysconfig.get_path('data')}/compiled/{_edition()}"

from pullstring.radio import kernels, kernels_lists, kernels_sight, kernels_strings  # noqa: E402
from pullstring.radio.kernels_cells import Aids, Cells, Sent, Sum  # noqa: E402
from pullstring.radio.kernels_house import GROUP, LANES, Flat, Work  # noqa: E402


@dataclasses.dataclass(frozen=True)
class _Made:
    """Everything that all senders share."""

    house: House
    kinds: Kinds
    flat: Flat
    aids: Aids
    things: kernels_sight.Things
    cells: Cells
    between: Floats
    """Most that is left between two things. [things, things, bands]"""
    order: NDArray[np.int64]
    """Where each point of the cells stands among those asked for."""


def tracer(house: House, points: Floats, kinds: Kinds, *, cut: Ratio, least: Ratio, bundles: Many) -> Tracer:
    """A function that traces senders (spot, antenna table) to the points, side by side, by the compiled kernels.

    It fills `share` [bands, senders, points, bundles] and `crossed` [senders, points, bundles, skins], and gives the number
    of each sender that is done.

    Parameters
    ----------
    house : House
    points : array [p, 3]
        Where levels are asked for. [m]
    kinds : Kinds
        Which paths are followed.
    cut : float
        A path is passed over that is weaker than this share of what has arrived at its point. [1]
    least : float
        The same, of the power radiated. [1]
    bundles : int
        How many sets of crossings are kept apart for a point.

    References
    ----------
    As `paths`. Checked in ``tests/radio/test_traced.py``.
    """
    made = _made(house, points, kinds)
    cells = len(made.cells.start) - 1

    def one(numbered: tuple[Many, Sending], into: Into, run: Callable[..., Iterator[None]], parts: Many) -> Many:
        s, sending = numbered
        sent, out = _sent(made, np.asarray(sending[0], float), sending[1]), begun(len(into[0]), into[1].shape[-1])
        borders = np.linspace(0, cells, parts + 1).astype(int)
        for _ in run(lambda first, last: part(sent, out, first, last), borders[:-1], borders[1:]):
            pass
        into[0][:, s, made.order], into[1][s, made.order] = out.power, out.counts
        return s

    def begun(bands: Many, skins: Many) -> Sum:
        nothing, count = np.zeros((0, 0, 0)), len(points)
        return Sum(
            np.zeros((count, bands)),
            np.zeros(0, np.int32),
            nothing,
            nothing,
            np.zeros(count, np.int64),
            np.zeros((bands, count, bundles), np.float32),
            np.zeros((count, bundles, skins), np.uint8),
            np.array([cut, least]),
        )

    def part(sent: Sent, out: Sum, first: int, last: int) -> None:
        total, rims, gates = made.flat.plates.shape[1], len(made.aids.rims), len(made.aids.gates)
        own = out._replace(
            listed=np.zeros(total * total + 1, np.int32),
            ways=np.zeros((rims * (total if kinds.mixed else 1) // LANES + 1, 13, LANES)),
            strings=np.zeros((gates**2 // LANES + 1, kernels_strings.ROWS, LANES)),
        )
        kinds_of = (kinds.reflections, kinds.openings)
        kernels.trace(made.flat, made.aids, made.cells, sent, *kinds_of, first, last, own, _work(house))

    def traced(senders: Sequence[Sending], share: NDArray[np.float32], crossed: NDArray[np.uint8]) -> Iterator[Many]:
        into = (share, crossed)
        with ThreadPoolExecutor() as pool:
            if len(senders) >= TASKS:
                yield from pool.map(lambda n: one(n, into, map, 1), enumerate(senders))
            else:
                for n in enumerate(senders):
                    yield one(n, into, pool.map, TASKS)

    return traced


def _made(house: House, points: Floats, kinds: Kinds) -> _Made:
    flat, aids, things, work = flat_of(house), _aids(house), _things(house), _work(house)
    bands = len(house.made.through)
    count = len(things.first) - 1
    between = np.zeros((count, count, bands))
    if kinds.reflections > 1 or kinds.openings > 1:
        rows = np.repeat(np.arange(count), np.diff(things.first))
        kernels_sight.look_all(flat, things, things.samples, rows, MARGIN, between, work)
        between[np.diff(things.first) == 0] = 1.0
    order, cells = _cells(points, house, kinds, flat, aids, things, between, work)
    return _Made(house, kinds, flat, aids, things, cells, between, order)


def _work(house: House) -> Work:
    """Room for one thread."""
    bands, skins = house.made.through.shape[:2]
    return Work(
        np.zeros((11, max(3, bands))),
        np.zeros((3, 3), np.int64),
        np.zeros((3 * house.surfaces.total + 1, 3), np.int32),
        np.zeros((bands, 3), np.complex128),
        np.zeros(skins, np.uint8),
    )


def _cells(
    points: Floats, house: House, kinds: Kinds, flat: Flat, aids: Aids, things: kernels_sight.Things, between: Floats,
    work: Work,
) -> tuple[NDArray[np.int64], Cells]:  # fmt: skip
    """Points by storey and by squares of the plan."""
    bands = len(house.made.through)
    levels = np.unique(house.surfaces.level)
    keys = np.column_stack([np.searchsorted(levels, points[:, 2]), np.floor(points[:, :2] / CELL_M).astype(int)])
    _, which = np.unique(keys, axis=0, return_inverse=True)
    order = np.argsort(which.ravel(), kind="stable")
    start = np.searchsorted(which.ravel()[order], np.arange(which.max(initial=-1) + 2))
    sorted_points = np.ascontiguousarray(points[order])
    groups = [sorted_points[a:b] for a, b in itertools.pairwise(start)]
    low = np.array([g.min(0) for g in groups]).reshape(-1, 3)
    high = np.array([g.max(0) for g in groups]).reshape(-1, 3)
    view = np.zeros((len(groups), len(things.first) - 1, bands))
    ways: list[tuple[Whole, Floats]] = []
    if kinds.reflections or kinds.openings:
        spots, rows = _lookers(groups)
        kernels_sight.look_all(flat, things, spots, rows, MARGIN, view, work)
    if kinds.mixed:
        with ThreadPoolExecutor() as pool:
            ways = list(pool.map(lambda g, v: _ways(flat, aids, between, g, v), groups, view))
    return order, Cells(
        sorted_points,
        start,
        np.hstack([(low + high) / 2, (high - low) / 2]),
        view,
        np.cumsum([0, *(len(w) for w, _ in ways)]),
        np.concatenate([np.empty((0, 3), np.int32), *(w for w, _ in ways)]),
        np.concatenate([np.empty((0, bands)), *(s for _, s in ways)]),
    )


def _lookers(groups: list[Floats]) -> tuple[Floats, NDArray[np.int64]]:
    """A few points at the corners of each cell, and which cell they stand for."""
    spots, rows = [], []
    for c, group in enumerate(groups):
        x, y = group[:, 0], group[:, 1]
        some = {int(np.argmin(x + y)), int(np.argmax(x + y)), int(np.argmin(x - y)), int(np.argmax(x - y))}
        spots += [group[i] for i in sorted(some)]
        rows += [c] * len(some)
    return np.array(spots).reshape(-1, 3), np.array(rows, np.int64)


def _ways(flat: Flat, aids: Aids, between: Floats, spots: Floats, view: Floats) -> tuple[Whole, Floats]:
    """Surface, edge and opening by which spots can be reached by one reflection behind one edge, best first."""
    surfaces, bands = flat.plates.shape[1], view.shape[1]
    table = np.zeros((surfaces, len(aids.rims), bands))
    for spot in spots:
        kernels_lists.reach(flat, aids, *spot, table)
    gate = aids.rims[:, -1].astype(int)
    table *= between[:surfaces, surfaces + gate] * view[:surfaces, None]
    return _best_first(table, gate)


def _best_first(table: Floats, gate: NDArray[np.int64]) -> tuple[Whole, Floats]:
    best = table.max(2)
    surface, edge = np.nonzero(best)
    order = np.argsort(-best[surface, edge], kind="stable")
    surface, edge = surface[order], edge[order]
    return np.column_stack([surface, edge, gate[edge]]).astype(np.int32), table[surface, edge]


def _sent(made: _Made, spot: Floats, gain: Floats) -> Sent:
    """What one sender can reach."""
    flat, aids, kinds = made.flat, made.aids, made.kinds
    surfaces, bands = flat.plates.shape[1], len(made.house.made.through)
    view = np.zeros((1, len(made.things.first) - 1, bands))
    if kinds.reflections or kinds.openings:
        kernels_sight.look(flat, made.things, *spot, MARGIN, 0, view, _work(made.house))
    pairs, images = np.empty((0, 2), np.int32), np.empty((0, 10))
    pair_share = string_share = way_share = np.empty((0, bands))
    ways, strings = np.empty((0, 3), np.int32), np.empty((0, 2), np.int32)
    if kinds.reflections > 1:
        pairs, images = kernels_lists.pairs(flat, *spot)
        pair_share = view[0, pairs[:, 0]] * made.between[pairs[:, 0], pairs[:, 1]]
        order = np.argsort(-pair_share.max(1), kind="stable")
        pairs, images, pair_share = pairs[order], images[order], pair_share[order]
    if kinds.mixed:
        ways, way_share = _ways(flat, aids, made.between, spot[None], view[0])
    if kinds.openings > 1:
        strings = kernels_lists.strings(flat, aids, *spot)
        string_share = (
            view[0, surfaces + strings[:, 0]] * made.between[surfaces + strings[:, 0], surfaces + strings[:, 1]]
        )
    first = spot - 2 * _sides(flat, spot)[:, None] * _normals(flat)
    even = 2 if (gain == 1).all() else int(np.ptp(gain, 0).max() < 1e-9)
    return Sent(spot, first, view, pairs, images, pair_share, ways, way_share, strings, string_share, gain, even)


def _normals(flat: Flat) -> Floats:
    normals = np.column_stack([-flat.plates[1], flat.plates[0], np.zeros(flat.plates.shape[1])])
    normals[flat.walls :] = (0.0, 0.0, 1.0)
    return normals


def _sides(flat: Flat, spot: Floats) -> Floats:
    sides: Floats = _normals(flat) @ spot - flat.plates[2]
    return sides


def flat_of(house: House) -> Flat:
    """The surfaces and tables of a house as the kernels take them."""
    s, made = house.surfaces, house.made
    walls, slabs = s.walls, s.total - s.walls
    boxes = [s.edge[a:b] for a, b in itertools.pairwise(s.edge_from)]
    frames = [(b[:, 0].min(), b[:, 0].max(), b[:, 1].min(), b[:, 1].max()) if len(b) else (0, 0, 0, 0) for b in boxes]
    nothing = np.zeros(slabs)
    frame = np.array(frames, float).reshape(-1, 4).T
    of_walls = [*s.along.T, s.along[:, 0] * s.start[:, 1] - s.along[:, 1] * s.start[:, 0], (s.along * s.start).sum(1)]
    of_walls += [s.length, s.low, s.high, s.wall_skin, s.patch_from[:-1], s.patch_from[1:]]
    of_slabs = [nothing, nothing, s.level, *frame, s.slab_skin, s.edge_from[:-1], s.edge_from[1:]]
    starts = [0, *(np.flatnonzero((np.diff(s.low) != 0) | (np.diff(s.high) != 0)) + 1), walls] if walls else [0]
    plates = np.hstack([np.array(of_walls, float).reshape(10, walls), np.array(of_slabs, float).reshape(10, slabs)])
    wave = house.wavelength_m
    return Flat(
        walls,
        *_planks(plates[:7, :walls], starts),
        plates,
        np.column_stack([s.patch, s.patch_skin]),
        s.edge,
        np.stack([made.through, made.back]).astype(np.complex128),
        _most(house),
        np.stack([wave, (wave / (4 * np.pi)) ** 2]),
    )


def _planks(walls: Floats, starts: list[int]) -> tuple[Floats, Floats, Floats]:
    """Storeys [n, 4] as low, high, first and last group; their walls in blocks; what the blocks of a group cover from above.

    A wall of length -1 stands where a block is not full, and a hull that nothing touches where a group is not full.
    """
    storeys: list[tuple[float, ...]] = []
    blocks: list[Floats] = []
    hulls: list[Floats] = []
    x = np.stack([walls[3] * walls[0] - walls[2] * walls[1], (walls[3] + walls[4]) * walls[0] - walls[2] * walls[1]])
    y = np.stack([walls[3] * walls[1] + walls[2] * walls[0], (walls[3] + walls[4]) * walls[1] + walls[2] * walls[0]])
    for a, b in itertools.pairwise(starts):
        begun = len(blocks) // GROUP
        for which in _neighbours(np.arange(a, b), (x.sum(0), y.sum(0))):
            full = np.zeros((8, LANES))
            full[0], full[4] = 1.0, -1.0
            full[:7, : len(which)], full[7, : len(which)] = walls[:, which], which
            blocks.append(full)
            low, high = (np.array([f(x[:, which]), f(y[:, which])]) for f in (np.min, np.max))
            hulls.append(np.concatenate([(low + high) / 2, (high - low) / 2 + CLOSED_M * 10]))
        while len(blocks) % GROUP:
            blocks.append(np.zeros((8, LANES)))
            hulls.append(np.array([0.0, 0.0, -NOWHERE_M, -NOWHERE_M]))
        storeys.append((walls[5, a], walls[6, a], begun, len(blocks) // GROUP))
    groups = np.array(hulls).reshape(-1, GROUP, 4).swapaxes(1, 2)
    return (
        np.array(storeys, float).reshape(-1, 4),
        np.array(blocks).reshape(-1, 8, LANES),
        np.ascontiguousarray(groups),
    )


def _neighbours(which: NDArray[np.int64], at: tuple[Floats, Floats]) -> list[NDArray[np.int64]]:
    """Walls in blocks of those that lie close together: halved across the longer way, again and again."""
    if len(which) <= LANES:
        return [which] if len(which) else []
    x, y = at[0][which], at[1][which]
    which = which[np.argsort(x if np.ptp(x) > np.ptp(y) else y, kind="stable")]
    half = -(-len(which) // LANES) // 2 * LANES
    return [*_neighbours(which[:half], at), *_neighbours(which[half:], at)]


def _most(house: House) -> Floats:
    """Largest power through and back, of both polarisations, between a step of the cosine and the next. [2, bands, skins, STEPS]"""
    power = np.stack([np.abs(house.made.through) ** 2, np.abs(house.made.back) ** 2]).max(3).astype(float)
    most: Floats = np.maximum(power[..., :-1], power[..., 1:]) * (1 + 1e-6)  # rounding must not make it less
    return most


def _aids(house: House) -> Aids:
    s, back = house.surfaces, _most(house)[1]
    skins = [
        [s.wall_skin[k], *(p for p in s.patch_skin[s.patch_from[k] : s.patch_from[k + 1]] if p >= 0)]
        for k in range(s.walls)
    ] + [[k] for k in s.slab_skin]
    bright = np.stack([back[:, k].max(1) for k in skins], 1) if skins else np.zeros((len(back), 0, STEPS))
    rims = [(*_rim(*e), g.wall, n) for n, g in enumerate(house.gates) for e in g.edges]
    return Aids(
        np.array([_gate(g) for g in house.gates]).reshape(-1, 9),
        np.array(rims).reshape(-1, 9),
        np.cumsum([0, *(len(g.edges) for g in house.gates)]),
        bright,
        np.maximum.accumulate(bright[..., ::-1], -1)[..., ::-1].copy(),
    )


def _things(house: House) -> kernels_sight.Things:
    """Samples along every wall at half its height, and across every opening; none on slabs."""
    s, found = house.surfaces, []
    for k in range(s.walls):
        n = int(np.ceil(s.length[k] / SAMPLE_M))
        u = (np.arange(n) + 0.5) * s.length[k] / n
        flat = s.start[k] + u[:, None] * s.along[k]
        found.append(np.column_stack([flat, np.full(n, (s.low[k] + s.high[k]) / 2)]))
    found += [np.empty((0, 3))] * (s.total - s.walls)
    for gate in house.gates:
        u = np.array([0.02, 0.5, 0.98]) * gate.width_m
        found.append(gate.foot + u[:, None] * gate.along + np.array([0, 0, (gate.high_m - gate.low_m) / 2]))
    return kernels_sight.Things(
        np.concatenate([np.empty((0, 3)), *found]), np.cumsum([0, *(len(one) for one in found)])
    )


def _gate(gate: Gate) -> tuple[float, ...]:
    return (*gate.foot, gate.along[0], gate.along[1], gate.width_m, gate.low_m, gate.high_m, float(gate.wall))


def _rim(foot: Floats, end: Floats) -> tuple[float, ...]:
    size = float(np.sqrt(((end - foot) ** 2).sum()))
    return (*foot, *((end - foot) / size), size)

"""Lines of equal level on a floor, and where nothing is known: geometry alone, in the building's axes.

A wall is a step in the level, so no line runs through one: each part of the floor that walls enclose has lines of its
own, and they end at its walls. Where nothing is known there is no line either.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import contourpy
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from pullstring.model.geometry import RoomShape, WallShape
from pullstring.papers import walls
from pullstring.papers.svg import Point

Numbers = NDArray[np.float64]
Mask = NDArray[np.bool_]
STEP_DB = 5
HIGHEST_DBM, LOWEST_DBM = -30, -95  # ours: nothing is decided beyond these
SHORTEST_M = 0.5  # ours, at 1:100: a line that is shorter is a speck
BENT_M = 0.01  # ours: corners of a line that turn by less than this are left out
AROUND = 2  # so many points beyond a wall carry the level on, so that lines reach the wall
AGREED, WEAKEST, PLAIN = "agreed", "weakest", "plain"


@dataclasses.dataclass(frozen=True)
class Contour:
    """One line of equal level; `kind` is agreed, weakest or plain."""

    level_dbm: int
    kind: str
    points: tuple[Point, ...]

    @property
    def length_m(self) -> float:
        """Its length in the house."""
        return sum(math.dist(a, b) for a, b in zip(self.points, self.points[1:], strict=False))


@dataclasses.dataclass(frozen=True)
class Contours:
    """All lines of a floor, what of it is not known, and the weakest and strongest level that is."""

    lines: tuple[Contour, ...]
    unknown: BaseGeometry
    low_dbm: float | None
    high_dbm: float | None


def parts_of_floor(rooms: Sequence[RoomShape], standing: Sequence[WallShape]) -> list[BaseGeometry]:
    """What walls enclose: rooms between which no wall stands are one part; without any wall each room is one."""
    shapes = [shapely.union_all([shapely.Polygon(p).buffer(0) for p in r.pieces]) for r in rooms]
    if not standing:
        return [s for s in shapes if not s.is_empty]
    bodies = shapely.union_all(walls.full_boxes(standing))
    free = shapely.union_all(shapes).difference(bodies)
    return [p for p in getattr(free, "geoms", [free]) if p.area > 0.05]


def contours(
    field: Mapping[str, Any], parts: Iterable[BaseGeometry], *, edge_dbm: float, shortest_m: float
) -> Contours:
    """Lines each 5 dB and at the agreed edge.

    Parameters
    ----------
    field : mapping
        `x_m`, `y_m` of a grid in the building's axes, `level_dbm` and `unknown` in rows by y. [m, dBm]
    parts : iterable of geometries
        What walls enclose, from `parts_of_floor`.
    edge_dbm : float
        The level that was agreed on. [dBm]
    shortest_m : float
        Lines shorter than this are left out. [m]
    """
    parts = list(parts)
    if not len(field["x_m"]) or not len(field["y_m"]):
        return Contours((), shapely.union_all(parts), None, None)
    grid = _Grid.of(field)
    raw: list[tuple[int, tuple[Point, ...]]] = []
    dark: list[BaseGeometry] = []
    seen: list[float] = []
    edge = round(edge_dbm)
    for part in parts:
        inside = shapely.contains_xy(part, grid.x[None, :], grid.y[:, None])
        known = inside & np.isfinite(grid.level)
        if not inside.any():
            continue
        hidden = _dark(grid, part, known, inside)
        dark.append(hidden)
        if not known.any():
            continue
        here = grid.level[known]
        seen += [float(here.min()), float(here.max())]
        level = _carried_on(np.where(known, grid.level, np.nan), ~inside)
        raw += _lines(grid, level, part.difference(hidden), _levels(here, edge), shortest_m)
    lowest = min((level for level, _ in raw), default=edge)
    lines = tuple(Contour(level, _kind(level, edge, lowest), points) for level, points in raw)
    return Contours(lines, shapely.union_all(dark), min(seen) if seen else None, max(seen) if seen else None)


@dataclasses.dataclass(frozen=True)
class _Grid:
    """The field as arrays; NaN where nothing is known."""

    x: Numbers
    y: Numbers
    level: Numbers

    @classmethod
    def of(cls, field: Mapping[str, Any]) -> _Grid:
        x, y = (np.asarray(field[name], dtype=float) for name in ("x_m", "y_m"))
        level = np.array([[np.nan if v is None else v for v in row] for row in field["level_dbm"]], dtype=float)
        level = level.reshape(len(y), len(x))
        hidden = np.asarray(field["unknown"], dtype=bool).reshape(len(y), len(x))
        level = np.pad(np.where(hidden, np.nan, level), AROUND, constant_values=np.nan)
        return cls(_widened(x), _widened(y), level)

    @property
    def step(self) -> tuple[float, float]:
        """Distance of two points along each axis."""
        return float(self.x[1] - self.x[0]), float(self.y[1] - self.y[0])

    def squares(self, chosen: Mask, by: float) -> BaseGeometry:
        """What lies nearer to the chosen points than to others, a little widened or narrowed."""
        j, i = np.nonzero(chosen)
        dx, dy = (s * (0.5 + by) for s in self.step)
        return shapely.union_all(shapely.box(self.x[i] - dx, self.y[j] - dy, self.x[i] + dx, self.y[j] + dy))


def _widened(axis: Numbers) -> Numbers:
    """An axis of the grid, carried on at both ends so that lines reach walls at its edge."""
    step = float(axis[1] - axis[0]) if len(axis) > 1 else 1.0
    more = step * np.arange(1, AROUND + 1)
    return np.concatenate([axis[0] - more[::-1], axis, axis[-1] + more])


def _levels(here: Numbers, edge_dbm: int) -> list[int]:
    low = max(LOWEST_DBM, math.ceil(float(here.min()) / STEP_DB) * STEP_DB)
    high = min(HIGHEST_DBM, math.floor(float(here.max()) / STEP_DB) * STEP_DB)
    return sorted({*range(low, high + 1, STEP_DB), edge_dbm})


def _kind(level_dbm: int, edge_dbm: int, lowest_dbm: int) -> str:
    if level_dbm == edge_dbm:
        return AGREED
    return WEAKEST if level_dbm == lowest_dbm < edge_dbm else PLAIN


def _dark(grid: _Grid, part: BaseGeometry, known: Mask, inside: Mask) -> BaseGeometry:
    """What of a part is not known: round the points without a level, up to those that have one."""
    unknown = inside & ~known
    if not unknown.any():
        return shapely.Polygon()
    if not known.any():
        return part
    return grid.squares(unknown, 0.5).difference(grid.squares(known, 0.0)).intersection(part)


NEIGHBOURS = tuple((j, i) for j in (-1, 0, 1) for i in (-1, 0, 1) if (j, i) != (0, 0))


def _carried_on(level: Numbers, free: Mask) -> Numbers:
    """The level carried on over points behind the walls, a few points far: straight on from two neighbours in a row."""
    rows, columns = level.shape
    for _ in range(AROUND):
        padded = np.pad(level, 2, constant_values=np.nan)
        near, beyond = (
            np.stack([padded[2 + n * j : 2 + n * j + rows, 2 + n * i : 2 + n * i + columns] for j, i in NEIGHBOURS])
            for n in (1, 2)
        )
        on = np.where(np.isnan(beyond), np.nan, 2 * near - beyond)
        straight, flat = _mean(on), _mean(near)
        level = np.where(free & np.isnan(level), np.where(np.isnan(straight), flat, straight), level)
    return level


def _mean(layers: Numbers) -> Numbers:
    """The mean of the known ones; NaN where none is."""
    count = np.isfinite(layers).sum(axis=0)
    return np.where(count, np.nansum(layers, axis=0) / np.maximum(count, 1), np.nan)


def _lines(
    grid: _Grid, level: Numbers, area: BaseGeometry, wanted: Iterable[int], shortest_m: float
) -> Iterator[tuple[int, tuple[Point, ...]]]:
    made = contourpy.contour_generator(x=grid.x, y=grid.y, z=np.ma.masked_invalid(level))
    for value in wanted:
        for points in made.lines(value):
            if len(points) < 2:
                continue
            cut = shapely.LineString(points).simplify(BENT_M).intersection(area)
            for piece in _pieces(cut):
                if piece.length >= shortest_m:
                    yield value, tuple((float(x), float(y)) for x, y in piece.coords)


def _pieces(cut: BaseGeometry) -> list[shapely.LineString]:
    """The lines of an intersection, those that only part at the first point of a ring put together."""
    lines = [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and not g.is_empty]
    if len(lines) < 2:
        return lines
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return list(getattr(merged, "geoms", [merged]))

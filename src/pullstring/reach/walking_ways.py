"""Ways through a property as a net: regions one can cross, nodes in them, and edges from region to region.

House rules: a node lies in exactly one region; inside a region one walks the shortest line that stays in it (a region without
a shape is crossed at one assumed length); an edge leads from a node of one region to a node of another and carries metres,
seconds besides, and how well it is known. Regions that no edge joins are other parts; `part` says which.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt
import shapely

from pullstring.model.geometry import Point
from pullstring.model.refs import Ref

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Shape = Any
"""A polygon of shapely, or None where there is none."""
PLAN, BOXES, GUESSED = 0, 1, 2
HOW = ("plan", "boxes", "guessed")
"""How well a way is known: by noted doors and stairs; by rooms that touch or are said to; not at all."""
SNAP_M = 1e-3
SAME_M = 0.73e-3
"""Lengths and areas that differ by less are equal. No multiple of what lengths are written in, so that none lies on the border."""
SAME_S = 1e-9
T = TypeVar("T")


@dataclasses.dataclass(frozen=True)
class Guesses:
    """What is assumed where nobody noted a way; all ours."""

    room_m: float
    outdoors_m: float
    unknown_m: float
    detour: float
    ladder_s: float


@dataclasses.dataclass(frozen=True, eq=False)
class Region:
    """One space to cross: a room, a walled-in space that nobody noted, outdoors, or a mere meeting of guessed ways."""

    kind: str
    of: Ref | None
    shape: Shape
    crossing_m: float = 0.0

    def snapped(self, point: Point | None) -> Point | None:
        """A point moved into the region; None stays None, and all points of a region without a shape are None."""
        if self.shape is None or point is None:
            return None
        at = shapely.Point(point)
        if self.shape.covers(at):
            return point
        near = shapely.get_point(shapely.shortest_line(self.shape, at), 0)
        return float(near.x), float(near.y)

    def middle(self) -> Point | None:
        """The centre of gravity, or the point of the region nearest to it."""
        if self.shape is None:
            return None
        return self.snapped((float(self.shape.centroid.x), float(self.shape.centroid.y)))


@dataclasses.dataclass(frozen=True)
class Edge:
    """A way from a node to a node: a door, a gap, a stair, a guess."""

    a: int
    b: int
    metres: float
    seconds: float
    tier: int
    code: str
    of: tuple[Ref, ...]


class Ways:
    """Regions, nodes and edges while they are gathered."""

    def __init__(self) -> None:
        self.regions: list[Region] = []
        self.nodes: list[tuple[int, Point | None]] = []
        self.edges: list[Edge] = []
        self._over: list[int] = []

    def add(self, region: Region) -> int:
        """A new region, in a part of its own."""
        self.regions.append(region)
        self._over.append(len(self._over))
        return len(self.regions) - 1

    def part(self, region: int) -> int:
        """The number of the part a region is in."""
        while self._over[region] != region:
            self._over[region] = self._over[self._over[region]]
            region = self._over[region]
        return region

    def degree(self, region: int) -> int:
        """How many ways lead out of a region."""
        return sum(self.nodes[n][0] == region for e in self.edges for n in (e.a, e.b))

    def join(
        self,
        a: tuple[int, Point | None],
        b: tuple[int, Point | None],
        *,
        seconds: float,
        tier: int,
        code: str = "",
        of: Sequence[Ref] = (),
        metres: float = 0.0,
    ) -> None:
        """A way between a point of one region and a point of another; from a point outside its region one walks straight."""
        for region, point in (a, b):
            at = self.regions[region].snapped(point)
            metres += math.dist(at, point) if at is not None and point is not None else 0.0
            self.nodes.append((region, at))
        self.edges.append(Edge(len(self.nodes) - 2, len(self.nodes) - 1, metres, seconds, tier, code, tuple(of)))
        self._over[self.part(a[0])] = self.part(b[0])


def in_order(items: Iterable[T], key: Callable[[T], Sequence[float]], *, slack: Sequence[float]) -> list[T]:
    """Items by several numbers each, where a number that exceeds the next smaller one by no more than its slack is its equal.

    Rounding would not do: of two equal lengths that end in half of the last digit kept, one is rounded up and one down.
    Items that are equal in all keep their order.
    """
    found = list(items)
    places = _places([key(item) for item in found], slack)
    return [found[n] for n in sorted(range(len(found)), key=places.__getitem__)]


def _places(rows: Sequence[Sequence[float]], slack: Sequence[float]) -> list[tuple[int, ...]]:
    """For each row the place of each number in its column; equals share one."""
    columns = []
    for column, least in zip(zip(*rows, strict=True), slack, strict=False):
        values = sorted(set(column))
        steps = [0, *(high - low > least for low, high in itertools.pairwise(values))]
        place = dict(zip(values, itertools.accumulate(steps), strict=True))
        columns.append([place[v] for v in column])
    return list(zip(*columns, strict=True))


def grown(shape: Shape, *, by_m: float) -> Shape:
    """A shape made larger on all sides, or smaller, with its corners kept sharp.

    The library looks for the corner of two sides in one line, finds none, and takes another way; that is no fault.
    """
    with np.errstate(invalid="ignore"):
        return shape.buffer(by_m, join_style="mitre")


def inside_m(region: Region, points: Sequence[Point | None]) -> Floats:
    """Shortest walks inside one region between its points. [m]

    Straight where the line stays inside, else round its corners (a shortest path among obstacles turns only at their
    corners). A point that sees nothing is reached straight.
    """
    count = len(points)
    if region.shape is None:
        return region.crossing_m * (1 - np.eye(count))
    at = np.array([*[p for p in points if p is not None], *_corners(region.shape)], dtype=float).reshape(-1, 2)
    apart: Floats = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    one, other = np.triu_indices(len(at), 1)
    lines = shapely.linestrings(np.stack([at[one], at[other]], axis=1))
    roomy = grown(region.shape, by_m=SNAP_M)
    shapely.prepare(roomy)
    seen = shapely.covers(roomy, lines)
    metres = np.full((len(at), len(at)), np.inf)
    np.fill_diagonal(metres, 0.0)
    metres[one[seen], other[seen]] = metres[other[seen], one[seen]] = apart[one[seen], other[seen]]
    for k in range(len(at)):
        np.minimum(metres, metres[:, k, None] + metres[None, k, :], out=metres)
    found = metres[:count, :count]
    return np.where(np.isfinite(found), found, apart[:count, :count])


def _corners(shape: Shape) -> list[Point]:
    """Corners at which a way may have to turn: those where the region's edge bends inward."""
    ringed = shapely.geometry.polygon.orient(shape)
    found: list[Point] = []
    for ring in (ringed.exterior, *ringed.interiors):
        at = np.asarray(ring.coords)[:-1]
        before, after = at - np.roll(at, 1, axis=0), np.roll(at, -1, axis=0) - at
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        found += [(float(x), float(y)) for x, y in at[turn < 0]]
    return found


@dataclasses.dataclass(frozen=True, eq=False)
class Closed:
    """Shortest times between all nodes of a net, and how well each is known."""

    seconds: Floats
    tiers: Whole
    of_region: tuple[tuple[int, ...], ...]


def closed(ways: Ways, *, walk_m_per_s: float) -> Closed:
    """Shortest times between all nodes [s], by trying each node as a stop between all others."""
    count = len(ways.nodes)
    seconds = np.full((count, count), np.inf)
    tiers = np.zeros((count, count), dtype=np.int64)
    np.fill_diagonal(seconds, 0.0)
    of_region: list[list[int]] = [[] for _ in ways.regions]
    for number, (region, _) in enumerate(ways.nodes):
        of_region[region].append(number)
    for crossed, mine in zip(ways.regions, of_region, strict=True):
        if mine:
            seconds[np.ix_(mine, mine)] = inside_m(crossed, [ways.nodes[n][1] for n in mine]) / walk_m_per_s
    for edge in ways.edges:
        taken = edge.seconds + edge.metres / walk_m_per_s
        if taken < seconds[edge.a, edge.b]:
            seconds[[edge.a, edge.b], [edge.b, edge.a]] = taken
            tiers[[edge.a, edge.b], [edge.b, edge.a]] = edge.tier
    for k in range(count):
        by = seconds[:, k, None] + seconds[None, k, :]
        tier = np.maximum(tiers[:, k, None], tiers[None, k, :])
        better = (by < seconds - SAME_S) | ((by <= seconds + SAME_S) & (tier < tiers))
        seconds, tiers = np.where(better, by, seconds), np.where(better, tier, tiers)
    return Closed(seconds, tiers, tuple(map(tuple, of_region)))

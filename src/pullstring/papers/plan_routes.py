"""Ways of runs across a floor: along the building's axes, through the rooms of their pathways, few bends, few walls.

The lines run on a net of levels: along the rooms' edges, through doors, at each thing. The cheapest way from one thing to
all others is found at once (Dijkstra 1959), so ways that share a stretch share its lines; `plan_lanes` sets them apart.
"""

from __future__ import annotations

import dataclasses
import heapq
import math
from collections.abc import Iterable, Sequence

import numpy as np

from pullstring.papers.plan_field import Field, Numbers
from pullstring.papers.svg import Point

INSETS_M = (0.3, 0.5)  # ours: how far from a room's edge runs are drawn, the nearer where the wall leaves room
BEND, WALL, MIDDLE, THINGS = 0.7, 6.0, 1.0, 12.0  # ours, of costs: a bend; a metre in walls, off the edges, on symbols
NEAR_M = 0.12  # ours: levels nearer than this are one, unless a thing stands on them
MOST_LEVELS = 140


@dataclasses.dataclass(frozen=True)
class Ground:
    """Where runs may lie: the rooms allowed, and the fields of walls, of symbols and of what is off the edges."""

    allowed: Field
    walls: Field
    things: Field
    middle: Field


@dataclasses.dataclass(frozen=True)
class Net:
    """The levels, and the cost of each step to the right and upwards; infinite where no run may lie."""

    xs: Numbers
    ys: Numbers
    right: Numbers
    up: Numbers

    def node(self, point: Point) -> int:
        """The number of the crossing at a point."""
        i = int(np.argmin(np.abs(self.xs - point[0])))
        j = int(np.argmin(np.abs(self.ys - point[1])))
        return j * len(self.xs) + i

    def at(self, node: int) -> Point:
        """The point of a crossing."""
        return float(self.xs[node % len(self.xs)]), float(self.ys[node // len(self.xs)])


def net(ground: Ground, rooms: Iterable[Sequence[Point]], doors: Iterable[Point], things: Sequence[Point]) -> Net:
    """The net for some rooms, their doors and the things to be reached."""
    corners = [p for ring in rooms for p in ring]
    wanted_x = [x + d for x, _ in corners for inset in INSETS_M for d in (-inset, inset)] + [x for x, _ in doors]
    wanted_y = [y + d for _, y in corners for inset in INSETS_M for d in (-inset, inset)] + [y for _, y in doors]
    xs = _levels(wanted_x, [p[0] for p in things], (min(x for x, _ in corners), max(x for x, _ in corners)))
    ys = _levels(wanted_y, [p[1] for p in things], (min(y for _, y in corners), max(y for _, y in corners)))
    gx, gy = np.meshgrid(xs, ys)
    right = _cost(ground, gx[:, :-1], gy[:, :-1], gx[:, 1:], gy[:, 1:])
    up = _cost(ground, gx[:-1, :], gy[:-1, :], gx[1:, :], gy[1:, :])
    return Net(xs, ys, right, up)


def _levels(wanted: Sequence[float], fixed: Sequence[float], within: tuple[float, float]) -> Numbers:
    kept = sorted({round(v, 4) for v in fixed})
    for value in sorted({round(v, 4) for v in wanted if within[0] < v < within[1]}):
        if len(kept) < MOST_LEVELS and all(abs(value - k) >= NEAR_M for k in kept):
            kept.append(value)
    return np.asarray(sorted(kept))


def _cost(ground: Ground, x0: Numbers, y0: Numbers, x1: Numbers, y1: Numbers) -> Numbers:
    thin = ground.allowed.cell * 0.25
    boxes = np.column_stack([x0.ravel() - thin, y0.ravel() - thin, x1.ravel() + thin, y1.ravel() + thin])
    length = np.abs(x1 - x0).ravel() + np.abs(y1 - y0).ravel()
    cells = np.maximum(ground.allowed.cells(boxes), 1)

    def part(field: Field) -> Numbers:
        return np.minimum(field.sums(boxes) / (cells * field.cell**2), 1.0)

    cost = length * (1 + WALL * part(ground.walls) + THINGS * part(ground.things) + MIDDLE * part(ground.middle))
    return np.where(ground.allowed.full(boxes), cost, np.inf).reshape(x0.shape)


def ways(net: Net, start: Point, targets: Sequence[Point]) -> list[list[Point] | None]:
    """The cheapest way from a point to each other point; None where no way leads there."""
    source = net.node(start)
    ends = [net.node(t) for t in targets]
    came = _came(net, source, set(ends))
    found: list[list[Point] | None] = []
    for end in ends:
        state = min((s for s in (2 * end, 2 * end + 1) if s in came), key=lambda s: (came[s][0], s), default=None)
        if state is None:
            found.append([net.at(source)] if end == source else None)
            continue
        nodes = []
        while state is not None:
            nodes.append(state // 2)
            state = came[state][1]
        points = [net.at(n) for n in dict.fromkeys(reversed(nodes))]
        found.append(points)
    return found


def _came(net: Net, source: int, ends: set[int]) -> dict[int, tuple[float, int | None]]:
    """For each state (crossing, level or upright) its cost and the state before, until all ends are settled."""
    width, right, up = len(net.xs), net.right, net.up
    waiting: list[tuple[float, int, int | None]] = [(0.0, 2 * source, None), (0.0, 2 * source + 1, None)]
    came: dict[int, tuple[float, int | None]] = {}
    left = set(ends)
    while waiting and left:
        cost, state, before = heapq.heappop(waiting)
        if state in came:
            continue
        came[state] = cost, before
        node, upright = divmod(state, 2)
        left.discard(node)
        j, i = divmod(node, width)
        steps = (
            (node + 1, 0, right[j, i] if i + 1 < width else math.inf),
            (node - 1, 0, right[j, i - 1] if i else math.inf),
            (node + width, 1, up[j, i] if j + 1 < len(net.ys) else math.inf),
            (node - width, 1, up[j - 1, i] if j else math.inf),
        )
        for other, turned, length in steps:
            if length < math.inf and 2 * other + turned not in came:
                total = cost + float(length) + (BEND if turned != upright else 0.0)
                heapq.heappush(waiting, (round(total, 6), 2 * other + turned, state))
    return came

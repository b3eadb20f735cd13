"""The first good place for words and symbols on a plan: nothing on other words or symbols, ever; on walls only at need.

What finds no place is not drawn over something else: the caller names it in the key.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.papers.plan_field import Box, Field, Numbers
from pullstring.papers.svg import Point

GAP = 0.04  # between two boxes, at 1:100
RINGS = ((0.0, 0.1, 0.25, 0.45), (0.7, 1.0, 1.35, 1.75), (2.2, 2.8, 3.5, 4.3), (5.2, 6.2))  # ours: steps away, at 1:100
FAR = tuple(step for ring in RINGS for step in ring)
COVER, PER_FAR = 25.0, 1.3  # ours: cost of lying wholly on walls, doors and runs; of a metre away from the symbol
LEADER_FROM = 0.3  # a number farther from its symbol than this gets a line to it
AIR = 0.05  # between words and lines, at 1:100
ANGLES = 24
TRIED = 40  # best places for which the line to the symbol is looked at


@dataclasses.dataclass
class Spots:
    """Boxes that are taken, lines that are drawn, and the field of what is better left free."""

    frame: Box
    soft: Field
    k: float
    _boxes: list[Box] = dataclasses.field(default_factory=list)
    _leaders: list[tuple[float, float, float, float]] = dataclasses.field(default_factory=list)
    _array: Numbers | None = None

    def take(self, box: Box) -> Box:
        """Take a box; nothing is placed on it from now on."""
        self._boxes.append(box)
        self._array = None
        return box

    def drop(self, box: Box) -> None:
        """Give a box back."""
        self._boxes.remove(box)
        self._array = None

    @property
    def boxes(self) -> Numbers:
        """All boxes taken, as rows."""
        if self._array is None:
            self._array = np.asarray(self._boxes, dtype=float).reshape(-1, 4)
        return self._array

    def clear(self, boxes: Numbers) -> NDArray[np.bool_]:
        """Which boxes lie in the frame and on nothing that is taken."""
        gap = GAP * self.k
        x0, y0, x1, y1 = self.frame
        free = (boxes[:, 0] >= x0) & (boxes[:, 1] >= y0) & (boxes[:, 2] <= x1) & (boxes[:, 3] <= y1)
        there = self.boxes
        if len(there) and len(boxes):
            low, high = boxes.min(axis=0), boxes.max(axis=0)
            near = there[
                (there[:, 2] + gap > low[0]) & (there[:, 0] - gap < high[2])
                & (there[:, 3] + gap > low[1]) & (there[:, 1] - gap < high[3])
            ]  # fmt: skip
            b, t = boxes[:, None, :], near[None, :, :]
            on = (
                (b[..., 0] < t[..., 2] + gap) & (b[..., 2] > t[..., 0] - gap)
                & (b[..., 1] < t[..., 3] + gap) & (b[..., 3] > t[..., 1] - gap)
            )  # fmt: skip
            free &= ~on.any(axis=1)
        if self._leaders and free.any():
            free[free] = ~self._on_leader(boxes[free], gap / 2)
        return free

    def _on_leader(self, boxes: Numbers, margin: float) -> NDArray[np.bool_]:
        """Which boxes a line to a symbol passes through."""
        lines = np.asarray(self._leaders)
        low, high = boxes.min(axis=0) - margin, boxes.max(axis=0) + margin
        near = lines[
            (np.maximum(lines[:, 0], lines[:, 2]) > low[0]) & (np.minimum(lines[:, 0], lines[:, 2]) < high[2])
            & (np.maximum(lines[:, 1], lines[:, 3]) > low[1]) & (np.minimum(lines[:, 1], lines[:, 3]) < high[3])
        ]  # fmt: skip
        on: NDArray[np.bool_] = np.any(_slabs(boxes[:, None, :], near[None, :, :], margin), axis=1)
        return on

    def lead(self, a: Point, b: Point) -> None:
        """Keep a thin line free of words."""
        self._leaders.append((*a, *b))


def crossed(boxes: Numbers, a: Point, b: Point, *, margin: float = 0.0) -> NDArray[np.bool_]:
    """Which boxes the straight line from a to b passes through."""
    return _slabs(boxes, np.asarray([*a, *b]), margin)


def _slabs(boxes: Numbers, lines: Numbers, margin: float) -> NDArray[np.bool_]:
    """Whether each line enters each box before it leaves it, axis by axis (Kay and Kajiya 1986)."""
    step_x, step_y = lines[..., 2] - lines[..., 0], lines[..., 3] - lines[..., 1]
    step_x = np.where(np.abs(step_x) < 1e-9, 1e-9, step_x)
    step_y = np.where(np.abs(step_y) < 1e-9, 1e-9, step_y)
    x1, x2 = (boxes[..., 0] - margin - lines[..., 0]) / step_x, (boxes[..., 2] + margin - lines[..., 0]) / step_x
    y1, y2 = (boxes[..., 1] - margin - lines[..., 1]) / step_y, (boxes[..., 3] + margin - lines[..., 1]) / step_y
    enter = np.maximum(np.minimum(x1, x2), np.minimum(y1, y2))
    leave = np.minimum(np.maximum(x1, x2), np.maximum(y1, y2))
    return np.maximum(enter, 0.0) < np.minimum(leave, 1.0)


def boxes_at(centres: Numbers, width: float, height: float) -> Numbers:
    """Boxes of one size around many centres."""
    half = np.array([width / 2, height / 2])
    return np.hstack([centres - half, centres + half])


Found = tuple[Box, tuple[Point, Point] | None]


def beside(spots: Spots, own: Box, away: Point, width: float, height: float, *, most: float = FAR[-1]) -> Found | None:
    """The best free place for words near a symbol's own box, and the line that leads there where it is far."""
    best: tuple[float, Found] | None = None
    for steps in RINGS:
        if best is not None and best[0] <= PER_FAR * steps[0]:
            break
        near = [f for f in steps if f <= most]
        found = _best(spots, own, away, width, height, near) if near else None
        if found is not None and (best is None or found[0] < best[0]):
            best = found
    if best is None:
        return None
    box, line = best[1]
    if line is not None:
        spots.lead(*line)
    return spots.take(box), line


def _best(
    spots: Spots, own: Box, away: Point, width: float, height: float, steps: Sequence[float]
) -> tuple[float, Found] | None:
    """The cheapest free place at some steps away, with its cost."""
    k = spots.k
    centres, far = _around(own, away, width, height, [f * k for f in steps], 1.01 * GAP * k)
    boxes = boxes_at(centres, width, height)
    free = spots.clear(boxes)
    if not free.any():
        return None
    centres, far, boxes = centres[free], far[free], boxes[free]
    covered = _covered(spots, boxes, width * height)
    dx, dy = centres[:, 0] - (own[0] + own[2]) / 2, centres[:, 1] - (own[1] + own[3]) / 2
    turn = 1 - (dx * away[0] + dy * away[1]) / np.maximum(np.hypot(dx, dy), 1e-9)
    cost = np.round(COVER * covered + PER_FAR * far / k + 0.15 * turn + 0.5 * (far > LEADER_FROM * k), 6)
    for index in np.lexsort((np.arange(len(cost)), cost))[:TRIED]:
        box = _box(boxes[index])
        if far[index] <= LEADER_FROM * k:
            return float(cost[index]), (box, None)
        line = _leader(own, box)
        if _leader_free(spots, own, line):
            return float(cost[index]), (box, line)
    return None


def _around(
    own: Box, away: Point, width: float, height: float, steps: list[float], gap: float
) -> tuple[Numbers, Numbers]:
    """Centres all round a box, step by step farther from it, beginning with the side away from its wall."""
    start = math.atan2(away[1], away[0])
    turns = start + np.arange(ANGLES) * (2 * math.pi / ANGLES)
    dx, dy = np.cos(turns), np.sin(turns)
    half_w, half_h = (own[2] - own[0] + width) / 2 + gap, (own[3] - own[1] + height) / 2 + gap
    with np.errstate(divide="ignore"):
        hold = np.minimum(half_w / np.maximum(np.abs(dx), 1e-9), half_h / np.maximum(np.abs(dy), 1e-9))
    far = np.repeat(np.asarray(steps), ANGLES)
    out = np.tile(hold, len(steps)) + far
    middle = (own[0] + own[2]) / 2, (own[1] + own[3]) / 2
    centres = np.column_stack([middle[0] + np.tile(dx, len(steps)) * out, middle[1] + np.tile(dy, len(steps)) * out])
    return centres, far


def _leader(own: Box, box: Box) -> tuple[Point, Point]:
    """From the symbol's edge to the nearest point of the words' box."""
    middle = (own[0] + own[2]) / 2, (own[1] + own[3]) / 2
    end = min(max(middle[0], box[0]), box[2]), min(max(middle[1], box[1]), box[3])
    dx, dy = end[0] - middle[0], end[1] - middle[1]
    part = min(
        (own[2] - own[0]) / 2 / max(abs(dx), 1e-9),
        (own[3] - own[1]) / 2 / max(abs(dy), 1e-9),
        1.0,
    )
    return (middle[0] + dx * part, middle[1] + dy * part), end


def _leader_free(spots: Spots, own: Box, line: tuple[Point, Point]) -> bool:
    there = spots.boxes
    others = there[np.abs(there - np.asarray(own)).max(axis=1) > 1e-9]
    return not bool(crossed(others, *line, margin=spots.k * GAP / 4).any())


def inside(
    spots: Spots, room: Field, bounds: Box, middle: Point, width: float, height: float, *, most: float
) -> Box | None:
    """The best free place for words wholly in a room, near its middle; `most` of it may lie on walls, doors and runs."""
    step = max(0.1 * spots.k, min(bounds[2] - bounds[0], bounds[3] - bounds[1]) / 40)
    xs = np.arange(bounds[0] + width / 2, bounds[2] - width / 2 + 1e-9, step)
    ys = np.arange(bounds[1] + height / 2, bounds[3] - height / 2 + 1e-9, step)
    if not len(xs) or not len(ys):
        return None
    gx, gy = (a.ravel() for a in np.meshgrid(np.append(xs, middle[0]), np.append(ys, middle[1])))
    centres = np.column_stack([gx, gy])
    boxes = boxes_at(centres, width, height)
    held = room.full(boxes)
    centres, boxes = centres[held], boxes[held]
    if not len(boxes):
        return None
    covered = _covered(spots, boxes, width * height)
    boxes, centres, covered = boxes[covered <= most], centres[covered <= most], covered[covered <= most]
    if not len(boxes):
        return None
    apart = np.hypot(centres[:, 0] - middle[0], centres[:, 1] - middle[1])
    cost = np.round(20 * covered + apart / max(bounds[2] - bounds[0], bounds[3] - bounds[1]), 6)
    order = np.lexsort((np.arange(len(cost)), cost))
    boxes, cost = boxes[order], cost[order]
    free = spots.clear(boxes)
    if not free.any():
        return None
    best = int(np.argmax(free))
    return _box(boxes[best])


def _covered(spots: Spots, boxes: Numbers, area: float) -> Numbers:
    """How much of each box, with a little air around it, lies on walls, doors and runs."""
    air = AIR * spots.k
    return spots.soft.sums(boxes + np.array([-air, -air, air, air])) / area


def _box(row: Numbers) -> Box:
    x0, y0, x1, y1 = (float(v) for v in row)
    return x0, y0, x1, y1

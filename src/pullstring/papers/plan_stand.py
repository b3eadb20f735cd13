"""Where the symbols of a floor stand: at their noted points, moved aside only as far as they would lie on each other.

What had to move keeps a thin line to its true point.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.model.refs import Ref
from pullstring.papers import plan_marks, symbols
from pullstring.papers.plan_field import Box, Field, Numbers
from pullstring.papers.plan_guard import TOUCH
from pullstring.papers.plan_spots import Spots
from pullstring.papers.svg import Point
from pullstring.papers.symbols import Symbol

FIRST = ("block", "outlet", "radio", "unit", "way")
STEP, MOST_ASIDE = 0.06, 1.8  # at 1:100
ASIDE_NOTED = 0.1  # moved by more than this, at 1:100: a line to the true point


@dataclasses.dataclass(frozen=True)
class Stood:
    """A symbol where it is drawn, its own box, and the word of its frame if it has one."""

    symbol: Symbol
    box: Box
    guard: str = ""

    @property
    def inner(self) -> Box:
        """The box of the symbol without its frame."""
        return self.box


def box_of(symbol: Symbol, *, k: float, guard: str) -> Box:
    """The box that a symbol fills with its frame."""
    points = symbols.corners(symbol, k)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    line = 0.02 * k
    box = min(xs) - line, min(ys) - line, max(xs) + line, max(ys) + line
    return plan_marks.framed(box, k=k, strict=guard == TOUCH) if guard else box


def bare_box(symbol: Symbol, *, k: float) -> Box:
    """The box of a symbol without its frame."""
    return box_of(symbol, k=k, guard="")


def stand(
    found: Sequence[Symbol], spots: Spots, walls: Field, words: Mapping[Ref, str]
) -> tuple[list[Stood], list[Symbol]]:
    """Symbols with a place of their own, in the order given, and those for which there is none."""
    stood: dict[int, Stood] = {}
    left: list[Symbol] = []
    for number in sorted(range(len(found)), key=lambda n: (FIRST.index(found[n].form), n)):
        symbol = found[number]
        guard = words.get(symbol.ref, "") if symbol.ref else ""
        placed = _placed(symbol, guard, spots, walls)
        if placed is None:
            left.append(symbol)
        else:
            stood[number] = placed
    return [stood[n] for n in sorted(stood)], left


def _placed(symbol: Symbol, guard: str, spots: Spots, walls: Field) -> Stood | None:
    k, off = spots.k, 0.0
    if guard and symbol.form in ("outlet", "block"):
        off = (plan_marks.FRAME + 0.03) * k
    own = dataclasses.replace(symbol, at=(symbol.at[0] + symbol.away[0] * off, symbol.at[1] + symbol.away[1] * off))
    shifts = _shifts(own) * k
    boxes = np.asarray(box_of(own, k=k, guard=guard)) + np.hstack([shifts, shifts])
    free = spots.clear(boxes)
    if not free.any():
        return None
    area = (boxes[0, 2] - boxes[0, 0]) * (boxes[0, 3] - boxes[0, 1])
    covered = walls.sums(boxes) / area
    far = np.hypot(shifts[:, 0], shifts[:, 1]) / k
    cost = np.where(free, np.round(far + 1.2 * np.maximum(covered - covered[0] * (own.form == "outlet"), 0), 5), np.inf)
    best = int(np.argmin(cost))
    at = own.at[0] + float(shifts[best, 0]), own.at[1] + float(shifts[best, 1])
    moved = math.dist(at, symbol.at) > (ASIDE_NOTED * k + off)
    drawn = dataclasses.replace(own, at=at, true_at=symbol.at if moved else None)
    x0, y0, x1, y1 = (float(v) for v in boxes[best])
    return Stood(drawn, spots.take((x0, y0, x1, y1)), guard)


def _shifts(symbol: Symbol) -> Numbers:
    """Steps aside at 1:100, the smallest first: along its wall and then off it, or all round."""
    if symbol.form in ("outlet", "block"):
        (dx, dy), count = symbol.away, int(MOST_ASIDE / STEP)
        along = np.array([0.0, *(sign * n * STEP for n in range(1, count + 1) for sign in (1, -1))])
        rows = [(u * dx - v * dy, u * dy + v * dx) for u in (0.0, 0.36, 0.72, 1.08, 1.5) for v in along]
        return np.asarray(rows)
    turns = np.arange(16) * (math.pi / 8)
    rings = [(r * math.cos(t), r * math.sin(t)) for r in np.arange(STEP, MOST_ASIDE, STEP) for t in turns]
    return np.asarray([(0.0, 0.0), *rings])


def tip(stood: Stood, *, k: float) -> Point:
    """Where a run meets a symbol: its side away from the wall, or its middle."""
    symbol = stood.symbol
    if symbol.form in ("outlet", "block"):
        reach = symbol.reach * k
        return symbol.at[0] + symbol.away[0] * reach, symbol.at[1] + symbol.away[1] * reach
    return symbol.at

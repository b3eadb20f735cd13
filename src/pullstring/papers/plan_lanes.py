"""Runs that share a stretch, set side by side: each keeps its place in the bundle from corner to corner.

Seen along the way from the common start, what turns off to the left lies on the left. Only where more runs than a
stretch carries lie together do they become one double line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np

from pullstring.papers.plan_field import Numbers
from pullstring.papers.svg import Point

PITCH = 0.11  # between two lines, at 1:100
AT_ENDS = 0.15
MOST_LANES = 10  # ours: more than so many together are drawn as one double line


@dataclasses.dataclass
class Stretch:
    """A straight part of one way: on which level it lies, from where to where, and its place aside of the level."""

    way: int
    index: int
    upright: bool
    level: float
    low: float
    high: float
    forward: bool
    offset: float = 0.0
    together: int = 0


def side_by_side(
    ways: Sequence[Sequence[Point]], starts: Sequence[int], *, bad: Callable[[Numbers], Numbers], k: float
) -> list[tuple[list[Point], list[Stretch]]]:
    """Each way with its stretches moved apart.

    Parameters
    ----------
    ways : sequence of sequences of points
        Along the axes, at least one point each.
    starts : sequence of int
        A number for each way; ways with the same number begin at the same thing.
    bad : callable
        For boxes (rows of x0, y0, x1, y1) how much of each had better not hold a run.
    k : float
        Scale; 1 at 1:100.
    """
    order = _left_to_right(ways, starts)
    parts = [_stretches(number, way) for number, way in enumerate(ways)]
    for upright in (False, True):
        mine = sorted(
            (s for p in parts for s in p if s.upright == upright), key=lambda s: (s.level, s.low, s.high, order[s.way])
        )
        for bundle in _bundles(mine):
            _spread(bundle, order, k)
            _shift(bundle, bad, k)
        _push(mine, k)
    return [(_points(way, p), p) for way, p in zip(ways, parts, strict=True)]


def _left_to_right(ways: Sequence[Sequence[Point]], starts: Sequence[int]) -> list[int]:
    """The rank of each way in its bundle, seen along it: by what it does where it parts from the others."""

    def turns(way: Sequence[Point]) -> tuple[tuple[int, ...], ...]:
        found = []
        for a, b, c in zip(way, way[1:], way[2:], strict=False):
            cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
            found.append(-1 if cross > 1e-9 else 1 if cross < -1e-9 else 0)
        return tuple((t,) for t in found)

    def first(way: Sequence[Point]) -> tuple[float, float]:
        return (way[1][0] - way[0][0], way[1][1] - way[0][1]) if len(way) > 1 else (0.0, 0.0)

    ranked = sorted(range(len(ways)), key=lambda n: (starts[n], first(ways[n]), turns(ways[n]), n))
    place = {n: rank for rank, n in enumerate(ranked)}
    return [place[n] for n in range(len(ways))]


def _stretches(number: int, way: Sequence[Point]) -> list[Stretch]:
    found: list[Stretch] = []
    for a, b in zip(way, way[1:], strict=False):
        upright = abs(a[0] - b[0]) < 1e-9
        level = a[0] if upright else a[1]
        start, end = (a[1], b[1]) if upright else (a[0], b[0])
        if found and found[-1].upright == upright and abs(found[-1].level - level) < 1e-9:
            found[-1].low, found[-1].high = min(found[-1].low, end), max(found[-1].high, end)
            continue
        found.append(Stretch(number, len(found), upright, level, min(start, end), max(start, end), end > start))
    return found


def _bundles(stretches: Sequence[Stretch]) -> list[list[Stretch]]:
    """Stretches on one level that overlap, directly or through others."""
    found: list[list[Stretch]] = []
    reach = 0.0
    for stretch in stretches:
        if found and abs(found[-1][0].level - stretch.level) < 1e-6 and stretch.low <= reach + 1e-9:
            found[-1].append(stretch)
            reach = max(reach, stretch.high)
        else:
            found.append([stretch])
            reach = stretch.high
    return found


def _spread(bundle: list[Stretch], order: Sequence[int], k: float) -> None:
    """Left of the walking direction comes first; left is up for a line to the right, and left for a line upwards."""
    if len({s.way for s in bundle}) == 1:
        return

    def aside(stretch: Stretch) -> float:
        rank = order[stretch.way] + 1
        left_is_high = stretch.forward != stretch.upright
        return -rank if left_is_high else rank

    ranked = sorted({s.way: aside(s) for s in bundle}.items(), key=lambda pair: (pair[1], pair[0]))
    place = {way: n for n, (way, _) in enumerate(ranked)}
    many = len(place)
    for stretch in bundle:
        if many > MOST_LANES:
            stretch.together = many
            continue
        stretch.offset = (place[stretch.way] - (many - 1) / 2) * PITCH * k


def _shift(bundle: list[Stretch], bad: Callable[[Numbers], Numbers], k: float) -> None:
    """Move a whole bundle aside where its outer lines would lie in walls or outside."""
    moving = [s for s in bundle if not s.together]
    many = len({s.way for s in moving})
    if many < 2:
        return
    step, thin = PITCH * k / 2, 0.02 * k
    tried = sorted((n * step for n in range(-2 * many, 2 * many + 1)), key=lambda d: (abs(d), d))
    rows = [
        (at - thin, low, at + thin, high) if s.upright else (low, at - thin, high, at + thin)
        for aside in tried
        for s in moving
        for at in (s.level + s.offset + aside,)
        for low, high in (_inner(s, AT_ENDS * k),)
    ]
    cost = bad(np.asarray(rows)).reshape(len(tried), len(moving)).sum(axis=1) / (2 * thin)
    cost = np.round(cost + 0.2 * np.abs(tried) / k, 6)
    best = tried[int(np.argmin(cost))]
    for s in moving:
        s.offset += best


def _inner(stretch: Stretch, by: float) -> tuple[float, float]:
    """A stretch without its ends, which may touch the symbols they lead to."""
    cut = min(by, (stretch.high - stretch.low) / 3)
    return stretch.low + cut, stretch.high - cut


def _push(stretches: list[Stretch], k: float) -> None:
    """Move lines of neighbouring levels apart where they would still lie on each other."""
    gap = PITCH * k * 0.999
    placed: list[Stretch] = []
    for stretch in sorted(stretches, key=lambda s: (s.level + s.offset, s.low, s.way, s.index)):
        at = stretch.level + stretch.offset
        for other in placed:
            if other.way == stretch.way or (other.together and stretch.together and other.level == stretch.level):
                continue
            there = other.level + other.offset
            meet = other.low < stretch.high + gap and stretch.low < other.high + gap
            if meet and abs(at - there) < gap - 1e-9:
                at = there + PITCH * k
        stretch.offset = at - stretch.level
        placed.append(stretch)
        placed.sort(key=lambda s: s.level + s.offset)


def _points(way: Sequence[Point], parts: Sequence[Stretch]) -> list[Point]:
    """The way's own corners with each stretch on its new level."""
    if not parts:
        return [way[0]]

    def at(part: Stretch) -> float:
        return part.level + part.offset

    def met(upright: Stretch, level: Stretch) -> Point:
        return at(upright), at(level)

    first, last = parts[0], parts[-1]
    start = (at(first), way[0][1]) if first.upright else (way[0][0], at(first))
    points = [start]
    for a, b in zip(parts, parts[1:], strict=False):
        points.append(met(a, b) if a.upright else met(b, a))
    points.append((at(last), way[-1][1]) if last.upright else (way[-1][0], at(last)))
    return points

"""Marks of measuring: an upright cross where a level was read, an open one where to read next, hatching where nothing is known.

All blue, and each reads without colour: runs and symbols are never made of these shapes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.papers import svg
from pullstring.papers.drawing_style import READ
from pullstring.papers.svg import Point, Sheet

CROSS = 0.13
HATCH = 0.3  # ours, at 1:100: from line to line; walls are hatched closer
SLOPE = (1.0, -2.0)  # ours: steeper than the hatching of any wall
PLAIN, AGREED, WEAKEST, UNKNOWN, READING, DOUBTED, NEXT = (
    "signal plain", "signal agreed", "signal weakest", "signal unknown", "signal read", "signal doubted", "signal next",
)  # fmt: skip


def cross(at: Point, *, k: float) -> list[str]:
    """An upright cross at a point of the drawing, with a halo that parts it from lines."""
    (x, y), r = at, CROSS * k
    both = svg.path([(x - r, y), (x + r, y)]) + svg.path([(x, y - r), (x, y + r)])
    return [svg.stroke(both, "cross under"), svg.stroke(both, "cross")]


def open_cross(at: Point, *, k: float) -> list[str]:
    """An open cross at a point of the drawing: to be read."""
    (x, y), r, w = at, (CROSS + 0.03) * k, 0.055 * k
    turns = [(w, r), (w, w), (r, w), (r, -w), (w, -w), (w, -r), (-w, -r), (-w, -w), (-r, -w), (-r, w), (-w, w), (-w, r)]
    return [svg.stroke(svg.path([(x + u, y + v) for u, v in turns], closed=True), "toread")]


def hatched(area: BaseGeometry, sheet: Sheet, *, k: float) -> list[str]:
    """Thin parallel lines over an area, at the same places whatever its shape, and its edge."""
    if area.is_empty:
        return []
    lines = shapely.intersection(area, shapely.MultiLineString(list(_rows(area.bounds, HATCH * k))))
    data = "".join(
        sheet.path(line.coords)
        for line in sorted(getattr(lines, "geoms", [lines]), key=lambda g: g.bounds)
        if line.geom_type == "LineString" and line.length > 0.02 * k
    )
    return [svg.stroke(data, "unseen")] if data else []


def _rows(bounds: tuple[float, float, float, float], pitch: float) -> Iterator[list[Point]]:
    """Lines of one slope that cover a box, each a whole number of pitches from the origin."""
    x0, y0, x1, y1 = bounds
    long = math.hypot(*SLOPE)
    ux, uy = SLOPE[0] / long, SLOPE[1] / long
    offs = [x * uy - y * ux for x in (x0, x1) for y in (y0, y1)]
    runs = [x * ux + y * uy for x in (x0, x1) for y in (y0, y1)]
    for n in range(math.floor(min(offs) / pitch), math.ceil(max(offs) / pitch) + 1):
        fx, fy = n * pitch * uy, -n * pitch * ux
        yield [(fx + t * ux, fy + t * uy) for t in (min(runs) - 1, max(runs) + 1)]


def sample(mark: str, left: float, top: float, width: float, k: float, *, words: str) -> list[str]:
    """A small piece for the key, drawn by the same code as on the plan; `words` is the number in a line."""
    middle = left + width / 2 * k, top + 0.12 * k
    if mark in (PLAIN, AGREED, WEAKEST):
        line = svg.path([(left, middle[1]), (left + width * k, middle[1])])
        css = f"isonum{' edge' if mark == AGREED else ''}"
        return [svg.stroke(line, f"isoline-{mark.split()[1]}"), *number(words, middle, 0.0, css, k=k)]
    if mark == UNKNOWN:
        box = shapely.box(left, -(top + 0.27 * k), left + width * k, -top)
        return [*hatched(box, Sheet(0.0, 0.0), k=k), svg.rect((left, top), width * k, 0.27 * k, "unseen")]
    if mark == NEXT:
        return open_cross(middle, k=k)
    at = left + CROSS * k, middle[1]
    beside = "?" if mark == DOUBTED else "−66"
    return [*cross(at, k=k), svg.text(beside, (at[0] + (CROSS + 0.04) * k, at[1] + READ * 0.36 * k), "read")]


def number(words: str, at: Point, turn_deg: float, css: str, *, k: float) -> list[str]:
    """A number in its line, turned with it, its middle at a point of the drawing; `turn_deg` to the left."""
    from pullstring.papers.plan_letters import FACE_OF

    down = FACE_OF[css][1] * 0.36 * k  # half the height of digits
    where = f"translate({svg.num(at[0])} {svg.num(at[1])}) rotate({svg.num(-turn_deg)})"
    return [f'<text class="{css}" transform="{where}" x="0" y="{svg.num(down)}" text-anchor="middle">{words}</text>']

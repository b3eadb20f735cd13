"""Walls as they are drawn: one body for all walls of one hatch, openings cut out, marks of the material along them.

Rubble and brick are area patterns; lath, metal lath, timber and board are marks that run with their wall, so that a
rung stands across the wall whichever way the wall runs.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from pullstring.model.geometry import Opening, Point, WallShape
from pullstring.papers import svg
from pullstring.papers.svg import Sheet

ORDER = (
    "rubble",
    "brick",
    "timber",
    "board",
    "metal lath",
    "lath",
    "none",
)  # the stronger body runs through at a joint
PATTERNS = ("rubble", "brick")
HEAVY_M = 0.2  # ours: from this thickness a wall has the heavier line
STRAIGHT_M = 1e-6
TOUCH_M = 0.03  # ours: ends nearer than this to a wall's line meet it
LEAF_M = 1.2  # ours: a wider door has two leaves


@dataclasses.dataclass(frozen=True)
class Local:
    """A wall's own axes: u along it from its first point, v to the left of it."""

    start: Point
    along: Point

    def at(self, u: float, v: float) -> Point:
        """A point of the wall's axes in the building's."""
        (x, y), (dx, dy) = self.start, self.along
        return x + u * dx - v * dy, y + u * dy + v * dx

    def box(self, u0: float, u1: float, half: float) -> Polygon:
        """The rectangle from u0 to u1, as far as `half` on both sides."""
        return Polygon([self.at(u0, -half), self.at(u1, -half), self.at(u1, half), self.at(u0, half)])


@dataclasses.dataclass(frozen=True)
class Body:
    """What all walls of one hatch cover, openings cut out, with the marks inside it."""

    hatch: str
    planned: bool
    area: BaseGeometry
    marks: tuple[tuple[Point, ...], ...]
    heavy: bool


def length_m(wall: WallShape) -> float:
    """Length of a wall along its line."""
    return math.dist(wall.start, wall.end)


def local(wall: WallShape) -> Local:
    """The wall's own axes."""
    length = length_m(wall)
    return Local(wall.start, ((wall.end[0] - wall.start[0]) / length, (wall.end[1] - wall.start[1]) / length))


def full_box(wall: WallShape, others: Sequence[WallShape]) -> Polygon:
    """The wall's rectangle, carried on at each end by half the thickness of the wall it meets there."""
    return _carried_on(wall, local(wall), [(o, local(o)) for o in others])


def full_boxes(walls: Sequence[WallShape]) -> list[Polygon]:
    """The rectangles of all walls of a floor, in their order."""
    known = [(w, local(w)) for w in walls]
    return [_carried_on(wall, own, known) for wall, own in known]


def _carried_on(wall: WallShape, own: Local, others: Sequence[tuple[WallShape, Local]]) -> Polygon:
    grow = [
        max([0.0, *(_grown(wall, own, o, its, end, way) for o, its in others if o is not wall)])
        for end, way in ((wall.start, -1), (wall.end, 1))
    ]
    return own.box(-grow[0], length_m(wall) + grow[1], wall.thickness_m / 2)


def _grown(wall: WallShape, own: Local, other: WallShape, its: Local, end: Point, way: int) -> float:
    """How far a wall goes on past its end: to the far face of the wall it meets there, if it meets one.

    It meets it where its end lies on the other's line; at a corner also where it ends within the other's thickness, for
    lines are sometimes taken along the faces.
    """
    (ax, ay), (bx, by) = own.along, its.along
    turn = abs(ax * by - ay * bx)
    if turn <= 0.1:
        return 0.0
    half = other.thickness_m / 2
    apart = _apart(other, its, end)
    if apart <= TOUCH_M:
        return half
    corner = min(math.dist(end, p) for p in (other.start, other.end)) <= half + wall.thickness_m / 2 + TOUCH_M
    if not corner or apart > half + wall.thickness_m / 2 + TOUCH_M:
        return 0.0
    across = (end[0] - other.start[0]) * -by + (end[1] - other.start[1]) * bx
    past = across * way * (ax * -by + ay * bx) / turn  # over the other's line, seen along this wall
    return max(0.0, half - past) if abs(past) <= half + TOUCH_M else 0.0


def _apart(wall: WallShape, its: Local, point: Point) -> float:
    """Distance of a point from a wall's line."""
    dx, dy = point[0] - wall.start[0], point[1] - wall.start[1]
    u = min(max(dx * its.along[0] + dy * its.along[1], 0.0), length_m(wall))
    return math.hypot(dx - u * its.along[0], dy - u * its.along[1])


def bodies(walls: Sequence[WallShape], planned: frozenset[str], *, k: float) -> tuple[Body, ...]:
    """All walls by state and hatch, the stronger material first; a weaker one ends at the face of a stronger.

    Parameters
    ----------
    walls : sequence of WallShape
        Walls of one floor.
    planned : frozenset of str
        Compared tags of the walls that are still to be built.
    k : float
        Scale of the marks; 1 at 1:100.
    """
    cut = {w.ref.key: _cut(w, box, walls) for w, box in zip(walls, full_boxes(walls), strict=True)}
    found: list[Body] = []
    taken: BaseGeometry = Polygon()
    for is_planned in (False, True):
        for hatch in sorted({w.hatch for w in walls}, key=_rank):
            mine = [w for w in walls if w.hatch == hatch and (w.ref.key in planned) == is_planned]
            area = shapely.unary_union([cut[w.ref.key] for w in mine]).difference(taken)
            if area.is_empty:
                continue
            marks = [] if is_planned else [m for w in mine for m in _marks(w, cut[w.ref.key].intersection(area), k)]
            heavy = max(w.thickness_m for w in mine) >= HEAVY_M
            found.append(Body(hatch, is_planned, area, tuple(marks), heavy))
            taken = taken.union(area)
    return tuple(found)


def _rank(hatch: str) -> tuple[int, str]:
    return (ORDER.index(hatch) if hatch in ORDER else len(ORDER), hatch)


def _cut(wall: WallShape, box: Polygon, walls: Sequence[WallShape]) -> BaseGeometry:
    """The wall without its openings; walls lying in the same place are cut as well, for a door passes through both."""
    body: BaseGeometry = box
    for other in walls:
        if other.openings and (other is wall or _same_line(wall, other)):
            for opening in other.openings:
                body = body.difference(hole(other, opening))
    return body


def _same_line(wall: WallShape, other: WallShape) -> bool:
    own, its = local(wall), local(other)
    (ax, ay), (bx, by) = own.along, its.along
    if abs(ax * by - ay * bx) > 0.1:
        return False
    ends = [_apart(other, its, p) for p in (wall.start, wall.end)] + [
        _apart(wall, own, p) for p in (other.start, other.end)
    ]
    return min(ends) <= TOUCH_M


def hole(wall: WallShape, opening: Opening) -> Polygon:
    """What an opening takes out of its wall."""
    return local(wall).box(opening.u0_m, opening.u1_m, wall.thickness_m / 2 + 0.001)


def _marks(wall: WallShape, area: BaseGeometry, k: float) -> Iterable[tuple[Point, ...]]:
    for mark in hatch_marks(wall.hatch, length_m(wall), wall.thickness_m, k=k):
        placed = LineString([local(wall).at(u, v) for u, v in mark])
        clipped = placed.intersection(area)
        for part in getattr(clipped, "geoms", [clipped]):
            if isinstance(part, LineString) and part.length > 0.01:
                yield tuple((x, y) for x, y in part.coords)


def hatch_marks(hatch: str, length: float, thickness: float, *, k: float) -> list[list[Point]]:
    """Lines in a wall's own axes: lath rungs, metal lath as a zigzag, timber as crossed studs, board as plain studs."""
    half, step = thickness / 2, 0.12 * k
    count = int(length / step)
    if hatch == "lath":
        return [[(i * step, -half), (i * step, half)] for i in range(1, count + 1)]
    if hatch == "metal lath":
        return [[(i * step, half if i % 2 else -half) for i in range(count + 2)]]
    if hatch in ("timber", "board"):
        studs: list[list[Point]] = []
        for i in range(int(length / (0.6 * k)) + 1):
            a, b = (i + 0.3) * 0.6 * k, (i + 0.3) * 0.6 * k + 1.2 * step
            studs += [[(a, -half), (a, half)], [(b, -half), (b, half)]]
            studs += [[(a, -half), (b, half)], [(a, half), (b, -half)]] if hatch == "timber" else []
        return studs
    return []


def patterns(prefix: str, *, k: float) -> list[str]:
    """The area patterns: brick as slanting lines, rubble as two courses of stones with curved joints."""

    def n(*values: float) -> str:
        return " ".join(svg.num(v * k) for v in values)

    def tile(name: str, width: float, height: float, marks: str, turn: str = "") -> str:
        return (
            f'<pattern id="{prefix}-{name}" width="{n(width)}" height="{n(height)}" '
            f'patternUnits="userSpaceOnUse"{turn}>'
            f'<rect width="{n(width)}" height="{n(height)}" class="pf"/><path d="{marks}" class="ps"/></pattern>'
        )

    brick = f"M{n(0.08, 0)}L{n(0.08, 0.16)}"
    rubble = (
        f"M{n(0, 0.02)}Q{n(0.12, -0.03, 0.24, 0.02)}T{n(0.46, 0.02)}M{n(0.22, 0.02)}L{n(0.2, 0.16)}"
        f"M{n(0, 0.17)}Q{n(0.11, 0.12, 0.23, 0.17)}T{n(0.46, 0.17)}M{n(0.06, 0.16)}L{n(0.08, 0.3)}"
        f"M{n(0.34, 0.18)}L{n(0.36, 0.3)}"
    )
    return [
        "<defs>",
        tile("brick", 0.16, 0.16, brick, ' patternTransform="rotate(45)"'),
        tile("rubble", 0.46, 0.3, rubble),
        "</defs>",
    ]


def rings(area: BaseGeometry) -> list[list[Point]]:
    """Outer and inner rings of an area, in a fixed order."""
    parts = [p for p in getattr(area, "geoms", [area]) if isinstance(p, Polygon) and not p.is_empty]
    found = [_corners([(x, y) for x, y in r.coords[:-1]]) for p in parts for r in (p.exterior, *p.interiors)]
    turned = [ring[(first := ring.index(min(ring))) :] + ring[:first] for ring in found if ring]
    return sorted(turned)


def _corners(ring: list[Point]) -> list[Point]:
    """The points of a ring at which it turns."""

    def turns(a: Point, b: Point, c: Point) -> bool:
        along = math.dist(a, c) or 1.0
        return abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / along > STRAIGHT_M

    apart = [b for a, b in zip(ring[-1:] + ring[:-1], ring, strict=True) if math.dist(a, b) > STRAIGHT_M]
    around = zip(apart[-1:] + apart[:-1], apart, apart[1:] + apart[:1], strict=True)
    return [b for a, b, c in around if turns(a, b, c)]


def draw_body(body: Body, sheet: Sheet, prefix: str) -> list[str]:
    """Ground, hatch, marks and outline of one body."""
    outline = "".join(sheet.path(ring, closed=True) for ring in rings(body.area))
    if body.planned:
        return [svg.stroke(outline, "toadd")]
    parts = [svg.stroke(outline, "solid")]
    if body.hatch in PATTERNS:
        parts.append(svg.stroke(outline, "hatch", fill=f"{prefix}-{body.hatch}"))
    if body.marks:
        parts.append(svg.stroke("".join(sheet.path(mark) for mark in body.marks), "mark"))
    return [*parts, svg.stroke(outline, "wall heavy" if body.heavy else "wall")]


def leaves(wall: WallShape, opening: Opening, side: int) -> list[tuple[Point, Point, Point]]:
    """Hinge, edge when open and edge when shut of each leaf of a door that opens to `side` (1 left, -1 right)."""
    width, face, at = opening.u1_m - opening.u0_m, side * wall.thickness_m / 2, local(wall).at
    if width <= LEAF_M:
        return [(at(opening.u0_m, face), at(opening.u0_m, face + side * width), at(opening.u1_m, face))]
    middle, leaf = (opening.u0_m + opening.u1_m) / 2, width / 2
    return [(at(u, face), at(u, face + side * leaf), at(middle, face)) for u in (opening.u0_m, opening.u1_m)]


def draw_opening(wall: WallShape, opening: Opening, side: int, sheet: Sheet) -> list[str]:
    """Thin lines for a window, quarter circles for a door, dashes for a hatch or a gap."""
    half, at = wall.thickness_m / 2, local(wall).at
    across = [sheet.path([at(opening.u0_m, v), at(opening.u1_m, v)]) for v in (-half, half)]
    if opening.fill == "window":
        middle = sheet.path([at(opening.u0_m, 0), at(opening.u1_m, 0)])
        return [svg.stroke("".join([*across, middle]), "thin")]
    if opening.fill == "door":
        return [_swing(sheet, *leaf) for leaf in leaves(wall, opening, side)]
    return [svg.stroke("".join(across), "thin dash")]


def _swing(sheet: Sheet, hinge: Point, opened: Point, shut: Point) -> str:
    radius = math.dist(hinge, opened)
    (hx, hy), (ox, oy), (sx, sy) = sheet.pt(hinge), sheet.pt(opened), sheet.pt(shut)
    sweep = 1 if (ox - hx) * (sy - hy) - (oy - hy) * (sx - hx) > 0 else 0
    arc = f"A{svg.num(radius)} {svg.num(radius)} 0 0 {sweep} {svg.num(sx)} {svg.num(sy)}"
    return svg.stroke(f"M{svg.num(hx)} {svg.num(hy)}L{svg.num(ox)} {svg.num(oy)}{arc}", "thin")

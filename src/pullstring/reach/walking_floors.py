"""The rooms of one floor as regions, the walled-in spaces between them that nobody noted, and what lies outside.

Everything stands in the building's own axes. Walls are barriers; doors, hatches and gaps lead through them; windows do not.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

import shapely

from pullstring.model import geometry
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import Point
from pullstring.model.refs import Ref
from pullstring.reach.walking_ways import SAME_M, SNAP_M, Shape, grown, in_order

LEAST_M2 = 0.05
"""Ours: a smaller outline is a slip of the pen."""
BODY_M = 0.25
"""Ours: half of the narrowest gap a person walks through."""
PASS_M = 0.6
"""Ours: the shortest edge without a wall that counts as a way through."""
APART_M = 0.6
"""Ours: rooms drawn no farther apart than a thick wall touch."""
SLACK_M = 0.05
"""Ours: how far lines that mean the same place may lie apart on a drawing."""
UP_M = 1.5
"""Ours: a hatch whose foot is so high above the floor leads up."""
FAR_M = 10_000.0


@dataclasses.dataclass(frozen=True, eq=False)
class Door:
    """A way through a wall: its middle, a unit vector across the wall, how far its sides reach, and whether it is shut."""

    ref: Ref
    at: Point
    across: Point
    reach_m: float
    shut: bool
    hatch: bool
    upward: bool
    placed: bool


@dataclasses.dataclass(frozen=True, eq=False)
class FloorShapes:
    """One floor: rooms with outlines, spaces nobody noted, what is outside, doors, barriers."""

    floor: Ref
    rooms: tuple[tuple[Ref, Shape], ...]
    unnoted: tuple[Shape, ...]
    outside: Shape
    doors: tuple[Door, ...]
    walls: Shape
    walled: bool

    def footprint(self) -> Shape:
        """All that is not outside."""
        return shapely.box(-FAR_M, -FAR_M, FAR_M, FAR_M).difference(self.outside)


def floor_shapes(site: Site, floor: Ref) -> FloorShapes:
    """The shapes of one floor; what is only planned or is gone does not count."""
    rooms = tuple(
        (r.ref, shape)
        for r in site.of_kind("room")
        if r.stands and r.ref_of("floor") == floor and (shape := outline_shape(r.text("outline")))
    )
    walls = [
        w
        for w in site.of_kind("wall")
        if w.stands and floor in w.refs_of("floors") and _line(w.text("line")) is not None
    ]
    barriers = shapely.unary_union([_barrier(site, w) for w in walls])
    doors = tuple(_doors(site, floor, walls))
    unnoted, outside = _between([shape for _, shape in rooms], barriers)
    return FloorShapes(floor, rooms, unnoted, outside, doors, barriers, bool(walls and doors))


def outline_shape(text: str) -> Shape | None:
    """An outline as one polygon; pieces that do not touch are wrapped together; None where there is none."""
    pieces = [grown(p, by_m=SLACK_M) for p in outline_pieces(text)]
    whole = grown(shapely.unary_union(pieces), by_m=-SLACK_M)
    if whole.area < LEAST_M2:
        return None
    return whole if whole.geom_type == "Polygon" else whole.convex_hull


def outline_pieces(text: str) -> list[Shape]:
    """The pieces of an outline, each as a polygon; none where it cannot be read."""
    try:
        return [shapely.Polygon(geometry.as_polygon(p)) for p in geometry.parse_outline(text)] if text else []
    except geometry.BadOutline:
        return []


def _line(text: str) -> tuple[Point, Point] | None:
    try:
        start, end = geometry.parse_outline(text)[0][:2]
    except (geometry.BadOutline, IndexError):
        return None
    return (start, end) if math.dist(start, end) > SLACK_M else None


def _thickness_m(site: Site, wall: Thing) -> float:
    built = site.get(wall.ref_of("wall_type"))
    return wall.number("thickness_m") or (built.number("thickness_m") if built else None) or geometry.DEFAULT_WALL_M


def _barrier(site: Site, wall: Thing) -> Shape:
    line = _line(wall.text("line"))
    half = min(_thickness_m(site, wall) / 2, APART_M / 2) + SLACK_M
    return shapely.LineString(line).buffer(half, cap_style="square")


def _between(rooms: Sequence[Shape], barriers: Shape) -> tuple[tuple[Shape, ...], Shape]:
    """Spaces that walls close in, and the outside: where a person passes, without rooms and walls.

    What is solid stays a hair larger than drawn, so that rooms which touch at a corner alone leave no way between them.
    """
    world = shapely.box(-FAR_M, -FAR_M, FAR_M, FAR_M)
    solid = shapely.unary_union([*rooms, barriers])
    solid = grown(grown(solid, by_m=BODY_M), by_m=2 * SNAP_M - BODY_M)
    free = world.difference(solid)
    pieces = [p for p in getattr(free, "geoms", (free,)) if p.area > LEAST_M2]
    outside = max(pieces, key=lambda p: float(p.area))
    return tuple(p for p in pieces if p is not outside), outside


def _doors(site: Site, floor: Ref, walls: Iterable[Thing]) -> Iterator[Door]:
    by_ref = {w.ref: w for w in walls}
    for opening in site.of_kind("opening"):
        wall = by_ref.get(opening.ref_of("wall") or opening.ref)
        fill = opening.text("fill") or "open"
        if wall is None or not opening.stands or fill == "window" or _floor_of(site, wall, opening) != floor:
            continue
        line = _line(wall.text("line"))
        assert line is not None
        (x0, y0), (x1, y1) = line
        long = math.dist(*line)
        u0, u1 = opening.number("u0_m"), opening.number("u1_m")
        noted = [u for u in (u0, u1) if u is not None]
        u = min(sum(noted) / len(noted), long) if noted else long / 2
        along = (x1 - x0) / long, (y1 - y0) / long
        yield Door(
            opening.ref,
            (x0 + u * along[0], y0 + u * along[1]),
            (-along[1], along[0]),
            _thickness_m(site, wall) + APART_M,
            fill in ("door", "hatch") and opening.text("usual") != "open",
            fill == "hatch",
            fill == "hatch" and (opening.number("z0_m") or 0.0) - _first_foot_m(site, wall, floor) >= UP_M,
            bool(noted),
        )


def _first_foot_m(site: Site, wall: Thing, floor: Ref) -> float:
    """How far a floor lies above the first floor that a wall names. [m]"""
    first, on = site.get(wall.refs_of("floors")[0]), site.get(floor)
    return ((on.number("z_m") if on else None) or 0.0) - ((first.number("z_m") if first else None) or 0.0)


def _floor_of(site: Site, wall: Thing, opening: Thing) -> Ref | None:
    """The floor an opening is on: its foot is counted from the first floor its wall names."""
    floors = [f for ref in wall.refs_of("floors") if (f := site.get(ref))]
    if not floors:
        return None
    foot = (floors[0].number("z_m") or 0.0) + (opening.number("z0_m") or 0.0) + PASS_M
    below = [f for f in floors if (f.number("z_m") or 0.0) <= foot]
    return max(below or floors[:1], key=lambda f: f.number("z_m") or 0.0).ref


def open_edges(one: Shape, other: Shape, barriers: Shape | None) -> list[tuple[Point, float]]:
    """Where two rooms touch with no wall between: the middle of each such edge, and its length [m]."""
    gap = float(one.distance(other))
    if gap > APART_M:
        return []
    common = _near_edge(one, other, gap)
    if barriers is not None:
        common = common.difference(grown(barriers, by_m=gap / 2 + SLACK_M / 2))
    return [(_half_way(piece), float(piece.length)) for piece in _lines(common) if piece.length >= PASS_M]


def facing(one: Shape, other: Shape, near: Point | None = None) -> tuple[Point, float]:
    """The middle of the longest edge with which one region faces another, and the length of all such edges [m].

    Of edges of one length the one nearest to a point is taken (the other region's middle unless given), of those the first
    along the outline, so that a house that is turned has its ways where they were.
    """
    common = _near_edge(one, other, float(one.distance(other)))
    towards = shapely.Point(near) if near else other.centroid

    def order(piece: Shape) -> tuple[float, float, float]:
        at = shapely.Point(_half_way(piece))
        return -float(piece.length), float(towards.distance(at)), float(one.exterior.project(at))

    sides = (side for line in _lines(common) for side in _sides(line))
    pieces = in_order(sides, order, slack=(SAME_M, SAME_M, SAME_M))
    if not pieces:
        corner = shapely.get_point(shapely.shortest_line(one, other), 0)
        return (float(corner.x), float(corner.y)), 0.0
    return _half_way(pieces[0]), float(sum(p.length for p in pieces))


def _sides(line: Shape) -> list[Shape]:
    """A line as it is; one that runs all round has no middle, so its straight sides."""
    if not line.is_ring:
        return [line]
    corners = list(line.simplify(SLACK_M).coords)
    return [shapely.LineString(pair) for pair in itertools.pairwise(corners)]


def _near_edge(one: Shape, other: Shape, gap: float) -> Shape:
    return one.boundary.intersection(grown(other, by_m=gap + SLACK_M / 2))


def _lines(shape: Shape) -> list[Shape]:
    """The lines of a geometry, those that join made one."""
    lines = [g for g in getattr(shape, "geoms", (shape,)) if g.geom_type == "LineString" and not g.is_empty]
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return [g for g in getattr(merged, "geoms", (merged,)) if not g.is_empty]


def _half_way(line: Shape) -> Point:
    middle = line.interpolate(0.5, normalized=True)
    return float(middle.x), float(middle.y)

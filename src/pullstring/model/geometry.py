"""Shapes of the site: buildings turned and shifted on the site plan, floors, rooms, walls with height, openings, slabs, places.

Everything inside a building is written in that building's own axes (x along, y across, z up from its floor 0); the
building's origin and angle carry it to the site. So shifting or turning a house changes three numbers and no room.
Lengths in metres, angles in degrees to the left.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.model.units import BadQuantity, number_text, parse_quantity

Point = tuple[float, float]
Polygon = tuple[Point, ...]
DEFAULT_CEILING_M = 2.5  # ours, assumed where no height was noted
DEFAULT_WALL_M = 0.1  # ours, assumed where neither wall nor wall type has a thickness


_UNIT = re.compile(r"\s*([^\W\d_]+|['\"])\s*$")


FARTHEST_M = 20_000.0  # ours: no property reaches farther from its origin; beyond it a unit was forgotten


class BadOutline(ValueError):
    """An outline is not written as corners."""


def parse_outline(text: str, *, unit: str = "m") -> tuple[Polygon, ...]:
    """`0 0; 6 5` (two points: opposite corners of a rectangle) or `0 0; 6 0; 6 5; 0 5`; `|` parts the pieces.

    A unit after the last number holds for the whole outline: `0 0; 20 16 ft`. Returns one polygon a piece.
    """
    pieces = []
    written = text.strip()
    if named := _UNIT.search(written):
        unit, written = named[1], written[: named.start()]
    for piece in written.split("|"):
        points = [_point(p, unit) for p in piece.split(";") if p.strip()]
        if len(points) < 2:
            raise BadOutline(f"{text!r} has a piece with fewer than two corners; write corners as x y; x y")
        if len(points) > 3 and _crosses_itself(tuple(points)):
            raise BadOutline(
                f"{piece.strip()!r} crosses itself; write the corners in the order in which one walks round"
            )
        pieces.append(tuple(points))
    return tuple(pieces)


def _point(text: str, unit: str) -> Point:
    numbers = text.split()
    if len(numbers) != 2:
        raise BadOutline(f"{text.strip()!r} is no corner; write x and y with a space between, and ; between corners")
    try:
        x, y = (parse_quantity(n, "length", unit=unit).value for n in numbers)
    except BadQuantity as error:
        raise BadOutline(str(error)) from error
    if max(abs(x), abs(y)) > FARTHEST_M:
        raise BadOutline(
            f"{text.strip()!r} lies {max(abs(x), abs(y)):g} m away; write metres, or the unit after the numbers"
        )
    return x, y


def _crosses_itself(piece: Polygon) -> bool:
    """Whether two sides of a piece that do not meet at a corner cross."""
    sides = list(zip(piece, piece[1:] + piece[:1], strict=True))

    def side_of(a: Point, b: Point, p: Point) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    for i, (a, b) in enumerate(sides):
        for c, d in sides[i + 2 : len(sides) - (i == 0)]:
            if side_of(a, b, c) * side_of(a, b, d) < 0 and side_of(c, d, a) * side_of(c, d, b) < 0:
                return True
    return False


def outline_text(pieces: Sequence[Polygon]) -> str:
    """The canonical text of an outline, in metres."""
    return " | ".join("; ".join(f"{number_text(x)} {number_text(y)}" for x, y in piece) for piece in pieces)


def as_polygon(piece: Polygon) -> Polygon:
    """A piece as a polygon: two corners become a rectangle along the building's axes."""
    if len(piece) > 2:
        return piece
    (x0, y0), (x1, y1) = piece
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def area_m2(polygon: Polygon) -> float:
    """Area by the shoelace formula (Gauss); sign left out. Valid for polygons that do not cross themselves."""
    nexts = polygon[1:] + polygon[:1]
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(polygon, nexts, strict=True))) / 2


def contains(polygon: Polygon, point: Point) -> bool:
    """True when the point lies inside (even-odd rule); points on the edge may go either way."""
    x, y = point
    inside = False
    for (x0, y0), (x1, y1) in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            inside = not inside
    return inside


@dataclasses.dataclass(frozen=True)
class Frame:
    """A building's place on the site plan."""

    x_m: float
    y_m: float
    z_m: float
    angle_deg: float

    def to_site(self, point: Point, z_m: float) -> tuple[float, float, float]:
        """Site coordinates of a point given in the building's axes."""
        turn = math.radians(self.angle_deg)
        x, y = point
        return (
            self.x_m + x * math.cos(turn) - y * math.sin(turn),
            self.y_m + x * math.sin(turn) + y * math.cos(turn),
            self.z_m + z_m,
        )

    def from_site(self, x_m: float, y_m: float) -> Point:
        """A spot of the site plan in the building's axes: shifted back and turned back."""
        turn = math.radians(self.angle_deg)
        x, y = x_m - self.x_m, y_m - self.y_m
        return x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)


@dataclasses.dataclass(frozen=True)
class Opening:
    """A door, window, hatch or gap: from u0 to u1 along its wall, from z0 to z1 above the floor."""

    ref: Ref
    u0_m: float
    u1_m: float
    z0_m: float
    z1_m: float
    fill: str


@dataclasses.dataclass(frozen=True)
class WallShape:
    """A straight wall with its height, thickness and openings, in the building's axes."""

    ref: Ref
    start: Point
    end: Point
    z0_m: float
    z1_m: float
    thickness_m: float
    wall_type: Ref | None
    hatch: str
    openings: tuple[Opening, ...]


@dataclasses.dataclass(frozen=True)
class RoomShape:
    """A room as polygons, in the building's axes."""

    ref: Ref
    name: str
    pieces: tuple[Polygon, ...]
    floor_z_m: float
    height_m: float

    @property
    def area_m2(self) -> float:
        """Sum of the pieces; they must not overlap."""
        return sum(area_m2(p) for p in self.pieces)


@dataclasses.dataclass(frozen=True)
class Place:
    """Where a thing is: its floor, and its point in the building's axes and on the site."""

    floor: Ref
    x_m: float
    y_m: float
    z_m: float
    on_site: tuple[float, float, float]


@dataclasses.dataclass(frozen=True)
class SlabShape:
    """A slab under a floor with its holes."""

    ref: Ref
    pieces: tuple[Polygon, ...]
    holes: tuple[Polygon, ...]
    wall_type: Ref | None


@dataclasses.dataclass(frozen=True)
class FloorPlan:
    """All shapes of one floor."""

    floor: Ref
    name: str
    frame: Frame
    rooms: tuple[RoomShape, ...]
    walls: tuple[WallShape, ...]
    slabs: tuple[SlabShape, ...]


def frame_of(site: Site, building: Ref | None) -> Frame:
    """The building's frame; the site's own where nothing was noted."""
    thing = site.get(building)
    if thing is None:
        return Frame(0, 0, 0, 0)
    return Frame(*(thing.number(n) or 0 for n in ("x_m", "y_m", "z_m", "angle_deg")))


def floor_plan(site: Site, floor: Ref) -> FloorPlan:
    """All that stands on one floor, planned things included."""
    thing = site.get(floor)
    frame = frame_of(site, thing.ref_of("building") if thing else None)
    floor_z = (thing.number("z_m") if thing else None) or 0.0
    rooms = tuple(
        _room(r, floor_z) for r in site.of_kind("room") if r.ref_of("floor") == floor and _drawn(r, "outline")
    )
    walls = tuple(
        _wall(site, w, floor) for w in site.of_kind("wall") if floor in w.refs_of("floors") and _drawn(w, "line")
    )
    slabs = tuple(_slab(s) for s in site.of_kind("slab") if s.ref_of("floor") == floor)
    return FloorPlan(floor, thing.text("name") if thing else "", frame, rooms, walls, slabs)


def _drawn(thing: Thing, name: str) -> str:
    """An outline as written; empty where nothing was said and where `none` was."""
    text = thing.text(name)
    return "" if text == "none" else text


def _room(thing: Thing, floor_z: float) -> RoomShape:
    pieces = tuple(as_polygon(p) for p in parse_outline(thing.text("outline")))
    return RoomShape(thing.ref, thing.text("name"), pieces, floor_z, thing.number("height_m") or DEFAULT_CEILING_M)


def _slab(thing: Thing) -> SlabShape:
    def parts(name: str) -> tuple[Polygon, ...]:
        return tuple(as_polygon(p) for p in parse_outline(text)) if (text := _drawn(thing, name)) else ()

    return SlabShape(thing.ref, parts("outline"), parts("holes"), thing.ref_of("wall_type"))


def _wall(site: Site, thing: Thing, floor: Ref) -> WallShape:
    start, end = parse_outline(thing.text("line"))[0][:2]
    built = site.get(thing.ref_of("wall_type"))
    thickness = thing.number("thickness_m") or (built.number("thickness_m") if built else None) or DEFAULT_WALL_M
    on = site.get(floor)
    ceiling = (on.number("ceiling_m") if on else None) or DEFAULT_CEILING_M
    z1 = thing.number("z1_m")
    openings = tuple(
        Opening(
            o.ref,
            o.number("u0_m") or 0,
            o.number("u1_m") or 0,
            o.number("z0_m") or 0,
            o.number("z1_m") or ceiling,
            o.text("fill") or "open",
        )
        for o in site.of_kind("opening")
        if o.ref_of("wall") == thing.ref and o.stands
    )
    return WallShape(
        thing.ref,
        start,
        end,
        thing.number("z0_m") or 0,
        z1 if z1 is not None else ceiling,
        thickness,
        thing.ref_of("wall_type"),
        (built.text("hatch") if built else "") or "none",
        openings,
    )


def place_of(site: Site, thing: Thing) -> Place | None:
    """Position of an outlet, block or unit; None when its room, floor or point is not known."""
    room = site.get(thing.ref_of("room"))
    floor = site.get(room.ref_of("floor")) if room else None
    x, y = thing.number("x_m"), thing.number("y_m")
    if floor is None or x is None or y is None:
        return None
    z = (floor.number("z_m") or 0) + (thing.number("z_m") or 0)
    frame = frame_of(site, floor.ref_of("building"))
    return Place(floor.ref, x, y, z, frame.to_site((x, y), z))

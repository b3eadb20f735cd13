"""Floors as levels of their buildings: where each lies, how high it reaches, and areas that close small gaps."""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterable, Mapping, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.geometry import DEFAULT_CEILING_M, BadOutline, Frame, as_polygon, frame_of, parse_outline
from pullstring.model.refs import Ref
from pullstring.radio.scene import Point, Polygon, Spot
from pullstring.radio.scene_assumed import assumed

SAME_LEVEL_M = 0.5  # ours: floors of one building nearer than this are one level
GRAIN_M = 1e-6
SLIVER_M2 = 1e-4


@dataclasses.dataclass(frozen=True)
class Storey:
    """One floor: its building and frame, its surface and the level above it (both above floor 0), its ceiling height."""

    ref: Ref
    building: Ref | None
    frame: Frame
    z_m: float
    top_m: float
    ceiling_m: float
    measured: bool

    @property
    def key(self) -> tuple[float, ...]:
        """An order that no name has a part in."""
        return (self.frame.x_m, self.frame.y_m, self.frame.z_m, self.z_m, self.top_m)

    def to_site(self, point: Point, z_m: float) -> Spot:
        """Site coordinates of a point in the building's axes at a height above floor 0.

        Parameters
        ----------
        point : tuple
            In the building's axes. [m]
        z_m : float
            Above floor 0 of the building. [m]

        References
        ----------
        Turn and shift; `model/geometry.py`.
        """
        return self.frame.to_site(point, z_m)


@once_a_site
def storeys(site: Site) -> Mapping[Ref, Storey]:
    """All floors that stand."""
    by_building: dict[Ref | None, list[Thing]] = collections.defaultdict(list)
    for floor in site.of_kind("floor"):
        if floor.stands:
            by_building[floor.ref_of("building")].append(floor)
    found: dict[Ref, Storey] = {}
    for building, floors in by_building.items():
        level = {f.ref: _level(f) for f in floors}
        for floor in floors:
            z, ceiling = level[floor.ref], floor.number("ceiling_m") or DEFAULT_CEILING_M
            above = [other for other in level.values() if other > z + SAME_LEVEL_M]
            known = floor.number("z_m") is not None
            found[floor.ref] = Storey(
                floor.ref, building, frame_of(site, building), z, min(above, default=z + ceiling), ceiling, known
            )
    return found


def _level(floor: Thing) -> float:
    z = floor.number("z_m")
    return z if z is not None else (floor.number("level") or 0.0) * assumed("storey_m")


def pieces_of(thing: Thing, name: str) -> tuple[Polygon, ...]:
    """An outline field as polygons in the building's axes; empty where nothing can be read."""
    text = thing.text(name)
    try:
        return tuple(as_polygon(p) for p in parse_outline(text)) if text and text != "none" else ()
    except BadOutline:
        return ()


def area_of(pieces: Sequence[Polygon]) -> BaseGeometry:
    """All pieces as one area, overlaps counted once; a piece that touches itself is mended."""
    shapes = [shapely.make_valid(shapely.Polygon(p)) for p in pieces if len(p) > 2]
    return shapely.set_precision(shapely.union_all(shapes), GRAIN_M)


def together(areas: Iterable[BaseGeometry]) -> BaseGeometry:
    """One area of several; gaps as wide as a wall are closed."""
    half = assumed("facing_m") / 2
    one = shapely.union_all(list(areas))
    return shapely.set_precision(one.buffer(half, join_style="mitre").buffer(-half, join_style="mitre"), GRAIN_M)


def rings_of(area: BaseGeometry) -> tuple[tuple[Polygon, ...], tuple[Polygon, ...]]:
    """An area as polygons that do not overlap, and the holes in them; in an order that no name has a part in."""
    parts = [p for p in _parts(area) if p.area > SLIVER_M2]
    pieces = sorted(_ring(p.exterior) for p in parts)
    holes = sorted(_ring(h) for p in parts for h in p.interiors if shapely.Polygon(h).area > SLIVER_M2)
    return tuple(pieces), tuple(holes)


def solid(area: BaseGeometry) -> tuple[Polygon, ...]:
    """An area as polygons without holes: cut through each hole."""
    done: list[Polygon] = []
    todo = list(_parts(area))
    while todo:
        part = todo.pop()
        if not part.interiors:
            done += [_ring(part.exterior)] if part.area > SLIVER_M2 else []
            continue
        x = shapely.Polygon(part.interiors[0]).centroid.x
        x0, y0, x1, y1 = part.bounds
        todo += _parts(part.intersection(shapely.box(x0, y0, x, y1))) + _parts(
            part.intersection(shapely.box(x, y0, x1, y1))
        )
    return tuple(sorted(done))


def _parts(area: BaseGeometry) -> list[shapely.Polygon]:
    found = [area] if area.geom_type == "Polygon" else list(getattr(area, "geoms", ()))
    return [p for p in found if p.geom_type == "Polygon" and not p.is_empty]


def _ring(ring: shapely.LinearRing) -> Polygon:
    """Corners counter-clockwise from the one that comes first."""
    points = [(float(x), float(y)) for x, y in ring.coords[:-1]]
    if shapely.Polygon(points).exterior.is_ccw is False:
        points.reverse()
    first = points.index(min(points))
    return tuple(points[first:] + points[:first])

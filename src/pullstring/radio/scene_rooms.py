"""Rooms as areas with the points at which their level is judged, and the slabs between, below and above them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.radio.scene import Point, Polygon, Room, Slab, Spot
from pullstring.radio.scene_assumed import Taken, assumed, wall_classes
from pullstring.radio.scene_skins import class_of, wall_types
from pullstring.radio.scene_storeys import Storey, area_of, pieces_of, rings_of, solid, together
from pullstring.radio.scene_walls import Line, type_of

GROUND, ROOF, JOISTS = "the ground", "the roof", "a floor of unknown build"
SLAB_CLASSES = {GROUND: "earth", ROOF: "tile roof", JOISTS: "joist floor"}
"""The class of each slab that nobody recorded."""
MOST_TRIED = 40_000  # ours: points of a grid that are looked at in one room, however far its corners lie apart
LEAST_ROOF_M2 = 1.0  # ours: smaller gaps between slabs are slips of the pen


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A room that has an outline on a floor that stands."""

    thing: Thing
    storey: Storey
    area: BaseGeometry
    height_m: float


def drawn_rooms(site: Site, levels: Mapping[Ref, Storey]) -> tuple[Drawn, ...]:
    """Rooms that can be put into the scene, in an order of place."""
    found = []
    for room in site.of_kind("room"):
        storey = levels.get(ref) if (ref := room.ref_of("floor")) else None
        pieces = pieces_of(room, "outline")
        if not room.stands or storey is None or not pieces:
            continue
        area = area_of(pieces)
        if area.area > 0:
            found.append(Drawn(room, storey, area, room.number("height_m") or storey.ceiling_m))
    return tuple(sorted(found, key=lambda r: (r.storey.key, r.area.bounds, r.area.area, r.thing.ref)))


def rooms_of(drawn: Sequence[Drawn], walls: Sequence[Line], *, step_m: float) -> tuple[Room, ...]:
    """Rooms with their judging points.

    Parameters
    ----------
    drawn, walls : sequences
        From `drawn_rooms` and `lines`.
    step_m : float
        How far the points lie apart, at least; farther in rooms that would have too many. [m]

    References
    ----------
    Ours; the height of the points is common practice.
    """
    return tuple(_room(room, [w for w in walls if room.storey in w.storeys], step_m) for room in drawn)


def _room(room: Drawn, walls: Sequence[Line], step_m: float) -> Room:
    storey = room.storey
    z = storey.z_m + min(assumed("judging_height_m"), room.height_m / 2)
    pieces = tuple(_on_site(piece, storey) for piece in solid(room.area))
    points = tuple(_spot(p, z, storey) for p in judging_points(room.area, walls, step_m=step_m))
    return Room(
        room.thing.ref.tag,
        storey.building.tag if storey.building else "",
        storey.ref.tag,
        pieces,
        storey.frame.z_m + storey.z_m,
        room.height_m,
        points,
    )


def judging_points(area: BaseGeometry, walls: Sequence[Line], *, step_m: float) -> tuple[Point, ...]:
    """An even grid inside an area, none on a wall; one point at least, and no more than the table says.

    Parameters
    ----------
    area : polygon or several
        In the building's axes.
    walls : sequence of Line
        Walls of that floor.
    step_m : float
        How far the points lie apart, at least. [m]

    References
    ----------
    Ours.
    """
    most = assumed("most_points")
    inside = area.buffer(-assumed("clear_of_wall_m"))
    if inside.is_empty:
        inside = area
    shapely.prepare(inside)
    x0, y0, x1, y1 = inside.bounds
    step_m = max(step_m, math.sqrt((x1 - x0) * (y1 - y0) / MOST_TRIED))
    while len(points := _grid(inside, walls, step_m)) > most:
        step_m *= math.sqrt(len(points) / most) * 1.02  # the step after which about as many as allowed remain
    if points:
        return points
    x, y = (float(c) for c in inside.representative_point().coords[0])
    return ((x, y),)


def _grid(inside: BaseGeometry, walls: Sequence[Line], step_m: float) -> tuple[Point, ...]:
    x0, y0, x1, y1 = inside.bounds
    nx, ny = max(1, round((x1 - x0) / step_m)), max(1, round((y1 - y0) / step_m))
    xs = x0 + (np.arange(nx) + 0.5) * (x1 - x0) / nx
    ys = y0 + (np.arange(ny) + 0.5) * (y1 - y0) / ny
    X, Y = (a.ravel() for a in np.meshgrid(xs, ys))
    held = shapely.contains_xy(inside, X, Y)
    X, Y = X[held], Y[held]
    if walls and len(X):
        nearest = shapely.distance(
            shapely.points(X, Y)[:, None], np.array([shapely.LineString([w.start, w.end]) for w in walls])[None, :]
        ).min(axis=1)
        keep = nearest >= assumed("clear_of_wall_m") * (1 - 1e-9)
        X, Y = X[keep], Y[keep]
    return tuple((float(x), float(y)) for x, y in zip(X, Y, strict=True))


def slabs_of(
    site: Site, levels: Mapping[Ref, Storey], drawn: Sequence[Drawn]
) -> tuple[tuple[Slab, ...], tuple[Taken, ...]]:
    """Recorded slabs; where none is, a floor of unknown build, the ground below the lowest rooms, a roof above the highest."""
    made: list[tuple[Storey, float, BaseGeometry, str, str]] = []
    taken: list[Taken] = []
    for storey, thing in _recorded(site, levels):
        footprint = together([r.area for r in drawn if r.storey == storey] or [area_of(())])
        area = area_of(pieces_of(thing, "outline"))
        area = area if area.area > 0 else footprint  # one that encloses nothing is a slip of the pen, not a floor less
        area = area.difference(area_of(pieces_of(thing, "holes")))
        area = area.difference(shapely.union_all([a for s, _, a, _, _ in made if s == storey]))
        made.append((storey, storey.z_m, area, type_of(site, thing) or JOISTS, thing.ref.tag))
        taken += [] if type_of(site, thing) else [Taken("slab_type_unknown", (thing.ref,))]
    for storey in sorted({r.storey for r in drawn}, key=lambda s: s.key):
        if not any(s == storey for s, *_ in made):
            lowest = not any(o.building == storey.building and o.z_m < storey.z_m for o in levels.values())
            footprint = together([r.area for r in drawn if r.storey == storey])
            kind = GROUND if lowest else _only(site, JOISTS)
            made.append((storey, storey.z_m, footprint, kind, f"{kind} of {storey.ref.tag}"))
            taken.append(Taken("ground_assumed" if lowest else "floor_assumed", (storey.ref,)))
    for storey in sorted({r.storey for r in drawn}, key=lambda s: s.key):
        bare, height = _bare(storey, drawn, made)
        if bare.area > LEAST_ROOF_M2:
            made.append((storey, storey.z_m + height, bare, _only(site, ROOF), f"the roof of {storey.ref.tag}"))
            taken.append(Taken("roof_assumed", (storey.ref,)))
    return tuple(_slab(*one) for one in made if one[2].area > 0), tuple(taken)


def _recorded(site: Site, levels: Mapping[Ref, Storey]) -> list[tuple[Storey, Thing]]:
    slabs = [(s.ref_of("floor"), s) for s in site.of_kind("slab") if s.stands]
    found = [(levels[floor], s) for floor, s in slabs if floor is not None and floor in levels]
    return sorted(found, key=lambda one: (one[0].key, pieces_of(one[1], "outline"), one[1].ref))


def _bare(
    storey: Storey, drawn: Sequence[Drawn], made: Sequence[tuple[Storey, float, BaseGeometry, str, str]]
) -> tuple[BaseGeometry, float]:
    """What of a storey no slab covers from above, and how high its rooms are there."""
    over = [a for s, z, a, _, _ in made if s.building == storey.building and z > storey.z_m]
    bare = together([r.area for r in drawn if r.storey == storey]).difference(shapely.union_all(over))
    below = [r.height_m for r in drawn if r.storey == storey and r.area.intersection(bare).area > 0]
    return bare, max(below, default=storey.ceiling_m)


def _only(site: Site, name: str) -> str:
    """The one wall type of the site that is of this use, else the name of what is assumed."""
    fitting = [t for t in wall_types(site) if class_of(t).use == wall_classes()[SLAB_CLASSES[name]].use]
    return fitting[0].ref.tag if len(fitting) == 1 else name


def _slab(storey: Storey, z_m: float, area: BaseGeometry, skin: str, name: str) -> Slab:
    pieces, holes = rings_of(area)
    return Slab(
        name,
        storey.frame.z_m + z_m,
        tuple(_on_site(p, storey) for p in pieces),
        tuple(_on_site(h, storey) for h in holes),
        skin,
    )


def _on_site(piece: Polygon, storey: Storey) -> Polygon:
    return tuple(storey.to_site(p, 0.0)[:2] for p in piece)


def _spot(point: Point, z_m: float, storey: Storey) -> Spot:
    return storey.to_site(point, z_m)

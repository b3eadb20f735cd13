"""Ways from floor to floor: rooms called stair, holes in slabs, hatches, rooms noted above each other."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator

import shapely

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import Point
from pullstring.model.refs import Ref
from pullstring.reach.walking_floors import outline_pieces
from pullstring.reach.walking_ways import Shape

STAIR = re.compile(r"\b(stair|landing\b)", re.IGNORECASE)
"""Ours: a room of whose name or use a word begins so has a stair in it."""
STAIR_M2 = 0.3
"""Ours: the least overlap or hole through which a person goes from floor to floor."""


@dataclasses.dataclass(frozen=True, eq=False)
class Upright:
    """A way from a lower region to an upper one: where it stands in both, its strength, and the levels between."""

    lower: int
    upper: int
    at: Point | None
    rank: int
    levels: int
    area_m2: float
    of: tuple[Ref, ...]


SURE, HATCH, BY_NAME, ABOVE, NONE = range(5)
"""Strength: both called stair or a hole; a hatch below; one is called stair; noted as above; nothing but lying above."""


def floors_in_order(site: Site, building: Ref | None) -> list[Thing]:
    """The floors of a building from the bottom up."""
    mine = [f for f in site.of_kind("floor") if f.stands and f.ref_of("building") == building]
    return sorted(mine, key=lambda f: (_order(f), f.ref))


def _order(floor: Thing) -> tuple[float, float]:
    level, z = floor.number("level"), floor.number("z_m")
    return (level if level is not None else (z or 0.0) / 3.0, z or 0.0)  # about three metres a floor; ours, assumed


def levels_between(lower: Thing, upper: Thing) -> int:
    """How many floors of stairs lie between two floors that follow each other; at least one."""
    return max(1, round(_order(upper)[0] - _order(lower)[0]))


def ground_of(floors: list[Thing]) -> Thing | None:
    """The floor at which one enters: level 0, else the lowest above it, else the highest below."""
    above = [f for f in floors if _order(f)[0] > -0.5]
    return above[0] if above else floors[-1] if floors else None


def is_stair(room: Thing | None) -> bool:
    """Whether a room is called a stair."""
    return room is not None and bool(STAIR.search(f"{room.text('name')} {room.text('use')}"))


def drawn_uprights(
    site: Site,
    lower: dict[int, tuple[Ref | None, Shape]],
    upper: dict[int, tuple[Ref | None, Shape]],
    floors: tuple[Thing, Thing],
) -> Iterator[Upright]:
    """Every pair of drawn regions of two floors of which one lies over the other.

    `lower` and `upper` give for each region its room, if it is one, and its shape.
    """
    holes = _holes(site, floors[1].ref)
    above = {(c.subject, c.object) for c in site.about(relation="above")}
    levels = levels_between(*floors)
    for a, (below, shape) in lower.items():
        for b, (over, other) in upper.items():
            both = _largest(shape.intersection(other))
            if both is None:
                continue
            refs = tuple(r for r in (below, over) if r)
            called = is_stair(site.get(below)) + is_stair(site.get(over))
            through = [part for hole in holes if (part := _largest(hole.intersection(both))) is not None]
            if through:
                yield Upright(a, b, _middle(through[0]), SURE, levels, float(through[0].area), refs)
                continue
            rank = SURE if called == 2 else BY_NAME if called else ABOVE if (over, below) in above else NONE
            yield Upright(a, b, _middle(both), rank, levels, float(both.area), refs)


def _holes(site: Site, floor: Ref) -> list[Shape]:
    slabs = [s for s in site.of_kind("slab") if s.stands and s.ref_of("floor") == floor]
    return [hole for s in slabs for hole in outline_pieces(s.text("holes"))]


def _largest(shape: Shape) -> Shape | None:
    pieces = [p for p in getattr(shape, "geoms", (shape,)) if p.geom_type == "Polygon" and p.area >= STAIR_M2]
    return max(pieces, key=lambda p: float(p.area), default=None)


def _middle(shape: Shape) -> Point:
    near = shape.centroid
    if not shape.covers(near):
        near = shapely.get_point(shapely.shortest_line(shape, near), 0)
    return float(near.x), float(near.y)

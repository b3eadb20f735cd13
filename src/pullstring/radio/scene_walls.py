"""Walls with their openings as they stand in the record, in site coordinates."""

from __future__ import annotations

import collections
import dataclasses
import math
from collections.abc import Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import BadOutline, parse_outline
from pullstring.model.refs import Ref
from pullstring.radio.scene import Opening, Point, Wall
from pullstring.radio.scene_assumed import Taken, fills
from pullstring.radio.scene_storeys import Storey

LEAST_M = 0.01
USUAL, OPEN, SHUT = "usual", "open", "shut"
LEAVES = ("door", "hatch")
"""What is opened when all doors are; windows stay as they usually are."""
NO_TYPE = "a wall of unknown build"


@dataclasses.dataclass(frozen=True)
class Line:
    """A recorded wall in its building's axes: on which storeys, from where to where, between two heights above floor 0."""

    thing: Thing
    storeys: tuple[Storey, ...]
    start: Point
    end: Point
    z0_m: float
    z1_m: float

    @property
    def length_m(self) -> float:
        """From its first point to its second. [m]"""
        return math.dist(self.start, self.end)


@dataclasses.dataclass(frozen=True)
class Hole:
    """A recorded opening: along its wall, and its heights above floor 0, as noted or as usual for its kind."""

    thing: Thing
    fill: str
    u0_m: float
    u1_m: float
    z0_m: float
    z1_m: float


def lines(site: Site, levels: Mapping[Ref, Storey]) -> tuple[Line, ...]:
    """Recorded walls that stand on a floor that stands, in an order of place."""
    found = []
    for wall in site.of_kind("wall"):
        on = tuple(levels[f] for f in wall.refs_of("floors") if f in levels)
        ends = _ends(wall)
        if not wall.stands or not on or ends is None:
            continue
        z0, z1 = wall.number("z0_m"), wall.number("z1_m")
        low = min(s.z_m for s in on) if z0 is None else on[0].z_m + z0
        high = max(s.top_m for s in on) if z1 is None else on[0].z_m + z1
        found.append(Line(wall, on, *ends, low, high))
    return tuple(sorted(found, key=lambda w: (w.storeys[0].key, w.start, w.end, w.z0_m, w.z1_m)))


def _ends(wall: Thing) -> tuple[Point, Point] | None:
    """Both ends; None for a wall without a line. Two points are no rectangle here."""
    try:
        piece = parse_outline(wall.text("line"))[0]
    except (BadOutline, IndexError):
        return None
    return piece[0], piece[1]


def holes_by_wall(site: Site) -> Mapping[Ref, Sequence[Thing]]:
    """Openings that stand, by their wall."""
    found: dict[Ref, list[Thing]] = collections.defaultdict(list)
    for opening in site.of_kind("opening"):
        wall = opening.ref_of("wall")
        if opening.stands and wall is not None:
            found[wall].append(opening)
    return found


def holes(line: Line, openings: Sequence[Thing]) -> tuple[Hole, ...]:
    """The openings of a wall as noted, not yet cut to it, in the order along it."""
    found = []
    for thing in openings:
        fill = thing.text("fill") if thing.text("fill") in fills() else OPEN
        kind = fills().get(fill)
        base = line.storeys[0].z_m
        z0, z1 = thing.number("z0_m"), thing.number("z1_m")
        low = base + (z0 if z0 is not None else kind.foot_m if kind else 0.0)
        high = base + (z1 if z1 is not None else max(kind.head_m, low - base) if kind else line.z1_m - base)
        found.append(Hole(thing, fill, thing.number("u0_m") or 0.0, thing.number("u1_m") or 0.0, low, high))
    return tuple(sorted(found, key=lambda h: (h.u0_m, h.z0_m, h.u1_m, h.z1_m)))


def cut_to(line: Line, found: Sequence[Hole]) -> tuple[Hole, ...]:
    """The openings as far as they lie in the wall and not in one that comes before them."""
    kept: list[Hole] = []
    for hole in found:
        u0, u1 = max(0.0, hole.u0_m), min(line.length_m, hole.u1_m)
        z0, z1 = max(line.z0_m, hole.z0_m), min(line.z1_m, hole.z1_m)
        for other in kept:
            if min(z1, other.z1_m) - max(z0, other.z0_m) > LEAST_M and other.u1_m > u0 and other.u0_m < u1:
                u0 = other.u1_m
        if u1 - u0 > LEAST_M and z1 - z0 > LEAST_M:
            kept.append(dataclasses.replace(hole, u0_m=u0, u1_m=u1, z0_m=z0, z1_m=z1))
    return tuple(kept)


def stands_in(hole: Hole, *, doors: str) -> str:
    """Whether a leaf or pane is shut or open: as asked for doors, else as usual, else shut."""
    if hole.fill == OPEN:
        return OPEN
    if doors != USUAL and hole.fill in LEAVES:
        return doors
    return hole.thing.text("usual") or fills()[hole.fill].usual


def walls_of(site: Site, levels: Mapping[Ref, Storey], *, doors: str) -> tuple[tuple[Wall, ...], tuple[Taken, ...]]:
    """Walls of the scene, with what was taken for granted of them."""
    openings = holes_by_wall(site)
    made, taken = [], []
    for line in lines(site, levels):
        if line.length_m <= LEAST_M or line.z1_m - line.z0_m <= LEAST_M:
            continue
        first = line.storeys[0]
        kept = cut_to(line, holes(line, openings.get(line.thing.ref, ())))
        skin = type_of(site, line.thing)
        if skin is None:
            taken.append(Taken("wall_type_unknown", (line.thing.ref,)))
        made.append(
            Wall(
                line.thing.ref.tag,
                first.to_site(line.start, z_m=0)[:2],
                first.to_site(line.end, z_m=0)[:2],
                first.frame.z_m + line.z0_m,
                first.frame.z_m + line.z1_m,
                skin or NO_TYPE,
                tuple(_opening(h, first, site, doors=doors) for h in kept),
            )
        )
        taken += [
            Taken("opening_kind_usual", (h.thing.ref,))
            for h in kept
            if h.fill in fills() and not type_of(site, h.thing)
        ]
        taken += [Taken("opening_taken_open", (h.thing.ref,)) for h in kept if not h.thing.text("fill")]
        taken += [
            Taken("opening_taken_shut", (h.thing.ref,)) for h in kept if h.fill in fills() and not h.thing.text("usual")
        ]
    return tuple(made), tuple(taken)


def _opening(hole: Hole, storey: Storey, site: Site, *, doors: str) -> Opening:
    built = type_of(site, hole.thing)
    skin = None if stands_in(hole, doors=doors) == OPEN else built or fill_name(hole.fill)
    low, high = storey.frame.z_m + hole.z0_m, storey.frame.z_m + hole.z1_m
    return Opening(hole.thing.ref.tag, hole.u0_m, hole.u1_m, low, high, skin)


def type_of(site: Site, thing: Thing) -> str | None:
    """Tag of the wall type that a thing names, as it is spelled where the type was made; None where there is none."""
    named = site.get(thing.ref_of("wall_type"))
    return named.ref.tag if named else None


def fill_name(fill: str) -> str:
    """Name of the skin of what usually stands in an opening; no tag is written so."""
    return f"a {fill}, usual"

"""What is wrong in the drawing or the readings as far as signal goes: told one by one, and the rest is answered all the same."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.problems import listed, problem, worst_first
from pullstring.radio.readings_of import Level, readings_of
from pullstring.radio.scene import Scene, Sender
from pullstring.radio.scene_assumed import assumed
from pullstring.radio.scene_of import Made
from pullstring.radio.scene_rooms import Drawn, drawn_rooms
from pullstring.radio.scene_storeys import pieces_of, storeys
from pullstring.radio.scene_walls import Hole, Line, holes, holes_by_wall, lines

CODES = (
    "outline_touches",
    "rooms_overlap",
    "room_gap",
    "wall_astray",
    "walls_double",
    "opening_outside",
    "openings_overlap",
    "sender_outside",
    "sender_placeless",
    "reading_far",
    "reading_of_nobody",
    "reading_nowhere",
    "reading_unread",
)
SLIP_M = 0.03  # ours: an opening may reach so far beyond its wall by rounding
ON_LINE_M = 0.02  # ours: walls nearer than this lie on one line


def scene_problems(site: Site, made: Made) -> tuple[Problem, ...]:
    """All of them, worst first."""
    levels = storeys(site)
    drawn, walls = drawn_rooms(site, levels), lines(site, levels)
    found = [
        *_outlines(drawn),
        *_overlaps(drawn),
        *_gaps(drawn, walls),
        *_astray(drawn, walls),
        *_double(walls),
        *_openings(site, walls),
        *_senders(site, made),
        *_readings(site, made.scene),
    ]
    return worst_first(found)


def _outlines(drawn: Sequence[Drawn]) -> Iterator[Problem]:
    for room in drawn:
        pieces = [shapely.Polygon(p) for p in pieces_of(room.thing, "outline")]
        bad = [shapely.is_valid_reason(p) for p in pieces if not p.is_valid]
        if bad:
            place = bad[0].partition("[")[2].rstrip("]")
            yield _told("outline_touches", [room.thing], says=f"at {place}" if place else "somewhere")


def _overlaps(drawn: Sequence[Drawn]) -> Iterator[Problem]:
    for n, room in enumerate(drawn):
        for other in drawn[n + 1 :]:
            if other.storey == room.storey and room.area.intersects(other.area):
                shared = room.area.intersection(other.area).area
                if shared > assumed("overlap_m2"):
                    both = sorted((room.thing, other.thing), key=lambda t: t.ref)
                    yield _told("rooms_overlap", both, says=f"{shared:.1f} m2 belong to both")


def _gaps(drawn: Sequence[Drawn], walls: Sequence[Line]) -> Iterator[Problem]:
    """Sides of a room along which neither a wall stands nor another room lies, longer than an opening is wide."""
    for room in drawn:
        here = [w for w in walls if room.storey in w.storeys]
        if not here:
            continue
        closed = _near([shapely.LineString([w.start, w.end]) for w in here], assumed("beside_m"))
        open_sides = room.area.boundary.difference(closed)
        longest = max((p.length for p in _merged(open_sides)), default=0.0)
        if longest > assumed("gap_m"):
            yield _told("room_gap", [room.thing], says=f"{longest:.1f} m long")


def _near(shapes: Sequence[BaseGeometry], reach_m: float) -> BaseGeometry:
    return shapely.union_all([s.buffer(reach_m, cap_style="flat", join_style="mitre") for s in shapes])


def _merged(lines_left: BaseGeometry) -> list[BaseGeometry]:
    joined = shapely.line_merge(lines_left) if lines_left.geom_type == "MultiLineString" else lines_left
    return list(getattr(joined, "geoms", [joined]))


def _astray(drawn: Sequence[Drawn], walls: Sequence[Line]) -> Iterator[Problem]:
    for wall in walls:
        near = [r for r in drawn if r.storey in wall.storeys]
        if not near:
            continue
        away = min(r.area.distance(shapely.LineString([wall.start, wall.end])) for r in near)
        if away > assumed("astray_m"):
            yield _told("wall_astray", [wall.thing], says=f"{away:.1f} m from the nearest")


def _double(walls: Sequence[Line]) -> Iterator[Problem]:
    """Two walls on one line at one height: a signal would pay twice."""
    for n, wall in enumerate(walls):
        for other in walls[n + 1 :]:
            if other.storeys[0].building != wall.storeys[0].building:
                continue
            if min(wall.z1_m, other.z1_m) - max(wall.z0_m, other.z0_m) < SLIP_M:
                continue
            strip = shapely.LineString([wall.start, wall.end]).buffer(ON_LINE_M, cap_style="flat")
            shared = shapely.LineString([other.start, other.end]).intersection(strip).length
            if shared > assumed("beside_m"):
                both = sorted((wall.thing, other.thing), key=lambda t: t.ref)
                yield _told("walls_double", both, says=f"along {shared:.1f} m")


def _openings(site: Site, walls: Sequence[Line]) -> Iterator[Problem]:
    by_wall = holes_by_wall(site)
    for wall in walls:
        found = holes(wall, by_wall.get(wall.thing.ref, ()))
        for hole in found:
            if says := _misfit(wall, hole):
                yield _told("opening_outside", [hole.thing, wall.thing], says=says, where=[hole.thing])
        for n, hole in enumerate(found):
            for other in found[n + 1 :]:
                wide = min(hole.u1_m, other.u1_m) - max(hole.u0_m, other.u0_m)
                high = min(hole.z1_m, other.z1_m) - max(hole.z0_m, other.z0_m)
                if wide > SLIP_M and high > SLIP_M:
                    both = sorted((hole.thing, other.thing), key=lambda t: t.ref)
                    yield _told("openings_overlap", both, says=f"{wide:.2f} m of {wall.thing.ref}")


def _misfit(wall: Line, hole: Hole) -> str:
    if hole.u1_m - hole.u0_m <= 0:
        return f"it begins at {hole.u0_m:g} m and ends at {hole.u1_m:g} m"
    if hole.u1_m > wall.length_m + SLIP_M:
        return f"it ends at {hole.u1_m:g} m and the wall at {wall.length_m:.2f} m"
    if hole.z1_m <= hole.z0_m:
        return "its top is not above its foot"
    if hole.z0_m < wall.z0_m - SLIP_M or hole.z1_m > wall.z1_m + SLIP_M:
        base = wall.storeys[0].z_m
        return (
            f"it reaches from {hole.z0_m - base:.2f} to {hole.z1_m - base:.2f} m above the floor, "
            f"the wall from {wall.z0_m - base:.2f} to {wall.z1_m - base:.2f} m"
        )
    return ""


def _senders(site: Site, made: Made) -> Iterator[Problem]:
    for ref in made.placeless:
        if thing := site.get(ref):
            yield _told("sender_placeless", [thing], says="")
    named = {t.ref.tag: t for kind in ("position", "unit") for t in site.of_kind(kind)}
    for sender in made.scene.senders:
        thing = named.get(sender.name)
        if not sender.room and thing is not None:
            yield _told("sender_outside", [thing], says=f"{sender.spot[0]:.1f} {sender.spot[1]:.1f} on the site plan")


def _readings(site: Site, scene: Scene) -> Iterator[Problem]:
    """Told once a place and cause, with the entries of all such readings."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for one in readings_of(site, scene):
        for code, says in _reading_faults(site, one, scene):
            groups.setdefault((code, str(one.subject), says), []).append(one.entry)
    for (code, where, says), entries in groups.items():
        yield problem(code, where=where, says=says, because=entries)


def _reading_faults(site: Site, one: Level, scene: Scene) -> Iterator[tuple[str, str]]:
    for sentence in one.conditions.faults:
        yield "reading_unread", sentence
    if one.why_not == "no_place":
        yield "reading_nowhere", ""
    if one.why_not == "no_such_sender" or (one.why_not == "not_sending" and not _sent_once(site, one)):
        yield "reading_of_nobody", one.conditions.heard
    if one.reading is not None and one.reading.heard and scene.senders:
        far = min(math.dist(spot, s.spot) for spot in one.reading.spots for s in _meant(one, scene))
        if far > assumed("far_m"):
            yield "reading_far", f"{far:.0f} m"


def _meant(one: Level, scene: Scene) -> Sequence[Sender]:
    named = [s for s in scene.senders if one.reading is not None and s.name == one.reading.sender]
    return named or scene.senders


def _sent_once(site: Site, one: Level) -> bool:
    """Whether what was heard is a thing that may have sent then and is gone or out of use now."""
    thing = site.get(one.heard)
    return thing is not None and (thing.text("state") != "" or thing.text("health") == "called dead")


def _told(code: str, things: Sequence[Thing], *, says: str, where: Sequence[Thing] = ()) -> Problem:
    entries = [e for t in things for e in t.entries]
    return problem(code, where=listed(t.ref for t in where or things), says=says, because=entries)

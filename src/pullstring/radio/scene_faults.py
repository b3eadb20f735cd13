"""What is wrong in the drawing or the readings as far as signal goes: told one by one, and the rest is answered all the same."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import parse_outline
from pullstring.model.problems import listed, problem, worst_first
from pullstring.model.refs import Ref
from pullstring.radio.readings_of import Level, readings_of
from pullstring.radio.scene import Room, Scene, Sender
from pullstring.radio.scene_assumed import assumed
from pullstring.radio.scene_of import Made
from pullstring.radio.scene_rooms import Drawn, drawn_rooms
from pullstring.radio.scene_storeys import Storey, area_of, pieces_of, storeys
from pullstring.radio.scene_walls import LEAST_M, Hole, Line, holes, holes_by_wall, lines

CODES = (
    "room_undrawn",
    "outline_touches",
    "rooms_overlap",
    "room_gap",
    "wall_unbuilt",
    "wall_astray",
    "walls_double",
    "slab_misfit",
    "opening_outside",
    "openings_overlap",
    "sender_outside",
    "sender_elsewhere",
    "sender_placeless",
    "reading_impossible",
    "reading_band",
    "reading_elsewhere",
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
        *_undrawn(made, site, levels),
        *_outlines(drawn),
        *_overlaps(drawn),
        *_gaps(drawn, walls),
        *_unbuilt(walls),
        *_astray(drawn, walls),
        *_double(walls),
        *_slabs(site, levels),
        *_openings(site, walls),
        *_senders(site, made),
        *_readings(site, made.scene),
    ]
    return worst_first(found)


def _undrawn(made: Made, site: Site, levels: Mapping[Ref, Storey]) -> Iterator[Problem]:
    """Rooms with an outline that all the same lie nowhere; those without one are told as not known."""
    for room in (t for ref in made.undrawn if (t := site.get(ref))):
        if room.text("outline") not in ("", "none"):
            floor = room.ref_of("floor")
            says = "its outline encloses nothing" if floor in levels else "no floor that stands is noted for it"
            yield _told("room_undrawn", [room], says=says)


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
    closed: dict[Storey, BaseGeometry] = {}
    for storey in {r.storey for r in drawn}:
        here = [shapely.LineString([w.start, w.end]) for w in walls if storey in w.storeys]
        if here:
            closed[storey] = _near(here, assumed("beside_m"))
            shapely.prepare(closed[storey])
    for room in drawn:
        if room.storey not in closed:
            continue
        open_sides = room.area.boundary.difference(closed[room.storey])
        longest = max((p.length for p in _merged(open_sides)), default=0.0)
        if longest > assumed("gap_m"):
            yield _told("room_gap", [room.thing], says=f"{longest:.1f} m long")


def _near(shapes: Sequence[BaseGeometry], reach_m: float) -> BaseGeometry:
    return shapely.union_all([s.buffer(reach_m, cap_style="flat", join_style="mitre") for s in shapes])


def _merged(lines_left: BaseGeometry) -> list[BaseGeometry]:
    joined = shapely.line_merge(lines_left) if lines_left.geom_type == "MultiLineString" else lines_left
    return list(getattr(joined, "geoms", [joined]))


def _unbuilt(walls: Sequence[Line]) -> Iterator[Problem]:
    """Walls that are left out, or of which only a part is built."""
    for wall in walls:
        points = [len(piece) for piece in parse_outline(wall.thing.text("line"))]
        if wall.length_m <= LEAST_M:
            yield _told("wall_unbuilt", [wall.thing], says="its line has no length")
        elif wall.z1_m - wall.z0_m <= LEAST_M:
            yield _told("wall_unbuilt", [wall.thing], says="its top is not above its foot")
        elif sum(points) > 2:
            says = f"its line has {sum(points)} points, and only the wall between the first two counts"
            yield _told("wall_unbuilt", [wall.thing], says=says)
        elif len({s.building for s in wall.storeys}) > 1:
            yield _told(
                "wall_unbuilt", [wall.thing], says="its floors are of two buildings, and it counts in the first"
            )


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
    drawn = [shapely.LineString([w.start, w.end]) for w in walls]
    near = shapely.STRtree(drawn)
    for n, wall in enumerate(walls):
        strip = drawn[n].buffer(ON_LINE_M, cap_style="flat")
        for k in sorted(k for k in near.query(strip) if k > n):
            other = walls[k]
            if other.storeys[0].building != wall.storeys[0].building:
                continue
            if min(wall.z1_m, other.z1_m) - max(wall.z0_m, other.z0_m) < SLIP_M:
                continue
            shared = drawn[k].intersection(strip).length
            if shared > assumed("beside_m"):
                both = sorted((wall.thing, other.thing), key=lambda t: t.ref)
                yield _told("walls_double", both, says=f"along {shared:.1f} m")


def _slabs(site: Site, levels: Mapping[Ref, Storey]) -> Iterator[Problem]:
    found = [
        (s, floor, area_of(pieces_of(s, "outline")))
        for s in site.of_kind("slab")
        if s.stands and (floor := s.ref_of("floor")) in levels
    ]
    for n, (slab, floor, area) in enumerate(found):
        if pieces_of(slab, "outline") and not area.area > 0:
            yield _told("slab_misfit", [slab], says="its outline encloses nothing")
            continue
        beyond = area_of(pieces_of(slab, "holes")).difference(area).area if area.area > 0 else 0.0
        if beyond > assumed("overlap_m2"):
            yield _told("slab_misfit", [slab], says=f"{beyond:.1f} m2 of its holes lie outside its outline")
        for other, below, beside in found[n + 1 :]:
            shared = area.intersection(beside).area if below == floor else 0.0
            if shared > assumed("overlap_m2"):
                both = sorted((slab, other), key=lambda t: t.ref)
                yield _told("slab_misfit", both, says=f"{shared:.1f} m2 are noted twice")


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
    rooms = {r.name: r for r in made.scene.rooms}
    for sender in made.scene.senders:
        thing = named.get(sender.name)
        if thing is None:
            continue
        if not sender.room:
            yield _told("sender_outside", [thing], says=f"{sender.spot[0]:.1f} {sender.spot[1]:.1f} on the site plan")
            continue
        z, high = thing.number("z_m"), rooms[sender.room].height_m
        if z is not None and not -SLIP_M <= z <= high + assumed("near_ceiling_m"):
            says = f"{z:.1f} m above a floor whose room is {high:.1f} m high"
            yield _told("sender_outside", [thing], says=says)
        home = thing.ref_of("room")
        if home is not None and home.tag in rooms and _away_m(sender, rooms[home.tag]) > assumed("facing_m") / 2:
            yield _told("sender_elsewhere", [thing], says=f"noted in {home}, placed in room:{sender.room}")


def _away_m(sender: Sender, room: Room) -> float:
    """How far from a room a sender hangs on the site plan. [m]"""
    return min(float(shapely.Polygon(p).distance(shapely.Point(sender.spot[:2]))) for p in room.pieces)


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
    if one.why_not == "no_such_level":
        yield "reading_impossible", f"{one.measured_dbm:g} dBm"
    if one.why_not == "band_not_sent" and scene.senders:
        yield "reading_band", one.band
    if one.subject.kind == "room" and one.room and Ref("room", one.room) != one.subject:
        yield "reading_elsewhere", f"room:{one.room}"
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

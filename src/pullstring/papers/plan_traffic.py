"""The runs of a floor as lines: along known pathways from thing to thing or off the floor; a short dotted tail elsewhere."""

from __future__ import annotations

import collections
import dataclasses
import itertools
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.geometry import RoomShape, floor_plan
from pullstring.model.refs import Ref
from pullstring.papers import plan_lanes, plan_routes, plan_ways
from pullstring.papers import walls as walls_of
from pullstring.papers.plan_field import Box, Field, Numbers
from pullstring.papers.plan_lanes import PITCH, Stretch
from pullstring.papers.plan_runs import Run
from pullstring.papers.plan_scene import Scene
from pullstring.papers.plan_spots import Spots
from pullstring.papers.plan_stand import Stood, bare_box, stand, tip
from pullstring.papers.plan_ways import Gate, Leg
from pullstring.papers.svg import Point
from pullstring.papers.symbols import BLOCK, OUTLET, RADIO, Symbol

BRIDGED_M = 0.35  # ours: rooms no farther apart than this are joined through the wall between them
OFF_EDGE_M = 0.7  # ours: farther than this from a room's edge is its middle
TAIL, TAIL_LEAST = 0.45, 0.16  # length of the tail of a run whose way is not known, at 1:100
MOST_TAILS = 3
TAIL_OFF = 0.08
LEADS = (0.55, 0.4, 0.25)  # ours: how far runs go straight off a block before they part, at 1:100
OFF_WALL = 0.12  # a run along a wall keeps so far off it, at 1:100
INNER_M = 0.4  # ours: a way off the floor is drawn this far from the room's edge


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A run's line on this floor with its straight stretches."""

    run: Run
    reach: Ref
    points: tuple[Point, ...]
    stretches: tuple[Stretch, ...]


@dataclasses.dataclass(frozen=True)
class Tail:
    """Where a run arrives whose way is not known."""

    run: Run
    line: tuple[Point, Point]


@dataclasses.dataclass
class Traffic:
    """All lines of a floor; which runs arrive at which thing; what is only said in the key."""

    drawn: list[Drawn] = dataclasses.field(default_factory=list)
    tails: list[Tail] = dataclasses.field(default_factory=list)
    arrive: dict[Ref, list[Run]] = dataclasses.field(default_factory=lambda: collections.defaultdict(list))
    gates: dict[Gate, Stood] = dataclasses.field(default_factory=dict)
    pass_gate: dict[Gate, list[Run]] = dataclasses.field(default_factory=lambda: collections.defaultdict(list))
    leaving: list[tuple[Run, Ref]] = dataclasses.field(default_factory=list)
    no_point: list[tuple[Run, Ref]] = dataclasses.field(default_factory=list)


@dataclasses.dataclass(frozen=True)
class _Part:
    """One leg of one run, with the places of its two ends."""

    run: Run
    leg: Leg
    reach: Ref
    start: Stood
    end: Stood


def traffic(scene: Scene, stood: Sequence[Stood], spots: Spots, walls: Field) -> Traffic:
    """Everything that the runs of a floor make to be drawn or said; nothing on a drawing of signal."""
    made = Traffic()
    if scene.signal is not None:
        return made
    pathways = plan_ways.joined_rooms(scene.site)
    at = {s.symbol.ref: s for s in stood if s.symbol.ref is not None}
    asked = [(run, reach, _legs(scene, pathways, run, reach)) for run in scene.runs for reach in run.reaches]
    used = [g for _, _, legs in asked for leg in legs or () for g in (leg.start, leg.end) if g is not None]
    _place_gates(scene, made, pathways, used, spots, walls)
    parts: list[_Part] = []
    for run, reach, legs in asked:
        parts += _parts(scene, made, at, run, reach, legs)
    _lay(scene, made, parts, stood, walls)
    _tails(scene, made, at, spots, walls)
    return made


def room_of(scene: Scene, ref: Ref | None) -> Ref | None:
    """The room that a thing is noted in."""
    thing = scene.site.get(ref)
    return thing.ref_of("room") if thing else None


def _here(scene: Scene, room: Ref | None) -> bool:
    return room is not None and plan_ways.floor_of(scene.site, room) == scene.plan.floor


def _begin_room(scene: Scene, run: Run) -> Ref | None:
    return next((r for r in (room_of(scene, b) for b in run.begins) if r is not None), run.room)


def _legs(scene: Scene, pathways: Mapping[Ref, Sequence[Ref]], run: Run, reach: Ref) -> list[Leg] | None:
    """The parts of a run's way on this floor; None where its way is not known."""
    start, end = _begin_room(scene, run), room_of(scene, reach)
    if start is None or end is None:
        return None
    steps = plan_ways.chain(pathways, start, end)
    return None if steps is None else plan_ways.legs(scene.site, pathways, steps, scene.plan.floor)


def _place_gates(
    scene: Scene,
    made: Traffic,
    pathways: Mapping[Ref, Sequence[Ref]],
    used: Sequence[Gate],
    spots: Spots,
    walls: Field,
) -> None:
    for gate in plan_ways.gates(scene.site, pathways, scene.plan.floor, used):
        room = scene.room(gate.room)
        if room is None:
            continue
        pathway = scene.site.get(gate.pathway)
        planned = pathway is not None and pathway.text("state") == "planned"
        at = _gate_point(scene, room, pathways[gate.pathway])
        symbol = Symbol("way", gate.pathway.tag, at, (0.0, 1.0), planned, False, 0, gate.pathway)
        found, _ = stand([symbol], spots, walls, {})
        if found:
            made.gates[gate] = dataclasses.replace(found[0], symbol=dataclasses.replace(found[0].symbol, true_at=None))


def _gate_point(scene: Scene, room: RoomShape, rooms: Sequence[Ref]) -> Point:
    """Where rooms lie over each other the shaft goes through both; else at the edge nearest to the room elsewhere."""
    own = shapely.unary_union([shapely.Polygon(p) for p in room.pieces])
    shapes = []
    for ref in rooms:
        floor = plan_ways.floor_of(scene.site, ref)
        thing = scene.site.get(ref)
        if floor is None or floor == scene.plan.floor or thing is None or not thing.text("outline"):
            continue
        other = next((r for r in _rooms_of(scene, floor) if r.ref == ref), None)
        if other is not None:
            shapes.append(shapely.unary_union([shapely.Polygon(p) for p in other.pieces]))
    inner = own.buffer(-INNER_M)
    inner = own if inner.is_empty else inner
    for shape in shapes:
        both = inner.intersection(shape)
        if both.area > 0.05:
            x0, y0, x1, y1 = both.bounds
            return _nearest(both, shapely.Point(x0, y1))
    if shapes:
        return _nearest(inner, shapes[0])
    x0, _, _, y1 = inner.bounds
    return _nearest(inner, shapely.Point(x0, y1))


def _nearest(area: BaseGeometry, other: BaseGeometry) -> Point:
    x, y, *_ = shapely.shortest_line(area, other).coords[0]
    return float(x), float(y)


def _rooms_of(scene: Scene, floor: Ref) -> tuple[RoomShape, ...]:
    return floor_plan(scene.site, floor).rooms


def _parts(
    scene: Scene, made: Traffic, at: Mapping[Ref, Stood], run: Run, reach: Ref, legs: list[Leg] | None
) -> list[_Part]:
    """The legs of one run that can be drawn; what cannot is said."""
    begins, arrives = _here(scene, _begin_room(scene, run)), _here(scene, room_of(scene, reach))
    if arrives:
        if reach in at and run not in made.arrive[reach]:
            made.arrive[reach].append(run)
        elif reach not in at:
            made.no_point.append((run, reach))
    if legs is None:
        if begins and not arrives:
            made.leaving.append((run, reach))
        return []
    own = next((at[b] for b in run.begins if b in at), None) or _gathering(scene, at, run)
    found = []
    for leg in legs:
        start = made.gates.get(leg.start) if leg.start else own
        end = made.gates.get(leg.end) if leg.end else at.get(reach)
        for gate in (leg.start, leg.end):
            if gate is not None and run not in made.pass_gate[gate]:
                made.pass_gate[gate].append(run)
        if start is not None and end is not None and start is not end:
            found.append(_Part(run, leg, reach, start, end))
    return found


def _gathering(scene: Scene, at: Mapping[Ref, Stood], run: Run) -> Stood | None:
    """The first drawn block of the room in which an end without a point hangs."""
    room = _begin_room(scene, run)
    blocks = [s for ref, s in at.items() if ref.kind == "block" and room_of(scene, ref) == room]
    return min(blocks, key=lambda s: s.symbol.tag, default=None)


def _lay(scene: Scene, made: Traffic, parts: Sequence[_Part], stood: Sequence[Stood], walls: Field) -> None:
    """Find the ways, set them side by side, and end them at their symbols."""
    k = scene.k
    things = walls.like()
    for each in (*stood, *made.gates.values()):
        things.add_box(each.box)
    solid = _solid(scene, walls)
    inside = _allowed(scene, scene.rooms, walls)

    def bad(boxes: Numbers) -> Numbers:
        """How much of each stretch would lie outside the rooms, in walls, and on symbols."""
        outside = inside.cells(boxes) * inside.cell**2 - inside.sums(boxes)
        return outside + solid.sums(boxes) + 3 * things.sums(boxes)

    keyed = sorted(parts, key=lambda p: (p.start.box, sorted(p.leg.rooms), p.run.end, p.reach))
    found: list[tuple[_Part, list[Point]]] = []
    starts: list[int] = []
    groups = itertools.groupby(keyed, key=lambda p: (p.start.box, sorted(p.leg.rooms)))
    for number, (_, members) in enumerate(groups):
        group = list(members)
        start, lead = _facing(group[0].start, bad, k)
        net = _net(scene, group, things, walls, solid, lead)
        if net is None:
            continue
        own = tip(start, k=k)
        led = plan_routes.ways(net, lead, [tip(p.end, k=k) for p in group])
        for part, way in zip(group, led, strict=True):
            if way is not None and (len(way) > 1 or way[0] != own):
                found.append((dataclasses.replace(part, start=start), way if way[0] == own else [own, *way]))
                starts.append(number)
    laid = plan_lanes.side_by_side([way for _, way in found], starts, bad=bad, k=k)
    for (part, _), (points, stretches) in zip(found, laid, strict=True):
        ended = _to_symbol(list(reversed(_to_symbol(list(reversed(points)), part.start, k))), part.end, k)
        made.drawn.append(Drawn(part.run, part.reach, tuple(ended), tuple(stretches)))
    made.drawn.sort(key=lambda d: (d.run.end, d.points))


def _facing(stood: Stood, bad: Callable[[Numbers], Numbers], k: float) -> tuple[Stood, Point]:
    """A block with the side to its runs, and where they part: straight off it, as far as there is room for a bundle."""
    symbol, own = stood.symbol, tip(stood, k=k)
    if symbol.form != "block":
        return stood, own
    (x, y), (dx, dy) = symbol.at, symbol.away
    other = (x + dx * BLOCK * k, y + dy * BLOCK * k), (-dx, -dy)
    turned = dataclasses.replace(stood, symbol=dataclasses.replace(symbol, at=other[0], away=other[1]))
    for far in LEADS:
        for side in (stood, turned):
            (x, y), (dx, dy) = tip(side, k=k), side.symbol.away
            ends = [(x + dx * u * k, y + dy * u * k) for u in (0.1, far + 0.1)]
            row = [*(min(p[n] for p in ends) - 0.01 for n in (0, 1)), *(max(p[n] for p in ends) + 0.01 for n in (0, 1))]
            if bad(np.asarray([row]))[0] < 1e-6:
                return side, (x + dx * far * k, y + dy * far * k)
    return stood, own


def _net(
    scene: Scene, group: Sequence[_Part], things: Field, walls: Field, solid: Field, lead: Point
) -> plan_routes.Net | None:
    rooms = [r for r in scene.rooms if r.ref in group[0].leg.rooms]
    if not rooms:
        return None
    ground = plan_routes.Ground(_allowed(scene, rooms, walls), solid, things, _middle(rooms, walls))
    tips = [lead, *(tip(p.end, k=scene.k) for p in group)]
    doors = [
        walls_of.local(w).at((o.u0_m + o.u1_m) / 2, 0.0) for w in scene.walls for o in w.openings if o.fill != "window"
    ]
    return plan_routes.net(ground, [p for r in rooms for p in r.pieces], doors, tips)


def _allowed(scene: Scene, rooms: Sequence[RoomShape], walls: Field) -> Field:
    """Where runs of some rooms may lie: in them and in the gaps between them, in no other room."""
    own, others = walls.like(), walls.like()
    for room in scene.rooms:
        for piece in room.pieces:
            (own if room in rooms else others).add_polygon(piece)
    closed = own.widened(BRIDGED_M).inner(BRIDGED_M)
    return Field(own.x0, own.y0, own.cell, np.maximum(own.weight, closed.weight * (others.weight < 0.5)))


def _middle(rooms: Sequence[RoomShape], walls: Field) -> Field:
    """What of each room is far from its edges, where its name stands."""
    middle = walls.like()
    for room in rooms:
        inner = shapely.unary_union([shapely.Polygon(p) for p in room.pieces]).buffer(-OFF_EDGE_M)
        for part in getattr(inner, "geoms", [inner]):
            if isinstance(part, shapely.Polygon) and not part.is_empty:
                middle.add_polygon([(x, y) for x, y in part.exterior.coords[:-1]])
    return middle


def _solid(scene: Scene, walls: Field) -> Field:
    """Walls without their doors, through which a run need not be cored."""
    solid = walls.like()
    for body in scene.bodies:
        for part in getattr(body.area, "geoms", [body.area]):
            if isinstance(part, shapely.Polygon) and not part.is_empty:
                _add_with_holes(solid, part)
    return solid.widened(OFF_WALL * scene.k)


def _add_with_holes(field: Field, area: shapely.Polygon) -> None:
    own = field.like()
    own.add_polygon([(x, y) for x, y in area.exterior.coords[:-1]])
    for hole in area.interiors:
        inner = field.like()
        inner.add_polygon([(x, y) for x, y in hole.coords[:-1]])
        own.weight[inner.weight > 0.5] = 0.0
    np.maximum(field.weight, own.weight, out=field.weight)


def _to_symbol(points: list[Point], stood: Stood, k: float) -> list[Point]:
    """The line ended at the edge of a symbol: cut at a box, led to a half disc or to the side of a block."""
    symbol = stood.symbol
    if symbol.form not in ("outlet", "block"):
        rest = shapely.LineString(points).difference(_edge(stood, k))
        pieces = [p for p in getattr(rest, "geoms", [rest]) if not p.is_empty]
        if not pieces:
            return points
        longest = max(pieces, key=lambda p: (round(p.length, 6), p.bounds))
        return [(x, y) for x, y in longest.coords]
    (ax, ay), (dx, dy), (ex, ey) = symbol.at, symbol.away, points[-1]
    aside = (ex - ax) * -dy + (ey - ay) * dx
    half = (BLOCK / 2 if symbol.form == "block" else OUTLET) * k
    at_tip = tip(stood, k=k)
    if abs(aside) <= half * 0.8:
        deep = BLOCK * k if symbol.form == "block" else (max((OUTLET * k) ** 2 - aside**2, 0.0)) ** 0.5
        return [*points, (ax - aside * dy + dx * deep, ay + aside * dx + dy * deep)]
    if symbol.form == "block":
        number = (abs(aside) - half * 0.8) // (PITCH * k * 0.999)
        deep = max(BLOCK * k - (number + 0.5) * PITCH * k, 0.04 * k)
        side = half if aside > 0 else -half
        level = ax - aside * dy + dx * deep, ay + aside * dx + dy * deep
        return [*points[:-1], level, (ax - side * dy + dx * deep, ay + side * dx + dy * deep)]
    side = half * 0.8 * (1 if aside > 0 else -1)
    return [*points, (at_tip[0] - side * dy, at_tip[1] + side * dx)]


def _edge(stood: Stood, k: float) -> BaseGeometry:
    """What a line to a symbol stops at: its frame, the disc of an access point, or its box."""
    if stood.symbol.form == "radio" and not stood.guard:
        return shapely.Point(stood.symbol.at).buffer((RADIO + 0.05) * k)
    return shapely.box(*stood.box)


def _tails(scene: Scene, made: Traffic, at: Mapping[Ref, Stood], spots: Spots, walls: Field) -> None:
    """A dotted tail at each thing for runs that arrive there and have no line."""
    with_line = {(d.run.end, d.reach) for d in made.drawn}
    for ref, runs in sorted(made.arrive.items()):
        unknown = [r for r in runs if (r.end, ref) not in with_line]
        if not unknown or ref not in at:
            continue
        for number, run in enumerate(unknown[:MOST_TAILS]):
            line = _tail(at[ref], number, len(unknown[:MOST_TAILS]), spots, walls)
            if line is not None:
                made.tails.append(Tail(run, line))


def _tail(stood: Stood, number: int, many: int, spots: Spots, walls: Field) -> tuple[Point, Point] | None:
    k, symbol = spots.k, stood.symbol
    aside = (number - (many - 1) / 2) * 0.1 * k
    box = bare_box(symbol, k=k)
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    for long in (TAIL, TAIL / 2, TAIL_LEAST):
        for dx, dy in (symbol.away, (-symbol.away[1], symbol.away[0]), (symbol.away[1], -symbol.away[0])):
            out = abs(dx) * (stood.box[2] - stood.box[0]) / 2 + abs(dy) * (stood.box[3] - stood.box[1]) / 2
            a = middle[0] + dx * (out + TAIL_OFF * k) - dy * aside, middle[1] + dy * (out + TAIL_OFF * k) + dx * aside
            b = a[0] + dx * long * k, a[1] + dy * long * k
            half = 0.03 * k
            tail: Box = (min(a[0], b[0]) - half, min(a[1], b[1]) - half, max(a[0], b[0]) + half, max(a[1], b[1]) + half)
            rows = np.asarray([tail])
            if spots.clear(rows)[0] and walls.sums(rows)[0] < 0.3 * (tail[2] - tail[0]) * (tail[3] - tail[1]):
                spots.take(tail)
                return a, b
    return None


def wall_parts(scene: Scene, points: Sequence[Point]) -> list[list[Point]]:
    """Where a line passes through walls: the gaps that are cored."""
    line = shapely.LineString(points)
    found: list[list[Point]] = []
    for body in scene.bodies:
        inner = line.intersection(body.area)
        for part in getattr(inner, "geoms", [inner]):
            if isinstance(part, shapely.LineString) and part.length > 0.02:
                found.append([(x, y) for x, y in part.coords])
    return sorted(found)

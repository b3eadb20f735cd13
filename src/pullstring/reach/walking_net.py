"""The net of ways that is noted: rooms, walled-in spaces and outdoors; doors and gaps in walls; stairs; what lies beside what."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from typing import TypeVar

import shapely
from shapely import affinity

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import Frame, Point, frame_of
from pullstring.model.refs import Ref
from pullstring.reach import walking_floors as floors
from pullstring.reach import walking_stairs as stairs
from pullstring.reach.walking_floors import Door, FloorShapes
from pullstring.reach.walking_stairs import Upright
from pullstring.reach.walking_ways import BOXES, PLAN, Guesses, Region, Shape, Ways

T = TypeVar("T")


@dataclasses.dataclass(frozen=True)
class Pace:
    """Walking speed, seconds for a floor of stairs and for a shut door, and what is assumed where no way is noted."""

    walk_m_per_s: float
    stairs_s: float
    door_s: float
    guesses: Guesses


@dataclasses.dataclass(eq=False)
class Storey:
    """A floor in the net: its regions by what they are."""

    thing: Thing
    shapes: FloorShapes
    frame: Frame
    rooms: dict[Ref, int]
    unnoted: list[int]
    hatched: set[int] = dataclasses.field(default_factory=set)

    @property
    def drawn(self) -> list[int]:
        """All regions of the floor that have a shape."""
        return [*self.rooms.values(), *self.unnoted]


@dataclasses.dataclass(eq=False)
class Net:
    """The ways of a site with the regions by room, by floor and outdoors."""

    site: Site
    pace: Pace
    ways: Ways
    rooms: dict[Ref, int]
    storeys: dict[Ref, Storey]
    buildings: dict[Ref | None, list[Storey]]
    outdoors: dict[Ref | None, int]
    middle: int
    uprights: tuple[Upright, ...] = ()
    by_hatch: frozenset[int] = frozenset()
    by_stairs: frozenset[int] = frozenset()


def noted_net(site: Site, *, pace: Pace) -> Net:
    """The rooms and all ways that are noted; stairs that are less than sure wait in `uprights`."""
    ways = Ways()
    net = Net(site, pace, ways, {}, {}, {}, {}, ways.add(Region("property", None, None)))
    _rooms(net)
    _outdoors(net)
    for storey in net.storeys.values():
        for door in storey.shapes.doors:
            _door(net, storey, door)
        _edges(net, storey)
    net.uprights = tuple(_uprights(net))
    for way in net.uprights:
        if way.rank == stairs.SURE:
            climb(net, way, tier=PLAN if way.at is not None else BOXES, code="")
    _said(net)
    net.by_stairs = on_foot(net)
    return net


def _rooms(net: Net) -> None:
    """A region for each room, and for each space that walls close in."""
    site, ways = net.site, net.ways
    for building in [None, *(b.ref for b in site.of_kind("building") if b.stands)]:
        net.buildings[building] = []
        for floor in stairs.floors_in_order(site, building):
            shapes = floors.floor_shapes(site, floor.ref)
            rooms = {ref: ways.add(Region("room", ref, shape)) for ref, shape in shapes.rooms}
            unnoted = [ways.add(Region("unnoted", None, s)) for s in shapes.unnoted] if rooms else []
            storey = Storey(floor, shapes, frame_of(site, building), rooms, unnoted)
            net.storeys[floor.ref] = storey
            net.buildings[building].append(storey)
            net.rooms |= rooms
    for room in site.of_kind("room"):
        if room.ref not in net.rooms and room.stands:
            net.rooms[room.ref] = ways.add(Region("room", room.ref, None, net.pace.guesses.room_m / 2))


def ground(net: Net, building: Ref | None) -> Storey | None:
    """The floor of a building on which one enters."""
    found = stairs.ground_of([s.thing for s in net.buildings.get(building, [])])
    return net.storeys[found.ref] if found else None


def _outdoors(net: Net) -> None:
    """Outdoors: one region round all buildings whose place is noted; one for each of the others. In the axes of the site."""
    drawn = [b for b in net.buildings if (g := ground(net, b)) is not None and g.rooms]
    placed = [b for b in drawn if _is_placed(net.site.get(b))]
    for group in [placed, *([b] for b in drawn if b not in placed)]:
        if not group:
            continue
        feet = [on_site(s, s.shapes.footprint()) for b in group if (s := ground(net, b))]
        world = shapely.box(-floors.FAR_M, -floors.FAR_M, floors.FAR_M, floors.FAR_M).buffer(floors.FAR_M)
        free = world.difference(shapely.unary_union(feet))
        pieces = sorted(getattr(free, "geoms", (free,)), key=lambda p: -float(p.area))
        region = net.ways.add(Region("outdoors", None, pieces[0]))
        net.outdoors |= dict.fromkeys(group, region)


def _is_placed(building: Thing | None) -> bool:
    return building is not None and building.number("x_m") is not None and building.number("y_m") is not None


def on_site(storey: Storey, shape: Shape) -> Shape:
    """A shape of a floor in the axes of the site."""
    frame = storey.frame
    turned = affinity.rotate(shape, frame.angle_deg, origin=(0, 0))
    return affinity.translate(turned, frame.x_m, frame.y_m)


def _door(net: Net, storey: Storey, door: Door) -> None:
    sides = [_beyond(net, storey, door, side) for side in (1, -1)]
    (a, at_a), (b, at_b) = sides
    if door.upward or (door.hatch and None in (a, b)):
        storey.hatched |= {r for r in (a, b) if r is not None}
        return
    if a == b:
        return
    tier, code = (PLAN, "") if door.placed else (BOXES, "door_in_the_middle")
    seconds = net.pace.door_s if door.shut else 0.0
    if a is not None and b is not None:
        net.ways.join((a, at_a), (b, at_b), seconds=seconds, tier=tier, code=code, of=[door.ref])
        return
    inner, at = (a, at_a) if a is not None else (b, at_b)
    assert inner is not None
    building = storey.thing.ref_of("building")
    outside, base = net.outdoors.get(building), ground(net, building)
    if outside is None or base is None:
        return
    x, y, _ = storey.frame.to_site(door.at, 0.0)
    if base is not storey:
        tier, code = max(tier, BOXES), "outside_stair"
        low, high = sorted((base, storey), key=net.buildings[building].index)
        seconds += net.pace.stairs_s * stairs.levels_between(low.thing, high.thing)
    net.ways.join((inner, at), (outside, (x, y)), seconds=seconds, tier=tier, code=code, of=[door.ref])


def _beyond(net: Net, storey: Storey, door: Door, side: int) -> tuple[int | None, Point]:
    """The region met first on one side of a door; None is outside."""
    steps = max(1, round(door.reach_m / 0.1))
    for step in range(1, steps + 1):
        away = side * step * 0.1
        point = door.at[0] + away * door.across[0], door.at[1] + away * door.across[1]
        for region in storey.drawn:
            if net.ways.regions[region].shape.covers(shapely.Point(point)):
                return region, door.at
    return None, door.at


def _edges(net: Net, storey: Storey) -> None:
    """Rooms of one floor that touch with no wall between; where no wall or no door is noted at all, wherever they touch."""
    barriers = storey.shapes.walls if storey.shapes.walled else None
    for (one, a), (other, b) in pairs(list(storey.rooms.items())):
        shapes = net.ways.regions[a].shape, net.ways.regions[b].shape
        for at, _ in floors.open_edges(*shapes, barriers):
            sure = barriers is not None and all(_is_walled(s, barriers) for s in shapes)
            code = "" if sure else "rooms_touch" if storey.shapes.walls.is_empty else "no_doors_noted"
            code = "wall_not_noted" if not sure and barriers is not None else code
            seconds = 0.0 if sure else net.pace.door_s
            net.ways.join((a, at), (b, at), seconds=seconds, tier=PLAN if sure else BOXES, code=code, of=[one, other])


def _is_walled(shape: Shape, barriers: Shape) -> bool:
    """Whether walls are noted along at least a third of a room; ours: then an edge without one is open."""
    return float(shape.boundary.intersection(barriers).length) >= float(shape.boundary.length) / 3


def pairs(items: Sequence[T]) -> Iterable[tuple[T, T]]:
    """Each two of several."""
    return ((a, b) for n, a in enumerate(items) for b in items[n + 1 :])


def _uprights(net: Net) -> Iterable[Upright]:
    for storeys in net.buildings.values():
        for low, high in zip(storeys, storeys[1:], strict=False):
            lower, upper = (
                {r: (net.ways.regions[r].of, net.ways.regions[r].shape) for r in s.drawn} for s in (low, high)
            )
            found = list(stairs.drawn_uprights(net.site, lower, upper, (low.thing, high.thing)))
            for way in found:
                if way.lower in low.hatched and way.rank != stairs.SURE:
                    way = dataclasses.replace(way, rank=stairs.HATCH)
                yield way
    yield from _said_uprights(net)


def _said_uprights(net: Net) -> Iterable[Upright]:
    """Rooms noted above each other of which at least one has no outline."""
    for claim in net.site.about(relation="above"):
        upper, lower = net.rooms.get(claim.subject), net.rooms.get(claim.object)
        if upper is None or lower is None:
            continue
        if all(net.ways.regions[r].shape is not None for r in (upper, lower)):
            continue
        over, below = net.site.get(claim.subject), net.site.get(claim.object)
        called = stairs.is_stair(over) + stairs.is_stair(below)
        rank = stairs.SURE if called == 2 else stairs.BY_NAME if called else stairs.ABOVE
        yield Upright(lower, upper, None, rank, 1, 0.0, (claim.object, claim.subject))


def climb(net: Net, way: Upright, *, tier: int, code: str) -> None:
    """A stair or a ladder between two regions."""
    more = net.pace.guesses.ladder_s if code == "ladder" else 0.0
    net.ways.join(
        (way.lower, way.at or net.ways.regions[way.lower].middle()),
        (way.upper, way.at or net.ways.regions[way.upper].middle()),
        seconds=net.pace.stairs_s * way.levels + more,
        tier=tier,
        code=code or ("stair_said" if way.at is None else ""),
        of=way.of,
    )


def _said(net: Net) -> None:
    """Rooms noted beside each other of which at least one has no outline: one passes from one to the other."""
    done = set()
    for claim in net.site.about(relation="beside"):
        a, b = net.rooms.get(claim.subject), net.rooms.get(claim.object)
        if a is None or b is None or a == b or frozenset((a, b)) in done:
            continue
        done.add(frozenset((a, b)))
        regions = net.ways.regions
        if regions[a].shape is None or regions[b].shape is None:
            net.ways.join(
                (a, regions[a].middle()),
                (b, regions[b].middle()),
                seconds=net.pace.door_s,
                tier=BOXES,
                code="beside",
                of=sorted((claim.subject, claim.object)),
            )


def on_foot(net: Net) -> frozenset[int]:
    """Regions joined to a ground floor or to outdoors."""
    ways = net.ways
    bases = [r for b in net.buildings if (g := ground(net, b)) for r in g.drawn]
    grounds = {g.thing.ref for b in net.buildings if (g := ground(net, b))}
    bases += [
        region
        for ref, region in net.rooms.items()
        if ways.regions[region].shape is None
        and ((room := net.site.get(ref)) is None or room.ref_of("floor") is None or room.ref_of("floor") in grounds)
    ]
    joined = {ways.part(r) for r in [*bases, *net.outdoors.values()]}
    return frozenset(r for r in range(len(ways.regions)) if ways.part(r) in joined)

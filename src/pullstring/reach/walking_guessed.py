"""The whole net of ways: what is noted, then what rooms above each other make likely, then guesses, dearest last.

A guess joins only parts that nothing better joins, and each two parts once; so no guess shortens a way that is known, and
every place is reached. Among equal guesses the one that fits the shapes best is taken before the one with the lower tag,
so that other tags give the same times.
"""

from __future__ import annotations

import math

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import Point
from pullstring.model.refs import Ref
from pullstring.reach import walking_floors as floors
from pullstring.reach import walking_stairs as stairs
from pullstring.reach.walking_net import Net, Pace, Storey, climb, ground, noted_net, on_foot, on_site, pairs
from pullstring.reach.walking_stairs import Upright
from pullstring.reach.walking_ways import BOXES, GUESSED, SAME_M, Region, in_order

WAY_OUT_M = 1.2
"""Ours: a room no farther from outdoors than two thick walls may have a door to it."""
ALIKE_M = 10 * SAME_M
"""Ours: facing edges no more apart in length are equally good for a door."""


def net_of(site: Site, *, pace: Pace) -> Net:
    """The whole net."""
    net = noted_net(site, pace=pace)

    def ranked(rank: int) -> list[Upright]:
        return [way for way in net.uprights if way.rank == rank]

    _fit(net, ranked(stairs.HATCH), tier=BOXES, code="ladder")
    net.by_hatch = on_foot(net) - net.by_stairs
    _fit(net, ranked(stairs.BY_NAME), tier=BOXES, code="stair_by_name")
    _fit(net, ranked(stairs.ABOVE), tier=BOXES, code="stair_where_above")
    _guess_doors(net)
    _guess_ways_out(net)
    _fit(net, ranked(stairs.NONE), tier=GUESSED, code="stair_not_noted")
    _guess_across(net)
    _meet(net)
    return net


def _ranked(net: Net) -> dict[int, int]:
    """Each drawn region's place in an order that no tag, turn or unit of length changes: it tells equals apart.

    By floor, by how far a region's middle lies from all others of its floor, then by that middle in the axes of the building.
    """
    rows: list[tuple[int, tuple[float, float, float, float]]] = []
    for storeys in net.buildings.values():
        for level, storey in enumerate(storeys):
            middles = {r: net.ways.regions[r].middle() or (0.0, 0.0) for r in storey.drawn}
            rows += [(r, (level, sum(math.dist(at, o) for o in middles.values()), *at)) for r, at in middles.items()]
    placed = in_order(rows, lambda row: row[1], slack=(0, SAME_M, SAME_M, SAME_M))
    return {region: n for n, (region, _) in enumerate(placed)}


def _fit(net: Net, uprights: list[Upright], *, tier: int, code: str) -> None:
    """Stairs between parts that nothing better joins, the largest overlap first.

    Two parts that both stand on the ground get no stair of this kind: one walks from one to the other outdoors.
    """

    rank = _ranked(net)

    def order(way: Upright) -> tuple[float, float, float]:
        return -way.area_m2, rank.get(way.lower, -1), rank.get(way.upper, -1)

    for way in in_order(sorted(uprights, key=lambda w: w.of), order, slack=(SAME_M, 0, 0)):
        if net.ways.part(way.lower) != net.ways.part(way.upper) and not {way.lower, way.upper} <= on_foot(net):
            climb(net, way, tier=tier, code=code)


def _guess_doors(net: Net) -> None:
    """Rooms that touch, with a wall and no door between: one door, where nothing else joins them."""
    rank, found = _ranked(net), []
    for storey in net.storeys.values():
        for a, b in pairs(sorted(storey.drawn, key=rank.__getitem__)):
            if net.ways.part(a) == net.ways.part(b):
                continue
            edges = floors.open_edges(net.ways.regions[a].shape, net.ways.regions[b].shape, None)
            found += [(-long, a, b, at) for at, long in edges]
    for _, a, b, at in in_order(
        found, lambda f: (f[0], rank[f[1]], rank[f[2]], *f[3]), slack=(SAME_M, 0, 0, SAME_M, SAME_M)
    ):
        _guess(net, (a, at), (b, at), code="door_not_noted", seconds=net.pace.door_s)


def _guess(
    net: Net,
    a: tuple[int, Point | None],
    b: tuple[int, Point | None],
    *,
    code: str,
    seconds: float = 0.0,
    metres: float = 0.0,
) -> None:
    ways = net.ways
    if ways.part(a[0]) != ways.part(b[0]):
        refs = [ref for r in (a[0], b[0]) if (ref := ways.regions[r].of)]
        ways.join(a, b, seconds=seconds, metres=metres, tier=GUESSED, code=code, of=refs)


def _guess_ways_out(net: Net) -> None:
    """A door to outdoors for each part of a ground floor that has none, as far off as a detour from the middle of a room."""
    middle_of_all, rank = _middle_of_all(net), _ranked(net)
    for building, outside in net.outdoors.items():
        storey = ground(net, building)
        assert storey is not None
        free, found = net.ways.regions[outside].shape, []
        for region in storey.drawn:
            room = on_site(storey, net.ways.regions[region].shape)
            at, long = floors.facing(room, free, middle_of_all)
            if (gap := float(room.distance(free))) <= WAY_OUT_M:
                found.append((gap, -long, region, at))
        for *_, region, at in in_order(found, lambda f: (f[0], f[1], rank[f[2]]), slack=(ALIKE_M, ALIKE_M, 0)):
            middle = net.ways.regions[region].middle()
            far = math.dist(storey.frame.to_site(middle, 0.0)[:2], at) if middle else 0.0
            _guess(
                net,
                (region, middle),
                (outside, at),
                code="way_out_not_noted",
                seconds=net.pace.door_s,
                metres=net.pace.guesses.detour * far + net.pace.guesses.room_m,
            )


def _middle_of_all(net: Net) -> Point | None:
    """The middle of all drawn regions, on the site plan: it goes with the property wherever that is turned or shifted."""
    spots = [
        storey.frame.to_site(middle, 0.0)[:2]
        for storey in net.storeys.values()
        for region in storey.drawn
        if (middle := net.ways.regions[region].middle())
    ]
    return (sum(x for x, _ in spots) / len(spots), sum(y for _, y in spots) / len(spots)) if spots else None


def _guess_across(net: Net) -> None:
    """Parts of one floor that do not touch: straight, and longer than straight."""
    rank, found = _ranked(net), []
    for storey in net.storeys.values():
        for a, b in pairs(sorted(storey.drawn, key=rank.__getitem__)):
            if net.ways.part(a) != net.ways.part(b):
                one, other = net.ways.regions[a].shape, net.ways.regions[b].shape
                ends = floors.facing(one, other)[0], floors.facing(other, one)[0]
                apart = math.dist(*ends)
                found.append((apart, a, b, ends))
    for apart, a, b, ends in in_order(found, lambda f: (f[0], rank[f[1]], rank[f[2]]), slack=(SAME_M, 0, 0)):
        metres = apart * net.pace.guesses.detour
        _guess(net, (a, ends[0]), (b, ends[1]), code="way_not_noted", metres=metres)


def _meet(net: Net) -> None:
    """Everything that is still apart: by its floor, its building, the property."""
    ways, pace = net.ways, net.pace
    near = _first_group(net)
    for building, storeys in net.buildings.items():
        halls = [_hall(net, storey) for storey in storeys]
        for n, (low, high) in enumerate(zip(storeys, storeys[1:], strict=False)):
            climb = pace.stairs_s * stairs.levels_between(low.thing, high.thing)
            _guess(net, (halls[n], None), (halls[n + 1], None), code="stair_not_noted", seconds=climb)
        base = ground(net, building)
        if base is None:
            continue
        hall, outside = halls[storeys.index(base)], net.outdoors.get(building)
        if outside is not None:
            at = ways.regions[outside].middle()
            _guess(net, (outside, at), (hall, None), code="way_out_not_noted", metres=pace.guesses.room_m)
        far = pace.guesses.room_m if building in near else pace.guesses.outdoors_m
        _guess(net, (hall, None), (net.middle, None), code="outdoors_not_noted", metres=far)
    for region in range(len(ways.regions)):
        at = ways.regions[region].middle()
        _guess(net, (region, at), (net.middle, None), code="no_floor", metres=pace.guesses.unknown_m)


def _first_group(net: Net) -> list[Ref | None]:
    """Buildings that share one outdoors with the first; a single building needs none."""
    if len([b for b, storeys in net.buildings.items() if storeys]) <= 1:
        return list(net.buildings)
    first = next(iter(net.outdoors.values()), None)
    return [b for b, region in net.outdoors.items() if region == first]


def _hall(net: Net, storey: Storey) -> int:
    """A meeting point of a floor: its drawn part is met where most ways meet, each room without outline at one guess."""
    ways, guess, rank = net.ways, net.pace.guesses, _ranked(net)
    hall = ways.add(Region("floor", storey.thing.ref, None))

    def busiest(region: int) -> tuple[float, float, float]:
        return -ways.degree(region), -float(ways.regions[region].shape.area), rank[region]

    for region in in_order(storey.drawn, busiest, slack=(0, SAME_M, 0)):
        at = ways.regions[region].middle()
        _guess(net, (region, at), (hall, None), code="way_not_noted", metres=guess.room_m)
    bare = [
        (not stairs.is_stair(room), -ways.degree(net.rooms[room.ref]), room.ref)
        for room in net.site.of_kind("room")
        if room.ref in net.rooms
        and ways.regions[net.rooms[room.ref]].shape is None
        and room.ref_of("floor") == storey.thing.ref
    ]
    for *_, ref in sorted(bare):
        _guess(net, (net.rooms[ref], None), (hall, None), code="way_not_noted", metres=guess.room_m)
    return hall

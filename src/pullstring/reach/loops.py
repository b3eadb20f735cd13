"""Loops of the data network: two ways between units that pass everything on, over cords, runs, second ports, adapters, air.

What a switch hears on one port it says on all others, so in a loop every word goes round for ever and nothing else gets
through. A loop is told with the plug to pull: the one of which no kept service hangs, a cord before a run.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterator, Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.conductors import passes_straight
from pullstring.model.refs import Ref
from pullstring.reach.consequence import live
from pullstring.reach.feeds import model_of
from pullstring.reach.rules import LINE_ONLY, build
from pullstring.reach.ways import Hop, Ways, ports_of

SURE = ("switch", "access point", "adapter", "converter", "repeater", "radio", "coupler", "injector")
"""Units known to pass from port to port whatever comes; of others nobody can be sure."""
NOT_BRIDGED = ("wan", "internet", "dsl", "feed")
"""First letters of the port of a router that is not one with its other ports. Common practice."""


@dataclasses.dataclass(frozen=True)
class Loop:
    """Units and ports in a ring, the plug to pull, what goes dark by pulling it, and the entries that say so.

    `sure` is false when a unit on it may not pass from port to port. `pull` are the two things that a plug joins; `darkens`
    is empty where it costs no service.
    """

    units: tuple[Ref, ...]
    ports: tuple[Ref, ...]
    pull: tuple[Ref, Ref]
    darkens: tuple[str, ...]
    sure: bool
    because: tuple[str, ...]


_Wire = frozenset[Ref]
"""All ports that one stretch of copper joins."""
_Node = Ref | _Wire
_Edge = tuple[Ref, Ref, _Wire]
"""A unit, its port, and the stretch that lies on it."""


@once_a_site
def loops(site: Site) -> tuple[Loop, ...]:
    """The shortest loop through every way that is one too many."""
    ways = Ways(site)
    hops = ways.hops("A")
    edges = list(_edges(site, hops))
    near: dict[_Node, list[_Edge]] = collections.defaultdict(list)
    for edge in edges:
        near[edge[0]].append(edge)
        near[edge[2]].append(edge)
    found: dict[frozenset[Ref], Loop] = {}
    for edge in _too_many(edges):
        ring = _ring(edge, near)
        ports = frozenset(port for _, port, _ in ring)
        if ring and ports not in found:
            found[ports] = _loop(site, ring, hops)
    return tuple(found.values())


def _edges(site: Site, hops: Sequence[Hop]) -> Iterator[_Edge]:
    near: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for hop in hops:
        near[hop.a].append(hop.b)
        near[hop.b].append(hop.a)
    bridging = {port: unit for unit, ports in ports_of(site).items() for port in ports if _bridges(site, unit, port)}
    seen: set[Ref] = set()
    for port in sorted(bridging):
        if port in seen:
            continue
        stretch = _component(near, port)
        seen |= stretch
        there = frozenset(p for p in stretch if p in bridging)
        if len(there) > 1:
            yield from ((bridging[p], p, there) for p in sorted(there))


def _bridges(site: Site, unit: Ref, port: Ref) -> bool:
    thing, model = site.get(unit), model_of(site, unit)
    if thing is None or not thing.stands or passes_straight(model):
        return False
    if model is not None and (model.text("passes") == "no" or model.text("what") in LINE_ONLY):
        return False
    name = port.tag.rpartition(".")[2].casefold()
    return not (model is not None and model.text("what") == "router" and name.startswith(NOT_BRIDGED))


def _component(near: Mapping[Ref, list[Ref]], start: Ref) -> set[Ref]:
    seen, todo = {start}, [start]
    while todo:
        for there in near.get(todo.pop(), ()):
            if there not in seen:
                seen.add(there)
                todo.append(there)
    return seen


def _too_many(edges: Sequence[_Edge]) -> Iterator[_Edge]:
    """Edges whose two sides were joined before: each closes a ring."""
    parent: dict[_Node, _Node] = {}

    def root(node: _Node) -> _Node:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for edge in edges:
        a, b = root(edge[0]), root(edge[2])
        if a == b:
            yield edge
        parent[a] = b


def _ring(edge: _Edge, near: Mapping[_Node, list[_Edge]]) -> list[_Edge]:
    """The shortest way from a unit back over another port to the stretch that an edge lies on, with that edge."""
    came: dict[_Node, _Edge | None] = {edge[0]: None}
    queue: collections.deque[_Node] = collections.deque([edge[0]])
    while queue and edge[2] not in came:
        here = queue.popleft()
        for one in near[here]:
            there: _Node = one[2] if one[0] == here else one[0]
            if one != edge and there not in came:
                came[there] = one
                queue.append(there)
    ring = [edge]
    node: _Node = edge[2]
    while (step := came.get(node)) is not None:
        ring.append(step)
        node = step[0] if step[2] == node else step[2]
    return ring


def _loop(site: Site, ring: Sequence[_Edge], hops: Sequence[Hop]) -> Loop:
    units = _in_order(tuple(dict.fromkeys(unit for unit, _, _ in ring)))
    ports = tuple(sorted({port for _, port, _ in ring}))
    things = [t for u in units if (t := site.get(u))]
    sure = all((m := model_of(site, u)) is not None and m.text("what") in SURE for u in units)
    on_ring = list(_plugs(ports, hops))
    costs = [(_cost(site, hop), _darkens(site, hop), hop) for hop in on_ring]
    (_, darkens, best) = min(costs, key=lambda c: (len(c[1]), c[0], str(c[2].a)))
    because = dict.fromkeys((*(e for t in things for e in _said(t)), *(e for h in on_ring for e in h.because)))
    return Loop(units, ports, (best.a, best.b), darkens, sure, tuple(because))


def _in_order(units: tuple[Ref, ...]) -> tuple[Ref, ...]:
    """A ring told from its first unit on, towards the lesser neighbour."""
    first = units.index(min(units))
    turned = (*units[first:], *units[:first])
    return turned if len(turned) < 3 or turned[1] < turned[-1] else (turned[0], *reversed(turned[1:]))


def _said(thing: Thing) -> tuple[str, ...]:
    return tuple(f.last.entry for name, f in thing.fields.items() if name in ("model", "state"))


def _plugs(ports: Sequence[Ref], hops: Sequence[Hop]) -> Iterator[Hop]:
    """What is plugged into the ports of a ring."""
    for hop in hops:
        if hop.a in ports or hop.b in ports:
            yield hop


def _cost(site: Site, hop: Hop) -> int:
    """A cord from port to port is the least to pull, then a plug in a wall, then what lies on a row."""
    kinds = {hop.a.kind, hop.b.kind}
    return 0 if kinds == {"port"} else 1 if "jack" in kinds else 2


def _darkens(site: Site, hop: Hop) -> tuple[str, ...]:
    """Kept services that go dark when this plug is pulled: all rules that go over it are gone."""
    reach = build(site)
    ends = {str(hop.a), str(hop.b)}
    left = [
        r for r in reach.rules if not (r.head[1] in ends and any(b[1] in ends and b[1] != r.head[1] for b in r.bodies))
    ]
    kept = {name: fact for name, fact in reach.services.items() if name in reach.keep}
    alive_now, alive_then = live(reach.rules), live(left)
    return tuple(sorted(n for n, f in kept.items() if f in alive_now and f not in alive_then))

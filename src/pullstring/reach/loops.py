"""Loops of the data network: two ways between units that pass everything on, over cords, runs, second ports, adapters, air.

What a switch hears on one port it says on all others, so in a loop every word goes round for ever and nothing else gets
through. A loop is told with the plug to pull: the one of which no kept service hangs, a cord before a run.

Adapters of one model, and radios of one model, find each other over mains and air whether or not anybody noted it; a repeater
finds an access point. Such a link makes a loop possible, never sure.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence

from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import passes_straight
from pullstring.model.grades import weakest
from pullstring.model.refs import Ref
from pullstring.reach.consequence import Fact, live
from pullstring.reach.feeds import model_of, needs_power
from pullstring.reach.guards import guards_of
from pullstring.reach.rules import LINE_ONLY, build
from pullstring.reach.ways import Hop, ports_of, ways_of

SURE = ("switch", "access point", "adapter", "converter", "repeater", "radio", "coupler", "injector")
"""Units known to pass from port to port whatever comes; of others nobody can be sure."""
NOT_BRIDGED = ("wan", "internet", "dsl", "feed")
"""First letters of the port of a router that is not one with its other ports. Common practice."""
UNSEEN = ("adapter", "radio")
"""Units that find others of their model without a wire."""
STOPGAPS = ("adapter", "repeater")
"""What is given up first where there is a wire too. Common practice."""


@dataclasses.dataclass(frozen=True)
class Loop:
    """Units and ports in a ring, the plug to pull, what goes dark by pulling it, and the entries that say so.

    `sure` is false when a unit on it may not pass from port to port or has no power, or a link on it is contradicted or was
    noted by nobody. `grade` is the weakest of what is said of its links. `pull` are the two things that a plug joins;
    `darkens` is empty where it costs no kept service.
    """

    units: tuple[Ref, ...]
    ports: tuple[Ref, ...]
    pull: tuple[Ref, Ref]
    darkens: tuple[str, ...]
    sure: bool
    because: tuple[str, ...]
    grade: str | None = None


_Wire = frozenset[Ref]
"""All ports that one stretch of copper joins."""
_Node = Ref | _Wire
_Edge = tuple[Ref, Ref, _Wire]
"""A unit, its port, and the stretch that lies on it. A link that nobody noted has the units in place of ports."""
_Near = Mapping[_Node, list[_Edge]]


@once_a_site
def loops(site: Site) -> tuple[Loop, ...]:
    """The shortest loop through every way that is one too many; those over noted links alone come first."""
    hops = ways_of(site).hops("A")
    wired, unseen = list(_edges(site, hops)), list(_unseen(site))
    found: dict[frozenset[Ref], Loop] = {}
    for edge in _too_many([*wired, *unseen]):
        ring = _ring(edge, _by_node([*wired, *unseen] if edge in unseen else wired))
        ports = frozenset(port for _, port, _ in ring)
        if ports not in found and (loop := _loop(site, ring, hops)):
            found[ports] = loop
    return tuple(found.values())


def _by_node(edges: Sequence[_Edge]) -> _Near:
    near: dict[_Node, list[_Edge]] = collections.defaultdict(list)
    for edge in edges:
        near[edge[0]].append(edge)
        near[edge[2]].append(edge)
    return near


def _unseen(site: Site) -> Iterator[_Edge]:
    """Links over mains and air that nobody noted, each among units of one model and network, and of a repeater."""
    groups: dict[tuple[str, ...], list[Ref]] = collections.defaultdict(list)
    points, repeaters = [], []
    for unit in sorted(ports_of(site)):
        thing, model = site.get(unit), model_of(site, unit)
        if thing is None or model is None or not thing.stands or model.text("passes") == "no":
            continue
        if model.text("what") in UNSEEN and not _has_partner(site, unit, (model.text("what"),)):
            groups[model.ref.key, *_networks(site, unit)].append(unit)
        elif model.text("what") == "access point":
            points.append(unit)
        elif model.text("what") == "repeater" and not _has_partner(site, unit, ("access point", "router")):
            repeaters.append(unit)
    every = [*groups.values(), *([one, points[0]] for one in repeaters if points)]
    for units in every:
        if len(units) > 1:
            yield from ((unit, unit, frozenset(units)) for unit in units)


def _has_partner(site: Site, unit: Ref, kinds: Sequence[str]) -> bool:
    """Whether a port of a unit is noted to meet a port of one of these kinds, over a cord, mains or air."""
    for port in ports_of(site)[unit]:
        claims = (*site.about(subject=port, relation="plugged"), *site.about(object=port, relation="plugged"))
        for other in {r for c in claims for r in (c.subject, c.object) if r.kind == "port" and r.parent_tag} - {port}:
            model = model_of(site, Ref("unit", other.parent_tag or ""))
            if model is not None and model.text("what") in kinds:
                return True
    return False


def _networks(site: Site, unit: Ref) -> list[str]:
    noted = {str(n) for p in ports_of(site)[unit] if (t := site.get(p)) and (n := t.ref_of("network"))}
    return sorted(noted)


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


def _ring(edge: _Edge, near: _Near) -> list[_Edge]:
    """The shortest way from a unit back over another port to the stretch that an edge lies on, with that edge."""
    came: dict[_Node, _Edge | None] = {edge[0]: None}
    queue: collections.deque[_Node] = collections.deque([edge[0]])
    while queue and edge[2] not in came:
        here = queue.popleft()
        for one in near.get(here, ()):
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


def _loop(site: Site, ring: Sequence[_Edge], hops: Sequence[Hop]) -> Loop | None:
    """The loop of a ring; None where it would need one plug in two places at once."""
    units = _in_order(tuple(dict.fromkeys(unit for unit, _, _ in ring)))
    ports = tuple(sorted({port for _, port, _ in ring if port.kind == "port"}))
    way = [hop for wire in dict.fromkeys(w for _, _, w in ring) for hop in _across(wire, ring, hops)]
    claims = _claims_of(site, way)
    plugs = [(c.subject, c.object) for c in claims if c.relation == "plugged"]
    if not way or len({subject for subject, _ in plugs}) < len(set(plugs)):
        return None
    sure = all(_surely_passes(site, u) for u in units) and not any(c.contradicted for c in claims)
    sure = sure and all(port.kind == "port" for _, port, _ in ring)
    costs = [(*_price(site, hop), hop) for hop in way if hop.a in ports or hop.b in ports]
    darkens, _, _, best = min(costs, key=lambda c: (len(c[0]), c[1], c[2], str(c[3].a)))
    things = [t for u in units if (t := site.get(u))]
    because = dict.fromkeys((*(e for t in things for e in _said(t)), *(e for h in way for e in h.because)))
    grade = weakest([c.support for c in claims if c.support])
    return Loop(units, ports, (best.a, best.b), darkens, sure, tuple(because), grade)


def _across(wire: _Wire, ring: Sequence[_Edge], hops: Sequence[Hop]) -> list[Hop]:
    """The hops of a stretch between the two ports of a ring that lie on it; none over mains or air that nobody noted."""
    here = [port for _, port, w in ring if w == wire]
    near: dict[Ref, list[tuple[Ref, Hop]]] = collections.defaultdict(list)
    for hop in hops:
        near[hop.a].append((hop.b, hop))
        near[hop.b].append((hop.a, hop))
    start, goal = here[0], here[-1]
    came: dict[Ref, tuple[Ref, Hop] | None] = {start: None}
    queue = collections.deque([start])
    while queue and goal not in came:
        one = queue.popleft()
        for there, hop in near[one]:
            if there not in came:
                came[there] = one, hop
                queue.append(there)
    found = []
    node = goal
    while (step := came.get(node)) is not None:
        found.append(step[1])
        node = step[0]
    return found


def _claims_of(site: Site, way: Iterable[Hop]) -> list[Claim]:
    """The claims that a way stands on."""
    entries = {e for hop in way for e in hop.because}
    return [c for c in site.claims if c.support and not entries.isdisjoint(c.entries)]


def _surely_passes(site: Site, unit: Ref) -> bool:
    """Whether a unit is of a kind that passes everything on, is noted to or is a switch, and has its power."""
    model = model_of(site, unit)
    if model is None or model.text("what") not in SURE or model.text("passes") == "" and model.text("what") != "switch":
        return False
    on = model.text("passes") == "always" or not needs_power(site, unit)
    return on or ("P", str(unit)) in _alive(site)


@once_a_site
def _alive(site: Site) -> frozenset[Fact]:
    return live(build(site).rules)


def _in_order(units: tuple[Ref, ...]) -> tuple[Ref, ...]:
    """A ring told from its first unit on, towards the lesser neighbour."""
    first = units.index(min(units))
    turned = (*units[first:], *units[:first])
    return turned if len(turned) < 3 or turned[1] < turned[-1] else (turned[0], *reversed(turned[1:]))


def _said(thing: Thing) -> tuple[str, ...]:
    return tuple(f.last.entry for name, f in thing.fields.items() if name in ("model", "state"))


def _is_stopgap(site: Site, hop: Hop) -> bool:
    """Whether it leads to a unit that goes over mains or repeats: the worse of two ways."""
    units = [Ref("unit", ref.parent_tag) for ref in (hop.a, hop.b) if ref.kind == "port" and ref.parent_tag]
    return any((model := model_of(site, u)) and model.text("what") in STOPGAPS for u in units)


def _cost(site: Site, hop: Hop) -> int:
    """A cord from port to port is the least to pull, then a plug in a wall, then what lies on a row."""
    kinds = {hop.a.kind, hop.b.kind}
    return 0 if kinds == {"port"} else 1 if "jack" in kinds else 2


def _price(site: Site, hop: Hop) -> tuple[tuple[str, ...], bool, tuple[int, bool, int]]:
    """What it costs to pull a plug: kept services that go dark, whether it is a company's, units that lose power, and the kind.

    All rules that go over it are gone then.
    """
    reach, ends = build(site), {str(hop.a), str(hop.b)}
    left = [
        r for r in reach.rules if not (r.head[1] in ends and any(b[1] in ends and b[1] != r.head[1] for b in r.bodies))
    ]
    lost = _alive(site) - live(left)
    dark = tuple(sorted(n for n, f in reach.services.items() if n in reach.keep and f in lost))
    units = sum(1 for kind, element in lost if kind == "P" and element.startswith("unit:"))
    guarded = any(guards_of(site, ref) for ref in (hop.a, hop.b))
    return dark, guarded, (units, not _is_stopgap(site, hop), _cost(site, hop))

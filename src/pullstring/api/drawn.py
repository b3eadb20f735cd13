"""What drawings need beside the site: what must not be touched, where every end goes, what hangs on what.

What hangs on what is read off the rules of reach: each fact that holds has one noted reason, so following the reasons
from thing to thing gives a tree for data and lines. Of power every way is kept, for a thing may be fed from two sides.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.cutting import if_cut
from pullstring.api.judging import runs
from pullstring.api.request import load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Claim, Site, Thing
    from pullstring.model.refs import Ref
    from pullstring.papers.ink import Inks
    from pullstring.reach.consequence import Fact, Rule, Tied

STATIONS = ("unit", "outlet", "circuit", "switch", "socket")
"""Kinds of things between which an edge goes; ports, jacks, ends and cables are what it goes over."""
LINKS = ("ends_at", "plugged", "goes_to", "joined", "fed_by", "other_end")
SIGNALS = {"D": "data", "L": "line", "P": "power", "W": "power"}


def plan_input(path: Path, request: Request) -> dict[str, Any]:
    """The site with the answers that drawings of floors and closets stand on, asked for once."""
    plain = Request(today=request.today, as_of=request.as_of, known_by=request.known_by)
    return {
        "site": load(path, plain),
        "runs": runs(path, plain, whole=False).answer["runs"],
        "do_not_touch": if_cut(path, plain).answer["do_not_touch"],
    }


def closet(path: Path, request: Request, *, inks: Inks | None = None, paper: str = "portrait") -> list[tuple[str, str]]:
    """Every place where cables come together as one stands before it: title and SVG of each sheet."""
    from pullstring.papers.closet_front import boards, closet_sheets
    from pullstring.papers.closet_words import caption
    from pullstring.papers.ink import DAY

    given = plan_input(path, request)
    site, found = given["site"], []
    for board in boards(site):
        made = closet_sheets(
            site, board=board, paper=paper, inks=inks or DAY, untouchable=given["do_not_touch"], runs=given["runs"]
        )
        for number, sheet in enumerate(made, 1):
            title = caption(site, board) + (f", sheet {number} of {len(made)}" if len(made) > 1 else "")
            found.append((title, sheet))
    return found


def tree(path_or_site: Path | Site, request: Request) -> dict[str, Any]:
    """What hangs on what, as plain values: floors, nodes, edges, and what hangs on nothing that is known."""
    from pullstring.model.answers import plain
    from pullstring.reach.guards import protected
    from pullstring.reach.rules import build

    site = load(path_or_site, request) if isinstance(path_or_site, Path) else path_or_site
    reach = build(site)
    edges = _edges(site, reach.rules)
    joined = {e[side] for e in edges for side in ("from", "to")}
    guarded = protected(site)
    services = _services(site, reach.services, reach.rules)
    nodes: list[dict[str, Any]] = []
    aside: list[dict[str, Any]] = []
    for ref in _things(site, joined):
        node = _node(site, ref, guarded, services, assumed=str(ref) in reach.assumed)
        (nodes if str(ref) in joined else aside).append(node)
    named = next(iter(site.of_kind("property")), None)
    made = {
        "property": (named.text("name") or named.ref.tag) if named else "",
        "as_of": site.as_of or "",
        "floors": _floors(site),
        "nodes": nodes,
        "edges": edges,
        "aside": aside,
        "not_arriving": services.get("", []),
    }
    result: dict[str, Any] = plain(made)
    return result


@dataclasses.dataclass(frozen=True)
class _Way:
    """How a fact came from its last station: that station, what it went over, and the entries that say so."""

    start: str
    over: tuple[str, ...]
    because: tuple[str, ...]


def _edges(site: Site, rules: Sequence[Rule]) -> list[dict[str, Any]]:
    from pullstring.reach.consequence import prepared

    tied = prepared(tuple(rules))
    ways: dict[int, _Way] = {}
    found: dict[tuple[str, str, str], _Way] = {}
    for fact in tied.order:
        rule = tied.noted[fact]
        way = _onward(tied, rule, ways)
        station = _station(tied.facts[fact])
        if station and way and way.start != station:
            found.setdefault((way.start, station, SIGNALS[tied.facts[fact][0][0]]), way)
        ways[fact] = _Way(station, (), ()) if station else way or _source(tied.facts[fact])
    for rule, head in enumerate(tied.head):  # every other way of the power
        station = _station(tied.facts[head])
        if tied.facts[head][0] == "P" and station and all(body in ways for body in tied.bodies[rule]):
            other = _onward(tied, rule, ways)
            if other and other.start != station:
                found.setdefault((other.start, station, "power"), other)
    by_entry = {entry: claim for claim in site.claims if claim.relation in LINKS for entry in claim.entries}
    return [_edge(site, key, way, by_entry) for key, way in found.items()]


def _onward(tied: Tied, rule: int, ways: Mapping[int, _Way]) -> _Way | None:
    """The way through one rule: from the body that is the signal itself, not the power that some unit needs for it."""
    kind = tied.facts[tied.head[rule]][0][0]
    family = "PW" if kind in "PW" else kind
    body = next((b for b in tied.bodies[rule] if tied.facts[b][0][0] in family), None)
    if body is None:
        return None
    before, made = ways[body], tied.rules[rule]
    return _Way(before.start, (*before.over, *made.through), (*before.because, *made.because))


def _source(fact: Fact) -> _Way:
    """Where a signal comes into the property: at a port of a unit, else at a wire, which is a station of its own."""
    kind, _, tag = fact[1].partition(":")
    return _Way(f"unit:{tag.rpartition('.')[0]}" if kind == "port" else fact[1], (), ())


def _station(fact: Fact) -> str:
    """The station that a fact speaks of, if it is one; a jack stands for its outlet."""
    kind, _, tag = fact[1].partition(":")
    if kind == "jack":
        return f"outlet:{tag.rpartition('.')[0] or tag}"
    return fact[1] if kind in STATIONS else ""


def _edge(site: Site, key: tuple[str, str, str], way: _Way, by_entry: Mapping[str, Claim]) -> dict[str, Any]:
    from pullstring.model.grades import weakest

    start, to, signal = key
    over = list(dict.fromkeys(way.over))
    own = {start, to, *over}
    claims = [by_entry[e] for e in dict.fromkeys(way.because) if e in by_entry]
    claims = [c for c in claims if str(c.subject) in own and str(c.object) in own]
    ports = [o.partition(":")[2] for o in over if o.startswith("port:")]
    given = [p for p in ports if f"unit:{p.rpartition('.')[0]}" == start]
    taken = [p for p in ports if f"unit:{p.rpartition('.')[0]}" == to]
    how = weakest([c.support for c in claims if c.support])
    return {
        "from": start,
        "to": to,
        "signal": signal,
        "port": given[0] if given else "",
        "into": taken[-1] if taken else "",
        "gives": _gives(site, given[0]) if given and signal == "power" else "",
        "cables": sorted(o.partition(":")[2] for o in over if o.startswith("cable:")),
        "grade": how,
        "unsure": how in ("assumed", "told") or any(c.contradicted for c in claims),
        "contradicted": any(c.contradicted for c in claims),
        "planned": _planned(site, start) or _planned(site, to),
        "because": list(dict.fromkeys(way.because)),
    }


def _gives(site: Site, port: str) -> str:
    from pullstring.model.refs import Ref
    from pullstring.reach.feeds import gives_at

    return gives_at(site, Ref("port", port))


def _planned(site: Site, ref: str) -> bool:
    from pullstring.model.refs import parse_ref

    thing = site.get(parse_ref(ref))
    return thing is not None and thing.text("state") == "planned"


def _things(site: Site, joined: Iterable[str]) -> Iterator[Ref]:
    """All stations of the site that were not removed, and the wires by which something comes in; in order."""
    from pullstring.model.refs import parse_ref

    there = {t.ref for kind in STATIONS for t in site.of_kind(kind) if t.text("state") != "removed"}
    yield from sorted(there | {parse_ref(ref) for ref in joined})


def _services(site: Site, arrive: Mapping[str, Fact], rules: Sequence[Rule]) -> dict[str, list[dict[str, Any]]]:
    """Services by the station where they must arrive; under nothing those of which nobody noted where."""
    from pullstring.reach.consequence import live

    alive = live(tuple(rules))
    found: dict[str, list[dict[str, Any]]] = {}
    for service in site.of_kind("service"):
        if not service.stands:
            continue
        fact = arrive.get(str(service.ref))
        at = fact[1] if fact else str(service.ref_of("arrives_at") or "")
        kind, _, tag = at.partition(":")
        at = f"unit:{tag.rpartition('.')[0]}" if kind == "port" else at
        found.setdefault(at, []).append(
            {
                "ref": str(service.ref),
                "name": service.text("name") or service.ref.tag,
                "keep": service.text("keep") == "yes",
                "arrives": fact is not None and fact in alive,
            }
        )
    return found


def _node(
    site: Site, ref: Ref, guarded: Mapping[str, str], services: Mapping[str, Sequence[Any]], *, assumed: bool
) -> dict[str, Any]:
    thing = site.get(ref)
    model = site.get(thing.ref_of("model")) if thing else None
    room = site.get(thing.ref_of("room")) if thing else None
    floor = site.get(room.ref_of("floor")) if room else None
    building = floor.ref_of("building") if floor else None
    label = thing.text("label") if thing else ""
    return {
        "ref": str(ref),
        "kind": ref.kind,
        "tag": ref.tag,
        "name": (thing.text("name") if thing else "") or (model.text("what") if model else "") or label,
        "what": model.text("what") if model else "",
        "room": (room.text("name") or room.ref.tag) if room else "",
        "floor": floor.ref.tag if floor else "",
        "building": building.tag if building else "",
        "state": thing.text("state") if thing else "",
        "guard": guarded.get(str(ref)),
        "is_off": _is_off(thing),
        "power_not_known": assumed,
        "services": list(services.get(str(ref), ())),
    }


def _is_off(thing: Thing | None) -> bool:
    from pullstring.reach.rules import is_on

    return not is_on(thing)


def _floors(site: Site) -> list[dict[str, Any]]:
    """Floors by building, the highest first; a floor without a level by its height, else in the order of its tag."""

    def rank(floor: Thing) -> float:
        level, z = floor.number("level"), floor.number("z_m")
        return level if level is not None else z / 3 if z is not None else 0.0

    found = []
    for floor in sorted(site.of_kind("floor"), key=lambda f: (-rank(f), f.ref)):
        building = site.get(floor.ref_of("building"))
        if floor.text("state") != "removed":
            found.append(
                {
                    "tag": floor.ref.tag,
                    "name": floor.text("name"),
                    "level": round(rank(floor)),
                    "building": building.ref.tag if building else "",
                    "building_name": building.text("name") if building else "",
                }
            )
    return found

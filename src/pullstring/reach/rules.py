"""From the site to rules: what feeds what, what a signal passes, which mains and switches stand before it.

Elements are the site's things by their reference. A data signal ("D") goes from place to place where the pairs on 1-2 and 3-6
go together; a line signal ("L1", "L2", ... by pair) goes where its own pair goes; what passes one does not pass the other.
Each rule keeps the entries it was made from. Where the record does not say how a unit is powered, it is taken as powered by
something unknown, and that is told in `assumed`.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterator, Mapping

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.conductors import is_return, outlet_of, passes_straight
from pullstring.model.refs import Ref
from pullstring.reach.batteries import promised_minutes
from pullstring.reach.consequence import Fact, Rule
from pullstring.reach.feeds import FITS, WIRED, gives_at, model_of, needs_power, over_wire
from pullstring.reach.ways import Place, Ways, ports_of, rule_of, ways_of

__all__ = ["FITS", "WIRED", "Reach", "build", "is_on", "model_of", "ports_of"]
LINE_ONLY = ("panel", "telephone")
"""Units that pass a line and no data: an alarm panel, a telephone."""


@dataclasses.dataclass(frozen=True)
class Reach:
    """Rules and services of a site.

    `keep` are the services that must stay, `assumed` the units taken as powered.
    """

    rules: tuple[Rule, ...]
    services: Mapping[str, Fact]
    keep: frozenset[str]
    assumed: tuple[str, ...]


@once_a_site
def build(site: Site) -> Reach:
    """All rules of a site with its mains on."""
    return build_without_mains(site, minutes=None)


def build_without_mains(site: Site, *, minutes: float | None) -> Reach:
    """All rules of a site, in a fixed order; with `minutes`, as it is when the mains have been gone for so long. [min]"""
    ways = ways_of(site)
    assumed: list[str] = []
    rules = [*_mains(site, minutes), *_batteries(site, minutes), *_sources(site, ways)]
    rules += _signals(ways)
    rules += _inside_units(site)
    rules += _at_places(site, ways)
    rules += _unit_power(site, ways, assumed)
    off = _out_of_use(site)
    rules = [rule for rule in rules if rule.head not in off]
    return Reach(tuple(rules), dict(_services(site)), _kept(site), tuple(assumed))


def _out_of_use(site: Site) -> frozenset[Fact]:
    """What is still in place but off has no power; its copper stays."""
    kinds = ("circuit", "switch", "socket", "unit")
    return frozenset(("P", str(t.ref)) for kind in kinds for t in site.of_kind(kind) if t.text("state") == "out of use")


def _kept(site: Site) -> frozenset[str]:
    return frozenset(str(s.ref) for s in site.of_kind("service") if s.text("keep") == "yes")


def _services(site: Site) -> Iterator[tuple[str, Fact]]:
    for service in site.of_kind("service"):
        at, needs = service.ref_of("arrives_at"), service.text("needs") or "data"
        if at is None or service.text("source") == "none" and needs != "power":
            continue
        yield str(service.ref), (_signal_of(service, default="D") if needs != "power" else "P", str(at))


def _signal_of(service: Thing, *, default: str) -> str:
    return {"line": "L", "data": "D"}.get(service.text("needs"), default)


def is_on(thing: Thing | None) -> bool:
    """A breaker or switch counts as on unless it was turned off or is usually off."""
    if thing is None:
        return True
    said = thing.text("turned") or thing.text("breaker") or thing.text("usual")
    return said != "off"


def _mains(site: Site, minutes: float | None) -> Iterator[Rule]:
    if minutes is None:
        for circuit in site.of_kind("circuit"):
            if circuit.stands and is_on(circuit):
                yield Rule(("P", str(circuit.ref)), (), (), circuit.entries)
    for kind in ("switch", "socket"):
        for thing in site.of_kind(kind):
            if thing.stands and is_on(thing):
                for claim in site.about(subject=thing.ref, relation="fed_by"):
                    yield Rule(("P", str(thing.ref)), (("P", str(claim.object)),), (), claim.entries)


def _batteries(site: Site, minutes: float | None) -> Iterator[Rule]:
    """While the mains are gone a battery holds for its minutes: all of its unit, of a UPS its battery sockets alone.

    A UPS is promised the least that its test or its battery bears; minutes that are only told are not promised.
    """
    if minutes is None:
        return
    ports = ports_of(site)
    for ref, holds in promised_minutes(site).items():
        unit, model = site.things[ref], model_of(site, ref)
        is_ups = model is not None and model.text("what") == "UPS"
        if holds < minutes:
            continue
        fed = [p for p in ports.get(unit.ref, ()) if (t := site.get(p)) and t.text("gives") == "battery mains"]
        for port in fed:
            yield rule_of(site, ("P", port), (), (unit.ref,), unit.entries)
        if not fed and not is_ups:
            yield Rule(("P", str(unit.ref)), (), (), unit.entries)


def _sources(site: Site, ways: Ways) -> Iterator[Rule]:
    for service in site.of_kind("service"):
        start = service.ref_of("from")
        if start is None or not service.stands or service.text("source") not in ("feed", "exchange", "own"):
            continue
        kind = _signal_of(service, default="D")
        owner = Ref("unit", start.parent_tag) if start.kind == "port" and start.parent_tag else start
        powered = (("P", owner),) if owner.kind == "unit" and needs_power(site, owner) else ()
        if kind == "D" or start.kind == "unit":
            place = ways.far.get((start, 0), start) if start.kind == "cable" else start
            yield rule_of(site, (kind, place), powered, (start,), service.entries)
        if kind == "L" and start.kind != "unit":
            for place, number in _line_starts(ways, start):
                yield rule_of(site, (f"L{number}", place), powered, (start,), service.entries)


def _line_starts(ways: Ways, start: Ref) -> list[tuple[Ref, int]]:
    """The pairs on which a line comes in: the pair, or all pairs that lie at an end, jack, row or port."""
    if start.kind == "pair":
        place, numbers = ways.start_of(start)
        return [(place, n) for n in numbers] if place else []
    if start.kind in ("cable", "outlet"):
        there = ways.far.get((start, 0)) if start.kind == "cable" else Ref("jack", f"{start.tag}.1")
    else:
        there = start
    return [place for place in ways.places if place[0] == there] if there else []


def _lined(ways: Ways) -> set[Place]:
    """Every pair at a place to which a line could come from where one starts."""
    at_unit: dict[Ref, list[Place]] = collections.defaultdict(list)
    for place in ways.near:
        if place[0].kind == "port" and place[0].parent_tag:
            at_unit[Ref("unit", place[0].parent_tag)].append(place)
    lines = [s for s in ways.site.of_kind("service") if s.text("needs") == "line" and s.ref_of("from")]
    todo = [p for s in lines if (start := s.ref_of("from")) for p in _line_starts(ways, start)]
    todo += [p for s in lines if (start := s.ref_of("from")) for p in at_unit.get(start, ())]
    seen = set(todo)
    while todo:
        here = todo.pop()
        unit = Ref("unit", here[0].parent_tag) if here[0].kind == "port" and here[0].parent_tag else None
        model = model_of(ways.site, unit) if unit else None
        across = at_unit[unit] if unit and model and model.text("what") in LINE_ONLY else []
        for there in (*ways.near.get(here, ()), *across):
            if there not in seen:
                seen.add(there)
                todo.append(there)
    return seen


def _signals(ways: Ways) -> list[Rule]:
    """Data from place to place where both data pairs go, a line from pair to pair; both ways."""
    found: list[Rule] = []
    for hop in ways.hops("A"):
        needs = tuple(sorted(map(str, hop.needs)))
        for a, b in ((hop.a, hop.b), (hop.b, hop.a)):
            found.append(Rule(("D", str(a)), (("D", str(b)),), needs, hop.because))
    lined = _lined(ways)
    for way in ways.ways if lined else ():
        if way.a not in lined:
            continue
        needs = tuple(sorted(map(str, way.needs)))
        for (one, n), (other, m) in ((way.a, way.b), (way.b, way.a)):
            found.append(Rule((f"L{n}", str(one)), ((f"L{m}", str(other)),), needs, way.because))
    return found


def _inside_units(site: Site) -> Iterator[Rule]:
    """What comes in at a port arrives at the unit if it works; a unit that passes it gives it out at every port."""
    for unit, ports in ports_of(site).items():
        thing, model = site.get(unit), model_of(site, unit)
        if thing is None or not thing.stands:
            continue
        entries = (*thing.entries, *(model.entries if model else ()))
        passes = model.text("passes") if model else ""
        what = model.text("what") if model else ""
        works = (("P", unit),) if needs_power(site, unit) else ()
        onward = () if passes == "always" else works
        signal = "L" if what in LINE_ONLY else "D"
        for kind in "DL":
            yield rule_of(site, (kind, unit), ((f"{kind} heard", unit), *works), (), entries)
            yield rule_of(site, (f"{kind} heard", unit), ((kind, unit),), (), entries)
        for port in (p for p in ports if not is_return(model, p)):
            yield rule_of(site, ("D heard", unit), (("D", port),), (port,), entries)
            yield rule_of(site, ("L heard", unit), (("L", port),), (port,), entries)
            if passes != "no" and not passes_straight(model):
                out = "L out" if signal == "L" else "D"
                yield rule_of(site, (out, port), ((f"{signal} heard", unit), *onward), (unit,), entries)
            if gives_at(site, port) in ("mains", "battery mains"):
                yield rule_of(site, ("P", port), (("P", unit),), (unit,), entries)


def _at_places(site: Site, ways: Ways) -> Iterator[Rule]:
    """A line on any pair of a place is a line there, and one given out goes on every pair; an outlet has what its jacks have."""
    lined = _lined(ways)
    seen: set[Ref] = set()
    for place, n in ways.places:
        if (place, n) in lined:
            yield rule_of(site, ("L", place), ((f"L{n}", place),), (), ())
            if place.kind == "port":
                yield rule_of(site, (f"L{n}", place), (("L out", place),), (), ())
        if place.kind == "jack" and place not in seen:
            seen.add(place)
            for kind in "DL":
                yield rule_of(site, (kind, outlet_of(place)), ((kind, place),), (place,), ())


def _unit_power(site: Site, ways: Ways, assumed: list[str]) -> Iterator[Rule]:
    """Mains by what feeds it, power over the data pairs where a port gives what the unit takes; else something unknown."""
    wired, unsure = over_wire(site, ways)
    yield from (rule for rules in wired.values() for rule in rules)
    for unit in site.of_kind("unit"):
        if not unit.stands or not needs_power(site, unit.ref):
            continue
        fed = [
            Rule(("P", str(unit.ref)), (("P", str(c.object)),), (), c.entries)
            for c in site.about(subject=unit.ref, relation="fed_by")
        ]
        if not fed and unit.ref in unsure:
            assumed.append(str(unit.ref))
            fed = [Rule(("P", str(unit.ref)), (), (), unit.entries)]
        yield from fed

"""From the site to rules: what feeds what, what a signal passes, which mains and switches stand before it.

Elements are the site's things by their reference. Each rule keeps the entries it was made from. Where the record does not
say how a unit is powered, it is taken as powered by something unknown, and that is told in `assumed`.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterable, Iterator, Mapping

from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import is_return, outlet_of
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.wiring import ends_of, pairs_of
from pullstring.reach.consequence import Fact, Rule

NEEDS = {"data": "D", "power": "P", "line": "D"}
WIRED = ("802.3af", "802.3at", "802.3bt", "24 V always-on")
FITS = {
    "802.3af": {"802.3af", "802.3at", "802.3bt"},
    "802.3at": {"802.3at", "802.3bt"},
    "802.3bt": {"802.3bt"},
    "24 V always-on": {"24 V always-on"},
}
"""What a port may give to what a unit takes."""


@dataclasses.dataclass(frozen=True)
class Reach:
    """Rules and services of a site."""

    rules: tuple[Rule, ...]
    services: Mapping[str, Fact]
    keep: frozenset[str]
    assumed: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Link:
    """Two neighbours between which a signal passes both ways, through some elements."""

    a: str
    b: str
    through: tuple[str, ...]
    because: tuple[str, ...]


@once_a_site
def build(site: Site) -> Reach:
    """All rules of a site, in a fixed order."""
    joined = tuple(_links(site))
    assumed: list[str] = []
    rules = [*_mains(site), *_sources(site), *_signal(joined), *_inside_units(site)]
    rules += _unit_power(site, joined, assumed)
    services: dict[str, Fact] = {}
    for service in site.of_kind("service"):
        at = service.ref_of("arrives_at")
        if at and service.text("source") != "none" or at and service.text("needs") == "power":
            services[str(service.ref)] = (NEEDS.get(service.text("needs") or "data", "D"), str(at))
    keep = frozenset(str(s.ref) for s in site.of_kind("service") if s.text("keep") == "yes")
    return Reach(tuple(rules), services, keep, tuple(assumed))


def is_on(thing: Thing | None) -> bool:
    """A breaker or switch counts as on unless it was turned off or is usually off."""
    if thing is None:
        return True
    said = thing.text("turned") or thing.text("breaker") or thing.text("usual")
    return said != "off"


def _mains(site: Site) -> Iterator[Rule]:
    for circuit in site.of_kind("circuit"):
        if circuit.stands and is_on(circuit):
            yield Rule(("P", str(circuit.ref)), (), (), circuit.entries)
    for kind in ("switch", "socket"):
        for thing in site.of_kind(kind):
            if thing.stands and is_on(thing):
                for claim in site.about(subject=thing.ref, relation="fed_by"):
                    yield Rule(("P", str(thing.ref)), (("P", str(claim.object)),), (), claim.entries)


def _sources(site: Site) -> Iterator[Rule]:
    for service in site.of_kind("service"):
        start = service.ref_of("from")
        if start and service.text("source") in ("feed", "exchange", "own") and service.stands:
            needs = (("P", str(start)),) if start.kind == "unit" and _needs_power(site, start) else ()
            yield Rule(("D", str(start)), needs, (), service.entries)


def _links(site: Site) -> Iterator[Link]:
    """Neighbours for signals: plugs in ports, ends of cables, ends at outlets, joints."""
    for claim in site.claims:
        if claim.support and claim.relation in ("plugged", "ends_at", "joined") and _stand(site, claim):
            yield Link(str(claim.subject), str(claim.object), (), claim.entries)
            if claim.object.kind == "jack":
                yield Link(str(claim.object), str(outlet_of(claim.object)), (), claim.entries)
    for joint in site.of_kind("joint"):
        ends = joint.refs_of("ends")
        if joint.stands:
            for other in ends[1:]:
                yield Link(str(ends[0]), str(other), (str(joint.ref),), joint.entries)
    for cable in site.of_kind("cable"):
        if cable.text("state") in ("removed", "planned", "out of use"):
            continue
        ends = ends_of(site, cable.ref)
        for a, b in zip(ends, ends[1:], strict=False):
            yield Link(str(a), str(b), (str(cable.ref),), cable.entries)
        for n in range(1, pairs_of(site, cable.ref) + 1):
            pair = Ref("pair", f"{cable.ref.tag}.{n}")
            if any(pair in (c.subject, c.object) for c in site.about(relation="joined")):
                for end in ends:
                    yield Link(str(end), str(pair), (str(cable.ref),), cable.entries)
        if len(ends) == 1:
            for claim in site.about(subject=ends[0], relation="goes_to"):
                yield Link(str(ends[0]), str(claim.object), (str(cable.ref),), claim.entries)


def _stand(site: Site, claim: Claim) -> bool:
    return all(thing is None or thing.stands for thing in (site.get(claim.subject), site.get(claim.object)))


def _signal(joined: Iterable[Link]) -> Iterator[Rule]:
    for link in joined:
        yield Rule(("D", link.a), (("D", link.b),), (link.b, *link.through), link.because)
        yield Rule(("D", link.b), (("D", link.a),), (link.a, *link.through), link.because)


def ports_of(site: Site) -> dict[Ref, tuple[Ref, ...]]:
    """Ports by unit: those noted and those that something is plugged into."""
    found: dict[Ref, set[Ref]] = collections.defaultdict(set)
    refs = {t.ref for t in site.of_kind("port")}
    refs |= {r for c in site.claims for r in (c.subject, c.object) if r.kind == "port"}
    for ref in refs:
        if ref.parent_tag:
            found[Ref("unit", ref.parent_tag)].add(ref)
    return {unit: tuple(sorted(ports)) for unit, ports in sorted(found.items())}


def model_of(site: Site, unit: Ref) -> Thing | None:
    """The model of a unit, if noted."""
    thing = site.get(unit)
    return site.get(thing.ref_of("model")) if thing else None


def _needs_power(site: Site, unit: Ref) -> bool:
    """Whether a unit does its work only when powered: not what takes none, or lives on its line."""
    model = model_of(site, unit)
    return not (model and model.text("takes") in ("none", "line"))


def _inside_units(site: Site) -> Iterator[Rule]:
    for unit, ports in ports_of(site).items():
        thing, model = site.get(unit), model_of(site, unit)
        if thing is None or not thing.stands:
            continue
        entries = (*thing.entries, *(model.entries if model else ()))
        always = model is not None and model.text("passes") == "always"
        powered = (("P", str(unit)),) if _needs_power(site, unit) and not always else ()
        for port in (p for p in ports if not is_return(model, p)):
            yield Rule(("D", str(unit)), (("D", str(port)), *powered), (str(port),), entries)
            if model is None or model.text("passes") != "no":
                yield Rule(("D", str(port)), (("D", str(unit)), *powered), (str(unit),), entries)
            gives = site.get(port)
            if gives and gives.text("gives") in ("mains", "battery mains"):
                yield Rule(("P", str(port)), (("P", str(unit)),), (str(unit),), gives.entries)


def _unit_power(site: Site, joined: tuple[Link, ...], assumed: list[str]) -> Iterator[Rule]:
    ports = ports_of(site)
    near: dict[str, list[Link]] = collections.defaultdict(list)
    for link in joined:
        near[link.a].append(link)
        near[link.b].append(link)
    for unit in site.of_kind("unit"):
        if not unit.stands or not _needs_power(site, unit.ref):
            continue
        fed = [
            Rule(("P", str(unit.ref)), (("P", str(c.object)),), (), c.entries)
            for c in site.about(subject=unit.ref, relation="fed_by")
        ]
        model = model_of(site, unit.ref)
        takes = model.text("takes") if model else ""
        reached = False
        if takes in WIRED:
            for port in ports.get(unit.ref, ()):
                for source, rule in _over_wire(site, unit.ref, port, takes, near):
                    reached = reached or bool(source)
                    fed += [rule] if rule else []
        if not fed and not reached:
            assumed.append(str(unit.ref))
            fed = [Rule(("P", str(unit.ref)), (), (), unit.entries)]
        yield from fed


def _over_wire(
    site: Site, unit: Ref, port: Ref, takes: str, near: Mapping[str, list[Link]]
) -> Iterator[tuple[str, Rule | None]]:
    """Each port within reach along the wire: what it is noted to give, and the rule if that fits what the unit takes."""
    came: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {str(port): ((str(port),), ())}
    queue = collections.deque([str(port)])
    while queue:
        here = queue.popleft()
        path, because = came[here]
        if here.startswith("port:") and here != str(port):
            source, parent = site.get(parse_ref(here)), parse_ref(here).parent_tag
            gives = source.text("gives") if source else ""
            fits = Rule(
                ("P", str(unit)), (("P", f"unit:{parent}"),), path, (*because, *(source.entries if source else ()))
            )
            yield gives, fits if gives in FITS[takes] else None
            continue
        for link in near[here]:
            there = link.b if link.a == here else link.a
            if there not in came:
                came[there] = ((*path, *link.through, there), (*because, *link.because))
                queue.append(there)

"""Power over the data pairs: which port gives what, where it arrives over whole pairs, and which units it suits."""

from __future__ import annotations

import collections
from collections.abc import Mapping

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.conductors import passes_straight
from pullstring.model.refs import Ref
from pullstring.reach.consequence import Rule
from pullstring.reach.ways import Hop, Ways, ports_of, rule_of

WIRED = ("802.3af", "802.3at", "802.3bt", "24 V always-on")
FITS = {
    "802.3af": {"802.3af", "802.3at", "802.3bt"},
    "802.3at": {"802.3at", "802.3bt"},
    "802.3bt": {"802.3bt"},
    "24 V always-on": {"24 V always-on"},
}
"""What a port may give to what a unit takes."""


def model_of(site: Site, unit: Ref) -> Thing | None:
    """The model of a unit, if noted."""
    thing = site.get(unit)
    return site.get(thing.ref_of("model")) if thing else None


def needs_power(site: Site, unit: Ref) -> bool:
    """Whether a unit does its work only when powered: not what takes none, or lives on its line."""
    model = model_of(site, unit)
    return not (model and model.text("takes") in ("none", "line"))


def gives_at(site: Site, port: Ref) -> str:
    """What a port gives: as noted, else what its unit hands on from its first port to the others."""
    thing = site.get(port)
    noted = thing.text("gives") if thing else ""
    if noted or not port.parent_tag:
        return noted
    unit = Ref("unit", port.parent_tag)
    model = model_of(site, unit)
    if model is None or model.text("second_port_power") != "yes":
        return ""
    return model.text("takes") if port != ports_of(site)[unit][0] else ""


def layers_of(site: Site, port: Ref, given: str) -> tuple[str, ...]:
    """The pairs on which a port may give: 24 V always-on on 4-5 and 7-8, a standard port as noted, else either."""
    if given == "24 V always-on":
        return ("B",)
    thing = site.get(port)
    said = thing.text("alternative") if thing else ""
    return (said,) if said in ("A", "B") else ("A", "B")


def over_wire(site: Site, ways: Ways) -> tuple[Mapping[Ref, list[Rule]], frozenset[Ref]]:
    """Rules of power over data by giving port, and the units of which nobody noted any feed, fitting or not."""
    near = {layer: _neighbours(ways.hops(layer, power=True)) for layer in "AB"}
    takers = {
        port: unit
        for unit, ports in ports_of(site).items()
        for port in ports
        if (thing := site.get(unit)) and thing.stands and (m := model_of(site, unit)) and m.text("takes") in WIRED
    }
    rules: dict[Ref, list[Rule]] = {}
    told: dict[Ref, set[str]] = collections.defaultdict(set)
    for unit, ports in ports_of(site).items():
        if _mere_copper(site, unit):
            continue
        thing = site.get(unit)
        stands = thing is not None and thing.stands
        for port in ports:
            given = gives_at(site, port)
            reached = {layer: _component(near[layer], port) for layer in "AB"}
            for other in {p for layer in "AB" for p in reached[layer] if p in takers and takers[p] != unit}:
                told[takers[other]].add(given)
            if given in WIRED and stands:
                on = layers_of(site, port, given)
                rules[port] = [
                    r for layer in on for r in _spread(site, port, layer, given, reached[layer], near[layer], takers)
                ]
    return rules, _unsure(site, told)


def _unsure(site: Site, told: Mapping[Ref, set[str]]) -> frozenset[Ref]:
    """Units whose feed nobody noted: no port within reach is noted to give anything, fitting or not."""
    return frozenset(
        unit.ref
        for unit in site.of_kind("unit")
        if not any(told.get(unit.ref, ())) and not site.about(subject=unit.ref, relation="fed_by")
    )


def _mere_copper(site: Site, unit: Ref) -> bool:
    return passes_straight(model_of(site, unit))


Near = Mapping[Ref, list[tuple[Ref, Hop]]]


def _neighbours(hops: list[Hop]) -> Near:
    near: dict[Ref, list[tuple[Ref, Hop]]] = collections.defaultdict(list)
    for hop in hops:
        near[hop.a].append((hop.b, hop))
        near[hop.b].append((hop.a, hop))
    return near


def _component(near: Near, start: Ref) -> list[Ref]:
    """Every place that both pairs of a layer reach from a port, in the order of meeting."""
    seen, order = {start}, [start]
    for here in order:
        for there, _ in near.get(here, ()):
            if there not in seen:
                seen.add(there)
                order.append(there)
    return order


def _spread(
    site: Site, port: Ref, layer: str, given: str, reached: list[Ref], near: Near, takers: Mapping[Ref, Ref]
) -> list[Rule]:
    """The supply of one port on one layer: from place to place, and into each unit that takes it."""
    unit = Ref("unit", port.parent_tag or "")
    into = [p for p in reached if p in takers and takers[p] != unit and given in FITS[_takes(site, takers[p])]]
    if not into:
        return []
    kind, source = f"W {port} {layer}", site.get(port)
    because = source.entries if source else ()
    found = [rule_of(site, (kind, port), (("P", unit),), (), because)]
    for here in reached:
        for there, hop in near.get(here, ()):
            needs = tuple(sorted(map(str, hop.needs)))
            found.append(Rule((kind, str(there)), ((kind, str(here)),), needs, hop.because))
    return [*found, *(rule_of(site, ("P", takers[p]), ((kind, p),), (p,), ()) for p in into)]


def _takes(site: Site, unit: Ref) -> str:
    model = model_of(site, unit)
    return model.text("takes") if model else ""

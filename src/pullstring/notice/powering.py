"""What a veteran notices about power over data wires and about mains: wrong modes, open jacks, switches in the path."""

from __future__ import annotations

from collections.abc import Iterator

from pullstring.model.answers import Problem
from pullstring.model.conductors import outlet_of
from pullstring.model.problems import listed, problem
from pullstring.model.refs import Ref
from pullstring.notice.look import Look
from pullstring.power.ports import POWERED
from pullstring.reach.consequence import proof
from pullstring.reach.rules import FITS, is_on

KEEPS_NETWORK = ("router", "switch", "injector", "radio", "converter", "access point")
_FITS = {**FITS, "plug": {"mains", "battery mains"}}


def powering(look: Look) -> Iterator[Problem]:
    """All detections of this family."""
    yield from _wrong_power(look)
    yield from _open_jacks(look)
    yield from _through_joints(look)
    yield from _modes(look)
    yield from _called_dead(look)
    yield from _switched_path(look)
    yield from _surge_only(look)
    yield from _filtered(look)


def _wrong_power(look: Look) -> Iterator[Problem]:
    for judged in look.ports:
        if judged.mode == "24 V always-on" and judged.match and judged.match.hazard:
            yield problem("wrong_power", where=str(judged.port), says=str(judged.device), because=judged.because)


def _open_jacks(look: Look) -> Iterator[Problem]:
    """Every open jack whose wires lead to a 24 V always-on port, and every run from one whose far end nobody knows."""
    for port in look.site.of_kind("port"):
        if port.text("gives") != "24 V always-on" or not port.stands:
            continue
        groups = [g for g in look.wires if any(p.of == port.ref for p in g.points)]
        jacks = {p.of for g in groups for p in g.points if p.of.kind == "jack"}
        outlets = {outlet_of(j) for j in jacks}
        told_apart = {o for o in outlets if look.site.get(o) and _counted(look, o) > 1}
        judged = next((j for j in look.ports if j.port == port.ref), None)
        if judged and judged.device:
            outlets -= {judged.outlet} if judged.outlet else set()
        elif judged and judged.run and not outlets:
            outlets = {outlet_of(r) for r in judged.run.run.to if r.kind in ("outlet", "jack")}
        open_ones = sorted(o for o in outlets - told_apart if not look.plugged.get(o) and not _blank(look, o))
        open_ones += sorted(
            j for j in jacks if outlet_of(j) in told_apart and not look.plugged.get(j) and not _blank(look, j)
        )
        because = [*port.entries, *(e for g in groups for e in g.because), *(judged.because if judged else ())]
        if open_ones:
            yield problem("always_on_open", where=str(port.ref), says=listed(open_ones), because=because)
        elif judged and judged.run and not judged.device and not outlets:
            says = f"the run of {judged.run.run.start}"
            yield problem("always_on_open", where=str(port.ref), says=says, because=because)


def _counted(look: Look, outlet: Ref) -> int:
    """How many connectors an outlet is known to have."""
    thing = look.site.get(outlet)
    jacks = sum(1 for j in look.site.of_kind("jack") if outlet_of(j.ref) == outlet)
    return max(jacks, int(thing.number("positions") or 0) if thing else 0)


def _blank(look: Look, place: Ref) -> bool:
    """Whether nothing can be plugged in: a blank plate or connector, or said to be out of reach."""
    jack = look.site.get(place) if place.kind == "jack" else None
    if jack and jack.text("connector") == "blank":
        return True
    outlet = outlet_of(place)
    thing = look.site.get(outlet)
    if thing is None:
        return False
    jacks = [j.text("connector") for j in look.site.of_kind("jack") if outlet_of(j.ref) == outlet]
    return thing.text("reachable") == "no" or bool(jacks) and set(jacks) == {"blank"}


def _through_joints(look: Look) -> Iterator[Problem]:
    for judged in look.ports:
        if judged.run and (judged.run.run.joints or judged.run.run.touching):
            run = judged.run.run
            says = f"{run.start} has {run.joints} joint{'s' if run.joints > 1 else ''} in it"
            if not run.joints:
                says = f"{run.start} touches {listed(run.touching)}"
            yield problem("power_through_joint", where=str(judged.port), says=says, because=judged.because)


def _modes(look: Look) -> Iterator[Problem]:
    """A mode set for a unit that is gone; power that rests on a setting which a power cut takes away."""
    for port in look.site.of_kind("port"):
        if port.text("gives") not in POWERED or not port.stands:
            continue
        unit = port.ref_of("for_unit")
        if unit is not None:
            thing = look.site.get(unit)
            judged = next((j for j in look.ports if j.port == port.ref), None)
            gone = thing is not None and not thing.stands and thing.text("state") != "planned"
            other = judged is not None and judged.device not in (None, unit) or _elsewhere(look, unit, port.ref)
            if gone or other:
                yield problem("mode_for_gone", where=str(port.ref), says=str(unit), because=port.entries)
        if port.text("mode_saved") == "no":
            yield problem("mode_not_saved", where=str(port.ref), says=port.text("gives"), because=port.entries)


def _elsewhere(look: Look, unit: Ref, port: Ref) -> bool:
    """Whether a unit is known to hang on other ports and not on this one."""
    on = {j.port for j in look.ports if j.device == unit}
    own = [p for p in look.plugged if p.kind == "port" and p.parent_tag and Ref("unit", p.parent_tag) == unit]
    on |= {r for p in own for r in look.plugged[p] if r.kind == "port"}
    return bool(on) and port not in on


def _called_dead(look: Look) -> Iterator[Problem]:
    for unit in look.site.of_kind("unit"):
        port = look.site.get(unit.ref_of("tried_on"))
        if unit.text("health") != "called dead" or port is None:
            continue
        model = look.model(unit)
        takes, gives = model.text("takes") if model else "", port.text("gives") or "nothing"
        if takes in _FITS and gives not in _FITS[takes]:
            says = f"{port.ref} ({gives})"
            says = str(port.ref) if gives == "nothing" else says
            entries = [*unit.entries, *port.entries, *(model.entries if model else ())]
            yield problem("dead_on_wrong_port", where=str(unit.ref), says=says, because=entries)


def _switched_path(look: Look) -> Iterator[Problem]:
    """Switches that are on and carry services that must stay; one problem a switch."""
    reach = look.reach
    used = {name: proof(reach.rules, reach.services[name]) for name in sorted(reach.keep & reach.services.keys())}
    for switch in look.site.of_kind("switch"):
        hangs = {n: rules for n, rules in used.items() if any(str(switch.ref) in rule.elements for rule in rules)}
        if is_on(switch) and hangs:
            because = [e for rules in hangs.values() for rule in rules for e in rule.because]
            yield problem("switched_path", where=str(switch.ref), says=listed(hangs), because=because)


def _surge_only(look: Look) -> Iterator[Problem]:
    """What keeps the network alive, plugged into the side of a UPS that has no battery behind it."""
    for unit in look.site.of_kind("unit"):
        model = look.model(unit)
        if not unit.stands or not model or model.text("what") not in KEEPS_NETWORK:
            continue
        for feed, entries in look.feeds_above(unit.ref):
            port = look.site.get(feed)
            source = look.model(Ref("unit", feed.parent_tag)) if feed.kind == "port" and feed.parent_tag else None
            if port and source and source.text("what") == "UPS" and port.text("gives") == "mains":
                because = [*entries, *port.entries, *source.entries]
                yield problem("surge_only", where=str(unit.ref), says=str(feed), because=because)


def _filtered(look: Look) -> Iterator[Problem]:
    """A power-line adapter behind a filter or a UPS."""
    for unit in look.site.of_kind("unit"):
        model = look.model(unit)
        if not unit.stands or not model or model.text("what") != "adapter":
            continue
        for feed, entries in look.feeds_above(unit.ref):
            socket = look.site.get(feed)
            if feed.kind == "port" or (socket and socket.text("filtered") == "yes"):
                because = [*entries, *(socket.entries if socket else ())]
                yield problem("adapter_filtered", where=str(unit.ref), says=str(feed), because=because)
                break

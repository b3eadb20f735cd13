"""What a veteran notices at the first look: what can hurt, what goes dark, what clashes."""

from __future__ import annotations

import collections
from collections.abc import Iterator

from pullstring.model.answers import Problem, Severity
from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.model.wiring import nets, runs
from pullstring.power.ports import judged_ports
from pullstring.reach.consequence import proof
from pullstring.reach.rules import build, is_on


def first_look(site: Site) -> tuple[Problem, ...]:
    """All problems of the first look, worst first."""
    found = [*_mains_in_box(site), *_always_on(site), *_switched_path(site), *_bridged(site), *_addresses(site)]
    return tuple(sorted(found, key=lambda p: (p.severity, p.code, p.where)))


def _mains_in_box(site: Site) -> Iterator[Problem]:
    for outlet in site.of_kind("outlet"):
        if outlet.text("shares_box_with_mains") == "yes":
            yield Problem(
                Severity.HURT,
                "mains_in_box",
                str(outlet.ref),
                "shares its box with mains",
                "leave it shut; a licensed electrician parts it",
                outlet.entries,
            )


def _always_on(site: Site) -> Iterator[Problem]:
    """An always-on port whose far end is not a device that wants it."""
    for judged in judged_ports(site):
        if judged.mode == "24 V always-on" and judged.match and judged.match.hazard:
            yield Problem(
                Severity.HURT,
                "wrong_power",
                str(judged.port),
                str(judged.device),
                "unplug it, or set the port off, before anything else",
                judged.because,
            )
        elif judged.mode == "24 V always-on" and judged.device is None and judged.run:
            yield Problem(
                Severity.MONEY,
                "always_on_open",
                str(judged.port),
                str(judged.run.run.start),
                "switch the port off or blank the outlet before leaving",
                judged.because,
            )


def _switched_path(site: Site) -> Iterator[Problem]:
    """Switches that are on and carry services that must stay; one problem a switch."""
    reach = build(site)
    used = {name: proof(reach.rules, reach.services[name]) for name in sorted(reach.keep & reach.services.keys())}
    for switch in site.of_kind("switch"):
        hangs = {n: rules for n, rules in used.items() if any(str(switch.ref) in rule.elements for rule in rules)}
        if is_on(switch) and hangs:
            because = tuple(dict.fromkeys(e for rules in hangs.values() for rule in rules for e in rule.because))
            yield Problem(
                Severity.OUTAGE,
                "switched_path",
                str(switch.ref),
                " and ".join(hangs),
                "tape the switch on and tag it; give the socket its own circuit",
                because,
            )


def _bridged(site: Site) -> Iterator[Problem]:
    """Cables that touch without being parts of one run; told once for each set of cables."""
    in_series = [set(run.cables) for run in runs(site)]
    told: set[tuple[Ref, ...]] = set()
    for net in nets(site):
        if len(net.cables) > 1 and net.cables not in told and not any(set(net.cables) <= s for s in in_series):
            told.add(net.cables)
            ends = [str(e.ref) for e in site.of_kind("end") if e.ref_of("cable") in net.cables]
            yield Problem(
                Severity.MONEY,
                "bridged",
                " and ".join(str(c) for c in net.cables),
                " ".join(ends),
                "part them before you tone or judge any of them",
                net.because,
            )


def _addresses(site: Site) -> Iterator[Problem]:
    held: dict[str, list[Ref]] = collections.defaultdict(list)
    for unit in site.of_kind("unit"):
        address = unit.text("address")
        if unit.stands and address.count(".") == 3 and all(p.isdigit() for p in address.split(".")):
            held[address].append(unit.ref)
    for address, units in sorted(held.items()):
        if len(units) > 1:
            yield Problem(
                Severity.OUTAGE,
                "address_clash",
                " and ".join(str(u) for u in units),
                address,
                "give one of them another address or take it out",
                (),
            )

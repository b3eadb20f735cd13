"""The power path of a feed: each thing, from the breaker on, without which the unit where a service comes in stays dark."""

from __future__ import annotations

import dataclasses

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref, parse_ref
from pullstring.reach.consequence import Fact, proof, single_points
from pullstring.reach.rules import build

THINGS = ("circuit", "switch", "socket", "unit", "cable")
"""What a person can point at; their ports, ends, pairs and plates go with them."""


@dataclasses.dataclass(frozen=True)
class PowerPath:
    """A unit with all that alone takes its power away, in the order in which the power comes; and the entries that say so.

    `fed` is false when nothing known feeds the unit, so that nothing can be said of what would stop it.
    """

    unit: Ref
    points: tuple[Ref, ...]
    fed: bool
    because: tuple[str, ...]


def power_path(found: Site, *, unit: Ref) -> PowerPath:
    """Single points of the power of one unit. What it can have from two sides is none."""
    rules = build(found).rules
    fact: Fact = ("P", str(unit))
    way = proof(rules, fact)
    alone = single_points(rules, {str(unit): fact}, [str(unit)])
    on_way = dict.fromkeys(e for rule in way for e in (rule.head[1], *sorted(rule.through)) if e in alone)
    refs = [ref for e in on_way if (ref := parse_ref(e)).kind in THINGS and ref != unit]
    return PowerPath(unit, tuple(refs), bool(way), tuple(dict.fromkeys(e for rule in way for e in rule.because)))


def feeds(found: Site) -> dict[str, PowerPath]:
    """The power path of every unit where a service that must stay comes into the property, by service."""
    out = {}
    for service in found.of_kind("service"):
        start = service.ref_of("from")
        if start is None or not service.stands or service.text("keep") != "yes" or service.text("source") == "none":
            continue
        unit = Ref("unit", start.parent_tag) if start.kind == "port" and start.parent_tag else start
        if unit.kind == "unit":
            out[str(service.ref)] = power_path(found, unit=unit)
    return out

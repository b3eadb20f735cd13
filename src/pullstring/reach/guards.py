"""Nothing is cut until it is known what it is not: who alone may touch a thing, and what counts as idle."""

from __future__ import annotations

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref

QUIET_V = 1.0  # ours, assumed: below this a pair is taken as without voltage


def guards_of(found: Site, ref: Ref) -> dict[str, str]:
    """Why a thing is protected: services or units with the company that alone may touch them."""
    guards: dict[str, str] = {}
    related = {ref}
    thing = found.get(ref)
    if thing and (cable := thing.ref_of("cable")):
        related.add(cable)
    related |= {e.ref for e in found.of_kind("end") if e.ref_of("cable") in related}
    for service in found.of_kind("service"):
        company = service.ref_of("protected_by")
        on = set(service.refs_of("carried_on")) | {r for n in ("arrives_at", "from") if (r := service.ref_of(n))}
        if company and related & on:
            guards[str(service.ref)] = company.tag
    for unit in (found.get(r) for r in related):
        if unit and unit.ref.kind == "unit" and (company := unit.ref_of("protected_by")):
            guards[str(unit.ref)] = company.tag
    return guards


def protected(found: Site) -> dict[str, str]:
    """Ends, cables and units that only a company may touch, with that company."""
    out: dict[str, str] = {}
    for thing in found.things.values():
        if thing.ref.kind in ("end", "cable", "unit") and (guards := guards_of(found, thing.ref)):
            out[str(thing.ref)] = ", ".join(sorted(set(guards.values())))
    return out


def is_idle(found: Site, ref: Ref) -> bool:
    """Silent is not idle: idle is only what was metered for volts DC and AC and found without."""
    thing = found.get(ref)
    subjects = {ref, *(r for r in [thing.ref_of("cable") if thing else None] if r)}
    subjects |= {e.ref for e in found.of_kind("end") if e.ref_of("cable") in subjects}
    quiet = {
        r.measured.quantity
        for r in found.readings
        if r.measured.subject in subjects and (r.measured.sign == "none" or (r.measured.value_si or 0) < QUIET_V)
    }
    loud = [
        r
        for r in found.readings
        if r.measured.subject in subjects
        and r.measured.quantity.startswith("volts")
        and r.measured.sign != "none"
        and (r.measured.value_si or 0) >= QUIET_V
    ]
    return {"volts DC", "volts AC"} <= quiet and not loud

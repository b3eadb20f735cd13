"""Nothing is cut until it is known what it is not: who alone may touch a thing, and what counts as idle."""

from __future__ import annotations

import collections

from pullstring.model.asbuilt import Reading, Site
from pullstring.model.conductors import pairs_of
from pullstring.model.entries import Measured
from pullstring.model.refs import Ref, tag_key

BOTH = frozenset({"volts DC", "volts AC"})
QUIET_V = 1.0  # ours, assumed: below this a pair is taken as without voltage


def guards_of(found: Site, ref: Ref) -> dict[str, str]:
    """Why a thing is protected: services or units with the company that alone may touch them."""
    guards: dict[str, str] = {}
    related = {ref}
    cable = _cable_of(found, ref)
    if cable:
        related.add(cable)
    related |= {e.ref for cable in tuple(related) for e in found.ends_by_cable.get(cable, ())}
    for service in found.of_kind("service"):
        company = service.ref_of("protected_by")
        on = set(service.refs_of("carried_on")) | {r for n in ("arrives_at", "from") if (r := service.ref_of(n))}
        pairs = {r for r in on if r.kind == "pair" and ref.kind != "pair" and _cable_of(found, r) in related}
        if company and (related & on or pairs):
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
    """Silent is not idle: idle is only what was metered for volts DC and AC and found without, on every reading."""
    return metered(found, ref) and all(_without(r.measured) for r in volts_of(found, ref))


def metered(found: Site, ref: Ref) -> bool:
    """Whether volts DC and AC were both read on it: on the end or cable as a whole, or on each of its pairs."""
    read: dict[Ref | None, set[str]] = collections.defaultdict(set)
    for reading in volts_of(found, ref):
        subject = reading.measured.subject
        read[subject if subject.kind == "pair" else None].add(reading.measured.quantity)
    cable = _cable_of(found, ref)
    pairs = [ref] if ref.kind == "pair" else []
    if not pairs and cable:
        pairs = [Ref("pair", f"{cable.tag}.{n}") for n in range(1, pairs_of(found, cable) + 1)]
    return read[None] >= BOTH or bool(pairs) and all(read[pair] >= BOTH for pair in pairs)


def volts_of(found: Site, ref: Ref) -> tuple[Reading, ...]:
    """All readings of volts on a thing: on its cable, both ends and every pair of it; of a pair not those of its sisters."""
    cable = _cable_of(found, ref)
    own = {ref, *([cable] if cable else [])}
    own |= {e.ref for c in tuple(own) for e in found.ends_by_cable.get(c, ())}
    tags = {tag_key(c.tag) for c in own if c.kind == "cable"} if ref.kind != "pair" else set()
    return tuple(
        r
        for r in found.readings
        if r.measured.quantity in BOTH and (r.measured.subject in own or _is_pair_of(r.measured.subject, tags))
    )


def _cable_of(found: Site, ref: Ref) -> Ref | None:
    if ref.kind == "cable":
        return ref
    if ref.kind == "pair" and ref.parent_tag:
        return Ref("cable", ref.parent_tag)
    thing = found.get(ref)
    return thing.ref_of("cable") if thing else None


def _is_pair_of(subject: Ref, cables: set[str]) -> bool:
    parent = subject.parent_tag if subject.kind == "pair" else None
    return parent is not None and tag_key(parent) in cables


def _without(reading: Measured) -> bool:
    """Without voltage whichever way the meter was held: a telephone pair often reads minus 48 V."""
    if reading.sign == "none":
        return True
    return reading.sign in ("=", "<") and abs(reading.value_si or 0) < QUIET_V

"""Nothing is cut until it is known what it is not: who alone may touch a thing, and what counts as idle.

Both follow the wire: what is asked of a row, jack or joint is asked of the cables on it, and what touches a conductor on the
block or in a joint counts as that conductor.
"""

from __future__ import annotations

import collections
import datetime as dt
import re
from collections.abc import Iterable, Mapping

from pullstring.model.asbuilt import Reading, Site, once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.damage import damages
from pullstring.model.entries import Measured
from pullstring.model.grades import grade
from pullstring.model.refs import Ref
from pullstring.model.when import FIRST, parse_when
from pullstring.model.wiring import nets

BOTH = frozenset({"volts DC", "volts AC"})
QUIET_V = 1.0  # ours, assumed: below this a pair is taken as without voltage
CHANGES = frozenset({"terminate", "take off", "join", "part", "cut", "mend", "plug in", "unplug"})
"""Acts after which an older reading of nothing proves nothing."""
PROVIDER = "provider"  # whom to call for an incoming line of which no company is noted
OWNER = "owner"  # whom to call for a unit that is not ours when nobody noted whose it is
MAINS = ("circuit", "switch", "socket")
HOLDERS = ("row", "block", "joint", "jack", "outlet")
_PART = re.compile(r"\b(first|one|only|single|some)\b|\bpairs?\s*\d", re.IGNORECASE)


def cable_of_ref(found: Site, ref: Ref) -> Ref | None:
    """The cable of an end or pair; a cable is its own."""
    if ref.kind == "cable":
        return ref
    if ref.kind == "pair" and ref.parent_tag:
        return Ref("cable", ref.parent_tag)
    thing = found.get(ref) if ref.kind == "end" else None
    return thing.ref_of("cable") if thing else None


def wires_on(found: Site, ref: Ref) -> tuple[Ref, ...]:
    """The ends, cables or pairs that a thing holds: those on a row, block, jack, outlet or joint; a wire is its own."""
    if ref.kind not in HOLDERS:
        return (ref,) if ref.kind in ("end", "cable", "pair") else ()
    if ref.kind == "joint":
        joint = found.get(ref)
        return tuple(r for r in (joint.refs_of("ends") if joint else ()) if r.kind in ("end", "pair"))
    held = [c.subject for r in ("ends_at", "plugged") for c in found.about(relation=r) if _holds(ref, c.object)]
    for claim in found.about(relation="joined"):
        for one, other in ((claim.subject, claim.object), (claim.object, claim.subject)):
            if _holds(ref, one) and other.kind in ("pair", "end"):
                held.append(other)
    return tuple(dict.fromkeys(r for r in held if r.kind in ("end", "pair")))


def _holds(holder: Ref, place: Ref) -> bool:
    if holder == place or holder.kind == "outlet" and outlet_of(place) == holder:
        return True
    return (
        holder.kind == "block"
        and place.kind == "row"
        and place.parent_tag is not None
        and Ref("block", place.parent_tag) == holder
    )


@once_a_site
def _touching(found: Site) -> Mapping[Ref, frozenset[Ref]]:
    """For each pair, row and jack what it touches on the block, at plates and in joints; devices part."""
    touched: dict[Ref, set[Ref]] = collections.defaultdict(set)
    for net in nets(found, through_devices=False):
        for member in net.members:
            touched[member] |= set(net.members)
    return {ref: frozenset(refs) for ref, refs in touched.items()}


@once_a_site
def _pairs_touching(found: Site) -> Mapping[Ref, tuple[Ref, ...]]:
    """Pairs that touch something, by cable."""
    by_cable: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for ref in _touching(found):
        if ref.kind == "pair" and (cable := cable_of_ref(found, ref)):
            by_cable[cable].append(ref)
    return {cable: tuple(pairs) for cable, pairs in by_cable.items()}


@once_a_site
def _highest_pair(found: Site) -> Mapping[Ref, int]:
    """The highest number among the pairs that were noted, by cable."""
    highest: dict[Ref, int] = {}
    for pair in found.of_kind("pair"):
        if cable := cable_of_ref(found, pair.ref):
            highest[cable] = max(highest.get(cable, 0), _number(pair.ref))
    return highest


def pairs_noted(found: Site, cable: Ref) -> int | None:
    """The largest number of pairs that anybody noted of a cable, its ends or its pairs; None when nobody counted."""
    thing = found.get(cable)
    counts = [thing.number("pairs") if thing else None]
    counts += [e.number("pairs") for e in found.ends_by_cable.get(cable, ())]
    known = [int(c) for c in counts if c is not None]
    if not known:
        return None
    return max(*known, _highest_pair(found).get(cable, 0))


def _number(pair: Ref) -> int:
    tail = pair.tag.rpartition(".")[2]
    return int(tail) if tail.isdecimal() else 0


def _related(found: Site, ref: Ref) -> set[Ref]:
    """A wire with its cable and ends, and all that touches it; of a pair only what touches that pair."""
    related: set[Ref] = {ref}
    for wire in wires_on(found, ref):
        related.add(wire)
        cable = cable_of_ref(found, wire)
        if cable is None:
            continue
        pairs = [wire] if wire.kind == "pair" else _pairs_touching(found).get(cable, ())
        touched = {r for p in pairs for r in _touching(found).get(p, ())}
        cables = {cable, *(c for r in touched if r.kind == "pair" and (c := cable_of_ref(found, r)))}
        related |= touched | cables
        related |= {e.ref for c in cables for e in found.ends_by_cable.get(c, ())}
    return related


def guards_of(found: Site, ref: Ref) -> dict[str, str]:
    """Why a thing is protected: services, units or incoming lines with the company that alone may touch them."""
    guards: dict[str, str] = {}
    related = _related(found, ref)
    for name, company, on in _protected(found):
        own = {r for r in on if ref.kind != "pair" and cable_of_ref(found, r) in related}
        if on & related or own:
            guards[name] = company
    for unit in _units(found, related):
        thing = found.get(unit)
        company_ref = thing.ref_of("protected_by") if thing else None
        if company_ref:
            guards[str(unit)] = company_ref.tag
    return {**_of_others(found, ref, related), **guards}


def _of_others(found: Site, ref: Ref, related: Iterable[Ref]) -> dict[str, str]:
    """What belongs to a company, and a unit whose login is not ours; nothing that is only plugged into it."""
    own = {
        str(r): c.object.tag for r in related for c in found.about(subject=r, relation="owned_by") if _company(c.object)
    }
    unit = Ref("unit", ref.parent_tag) if ref.kind == "port" and ref.parent_tag else ref
    thing = found.get(unit) if unit.kind == "unit" else None
    if thing and (
        owners := [c.object.tag for c in found.about(subject=unit, relation="owned_by") if _company(c.object)]
    ):
        own[str(unit)] = owners[0]
    elif thing and thing.text("login") == "not ours":
        own[str(unit)] = thing.text("owner") or OWNER
    return own


def _company(ref: Ref) -> bool:
    return ref.kind == "company"


@once_a_site
def _protected(found: Site) -> tuple[tuple[str, str, frozenset[Ref]], ...]:
    """Each protected service and incoming line with its company and what it is on.

    The hand of a provider of data ends where its service comes in: the house's own cables carry it on, and are the house's.
    A line is its company's as far as anything carries it.
    """
    out = []
    for service in found.of_kind("service"):
        company = service.ref_of("protected_by")
        if company:
            house = service.text("needs") == "data"
            on = set(service.refs_of("carried_on"))
            on |= {r for n in (("from",) if house else ("arrives_at", "from")) if (r := service.ref_of(n))}
            on |= set() if house else {c.subject for c in found.about(relation="carries", object=service.ref)}
            out.append((str(service.ref), company.tag, frozenset(on)))
    for line in found.of_kind("incoming_line"):
        cable, provider = line.ref_of("cable"), line.ref_of("provider")
        if cable and line.stands:
            out.append((str(line.ref), provider.tag if provider else PROVIDER, frozenset({cable})))
    return tuple(out)


def carried_away(found: Site, cut: Iterable[Ref]) -> tuple[str, ...]:
    """Services that are noted on the wires that are taken away, whether or not it is known where they arrive."""
    related = {r for ref in cut for r in (ref, *(_related(found, ref) if wires_on(found, ref) else ()))}
    out = []
    for service in found.of_kind("service"):
        on = set(service.refs_of("carried_on")) | {
            c.subject for c in found.about(relation="carries", object=service.ref)
        }
        if service.stands and on & related:
            out.append(str(service.ref))
    return tuple(out)


def unplaced(found: Site) -> tuple[str, ...]:
    """Services that must stay and of which nobody noted a wire or unit: they may be on anything."""
    return tuple(
        str(s.ref)
        for s in found.of_kind("service")
        if s.stands
        and s.text("keep") == "yes"
        and not any(s.ref_of(n) for n in ("arrives_at", "from"))
        and not s.refs_of("carried_on")
        and not found.about(relation="carries", object=s.ref)
    )


def _units(found: Site, related: Iterable[Ref]) -> set[Ref]:
    """Units among the related, and those in whose ports they are plugged or end."""
    units = set()
    for ref in related:
        if ref.kind == "unit":
            units.add(ref)
        elif ref.kind == "port" and ref.parent_tag:
            units.add(Ref("unit", ref.parent_tag))
        elif ref.kind == "end":
            ports = [c.object for r in ("plugged", "ends_at") for c in found.about(subject=ref, relation=r)]
            units |= {Ref("unit", p.parent_tag) for p in ports if p.kind == "port" and p.parent_tag}
    return units


def protected(found: Site) -> dict[str, str]:
    """Ends, cables and units that only a company may touch, with that company."""
    out: dict[str, str] = {}
    for thing in found.things.values():
        if thing.ref.kind in ("end", "cable", "unit") and (guards := guards_of(found, thing.ref)):
            out[str(thing.ref)] = ", ".join(sorted(set(guards.values())))
    return out


def is_open_question(found: Site, ref: Ref) -> bool:
    """Whether more may hang on a thing than anybody noted, so that it is never GO without asking.

    Mains always: nobody notes every lamp. A unit or port while anything is plugged in. All that holds wires, unless metered.
    """
    if ref.kind in MAINS:
        return True
    if ref.kind in ("unit", "port"):
        ports = [r for c in found.about(relation="plugged") for r in (c.subject, c.object) if r.kind == "port"]
        return any(p == ref or p.parent_tag and Ref("unit", p.parent_tag) == ref for p in ports)
    return ref.kind in (*HOLDERS, "end", "cable", "pair") and not is_idle(found, ref)


def is_idle(found: Site, ref: Ref) -> bool:
    """Silent is not idle: idle is only what was metered for volts DC and AC and found without, on every reading.

    Readings on what touches it count too; a reading of nothing counts only while it is fresh and nothing was changed since.
    """
    wires = wires_on(found, ref)
    return bool(wires) and all(_idle(found, wire) for wire in wires)


def _idle(found: Site, wire: Ref) -> bool:
    loud = any(not _without(r.measured) for r in volts_of(found, wire))
    return not loud and metered(found, wire)


def metered(found: Site, ref: Ref) -> bool:
    """Whether volts DC and AC were both read on it, not too long ago and with nothing changed since.

    On the end or cable as a whole, or on each of its pairs; at every end that is known when a conductor inside is open.
    """
    cable = cable_of_ref(found, ref)
    if cable is None:
        return False
    fresh = [r for r in _own_volts(found, ref) if not _without(r.measured) or _still_counts(found, cable, r)]
    read: dict[Ref, set[str]] = collections.defaultdict(set)
    for reading in fresh:
        subject = reading.measured.subject
        if subject.kind == "pair" or not _partial(reading.measured):
            read[subject].add(reading.measured.quantity)
    damage = damages(found).get(cable)
    if damage and damage.open:
        ends = found.ends_by_cable.get(cable, ())
        return len(ends) > 1 and all(read[e.ref] >= BOTH for e in ends)
    if any(quantities >= BOTH for subject, quantities in read.items() if subject.kind != "pair"):
        return True
    count = pairs_noted(found, cable)
    pairs = [ref] if ref.kind == "pair" else [Ref("pair", f"{cable.tag}.{n}") for n in range(1, (count or 0) + 1)]
    return bool(pairs) and all(read[pair] >= BOTH for pair in pairs)


def _partial(measured: Measured) -> bool:
    """Whether a reading on a whole end says that only some of its pairs were metered."""
    said = measured.evidence.conditions
    return bool(_PART.search(said)) and "all" not in said.casefold()


def _still_counts(found: Site, cable: Ref, reading: Reading) -> bool:
    """Whether a reading of nothing is fresh, with nothing changed since. Undated, it is taken as of the day it was entered."""
    when = reading.at.earliest if reading.at.earliest != FIRST else reading.at.latest
    age = grade("metered").stale_after_days
    old = age is not None and parse_when(found.moment).latest - when > dt.timedelta(days=age)
    own = {cable, *(e.ref for e in found.ends_by_cable.get(cable, ()))}
    since = any(d.act in CHANGES and d.at.latest > when and _about(found, d.subject, d.object, own) for d in found.done)
    return not old and not since


def _about(found: Site, subject: Ref, other: Ref | None, own: set[Ref]) -> bool:
    named = [r for r in (subject, other) if r is not None]
    return any(r in own or r.kind == "pair" and cable_of_ref(found, r) in own for r in named)


@once_a_site
def _volts_by_subject(found: Site) -> Mapping[Ref, tuple[Reading, ...]]:
    by_subject: dict[Ref, list[Reading]] = collections.defaultdict(list)
    for reading in found.readings:
        if reading.measured.quantity in BOTH:
            by_subject[reading.measured.subject].append(reading)
    return {ref: tuple(readings) for ref, readings in by_subject.items()}


@once_a_site
def _pairs_read(found: Site) -> Mapping[Ref, tuple[Ref, ...]]:
    """Pairs on which volts were read, by cable."""
    by_cable: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for ref in _volts_by_subject(found):
        if ref.kind == "pair" and ref.parent_tag:
            by_cable[Ref("cable", ref.parent_tag)].append(ref)
    return {cable: tuple(pairs) for cable, pairs in by_cable.items()}


def _own_volts(found: Site, ref: Ref) -> tuple[Reading, ...]:
    """Readings of volts on a wire itself: its cable, both ends and every pair of it; of a pair not those of its sisters."""
    cable = cable_of_ref(found, ref)
    own = [ref, *([cable] if cable else [])]
    own += [e.ref for e in (found.ends_by_cable.get(cable, ()) if cable else ())]
    if ref.kind != "pair" and cable:
        own += _pairs_read(found).get(cable, ())
    return tuple(r for subject in dict.fromkeys(own) for r in _volts_by_subject(found).get(subject, ()))


def volts_of(found: Site, ref: Ref) -> tuple[Reading, ...]:
    """All readings of volts on a thing and on what touches it."""
    own = _own_volts(found, ref)
    touched = _related(found, ref) - {ref}
    cable = cable_of_ref(found, ref)
    kinds = ("row", "jack", "port", "pair", "end", "cable")
    others = [r for r in touched if r.kind in kinds and cable_of_ref(found, r) != cable]
    others += [outlet_of(r) for r in touched if r.kind == "jack"]
    others += [c.object for e in touched | {ref} if e.kind == "end" for c in found.about(subject=e, relation="ends_at")]
    more = [r for subject in dict.fromkeys(others) for r in _volts_by_subject(found).get(subject, ())]
    return (*own, *more)


def _without(reading: Measured) -> bool:
    """Without voltage whichever way the meter was held: a telephone pair often reads minus 48 V."""
    if reading.sign == "none":
        return True
    return reading.sign in ("=", "<") and abs(reading.value_si or 0) < QUIET_V

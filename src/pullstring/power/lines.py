"""Lines of others on the site's copper: where volts were read, or a telephone, bell or alarm service is carried.

Power over data wires stands between two pairs, never between the two wires of one. So volts read on a pair are never a
port's own; volts read at an end or on a cable are a port's own only if they are what it gives and were read since it was
plugged there.
"""

from __future__ import annotations

import collections
import dataclasses
import datetime as dt
from collections.abc import Iterator

from pullstring.model.asbuilt import Reading, Site, once_a_site
from pullstring.model.conductors import pairs_of
from pullstring.model.refs import Ref

LEAST_V = 1.0
"""Volts below which a reading is taken as pick-up or as nothing. Ours, assumed."""
OWN_V = {"24 V always-on": (19.0, 29.0), "802.3af": (44.0, 57.0), "802.3at": (50.0, 57.0), "802.3bt": (50.0, 57.0)}
"""Volts that each mode gives: IEEE 802.3 clauses 33 and 145 (from memory); 24 V within a fifth (ours, assumed)."""
_LINE_NEEDS = ("line", "power")


@dataclasses.dataclass(frozen=True)
class Line:
    """One line: the pair, end or service it is known by, the pairs, rows or jacks it lies on, and the entries that say so."""

    ref: Ref
    on: tuple[Ref, ...]
    because: tuple[str, ...]


def foreign_lines(site: Site, *, gives: str, since: dt.datetime | None) -> Iterator[Line]:
    """Lines that a port does not account for.

    Parameters
    ----------
    gives : str
        What the port gives, in the words of the table.
    since : datetime or None
        When it was plugged where it is; None when it is not.
    """
    low, high = OWN_V.get(gives, (0.0, 0.0))
    for reading, on in _volts(site):
        volts = reading.measured.value_si or 0.0
        own = reading.measured.subject.kind != "pair" and reading.measured.quantity == "volts DC"
        if own and low <= abs(volts) <= high and since is not None and reading.at.latest >= since:
            continue
        yield Line(reading.measured.subject, on, (reading.entry,))
    yield from _services(site)


@once_a_site
def _volts(site: Site) -> tuple[tuple[Reading, tuple[Ref, ...]], ...]:
    """Readings of volts that no later reading of the same found gone, with the pairs, rows and jacks they tell of."""
    quiet: dict[tuple[Ref, str], dt.datetime] = {}
    loud: list[Reading] = []
    for reading in site.readings:
        measured = reading.measured
        if measured.quantity not in ("volts DC", "volts AC"):
            continue
        if abs(measured.value_si or 0.0) < LEAST_V:
            key = measured.subject, measured.quantity
            quiet[key] = max(quiet.get(key, reading.at.latest), reading.at.latest)
        else:
            loud.append(reading)
    return tuple(
        (r, _wires(site, r.measured.subject))
        for r in loud
        if quiet.get((r.measured.subject, r.measured.quantity), r.at.latest) <= r.at.latest
    )


@once_a_site
def _services(site: Site) -> tuple[Line, ...]:
    said: dict[Ref, list[tuple[Ref, tuple[str, ...]]]] = collections.defaultdict(list)
    for claim in site.about(relation="carries"):
        if claim.object.kind == "service" and not claim.contradicted:
            said[claim.object].append((claim.subject, claim.entries))
    for noted in site.of_kind("service"):
        said[noted.ref] += [(ref, noted.entries) for ref in noted.refs_of("carried_on")]
    idle = {c.subject for c in site.about(relation="carries") if c.object == Ref("use", "idle") and not c.contradicted}
    split = {
        Ref("cable", c.subject.parent_tag or "?") for c in site.about(relation="carries") if c.subject.kind == "pair"
    }
    found = []
    for ref, carriers in said.items():
        service = site.get(ref)
        if service is None or not (service.text("needs") in _LINE_NEEDS or service.text("source") == "exchange"):
            continue
        for subject, entries in carriers:
            thing = site.get(subject)
            cable = thing.ref_of("cable") if thing and subject.kind == "end" else subject
            if subject.kind == "pair" or cable not in split:
                on = tuple(r for r in _wires(site, subject) if r not in idle)
                found.append(Line(ref, on, tuple(dict.fromkeys((*entries, *service.entries)))))
    for line in site.of_kind("incoming_line"):
        cable = line.ref_of("cable")
        if cable and line.text("medium") == "copper":
            found.append(Line(line.ref, _wires(site, cable), line.entries))
    return tuple(found)


def _wires(site: Site, subject: Ref) -> tuple[Ref, ...]:
    """The pairs that something noted of a pair, an end or a cable tells of; a row or a jack stands for itself."""
    thing = site.get(subject)
    cable = subject if subject.kind == "cable" else thing.ref_of("cable") if thing and subject.kind == "end" else None
    if cable is None:
        return (subject,)
    return tuple(Ref("pair", f"{cable.tag}.{n}") for n in range(1, max(pairs_of(site, cable), 1) + 1))

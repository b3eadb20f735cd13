"""Which ends and outlets may carry ohms, a tone or a resistor now, and what speaks against it.

House rules
-----------
1. Volts first: DC and AC both read and both none, with nothing changed since. An outlet of which no cable is known is metered
   at the outlet itself.
2. What looks like an alarm loop waits until a company that may touch it was asked and said yes; what only a company may touch
   is never ours.
3. Every reason is named, not only the first.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import enum
import re
from collections.abc import Iterable, Mapping, Sequence

from pullstring.copper.judged import judged_runs
from pullstring.copper.read import readings_of_run
from pullstring.model.asbuilt import Reading, Site, Thing, once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.grades import grade
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when
from pullstring.reach.guards import BOTH, QUIET_V, cable_of_ref, guards_of, metered, volts_of, wires_on

ALARM_JACKETS = ("alarm 4-core", "alarm 6-core")
_ALARM = re.compile(r"\b(alarm|fire|smoke|panic|intruder|burglar|siren)\b", re.IGNORECASE)
_WORD = re.compile(r"[\w.]+")


class Why(enum.StrEnum):
    """What speaks against touching a thing with ohms, a tone or a resistor."""

    VOLTS_NOT_READ = "volts not read"
    LIVE = "live"
    PROTECTED = "protected"
    ALARM = "alarm"
    COMPANY_NOT_ASKED = "company not asked"
    MAINS_IN_BOX = "mains in box"


@dataclasses.dataclass(frozen=True)
class Reason:
    """One reason, the company that may lift it (empty where none is known), and the entries it stands on."""

    why: Why
    company: str = ""
    because: tuple[str, ...] = ()

    def __str__(self) -> str:
        return str(self.why)


def may_touch(site: Site, ref: Ref) -> list[Reason]:
    """Why no ohms, tone or resistor may be put on an end, cable, pair, outlet, jack or row now; empty when it may.

    Parameters
    ----------
    site : Site
        The record as it stands.
    ref : Ref
        What is to be touched.

    Returns
    -------
    list of Reason
        In the order of the danger; each once, a company at most once for each reason.
    """
    wires = wires_on(site, ref)
    things = [ref, *wires]
    found = [*_mains(site, ref), *_live(site, things)]
    guards = {c for thing in things for c in guards_of(site, thing).values()}
    found += [Reason(Why.PROTECTED, company, _of_company(site, company)) for company in sorted(guards)]
    found += _alarm(site, things, guards)
    if not _read(site, ref, wires) and not any(r.why is Why.LIVE for r in found):
        found.append(Reason(Why.VOLTS_NOT_READ))
    return found


def only_volts(reasons: Sequence[Reason]) -> bool:
    """Whether nothing but volts is missing: metering it on the spot, DC and AC, settles it."""
    return bool(reasons) and all(r.why is Why.VOLTS_NOT_READ for r in reasons)


def _mains(site: Site, ref: Ref) -> list[Reason]:
    outlet = site.get(outlet_of(ref)) if ref.kind in ("outlet", "jack") else None
    if outlet is None or outlet.text("shares_box_with_mains") != "yes":
        return []
    return [Reason(Why.MAINS_IN_BOX, "", tuple(h.entry for h in outlet.fields["shares_box_with_mains"].heads))]


def _live(site: Site, things: Iterable[Ref]) -> list[Reason]:
    """Any reading of volts on it or on what touches it, whenever that was."""
    loud = [r.entry for ref in things for r in _volts(site, ref) if not _quiet(r)]
    return [Reason(Why.LIVE, "", tuple(dict.fromkeys(loud)))] if loud else []


def _volts(site: Site, ref: Ref) -> tuple[Reading, ...]:
    """Volts on a thing; of an outlet those on its jacks too."""
    jacks = [r for r in site.readings if r.measured.quantity in BOTH and _at_outlet(r, ref)]
    return (*volts_of(site, ref), *jacks)


def _at_outlet(reading: Reading, ref: Ref) -> bool:
    return (
        ref.kind == "outlet" and reading.measured.subject.kind == "jack" and outlet_of(reading.measured.subject) == ref
    )


def _quiet(reading: Reading) -> bool:
    said = reading.measured
    return said.sign == "none" or said.sign in ("=", "<") and abs(said.value_si or 0) < QUIET_V


def _read(site: Site, ref: Ref, wires: Sequence[Ref]) -> bool:
    """Whether volts DC and AC were read: on every wire of it, or at the outlet itself."""
    if wires and all(metered(site, wire) for wire in wires):
        return True
    places = {outlet_of(ref), *(w for w in wires if w.kind == "end")} if ref.kind in ("outlet", "jack") else set()
    if ref.kind == "end" and cable_of_ref(site, ref) is None:
        places = {ref}
    read = {
        r.measured.quantity
        for r in site.readings
        if r.measured.quantity in BOTH and outlet_of(r.measured.subject) in places and _still_counts(site, r, places)
    }
    return read >= BOTH


def _still_counts(site: Site, reading: Reading, places: Iterable[Ref]) -> bool:
    """Whether a reading of nothing is fresh, and nobody worked there since."""
    age = grade("metered").stale_after_days
    now = parse_when(site.moment).latest
    if age is not None and now - reading.at.latest > dt.timedelta(days=age):
        return False
    held = set(places)
    done = [d for d in site.done if d.at.latest > reading.at.latest]
    return not any(outlet_of(r) in held for d in done for r in (d.subject, d.object) if r is not None)


def _alarm(site: Site, things: Sequence[Ref], guards: Iterable[str]) -> list[Reason]:
    """What looks like an alarm loop, unless its company was asked; and companies that are noted for it and were not."""
    cables = {c for ref in things if (c := cable_of_ref(site, ref))}
    ends = [e for c in cables for e in site.ends_by_cable.get(c, ())]
    tags = {t.tag.casefold() for t in (*things, *cables, *(e.ref for e in ends))}
    named = [c for c in site.of_kind("company") if tags & _tags_in(c.text("may_touch"), c.text("may_decide"))]
    asked = [c.ref.tag for c in named if c.text("asked") == "yes"]
    found = [
        Reason(Why.COMPANY_NOT_ASKED, c.ref.tag, c.entries)
        for c in named
        if c.text("asked") != "yes" and c.ref.tag not in guards
    ]
    suspected = _suspected(site)
    because = [e for ref in (*things, *cables, *(end.ref for end in ends)) for e in suspected.get(ref, ())]
    if because and not asked:
        company = named[0].ref.tag if named else ""
        found.insert(0, Reason(Why.ALARM, company, tuple(dict.fromkeys(because))))
    return found


def _tags_in(*texts: str) -> set[str]:
    return {word.casefold().rstrip(".") for text in texts for word in _WORD.findall(text)}


def _of_company(site: Site, company: str) -> tuple[str, ...]:
    thing = site.get(Ref("company", company))
    return thing.entries if thing else ()


@once_a_site
def _suspected(site: Site) -> Mapping[Ref, tuple[str, ...]]:
    """Ends and cables that may be an alarm loop, with the entries: their jacket, an old label, a resistor nobody placed."""
    found: dict[Ref, tuple[str, ...]] = {}
    for thing in (*site.of_kind("cable"), *site.of_kind("end"), *site.of_kind("outlet")):
        entries = _looks_like(thing)
        if entries:
            found[thing.ref] = entries
    for judged in judged_runs(site):
        entries = tuple(dict.fromkeys(s.taken.reading.entry for s in readings_of_run(site, judged.run) if s.stop))
        for ref in (judged.run.start, *judged.run.cables) if entries else ():
            found[ref] = (*found.get(ref, ()), *entries)
    return found


def _looks_like(thing: Thing) -> tuple[str, ...]:
    by_jacket = thing.fields["jacket"].heads if thing.text("jacket") in ALARM_JACKETS else ()
    by_label = thing.fields["label"].heads if _ALARM.search(thing.text("label")) else ()
    return tuple(dict.fromkeys(h.entry for h in (*by_jacket, *by_label)))

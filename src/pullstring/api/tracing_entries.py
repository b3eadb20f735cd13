"""Single entries of the record as facts that pages put in words: what was read, said, noted or done, where and when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from pullstring.model.asbuilt import once_a_site

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site

Facts = dict[str, Any]
TELLING = ("label", "condition", "sheaths", "mark_m", "jacket", "pairs", "state", "found", "blocked_by")
"""Fields of a note that say most of where a wire goes, best first; of one note the best is told."""


@once_a_site
def said_by_entry(site: Site) -> Mapping[str, Facts]:
    """By entry what it says; an entry that made only its thing says what thing that is."""
    found: dict[str, Facts] = {}
    for thing in site.things.values():
        if thing.made:
            found[thing.made.entry] = _facts("note", thing.made.entry, thing.ref, "", "", thing.made)
        for name in sorted(thing.fields, key=_telling, reverse=True):
            for head in thing.fields[name].heads:
                found[head.entry] = _facts("note", head.entry, thing.ref, name, head.value, head)
    for claim in site.claims:
        for saying in claim.sayings:
            said = _facts("claim", saying.entry, claim.subject, claim.relation, claim.object, saying)
            found[saying.entry] = {**said, "holds": saying.holds}
    for reading in site.readings:
        read = reading.measured
        found[reading.entry] = _facts("reading", reading.entry, read.subject, read.quantity, read.written, read)
        found[reading.entry]["at"] = reading.at.text
    for done in site.done:
        found[done.entry] = {
            **_blank("act", done.entry),
            "subject": str(done.subject),
            "what": done.act,
            "value": str(done.object or ""),
            "at": done.at.text,
        }
    return found


def said_by(site: Site, entries: Iterable[str]) -> list[Facts]:
    """What each entry says, those that say most of the same thing once."""
    known = said_by_entry(site)
    return [known.get(entry, _blank("note", entry)) for entry in dict.fromkeys(entries)]


def _telling(field: str) -> int:
    return TELLING.index(field) if field in TELLING else len(TELLING)


def _blank(kind: str, entry: str) -> Facts:
    return {
        "entry": entry,
        "kind": kind,
        "subject": "",
        "what": "",
        "value": "",
        "holds": True,
        "at": "",
        "grade": "",
        "method": "",
        "conditions": "",
        "instrument": "",
    }


def _facts(kind: str, entry: str, subject: object, what: str, value: object, said: Any) -> Facts:
    evidence = said.evidence
    return {
        **_blank(kind, entry),
        "subject": str(subject),
        "what": what,
        "value": "" if value is None else str(value),
        "at": said.at.text if hasattr(said, "at") else "",
        "grade": evidence.grade,
        "method": evidence.method,
        "conditions": evidence.conditions,
        "instrument": evidence.instrument,
    }

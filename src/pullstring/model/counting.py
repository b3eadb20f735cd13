"""Which entries count for a question, and which things their names mean: before anything is folded into a site."""

from __future__ import annotations

import datetime as dt

from pullstring.model import acts
from pullstring.model.entries import Claimed, Did, Entry, Measured, Noted, StruckOut
from pullstring.model.refs import PARTS, BadName, Ref
from pullstring.model.when import BadDate, parse_when


def known(ordered: list[Entry], known_by: str | None) -> list[Entry]:
    """Entries known by a date, or up to an entry; all without one."""
    if known_by is None:
        return ordered
    last = next((e.order for e in ordered if e.id == known_by), None)
    if last is not None:
        return [e for e in ordered if e.order <= last]
    moment = parse_when(known_by).latest
    return [e for e in ordered if (clock := _clock(e)) is not None and clock <= moment]


def _clock(entry: Entry) -> dt.datetime | None:
    """What the writer's clock said; None when it cannot be read, and then nobody knows by when it was known."""
    try:
        return parse_when(entry.wrote).latest
    except BadDate:
        return None


def struck(ordered: list[Entry]) -> set[str]:
    """Ids of entries that a standing StruckOut names; striking out a StruckOut restores what it struck."""
    struck: set[str] = set()
    for entry in reversed(ordered):
        if isinstance(entry.body, StruckOut) and entry.id not in struck:
            struck.add(entry.body.entry)
    return struck


def was_so(entry: Entry, as_of: str | None) -> bool:
    """True when the entry surely was so by then; that something never was so holds for every date."""
    return as_of is None or isinstance(entry.body, StruckOut) or entry.at.latest <= parse_when(as_of).latest


def readable(entry: Entry) -> bool:
    """False for an act of another program that lacks what its effect needs: kept in the record, without effect here."""
    body = entry.body
    if not isinstance(body, Did) or body.act not in acts.ACTS:
        return True
    try:
        if body.act in ("re-tag", "split"):
            Ref(body.subject.kind, str(body.values["to"]))
        if body.act == "split":
            str(body.values["entries"])
        if body.act in ("exchange tags", "swap") and (body.object is None or body.object == body.subject):
            return False
        if body.act == "exchange tags" and body.object is not None and body.object.kind != body.subject.kind:
            return False
        if body.act == "exchange tags" and body.values.get("from"):
            parse_when(str(body.values["from"]))
            Ref(body.subject.kind, str(body.object and body.object.tag))
        for effect in acts.ACTS[body.act].effects:
            effect.value.format_map({**body.values, "object": body.object})
    except (KeyError, BadName, BadDate):
        return False
    return True


def aliases(kept: list[Entry]) -> dict[Ref, Ref]:
    """Things by the other names they were given."""
    names: dict[Ref, Ref] = {}
    for entry in kept:
        if isinstance(entry.body, Claimed) and entry.body.relation == "alias_of":
            if entry.body.holds and entry.body.subject != entry.body.object:
                names[entry.body.subject] = entry.body.object
            else:
                names.pop(entry.body.subject, None)
    return names


def splits(kept: list[Entry]) -> dict[str, Ref]:
    """Entries that were found to speak of another thing, by id."""
    moved: dict[str, Ref] = {}
    for entry in kept:
        if isinstance(entry.body, Did) and entry.body.act == "split":
            target = Ref(entry.body.subject.kind, str(entry.body.values["to"]))
            moved.update(dict.fromkeys(str(entry.body.values["entries"]).split(), target))
        elif isinstance(entry.body, Did) and entry.body.act == "exchange tags" and entry.body.values.get("from"):
            moved.update(_under_wrong_tags(kept, entry, entry.body))
    return moved


def _under_wrong_tags(kept: list[Entry], act: Entry, body: Did) -> dict[str, Ref]:
    """Entries made since a day under tags that were on each other's place, with the thing they really speak of."""
    since = parse_when(str(body.values["from"])).earliest
    assert body.object is not None
    other = {body.subject: body.object, body.object: body.subject}
    moved: dict[str, Ref] = {}
    for e in kept:
        if e.order < act.order and e.at.earliest >= since and isinstance(e.body, Noted | Claimed | Measured | Did):
            real = _real(e.body.subject, other)
            if real != e.body.subject and e.id != act.id:
                moved[e.id] = real
    return moved


def _real(ref: Ref, other: dict[Ref, Ref]) -> Ref:
    """The thing that was meant: of a pair, port or row that of the cable, unit or block that was meant."""
    if ref in other:
        return other[ref]
    head = ref.parent_tag
    holder = Ref(PARTS[ref.kind], head) if head else None
    return Ref(ref.kind, other[holder].tag + ref.tag[len(head) :]) if head and holder in other else ref

"""What changed lately: the entries since the last visit began, or of the last thirty days where that is longer, gathered by act."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.entries import Body, Entry
    from pullstring.model.refs import Ref

LATELY_DAYS = 30
OF_WORK = (
    *("unit", "cable", "end", "outlet", "joint", "circuit", "socket", "switch", "service", "temporary", "hazard"),
    *("block", "rack", "position", "pathway", "incoming_line", "network", "room", "company"),
)
"""Kinds whose new things are told; what is only planned, counted or paid for is not what changed in the house."""


MOVED = ("take out", "put in", "swap", "cut", "turn off", "disconnect power", "set mode", "move")
"""Acts that are told first."""


def what_changed(path: Path, request: Request, site: Site) -> dict[str, Any]:
    """Since when, why since then, and what was done, made, noted and read since, each with its things.

    Groups come as `{"did": act or sort of entry, "as": detail, "things": [...]}`, acts first, readings last. A record that
    was begun since then is told as that: all its things would be new.
    """
    from pullstring.model.entries import Decided, Did, StruckOut

    since, visit = _since(site)
    groups: dict[tuple[int, str, str], dict[str, None]] = {}
    entries = [e for e in _entries(path, request) if e.at.earliest.date().isoformat() <= site.moment[:10]]
    begun = entries[0].at.text[:10] if entries and _day(entries[0]) >= since else ""
    for entry in entries:
        if _day(entry) < since or begun and not isinstance(entry.body, Did | Decided | StruckOut):
            continue
        for key, ref in _told(entry.body, site):
            groups.setdefault(key, {}).setdefault(ref)
    rows = [{"did": did, "as": word, "things": list(refs)} for (_, did, word), refs in sorted(groups.items())]
    return {"since": since, "visit": visit, "begun": begun, "entries": len(entries), "groups": rows}


def _day(entry: Entry) -> str:
    return entry.at.latest.date().isoformat()


def _since(site: Site) -> tuple[str, str]:
    """The day from which changes count, and the visit that began then, if that is why."""
    from pullstring.model.when import parse_when

    now = dt.date.fromisoformat(site.moment[:10])
    begun = []
    for visit in site.of_kind("visit"):
        if arrives := visit.text("arrives"):
            day = parse_when(arrives).earliest.date()
            if day < now:
                begun.append((day, visit.ref.tag))
    lately = now - dt.timedelta(days=LATELY_DAYS)
    last = max(begun, default=None)
    if last is not None and last[0] <= lately:
        return last[0].isoformat(), last[1]
    return lately.isoformat(), ""


def _entries(path: Path, request: Request) -> list[Entry]:
    """Entries that count for the question, in the order of replay."""
    from pullstring.log.store import open_store
    from pullstring.model.counting import known, struck, was_so

    with open_store(path, read_only=True) as store:
        kept = known(store.entries(), request.known_by)
    gone = struck(kept)
    return [e for e in kept if e.id not in gone and was_so(e, request.as_of)]


def _told(body: Body, site: Site) -> list[tuple[tuple[int, str, str], str]]:
    """Under which head an entry is told, and of which thing."""
    from pullstring.model.entries import Claimed, Decided, Did, Measured, Noted, StruckOut
    from pullstring.papers.sentences_book import NEVER

    if isinstance(body, Decided):
        return [((3, "decided", "accepted" if body.accepted else "refused"), body.role)]
    if isinstance(body, StruckOut):
        return [((4, "struck out", ""), "")]
    if body.subject.kind in NEVER:
        return []
    name = str(_now(body.subject, site))
    if isinstance(body, Did):
        return [((0 if body.act in MOVED else 1, body.act, ""), name)]
    if isinstance(body, Claimed):
        return [((6, "claimed", body.relation if body.holds else f"not {body.relation}"), name)]
    if isinstance(body, Measured):
        return [((7, "read", body.quantity), name)]
    assert isinstance(body, Noted)
    if body.subject.kind not in OF_WORK:
        return []
    state = str(body.fields.get("state") or "")
    if body.new:
        return [((2, "new", body.subject.kind) if state in ("", "there") else (2, f"new, {state}", ""), name)]
    return [((2, "now", state), name)] if state else [((5, "noted", ""), name)] if _fields(body.fields) else []


def _fields(fields: Mapping[str, Any]) -> bool:
    return any(name != "note" for name in fields)


def _now(ref: Ref, site: Site) -> Ref:
    return site.other_names.get(ref, ref)

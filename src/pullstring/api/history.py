"""Who said what and when: the entries of a record in the order of replay, all of them or those about one thing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.entries import Entry

ON_A_PAGE = 200  # ours: how many entries one page tells, the latest first


def history(path: Path, request: Request, *, about: str | None = None, before: str | None = None) -> Answer:
    """The latest entries first.

    Parameters
    ----------
    about : str or None
        A tag; only entries that speak of this thing.
    before : str or None
        An entry's id: go on with what was entered before it.
    """
    from pullstring.log.store import open_store
    from pullstring.model.columns import kinds
    from pullstring.model.counting import known, was_so
    from pullstring.model.replay import replay

    with open_store(path, read_only=True) as store:
        every, gone = store.entries(), store.markers()
        site = replay(every, today=request.today, as_of=request.as_of, known_by=request.known_by)
    entries = [e for e in known(every, request.known_by) if was_so(e, request.as_of)]
    struck = _struck(entries)
    shown = list(reversed(entries))
    thing = ""
    if about:
        ref = asked_for(site, [about], list(kinds()))[0]
        thing = str(ref)
        names = {ref, *(old for old, new in site.other_names.items() if new == ref)}
        own = set(site.things[ref].entries)
        shown = [e for e in shown if e.id in own or _speaks_of(e, names)]
    days = sorted({e.at.text[:10] for e in every if e.at.text[:4].isdigit() and len(e.at.text) >= 10})
    if before:
        place = next((i for i, e in enumerate(shown) if e.id == before), None)
        if place is None:
            raise BadRequest([f"there is no entry {before!r} here; begin with the latest"])
        shown = shown[place + 1 :]
    said = {
        "thing": thing,
        "entries": [_told(e, struck) for e in shown[:ON_A_PAGE]],
        "more_before": shown[ON_A_PAGE - 1].id if len(shown) > ON_A_PAGE else None,
        "count": len(entries),
        "redacted": len(gone),
        "days": days,
    }
    return answered("history", site, request, said)


def _speaks_of(entry: Entry, names: set[Any]) -> bool:
    return any(getattr(entry.body, part, None) in names for part in ("subject", "object"))


def _struck(entries: list[Entry]) -> dict[str, str]:
    """Struck-out entries with the entry that strikes each."""
    from pullstring.model.entries import StruckOut

    found: dict[str, str] = {}
    for entry in reversed(entries):
        if isinstance(entry.body, StruckOut) and entry.id not in found:
            found[entry.body.entry] = entry.id
    return found


def _told(entry: Entry, struck: dict[str, str]) -> dict[str, Any]:
    """One entry as plain values; nothing of a secret but that it is sealed."""
    import json

    from pullstring.model.entries import to_json

    raw = json.loads(to_json(entry))
    body = {name: value for name, value in raw["body"].items() if name not in ("over", "under", "new")}
    return {
        "id": entry.id,
        "kind": raw["kind"],
        "at": entry.at.text,
        "wrote": entry.wrote,
        "author": entry.author,
        "device": entry.device,
        "body": body,
        "struck_by": struck.get(entry.id),
    }

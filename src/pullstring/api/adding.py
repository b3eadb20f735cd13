"""The verb `add`: one entry from the hand."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from pullstring.api.request import BadRequest, answered
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.entries import Body


def add(
    path: Path, request: Request, *, table: str, cells: Mapping[str, str], author: str, device: str, wrote: str
) -> Answer:
    """One entry, written like a row of a table; a note about the past goes under what came later."""
    from pullstring.log.store import open_store
    from pullstring.model.entries import Noted
    from pullstring.model.replay import replay
    from pullstring.model.tables import RawTable, known_things, understand
    from pullstring.model.towrite import note
    from pullstring.model.when import parse_when

    row = RawTable("this entry", table, tuple(cells), ((0, tuple(cells.values())),))
    with open_store(path, device=device) as store:
        site = replay(store.entries(), today=request.today)
        understood = understand([row], known=known_things(site), today=request.today)
        if understood.faults:
            raise BadRequest([str(f) for f in understood.faults])
        at = parse_when(cells.get("at") or request.today)
        bodies: list[Body] = [
            note(site, s.body, at, past="at" in cells) if isinstance(s.body, Noted) else s.body
            for s in understood.statements
        ]
        written = store.append(bodies, at=at, wrote=wrote, author=author, device=device)
        site = replay(store.entries(), today=request.today)
    return answered(
        "add",
        site,
        request,
        {"entries": [e.id for e in written]},
        because=tuple(e.id for e in written),
        assumed=tuple(a for a in understood.assumed if "grade" in a),
    )


def strike(
    path: Path, request: Request, *, entry: str, why: str, redact: bool, author: str, device: str, wrote: str
) -> Answer:
    """An earlier entry never was so; with `redact` its content is destroyed too."""
    from pullstring.log.store import open_store
    from pullstring.model.entries import StruckOut
    from pullstring.model.replay import replay
    from pullstring.model.when import parse_when

    with open_store(path, device=device) as store:
        ids = [row[0] for row in store.rows("SELECT id FROM entries")]
        found = [name for name in ids if name == entry] or [
            name for name in ids if len(entry) >= 6 and name.startswith(entry)
        ]
        if len(found) != 1:
            says = "there is no entry" if not found else "more than one entry begins with"
            raise BadRequest([f"{says} {entry!r}; site --why THING shows the ids"])
        if not why.strip():
            raise BadRequest(["say why it never was so; without that nobody can trust the striking out"])
        at = parse_when(request.today)
        if redact:
            written = store.redact(found[0], why=why, at=at, wrote=wrote, author=author)
        else:
            [written] = store.append([StruckOut(found[0], why)], at=at, wrote=wrote, author=author)
        site = replay(store.entries(), today=request.today)
    return answered("strike", site, request, {"entry": found[0], "by": written.id, "redacted": redact})

"""The verbs of the hand: `add` enters one row, `strike` says that an earlier entry never was so."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from pullstring.api.request import BadRequest, answered
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.entries import Body, Did, Entry


def add(
    path: Path, request: Request, *, table: str, cells: Mapping[str, str], author: str, device: str, wrote: str
) -> Answer:
    """One entry, written like a row of a table; a note about the past goes under what came later."""
    from pullstring.log.store import open_store
    from pullstring.model.entries import Did, Noted
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
        bodies: list[Body] = []
        for body in (s.body for s in understood.statements):
            if isinstance(body, Noted):
                body = note(site, body, at, past="at" in cells)
            elif isinstance(body, Did):
                body = _checked(site, body)
            bodies.append(body)
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


def _checked(site: Site, body: Did) -> Did:
    """An act as it may be entered: a tag is never used twice, a value is one of its column, entries are named in full."""
    from pullstring.model.acts import ACTS
    from pullstring.model.columns import did_you_mean, kinds
    from pullstring.model.refs import Ref

    values, faults = dict(body.values), []
    if body.act in ("re-tag", "split"):
        new = Ref(body.subject.kind, str(values["to"]))
        if new in site.things and new != body.subject:
            faults.append(f"there is {new} already, and no tag is used twice; take another, or 'exchange tags'")
    if body.act == "split":
        about = site.things[body.subject].entries if body.subject in site.things else ()
        named = [_entries_named(about, word) for word in str(values["entries"]).split()]
        for word, found in zip(str(values["entries"]).split(), named, strict=True):
            if len(found) != 1:
                faults.append(f"no one entry about {body.subject} is {word!r}; site --why {body.subject} shows the ids")
        values["entries"] = " ".join(name for found in named for name in found)
    for effect in ACTS[body.act].effects:
        column = kinds()[body.subject.kind].column(effect.sets) if body.subject.kind in kinds() else None
        for name in ("to", "from"):
            value = str(values.get(name, ""))
            if effect.value == "{to}" and value and column and column.type == "choice" and value not in column.options:
                close = did_you_mean(value, column.options)
                faults.append(f"{value!r} is not one of {', '.join(column.options)}{close}")
    if faults:
        raise BadRequest([f"this entry: {fault}" for fault in faults])
    return dataclasses.replace(body, values=values)


LEAST_ID = 6  # ours: so many letters of an id at least, for pages show eight


def _entries_named(ids: Iterable[str], word: str) -> list[str]:
    """The entry of that id, or those whose ids begin so."""
    every = list(ids)
    return [word] if word in every else [name for name in every if len(word) >= LEAST_ID and name.startswith(word)]


def strike(
    path: Path, request: Request, *, entry: str, why: str, redact: bool, author: str, device: str, wrote: str
) -> Answer:
    """An earlier entry never was so; with `redact` its content is destroyed too."""
    from pullstring.log.store import open_store
    from pullstring.model.entries import StruckOut
    from pullstring.model.replay import replay
    from pullstring.model.when import parse_when

    with open_store(path, device=device) as store:
        found = _entries_named((row[0] for row in store.rows("SELECT id FROM entries")), entry)
        faults = []
        if len(found) != 1:
            says = "there is no entry" if not found else "more than one entry begins with"
            faults.append(f"{says} {entry!r}; site --why THING shows the ids")
        if not why.strip():
            faults.append("say why it never was so; without that nobody can trust the striking out")
        if faults:
            raise BadRequest(faults)
        if not redact and (by := _struck_by(store.entries(), found[0])):
            raise BadRequest([f"entry {found[0]} is struck out already, by {by}; strike that one out to bring it back"])
        at = parse_when(request.today)
        if redact:
            written = store.redact(found[0], why=why, at=at, wrote=wrote, author=author)
        else:
            [written] = store.append([StruckOut(found[0], why)], at=at, wrote=wrote, author=author)
        site = replay(store.entries(), today=request.today)
    return answered("strike", site, request, {"entry": found[0], "by": written.id, "redacted": redact})


def _struck_by(entries: Iterable[Entry], name: str) -> str | None:
    """The standing entry that strikes out another, if there is one."""
    from pullstring.model.entries import StruckOut

    struck: dict[str, str] = {}
    for entry in reversed(list(entries)):
        if isinstance(entry.body, StruckOut) and entry.id not in struck:
            struck[entry.body.entry] = entry.id
    return struck.get(name)

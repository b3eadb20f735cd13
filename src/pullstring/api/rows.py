"""Several rows of tables entered as one act of a person: all or none, and once, however often they are sent.

This is how a page enters what was drawn or sorted: each act has a key that its page made, and the same key again
writes nothing and names the entries that were written the first time.
"""

from __future__ import annotations

import dataclasses
import functools
import re
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pullstring.api.request import BadRequest, answered
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.log.record import Record
    from pullstring.log.union import Speaker
    from pullstring.model.asbuilt import Site
    from pullstring.model.entries import Body
    from pullstring.model.refs import Ref
    from pullstring.model.tables import Statement

MOST_ROWS = 2000  # ours: what one act of a person may hold
TRIES = 20  # ours: how often an act is checked anew when others write at the same moment
_in_turn = threading.Lock()
KEY = re.compile(r"[0-9a-f]{16,64}")


@dataclasses.dataclass(frozen=True)
class Row:
    """One row of a table; `new` says that its tag must not be taken yet."""

    table: str
    cells: Mapping[str, str]
    new: bool = False


def add_rows(
    path: Path, request: Request, *, rows: Sequence[Row], key: str, author: str, device: str, wrote: str
) -> Answer:
    """Enter rows as one act; raises BadRequest with every fault, and then nothing is written.

    Parameters
    ----------
    rows : sequence of Row
        In any order: a row may name what a later one makes.
    key : str
        16 to 64 hex letters that name this act; the same key again writes nothing.
    """
    from pullstring.log.store import open_store
    from pullstring.model.replay import replay
    from pullstring.model.tables import RawTable, known_things, understand
    from pullstring.model.when import parse_when

    _checked(rows, key)
    with _in_turn, open_store(path, device=device) as store:
        for _ in range(TRIES):
            seen = _last(store)
            before = _written(store, key)
            site = replay(store.entries(), today=request.today)
            if before:
                return answered("add", site, request, {"entries": before, "already": True}, because=tuple(before))
            raw = [
                RawTable(f"{row.table} {number}", row.table, tuple(row.cells), ((0, tuple(row.cells.values())),))
                for number, row in enumerate(rows, 1)
            ]
            understood = understand(raw, known=known_things(site), today=request.today)
            faults = [str(f) for f in understood.faults] + _taken(site, rows)
            if faults:
                raise BadRequest(list(dict.fromkeys(faults)))
            bodies = _as_written(site, understood.statements)
            if not bodies:
                raise BadRequest(["these rows say nothing new; fill in at least one cell beside the tag"])
            made: list[str] = []
            try:
                store.append(
                    bodies,
                    at=[parse_when(s.at) for s in understood.statements],
                    keys=[_key(key, i) for i in range(len(bodies))],
                    wrote=wrote,
                    author=author,
                    device=device,
                    new_id=functools.partial(_named, made),
                    also=functools.partial(_unmoved, seen, bodies, made),
                )
            except _Moved:
                continue
            ids = made
            site = replay(store.entries(), today=request.today)
            break
        else:
            raise BadRequest(["others write into this record all the time; nothing was written, try again"])
    return answered(
        "add",
        site,
        request,
        {"entries": ids, "already": False},
        because=tuple(ids),
        assumed=tuple(a for a in understood.assumed if "grade" in a),
    )


def strike_all(
    path: Path, request: Request, *, entries: Sequence[str], why: str, key: str, author: str, device: str, wrote: str
) -> Answer:
    """Take back an act: all its entries never were so. Once, however often it is sent."""
    from pullstring.log.store import open_store
    from pullstring.model.entries import StruckOut
    from pullstring.model.replay import replay
    from pullstring.model.when import parse_when

    if not KEY.fullmatch(key):
        raise BadRequest(["the key of an act is 16 to 64 letters of 0-9 and a-f"])
    with open_store(path, device=device) as store:
        ids = _written(store, key)
        already = bool(ids)
        if not already:
            there = {row[0] for row in store.rows("SELECT id FROM entries")}
            faults = [
                f"there is no entry {name!r}; it may be in another record" for name in entries if name not in there
            ]
            if not entries:
                faults.append("no entry is named; name those that never were so")
            if not why.strip():
                faults.append("say why it never was so; without that nobody can trust the striking out")
            if faults:
                raise BadRequest(faults)
            bodies = [StruckOut(name, why) for name in dict.fromkeys(reversed(entries))]
            keys = [_key(key, i) for i in range(len(bodies))]
            at = parse_when(request.today)
            written = store.append(bodies, at=at, keys=keys, wrote=wrote, author=author, device=device)
            ids = [e.id for e in written] or _written(store, key)
        site = replay(store.entries(), today=request.today)
    return answered("strike", site, request, {"entries": ids, "already": already}, because=tuple(ids))


def _checked(rows: Sequence[Row], key: str) -> None:
    from pullstring.model.columns import did_you_mean, tables

    faults = [] if KEY.fullmatch(key) else ["the key of an act is 16 to 64 letters of 0-9 and a-f"]
    if not 1 <= len(rows) <= MOST_ROWS:
        faults.append(f"an act has 1 to {MOST_ROWS} rows; this one has {len(rows)}")
    for number, row in enumerate(rows[:MOST_ROWS], 1):
        if row.table not in tables():
            faults.append(f"row {number}: there is no table {row.table!r}{did_you_mean(row.table, tables())}")
    if faults:
        raise BadRequest(faults)


def _taken(site: Site, rows: Sequence[Row]) -> list[str]:
    """Sentences for new things whose tag is used already, in the record or twice in the act."""
    found, made = [], set()
    for number, row in enumerate(rows, 1):
        ref = _ref_of(row) if row.new else None
        if ref is not None and (ref in site.things or ref in site.other_names):
            found.append(
                f"{row.table} {number}: there is a {ref.kind.replace('_', ' ')} {ref.tag} already; take another tag"
            )
        elif ref is not None and ref in made:
            found.append(f"{row.table} {number}: {ref.tag} is made twice here; take another tag")
        made.add(ref)
    return found


def _ref_of(row: Row) -> Ref | None:
    from pullstring.model.columns import tables
    from pullstring.model.refs import BadName, Ref

    table = tables()[row.table]
    tag = next((c.name for c in table.columns if c.type == "tag"), "")
    try:
        return Ref(table.kind, row.cells.get(tag, "").strip()) if table.kind else None
    except BadName:
        return None  # told when the row is read


def _as_written(site: Site, statements: Sequence[Statement]) -> list[Body]:
    """Bodies as their writer would enter them; what an earlier row of the act makes is not made again."""
    from pullstring.model.entries import Noted
    from pullstring.model.towrite import note
    from pullstring.model.when import parse_when

    bodies: list[Body] = []
    made: set[Ref] = set()
    for said in statements:
        body = said.body
        if isinstance(body, Noted):
            body = note(site, body, parse_when(said.at))
            if body.subject in made:
                body = dataclasses.replace(body, new=False)
            made.add(body.subject)
        bodies.append(body)
    return bodies


def _key(key: str, number: int) -> str:
    from pullstring.model.entries import digest

    return digest(f"{key}/{number}")


class _Moved(Exception):
    """Somebody wrote between our reading and our writing; what was checked may not be so any more."""


def _last(store: Record) -> int:
    return int(store.rows("SELECT coalesce(max(arrival), 0) FROM entries")[0][0])


def _named(made: list[str], /) -> str:
    from pullstring.log.store import random_id

    made.append(random_id())
    return made[-1]


def _unmoved(seen: int, bodies: Sequence[Body], made: Sequence[str], speaker: Speaker) -> None:
    """Inside the transaction of an act: nobody wrote since the record was read for it, but phones about things of their own."""
    query = "SELECT id, json_extract(line, '$.body.subject') FROM entries WHERE arrival > ?"
    about = {str(getattr(body, "subject", "")).casefold() for body in bodies}
    others = [said or "" for name, said in speaker.execute(query, (seen,)).fetchall() if name not in set(made)]
    if len(made) != len(bodies) or any(
        not said.startswith(("jotting:", "photo:")) or said.casefold() in about for said in others
    ):
        raise _Moved


def _written(store: Record, key: str) -> list[str]:
    """Ids that an act of this key wrote, in their order; none when it was never written."""
    known = dict(store.rows("SELECT key, id FROM entries WHERE key <> ''"))
    found: list[str] = []
    while (name := known.get(_key(key, len(found)))) is not None:
        found.append(name)
    return found

"""`trace --accept`: what is sure enough becomes claims, by a person's decision. Accepting twice changes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pullstring.api.request import answered, asked_for, load
from pullstring.api.rows import Row, add_rows
from pullstring.api.tracing import ASSUMED, KINDS, proposed
from pullstring.model.answers import Answer, Request


def trace_accept(
    path: Path, request: Request, *, author: str, device: str, wrote: str, dry: bool = False, key: str | None = None
) -> Answer:
    """Write what is proposed, or of it what the tags name, as claims of the grade that was earned; `dry` shows it only.

    `key` names the act as a page does (16 to 64 hex letters); without one it follows from what is accepted, so that the same again
    writes nothing.
    """
    from pullstring.api.tracing_worked import worked

    site = load(path, request)
    named = {str(r) for r in asked_for(site, request.tags, KINDS)} if request.tags else None
    rows = [
        {**row, "method": method_of(row)}
        for row in proposed(site, worked(site))
        if named is None or row["subject"] in named or row["object"] in named
    ]
    written: dict[str, Any] = {"entries": [], "already": False, "decided": None}
    if rows and not dry:
        cells = [_cells(row, request.today, author) for row in rows]
        act = key or _key(cells)
        made = add_rows(path, request, rows=cells, key=act, author=author, device=device, wrote=wrote)
        decided = _decide(path, request, rows, act, author=author, device=device, wrote=wrote)
        written = {**{name: made.answer[name] for name in ("entries", "already")}, "decided": decided}
    return answered(
        "trace",
        site,
        request,
        {"accepted": rows, "dry": dry, **written},
        because=tuple(dict.fromkeys(e for row in rows for e in row["because"])),
        assumed=ASSUMED,
    )


def _decide(
    path: Path, request: Request, rows: list[dict[str, Any]], act: str, *, author: str, device: str, wrote: str
) -> str | None:
    """Note beside the claims that a person took this decision, and of what; once for each act. Gives the entry."""
    from pullstring.log.store import open_store, random_id
    from pullstring.model.answers import plain
    from pullstring.model.entries import Decided, digest
    from pullstring.model.when import parse_when

    items = tuple(f"{row['subject']} {row['relation']} {row['object']} {row['grade']}" for row in rows)
    body = Decided(digest(repr(plain(rows))), items, True, author, "trace --accept")
    with open_store(path, device=device) as store:
        made = store.append(
            [body],
            at=parse_when(request.today),
            keys=[digest(f"{act}/decided")],
            wrote=wrote,
            author=author,
            device=device,
            new_id=random_id,
        )
    return made[0].id if made else None


def method_of(row: dict[str, Any]) -> str:
    """How it is known and with which chance, as it will stand in the record."""
    from pullstring.papers.sentences_trace import METHOD, METHODS

    return METHOD.format(how=METHODS[row["how"]], chance=f"{min(row['odds'].chance, 0.9999):.4f}")


def _cells(row: dict[str, Any], today: str, author: str) -> Row:
    cells = {name: row[name] for name in ("subject", "relation", "object", "grade", "method")}
    return Row("claims", {**cells, "by": author, "at": today})


def _key(rows: list[Row]) -> str:
    from pullstring.model.entries import digest

    return digest(repr(sorted(sorted((k, v) for k, v in row.cells.items() if k != "method") for row in rows)))

"""Entries by hand, for tests of the record."""

from __future__ import annotations

from pullstring.model.entries import Body, Claimed, Did, Entry, Evidence, Noted
from pullstring.model.refs import parse_ref
from pullstring.model.when import parse_when

SEEN = Evidence("seen")


def entry(
    id: str,
    body: Body,
    *,
    tick: int,
    device: str = "a",
    n: int | None = None,
    at: str = "2026-03-01",
    wrote: str = "2026-03-01T10:00:00+00:00",
) -> Entry:
    return Entry(id, "TEC", device, n or tick, tick, parse_when(at), wrote, body)


def noted(
    ref: str,
    fields: dict,
    *,
    over: dict | None = None,
    under: dict | None = None,
    new: bool = False,
    grade: str = "seen",
) -> Noted:
    return Noted(parse_ref(ref), fields, Evidence(grade), over or {}, under or {}, new)


def claimed(subject: str, relation: str, other: str, *, holds: bool = True, grade: str = "seen") -> Claimed:
    return Claimed(parse_ref(subject), relation, parse_ref(other), holds, Evidence(grade))


def did(act: str, subject: str, other: str | None = None, **values: str) -> Did:
    return Did(act, parse_ref(subject), parse_ref(other) if other else None, values, SEEN)

"""Sites from lines such as `ends end=E1 cable=C1`, for tests of what is noticed."""

from __future__ import annotations

import shlex

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.tables import RawTable, understand
from pullstring.model.towrite import not_yet_said
from pullstring.model.when import parse_when

TODAY = "2026-04-01"


def tables(text: str) -> list[RawTable]:
    found = []
    for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), 2):
        table, *cells = shlex.split(line)
        names, values = zip(*(c.split("=", 1) for c in cells), strict=True)
        found.append(RawTable(f"line {number}", table, names, ((number, values),)))
    return found


def entries(text: str, *, today: str = TODAY) -> list[Entry]:
    """Each line a row, entered by one hand in the order of the lines."""
    read = understand(tables(text), known={}, today=today)
    assert not read.faults, "\n".join(map(str, read.faults))
    wrote = f"{today}T10:00:00+00:00"
    fresh = not_yet_said(replay([], today=today), read.statements, frozenset())
    return [Entry(f"i{n:03d}", "TEC", "a", n, n, parse_when(s.at), wrote, s.body) for n, s in enumerate(fresh, 1)]


def site(text: str, *, today: str = TODAY) -> Site:
    return replay(entries(text, today=today), today=today)

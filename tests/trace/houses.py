"""Small houses for tests of tracing: rows of tables as people write them, read and replayed without a file."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry, StruckOut
from pullstring.model.replay import replay
from pullstring.model.tables import RawTable, understand
from pullstring.model.when import parse_when
from pullstring.trace.assumed import assumed_noise, assumed_prior
from pullstring.trace.doubts import Doubted, doubted
from pullstring.trace.evidence import Traced, traced
from pullstring.trace.posterior import Posterior

TODAY = "2026-05-10"
Rows = Mapping[str, Iterable[Mapping[str, str]]]


def rows(text: str) -> dict[str, list[dict[str, str]]]:
    """Tables as text: `table: column=value, column=value`, one row a line; a cell runs to the next comma."""
    found: dict[str, list[dict[str, str]]] = {}
    for line in filter(None, (x.strip() for x in text.splitlines())):
        table, _, cells = line.partition(":")
        row = dict(c.strip().split("=", 1) for c in cells.split(", ") if c.strip())
        found.setdefault(table.strip(), []).append(row)
    return found


def entries_of(told: Rows, *, seed: int | None = None) -> list[Entry]:
    """Entries of all rows; shuffled rows and tables when a seed is given."""
    dice = random.Random(seed)
    raw = []
    for table, content in told.items():
        lines = list(content)
        header = tuple(dict.fromkeys(c for line in lines for c in line))
        if seed is not None:
            dice.shuffle(lines)
        cells = tuple((n, tuple(line.get(c, "") for c in header)) for n, line in enumerate(lines, start=2))
        raw.append(RawTable(f"{table}.csv", table, header, cells))
    if seed is not None:
        dice.shuffle(raw)
    said = understand(raw, known={}, today=TODAY)
    assert not said.faults, [str(f) for f in said.faults]
    return [
        Entry(f"{s.row[0]}:{s.row[1]}:{n}", "TEC", "a", n, n, parse_when(s.at), f"{TODAY}T12:00:00+00:00", s.body)
        for n, s in enumerate(said.statements, start=1)
    ]


def house(told: str | Rows, *, seed: int | None = None) -> Site:
    """The site that rows give."""
    return replay(entries_of(rows(told) if isinstance(told, str) else told, seed=seed), today=TODAY)


def struck(told: str, entry: int) -> Site:
    """The same without one row: it was entered, and struck out."""
    every = entries_of(rows(told))
    name = every[entry].id
    n = len(every) + 1
    out = Entry("out", "TEC", "a", n, n, parse_when(TODAY), f"{TODAY}T13:00:00+00:00", StruckOut(name, "never so"))
    return replay([*every, out], today=TODAY)


def odds(given: Traced) -> Posterior:
    """Odds with the assumed constants, instruments doubted."""
    return doubts(given).posterior


def doubts(given: Traced) -> Doubted:
    """The same with what is doubted."""
    return doubted(given.scene, given.readings, prior=assumed_prior(), noise=assumed_noise())


def goes(site: Site) -> dict[str, tuple[str, float]]:
    """By outlet the likeliest own end ('' for none) and its chance."""
    given = traced(site)
    found = odds(given)
    tags = [*(e.tag for e in given.ends), ""]
    best = [max(range(len(tags)), key=lambda e: found.own[o, e]) for o in range(len(given.outlets))]
    return {
        ref.tag: (tags[e], float(found.own[o, e])) for o, (ref, e) in enumerate(zip(given.outlets, best, strict=True))
    }


CLOSET = """
    rooms: room=R1, closet=yes, at=2026-05-01
    rooms: room=R2, at=2026-05-01
"""


def plain(outlets: int, ends: int, *, rows_on: str = "") -> str:
    """A closet with so many cables and a room with so many outlets, nothing read yet; ends on the rows of one block."""
    text = CLOSET
    for n in range(1, outlets + 1):
        text += f"outlets: outlet=P{n}, room=R2, at=2026-05-01\n"
    if rows_on:
        text += f"blocks: block={rows_on}, room=R1, at=2026-05-01\n"
    for n in range(1, ends + 1):
        at = f", ends_at={rows_on}.{n}" if rows_on else ""
        text += f"cables: cable=K{n}, at=2026-05-01\n"
        text += f"ends: end=W{n}, cable=K{n}, room=R1{at}, grade=seen, at=2026-05-01\n"
        text += f"rows: row={rows_on}.{n}, grade=seen, at=2026-05-01\n" if rows_on else ""
    return text


def read(subject: str, quantity: str, value: str, *, key: str = "", minute: int = 0, **more: str) -> str:
    """A row of measurements, taken so many minutes after eight."""
    at = f"2026-05-02T{8 + minute // 60:02d}:{minute % 60:02d}+00:00"
    cells = {"subject": subject, "quantity": quantity, "value": value, "key": key, "grade": "metered", "at": at, **more}
    return "measurements: " + ", ".join(f"{k}={v}" for k, v in cells.items() if v) + "\n"

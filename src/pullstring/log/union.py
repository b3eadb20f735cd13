"""Union of entries by id, as rows. Same id and same hash: already there. Another hash: corruption, all refused.

Redaction follows the set of entries, not the order of arrival: an entry that a redacting StruckOut names, or whose
marker is known, keeps no content. A redacting StruckOut itself is never redacted, or the reason for a marker could
be lost.
"""

from __future__ import annotations

import dataclasses
import re
import sqlite3
from collections.abc import Iterable

from pullstring.log.refusals import Corrupted, UnusableEntry
from pullstring.log.secret_names import refuse_secrets
from pullstring.model.entries import Entry, StruckOut, digest, to_json

GREATEST = 2**53 - 1  # the greatest whole number that every reader of JSON keeps exact: RFC 8259, section 6
_HASH = re.compile(r"[0-9a-f]{64}")


@dataclasses.dataclass(frozen=True)
class Marker:
    """What is left of a redacted entry: its place in the order and the hash of what was destroyed."""

    id: str
    tick: int
    device: str
    n: int
    digest: str
    key: str = ""


@dataclasses.dataclass(frozen=True)
class United:
    """What a union did. `redacted` counts entries that lost their content here, or came without it."""

    added: int
    already: int
    redacted: int
    destroyed: bool


def marker_line(hash_of_line: str) -> str:
    """The line that stands in for a redacted entry."""
    return f'{{"redacted":"{hash_of_line}"}}'


def unite(
    connection: sqlite3.Connection, where: str, entries: Iterable[Entry], markers: Iterable[Marker] = ()
) -> United:
    """Add what is missing, redact what must be redacted; inside the caller's transaction."""
    given = list(entries)
    refuse_secrets(given)
    rows, lines, striking = _as_rows(where, given, markers)
    there = _digests(connection, rows)
    clash = [name for name in rows if there.get(name, rows[name].digest) != rows[name].digest]
    if clash:
        raise Corrupted(
            where,
            clash,
            "entries with the same id differ in content",
            "nothing was written; find out which copy was tampered with",
        )
    fresh = [row for row in rows.values() if row.id not in there]
    doomed = _doomed(connection, rows, lines, striking)
    for row in sorted(fresh, key=lambda r: (r.tick, r.device, r.n, r.id)):
        _insert(connection, row, None if row.id in doomed else lines[row.id])
    old = [name for name in _with_content(connection, sorted(doomed)) if name not in striking]
    for name in old:
        _redact(connection, name)
    if old:
        connection.execute("INSERT INTO meta VALUES ('scrub', 'due') ON CONFLICT (key) DO NOTHING")
    gone = len(old) + sum(row.id in doomed for row in fresh)
    return United(len(fresh), len(rows) - len(fresh), gone, bool(old))


def _as_rows(
    where: str, entries: Iterable[Entry], markers: Iterable[Marker]
) -> tuple[dict[str, Marker], dict[str, str], dict[str, str]]:
    """Each id with its columns, its line when there is one, and what the redacting ones strike."""
    rows: dict[str, Marker] = {}
    lines: dict[str, str] = {}
    striking: dict[str, str] = {}
    clash = set()
    for entry in entries:
        line = to_json(entry)
        row = Marker(entry.id, entry.tick, entry.device, entry.n, digest(line), entry.key)
        if rows.setdefault(entry.id, row).digest != row.digest:
            clash.add(entry.id)
        lines[entry.id] = line
        if isinstance(entry.body, StruckOut) and entry.body.redacted:
            striking[entry.id] = entry.body.entry
    for marker in markers:
        if rows.setdefault(marker.id, marker).digest != marker.digest:
            clash.add(marker.id)
        elif marker.id not in striking:
            lines.pop(marker.id, None)
    if clash:
        raise Corrupted(
            where,
            clash,
            "entries with the same id differ in content",
            "nothing was written; find out which copy was tampered with",
        )
    far = [row.id for row in rows.values() if max(row.tick, row.n) > GREATEST]
    if far:
        raise UnusableEntry(
            f"{where}: the tick or count of {', '.join(sorted(far))} is beyond {GREATEST}; nothing was written"
        )
    return rows, lines, striking


def _doomed(
    connection: sqlite3.Connection, rows: dict[str, Marker], lines: dict[str, str], striking: dict[str, str]
) -> set[str]:
    """Ids among the given and the stored that may keep no content."""
    marked = {name for name in rows if name not in lines}
    struck = set(striking.values())
    for name in rows:
        found = connection.execute(
            "SELECT 1 FROM entries WHERE json_extract(line, '$.body.entry') = ? "
            "AND json_extract(line, '$.body.redacted')",
            (name,),
        ).fetchone()
        if found:
            struck.add(name)
    return (marked | struck) - set(striking)


def _with_content(connection: sqlite3.Connection, ids: Iterable[str]) -> list[str]:
    """Those stored entries that still hold their content and are not themselves redactions."""
    query = (
        "SELECT 1 FROM entries WHERE id = ? AND NOT coalesce(json_extract(line, '$.body.redacted'), 0) "
        "AND id NOT IN (SELECT id FROM redactions)"
    )
    return [name for name in ids if connection.execute(query, (name,)).fetchone()]


def _digests(connection: sqlite3.Connection, ids: Iterable[str]) -> dict[str, str]:
    found = (connection.execute("SELECT id, digest FROM entries WHERE id = ?", (name,)).fetchone() for name in ids)
    return {row[0]: row[1] for row in found if row}


def _insert(connection: sqlite3.Connection, row: Marker, line: str | None) -> None:
    key = row.key
    if line is None:
        line, key = marker_line(row.digest), _kept_key(row.key)
        connection.execute("INSERT INTO redactions (id, marker) VALUES (?, ?)", (row.id, line))
    connection.execute(
        "INSERT INTO entries (id, tick, device, n, digest, key, line) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (row.id, row.tick, row.device, row.n, row.digest, key, line),
    )


def _redact(connection: sqlite3.Connection, name: str) -> None:
    hash_of_line, key = connection.execute("SELECT digest, key FROM entries WHERE id = ?", (name,)).fetchone()
    line = marker_line(hash_of_line)
    connection.execute("INSERT INTO redactions (id, marker) VALUES (?, ?)", (name, line))
    connection.execute("UPDATE entries SET line = ?, key = ? WHERE id = ?", (line, _kept_key(key), name))


def _kept_key(key: str) -> str:
    """A key that is a hash says nothing and keeps the same table from bringing the content back; any other goes."""
    return key if _HASH.fullmatch(key) else ""

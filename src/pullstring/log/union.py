"""Union of entries by id, as rows. Same id and same hash: already there. Another hash: corruption, all refused.

Redaction follows the set of entries, not the order of arrival: an entry that a redacting StruckOut names, or whose
marker is known, keeps no content. A redacting StruckOut itself is never redacted, or the reason for a marker could
be lost. Photographs follow: which entry names which is kept beside the entries, redacted ones included, so the bytes
of a photograph go when a redacted entry named it and none with content does, or when a redacting StruckOut names its
hash. The statements here are the same text on every database; `?` stands for a value.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Protocol

from pullstring.log.refusals import Corrupted, UnusableEntry
from pullstring.log.secret_names import refuse_secrets
from pullstring.model.entries import Entry, Noted, StruckOut, digest, to_json

GREATEST = 2**53 - 1  # the greatest whole number that every reader of JSON keeps exact: RFC 8259, section 6
CHUNK = 400  # ours: how many values one statement may ask for
_HASH = re.compile(r"[0-9a-f]{64}")
DOOMED_PHOTOGRAPH = """(EXISTS (SELECT 1 FROM entries WHERE strikes = {0} AND strikes <> '')
  OR EXISTS (SELECT 1 FROM mentions JOIN redactions ON redactions.id = mentions.entry WHERE mentions.sha256 = {0})
  AND NOT EXISTS (SELECT 1 FROM mentions WHERE mentions.sha256 = {0}
    AND NOT EXISTS (SELECT 1 FROM redactions WHERE redactions.id = mentions.entry)))"""
"""Whether the bytes of a photograph must be gone; the triggers of the tables ask the same."""


class Speaker(Protocol):
    """What the union needs of a database: one statement with its values, giving something to fetch from."""

    def execute(self, query: str, values: Sequence[Any] = ..., /) -> Any: ...


@dataclasses.dataclass(frozen=True)
class Marker:
    """What is left of a redacted entry: its place in the order, the hash of what was destroyed, its photographs' hashes."""

    id: str
    tick: int
    device: str
    n: int
    digest: str
    key: str = ""
    photos: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "photos", tuple(sorted(set(self.photos))))


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


def photographs(entry: Entry) -> tuple[str, ...]:
    """Hashes of the attachments that an entry names: in its envelope, or as a note about a photograph."""
    named = set(entry.photos)
    body = entry.body
    if isinstance(body, Noted) and body.subject.kind == "photo":
        named.add(str(body.fields.get("sha256", "")).casefold())
    return tuple(sorted(name for name in named if _HASH.fullmatch(name)))


def unite(speaker: Speaker, where: str, entries: Iterable[Entry], markers: Iterable[Marker] = ()) -> United:
    """Add what is missing, redact what must be redacted; inside the caller's transaction."""
    given = list(entries)
    refuse_secrets(given)
    rows, lines, striking = _as_rows(where, given, markers)
    there = dict(_found(speaker, "SELECT id, digest FROM entries WHERE id IN ({})", rows))
    clash = [name for name in rows if there.get(name, rows[name].digest) != rows[name].digest]
    if clash:
        raise _differ(where, clash)
    fresh = [row for row in rows.values() if row.id not in there]
    doomed = _doomed(speaker, rows, lines, striking)
    for row in sorted(fresh, key=lambda r: (r.tick, r.device, r.n, r.id)):
        _insert(speaker, row, None if row.id in doomed else lines[row.id], striking.get(row.id, ""))
    for row in rows.values():
        for photo in row.photos:
            speaker.execute(
                "INSERT INTO mentions (sha256, entry) VALUES (?, ?) ON CONFLICT DO NOTHING", (photo, row.id)
            )
    old = _with_content(speaker, sorted(doomed - {row.id for row in fresh}))
    for name in old:
        _redact(speaker, name)
    emptied = bool(doomed or striking or any(row.photos for row in rows.values())) and _empty_photographs(speaker)
    if old or emptied:
        speaker.execute("INSERT INTO meta (key, value) VALUES ('scrub', 'due') ON CONFLICT (key) DO NOTHING")
    gone = len(old) + sum(row.id in doomed for row in fresh)
    return United(len(fresh), len(rows) - len(fresh), gone, bool(old or emptied))


def _differ(where: str, ids: Iterable[str]) -> Corrupted:
    return Corrupted(
        where,
        ids,
        "entries with the same id differ in content",
        "nothing was written; find out which copy was tampered with",
    )


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
        row = Marker(entry.id, entry.tick, entry.device, entry.n, digest(line), entry.key, photographs(entry))
        if rows.setdefault(entry.id, row).digest != row.digest:
            clash.add(entry.id)
        lines[entry.id] = line
        if isinstance(entry.body, StruckOut) and entry.body.redacted:
            striking[entry.id] = entry.body.entry
    for marker in markers:
        row = rows.setdefault(marker.id, marker)
        if row.digest != marker.digest:
            clash.add(marker.id)
        elif marker.id not in striking:
            lines.pop(marker.id, None)
            rows[marker.id] = dataclasses.replace(row, photos=row.photos + marker.photos)
    if clash:
        raise _differ(where, clash)
    far = [row.id for row in rows.values() if max(row.tick, row.n) > GREATEST]
    if far:
        raise UnusableEntry(
            f"{where}: the tick or count of {', '.join(sorted(far))} is beyond {GREATEST}; nothing was written"
        )
    return rows, lines, striking


def _doomed(speaker: Speaker, rows: dict[str, Marker], lines: dict[str, str], striking: dict[str, str]) -> set[str]:
    """Ids among the given and the stored that may keep no content."""
    marked = {name for name in rows if name not in lines}
    struck = _found(speaker, "SELECT strikes FROM entries WHERE strikes <> '' AND strikes IN ({})", rows)
    return (marked | set(striking.values()) | {row[0] for row in struck}) - set(striking)


def _with_content(speaker: Speaker, ids: Sequence[str]) -> list[str]:
    """Those stored entries that still hold their content and are not themselves redactions."""
    query = "SELECT id FROM entries WHERE id IN ({}) AND strikes = '' AND id NOT IN (SELECT id FROM redactions)"
    return [row[0] for row in _found(speaker, query, ids)]


def _found(speaker: Speaker, query: str, names: Iterable[str]) -> Iterator[Any]:
    """Rows of a query that asks for a list of names, a part of the list at a time."""
    every = list(names)
    for start in range(0, len(every), CHUNK):
        part = every[start : start + CHUNK]
        yield from speaker.execute(query.format(", ".join("?" * len(part))), part).fetchall()


def _insert(speaker: Speaker, row: Marker, line: str | None, strikes: str) -> None:
    key = row.key
    if line is None:
        line, key = marker_line(row.digest), _kept_key(row.key)
        speaker.execute("INSERT INTO redactions (id, marker) VALUES (?, ?)", (row.id, line))
    speaker.execute(
        "INSERT INTO entries (id, tick, device, n, digest, key, line, strikes) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (row.id, row.tick, row.device, row.n, row.digest, key, line, strikes),
    )


def _redact(speaker: Speaker, name: str) -> None:
    hash_of_line, key = speaker.execute("SELECT digest, key FROM entries WHERE id = ?", (name,)).fetchone()
    line = marker_line(hash_of_line)
    speaker.execute("INSERT INTO redactions (id, marker) VALUES (?, ?)", (name, line))
    speaker.execute("UPDATE entries SET line = ?, key = ? WHERE id = ?", (line, _kept_key(key), name))


def _empty_photographs(speaker: Speaker) -> bool:
    """Destroy the bytes of photographs that nothing with content names any more; True when there were some."""
    query = (
        f"SELECT sha256 FROM attachments WHERE length(bytes) > 0 AND {DOOMED_PHOTOGRAPH.format('attachments.sha256')}"
    )
    gone = [row[0] for row in speaker.execute(query).fetchall()]
    for name in gone:
        speaker.execute("UPDATE attachments SET bytes = ? WHERE sha256 = ?", (b"", name))
    return bool(gone)


def is_doomed(speaker: Speaker, sha256: str) -> bool:
    """Whether the bytes of a photograph must not be kept here."""
    return speaker.execute(f"SELECT 1 WHERE {DOOMED_PHOTOGRAPH.format('?')}", (sha256,) * 3).fetchone() is not None


def _kept_key(key: str) -> str:
    """A key that is a hash says nothing and keeps the same table from bringing the content back; any other goes."""
    return key if _HASH.fullmatch(key) else ""

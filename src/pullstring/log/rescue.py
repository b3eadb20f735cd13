"""What can be read from a damaged site file: every whole entry.

First SQLite is asked, on a copy: if it finds the file sound there is nothing to rescue. Else the pages of the file and of its
log are read one by one, and last the bare bytes are searched. An entry counts only when its line agrees with the hash that
stands beside it, an attachment when its bytes agree with their name, so nothing half or false is taken. Of what was redacted
only the marker is taken, though an older page may still hold the words. A marker has no hash of its own: it counts when a
table, an index or what redacts it knows its id, and neither they nor the other entries of its device contradict it. Neither
the code of the site nor the privacy class of an attachment can be checked.
"""

from __future__ import annotations

import collections
import dataclasses
import hashlib
import json
import re
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pullstring.log import attachments
from pullstring.log.attachments import PRIVACY, Attachment
from pullstring.log.file_pages import Pages, sizes_to_try
from pullstring.log.refusals import NotARecord, RecordError
from pullstring.log.store import open_store
from pullstring.log.union import Marker, marker_line, photographs
from pullstring.model.entries import BadEntry, Entry, StruckOut, digest, from_json
from pullstring.model.problems import listed

LEAST_ROW_BYTE = 200  # ours: no entry is shorter, so a file cannot have held more of them than this allows
_HASH = re.compile(r"[0-9a-f]{64}")
_MARKER = re.compile(r'\{"redacted":"([0-9a-f]{64})"\}')
_LINE = re.compile(rb'\{"at":')  # how every canonical line begins
_SHOWN = 12  # letters of a hash that are shown


@dataclasses.dataclass(frozen=True)
class Rescued:
    """What is whole, the site's code if it can still be read, and sentences on what is lost."""

    entries: tuple[Entry, ...]
    markers: tuple[Marker, ...]
    attachments: tuple[Attachment, ...]
    site_code: str | None
    lost: tuple[str, ...]


def rescued(path: Path) -> Rescued:
    """Read what is whole; the damaged file is only read. Raises NotARecord when nothing at all is."""
    beside = path.with_name(path.name + "-wal")
    try:
        data = path.read_bytes()
        log = beside.read_bytes() if beside.is_file() else b""
    except OSError as error:
        raise NotARecord(
            f"{path}: the file cannot be read ({error.strerror}); check its rights and its place"
        ) from error
    if sound := _sound(data, log):
        return sound
    found = _Gathered(most=(len(data) + len(log)) // LEAST_ROW_BYTE)
    for size in sizes_to_try(data, log):
        pages = Pages(data, log, size)
        pages.read(found.take)
        if found.complete:
            break
        if size == sizes_to_try(data, log)[0]:
            for part in (data, *(frame.page for frame in pages.frames)):
                found.search(part)
    if not found.entries and not found.markers and not found.items:
        raise NotARecord(f"{path}: not one whole entry is left in this file; look for another copy of the record")
    return found.result()


def _sound(data: bytes, log: bytes) -> Rescued | None:
    """All that a file holds, when SQLite and the hashes find nothing wrong with a copy of it."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        copy.write_bytes(data)
        if log:
            copy.with_name("copy-wal").write_bytes(log)
        try:
            with open_store(copy, read_only=True) as store:
                if store.rows("PRAGMA integrity_check") != [("ok",)]:
                    return None
                kept = tuple(attachments.held(store, name) for name in attachments.every_name(store))
                return Rescued(tuple(store.entries()), tuple(store.markers()), kept, store.site_code, ())
        except (RecordError, BadEntry, sqlite3.Error, ValueError, TypeError):
            return None


@dataclasses.dataclass
class _Gathered:
    """Rows that are whole, and what the other tables and indexes say of them."""

    most: int
    entries: dict[str, Entry] = dataclasses.field(default_factory=dict)
    rows: dict[tuple[int, str], Marker] = dataclasses.field(default_factory=dict)
    items: dict[str, Attachment] = dataclasses.field(default_factory=dict)
    sites: collections.Counter[str] = dataclasses.field(default_factory=collections.Counter)
    named: dict[str, set[str]] = dataclasses.field(default_factory=lambda: collections.defaultdict(set))
    redactions: dict[str, str] = dataclasses.field(default_factory=dict)
    numbers: set[tuple[str, int]] = dataclasses.field(default_factory=set)  # texts by row, from several indexes
    ticks: dict[int, set[int]] = dataclasses.field(default_factory=lambda: collections.defaultdict(set))
    counts: dict[int, set[tuple[str, int]]] = dataclasses.field(default_factory=lambda: collections.defaultdict(set))
    arrived: dict[int, str] = dataclasses.field(default_factory=dict)  # entries by row; 0 for those found bare
    held: int = 0  # how many entries there were, by SQLite's own table of sequences; 0 when that cannot be read

    def take(self, rowid: int, columns: list[Any]) -> bool:
        """Keep a row if it is whole; False when it is not, and may be another way."""
        match columns:
            case [None, str(name), int(tick), str(device), int(n), str(mark), str(key), str(line), *_]:
                if line == marker_line(mark) and _HASH.fullmatch(mark):
                    self.rows[rowid, name] = Marker(name, tick, device, n, mark, key)
                    return True
                return self._entry(mark, line, rowid)
            case [str(sha256), int(rank), str(media), bytes(content)] if 0 <= rank < len(PRIVACY) and media:
                if hashlib.sha256(content).hexdigest() != sha256:
                    return False
                before = self.items.get(sha256)
                stricter = max(rank, PRIVACY.index(before.privacy)) if before else rank
                self.items[sha256] = Attachment(sha256, PRIVACY[stricter], media, content)
            case ["site", str(code)] if code:
                self.sites[code] += 1
            case ["entries", int(most)] if 0 < most <= self.most:
                self.held = max(self.held, most)
            case [str(name), str(line)] if _MARKER.fullmatch(line):
                self.redactions[name] = line
            case [str(sha256), str(name)] if _HASH.fullmatch(sha256):
                self.named[name].add(sha256)
            case [str(name), int(row)]:
                self.numbers.add((name, row))
            case [int(tick), int(row)]:
                self.ticks[row].add(tick)
            case [str(device), int(n), int(row)]:
                self.counts[row].add((device, n))
        return True

    def search(self, content: bytes) -> None:
        """Lines in bare bytes, such as those of a page whose head is damaged; their hash stands before them."""
        for begin in (found.start() for found in _LINE.finditer(content)):
            text = content[begin : begin + 65536].decode("utf-8", errors="replace")
            try:
                raw, end = json.JSONDecoder().raw_decode(text)
                key = str(raw["key"]).encode()
            except (ValueError, KeyError, TypeError, RecursionError):
                continue
            mark = content[max(0, begin - len(key) - 64) : begin - len(key)]
            if content[begin - len(key) : begin] == key and _HASH.fullmatch(mark.decode("ascii", errors="replace")):
                self._entry(mark.decode(), text[:end], 0)

    def _entry(self, mark: str, line: str, rowid: int) -> bool:
        if digest(line) != mark:
            return False
        try:
            entry = from_json(line)
        except BadEntry:
            return False
        self.entries[entry.id] = entry
        self.arrived.setdefault(rowid, entry.id)
        return True

    @property
    def complete(self) -> bool:
        """Whether as many were found as the file ever held."""
        return 0 < self.held <= len(self.entries) + len(self.markers)

    @property
    def striking(self) -> set[str]:
        """What redacting entries strike: ids, and hashes of attachments."""
        bodies = (e.body for e in self.entries.values())
        return {body.entry for body in bodies if isinstance(body, StruckOut) and body.redacted}

    @property
    def markers(self) -> dict[str, Marker]:
        """Markers that nothing contradicts."""
        struck = self.striking
        found = {}
        for (row, name), marker in self.rows.items():
            said = self.redactions.get(name)
            known = said is not None or name in struck or (name, row) in self.numbers
            same = said in (None, marker_line(marker.digest))
            placed = marker.tick in self.ticks[row] if row in self.ticks else self._fits(marker)
            counted = (marker.device, marker.n) in self.counts[row] if row in self.counts else self._fits(marker)
            usable = marker.id and marker.device and marker.tick >= 1 and marker.n >= 1
            if usable and known and same and placed and counted:
                found[name] = dataclasses.replace(marker, photos=tuple(self.named.get(name, ())))
        return found

    def _fits(self, marker: Marker) -> bool:
        """Whether the other entries of its device leave its place free: a later one has the higher count and tick."""
        others = [e for e in self.entries.values() if e.device == marker.device and e.id != marker.id]
        return (bool(others) or marker.n == 1) and all(
            (e.n < marker.n and e.tick < marker.tick) or (e.n > marker.n and e.tick > marker.tick) for e in others
        )

    def result(self) -> Rescued:
        markers = self.markers
        gone = (self.striking | set(self.redactions) | {name for _, name in self.rows}) - {
            e.id for e in self.entries.values() if _redacts(e)
        }
        kept = sorted((e for e in self.entries.values() if e.id not in gone), key=lambda e: e.order)
        wanted = {sha256 for e in kept for sha256 in photographs(e)} - self.striking
        doomed = (self.striking | {s for name in gone for s in self.named.get(name, ())}) - wanted
        return Rescued(
            tuple(kept),
            tuple(sorted(markers.values(), key=lambda m: (m.tick, m.device, m.n, m.id))),
            tuple(item for sha256, item in sorted(self.items.items()) if sha256 not in doomed),
            self.sites.most_common(1)[0][0] if self.sites else None,
            tuple(self._lost(kept, markers, wanted)),
        )

    def _lost(self, kept: list[Entry], markers: dict[str, Marker], wanted: set[str]) -> Iterator[str]:
        places = {(e.device, e.n) for e in kept} | {(m.device, m.n) for m in markers.values()}
        rows = {row for row, counts in self.counts.items() if counts & places}
        rows |= set(self.arrived) | {row for row, name in self.rows if name in markers}
        known = {row for row in (*rows, *self.counts, self.held) if 0 < row <= self.most}
        missing = sorted(set(range(1, max(known, default=0) + 1)) - rows)
        if 0 < self.held <= len(kept) + len(markers):
            missing = []
        if missing:
            yield f"the entries that came as number {listed(missing)} cannot be read"
        if not self.held:
            yield "how many entries there were cannot be read, so more may be lost than can be told"
        if away := sorted(wanted - set(self.items)):
            yield f"the photographs {listed(name[:_SHOWN] for name in away)} are named and cannot be read"
        if not self.sites:
            yield "the code of the site cannot be read"


def _redacts(entry: Entry) -> bool:
    return isinstance(entry.body, StruckOut) and entry.body.redacted

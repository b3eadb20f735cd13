"""What can be read from a damaged site file: every whole entry, page by page, without SQLite's help.

The layout of pages, cells, records and of the log beside the file: https://www.sqlite.org/fileformat2.html, sections 1.5, 1.6,
2.1 and 4.1. A row counts only when its line agrees with the hash that stands beside it, so nothing half or false is taken;
of an entry that was redacted only the marker is taken, though an older page may still hold its words.
"""

from __future__ import annotations

import collections
import dataclasses
import hashlib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pullstring.log.attachments import PRIVACY, Attachment
from pullstring.log.refusals import NotARecord
from pullstring.log.union import Marker, marker_line
from pullstring.model.entries import BadEntry, Entry, StruckOut, digest, from_json
from pullstring.model.problems import listed

SIZES = (4096, 1024, 2048, 512, 8192, 16384, 32768, 65536)
LEAF, INDEX_LEAF, INDEX_INNER = 0x0D, 0x0A, 0x02
WAL_HEAD, FRAME_HEAD = 32, 24
MOST_ARRIVAL = 10**7  # ours: a row number beyond it is taken for damage
_HASH = re.compile(r"[0-9a-f]{64}")


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
    try:
        data = path.read_bytes()
        beside = path.with_name(path.name + "-wal")
        log = beside.read_bytes() if beside.is_file() else b""
    except OSError as error:
        raise NotARecord(
            f"{path}: the file cannot be read ({error.strerror}); check its rights and its place"
        ) from error
    said = int.from_bytes(data[16:18], "big")
    said = 65536 if said == 1 else said
    sizes = [said] if data.startswith(b"SQLite format 3\0") and said in SIZES else []
    best = _Gathered()
    for size in [*sizes, *(s for s in SIZES if s not in sizes)]:
        found = _gather(data, log, size)
        if found.weight > best.weight:
            best = found
        if sizes and found.weight:
            break
    if not best.weight:
        raise NotARecord(f"{path}: not one whole entry is left in this file; look for another copy of the record")
    return best.result()


class _Gathered:
    """Rows that verified, by what they are."""

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.markers: dict[str, Marker] = {}
        self.items: dict[str, Attachment] = {}
        self.sites: collections.Counter[str] = collections.Counter()
        self.named: dict[str, set[str]] = collections.defaultdict(set)
        self.arrivals: set[int] = set()
        self.most = 0  # the last number that SQLite gave out, from its own table of sequences

    @property
    def weight(self) -> int:
        return len(self.entries) + len(self.markers) + len(self.items)

    def result(self) -> Rescued:
        gone = set(self.markers)
        for entry in self.entries.values():
            if isinstance(entry.body, StruckOut) and entry.body.redacted:
                gone.add(entry.body.entry)
        kept = [e for e in self.entries.values() if e.id not in gone or _redacts(e)]
        markers = [
            dataclasses.replace(m, photos=tuple(s for s, ids in self.named.items() if m.id in ids))
            for m in self.markers.values()
        ]
        lost = []
        missing = sorted(set(range(1, max(self.most, *self.arrivals, 0) + 1)) - self.arrivals)
        if missing:
            lost.append(f"the entries that came as number {listed(missing)} cannot be read")
        away = sorted(s for s, ids in self.named.items() if _HASH.fullmatch(s) and s not in self.items and ids)
        if away:
            lost.append(f"the photographs {listed(a[:12] for a in away)} cannot be read")
        code = self.sites.most_common(1)[0][0] if self.sites else None
        if code is None:
            lost.append("the code of the site cannot be read")
        return Rescued(
            tuple(sorted(kept, key=lambda e: e.order)),
            tuple(sorted(markers, key=lambda m: (m.tick, m.device, m.n, m.id))),
            tuple(item for _, item in sorted(self.items.items())),
            code,
            tuple(lost),
        )


def _redacts(entry: Entry) -> bool:
    return isinstance(entry.body, StruckOut) and entry.body.redacted


def _gather(data: bytes, log: bytes, size: int) -> _Gathered:
    found = _Gathered()
    pages = {n: data[n * size : (n + 1) * size].ljust(size, b"\0") for n in range((len(data) + size - 1) // size)}
    frames = list(_frames(log, size))
    latest = {number - 1: page for number, page in frames}
    chain: Mapping[int, bytes] = {**pages, **latest}
    for number, page in [*pages.items(), *((n - 1, p) for n, p in frames)]:
        for rowid, columns in _rows(page, 100 if number == 0 else 0, size, [chain, pages]):
            _take(found, rowid, columns)
    return found


def _frames(log: bytes, size: int) -> Iterator[tuple[int, bytes]]:
    """Page numbers and pages of the log, whole frames only."""
    at = WAL_HEAD
    while at + FRAME_HEAD + size <= len(log):
        yield int.from_bytes(log[at : at + 4], "big"), log[at + FRAME_HEAD : at + FRAME_HEAD + size]
        at += FRAME_HEAD + size


def _rows(page: bytes, head: int, size: int, chains: list[Mapping[int, bytes]]) -> Iterator[tuple[int, list[Any]]]:
    """Row number (0 in an index) and columns of each cell that can be read."""
    form = page[head]
    if form not in (LEAF, INDEX_LEAF, INDEX_INNER):
        return
    inner = form == INDEX_INNER
    first = head + (12 if inner else 8)
    for n in range(min(int.from_bytes(page[head + 3 : head + 5], "big"), size // 4)):
        pointer = int.from_bytes(page[first + 2 * n : first + 2 * n + 2], "big")
        for chain in chains:
            try:
                payload, rowid = _payload(page, pointer + (4 if inner else 0), form, size, chain)
                columns = _columns(payload)
            except (IndexError, ValueError, UnicodeDecodeError):
                continue
            yield rowid, columns


def _payload(page: bytes, at: int, form: int, size: int, chain: Mapping[int, bytes]) -> tuple[bytes, int]:
    length, at = _varint(page, at)
    rowid = 0
    if form == LEAF:
        rowid, at = _varint(page, at)
    most = size - 35 if form == LEAF else (size - 12) * 64 // 255 - 23
    least = (size - 12) * 32 // 255 - 23
    if length <= most:
        if at + length > size:
            raise ValueError
        return page[at : at + length], rowid
    local = least + (length - least) % (size - 4)
    local = local if local <= most else least
    parts, have = [page[at : at + local]], local
    onward = int.from_bytes(page[at + local : at + local + 4], "big")
    seen = set()
    while have < length:
        if onward < 1 or onward - 1 not in chain or onward in seen:
            raise ValueError
        seen.add(onward)
        more = chain[onward - 1]
        parts.append(more[4 : 4 + length - have])
        have += len(parts[-1])
        onward = int.from_bytes(more[:4], "big")
    return b"".join(parts), rowid


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for n in range(9):
        byte = data[at + n]
        if n == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + n + 1
    raise ValueError


def _columns(payload: bytes) -> list[Any]:
    length, at = _varint(payload, 0)
    if not 1 < length <= len(payload):
        raise ValueError
    kinds = []
    while at < length:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if len(kinds) > 12:
        raise ValueError
    out: list[Any] = []
    at = length
    for kind in kinds:
        width = {0: 0, 1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 7: 8, 8: 0, 9: 0}.get(kind)
        width = (kind - 12) // 2 if width is None and kind >= 12 else width
        if width is None or at + width > len(payload):
            raise ValueError
        raw = payload[at : at + width]
        at += width
        if kind in (8, 9):
            out.append(kind - 8)
        elif kind >= 12:
            out.append(raw.decode("utf-8") if kind % 2 else raw)
        else:
            out.append(None if kind in (0, 7) else int.from_bytes(raw, "big", signed=True))
    return out


def _take(found: _Gathered, rowid: int, columns: list[Any]) -> None:
    match columns:
        case [None, str(name), int(tick), str(device), int(n), str(mark), str(key), str(line), *_]:
            if _HASH.fullmatch(mark):
                _entry(found, rowid, Marker(name, tick, device, n, mark, key), line)
        case [str(sha256), int(rank), str(media), bytes(data)] if _HASH.fullmatch(sha256) and 0 <= rank < len(PRIVACY):
            if hashlib.sha256(data).hexdigest() == sha256:
                found.items[sha256] = Attachment(sha256, PRIVACY[rank], media, data)
        case ["site", str(code)]:
            found.sites[code] += 1
        case ["entries", int(most)] if 0 < most <= MOST_ARRIVAL:
            found.most = max(found.most, most)
        case [str(sha256), str(name)] if _HASH.fullmatch(sha256):
            found.named[sha256].add(name)
        case _:
            pass


def _entry(found: _Gathered, rowid: int, marker: Marker, line: str) -> None:
    if line == marker_line(marker.digest):
        found.markers[marker.id] = marker
    elif digest(line) == marker.digest:
        try:
            entry = from_json(line)
        except BadEntry:
            return
        if (entry.id, entry.tick, entry.device, entry.n) != (marker.id, marker.tick, marker.device, marker.n):
            return
        found.entries[entry.id] = entry
    else:
        return
    if 0 < rowid <= MOST_ARRIVAL:
        found.arrivals.add(rowid)

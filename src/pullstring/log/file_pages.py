"""The pages of a SQLite file and of the log beside it, read without SQLite: rows of the leaves, wherever they lie.

Pages, cells, records and overflow chains: https://www.sqlite.org/fileformat2.html, sections 1.5, 1.6 and 2.1; the log,
its frames and which of them were committed: section 4. Nothing here is trusted: whoever takes a row must know it for whole.
"""

from __future__ import annotations

import bisect
import collections
import dataclasses
from collections.abc import Callable, Iterator
from typing import Any

SIZES = (4096, 1024, 2048, 512, 8192, 16384, 32768, 65536)
TABLE_LEAF, INDEX_LEAF, INDEX_INNER = 0x0D, 0x0A, 0x02
PAGE_1_HEAD_BYTE, WAL_HEAD_BYTE, FRAME_HEAD_BYTE = 100, 32, 24
MOST_COLUMNS = 12  # ours: no table of a record is wider
NEWEST = 2**62
_WIDTHS = {
    0: 0,
    1: 1,
    2: 2,
    3: 3,
    4: 4,
    5: 6,
    6: 8,
    8: 0,
    9: 0,
}  # by serial type; 7, a real number, is in no table of ours


class Torn(ValueError):
    """A cell is not whole."""


@dataclasses.dataclass(frozen=True)
class Frame:
    """A page in the log: its number (from 0), its place in the log, and the place of the commit that made it count."""

    number: int
    place: int
    commit: int
    page: bytes


def sizes_to_try(data: bytes, log: bytes) -> list[int]:
    """Page sizes in the order of trust: what the head of the file says, what the log says, then the others."""
    file_byte, log_byte = int.from_bytes(data[16:18], "big"), int.from_bytes(log[8:12], "big")
    said = [65536 if file_byte == 1 else file_byte, log_byte]
    return list(dict.fromkeys([*(size for size in said if size in SIZES), *SIZES]))


def frames(log: bytes, size: int) -> list[Frame]:
    """Whole frames that a commit made count.

    A frame counts when one that ends a transaction follows in the same run of the log, told by its salt. A salt that stands
    alone is taken for a damaged one.
    """
    step = FRAME_HEAD_BYTE + size
    starts = range(WAL_HEAD_BYTE, len(log) - step + 1, step)
    salts = [log[at + 8 : at + 16] for at in starts]
    often = collections.Counter(salts)
    for place, salt in enumerate(salts):
        if often[salt] == 1 and len(salts) > 1:
            salts[place] = salts[place - 1] if place else salts[1]
    ends: dict[bytes, list[int]] = collections.defaultdict(list)
    for place, at in enumerate(starts):
        if log[at + 4 : at + 8] != b"\0\0\0\0":  # how long the file is after the commit; 0 within a transaction
            ends[salts[place]].append(place)
    found = []
    for place, at in enumerate(starts):
        known = ends[salts[place]]
        after = bisect.bisect_left(known, place)
        if after < len(known):
            number = int.from_bytes(log[at : at + 4], "big") - 1
            found.append(Frame(number, place, known[after], log[at + FRAME_HEAD_BYTE : at + step]))
    return found


class Pages:
    """All pages of one size: those of the file, and those in the log as they were at each commit."""

    def __init__(self, data: bytes, log: bytes, size: int) -> None:
        self.size = size
        self.frames = frames(log, size)
        self._data = data
        self._places: dict[int, list[int]] = collections.defaultdict(list)
        self._in_log: dict[int, list[bytes]] = collections.defaultdict(list)
        for frame in self.frames:
            self._places[frame.number].append(frame.place)
            self._in_log[frame.number].append(frame.page)

    def in_file(self) -> Iterator[tuple[int, bytes]]:
        """Numbers, from 0, and pages of the file; a cut one is filled up."""
        for number in range((len(self._data) + self.size - 1) // self.size):
            yield number, self._of_file(number)

    def page(self, number: int, upto: int) -> bytes:
        """A page as it was when the frame at a place of the log had been written; -1 leaves the log out."""
        known = bisect.bisect_right(self._places[number], upto) if number in self._places else 0
        if known:
            return self._in_log[number][known - 1]
        if not 0 <= number * self.size < len(self._data):
            raise Torn
        return self._of_file(number)

    def _of_file(self, number: int) -> bytes:
        return self._data[number * self.size : (number + 1) * self.size].ljust(self.size, b"\0")

    def read(self, take: Callable[[int, list[Any]], bool]) -> None:
        """Offer every row as its number (0 in an index) and columns to `take`, which says whether it is whole.

        A chain of overflow pages is followed as the pages are now, else as they were at the commit, else in the file alone.
        """
        for number, page in self.in_file():
            self._offer(number, page, (NEWEST, -1), take)
        for frame in self.frames:
            self._offer(frame.number, frame.page, (NEWEST, frame.commit, -1), take)

    def _offer(self, number: int, page: bytes, views: tuple[int, ...], take: Callable[[int, list[Any]], bool]) -> None:
        for at, form in cells(page, PAGE_1_HEAD_BYTE if number == 0 else 0):
            for upto in views:
                try:
                    rowid, payload, chained = self._cell(page, at, form, upto)
                    whole = take(rowid, columns(payload))
                except (Torn, IndexError, UnicodeDecodeError):
                    continue
                if whole or not chained:
                    break

    def _cell(self, page: bytes, at: int, form: int, upto: int) -> tuple[int, bytes, bool]:
        """Number of the row, its record, and whether that went on in other pages."""
        length, at = varint(page, at + (4 if form == INDEX_INNER else 0))
        rowid, at = varint(page, at) if form == TABLE_LEAF else (0, at)
        here = local_bytes(length, form, self.size)
        if at + here > self.size:
            raise Torn
        parts, missing = [page[at : at + here]], length - here
        if missing:
            check_head(parts[0], length)
        onward = int.from_bytes(page[at + here : at + here + 4], "big")
        seen = set()
        while missing > 0:
            if onward < 1 or onward in seen:
                raise Torn
            seen.add(onward)
            more = self.page(onward - 1, upto)
            parts.append(more[4 : 4 + missing])
            missing -= len(parts[-1])
            onward = int.from_bytes(more[:4], "big")
        return rowid, b"".join(parts), len(parts) > 1


def cells(page: bytes, head: int) -> Iterator[tuple[int, int]]:
    """Where the cells of a page begin that may hold rows, and the form of the page."""
    form = page[head]
    if form in (TABLE_LEAF, INDEX_LEAF, INDEX_INNER):
        first = head + (12 if form == INDEX_INNER else 8)
        count = min(int.from_bytes(page[head + 3 : head + 5], "big"), (len(page) - first) // 2)
        for n in range(count):
            yield int.from_bytes(page[first + 2 * n : first + 2 * n + 2], "big"), form


def local_bytes(length: int, form: int, size: int) -> int:
    """How many bytes of a record lie on the page of its cell; section 1.6, with no reserved bytes."""
    most = size - 35 if form == TABLE_LEAF else (size - 12) * 64 // 255 - 23
    if length <= most:
        return length
    least = (size - 12) * 32 // 255 - 23
    local = least + (length - least) % (size - 4)
    return local if local <= most else least


def varint(data: bytes, at: int) -> tuple[int, int]:
    """A whole number of one to nine bytes, and where it ends; section 1.6."""
    value = 0
    for n in range(8):
        byte = data[at + n]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + n + 1
    return value << 8 | data[at + 8], at + 9


def check_head(start: bytes, length: int) -> None:
    """Raise Torn when the head of a record does not add up to its length, before a long chain is followed for nothing."""
    head, types = _types(start)
    if head + sum(width(kind) for kind in types) != length:
        raise Torn


def _types(payload: bytes) -> tuple[int, list[int]]:
    length, at = varint(payload, 0)
    if not 1 < length <= len(payload):
        raise Torn
    types = []
    while at < length:
        kind, at = varint(payload, at)
        types.append(kind)
    if len(types) > MOST_COLUMNS:
        raise Torn
    return length, types


def width(kind: int) -> int:
    """Bytes of a value by its serial type; section 2.1."""
    if kind >= 12:
        return (kind - 12) // 2
    if kind not in _WIDTHS:
        raise Torn
    return _WIDTHS[kind]


def columns(payload: bytes) -> list[Any]:
    """The values of a record."""
    at, types = _types(payload)
    if at + sum(width(kind) for kind in types) != len(payload):
        raise Torn
    out: list[Any] = []
    for kind in types:
        raw = payload[at : at + width(kind)]
        at += len(raw)
        if kind in (8, 9):
            out.append(kind - 8)
        elif kind >= 12:
            out.append(raw.decode("utf-8") if kind % 2 else raw)
        else:
            out.append(int.from_bytes(raw, "big", signed=True) if kind else None)
    return out

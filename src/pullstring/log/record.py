"""What a record of one site can do, wherever its rows lie: append, union, redact, and read in the order of replay.

`n` counts the entries of a device, `tick` is one more than the greatest seen, `arrival` is the order in which this copy
took them and no more than a cursor. A kind of store says only how it runs a query and how it keeps a transaction.
"""

from __future__ import annotations

import abc
import contextlib
import dataclasses
import uuid
from collections.abc import Callable, Iterable, Sequence
from types import TracebackType
from typing import Any, Self

from pullstring.log.refusals import Corrupted, NoSuchEntry, RecordError
from pullstring.log.union import Marker, Speaker, United, marker_line, unite
from pullstring.model.entries import Body, Entry, StruckOut, digest, from_json, many_made
from pullstring.model.when import BadDate, When, parse_when


def random_id() -> str:
    """A name for an entry that no other device will make."""
    return uuid.uuid4().hex


@dataclasses.dataclass(frozen=True)
class Arrived:
    """What a record took after a cursor: entries and markers in the order of arrival, and the cursor to ask with next."""

    items: tuple[Entry | Marker, ...]
    arrival: int


class Record(abc.ABC):
    """An open record. Close it, or use it with `with`. It belongs to the thread that opened it."""

    where: str
    device: str | None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @abc.abstractmethod
    def close(self) -> None:
        """Let go of it; closing twice is harmless."""

    @abc.abstractmethod
    def rows(self, query: str, values: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Rows of one query, all from one state of the record; `?` stands for a value."""

    @abc.abstractmethod
    def writing(self) -> contextlib.AbstractContextManager[Speaker]:
        """One transaction: all of it is on the disk afterwards, or none of it; one writer at a time."""

    @abc.abstractmethod
    def scrub(self) -> bool:
        """Rewrite the record without its freed parts; False when a reader is in the way."""

    @property
    def site_code(self) -> str:
        """Short code of the site, as given when the record was begun."""
        return str(self.rows("SELECT value FROM meta WHERE key = 'site'")[0][0])

    @property
    def scrub_due(self) -> bool:
        """True while destroyed content may still lie in freed parts of the record, because somebody is reading it."""
        return bool(self.rows("SELECT 1 FROM meta WHERE key = 'scrub'"))

    def entries(self) -> list[Entry]:
        """All entries that hold their content, in the order of replay."""
        lines = self.rows("SELECT id, digest, line FROM entries WHERE id NOT IN (SELECT id FROM redactions)")
        broken = [row[0] for row in lines if not isinstance(row[2], str) or digest(row[2]) != row[1]]
        if broken:
            raise Corrupted(
                self.where, broken, "entries do not agree with their hash", "take another copy of this record"
            )
        with many_made():
            return sorted((from_json(row[2]) for row in lines), key=lambda entry: entry.order)

    def markers(self) -> list[Marker]:
        """What is left of redacted entries, in the order of replay."""
        named: dict[str, list[str]] = {}
        for entry_id, sha256 in self.rows(
            "SELECT entry, sha256 FROM mentions WHERE entry IN (SELECT id FROM redactions)"
        ):
            named.setdefault(entry_id, []).append(sha256)
        found = self.rows(
            "SELECT id, tick, device, n, digest, key, line, "
            "(SELECT marker FROM redactions WHERE redactions.id = entries.id) "
            "FROM entries WHERE id IN (SELECT id FROM redactions)"
        )
        broken = [row[0] for row in found if not row[6] == row[7] == marker_line(row[4])]
        if broken:
            raise Corrupted(
                self.where,
                broken,
                "redacted entries do not agree with their marker",
                "take another copy of this record",
            )
        markers = [
            Marker(name, tick, device, n, hash_of_line, key, tuple(named.get(name, ())))
            for name, tick, device, n, hash_of_line, key, *_ in found
        ]
        return sorted(markers, key=lambda m: (m.tick, m.device, m.n, m.id))

    def since(self, arrival: int) -> Arrived:
        """What came after a cursor, 0 at first. Nothing that is written later ever comes before the cursor."""
        found = self.rows(
            "SELECT arrival, id, digest, line, id IN (SELECT id FROM redactions) FROM entries "
            "WHERE arrival > ? ORDER BY arrival",
            (arrival,),
        )
        markers = {marker.id: marker for marker in self.markers()} if any(row[4] for row in found) else {}
        whole = [(markers.get(row[1]) if row[4] else from_json(row[3])) for row in found]
        return Arrived(tuple(item for item in whole if item is not None), found[-1][0] if found else arrival)

    def redacted(self) -> list[str]:
        """Ids of redacted entries, in the order of replay."""
        return [marker.id for marker in self.markers()]

    def keys(self) -> set[str]:
        """Keys of statements that the record holds, those of redacted ones included."""
        return {row[0] for row in self.rows("SELECT key FROM entries WHERE key <> ''")}

    def append(
        self,
        bodies: Sequence[Body],
        *,
        at: When | Sequence[When],
        wrote: str,
        author: str,
        visit: str = "",
        photos: Sequence[str] = (),
        keys: Sequence[str] | None = None,
        device: str | None = None,
        new_id: Callable[[], str] = random_id,
        also: Callable[[Speaker], object] | None = None,
    ) -> list[Entry]:
        """Write bodies as entries, all or none; gives the entries written.

        Parameters
        ----------
        bodies : sequence of Body
            What is said, in the order in which it is said.
        at : When or sequence of When
            When it was true on site: one date for all, or one for each body.
        wrote : str
            What the device's clock said.
        keys : sequence of str, optional
            For each body the key under which it counts once, or an empty text. A body whose key is in the
            record already is left out.
        device : str, optional
            The device that writes; else the one the store was opened with.
        new_id : callable
            Gives a fresh id at each call.
        also : callable, optional
            What must be kept with the entries, such as photographs: done in the same transaction, after them.
        """
        writer = device or self.device
        if not writer:
            raise RecordError(
                f"{self.where}: no device is named as the writer; open the record with the id of this device"
            )
        dates = [at] * len(bodies) if isinstance(at, When) else list(at)
        names = [""] * len(bodies) if keys is None else list(keys)
        if len(dates) != len(bodies) or len(names) != len(bodies):
            raise RecordError(
                f"{self.where}: {len(bodies)} bodies came with {len(dates)} dates and {len(names)} keys; "
                "give one of each for every body"
            )
        try:
            parse_when(wrote)
        except BadDate as error:
            raise RecordError(f"{self.where}: what the clock said cannot be read; {error}") from error
        with self.writing() as speaker:
            tick, n = _last(speaker, writer)
            said = self.keys() if any(names) else set()
            made: list[Entry] = []
            for body, date, key in zip(bodies, dates, names, strict=True):
                if key and key in said:
                    continue
                said.add(key)
                made.append(
                    Entry(
                        id=new_id(),
                        author=author,
                        device=writer,
                        n=n + len(made) + 1,
                        tick=tick + len(made) + 1,
                        at=date,
                        wrote=wrote,
                        body=body,
                        visit=visit,
                        photos=tuple(photos),
                        key=key,
                    )
                )
            done = unite(speaker, self.where, made)
            if done.already:
                raise RecordError(
                    f"{self.where}: an id was given out twice; nothing was written, try again with fresh ids"
                )
            if also:
                also(speaker)
        self._scrub_after(done)
        return made

    def add_entries(self, entries: Iterable[Entry], *, markers: Iterable[Marker] = ()) -> tuple[int, int]:
        """Union by id, all or none: how many were added and how many were there already."""
        with self.writing() as speaker:
            done = unite(speaker, self.where, entries, markers)
        self._scrub_after(done)
        return done.added, done.already

    def redact(
        self,
        entry_id: str,
        *,
        why: str,
        at: When,
        wrote: str,
        author: str,
        visit: str = "",
        device: str | None = None,
        new_id: Callable[[], str] = random_id,
    ) -> Entry:
        """Strike out an entry and destroy its content; a marker with its hash stays.

        The bytes of photographs that only this entry named go too. `why` must not repeat the content.
        """
        found = self.rows("SELECT line FROM entries WHERE id = ?", (entry_id,))
        if not found:
            raise NoSuchEntry(f"{self.where}: there is no entry {entry_id}; name one that the record holds")
        if entry_id in self.redacted():
            raise NoSuchEntry(
                f"{self.where}: the content of {entry_id} is destroyed already; nothing more can be redacted"
            )
        body = from_json(found[0][0]).body
        if isinstance(body, StruckOut) and body.redacted:
            raise NoSuchEntry(
                f"{self.where}: {entry_id} is itself a redaction and must stay; name the entry with the content"
            )
        [entry] = self.append(
            [StruckOut(entry_id, why, redacted=True)],
            at=at,
            wrote=wrote,
            author=author,
            visit=visit,
            device=device,
            new_id=new_id,
        )
        return entry

    def _scrub_after(self, done: United) -> None:
        if done.destroyed:
            self.scrub()


def _last(speaker: Speaker, device: str) -> tuple[int, int]:
    """Greatest tick of all and greatest count of a device."""
    tick = speaker.execute("SELECT coalesce(max(tick), 0) FROM entries").fetchone()[0]
    n = speaker.execute("SELECT coalesce(max(n), 0) FROM entries WHERE device = ?", (device,)).fetchone()[0]
    return tick, n

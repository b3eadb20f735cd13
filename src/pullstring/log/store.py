"""The record of one site in one file: SQLite from the standard library, append-only, on the disk when a call returns.

`n` counts the entries of a device, `tick` is one more than the greatest seen, `arrival` is this file's own order and
no more than a cursor. A store belongs to the thread that opened it.
"""

from __future__ import annotations

import contextlib
import sqlite3
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from pullstring.log import opening
from pullstring.log.refusals import Corrupted, NoSuchEntry, ReadOnly, RecordError
from pullstring.log.steps import APPLICATION_ID, LATEST, MAGIC, climb
from pullstring.log.union import Marker, United, unite
from pullstring.model.entries import Body, Entry, StruckOut, digest, from_json
from pullstring.model.when import When

TRIES = 5  # ours: how often a reader begins again when the file changed under it


def random_id() -> str:
    """A name for an entry that no other device will make."""
    return uuid.uuid4().hex


class Store:
    """An open record. Close it, or use it with `with`, so that the one file is whole."""

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        *,
        read_only: bool,
        device: str | None,
        found: opening.Stamp,
    ) -> None:
        self.path = path
        self.read_only = read_only
        self.device = device
        self._connection = connection
        self._found = found
        self._closed = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Fold the log into the file and let go of it; closing twice is harmless."""
        if self._closed:
            return
        self._closed = True
        try:
            if not self.read_only:
                self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        except sqlite3.Error as error:
            raise opening.refusal(self.path, error) from error
        finally:
            self._connection.close()

    @property
    def site_code(self) -> str:
        """Short code of the site, as given when the record was begun."""
        return str(self.rows("SELECT value FROM meta WHERE key = 'site'")[0][0])

    def rows(self, query: str, values: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Rows of one query, all from one state of the file, though another program may write meanwhile."""
        for _ in range(TRIES):
            try:
                self._renew()
                found = self._connection.execute(query, values).fetchall()
            except sqlite3.Error as error:
                if not self._torn():
                    raise opening.refusal(self.path, error) from error
            else:
                if not self._torn():
                    return found
        raise RecordError(f"{self.path}: the file changes faster than it can be read; wait and try again")

    def entries(self) -> list[Entry]:
        """All entries that hold their content, in the order of replay."""
        lines = self.rows("SELECT id, digest, line FROM entries WHERE id NOT IN (SELECT id FROM redactions)")
        broken = [row[0] for row in lines if digest(row[2]) != row[1]]
        if broken:
            raise Corrupted(
                self.path, broken, "entries do not agree with their hash", "take another copy of this record"
            )
        return sorted((from_json(row[2]) for row in lines), key=lambda entry: entry.order)

    def markers(self) -> list[Marker]:
        """What is left of redacted entries, in the order of replay."""
        found = self.rows(
            "SELECT id, tick, device, n, digest, key FROM entries WHERE id IN (SELECT id FROM redactions) "
            "ORDER BY tick, device, n, id"
        )
        return [Marker(*row) for row in found]

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
        """
        writer = device or self.device
        if not writer:
            raise RecordError(
                f"{self.path}: no device is named as the writer; open the record with the id of this device"
            )
        dates = [at] * len(bodies) if isinstance(at, When) else list(at)
        names = [""] * len(bodies) if keys is None else list(keys)
        if len(dates) != len(bodies) or len(names) != len(bodies):
            raise RecordError(
                f"{self.path}: {len(bodies)} bodies came with {len(dates)} dates and {len(names)} keys; "
                "give one of each for every body"
            )
        with self.writing() as connection:
            tick, n = self._last(connection, writer)
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
            done = unite(connection, str(self.path), made)
            if done.already:
                raise RecordError(
                    f"{self.path}: an id was given out twice; nothing was written, try again with fresh ids"
                )
        self._scrub_after(done)
        return made

    def add_entries(self, entries: Iterable[Entry], *, markers: Iterable[Marker] = ()) -> tuple[int, int]:
        """Union by id, all or none: how many were added and how many were there already."""
        with self.writing() as connection:
            done = unite(connection, str(self.path), entries, markers)
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

        `why` must not repeat the content.
        """
        found = self.rows("SELECT line FROM entries WHERE id = ?", (entry_id,))
        if not found:
            raise NoSuchEntry(f"{self.path}: there is no entry {entry_id}; name one that the record holds")
        if entry_id in self.redacted():
            raise NoSuchEntry(
                f"{self.path}: the content of {entry_id} is destroyed already; nothing more can be redacted"
            )
        body = from_json(found[0][0]).body
        if isinstance(body, StruckOut) and body.redacted:
            raise NoSuchEntry(
                f"{self.path}: {entry_id} is itself a redaction and must stay; name the entry with the content"
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

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of it is on the disk afterwards, or none of it."""
        if self.read_only:
            raise ReadOnly(self.path)
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise opening.refusal(self.path, error) from error

    @property
    def scrub_due(self) -> bool:
        """True while destroyed content may still lie in freed parts of the file, because somebody is reading it."""
        return bool(self.rows("SELECT 1 FROM meta WHERE key = 'scrub'"))

    def scrub(self) -> bool:
        """Rewrite the file without its freed parts; False when a reader is in the way: the next opening tries again."""
        try:
            self._connection.execute("VACUUM")
            if self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:
                return False
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                return False
            raise opening.refusal(self.path, error) from error
        with self.writing() as connection:
            connection.execute("DELETE FROM meta WHERE key = 'scrub'")
        return True

    def _scrub_after(self, done: United) -> None:
        if done.destroyed:
            self.scrub()

    @staticmethod
    def _last(connection: sqlite3.Connection, device: str) -> tuple[int, int]:
        """Greatest tick of all and greatest count of a device."""
        tick = connection.execute("SELECT coalesce(max(tick), 0) FROM entries").fetchone()[0]
        n = connection.execute("SELECT coalesce(max(n), 0) FROM entries WHERE device = ?", (device,)).fetchone()[0]
        return tick, n

    def _moved(self) -> bool:
        try:
            return self.read_only and opening.stamp(self.path) != self._found
        except OSError as error:
            raise RecordError(f"{self.path}: the file is gone; put it back and try again") from error

    def _torn(self) -> bool:
        """True when a file that was read without locks has changed meanwhile."""
        return not self._found.logged and self._moved()

    def _renew(self) -> None:
        """A reader of a file that has changed since opens it again."""
        if self._moved():
            self._connection.close()
            self._found = opening.stamp(self.path)
            self._connection = opening.connect_to_read(self.path, self._found)


def create(path: Path | str, *, site_code: str, device: str | None = None, author: str) -> Store:
    """Begin the record of a site in a new file and open it for writing; what is there already is left alone."""
    path = Path(path)
    if not site_code.strip():
        raise RecordError(f"{path}: the site has no short code; give one, for example the first letters of its name")
    try:
        path.open("xb").close()
    except FileExistsError as error:
        raise RecordError(f"{path}: there is something of that name already; choose another name") from error
    except OSError as error:
        raise RecordError(
            f"{path}: the file cannot be made ({error.strerror}); check the folder and its rights"
        ) from error
    try:
        connection = opening.connect_to_write(path)
        try:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            climb(connection, above=0)
            said = {"magic": MAGIC, "site": site_code.strip(), "begun_by": author}
            connection.executemany("INSERT INTO meta (key, value) VALUES (?, ?)", said.items())
            connection.execute("COMMIT")
            connection.execute("PRAGMA journal_mode = WAL")
        finally:
            connection.close()
    except sqlite3.Error as error:
        path.unlink(missing_ok=True)
        raise opening.refusal(path, error) from error
    return open_store(path, device=device)


def open_store(path: Path | str, *, read_only: bool = False, device: str | None = None) -> Store:
    """Open the record of a site; raises NotARecord, and leaves the file alone, when it is none."""
    path = Path(path)
    step = opening.check(path)
    try:
        found = opening.stamp(path)
        if read_only:
            return Store(path, opening.connect_to_read(path, found), read_only=True, device=device, found=found)
        connection = opening.connect_to_write(path)
        connection.execute("PRAGMA journal_mode = WAL")
    except sqlite3.Error as error:
        raise opening.refusal(path, error) from error
    store = Store(path, connection, read_only=False, device=device, found=found)
    try:
        if step < LATEST:
            with store.writing() as writing:
                climb(writing, above=int(writing.execute("PRAGMA user_version").fetchone()[0]))
        if store.scrub_due:
            store.scrub()
    except BaseException:
        connection.close()
        raise
    return store

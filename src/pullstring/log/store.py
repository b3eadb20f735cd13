"""The record of one site in one file: SQLite from the standard library, append-only, on the disk when a call returns."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from pullstring.log import opening
from pullstring.log.record import Record, random_id
from pullstring.log.refusals import ReadOnly, RecordError
from pullstring.log.steps import APPLICATION_ID, LATEST, MAGIC, climb

__all__ = ["Store", "create", "open_store", "random_id"]

TRIES = 5  # ours: how often a reader begins again when the file changed under it


class Store(Record):
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
        self.where = str(path)
        self.read_only = read_only
        self.device = device
        self._connection = connection
        self._found = found
        self._closed = False

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

"""Opening a site file without harm: what is no record is told by its first bytes, before SQLite touches it.

The header of a SQLite file: https://www.sqlite.org/fileformat2.html, section 1.3. A file that nobody writes is read as
`immutable`, so that reading leaves no side files; a file with a log beside it is read through that log.
"""

from __future__ import annotations

import dataclasses
import os
import sqlite3
import stat
from pathlib import Path

from pullstring.log.refusals import Busy, NotARecord, RecordError
from pullstring.log.steps import APPLICATION_ID, AS_STEP_2, LATEST, MAGIC, tables_at, tables_of

HEADER_BYTES = 100
WAIT_MS = 5000  # ours, assumed: how long to wait for another writer
_DAMAGED = "the file is damaged or cut short; take another copy, or what is whole: import NEW.site THIS --rescue"


@dataclasses.dataclass(frozen=True)
class Stamp:
    """By what a changed file is known again: the file, its size and time, and whether a log lies beside it."""

    file: tuple[int, int]
    size_byte: int
    changed_ns: int
    logged: bool


def stamp(path: Path) -> Stamp:
    found = os.stat(path)
    try:
        logged = os.stat(path.with_name(path.name + "-wal")).st_size > 0
    except FileNotFoundError:
        logged = False
    return Stamp((found.st_dev, found.st_ino), found.st_size, found.st_mtime_ns, logged)


def look(path: Path) -> int:
    """The step of a site file, told from its bytes alone; raises NotARecord."""
    try:
        found = os.stat(path)
        if stat.S_ISDIR(found.st_mode):
            raise NotARecord(f"{path}: this is a folder; name the site file in it")
        if not stat.S_ISREG(found.st_mode):
            raise NotARecord(f"{path}: this is no plain file; name a site file")
        with path.open("rb") as file:
            head = file.read(HEADER_BYTES)
    except FileNotFoundError as error:
        raise NotARecord(f"{path}: there is no such file; check the name, or begin a record with 'new'") from error
    except OSError as error:
        raise NotARecord(
            f"{path}: the file cannot be read ({error.strerror}); check its rights and its place"
        ) from error
    if not head:
        raise NotARecord(f"{path}: the file is empty; name a site file, or remove it and begin a record with 'new'")
    if not head.startswith(b"SQLite format 3\0"[: len(head)]):
        raise NotARecord(
            f"{path}: this is no site file but something else; name a file made with 'new', "
            "or if it was one, take what is whole: import NEW.site THIS --rescue"
        )
    if len(head) < HEADER_BYTES:
        raise NotARecord(f"{path}: {_DAMAGED}")
    if _number(head, 68) != APPLICATION_ID:
        raise NotARecord(f"{path}: this database belongs to another program; name a file made with 'new'")
    step = _number(head, 60)
    if step > LATEST:
        raise NotARecord(
            f"{path}: this record was written by a newer version of the program (step {step}, known to {LATEST}); "
            "install the newer version"
        )
    if step < 1:
        raise NotARecord(f"{path}: {_DAMAGED}")
    return step


def disagrees(path: Path) -> tuple[bool, bool]:
    """Whether a file is shorter than its header says, and whether the sizes differ at all."""
    with path.open("rb") as file:
        head = file.read(HEADER_BYTES)
    page_byte = int.from_bytes(head[16:18], "big")
    said_byte = (65536 if page_byte == 1 else page_byte) * _number(head, 28)
    found_byte = path.stat().st_size
    return found_byte < said_byte, found_byte != said_byte


def connect_to_read(path: Path, found: Stamp) -> sqlite3.Connection:
    """A connection that writes nothing into the file; one of an older step is read through views of the newest."""
    words = "?mode=ro" if found.logged else "?mode=ro&immutable=1"
    connection = sqlite3.connect(
        path.resolve().as_uri() + words, uri=True, isolation_level=None, timeout=WAIT_MS / 1000
    )
    try:
        if connection.execute("PRAGMA user_version").fetchone()[0] < LATEST:
            for view in AS_STEP_2:
                connection.execute(view)
        connection.execute("PRAGMA query_only = ON")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def connect_to_write(path: Path) -> sqlite3.Connection:
    """A connection whose commits are on the disk when they return, and which overwrites what it frees."""
    connection = sqlite3.connect(
        path.resolve().as_uri() + "?mode=rw", uri=True, isolation_level=None, timeout=WAIT_MS / 1000
    )
    connection.execute(f"PRAGMA busy_timeout = {WAIT_MS}")
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute("PRAGMA synchronous = FULL")
    return connection


def check(path: Path, *, tries: int = 3) -> int:
    """Make sure that a file is a whole record, reading only; gives its step, or raises NotARecord.

    A file that changes while it is looked at is looked at again.
    """
    step = look(path)
    found = stamp(path)
    try:
        return _check(path, step, found)
    except RecordError:
        if tries > 1 and path.exists() and stamp(path) != found:
            return check(path, tries=tries - 1)
        raise


def _check(path: Path, step: int, found: Stamp) -> int:
    shorter, differs = disagrees(path)
    if shorter and not found.logged:
        raise NotARecord(f"{path}: {_DAMAGED}")
    connection = None
    try:
        connection = connect_to_read(path, found)
        if differs and connection.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            raise NotARecord(f"{path}: {_DAMAGED}")
        if found.logged:
            step = int(connection.execute("PRAGMA user_version").fetchone()[0])
        if tables_of(connection) != tables_at(step):
            raise NotARecord(
                f"{path}: its tables are not those of a record at step {step}; take another copy of this record"
            )
        magic = connection.execute("SELECT value FROM meta WHERE key = 'magic'").fetchone()
        site = connection.execute("SELECT value FROM meta WHERE key = 'site'").fetchone()
        if magic != (MAGIC,) or site is None:
            raise NotARecord(f"{path}: it does not say which site it belongs to; take another copy of this record")
    except UnicodeDecodeError as error:
        raise NotARecord(f"{path}: {_DAMAGED}") from error
    except sqlite3.Error as error:
        raise refusal(path, error) from error
    finally:
        if connection is not None:
            connection.close()
    return step


def refusal(path: Path, error: sqlite3.Error) -> RecordError:
    """SQLite's complaint as one sentence of ours."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return Busy(path)
    words = " ".join(str(error).split())[:120]
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) or words.startswith("Could not decode"):
        return NotARecord(f"{path}: {_DAMAGED}")
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return RecordError(
            f"{path}: the file or its folder cannot be written; check their rights, or open it for reading only"
        )
    if code in (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR):
        return RecordError(
            f"{path}: the disk is full or failing ({words}); make room, or copy the record to another disk"
        )
    return RecordError(f"{path}: the record refused this ({words}); nothing was written")


def _number(head: bytes, offset: int) -> int:
    return int.from_bytes(head[offset : offset + 4], "big")

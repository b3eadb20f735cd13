"""The tables of a site file, in numbered steps. A step is never changed once released; the next one is added below.

The record is append-only by trigger. The one exception is redaction: a line may be replaced by the marker of its
own hash, and only after the marker was entered in `redactions`. An attachment may only become more private, and its
bytes may only go when redaction reaches them (or come back when an entry that was not known here names them).
"""

from __future__ import annotations

import sqlite3

from pullstring.log.union import DOOMED_PHOTOGRAPH

APPLICATION_ID = 0x50537472  # ours: "PStr"
MAGIC = "pullstring record"

_ENTRIES = """CREATE TABLE entries (
  arrival INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  tick INTEGER NOT NULL CHECK (tick >= 1),
  device TEXT NOT NULL CHECK (device <> ''),
  n INTEGER NOT NULL CHECK (n >= 1),
  digest TEXT NOT NULL CHECK (length(digest) = 64),
  key TEXT NOT NULL,
  line TEXT NOT NULL CHECK (json_valid(line))
) STRICT"""
_ATTACHMENTS = """CREATE TABLE attachments (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  privacy INTEGER NOT NULL CHECK (privacy BETWEEN 0 AND 2),
  media_type TEXT NOT NULL CHECK (media_type <> ''),
  bytes BLOB NOT NULL
) STRICT, WITHOUT ROWID"""
# INSERT OR REPLACE deletes without firing a trigger for it, so a second insert of an id is refused before it begins.
_NO_SECOND = """CREATE TRIGGER entries_no_second BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE id = NEW.id OR arrival = NEW.arrival)
BEGIN SELECT RAISE(ABORT, 'the record is append-only: this entry is already there'); END"""
_NO_DELETE = """CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'the record is append-only: nothing is deleted from {table}'); END"""
_ONLY_REDACT = """CREATE TRIGGER entries_only_redact BEFORE UPDATE ON entries
WHEN NOT (NEW.arrival = OLD.arrival AND NEW.id = OLD.id AND NEW.tick = OLD.tick
  AND NEW.device = OLD.device AND NEW.n = OLD.n AND NEW.digest = OLD.digest AND NEW.key IN (OLD.key, '')
  AND NEW.line = '{"redacted":"' || OLD.digest || '"}'
  AND EXISTS (SELECT 1 FROM redactions WHERE id = OLD.id AND marker = NEW.line))
BEGIN SELECT RAISE(ABORT, 'the record is append-only: an entry is never changed'); END"""
_REDACTIONS_STAY = """CREATE TRIGGER redactions_no_update BEFORE UPDATE ON redactions
BEGIN SELECT RAISE(ABORT, 'the record is append-only: a redaction stays'); END"""
_REDACTIONS_ONCE = """CREATE TRIGGER redactions_no_second BEFORE INSERT ON redactions
WHEN EXISTS (SELECT 1 FROM redactions WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the record is append-only: a redaction stays'); END"""
_ONLY_STRICTER = """CREATE TRIGGER attachments_only_stricter BEFORE UPDATE ON attachments
WHEN NOT (NEW.sha256 = OLD.sha256 AND NEW.bytes = OLD.bytes
  AND NEW.privacy >= OLD.privacy AND NEW.media_type <= OLD.media_type)
BEGIN SELECT RAISE(ABORT, 'the record is append-only: an attachment may only become more private'); END"""
_ATTACHED_ONCE = """CREATE TRIGGER attachments_no_second BEFORE INSERT ON attachments
WHEN EXISTS (SELECT 1 FROM attachments WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'the record is append-only: this attachment is already there'); END"""

# Step 2: what a redaction strikes and which photographs an entry names, each in a column of its own.
_ONLY_REDACT_2 = _ONLY_REDACT.replace(
    "NEW.digest = OLD.digest", "NEW.digest = OLD.digest AND NEW.strikes = OLD.strikes"
)
_ONLY_STRICTER_2 = f"""CREATE TRIGGER attachments_only_stricter BEFORE UPDATE ON attachments
WHEN NOT (NEW.sha256 = OLD.sha256 AND NEW.privacy >= OLD.privacy AND NEW.media_type <= OLD.media_type
  AND (NEW.bytes = OLD.bytes
    OR NEW.bytes = x'' AND {DOOMED_PHOTOGRAPH.format("OLD.sha256")}
    OR OLD.bytes = x'' AND NOT {DOOMED_PHOTOGRAPH.format("OLD.sha256")}))
BEGIN SELECT RAISE(ABORT, 'the record is append-only: an attachment may only become more private'); END"""
_MENTIONS = """CREATE TABLE mentions (
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
  entry TEXT NOT NULL,
  PRIMARY KEY (sha256, entry)
) STRICT, WITHOUT ROWID"""
_MENTIONS_STAY = """CREATE TRIGGER mentions_no_update BEFORE UPDATE ON mentions
BEGIN SELECT RAISE(ABORT, 'the record is append-only: a mention stays'); END"""
_STRIKES = "CASE WHEN json_extract(line, '$.body.redacted') THEN json_extract(line, '$.body.entry') ELSE '' END"
_MENTIONED = """SELECT lower(photo.value) AS sha256, entries.id AS entry
  FROM main.entries, json_each(entries.line, '$.photos') AS photo
  WHERE length(photo.value) = 64 AND photo.value NOT GLOB '*[^0-9a-f]*'
UNION SELECT lower(json_extract(line, '$.body.fields.sha256')), id FROM main.entries
  WHERE json_extract(line, '$.body.subject') LIKE 'photo:%'
  AND length(json_extract(line, '$.body.fields.sha256')) = 64
  AND lower(json_extract(line, '$.body.fields.sha256')) NOT GLOB '*[^0-9a-f]*'"""
AS_STEP_2 = (
    f"CREATE TEMP VIEW mentions AS {_MENTIONED}",
    "CREATE TEMP VIEW entries AS SELECT arrival, id, tick, device, n, digest, key, line, "
    f"{_STRIKES} AS strikes FROM main.entries",
)
"""Views of one connection that let a file of step 1 be read as one of step 2, without a byte written."""

STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "entries, redactions, attachments",
        (
            "CREATE TABLE schema (step INTEGER PRIMARY KEY, what TEXT NOT NULL) STRICT",
            "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
            _ENTRIES,
            "CREATE INDEX entries_by_device ON entries (device, n)",
            "CREATE INDEX entries_by_tick ON entries (tick)",
            "CREATE INDEX entries_redacting ON entries (json_extract(line, '$.body.entry')) "
            "WHERE json_extract(line, '$.body.redacted')",
            "CREATE TABLE redactions (id TEXT PRIMARY KEY, marker TEXT NOT NULL) STRICT",
            _ATTACHMENTS,
            _NO_SECOND,
            _ONLY_REDACT,
            _REDACTIONS_STAY,
            _REDACTIONS_ONCE,
            _ONLY_STRICTER,
            _ATTACHED_ONCE,
            *(_NO_DELETE.format(table=table) for table in ("entries", "redactions", "attachments")),
        ),
    ),
    (
        "what a redaction strikes, and the photographs that entries name",
        (
            "DROP INDEX entries_redacting",
            "DROP TRIGGER entries_only_redact",
            "DROP TRIGGER attachments_only_stricter",
            "ALTER TABLE entries ADD COLUMN strikes TEXT NOT NULL DEFAULT ''",
            f"UPDATE entries SET strikes = {_STRIKES} WHERE json_extract(line, '$.body.redacted')",
            "CREATE INDEX entries_striking ON entries (strikes) WHERE strikes <> ''",
            _MENTIONS,
            "CREATE INDEX mentions_by_entry ON mentions (entry)",
            f"INSERT INTO mentions (sha256, entry) {_MENTIONED}",
            _ONLY_REDACT_2,
            _ONLY_STRICTER_2,
            _MENTIONS_STAY,
            _NO_DELETE.format(table="mentions"),
        ),
    ),
)
LATEST = len(STEPS)


def climb(connection: sqlite3.Connection, *, above: int) -> None:
    """Take the steps above a number, inside the caller's transaction."""
    for number, (what, statements) in enumerate(STEPS[above:], start=above + 1):
        for statement in statements:
            connection.execute(statement)
        connection.execute("INSERT INTO schema (step, what) VALUES (?, ?)", (number, what))
        connection.execute(f"PRAGMA user_version = {number}")


def tables_of(connection: sqlite3.Connection) -> set[tuple[str, str, str | None]]:
    """All tables, indexes and triggers with their text."""
    return set(connection.execute("SELECT type, name, sql FROM sqlite_schema"))


def tables_at(step: int) -> set[tuple[str, str, str | None]]:
    """What `tables_of` gives for a file at a step."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        for _, statements in STEPS[:step]:
            for statement in statements:
                connection.execute(statement)
        return tables_of(connection)
    finally:
        connection.close()

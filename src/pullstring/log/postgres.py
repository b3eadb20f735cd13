"""The record of one site on a PostgreSQL server: the same rows, the same statements, its own tables and triggers.

Each site has a schema of its own, named by the caller. Numbers of a sequence are given out before a transaction is
committed, so a reader who saw 4 could miss 3 for ever; therefore writers go one by one, behind a lock that lasts as long
as their transaction, and nothing committed later has a smaller arrival. Append-only by trigger, TRUNCATE included, with
the exceptions that a site file has. Redaction rewrites the tables; the server's own log and backups are the keeper's care.

Needs psycopg 3, the optional part `postgres` of this program.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from pullstring.log.record import Record
from pullstring.log.refusals import NotARecord, RecordError
from pullstring.log.steps import LATEST, MAGIC
from pullstring.log.union import DOOMED_PHOTOGRAPH, Speaker

if TYPE_CHECKING:
    import psycopg

WAIT_MS = 5000  # ours, assumed: how long a rewriting of the tables waits for readers
_NAME = re.compile(r"[a-z][a-z0-9_]{0,62}")
_REFUSE = """CREATE OR REPLACE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the record is append-only: nothing is changed in or deleted from %', TG_TABLE_NAME; END $$"""
_ONLY_REDACT = """CREATE OR REPLACE FUNCTION only_redact() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF (NEW.arrival, NEW.id, NEW.tick, NEW.device, NEW.n, NEW.digest, NEW.strikes)
      = (OLD.arrival, OLD.id, OLD.tick, OLD.device, OLD.n, OLD.digest, OLD.strikes)
    AND NEW.key IN (OLD.key, '') AND NEW.line = '{"redacted":"' || OLD.digest || '"}'
    AND EXISTS (SELECT 1 FROM redactions WHERE id = OLD.id AND marker = NEW.line)
  THEN RETURN NEW; END IF;
  RAISE EXCEPTION 'the record is append-only: an entry is never changed';
END $$"""
_ONLY_STRICTER = f"""CREATE OR REPLACE FUNCTION only_stricter() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.sha256 = OLD.sha256 AND NEW.privacy >= OLD.privacy AND NEW.media_type <= OLD.media_type
    AND (NEW.bytes = OLD.bytes
      OR NEW.bytes = '' AND {DOOMED_PHOTOGRAPH.format("OLD.sha256")}
      OR OLD.bytes = '' AND NOT {DOOMED_PHOTOGRAPH.format("OLD.sha256")})
  THEN RETURN NEW; END IF;
  RAISE EXCEPTION 'the record is append-only: an attachment may only become more private';
END $$"""
_TABLES = (
    "CREATE TABLE meta (key text PRIMARY KEY, value text NOT NULL)",
    """CREATE TABLE entries (
      arrival bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
      id text NOT NULL UNIQUE CHECK (id <> ''),
      tick bigint NOT NULL CHECK (tick >= 1),
      device text NOT NULL CHECK (device <> ''),
      n bigint NOT NULL CHECK (n >= 1),
      digest text NOT NULL CHECK (length(digest) = 64),
      key text NOT NULL,
      line text NOT NULL CHECK (line::json IS NOT NULL),
      strikes text NOT NULL DEFAULT '')""",
    "CREATE INDEX entries_by_device ON entries (device, n)",
    "CREATE INDEX entries_by_tick ON entries (tick)",
    "CREATE INDEX entries_striking ON entries (strikes) WHERE strikes <> ''",
    "CREATE TABLE redactions (id text PRIMARY KEY, marker text NOT NULL)",
    """CREATE TABLE attachments (
      sha256 text PRIMARY KEY CHECK (length(sha256) = 64),
      privacy integer NOT NULL CHECK (privacy BETWEEN 0 AND 2),
      media_type text COLLATE "C" NOT NULL CHECK (media_type <> ''),
      bytes bytea NOT NULL)""",
    """CREATE TABLE mentions (
      sha256 text NOT NULL CHECK (length(sha256) = 64), entry text NOT NULL, PRIMARY KEY (sha256, entry))""",
    "CREATE INDEX mentions_by_entry ON mentions (entry)",
    _REFUSE,
    _ONLY_REDACT,
    _ONLY_STRICTER,
    "CREATE TRIGGER only_redact BEFORE UPDATE ON entries FOR EACH ROW EXECUTE FUNCTION only_redact()",
    "CREATE TRIGGER only_stricter BEFORE UPDATE ON attachments FOR EACH ROW EXECUTE FUNCTION only_stricter()",
    *(
        f"CREATE TRIGGER no_update BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION refuse()"
        for table in ("redactions", "mentions")
    ),
    *(
        f"CREATE TRIGGER no_{verb.lower()} BEFORE {verb} ON {table} {each} EXECUTE FUNCTION refuse()"
        for table in ("entries", "redactions", "attachments", "mentions")
        for verb, each in (("DELETE", "FOR EACH ROW"), ("TRUNCATE", "FOR EACH STATEMENT"))
    ),
)


class _Spoken:
    """A connection that takes `?` for a value, as the shared statements write it."""

    def __init__(self, connection: psycopg.Connection[tuple[Any, ...]]) -> None:
        self._connection = connection

    def execute(self, query: str, values: Sequence[Any] = (), /) -> Any:
        return self._connection.execute(query.replace("%", "%%").replace("?", "%s").encode(), values)


class ServerRecord(Record):
    """An open record on a server."""

    def __init__(
        self, connection: psycopg.Connection[tuple[Any, ...]], *, schema: str, device: str | None, where: str
    ) -> None:
        self.where = where
        self.device = device
        self._connection = connection
        self._spoken = _Spoken(connection)
        self._schema = schema

    def close(self) -> None:
        """Let go of the connection; closing twice is harmless."""
        self._connection.close()

    def rows(self, query: str, values: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Rows of one query."""
        with _told(self.where):
            return list(self._spoken.execute(query, values).fetchall())

    @contextlib.contextmanager
    def writing(self) -> Iterator[Speaker]:
        """One transaction behind the lock of this site: one writer at a time, all of it or nothing."""
        with _told(self.where), self._connection.transaction():
            self._spoken.execute(
                "SELECT pg_advisory_xact_lock(hashtextextended(?, 0))", (f"pullstring {self._schema}",)
            )
            yield self._spoken

    def scrub(self) -> bool:
        """Rewrite the tables that may hold freed rows; False when somebody is reading them: `scrub_due` stays."""
        import psycopg

        try:
            self._connection.execute(f"SET lock_timeout = {WAIT_MS}")
            self._connection.execute("VACUUM FULL entries, attachments")
        except psycopg.errors.LockNotAvailable:
            return False
        finally:
            self._connection.execute("SET lock_timeout = 0")
        with self.writing() as speaker:
            speaker.execute("DELETE FROM meta WHERE key = 'scrub'")
        return True


def create(
    words: str, *, site_code: str, author: str, schema: str = "pullstring", device: str | None = None
) -> ServerRecord:
    """Begin the record of a site in a new schema and open it; a schema that is there already is left alone.

    `words` are the connection words of the server.
    """
    connection, where = _connect(words, schema)
    try:
        with _told(where), connection.transaction():
            if not site_code.strip():
                raise RecordError(
                    f"{where}: the site has no short code; give one, for example the first letters of its name"
                )
            connection.execute(b"SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", (f"pullstring {schema}",))
            if connection.execute(b"SELECT 1 FROM pg_namespace WHERE nspname = %s", (schema,)).fetchone():
                raise RecordError(f"{where}: there is something of that name already; choose another name")
            connection.execute(f'CREATE SCHEMA "{schema}"'.encode())
            for statement in _TABLES:
                connection.execute(statement.encode())
            said = {"magic": MAGIC, "site": site_code.strip(), "begun_by": author, "step": str(LATEST)}
            for key, value in said.items():
                connection.execute(b"INSERT INTO meta (key, value) VALUES (%s, %s)", (key, value))
    except BaseException:
        connection.close()
        raise
    return ServerRecord(connection, schema=schema, device=device, where=where)


def open_record(words: str, *, schema: str = "pullstring", device: str | None = None) -> ServerRecord:
    """Open the record of a site on a server; raises NotARecord when there is none."""
    connection, where = _connect(words, schema)
    try:
        with _told(where):
            found = connection.execute(b"SELECT to_regclass(%s)", (f"{schema}.meta",)).fetchone()
            if found is None or found[0] is None:
                raise NotARecord(f"{where}: there is no record of that name on this server; begin one first")
            said = dict(connection.execute(b"SELECT key, value FROM meta").fetchall())
        if said.get("magic") != MAGIC or "site" not in said:
            raise NotARecord(f"{where}: this belongs to another program; name one that holds a record")
        if said.get("step") != str(LATEST):
            raise NotARecord(
                f"{where}: this record is at step {said.get('step')} and this program at {LATEST}; use the same version"
            )
    except BaseException:
        connection.close()
        raise
    return ServerRecord(connection, schema=schema, device=device, where=where)


def _connect(words: str, schema: str) -> tuple[psycopg.Connection[tuple[Any, ...]], str]:
    """A connection that commits each statement by itself unless told otherwise, and how the record is called."""
    if not _NAME.fullmatch(schema):
        raise RecordError(f"{schema!r} is no name for a record; use small letters, digits and _, a letter first")
    try:
        import psycopg
    except ImportError as error:
        raise RecordError("PostgreSQL needs psycopg; install this program with its part 'postgres'") from error
    where = f"PostgreSQL, {schema}"
    with _told(where):
        connection = psycopg.connect(words, autocommit=True)
        connection.execute(f'SET search_path = "{schema}"'.encode())
    return connection, where


@contextlib.contextmanager
def _told(where: str) -> Iterator[None]:
    """The server's complaint as one sentence of ours, without its connection words."""
    import psycopg

    try:
        yield
    except psycopg.OperationalError as error:
        raise RecordError(
            f"{where}: the server cannot be reached or gave up; check that it runs and try again"
        ) from error
    except psycopg.Error as error:
        said = (error.diag.message_primary or str(error)).strip()
        raise RecordError(f"{where}: the record refused this ({said}); nothing was written") from error

"""A file of an older step: read as it is without a byte written, climbed in one transaction, never half."""

from __future__ import annotations

import dataclasses
import hashlib
import multiprocessing
import os
import signal
import sqlite3
from pathlib import Path

import pytest

from pullstring.log import attachments, opening, steps
from pullstring.log.steps import APPLICATION_ID, LATEST, MAGIC, STEPS, climb, tables_at, tables_of
from pullstring.log.store import open_store
from pullstring.log.union import marker_line
from pullstring.model.entries import Noted, StruckOut, digest, to_json
from pullstring.model.refs import Ref
from tests.log.records import ENVELOPE, EYE, entry, noted

PHOTO = b"a drawn photograph"
NAME = hashlib.sha256(PHOTO).hexdigest()


def step_1(path: Path) -> Path:
    """A file as step 1 wrote it: two notes, one redacted with a photograph, its redaction."""
    rows = [
        entry("a", tick=1, n=1),
        entry("b", tick=2, n=2, body=noted("C02", words="hurtful")),
        entry("c", tick=3, n=3, body=StruckOut("b", "hurts", redacted=True)),
        entry("d", tick=4, n=4, body=noted("C03")),
    ]
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    for statement in STEPS[0][1]:
        connection.execute(statement)
    connection.execute("INSERT INTO schema (step, what) VALUES (1, ?)", (STEPS[0][0],))
    connection.execute("PRAGMA user_version = 1")
    for key, value in (("magic", MAGIC), ("site", "HUT"), ("begun_by", "ann")):
        connection.execute("INSERT INTO meta VALUES (?, ?)", (key, value))
    for one in rows:
        line = to_json(one)
        mark = digest(line)
        if one.id == "b":
            line = marker_line(mark)
            connection.execute("INSERT INTO redactions VALUES ('b', ?)", (line,))
        row = (one.id, one.tick, one.device, one.n, mark, "", line)
        connection.execute(
            "INSERT INTO entries (id, tick, device, n, digest, key, line) VALUES (?, ?, ?, ?, ?, ?, ?)", row
        )
    connection.execute("INSERT INTO attachments VALUES (?, 1, 'image/png', ?)", (NAME, PHOTO))
    connection.close()
    return path


def test_step_1__read_as_it_is_and_not_a_byte_written(tmp_path: Path) -> None:
    path = step_1(tmp_path / "old")
    before = path.read_bytes()
    with open_store(path, read_only=True) as store:
        assert [e.id for e in store.entries()] == ["a", "c", "d"] and store.redacted() == ["b"]
        assert attachments.get(store, NAME).data == PHOTO
        assert store.since(0).arrival == 4
    assert path.read_bytes() == before and [p.name for p in tmp_path.iterdir()] == ["old"]


def test_step_1__opened_for_writing_it_climbs_and_says_the_same(tmp_path: Path) -> None:
    path = step_1(tmp_path / "old")
    with open_store(path, read_only=True) as store:
        before = store.entries(), store.markers()
    with open_store(path, device="d9") as store:
        assert (store.entries(), store.markers()) == before
        assert store.rows("PRAGMA user_version") == [(LATEST,)]
        assert store.rows("SELECT id FROM entries WHERE strikes = 'b'") == [("c",)]
        store.append([noted("C04")], **ENVELOPE)
    with open_store(path) as store:
        assert len(store.entries()) == 4 and store.rows("PRAGMA integrity_check") == [("ok",)]
    connection = sqlite3.connect(path)
    assert tables_of(connection) == tables_at(LATEST)


@pytest.mark.parametrize("after", range(1, len(STEPS[1][1]) + 1))
def test_climb__stopped_in_the_middle_leaves_the_old_step_whole(tmp_path: Path, after: int) -> None:
    path = step_1(tmp_path / "old")
    connection = opening.connect_to_write(path)
    connection.execute("BEGIN IMMEDIATE")
    for statement in STEPS[1][1][:after]:
        connection.execute(statement)
    connection.close()  # as when the process dies: nothing was committed
    assert opening.check(path) == 1
    with open_store(path, device="d9") as store:
        assert [e.id for e in store.entries()] == ["a", "c", "d"]


def test_climb__is_the_same_as_a_new_file(tmp_path: Path) -> None:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.execute("PRAGMA user_version = 0")
    climb(connection, above=0)
    assert tables_of(connection) == tables_at(LATEST)


class _Stopping(tuple):
    """The statements of a step, that kill the process before one of them."""

    after = 0

    def __iter__(self):
        for number, statement in enumerate(tuple.__iter__(self)):
            if number == self.after:
                os.kill(os.getpid(), signal.SIGKILL)
            yield statement
        os.kill(os.getpid(), signal.SIGKILL)  # all done, and not yet committed


def _climb_and_die(path: Path, after: int) -> None:
    statements = _Stopping(STEPS[1][1])
    statements.after = after
    steps.STEPS = (STEPS[0], (STEPS[1][0], statements), *STEPS[2:])
    open_store(path)


@pytest.mark.parametrize("after", range(len(STEPS[1][1]) + 1))
def test_climb__a_process_killed_in_the_middle(tmp_path: Path, after: int) -> None:
    """Whatever it left in the log beside the file does not count: the file is of the old step, and climbs the next time."""
    path = step_1(tmp_path / "old")
    child = multiprocessing.get_context("fork").Process(target=_climb_and_die, args=(path, after))
    child.start()
    child.join()
    assert child.exitcode == -signal.SIGKILL
    with open_store(path, read_only=True) as store:
        assert store.rows("PRAGMA user_version") == [(1,)] and len(store.entries()) == 3
    with open_store(path, device="d9") as store:
        assert store.rows("PRAGMA user_version") == [(LATEST,)] and len(store.entries()) == 3
        assert store.rows("PRAGMA integrity_check") == [("ok",)]
    assert [p.name for p in tmp_path.iterdir()] == ["old"]


def test_climb__finds_the_photographs_that_entries_name(tmp_path: Path) -> None:
    """Redaction reaches a photograph that an entry of the old step names, in its envelope or as a note on a photograph."""
    path = step_1(tmp_path / "old")
    connection = sqlite3.connect(path, isolation_level=None)
    other = hashlib.sha256(b"another").hexdigest()
    rows = [
        dataclasses.replace(entry("p", tick=5, n=5), photos=(NAME, "no hash")),
        entry("q", tick=6, n=6, body=Noted(Ref("photo", "P1"), {"sha256": other.upper()}, EYE)),
    ]
    for one in rows:
        line = to_json(one)
        connection.execute(
            "INSERT INTO entries (id, tick, device, n, digest, key, line) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (one.id, one.tick, one.device, one.n, digest(line), "", line),
        )
    connection.execute("INSERT INTO attachments VALUES (?, 1, 'image/png', ?)", (other, b"another"))
    connection.close()
    query = "SELECT sha256, entry FROM mentions ORDER BY entry"
    with open_store(path, read_only=True) as store:
        before = store.rows(query)
    with open_store(path, device="d1") as store:
        assert store.rows(query) == before == [(NAME, "p"), (other, "q")]
        assert attachments.names(store) == sorted([NAME, other])
        for one in rows:
            store.redact(one.id, why="asked to", **ENVELOPE)
        assert attachments.names(store) == []

"""A file of an older step: read as it is without a byte written, climbed in one transaction, never half."""

from __future__ import annotations

import hashlib
import sqlite3
from pathlib import Path

import pytest

from pullstring.log import attachments, opening
from pullstring.log.steps import APPLICATION_ID, LATEST, MAGIC, STEPS, climb, tables_at, tables_of
from pullstring.log.store import open_store
from pullstring.log.union import marker_line
from pullstring.model.entries import StruckOut, digest, to_json
from tests.log.records import ENVELOPE, entry, noted

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

"""The same record on a real PostgreSQL server: the same statements, the same union, the same site."""

from __future__ import annotations

import os
import pathlib
import signal
import subprocess
import sys
import threading
import uuid

import pytest

from pullstring.log import attachments, postgres
from pullstring.log.attachments import attach
from pullstring.log.merge import merge
from pullstring.log.record import Record
from pullstring.log.refusals import Corrupted, NoSuchEntry, RecordError
from pullstring.log.store import create as create_file
from pullstring.log.union import Marker
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from tests.house.tree import SRC
from tests.log.records import ENVELOPE, counted, entry, noted


@pytest.fixture
def schema(postgres_words: str) -> str:
    return f"s{uuid.uuid4().hex[:12]}"


@pytest.fixture(scope="session")
def postgres_words(postgres: str) -> str:
    return postgres


@pytest.fixture
def record(postgres_words: str, schema: str):
    with postgres.create(postgres_words, site_code="HUT", author="ann", schema=schema, device="d1") as found:
        yield found


def state(record: Record) -> tuple[object, ...]:
    kept = [attachments.held(record, name) for name in attachments.every_name(record)]
    return record.entries(), record.markers(), [(k.sha256, k.privacy, k.media_type, k.data) for k in kept]


def test_same_words_to_file_and_server__same_record_same_site(record: Record, tmp_path) -> None:
    with create_file(tmp_path / "a", site_code="HUT", author="ann", device="d1") as file:
        for store in (record, file):
            ids = counted("a")
            store.append([noted("C01", length="3"), noted("C02")], keys=["k1", ""], new_id=ids, **ENVELOPE)
            store.append([noted("C01", colour="red")], keys=["k1"], new_id=ids, **ENVELOPE)  # said before
            attach(store, b"bytes", media_type="image/png", privacy="site")
            attach(store, b"bytes", media_type="IMAGE/JPEG", privacy="private")
            store.redact("a2", why="wrong", new_id=ids, **ENVELOPE)
        assert state(record) == state(file)
        assert len(record.entries()) == 2 and record.redacted() == ["a2"]
        sites = [replay(store.entries(), today="2026-01-01") for store in (record, file)]
        assert sites[0] == sites[1]


def test_union__any_order_and_both_ways_between_file_and_server(postgres_words: str, tmp_path) -> None:
    given = [entry(f"e{n}", tick=n, device=f"d{n % 3}", n=n, body=noted(f"C{n}")) for n in range(1, 9)]
    whole = []
    for number, order in enumerate((given, given[::-1], given[4:] + given[:4])):
        with postgres.create(postgres_words, site_code="HUT", author="a", schema=f"u{uuid.uuid4().hex[:10]}") as store:
            for one in order:
                store.add_entries([one])
            assert store.add_entries(given) == (0, 8)
            with create_file(tmp_path / str(number), site_code="HUT", author="a") as file:
                merge(file, store)
                merge(store, file)
                whole.append((state(store), state(file)))
    assert all(pair == whole[0] for pair in whole) and whole[0][0] == whole[0][1] and len(whole[0][0][0]) == 8


def test_same_id_other_content__refused_and_nothing_written(record: Record) -> None:
    record.add_entries([entry("e1", tick=1)])
    before = state(record)
    with pytest.raises(Corrupted, match="e1"):
        record.add_entries([entry("e2", tick=2, n=2), entry("e1", tick=1, body=noted("C09"))])
    assert state(record) == before


def test_redaction__follows_in_whichever_order_it_comes(postgres_words: str, schema: str, tmp_path) -> None:
    with create_file(tmp_path / "a", site_code="HUT", author="a", device="d1") as file:
        [one] = file.append([noted("C01", words="hurtful")], **ENVELOPE)
        content = Entry(**{f: getattr(one, f) for f in one.__dataclass_fields__})
        file.redact(one.id, why="hurts", **ENVELOPE)
        with postgres.create(postgres_words, site_code="HUT", author="a", schema=schema) as store:
            merge(store, file)
            store.add_entries([content])
            assert [m.id for m in store.markers()] == [one.id] and isinstance(store.markers()[0], Marker)
            found = store.rows("SELECT count(*) FROM entries WHERE line LIKE '%hurtful%'")
            assert found == [(0,)] and not store.scrub_due
            with pytest.raises(NoSuchEntry):
                store.redact(one.id, why="again", **{**ENVELOPE, "device": "x"})


@pytest.mark.parametrize(
    "words",
    [
        "UPDATE entries SET tick = 9",
        "UPDATE entries SET line = '{}'",
        "DELETE FROM entries",
        "TRUNCATE entries",
        "TRUNCATE redactions",
        "TRUNCATE attachments",
        "TRUNCATE entries, redactions, attachments, mentions",
        "UPDATE entries SET strikes = 'b'",
        "UPDATE entries SET line = '{\"redacted\":\"' || digest || '\"}'",
        "INSERT INTO entries (id, tick, device, n, digest, key, line) SELECT id, tick, device, n, digest, key, '{}' "
        "FROM entries ON CONFLICT (id) DO UPDATE SET line = excluded.line",
        "DELETE FROM mentions",
        "UPDATE mentions SET entry = 'z'",
        "DELETE FROM redactions",
        "UPDATE redactions SET marker = ''",
        "DELETE FROM attachments",
        "UPDATE attachments SET privacy = 0",
        "UPDATE attachments SET bytes = ''",
    ],
)
def test_append_only__the_server_itself_refuses(record: Record, words: str) -> None:
    shown = attach(record, b"x", media_type="image/png", privacy="private")
    record.append([noted("C01")], photos=[shown], **ENVELOPE)
    [gone] = record.append([noted("C02")], **ENVELOPE)
    record.redact(gone.id, why="x", **ENVELOPE)
    before = state(record)
    with pytest.raises(RecordError, match="append-only|more private"), record.writing() as speaker:
        speaker.execute(words)
    assert state(record) == before


def test_two_writers__a_reader_with_a_cursor_misses_nothing(postgres_words: str, record: Record, schema: str) -> None:
    """Numbers are given out before the commit; without the lock a reader would pass over a late smaller one."""
    failed: list[BaseException] = []

    def write(device: str) -> None:
        try:
            with postgres.open_record(postgres_words, schema=schema, device=device) as own:
                for n in range(40):
                    own.append([noted(f"C{n}"), noted(f"X{n}")], **ENVELOPE)
        except BaseException as error:
            failed.append(error)

    writers = [threading.Thread(target=write, args=(d,)) for d in ("left", "right")]
    for one in writers:
        one.start()
    seen: list[str] = []
    cursor = 0
    while any(w.is_alive() for w in writers) or not seen:
        news = record.since(cursor)
        assert news.arrival >= cursor
        cursor = news.arrival
        seen += [item.id for item in news.items]
    seen += [item.id for item in record.since(cursor).items]
    for one in writers:
        one.join()
    assert not failed
    assert sorted(seen) == sorted(e.id for e in record.entries()) and len(seen) == len(set(seen)) == 160
    assert {e.device: e.n for e in record.entries() if e.n == 80} == {"left": 80, "right": 80}


WRITER = """
import sys
from pullstring.log import postgres
from tests.log.records import ENVELOPE, noted
with postgres.open_record(sys.argv[1], schema=sys.argv[2], device=sys.argv[3]) as store:
    while True:
        for one in store.append([noted("C01"), noted("C02")], **ENVELOPE):
            sys.stdout.write(one.id + "\\n")
        sys.stdout.flush()
"""


def test_kill__no_acknowledged_entry_is_lost_and_no_half_append_is_there(
    postgres_words: str, record: Record, schema: str
) -> None:
    said: list[str] = []
    env = dict(os.environ, PYTHONPATH=os.pathsep.join([str(SRC.parent), str(SRC.parent.parent)]))
    for number in range(4):
        command = [sys.executable, "-c", WRITER, postgres_words, schema, f"k{number % 2}"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as child:
            assert child.stdout is not None
            said += [child.stdout.readline().strip() for _ in range(8)]
            child.send_signal(signal.SIGKILL)
            said += [line for line in child.stdout.read().split("\n")[:-1] if line]
    there = {e.id for e in record.entries()}
    assert set(said) <= there and len(there) % 2 == 0 and len(said) >= 32


def test_open__what_is_none_is_told_in_a_sentence(postgres_words: str, record: Record, schema: str) -> None:
    with pytest.raises(RecordError, match="there is no record of that name"):
        postgres.open_record(postgres_words, schema="nothing_here")
    with pytest.raises(RecordError, match="small letters"):
        postgres.open_record(postgres_words, schema='x"; DROP')
    with pytest.raises(RecordError, match="already"):
        postgres.create(postgres_words, site_code="HUT", author="a", schema=schema)
    with pytest.raises(RecordError, match="cannot be reached"):
        postgres.open_record("host=127.0.0.1 port=1 dbname=x connect_timeout=2", schema="x")


def on_disk(record: Record) -> bytes | None:
    """All bytes of the record's tables as the server keeps them; None when they are out of reach."""
    folder = pathlib.Path(record.rows("SHOW data_directory")[0][0])
    if os.environ.get("PULLSTRING_TEST_PG") or not os.access(folder / "base", os.R_OK):
        return None
    record.rows("SELECT 1")
    with record.writing() as speaker:
        query = "SELECT pg_relation_filepath(t.oid), pg_relation_filepath(nullif(reltoastrelid, 0)) FROM pg_class t "
        query += "WHERE relnamespace = current_schema()::regnamespace AND relkind = 'r'"
        files = [name for row in speaker.execute(query).fetchall() for name in row if name]
    record._spoken.execute("CHECKPOINT")
    return b"".join((folder / name).read_bytes() for name in files)


def test_redact__words_and_photograph_go_from_the_tables_and_stay_away(record: Record, tmp_path) -> None:
    shown = attach(record, b"picture of Quagmire-cupboard", media_type="image/png", privacy="open")
    [said] = record.append([noted("C01", remark="Quagmire-cupboard")], photos=[shown], **ENVELOPE)
    with create_file(tmp_path / "copy", site_code="HUT", author="a", device="d2") as copy:
        merge(copy, record)
        assert attachments.names(copy) == [shown]
        before = on_disk(record)
        record.redact(said.id, why="asked to", **ENVELOPE)
        if before is not None:
            assert before.count(b"Quagmire") >= 2 and b"Quagmire" not in on_disk(record)
        assert not record.scrub_due and record.redacted() == [said.id]
        assert (attachments.names(record), attachments.destroyed(record)) == ([], [shown])
        assert record.markers()[0].photos == (shown,)
        merge(record, copy)  # the copy holds both still
        assert (record.redacted(), attachments.names(record)) == ([said.id], [])
        merge(copy, record)
        assert state(copy) == state(record)


def test_redact__a_reader_in_the_way_leaves_the_scrub_due(
    postgres_words: str, record: Record, schema: str, monkeypatch
) -> None:
    monkeypatch.setattr(postgres, "WAIT_MS", 100)
    [said] = record.append([noted("C01")], **ENVELOPE)
    with postgres.open_record(postgres_words, schema=schema) as reader, reader._connection.transaction():
        assert len(reader.entries()) == 1
        record.redact(said.id, why="asked to", **ENVELOPE)
        assert record.scrub_due
    assert record.scrub() and not record.scrub_due


def test_two_writers__the_second_waits_until_the_first_has_committed(
    postgres_words: str, record: Record, schema: str
) -> None:
    """What would go wrong with bare sequences: a number taken first and committed last."""
    order: list[str] = []

    def second() -> None:
        with postgres.open_record(postgres_words, schema=schema, device="d2") as mine:
            mine.append([noted("C02")], new_id=lambda: "late", **ENVELOPE)
            order.append("second")

    thread = threading.Thread(target=second)
    with record.writing() as speaker:
        values = ("early", 1, "d1", 1, "0" * 64, "", "{}")
        speaker.execute(
            "INSERT INTO entries (id, tick, device, n, digest, key, line) VALUES (?, ?, ?, ?, ?, ?, ?)", values
        )
        thread.start()
        thread.join(timeout=0.5)
        assert thread.is_alive()
        order.append("first")
    thread.join(timeout=10)
    assert order == ["first", "second"]
    assert [row[0] for row in record.rows("SELECT id FROM entries ORDER BY arrival")] == ["early", "late"]


def test_text__signs_that_a_server_might_take_for_its_own(record: Record) -> None:
    [said] = record.append([noted("C01", mark="\u00e4\u03a9 7 % ? %s \\ ' \x00")], **ENVELOPE)
    assert record.entries() == [said]

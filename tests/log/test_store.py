"""The store: order, counters, append-only, reading without a trace, a writer that is killed."""

import sqlite3

import pytest

from pullstring.log.opening import connect_to_write
from pullstring.log.refusals import Corrupted, ReadOnly, RecordError, SecretRefused, UnusableEntry
from pullstring.log.secret_names import is_secret_name
from pullstring.log.store import open_store
from pullstring.model.columns import kinds
from pullstring.model.entries import Did, to_json
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when
from tests.log.records import DAY, ENVELOPE, EYE, begin, counted, entry, folder_bytes, noted


def ids(store):
    return [one.id for one in store.entries()]


def test_append__each_entry_its_own_tick_and_count(tmp_path):
    with begin(tmp_path / "s") as store:
        first = store.append([noted("C01"), noted("C02")], **ENVELOPE)
        second = store.append([noted("C03")], device="d2", **ENVELOPE)
        third = store.append([noted("C04")], **ENVELOPE)
    assert [(e.device, e.n, e.tick) for e in first + second + third] == [
        ("d1", 1, 1),
        ("d1", 2, 2),
        ("d2", 1, 3),
        ("d1", 3, 4),
    ]


def test_append__survives_closing_as_the_same_lines(tmp_path):
    with begin(tmp_path / "s") as store:
        written = store.append(
            [noted("C01", mark="\u00e4\u03a9 7"), noted("C02")], visit="v1", photos=["ab"], **ENVELOPE
        )
    with open_store(tmp_path / "s", read_only=True) as again:
        assert [to_json(e) for e in again.entries()] == [to_json(e) for e in written]
    assert [p.name for p in tmp_path.iterdir()] == ["s"]


def test_append__tick_follows_what_came_from_elsewhere(tmp_path):
    with begin(tmp_path / "s") as store:
        store.add_entries([entry("far", tick=41, device="d9", n=7)])
        [mine] = store.append([noted("C01")], **ENVELOPE)
        [theirs] = store.append([noted("C01")], device="d9", **ENVELOPE)
    assert (mine.n, mine.tick) == (1, 42)
    assert (theirs.n, theirs.tick) == (8, 43)


def test_entries__order_is_tick_device_count_not_arrival(tmp_path):
    with begin(tmp_path / "s") as store:
        for one in (
            entry("c", tick=2, device="b"),
            entry("b", tick=2, device="a", n=2),
            entry("a", tick=1, device="z"),
            entry("d", tick=2, device="a", n=1),
        ):
            store.add_entries([one])
        assert ids(store) == ["a", "d", "b", "c"]


def test_append__dates_one_for_each_body(tmp_path):
    with begin(tmp_path / "s") as store:
        dates = [parse_when("1994"), parse_when("2025-02-03")]
        made = store.append([noted("C01"), noted("C02")], **{**ENVELOPE, "at": dates})
        assert [e.at.text for e in made] == ["1994", "2025-02-03"]
        with pytest.raises(RecordError, match="2 bodies came with 1 dates"):
            store.append([noted("C01"), noted("C02")], **{**ENVELOPE, "at": dates[:1]})
        assert len(store.entries()) == 2


def test_append__a_key_counts_once(tmp_path):
    with begin(tmp_path / "s") as store:
        bodies = [noted("C01"), noted("C02"), noted("C03")]
        assert len(store.append(bodies, keys=["k1", "", "k1"], **ENVELOPE)) == 2
        assert len(store.append(bodies, keys=["k1", "", "k2"], **ENVELOPE)) == 2
        assert store.keys() == {"k1", "k2"}


def test_append__without_a_device_is_refused(tmp_path):
    begin(tmp_path / "s").close()
    with open_store(tmp_path / "s") as store, pytest.raises(RecordError, match="no device"):
        store.append([noted("C01")], **ENVELOPE)


def test_append__an_id_given_twice_writes_nothing(tmp_path):
    with begin(tmp_path / "s") as store:
        with pytest.raises(RecordError):
            store.append([noted("C01"), noted("C02")], new_id=lambda: "same", **ENVELOPE)
        store.append([noted("C01")], new_id=lambda: "x", **ENVELOPE)
        with pytest.raises(RecordError):
            store.append([noted("C09")], new_id=lambda: "x", **ENVELOPE)
        assert ids(store) == ["x"]


def test_add_entries__again_adds_nothing(tmp_path):
    with begin(tmp_path / "s") as store:
        three = [entry(name, tick=tick) for tick, name in enumerate("abc", 1)]
        assert store.add_entries(three[:2]) == (2, 0)
        assert store.add_entries(three) == (1, 2)
        assert store.add_entries(three) == (0, 3)


def test_add_entries__same_id_other_content_is_refused_wholly(tmp_path):
    with begin(tmp_path / "s") as store:
        store.add_entries([entry("a", tick=1), entry("b", tick=2)])
        with pytest.raises(Corrupted) as caught:
            store.add_entries([entry("new", tick=3), entry("b", tick=2, body=noted("C77")), entry("a", tick=9)])
        assert caught.value.ids == ("a", "b")
        assert ids(store) == ["a", "b"]
        with pytest.raises(Corrupted):
            store.add_entries([entry("n", tick=3), entry("n", tick=4)])
        assert ids(store) == ["a", "b"]


def test_add_entries__a_tick_that_would_end_all_counting_is_refused(tmp_path):
    with begin(tmp_path / "s") as store:
        with pytest.raises(UnusableEntry):
            store.add_entries([entry("a", tick=2**62)])
        assert store.append([noted("C01")], **ENVELOPE)[0].tick == 1


DIRECT = [
    "UPDATE entries SET line = '{}'",
    "UPDATE entries SET tick = 9",
    "UPDATE entries SET id = 'z'",
    "UPDATE entries SET line = '{\"redacted\":\"' || digest || '\"}'",  # the marker, but no redaction entered
    "UPDATE OR REPLACE entries SET id = 'b' WHERE id = 'a'",
    "DELETE FROM entries",
    "DELETE FROM entries WHERE id = 'a'",
    "INSERT OR REPLACE INTO entries SELECT arrival, id, tick, device, n, digest, key, '{}', '' FROM entries WHERE id = 'a'",
    "UPDATE entries SET strikes = 'b'",
    "REPLACE INTO entries (id, tick, device, n, digest, key, line) "
    "SELECT id, 7, device, n, digest, key, line FROM entries",
    "INSERT INTO entries (id, tick, device, n, digest, key, line) SELECT id, tick, device, n, digest, key, '{}' "
    "FROM entries WHERE true ON CONFLICT (id) DO UPDATE SET line = excluded.line",
]


@pytest.mark.parametrize("statement", DIRECT)
def test_triggers__refuse_direct_change(tmp_path, statement):
    with begin(tmp_path / "s") as store:
        store.add_entries([entry("a", tick=1), entry("b", tick=2)])
        before = [to_json(e) for e in store.entries()]
    connection = sqlite3.connect(tmp_path / "s", isolation_level=None)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement)
    connection.close()
    with open_store(tmp_path / "s", read_only=True) as store:
        assert [to_json(e) for e in store.entries()] == before


def test_triggers__a_redaction_must_be_the_marker_of_that_hash(tmp_path):
    with begin(tmp_path / "s") as store:
        store.add_entries([entry("a", tick=1)])
    connection = sqlite3.connect(tmp_path / "s", isolation_level=None)
    other = '{"redacted":"' + "0" * 64 + '"}'
    connection.execute("INSERT INTO redactions VALUES ('a', ?)", (other,))
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute("UPDATE entries SET line = ?", (other,))
    for statement in (
        "DELETE FROM redactions",
        "UPDATE redactions SET marker = ''",
        "REPLACE INTO redactions VALUES ('a', '')",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            connection.execute(statement)
    connection.close()


def test_settings__log_ahead_full_sync_and_overwriting(tmp_path):
    begin(tmp_path / "s").close()
    connection = connect_to_write(tmp_path / "s")
    said = {
        name: connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "busy_timeout", "secure_delete")
    }
    connection.close()
    assert said == {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "secure_delete": 1}


def test_read_only__leaves_every_byte_and_no_side_file(tmp_path):
    with begin(tmp_path / "s") as store:
        store.append([noted("C01")], **ENVELOPE)
    before = folder_bytes(tmp_path)
    with open_store(tmp_path / "s", read_only=True) as store:
        assert len(store.entries()) == 1
        assert folder_bytes(tmp_path) == before
        with pytest.raises(ReadOnly):
            store.append([noted("C02")], device="d1", **ENVELOPE)
    assert folder_bytes(tmp_path) == before


def test_read_only__sees_what_a_writer_adds_meanwhile(tmp_path):
    begin(tmp_path / "s").close()
    with open_store(tmp_path / "s", read_only=True) as reader:
        assert reader.entries() == []
        with open_store(tmp_path / "s", device="d2") as writer:
            writer.append([noted("C01")], **ENVELOPE)
            assert len(reader.entries()) == 1
            main = (tmp_path / "s").read_bytes()
            with open_store(tmp_path / "s", read_only=True) as second:
                assert len(second.entries()) == 1
            assert (tmp_path / "s").read_bytes() == main
            writer.append([noted("C02")], **ENVELOPE)
            assert len(reader.entries()) == 2
        assert len(reader.entries()) == 2


def test_entries__a_line_changed_behind_the_triggers_is_named(tmp_path):
    with begin(tmp_path / "s") as store:
        store.add_entries([entry("a", tick=1, body=noted("C01", colour="grey")), entry("b", tick=2)])
    whole = (tmp_path / "s").read_bytes()
    place = whole.index(b'"colour":"grey"', whole.index(b'"id":"a"') - 400)
    (tmp_path / "s").write_bytes(whole[:place] + b'"colour":"pink"' + whole[place + 15 :])
    with open_store(tmp_path / "s", read_only=True) as store, pytest.raises(Corrupted) as caught:
        store.entries()
    assert len(caught.value.ids) == 1


@pytest.mark.parametrize(
    "field",
    [
        "password",
        "PIN",
        "alarm code",
        "Alarm-Code",
        "passphrase",
        "key code",
        "keyCode",
        "wpa",
        "wifi_password",
        "WPA2",
        "sim pin",
        "pass phrase",
    ],
)
def test_secrets__refused_and_nothing_written(tmp_path, field):
    with begin(tmp_path / "s") as store:
        for body in (
            noted("C02", **{field: "Xyzzy99"}),
            Did("set", Ref("unit", "D01"), None, {field: "Xyzzy99"}, EYE),
        ):
            with pytest.raises(SecretRefused, match="is a secret and would stand in plain") as caught:
                store.append([noted("C01"), body], **ENVELOPE)
            assert "Xyzzy99" not in str(caught.value)
        with pytest.raises(SecretRefused):
            store.add_entries([entry("a", tick=1, body=noted("C02", **{field: "Xyzzy99"}))])
        assert store.entries() == []
    assert b"Xyzzy99" not in (tmp_path / "s").read_bytes()


@pytest.mark.parametrize("field", ["pins", "spin", "pin_count", "colour_code", "key", "passes", "grade", "code"])
def test_secrets__ordinary_names_pass(field):
    assert not is_secret_name(field)


def test_secrets__no_column_of_the_tables_is_refused():
    columns = {(column.name, column.type) for table in kinds().values() for column in table.columns}
    assert len(columns) > 30
    assert [name for name, kind in sorted(columns) if is_secret_name(name) and kind != "secret"] == []


def test_create__what_is_there_is_left_alone(tmp_path):
    (tmp_path / "s").write_text("words")
    with pytest.raises(RecordError, match="already"):
        begin(tmp_path / "s")
    assert (tmp_path / "s").read_text() == "words"
    with pytest.raises(RecordError, match="cannot be made"):
        begin(tmp_path / "no" / "s")


def test_counted_ids__as_passed_in(tmp_path):
    with begin(tmp_path / "s ?#%20.x") as store:
        store.append([noted("C01"), noted("C02")], new_id=counted("a"), **ENVELOPE)
        assert ids(store) == ["a1", "a2"]
        assert store.entries()[0].at == DAY
    assert [p.name for p in tmp_path.iterdir()] == ["s ?#%20.x"]

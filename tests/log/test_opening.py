"""Files that are no record: one sentence each, and not a byte changed, reading or writing."""

import contextlib
import itertools
import multiprocessing
import os
import sqlite3

import pytest

from pullstring.log.merge import merge
from pullstring.log.refusals import Busy, NotARecord, RecordError
from pullstring.log.steps import LATEST
from pullstring.log.store import open_store
from tests.log.records import ENVELOPE, begin, folder_bytes, noted


def whole(path):
    with begin(path) as store:
        for number in range(60):
            store.append([noted(f"C{number}", mark="x" * 300)], **ENVELOPE)


def stranger(path):
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE entries (id)")
    connection.commit()
    connection.close()


def stranger_with_log(path):
    """A stranger's database whose writer was killed: its log must not be folded in by us."""
    other = path.with_name("other")
    connection = sqlite3.connect(other, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("CREATE TABLE t (a)")
    path.write_bytes(other.read_bytes())
    path.with_name(path.name + "-wal").write_bytes(other.with_name("other-wal").read_bytes())
    connection.close()
    other.unlink()


def cut(path, keep):
    whole(path)
    data = path.read_bytes()
    path.write_bytes(data[: keep(len(data))])


def changed(path, *statements):
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def newer(path):
    whole(path)
    changed(path, f"PRAGMA user_version = {LATEST + 1}")


def without_guard(path):
    whole(path)
    changed(path, "DROP TRIGGER entries_no_delete")


def of_no_site(path):
    whole(path)
    changed(path, "DELETE FROM meta WHERE key = 'site'")


def longer(path):
    """A page lost in the middle and something added at the end: the size alone does not tell."""
    whole(path)
    data = path.read_bytes()
    path.write_bytes(data[:-8192] + b"\xff" * 4096 + data[-4096:] + b"\0" * 4096)


BAD = {
    "missing": (lambda path: None, "no such file"),
    "folder": (lambda path: path.mkdir(), "this is a folder"),
    "pipe": (os.mkfifo, "no plain file"),
    "empty": (lambda path: path.write_bytes(b""), "the file is empty"),
    "text": (lambda path: path.write_text("tag,colour\nC01,grey\n" * 50), "something else"),
    "short text": (lambda path: path.write_text("hello"), "something else"),
    "stranger": (stranger, "another program"),
    "stranger with log": (stranger_with_log, "another program"),
    "cut in half": (lambda path: cut(path, lambda size: size // 2), "damaged or cut short"),
    "cut by a page": (lambda path: cut(path, lambda size: size - 4096), "damaged or cut short"),
    "cut by a byte": (lambda path: cut(path, lambda size: size - 1), "damaged or cut short"),
    "cut in its header": (lambda path: cut(path, lambda size: 70), "damaged or cut short"),
    "cut in its first word": (lambda path: cut(path, lambda size: 7), "damaged or cut short"),
    "longer and torn": (longer, "damaged or cut short"),
    "newer": (newer, "newer version"),
    "without a guard": (without_guard, "its tables are not those"),
    "of no site": (of_no_site, "which site"),
}


@pytest.mark.parametrize("read_only", [True, False], ids=["reading", "writing"])
@pytest.mark.parametrize("name", BAD)
def test_open__no_record_is_told_and_untouched(tmp_path, name, read_only):
    make, words = BAD[name]
    path = tmp_path / "site"
    make(path)
    before = folder_bytes(tmp_path)
    with pytest.raises(NotARecord, match=words) as caught:
        open_store(path, read_only=read_only)
    assert folder_bytes(tmp_path) == before
    said = str(caught.value)
    assert said.startswith(f"{path}: ")
    assert "\n" not in said and ";" in said  # one line; what is wrong; what would be right


@pytest.mark.parametrize("name", ["text", "stranger", "newer", "cut in half"])
def test_merge__no_record_changes_neither_file(tmp_path, name):
    (tmp_path / "bad").mkdir()
    BAD[name][0](tmp_path / "bad" / "site")
    before = folder_bytes(tmp_path / "bad")
    with begin(tmp_path / "mine") as store:
        with pytest.raises(NotARecord):
            merge(store, tmp_path / "bad" / "site")
        assert store.entries() == []
    assert folder_bytes(tmp_path / "bad") == before


def test_open__longer_but_sound_is_read(tmp_path):
    whole(tmp_path / "site")
    with (tmp_path / "site").open("ab") as file:
        file.write(b"\0" * 4096)
    with open_store(tmp_path / "site", read_only=True) as store:
        assert len(store.entries()) == 60


def test_open__a_step_number_beside_the_tables(tmp_path):
    whole(tmp_path / "site")
    with open_store(tmp_path / "site", read_only=True) as store:
        assert [row[0] for row in store.rows("SELECT step FROM schema ORDER BY step")] == list(range(1, LATEST + 1))
        assert store.rows("PRAGMA user_version") == [(LATEST,)]
        assert store.site_code == "HUT"


def keep_writing(path):
    """Open, write two entries that belong together, close, again and again: the log comes and goes."""
    for number in itertools.count(1):
        with contextlib.suppress(Busy), open_store(path, device="w") as store:
            store.append([noted(f"C{number}", mark="x" * 900), noted(f"D{number}", mark="y" * 900)], **ENVELOPE)


def test_read_only__never_a_torn_reading_while_another_process_writes(tmp_path):
    """A file without a log is read without locks; what was read while it changed is thrown away and read again."""
    begin(tmp_path / "s").close()
    child = multiprocessing.get_context("fork").Process(target=keep_writing, args=(tmp_path / "s",))
    child.start()
    counts, unlogged, torn, gave_up = [], 0, 0, 0
    try:
        with open_store(tmp_path / "s", read_only=True) as reader:
            seen = reader._torn

            def counted():
                nonlocal torn
                found = seen()
                torn += found
                return found

            reader._torn = counted
            while (torn < 5 or unlogged < 20) and len(counts) < 5000:
                try:
                    entries = reader.entries()
                except RecordError as error:
                    assert "faster than it can be read" in str(error)
                    gave_up += 1
                    continue
                unlogged += not reader._found.logged
                counts.append(len(entries))
                assert [e.n for e in entries] == list(range(1, len(entries) + 1)) and len(entries) % 2 == 0
    finally:
        child.kill()
        child.join()
    assert counts == sorted(counts) and counts[-1] > counts[0]
    assert torn >= 5 and unlogged >= 20  # it did happen, or nothing was shown
    assert gave_up <= len(counts) // 10


def write_once(path):
    with open_store(path, device="w") as store:
        store.append([noted("C900", mark="x" * 3000), noted("C901", mark="y" * 3000)], **ENVELOPE)


def test_read_only__a_file_that_changes_in_the_middle_of_a_reading_is_read_again(tmp_path):
    """Another process writes after half of the rows were read; what was read before and after does not go together."""
    whole(tmp_path / "s")
    steps = itertools.count()

    def in_the_middle():
        if next(steps) == 4:
            child = multiprocessing.get_context("fork").Process(target=write_once, args=(tmp_path / "s",))
            child.start()
            child.join()
            assert child.exitcode == 0
        return 0

    with open_store(tmp_path / "s", read_only=True) as reader:
        assert not reader._found.logged
        reader._connection.set_progress_handler(in_the_middle, 100)
        entries = reader.entries()
    assert next(steps) > 4
    assert len(entries) == 62 and {e.device for e in entries} == {"d1", "w"}

"""Damaged site files: what lay on pages that were not touched is rescued, and nothing that was not in the record appears.

Where an entry lies is found without reading the file format: the bytes of its line are looked for, page by page.
"""

import contextlib
import hashlib
import random
import re
import shutil
import sqlite3

import pytest

from pullstring.log import attachments
from pullstring.log.refusals import Corrupted, NotARecord
from pullstring.log.rescue import rescued
from pullstring.log.store import create, open_store
from pullstring.model.entries import StruckOut, to_json
from tests.log.records import ENVELOPE, begin, folder_bytes, noted
from tests.tiers import FRESH_SEED, slow

PAGE = 4096  # the page size of SQLite's own choice since 3.12


def picture(number):
    return random.Random(number).randbytes(800 + 2500 * number)


def build(path):
    """A record as use would leave it: short and long entries, redacted ones, photographs, read and written in turns."""
    dice = random.Random(7)
    with begin(path) as store:
        for number in range(160):
            size = dice.choice((20, 200, 200, 900, 3000, 9000, 20_000) if number % 20 == 0 else (20, 200, 600))
            text = "".join(chr(dice.choice((*range(97, 123), 0xE4, 0x3A9))) for _ in range(size))
            store.append([noted(f"C{number}", words=text)], device=f"d{number % 2}", **ENVELOPE)
        for number in range(6):
            privacy = attachments.PRIVACY[number % 3]
            photo = attachments.attach(store, picture(number), media_type="image/png", privacy=privacy)
            store.append([noted(f"P{number}")], photos=[photo], **ENVELOPE)
        for entry in store.entries()[3:60:15]:
            store.redact(entry.id, why="asked to", **ENVELOPE)


class Truth:
    """What a sound record holds, and on which pages of its bytes each entry and attachment lies."""

    def __init__(self, path, data):
        with open_store(path, read_only=True) as store:
            self.entries = {e.id: e for e in store.entries()}
            self.markers = set(store.markers())
            self.items = {name: attachments.get(store, name) for name in attachments.names(store)}
        self.pages = [data[at : at + PAGE] for at in range(0, len(data), PAGE)]
        self.of_entry = {name: self.lies_on(to_json(e).encode(), b"") for name, e in self.entries.items()}
        rank = {"open": b"", "site": b"", "private": b"\2"}  # 0 and 1 take no byte
        self.of_item = {n: self.lies_on(i.data, rank[i.privacy] + b"image/png") for n, i in self.items.items()}

    def lies_on(self, content, between):
        """Pages that hold the start of the content behind its hash, or else a piece of it behind a page's number."""
        start = hashlib.sha256(content).hexdigest().encode() + between + content[:40]
        found = set()
        for number, page in enumerate(self.pages):
            last = content.rfind(page[4:20])
            if start in page or (last > 40 and page[4:].startswith(content[last : last + PAGE - 4])):
                found.add(number)
        assert found
        return found

    def check(self, found, touched):
        """Nothing false; nothing untouched left out."""
        for entry in found.entries:
            assert to_json(entry) == to_json(self.entries[entry.id])
        assert {m.id for m in found.markers} <= {m.id for m in self.markers}
        assert {(m.id, m.tick, m.n, m.device, m.digest) for m in found.markers} <= {
            (m.id, m.tick, m.n, m.device, m.digest) for m in self.markers
        }
        for item in found.attachments:
            assert item.data == self.items[item.sha256].data
        got, items = {e.id for e in found.entries}, {i.sha256 for i in found.attachments}
        assert {name for name, pages in self.of_entry.items() if not pages & touched} <= got
        assert {name for name, pages in self.of_item.items() if not pages & touched} <= items
        if got != set(self.entries):
            assert found.lost
        return got


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The bytes of a sound record, and the truth on it."""
    path = tmp_path_factory.mktemp("whole") / "site"
    build(path)
    data = path.read_bytes()
    assert data[16:18] == PAGE.to_bytes(2, "big")
    truth = Truth(path, data)
    spread = [len(pages) for pages in truth.of_entry.values()]
    assert min(spread) == 1 and max(spread) >= 5 and len(truth.pages) > 60  # some on one page, some on chains of pages
    assert {len(pages) for pages in truth.of_item.values()} >= {1, 2, 3}
    return data, truth


def rescue(tmp_path, data):
    path = tmp_path / "damaged"
    path.write_bytes(data)
    return rescued(path)


def none_left(tmp_path, data, truth, touched):
    """What is found, where to find nothing at all is allowed only if nothing could be expected."""
    try:
        return truth.check(rescue(tmp_path, data), touched)
    except NotARecord as error:
        assert "not one whole entry" in str(error)
        assert all(pages & touched for pages in (*truth.of_entry.values(), *truth.of_item.values()))
        return set()


def test_sound__everything_and_nothing_lost(tmp_path, whole):
    data, truth = whole
    found = rescue(tmp_path, data)
    assert truth.check(found, set()) == set(truth.entries)
    assert set(found.markers) == truth.markers and len(truth.markers) == 4
    assert {i.sha256: i for i in found.attachments} == truth.items
    assert (found.site_code, found.lost) == ("HUT", ())


@pytest.mark.parametrize("filled", [b"\0", b"\xff"], ids=["zeros", "ones"])
def test_one_page_gone__only_what_lay_on_it_is_lost(tmp_path, whole, filled):
    data, truth = whole
    lost = 0
    for number in range(len(truth.pages)):
        bent = data[: number * PAGE] + filled * PAGE + data[(number + 1) * PAGE :]
        got = truth.check(rescue(tmp_path, bent), {number})
        lost += len(set(truth.entries) - got)
    assert lost > 100  # every short entry is lost with its page once; else nothing was shown


def test_head_gone__guesses_the_page_size(tmp_path, whole):
    data, truth = whole
    for bent in (bytes(100) + data[100:], bytes(PAGE) + data[PAGE:], b"not a record" + data[12:]):
        found = rescue(tmp_path, bent)
        assert truth.check(found, {0}) == set(truth.entries)
        assert set(found.markers) == truth.markers and found.site_code == "HUT"


@pytest.mark.parametrize("said", [512, 8192, 32768, 1, 4097, 0], ids=str)
def test_head_lies_about_the_page_size(tmp_path, whole, said):
    data, truth = whole
    found = rescue(tmp_path, data[:16] + said.to_bytes(2, "big") + data[18:])
    assert truth.check(found, {0}) == set(truth.entries)
    assert {i.sha256 for i in found.attachments} == set(truth.items)


def test_cut__at_page_borders_and_between(tmp_path, whole):
    data, truth = whole
    dice = random.Random(1)
    cuts = [*range(PAGE, len(data), 5 * PAGE), *(dice.randrange(len(data)) for _ in range(25)), 0, 1, 99, 100, 5000]
    most = 0
    for cut in cuts:
        touched = set(range(cut // PAGE, len(truth.pages)))
        most = max(most, len(none_left(tmp_path, data[:cut], truth, touched)))
    assert most > 100


def test_cut__in_front(tmp_path, whole):
    """The first half is gone, by whole pages and by any byte: entries on one page are found by their bare bytes."""
    data, truth = whole
    half = len(truth.pages) // 2
    for cut in (half * PAGE, half * PAGE + 1234):
        short = {n for n, pages in truth.of_entry.items() if len(pages) == 1 and min(pages) > cut // PAGE}
        found = rescue(tmp_path, data[cut:])
        assert short <= {e.id for e in found.entries} and short
        assert all(to_json(e) == to_json(truth.entries[e.id]) for e in found.entries)


def flips(tmp_path, whole, rounds, dice):
    data, truth = whole
    for _ in range(rounds):
        bent = bytearray(data)
        pages = dice.sample(range(len(truth.pages)), dice.choice((1, 1, 2, 5)))
        for number in pages:
            for _ in range(dice.choice((1, 3, 40))):
                place = number * PAGE + (dice.randrange(12) if dice.random() < 0.3 else dice.randrange(PAGE))
                bent[place] = dice.randrange(256)
        none_left(tmp_path, bytes(bent), truth, set(pages))


def test_flipped_bytes__in_any_page(tmp_path, whole):
    flips(tmp_path, whole, 25, random.Random(2))


@slow("40 s, four hundred draws of flipped bytes")
def test_flipped_bytes__fresh_draw(tmp_path, whole):
    flips(tmp_path, whole, 400, random.Random(FRESH_SEED))


def test_every_byte_of_the_first_hundred(tmp_path, whole):
    data, truth = whole
    for place in range(100):
        bent = data[:place] + bytes([data[place] ^ 0x55]) + data[place + 1 :]
        assert truth.check(rescue(tmp_path, bent), {0}) == set(truth.entries)


def test_schema_page__overwritten_with_words(tmp_path, whole):
    data, truth = whole
    found = rescue(tmp_path, data[:100] + (b"words " * PAGE)[: PAGE - 100] + data[PAGE:])
    assert truth.check(found, {0}) == set(truth.entries) and found.site_code == "HUT"


def test_random_pages__overwritten_by_other_pages_and_by_noise(tmp_path, whole):
    data, truth = whole
    dice = random.Random(3)
    for _ in range(20):
        pages = dice.sample(range(len(truth.pages)), dice.randrange(1, 20))
        bent = bytearray(data)
        for number in pages:
            other = truth.pages[dice.randrange(len(truth.pages))] if dice.random() < 0.5 else dice.randbytes(PAGE)
            bent[number * PAGE : (number + 1) * PAGE] = other
        none_left(tmp_path, bytes(bent), truth, set(pages))


def test_page_of_an_entry__its_head_alone_flipped(tmp_path, whole):
    """The page is no leaf any more, but the bytes of its entries are whole, so they are taken all the same."""
    data, truth = whole
    number = next(min(pages) for name, pages in truth.of_entry.items() if len(pages) == 1 and min(pages) > 10)
    short = {name for name, pages in truth.of_entry.items() if pages == {number}}
    bent = data[: number * PAGE] + bytes(8) + data[number * PAGE + 8 :]
    assert short <= truth.check(rescue(tmp_path, bent), {number}) and short


def test_a_line_that_disagrees_with_its_hash__is_not_taken(tmp_path, whole):
    data, truth = whole
    place = data.index(b'"words":"', 9 * PAGE) + 12
    bent = data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :]
    found = rescue(tmp_path, bent)
    assert truth.check(found, {place // PAGE}) < set(truth.entries)
    assert len(found.entries) == len(truth.entries) - 1
    assert re.fullmatch(r"the entries that came as number \d+ cannot be read", found.lost[0])


def test_marker__a_flipped_count_is_not_believed(tmp_path):
    """The indexes still say how it was."""
    with create(tmp_path / "s", site_code="HUT", author="ann", device="dev") as store:
        store.append([noted(f"C{n}") for n in range(200)], **ENVELOPE)
        [marked] = [e for e in store.entries() if e.n == 150]
        store.redact(marked.id, why="x", **ENVELOPE)
    data = (tmp_path / "s").read_bytes()
    row = data.index(marked.id.encode() + bytes([0]) + bytes([150]) + b"dev")  # id, tick in two bytes, device
    found = rescue(tmp_path, data[: row + 33] + bytes([151]) + data[row + 34 :])
    assert found.markers == () and len(found.entries) == 200
    assert marked.id not in {e.id for e in found.entries}
    assert [e.body.entry for e in found.entries if isinstance(e.body, StruckOut)] == [marked.id]  # it still redacts


@pytest.mark.parametrize(("place", "bit"), [("n", 0x03), ("tick", 0x10), ("device", 0x02), ("", 0)], ids=str)
def test_marker__without_any_index_it_fits_among_its_devices_entries(tmp_path, whole, place, bit):
    data, truth = whole
    marker = min((m for m in truth.markers if m.device == "d0"), key=lambda m: m.tick)
    row = data.index(marker.id.encode() + bytes([marker.tick]) + b"d0" + bytes([marker.n]))
    at = row + {"tick": 32, "device": 34, "n": 35, "": 0}[place]
    indexes = {
        n
        for n, page in enumerate(truth.pages)
        if page[0] in (2, 10) and not any(n in p for p in truth.of_item.values())
    }
    bent = bytearray(data)
    bent[at] ^= bit
    for number in indexes:
        bent[number * PAGE : (number + 1) * PAGE] = bytes(PAGE)
    found = rescue(tmp_path, bytes(bent))
    truth.check(found, indexes | {at // PAGE})
    assert {m.id for m in found.markers} == {m.id for m in truth.markers} - ({marker.id} if place else set())


def test_marker__an_id_that_nothing_else_knows_is_not_believed(tmp_path, whole):
    """The table of redactions is gone; what redacts the entry and the index of ids still tell it."""
    data, truth = whole
    marker = min(truth.markers, key=lambda m: m.tick)
    row = data.index(marker.id.encode() + bytes([marker.tick]) + marker.device.encode())
    table = {data.index((m.id + '{"redacted":').encode()) // PAGE for m in truth.markers}
    bent = bytearray(data)
    for number in table:
        bent[number * PAGE : (number + 1) * PAGE] = bytes(PAGE)
    assert set(rescue(tmp_path, bytes(bent)).markers) == truth.markers
    bent[row + 4] = ord("#")
    found = rescue(tmp_path, bytes(bent))
    truth.check(found, table | {row // PAGE})
    assert set(found.markers) == truth.markers - {marker}


def with_log(tmp_path, before, after):
    """A record whose last entries stand only in its log, as a writer that was killed would leave it."""
    path = tmp_path / "s"
    with begin(path) as store:
        store.append([noted(f"C{n}", words="a" * 300) for n in range(before)], **ENVELOPE)
    with open_store(path, device="d1") as store:
        for n in range(after):
            store.append([noted(f"L{n}", words="b" * (300 if n % 7 else 9000))], **ENVELOPE)
        lines = {e.id: to_json(e) for e in store.entries()}
        old = {e.id for e in store.entries() if str(e.body.subject).startswith("cable:C")}
        for end in ("", "-wal"):
            shutil.copy(tmp_path / f"s{end}", tmp_path / f"killed{end}")
    return tmp_path / "killed", lines, old


def ids_of(path, lines):
    found = rescued(path)
    assert all(to_json(e) == lines[e.id] for e in found.entries)
    return {e.id for e in found.entries}


def test_log__sound_is_read_through(tmp_path):
    path, lines, _ = with_log(tmp_path, 80, 60)
    assert ids_of(path, lines) == set(lines)
    assert rescued(path).lost == ()


def test_log__gone_leaves_what_the_file_held(tmp_path):
    path, lines, old = with_log(tmp_path, 80, 60)
    path.with_name("killed-wal").unlink()
    assert ids_of(path, lines) == old


def test_log__alone_is_left(tmp_path):
    """The file is zeros: all that was written since the log began lies in its frames, with overflow pages."""
    path, lines, old = with_log(tmp_path, 80, 60)
    path.write_bytes(bytes(path.stat().st_size))
    assert ids_of(path, lines) >= set(lines) - old
    path.write_bytes(b"")
    assert ids_of(path, lines) >= set(lines) - old


def test_log__its_head_or_any_frame_bent(tmp_path):
    path, lines, old = with_log(tmp_path, 80, 60)
    beside = path.with_name("killed-wal")
    log = beside.read_bytes()
    path.write_bytes(bytes(PAGE) + path.read_bytes()[PAGE:])
    dice = random.Random(4)
    beside.write_bytes(bytes(32) + log[32:])
    assert ids_of(path, lines) == set(lines)
    for _ in range(25):
        frame = dice.randrange((len(log) - 32) // (PAGE + 24))
        at = 32 + frame * (PAGE + 24)
        begin_at, length = dice.choice(((at, 24), (at + 8, 8), (at + 24, PAGE), (at + 24 + 50, 3000)))
        beside.write_bytes(log[:begin_at] + dice.randbytes(length) + log[begin_at + length :])
        there = ids_of(path, lines)
        assert old <= there
        # each frame of a leaf repeats the entries of the frames before it, so at most its own long one is gone
        assert len(set(lines) - there) <= 1


def test_log__the_salt_of_one_frame_bent_loses_nothing(tmp_path):
    """Its page is whole, and the frames around it tell that it was committed."""
    path, lines, _ = with_log(tmp_path, 10, 12)
    path.write_bytes(bytes(PAGE) + path.read_bytes()[PAGE:])
    beside = path.with_name("killed-wal")
    log = beside.read_bytes()
    for at in range(32, len(log), PAGE + 24):
        beside.write_bytes(log[: at + 8] + b"\x13\x57" * 4 + log[at + 16 :])
        assert ids_of(path, lines) == set(lines)


def test_borders__lengths_where_a_row_just_fits_its_page(tmp_path):
    """Rows of a table go on in other pages from 4062 bytes on, attachments from 1003: section 1.6 of the file format."""
    with begin(tmp_path / "s") as store:
        line = len(to_json(store.append([noted("C00", words="")], **ENVELOPE)[0]))
        store.append([noted(f"C{n + 10}", words="w" * (4062 - line - 100 - 60 + n)) for n in range(80)], **ENVELOPE)
        for n in range(60):
            data = random.Random(n).randbytes(1003 - 64 - 9 - 30 + n)
            attachments.attach(store, data, media_type="image/png", privacy="open")
        entries, names = store.entries(), attachments.names(store)
        rows = [
            row[0] + len(row[1]) + 32 + 64 + 2 + 2 + 11  # line, id, hash, device, count and tick; head and its types
            for row in store.rows("SELECT length(line), device FROM entries WHERE length(line) > 3000")
        ]
    assert min(rows) < 4062 - 10 and max(rows) > 4062 + 10
    data = (tmp_path / "s").read_bytes()
    assert (
        sum(data[at] == 2 for at in range(0, len(data), PAGE)) >= 1
    )  # pages of attachments above the leaves hold rows too
    found = rescue(tmp_path, bytes(PAGE) + data[PAGE:])
    assert list(found.entries) == entries
    assert [item.sha256 for item in found.attachments] == names


def test_log__what_was_never_committed_is_not_taken(tmp_path):
    """A transaction too large for memory is written to the log before it is committed."""
    path = tmp_path / "s"
    with begin(path) as store:
        store.append([noted("C01")], **ENVELOPE)
        connection = store._connection
        connection.execute("PRAGMA cache_size = 5")
        connection.execute("BEGIN IMMEDIATE")
        for n in range(40):
            line = to_json(store.entries()[0]).replace("C01", f"X{n}").replace(store.entries()[0].id, f"never{n}")
            digest = hashlib.sha256(line.encode()).hexdigest()
            row = (f"never{n}", 5, "d1", 5 + n, digest, "", line)
            connection.execute(
                "INSERT INTO entries (id, tick, device, n, digest, key, line) VALUES (?, ?, ?, ?, ?, ?, ?)", row
            )
        shutil.copy(path, tmp_path / "killed")
        shutil.copy(tmp_path / "s-wal", tmp_path / "killed-wal")
        connection.execute("ROLLBACK")
    assert b"never39" in (tmp_path / "killed-wal").read_bytes() or b"never20" in (tmp_path / "killed-wal").read_bytes()
    (tmp_path / "killed").write_bytes(bytes(PAGE) + (tmp_path / "killed").read_bytes()[PAGE:])
    assert len(rescued(tmp_path / "killed").entries) == 1


def test_redacted__words_in_an_older_page_of_the_log_stay_away(tmp_path):
    """A copy taken while a reader kept the old pages from being overwritten."""
    path = tmp_path / "s"
    with begin(path) as store:
        photo = attachments.attach(store, b"Quagmire picture", media_type="image/png", privacy="open")
        [said] = store.append([noted("C01", words="Quagmire")], photos=[photo], **ENVELOPE)
        reader = sqlite3.connect(path, isolation_level=None)
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM entries").fetchone()
        store.scrub = lambda: False  # as if the power went before the rewriting
        store.redact(said.id, why="asked to", **ENVELOPE)
        shutil.copy(path, tmp_path / "d")
        shutil.copy(tmp_path / "s-wal", tmp_path / "d-wal")
        reader.close()
    assert b"Quagmire" in (tmp_path / "d").read_bytes() + (tmp_path / "d-wal").read_bytes()
    (tmp_path / "d").write_bytes(bytes(PAGE) + (tmp_path / "d").read_bytes()[PAGE:])
    found = rescued(tmp_path / "d")
    assert [m.id for m in found.markers] == [said.id] and found.attachments == ()
    assert "Quagmire" not in "".join(map(to_json, found.entries)) and len(found.entries) == 1


@pytest.mark.parametrize("content", [b"", b"\0" * 9000, b"tag,colour\n" * 999, random.Random(6).randbytes(70_000)])
def test_no_record__is_told(tmp_path, content):
    with pytest.raises(NotARecord, match="not one whole entry"):
        rescue(tmp_path, content)
    with pytest.raises(NotARecord, match="cannot be read"):
        rescued(tmp_path)
    with pytest.raises(NotARecord, match="cannot be read"):
        rescued(tmp_path / "missing")


def test_reading__writes_nothing(tmp_path, whole):
    data, _ = whole
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "damaged").write_bytes(data[: len(data) // 2])
    before = folder_bytes(folder)
    rescued(folder / "damaged")
    assert folder_bytes(folder) == before


def test_step_1__an_older_file_is_rescued_too(tmp_path):
    from tests.log.test_steps import NAME, step_1

    path = step_1(tmp_path / "old")
    for bent in (path.read_bytes(), bytes(PAGE) + path.read_bytes()[PAGE:]):
        found = rescue(tmp_path, bent)
        assert [e.id for e in found.entries] == ["a", "c", "d"] and [m.id for m in found.markers] == ["b"]
        assert [i.sha256 for i in found.attachments] == [NAME] and found.site_code == "HUT"


@pytest.mark.parametrize("bit", [0x01, 0x20], ids=["another hash", "no hash"])
def test_a_bent_hash_of_what_was_redacted__is_not_taken(tmp_path, whole, bit):
    """SQLite finds such a file sound: no index holds the hash. The line beside it and the table of redactions still tell it."""
    data, truth = whole
    marker = min(truth.markers, key=lambda m: m.id)
    place = next(found.start() for found in re.finditer((marker.digest + marker.key).encode() + b'{"red', data)) + 30
    bent = data[:place] + bytes([data[place] ^ bit]) + data[place + 1 :]
    found = rescue(tmp_path, bent)
    with contextlib.closing(sqlite3.connect(tmp_path / "damaged")) as file:
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert truth.check(found, {place // PAGE}) >= set(truth.entries) - {marker.id}
    assert set(found.markers) == truth.markers - {marker}
    with open_store(tmp_path / "damaged", read_only=True) as store, pytest.raises(Corrupted, match=marker.id):
        store.markers()

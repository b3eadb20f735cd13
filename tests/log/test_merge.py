"""Merging: the same record whatever the order of copies; redactions follow; attachments by hash."""

import contextlib
import dataclasses
import itertools
import pathlib
import shutil
import sqlite3
import tempfile

import hypothesis
import pytest
from hypothesis import strategies as st

from pullstring.log import attachments
from pullstring.log.merge import merge
from pullstring.log.refusals import AnotherSite, Corrupted, NoSuchEntry, RecordError
from pullstring.log.store import create, open_store
from pullstring.model.entries import Noted, StruckOut, digest, to_json
from pullstring.model.refs import Ref
from tests.log.records import ENVELOPE, EYE, begin, entry, noted
from tests.tiers import FRESH_SEED, slow

WORDS = "Quagmire-cupboard"
POOL = [
    entry(f"e{k}", tick=1 + k // 2, device="abc"[k % 3], n=1 + k // 3, body=noted(f"C{k}", mark=f"m{k}"))
    for k in range(7)
]
POOL += [
    entry("s1", tick=9, device="a", n=9, body=StruckOut("e1", "private", redacted=True)),
    entry("s2", tick=9, device="b", n=9, body=StruckOut("s1", "no", redacted=True)),  # a redaction is never redacted
    entry("s3", tick=9, device="c", n=9, body=StruckOut("e2", "mistaken")),
]
SUBSETS = st.lists(st.integers(0, len(POOL) - 1), unique=True, max_size=len(POOL))


def state(path):
    """All that a reader can see of a record, as text."""
    with open_store(path, read_only=True) as store:
        return state_of(store)


def state_of(record):
    kept = [attachments.held(record, name) for name in attachments.every_name(record)]
    return (
        [to_json(e) for e in record.entries()],
        record.markers(),
        [(a.sha256, a.privacy, a.media_type, a.destroyed) for a in kept],
    )


def made(path, picks):
    with begin(path) as store:
        for k in picks:
            store.add_entries([POOL[k]])
    return path


def merged(folder, name, *copies):
    with begin(folder / name) as store:
        for copy in copies:
            merge(store, copy)
    return state(folder / name)


@contextlib.contextmanager
def scratch():
    with tempfile.TemporaryDirectory() as folder:
        yield pathlib.Path(folder)


def union_laws(a, b, c):
    with scratch() as folder:
        copies = [made(folder / name, picks) for name, picks in zip("abc", (a, b, c), strict=True)]
        states = [merged(folder, f"o{k}", *order) for k, order in enumerate(itertools.permutations(copies))]
        assert all(one == states[0] for one in states)
        assert merged(folder, "twice", *copies, *copies) == states[0]
        with open_store(copies[1]) as store:
            merge(store, copies[2])
        assert merged(folder, "right", copies[0], copies[1]) == states[0]
        together = {POOL[k].id for k in (*a, *b, *c)}
        lines, markers, _ = states[0]
        gone = {"e1"} & together if "s1" in together else set()
        assert {marker.id for marker in markers} == gone
        assert lines == [to_json(e) for e in sorted(POOL, key=lambda e: e.order) if e.id in together - gone]


@hypothesis.settings(max_examples=8)
@hypothesis.given(SUBSETS, SUBSETS, SUBSETS)
@hypothesis.example([0, 1, 2], [7, 1], [8, 7, 9])
@hypothesis.example([1], [7], [1])
def test_union__all_six_orders_give_the_same_lines(a, b, c):
    union_laws(a, b, c)


@slow("12 s, a new draw of sixty sets in all six orders")
@hypothesis.seed(FRESH_SEED)
@hypothesis.settings(max_examples=60, derandomize=False)
@hypothesis.given(SUBSETS, SUBSETS, SUBSETS)
def test_union__fresh_draw(a, b, c):
    union_laws(a, b, c)


def test_merge__counts_what_came(tmp_path):
    made(tmp_path / "a", [0, 1]), made(tmp_path / "b", [1, 2, 3])
    with open_store(tmp_path / "a") as store:
        assert merge(store, tmp_path / "b").__dict__ == {
            "added": 2,
            "already": 1,
            "redacted": 0,
            "attachments": 0,
            "scrubbed": True,
        }
        assert merge(store, tmp_path / "a").already == 4  # with itself


def test_merge__same_id_other_content_changes_nothing(tmp_path):
    made(tmp_path / "a", [0, 1])
    with begin(tmp_path / "b") as other:
        other.add_entries([entry("fresh", tick=5), entry("e1", tick=5)])
        attachments.attach(other, b"picture", media_type="image/png", privacy="site")
    before = state(tmp_path / "a")
    with open_store(tmp_path / "a") as store, pytest.raises(Corrupted) as caught:
        merge(store, tmp_path / "b")
    assert caught.value.ids == ("e1",)
    assert state(tmp_path / "a") == before


def test_merge__another_site_is_refused(tmp_path):
    made(tmp_path / "a", [0])
    create(tmp_path / "b", site_code="MILL", author="ann").close()
    with open_store(tmp_path / "a") as store, pytest.raises(AnotherSite, match="MILL, not of HUT"):
        merge(store, tmp_path / "b")


def test_merge__reads_a_copy_that_is_being_written(tmp_path):
    with begin(tmp_path / "a") as mine, begin(tmp_path / "b", device="d2") as theirs:
        theirs.append([noted("C01")], **ENVELOPE)
        assert merge(mine, tmp_path / "b").added == 1


def with_words(path):
    """A record whose words were also shuffled about by many neighbours, as a used file's would be."""
    with begin(path) as store:
        for k in range(40):
            store.append([noted(f"C{k}", mark=f"{k} " * 90)], **ENVELOPE)
        store.append(
            [noted("C90", remark=WORDS + " " * 200)],
            new_id=lambda: "gone",
            keys=["told by hand " + WORDS],
            **ENVELOPE,
        )
        for k in range(40):
            store.append([noted(f"C1{k}", mark=f"{k} " * 90)], **ENVELOPE)
    assert WORDS.encode() in path.read_bytes()
    return path


def nowhere(folder, name):
    """The words are in neither the file nor its log."""
    found = [p for p in folder.iterdir() if p.name.startswith(name)]
    assert found
    return all(WORDS.encode() not in p.read_bytes() for p in found)


def test_redact__bytes_go_marker_and_hash_stay(tmp_path):
    path = with_words(tmp_path / "s")
    with open_store(path, device="d1") as store:
        [line] = [to_json(e) for e in store.entries() if e.id == "gone"]
        strike = store.redact("gone", why="asked to", **ENVELOPE)
        assert nowhere(tmp_path, "s")  # while the record is still open
        assert store.redacted() == ["gone"]
        assert store.markers()[0].digest == digest(line)
        assert store.rows("SELECT line FROM entries WHERE id = 'gone'") == [(f'{{"redacted":"{digest(line)}"}}',)]
        assert len(store.entries()) == 81 and strike in store.entries()
        assert not store.scrub_due
    assert nowhere(tmp_path, "s")
    with open_store(path, read_only=True) as store:
        assert store.redacted() == ["gone"]


def test_redact__bytes_go_from_the_log_of_the_same_session(tmp_path):
    with begin(tmp_path / "s") as store:
        for k in range(100):
            store.append([noted(f"C{k}", mark="y" * 2000)], **ENVELOPE)
        store.append([noted("C900", remark=WORDS)], new_id=lambda: "gone", **ENVELOPE)
        assert WORDS.encode() in (tmp_path / "s-wal").read_bytes()
        store.redact("gone", why="asked to", **ENVELOPE)
        assert nowhere(tmp_path, "s")


def test_redact__what_lies_in_freed_parts_goes_too(tmp_path):
    """A copy of the words left behind by a program that does not overwrite what it frees."""
    path = with_words(tmp_path / "s")
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA secure_delete = OFF")
    connection.execute("INSERT INTO schema VALUES (99, ?)", (WORDS,))
    connection.execute("DELETE FROM schema WHERE step = 99")
    connection.close()
    with open_store(path, device="d1") as store:
        store.redact("gone", why="asked to", **ENVELOPE)
    assert nowhere(tmp_path, "s")


def test_redact__a_reader_in_the_way_leaves_the_scrub_due(tmp_path, monkeypatch):
    monkeypatch.setattr("pullstring.log.opening.WAIT_MS", 50)
    with_words(tmp_path / "s")
    with open_store(tmp_path / "s", device="d1") as store:
        store.append([noted("C01")], **ENVELOPE)
        reader = sqlite3.connect(tmp_path / "s", isolation_level=None)
        reader.execute("BEGIN")
        assert reader.execute("SELECT count(*) FROM entries").fetchone() == (82,)
        store.redact("gone", why="asked to", **ENVELOPE)
        assert store.scrub_due
        reader.close()
    with open_store(tmp_path / "s") as store:
        assert not store.scrub_due
    assert nowhere(tmp_path, "s")


def test_redact__key_that_is_a_hash_stays(tmp_path):
    with begin(tmp_path / "s") as store:
        [first] = store.append([noted("C01")], keys=["a" * 64], **ENVELOPE)
        store.redact(first.id, why="asked to", **ENVELOPE)
        assert store.append([noted("C01")], keys=["a" * 64], **ENVELOPE) == []


def test_redact__twice_unknown_or_a_redaction_is_refused(tmp_path):
    with begin(tmp_path / "s") as store:
        [first] = store.append([noted("C01")], **ENVELOPE)
        strike = store.redact(first.id, why="asked to", **ENVELOPE)
        for name in (first.id, "nobody", strike.id):
            with pytest.raises(NoSuchEntry):
                store.redact(name, why="asked to", **ENVELOPE)
        assert store.entries() == [strike]


def test_merge__redaction_destroys_the_copy_that_still_holds_it(tmp_path):
    path = with_words(tmp_path / "mine")
    shutil.copy(path, tmp_path / "theirs")
    with open_store(path, device="d1") as store:
        store.redact("gone", why="asked to", **ENVELOPE)
    with open_store(tmp_path / "theirs") as store:
        report = merge(store, path)
        assert (report.added, report.already, report.redacted, report.scrubbed) == (1, 81, 1, True)
        assert nowhere(tmp_path, "theirs")
    assert state(tmp_path / "theirs") == state(path)


def test_merge__content_never_comes_back(tmp_path):
    path = with_words(tmp_path / "mine")
    shutil.copy(path, tmp_path / "old")
    with open_store(path, device="d1") as store:
        store.redact("gone", why="asked to", **ENVELOPE)
        with open_store(tmp_path / "old", read_only=True) as old:
            assert store.add_entries(old.entries()) == (0, 81)
        assert merge(store, tmp_path / "old").redacted == 0
        assert store.redacted() == ["gone"]
    assert nowhere(tmp_path, "mine")
    with begin(tmp_path / "third") as third:  # the redaction first, the content later
        merge(third, path)
        assert third.redacted() == ["gone"]
        merge(third, tmp_path / "old")
    assert nowhere(tmp_path, "third")
    assert state(tmp_path / "third") == state(path)


def test_redact__a_scrub_that_was_cut_off_is_done_at_the_next_opening(tmp_path, monkeypatch):
    path = with_words(tmp_path / "s")
    with monkeypatch.context() as patch:
        patch.setattr("pullstring.log.store.Store.scrub", lambda self: False)  # as if the power went here
        with open_store(path, device="d1") as store:
            store.redact("gone", why="asked to", **ENVELOPE)
            assert store.scrub_due
    with open_store(path) as store:
        assert not store.scrub_due
        assert nowhere(tmp_path, "s")


def test_attach__same_bytes_once_and_only_stricter(tmp_path):
    with begin(tmp_path / "s") as store:
        name = attachments.attach(store, b"abc", media_type="image/jpeg", privacy="site")
        # SHA-256 of "abc": FIPS 180-4, the one-block example published beside it
        assert name == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        assert attachments.attach(store, b"abc", media_type="image/jpeg", privacy="open") == name
        assert attachments.get(store, name).privacy == "site"
        attachments.attach(store, b"abc", media_type="image/jpeg", privacy="private")
        found = attachments.get(store, name)
        assert (found.privacy, found.media_type, found.data) == ("private", "image/jpeg", b"abc")
        assert attachments.names(store) == [name]
        with pytest.raises(RecordError, match="open, site, private"):
            attachments.attach(store, b"x", media_type="image/jpeg", privacy="secret")
        with pytest.raises(RecordError, match="no attachment"):
            attachments.get(store, "0" * 64)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM attachments",
        "UPDATE attachments SET privacy = 0",
        "UPDATE attachments SET bytes = x'00'",
        "REPLACE INTO attachments SELECT sha256, 0, media_type, bytes FROM attachments",
    ],
)
def test_attach__triggers_refuse_direct_change(tmp_path, statement):
    with begin(tmp_path / "s") as store:
        attachments.attach(store, b"abc", media_type="image/jpeg", privacy="site")
        with pytest.raises(RecordError, match="append-only"), store.writing() as connection:
            connection.execute(statement)
        assert len(attachments.names(store)) == 1


def test_merge__attachments_in_all_orders(tmp_path):
    for name, privacy, media in (
        ("a", "open", "image/png"),
        ("b", "private", "image/jpeg"),
        ("c", "site", "image/webp"),
    ):
        with begin(tmp_path / name) as store:
            attachments.attach(store, b"shared", media_type=media, privacy=privacy)
            attachments.attach(store, name.encode(), media_type=media, privacy=privacy)
    orders = itertools.permutations([tmp_path / name for name in "abc"])
    states = [merged(tmp_path, f"o{k}", *order) for k, order in enumerate(orders)]
    assert all(one == states[0] for one in states)
    assert len(states[0][2]) == 4
    assert (attachments.hashlib.sha256(b"shared").hexdigest(), "private", "image/jpeg", False) in states[0][2]


def photographed(path):
    """A record with three photographs: one that one entry names, one that two name, one that a note on a photo names."""
    with begin(path) as store:
        shown = [
            attachments.attach(store, f"picture {n} Quagmire".encode(), media_type="image/png", privacy=privacy)
            for n, privacy in enumerate(("open", "private", "site"))
        ]
        store.add_entries(
            [
                dataclasses.replace(entry("one", tick=1, n=1), photos=(shown[0], shown[1])),
                dataclasses.replace(entry("two", tick=2, n=2), photos=(shown[1],)),
                entry("three", tick=3, n=3, body=Noted(Ref("photo", "P1"), {"sha256": shown[2].upper()}, EYE)),
            ]
        )
    return shown


def words_of(path):
    """Which pictures' bytes lie anywhere in a file or its log."""
    found = b"".join(p.read_bytes() for p in path.parent.iterdir() if p.name.startswith(path.name))
    return {n for n in range(3) if f"picture {n} Quagmire".encode() in found}


def test_redact__photographs_that_nothing_else_names_go_too(tmp_path):
    shown = photographed(tmp_path / "s")
    with open_store(tmp_path / "s", device="d1") as store:
        store.redact("one", why="asked to", **ENVELOPE)
        assert words_of(tmp_path / "s") == {1, 2}  # the second is named by the other entry still
        assert attachments.destroyed(store) == [shown[0]]
        assert attachments.names(store) == sorted(shown[1:])
        with pytest.raises(RecordError, match="were destroyed on request"):
            attachments.get(store, shown[0])
        with pytest.raises(RecordError, match="was destroyed on request and does not come back"):
            attachments.attach(store, b"picture 0 Quagmire", media_type="image/png", privacy="open")
        store.redact("two", why="asked to", **ENVELOPE)
        store.redact("three", why="asked to", **ENVELOPE)
        assert words_of(tmp_path / "s") == set() and attachments.names(store) == []
        assert [m.photos for m in store.markers()] == [tuple(sorted(shown[:2])), (shown[1],), (shown[2],)]
    with open_store(tmp_path / "s", read_only=True) as store:
        assert attachments.held(store, shown[1]).privacy == "private"


def test_redact__two_people_each_one_of_the_entries_that_name_it(tmp_path):
    """Neither redaction alone may destroy the second photograph; both together must."""
    shown = photographed(tmp_path / "a")
    shutil.copy(tmp_path / "a", tmp_path / "b")
    for name, struck in (("a", "one"), ("b", "two")):
        with open_store(tmp_path / name, device=name) as store:
            store.redact(struck, why="asked to", **ENVELOPE)
            assert shown[1] in attachments.names(store)
    states = [merged(tmp_path, f"o{k}", *(tmp_path / n for n in order)) for k, order in enumerate(("ab", "ba", "aba"))]
    assert all(one == states[0] for one in states)
    assert [(a[0], a[3]) for a in states[0][2]] == sorted([(shown[0], True), (shown[1], True), (shown[2], False)])
    assert all(words_of(tmp_path / f"o{k}") == {2} for k in range(3))


def test_merge__a_copy_that_still_has_the_photograph_loses_it_in_any_order(tmp_path):
    shown = photographed(tmp_path / "old")
    shutil.copy(tmp_path / "old", tmp_path / "new")
    with open_store(tmp_path / "new", device="d1") as store:
        strike = store.redact("one", why="asked to", **ENVELOPE)
        store.redact("three", why="asked to", **ENVELOPE)
    with begin(tmp_path / "words") as store:  # the redaction alone, of what this copy never held
        store.add_entries([strike])
    with begin(tmp_path / "bytes") as store:  # the bytes alone
        attachments.attach(store, b"picture 0 Quagmire", media_type="image/png", privacy="open")
    copies = [tmp_path / name for name in ("old", "new", "words", "bytes")]
    states = [merged(tmp_path, f"o{k}", *order) for k, order in enumerate(itertools.permutations(copies))]
    assert all(one == states[0] for one in states)
    assert [a[3] for a in states[0][2]] == [name in (shown[0], shown[2]) for name in sorted(shown)]
    assert all(words_of(tmp_path / f"o{k}") == {1} for k in range(24))
    with open_store(tmp_path / "old") as store:
        assert merge(store, tmp_path / "new").scrubbed
    assert words_of(tmp_path / "old") == {1} and state(tmp_path / "old") == state(tmp_path / "new")


def test_merge__an_entry_that_names_it_and_came_later_keeps_the_photograph(tmp_path):
    """All copies that name it decide, not the order in which they came."""
    shown = photographed(tmp_path / "a")
    with begin(tmp_path / "b") as store:
        store.add_entries([entry("s", tick=9, n=9, body=StruckOut("one", "asked to", redacted=True))])
    with begin(tmp_path / "c", device="d2") as store:
        attachments.attach(store, b"picture 0 Quagmire", media_type="image/png", privacy="private")
        store.append([noted("C05")], new_id=lambda: "later", photos=[shown[0]], **ENVELOPE)
    orders = itertools.permutations([tmp_path / name for name in "abc"])
    states = [merged(tmp_path, f"o{k}", *order) for k, order in enumerate(orders)]
    assert all(one == states[0] for one in states)
    assert (shown[0], "private", "image/png", False) in states[0][2]


def test_destroy__a_photograph_by_name_whatever_names_it(tmp_path):
    shown = photographed(tmp_path / "s")
    shutil.copy(tmp_path / "s", tmp_path / "old")
    with open_store(tmp_path / "s", device="d1") as store:
        attachments.destroy(store, shown[1], why="asked to", **ENVELOPE)
        assert (attachments.destroyed(store), words_of(tmp_path / "s")) == ([shown[1]], {0, 2})
        assert len(store.entries()) == 4 and store.redacted() == []
        merge(store, tmp_path / "old")
        with pytest.raises(RecordError, match="there is no attachment"):
            attachments.destroy(store, "0" * 64, why="asked to", **ENVELOPE)
    with open_store(tmp_path / "old") as store:
        merge(store, tmp_path / "s")
    assert words_of(tmp_path / "s") == words_of(tmp_path / "old") == {0, 2}
    assert state(tmp_path / "s") == state(tmp_path / "old")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE attachments SET bytes = x''",
        "UPDATE attachments SET bytes = x'00'",
        "DELETE FROM mentions",
        "UPDATE mentions SET entry = 'two'",
        "UPDATE OR IGNORE mentions SET sha256 = 'x'",
    ],
)
def test_photographs__triggers_refuse_direct_change(tmp_path, statement):
    photographed(tmp_path / "s")
    with open_store(tmp_path / "s", device="d1") as store:
        store.redact("one", why="asked to", **ENVELOPE)
        with pytest.raises(RecordError, match="append-only"), store.writing() as connection:
            connection.execute(statement)
        assert words_of(tmp_path / "s") == {1, 2}


def test_destroy__a_scrub_that_was_cut_off_is_done_at_the_next_opening(tmp_path, monkeypatch):
    shown = photographed(tmp_path / "s")
    with monkeypatch.context() as patch:
        patch.setattr("pullstring.log.store.Store.scrub", lambda self: False)  # as if the power went here
        with open_store(tmp_path / "s", device="d1") as store:
            attachments.destroy(store, shown[0], why="asked to", **ENVELOPE)
            assert store.scrub_due
    with open_store(tmp_path / "s") as store:
        assert not store.scrub_due and words_of(tmp_path / "s") == {1, 2}

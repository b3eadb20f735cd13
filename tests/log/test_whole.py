"""The whole record as text: what is bent, changed, cut, doubled or missing is told, and what is whole is taken."""

from __future__ import annotations

import hashlib
import json
import os
import random
import tempfile
from pathlib import Path

import hypothesis
import pytest
from hypothesis import strategies as st

from pullstring.log import attachments
from pullstring.log.merge import bring
from pullstring.log.refusals import Corrupted, NotARecord, RecordError, UnusableEntry
from pullstring.log.store import create, open_store
from pullstring.log.whole import KEPT, LINES, LIST, SUMS, read_whole, write_whole
from pullstring.model.entries import StruckOut, to_json
from tests.log.records import ENVELOPE, begin, entry, noted

PICTURE, CLOSED = b"an invented picture", b"another invented picture"
NAMES = {data: hashlib.sha256(data).hexdigest() for data in (PICTURE, CLOSED)}
WORDS = "Snark-cupboard \u2028 \r \u00fc"  # a line separator and a carriage return inside a text are no end of a line


def full(path: Path) -> Path:
    """A record of eight entries, one of them redacted, and two attachments of different classes."""
    with begin(path) as store:
        store.append([noted(f"C{k}", mark=f"{WORDS} {k}") for k in range(6)], **ENVELOPE)
        [gone] = store.append([noted("C9", mark="hurtful")], **ENVELOPE)
        store.redact(gone.id, why="asked to", **ENVELOPE)
        attachments.attach(store, PICTURE, media_type="image/jpeg", privacy="open")
        attachments.attach(store, CLOSED, media_type="image/png", privacy="private")
    return path


@pytest.fixture
def out(tmp_path: Path) -> Path:
    with open_store(full(tmp_path / "s"), read_only=True) as store:
        assert write_whole(store, tmp_path / "out") == (8, 2)
    return tmp_path / "out"


def state(store):
    kept = [attachments.held(store, n) for n in attachments.every_name(store)]
    lines = [to_json(e) for e in store.entries()]
    return store.site_code, lines, store.markers(), [(a.sha256, a.privacy, a.media_type, a.data) for a in kept]


def taken(source: Path, *, rescue: bool = False):
    """What a new record holds after taking a source, and what was lost on the way."""
    whole = read_whole(source, rescue=rescue)
    with (
        tempfile.TemporaryDirectory() as folder,
        create(Path(folder) / "n", site_code=whole.site_code or "?", author="ann") as store,
    ):
        bring(store, str(source), whole.entries, whole.markers, (load() for load in whole.attachments))
        return state(store), whole.lost


def edit(path: Path, change) -> None:
    path.write_bytes(change(path.read_bytes()))


def test_write__then_read_is_the_same_and_the_same_bytes_again(out: Path, tmp_path: Path) -> None:
    with open_store(tmp_path / "s", read_only=True) as store:
        before = state(store)
        assert taken(out) == (before, ())
        files = {p.relative_to(out): p.read_bytes() for p in out.rglob("*") if p.is_file()}
        write_whole(store, out)  # over the earlier one
        assert {p.relative_to(out): p.read_bytes() for p in out.rglob("*") if p.is_file()} == files
    assert set(map(str, files)) == {LINES, LIST, SUMS, *(f"{KEPT}/{name}" for name in NAMES.values())}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "s"], "nothing is left lying beside it"


def test_write__sums_are_those_of_the_lines(out: Path) -> None:
    """By the standard's own function, over the bytes as they stand in the files."""
    lines = (out / LINES).read_bytes().rstrip(b"\n").split(b"\n")[1:]
    sums = [line.split("  ") for line in (out / SUMS).read_text("utf-8").splitlines()]
    assert [s for s, _ in sums] == [hashlib.sha256(x).hexdigest() for x in (*lines, (out / LIST).read_bytes())]
    marked = [json.loads(x)["redacted"] for x in lines if b'"redacted":{' in x]
    assert len(marked) == 1 and set(marked[0]) == {"id", "tick", "device", "n", "digest", "key", "photos"}
    assert b"hurtful" not in b"".join(lines)


def test_write__stopped_half_way_leaves_the_earlier_one(out: Path, tmp_path: Path, monkeypatch) -> None:
    before = {p.name: p.read_bytes() for p in out.iterdir() if p.is_file()}
    with open_store(tmp_path / "s") as store:
        store.append([noted("C77")], device="d1", **ENVELOPE)

        def full_disk(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("pullstring.log.whole._write_attachments", full_disk)
        with pytest.raises(OSError):
            write_whole(store, out)
        with pytest.raises(OSError):
            write_whole(store, tmp_path / "fresh")
    assert {p.name: p.read_bytes() for p in out.iterdir() if p.is_file()} == before
    assert not (tmp_path / "fresh").exists() and not list(tmp_path.glob(".*"))


@pytest.mark.parametrize("stray", ["letter.txt", f"{KEPT}/holiday.jpg"])
def test_write__never_over_other_things(out: Path, tmp_path: Path, stray: str) -> None:
    (out / stray).write_text("keep")
    with open_store(tmp_path / "s", read_only=True) as store, pytest.raises(RecordError, match="holds other things"):
        write_whole(store, out)
    assert (out / stray).read_text() == "keep"


def test_write__never_over_the_record_of_another_site(out: Path, tmp_path: Path) -> None:
    with create(tmp_path / "o", site_code="MILL", author="ann") as store, pytest.raises(RecordError, match="of HUT"):
        write_whole(store, out)
    assert taken(out)[0][0] == "HUT"


@pytest.mark.parametrize(
    "change",
    [
        lambda data: b"\xef\xbb\xbf" + data,
        lambda data: data.replace(b"\n", b"\r\n"),
        lambda data: data.rstrip(b"\n"),
        lambda data: data + b"\n\n",
        lambda data: b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n") + b"\r\n",
    ],
    ids=["mark", "windows", "no end", "blank end", "all"],
)
def test_read__marks_and_line_ends_of_mailers_and_editors_do_no_harm(out: Path, tmp_path: Path, change) -> None:
    for name in (LINES, LIST, SUMS):
        edit(out / name, change)
    with open_store(tmp_path / "s", read_only=True) as store:
        assert taken(out) == (state(store), ())


def nth(number: int, change):
    """A change of one line, counted from 1."""

    def of(data: bytes) -> bytes:
        lines = data.split(b"\n")
        lines[number - 1] = change(lines[number - 1])
        return b"\n".join(line for line in lines if line is not None)

    return of


BENT = {  # file, change, what is told, how many of eight entries and two attachments are still whole
    "cut inside a line": (LINES, lambda d: d[: d.rindex(b'"wrote"')], "no whole entry", 7, 2),
    "cut between lines": (LINES, nth(9, lambda x: None), "were written are not here", 7, 2),
    "two lines gone": (LINES, lambda d: b"\n".join(d.split(b"\n")[:7]) + b"\n", "2 entries that were written", 6, 2),
    "one letter": (LINES, lambda d: d.replace(b"Snark", b"Shark", 1), "was changed after it was written", 7, 2),
    "spaces": (LINES, nth(3, lambda x: x.replace(b":", b": ", 1)), "not written as it was", 7, 2),
    "twice": (LINES, nth(3, lambda x: x + b"\n" + x), "stands here twice", 8, 2),
    "strange entry": (LINES, lambda d: d + to_json(entry("new", tick=99)).encode() + b"\n", "is not in digests", 8, 2),
    "no text": (LINES, nth(4, lambda x: b"\xff\xfe" + x), "no whole entry", 7, 2),
    "zeros": (LINES, nth(4, lambda x: bytes(len(x))), "no whole entry", 7, 2),
    "deep": (LINES, nth(4, lambda x: b"[" * 100000), "no whole entry", 7, 2),
    "half a letter": (LINES, nth(4, lambda x: x.replace(b"Snark", b"\\ud800")), "no whole entry", 7, 2),
    "no number": (LINES, nth(4, lambda x: x.replace(b'"n":3', b'"n":NaN')), "no whole entry", 7, 2),
    "a number": (LINES, nth(4, lambda x: b"7"), "no whole entry", 7, 2),
    "no head": (LINES, lambda d: d.split(b"\n", 1)[1], "line 1: this does not say that it is a record", 8, 2),
    "sums gone": (SUMS, None, "it is missing", 8, 2),
    "sums cut": (SUMS, lambda d: d[:300], "it is not whole", 8, 2),
    "sums of nobody": (SUMS, lambda d: b"", "it is not whole", 8, 2),
    "list gone": (LIST, None, "attachments.csv: this cannot be read", 8, 0),
    "class loosened": (LIST, lambda d: d.replace(b"private", b"open"), "it was changed after it was written", 8, 2),
    "no class": (LIST, lambda d: d.replace(b"private", b"privat"), "row 3: this is no attachment", 8, 1),
    "no media": (LIST, lambda d: d.replace(b"image/png", b"png,x"), "this is no attachment", 8, 1),
    "huge cell": (LIST, lambda d: d + b"x" * 200000 + b"\n", "attachments.csv: this cannot be read", 8, 0),
    "other bytes": (f"{KEPT}/{NAMES[PICTURE]}", lambda d: d[:-1] + b"X", "not those of their hash", 8, 1),
    "fewer bytes": (f"{KEPT}/{NAMES[PICTURE]}", lambda d: d[:-1], "not those of their hash", 8, 1),
    "no bytes": (f"{KEPT}/{NAMES[PICTURE]}", None, "the bytes are missing", 8, 1),
}
# Which attachment lost its class is the second by its hash, or the first; both are in the list once.


@pytest.mark.parametrize("name", BENT)
def test_bent__refused_with_its_place_and_rescued_but_for_that(out: Path, name: str) -> None:
    file, change, says, entries, kept = BENT[name]
    whole = read_whole(out, rescue=False)
    (out / file).unlink() if change is None else edit(out / file, change)
    with pytest.raises(NotARecord) as refused:
        read_whole(out, rescue=False)
    told = str(refused.value).splitlines()
    assert says.partition("row 3: ")[2] or says in str(refused.value)
    assert all(line.startswith(f"{out}: ") and len(line) < 700 for line in told) and "--rescue" in told[-1]
    found = read_whole(out, rescue=True)
    assert (len(found.entries) + len(found.markers), len(found.attachments)) == (entries, kept)
    assert {e.id: e for e in found.entries}.items() <= {e.id: e for e in whole.entries}.items(), "nothing false"
    assert set(found.markers) <= set(whole.markers)
    assert found.lost and taken(out, rescue=True)[1] == found.lost


def test_bent__all_at_once(out: Path) -> None:
    edit(out / LINES, nth(3, lambda x: x[:50]))
    edit(out / LINES, nth(5, lambda x: x[:50]))
    (out / KEPT / NAMES[CLOSED]).unlink()
    with pytest.raises(NotARecord) as refused:
        read_whole(out, rescue=False)
    assert [w in str(refused.value) for w in ("line 3", "line 5", NAMES[CLOSED])] == [True] * 3
    assert len(str(refused.value).splitlines()) == 3


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ({"what": "pullstring record", "format": 2, "site": "HUT"}, "newer version"),
        ({"what": "another list", "format": 1, "site": "HUT"}, "does not say that it is a record"),
        ({"what": "pullstring record", "site": "HUT"}, "does not say that it is a record"),
        ([1, 2], "does not say that it is a record"),
    ],
)
def test_head__another_is_refused(out: Path, head, says) -> None:
    edit(out / LINES, nth(1, lambda _: json.dumps(head).encode()))
    with pytest.raises(NotARecord, match=says):
        read_whole(out, rescue=False)


def test_head__of_a_newer_form_is_not_rescued_either(out: Path) -> None:
    edit(out / LINES, nth(1, lambda x: x.replace(b'"format": 1', b'"format": 2')))
    with pytest.raises(NotARecord, match="newer version"):
        read_whole(out, rescue=True)


@pytest.mark.parametrize("content", [b"", b"\0" * 5000, b"\xff\xfe{\0}\0", b"not a record\n" * 50, b"{}", b"[[[["])
def test_rescue__of_nothing_is_refused_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    (tmp_path / LINES).write_bytes(content)
    for rescue in (False, True):
        with pytest.raises(NotARecord):
            read_whole(tmp_path, rescue=rescue)


@pytest.mark.parametrize(
    "name", ["../../secret", "/etc/hostname", "..", "a" * 63, "A" * 64, "a/" + "b" * 62, "\u0663" * 64]
)
def test_list__a_name_that_is_no_hash_reaches_no_file(out: Path, name: str) -> None:
    (out.parent / "secret").write_bytes(PICTURE)
    edit(out / LIST, lambda d: d.replace(NAMES[PICTURE].encode(), name.encode()))
    with pytest.raises(NotARecord, match="this is no attachment"):
        read_whole(out, rescue=False)
    assert len(read_whole(out, rescue=True).attachments) == 1


def test_list__a_link_in_place_of_a_file_is_not_followed(out: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").write_bytes(PICTURE)
    (out / KEPT / NAMES[PICTURE]).unlink()
    os.symlink(tmp_path / "elsewhere", out / KEPT / NAMES[PICTURE])
    with pytest.raises(NotARecord, match="the bytes are missing"):
        read_whole(out, rescue=False)


def test_attachment__exchanged_between_looking_and_taking_is_refused(out: Path) -> None:
    whole = read_whole(out, rescue=False)
    edit(out / KEPT / NAMES[PICTURE], lambda d: d[::-1])
    with pytest.raises(Corrupted):
        [load() for load in whole.attachments]


def test_line__of_a_million_letters_is_an_entry_like_any_other(tmp_path: Path) -> None:
    with begin(tmp_path / "s") as store:
        store.append([noted("C1", remark="ab" * 500_000)], **ENVELOPE)
        write_whole(store, tmp_path / "out")
        assert taken(tmp_path / "out") == (state(store), ())


def test_line__whose_counter_is_beyond_all_is_refused_and_nothing_written(out: Path, tmp_path: Path) -> None:
    with begin(tmp_path / "n") as store:
        far = entry("far", tick=2**53)
        with pytest.raises(UnusableEntry):
            bring(store, "x", [far], [], [])
        assert store.entries() == []


def test_same_id_other_content__refused_with_the_ids_and_nothing_written(out: Path, tmp_path: Path) -> None:
    whole = read_whole(out, rescue=False)
    with begin(tmp_path / "n") as store:
        store.add_entries([entry(whole.entries[2].id, tick=5), entry("mine", tick=6)])
        before = state(store)
        with pytest.raises(Corrupted) as refused:
            bring(store, str(out), whole.entries, whole.markers, (load() for load in whole.attachments))
        assert refused.value.ids == (whole.entries[2].id,)
        assert state(store) == before


def test_site_code__without_a_head_is_read_from_the_note_of_the_property(tmp_path: Path) -> None:
    from pullstring.model.entries import Evidence, Noted
    from pullstring.model.refs import Ref

    with begin(tmp_path / "s") as store:
        store.append([Noted(Ref("property", "HUT"), {}, Evidence("seen"), new=True), noted("C1")], **ENVELOPE)
        write_whole(store, tmp_path / "out")
    edit(tmp_path / "out" / LINES, lambda d: d.split(b"\n", 1)[1])
    assert read_whole(tmp_path / "out", rescue=True).site_code == "HUT"


@hypothesis.settings(max_examples=60)
@hypothesis.given(st.integers(0, 2**30))
def test_rescue__of_bytes_bent_by_chance_never_takes_what_was_not_there(seed: int) -> None:
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        with open_store(full(Path(folder) / "s"), read_only=True) as store:
            write_whole(store, Path(folder) / "out")
            truth, marks = {e.id: e for e in store.entries()}, set(store.markers())
        data = bytearray((Path(folder) / "out" / LINES).read_bytes())
        for _ in range(dice.randrange(1, 20)):
            data[dice.randrange(len(data))] = dice.randrange(256)
        (Path(folder) / "out" / LINES).write_bytes(data)
        try:
            found = read_whole(Path(folder) / "out", rescue=True)
        except NotARecord:
            return
        assert all(truth[e.id] == e for e in found.entries) and set(found.markers) <= marks
        assert found.lost or len(found.entries) + len(found.markers) == 8


POOL = [entry(f"e{k}", tick=1 + k // 2, device="abc"[k % 3], n=1 + k // 3, body=noted(f"C{k}")) for k in range(6)]
POOL += [entry("s1", tick=9, device="a", n=9, body=StruckOut("e1", "private", redacted=True))]
CLASSES = ("open", "site", "private")


@hypothesis.settings(max_examples=20)
@hypothesis.given(st.integers(0, 2**30))
def test_union__through_texts_in_any_order_is_one_record(seed: int) -> None:
    """Random parts of a record, each written out as text and taken in, in two orders: the same set, the strictest class."""
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as name:
        folder, classes = Path(name), []
        for k in range(3):
            with begin(folder / f"p{k}", device=f"d{k}") as store:
                store.add_entries([e for e in POOL if dice.random() < 0.5])
                classes.append(dice.choice(CLASSES))
                attachments.attach(store, PICTURE, media_type="image/jpeg", privacy=classes[-1])
                write_whole(store, folder / f"t{k}")
        states = []
        for order in ([0, 1, 2], [2, 0, 1, 0]):
            with begin(folder / f"into{len(states)}") as store:
                for k in order:
                    whole = read_whole(folder / f"t{k}", rescue=False)
                    bring(store, "x", whole.entries, whole.markers, (load() for load in whole.attachments))
                states.append(state(store))
        assert states[0] == states[1]
        assert states[0][3][0][1] == max(classes, key=CLASSES.index)

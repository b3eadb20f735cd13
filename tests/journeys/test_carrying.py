"""A record carried about: whole as text and back, merged in any order, rescued, shared without what is private, sealed."""

from __future__ import annotations

import csv
import dataclasses
import io
import itertools
import json
import os
import random
import subprocess
import sys
from pathlib import Path

import hypothesis
import pytest
from hypothesis import strategies as st
from PIL import Image

from pullstring import api
from pullstring.log import attachments
from pullstring.log.rescue import rescued
from pullstring.log.store import create, open_store
from pullstring.log.whole import LINES, SUMS
from pullstring.model.entries import Evidence, Noted, digest, to_json
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.model.sealed import is_sealed
from pullstring.model.when import parse_when
from tests.journeys.sites import ASKED, HAND, make, packaged

PHRASE = "four plain words here"
SECRET = "Swordfish-4711"


def site_of(path: Path):
    with open_store(path, read_only=True) as store:
        return replay(store.entries(), today=ASKED.today)


def everything(path: Path) -> tuple[object, ...]:
    """All that a record holds, to be compared."""
    with open_store(path, read_only=True) as store:
        kept = [attachments.held(store, n) for n in attachments.every_name(store)]
        return store.site_code, store.entries(), store.markers(), [(k.sha256, k.privacy, k.data) for k in kept]


def jpeg(words: bytes = b"") -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (0.0, 1.0, 2.5), 3: "E", 4: (0.0, 3.0, 4.5)})
    exif[0x010F] = "Invented camera of the caretaker"
    Image.new("RGB", (40, 30), (200, 10, 90)).save(out, "JPEG", exif=exif, comment=words or b"alarm code 4711")
    return out.getvalue()


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """The small property with a redacted entry, photographs of each class, a sealed password."""
    path = make(tmp_path, packaged("two_rooms"))
    photos = tmp_path / "photos_in"
    (photos / "photos").mkdir(parents=True)
    for name in ("a", "b", "c"):
        (photos / "photos" / f"{name}.jpg").write_bytes(jpeg() + name.encode())
    (photos / "photos.csv").write_text(
        "photo,file,privacy,of\nF1,a.jpg,open,end:E1\nF2,b.jpg,site,end:E2\nF3,c.jpg,private,end:E3\n", "utf-8"
    )
    (photos / "persons.csv").write_text("person,role,phone\nP1,CAR,+00 555 0101\n", "utf-8")
    (photos / "rooms.csv").write_text('room,note\nR1,"the alarm code is 4711, do not tell"\n', "utf-8")
    roles = photos / "roles.csv"
    roles.write_text("role,name\nCAR,caretaker\n", "utf-8")
    api.import_(path, ASKED, folder=photos, **HAND)
    sealed = api.seal_cell(path, table="units", column="password", secret=SECRET, passphrase=PHRASE)
    unit = next(iter(site_of(path).of_kind("unit"))).ref.tag
    api.add(path, ASKED, table="units", cells={"unit": unit, "password": sealed}, **HAND)
    told = api.add(path, ASKED, table="rooms", cells={"room": "R2", "note": "wrong and hurtful words"}, **HAND)
    api.strike(path, ASKED, entry=told.answer["entries"][0], why="not so", redact=True, **HAND)
    return path


def test_record_as_text__out_and_in_is_the_same_record(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "out" / "record"
    api.export_record(house, ASKED, folder=out)
    again = tmp_path / "again.site"
    api.import_record(again, ASKED, source=out, rescue=False, dry=False, **HAND)
    assert everything(again) == everything(house)
    assert site_of(again) == site_of(house)
    second = tmp_path / "second"
    api.export_record(again, ASKED, folder=second)
    files = sorted(p.relative_to(out) for p in out.rglob("*") if p.is_file())
    assert files == sorted(p.relative_to(second) for p in second.rglob("*") if p.is_file()) and len(files) == 6
    assert all((out / f).read_bytes() == (second / f).read_bytes() for f in files), "same record, same bytes"
    assert "hurtful" not in (out / LINES).read_text("utf-8")


def test_record_as_text__a_stranger_can_read_it(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "record"
    counts = api.export_record(house, ASKED, folder=out).answer
    head, *lines = (out / LINES).read_text("utf-8").splitlines()
    assert json.loads(head) == {"what": "pullstring record", "format": 1, "site": "KC", "lines": len(lines)}
    assert counts["entries"] == len(lines) and all(json.loads(line) for line in lines)
    rows = list(csv.DictReader((out / "attachments.csv").read_text("utf-8").splitlines()))
    assert [(r["privacy"], int(r["bytes"])) for r in rows] and {r["privacy"] for r in rows} == {
        "open",
        "site",
        "private",
    }


def test_import_record__twice_adds_nothing_and_dry_writes_nothing(house: Path, tmp_path: Path) -> None:
    other = tmp_path / "b.site"
    other.write_bytes(house.read_bytes())
    api.add(other, ASKED, table="rooms", cells={"room": "R9", "name": "Loft"}, **{**HAND, "device": "phone"})
    before = house.read_bytes()
    said = api.import_record(house, ASKED, source=other, rescue=False, dry=True, **HAND).answer
    assert said["added"] == 1 and house.read_bytes() == before
    first = api.import_record(house, ASKED, source=other, rescue=False, dry=False, **HAND).answer
    second = api.import_record(house, ASKED, source=other, rescue=False, dry=False, **HAND).answer
    assert (first["added"], second["added"]) == (1, 0)


def test_import_record__another_site_is_refused(house: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.site"
    create(other, site_code="ZZ", device="x", author="TEC").close()
    before = house.read_bytes()
    with pytest.raises(ValueError, match="this is the record of ZZ, not of KC"):
        api.import_record(house, ASKED, source=other, rescue=False, dry=False, **HAND)
    assert house.read_bytes() == before


def test_import_record__dry_refuses_what_would_be_refused_and_leaves_no_trace(house: Path, tmp_path: Path) -> None:
    with open_store(house, read_only=True) as store:
        first = store.entries()[0]
    other = tmp_path / "x" / "other.site"
    other.parent.mkdir()
    with create(other, site_code="KC", device="x", author="TEC") as store:
        store.add_entries([dataclasses.replace(first, author="somebody else")])
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}
    for dry in (True, False):
        with pytest.raises(ValueError, match=first.id):
            api.import_record(house, ASKED, source=other, rescue=False, dry=dry, **HAND)
        assert {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()} == before
    assert not list(tmp_path.glob(".*"))


def test_import_record__dry_says_what_then_comes(house: Path, tmp_path: Path) -> None:
    api.export_record(house, ASKED, folder=tmp_path / "out")
    into = tmp_path / "laptop.site"
    dry = api.import_record(into, ASKED, source=tmp_path / "out", rescue=False, dry=True, **HAND).answer
    assert not into.exists() and not list(tmp_path.glob(".*"))
    done = api.import_record(into, ASKED, source=tmp_path / "out", rescue=False, dry=False, **HAND).answer
    assert {**dry, "dry": False} == done and done["added"] == done["redacted"] + sum(done["kinds"].values())
    again = api.import_record(into, ASKED, source=tmp_path / "out", rescue=False, dry=True, **HAND).answer
    assert (again["added"], again["attachments"], again["already"], again["kinds"]) == (0, 0, done["added"], {})


def test_import_record__that_fails_on_a_new_laptop_leaves_no_file(house: Path, tmp_path: Path) -> None:
    """A record made by another program, with a password in plain and with sums that are right."""
    out = tmp_path / "out"
    api.export_record(house, ASKED, folder=out)
    with open_store(house, read_only=True) as store:
        last = store.entries()[-1]
    note = Noted(Ref("unit", "U1"), {"password": SECRET}, Evidence("seen"))
    line = to_json(dataclasses.replace(last, id="plain", tick=last.tick + 1, n=last.n + 1, body=note))
    head, rest = (out / LINES).read_text("utf-8").split("\n", 1)
    said = json.loads(head)
    (out / LINES).write_text(json.dumps({**said, "lines": said["lines"] + 1}) + f"\n{rest}{line}\n", "utf-8")
    (out / SUMS).write_text(f"{digest(line)}  plain\n" + (out / SUMS).read_text("utf-8"), "utf-8")
    (tmp_path / "new").mkdir()
    with pytest.raises(ValueError, match="'password' is a secret") as refused:
        api.import_record(tmp_path / "new" / "n.site", ASKED, source=out, rescue=False, dry=False, **HAND)
    assert SECRET not in str(refused.value) and list((tmp_path / "new").iterdir()) == []


BENT = {
    "cut": lambda text: text[: len(text) // 2],
    "bent line": lambda text: text.replace('"kind":"noted"', '"kind":"notxd"', 1),
    "newer": lambda text: text.replace('"format": 1', '"format": 2', 1),
    "no head": lambda text: text.split("\n", 1)[1],
    "nothing": lambda text: "",
}


@pytest.mark.parametrize("name", BENT)
def test_record_as_text__damaged_is_refused_in_a_sentence(house: Path, tmp_path: Path, name: str) -> None:
    out, path = tmp_path / "record", tmp_path / "new.site"
    api.export_record(house, ASKED, folder=out)
    text = (out / LINES).read_text("utf-8")
    (out / LINES).write_text(BENT[name](text), "utf-8")
    with pytest.raises(ValueError) as refused:
        api.import_record(path, ASKED, source=out, rescue=False, dry=False, **HAND)
    told = str(refused.value).splitlines()
    assert all(line.startswith(str(out)) for line in told) and "; " in told[-1]
    assert not path.exists() and sorted(p.name for p in tmp_path.glob(".*")) == []


def test_rescue_of_text__takes_every_whole_line(house: Path, tmp_path: Path) -> None:
    out, path = tmp_path / "record", tmp_path / "new.site"
    whole = api.export_record(house, ASKED, folder=out).answer["entries"]
    lines = (out / LINES).read_text("utf-8").splitlines()
    lines[5] = lines[5][:40]
    (out / LINES).write_bytes(b"\xef\xbb\xbf" + "\r\n".join(lines).encode())
    said = api.import_record(path, ASKED, source=out, rescue=True, dry=False, **HAND).answer
    assert said["added"] == whole - 1 and len(said["lost"]) == 1 and "line 6" in said["lost"][0]


@pytest.mark.parametrize("bad", ["../../x", "a" * 63, "Z" * 64])
def test_record_as_text__a_bent_name_of_an_attachment_reaches_no_other_file(
    house: Path, tmp_path: Path, bad: str
) -> None:
    out = tmp_path / "record"
    api.export_record(house, ASKED, folder=out)
    text = (out / "attachments.csv").read_text("utf-8").splitlines()
    text[1] = bad + text[1][64:]
    (out / "attachments.csv").write_text("\n".join(text), "utf-8")
    with pytest.raises(ValueError, match="this is no attachment"):
        api.import_record(tmp_path / "new.site", ASKED, source=out, rescue=False, dry=False, **HAND)


def test_export_record__never_over_other_things(house: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("keep", "utf-8")
    with pytest.raises(ValueError, match="holds other things"):
        api.export_record(house, ASKED, folder=tmp_path / "mine")
    assert (tmp_path / "mine" / "letter.txt").read_text("utf-8") == "keep"


@hypothesis.settings(max_examples=15, suppress_health_check=[hypothesis.HealthCheck.function_scoped_fixture])
@hypothesis.given(st.integers(0, 2**30))
def test_merges__any_parts_in_any_order_give_the_whole(tmp_path_factory: pytest.TempPathFactory, seed: int) -> None:
    dice, folder = random.Random(seed), tmp_path_factory.mktemp("merge")
    whole = make(folder / "w", packaged("two_rooms"))
    first = api.add(whole, ASKED, table="rooms", cells={"room": "R1", "note": "words to go"}, **HAND).answer["entries"][
        0
    ]
    api.strike(whole, ASKED, entry=first, why="not so", redact=True, **HAND)
    with open_store(whole, read_only=True) as store:
        entries, markers = store.entries(), store.markers()
    parts = []
    for n in range(3):
        part = folder / f"{n}.site"
        with create(part, site_code="KC", device=f"d{n}", author="TEC") as store:
            store.add_entries(
                [e for e in entries if dice.random() < 0.6], markers=[m for m in markers if dice.random() < 0.6]
            )
        parts.append(part)
    rest = folder / "rest.site"
    with create(rest, site_code="KC", device="r", author="TEC") as store:
        store.add_entries(entries, markers=markers)
    results = []
    for order in itertools.islice(itertools.permutations([*parts, rest]), 0, 24, 7):
        into = folder / f"into{len(results)}.site"
        for source in order:
            api.import_record(into, ASKED, source=source, rescue=False, dry=False, **HAND)
        results.append(everything(into))
    assert all(r == results[0] for r in results) and results[0][1] == entries


def test_rescue__every_entry_whose_pages_are_whole(house: Path, tmp_path: Path) -> None:
    whole = house.read_bytes()
    with open_store(house, read_only=True) as store:
        entries, markers, sums = store.entries(), store.markers(), attachments.names(store)
    lines = {row.id: row for row in entries}
    damaged = tmp_path / "damaged.site"
    damaged.write_bytes(whole)
    found = rescued(damaged)
    assert (list(found.entries), list(found.markers), found.lost, found.site_code) == (entries, markers, (), "KC")
    assert [a.sha256 for a in found.attachments] == sums
    pages = len(whole) // 4096
    lost_once = 0
    for page in range(pages):
        damaged.write_bytes(whole[: page * 4096] + bytes(4096) + whole[(page + 1) * 4096 :])
        found = rescued(damaged)
        got = {e.id for e in found.entries}
        assert all(lines[e.id] == e for e in found.entries), "nothing that was not there"
        touched = {e.id for e in entries if _lies_on(whole, page, e.id)}
        assert set(lines) - got <= touched, f"page {page}: an entry whose own pages are whole was lost"
        lost_once += len(set(lines) - got)
        if b"entries" not in whole[page * 4096 : (page + 1) * 4096]:  # where SQLite keeps how many there were
            assert bool(set(lines) - got) <= bool(found.lost)
    assert lost_once, "the test never lost an entry, so it shows nothing"
    for cut in range(1, pages):
        damaged.write_bytes(whole[: cut * 4096 + 1000])
        try:
            found = rescued(damaged)
        except ValueError as error:
            assert "not one whole entry" in str(error)
            continue
        assert {e.id for e in found.entries} >= {e.id for e in entries if _all_before(whole, cut, e.id)}


def _lies_on(whole: bytes, page: int, entry_id: str) -> bool:
    """Whether a piece of an entry's row may lie on a page: its id or a piece of its line does, or the page continues one."""
    piece = whole[page * 4096 : (page + 1) * 4096]
    return entry_id.encode() in piece or (piece[:1] not in (b"\x0d", b"\x0a", b"\x05", b"\x02") and page > 0)


def _all_before(whole: bytes, cut: int, entry_id: str) -> bool:
    """Whether the row's cell stands on a page before the cut and is short enough to lie on it whole."""
    at = whole.find(entry_id.encode())
    return (
        0 <= at < cut * 4096
        and whole[at : at + 3000].find(b'"wrote"') > 0
        and whole.rfind(entry_id.encode()) < cut * 4096
    )


def test_rescue__bent_bytes_never_bring_up_what_was_not_there(house: Path, tmp_path: Path) -> None:
    whole, damaged, dice = house.read_bytes(), tmp_path / "d.site", random.Random(7)
    with open_store(house, read_only=True) as store:
        truth = {e.id: e for e in store.entries()}
    for _ in range(120):
        bent = bytearray(whole)
        for _ in range(dice.randrange(1, 60)):
            at = dice.randrange(100) if dice.random() < 0.3 else dice.randrange(len(bent))
            bent[at] = dice.randrange(256)
        damaged.write_bytes(bent)
        found = rescued(damaged)
        assert all(truth.get(e.id) == e for e in found.entries) and len(found.entries) >= len(truth) - 120


def test_rescue__header_gone_log_beside_and_a_redacted_entry_stays_gone(tmp_path: Path) -> None:
    path, copy = tmp_path / "a.site", tmp_path / "copy.site"
    api.new(path, ASKED, code="KC", name="", **HAND)
    told = api.add(path, ASKED, table="rooms", cells={"room": "R1", "note": "hurtful words"}, **HAND).answer["entries"][
        0
    ]
    with open_store(path, device="x") as store:
        body = Noted(Ref("room", "R2"), {"note": "x" * 30000}, Evidence("seen"), new=True)
        [big] = store.append([body], at=parse_when("2026-03-01"), wrote=HAND["wrote"], author="TEC")
        file, log = path.read_bytes(), path.with_name("a.site-wal").read_bytes()
    copy.write_bytes(bytes(100) + file[100:])
    copy.with_name("copy.site-wal").write_bytes(log)
    assert {told, big.id} <= {e.id for e in rescued(copy).entries}, "the last lies in the log alone, on many pages"
    api.strike(path, ASKED, entry=told, why="not so", redact=True, **HAND)
    copy.with_name("copy.site-wal").unlink()
    copy.write_bytes(path.read_bytes() + file)  # the old pages with the words are still about
    found = rescued(copy)
    assert told not in {e.id for e in found.entries} and told in {m.id for m in found.markers}


def all_bytes(folder: Path) -> bytes:
    return b"\n".join(p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file())


def test_shared__no_code_no_position_no_phone_no_private_photograph(house: Path, tmp_path: Path) -> None:
    out = tmp_path / "shared"
    said = api.export_shared(house, ASKED, folder=out).answer
    found = all_bytes(out)
    secret = site_of(house)
    sealed = [str(u.get("password")) for u in secret.of_kind("unit") if is_sealed(u.get("password"))]
    hidden = [b"4711", b"555 0101", b"hurtful", b"Invented camera", b"GPS", b"Exif", b"b.jpg", b"c.jpg", b"F2", b"F3"]
    assert sealed and sealed[0].encode() not in found
    assert [h for h in hidden if h in found] == []
    assert said["photos"] == 1 and len(list((out / "photos").iterdir())) == 1
    kept = Image.open(next((out / "photos").iterdir()))
    assert kept.size == (40, 30) and not kept.getexif() and not kept.info.get("comment")
    assert said["left_out"]["rooms, column note"] == 1 and said["left_out"]["persons, column phone"] == 1
    assert b"E1" in found and b"caretaker" in found, "what may be shared is there"
    whole = tmp_path / "whole"
    api.export(house, ASKED, folder=whole)
    assert all(h in all_bytes(whole) for h in (b"4711", b"555 0101", b"b.jpg")), "the search finds what is there"


def test_shared__can_be_read_in_again(house: Path, tmp_path: Path) -> None:
    out, path = tmp_path / "shared", tmp_path / "again.site"
    api.export_shared(house, ASKED, folder=out)
    api.new(path, ASKED, code="KC", name="", **HAND)
    api.import_(path, ASKED, folder=out, **HAND)
    mine, theirs = site_of(house), site_of(path)
    assert {c for c in mine.claims if c.support} and len(theirs.claims) == len(mine.claims)


def test_seal__opens_with_its_passphrase_alone(house: Path) -> None:
    unit = next(u for u in site_of(house).of_kind("unit") if is_sealed(u.get("password")))
    what = f"{unit.ref}.password"
    assert api.open_seal(house, ASKED, what=what, passphrase=PHRASE).answer["secrets"] == [SECRET]
    with pytest.raises(ValueError, match="does not open"):
        api.open_seal(house, ASKED, what=what, passphrase=PHRASE + "x")
    with pytest.raises(ValueError, match="8 letters or more"):
        api.seal_cell(house, table="units", column="password", secret="x", passphrase="short")
    assert SECRET.encode() not in house.read_bytes()


def test_seal__follows_through_merge_record_tables_and_redaction(house: Path, tmp_path: Path) -> None:
    unit = next(u for u in site_of(house).of_kind("unit") if is_sealed(u.get("password")))
    what, entry = f"{unit.ref}.password", unit.fields["password"].last.entry
    api.export_record(house, ASKED, folder=tmp_path / "r")
    api.export(house, ASKED, folder=tmp_path / "t")
    by_text, by_tables, by_merge = (tmp_path / f"{n}.site" for n in "abc")
    api.import_record(by_text, ASKED, source=tmp_path / "r", rescue=False, dry=False, **HAND)
    api.import_record(by_merge, ASKED, source=house, rescue=False, dry=False, **HAND)
    api.new(by_tables, ASKED, code="KC", name="", **HAND)
    api.import_(by_tables, ASKED, folder=tmp_path / "t", **HAND)
    for copy in (by_text, by_merge, by_tables):
        assert api.open_seal(copy, ASKED, what=what, passphrase=PHRASE).answer["secrets"] == [SECRET]
    sealed = str(unit.get("password")).encode()
    assert sealed in by_merge.read_bytes()
    api.strike(house, ASKED, entry=entry, why="changed", redact=True, **HAND)
    api.import_record(by_merge, ASKED, source=house, rescue=False, dry=False, **HAND)
    assert sealed not in house.read_bytes() and sealed not in by_merge.read_bytes()


def test_seal__moved_to_another_field_or_site_does_not_open(house: Path, tmp_path: Path) -> None:
    sealed = api.seal_cell(house, table="units", column="password", secret=SECRET, passphrase=PHRASE)
    api.add(house, ASKED, table="networks", cells={"network": "N1", "password": sealed}, **HAND)
    with pytest.raises(ValueError, match="does not open"):
        api.open_seal(house, ASKED, what="network:N1.password", passphrase=PHRASE)
    other = tmp_path / "other.site"
    api.new(other, ASKED, code="QQ", name="", **HAND)
    api.add(other, ASKED, table="units", cells={"unit": "U1", "password": sealed}, **HAND)
    with pytest.raises(ValueError, match="does not open"):
        api.open_seal(other, ASKED, what="unit:U1.password", passphrase=PHRASE)


def run(*words: str, stdin: str = "", **more: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PULLSTRING_AUTHOR": "TEC", **more}
    code = "from pullstring.cli import main; main()"
    return subprocess.run([sys.executable, "-c", code, *words], input=stdin, capture_output=True, text=True, env=env)


def test_seal__by_hand_on_the_command_line_shows_nothing(house: Path, tmp_path: Path) -> None:
    phrase = tmp_path / "phrase.txt"
    phrase.write_text(PHRASE + "\n", "utf-8")
    done = run(
        "add",
        str(house),
        "networks",
        "network=GUEST",
        "--seal",
        "password",
        "--passphrase-file",
        str(phrase),
        stdin="Trout-99\n",
    )
    assert done.returncode == 0 and "Trout" not in done.stdout + done.stderr
    told = run("site", str(house), "--why", "network:GUEST.password")
    assert "sealed" in told.stdout and "sealed:1" not in told.stdout
    shown = run(
        "site", str(house), "--why", "network:GUEST.password", "--open-seal", PULLSTRING_PASSPHRASE_FILE=str(phrase)
    )
    assert "Trout-99" in shown.stdout
    plain = run("add", str(house), "networks", "network=N2", "password=Trout-99")
    assert plain.returncode == 2 and "never stands here in plain" in plain.stderr


def test_seal__without_a_terminal_or_as_json_is_refused_and_shows_nothing(house: Path, tmp_path: Path) -> None:
    phrase = tmp_path / "phrase.txt"
    phrase.write_text("short\n", "utf-8")
    what = next(f"{u.ref}.password" for u in site_of(house).of_kind("unit") if is_sealed(u.get("password")))
    before = house.read_bytes()
    for words, more, says in (
        (("add", str(house), "networks", "network=N1", "--seal", "password"), {}, "no terminal"),
        (("add", str(house), "networks", "network=N1", "--seal", "password"), {"file": phrase}, "too short"),
        (("add", str(house), "networks", "network=N1", "--seal", "pasword"), {"file": phrase}, "did you mean password"),
        (("add", str(house), "networks", "network=N1", "password=x", "--seal", "password"), {}, "leave out the cell"),
        (("site", str(house), "--why", what, "--open-seal"), {}, "no terminal"),
        (("site", str(house), "--why", what, "--open-seal", "--json"), {"file": phrase}, "leave out --json"),
        (("site", str(house), "--why", what, "--open-seal"), {"file": phrase}, "does not open"),
        (("site", str(house), "--open-seal"), {}, "name what to open"),
    ):
        named = {"PULLSTRING_PASSPHRASE_FILE": str(more["file"])} if more else {}
        done = run(*words, stdin="Trout-99\n", **named)
        assert (done.returncode, len(done.stderr.splitlines())) == (2, 1) and says in done.stderr, words
        assert "Trout" not in done.stdout + done.stderr and SECRET not in done.stdout + done.stderr
    assert house.read_bytes() == before


def test_seal__survives_a_new_tag_and_another_passphrase_replaces_it(house: Path) -> None:
    unit = next(u.ref for u in site_of(house).of_kind("unit") if is_sealed(u.get("password")))
    act = {"act": "re-tag", "subject": str(unit), "to": "U77", "grade": "seen"}
    api.add(house, ASKED, table="acts", cells=act, **HAND)
    assert api.open_seal(house, ASKED, what="unit:U77.password", passphrase=PHRASE).answer["secrets"] == [SECRET]
    again = api.seal_cell(house, table="units", column="password", secret=SECRET, passphrase="quite other words")
    api.add(house, ASKED, table="units", cells={"unit": "U77", "password": again}, **HAND)
    with pytest.raises(ValueError, match="does not open"):
        api.open_seal(house, ASKED, what="unit:U77.password", passphrase=PHRASE)
    opened = api.open_seal(house, ASKED, what="unit:U77.password", passphrase="quite other words").answer
    assert (opened["secrets"], opened["seals"]) == ([SECRET], 1)


def test_seal__two_accounts_are_a_problem_that_shows_neither(house: Path, tmp_path: Path) -> None:
    """Two people seal apart, each unaware of the other: both open, each with its own passphrase."""
    other = tmp_path / "other.site"
    other.write_bytes(house.read_bytes())
    for path, secret, phrase in ((house, "Trout-1", PHRASE), (other, "Trout-2", PHRASE[::-1])):
        sealed = api.seal_cell(path, table="networks", column="password", secret=secret, passphrase=phrase)
        cells = {"network": "GUEST", "password": sealed}
        api.add(path, ASKED, table="networks", cells=cells, **{**HAND, "device": secret})
    api.import_record(house, ASKED, source=other, rescue=False, dry=False, **HAND)
    page = run("site", str(house), "--all").stdout
    assert "sealed or sealed" in page and "sealed:1" not in page
    for secret, phrase in (("Trout-1", PHRASE), ("Trout-2", PHRASE[::-1])):
        opened = api.open_seal(house, ASKED, what="network:GUEST.password", passphrase=phrase).answer
        assert (opened["secrets"], opened["seals"]) == ([secret], 2)


def test_photograph__its_bytes_go_when_its_entry_is_redacted_and_follow_a_merge(house: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.site"
    copy.write_bytes(house.read_bytes())
    photo = next(p for p in site_of(house).of_kind("photo") if p.ref.tag == "F3")
    name = photo.text("sha256")
    api.strike(house, ASKED, entry=photo.fields["sha256"].last.entry, why="a child is in it", redact=True, **HAND)
    with open_store(house, read_only=True) as store:
        assert name not in attachments.names(store) and name in attachments.every_name(store)
    api.import_record(copy, ASKED, source=house, rescue=False, dry=False, **HAND)
    with open_store(copy, read_only=True) as store:
        assert name not in attachments.names(store)
    back = tmp_path / "back.site"
    api.import_record(back, ASKED, source=copy, rescue=False, dry=False, **HAND)
    assert everything(back) == everything(copy)

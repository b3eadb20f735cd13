"""What is placed, heard and read while tracing: how it is written, refused, and carried through tables, workbook and record."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.refs import parse_ref
from pullstring.model.tables import RawTable, understand
from pullstring.model.tones import BadTone, parse_continuity, parse_heard, parse_tone
from pullstring.trace.evidence import traced
from tests.trace.houses import entries_of, plain, read, rows

ASKED = Request(today="2026-05-10")
HAND = {"author": "TEC", "device": "laptop", "wrote": "2026-05-10T20:00:00+00:00"}
WRITTEN = (
    ("outlet:P1", "tone", "loud from end:W1 isolated confirmed", 2, "level"),
    ("end:W1", "tone", "not looked from outlet:P1", None, "level"),
    ("outlet:P2", "tone", "faint from outlet:P1 over end:W1 end:W2", 1, "level"),
    ("outlet:P1", "remote placed", "3", 3, "number"),
    ("outlet:P2", "remote placed", "none", None, "number"),
    ("end:W1", "remotes heard", "3 7 of 1-8", 2, "numbers"),
    ("end:W2", "remotes heard", "none of 1-8", 0, "numbers"),
    ("end:W2", "word placed", "1 3", 2, "pairs"),
    ("outlet:P2", "word read", "1 3 of 1-4", 2, "pairs"),
    ("outlet:P1", "short placed", "on", 1, "on"),
    ("end:W1", "continuity", "open with outlet:P1 outlet:P2", 0, "closed"),
    ("kit:S1", "self-check", "silent", 0, "works"),
)
HOUSE = plain(2, 2) + "kit: kit=S1, style=tone set\n"
HOUSE += "".join(read(s, q, v, key=f"k{n}", minute=n) for n, (s, q, v, _, _) in enumerate(WRITTEN))


def test_every_reading__has_its_number_and_unit() -> None:
    said = [e.body for e in entries_of(rows(HOUSE)) if type(e.body).__name__ == "Measured"]
    told = {(str(m.subject), m.quantity, m.written): (m.value_si, m.unit_si) for m in said}
    assert told == {(s, q, v): (value, unit) for s, q, v, value, unit in WRITTEN}


@pytest.mark.parametrize(
    ("quantity", "value", "remedy"),
    [
        ("tone", "loud", "write for example: loud from end:E12"),
        ("tone", "loud from end:W1 quickly", "write for example"),
        ("tone", "not looked from end:W1 confirmed", "leave that word out"),
        ("tone", "loud from outlet:P1 over end:W1 end:W1", "write it once"),
        ("tone", "loud from end:W9", "there is no end 'W9'"),
        ("tone", "loud from outlet:P1 over end:W9", "there is no end 'W9'"),
        ("remote placed", "3 4", "a remote bears one"),
        ("remote placed", "three", "write numbers from 1"),
        ("remotes heard", "none", "does not say what was looked for"),
        ("remotes heard", "9 of 1-8", "outside of those looked for"),
        ("word placed", "0 1", "names 0; remotes, marks and pairs are counted from 1"),
        ("word read", "8-1", "write the lower number first: 1-8"),
        ("short placed", "yes", "is no short placed; write on"),
        ("continuity", "maybe", "neither closed nor open"),
        ("continuity", "closed with", "neither closed nor open"),
        ("continuity", "closed with outlet:P9", "there is no outlet 'P9'"),
        ("self-check", "fine", "is no self-check; write works or silent"),
    ],
)
def test_what_is_not_written_so__is_refused_with_a_remedy(quantity: str, value: str, remedy: str) -> None:
    tables = rows(plain(2, 2) + read("end:W1", quantity, value))
    raw = [
        RawTable(f"{t}.csv", t, tuple(dict.fromkeys(c for r in c_rows for c in r)), ()) for t, c_rows in tables.items()
    ]
    raw = [
        RawTable(
            r.file,
            r.table,
            r.header,
            tuple((n, tuple(row.get(c, "") for c in r.header)) for n, row in enumerate(tables[r.table], 2)),
        )
        for r in raw
    ]
    [fault] = understand(raw, known={}, today="2026-05-10").faults
    assert remedy in str(fault) and "\n" not in str(fault)
    assert (fault.file, fault.row) == ("measurements.csv", 2)


def test_tones__say_what_they_say() -> None:
    assert parse_tone("FAINT from end:E1").level == 1
    assert parse_tone("not looked from end:E1").level is None
    over = parse_tone("loud from outlet:O3 over end:E1 end:E2")
    assert over.over == (parse_ref("end:E1"), parse_ref("end:E2"))
    with pytest.raises(BadTone):
        parse_tone("over end:E1")


def test_numbers__spans_and_what_was_looked_for() -> None:
    assert parse_heard("3 7 of 1-8").of == frozenset(range(1, 9))
    assert parse_heard("2, 5-7").numbers == {2, 5, 6, 7} and parse_heard("2").of is None
    assert parse_continuity("Open").closed is False


def site_of(tmp_path: Path, text: str) -> Path:
    folder = tmp_path / "tables"
    folder.mkdir()
    for table, content in rows(text).items():
        header = list(dict.fromkeys(c for row in content for c in row))
        lines = [",".join(header), *(",".join(row.get(c, "") for c in header) for row in content)]
        (folder / f"{table}.csv").write_text("\n".join(lines), encoding="utf-8")
    path = tmp_path / "one.site"
    api.new(path, ASKED, code="SH", name="", **HAND)
    api.import_(path, ASKED, folder=folder, **HAND)
    return path


def written(path: Path) -> set[tuple[str, str, str, str]]:
    site = api.load(path, ASKED)
    return {(str(r.measured.subject), r.measured.quantity, r.measured.written, r.at.text) for r in site.readings}


@pytest.mark.parametrize("form", ["csv", "out.xlsx", "record"])
def test_readings_of_tracing__come_back_as_they_were(tmp_path: Path, form: str) -> None:
    path = site_of(tmp_path, HOUSE)
    again = tmp_path / "two.site"
    if form == "record":
        api.export_record(path, ASKED, folder=tmp_path / form)
        api.import_record(again, ASKED, source=tmp_path / form, rescue=False, dry=False, **HAND)
    else:
        api.export(path, ASKED, folder=tmp_path / form)
        api.new(again, ASKED, code="SH", name="", **HAND)
        api.import_(again, ASKED, folder=tmp_path / form, **HAND)
    assert len(written(path)) == len(WRITTEN) and written(again) == written(path)
    one, two = traced(api.load(path, ASKED)), traced(api.load(again, ASKED))
    assert [(type(r), r.key) for r in one.readings if r.because] and len(one.readings) == len(two.readings)


def test_importing_twice__adds_nothing(tmp_path: Path) -> None:
    path = site_of(tmp_path, HOUSE)
    said = api.import_(path, ASKED, folder=tmp_path / "tables", **HAND).answer
    assert said["entered"] == 0


def test_written__a_probe_goes_over_ends() -> None:
    with pytest.raises(BadTone, match="the probe goes over ends, not over room:M1"):
        parse_tone("loud from outlet:O3 over end:E11 room:M1")

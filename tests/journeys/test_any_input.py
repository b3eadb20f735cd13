"""Any input ends in sentences, never in a traceback: 2,000 drawn tables, entries and files."""

from __future__ import annotations

import json
import random
import string
import zlib
from pathlib import Path

import hypothesis
import pytest
from hypothesis import strategies as st

from pullstring import api
from pullstring.log.refusals import RecordError
from pullstring.log.store import open_store
from pullstring.model.checks import record_problems
from pullstring.model.columns import tables
from pullstring.model.entries import BadEntry, Entry, from_json, to_json
from pullstring.model.replay import replay
from pullstring.model.tables import RawTable, understand
from pullstring.model.towrite import not_yet_said
from pullstring.model.when import parse_when
from pullstring.notice.noticed import noticed
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from tests.journeys.sites import ASKED, make, packaged
from tests.tiers import FRESH_SEED, slow

NASTY = st.sampled_from(
    ["none", "", "0", "-1", "1e308", "1e999", "NaN", "٣", "E1", "C1", "end:E1", "cable:C1", ":", "port:U.1", "&", "E1 & E1",
     "0 0; 1 1", "0 0;", "|", "< 3", "> none", "12'6\"", "999999999999999999", "a\nb", "\x00", "=1+1", "B1.1", "row:B1.",
     "2026-02-30", "before 0001", "9999", "about 1", "sealed:1:AAAA", "loud from end:E1", "touch 5+7", "whole", "use:idle",
     "x" * 3000, "🐙", "\u202eabc", "yes", "no", "act", "cut", "mend", "re-tag"]
)  # fmt: skip
CELL = NASTY | st.text(max_size=12)
SOME = [t for t in tables().values()]


@st.composite
def raw_tables(draw: st.DrawFn) -> list[RawTable]:
    found = []
    for table in draw(st.lists(st.sampled_from(SOME), min_size=1, max_size=4)):
        names = [c.name for c in table.columns]
        header = draw(st.lists(st.sampled_from(names) | st.text(max_size=6), min_size=1, max_size=5))
        header += [c.name for c in table.columns if c.required and draw(st.booleans())]
        rows = draw(st.lists(st.lists(CELL, max_size=8), max_size=4))
        rows = [[_fit(table, n, c) for n, c in zip(header, row, strict=False)] or row for row in rows]
        found.append(RawTable(f"{table.name}.csv", table.name, tuple(header), tuple(enumerate(map(tuple, rows), 2))))
    return found


def _fit(table, name: str, cell: str) -> str:
    """Every other cell is given something that its column takes, so that rows get through and the later steps are tried."""
    column = table.column(name)
    if column is None or zlib.crc32(f"{name} {cell}".encode()) % 2:  # the same in every process
        return cell
    fit = {"tag": "E1", "ref": "E1", "anyref": "end:E1", "when": "2020", "number": "3", "whole": "2", "reading": "3"}
    return column.options[0] if column.type == "choice" else fit.get(column.type, cell)


def looked_at(entries: list[Entry]) -> None:
    """All that a person could ask of a record gives an answer and a page."""
    site = replay(entries, today="2026-04-01")
    for found in (*record_problems(site), *noticed(site)):
        assert found.where and found.remedy


@hypothesis.settings(max_examples=150, suppress_health_check=list(hypothesis.HealthCheck))
@hypothesis.given(raw_tables())
def test_tables__end_in_statements_or_sentences(raw: list[RawTable]) -> None:
    _tables(raw)


@slow("60 s, a thousand drawn sets of tables")
@hypothesis.seed(FRESH_SEED)
@hypothesis.settings(max_examples=1000, derandomize=False, suppress_health_check=list(hypothesis.HealthCheck))
@hypothesis.given(raw_tables())
def test_tables__a_thousand_fresh_draws(raw: list[RawTable]) -> None:
    _tables(raw)


def _tables(raw: list[RawTable]) -> None:
    said = understand(raw, known={}, today="2026-04-01")
    for fault in said.faults:
        assert str(fault).strip() and "Traceback" not in str(fault) and "\n" not in str(fault)
    fresh = not_yet_said(replay([], today="2026-04-01"), said.statements, frozenset())
    wrote = "2026-04-01T10:00:00+00:00"
    entries = [Entry(f"i{n}", "T", "a", n, n, parse_when(s.at), wrote, s.body) for n, s in enumerate(fresh, 1)]
    assert [from_json(to_json(e)) for e in entries] == entries
    looked_at(entries)


def _lines() -> list[str]:
    rows = {
        "cables": [("cable", "C1")],
        "ends": [("end", "E1"), ("cable", "C1")],
        "measurements": [("subject", "end:E1"), ("quantity", "volts DC"), ("value", "3 V")],
        "claims": [("subject", "end:E1"), ("relation", "carries"), ("object", "use:idle")],
        "acts": [("act", "cut"), ("subject", "cable:C1")],
    }
    raw = [RawTable(t, t, tuple(n for n, _ in cells), ((2, tuple(v for _, v in cells)),)) for t, cells in rows.items()]
    said = understand(raw, known={}, today="2026-04-01")
    assert not said.faults
    return [
        to_json(Entry(f"i{n}", "T", "a", n, n, parse_when(s.at), "2026-04-01T10:00:00+00:00", s.body))
        for n, s in enumerate(said.statements, 1)
    ]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 2**60) | st.floats(allow_nan=False) | NASTY | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)


@hypothesis.settings(max_examples=500, suppress_health_check=list(hypothesis.HealthCheck))
@hypothesis.given(st.sampled_from(_lines()), st.data())
def test_entries__a_bent_line_is_refused_in_a_sentence_or_read(line: str, data: st.DataObject) -> None:
    bent = json.loads(line)
    for _ in range(data.draw(st.integers(1, 3))):
        inner = bent if data.draw(st.booleans()) or not isinstance(bent.get("body"), dict) else bent["body"]
        name = data.draw(st.sampled_from([*sorted(inner), "new_field"]))
        if data.draw(st.booleans()):
            inner[name] = data.draw(JSON)
        else:
            inner.pop(name, None)
    try:
        entry = from_json(json.dumps(bent))
    except BadEntry as error:
        assert str(error).strip()
    else:
        looked_at([entry, *(from_json(other) for other in _lines())])


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return make(tmp_path_factory.mktemp("whole"), packaged("two_rooms")).read_bytes()


@pytest.mark.parametrize("seed", range(5))
def test_files__a_bent_site_file_is_read_or_refused_in_a_sentence(whole: bytes, tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    path = tmp_path / "bent.site"
    for _ in range(100):
        bent = bytearray(whole)
        match dice.randrange(4):
            case 0:
                del bent[dice.randrange(len(bent)) :]
            case 1:
                for _ in range(dice.randrange(1, 20)):
                    bent[dice.randrange(len(bent))] = dice.randrange(256)
            case 2:
                at = dice.randrange(len(bent))
                bent[at : at + 512] = bytes(len(bent[at : at + 512]))
            case _:
                for _ in range(3):
                    bent[dice.randrange(100)] = dice.randrange(256)
        path.write_bytes(bent)
        try:
            with open_store(path, read_only=True) as store:
                store.entries()
            api.site(path, ASKED)
        except (RecordError, BadEntry, api.BadRequest) as error:
            assert "\n" not in str(error) and str(error).strip()
        assert path.read_bytes() == bytes(bent), "asking changes nothing"


@pytest.mark.parametrize("seed", range(4))
def test_csv_bytes__any_bytes_in_the_folder_end_in_sentences(tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    path, folder = tmp_path / "a.site", tmp_path / "tables"
    folder.mkdir()
    hand = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
    api.new(path, ASKED, code="WM", name="", **hand)
    for _ in range(100):
        names = dice.sample(["rooms", "ends", "cables", "claims", "measurements", "acts", "photos"], 3)
        for name in names:
            text = "".join(dice.choice(string.printable + '",;\n\t\x00é€') for _ in range(dice.randrange(200)))
            (folder / f"{name}.csv").write_bytes(text.encode(dice.choice(["utf-8", "utf-16", "latin-1"]), "replace"))
        try:
            api.import_(path, ASKED, folder=folder, **hand)
        except api.BadRequest as error:
            assert all(f.strip() for f in error.faults)
        for name in names:
            (folder / f"{name}.csv").unlink()
    answer = api.site(path, ASKED)
    assert text_page(page_of(answer, whole=True), width=100)

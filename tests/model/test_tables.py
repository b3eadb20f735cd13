"""Tables in and out: the same site again; nothing twice; all faults at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.answers import Stopped
from pullstring.model.asbuilt import Site
from pullstring.model.geometry import parse_outline
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when
from tests.journeys.sites import ASKED, HAND, make, packaged, write
from tests.model.make import noted


def as_told(site: Site) -> object:
    """Fields, claims, grades, dates and readings, without ids and authorship."""
    things = {
        (t.ref.kind, t.ref.key): {n: [(h.value, h.evidence, h.at) for h in f.heads] for n, f in t.fields.items()}
        for t in site.things.values()
    }
    claims = [
        (
            c.subject,
            c.relation,
            c.object,
            c.support,
            c.against,
            c.status,
            c.at,
            sorted(repr((s.holds, s.evidence, s.at, s.detail)) for s in c.sayings),
        )
        for c in site.claims
    ]
    return things, claims, sorted(repr((r.measured, r.at)) for r in site.readings)


@pytest.mark.parametrize("name", ["two_rooms", "three_lamps/1_arrival"])
def test_import_export_import__equal_as_built_site(tmp_path: Path, name: str) -> None:
    first = make(tmp_path / "a", packaged(name))
    api.export(first, ASKED, folder=tmp_path / "out")
    second = tmp_path / "again.site"
    api.new(second, ASKED, code="KC", name="", **HAND)
    said = api.import_(second, ASKED, folder=tmp_path / "out", **HAND)
    assert said.answer["entered"] > 80
    # the site file's own first note gives the property's tag; its fields come from the tables
    assert as_told(api.load(second, ASKED)) == as_told(api.load(first, ASKED))
    assert api.import_(first, ASKED, folder=tmp_path / "out", **HAND).answer["entered"] == 0


def test_missing_row__deletes_nothing_and_changed_cell__goes_over(tmp_path: Path) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    less = {"cables": [{"cable": "C1", "look": "violet", "grade": "seen", "at": "2026-03-01"}]}
    assert api.import_(path, ASKED, folder=write(tmp_path / "b", less), **HAND).answer["entered"] == 1
    things = api.load(path, ASKED).things
    cable = next(t for r, t in things.items() if str(r) == "cable:C1")
    assert (cable.get("look"), cable.get("pairs"), cable.fields["look"].disputed) == ("violet", 4, False)
    old = api.import_(path, ASKED, folder=tmp_path / "a" / "tables", **HAND)
    assert old.answer["entered"] == 0, "an old folder does not undo what came after it"


def test_blank_is_not_said_and_none_is_said(tmp_path: Path) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    rows = {"ends": [{"end": "E1", "label": "none", "found": "", "grade": "seen", "at": "2026-03-02"}]}
    api.import_(path, ASKED, folder=write(tmp_path / "b", rows), **HAND)
    end = next(t for r, t in api.load(path, ASKED).things.items() if str(r) == "end:E1")
    assert (end.get("label"), end.get("found")) == ("none", "plug in the switch")


def test_two_rows_that_differ__are_two_accounts(tmp_path: Path) -> None:
    rows = packaged("two_rooms")
    rows["cables"].append({**dict.fromkeys(rows["cables"][0], ""), "cable": "c01", "look": "grey", "grade": "told"})
    said = api.site(make(tmp_path, rows), ASKED)
    assert [p.where for p in said.problems if p.code == "two_accounts"] == ["cable:C1 look"]


def test_twenty_faults__all_told_at_once(tmp_path: Path) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    bad = [
        {"room": f"Q{i}", "floor": f"K{i + 1}", "outline": "0 0", "height_m": "x", "closet": "maybe"} for i in range(5)
    ]
    with pytest.raises(api.BadRequest) as told:
        api.import_(path, ASKED, folder=write(tmp_path / "b", {"rooms": bad}), **HAND)
    assert len(told.value.faults) == 20
    assert all(f.startswith(f"rooms.csv row {i // 4 + 2}, column ") for i, f in enumerate(told.value.faults))


@pytest.mark.parametrize(
    ("table", "row", "words"),
    [
        ("cables", {"cable": "C9", "length_m": "-5"}, "-5 cannot be; length_m is 0 or more"),
        ("cables", {"cable": "C9", "gauge_awg": "99"}, "from 0 to 40"),
        ("cables", {"cable": "C9", "pairs": "-3"}, "-3 cannot be"),
        ("rooms", {"room": "R9", "height_m": "1e400"}, "larger than any length"),
        ("models", {"model": "M9", "class": "9"}, "from 0 to 8"),
        ("cables", {"length_m": "5"}, "column cable: this column is missing"),
        ("cables", {"cable\0": "C9"}, "column cable: this column is missing"),
        ("measurements", {"subject": "cable:C1", "quantity": "capacitance", "value": "-1 nF"}, "not below nothing"),
        ("measurements", {"subject": "cable:C1", "quantity": "ran at", "value": "12 ohm"}, "no unit of rate"),
    ],
)
def test_impossible_cells__are_refused_in_a_sentence(tmp_path: Path, table: str, row: dict, words: str) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    with pytest.raises(api.BadRequest) as told:
        api.import_(path, ASKED, folder=write(tmp_path / "b", {table: [row]}), **HAND)
    assert any(words in fault for fault in told.value.faults), told.value.faults


def test_import__stopped_half_way_enters_nothing(tmp_path: Path) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    before = path.read_bytes()

    def stop(fraction: float, words: str) -> None:
        if fraction >= 0.6:
            raise Stopped

    rows = {"cables": [{"cable": "C9", "look": "new"}]}
    with pytest.raises(Stopped):
        api.import_(path, ASKED, folder=write(tmp_path / "b", rows), progress=stop, **HAND)
    assert path.read_bytes() == before


def test_record_with_impossible_values__still_answers(tmp_path: Path) -> None:
    """Entries come from other programs too: what cannot be is not known, and no verb falls over it."""
    path = make(tmp_path / "a", packaged("two_rooms"))
    with open_store(path, device="other") as store:
        bad = noted("cable:C1", {"length_m": -5.0, "gauge_awg": 900.0, "pairs": -3, "jacket": 7}, over={})
        store.append([bad], at=parse_when("2026-03-01"), wrote="2026-03-01T10:00:00+00:00", author="X", device="other")
    runs = {r["end"]: r for r in api.runs(path, ASKED).answer["runs"]}
    assert runs["E1"]["length"] is None
    assert api.power(path, ASKED).answer["ports"]
    assert any(p.code == "two_accounts" for p in api.site(path, ASKED).problems)


def test_one_missing_room__is_told_once_with_all_its_rows(tmp_path: Path) -> None:
    rows = packaged("three_lamps/1_arrival")
    rows["rooms"] = [r for r in rows["rooms"] if r["room"] != "M004"]
    path = tmp_path / "a.site"
    api.new(path, ASKED, code="TLH", name="", **HAND)
    with pytest.raises(api.BadRequest) as told:
        api.import_(path, ASKED, folder=write(tmp_path / "t", rows), **HAND)
    of_ends = [f for f in told.value.faults if f.startswith("ends.csv")]
    assert len(of_ends) == 1
    assert of_ends[0].startswith("ends.csv rows 2 to ")
    assert "there is no room 'M004'" in of_ends[0]


@pytest.mark.parametrize(
    ("table", "row", "words"),
    [
        ("cables", {"cable": "C9", "at": "TEC"}, "'TEC' is no date"),
        ("cables", {"cable": "C9", "jacket": "cat5\nC3,quad"}, "runs over several rows; close its quote"),
        ("rooms", {"room": "R9", "outline": "0 0; 5 5 ohm"}, "'ohm' is no unit of length"),
    ],
)
def test_sentences__name_what_is_really_wrong(tmp_path: Path, table: str, row: dict, words: str) -> None:
    path = make(tmp_path / "a", packaged("two_rooms"))
    with pytest.raises(api.BadRequest) as told:
        api.import_(path, ASKED, folder=write(tmp_path / "b", {table: [row]}), **HAND)
    assert any(words in fault for fault in told.value.faults), told.value.faults


@pytest.mark.parametrize("unit", ["ft", "yd", "cm", "m"])
def test_outline__in_any_unit_of_length(unit: str) -> None:
    factor = {"ft": 0.3048, "yd": 0.9144, "cm": 0.01, "m": 1.0}[unit]
    assert parse_outline(f"0 0; 20 16 {unit}")[0][1] == pytest.approx((20 * factor, 16 * factor))


def test_other_name__a_table_may_go_on_using_it(tmp_path: Path) -> None:
    """C40 was found to be the far end of C12: the old sheet that names C40 still comes in, and adds to C12."""
    rows = {"cables": [{"cable": "C12", "pairs": "2"}, {"cable": "C40", "pairs": "2"}]}
    path = make(tmp_path, rows, code="KC")
    cells = {"subject": "cable:C40", "relation": "alias_of", "object": "cable:C12"}
    api.add(path, ASKED, table="claims", cells=cells, **HAND)
    again = api.import_(path, ASKED, folder=tmp_path / "tables", **HAND).answer
    assert again["entered"] == 0
    ends = write(tmp_path / "more", {"ends": [{"end": "E40", "cable": "C40"}]})
    api.import_(path, ASKED, folder=ends, **HAND)
    found = api.load(path, ASKED)
    assert [str(r) for r in found.things if r.kind == "cable"] == ["cable:C12"]
    assert found.things[Ref("end", "E40")].get("cable") == "cable:C12"

"""Who said what, what bears a word, the registers, the shapes of a floor: each against the tables they came from."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.refs import Ref
from tests.journeys.sites import ASKED, HAND, make, packaged

ROWS = packaged("two_rooms")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("looked"), ROWS)


def test_history__every_entry_once_the_latest_first(site: Path) -> None:
    with open_store(site, read_only=True) as store:
        ids = [e.id for e in store.entries()]
    told: list[str] = []
    before = None
    while True:
        said = api.history(site, ASKED, before=before).answer
        told += [e["id"] for e in said["entries"]]
        before = said["more_before"]
        if before is None:
            break
    assert told == list(reversed(ids))
    assert said["count"] == len(ids)


def test_history__of_one_thing_is_what_its_rows_said(site: Path) -> None:
    """Each row of the tables that names E1 is one note and one claim for each relation cell; all of them are told."""
    with open_store(site, read_only=True) as store:
        named = {
            e.id
            for e in store.entries()
            if Ref("end", "E1") in (getattr(e.body, "subject", None), getattr(e.body, "object", None))
        }
    said = api.history(site, ASKED, about="E01").answer
    assert said["thing"] == "end:E1"
    assert {e["id"] for e in said["entries"]} == named
    assert len(named) >= 2


def test_history__a_struck_out_entry_is_told_as_such(tmp_path: Path) -> None:
    site = make(tmp_path, ROWS)
    entry = api.add(site, ASKED, table="ends", cells={"end": "E1", "note": "wrong", "grade": "seen"}, **HAND).because[0]
    api.strike(site, ASKED, entry=entry, why="read the wrong row", redact=False, **HAND)
    said = {e["id"]: e for e in api.history(site, ASKED).answer["entries"]}
    assert said[entry]["struck_by"] is not None
    assert said[said[entry]["struck_by"]]["body"]["why"] == "read the wrong row"


def test_history__a_sealed_secret_shows_no_word(tmp_path: Path) -> None:
    import json

    from pullstring.papers.terminal import text_page
    from pullstring.papers.words import page_of

    site = make(tmp_path, ROWS)
    unit = ROWS["units"][0]["unit"]
    sealed = api.seal_cell(site, table="units", column="password", secret="swordfish", passphrase="correct horse")
    api.add(site, ASKED, table="units", cells={"unit": unit, "password": sealed, "grade": "seen"}, **HAND)
    answer = api.history(site, ASKED, about=f"unit:{unit}")
    assert "swordfish" not in json.dumps(answer.answer)
    assert sealed not in text_page(page_of(answer), width=200)


@pytest.mark.parametrize(
    ("word", "refs"),
    [("e001", ["end:E1"]), ("end:E1", ["end:E1"]), ("closet", ["room:R1"]), ("nowhere", []), ("", []), ("   ", [])],
)
def test_find__by_tag_or_word(site: Path, word: str, refs: list[str]) -> None:
    assert [f["ref"] for f in api.find(site, ASKED, word=word).answer["found"]][: len(refs) or None] == refs


def test_find__a_former_tag_leads_to_the_thing(tmp_path: Path) -> None:
    site = make(tmp_path, ROWS)
    api.add(
        site, ASKED, table="acts", cells={"act": "re-tag", "subject": "end:E1", "to": "E91", "grade": "seen"}, **HAND
    )
    found = api.find(site, ASKED, word="E1").answer["found"]
    assert ("end:E91", "former tag") in [(f["ref"], f["by"]) for f in found]


def test_registers__every_end_and_outlet_of_the_tables(site: Path) -> None:
    ends = {e["end"]: e for e in api.ends(site, ASKED).answer["ends"]}
    assert set(ends) == {row["end"] for row in ROWS["ends"]}
    for row in (
        r for r in ROWS["ends"] if r["cable"]
    ):  # the first row of an end says what it is, later ones where it goes
        assert (ends[row["end"]]["cable"], ends[row["end"]]["found"]) == (row["cable"], row.get("found", ""))
    outlets = {o["outlet"]: o for o in api.outlets(site, ASKED).answer["outlets"]}
    assert set(outlets) == {row["outlet"] for row in ROWS["outlets"]}


def test_shapes__are_the_numbers_of_the_tables(site: Path) -> None:
    said = api.shapes(site, ASKED, floor="K0")
    assert {r["tag"] for r in said["rooms"]} == {r["room"] for r in ROWS["rooms"]}
    assert {w["tag"]: w["thickness_m"] for w in said["walls"]}.keys() == {w["wall"] for w in ROWS["walls"]}
    for row in ROWS["openings"]:
        told = next(o for o in said["openings"] if o["tag"] == row["opening"])
        assert (told["wall"], told["u0_m"], told["u1_m"]) == (row["wall"], float(row["u0_m"]), float(row["u1_m"]))
    with pytest.raises(api.BadRequest, match="there is nothing tagged 'Q9' in this site"):
        api.shapes(site, ASKED, floor="Q9")


def test_next_tag__goes_on_with_the_commonest_pattern(site: Path) -> None:
    """Highest of the pattern plus one, and no tag that was ever used."""
    said = api.floors_of(site, ASKED)["next"]
    highest = max(
        int(row["end"][1:]) for row in ROWS["ends"] if row["end"].startswith("E") and row["end"][1:].isdigit()
    )
    assert int(said["end"].lstrip("E")) == highest + 1


def test_kept_sites__a_write_is_seen_at_once(tmp_path: Path) -> None:
    """The site that is kept ready between questions is given up as soon as the record holds more."""
    site = make(tmp_path, ROWS)
    for n in range(20):
        api.add(site, ASKED, table="rooms", cells={"room": "R1", "name": f"Name {n}", "grade": "seen"}, **HAND)
        assert api.load(site, ASKED).things[Ref("room", "R1")].text("name") == f"Name {n}"
    assert api.load(site, ASKED) is api.load(site, ASKED)
    earlier = dataclasses.replace(ASKED, as_of="2020-01-01")
    assert api.load(site, earlier) is not api.load(site, ASKED)


def test_next_tag__counts_what_a_phone_jotted(tmp_path: Path) -> None:
    """Two phones that tag ends before anybody sorts must not propose one tag twice."""
    site = make(tmp_path, ROWS)
    first = api.floors_of(site, ASKED)["next"]["end"]
    cells = {"jotting": "QQ1", "what": "tag", "about": first, "grade": "seen"}
    api.add(site, ASKED, table="jottings", cells=cells, **HAND)
    assert int(api.floors_of(site, ASKED)["next"]["end"].lstrip("E")) == int(first.lstrip("E")) + 1

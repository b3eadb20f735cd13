"""The verbs of the hand: acts as they are typed, entries struck out and brought back."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from tests.journeys.sites import ASKED, HAND, make, packaged


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


def site_of(path: Path):
    with open_store(path, read_only=True) as store:
        return replay(store.entries(), today=ASKED.today)


def did(path: Path, **cells: str) -> str:
    [entry] = api.add(path, ASKED, table="acts", cells={"grade": "seen", **cells}, **HAND).answer["entries"]
    return entry


def plugged(path: Path, end: str) -> set[str]:
    return {str(c.object) for c in site_of(path).about(subject=Ref("end", end), relation="plugged")}


def test_act__plug_in_moves_the_plug_and_unplug_takes_it_away(house: Path) -> None:
    did(house, act="plug in", subject="end:E1", object="port:U1.3")
    assert plugged(house, "E1") == {"port:U1.3"}
    did(house, act="unplug", subject="end:E1", object="port:U1.3")
    assert plugged(house, "E1") == set()


def test_act__set_mode_and_re_tag_take_effect(house: Path) -> None:
    did(house, act="set mode", subject="port:U1.3", **{"from": "nothing", "to": "802.3af"})
    assert site_of(house).things[Ref("port", "U1.3")].text("gives") == "802.3af"
    did(house, act="re-tag", subject="end:E1", to="E41")
    assert Ref("end", "E41") in site_of(house).things and Ref("end", "E1") not in site_of(house).things


WRONG = [
    ({"act": "plug inn", "subject": "end:E1", "object": "port:U1.3"}, ["did you mean plug in?"]),
    ({"act": "plug in", "subject": "end:E99", "object": "port:U1.3"}, ["there is no end 'E99'"]),
    ({"act": "plug in", "subject": "cable:C1", "object": "room:R1"}, ["plug in", "cable", "room"]),
    ({"act": "plug in", "subject": "end:E1"}, ["plug in", "object"]),
    ({"act": "set mode", "subject": "port:U1.3"}, ["needs the column from", "needs the column to"]),
    (
        {"act": "set mode", "subject": "port:U1.3", "from": "none at all", "to": "802.3aff"},
        ["'none at all' is not one of", "'802.3aff' is not one of", "did you mean 802.3af?"],
    ),
    ({"act": "re-tag", "subject": "end:E1", "to": "E2"}, ["there is end:E2 already", "exchange tags"]),
    ({"act": "re-tag", "subject": "end:E1", "to": "e02"}, ["there is end:"]),
    (
        {"act": "split", "subject": "end:E1", "to": "E2", "entries": "abc deadbeef"},
        ["there is end:E2 already", "'abc'", "'deadbeef'", "site --why end:E1 shows the ids"],
    ),
    ({"act": "unplug", "subject": "end:E1", "object": "port:U1.3", "at": "yesterday"}, ["'yesterday' is no date"]),
]


@pytest.mark.parametrize(("cells", "says"), WRONG, ids=lambda x: x.get("act") if isinstance(x, dict) else "")
def test_act__wrong_is_told_all_at_once_and_nothing_written(
    house: Path, cells: dict[str, str], says: list[str]
) -> None:
    before = house.read_bytes()
    with pytest.raises(ValueError) as refused:
        did(house, **cells)
    assert [s for s in says if s not in str(refused.value)] == []
    assert house.read_bytes() == before


def test_act__split_takes_ids_as_pages_show_them(house: Path) -> None:
    [told] = api.add(house, ASKED, table="ends", cells={"end": "E1", "label": "old 7"}, **HAND).answer["entries"]
    did(house, act="split", subject="end:E1", to="E42", entries=told[:8])
    things = site_of(house).things
    assert things[Ref("end", "E42")].text("label") == "old 7" and things[Ref("end", "E1")].text("label") != "old 7"


def strike(path: Path, entry: str, *, why: str = "a slip", redact: bool = False) -> str:
    return str(api.strike(path, ASKED, entry=entry, why=why, redact=redact, **HAND).answer["by"])


def label(path: Path) -> str:
    return site_of(path).things[Ref("end", "E1")].text("label")


def test_strike__counts_no_more_and_striking_that_out_brings_it_back(house: Path) -> None:
    before = label(house)
    [told] = api.add(house, ASKED, table="ends", cells={"end": "E1", "label": "old 7"}, **HAND).answer["entries"]
    by = strike(house, told[:8])
    assert label(house) == before
    with pytest.raises(ValueError, match=f"struck out already, by {by}"):
        strike(house, told)
    strike(house, by)
    assert label(house) == "old 7"
    strike(house, told)
    assert label(house) == before


def test_strike__redacted_content_is_destroyed_and_never_twice(house: Path) -> None:
    [told] = api.add(house, ASKED, table="ends", cells={"end": "E1", "label": "hurtful words"}, **HAND).answer[
        "entries"
    ]
    strike(house, told)  # first only struck out, then its content must go
    assert b"hurtful words" in house.read_bytes()
    strike(house, told, redact=True)
    assert b"hurtful words" not in house.read_bytes()
    with pytest.raises(ValueError, match="destroyed already"):
        strike(house, told, redact=True)


@pytest.mark.parametrize(
    ("entry", "why", "says"), [("nobody", "", 2), ("nobody", "so", 1), ("", "so", 1), ("a", "so", 1)]
)
def test_strike__wrong_is_told_and_nothing_written(house: Path, entry: str, why: str, says: int) -> None:
    before = house.read_bytes()
    with pytest.raises(ValueError) as refused:
        strike(house, entry, why=why)
    assert len(str(refused.value).splitlines()) == says and house.read_bytes() == before

"""From a site file to what hangs on what, the closet's sheets and the input of drawings."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.api.drawn import closet, plan_input, tree
from pullstring.model.answers import Request
from pullstring.papers.boxes import layout
from pullstring.papers.boxes_sketch import sketch_svg
from pullstring.papers.riser import riser_svg
from tests.demo import inn as inn_tables
from tests.journeys.sites import HAND
from tests.papers.closet_house import CLOSET, ON_IT, Rows, outside, overprinted, site_of, texts

ASKED = Request(today="2027-04-20")


@pytest.fixture(scope="module")
def inn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The packaged property with all its stages."""
    path = tmp_path_factory.mktemp("inn") / "house.site"
    api.new(path, ASKED, code="INN", name="", **HAND)
    for stage in inn_tables.DAYS:
        inn_tables.bring_in(path, stage)
    return path


def edges(found: dict[str, object]) -> dict[tuple[str, str, str], dict[str, object]]:
    return {(e["from"], e["to"], e["signal"]): e for e in found["edges"]}  # type: ignore[index,attr-defined]


def test_tree__power_and_data_of_an_access_point_through_its_outlet() -> None:
    """By hand: breaker, socket, switch, port 1 over C1 to the outlet, cord to the access point."""
    found = edges(tree(site_of(CLOSET, ON_IT), ASKED))
    assert ("circuit:LARDER", "socket:X1", "power") in found and ("socket:X1", "unit:S1", "power") in found
    over = found["unit:S1", "outlet:O1", "power"]
    assert (over["port"], over["gives"], over["cables"], over["grade"]) == ("S1.1", "802.3af", ["C1"], "seen")
    assert ("outlet:O1", "unit:A1", "power") in found
    assert found["circuit:LARDER", "socket:X1", "power"]["unsure"] and not over["unsure"]


def test_tree__doubt_of_the_mains_is_no_doubt_of_the_data() -> None:
    """The access point is told to be in a socket as well; its cord to the outlet was seen."""
    feed: Rows = {"service:N": {"needs": "data", "source": "feed", "from": "unit:S1", "arrives_at": "unit:A1"}}
    found = edges(tree(site_of({**CLOSET, **feed}, [*ON_IT, ("unit:A1", "fed_by", "socket:X1", "assumed")]), ASKED))
    assert found["outlet:O1", "unit:A1", "data"]["grade"] == "seen"
    assert found["socket:X1", "unit:A1", "power"]["unsure"]


def test_tree__port_that_gives_another_mode_feeds_nothing() -> None:
    """24 V always-on never suits a unit that takes 802.3af."""
    rows: Rows = {**CLOSET, "port:S1.1": {"gives": "24 V always-on"}}
    found = edges(tree(site_of(rows, ON_IT), ASKED))
    assert ("outlet:O1", "unit:A1", "power") not in found


def test_tree__cable_out_of_use_feeds_nothing_and_its_outlet_stands_aside() -> None:
    rows: Rows = {**CLOSET, "cable:C1": {**CLOSET["cable:C1"], "state": "out of use"}}
    found = tree(site_of(rows, [c for c in ON_IT if c[1] != "goes_to"]), ASKED)
    assert "outlet:O1" in [n["ref"] for n in found["aside"]]
    assert not [e for e in found["edges"] if e["from"] == "unit:S1"]


def test_tree__breaker_off_takes_its_power_from_the_picture() -> None:
    rows: Rows = {**CLOSET, "circuit:LARDER": {"breaker": "off"}}
    found = edges(tree(site_of(rows, ON_IT), ASKED))
    assert not [e for e in found if e[2] == "power"]


def test_tree__every_edge_names_entries_that_are_in_the_record() -> None:
    site = site_of(CLOSET, ON_IT)
    known = {e for t in site.things.values() for e in t.entries} | {e for c in site.claims for e in c.entries}
    for one in tree(site, ASKED)["edges"]:
        assert one["because"] and set(one["because"]) <= known


def test_tree__inn_agrees_with_what_goes_dark(inn: Path) -> None:
    """What the drawing shows behind a unit is what if-cut says loses its power with it, but for what has a second feed."""
    found = tree(inn, ASKED)
    power: dict[str, set[str]] = {}
    for one in found["edges"]:
        if one["signal"] == "power":
            power.setdefault(one["from"], set()).add(one["to"])

    def behind(ref: str) -> set[str]:
        seen, todo = set(), [ref]
        while todo:
            for there in power.get(todo.pop(), ()):
                if there not in seen:
                    seen.add(there)
                    todo.append(there)
        return seen

    sources = [n["tag"] for n in found["nodes"] if n["kind"] == "circuit"][:6]
    assert sources
    for tag in sources:
        kind = next(n["ref"] for n in found["nodes"] if n["tag"] == tag)
        cut = api.if_cut(inn, Request(today="2027-04-20", tags=(kind,))).answer
        drawn = {r for r in behind(kind) if r.startswith("unit:")}
        assert set(cut["unpowered"]) <= drawn


def test_drawn__inn_closet_riser_and_sketches_overprint_nothing(inn: Path) -> None:
    made = [svg for _, svg in closet(inn, ASKED)] + [riser_svg(tree(inn, ASKED))]
    site = plan_input(inn, ASKED)["site"]
    made += [sketch_svg(site, floor) for floor in dict.fromkeys(s.floor for s in layout(site).stories)]
    for svg in made:
        assert overprinted(svg) == [] and outside(svg) == []


def test_drawn__every_closet_end_of_the_inn_stands_on_a_sheet(inn: Path) -> None:
    said = {w for _, svg in closet(inn, ASKED) for w in texts(svg)}
    runs = plan_input(inn, ASKED)["runs"]
    assert len(runs) > 20 and not [r["end"] for r in runs if r["end"] not in said]


def test_drawn__what_must_not_be_touched_is_said_on_the_sheets(inn: Path) -> None:
    said = " ".join(w for _, svg in closet(inn, ASKED) for w in texts(svg))
    assert said.count("DO NOT TOUCH") >= 5


def test_drawn__fresh_record_of_a_pasted_message(tmp_path: Path) -> None:
    path = tmp_path / "fresh.site"
    text = "Hall, kitchen next to the hall, scullery next to the kitchen. Library above the kitchen."
    api.start(path, ASKED, text=text, look=False, **HAND)
    site = plan_input(path, ASKED)["site"]
    made = layout(site)
    assert made.apart == () and len(made.boxes) == 4
    for floor in dict.fromkeys(s.floor for s in made.stories):
        assert overprinted(sketch_svg(site, floor)) == []
    assert closet(path, ASKED) == [] and tree(path, ASKED)["edges"] == []
    assert "Nothing that hangs on anything is noted yet." in texts(riser_svg(tree(path, ASKED)))


def test_drawn__same_bytes_each_time(inn: Path) -> None:
    assert closet(inn, ASKED) == closet(inn, ASKED)
    assert riser_svg(tree(inn, ASKED)) == riser_svg(tree(inn, ASKED))

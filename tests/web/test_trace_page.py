"""Tracing on the laptop: how sure by shape and word, why with its entries, accepting once, and the walk on the plan."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.refs import Ref
from pullstring.papers.blocks import Heading
from pullstring.papers.walk_on_floor import stops_of, with_stops
from pullstring.papers.words import page_of
from pullstring.papers.words_trace_page import SAID_HERE, outlet_row
from tests.journeys.lime_house import TRUTH, lime_house
from tests.journeys.sites import ASKED
from tests.web.served import Served, serving
from tests.web.test_keeping import jotting, paired
from tests.web.test_reading import violations

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return lime_house(tmp_path)


@pytest.fixture
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


@pytest.fixture
def tab(served: Served, browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(served.origin + "/trace")
    yield page
    page.close()


def entries(site: Path) -> int:
    with open_store(site, read_only=True) as store:
        return int(store.rows("SELECT count(*) FROM entries")[0][0])


def goes_to(site: Path, outlet: str) -> set[str]:
    """Ends of which the record says with any grade that they go to an outlet."""
    found = api.load(site, ASKED)
    claims = [c for c in found.about(relation="goes_to", object=Ref("outlet", outlet)) if c.status == "holds"]
    return {c.subject.tag for c in claims}


def table_row(tab: Page, outlet: str) -> str:
    row = tab.get_by_role("region", name="outlets").locator("tr", has=tab.get_by_role("link", name=outlet, exact=True))
    return row.inner_text()


def test_trace_page__says_what_was_found_and_how_sure_by_shape_and_word(tab: Page) -> None:
    row = table_row(tab, "P1")
    assert "W1" in row and "nearly certain" in row
    region = tab.get_by_role("region", name="outlets")
    shapes = {
        tag: region.locator("tr", has=tab.get_by_role("link", name=tag, exact=True))
        .locator(".shape")
        .get_attribute("class")
        for tag in TRUTH
    }
    assert shapes["P1"] == shapes["P2"] == "shape full"
    assert shapes["P6"] != "shape full"  # nobody tried it
    assert "P3" in table_row(tab, "P2")  # the other one of the chain


def test_trace_page__why_leads_to_the_entries(tab: Page, site: Path) -> None:
    tab.get_by_role("region", name="outlets").get_by_role("link", name="why P1").click()
    tab.wait_for_url("**/trace/why?of=outlet*")
    line = tab.get_by_role("link", name=re.compile("loud tone from end W1")).first
    assert tab.locator("section, main").filter(has=line).count() > 0
    line.click()
    tab.wait_for_url("**/history?about=*")
    assert "loud from end W1" in tab.inner_text("main")


def test_accept__one_click_writes_one_claim_of_the_grade_that_was_earned(tab: Page, site: Path) -> None:
    before = entries(site)
    assert goes_to(site, "P1") == set()
    part = tab.locator("section.proposed")
    part.get_by_role("button", name="Accept P1", exact=True).dblclick()
    part.get_by_text("In the record.").wait_for()
    assert goes_to(site, "P1") == {"W1"} == set(TRUTH["P1"])
    assert goes_to(site, "P2") == set()
    [claim] = api.load(site, ASKED).about(relation="goes_to", object=Ref("outlet", "P1"))
    assert claim.support == "toned"  # an isolated tone, confirmed by a short
    written = entries(site)
    assert written - before == 2  # the claim, and that a person decided it
    tab.reload()
    assert tab.locator("section.proposed").get_by_role("button", name="Accept P1", exact=True).count() == 0
    assert entries(site) == written


def test_accept__a_stale_page_writes_nothing_more(served: Served, browser: Browser, tab: Page, site: Path) -> None:
    other = browser.new_page()
    other.goto(served.origin + "/trace")
    tab.get_by_role("button", name="Accept P1", exact=True).click()
    tab.locator("section.proposed").get_by_text("In the record.").wait_for()
    written = entries(site)
    other.get_by_role("button", name="Accept P1", exact=True).click()
    other.get_by_text("In the record already.").wait_for()
    assert entries(site) == written
    other.close()


def test_accept__all_at_once(tab: Page, site: Path) -> None:
    tab.get_by_role("button", name=re.compile("Accept all")).click()
    tab.get_by_text("Load the page again").wait_for()
    for outlet in ("P1", "P2", "P3"):
        assert goes_to(site, outlet) == set(TRUTH[outlet])
    assert goes_to(site, "P6") == set()
    tab.reload()
    assert tab.locator("section.proposed").count() == 0


def test_accept__the_same_key_is_the_same_act(served: Served, site: Path) -> None:
    body = {"key": "ab" * 16, "author": "TEC", "outlets": ["outlet:P1"]}
    status, said = served.post("/api/trace/accept", body)
    assert (status, said["already"], said["accepted"]) == (200, False, 1)
    written = entries(site)
    status, said = served.post("/api/trace/accept", body)
    assert (status, said["already"]) == (200, True)
    assert entries(site) == written


@pytest.mark.parametrize(
    ("origin", "outlets", "status"),
    [
        ("http://elsewhere.example", ["outlet:P1"], 403),
        ("", ["outlet:P1"], 403),
        (None, ["outlet:P9"], 422),
        (None, [], 422),
        (None, "outlet:P1", 422),
    ],
)
def test_accept__refused_it_writes_nothing(
    served: Served, site: Path, origin: str | None, outlets: object, status: int
) -> None:
    import json

    before = entries(site)
    headers = {"Content-Type": "application/json", "Origin": served.origin if origin is None else origin}
    body = json.dumps({"key": "cd" * 16, "author": "TEC", "outlets": outlets}).encode()
    found, _, said = served.ask("/api/trace/accept", method="POST", body=body, headers=headers)
    assert found == status, said
    assert entries(site) == before


def test_accept__not_from_a_past_day(served: Served, browser: Browser) -> None:
    """What is accepted is accepted today: a page of the past offers nothing to click."""
    page = browser.new_page()
    page.goto(f"{served.origin}/trace?as_of={ASKED.today}")
    assert page.get_by_role("link", name="why P1").count() > 0
    assert page.get_by_role("button", name=re.compile("Accept")).count() == 0
    page.close()


def test_walked__answers_of_a_phone_are_entered_by_one_click(served: Served, browser: Browser, site: Path) -> None:
    phone = paired(served)
    heard = {"what": "reading", "quantity": "tone", "sent_on": "outlet:P5"}
    made = [
        jotting(phone, 1, what="tone", about="outlet:P5", words="tone put on"),
        jotting(phone, 2, about="end:W5", value="loud from outlet:P5 isolated confirmed", **heard),
        jotting(phone, 3, what="note", about="W7", words="wet wall"),
    ]
    assert len(served.post("/api/entries", {"entries": made}, token=phone["token"])[1]["stored"]) == 3
    page = browser.new_page()
    page.goto(served.origin + "/trace")
    assert "2 answers from phones are not entered yet" in page.inner_text("section.walked")
    page.get_by_role("button", name="Enter all as they stand").click()
    page.locator("section.walked").wait_for(state="detached")
    assert "W5" in table_row(page, "P5")
    readings = [r.measured.written for r in api.load(site, ASKED).readings if "P5" in r.measured.written]
    assert readings == ["loud from outlet:P5 isolated confirmed"]
    [left] = api.inbox(site, ASKED).answer["waiting"]
    assert left["words"] == "wet wall"  # what a person must judge stays in the inbox
    page.close()


@pytest.mark.parametrize("night", [False, True])
@pytest.mark.parametrize("width", [390, 1280])
def test_trace_pages__are_whole_and_usable(served: Served, browser: Browser, width: int, night: bool) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, bypass_csp=True)
    if night:
        context.add_cookies([{"name": "print", "value": "night", "url": served.origin}])
    tab = context.new_page()
    broken: list[str] = []
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: broken.append(str(error)))
    for address in (
        "/trace",
        "/trace/why?of=outlet:P1",
        "/trace/why?of=end:W3",
        "/trace/codes",
        "/trace/codes?wires=7",
    ):
        tab.goto(served.origin + address)
        assert violations(tab) == [], address
        assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), address
    assert broken == []
    context.close()


def test_walk_sheet__is_a_paper_of_this_machine_only(served: Served) -> None:
    status, headers, body = served.ask("/trace/walk.pdf")
    assert (status, headers["content-type"], body[:5]) == (200, "application/pdf", b"%PDF-")


def test_codes__each_way_answers_and_a_wrong_number_is_one_sentence(served: Served) -> None:
    assert "P6" in served.text("/trace/codes?tags=P5+P6")
    assert "7 wires" in served.text("/trace/codes?wires=7")
    said = served.text("/trace/codes?wires=seven")
    assert "wires: &#39;seven&#39; is not a whole number from 1 to 100" in said


def test_parts__what_the_page_shows_otherwise_is_on_the_terminal(site: Path) -> None:
    """Renamed on the terminal, these parts would stand on the page twice."""
    page = page_of(api.trace(site, ASKED))
    headings = {block.text for block in page.blocks if isinstance(block, Heading)}
    assert {"Outlets", "Proposed to be accepted"} <= headings
    assert {"Outlets", "Proposed to be accepted"} <= set(SAID_HERE)


def outlet(state: str, *goes: tuple[list[str], float], tie: tuple[list[str], ...] = ()) -> dict[str, Any]:
    return {
        "outlet": "outlet:Q1", "room": "room:R1", "room_name": "Shop", "state": state, "tie": list(tie), "with": [], "stands": "",
        "goes": [{"ends": ends, "odds": {"type": "odds", "chance": c, "assumed": True}} for ends, c in goes],
    }  # fmt: skip


def test_outlet_row__a_tie_names_none_as_the_one() -> None:
    row = outlet_row(outlet("tie", (["end:A"], 0.48), (["end:B"], 0.48), tie=(["end:A"], ["end:B"])))
    assert (row["to"], row["shape"]) == ("A or B", "two")
    assert row["sure"].startswith("a tie, ")
    assert row["rivals"] == ""


def test_outlet_row__what_is_open_claims_no_end() -> None:
    row = outlet_row(outlet("open", (["end:A"], 0.3), (["end:B"], 0.2), ([], 0.1)))
    assert (row["to"], row["shape"]) == ("not known", "ring")
    assert "A " in row["rivals"] and "B " in row["rivals"]


FLOOR = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="plan" width="10mm" height="10mm" viewBox="0 0 40 60">'
    '<g class="room" data-ref="room:R1"><path d="M2 2L12 2L12 12L2 12Z"/></g>'
    '<g class="thing outlet" data-ref="outlet:Q1"><path d="M10 6A1 1 0 0 1 12 6Z"/></g></svg>'
)
NS = {"s": "http://www.w3.org/2000/svg"}


def act(at: str, room: str = "room:R1") -> dict[str, Any]:
    return {"at": at, "room": room, "floor": "F0"}


def test_stops__acts_at_one_place_are_one_stop_with_the_number_of_its_first_act() -> None:
    stops = stops_of([act("outlet:Q1"), act("end:A"), act("end:B"), act("outlet:Q1"), act("outlet:Q2")])
    assert [(s["n"], s["at"]) for s in stops] == [
        (1, "outlet:Q1"),
        (2, "room:R1"),
        (4, "outlet:Q1"),
        (5, "outlet:Q2"),
    ]


def test_stops__stand_beside_their_outlet_and_those_of_other_floors_are_left_out() -> None:
    stops = stops_of([act("outlet:Q1"), act("outlet:X", "room:X"), act("outlet:Q1")])
    root = ElementTree.fromstring(with_stops(FLOOR, stops))
    [mark] = root.findall(".//s:g[@class='stop']", NS)
    assert mark.findtext("s:text", namespaces=NS) == "1, 3"
    ring = mark.find("s:rect", NS)
    assert ring is not None
    x = float(ring.attrib["x"]) + float(ring.attrib["width"]) / 2
    y = float(ring.attrib["y"]) + float(ring.attrib["height"]) / 2
    assert abs(x - 11) < 1 and abs(y - 6) < 1  # the middle of the outlet is at 11, 6
    left, top, width, height = (float(v) for v in root.attrib["viewBox"].split())
    assert (left, top, width, height) == (1, 1, 12, 12)  # the rooms with a metre around, not the key below them
    assert "width" not in root.attrib


def test_stops__where_the_outlet_is_not_drawn_its_room_is_shown() -> None:
    root = ElementTree.fromstring(with_stops(FLOOR, stops_of([act("outlet:Q9")])))
    [mark] = root.findall(".//s:g[@class='stop']", NS)
    ring = mark.find("s:rect", NS)
    assert ring is not None
    assert 7 < float(ring.attrib["x"]) + float(ring.attrib["width"]) / 2 < 8  # the room's middle is at 7, 7
    assert with_stops(FLOOR, stops_of([act("outlet:X", "room:X")])) == FLOOR

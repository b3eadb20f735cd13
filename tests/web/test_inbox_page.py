"""Sorting what a phone jotted down, on the laptop's page in a real browser: changed, left out, set aside, once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from pullstring import api
from pullstring.model.refs import Ref
from tests.journeys.sites import ASKED, make, packaged
from tests.web.served import Served, serving
from tests.web.test_keeping import jotting, paired

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


@pytest.fixture
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        phone = paired(found)
        made = [
            jotting(phone, 1, what="tag", about="E77", place="Closet room", words="grey"),
            jotting(phone, 2, what="note", about="", words="wet wall"),
            jotting(phone, 3, what="reading", about="E1", quantity="volts DC", value="many"),
            jotting(phone, 4, what="note", about="E2", words="leave it"),
        ]
        assert len(found.post("/api/entries", {"entries": made}, token=phone["token"])[1]["stored"]) == 4
        yield found


@pytest.fixture
def tab(served: Served, browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(served.origin + "/inbox")
    yield page
    page.close()


def test_inbox__four_jottings_sorted_by_hand(site: Path, tab: Page) -> None:
    parts = tab.locator("section.jotting")
    assert parts.count() == 4
    first = parts.nth(0)
    first.locator("input[name=found]").fill("grey, 4 pairs")
    first.get_by_role("button", name="Enter these").click()
    first.get_by_text("In the record.").wait_for()
    third = parts.nth(2)
    third.get_by_role("button", name="Enter these").click()
    third.get_by_text("many").last.wait_for()  # the sentence names what is no reading; nothing was entered
    assert not any(r.measured.written == "many" for r in api.load(site, ASKED).readings)
    third.locator("input[name=value]").fill("48 V")
    third.get_by_role("button", name="Enter these").click()
    third.get_by_text("In the record.").wait_for()
    parts.nth(3).get_by_role("button", name="Set aside").click()
    parts.nth(3).get_by_text("Set aside; it stays in the record.").wait_for()
    parts.nth(1).get_by_label("It is about").fill("R2")
    parts.nth(1).get_by_role("button", name="Propose again").click()
    tab.wait_for_url("**/inbox?meant*")
    only = tab.locator("section.jotting")
    assert only.count() == 1
    only.get_by_role("button", name="Enter these").click()
    only.get_by_text("In the record.").wait_for()
    found = api.load(site, ASKED)
    assert api.inbox(site, ASKED).answer == {"waiting": [], "sorted": 4}
    assert found.things[Ref("end", "E77")].text("found") == "grey, 4 pairs"
    assert found.things[Ref("room", "R2")].text("note").endswith("wet wall")
    assert "leave it" not in found.things[Ref("end", "E2")].text("note")
    assert any(r.measured.written == "48 V" and r.measured.value_si == 48 for r in found.readings)

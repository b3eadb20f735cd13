"""The laptop's pages in a real browser: nothing broken, nothing fetched from elsewhere, usable by everybody, answering a click."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.journeys.sites import ASKED, make, packaged
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PAGES = ("/", "/plan", "/closet", "/riser", "/ends", "/outlets", "/runs", "/power", "/if-cut?tags=E1", "/history")
PAGES += ("/inbox", "/phones", "/thing?ref=end:E1", "/find?q=K", "/nothing")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    site = make(tmp_path_factory.mktemp("read"), packaged("two_rooms"))
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


def axe() -> str:
    """The script of axe, from the wheel that carries it."""
    found = importlib.util.find_spec("axe_playwright_python")
    assert found is not None and found.origin is not None
    return (Path(found.origin).parent / "axe.min.js").read_text(encoding="utf-8")


def violations(tab: Page) -> list[tuple[str, str, Any]]:
    """Serious and critical findings on the page as it stands. The script is the test's own and put past the policy."""
    tab.evaluate(axe())
    found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        (v["id"], v["impact"], [n["html"][:120] for n in v["nodes"]][:3])
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("night", [False, True])
@pytest.mark.parametrize("width", [390, 1280])
def test_pages__are_whole_and_usable(served: Served, browser: Browser, width: int, night: bool) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, bypass_csp=True)
    if night:
        context.add_cookies([{"name": "print", "value": "night", "url": served.origin}])
    tab = context.new_page()
    broken: list[str] = []
    fetched: set[str] = set()
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: broken.append(str(error)))
    tab.on("request", lambda asked: fetched.add(asked.url.split("/")[2]))
    for address in PAGES:
        tab.goto(served.origin + address)
        assert violations(tab) == [], address
        assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), address
    assert [b for b in broken if "404" not in b] == []  # /nothing is no page
    assert fetched == {f"127.0.0.1:{served.port}"}
    context.close()


def test_plan__a_click_tells_what_goes_dark(served: Served, browser: Browser) -> None:
    """The drawing marks each thing; a click, or Enter, asks the same as `if-cut` and shows the same verdict."""
    tab = browser.new_page(viewport={"width": 1280, "height": 900})
    tab.goto(served.origin + "/plan")
    thing = tab.locator(
        "[data-sheet] [data-ref^='outlet:'], [data-sheet] [data-ref^='unit:'], [data-sheet] [data-ref^='end:']"
    ).first
    ref = thing.get_attribute("data-ref")
    thing.focus()
    tab.keyboard.press("Enter")
    tab.locator("#panel", has_text="Why").wait_for()
    words = tab.inner_text("#panel")
    assert ref is not None
    assert ref.split(":")[1] in words
    if not ref.startswith("outlet:"):
        assert any(verdict in words for verdict in ("STOP", "ASK", "GO"))
    tab.close()


def test_plan__layers_hide_and_come_back(served: Served, browser: Browser) -> None:
    tab = browser.new_page(viewport={"width": 1280, "height": 900})
    tab.goto(served.origin + "/plan")
    part = tab.locator('[data-layer="outlets"]').first
    assert part.is_visible()
    tab.get_by_label("outlets").uncheck()
    assert not part.is_visible()
    tab.get_by_label("outlets").check()
    assert part.is_visible()
    tab.close()


def test_keys__lead_to_the_search_and_to_the_thing(served: Served, browser: Browser) -> None:
    tab = browser.new_page(viewport={"width": 1280, "height": 900})
    tab.goto(served.origin + "/runs")
    tab.keyboard.press("/")
    tab.keyboard.type("e02")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/thing?ref=end*")
    assert "E2" in tab.inner_text("h1")
    tab.close()


def test_night__stays_on_the_next_page(served: Served, browser: Browser) -> None:
    tab = browser.new_page(viewport={"width": 1280, "height": 900})
    tab.goto(served.origin + "/")
    tab.get_by_role("button", name="Night print").click()
    tab.goto(served.origin + "/runs")
    assert tab.evaluate("document.documentElement.dataset.print") == "night"
    tab.close()

"""The page as a page: sizes of targets, no sideways scroll, large letters, print, words for a screen reader, weight."""

from __future__ import annotations

import importlib.util
import os
import re
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.phone.phone import act, address, note, paired, phone, picture, shoot, words_in

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.phone.phone import Line
    from tests.web.served import Served

TARGET = 52  # px, the least side of what is touched
SMALL = """() => [...document.querySelectorAll('button, input, textarea, select, summary, a')].filter((one) => {
  const box = (one.type === 'radio' ? one.parentElement : one).getBoundingClientRect();
  return box.width && box.height && (box.height < 52 || box.width < 52);
}).map((one) => `${one.tagName} ${one.textContent} ${one.name ?? ''}`)"""
SIDEWAYS = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
COVERED = """() => [...document.querySelectorAll('button, input, textarea, summary')].filter((one) => {
  if (!one.checkVisibility() || !one.getBoundingClientRect().width) return false;
  one.scrollIntoView({ block: 'nearest' });
  const box = one.getBoundingClientRect();
  const met = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return !(one.contains(met) || met?.contains(one));
}).map((one) => `${one.tagName} ${one.textContent} ${one.name ?? ''}`)"""
"""What cannot be brought into view uncovered."""
SETTLED = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done())))"
"""The page drawn twice: what holds the foot is measured when the page is drawn, not when letters change."""
SHEETS = ["list", "open", "New end", "Plate opened", "Reading", "Tone", "Note", "room", "site"]


def show(page: Page, sheet: str) -> None:
    back = page.get_by_role("button", name="Back", exact=True)
    if back.count():
        back.tap()
    if sheet in ("room", "site"):
        page.locator(f"#{sheet}").tap()
    elif sheet == "open":
        page.locator(".list summary").first.tap()
    elif sheet == "New end":
        shoot(page, lambda: act(page, sheet), picture(1))
    elif sheet != "list":
        act(page, sheet)


def filled(context: BrowserContext, laptop: Served, line: Line) -> Page:
    """A phone with things waiting, long words among them."""
    page = paired(context, laptop)
    line.mode = "dead"
    note(
        page,
        "a word of fortyletterswithoutanyplacetobreakthem " * 2,
        about="LONGTAGWITHOUTANYPLACETOBREAKIT-0123456789",
    )
    note(page, "short")
    words_in(page, "#asks", "The laptop does not answer")
    return page


@pytest.mark.parametrize(("width", "height"), [(390, 844), (320, 568), (390, 420)])
def test_targets_and_width__on_every_sheet(
    browser: Browser, laptop: Served, line: Line, width: int, height: int
) -> None:
    with phone(browser, viewport={"width": width, "height": height}) as context:
        page = filled(context, laptop, line)
        for sheet in SHEETS:
            show(page, sheet)
            assert page.evaluate(SMALL) == [], sheet
            assert page.evaluate(SIDEWAYS) <= 0, sheet


def test_large_letters__all_can_be_reached(browser: Browser, laptop: Served, line: Line) -> None:
    """Letters twice as large: no sideways scroll, and every button can be brought into view and is not covered."""
    with phone(browser) as context:
        page = filled(context, laptop, line)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        for sheet in SHEETS:
            show(page, sheet)
            page.evaluate(SETTLED)
            assert page.evaluate(SIDEWAYS) <= 0, sheet
            assert page.evaluate(COVERED) == [], sheet


def test_print__the_phones_own_first_then_the_button_remembered(browser: Browser, laptop: Served) -> None:
    with phone(browser, color_scheme="dark") as context:
        page = context.new_page()
        page.goto(address(laptop))
        page.wait_for_selector("#acts button")
        night = page.evaluate("getComputedStyle(document.body).backgroundColor")
        page.get_by_role("button", name="Day print").tap()
        day = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert (night, day) == ("rgb(21, 27, 32)", "rgb(253, 253, 250)")  # the sheet of the two prints
        page.reload()
        page.wait_for_selector("#acts button")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == day


def axe() -> str:
    """The script of axe, from the wheel that carries it."""
    found = importlib.util.find_spec("axe_playwright_python")
    if found is None or found.origin is None:
        says = "axe-playwright-python is not installed"
        pytest.fail(says) if os.environ.get("CI") == "true" else pytest.skip(says)
    return (Path(found.origin).parent / "axe.min.js").read_text(encoding="utf-8")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe__finds_nothing_on_any_sheet(browser: Browser, laptop: Served, line: Line, scheme: str) -> None:
    with phone(browser, color_scheme=scheme) as context:
        page = filled(context, laptop, line)
        page.evaluate(axe())
        for sheet in SHEETS:
            show(page, sheet)
            found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
            told = [(v["id"], v["impact"], [n["html"][:120] for n in v["nodes"]]) for v in found]
            assert told == [], sheet


def test_weight_and_addresses__light_and_from_here_only(pocket: BrowserContext, laptop: Served) -> None:
    page = pocket.new_page()
    asked: list[str] = []
    weight: list[int] = []
    faults: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("response", lambda answer: weight.append(len(answer.body()) if answer.ok else 0))
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if "Content Security" in said.text else None)
    page.goto(address(laptop))
    page.wait_for_load_state("networkidle")
    origin = address(laptop).removesuffix("/pocket")
    assert all(one.startswith((origin, "data:")) for one in asked)
    assert sum(weight) < 150_000
    assert faults == []


def test_modules__short_and_without_what_plain_http_lacks() -> None:
    files = {f.name: f.read_text(encoding="utf-8") for f in resources.files("pullstring").joinpath("phone").iterdir()}
    modules = {name: text for name, text in files.items() if name.endswith(".js")}
    assert len(modules) > 20
    assert {name: len(text.splitlines()) for name, text in modules.items() if len(text.splitlines()) > 200} == {}
    absent = re.compile(r"crypto\.subtle|randomUUID|navigator\.locks|serviceWorker|innerHTML|location\.reload|eval\(")
    assert {name: absent.findall(text) for name, text in modules.items() if absent.search(text)} == {}

"""Any acts among any mishaps, then peace: all is in the record once, in order, the photographs byte for byte."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import random
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from pullstring import api
from tests.phone.phone import Line, all_in_record, once_and_in_order, open_pocket, paired, phone
from tests.tiers import slow
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

KEEP = """async ([words, colours]) => {
  const [{ keep }, { photographOf }, { sendNow }] = await Promise.all(
    ['outbox', 'camera', 'sending'].map((name) => import(`/pocket/${name}.js`)));
  const photos = [];
  for (const colour of colours) {
    const canvas = Object.assign(document.createElement('canvas'), { width: 90, height: 60 });
    const pen = canvas.getContext('2d');
    pen.fillStyle = colour;
    pen.fillRect(0, 0, 60, 60);
    photos.push(await photographOf(await new Promise((made) => canvas.toBlob(made, 'image/png'))));
  }
  const rows = await keep({ what: 'note', words }, photos);
  sendNow();
  return [rows.map((row) => row.id), photos.map((photo) => photo.sha256)];
}"""
TAKE_BACK = """async (ids) => {
  const { takeBack } = await import('/pocket/outbox.js');
  return (await takeBack(ids, 'storm')).map((row) => row.id);
}"""


class Storm:
    """One phone, one laptop, and what befalls them; remembers what was kept."""

    def __init__(self, seed: int, context: BrowserContext, site: Path, line: Line, stack: contextlib.ExitStack) -> None:
        self.draw, self.context, self.site, self.line, self.stack = random.Random(seed), context, site, line, stack
        self.served: Served = stack.enter_context(serving(site, "--phones"))
        line.target, line.mode, line.lose = self.served.port, "pass", 0
        self.pages: list[Page] = [paired(context, self.served)]
        self.kept: list[list[str]] = []  # ids, in the order of work
        self.words: list[str] = []
        self.pictures: list[str] = []
        self.living = True

    def page(self) -> Page:
        return self.draw.choice(self.pages)

    def write(self) -> None:
        colours = [f"#{self.draw.randrange(16**6):06x}" for _ in range(self.draw.choice([0, 0, 1, 2]))]
        words = f"{len(self.words)} {self.draw.randrange(10**6)}"
        ids, hashes = self.page().evaluate(KEEP, [words, colours])
        self.words.append(words)
        self.kept.append(ids)
        self.pictures += hashes

    def take_back(self) -> None:
        noted = [ids for ids in self.kept if ids[0] not in self.struck()]
        if noted:
            ids = self.draw.choice(noted)
            self.kept.append(["back", *ids, *self.page().evaluate(TAKE_BACK, ids)])

    def struck(self) -> set[str]:
        return {name for ids in self.kept if ids[0] == "back" for name in ids}

    def weather(self) -> None:
        self.line.mode = self.draw.choice(["pass", "pass", "dead", "hotel"])

    def lose(self) -> None:
        self.line.lose = 1

    def kill(self) -> None:
        if self.living:
            self.served.process.kill()
            self.served.process.wait(20)
        self.living = False

    def start(self) -> None:
        if not self.living:
            self.served = self.stack.enter_context(serving(self.site, "--phones", port=self.served.port))
        self.living = True

    def reload(self) -> None:
        if self.reachable():
            page = self.page()
            page.reload()
            page.wait_for_selector("#acts button")

    def close_and_open(self) -> None:
        if self.reachable():
            page = self.page()
            page.close()
            self.pages.remove(page)
            self.pages.append(open_pocket(self.context, self.served))

    def second_tab(self) -> None:
        if self.reachable() and len(self.pages) < 3:
            self.pages.append(open_pocket(self.context, self.served))

    def clock(self) -> None:
        year = self.draw.choice([2001, 2026, 2040])
        self.pages[0].clock.set_system_time(dt.datetime(year, 5, 5, 5, 5, tzinfo=dt.UTC))

    def breathe(self) -> None:
        self.pages[0].wait_for_timeout(self.draw.choice([20, 200, 900]))

    def reachable(self) -> bool:
        return self.living and self.line.mode == "pass"

    def step(self) -> None:
        quiet: list[Callable[[], None]] = [self.write] * 8 + [self.take_back] + [self.breathe] * 3
        rough = [self.weather] * 3 + [self.lose] * 2 + [self.reload, self.close_and_open, self.second_tab, self.clock]
        self.draw.choice([*quiet, *rough, self.kill, self.start, self.start])()

    def peace(self) -> list[dict[str, Any]]:
        self.line.mode, self.line.lose = "pass", 0
        self.start()
        for page in self.pages:
            page.locator("#waiting").tap()
        for page in self.pages:
            all_in_record(page, seconds=60)
        return once_and_in_order(self.site)


def storm(seed: int, steps: int, browser: Browser, site: Path, line: Line) -> None:
    with contextlib.ExitStack() as stack:
        context = stack.enter_context(phone(browser))
        rough = Storm(seed, context, site, line, stack)
        for _ in range(steps):
            rough.step()
        made = rough.peace()
        ids = [name for ids in rough.kept for name in (ids if ids[0] != "back" else ids[1 + (len(ids) - 1) // 2 :])]
        by_count = sorted(made, key=lambda entry: entry["n"])
        assert [entry["id"] for entry in by_count] == ids  # in the order of work
        noted = [e["body"] for e in made if e["kind"] == "noted"]
        assert [b["fields"]["words"] for b in noted if b["subject"].startswith("jotting:")] == rough.words
        shown = [b["fields"]["sha256"] for b in noted if b["subject"].startswith("photo:")]
        assert shown == rough.pictures
        for sha256 in shown:
            assert hashlib.sha256(api.photo(site, sha256)[0]).hexdigest() == sha256
        assert len(rough.words) > steps // 6


def test_storm__then_all_is_in_the_record(browser: Browser, site: Path, line: Line) -> None:
    storm(1, 40, browser, site, line)


@slow("100 s, long storms, one of them drawn anew each time")
@pytest.mark.parametrize("seed", [2, 3, None])
def test_storm__a_long_one(browser: Browser, site: Path, line: Line, seed: int | None, fresh_seed: int) -> None:
    storm(fresh_seed if seed is None else seed, 250, browser, site, line)

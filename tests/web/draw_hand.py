"""A hand that draws on the page: it clicks where the house, or its picture, is on the screen, and counts clicks and keys."""

from __future__ import annotations

import io
import math
import random
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring import api
from pullstring.model.answers import Request
from tests.web.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

ASKED = Request(today="2026-03-10")
HAND = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
SIZE = {"width": 1280, "height": 800}
Point = tuple[float, float]

ON_SHEET = """([x, y]) => {
  const at = new DOMPoint(x, -y).matrixTransform(document.getElementById('sheet').getScreenCTM());
  return [at.x, at.y];
}"""
ON_PICTURE = """([x, y]) => {
  const picture = document.querySelector('#sheet image');
  const at = new DOMPoint(x, y).matrixTransform(picture.getScreenCTM());
  return [at.x, at.y];
}"""


def empty(folder: Path, *, code: str = "QY", name: str = "Quince Yard") -> Path:
    """The record of an invented house in which nothing is noted yet."""
    path = folder / "house.site"
    api.new(path, ASKED, code=code, name=name, **HAND)
    return path


class Hand:
    """One page for drawing, what went wrong on it, and how much was clicked and typed."""

    def __init__(self, browser: Browser, served: Served, **options: Any) -> None:
        self.context = browser.new_context(viewport=SIZE, **options)
        self.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=served.origin)
        self.context.set_default_timeout(15_000)
        self.page: Page = self.context.new_page()
        self.served = served
        self.clicks = self.keys = 0
        self.broken: list[str] = []
        self.page.on("pageerror", lambda error: self.broken.append(str(error)))

    def close(self) -> None:
        self.context.close()
        assert self.broken == []

    def open(self, floor: str = "") -> Hand:
        self.page.goto(f"{self.served.origin}/draw{f'?floor={floor}' if floor else ''}")
        self.page.wait_for_selector("#drawing:not([hidden]) #fixed .grid" if floor else "#begin:not([hidden]) .acts")
        return self

    def begin(self) -> Hand:
        """An empty floor on the grid."""
        self.open()
        self.press_button("Begin on the grid")
        self.page.wait_for_selector("#drawing:not([hidden]) #fixed .grid")
        return self

    def press_button(self, name: str) -> None:
        self.clicks += 1
        self.page.get_by_role("button", name=name).click()

    def begin_with(self, picture: bytes, name: str = "plan.png") -> None:
        """One click on the button, one in the browser's own window of files."""
        with self.page.expect_file_chooser() as chosen:
            self.press_button("Begin with a picture")
        self._hand_over(chosen.value, picture, name)

    def choose(self, picture: bytes, name: str = "plan.png") -> None:
        with self.page.expect_file_chooser() as chosen:
            self.page.get_by_text("Choose a picture").click()
        self.clicks += 1
        self._hand_over(chosen.value, picture, name)

    def _hand_over(self, chooser: Any, picture: bytes, name: str) -> None:
        chooser.set_files([{"name": name, "mimeType": "image/png", "buffer": picture}])
        self.clicks += 1
        self.page.wait_for_selector("#sheet image")
        self.page.wait_for_selector("#tools [data-tool=scale][aria-pressed=true]")

    def key(self, *keys: str) -> None:
        for key in keys:
            self.keys += key.count("+") + 1 if len(key) > 1 else 1
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        """Letters, then Enter."""
        for letter in text:
            self.keys += 1
            self.page.keyboard.press(letter if letter != " " else "Space")
        self.key("Enter")

    def paste(self, text: str) -> None:
        self.page.evaluate("text => navigator.clipboard.writeText(text)", text)
        self.key("Control+v")

    def point(self, at: Point) -> None:
        self.page.mouse.move(*self.page.evaluate(ON_SHEET, list(at)))

    def click(self, *points: Point) -> None:
        """Clicks in the house, in metres."""
        for at in points:
            self._click(self.page.evaluate(ON_SHEET, list(at)))

    def click_picture(self, *dots: Point) -> None:
        """Clicks on the picture, in its dots."""
        for at in dots:
            self._click(self._at_rest(at))

    def _at_rest(self, dot: Point) -> Sequence[float]:
        """Where a dot of the picture stands once the picture no longer moves under the hand."""
        seen: Sequence[float] = ()
        for _ in range(60):
            now: Sequence[float] = self.page.evaluate(ON_PICTURE, list(dot))
            if list(now) == list(seen):
                break
            seen = now
            self.page.wait_for_timeout(60)
        return seen

    def _click(self, screen: Sequence[float]) -> None:
        self.clicks += 1
        self.page.mouse.click(round(screen[0]), round(screen[1]))  # a pointer stands on whole dots of the screen

    def drag(self, start: Point, end: Point) -> None:
        self.clicks += 1
        (x0, y0), (x1, y1) = (self.page.evaluate(ON_SHEET, list(p)) for p in (start, end))
        self.page.mouse.move(x0, y0)
        self.page.mouse.down()
        self.page.mouse.move((x0 + x1) / 2, (y0 + y1) / 2)
        self.page.mouse.move(x1, y1)
        self.page.mouse.up()

    def text(self, where: str) -> str:
        return self.page.inner_text(where)

    def part(self, where: str) -> Locator:
        return self.page.locator(where)

    def stored(self) -> None:
        """Wait until the record has all of it."""
        self.page.locator("#waiting", has_text="all of it").wait_for(timeout=30_000)


class Photographed:
    """A picture of a plan that was not laid quite straight: turned, and stretched upwards; from metres to its dots."""

    def __init__(self, width_m: float, height_m: float, *, dots: float, turned_deg: float, stretched: float) -> None:
        self.margin, self.dots, self.stretched = 60.0, dots, stretched
        self.turn = math.radians(turned_deg)
        self.width_m, self.height_m = width_m, height_m
        self.size = tuple(int(s * dots * 1.06 + 2 * self.margin) for s in (width_m, height_m))

    def dot(self, at: Point) -> Point:
        x, y = at[0] * self.dots, at[1] * self.dots * self.stretched
        c, s = math.cos(self.turn), math.sin(self.turn)
        return self.margin + x * c - y * s + 30, self.size[1] - self.margin - (x * s + y * c)

    def png(self, lines: Sequence[tuple[Point, Point]], *, seed: int = 7) -> bytes:
        """The plan drawn as lines, with the specks of an old copy."""
        from PIL import Image, ImageDraw

        paper = Image.new("L", self.size, 236)
        pen, dice = ImageDraw.Draw(paper), random.Random(seed)
        for a, b in lines:
            pen.line([self.dot(a), self.dot(b)], fill=60, width=7)
        for _ in range(1500):
            x, y = dice.randrange(self.size[0]), dice.randrange(self.size[1])
            pen.point((x, y), fill=dice.randrange(120, 220))
        out = io.BytesIO()
        paper.save(out, "PNG")
        return out.getvalue()

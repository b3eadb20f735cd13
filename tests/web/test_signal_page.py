"""Signal on the laptop: lines and rooms, an access point dragged or moved by keys, and the same by a plain form."""

from __future__ import annotations

import json
import re
import subprocess
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import uvicorn

from pullstring import api
from pullstring.log.store import create
from pullstring.model.answers import Answer, Request
from pullstring.web.server import application
from tests.papers import signal_house
from tests.papers.house import ROWS, TODAY, entries
from tests.web.test_reading import violations

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ASKED = Request(today=TODAY)


def site_file(folder: Path) -> Path:
    path = folder / "house.site"
    with create(path, site_code="MLH", device="bench", author="tester") as store:
        store.add_entries(entries(ROWS))
    return path


class Asked:
    """The application in this process, with levels of the stand-in house; counts what was asked."""

    def __init__(self, path: Path) -> None:
        self.moved: list[tuple[str, float, float, str]] = []
        self.answers = 0
        self.path = path

    def answered(self, said: dict[str, Any]) -> Answer:
        return Answer("signal", "MLH", said)

    def signal(self, path: Path, request: Request, **_: Any) -> Answer:
        self.answers += 1
        return self.answered(signal_house.answer(api.load(path, request)))

    def signal_field(self, path: Path, request: Request, *, floor: str, band: str, step_m: float) -> dict[str, Any]:
        return signal_house.field(api.load(path, request), floor, band, step_m)

    def signal_moved(self, path: Path, request: Request, *, sender: str, x_m: float, y_m: float, floor: str) -> Answer:
        self.moved.append((sender, x_m, y_m, floor))
        return self.answered({"rooms": signal_house.rooms(api.load(path, request), at={sender: (x_m, y_m)})})


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    found = Asked(site_file(tmp_path_factory.mktemp("signal")))
    with pytest.MonkeyPatch.context() as patch:
        for verb in ("signal", "signal_field", "signal_moved"):
            patch.setattr(api, verb, getattr(found, verb), raising=False)
        yield found


@pytest.fixture(scope="module")
def origin(asked: Asked) -> Iterator[str]:
    import socket

    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    app = application(asked.path, ASKED, port=port, author="TEC")
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(20)
    listener.close()


@pytest.fixture
def tab(origin: str, browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{origin}/signal?floor=B0&band=5+GHz")
    yield page
    page.close()


def level(tab: Page, room: str, column: int) -> str:
    return tab.locator(f"#rooms tr[data-room={room}] td").nth(column).inner_text()


def expected(asked: Asked, room: str, at: dict[str, Any] | None = None) -> float:
    """The level at 5 GHz that the stand-in house itself gives for a room."""
    found = signal_house.rooms(api.load(asked.path, ASKED), at=at)
    return float(next(r for r in found if r["room"] == room)["bands"]["5 GHz"]["level_dbm"])


def test_page__shows_lines_rooms_and_what_is_not_known(tab: Page, asked: Asked) -> None:
    assert tab.locator("svg .isoline-agreed").count() > 0
    assert tab.locator("svg .reading .cross:not(.under)").count() == 4
    assert level(tab, "R2", 2) == str(round(expected(asked, "R2")))
    assert level(tab, "R4", 2) == "not known"
    assert "no wall around it is noted" in tab.locator("#rooms tr[data-room=R4]").inner_text()
    words = tab.inner_text("main")
    assert "Left out one by one and predicted from the others, readings are off by 4.1 dB" in words
    assert "Read next in room R5" in words


def test_page__the_other_band_has_its_own_levels(tab: Page, asked: Asked) -> None:
    """2.4 GHz loses 7.07 dB less than 5.5 GHz in free space: 20 log10(5500 / 2437)."""
    five = {room: float(level(tab, room, 2)) for room in ("R1", "R2", "R5")}
    tab.get_by_role("link", name="2.4 GHz").click()
    tab.wait_for_url("**band=2.4*")
    for room, was in five.items():
        assert float(level(tab, room, 2)) - was == pytest.approx(7.07, abs=1.1)  # both are rounded


def test_keys__move_an_access_point_and_escape_puts_it_back(tab: Page, asked: Asked) -> None:
    asked.moved.clear()
    radio = tab.get_by_role("button", name=re.compile("access point A1"))
    radio.focus()
    tab.keyboard.press("ArrowRight")
    tab.locator("#rooms.moved").wait_for()
    assert asked.moved == [("A1", pytest.approx(3.7, abs=0.01), pytest.approx(3.1, abs=0.01), "B0")]
    tab.keyboard.press("ArrowUp")  # up on the drawing is a larger y of the building
    assert tab.locator("#y").input_value() == "3.60"
    tab.wait_for_timeout(300)
    assert asked.moved[-1][1:3] == (pytest.approx(3.7, abs=0.01), pytest.approx(3.6, abs=0.01))
    want = expected(asked, "R1", {"A1": (3.7, 3.6)})
    assert level(tab, "R1", 3).split()[0] == str(round(want))
    assert tab.inner_text("#then") != ""
    tab.keyboard.press("Escape")
    assert tab.locator("#rooms.moved").count() == 0
    assert radio.get_attribute("transform") is None


def test_drag__into_the_next_room_raises_it_while_it_is_held(tab: Page, asked: Asked) -> None:
    before = float(level(tab, "R2", 2))
    circle = tab.locator("svg [data-ref='unit:A1'] circle").first
    circle.scroll_into_view_if_needed()
    box = circle.bounding_box()
    scale = tab.evaluate("document.querySelector('[data-signal] svg').getScreenCTM().a")
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    tab.mouse.move(x, y)
    tab.mouse.down()
    for part in range(1, 9):
        tab.mouse.move(x + 3.8 * scale * part / 8, y)
    began = time.perf_counter()
    tab.locator("#rooms tr[data-room=R2] td.then", has_text=re.compile(r"\d")).wait_for()
    took = time.perf_counter() - began
    tab.mouse.up()
    tab.wait_for_timeout(400)
    last = asked.moved[-1]
    assert last[0] == "A1" and last[1] == pytest.approx(7.0, abs=0.05)  # from x 3.2 m by 3.8 m
    then = float(level(tab, "R2", 3).split()[0])
    assert then == round(expected(asked, "R2", {"A1": (last[1], last[2])}))
    assert then > before + 10  # a brick wall of 14 dB lies no longer between
    assert tab.locator("#rooms tr[data-room=R2]").get_attribute("data-change") == "better"
    assert took < 3  # the page's own share; the engine's time is measured where the engine is
    tab.get_by_role("button", name="Put it back").click()
    assert tab.locator("#rooms.moved").count() == 0


def test_form__does_the_same_without_a_script(origin: str, browser: Browser, asked: Asked) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{origin}/signal?floor=B0&band=5+GHz")
    page.get_by_label("Access point").select_option("A1")
    page.get_by_label("x, in metres").fill("7")
    page.get_by_label("y", exact=True).fill("2")
    page.get_by_role("button", name="Show the rooms then").click()
    then = page.locator("#rooms tr[data-room=R2] td").nth(3).inner_text()
    was, new = expected(asked, "R2"), expected(asked, "R2", {"A1": (7.0, 2.0)})
    assert then.split() == [str(round(new)), f"{new - was:+.0f}", "dB"]
    assert "If A1 stood at x 7 m, y 2 m" in page.inner_text("#then")
    context.close()


@pytest.mark.parametrize(
    "query", ["sender=A1&floor=B0&x=far&y=1", "sender=A1&floor=B0&x=nan&y=1", "sender=A1&floor=B0&x=1e9&y=1"]
)
def test_moved__a_wrong_place_is_one_sentence(origin: str, query: str, asked: Asked) -> None:
    count = len(asked.moved)
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(f"{origin}/api/signal/moved.json?{query}")
    assert refused.value.code == 404
    assert "is no length in metres" in json.loads(refused.value.read())["error"]
    assert len(asked.moved) == count


def test_page__an_unknown_floor_or_band_shows_one_that_is_there(origin: str, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(f"{origin}/signal?floor=%3Cscript%3E&band=60+GHz")
    assert page.get_by_role("link", name="B0 Ground floor").get_attribute("aria-current") == "page"
    assert page.get_by_role("link", name="5 GHz", exact=True).get_attribute("aria-current") == "page"
    page.close()


@pytest.mark.parametrize("night", [False, True])
@pytest.mark.parametrize("width", [390, 1280])
def test_signal_page__is_whole_and_usable(origin: str, browser: Browser, width: int, night: bool) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, bypass_csp=True)
    if night:
        context.add_cookies([{"name": "print", "value": "night", "url": origin}])
    tab = context.new_page()
    broken: list[str] = []
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: broken.append(str(error)))
    for address in ("/signal", "/signal?floor=B1&band=2.4+GHz", "/signal?floor=B0&sender=A1&x=7&y=2"):
        tab.goto(origin + address)
        assert violations(tab) == [], address
        assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), address
    assert broken == []
    context.close()


def test_files__drawing_and_paper(origin: str) -> None:
    with urllib.request.urlopen(f"{origin}/signal/B0.svg?band=5+GHz&scale=50&inks=black") as answer:
        svg = answer.read().decode()
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "1:50" in svg and "#0b4f86" not in svg  # black only
    with urllib.request.urlopen(f"{origin}/signal/sheet.pdf") as answer:
        assert answer.read()[:5] == b"%PDF-"


def test_print__signal_alone_and_as_a_chapter_of_the_book(asked: Asked, tmp_path: Path, pdftoppm: str) -> None:
    """`print --only book --only signal` asks once, and both papers tell the same room in the same words."""
    from pullstring.api.printing import Wanted, papers_of
    from pullstring.papers.words_signal import room_sentence

    asked.answers = 0
    made, left = papers_of(asked.path, ASKED, Wanted(only=("book", "signal")), progress=lambda _, __: None)
    assert asked.answers == 1 and left == []
    papers = {p.name: p.data for p in made}
    assert {"book.pdf", "signal.pdf", "signal_B0_5_GHz.svg", "signal_B0_2_4_GHz.svg"} <= set(papers)
    room = next(r for r in signal_house.rooms(api.load(asked.path, ASKED)) if r["room"] == "R2")
    for name in ("book.pdf", "signal.pdf"):
        (tmp_path / name).write_bytes(papers[name])
        text = subprocess.run(
            [f"{pdftoppm[: -len('pdftoppm')]}pdftotext", tmp_path / name, "-"],
            capture_output=True,
            text=True,
            check=True,
        )
        told = " ".join(text.stdout.split())
        assert " ".join(room_sentence(room).split()) in told, name
        assert "−67 dBm, the agreed edge" in told, name
    plain, _ = papers_of(asked.path, ASKED, Wanted(only=("plans",)), progress=lambda _, __: None)
    assert not any(p.name.startswith("signal") for p in plain)


def test_print__without_access_point_and_reading_says_so(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    from pullstring.api.printing import Wanted, papers_of

    nothing = {**signal_house.answer(api.load(asked.path, ASKED)), "senders": [], "readings": []}
    monkeypatch.setattr(api, "signal", lambda path, request: asked.answered(nothing))
    made, left = papers_of(asked.path, ASKED, Wanted(only=("signal",)), progress=lambda _, __: None)
    assert made == [] and left == ["signal: no access point and no reading is noted, so there is nothing to draw"]

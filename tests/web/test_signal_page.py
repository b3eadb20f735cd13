"""Signal on the laptop, on a whole invented house: lines and rooms, an access point dragged or moved, a reading entered."""

from __future__ import annotations

import contextlib
import json
import re
import socket
import subprocess
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import uvicorn

from pullstring import api
from pullstring.api import signalling
from pullstring.papers.words_signal import room_sentence
from pullstring.papers.words_signal_said import dbm
from pullstring.web.server import application
from tests.journeys.sites import ASKED, make
from tests.journeys.tarn_house import FOOT_M, rows, tarn_house
from tests.web.test_reading import violations

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

BAND = "5 GHz"
A1_M = (6 * FOOT_M, 10 * FOOT_M)
PARLOUR_M = (21 * FOOT_M, 10 * FOOT_M)


@contextlib.contextmanager
def served(path: Path) -> Iterator[str]:
    """The application on a record, in this process; its address."""
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    app = application(path, ASKED, port=port, author="TEC")
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(20)
    listener.close()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path: Path = tarn_house(tmp_path_factory.mktemp("signal"))
    return path


@pytest.fixture(scope="module")
def said(house: Path) -> dict[str, Any]:
    return dict(api.signal(house, ASKED).answer)


@pytest.fixture(scope="module")
def origin(house: Path) -> Iterator[str]:
    with served(house) as address:
        yield address


@pytest.fixture
def tab(origin: str, browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(f"{origin}/signal?floor=T0&band=5+GHz")
    yield page
    page.close()


def cell(tab: Page, room: str, column: int) -> str:
    return tab.locator(f"#rooms tr[data-room={room}] td").nth(column).inner_text()


def level(answer: Any, room: str, band: str = BAND) -> float:
    return float(next(r for r in answer["rooms"] if r["room"] == room)["bands"][band]["level_dbm"])


def moved(house: Path, at: tuple[float, float], floor: str = "T0") -> Any:
    """What the verb says of A1 at a place of a floor."""
    return api.signal_moved(house, ASKED, sender="A1", x_m=at[0], y_m=at[1], floor=floor).answer


def test_page__shows_lines_crosses_and_rooms_as_the_verb_answers(tab: Page, said: dict[str, Any]) -> None:
    assert tab.locator("svg .isoline-plain").count() > 0
    heard = [r for r in said["readings"] if r["floor"] == "T0" and r["band"] == BAND]
    assert tab.locator("svg .reading .cross:not(.under)").count() == len(heard) == 2
    for room in ("HALL", "PARL", "KITC"):
        assert cell(tab, room, 2) == dbm(level(said, room))
    words = tab.inner_text("main")
    assert f"readings are off by {said['leave_one_out_db']:.1f} dB" in words
    assert "Levels are told as the phone reads them." in words
    assert f"Read next in room {said['next'][0]['room']}" in words


def test_page__no_word_that_is_not_for_users(tab: Page) -> None:
    tab.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
    words = tab.inner_text("main").lower()
    for word in ("rssi", "heat map", "heatmap", "posterior", "covariance", "prior mean", "none none", "null"):
        assert word not in words


def test_page__the_other_band_has_its_own_levels(tab: Page, said: dict[str, Any]) -> None:
    tab.get_by_role("link", name="2.4 GHz").click()
    tab.wait_for_url("**band=2.4*")
    for room in ("HALL", "PARL", "STUD"):
        assert cell(tab, room, 2) == dbm(level(said, room, "2.4 GHz"))
        assert level(said, room, "2.4 GHz") != level(said, room)


def test_keys__move_an_access_point_and_escape_puts_it_back(tab: Page, house: Path) -> None:
    radio = tab.get_by_role("button", name=re.compile("access point A1"))
    radio.focus()
    for _ in range(8):
        tab.keyboard.press("ArrowRight")
    tab.keyboard.press("ArrowUp")  # up on the drawing is a larger y of the building
    at = (A1_M[0] + 4.0, A1_M[1] + 0.5)
    assert float(tab.locator("#x").input_value()) == pytest.approx(at[0], abs=0.01)
    assert float(tab.locator("#y").input_value()) == pytest.approx(at[1], abs=0.01)
    want = dbm(level(moved(house, at), "PARL"))
    tab.locator("#rooms tr[data-room=PARL] td.then", has_text=re.compile(f"^{want} ")).wait_for()
    assert tab.inner_text("#then") != ""
    tab.keyboard.press("Escape")
    assert tab.locator("#rooms.moved").count() == 0
    assert radio.get_attribute("transform") is None


def test_drag__into_the_parlour_raises_it_while_it_is_held(tab: Page, house: Path, said: dict[str, Any]) -> None:
    circle = tab.locator("svg [data-ref='unit:A1'] circle").first
    circle.scroll_into_view_if_needed()
    box = circle.bounding_box()
    scale = tab.evaluate("document.querySelector('[data-signal] svg').getScreenCTM().a")
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    by = PARLOUR_M[0] - A1_M[0]
    tab.mouse.move(x, y)
    tab.mouse.down()
    for part in range(1, 9):
        tab.mouse.move(x + by * scale * part / 8, y)
    row = tab.locator("#rooms tr[data-room=PARL][data-change=better]")
    row.wait_for()
    tab.mouse.up()
    at = (float(tab.locator("#x").input_value()), float(tab.locator("#y").input_value()))
    assert at == pytest.approx(PARLOUR_M, abs=0.06)
    want = dbm(level(moved(house, at), "PARL"))
    tab.locator("#rooms tr[data-room=PARL] td.then", has_text=re.compile(f"^{want} ")).wait_for()
    assert float(want) > level(said, "PARL") + 5  # a wall of brick with an arch lies no longer between
    tab.get_by_role("button", name="Put it back").click()
    assert tab.locator("#rooms.moved").count() == 0


def test_moved__where_it_stands_nothing_changes_at_all(house: Path, said: dict[str, Any]) -> None:
    """The quick answer is only used for the change, so standing still is no change to the last digit."""
    stays = moved(house, A1_M)
    for room in ("HALL", "PARL", "KITC", "BEDR", "STUD"):
        for band in said["bands"]:
            assert level(stays, room, band) == pytest.approx(level(said, room, band), abs=0.01), (room, band)


def test_form__does_the_same_without_a_script(origin: str, browser: Browser, house: Path, said: dict[str, Any]) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{origin}/signal?floor=T0&band=5+GHz")
    form = page.locator("form[action='/signal']")
    form.get_by_label("Access point").select_option("A1")
    form.get_by_label("x, in metres").fill("6,4")  # a comma is a point
    form.get_by_label("y, in metres").fill("3")
    form.get_by_role("button", name="Show the rooms then").click()
    then = page.locator("#rooms tr[data-room=PARL] td").nth(3).inner_text()
    new = level(moved(house, (6.4, 3.0)), "PARL")
    assert then.split() == [dbm(new), f"{new - level(said, 'PARL'):+.0f}", "dB"]
    assert "If A1 stood at x 6,4 m, y 3 m" in page.inner_text("#then")
    context.close()


@pytest.mark.parametrize(
    "query", ["sender=A1&floor=T0&x=far&y=1", "sender=A1&floor=T0&x=nan&y=1", "sender=A1&floor=T0&x=1e9&y=1"]
)
def test_moved__a_wrong_place_is_one_sentence(origin: str, query: str) -> None:
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(f"{origin}/api/signal/moved.json?{query}")
    assert refused.value.code == 404
    assert "is no length in metres" in json.loads(refused.value.read())["error"]


def test_moved__an_access_point_that_is_not_there_is_named(origin: str) -> None:
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(f"{origin}/api/signal/moved.json?sender=A9&floor=T0&x=1&y=1")
    assert json.loads(refused.value.read())["error"] == "there is no access point 'A9' to move; there are A1, A2"


def test_page__an_unknown_floor_or_band_shows_one_that_is_there(origin: str, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(f"{origin}/signal?floor=%3Cscript%3E&band=60+GHz")
    assert page.locator(".floors a[aria-current=page]").all_inner_texts()[-1] == "5 GHz"
    assert page.locator(".floors a[aria-current=page]").count() == 2
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
    for address in ("/signal", "/signal?floor=T1&band=2.4+GHz", "/signal?floor=T0&sender=A1&x=6.4&y=3"):
        tab.goto(origin + address)
        tab.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
        assert violations(tab) == [], address
        assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), address
    assert broken == []
    context.close()


def test_csp__nothing_of_the_page_is_held_back(origin: str, browser: Browser) -> None:
    tab = browser.new_page()
    broken: list[str] = []
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.goto(f"{origin}/signal?floor=T0")
    tab.get_by_label("None heard").check()
    assert tab.get_by_label("Level, in dBm").is_disabled()  # the script runs
    assert broken == []
    tab.close()


def test_entered__a_reading_moves_the_answer_and_is_a_row_of_the_record(browser: Browser, tmp_path: Path) -> None:
    path = tarn_house(tmp_path, read=(), senders=("A1",))
    before = level(api.signal(path, ASKED).answer, "PARL")
    with served(path) as origin:
        tab = browser.new_page(viewport={"width": 1280, "height": 900})
        tab.goto(f"{origin}/signal?floor=T0&band=5+GHz")
        form = tab.locator("#reading")
        for room, read in (("HALL", "-45"), ("BEDR", "−62"), ("PARL", "-84 dBm")):  # the true minus sign is one too
            form.get_by_label("Room").select_option(room)
            form.get_by_label("Level, in dBm").fill(read)
            form.get_by_label("Heard from").select_option("A1")
            with tab.expect_navigation():
                form.get_by_role("button", name="Keep the reading").click()
        after = float(cell(tab, "PARL", 2))
        assert after < before - 4  # read some 25 dB lower than foretold
        assert cell(tab, "PARL", 10) == "-84"
        form.get_by_label("Room").select_option("KITC")
        form.get_by_label("None heard").check()
        form.get_by_text("Where it was read").click()
        form.get_by_label("x, in metres").fill("10,5")
        form.get_by_label("y, in metres").fill("2")
        form.get_by_label("Doors").select_option("shut")
        with tab.expect_navigation():
            form.get_by_role("button", name="Keep the reading").click()
        tab.close()
    site = api.load(path, ASKED)
    read = [r for r in site.readings if r.measured.quantity == "level 5 GHz"]
    assert [str(r.measured.subject) for r in read] == ["room:HALL", "room:BEDR", "room:PARL", "room:KITC"]
    assert [r.measured.value_si for r in read[:3]] == [-45, -62, -84]
    assert {r.measured.evidence.conditions for r in read[:3]} == {"heard from A1"}
    assert read[3].measured.sign == "none" and read[3].measured.evidence.conditions == "at 10.5 2; doors shut"
    assert read[3].measured.evidence.instrument == "phone" and read[3].measured.evidence.by == "TEC"


@pytest.mark.parametrize(
    ("fill", "says"),
    [({}, "Write the level"), ({"Level, in dBm": "loud"}, "lies between"), ({"Level, in dBm": "66"}, "lies between"),
     ({"Level, in dBm": "-66", "x, in metres": "3"}, "both x and y")],
)  # fmt: skip
def test_entered__what_is_no_reading_is_said_and_not_written(
    tab: Page, house: Path, fill: dict[str, str], says: str
) -> None:
    held = house.read_bytes()
    form = tab.locator("#reading")
    form.get_by_text("Where it was read").click()
    for label, value in fill.items():
        form.get_by_label(label).fill(value)
    form.get_by_role("button", name="Keep the reading").click()
    assert says in form.locator("output").inner_text()
    assert house.read_bytes() == held


def test_entered__not_into_the_past(origin: str, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(f"{origin}/signal?floor=T0&as_of=2026-03-06")
    assert page.locator("#reading").count() == 0
    page.close()


def test_page__a_house_without_access_point_says_what_is_missing(browser: Browser, tmp_path: Path) -> None:
    bare = {n: c for n, c in rows(read=(), senders=()).items() if c and n not in ("units", "models")}
    with served(make(tmp_path, bare, code="TH")) as origin:
        page = browser.new_page()
        page.goto(f"{origin}/signal")
        words = page.inner_text("main")
        assert "no access point is known that could be heard there" in words
        assert "Without an access point there is no signal to draw." in words
        assert page.locator("#reading").count() == 1  # what is heard may be read before it is known from whom
        assert violations(page) == []
        page.close()


def test_files__drawing_and_paper(origin: str) -> None:
    with urllib.request.urlopen(f"{origin}/signal/T0.svg?band=5+GHz&scale=50&inks=black") as answer:
        svg = answer.read().decode()
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "1:50" in svg and "#0b4f86" not in svg  # black only
    with urllib.request.urlopen(f"{origin}/signal/sheet.pdf") as answer:
        assert answer.read()[:5] == b"%PDF-"


def test_print__signal_alone_and_as_a_chapter_of_the_book(
    house: Path, tmp_path: Path, pdftotext: str, monkeypatch: pytest.MonkeyPatch, said: dict[str, Any]
) -> None:
    """`print --only book --only signal` asks once, and both papers tell the same room in the same words."""
    from pullstring.api.printing import Wanted, papers_of

    asked, answers = signalling.signal, []

    def counted(*args: Any, **options: Any) -> Any:
        answers.append(args)
        return asked(*args, **options)

    monkeypatch.setattr(signalling, "signal", counted)
    made, left = papers_of(house, ASKED, Wanted(only=("book", "signal")), progress=lambda _, __: None)
    assert len(answers) == 1 and left == []
    papers = {p.name: p.data for p in made}
    assert {"book.pdf", "signal.pdf", "signal_T0_5_GHz.svg", "signal_T0_2_4_GHz.svg"} <= set(papers)
    room = next(r for r in said["rooms"] if r["room"] == "PARL")
    for name in ("book.pdf", "signal.pdf"):
        (tmp_path / name).write_bytes(papers[name])
        text = subprocess.run([pdftotext, tmp_path / name, "-"], capture_output=True, text=True, check=True)
        told = " ".join(text.stdout.split())
        assert " ".join(room_sentence(room).split()) in told, name
    plain, _ = papers_of(house, ASKED, Wanted(only=("plans",)), progress=lambda _, __: None)
    assert not any(p.name.startswith("signal") for p in plain)


def test_print__without_access_point_and_reading_says_so(tmp_path: Path) -> None:
    from pullstring.api.printing import Wanted, papers_of

    bare = {n: c for n, c in rows(read=(), senders=()).items() if c and n not in ("units", "models")}
    path = make(tmp_path, bare, code="TH")
    made, left = papers_of(path, ASKED, Wanted(only=("signal",)), progress=lambda _, __: None)
    assert made == [] and left == ["signal: no access point and no reading is noted, so there is nothing to draw"]

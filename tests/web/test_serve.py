"""The pages as a browser gets them: the words and figures of the terminal, and what the server refuses."""

from __future__ import annotations

import hashlib
import html
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from pullstring import api
from pullstring.model.answers import Answer, Request, plain
from pullstring.papers.blocks import Heading, Page, Para, Table
from pullstring.papers.phrases import interval_of
from pullstring.papers.terminal import text_page
from pullstring.papers.typst_page import pdf_page
from pullstring.papers.words import page_of
from pullstring.web.server import Open, PortTaken, serve
from tests.journeys.sites import ASKED, make, packaged
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser
    from playwright.sync_api import Page as Tab

PAGES = ("/", "/plan", "/closet", "/riser", "/ends", "/outlets", "/runs", "/power", "/if-cut", "/history", "/inbox")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("web"), packaged("two_rooms"))


@pytest.fixture(scope="module")
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today) as found:
        yield found


def said(page: Page) -> list[str]:
    """Every text of a page, in order."""
    texts: list[str] = [page.title]
    for block in page.blocks:
        if isinstance(block, Heading):
            texts.append(block.text)
        elif isinstance(block, Para):
            texts.append(block.spoken)
        elif isinstance(block, Table):
            texts += [*block.columns, *(cell for row in block.rows for cell in row)]
    return texts


def words_of(source: str) -> str:
    """What a reader sees of a page, spaces folded."""
    main = source[source.index("<main") : source.index('<dl class="title-block"')]
    inline = re.sub(r"</?(a|i)\b[^>]*>", "", main)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", inline)).split())


VERBS = {
    "/?all=1": lambda path: (api.site(path, ASKED), True),
    "/runs": lambda path: (api.runs(path, ASKED, whole=False), False),
    "/runs?tags=E1": lambda path: (api.runs(path, asked("E1")), False),
    "/power": lambda path: (api.power(path, ASKED), False),
    "/if-cut": lambda path: (api.if_cut(path, ASKED), False),
    "/if-cut?tags=E1": lambda path: (api.if_cut(path, asked("E1")), False),
    "/ends": lambda path: (api.ends(path, ASKED), False),
    "/outlets": lambda path: (api.outlets(path, ASKED), False),
    "/history": lambda path: (api.history(path, ASKED), False),
}


def asked(*tags: str) -> Request:
    import dataclasses

    return dataclasses.replace(ASKED, tags=tags)


@pytest.mark.parametrize("address", VERBS)
def test_pages__say_what_the_terminal_says(site: Path, served: Served, address: str) -> None:
    """One answer, one page of words: every text stands on the page in its order, and on the terminal too."""
    answer: Answer
    answer, whole = VERBS[address](site)
    page = page_of(answer, whole=whole)
    shown, terminal = words_of(served.text(address)), " ".join(text_page(page, width=10_000).split())
    place = 0
    for text in said(page):
        folded = " ".join(text.split())
        assert folded in terminal
        found = shown.find(folded, place)
        assert found >= 0, (folded, shown[place : place + 300])
        place = found


@pytest.mark.parametrize("name", ["site", "runs", "power", "if-cut"])
def test_json__is_that_of_the_command_line(site: Path, served: Served, name: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pullstring", name, str(site), "--json", "--today", ASKED.today],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert served.text(f"/api/{name}.json") == done.stdout


def test_every_page__is_there_and_light(served: Served) -> None:
    """Under 150 kB with all that it fetches, as sent."""
    styles = ("/static/ink.css", "/static/page.css", "/static/frame.css", "/static/frame.js", "/static/plan.js")
    faces = ("B612-Regular", "B612-Bold", "B612Mono-Regular")
    fetched = [*styles, *(f"/fonts/{face}.woff2" for face in faces)]
    frame = sum(len(served.ask(a, headers={"Accept-Encoding": "gzip"})[2]) for a in fetched)
    for address in PAGES:
        status, headers, body = served.ask(address, headers={"Accept-Encoding": "gzip", "Accept": "text/html"})
        assert (status, headers["content-type"]) == (200, "text/html; charset=utf-8"), address
        assert frame + len(body) < 150_000, address


def test_night__is_a_cookie(served: Served) -> None:
    assert 'data-print="night"' in served.text("/", Cookie="print=night")
    assert 'data-print="night"' not in served.text("/")


def test_as_of__carries_from_page_to_page(served: Served) -> None:
    page = served.text("/ends?as_of=2026-03-01")
    assert "As it was on 2026-03-01." in page
    assert 'href="/runs?as_of=2026-03-01"' in page
    status, _, body = served.ask("/ends?as_of=soon", headers={"Accept": "text/html"})
    assert (status, "is no day; write it as" in body.decode()) == (404, True)


def test_find__one_thing_leads_straight_to_it(served: Served) -> None:
    status, headers, _ = served.ask("/find?q=e01")
    assert (status, headers["location"]) == (303, "/thing?ref=end%3AE1")
    assert "Nothing bears" in served.text("/find?q=zzzz")
    assert "What goes dark without it" in served.text("/thing?ref=end:E1")


@pytest.mark.parametrize("path", ["/", "/api/runs.json", "/floor/K0.svg"])
def test_a_broken_record__is_one_sentence(site: Path, served: Served, path: str) -> None:
    whole = site.read_bytes()
    try:
        site.write_bytes(whole[: len(whole) // 2])
        status, _, words = served.ask(path)
        assert status == 500
        assert "the file is damaged or cut short; take another copy" in words.decode()
        assert "Traceback" not in words.decode()
    finally:
        site.write_bytes(whole)
    assert served.ask(path)[0] == 200  # the record is opened anew each time


def test_reading__keeps_the_bytes_of_the_record(site: Path, served: Served) -> None:
    before = hashlib.sha256(site.read_bytes()).hexdigest()
    assert {served.ask(p)[0] for p in PAGES} == {200}
    assert hashlib.sha256(site.read_bytes()).hexdigest() == before
    assert sorted(p.name for p in site.parent.iterdir()) == ["house.site", "tables"]  # and nothing beside it


def test_a_taken_port__is_one_sentence(site: Path, served: Served) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pullstring", "serve", str(site), "--port", str(served.port)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert f"port {served.port} cannot be used" in done.stderr
    assert "Traceback" not in done.stderr


def test_serve__says_its_address_once_the_port_is_its_own(site: Path) -> None:
    heard: list[str] = []

    def hear(found: Open) -> None:
        heard.append(found.address)
        port = int(found.address.rstrip("/").rpartition(":")[2])
        with pytest.raises(PortTaken, match=f"port {port} cannot be used"):
            serve(site, ASKED, port=port, ready=lambda _: pytest.fail("two servers on one port"))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        serve(site, ASKED, port=0, ready=hear)
    assert re.fullmatch(r"http://127\.0\.0\.1:[1-9]\d+/", heard[0])


def figures_of(text: str) -> set[str]:
    """Every range with its unit, spaces folded."""
    return {" ".join(m.split()) for m in re.findall(r"[\d.]+\s+to\s+[\d.]+\s+(?:ohm|nF)", text)}


def test_one_answer_three_ways__same_figures(
    site: Path, served: Served, browser: Browser, pdftotext: str, tmp_path: Path
) -> None:
    page = page_of(api.runs(site, ASKED, whole=False))
    terminal = figures_of(text_page(page, width=400))
    runs = api.runs(site, ASKED).answer["runs"]
    assert terminal == {interval_of(run["loop"]) for run in runs if run["loop"]}
    assert len(terminal) == 4  # the runs of known length
    (tmp_path / "page.pdf").write_bytes(pdf_page(page))
    paper = subprocess.run(
        [pdftotext, "-raw", str(tmp_path / "page.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert figures_of(paper) == terminal
    for width in (390, 1280):
        tab = browser.new_page(viewport={"width": width, "height": 844})
        broken: list[str] = []
        fetched: list[str] = []
        listen(tab, broken, fetched)
        tab.goto(f"{served.origin}/runs")
        assert {a.split("/")[2] for a in fetched} == {f"127.0.0.1:{served.port}"}
        words = tab.inner_text("main")
        assert figures_of(words) == terminal
        assert all(end in words for end in ("E1", "E2", "E3", "E4", "E5"))
        assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), width
        assert broken == []
        tab.close()


def listen(tab: Tab, broken: list[str], fetched: list[str]) -> None:
    """Note what the browser complains of and every address it asks for."""
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.on("request", lambda asked: fetched.append(asked.url))


def test_json__of_the_site_holds_all_of_it(site: Path, served: Served) -> None:
    assert json.loads(served.text("/api/site.json")) == plain(api.site(site, ASKED))


def test_plan__rooms_of_no_known_floor_have_a_sheet_of_their_own(tmp_path: Path) -> None:
    """What was told in one line is a plan from the first minute: boxes, and nothing left out."""
    site = tmp_path / "told.site"
    hand = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
    api.new(site, ASKED, code="TO", name="Told", **hand)
    api.add(site, ASKED, table="rooms", cells={"room": "A", "name": "Hall", "grade": "told"}, **hand)
    api.add(site, ASKED, table="rooms", cells={"room": "B", "name": "Larder", "beside": "A", "grade": "told"}, **hand)
    assert api.every_floor(site, ASKED) == [{"tag": "?", "name": "floor not known"}]
    svg = api.drawn_floor(site, ASKED, floor="?", scale=100)
    assert "Hall" in svg and "Larder" in svg
    with serving(site, "--today", ASKED.today) as found:
        assert "Larder" in found.text("/plan")
        assert found.ask("/closet")[0] == found.ask("/riser")[0] == found.ask("/draw")[0] == 200

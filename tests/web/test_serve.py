"""The page as Chromium shows it, with the same figures as terminal and paper; and what the server refuses."""

from __future__ import annotations

import asyncio
import hashlib
import http.client
import json
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.applications import Starlette
from starlette.types import Message

from pullstring import api
from pullstring.model.answers import plain
from pullstring.papers.phrases import interval_of
from pullstring.papers.terminal import text_page
from pullstring.papers.typst_page import pdf_page
from pullstring.papers.words import page_of
from pullstring.web.server import POLICY, PortTaken, application, serve
from tests.journeys.sites import ASKED, make, packaged

if TYPE_CHECKING:
    from playwright.sync_api import Page

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("web"), packaged("two_rooms"))


@pytest.fixture(scope="module")
def port(site: Path) -> Iterator[int]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        free = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "pullstring", "serve", str(site), "--port", str(free), "--today", ASKED.today],
        stderr=subprocess.DEVNULL,
        env=dict(os.environ),
    )
    try:
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", free), timeout=1).close()
                break
            except OSError:
                time.sleep(0.1)
        yield free
    finally:
        server.terminate()
        server.wait(20)


def ask(port: int, path: str = "/", *, method: str = "GET", host: str | None = None) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request(method, path, headers={"Host": host or f"127.0.0.1:{port}"})
    answer = connection.getresponse()
    return answer.status, answer.read().decode()


def test_serve__refuses_other_hosts_and_other_methods(port: int) -> None:
    assert ask(port)[0] == 200
    assert ask(port, host="evil.test")[0] == 400
    assert ask(port, host=f"evil.test:{port}")[0] == 400
    assert ask(port, host=f"127.0.0.1:{port + 1}")[0] == 400  # a page of another server on this machine
    assert ask(port, host=f"LOCALHOST:{port}")[0] == 200  # host names know no case: RFC 9110, section 4.2.3
    for method in ("POST", "PUT", "DELETE", "HEAD", "OPTIONS"):
        assert ask(port, method=method)[0] == 405
    assert ask(port, "/answer.json", method="POST") == (405, "these pages are for reading only; ask with GET\n")
    assert ask(port, "/floor/K0.svg")[0] == 200
    status, words = ask(port, "/floor/Q9.svg")
    assert (status, words) == (404, "there is no floor 'Q9' to draw")


def test_serve__every_answer_forbids_strangers(port: int) -> None:
    for path, host in (
        ("/", None),
        ("/floor/K0.svg", None),
        ("/floor/Q9.svg", None),
        ("/none", None),
        ("/", "evil.test"),
    ):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        connection.request("GET", path, headers={"Host": host or f"127.0.0.1:{port}"})
        assert connection.getresponse().getheader("Content-Security-Policy") == POLICY, path


def test_serve__port_80_is_left_out_by_browsers(site: Path) -> None:
    for port, status in ((80, 200), (8471, 400)):
        assert call(application(site, ASKED, port=port), host="localhost") == status


def call(pages: Starlette, *, host: str) -> int:
    """The status of the first page, asked without a network."""
    said: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        said.append(message)

    scope = {"type": "http", "method": "GET", "path": "/", "query_string": b"", "headers": [(b"host", host.encode())]}
    asyncio.run(pages(scope, receive, send))
    return int(said[0]["status"])


def test_serve__night_and_json(site: Path, port: int) -> None:
    assert 'data-print="night">' in ask(port, "/?print=night")[1]
    assert 'data-print="night">' not in ask(port)[1]
    text = ask(port, "/answer.json")[1]
    said = json.loads(text)
    assert said == plain(api.sheet(site, ASKED))
    assert text == json.dumps(said, sort_keys=True, indent=2, ensure_ascii=False) + "\n"


@pytest.mark.parametrize("path", ["/", "/answer.json", "/floor/K0.svg"])
def test_serve__a_broken_record_is_one_sentence(site: Path, port: int, path: str) -> None:
    whole = site.read_bytes()
    try:
        site.write_bytes(whole[: len(whole) // 2])
        status, words = ask(port, path)
        assert (status, words) == (
            500,
            f"{site}: the file is damaged or cut short; take another copy, or what is whole: import NEW.site THIS --rescue\n",
        )
    finally:
        site.write_bytes(whole)
    assert ask(port, path)[0] == 200  # the record is opened anew each time


def test_serve__the_record_keeps_its_bytes(site: Path, port: int) -> None:
    before = hashlib.sha256(site.read_bytes()).hexdigest()
    assert [ask(port, p)[0] for p in ("/", "/answer.json", "/floor/K0.svg")] == [200, 200, 200]
    assert hashlib.sha256(site.read_bytes()).hexdigest() == before
    assert sorted(p.name for p in site.parent.iterdir()) == ["house.site", "tables"]  # and nothing beside it


def test_serve__a_taken_port_is_one_sentence(site: Path, port: int) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pullstring", "serve", str(site), "--port", str(port)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert f"port {port} cannot be used" in done.stderr
    assert "Traceback" not in done.stderr


def test_serve__says_its_address_once_the_port_is_its_own(site: Path) -> None:
    heard: list[str] = []

    def hear(address: str) -> None:
        heard.append(address)
        port = int(address.rstrip("/").rpartition(":")[2])
        with pytest.raises(PortTaken, match=f"port {port} cannot be used"):
            serve(site, ASKED, port=port, ready=lambda _: pytest.fail("two servers on one port"))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        serve(site, ASKED, port=0, ready=hear)
    assert re.fullmatch(r"http://127\.0\.0\.1:[1-9]\d+/", heard[0])


def figures_of(text: str) -> set[str]:
    """Every range with its unit, spaces folded."""
    return {" ".join(m.split()) for m in re.findall(r"[\d.]+\s+to\s+[\d.]+\s+(?:ohm|nF)", text)}


def listen(tab: Page, broken: list[str], fetched: list[str]) -> None:
    """Note what the browser complains of and every address it asks for."""
    tab.on("console", lambda said: broken.append(said.text) if said.type == "error" else None)
    tab.on("request", lambda asked: fetched.append(asked.url))


def test_one_answer_three_ways__same_figures(
    site: Path, port: int, chromium_path: str, pdftotext: str, tmp_path: Path
) -> None:
    from playwright.sync_api import sync_playwright

    page = page_of(api.sheet(site, ASKED))
    terminal = figures_of(text_page(page, width=400))
    assert len(terminal) == 8  # four runs of known length, ohms and farads each
    asked = api.runs(site, ASKED).answer["runs"]
    assert terminal == {interval_of(run[what]) for run in asked for what in ("loop", "capacitance") if run[what]}
    (tmp_path / "page.pdf").write_bytes(pdf_page(page))
    paper = subprocess.run(
        [pdftotext, "-raw", str(tmp_path / "page.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert figures_of(paper) == terminal
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium_path, args=FLAGS)
        for width in (390, 1280):
            tab = browser.new_page(viewport={"width": width, "height": 844})
            broken: list[str] = []
            fetched: list[str] = []
            listen(tab, broken, fetched)
            tab.goto(f"http://127.0.0.1:{port}/")
            assert fetched == [f"http://127.0.0.1:{port}/"]
            assert tab.inner_text("h1") == "Kiln Cottage: do not touch, ends, runs"
            words = tab.inner_text("body")
            assert figures_of(words) == terminal
            assert all(end in words for end in ("E1", "E2", "E3", "E4", "E5"))
            assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), width
            assert broken == []
        browser.close()

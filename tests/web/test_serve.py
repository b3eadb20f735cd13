"""The page as Chromium shows it, with the same figures as terminal and paper; and what the server refuses."""

from __future__ import annotations

import hashlib
import http.client
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from pullstring import api
from pullstring.papers.terminal import text_page
from pullstring.papers.typst_page import pdf_page
from pullstring.papers.words import page_of
from tests.journeys.sites import ASKED, make, packaged

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
    assert ask(port, method="POST")[0] == 405
    assert ask(port, "/floor/K0.svg")[0] == 200
    status, words = ask(port, "/floor/Q9.svg")
    assert (status, "Traceback" in words) == (404, False)


def test_serve__the_record_keeps_its_bytes(site: Path, port: int) -> None:
    before = hashlib.sha256(site.read_bytes()).hexdigest()
    assert [ask(port, p)[0] for p in ("/", "/answer.json", "/floor/K0.svg")] == [200, 200, 200]
    assert hashlib.sha256(site.read_bytes()).hexdigest() == before


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


def figures_of(text: str) -> set[str]:
    """Every range with its unit, spaces folded."""
    return {" ".join(m.split()) for m in re.findall(r"[\d.]+\s+to\s+[\d.]+\s+(?:ohm|nF)", text)}


def test_one_answer_three_ways__same_figures(
    site: Path, port: int, chromium_path: str, pdftotext: str, tmp_path: Path
) -> None:
    from playwright.sync_api import sync_playwright

    page = page_of(api.sheet(site, ASKED))
    terminal = figures_of(text_page(page, width=400))
    assert len(terminal) == 8  # four runs of known length, ohms and farads each
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
            tab.on("console", lambda m, broken=broken: broken.append(m.text) if m.type == "error" else None)
            tab.goto(f"http://127.0.0.1:{port}/")
            words = tab.inner_text("body")
            assert figures_of(words) == terminal
            assert all(end in words for end in ("E1", "E2", "E3", "E4", "E5"))
            assert tab.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), width
            assert [b for b in broken if "favicon" not in b and "404" not in b] == []
        browser.close()

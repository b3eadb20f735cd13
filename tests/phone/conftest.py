"""One browser and one line for all tests of the phone; a laptop with a record of its own for each."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.journeys.sites import make, packaged
from tests.phone.phone import HOST, Line, phone
from tests.web.served import FLAGS, Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Playwright


@pytest.fixture(scope="session")
def line() -> Line:
    return Line()


@pytest.fixture(scope="session")
def browser(playing: Playwright, chromium_path: str, line: Line) -> Iterator[Browser]:
    rules = f"--host-resolver-rules=MAP {HOST} 127.0.0.1:{line.port}"
    made = playing.chromium.launch(executable_path=chromium_path, args=[*FLAGS, rules])
    yield made
    made.close()


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("phone"), packaged("two_rooms"))


@pytest.fixture
def site(made: Path, tmp_path: Path) -> Path:
    """A record of its own."""
    return Path(shutil.copy(made, tmp_path / "house.site"))


@pytest.fixture
def laptop(site: Path, line: Line) -> Iterator[Served]:
    with serving(site, "--phones") as served:
        line.target, line.mode, line.lose, line.lost = served.port, "pass", 0, 0
        line.heard.clear()
        yield served


@pytest.fixture
def pocket(browser: Browser, laptop: Served) -> Iterator[BrowserContext]:
    """A phone that nothing was done with yet."""
    with phone(browser) as context:
        yield context

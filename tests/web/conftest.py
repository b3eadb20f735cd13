"""One browser for all tests of the laptop's pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.web.served import FLAGS

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright


@pytest.fixture(scope="session")
def browser(playing: Playwright, chromium_path: str) -> Iterator[Browser]:
    started = playing.chromium.launch(executable_path=chromium_path, args=FLAGS)
    yield started
    started.close()

"""What every test may ask for: tiers, seeds, system parts.

A system part that is missing skips its tests on a laptop and fails them with CI=true, else a green run proves nothing.
"""

from __future__ import annotations

import glob
import os
import pathlib
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from typing import TYPE_CHECKING

import hypothesis
import pytest

from tests.tiers import FRESH_SEED, seconds

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

ROOT = pathlib.Path(__file__).resolve().parent.parent
LEFT_OUT = pytest.StashKey[list[int]]()

hypothesis.settings.register_profile("fixed", derandomize=True, deadline=None, database=None, print_blob=True)
hypothesis.settings.load_profile("fixed")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--all", action="store_true", help="run the slow tests too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    config.stash[LEFT_OUT] = []
    if config.getoption("--all"):
        return
    marks = {item: item.get_closest_marker("slow") for item in items}
    left_out = [item for item in items if marks[item]]
    config.stash[LEFT_OUT] = [seconds(mark) for mark in marks.values() if mark]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if not marks[item]]


def pytest_report_header() -> str:
    return f"fresh seed: {FRESH_SEED} (the same again: PULLSTRING_SEED={FRESH_SEED})"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    costs = config.stash.get(LEFT_OUT, [])
    if costs:
        terminalreporter.line(f"{len(costs)} slow tests left out, about {sum(costs)} s; --all runs them")
    terminalreporter.line(pytest_report_header())


@pytest.fixture(scope="session")
def fresh_seed() -> int:
    """A number that differs from run to run and is printed."""
    return FRESH_SEED


def part(program: str, *other_names: str) -> str:
    """Where a system program is, or skip (laptop) or fail (CI)."""
    for name in (program, *other_names):
        if found := shutil.which(name) or max(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"), default=None):
            return found
    sentence = f"{program} is not on this machine; as root, `run.py test --system` installs it."
    if os.environ.get("CI") == "true":
        pytest.fail(sentence, pytrace=False)
    pytest.skip(sentence)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    return part("chromium", "chromium-browser")


@pytest.fixture(scope="session")
def playing() -> Iterator[Playwright]:
    """The one driver of browsers for all tests: a second one in the same thread is refused."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        yield play


@pytest.fixture(scope="session")
def pdftoppm() -> str:
    return part("pdftoppm")


@pytest.fixture(scope="session")
def pdftotext() -> str:
    return part("pdftotext")


@pytest.fixture(scope="session")
def certutil() -> str:
    return part("certutil")


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """Connection words for an empty scratch database; PULLSTRING_TEST_PG names another server."""
    if given := os.environ.get("PULLSTRING_TEST_PG"):
        yield given
        return
    part("initdb")
    script = ["bash", str(ROOT / "tools" / "pg_scratch.sh")]
    folder = tempfile.mkdtemp()  # not pytest's own folder, which the user postgres may not enter
    try:
        started = subprocess.run([*script, "start", folder], check=True, stdout=subprocess.PIPE, text=True)
        yield started.stdout.strip()
    finally:
        subprocess.run([*script, "stop", folder], check=False)

"""Starting is quick because nothing heavy is loaded until a verb needs it. Seen by imports, not by a stop-watch."""

import os
import re
import subprocess
import sys

import pytest

from tests.house.tree import SRC

HEAVY = {"numpy", "typst", "starlette", "uvicorn", "shapely", "rich", "jinja2", "segno", "anyio", "psycopg", "asyncio"}
_LINE = re.compile(r"^import time:\s+\d+ \|\s+\d+ \| +(?P<module>\S+)$", re.MULTILINE)


def loaded(*words: str) -> tuple[subprocess.CompletedProcess[str], set[str]]:
    """Top names of all modules that a fresh Python loads for this command line."""
    command = [sys.executable, "-X", "importtime", *words]
    done = subprocess.run(command, capture_output=True, text=True, env=dict(os.environ, PYTHONPATH=str(SRC.parent)))
    return done, {name.partition(".")[0] for name in _LINE.findall(done.stderr)}


def test_check_itself__sees_a_heavy_import():
    _, modules = loaded("-c", "import jinja2")
    assert "jinja2" in modules


def test_import_pullstring__loads_nothing_heavy():
    done, modules = loaded("-c", "import pullstring")
    assert done.returncode == 0, done.stderr
    assert "pullstring" in modules
    assert modules & HEAVY == set()


@pytest.mark.skipif(not (SRC / "cli").exists() and not (SRC / "cli.py").exists(), reason="no cli room yet")
def test_help__loads_nothing_heavy():
    done, modules = loaded("-m", "pullstring", "--help")
    assert done.returncode == 0, done.stderr
    assert "Usage" in done.stdout or "usage" in done.stdout
    assert "pullstring" in modules
    assert modules & HEAVY == set()

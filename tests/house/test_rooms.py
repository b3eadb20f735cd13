"""Thinking rooms call no clock, no dice, no file, no network: those come in as arguments.

Import contracts see modules only; this reads the syntax tree. Package data through importlib.resources is allowed.
"""

import ast
import textwrap

import pytest

from tests.house.tree import THINKING, parsed, python_files, short

MODULES = set(
    [
        "time",
        "random",
        "secrets",
        "uuid",
        "calendar",
        "sched",
        "timeit",
        "os",
        "pathlib",
        "io",
        "shutil",
        "glob",
        "fnmatch",
        "tempfile",
        "fileinput",
        "mmap",
        "sqlite3",
        "dbm",
        "shelve",
        "pickle",
        "zipfile",
        "tarfile",
        "gzip",
        "psycopg",
        "socket",
        "socketserver",
        "ssl",
        "urllib",
        "http",
        "ftplib",
        "smtplib",
        "xmlrpc",
        "select",
        "selectors",
        "asyncio",
        "subprocess",
        "multiprocessing",
        "threading",
        "concurrent",
        "signal",
        "ctypes",
        "sys",
        "platform",
        "locale",
        "getpass",
        "logging",
        "importlib",
    ]
)
HARMLESS = {"importlib.resources", "io.StringIO", "sys.float_info"}  # package data; text in memory; a constant
BUILTINS = {"open", "input", "print", "exec", "eval", "__import__", "breakpoint"}
CLOCK = {"now", "utcnow", "today"}
WRITES = {"write_text", "write_bytes", "unlink", "mkdir", "rmdir", "touch"}
DICE = "numpy.random"
GENERATOR = "numpy.random.Generator"  # as the type of an argument
NAMED = {
    "src/pullstring/radio/compiled.py": (
        "imports sys",
        "imports pathlib.Path",
        "imports concurrent.futures.ThreadPoolExecutor",
    )
}
"""The one named exception: compiled kernels are kept with the environment, and run side by side, each writing what is its own."""


def names(tree: ast.Module) -> dict[str, str]:
    """What each imported name stands for: `np` for numpy, `D` for datetime.datetime."""
    known = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for one in node.names:
                known[one.asname or one.name.partition(".")[0]] = one.name if one.asname else one.name.partition(".")[0]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            known |= {one.asname or one.name: f"{node.module}.{one.name}" for one in node.names}
    return known


def dotted(node: ast.expr, known: dict[str, str]) -> str:
    """`np.random.rand` as numpy.random.rand; what does not start at a plain name starts with a dot."""
    if isinstance(node, ast.Name):
        return known.get(node.id, node.id)
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value, known)}.{node.attr}"
    return ""


def imported(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [one.name for one in node.names]
    if isinstance(node, ast.ImportFrom) and not node.level:
        return [f"{node.module}.{one.name}" for one in node.names]
    return []


def within(name: str, outer: str) -> bool:
    return name == outer or name.startswith(outer + ".")


def is_forbidden(name: str) -> bool:
    if within(name, DICE):
        return name != GENERATOR
    return name.partition(".")[0] in MODULES and not any(within(name, fine) for fine in HARMLESS)


def offences(tree: ast.Module) -> list[str]:
    known, found = names(tree), []
    for node in ast.walk(tree):
        found += [f"{node.lineno}: imports {name}" for name in imported(node) if is_forbidden(name)]
        if isinstance(node, ast.Name) and node.id in BUILTINS and isinstance(node.ctx, ast.Load):
            found.append(f"{node.lineno}: uses {node.id}")
        if isinstance(node, ast.Attribute):
            name = dotted(node, known)
            owner, _, last = name.rpartition(".")
            if last in CLOCK and owner in {"datetime.datetime", "datetime.date"}:
                found.append(f"{node.lineno}: reads the clock, {name}")
            if within(name, DICE + "." + last) and name != GENERATOR:
                found.append(f"{node.lineno}: rolls dice, {name}")
            if last in WRITES:
                found.append(f"{node.lineno}: writes a file, {name}")
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            found += called(node, node.func)
    return found


def called(call: ast.Call, method: ast.Attribute) -> list[str]:
    """Calls that read the clock or the place whatever they are called on."""
    if method.attr in CLOCK:
        return [f"{call.lineno}: reads the clock, {method.attr}()"]
    if method.attr == "astimezone" and not call.args and not call.keywords:
        return [f"{call.lineno}: takes the machine's time zone, astimezone()"]
    if method.attr == "fromtimestamp" and len(call.args) + len(call.keywords) < 2:
        return [f"{call.lineno}: takes the machine's time zone, fromtimestamp() without one"]
    return []


BAD = [
    "import time",
    "import os.path",
    "from os import environ",
    "from pathlib import Path",
    "import random as r",
    "def f():\n    import secrets",
    "import io",
    "from io import BytesIO, open",
    "import uuid",
    "import urllib.request",
    "from http import client",
    "import subprocess",
    "import sqlite3",
    "import tempfile",
    "import socket",
    "import importlib",
    "from importlib import import_module",
    "from sys import argv",
    "import datetime\nx = datetime.datetime.now()",
    "from datetime import date\nx = date.today()",
    "from datetime import datetime as D\nf = D.now",
    "import datetime as dt\nf = dt.date.today",
    "def f(clock):\n    return clock.now()",
    "def f(when):\n    return when.astimezone()",
    "from datetime import datetime\nx = datetime.fromtimestamp(0)",
    "import numpy as np\nx = np.random.default_rng(1)",
    "import numpy\nx = numpy.random.rand()",
    "from numpy import random",
    "from numpy.random import default_rng",
    "import numpy.random",
    "x = open('file')",
    "f = open",
    "print('words')",
    "__import__('os')",
    "def f(place):\n    place.write_text('words')",
]
GOOD = [
    "import importlib.resources\nx = importlib.resources.files('pullstring.model').joinpath('a.csv').read_text()",
    "from importlib import resources",
    "from importlib.resources import files",
    "from io import StringIO",
    "import datetime\ndef f(request) -> datetime.date:\n    return request.today",
    "from datetime import datetime, timedelta\nx = datetime.fromisoformat('2024-05-01') + timedelta(days=1)",
    "import numpy as np\ndef f(*, dice: np.random.Generator):\n    return dice.normal()",
    "from pullstring.model import random_name",
    "from . import time",
    "def f(circuit):\n    return circuit.open",
    "def f(when, zone):\n    return when.astimezone(zone)",
    "import re\nx = re.compile('a')",
]


@pytest.mark.parametrize("code", BAD)
def test_check_itself__finds(code):
    assert offences(ast.parse(textwrap.dedent(code)))


@pytest.mark.parametrize("code", GOOD)
def test_check_itself__lets_pass(code):
    assert offences(ast.parse(textwrap.dedent(code))) == []


@pytest.mark.parametrize("file", python_files(*THINKING), ids=short)
def test_thinking_rooms__no_clock_dice_file_network(file):
    found = [o for o in offences(parsed(file)) if o.partition(": ")[2] not in NAMED.get(short(file), ())]
    assert found == []


def test_thinking_rooms__are_looked_at():
    assert {
        file.parts[len(file.parts) - 1 - file.parts[::-1].index("pullstring") + 1] for file in python_files(*THINKING)
    } >= {"model", "copper"}

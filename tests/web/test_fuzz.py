"""Bent bodies, foreign origins and paths that climb: every refusal is a sentence, writes nothing and leaks nothing."""

from __future__ import annotations

import copy
import http.client
import json
import random
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.log.store import open_store
from tests.journeys.sites import ASKED, make, packaged
from tests.tiers import FRESH_SEED, slow
from tests.web.served import Served, serving
from tests.web.test_keeping import act, jotting, paired, row

LEAKS = re.compile(r"Traceback|File \"|object at 0x|sqlite3|\bError\b|\.py\b|NoneType|/tmp/|/root|\\u0000")
JUNK: list[Any] = [
    None, True, False, 0, -1, 2**63, 2**70, 1e308, -0.5, "", " ", "\0", "\ud800",
    "a" * 9000, "'; DROP TABLE entries; --", "../../etc/passwd",
    "<script>alert(1)</script>", "end:E1", "jotting:", ":", "::", "kind:" + "x" * 500, "none",
    "0 0; 1", "1e9 1e9; 2 2", "NaN", "Infinity",
    "2026-13-45", "9999-12-31", "0000", "-1 ft", "password=hunter2", [], {}, [[]], [None],
    {"": ""}, {"a": {"b": {"c": []}}}, "\u202e\u0300", "日本",
]  # fmt: skip
PATHS = [
    "/api/rows",
    "/api/strike",
    "/api/pair",
    "/api/unpair",
    "/api/entries",
    "/api/photos/" + "0" * 64,
    "/api/nothing",
    "/",
    "/runs",
]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("fuzz"), packaged("two_rooms"))


@pytest.fixture(scope="module")
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


def nodes(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The place of every part of a JSON value."""
    yield path
    if isinstance(value, dict):
        for name, part in value.items():
            yield from nodes(part, (*path, name))
    elif isinstance(value, list):
        for i, part in enumerate(value):
            yield from nodes(part, (*path, i))


def bent(dice: random.Random, value: Any) -> Any:
    """The value with some parts replaced, dropped, doubled or renamed."""
    value = copy.deepcopy(value)
    for _ in range(dice.choice((1, 1, 1, 2, 4))):
        path = dice.choice(list(nodes(value)))
        if not path:
            if dice.random() < 0.05:
                return dice.choice(JUNK)
            continue
        holder = value
        for step in path[:-1]:
            holder = holder[step]
        last, how = path[-1], dice.random()
        if how < 0.6:
            holder[last] = copy.deepcopy(dice.choice(JUNK))
        elif how < 0.75:
            del holder[last]
        elif isinstance(holder, dict):
            holder[dice.choice(["", "extra", "__class__", "a" * 300])] = holder.pop(last)
        else:
            holder.append(copy.deepcopy(holder[last]))
    return value


def body(dice: random.Random, value: Any) -> bytes:
    """A bent value as bytes, now and then bent as bytes too."""
    if dice.random() < 0.03:
        return b"[" * 100_000
    raw = bytearray(json.dumps(bent(dice, value)).encode())
    if dice.random() < 0.15:
        for _ in range(dice.randint(1, 8)):
            raw[dice.randrange(len(raw))] = dice.randrange(256)
    if dice.random() < 0.1:
        raw = raw[: dice.randrange(len(raw) + 1)]
    return bytes(raw)


class Line:
    """One connection for all questions, so that what one leaves unread would bend the next.

    The server hangs up on who is silent for five seconds; on a busy machine that happens, so after two one calls anew.
    """

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.heard = time.monotonic()

    def ask(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, str]:
        if time.monotonic() - self.heard > 2:
            self.connection.close()
        self.connection.request(method, path, body=body, headers=headers)
        answer = self.connection.getresponse()
        said = answer.read().decode()
        self.heard = time.monotonic()
        return answer.status, said


def storm(site: Path, served: Served, count: int, seed: int) -> dict[int, int]:
    """Send bent bodies; gives how often each status came."""
    dice, seen = random.Random(seed), dict[int, int]()
    phone = (
        paired(served, code=None)
        if not api.phones(site)
        else {"token": "gone", "device": api.phones(site)[0].id, "short": "ZZ"}
    )
    whole = [
        act(row("rooms", room="Q1", name="Loft", floor="K0", outline="0 9; 3 12", grade="seen", new=True),
            row("ends", end="Q2", cable="C1")),
        {"key": "0" * 32, "author": "TEC", "entries": ["nope"], "why": "undone"},
        {"entries": [jotting(phone, n, what="note", words="x", about="E1") for n in (1, 2)]},
        {"code": "123", "name": "x"}, {"device": "phone-0"},
    ]  # fmt: skip
    line = Line(served.port)
    for _ in range(count):
        path = dice.choice(PATHS)
        headers = {
            "Origin": served.origin,
            "Content-Type": "application/json",
            "Authorization": f"Bearer {phone['token']}",
        }
        foreign = dice.random() < 0.1
        if foreign:
            headers["Origin"] = dice.choice(["null", "http://evil.test", served.origin + ".evil.test"])
        if dice.random() < 0.05:
            headers["Content-Type"] = dice.choice(
                ["text/plain", "multipart/form-data", "application/x-www-form-urlencoded", ""]
            )
        before = site.read_bytes()
        method = "PUT" if "photos" in path else "POST"
        status, said = line.ask(method, path, body(dice, dice.choice(whole)), headers)
        seen[status] = seen.get(status, 0) + 1
        assert status < 500, (seed, path, said)
        assert not LEAKS.search(said), (seed, path, said)
        if status != 200:
            assert site.read_bytes() == before, (seed, path, said)
            assert len(said.split()) >= 4, said
        assert not (foreign and status == 200), (seed, path)
    line.connection.close()
    return seen


def still_whole(site: Path, served: Served) -> None:
    """The record opens, replays and shows itself."""
    with open_store(site, read_only=True) as store:
        assert store.entries()
    for page in ("/", "/plan", "/ends", "/outlets", "/runs", "/power", "/if-cut", "/history", "/inbox"):
        assert served.ask(page, headers={"Accept": "text/html"})[0] == 200, page


def test_bent_bodies__are_refused_in_sentences(site: Path, served: Served) -> None:
    seen = storm(site, served, 300, FRESH_SEED)
    assert seen.get(422, 0) > 50  # most are bent in what they say, not in their form
    still_whole(site, served)


@slow("240 s, five thousand bodies")
def test_five_thousand_bent_bodies(site: Path, served: Served) -> None:
    seen = storm(site, served, 5000, FRESH_SEED + 1)
    assert sum(seen.values()) == 5000
    still_whole(site, served)

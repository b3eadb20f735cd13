"""The page that documents the JSON answers, against what the program answers: every field stands on it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.model.answers import plain
from tests.house.tree import ROOT
from tests.journeys.sites import ASKED, make, packaged

PAGE = (ROOT / "docs" / "answers.md").read_text(encoding="utf-8")
BY_NAME = {
    "counts",
    "claim_counts",
    "things",
    "names",
    "do_not_touch",
    "single_points",
    "protected",
    "battery",
    "power_paths",
    "fields",
}
BY_NAME |= {"guarded", "blocked", "body", "cells"}
VALUES = {"interval", "limit", "estimate", "odds", "bracket"}


def section(verb: str) -> str:
    return re.search(rf"^## {verb}\n(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)[1]  # type: ignore[index]


def fields(value: Any, *, depth: int) -> set[str]:
    """Names of the fields of an answer and of what it lists, values and things by their own name left out."""
    if isinstance(value, list):
        return {name for one in value for name in fields(one, depth=depth)}
    if not isinstance(value, dict) or value.get("type") in VALUES or depth == 0:
        return set()
    found = set(value) - {"type"}
    for name, inner in value.items():
        if name not in BY_NAME:
            found |= fields(inner, depth=depth - 1)
    return found


LOOKED_UP = ("ends", "outlets", "history", "find", "inbox")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("a"), packaged("three_lamps/1_arrival"))


@pytest.mark.parametrize(
    "verb", ["site", "runs", "power", "if-cut", "why", "change", "cut", "order", "mains", *LOOKED_UP]
)
def test_every_field_is_on_the_page(site: Path, verb: str) -> None:
    from dataclasses import replace

    one = replace(ASKED, tags=("E07",))
    port = replace(ASKED, tags=("D04.1",))
    answers = {
        "site": lambda: api.site(site, ASKED),
        "why": lambda: api.site(site, ASKED, why="E07"),
        "runs": lambda: api.runs(site, ASKED),
        "power": lambda: api.power(site, ASKED),
        "change": lambda: api.power_change(site, port, gives="nothing"),
        "if-cut": lambda: api.if_cut(site, ASKED),
        "cut": lambda: api.if_cut(site, one),
        "order": lambda: api.if_cut(site, one, in_order=True),
        "mains": lambda: api.if_cut(site, ASKED, without_mains_min=5.0),
        "ends": lambda: api.ends(site, ASKED),
        "outlets": lambda: api.outlets(site, ASKED),
        "history": lambda: api.history(site, ASKED),
        "find": lambda: api.find(site, ASKED, word="E07"),
        "inbox": lambda: api.inbox(_jotted(site), ASKED),
    }
    page = section(
        {"why": "site", "change": "power", "cut": "if-cut", "order": "if-cut", "mains": "if-cut"}.get(verb, verb)
    )
    answer = answers[verb]()
    top = set(answer.answer)
    assert sorted(name for name in top if f"`{name}`" not in page) == []
    depth = 2 if verb in ("runs", "power", "if-cut", "cut", *LOOKED_UP) else 1
    listed = fields(plain(answer.answer), depth=depth)
    missing = sorted(name for name in listed if f"`{name}`" not in PAGE)
    assert [name for name in missing if ":" not in name] == []


def test_envelope_is_on_the_page(site: Path) -> None:
    assert sorted(name for name in plain(api.runs(site, ASKED)) if f"`{name}`" not in PAGE) == []


def _jotted(site: Path) -> Path:
    """A copy of the site with one jotting that waits."""
    import shutil

    from tests.journeys.sites import HAND

    copy = site.with_name("jotted.site")
    shutil.copy(site, copy)
    cells = {"jotting": "QQ1", "what": "note", "about": "E07", "words": "wet", "grade": "seen"}
    api.add(copy, ASKED, table="jottings", cells=cells, **HAND)
    return copy

"""The inn as a record, made once, at four moments."""

from __future__ import annotations

import pathlib

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.asbuilt import Site
from tests.demo.inn import DAYS, HAND, TRACED, bring_in


@pytest.fixture(scope="session")
def record(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    path = tmp_path_factory.mktemp("inn") / "house.site"
    api.new(path, Request(today="2026-03-03"), code="TLH", name="", wrote="2026-03-03T12:00:00+00:00", **HAND)
    for stage in DAYS:
        assert bring_in(path, stage) > 200
    return path


@pytest.fixture(scope="session")
def arrived(record: pathlib.Path) -> Site:
    return api.load(record, Request(today="2026-03-03", as_of="2026-03-03"))


@pytest.fixture(scope="session")
def traced(record: pathlib.Path) -> Site:
    return api.load(record, Request(today="2026-03-05", as_of=TRACED))


@pytest.fixture(scope="session")
def visited(record: pathlib.Path) -> Site:
    return api.load(record, Request(today="2026-03-05", as_of="2026-03-05"))


@pytest.fixture(scope="session")
def year_after(record: pathlib.Path) -> Site:
    return api.load(record, Request(today="2027-09-30"))

"""`if-cut` of an end that was traced by odds only: never GO above one in a hundred, with the test that settles it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.papers.terminal import text_page
from pullstring.papers.words import page_of
from tests.journeys.lime_house import USUAL, lime_house, rows, tone
from tests.journeys.printed import flat
from tests.journeys.sites import ASKED, make


def cut(path: Path, *tags: str) -> Any:
    return api.if_cut(path, Request(today=ASKED.today, tags=tags))


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lime_house(tmp_path_factory.mktemp("lime"))


def test_cut__an_end_that_may_lead_to_something_kept_is_asked_about(house: Path) -> None:
    answer = cut(house, "W7")
    [row] = answer.answer["by_odds"]
    lead = row["leads"][0]
    assert (answer.answer["verdict"], row["end"], lead["outlet"], lead["keeps"]) == (
        "ASK",
        "end:W7",
        "outlet:P5",
        "service:S2",
    )
    chances = {o["outlet"]: o for o in api.trace(house, ASKED).answer["outlets"]}["outlet:P5"]["goes"]
    assert row["odds"]["chance"] == pytest.approx(
        sum(g["odds"]["chance"] for g in chances if "end:W7" in g["ends"]), abs=0.01
    )
    text = flat(text_page(page_of(answer), width=120))
    assert "End W7 was traced by odds only" in text and "confirmed by a short at outlet P5" in text


def test_cut__the_same_by_its_cable_and_by_its_row(house: Path) -> None:
    for what in ("C7", "row:B1.7"):
        assert [r["end"] for r in cut(house, what).answer["by_odds"]] == ["end:W7"]


def test_cut__the_test_that_settles_it_lets_it_go(tmp_path: Path) -> None:
    """After the tone from W5 was confirmed at P5, W7 cannot lead there, and W7 is metered: GO."""
    heard = [
        *USUAL,
        *(tone("outlet:P5", "end:W5", minute=30 + n) for n in range(2)),
        *(tone("outlet:P5", "end:W7", level="none", care="isolated", minute=40 + n) for n in range(2)),
    ]
    path = lime_house(tmp_path, read=heard)
    answer = cut(path, "W7").answer
    assert answer["by_odds"] == [] and answer["verdict"] == "GO"
    assert cut(path, "W5").answer["verdict"] != "GO"


def test_cut__without_a_service_to_keep_there_is_nothing_to_ask(tmp_path: Path) -> None:
    tables = rows()
    tables["services"] = [s for s in tables["services"] if s["service"] == "S1"]
    answer = cut(make(tmp_path, tables, code="LH"), "W7").answer
    assert answer["by_odds"] == [] and answer["verdict"] == "GO"


def test_cut__what_is_protected_stays_stop(house: Path) -> None:
    assert cut(house, "W6").answer["verdict"] == "STOP"

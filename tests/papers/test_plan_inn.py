"""The invented inn's seven floors at both scales: nothing overprints, nothing outside, in time, readable in black."""

from __future__ import annotations

import pathlib
import re
import time
from typing import Any

import pytest

from pullstring import api
from pullstring.model.answers import Request, plain
from pullstring.model.asbuilt import Site
from pullstring.papers.drawing import floor_svg
from pullstring.papers.ink import BLACK_ONLY, DAY
from tests.demo.inn import DAYS, HAND, bring_in
from tests.papers.plan_measures import clashes, layers, outside, symbols, texts

REQUEST = Request(today="2027-09-30")
Inn = tuple[Site, list[dict[str, Any]], list[str]]


@pytest.fixture(scope="module")
def inn(tmp_path_factory: pytest.TempPathFactory) -> Inn:
    path: pathlib.Path = tmp_path_factory.mktemp("inn") / "house.site"
    api.new(path, Request(today="2026-03-03"), code="TLH", name="", wrote="2026-03-03T12:00:00+00:00", **HAND)
    for stage in DAYS:
        bring_in(path, stage)
    runs = plain(api.runs(path, REQUEST).answer)["runs"]
    return api.load(path, REQUEST), runs, list(api.if_cut(path, REQUEST).answer["do_not_touch"])


@pytest.mark.parametrize("scale", [50, 100])
def test_inn__nothing_overprints_on_any_floor(inn: Inn, scale: int) -> None:
    site, runs, untouchable = inn
    floors = list(site.of_kind("floor"))
    assert len(floors) == 7
    for floor in floors:
        for given in (runs, None):
            svg = floor_svg(site, floor.ref, scale=scale, runs=given, untouchable=untouchable)
            found = clashes(svg)
            assert not found, f"{floor.ref}: {[(a.says, b.says) for a, b in found[:4]]}"
            assert not outside(svg)


def test_inn__every_outlet_of_a_floor_is_drawn_with_its_number(inn: Inn) -> None:
    site, runs, _ = inn
    seen = 0
    for floor in site.of_kind("floor"):
        svg = floor_svg(site, floor.ref, runs=runs)
        drawn = {s.ref for s in symbols(svg) if s.kind == "outlets"}
        here = [
            o for o in site.of_kind("outlet") if (r := site.get(o.ref_of("room"))) and r.ref_of("floor") == floor.ref
        ]
        assert drawn == {str(o.ref) for o in here}
        assert {o.ref.tag for o in here} <= {t.says for t in texts(svg)}
        seen += len(drawn)
    assert seen == 30  # thirty-one outlets, one of them outdoors without a room


def test_inn__a_floor_takes_a_moment(inn: Inn) -> None:
    """The largest floor with all its runs: less than 0.3 s of one core, the better of three."""
    site, runs, untouchable = inn
    largest = max(site.of_kind("floor"), key=lambda f: sum(r.ref_of("floor") == f.ref for r in site.of_kind("room")))
    spent = []
    for _ in range(3):
        start = time.process_time()
        floor_svg(site, largest.ref, runs=runs, untouchable=untouchable)
        spent.append(time.process_time() - start)
    assert min(spent) < 0.3


def test_inn__black_only_changes_inks_and_nothing_else(inn: Inn) -> None:
    """Black and red become one ink, so shapes alone tell planned from there; no grey but the grid's is left."""
    site, runs, _ = inn
    for floor in site.of_kind("floor"):
        day, black = (floor_svg(site, floor.ref, runs=runs, inks=inks) for inks in (DAY, BLACK_ONLY))
        differ = [a for a, b in zip(day.splitlines(), black.splitlines(), strict=True) if a != b]
        assert len(differ) == 1 and differ[0].startswith("<style>")
        style = black[black.index("<style>") : black.index("</style>")]
        assert set(re.findall(r"#[0-9a-f]{6}", style)) == {"#ffffff", "#000000", "#dddddd"}


def test_inn__layers_hold_everything(inn: Inn) -> None:
    site, runs, untouchable = inn
    kinds = set()
    for floor in site.of_kind("floor"):
        kinds |= set(layers(floor_svg(site, floor.ref, runs=runs, untouchable=untouchable)))
    assert kinds == {
        "rooms", "walls", "openings", "runs", "joints", "ends", "access-points", "outlets", "protected", "names",
    }  # fmt: skip

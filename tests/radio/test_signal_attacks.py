"""What was broken once from outside: rooms too large for a grid, slips of the pen, a place on a line, mirrored houses."""

from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest
import shapely

from pullstring.api import signal_worked
from pullstring.api.signal_worked import FEW, SOME, WHOLE, kinds_for
from pullstring.radio.conditions import parse_conditions
from pullstring.radio.paths import Kinds
from pullstring.radio.readings_of import readings_of
from pullstring.radio.scene import BANDS, Opening, Scene, Wall
from pullstring.radio.scene_of import scene_of
from pullstring.radio.scene_rooms import judging_points
from pullstring.radio.traced import trace_scene
from tests.radio.drawn_house import house

LEVEL = "quantity='level 5 GHz' grade=metered by=TEC at=2026-03-02 instrument=phone"


def scene(**how: object) -> Scene:
    return scene_of(house(**how), doors="usual", step_m=1.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("far_m", [15_000.0, 40_000.0])
def test_room_of_many_kilometres__is_judged_at_as_few_points_as_any(far_m: float) -> None:
    """A metre between points would be 225 million of them, more than a laptop holds."""
    begun = time.perf_counter()
    points = judging_points(shapely.box(0, 0, far_m, far_m), (), step_m=1.0)
    assert 50 <= len(points) <= 200
    assert time.perf_counter() - begun < 5


def test_two_small_pieces_far_apart__still_have_a_point() -> None:
    area = shapely.union_all([shapely.box(0, 0, 3, 3), shapely.box(9_000, 9_000, 9_003, 9_003)])
    points = judging_points(area, (), step_m=1.0)
    assert points and all(area.covers(shapely.Point(p)) for p in points)


def test_slab_that_encloses_nothing__takes_no_floor_away() -> None:
    """Above the hall the noted floor lies under the whole loft: a wrong outline must not open it."""
    noted = scene(swap={'outline="<0 0; 6 8>" holes="<4 0; 6 2>"': 'outline="<0 0; 6 0>"'})
    (slab,) = [s for s in noted.slabs if s.name == "MS1"]
    assert sum(shapely.Polygon(p).area for p in slab.pieces) == pytest.approx(6 * 8 - 2 * 2)  # the loft's own outline


def floors_heard(*rows: str) -> dict[str, float]:
    """By key the level below which the device that read it hears nothing."""
    site = house(add="\n".join(f"measurements subject=room:MR1 {LEVEL} {row}" for row in rows))
    found = readings_of(site, scene_of(site, doors="usual", step_m=1.0))
    return {one.reading.key: one.reading.floor_dbm for one in found if one.reading}


def test_level_that_no_device_shows__does_not_lower_what_its_device_hears() -> None:
    none = "value=none key=N1"
    usual = floors_heard(none)["N1"]
    assert floors_heard(none, "value='-97 dBm' key=N2")["N1"] == -98  # it did hear -97
    assert floors_heard(none, "value='-200 dBm' key=N2")["N1"] == usual


@pytest.mark.parametrize("value", ["-200 dBm", "61 dBm", "+20 dBm", "< -200 dBm"])
def test_level_that_no_device_shows__teaches_nothing(value: str) -> None:
    site = house(add=f"measurements subject=room:MR1 {LEVEL} value='{value}' key=K2")
    found = readings_of(site, scene_of(site, doors="usual", step_m=1.0))
    assert [(one.why_not, one.reading) for one in found if one.subject.tag == "MR1"] == [("no_such_level", None)]


@pytest.mark.parametrize("said", ["position:MP1", "room:MR1", "MU:1", "unit:"])
def test_heard_from_what_is_no_tag__is_read_all_the_same(said: str) -> None:
    site = house(add=f"measurements subject=room:MR2 {LEVEL} value='-60 dBm' conditions='heard from {said}'")
    assert readings_of(site, scene_of(site, doors="usual", step_m=1.0))


@pytest.mark.parametrize("said", ["unit:MU1", "UNIT: mu1", "position:MU1"])
def test_heard_from_with_its_kind__is_the_same_tag(said: str) -> None:
    assert parse_conditions(f"heard from {said}").heard.casefold() == "mu1"


def test_heard_from_two__is_one_fault_and_the_first_counts() -> None:
    found = parse_conditions("heard from MU1; heard from MU2")
    assert found.heard == "MU1" and len(found.faults) == 1
    assert parse_conditions("heard from MU1; heard from mu1").faults == ()


def test_reading_in_a_band_that_is_not_sent__teaches_nothing_and_makes_no_band() -> None:
    """The model says `eirp_6g_dbm=none`."""
    row = f"measurements subject=room:MR2 {LEVEL.replace('5 GHz', '6 GHz')} value='-60 dBm' conditions='heard from MU1'"
    found = readings_of(house(add=row), scene(add=row))
    assert [one.why_not for one in found if one.band == "6 GHz"] == ["band_not_sent"]


@pytest.mark.parametrize("room", ["MR1", "MR2"])
def test_hung_on_the_line_between_two_rooms__hangs_in_the_one_noted(room: str) -> None:
    (sender,) = scene(swap={"room=MR1 x_m=<2> y_m=<2>": f"room={room} x_m=<4> y_m=<4>"}).senders
    assert sender.room == room
    assert (sender.spot[1] < 4) == (room == "MR1")  # the hall lies before y = 4


def mirrored(found: Scene) -> Scene:
    def point(p: tuple[float, ...]) -> tuple[float, ...]:
        return (-p[0], *p[1:])

    def polygons(pieces: tuple[tuple[tuple[float, float], ...], ...]) -> tuple[tuple[tuple[float, ...], ...], ...]:
        return tuple(tuple(point(p) for p in piece) for piece in pieces)

    return dataclasses.replace(
        found,
        walls=tuple(dataclasses.replace(w, start=point(w.start), end=point(w.end)) for w in found.walls),
        slabs=tuple(dataclasses.replace(s, pieces=polygons(s.pieces), holes=polygons(s.holes)) for s in found.slabs),
        senders=tuple(
            dataclasses.replace(s, spot=point(s.spot), azimuth_deg=180 - s.azimuth_deg) for s in found.senders
        ),
    )


@pytest.mark.parametrize("use_compiler", [True, False])
def test_mirrored_house__has_the_same_levels(use_compiler: bool) -> None:
    if use_compiler:
        pytest.importorskip("numba")
    found = scene()
    points = np.array([p for r in found.rooms for p in r.points][::7])
    levels = [
        trace_scene(one, at, bands=BANDS[:2], kinds=Kinds(1, 1), use_compiler=use_compiler).level_dbm()
        for one, at in ((found, points), (mirrored(found), points * [-1, 1, 1]))
    ]
    assert levels[1] == pytest.approx(levels[0], abs=0.05)


def test_thicker_walls__never_help_where_only_the_straight_path_counts() -> None:
    thin, thick = scene(), scene(swap={"brick <225>": "brick <450>"})
    points = np.array([p for r in thin.rooms for p in r.points])
    levels = [trace_scene(s, points, bands=BANDS[:2], kinds=Kinds(0, 0), use_compiler=False) for s in (thin, thick)]
    assert (levels[1].level_dbm() <= levels[0].level_dbm() + 1e-6).all()


def rows_of_walls(count: int, *, open_doors: int) -> Scene:
    walls = tuple(
        Wall(f"w{n}", (n, 0.0), (n, 9.0), 0.0, 3.0, "s", (Opening("o", 1, 2, 0, 2, None),) if n < open_doors else ())
        for n in range(count)
    )
    return Scene(walls, (), (), (), {})


@pytest.mark.parametrize(("is_compiled", "expected"), [(True, WHOLE), (False, SOME)])
def test_kinds__numpy_follows_fewer_paths_where_all_take_it_more_than_a_minute(
    monkeypatch, is_compiled, expected
) -> None:
    """70 walls: 3 s for each of 6 access points and 4 ms for each of 2000 points from each, on one core."""
    monkeypatch.setattr(signal_worked, "is_compiled", lambda: is_compiled)
    assert kinds_for(rows_of_walls(70, open_doors=10), 6, 2000) == expected


def test_kinds__fewer_paths_for_more_walls_points_senders_and_open_doors() -> None:
    """200 rooms with 50 access points, 400 walls and 200 open doors would take minutes with all paths."""
    assert kinds_for(rows_of_walls(30, open_doors=10), 4, 500) == WHOLE
    assert kinds_for(rows_of_walls(400, open_doors=200), 50, 4000) == SOME
    assert kinds_for(rows_of_walls(800, open_doors=400), 60, 8000) == FEW
    order = [WHOLE, SOME, FEW]
    for few, many in ((0, 100), (100, 400)):
        at_most = [kinds_for(rows_of_walls(400, open_doors=doors), 20, 4000) for doors in (few, many)]
        assert order.index(at_most[0]) <= order.index(at_most[1])

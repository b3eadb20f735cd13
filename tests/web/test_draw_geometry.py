"""The drawing page's own reckoning, asked in a browser and held against numbers worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest

from pullstring.model.units import BadQuantity, parse_quantity
from tests.web.draw_hand import empty
from tests.web.served import serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture(scope="module")
def tab(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with serving(empty(tmp_path_factory.mktemp("sums"))) as served:
        page = browser.new_page()
        page.goto(served.origin + "/draw")
        yield page


def asked(tab: Page, module: str, words: str, *given: Any) -> Any:
    """What an expression gives; `m` is the module, `a` what was given."""
    return tab.evaluate(
        f"async (a) => {{ const m = await import('/static/{module}.js'); return {words}; }}", list(given)
    )


Outline = list[list[float]]
SQUARE: Outline = [[0, 0], [4, 0], [4, 3], [0, 3]]


# Lengths: the page and the record read the same texts alike.
@pytest.mark.parametrize(
    "text", ["4.2", "4,2", "13 ft 9 in", "13' 9\"", "420 cm", "4200mm", "3 yd", "12 ft", ".5", "9 in", "4.2 m", "7'"]
)
def test_lengths__as_the_record_reads_them(tab: Page, text: str) -> None:
    assert asked(tab, "draw_lengths", "m.metres(a[0])", text) == pytest.approx(parse_quantity(text, "length").value)


@pytest.mark.parametrize("text", ["", "four", "4.2.1", "12 stones", "1 2"])
def test_lengths__what_is_none_for_the_record_is_none_here(tab: Page, text: str) -> None:
    assert asked(tab, "draw_lengths", "m.metres(a[0])", text) is None
    with pytest.raises(BadQuantity):
        parse_quantity(text, "length")


def test_lengths__feet_by_definition(tab: Page) -> None:
    """13 ft 9 in = 13.75 x 0.3048 m."""
    assert asked(tab, "draw_lengths", "m.metres('13 ft 9 in')") == pytest.approx(4.191, abs=1e-9)
    assert asked(tab, "draw_lengths", "m.lengths('4.2 x 3 ft')") == pytest.approx([4.2, 0.9144])
    assert asked(tab, "draw_lengths", "m.lengths('4 x 5 x 6')") == []


# The picture.
def scan(**more: Any) -> dict[str, Any]:
    return {"scale_points": "100 500; 600 500", "scale_length_m": 10, "cross_points": "", "common_points": "", **more}


def house(tab: Page, given: dict[str, Any], dot: list[float]) -> list[float]:
    return list(asked(tab, "draw_scan", "m.toHouse(m.placed(a[0]).matrix, a[1])", given, dot))


def lies(tab: Page, given: dict[str, Any]) -> Any:
    return asked(tab, "draw_scan", "m.placed(a[0])", given)


def test_scale__two_clicks_and_a_length(tab: Page) -> None:
    """500 dots are 10 m: 20 mm a dot; the first click is the origin, dots count downwards."""
    found = lies(tab, scan())
    assert found["mmPerDot"] == pytest.approx(20)
    assert found["percent"] is None
    assert house(tab, scan(), [100, 500]) == pytest.approx([0, 0])
    assert house(tab, scan(), [350, 400]) == pytest.approx([5, 2])


def test_scale__a_line_that_leans_is_laid_level(tab: Page) -> None:
    """3-4-5: 400 dots aside and 300 up are 500 dots, 36.87 degrees, too steep for a slip, so the picture stays as it lies."""
    steep = scan(scale_points="0 300; 400 0")
    assert lies(tab, steep)["turnedDeg"] == pytest.approx(0)
    assert house(tab, steep, [400, 0]) == pytest.approx([8, 6])
    slight = scan(scale_points="0 0; 500 -25")  # leans by atan(1/20)
    assert lies(tab, slight)["turnedDeg"] == pytest.approx(-math.degrees(math.atan(0.05)))
    assert house(tab, slight, [500, -25]) == pytest.approx([10, 0], abs=1e-9)


def test_scale__an_upright_line_stays_upright(tab: Page) -> None:
    upright = scan(scale_points="200 500; 210 0")
    x, y = house(tab, upright, [210, 0])
    assert (x, y) == pytest.approx((0, 10), abs=1e-9)


def test_cross__the_disagreement_and_both_lengths_kept(tab: Page) -> None:
    """Upright 250 dots are 5.15 m where the first line would make 5.00: 3 % more."""
    given = scan(cross_points="100 500; 100 250", cross_length_m=5.15)
    assert lies(tab, given)["percent"] == pytest.approx(3)
    assert house(tab, given, [100, 250]) == pytest.approx([0, 5.15])
    assert house(tab, given, [600, 500]) == pytest.approx([10, 0])


def test_cross__a_picture_taken_askew_is_squared(tab: Page) -> None:
    """The upright leans by 2 degrees; being within 3 of a right angle it is taken to be one."""
    lean = 250 * math.tan(math.radians(2))
    given = scan(cross_points=f"100 500; {100 + lean} 250", cross_length_m=5)
    assert house(tab, given, [100 + lean, 250]) == pytest.approx([0, 5], abs=1e-3)


def test_cross__not_crosswise_is_said_and_averaged(tab: Page) -> None:
    given = scan(cross_points="100 400; 600 400", cross_length_m=11)
    found = lies(tab, given)
    assert found["slanting"] is True
    assert found["mmPerDot"] == pytest.approx(21)


def test_common__two_points_give_place_size_and_turn(tab: Page) -> None:
    """Without any length: 100 dots to the right are 3 m upwards, so a quarter turn and 30 mm a dot."""
    given = {"scale_points": "", "cross_points": "", "common_points": "0 0 = 2 1; 100 0 = 2 4"}
    found = lies(tab, given)
    assert (found["mmPerDot"], found["turnedDeg"]) == pytest.approx((30, 90))
    assert found["leftOver_m"] == pytest.approx([0, 0], abs=1e-9)
    assert house(tab, given, [0, -100]) == pytest.approx([-1, 1])


def test_common__more_points_are_evened_out(tab: Page) -> None:
    """A square of 100 dots that is 2 m wide, one corner of it clicked 0.4 m too high: what is left over, by numpy."""
    import numpy as np

    dots = [(0, 0), (100, 0), (100, -100), (0, -100)]  # they count downwards
    places = [(0, 0), (2, 0), (2, 2.4), (0, 2)]
    text = "; ".join(f"{px} {py} = {x} {y}" for (px, py), (x, y) in zip(dots, places, strict=True))
    given = {"scale_points": "", "cross_points": "", "common_points": text}
    # (a x - b y + x0, b x + a y + y0) in the unknowns a, b, x0, y0
    rows = [row for px, py in dots for row in ([px, py, 1, 0], [-py, px, 0, 1])]
    wanted = [value for place in places for value in place]
    found = np.linalg.lstsq(np.array(rows, float), np.array(wanted, float), rcond=None)[0]
    off = (np.array(rows) @ found - np.array(wanted)).reshape(-1, 2)
    left = lies(tab, given)["leftOver_m"]
    assert left == pytest.approx([float(v) for v in np.hypot(off[:, 0], off[:, 1])], abs=1e-9)
    assert 0.05 < max(left) < 0.4


def test_level__keeps_the_place_and_the_length(tab: Page) -> None:
    given = scan(scale_points="0 300; 400 0")
    pairs = asked(tab, "draw_scan", "m.levelled(m.placed(a[0]).matrix, [0, 0], [8, 6])", given)
    turned = {**given, "common_points": asked(tab, "draw_scan", "m.writePairs(a[0])", pairs)}
    assert house(tab, turned, [400, 0]) == pytest.approx([10, 0], abs=2e-3)
    assert house(tab, turned, [0, 300]) == pytest.approx([0, 0], abs=2e-3)


# Outlines.
def test_shared_area__of_two_outlines(tab: Page) -> None:
    """4 x 3 and the same shifted by (3, 1): 1 x 2 in common; side by side: nothing."""
    shifted = [[x + 3, y + 1] for x, y in SQUARE]
    beside = [[x + 4, y] for x, y in SQUARE]
    assert asked(tab, "draw_geometry", "m.shared(a[0], a[1])", SQUARE, shifted) == {
        "area": pytest.approx(2),
        "box": [3, 1, 4, 3],
    }
    assert asked(tab, "draw_geometry", "m.shared(a[0], a[1]).area", SQUARE, beside) == 0
    diamond = [[2, 0], [4, 1.5], [2, 3], [0, 1.5]]
    assert asked(tab, "draw_geometry", "m.shared(a[0], a[1]).area", SQUARE, diamond) == pytest.approx(6)


def test_spot__lies_inside_an_l_shape(tab: Page) -> None:
    shape = [[0, 0], [6, 0], [6, 1], [1, 1], [1, 6], [0, 6]]
    assert asked(tab, "draw_geometry", "m.inside(a[0], m.spot(a[0]))", shape)


def test_cut__across_the_nearest_side(tab: Page) -> None:
    """Near the lower side at x = 1.5 the wall goes up; turned it runs along, at the height of the pointer."""
    up = asked(tab, "draw_cut", "m.cut(a[0], [1.5, 0.2], false)", SQUARE)
    assert sorted(asked(tab, "draw_geometry", "a[0].map(m.area)", up["parts"])) == pytest.approx([4.5, 7.5])
    level = asked(tab, "draw_cut", "m.cut(a[0], [1.5, 0.5], true)", SQUARE)
    assert sorted(asked(tab, "draw_geometry", "a[0].map(m.area)", level["parts"])) == pytest.approx([2, 10])


def test_cut__an_l_shape_keeps_its_area(tab: Page) -> None:
    shape = [[0, 0], [6, 0], [6, 2], [2, 2], [2, 5], [0, 5]]
    made = asked(
        tab, "draw_cut", "m.cut(a[0], [0.3, 2], false)", shape
    )  # level, from the left side to the inner corner
    assert sum(asked(tab, "draw_geometry", "a[0].map(m.area)", made["parts"])) == pytest.approx(18)


# Walls.
def shapes(*rooms: Outline, walls: list[dict[str, Any]] | None = None, openings: Any = ()) -> dict[str, Any]:
    return {
        "floor": {"tag": "F0", "building": "B1"},
        "rooms": [{"tag": f"R{i}", "floor": "F0", "pieces": [r]} for i, r in enumerate(rooms, 1)],
        "walls": walls or [],
        "openings": list(openings),
        "wall_types": [{"tag": "T1", "thickness_m": 0.36}, {"tag": "T2", "thickness_m": 0.12}],
        "next": {"wall": "W50"},
    }


CLOSE = """(() => {
  const d = new m.Draft(a[0], 'F0');
  d.close(a[1], a[2], {outer: {tag: 'T1', thickness_m: 0.36}, inner: {tag: 'T2', thickness_m: 0.12}});
  return {walls: d.walls, openings: d.openings};
})()"""


def wall(tag: str, a: list[float], b: list[float], kind: str = "T1") -> dict[str, Any]:
    return {
        "tag": tag,
        "line": [a, b],
        "wall_type": kind,
        "thickness_m": {"T1": 0.36, "T2": 0.12}[kind],
        "floors": ["F0"],
    }


def four(outline: Outline) -> list[dict[str, Any]]:
    return [wall(f"W{i + 1}", a, outline[(i + 1) % 4]) for i, a in enumerate(outline)]


def runs(found: dict[str, Any]) -> set[tuple[str, tuple[float, ...]]]:
    return {(w["wall_type"], tuple(sorted([*w["line"][0], *w["line"][1]]))) for w in found["walls"]}


def test_first_room__four_outer_walls(tab: Page) -> None:
    found = asked(tab, "draw_walls", CLOSE, shapes(), SQUARE, [])
    assert {w["wall_type"] for w in found["walls"]} == {"T1"}
    assert len(found["walls"]) == 4


def test_second_room__the_shared_side_turns_inner(tab: Page) -> None:
    beside = [[4, 0], [7, 0], [7, 3], [4, 3]]
    found = asked(tab, "draw_walls", CLOSE, shapes(SQUARE, walls=four(SQUARE)), beside, [SQUARE])
    shared = [w for w in found["walls"] if w["wall_type"] == "T2"]
    assert [w["line"] for w in shared] == [[[4, 0], [4, 3]]]
    assert len(found["walls"]) == 5  # the long sides were carried on: one line borders both rooms
    assert max(abs(w["line"][0][0] - w["line"][1][0]) for w in found["walls"]) == 7


def test_t_junction__a_part_of_a_wall_turns_inner_and_doors_stay_where_they_were(tab: Page) -> None:
    """Above the middle of a long wall, from 1 to 3 of 4 m: three walls of it; its two windows keep their places."""
    above = [[1, 3], [3, 3], [3, 5], [1, 5]]
    windows = [
        {"tag": "D1", "wall": "W3", "u0_m": 0.2, "u1_m": 0.8},  # W3 runs from x = 4 to x = 0
        {"tag": "D2", "wall": "W3", "u0_m": 1.5, "u1_m": 2.5},
    ]
    given = shapes(SQUARE, walls=four(SQUARE), openings=windows)
    found = asked(tab, "draw_walls", CLOSE, given, above, [SQUARE])
    top = [w for w in found["walls"] if w["line"][0][1] == w["line"][1][1] == 3]
    assert sorted((w["wall_type"], w["line"][0][0], w["line"][1][0]) for w in top) == [
        ("T1", 1, 0),
        ("T1", 4, 3),
        ("T2", 3, 1),
    ]
    for o, middle in zip(sorted(found["openings"], key=lambda o: o["tag"]), (3.5, 2.0), strict=True):
        [mine] = [w for w in found["walls"] if w["tag"] == o["wall"]]
        assert mine["line"][0][0] - (o["u0_m"] + o["u1_m"]) / 2 == pytest.approx(middle)


def test_long_wall__shared_by_two_rooms_in_turn_is_inner_all_along(tab: Page) -> None:
    """Two rooms above, one after the other, a third below both: nothing outer is left between them."""
    one, two = [[0, 3], [2, 3], [2, 6], [0, 6]], [[2, 3], [4, 3], [4, 6], [2, 6]]
    long = [wall("W1", [0, 3], [4, 3]), wall("W2", [2, 3], [2, 6], "T2")]
    found = asked(tab, "draw_walls", CLOSE, shapes(one, two, walls=long), SQUARE, [one, two])
    assert ("T2", (0, 3, 3, 4)) in runs(found)


def test_an_edge_within_a_walls_thickness__shares_it(tab: Page) -> None:
    """Drawn by its inner faces, 0.15 m off the middle of a wall of 0.36 m: no second wall."""
    beside = [[4.15, 0], [7, 0], [7, 3], [4.15, 3]]
    found = asked(tab, "draw_walls", CLOSE, shapes(SQUARE, walls=four(SQUARE)), beside, [SQUARE])
    upright = [w for w in found["walls"] if w["line"][0][0] == w["line"][1][0] and 3.5 < w["line"][0][0] < 5]
    assert [w["tag"] for w in upright] == ["W2"]


# Pulling, doors, tags.
def pulled(tab: Page, p: list[float], **more: Any) -> Any:
    given = shapes(SQUARE, walls=[])
    words = "m.snap(a[1], {targets: m.targets(a[0]), reach: 0.2, ...a[2]})"
    return asked(tab, "draw_snap", words, given, p, more)


def test_snap__corner_wall_right_angle_grid(tab: Page) -> None:
    assert pulled(tab, [4.1, 2.95]) == {"at": [4, 3], "why": "corner"}
    assert pulled(tab, [4.1, 1.52])["at"] == pytest.approx([4, 1.5])
    assert pulled(tab, [6.04, 3.05])["at"] == pytest.approx([6.05, 3])  # in line with the upper side
    assert pulled(tab, [6.33, 1.13], **{"from": [6.2, 0.4]})["at"] == pytest.approx([6.2, 1.15])
    assert pulled(tab, [6.333, 1.444])["at"] == pytest.approx([6.35, 1.45])
    assert pulled(tab, [4.1, 2.95], free=True)["at"] == [4.1, 2.95]


def test_opening__keeps_clear_of_corners_and_of_other_openings(tab: Page) -> None:
    walls = four(SQUARE)
    given = shapes(SQUARE, walls=walls, openings=[{"tag": "D1", "wall": "W1", "u0_m": 1.5, "u1_m": 2.5}])
    place = asked(tab, "draw_openings", "m.fitted(a[0], a[1], 2.4, 0.8)", given, walls[0])
    assert (place["u0_m"], place["u1_m"]) == pytest.approx((2.5, 3.3))
    corner = asked(tab, "draw_openings", "m.fitted(a[0], a[1], 0.1, 0.8)", given, walls[0])
    assert corner["u0_m"] == pytest.approx(0.18)  # half the wall that meets it


@pytest.mark.parametrize(
    ("tag", "then"), [("R09", "R10"), ("E31", "E32"), ("Hall", "Hall2"), ("F0", "F1"), ("W99", "W100")]
)
def test_tags__after(tab: Page, tag: str, then: str) -> None:
    assert asked(tab, "draw_plan", "m.after(a[0])", tag) == then


def test_names__each_as_often_as_it_stands(tab: Page) -> None:
    given = {**shapes(SQUARE), "rooms": [{"tag": "R1", "name": "Bath", "floor": "F0", "pieces": [SQUARE]}]}
    assert asked(tab, "draw_panel", "m.namesToCome(a[0], 'Hall\\nbath\\n\\nBath')", given) == ["Hall", "Bath"]

"""Runs on a floor plan: only along noted pathways, side by side, told apart by shape; where the way is not known it says so."""

from __future__ import annotations

import functools
import itertools
import time
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Scalar
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.papers.drawing import floor_svg
from pullstring.papers.plan_lanes import PITCH, side_by_side
from tests.papers.house import TODAY, corridor_house, entries
from tests.papers.plan_measures import SVG, Box, clashes, layers, points_of, texts

F, G = Ref("floor", "F"), Ref("floor", "G")
LINES = ("there", "pulled", "planned", "remove")
Points = list[tuple[float, float]]


def site_of(rows: dict[str, dict[str, Scalar]]) -> Site:
    return replay(entries(rows), today=TODAY)


@functools.cache
def svg_of(rooms: int, *, per_room: int = 1, states: tuple[str, ...] = ("there",), scale: int = 100) -> str:
    return floor_svg(site_of(corridor_house(rooms, per_room=per_room, states=states)), F, scale=scale)


def lines_of(svg: str) -> dict[str, tuple[str, Points]]:
    """The class and the points of each run's line, by its end."""
    found = {}
    for group in layers(svg)["runs"].findall(f"{SVG}g"):
        path = group.find(f"{SVG}path")
        if group.get("class") == "run" and path is not None:
            found[group.get("data-ref", "")] = path.get("class", ""), points_of(path.get("d", ""))
    return found


def classes(svg: str) -> list[str]:
    return [e.get("class", "") for e in ET.fromstring(svg).iter()]


def origin(svg: str) -> tuple[float, float]:
    """Where the house's zero lies on the drawing, by the block at x = -2.9, y = 1 with its face to the wall at -2.94."""
    group = next(g for g in layers(svg)["ends"].iter(f"{SVG}g") if g.get("data-ref") == "block:B1")
    path = group.find(f"{SVG}path")
    assert path is not None
    xs, ys = zip(*points_of(path.get("d", "")), strict=True)
    return min(xs) + 2.94, (min(ys) + max(ys)) / 2 + 1.0


def test_runs__line_stays_in_the_rooms_of_its_pathway() -> None:
    """The corridor, the closet and each guest room are in the void; a line to one room crosses no other guest room."""
    svg = svg_of(4)
    x0, y0 = origin(svg)
    for end, (_, points) in lines_of(svg).items():
        number = int(end.removeprefix("end:E")[:-1])
        for a, b in itertools.pairwise(points):
            for part in np.linspace(0, 1, 20):
                x, y = a[0] + (b[0] - a[0]) * part - x0, y0 - a[1] - (b[1] - a[1]) * part
                if x > 0.2 and not -0.2 < y < 2.2:
                    assert -3 <= x <= 8 and -4.1 < y < 6.1
    assert len(lines_of(svg)) == 4 and number >= 0


def test_runs__along_the_axes_from_block_to_outlet() -> None:
    for _, points in lines_of(svg_of(4)).values():
        assert all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 2e-3 for a, b in itertools.pairwise(points))


def test_runs__room_outside_the_pathway_gets_a_dotted_tail_and_no_line() -> None:
    rows = corridor_house(4)
    rows["pathway:V"]["rooms"] = "room:K & room:H & room:C0 & room:C1 & room:C2"
    svg = floor_svg(site_of(rows), F)
    known = lines_of(svg)
    assert [known[f"end:E{n}a"][0] for n in range(4)] == ["there", "there", "there", "unknown"]
    assert "way is not known" in " ".join(t.says for t in texts(svg))
    ((x0, y0), (x1, y1)) = known["end:E3a"][1]
    assert np.hypot(x1 - x0, y1 - y0) < 0.6


def test_ways__pathways_that_share_no_room_do_not_join() -> None:
    """One void from the closet to the corridor, another between two guest rooms: neither guest room is reached."""
    rows = corridor_house(4)
    rows["pathway:V"]["rooms"] = "room:K & room:H"
    rows["pathway:V2"] = {"rooms": "room:C0 & room:C1", "style": "void"}
    assert {css for css, _ in lines_of(floor_svg(site_of(rows), F)).values()} == {"unknown"}
    rows["pathway:V2"]["rooms"] = "room:H & room:C1"
    known = lines_of(floor_svg(site_of(rows), F))
    assert [known[f"end:E{n}a"][0] for n in range(4)] == ["unknown", "there", "unknown", "unknown"]


def test_runs__without_any_pathway_no_line_is_pretended() -> None:
    rows = {ref: fields for ref, fields in corridor_house(4).items() if not ref.startswith("pathway")}
    assert {css for css, _ in lines_of(floor_svg(site_of(rows), F)).values()} == {"unknown"}


def test_runs__how_each_stands_is_told_by_its_line() -> None:
    rows = corridor_house(8, states=("there", "planned", "new"))
    svg = floor_svg(site_of(rows), F, to_remove=["cable:C0a"])
    assert {end: css for end, (css, _) in lines_of(svg).items()} == {
        "end:E0a": "remove", "end:E1a": "planned", "end:E2a": "pulled", "end:E3a": "there",
        "end:E4a": "planned", "end:E5a": "pulled", "end:E6a": "there", "end:E7a": "planned",
    }  # fmt: skip
    key = " ".join(t.says for t in texts(svg))
    assert all(word in key for word in ("slanting ticks", "dashed", "solid", "small crosses"))


def test_runs__states_differ_in_black() -> None:
    """Ticks and crosses are a second path in their group; only the dashed line has dashes; the new one is thicker."""
    svg = floor_svg(site_of(corridor_house(8, states=("there", "planned", "new"))), F, to_remove=["cable:C0a"])
    marked = {
        g.get("data-ref"): len(g.findall(f"{SVG}path"))
        for g in layers(svg)["runs"].findall(f"{SVG}g")
        if g.get("class") == "run"
    }
    assert marked["end:E0a"] == marked["end:E3a"] == 2 and marked["end:E1a"] == marked["end:E2a"] == 1
    style = svg[svg.index("<style>") : svg.index("</style>")]
    assert ".plan .planned{stroke-width:0.06;stroke-dasharray" in style and ".plan .pulled{stroke-width:0.06}" in style
    assert ".plan .there,.plan .remove{stroke-width:0.024}" in style


def straight(points: Points) -> list[tuple[bool, float, float, float]]:
    found = []
    for a, b in itertools.pairwise(points):
        upright = abs(a[0] - b[0]) < abs(a[1] - b[1])
        level, ends = (a[0], (a[1], b[1])) if upright else (a[1], (a[0], b[0]))
        found.append((upright, level, min(ends), max(ends)))
    return found


@pytest.mark.parametrize(("rooms", "scale"), [(4, 100), (8, 100), (8, 50)])
def test_runs__lines_side_by_side_never_lie_on_each_other(rooms: int, scale: int) -> None:
    """Where two lines run along each other for more than a hand's width of paper they are half a pitch apart or more."""
    lines = lines_of(svg_of(rooms, scale=scale))
    k = scale / 100
    for (one, (_, a)), (two, (_, b)) in itertools.combinations(sorted(lines.items()), 2):
        for s, t in itertools.product(straight(a), straight(b)):
            along = min(s[3], t[3]) - max(s[2], t[2])
            if s[0] == t[0] and along > 0.4 * k:
                assert abs(s[1] - t[1]) > 0.5 * PITCH * k, (one, two, s, t)


def test_runs__more_than_a_stretch_carries_become_one_double_line() -> None:
    """Sixteen runs leave the closet together; ten is the most that lie side by side."""
    assert "trunk" in classes(svg_of(16)) and "trunk" not in classes(svg_of(6))
    assert any("several runs together" in t.says for t in texts(svg_of(16)))


def test_lanes__what_turns_off_to_the_left_lies_on_the_left() -> None:
    """Three ways to the right from one thing: one turns up, one goes on, one turns down; no two lines cross."""
    up, on, down = (
        [(0.0, 0.0), (2.0, 0.0), (2.0, 3.0)],
        [(0.0, 0.0), (2.0, 0.0), (5.0, 0.0)],
        [(0.0, 0.0), (2.0, 0.0), (2.0, -3.0)],
    )
    laid = [
        points for points, _ in side_by_side([down, up, on], [0, 0, 0], bad=lambda boxes: np.zeros(len(boxes)), k=1)
    ]
    below, above, middle = (points[0][1] for points in laid)
    assert above - middle == pytest.approx(PITCH) and middle - below == pytest.approx(PITCH)


def test_lanes__a_bundle_moves_off_what_is_bad() -> None:
    """Everything under y = 0 is bad: both lines lie over it."""
    ways = [[(0.0, 0.0), (4.0, 0.0)], [(0.0, 0.0), (5.0, 0.0)]]

    def under(boxes: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        return np.maximum(0.0, -boxes[:, 1]) * (boxes[:, 2] - boxes[:, 0])

    laid = [points for points, _ in side_by_side(ways, [0, 0], bad=under, k=1)]
    assert min(y for points in laid for _, y in points) > 0


def test_runs__pass_walls_by_gaps() -> None:
    """Where no door is near, a line passes the wall; each gap is as long as a wall is thick: brick 0.24 m, lath 0.12 m."""
    cores = [e for e in layers(svg_of(8, scale=50))["runs"].findall(f"{SVG}path") if e.get("class") == "core"]
    assert len(cores) == 1
    gaps = [points_of("M" + part) for part in cores[0].get("d", "").split("M") if part]
    lengths = {round(abs(a[0] - b[0]) + abs(a[1] - b[1]), 2) for a, b in gaps}
    assert lengths == {0.24, 0.12}


def test_runs__to_another_floor_goes_by_the_shaft() -> None:
    """The shaft joins the corridor and the upper room: below the line ends at the gate, above it begins there."""
    rows = corridor_house(4)
    rows["outlet:OU"] = {"room": "room:U", "x_m": 4.1, "y_m": 3.0, "positions": 1}
    rows["cable:CU"], rows["end:EU"] = (
        {"jacket": "cat6"},
        {"cable": "cable:CU", "room": "room:K", "goes_to": "outlet:OU"},
    )
    site = site_of(rows)
    for floor, to in ((F, "to G"), (G, "to F")):
        svg = floor_svg(site, floor)
        said = [t.says for t in texts(svg)]
        assert to in said and "S" in said and "EU" in said
        assert lines_of(svg)["end:EU"][0] == "there"
    assert "EU" in [t.says for t in texts(floor_svg(site, G)) if t.ref == "outlet:OU"]


def test_runs__leaving_by_no_known_way_are_listed() -> None:
    rows = corridor_house(4)
    del rows["pathway:S"]
    rows["outlet:OU"] = {"room": "room:U", "x_m": 4.1, "y_m": 3.0}
    rows["cable:CU"], rows["end:EU"] = (
        {"jacket": "cat6"},
        {"cable": "cable:CU", "room": "room:K", "goes_to": "outlet:OU"},
    )
    said = " ".join(t.says for t in texts(floor_svg(site_of(rows), F)))
    assert "leave this floor, way not known: to G EU" in said


def test_runs__the_answer_goes_before_the_record() -> None:
    """The record says E0a goes to O0a; the answer says O2a, and of E1a nothing: only what the answer holds is drawn."""
    rows = corridor_house(4)
    row = {"end": "E0a", "cables": ["C0a"], "to": ["outlet:O2a"], "grade": "ran", "ran_at": "2026-11-01"}
    svg = floor_svg(site_of(rows), F, runs=[row])
    assert list(lines_of(svg)) == ["end:E0a"]
    beside = {t.ref: t.says for t in texts(svg) if t.says == "E0a"}
    assert list(beside) == ["outlet:O2a"]


def test_runs__same_bytes_whatever_the_order_of_rows() -> None:
    rows = corridor_house(8, per_room=2, states=("there", "planned"))
    answer = [{"end": f"E{n}a", "cables": [f"C{n}a"], "to": [f"outlet:O{n}a"]} for n in range(8)]
    site = site_of(rows)
    assert floor_svg(site, F, runs=answer) == floor_svg(site, F, runs=answer[::-1])


def test_runs__nonsense_in_the_answer_is_no_crash() -> None:
    odd = [
        {"end": "E0a", "to": ["outlet:", "x", "row:B1.1", "stop:cut", "outlet:NONE"], "cables": []},
        {"end": "NOPE", "to": []},
    ]
    assert floor_svg(site_of(corridor_house(2)), F, runs=odd, untouchable=["", "row:"], to_remove=["?"])


def test_plan__sixty_rooms_in_time() -> None:
    """Sixty rooms, sixty outlets, sixty runs: well under two seconds of one core."""
    site = site_of(corridor_house(60))
    spent = []
    for _ in range(2):
        start = time.process_time()
        svg = floor_svg(site, F)
        spent.append(time.process_time() - start)
    assert min(spent) < 1.5
    assert not clashes(svg)


def test_measures__box_of_letters() -> None:
    """Three digits in the fixed-width face are three advances of 0.65 of their size wide, less the white at both sides."""
    found: Box = next(t.box for t in texts(svg_of(4)) if t.says == "O0a")
    assert 1.6 * 0.24 < found[2] - found[0] < 3 * 0.65 * 0.24

"""Rooms without corners as boxes: what was said to touch touches, above lies above, nothing lies on anything."""

from __future__ import annotations

import itertools
import random
import xml.etree.ElementTree as ET

import pytest
import shapely

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.papers.boxes import DEFAULT_AREA_M2, area_of, laid_out, layout, touch
from pullstring.papers.boxes_sketch import NOT_TO_SCALE, sketch_svg
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.ink import BLACK_ONLY, NIGHT
from pullstring.papers.typst_page import drawing_sheet
from tests.papers.closet_house import Rows, group, outside, overprinted, site_of, texts, words_in

Edges = list[tuple[int, int]]


def rooms(count: int, edges: Edges, **each: str) -> Site:
    made: Rows = {f"room:Z{n}": {"name": f"Room {n}", **each} for n in range(count)}
    return site_of(made, [(f"room:Z{a}", "beside", f"room:Z{b}", "told") for a, b in edges])


def grid(across: int, up: int, seed: int = 0) -> tuple[int, Edges]:
    """Rooms of a grid by number, in the order of a seed."""
    names = list(range(across * up))
    random.Random(seed).shuffle(names)
    level = [(r * across + c, r * across + c + 1) for r in range(up) for c in range(across - 1)]
    upright = [(r * across + c, (r + 1) * across + c) for r in range(up - 1) for c in range(across)]
    return across * up, [(names[a], names[b]) for a, b in level + upright]


def tree(count: int, seed: int) -> tuple[int, Edges]:
    rng = random.Random(seed)
    return count, [(rng.randrange(n), n) for n in range(1, count)]


def shapes(site: Site) -> dict[Ref, shapely.Polygon]:
    return {ref: shapely.unary_union([shapely.Polygon(p) for p in o]) for ref, o in layout(site).outlines.items()}


def fraction(site: Site, edges: Edges) -> float:
    """Share of relations whose boxes share half a metre of wall or more, by shapely alone."""
    made = shapes(site)
    walls = [made[Ref("room", f"Z{a}")].intersection(made[Ref("room", f"Z{b}")]).length for a, b in edges]
    return sum(w >= 0.5 for w in walls) / len(edges)


def lie_on_each_other(site: Site) -> list[tuple[Ref, Ref]]:
    made = shapes(site)
    return [
        (a, b)
        for story in layout(site).stories
        for a, b in itertools.combinations(story.rooms, 2)
        if made[a].intersection(made[b]).area > 1e-6
    ]


PATHS = [(n, [(i, i + 1) for i in range(n - 1)]) for n in (2, 5, 12)]
STARS = [(n, [(0, i) for i in range(1, n)]) for n in (4, 7, 12)]
LADDERS = [grid(n, 2, seed=n) for n in range(2, 7)]
TREES = [tree(random.Random(s).randint(3, 12), s) for s in range(25)]


@pytest.mark.parametrize(("count", "edges"), [*PATHS, *STARS, *LADDERS, *TREES])
def test_boxes__paths_trees_and_rows_of_two_touch_in_full(count: int, edges: Edges) -> None:
    site = rooms(count, edges)
    assert fraction(site, edges) == 1.0
    assert lie_on_each_other(site) == [] and layout(site).apart == ()


@pytest.mark.parametrize(("across", "up"), [(3, 3), (4, 3), (5, 4), (8, 5)])
def test_boxes__planar_grids_by_next_to_alone(across: int, up: int, capsys: pytest.CaptureFixture[str]) -> None:
    """Up to 40 rooms; every grid is known to be drawable, for it is one. The fraction is printed."""
    count, edges = grid(across, up, seed=across)
    share = fraction(rooms(count, edges), edges)
    with capsys.disabled():
        print(f" {across} x {up}: {share:.0%} of {len(edges)} relations drawn touching", end="")
    assert share >= 0.95 and lie_on_each_other(rooms(count, edges)) == []


def test_boxes__what_no_plan_can_show_is_told() -> None:
    """Six rooms each next to each other cannot lie in a plane (Kuratowski: already five cannot)."""
    edges = list(itertools.combinations(range(6), 2))
    site = rooms(6, edges)
    made = layout(site)
    assert made.apart and lie_on_each_other(site) == []
    said = " ".join(texts(sketch_svg(site, None)))
    assert said.count("drawn apart:") == len(made.apart)
    a, _, b = made.apart[0]
    assert f"{site.things[a].text('name')} is said to be next to {site.things[b].text('name')}" in said


def test_boxes__above_lies_above() -> None:
    rows: Rows = {f"room:{t}": {} for t in ("HALL", "KITCHEN", "PARLOUR", "BED", "BATH", "CELLAR")}
    site = site_of(
        rows,
        [
            ("room:HALL", "beside", "room:KITCHEN", "told"),
            ("room:HALL", "beside", "room:PARLOUR", "told"),
            ("room:BED", "above", "room:PARLOUR", "told"),
            ("room:BATH", "above", "room:KITCHEN", "told"),
            ("room:BED", "beside", "room:BATH", "told"),
            ("room:HALL", "above", "room:CELLAR", "told"),
        ],
    )
    made, levels = shapes(site), {r: s.level for s in layout(site).stories for r in s.rooms}
    for upper, lower in (("BED", "PARLOUR"), ("BATH", "KITCHEN"), ("HALL", "CELLAR")):
        assert made[Ref("room", upper)].intersection(made[Ref("room", lower)]).area > 1
        assert levels[Ref("room", upper)] == levels[Ref("room", lower)] + 1
    assert lie_on_each_other(site) == []


def test_boxes__noted_corners_stay_and_boxes_stand_clear_of_them() -> None:
    rows: Rows = {
        "building:B": {}, "floor:F": {"building": "building:B"},
        "room:A": {"floor": "floor:F", "outline": "0 0; 6 5"},
        "room:C": {"floor": "floor:F", "outline": "6 0; 9 0; 9 3; 6 3"},
        "room:D": {"floor": "floor:F"}, "room:E": {"floor": "floor:F"},
    }  # fmt: skip
    site = site_of(rows, [("room:D", "beside", "room:E", "told"), ("room:D", "beside", "room:A", "told")])
    assert set(laid_out(site)) == {Ref("room", "D"), Ref("room", "E")}
    assert layout(site).outlines[Ref("room", "A")] == (((0.0, 0.0), (6.0, 0.0), (6.0, 5.0), (0.0, 5.0)),)
    assert lie_on_each_other(site) == []


def test_boxes__size_by_the_rooms_own_words_else_twelve() -> None:
    """20 by 16 ft = 6.096 x 4.8768 m = 29.73 m²."""
    site = site_of(
        {
            "room:A": {"name": "Store 25 m²"},
            "room:B": {"note": "about 20 x 16 ft"},
            "room:C": {},
            "room:D": {"use": "2 x 3"},
        }
    )
    areas = {r.ref.tag: area_of(r) for r in site.of_kind("room")}
    assert areas == {"A": 25, "B": pytest.approx(29.73, abs=0.01), "C": DEFAULT_AREA_M2, "D": DEFAULT_AREA_M2}
    (attic,) = site_of({"room:A": {"use": "store, 100 sq ft"}}).of_kind("room")
    assert area_of(attic) == pytest.approx(9.290304)  # the international foot is 0.3048 m, exact
    made = {ref.tag: s.area for ref, s in shapes(site).items()}
    assert made["C"] == pytest.approx(12, abs=0.02)
    assert made["A"] == pytest.approx(25, rel=0.25) and made["B"] == pytest.approx(29.73, rel=0.25)


def test_boxes__floor_of_a_neighbour_counts_where_none_was_noted() -> None:
    rows: Rows = {
        "building:B": {}, "floor:F0": {"building": "building:B", "level": 0},
        "floor:F1": {"building": "building:B", "level": 1},
        "room:A": {"floor": "floor:F0"}, "room:C": {}, "room:D": {},
    }  # fmt: skip
    site = site_of(rows, [("room:C", "beside", "room:A", "told"), ("room:D", "above", "room:A", "told")])
    assert {s.floor: s.rooms for s in layout(site).stories} == {
        Ref("floor", "F0"): (Ref("room", "A"), Ref("room", "C")),
        Ref("floor", "F1"): (Ref("room", "D"),),
    }


def test_boxes__touch_allows_a_wall_between() -> None:
    def box(x0: float, x1: float) -> tuple[tuple[tuple[float, float], ...], ...]:
        return (((x0, 0.0), (x1, 0.0), (x1, 4.0), (x0, 4.0)),)

    assert touch(box(0, 3), box(3.3, 6)) and not touch(box(0, 3), box(3.6, 6)) and not touch(box(0, 3), box(2, 6))


def test_sketch__tags_inside_their_room_broken_edges_no_scale_bar() -> None:
    rows: Rows = {
        "room:A": {"name": "Kitchen"}, "room:B": {"name": "Hall"},
        "outlet:O1": {"room": "room:A"}, "outlet:O2": {"room": "room:A", "state": "planned"},
        "end:E1": {"room": "room:B"}, "unit:U1": {"room": "room:B", "state": "out of use"},
    }  # fmt: skip
    svg = sketch_svg(site_of(rows, [("room:A", "beside", "room:B", "told")]), None)
    assert {"Kitchen", "O1", "O2"} <= set(words_in(group(svg, "room:A")))
    assert {"Hall", "E1", "U1"} <= set(words_in(group(svg, "room:B")))
    assert NOT_TO_SCALE in texts(svg) and "m" not in texts(svg) and "1:" not in " ".join(texts(svg))
    dashed = [e.get("class") for e in ET.fromstring(svg).iter() if "dash" in e.get("class", "").split()]
    assert dashed == ["thin dash"]


def forty() -> Site:
    count, edges = grid(8, 5, seed=3)
    rows: Rows = {f"room:Z{n}": {"name": f"Räucherkammer hinter der Treppe {n}"} for n in range(count)}
    rows |= {f"outlet:Dose {n} links vom Fenster": {"room": f"room:Z{n % 9}"} for n in range(60)}
    rows |= {f"end:E{n}": {"room": "room:Z2"} for n in range(90)}
    return site_of(rows, [(f"room:Z{a}", "beside", f"room:Z{b}", "told") for a, b in edges])


@pytest.mark.parametrize("inks", [NIGHT, BLACK_ONLY])
def test_sketch__forty_rooms_with_long_names_nothing_overprints_nothing_is_lost(inks: object) -> None:
    svg = sketch_svg(forty(), None, inks=inks)  # type: ignore[arg-type]
    assert overprinted(svg) == [] and outside(svg) == []
    said = "".join(texts(svg)).replace(" ", "")
    assert all(f"E{n}" in said for n in range(90)) and all(f"Dose{n}links" in said for n in range(60))
    assert drawing_sheet(svg, title="sketch", form="png", ppi=40).startswith(b"\x89PNG")


def test_sketch__stories_of_unknown_floor_stand_over_each_other() -> None:
    site = site_of({"room:A": {}, "room:B": {}}, [("room:A", "above", "room:B", "told")])
    where = {e.text: float(e.get("y", 0)) for e in ET.fromstring(sketch_svg(site, None)).iter() if e.text in ("A", "B")}
    assert where["A"] < where["B"]


def test_sketch__no_room_says_what_to_note() -> None:
    with pytest.raises(NothingToDraw, match="note one"):
        sketch_svg(site_of({"property:P": {}}), None)


def test_boxes__same_whatever_the_order_of_arrival() -> None:
    count, edges = grid(4, 3, seed=1)
    one = rooms(count, edges)
    made: Rows = {f"room:Z{n}": {"name": f"Room {n}"} for n in reversed(range(count))}
    other = site_of(made, [(f"room:Z{b}", "beside", f"room:Z{a}", "told") for a, b in reversed(edges)])
    assert laid_out(one) == laid_out(other)

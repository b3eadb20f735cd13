"""A floor of twelve rooms, an invented one, drawn over a skewed picture from an empty record, every click and key counted."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from pullstring import api
from pullstring.model.asbuilt import Site
from pullstring.model.geometry import FloorPlan, Polygon, area_m2, contains, floor_plan, place_of
from pullstring.model.refs import Ref
from tests.tiers import slow
from tests.web.draw_hand import ASKED, Hand, Photographed, Point, empty
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LONG, DEEP, LOW, HIGH = 14.4, 9.6, 4.2, 5.4
FRONT, BACK = (0, 3.0, 5.4, 7.2, 9.6, 11.8, LONG), (0, 3.6, 6.0, 9.0, 11.6, LONG)
FRONT_NAMES = ("Shop", "Store", "Porch", "Office", "Post room", "Tea room")
BACK_NAMES = ("Kitchen", "Scullery", "Workshop", "Bath", "Loom room")
ROOMS: dict[str, tuple[float, float, float, float]] = {
    **{name: (a, 0, b, LOW) for name, (a, b) in zip(FRONT_NAMES, pairwise(FRONT), strict=True)},
    **{name: (a, HIGH, b, DEEP) for name, (a, b) in zip(BACK_NAMES, pairwise(BACK), strict=True)},
    "Passage": (0, LOW, LONG, HIGH),
}
DOORS = [((a + b) / 2, LOW) for a, b in pairwise(FRONT)] + [((a + b) / 2, HIGH) for a, b in pairwise(BACK)] + [(6.3, 0)]
WINDOWS = [(1.5, 0), (4.2, 0), (8.4, 0), (13.1, 0), (1.8, DEEP), (7.5, DEEP), (13.0, DEEP), (LONG, 2.1)]
OUTLETS = {
    "Shop": [(0.3, 1.0), (2.8, 3.0)],
    "Office": [(7.5, 2.0)],
    "Post room": [(10.6, 0.3)],
    "Tea room": [(14.1, 3.4)],
    "Kitchen": [(0.3, 8.0)],
    "Workshop": [(6.3, 7.0), (8.7, 8.5)],
    "Loom room": [(14.1, 7.0)],
    "Passage": [(0.4, 4.8)],
}
POINTS = {"Workshop": (7.5, 6.8), "Passage": (7.0, 4.8)}
PICTURE = Photographed(LONG, DEEP, dots=84, turned_deg=1.7, stretched=1.008)
LINES = [((x0, y0), (x1, y0)) for x0, y0, x1, _ in ROOMS.values()] + [
    ((x0, y0), (x0, y1)) for x0, y0, _, y1 in ROOMS.values()
]
LINES += [((0, DEEP), (LONG, DEEP)), ((LONG, 0), (LONG, DEEP))]


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return empty(tmp_path)


@pytest.fixture
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today) as found:
        yield found


def begin(hand: Hand, names: list[str]) -> None:
    """The picture, its scale, its check, the names."""
    hand.open()
    hand.begin_with(PICTURE.png(LINES))
    hand.click_picture(PICTURE.dot((0, 0)), PICTURE.dot((LONG, 0)))
    hand.type("14.4")
    hand.click_picture(PICTURE.dot((0, DEEP)))  # the crosswise line begins where the first one did
    hand.type("9.6")
    hand.paste("\n".join(names))


def on_picture(hand: Hand, *points: Point) -> None:
    hand.click_picture(*(PICTURE.dot(p) for p in points))


def cut_rooms(hand: Hand) -> None:
    """One room around all, then one click for each wall. The part that is cut off takes the next name."""
    on_picture(hand, (0, 0), (LONG, DEEP))
    hand.key("k")
    on_picture(hand, (0.4, HIGH), (0.4, LOW))
    on_picture(hand, *((x, 0.4) for x in FRONT[1:-2]))
    on_picture(hand, *((x, DEEP - 0.4) for x in BACK[1:-2]))
    hand.key("Shift+Digit5")  # the last two walls are metal lath
    on_picture(hand, (BACK[-2], DEEP - 0.4), (FRONT[-2], 0.4))


def things(hand: Hand) -> None:
    hand.key("d")
    on_picture(hand, *DOORS[:-1])
    on_picture(hand, *WINDOWS)
    hand.key("t")  # a door in an outer wall
    on_picture(hand, DOORS[-1])
    hand.key("o")
    on_picture(hand, *(at for there in OUTLETS.values() for at in there))
    hand.key("a")
    on_picture(hand, *POINTS.values())


CUT_ORDER = ["Tea room", "Loom room", "Passage", *FRONT_NAMES[:-2], *BACK_NAMES[:-2], "Bath", "Post room"]


def plan_of(site: Path) -> tuple[Site, FloorPlan]:
    found = api.load(site, ASKED)
    return found, floor_plan(found, Ref("floor", "F0"))


def outline(plan: FloorPlan, name: str) -> Polygon:
    [room] = [r for r in plan.rooms if r.name == name]
    [piece] = room.pieces
    return piece


def check(site: Path) -> None:
    found, plan = plan_of(site)
    assert {r.name for r in plan.rooms} == set(ROOMS)
    for name, (x0, y0, x1, y1) in ROOMS.items():
        drawn = outline(plan, name)
        assert area_m2(drawn) == pytest.approx((x1 - x0) * (y1 - y0), rel=0.01), name
        for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)):
            assert min(abs(corner[0] - x) + abs(corner[1] - y) for x, y in drawn) < 0.1, (name, corner)
    _walls(found, plan)
    _openings(plan)
    for name, wanted in OUTLETS.items():
        [room] = [r for r in plan.rooms if r.name == name]
        hung = [o for o in found.of_kind("outlet") if o.ref_of("room") == room.ref]
        places = [place_of(found, o) for o in hung]
        assert len(places) == len(wanted), name
        assert all(p and contains(outline(plan, name), (p.x_m, p.y_m)) for p in places), name
        assert {o.number("z_m") for o in hung} == {0.3}
    points = {
        found.things[r].text("name"): place_of(found, p) for p in found.of_kind("position") if (r := p.ref_of("room"))
    }
    for name, (x, y) in POINTS.items():
        place = points[name]
        assert place and abs(place.x_m - x) + abs(place.y_m - y) < 0.1
    [scan] = found.of_kind("scan")
    assert scan.number("scale_length_m") == 14.4
    photo = found.get(scan.ref_of("photo"))
    assert photo and api.photo(site, photo.text("sha256"))[1] == "image/png"


def _walls(found: Site, plan: FloorPlan) -> None:
    """Each wall stands once: the lengths of the walls are those of the house's lines, and no two lie on one another."""
    lengths = {w.ref: abs(w.start[0] - w.end[0]) + abs(w.start[1] - w.end[1]) for w in plan.walls}
    inner = 2 * LONG + (len(FRONT) - 2) * LOW + (len(BACK) - 2) * (DEEP - HIGH)
    outer = 2 * (LONG + DEEP)
    by_type: dict[str, float] = {}
    for wall in plan.walls:
        kind = found.things[wall.wall_type].text("name") if wall.wall_type else ""
        by_type[kind] = by_type.get(kind, 0) + lengths[wall.ref]
    assert by_type.pop("brick, thick") == pytest.approx(outer, abs=0.3)
    assert by_type.pop("metal lath", 0) == pytest.approx(DEEP - HIGH + LOW, abs=0.2)
    assert by_type.pop("lath and plaster") == pytest.approx(inner - (DEEP - HIGH + LOW), abs=0.4)
    assert by_type == {}
    middles = [((w.start[0] + w.end[0]) / 2, (w.start[1] + w.end[1]) / 2) for w in plan.walls]
    assert len({(round(x, 1), round(y, 1)) for x, y in middles}) == len(middles)


def _openings(plan: FloorPlan) -> None:
    seen: list[tuple[str, float, float]] = []
    for wall in plan.walls:
        length = ((wall.end[0] - wall.start[0]) ** 2 + (wall.end[1] - wall.start[1]) ** 2) ** 0.5
        for o in wall.openings:
            assert 0 <= o.u0_m < o.u1_m <= length + 1e-6, o
            share = (o.u0_m + o.u1_m) / 2 / length
            seen.append((o.fill, *(a + (b - a) * share for a, b in zip(wall.start, wall.end, strict=True))))
    for fill, wanted in (("door", DOORS), ("window", WINDOWS)):
        there = [(x, y) for kind, x, y in seen if kind == fill]
        assert len(there) == len(wanted)
        for x, y in wanted:
            assert min(abs(x - a) + abs(y - b) for a, b in there) < 0.15, (fill, x, y)


def test_twelve_rooms__by_cuts(
    site: Path, served: Served, browser: Browser, capsys: pytest.CaptureFixture[str]
) -> None:
    """From an empty record: picture, scale, twelve rooms, doors, windows, outlets, access points; then all of it undone."""
    hand = Hand(browser, served)
    begin(hand, CUT_ORDER)
    cut_rooms(hand)
    things(hand)
    hand.stored()
    assert hand.text("#says") == ""
    with capsys.disabled():
        print(f"\n12-room floor: {hand.clicks} clicks, {hand.keys} keys")
    check(site)
    assert hand.clicks <= 50 and hand.keys <= 18
    acts = hand.clicks + 10
    for _ in range(acts):
        if not hand.page.is_enabled("#undo") or "floor" not in hand.page.url:
            break
        hand.page.keyboard.press("u")
    hand.page.wait_for_url("**/draw")
    found = api.load(site, ASKED)
    assert [ref.kind for ref in found.things] == ["property"]
    hand.close()


@slow("15 s, the same floor the way it was first drawn")
def test_twelve_rooms__by_rectangles(
    site: Path, served: Served, browser: Browser, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two clicks a room; a side that two rooms come to share turns from outer to inner wall by itself."""
    hand = Hand(browser, served)
    begin(hand, list(ROOMS))
    for x0, y0, x1, y1 in ROOMS.values():
        on_picture(hand, (x0, y0), (x1, y1))
    hand.stored()
    with capsys.disabled():
        print(f"\n12 rooms by rectangles: {hand.clicks} clicks, {hand.keys} keys")
    found, plan = plan_of(site)
    for name, (x0, y0, x1, y1) in ROOMS.items():
        assert area_m2(outline(plan, name)) == pytest.approx((x1 - x0) * (y1 - y0), rel=0.01), name
    by_type: dict[str, float] = {}
    for wall in plan.walls:
        kind = found.things[wall.wall_type].text("name") if wall.wall_type else ""
        by_type[kind] = by_type.get(kind, 0) + abs(wall.start[0] - wall.end[0]) + abs(wall.start[1] - wall.end[1])
    assert by_type["brick, thick"] == pytest.approx(2 * (LONG + DEEP), abs=0.4)
    assert by_type["lath and plaster"] == pytest.approx(2 * LONG + 5 * LOW + 4 * (DEEP - HIGH), abs=0.4)
    hand.close()

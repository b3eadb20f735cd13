"""The page for drawing: nothing lost, nothing twice, all of it by keys, two floors on one another, and what it says."""

from __future__ import annotations

import importlib.util
import json
import re
import secrets
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from pullstring import api
from pullstring.model.asbuilt import Thing
from pullstring.model.refs import Ref
from tests.web.draw_hand import ASKED, Hand, Photographed, empty
from tests.web.served import Served, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Dialog, Route

LISTEN = """() => { const says = document.querySelector('#says'); window.heard = [];
  const hear = () => window.heard.push(says.textContent);
  new MutationObserver(hear).observe(says, {childList: true, characterData: true, subtree: true}); }"""
PICTURE = Photographed(8, 6, dots=60, turned_deg=0, stretched=1)
OUTLINE = [((0, 0), (8, 0)), ((8, 0), (8, 6)), ((8, 6), (0, 6)), ((0, 6), (0, 0)), ((3, 0), (3, 6))]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return empty(tmp_path_factory.mktemp("draw"))


@pytest.fixture(scope="module")
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today) as found:
        yield found


@pytest.fixture
def hand(browser: Browser, served: Served) -> Iterator[Hand]:
    made = Hand(browser, served)
    yield made
    made.close()


def rows(served: Served, *said: tuple[str, dict[str, str]]) -> None:
    body = {"key": secrets.token_hex(16), "rows": [{"table": t, "cells": {**c, "grade": "seen"}} for t, c in said]}
    status, answer = served.post("/api/rows", body)
    assert status == 200, answer


def new_floor(served: Served, tag: str, *more: tuple[str, dict[str, str]], building: str = "", level: str = "0") -> str:
    """A floor of its own, in a building of its own unless one is named."""
    made = [] if building else [("buildings", {"building": f"B-{tag}", "name": f"House {tag}"})]
    floor = {"floor": tag, "building": building or f"B-{tag}", "level": level, "name": f"floor {tag}"}
    rows(served, *made, ("floors", floor), *more)
    return tag


def shapes(site: Path, floor: str) -> dict[str, Any]:
    return api.shapes(site, ASKED, floor=floor)


def things(site: Path, kind: str) -> list[Thing]:
    return list(api.load(site, ASKED).of_kind(kind))


def here(site: Path, floor: str) -> list[Any]:
    return [r for r in shapes(site, floor)["rooms"] if r["floor"] == floor and r["pieces"]]


def test_begin__names_building_and_floor(site: Path, hand: Hand) -> None:
    hand.open()
    hand.page.fill("[name=building]", "Mill")
    hand.page.fill("[name=floor]", "Upper floor")
    hand.page.fill("[name=level]", "1")
    hand.page.fill("[name=ceiling]", "8 ft 2 in")
    hand.press_button("Begin on the grid")
    hand.page.wait_for_url("**/draw?floor=*")
    floor = next(f for f in things(site, "floor") if f.text("name") == "Upper floor")
    assert floor.number("ceiling_m") == pytest.approx(8 * 0.3048 + 2 * 0.0254)
    assert api.load(site, ASKED).things[floor.ref_of("building") or Ref("x", "x")].text("name") == "Mill"


def test_undo__goes_on_after_a_reload_and_comes_back(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "UN")
    hand.open(floor)
    hand.click((0, 0), (4, 3))
    hand.click((4, 0), (7, 3))
    hand.stored()
    walls = {w["tag"]: (w["line"], w["wall_type"]) for w in shapes(site, floor)["walls"]}
    hand.page.reload()
    hand.page.wait_for_selector("#fixed [data-room]")
    assert hand.part("#fixed [data-room]").count() == 2
    hand.key("u")
    hand.stored()
    hand.page.wait_for_function("() => document.querySelectorAll('#fixed [data-room]').length === 1")
    assert len(here(site, floor)) == 1
    sides = [[[0, 0], [4, 0]], [[4, 0], [4, 3]], [[4, 3], [0, 3]], [[0, 3], [0, 0]]]
    assert all(w["line"] in sides for w in shapes(site, floor)["walls"])
    assert len({w["wall_type"] for w in shapes(site, floor)["walls"]}) == 1  # the shared side is an outer wall again
    hand.key("y")
    hand.stored()
    again = {w["tag"]: (w["line"], w["wall_type"]) for w in shapes(site, floor)["walls"]}
    assert again == walls
    hand.key("u", "u")
    hand.stored()
    assert here(site, floor) == []
    hand.key("y", "u", "y", "u", "y")  # quicker than the answers come
    hand.stored()
    assert len(here(site, floor)) == 1


def test_lost_answer__is_asked_again_and_stored_once(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "LO")
    hand.open(floor)
    lost: list[str] = []

    def lose(route: Route) -> None:
        if len(lost) >= 2:
            route.continue_()
            return
        route.fetch()  # the program does its work ...
        lost.append(json.loads(route.request.post_data or "{}")["key"])
        route.abort()  # ... and its answer is lost

    hand.page.route("**/api/rows", lose)
    hand.click((0, 0), (4, 3))
    hand.stored()
    assert len(lost) == 2
    assert lost[0] == lost[1]
    assert len(here(site, floor)) == 1
    assert len(shapes(site, floor)["walls"]) == 4
    assert len([r for r in things(site, "room") if r.text("outline") and r.ref_of("floor") == Ref("floor", floor)]) == 1


def test_dead_program__keeps_what_was_drawn_and_says_so(tmp_path: Path, browser: Browser) -> None:
    """Drawn while nobody listens, the page shut; what waited is entered when the page comes back, once."""
    house = empty(tmp_path)
    with serving(house, "--today", ASKED.today) as first:
        port = first.port
        new_floor(first, "F0")
        hand = Hand(browser, first)
        hand.open("F0")
    hand.click((0, 0), (4, 3))
    hand.page.locator("#waiting", has_text="1 waiting to be stored; the program does not answer").wait_for()
    hand.click((4, 0), (7, 3))
    assert "2 waiting to be stored" in hand.text("#waiting")
    asked: list[str] = []

    def leave(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    hand.page.on("dialog", leave)
    hand.page.close(run_before_unload=True)
    hand.page = hand.context.new_page()
    with serving(house, "--today", ASKED.today, port=port) as second:
        hand.served = second
        hand.open("F0")
        hand.stored()
        assert len(here(house, "F0")) == 2
        assert asked == ["beforeunload"]
        assert len(shapes(house, "F0")["walls"]) == 5
    hand.close()


def test_feet__as_typed_and_read_by_the_record(site: Path, served: Served, hand: Hand) -> None:
    """13 ft 9 in are 4.191 m: the record keeps that, and the picture lies by it. One dot is then 4.191 / 480 m."""
    floor = new_floor(served, "FT")
    hand.open(floor)
    hand.choose(PICTURE.png(OUTLINE))
    hand.click_picture(PICTURE.dot((0, 0)), PICTURE.dot((8, 0)))
    hand.type("13 ft 9 in")
    hand.stored()
    [scan] = shapes(site, floor)["scans"]
    assert scan["scale_length_m"] == pytest.approx(4.191)
    assert "8.7 mm of the house per dot" in hand.text("#lie")
    hand.key("r")
    hand.click((0, 0))
    hand.point((2, 2))
    hand.key("1")
    hand.page.keyboard.type("0 ft x 6 ft")
    hand.key("Enter")
    hand.stored()
    [room] = here(site, floor)
    assert sorted(map(tuple, room["pieces"][0]))[-1] == pytest.approx((3.048, 1.829), abs=1e-3)


def test_crosswise__a_large_disagreement_is_said(served: Served, hand: Hand) -> None:
    """8 m one way and 6.3 m where the picture shows 6: 5 % apart."""
    hand.open(new_floor(served, "CR"))
    hand.choose(PICTURE.png(OUTLINE))
    hand.click_picture(PICTURE.dot((0, 0)), PICTURE.dot((8, 0)))
    hand.type("8")
    hand.click_picture(PICTURE.dot((0, 6)))
    hand.type("6.3")
    found = re.search(r"disagrees by ([\d.]+) %", hand.text("#says"))
    assert found is not None
    assert float(found[1]) == pytest.approx(5.0, abs=0.7)  # a click is on a whole dot of the screen: one in 150 or so
    assert "One length is wrong, or the picture was taken at a slant" in hand.text("#says")
    hand.stored()


def test_two_floors__aligned_by_common_points(site: Path, served: Served, hand: Hand) -> None:
    """The upper picture is another size and turned by a quarter; two corners seen on both floors lay it over the lower one."""
    low = new_floor(served, "AL0")
    rows(served, ("rooms", {"room": "AL-hall", "name": "Hall", "floor": low, "outline": "0 0; 8 0; 8 6; 0 6"}))
    up = new_floor(served, "AL1", building="B-AL0", level="1")
    hand.open(up)
    hand.page.wait_for_selector("#fixed .below")
    picture = Photographed(6, 8, dots=45, turned_deg=0, stretched=1)

    def dot(x: float, y: float) -> tuple[float, float]:
        return picture.dot((6 - y, x))  # the plan of the upper floor lies on its side

    hand.choose(picture.png([((0, 0), (6, 0)), ((6, 0), (6, 8)), ((6, 8), (0, 8)), ((0, 8), (0, 0))]))
    hand.key("j")
    for corner in ((0, 0), (8, 6), (8, 0)):
        hand.click_picture(dot(*corner))
        hand.click(corner)
        hand.stored()  # the picture is laid anew by each pair of points
    [scan] = shapes(site, up)["scans"]
    assert len(scan["common_points"].split(";")) == 3
    assert "3 common points miss by" in hand.text("#says")
    left = int(hand.text("#says").split("miss by ")[1].split(" mm")[0])
    assert left < 60
    hand.key("r")
    for corner in ((2, 1), (5, 4)):
        hand.click_picture(dot(*corner))
    hand.stored()
    [room] = here(site, up)
    for drawn, wanted in zip(sorted(room["pieces"][0]), [(2, 1), (2, 4), (5, 1), (5, 4)], strict=True):
        assert drawn == pytest.approx(wanted, abs=0.051)


def test_keys_alone__draw_a_room_with_a_door(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "KE")
    hand.open(floor)
    hand.key("r", "ArrowLeft", "Enter", *["Shift+ArrowRight"] * 3, *["Shift+ArrowUp"] * 2, "Enter")
    hand.stored()
    [room] = here(site, floor)
    xs, ys = zip(*room["pieces"][0], strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((3, 2))
    hand.key("d", "Shift+ArrowDown", "t", "Enter")
    hand.stored()
    assert [o["fill"] for o in shapes(site, floor)["openings"]] == ["door"]


def test_corner_by_corner__closes_with_enter(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "CO")
    hand.open(floor)
    hand.key("c")
    hand.click((0, 0), (5, 0))
    hand.point((5, 2))
    hand.type("2.25")
    hand.click((2, 2.25), (2, 4), (0, 4))
    hand.point((0.5, 3))
    hand.key("Enter")
    hand.stored()
    [room] = here(site, floor)
    assert [tuple(p) for p in room["pieces"][0]] == [(0, 0), (5, 0), (5, 2.25), (2, 2.25), (2, 4), (0, 4)]
    assert len(shapes(site, floor)["walls"]) == 6


def test_overlap__is_said_and_marked_and_stored(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "OV")
    hand.open(floor)
    hand.click((0, 0), (4, 3))
    hand.click((3, 1), (6, 2))
    assert "by 1.0 m²" in hand.text("#says")
    assert hand.part("#fixed .overlap").count() == 1
    hand.stored()
    assert len(here(site, floor)) == 2


def test_rooms_of_the_record__wait_as_boxes_and_take_their_outline(site: Path, served: Served, hand: Hand) -> None:
    waiting = [("rooms", {"room": f"BO{i}", "name": n, "floor": "BO"}) for i, n in enumerate(("Dairy", "Still"), 1)]
    floor = new_floor(served, "BO", *waiting)
    hand.open(floor)
    assert hand.part("#fixed [data-box]").count() == 2
    hand.click((5, -0.8))  # the second box is the same as its button in the list
    hand.page.locator("#to-come button[aria-pressed=true]", has_text="Still").wait_for()
    hand.click((1, 2), (4, 4))
    hand.stored()
    [room] = here(site, floor)
    assert (room["tag"], room["name"]) == ("BO2", "Still")
    assert hand.part("#fixed [data-box]").count() == 1


def test_somebody_else_took_the_tag__the_drawn_room_gets_the_next(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "TA")
    hand.open(floor)
    taken = shapes(site, floor)["next"]["room"]
    rows(served, ("rooms", {"room": taken, "name": "Somebody's"}))
    hand.page.evaluate(LISTEN)  # the sentence stands until the next click, which may come before or after the answer
    hand.click((0, 0), (4, 3))
    hand.key("o")
    hand.click((0.3, 1))
    hand.stored()
    [room] = here(site, floor)
    assert room["tag"] not in ("", taken)
    assert [o["room"] for o in shapes(site, floor)["outlets"]] == [room["tag"]]
    assert any("Somebody else used the next tags" in words for words in hand.page.evaluate("() => window.heard"))


def picked_up(hand: Hand, floor: str) -> None:
    hand.open(floor)
    hand.click((0, 0), (4, 3))
    hand.key("k")
    hand.point((2, 0.3))
    hand.click((2, 0.3))
    hand.key("d")
    hand.click((2, 1.5))
    hand.key("o")
    hand.click((0.3, 2))
    hand.key("q")
    hand.stored()


def test_pick__moves_renames_retypes_and_takes_away(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "PI")
    picked_up(hand, floor)
    hand.click((3.2, 0.6))
    hand.page.fill("#picked-name", "Larder")
    hand.page.keyboard.press("Enter")
    hand.click((2, 0.6))  # the wall between
    hand.page.locator("#picked-kind").select_option(label="metal lath, 0.12 m")
    hand.press_button("Change it")
    hand.drag((2, 0.6), (2.5, 0.6))
    hand.stored()
    found = shapes(site, floor)
    [inner] = [w for w in found["walls"] if w["line"][0][0] == w["line"][1][0] == 2.5]
    assert next(t["name"] for t in found["wall_types"] if t["tag"] == inner["wall_type"]) == "metal lath"
    sizes = {r["name"]: sorted(map(tuple, r["pieces"][0])) for r in here(site, floor)}
    assert sizes["Larder"] == [(2.5, 0), (2.5, 3), (4, 0), (4, 3)]
    hand.drag((2.5, 1.5), (2.5, 1.1))  # its door
    hand.click((0.3, 2))
    hand.key("ArrowUp", "ArrowUp")
    hand.page.wait_for_timeout(900)  # the keys of one move are one act
    hand.stored()
    found = shapes(site, floor)
    [door] = found["openings"]
    [wall] = [w for w in found["walls"] if w["tag"] == door["wall"]]
    middle = wall["line"][0][1] + (door["u0_m"] + door["u1_m"]) / 2 * (1 if wall["line"][1][1] == 3 else -1)
    assert middle == pytest.approx(1.1, abs=0.03)
    assert found["outlets"][0]["y_m"] == pytest.approx(2.1, abs=0.03)
    hand.click((3.2, 0.6))
    hand.key("Delete")
    hand.stored()
    assert [r["name"] for r in here(site, floor)] == [""]
    hand.key("u")
    hand.stored()
    assert sorted(r["name"] for r in here(site, floor)) == ["", "Larder"]


def test_what_was_just_made__is_struck_out_not_removed(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "JU")
    hand.open(floor)
    hand.click((0, 0), (4, 3))
    hand.key("o")
    hand.click((0.3, 2))
    hand.stored()
    tag = shapes(site, floor)["outlets"][0]["tag"]
    hand.key("q")
    hand.click((0.3, 2))
    hand.key("Delete")
    hand.stored()
    assert Ref("outlet", tag) not in api.load(site, ASKED).things


def test_planned__is_red_and_stored_as_planned(site: Path, served: Served, hand: Hand) -> None:
    floor = new_floor(served, "PL")
    hand.open(floor)
    hand.click((0, 0), (4, 3))
    hand.key("i", "a")
    hand.click((2, 1.5))
    hand.stored()
    assert [p["state"] for p in shapes(site, floor)["positions"]] == ["planned"]
    red = hand.page.evaluate("() => getComputedStyle(document.querySelector('#fixed .thing.open')).stroke")
    assert red == "rgb(181, 51, 10)"


def test_refused__is_said_and_taken_off_the_sheet(served: Served, hand: Hand) -> None:
    hand.open(new_floor(served, "RE"))
    hand.page.route(
        "**/api/rows",
        lambda route: route.fulfill(status=422, json={"error": "no", "faults": ["rooms 1: no such thing"]}),
    )
    hand.click((0, 0), (4, 3))
    hand.page.locator("#says", has_text="This was not taken: rooms 1: no such thing").wait_for()
    hand.page.wait_for_function("() => !document.querySelector('#fixed [data-room]')")


def _bare_keys(hand: Hand) -> None:
    hand.key("Enter", "Backspace", "Escape", "Delete", "u", "y", "t", "f", "0", "+", "-", "h", "p", "Shift+Digit9")


def _each_act_begun_and_left(hand: Hand) -> None:
    for letter in "lvgjrckdoabewqm":
        hand.key(letter, "Enter", "Backspace", "Escape")


def _each_act_clicked_where_nothing_is(hand: Hand) -> None:
    for letter in "vgjrckdoabewqm":
        hand.key(letter)
        hand.click((1, 1), (1, 1), (50, 50))


def _each_act_told_nonsense(hand: Hand) -> None:
    for letter in "lrckdoaeq":
        hand.key(letter)
        hand.page.keyboard.type("9 stones")
        hand.key("Enter", "Escape", "Escape")


ODD: list[Callable[[Hand], None]] = [
    _bare_keys,
    _each_act_begun_and_left,
    _each_act_clicked_where_nothing_is,
    _each_act_told_nonsense,
]


@pytest.mark.parametrize("odd", range(len(ODD)))
def test_anything_on_an_empty_floor__breaks_nothing(served: Served, hand: Hand, odd: int) -> None:
    hand.open(new_floor(served, f"OD{odd + 1}"))
    ODD[odd](hand)
    hand.stored()


def axe() -> str:
    found = importlib.util.find_spec("axe_playwright_python")
    assert found is not None and found.origin is not None
    return (Path(found.origin).parent / "axe.min.js").read_text(encoding="utf-8")


@pytest.mark.parametrize("night", [False, True])
def test_the_page__can_be_used_by_everybody(served: Served, browser: Browser, night: bool) -> None:
    floor = new_floor(served, f"AX{int(night)}")
    hand = Hand(browser, served, bypass_csp=True)
    if night:
        hand.context.add_cookies([{"name": "print", "value": "night", "url": served.origin}])
    for address in ("", floor):
        hand.open(address)
        if address:
            hand.click((0, 0), (4, 3))
            hand.key("q")
            hand.click((1, 1))
        hand.page.evaluate(axe())
        found = hand.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [(v["id"], v["impact"], [n["html"][:90] for n in v["nodes"]]) for v in found["violations"]] == []
        assert hand.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    hand.close()


def test_the_page__is_light(served: Served) -> None:
    """Under 150 kB with all that it fetches, as sent."""
    names = [p.name for p in (Path(api.__file__).parent.parent / "web" / "static").glob("draw*")]
    faces = ["/fonts/B612-Regular.woff2", "/fonts/B612-Bold.woff2", "/fonts/B612Mono-Regular.woff2"]
    wanted = [
        "/draw",
        "/static/ink.css",
        "/static/send.js",
        *faces,
        *(f"/static/{n}" for n in names if n != "draw.html"),
    ]
    assert len(names) > 20
    assert sum(len(served.ask(a, headers={"Accept-Encoding": "gzip"})[2]) for a in wanted) < 150_000

"""What a floor plan marks besides walls: work states, joints, ends, what may not be touched; layers, titles, the check rule."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from pullstring.model.entries import Scalar
from pullstring.model.geometry import Point, WallShape
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.papers import walls
from pullstring.papers.drawing import floor_svg
from tests.papers.house import FLOOR, TODAY, changed, corridor_house, entries, house
from tests.papers.plan_measures import SVG, clashes, layers, points_of, texts

F = Ref("floor", "F")


def key(svg: str) -> str:
    return " ".join(t.says for t in texts(svg))


def group(svg: str, ref: str) -> ET.Element:
    return next(
        g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("data-ref") == ref and "thing" in (g.get("class") or "")
    )


@pytest.mark.parametrize("scale", [50, 100, 200])
def test_rule__measures_100_mm_at_each_scale(scale: int) -> None:
    svg = floor_svg(house(), FLOOR, scale=scale)
    size = re.search(r'width="([0-9.]+)mm" height="[0-9.]+mm" viewBox="0 0 ([0-9.]+)', svg)
    rule = next(g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "check-rule").find(f"{SVG}path")
    assert size and rule is not None
    xs = [x for x, _ in points_of(rule.get("d", ""))]
    assert (max(xs) - min(xs)) * float(size[1]) / float(size[2]) == pytest.approx(100, abs=0.05)
    assert "100 mm on paper" in key(svg)


def test_layers__each_can_be_switched_and_each_thing_asked_about() -> None:
    svg = floor_svg(changed(joint_J1={"room": "room:R1", "style": "splice"}, unit_A1={"login": "not ours"}), FLOOR)
    assert set(layers(svg)) >= {
        "walls",
        "rooms",
        "openings",
        "outlets",
        "joints",
        "access-points",
        "ends",
        "protected",
        "names",
    }
    refs = {g.get("data-ref") for g in ET.fromstring(svg).iter(f"{SVG}g")}
    assert refs >= {"outlet:O1", "block:K1", "unit:A1", "joint:J1", "room:R1", "opening:d1"}
    rows = corridor_house(2)
    assert "runs" in layers(floor_svg(replay(entries(rows), today=TODAY), F))


def test_titles__say_the_thing_and_are_escaped() -> None:
    svg = floor_svg(changed(unit_A1={"name": 'Radio <b> & "roof"'}), FLOOR)
    title = group(svg, "unit:A1").find(f"{SVG}title")
    assert title is not None and title.text == 'access point A1, Radio <b> & "roof"'
    assert "<b>" not in svg


@pytest.mark.parametrize(
    ("outlet", "put_in", "ran", "opens", "word"),
    [
        ("there", False, False, False, ""), ("planned", False, False, False, "planned"), ("planned", True, False, False, "pulled"),
        ("there", True, False, False, "pulled"), ("there", True, True, False, "measured"), ("there", False, True, True, "fault"),
    ],
)  # fmt: skip
def test_work__ring_by_state_with_its_word(outlet: str, put_in: bool, ran: bool, opens: bool, word: str) -> None:
    rows = corridor_house(1)
    rows["outlet:O0a"]["state"] = outlet
    rows["cable:C0a"] |= {"put_in": True} if put_in else {}
    answer = {
        "end": "E0a",
        "cables": ["C0a"],
        "to": ["outlet:O0a"],
        "ran_at": "2026-11-01" if ran else "",
        "opens": [[1]] if opens else [],
    }
    svg = floor_svg(replay(entries(rows), today=TODAY), F, runs=[answer])
    ring = next((g for g in group(svg, "outlet:O0a").findall(f"{SVG}g") if g.get("class") == "work"), None)
    if not word:
        assert ring is None and "ring" not in key(svg)
        return
    assert ring is not None
    drawn = [(e.tag.removeprefix(SVG), e.get("class")) for e in ring if not e.tag.endswith("title")]
    assert drawn == {
        "planned": [("circle", "hollow")], "pulled": [("circle", "hollow"), ("path", "is")],
        "measured": [("circle", "is")], "fault": [("circle", "hollow"), ("path", "isline")],
    }[word]  # fmt: skip
    assert f": {word}" in key(svg)


def test_joints__each_style_has_its_own_shape_and_word() -> None:
    styles = ("splice", "tap", "clip", "loop", "series")
    joints = {f"joint_J{n}": {"room": f"room:R{n + 1}", "style": style} for n, style in enumerate(styles)}
    svg = floor_svg(changed(**joints), FLOOR)  # type: ignore[arg-type]
    shapes = []
    for n in range(len(styles)):
        marks = [e for e in group(svg, f"joint:J{n}") if e.tag == f"{SVG}path" and e.get("class") != "leader"]
        first = points_of(marks[0].get("d", ""))
        shapes.append(tuple((e.get("class"), len(points_of(e.get("d", "")))) for e in marks))
        assert first
    assert len(set(shapes)) == len(styles)
    assert all(word in key(svg) for word in ("splice", "tap", "clip", "loop", "series device"))
    assert not clashes(svg)


def test_joints__without_a_room_are_named_where_their_ends_are() -> None:
    site = changed(joint_J9={"style": "loop", "ends": "outlet:O1 & outlet:O2"})
    assert "not drawn, no room noted: J9" in key(floor_svg(site, FLOOR))
    assert "J9" not in key(floor_svg(site, Ref("floor", "B1")))


def test_ends__with_a_room_and_no_point_are_listed_not_drawn() -> None:
    ends = {f"end_E{n}": {"room": "room:R5"} for n in (1, 2, 3, 4, 9)}
    svg = floor_svg(changed(**ends), FLOOR)  # type: ignore[arg-type]
    assert "cable ends, no point noted: in R5 E1 to E4, E9" in key(svg)
    assert not [g for g in ET.fromstring(svg).iter(f"{SVG}g") if (g.get("data-ref") or "").startswith("end:")]


def test_guard__not_to_be_touched_has_a_barred_frame_and_its_word() -> None:
    """What must stay alive has one closed line around it; what may not be touched has bars besides."""
    site = changed(service_S={"keep": "yes", "arrives_at": "outlet:O2"})
    svg = floor_svg(site, FLOOR, untouchable=["outlet:O1"])
    frames = {g.get("data-ref"): g.find(f"{SVG}path") for g in layers(svg)["protected"].findall(f"{SVG}g")}
    strokes = {ref: path.get("d", "").count("M") for ref, path in frames.items() if path is not None}
    assert strokes == {"outlet:O1": 3, "outlet:O2": 1}
    assert "do not touch" in [t.says for t in texts(svg) if t.ref == "outlet:O1"]
    assert "barred frame: do not touch" in key(svg) and "thin frame: must stay alive" in key(svg)
    assert not clashes(svg)


def test_guard__services_of_a_company_and_units_that_are_not_ours() -> None:
    site = changed(
        company_C={"name": "Watch"}, service_S={"protected_by": "company:C", "carried_on": "end:E1"},
        end_E1={"room": "room:R5"}, unit_Q={"login": "not ours", "room": "room:R2"}, unit_A1={"protected_by": "company:C"},
    )  # fmt: skip
    svg = floor_svg(site, FLOOR)
    assert "do not touch: in R2 unit Q; in R5 end E1" in key(svg)
    assert {g.get("data-ref") for g in layers(svg)["protected"].findall(f"{SVG}g")} == {"unit:A1", "room:R2", "room:R5"}


def test_guard__the_stricter_word_holds_whatever_comes_later() -> None:
    """Alarm line A may not be touched; door bell B, read after it, must only stay alive; both use the same end."""
    site = changed(
        company_C={"name": "Watch"}, end_E1={"room": "room:R5"},
        service_A={"protected_by": "company:C", "carried_on": "end:E1"}, service_B={"keep": "yes", "carried_on": "end:E1"},
    )  # fmt: skip
    said = key(floor_svg(site, FLOOR))
    assert "do not touch: in R5 end E1" in said and "must stay alive" not in said


def test_guard__gear_of_others_with_a_point_is_drawn() -> None:
    site = changed(unit_Q={"login": "not ours", "room": "room:R2", "x_m": 7, "y_m": 2})
    assert group(floor_svg(site, FLOOR), "unit:Q") is not None
    ours = changed(unit_Q={"login": "usable", "room": "room:R2", "x_m": 7, "y_m": 2})
    assert "unit:Q" not in floor_svg(ours, FLOOR)


def test_symbols__on_one_point_stand_side_by_side_with_a_line_to_it() -> None:
    svg = floor_svg(changed(outlet_O8={"room": "room:R1", "x_m": 0.2, "y_m": 2, "positions": 1}), FLOOR)
    assert not clashes(svg)
    moved = [
        ref for ref in ("outlet:O1", "outlet:O8") if group(svg, ref).find(f"{SVG}path[@class='leader']") is not None
    ]
    assert moved == ["outlet:O8"]


def test_names__too_long_for_the_room_go_to_the_key() -> None:
    long = "Donaudampfschifffahrtsgesellschaftskapitänszimmer"
    svg = floor_svg(changed(room_R5={"name": long}), FLOOR)
    assert f"R5 is {long}, 5.2 m²" in key(svg)
    assert "R5" in [t.says for t in texts(svg) if t.ref == "room:R5"]


def wall(tag: str, start: Point, end: Point, thick: float, hatch: str) -> WallShape:
    return WallShape(Ref("wall", tag), start, end, 0, 2.5, thick, None, hatch, ())


def test_corners__lines_taken_along_the_faces_still_make_a_full_corner() -> None:
    """Two walls 0.4 m thick, drawn along their centres but ended at each other's face: 4.2 x 4.2 less 3.8 x 3.8 = 3.2 m²."""
    one, two = wall("a", (0.2, 0), (4, 0), 0.4, "brick"), wall("b", (0, 0.2), (0, 4), 0.4, "brick")
    (body,) = walls.bodies([one, two], frozenset(), k=1)
    assert body.area.area == pytest.approx(4.2 * 4.2 - 3.8 * 3.8)
    assert [len(ring) for ring in walls.rings(body.area)] == [6]


def test_corners__cross_of_two_materials_has_no_overlap_and_no_hole() -> None:
    """Stone 0.6 m runs through, lath 0.1 m stands on both its faces: 6 x 0.6 + 2 x 2.7 x 0.1."""
    stone, lath = wall("a", (0, -3), (0, 3), 0.6, "rubble"), wall("b", (-3, 0), (3, 0), 0.1, "lath")
    areas = {b.hatch: b.area for b in walls.bodies([lath, stone], frozenset(), k=1)}
    assert areas["rubble"].area == pytest.approx(3.6) and areas["lath"].area == pytest.approx(0.54)
    assert areas["rubble"].intersection(areas["lath"]).area == pytest.approx(0)
    assert areas["rubble"].union(areas["lath"]).area == pytest.approx(4.14)


def test_plan__rooms_in_feet_odd_tags_and_one_room() -> None:
    rows = {
        "building:B": {}, "floor:Erdgeschoß": {"building": "building:B"},
        "room:Büro 1": {"floor": "floor:Erdgeschoß", "name": "Büro & Lager", "outline": "0 0; 20 16 ft"},
        "outlet:D 7/1": {"room": "room:Büro 1", "x_m": 0.1, "y_m": 2}, "end:K 1": {"room": "room:Büro 1"},
    }  # fmt: skip
    svg = floor_svg(replay(entries(rows), today=TODAY), Ref("floor", "Erdgeschoß"))  # type: ignore[arg-type]
    assert "Büro & Lager" in [t.says for t in texts(svg)] and not clashes(svg)
    assert "29.7 m²" in key(svg)  # 20 x 16 ft = 6.096 x 4.877 m


def test_place_of_an_access_point__is_drawn_until_a_unit_hangs_there() -> None:
    """A place on the ceiling without a unit is an open symbol to be added; a shelf is none; with its unit the unit is drawn."""
    place: dict[str, Scalar] = {"room": "room:R1", "x_m": 2, "y_m": 2, "mount": "ceiling", "state": "planned"}
    svg = floor_svg(changed(position_P7=place, position_P8={**place, "mount": "shelf", "x_m": 3}), FLOOR)
    assert "P7" in [t.says for t in texts(svg)]
    assert "P8" not in [t.says for t in texts(svg)]
    borne = changed(position_P7=place, unit_D7={"room": "room:R1", "mounted_at": "position:P7"})
    assert "P7" not in [t.says for t in texts(floor_svg(borne, FLOOR))]

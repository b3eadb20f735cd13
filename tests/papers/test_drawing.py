"""A floor on paper: to scale, hatched by material, planned told from standing by shape, equal bytes each time."""

from __future__ import annotations

import io
import math
import pathlib
import re
import subprocess
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from PIL import Image

from pullstring.model.geometry import Opening, Point, WallShape
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.papers import walls
from pullstring.papers.drawing import NothingToDraw, floor_svg
from pullstring.papers.ink import BLACK_ONLY, NIGHT
from pullstring.papers.typst_page import TooLarge, drawing_sheet, size_mm
from tests.papers.house import FLOOR, ROWS, TODAY, changed, entries, house

SVG = "{http://www.w3.org/2000/svg}"
BARE = {
    "property:P": {"name": "Bare"}, "building:B": {}, "floor:F": {"building": "building:B"},
    "wall_type:S": {"hatch": "none", "thickness_m": 0.2},
    "wall:a": {"floors": "floor:F", "line": "0 0; 5 0", "wall_type": "wall_type:S"},
}  # fmt: skip


def texts(svg: str) -> list[str]:
    return ["".join(t.itertext()) for t in ET.fromstring(svg).iter(f"{SVG}text")]


def classes(svg: str) -> list[str]:
    return [e.get("class", "") for e in ET.fromstring(svg).iter()]


@pytest.mark.parametrize(("scale", "expected_mm"), [(100, 50.0), (50, 100.0)])
def test_drawing__wall_of_five_metres_measures_to_scale_on_paper(
    scale: int, expected_mm: float, pdftoppm: str, tmp_path: pathlib.Path
) -> None:
    """A wall 5 m long, 0.2 m thick: 5 m / 100 = 50 mm, 0.2 m / 100 = 2 mm, from middle to middle of its outline."""
    svg = floor_svg(replay(entries(BARE), today=TODAY), Ref("floor", "F"), scale=scale, inks=BLACK_ONLY)
    (tmp_path / "d.pdf").write_bytes(drawing_sheet(svg, title="F"))
    subprocess.run([pdftoppm, "-r", "254", "-singlefile", "-png", tmp_path / "d.pdf", tmp_path / "d"], check=True)
    dark = np.asarray(Image.open(tmp_path / "d.png").convert("L")) < 128  # ten dots a millimetre
    top, (left, right) = np.flatnonzero(dark.any(axis=1))[0], np.flatnonzero(dark.any(axis=0))[[0, -1]]
    inner = dark[top + 12 : top + 155 + 2000 // scale, left + 12 : right - 12]  # inside the frame, above the scale bar
    columns, rows = np.flatnonzero(inner.any(axis=0)), np.flatnonzero(inner.any(axis=1))
    line_mm = 0.55  # the outline's own weight on every sheet
    assert (columns[-1] - columns[0] + 1) / 10 - line_mm == pytest.approx(expected_mm, abs=0.2)
    assert (rows[-1] - rows[0] + 1) / 10 - line_mm == pytest.approx(200 / scale, abs=0.2)


def test_drawing__states_its_size_in_mm() -> None:
    svg = floor_svg(house(), FLOOR)
    box = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    assert box
    assert size_mm(svg) == pytest.approx((float(box[1]) * 10, float(box[2]) * 10), abs=0.011)


def test_drawing__is_plain_enough_for_the_strictest_reader() -> None:
    """The reader of SVG behind the PDF ignores the `font` short-hand, variables and vector effects."""
    svg = floor_svg(house(), FLOOR)
    assert not re.search(r"font:|var\(|vector-effect|calc\(|https?://(?!www\.w3\.org/2000/svg)", svg)
    ET.fromstring(svg)


def test_drawing__north_is_up() -> None:
    """The kitchen has the larger y, so it stands higher on the sheet."""
    where = {t.text: float(t.get("y", "nan")) for t in ET.fromstring(floor_svg(house(), FLOOR)).iter(f"{SVG}text")}
    assert where["Kitchen"] < where["Parlour"]
    assert "north up" in where


def test_drawing__house_turned_changes_only_the_arrow() -> None:
    straight, turned = floor_svg(changed(), FLOOR), floor_svg(changed(building_B={"angle_deg": 90}), FLOOR)
    differ = [(a, b) for a, b in zip(straight.splitlines(), turned.splitlines(), strict=True) if a != b]
    assert len(differ) == 3  # the words and the arrow's two lines
    assert floor_svg(changed(building_B={"x_m": 40, "y_m": -7}), FLOOR) == straight
    shaft = re.search(r"M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)", differ[1][1])
    assert shaft
    x0, y0, x1, y1 = map(float, shaft.groups())
    assert x1 > x0 and y1 == pytest.approx(y0)  # turned left by a quarter: north lies to the right of the sheet


def test_drawing__rooms_with_tag_and_area() -> None:
    """5 x 4 m = 20 m²; the passage has 9 x 1.4 + 2 x 2.6 = 17.8 m²."""
    said = texts(floor_svg(house(), FLOOR))
    assert "R1 · 20.0 m²" in said and "R3 · 17.8 m²" in said
    assert "Closet <old>" in said


def test_drawing__room_without_walls_has_a_thin_outline() -> None:
    svg = floor_svg(house(), Ref("floor", "B1"))
    assert "edge" in classes(svg) and not [c for c in classes(svg) if c == "wall" or "hatch" in c]


def test_drawing__key_gives_losses_with_their_grade_and_only_what_is_drawn() -> None:
    said = " ".join(texts(floor_svg(house(), FLOOR)))
    assert "W1 Rubble stone: 18 dB at 2.4 GHz, 28 dB at 5 GHz (assumed)" in said
    assert "W6 Stud, plasterboard: loss not known" in said
    assert "dB" not in " ".join(texts(floor_svg(house(), Ref("floor", "B1"))))


def test_drawing__things_without_a_point_are_named_not_dropped() -> None:
    assert "not drawn, no point noted: O6" in texts(floor_svg(house(), FLOOR))


def test_drawing__title_block() -> None:
    said = texts(floor_svg(house(), FLOOR, scale=50))
    assert {"Mill house (invented)", "B0 Ground floor", "1:50", "18 November 2026"} <= set(said)


def test_drawing__planned_and_standing_differ_without_colour() -> None:
    """On a black-only printer: the middle of an outlet's half disc is black when it stands and white when planned."""
    middle = {}
    for state in ("there", "planned"):
        outlet = {"room": "room:R", "x_m": 2.5, "y_m": 0.2, "state": state}
        rows = {**BARE, "room:R": {"floor": "floor:F", "outline": "0 0; 5 4"}, "outlet:O1": outlet}
        svg = floor_svg(replay(entries(rows), today=TODAY), Ref("floor", "F"), inks=BLACK_ONLY)
        symbol = next(e for e in ET.fromstring(svg).iter(f"{SVG}path") if e.get("class") in ("is", "new"))
        style = re.search(r"<style>.*</style>", svg)
        assert style and symbol.get("d")
        numbers = list(map(float, re.findall(r"[0-9.]+", symbol.get("d", ""))))
        (x0, y0), (x1, y1) = numbers[:2], numbers[-2:]  # both ends of the flat; the room lies above it
        alone = (
            '<svg xmlns="http://www.w3.org/2000/svg" class="plan" width="10mm" height="10mm" '
            f'viewBox="{(x0 + x1) / 2 - 0.5} {(y0 + y1) / 2 - 0.06 - 0.5} 1 1">{style[0]}'
            f'<path class="{symbol.get("class")}" d="{symbol.get("d")}"/></svg>'
        )
        dots = np.asarray(Image.open(io.BytesIO(drawing_sheet(alone, title="s", form="png", ppi=508))).convert("L"))
        assert (dots < 128).any()
        middle[state] = int(dots[dots.shape[0] // 2, dots.shape[1] // 2])
    assert middle == {"there": 0, "planned": 255}


def test_drawing__planned_is_red_and_listed_in_the_key() -> None:
    svg = floor_svg(house(), FLOOR)
    tags = {t.text: t.get("class") for t in ET.fromstring(svg).iter(f"{SVG}text") if "tag" in t.get("class", "")}
    assert tags["O5"] == tags["A2"] == "tag plan" and tags["O1"] == tags["A1"] == "tag"
    assert "access point: open and red, to be added" in texts(svg)


def test_drawing__removed_things_are_gone() -> None:
    svg = floor_svg(changed(outlet_O1={"state": "removed"}, wall_w6={"state": "removed"}), FLOOR)
    assert "O1" not in texts(svg)
    assert "brick" not in "".join(line for line in svg.splitlines() if "hatch" in line)


def test_drawing__same_bytes_whatever_the_order_of_entries() -> None:
    whole = entries(ROWS)
    assert floor_svg(replay(whole[::-1], today=TODAY), FLOOR) == floor_svg(replay(whole, today=TODAY), FLOOR)


def test_drawing__two_floors_in_one_page_do_not_share_names() -> None:
    ids = [set(re.findall(r'id="([^"]+)"', floor_svg(house(), Ref("floor", f)))) for f in ("B0", "B1")]
    assert ids[0] and not ids[0] & ids[1]


def test_drawing__night_changes_colours_only() -> None:
    day, night = floor_svg(house(), FLOOR), floor_svg(house(), FLOOR, inks=NIGHT)
    differ = [a for a, b in zip(day.splitlines(), night.splitlines(), strict=True) if a != b]
    assert len(differ) == 1 and differ[0].startswith("<style>")


def test_drawing__tags_and_names_do_not_lie_on_one_another() -> None:
    """Letters rendered apart cover as many dots as together: no two words share a dot."""
    svg = floor_svg(house(), FLOOR, inks=BLACK_ONLY)
    words = [e for e in re.findall(r"<text [^>]*>[^<]*</text>", svg) if re.search(r'class="(name|area|tag)', e)]
    plain = re.sub(r"stroke-width:[0-9.]+;paint-order:stroke", "stroke-width:0", svg)
    head = plain[: plain.index("</style>") + 8]

    def dots(parts: list[str]) -> int:
        png = drawing_sheet(head + "".join(parts) + "</svg>", title="w", form="png", ppi=150)
        return int((np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128).sum())

    assert len(words) >= 15
    assert dots(words) == sum(dots([word]) for word in words)


def test_drawing__nothing_noted_says_what_to_note() -> None:
    with pytest.raises(NothingToDraw, match="note an outline"):
        floor_svg(house(), Ref("floor", "B9"))


def test_drawing__larger_than_any_sheet_is_refused() -> None:
    site = replay(entries({**BARE, "wall:a": {"floors": "floor:F", "line": "0 0; 200 0"}}), today=TODAY)
    with pytest.raises(TooLarge, match="1:200"):
        drawing_sheet(floor_svg(site, Ref("floor", "F")), title="F")


def wall(tag: str, start: Point, end: Point, thick: float, hatch: str, *openings: Opening) -> WallShape:
    return WallShape(Ref("wall", tag), start, end, 0, 2.5, thick, None, hatch, openings)


def test_walls__square_of_one_material_is_one_ring_with_full_corners() -> None:
    """4 x 4 m on centre lines, 0.4 m thick: outside 4.4², inside 3.6²; 19.36 - 12.96 = 6.4 m²."""
    corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    square = [wall(f"w{i}", a, b, 0.4, "brick") for i, (a, b) in enumerate(sides)]
    (body,) = walls.bodies(square, frozenset(), k=1)
    assert body.area.area == pytest.approx(6.4)
    assert [len(ring) for ring in walls.rings(body.area)] == [4, 4]


def test_walls__opening_is_cut_out() -> None:
    """5 m of 0.2 m less a door of 0.9 m: (5 - 0.9) x 0.2 = 0.82 m², in two parts."""
    door = Opening(Ref("opening", "d"), 2, 2.9, 0, 2, "door")
    (body,) = walls.bodies([wall("a", (0, 0), (5, 0), 0.2, "lath", door)], frozenset(), k=1)
    assert body.area.area == pytest.approx(0.82)
    assert len(walls.rings(body.area)) == 2
    assert not any(2.001 < x < 2.899 for mark in body.marks for x, _ in mark)


def test_walls__weaker_material_ends_at_the_face_of_the_stronger() -> None:
    stone, stud = wall("a", (0, -2), (0, 2), 0.6, "rubble"), wall("b", (0, 0), (3, 0), 0.1, "lath")
    by_hatch = {b.hatch: b.area for b in walls.bodies([stud, stone], frozenset(), k=1)}
    assert by_hatch["lath"].bounds == pytest.approx((0.3, -0.05, 3, 0.05))
    assert by_hatch["rubble"].area == pytest.approx(2.4)


def test_walls__rungs_stand_across_the_wall_whichever_way_it_runs() -> None:
    turned = wall("a", (0, 0), (3, 3), 0.2, "lath")
    (body,) = walls.bodies([turned], frozenset(), k=1)
    slopes = {round(math.atan2(y1 - y0, x1 - x0) % math.pi, 6) for (x0, y0), (x1, y1) in body.marks}
    assert slopes == {round(3 * math.pi / 4, 6)}


def test_walls__door_leaf_is_as_long_as_its_opening_and_wide_doors_have_two() -> None:
    single, double = (Opening(Ref("opening", "d"), 1, 1 + width, 0, 2, "door") for width in (0.9, 1.6))
    made = wall("a", (0, 0), (0, 5), 0.2, "brick")
    for opening, leaf_m in ((single, [0.9]), (double, [0.8, 0.8])):
        found = walls.leaves(made, opening, 1)
        assert [math.dist(hinge, opened) for hinge, opened, _ in found] == pytest.approx(leaf_m)
        assert all(math.dist(hinge, shut) == pytest.approx(math.dist(hinge, opened)) for hinge, opened, shut in found)


def test_drawing__door_swings_in_a_quarter_circle_about_its_hinge() -> None:
    """Hinge at 2 m, leaf 0.9 m: half way of the arc lies at 0.9 x cos 45 degrees along and across, and is inked."""
    door = {"wall": "wall:a", "u0_m": 2, "u1_m": 2.9, "fill": "door"}
    svg = floor_svg(replay(entries({**BARE, "opening:d": door}), today=TODAY), Ref("floor", "F"), inks=BLACK_ONLY)
    swing = re.search(r'class="thin" d="M([0-9.]+) ([0-9.]+)L', svg)
    assert swing
    part = 0.9 * math.cos(math.radians(45))
    x, y = float(swing[1]) + part, float(swing[2]) - part
    near = re.sub(
        r'width="[0-9.]+mm" height="[0-9.]+mm" viewBox="[^"]*"',
        f'width="10mm" height="10mm" viewBox="{x - 0.1} {y - 0.1} 0.2 0.2"', svg, count=1,
    )  # fmt: skip
    dots = np.asarray(Image.open(io.BytesIO(drawing_sheet(near, title="s", form="png", ppi=508))).convert("L"))
    middle = dots[dots.shape[0] // 2 - 3 : dots.shape[0] // 2 + 3, dots.shape[1] // 2 - 3 : dots.shape[1] // 2 + 3]
    assert (middle < 128).all() and (dots > 128).sum() > (dots < 128).sum()

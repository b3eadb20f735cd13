"""Lines of equal level on a floor: where they run, which is thick, what is hatched, and that they print."""

from __future__ import annotations

import io
import math
import re
import subprocess
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import shapely.affinity
from PIL import Image

from pullstring.model.geometry import Frame, floor_plan
from pullstring.papers import plan_letters, signal_contours, signal_layer, signal_sheets
from pullstring.papers.drawing import floor_svg
from pullstring.papers.ink import BLACK_ONLY, DAY, NIGHT
from pullstring.papers.signal_contours import Contour, contours
from pullstring.papers.signal_layer import Signal, of_answer
from tests.papers import signal_house
from tests.papers.house import FLOOR, changed, house

SVG = "{http://www.w3.org/2000/svg}"
BAND = "5 GHz"


def grid(
    level: Any, *, wide: float = 8.0, high: float = 6.0, step: float = 0.25, unknown: Any = None
) -> dict[str, Any]:
    """A field from a formula of x and y."""
    xs, ys = (np.arange(step / 2, size, step) for size in (wide, high))
    return {
        "floor": "F", "band": BAND, "x_m": xs.tolist(), "y_m": ys.tolist(),
        "level_dbm": [[level(x, y) for x in xs] for y in ys],
        "unknown": [[bool(unknown and unknown(x, y)) for x in xs] for y in ys],
    }  # fmt: skip


def drawn(site: Any = None, *, scale: int = 100, inks: Any = DAY, **changes: Any) -> str:
    site = site or house()
    answer = {**signal_house.answer(site), **changes}
    field = signal_house.field(site, "B0", BAND)
    return floor_svg(site, FLOOR, scale=scale, as_of="2026-11-18", inks=inks, runs=(), signal=of_answer(answer, field))


def parts(svg: str, css: str) -> list[ET.Element]:
    return [e for e in ET.fromstring(svg).iter() if css in (e.get("class") or "").split()]


def test_contours__of_a_plane_are_where_its_level_is() -> None:
    """Level falls by 5 dB a metre from -50 at x = 0: the line of -60 is upright at x = 2, through the whole room."""
    found = contours(grid(lambda x, y: -50 - 5 * x), [shapely.box(0, 0, 8, 6)], edge_dbm=-67, shortest_m=0.5)
    [line] = [c for c in found.lines if c.level_dbm == -60]
    assert {round(x, 6) for x, _ in line.points} == {2.0}
    assert sorted(y for _, y in line.points)[:: len(line.points) - 1] == pytest.approx([0, 6], abs=0.01)
    [edge] = [c for c in found.lines if c.kind == "agreed"]
    assert edge.level_dbm == -67 and edge.points[0][0] == pytest.approx(3.4)  # 17 dB at 5 dB a metre
    assert sorted({c.level_dbm for c in found.lines}) == [-85, -80, -75, -70, -67, -65, -60, -55]


def test_contours__of_free_space_are_circles() -> None:
    """20 log10 d: -60 dBm where 1 m has -50 lies at 10^(10/20) = 3.16 m."""
    found = contours(
        grid(lambda x, y: -50 - 20 * math.log10(max(0.3, math.hypot(x - 4, y - 3))), step=0.1),
        [shapely.box(0, 0, 8, 6)], edge_dbm=-60, shortest_m=0.5,
    )  # fmt: skip
    radii = [math.hypot(x - 4, y - 3) for c in found.lines if c.kind == "agreed" for x, y in c.points]
    assert radii and min(radii) == pytest.approx(10**0.5, abs=0.02) and max(radii) == pytest.approx(10**0.5, abs=0.02)


def test_contours__no_line_runs_through_a_wall() -> None:
    """Two rooms of one level each, 30 dB apart: six lines would lie in the wall; none is drawn."""
    rooms = [shapely.box(0, 0, 3.9, 6), shapely.box(4.1, 0, 8, 6)]
    found = contours(grid(lambda x, y: -52 if x < 4 else -82), rooms, edge_dbm=-67, shortest_m=0.5)
    assert found.lines == ()
    assert (found.low_dbm, found.high_dbm) == (-82, -52)


def test_contours__weakest_is_the_lowest_line_and_only_below_the_edge() -> None:
    room = [shapely.box(0, 0, 8, 6)]
    low = contours(grid(lambda x, y: -50 - 5 * x), room, edge_dbm=-67, shortest_m=0.5)
    assert {c.level_dbm for c in low.lines if c.kind == "weakest"} == {-85}
    high = contours(grid(lambda x, y: -50 - 2 * x), room, edge_dbm=-67, shortest_m=0.5)  # down to -66 only
    assert {c.kind for c in high.lines} == {"plain"}


def test_contours__what_is_not_known_has_area_and_no_line() -> None:
    """The right half of the room is dark: 4 by 6 m, to half a step of the grid."""
    field = grid(lambda x, y: -50 - 5 * x - 0.5 * y, unknown=lambda x, y: x > 4)
    found = contours(field, [shapely.box(0, 0, 8, 6)], edge_dbm=-67, shortest_m=0.5)
    assert found.unknown.area == pytest.approx(24, abs=0.25 / 2 * 6)
    assert all(x <= 4.13 for c in found.lines for x, _ in c.points)
    assert found.low_dbm is not None and found.low_dbm >= -50 - 5 * 4 - 3


def test_contours__without_a_spot_nothing_is_known() -> None:
    """A floor whose rooms nobody drew has no spots; of parts of it, if there are any, nothing is known."""
    none = {"x_m": [], "y_m": [], "level_dbm": [], "unknown": []}
    assert contours(none, [], edge_dbm=-67, shortest_m=0.5).unknown.is_empty
    found = contours(none, [shapely.box(0, 0, 0.2, 6)], edge_dbm=-67, shortest_m=0.5)
    assert found.unknown.area == pytest.approx(1.2) and found.lines == () and found.low_dbm is None


def test_parts_of_floor__rooms_without_a_wall_between_are_one() -> None:
    """The passage of the house has two pieces; walls part it from all else."""
    plan = floor_plan(house(), FLOOR)
    standing = [w for w in plan.walls]
    found = signal_contours.parts_of_floor(plan.rooms, standing)
    assert len(found) == len(plan.rooms)
    open_plan = [w for w in standing if w.ref.tag != "w6"]  # the wall between parlour and games room
    assert len(signal_contours.parts_of_floor(plan.rooms, open_plan)) == len(plan.rooms) - 1
    assert len(signal_contours.parts_of_floor(plan.rooms, [])) == len(plan.rooms)


@pytest.mark.parametrize("angle", [0.0, 37.0, 90.0])
def test_in_building__is_the_way_back_from_the_site(angle: float) -> None:
    frame = Frame(100.0, -20.0, 0.0, angle)
    x, y, _ = frame.to_site((3.0, 4.5), 0.0)
    assert signal_layer.in_building(frame, {"x_m": x, "y_m": y}) == pytest.approx((3.0, 4.5))


def test_drawing__edge_is_thick_weakest_dotted_unknown_hatched() -> None:
    svg = drawn()
    style = re.search(r"<style>(.*)</style>", svg, re.S)
    assert style
    width = {n: float(re.search(rf"\.isoline-{n}\{{stroke-width:([0-9.]+)", style[1])[1]) for n in ("agreed", "plain")}  # type: ignore[index]
    assert width["agreed"] >= 2 * width["plain"]
    assert "stroke-dasharray" in re.search(r"\.isoline-weakest\{([^}]*)\}", style[1])[1]  # type: ignore[index]
    for css in ("isoline-agreed", "isoline-weakest", "isoline-plain", "unseen"):
        assert parts(svg, css), css
    words = [t.text for t in parts(svg, "isonum")]
    assert "−67" in words and not any("-" in (w or "") for w in words)  # U+2212, never a hyphen


def test_drawing__readings_stand_at_their_points_with_what_is_predicted() -> None:
    svg = drawn()
    [axes] = parts(svg, "axes")
    left, top = float(axes.get("data-left", "nan")), float(axes.get("data-top", "nan"))
    marks = parts(svg, "reading")
    assert len(marks) == len(signal_house.READINGS)
    for row, mark in zip(signal_house.READINGS, marks, strict=True):
        path = next(e.get("d", "") for e in mark.iter(f"{SVG}path"))
        x, y = (float(n) for n in re.findall(r"-?[0-9.]+", path)[:2])
        assert (x + 0.13, y) == pytest.approx((row["x_m"] - left, top - row["y_m"]), abs=0.002)
    said = [[t.text for t in m.iter(f"{SVG}text")] for m in marks]
    assert said == [["−66", "(−62)"], ["−49", "(−51)"], ["−58?", "(−72)"], ["none", "(−81)"]]


def test_drawing__numbers_stand_on_no_word_symbol_or_wall() -> None:
    """Each number's middle is free, and no two numbers or words share a place."""
    svg = drawn()
    [axes] = parts(svg, "axes")
    left, top = float(axes.get("data-left", "nan")), float(axes.get("data-top", "nan"))
    bodies = shapely.union_all(
        [shapely.LineString([w.start, w.end]).buffer(w.thickness_m / 2) for w in floor_plan(house(), FLOOR).walls]
    )
    boxes = []
    for number in parts(svg, "isonum"):
        where = re.match(r"translate\(([-0-9.]+) ([-0-9.]+)\) rotate\(([-0-9.]+)\)", number.get("transform", ""))
        assert where
        x, y, turn = (float(v) for v in where.groups())
        if y > top - 0 + 0.9:  # in the key
            continue
        css = number.get("class", "")
        half = plan_letters.width(number.text or "", css) / 2, plan_letters.FACE_OF[css][1] * 0.36
        box = shapely.affinity.rotate(shapely.box(x - half[0], y - half[1], x + half[0], y + half[1]), turn)
        assert -90 <= turn <= 90
        assert not shapely.affinity.affine_transform(box, [1, 0, 0, -1, left, top]).intersects(bodies)
        boxes.append(box)
    assert len(boxes) > 5
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_drawing__only_what_it_is_about() -> None:
    svg = drawn()
    refs = {e.get("data-ref") for e in parts(svg, "thing")}
    assert refs == {"unit:A1", "unit:A2"}
    with_way = changed(pathway_V={"rooms": "room:R3 & room:R6", "style": "shaft"})
    assert {e.get("data-ref") for e in parts(floor_svg(with_way, FLOOR), "way")} == {"pathway:V"}
    assert not parts(drawn(with_way), "way")
    assert parts(svg, "thing")[0].find(f"{SVG}circle") is not None
    words = " ".join("".join(t.itertext()) for t in ET.fromstring(svg).iter(f"{SVG}text"))
    assert "thick: −67 dBm, the agreed edge" in words and "outlet" not in words and BAND in words


def test_drawing__a_radio_that_is_no_access_point_by_its_model_is_drawn() -> None:
    """The record has a unit without a model; the answer says that it sends."""
    site = changed(unit_R9={"room": "room:R2", "x_m": 8.0, "y_m": 3.0, "z_m": 1.0})
    answer = signal_house.answer(site)
    answer["senders"].append({**answer["senders"][0], "sender": "R9", "x_m": 8.0, "y_m": 3.0})
    svg = floor_svg(site, FLOOR, runs=(), signal=of_answer(answer, signal_house.field(site, "B0", BAND)))
    assert "unit:R9" in {e.get("data-ref") for e in parts(svg, "thing")}


def test_drawing__an_access_point_that_does_not_send_is_left_out() -> None:
    """A2 hangs there and is out of use: the answer has it not among those that send."""
    answer = signal_house.answer(house())
    svg = drawn(senders=[s for s in answer["senders"] if s["sender"] != "A2"])
    assert {e.get("data-ref") for e in parts(svg, "thing")} == {"unit:A1"}


def test_drawing__a_reading_of_one_access_point_alone_says_so() -> None:
    """Others came since, so the number is not what the strongest gives there."""
    rows = [dict(r) for r in signal_house.READINGS]
    rows[1] |= {"predicted_dbm": -133.0}
    assert [t.text for t in parts(drawn(readings=rows), "reading")[1].iter(f"{SVG}text")] == ["−49", "(none)"]
    assert "alone" not in drawn(readings=rows)
    rows[0] |= {"from": "A1", "tells_now": False}
    svg = drawn(readings=rows)
    told = [t.text for t in parts(svg, "reading")[0].iter(f"{SVG}text")]
    assert told == ["−66", "(−62)", "of A1"]
    assert "with of, of that access point alone" in " ".join(
        "".join(t.itertext()) for t in ET.fromstring(svg).iter(f"{SVG}text")
    )


def test_drawing__where_to_read_next_stands_beside_a_cross_and_not_on_it() -> None:
    row = signal_house.READINGS[0]
    place = {"room": "R2", "x_m": row["x_m"], "y_m": row["y_m"], "floor": "B0", "minutes": 1.0, "narrows_db": 1.0}
    svg = drawn(next=[place])
    [mark], cross = parts(svg, "next-spot"), parts(svg, "reading")[0]

    def box(part: ET.Element) -> Any:
        numbers = [float(n) for p in part.iter(f"{SVG}path") for n in re.findall(r"-?[0-9.]+", p.get("d", ""))]
        return shapely.box(min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2]))

    assert not box(mark).intersects(box(cross))
    assert box(mark).distance(box(cross)) < 1.0


@pytest.mark.parametrize(
    ("edge", "says"),
    [(-20.0, "lies below the agreed edge of −20 dBm"), (-110.0, "lies above the agreed edge of −110 dBm")],
)
def test_drawing__an_edge_that_is_not_here_is_said(edge: float, says: str) -> None:
    svg = drawn(edge_dbm={BAND: edge})
    assert not [e for e in parts(svg, "isoline-agreed")]
    assert says in " ".join("".join(t.itertext()) for t in ET.fromstring(svg).iter(f"{SVG}text"))


def test_drawing__nothing_known_is_hatched_and_said() -> None:
    field = signal_house.field(house(), "B0", BAND)
    field["level_dbm"] = [[None] * len(row) for row in field["level_dbm"]]
    svg = floor_svg(house(), FLOOR, runs=(), signal=Signal(BAND, -67.0, field))
    assert parts(svg, "unseen") and not parts(svg, "isoline-plain")
    assert "On this floor no level is known." in svg


def test_drawing__same_bytes_and_same_lines_in_every_ink() -> None:
    assert drawn() == drawn()
    plain = [re.sub(r"<style>.*?</style>", "", drawn(inks=inks), flags=re.S) for inks in (DAY, NIGHT, BLACK_ONLY)]
    assert plain[0] == plain[1] == plain[2]
    assert "#0b4f86" in drawn() and "#0b4f86" not in drawn(inks=BLACK_ONLY)


def test_drawing__plain_enough_for_the_strictest_reader() -> None:
    assert not re.search(r"font:|var\(|vector-effect|calc\(|dominant-baseline", drawn())


def test_plan__without_signal_is_as_before() -> None:
    svg = floor_svg(house(), FLOOR)
    assert not parts(svg, "signal") and not parts(svg, "isonum")
    assert parts(svg, "outlet")


def test_paper__is_to_scale_and_blue_lines_print(pdftoppm: str, tmp_path: Path) -> None:
    """A circle of 2 m round the access point measures 20 mm on paper at 1:100."""
    site = house()
    field = signal_house.field(site, "B0", BAND, 0.1)
    r1 = shapely.box(0, 0, 5, 4)
    field["level_dbm"] = [
        [
            -50 - 20 * math.log10(max(0.3, math.hypot(x - 2.4, y - 1.9)) / 1.5) if r1.contains(shapely.Point(x, y)) else None
            for x in field["x_m"]
        ]
        for y in field["y_m"]
    ]  # fmt: skip
    svg = floor_svg(site, FLOOR, scale=100, runs=(), signal=Signal(BAND, -50.0, field))
    sheet = signal_sheets.Sheet("B0", "Ground floor", BAND, 100, svg)
    answer = signal_house.answer(site)
    floors = [{"tag": "B0", "name": "Ground floor"}]
    (tmp_path / "s.pdf").write_bytes(signal_sheets.pdf(answer, [sheet], floors, title="T", footer="f"))
    subprocess.run(
        [pdftoppm, "-r", "254", "-f", "2", "-l", "2", "-singlefile", "-png", tmp_path / "s.pdf", tmp_path / "s"],
        check=True,
    )
    image = np.asarray(Image.open(io.BytesIO((tmp_path / "s.png").read_bytes())).convert("RGB")).astype(int)
    blue = (image[..., 2] - image[..., 0] > 60) & (image[..., 2] > 100)
    rows = np.flatnonzero(blue[: image.shape[0] // 2].any(axis=1))
    circle = parts(svg, "isoline-agreed")[0].get("d", "")
    ys = [float(p.split()[1].rstrip("Z")) for p in circle[1:].split("L")]
    assert max(ys) - min(ys) == pytest.approx(3.0, abs=0.03)  # diameter of the circle of 1.5 m
    assert (rows[-1] - rows[0]) / 10 >= 29  # 30 mm of blue, ten dots a millimetre


def test_numbers__a_line_too_bent_or_too_short_bears_none() -> None:
    from pullstring.papers.plan_field import Field
    from pullstring.papers.signal_numbers import numbers

    soft = Field.over((0, 0, 10, 10), 0.06)
    straight = Contour(-60, "plain", ((1.0, 1.0), (4.0, 1.0)))
    short = Contour(-65, "plain", ((1.0, 5.0), (1.3, 5.0)))
    zigzag = Contour(-70, "plain", tuple((1 + 0.1 * n, 7 + 0.3 * (n % 2)) for n in range(20)))
    assert [n.words for n in numbers([straight, short, zigzag], soft, [], k=1.0)] == ["−60"]
    blocked = numbers([straight], soft, [(0.0, 0.0, 5.0, 2.0)], k=1.0)
    assert blocked == []

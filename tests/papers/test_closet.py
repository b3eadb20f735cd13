"""The front of a closet: who hangs where, nothing overprints, nothing is lost, true to scale where sizes are known."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from pullstring.model.refs import Ref
from pullstring.papers.closet_front import PAPER_MM, boards, closet_sheets, closet_svg
from pullstring.papers.closet_marks import LEAST_PT, MM_PER_PT, STYLES
from pullstring.papers.ink import BLACK_ONLY, DAY, NIGHT
from pullstring.papers.typst_page import drawing_sheet
from tests.papers.closet_house import (
    CLOSET,
    GUARDED,
    ON_IT,
    SVG,
    classes_in,
    closet,
    crowded,
    group,
    lines_of,
    outside,
    overprinted,
    site_of,
    size_of,
    text_boxes,
    texts,
    words_in,
)

ROOM = Ref("room", "R1")


def drawn(board: Ref | None = ROOM, **more: object) -> str:
    return closet_svg(closet(), board=board, untouchable=GUARDED, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("long", [False, True])
@pytest.mark.parametrize("count", [1, 40, 110])
def test_closet__no_words_lie_on_words_or_over_the_frame(count: int, long: bool) -> None:
    site = crowded(count, long=long)
    for svg in (closet_svg(site, board=ROOM), *closet_sheets(site, board=ROOM, paper="landscape")):
        assert overprinted(svg) == [] and outside(svg) == []


@pytest.mark.parametrize("scale", [10, 20])
def test_closet__small_one_too_at_both_scales(scale: int) -> None:
    for board in (ROOM, Ref("block", "K1"), Ref("rack", "Q1")):
        svg = drawn(board, scale=scale)
        assert overprinted(svg) == [] and outside(svg) == []


def test_check_itself__finds_words_on_words() -> None:
    svg = drawn()
    moved = re.sub(r'(class="head ink" x="[0-9.]+" y=")[0-9.]+', r"\g<1>40", svg)
    assert overprinted(moved)


def test_closet__who_hangs_on_a_row_where_it_goes_and_how_sure() -> None:
    said = words_in(group(drawn(), "row:K1.3"))
    assert {"3", "STUDY?", "E2", "O2", "Study", "told ?"} <= set(said)
    assert {"E2", "pair 2"} <= set(words_in(group(drawn(), "row:K1.4")))  # the second pair of the same cable


def test_closet__answers_of_the_laws_come_before_sayings() -> None:
    runs = [{"end": "E2", "to": ["outlet:O1"], "grade": "pinned out", "contradicted": False}]
    said = words_in(group(drawn(runs=runs), "row:K1.3"))
    assert {"O1", "pinned out"} <= set(said) and "O2" not in said


def test_closet__cord_from_panel_to_switch_is_told_on_both() -> None:
    assert "cord to S1.1" in words_in(group(drawn(), "row:P1.1"))
    assert {"E1", "by P1.1", "802.3af"} <= set(words_in(group(drawn(), "port:S1.1")))


def test_closet__open_port_is_open() -> None:
    port = group(drawn(), "port:S1.2")
    assert {"data only", "open"} <= set(words_in(port)) and "hole" in classes_in(port)
    assert "solid" in classes_in(group(drawn(), "port:S1.1"))


def test_closet__bridging_clip_is_a_bridge_between_its_rows_and_told_at_both() -> None:
    svg = drawn(Ref("block", "K1"))
    (bridge,) = [
        e for e in ET.fromstring(svg).iter(f"{SVG}path") if e.get("class") == "bridge" and "L" in e.get("d", "")
    ][:1]
    ys = [float(p.split()[1]) for p in bridge.get("d", "")[1:].split("L")]
    rows = {
        n: next(e for e in group(svg, f"row:K1.{n}").iter(f"{SVG}rect") if e.get("class") == "face") for n in (3, 6)
    }
    middles = [float(r.get("y", 0)) + float(r.get("height", 0)) / 2 for r in rows.values()]
    assert sorted({round(y, 2) for y in ys}) == [round(m, 2) for m in middles]
    assert "clip to 6" in words_in(group(svg, "row:K1.3")) and "clip to 3" in words_in(group(svg, "row:K1.6"))


def test_closet__do_not_touch_is_barred_and_worded() -> None:
    row = group(drawn(), "row:K1.7")
    assert "bars" in classes_in(row) and "DO NOT TOUCH: only ALC" in " ".join(words_in(row))
    assert "bars" not in classes_in(group(drawn(), "row:K1.3"))


def test_closet__planned_is_red_and_open_and_out_of_use_slashed() -> None:
    svg = drawn()
    planned, gone = group(svg, "unit:S2"), group(svg, "end:E4")
    assert "new" in classes_in(planned) and "to be added" in texts(svg)
    assert "slash" in classes_in(gone) and "out of use" in words_in(gone)
    assert DAY.red in svg and DAY.red not in closet_svg(closet(), board=ROOM, inks=BLACK_ONLY)


def test_closet__loose_end_with_what_was_found() -> None:
    svg = drawn()
    assert "Loose ends" in texts(svg)
    assert {"E4", "cable C4"} <= set(words_in(group(svg, "end:E4")))
    assert not [e for e in ET.fromstring(svg).iter() if e.get("data-ref") in ("end:E1", "end:E2", "end:E3")]


def test_closet__mains_chain_with_its_doubt() -> None:
    """The socket hangs on a breaker by a saying only, so the chain bears a question mark."""
    assert "fed by LARDER ?" in words_in(group(drawn(), "socket:X1"))
    assert "S1" in words_in(group(drawn(), "socket:X1"))


@pytest.mark.parametrize("scale", [10, 20])
def test_closet__rack_is_true_to_scale(scale: int) -> None:
    """19 in = 482.6 mm wide; 6 rack units of 44.45 mm: 48.26 by 26.67 mm of paper at 1:10."""
    svg = ET.fromstring(drawn(Ref("rack", "Q1"), scale=scale))
    groups = [g for g in svg.iter(f"{SVG}g") if g.get("data-ref") == "rack:Q1"]
    whole = next(e for g in groups for e in g.iter(f"{SVG}rect") if e.get("class") == "face")
    assert float(whole.get("width", 0)) == pytest.approx(482.6 / scale, abs=0.001)
    assert float(whole.get("height", 0)) == pytest.approx(6 * 44.45 / scale, abs=0.001)
    assert f"1:{scale}" in " ".join(texts(drawn(Ref("rack", "Q1"), scale=scale)))


def test_closet__rack_unit_4_of_6_stands_two_units_below_the_top() -> None:
    svg = drawn(Ref("rack", "Q1"))
    faces = [e for e in ET.fromstring(svg).iter(f"{SVG}rect") if e.get("class") in ("face", "new")]
    whole = max(faces, key=lambda e: float(e.get("width", 0)) * float(e.get("height", 0)))
    slots = {
        round((float(e.get("y", 0)) - float(whole.get("y", 0))) / 4.445, 3): float(e.get("height", 0)) for e in faces
    }
    assert slots[2.0] == pytest.approx(4.445) and slots[4.0] == pytest.approx(8.89)  # S1 in U4, S2 in U2 and U1
    assert slots[1.0] == pytest.approx(4.445)  # the panel in U5, told in words only


def test_closet__higher_rack_than_the_sheet_goes_to_a_smaller_scale_not_smaller_letters() -> None:
    site = site_of({**CLOSET, "rack:Q1": {"room": "room:R1", "height_u": 60}}, ON_IT)
    (svg,) = closet_sheets(site, board=Ref("rack", "Q1"))[:1]
    assert "1:20" in " ".join(texts(svg)) and size_of(svg)[1] <= PAPER_MM["portrait"][1]
    assert overprinted(svg) == []


@pytest.mark.parametrize("paper", ["portrait", "landscape"])
def test_closet__hundred_rows_break_into_sheets_that_fit_and_lose_no_row(paper: str) -> None:
    made = closet_sheets(crowded(100), board=ROOM, paper=paper)
    assert len(made) > 1
    for svg in made:
        width, height = size_of(svg)
        assert width <= PAPER_MM[paper][0] and height <= PAPER_MM[paper][1]
    said = [w for svg in made for w in texts(svg)]
    assert all(f"E{n}" in said for n in range(1, 101))
    assert "K1, continued" in said and f"sheet 2 of {len(made)}" in " ".join(said)


@pytest.mark.parametrize("count", range(1, 60, 3))
def test_closet__every_sheet_fits_its_paper_however_much_is_on_it(count: int) -> None:
    for paper, (wide, tall) in PAPER_MM.items():
        for svg in closet_sheets(crowded(count), board=ROOM, paper=paper):
            width, height = size_of(svg)
            assert width <= wide and height <= tall


def test_closet__end_of_which_one_pair_is_on_a_row_is_not_loose() -> None:
    rows = {"room:R": {"closet": "yes"}, "block:K": {"room": "room:R", "rows": 2}}
    rows |= {"cable:C": {}, "end:E": {"cable": "cable:C", "room": "room:R"}}
    site = site_of(rows, [("pair:C.3", "joined", "row:K.1", "seen")])  # type: ignore[arg-type]
    svg = closet_svg(site, board=Ref("room", "R"))
    assert "Loose ends" not in texts(svg) and {"E", "pair 3"} <= set(words_in(group(svg, "row:K.1")))


def test_closet__no_letter_below_seven_points() -> None:
    assert min(s.size_mm for s in STYLES) >= LEAST_PT * MM_PER_PT
    sizes = [float(s) for s in re.findall(r"font-size:([0-9.]+)px", closet_svg(crowded(110, long=True), board=ROOM))]
    assert min(sizes) >= LEAST_PT * MM_PER_PT


def test_closet__long_names_are_broken_never_cut() -> None:
    svg = closet_svg(crowded(3, long=True), board=ROOM)
    joined = "".join(words_in(group(svg, "row:K1.1"))).replace(" ", "")
    assert "LeitungNr1zumDachbodenlinks" in joined and "hinterderTreppe1" in joined
    assert "…" not in svg


def test_closet__many_empty_rows_are_one() -> None:
    said = texts(closet_svg(site_of({"block:K": {"rows": 10000}}), board=Ref("block", "K")))
    assert {"1 to", "10000", "10000 empty,"} <= set(said)
    assert len(said) < 30


def test_closet__thirty_things_on_one_row_go_on_in_further_pieces() -> None:
    rows = {"block:K": {"rows": 2}} | {f"end:E{n}": {"cable": f"cable:C{n}"} for n in range(30)}
    site = site_of(rows, [(f"end:E{n}", "ends_at", "row:K.1", "seen") for n in range(30)])
    svg = closet_svg(site, board=Ref("block", "K"))
    assert {f"E{n}" for n in range(30)} <= set(texts(svg)) and overprinted(svg) == []


def test_closet__where_boards_are() -> None:
    assert boards(closet()) == [ROOM]
    elsewhere = site_of({"block:K": {"rows": 2}, "rack:Q": {}, "room:R": {"name": "Hall"}})
    assert boards(elsewhere) == [Ref("block", "K"), Ref("rack", "Q")]
    assert boards(site_of({"end:E1": {"label": "?"}})) == [None]
    assert "E1" in texts(closet_svg(site_of({"end:E1": {"label": "?"}}), board=None))


@pytest.mark.parametrize(
    "rows", [{}, {"room:R1": {"closet": "yes"}}, {"rack:Q": {}}, {"block:K": {}}, {"unit:U 1": {}}]
)
def test_closet__nothing_known_draws_all_the_same(rows: dict[str, dict[str, str]]) -> None:
    site = site_of(dict(rows))  # type: ignore[arg-type]
    for board in (*boards(site), ROOM, Ref("block", "none"), None):
        svg = closet_svg(site, board=board)
        ET.fromstring(svg)
        assert texts(svg) and overprinted(svg) == []


def test_closet__what_people_wrote_is_escaped() -> None:
    site = site_of({**CLOSET, "row:K1.3": {"label": '<script>"&\x07'}}, ON_IT)
    svg = closet_svg(site, board=ROOM)
    assert "<script>" not in svg
    ET.fromstring(svg)


def test_closet__equal_bytes_whatever_the_order_of_arrival() -> None:
    turned = site_of(dict(reversed(CLOSET.items())), tuple(reversed(ON_IT)))
    assert closet_svg(turned, board=ROOM) == closet_svg(closet(), board=ROOM)


def test_closet__print_program_and_browser_rules_read_it_in_all_inks() -> None:
    for inks in (DAY, NIGHT, BLACK_ONLY):
        svg = closet_svg(closet(), board=ROOM, inks=inks)
        assert not re.search(r"font:|var\(|vector-effect|calc\(", svg)
        assert drawing_sheet(svg, title="closet", form="png", ppi=40).startswith(b"\x89PNG")


def test_closet__every_row_says_what_it_is() -> None:
    for element in ET.fromstring(drawn()).iter(f"{SVG}g"):
        title = element.find(f"{SVG}title")
        assert title is not None and title.text
    assert group(drawn(), "row:K1.3").find(f"{SVG}title").text.startswith("K1 row 3: E2; O2")  # type: ignore[union-attr]


def test_closet__lines_do_not_run_through_words() -> None:
    """Edges of cells and bridges; a slash may, for that is what it is for."""
    svg = drawn(Ref("block", "K1"))
    for x0, y0, x1, y1 in lines_of(svg, ["thin", "bridge"]):
        for words, (a, b, c, d) in text_boxes(svg):
            assert not (min(x0, x1) < c and a < max(x0, x1) and min(y0, y1) < d and b < max(y0, y1)), words
            assert not (x0 == x1 and a < x0 < c and min(y0, y1) < d and b < max(y0, y1)), words

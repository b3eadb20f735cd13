"""Sheets by their millimetres, read back from the finished PDF by another program: edges, codes and the rule to 0.1 mm."""

from __future__ import annotations

import io
import pathlib

import numpy as np
import pytest
from PIL import Image

from pullstring.papers.ink import BLACK_ONLY
from pullstring.papers.labels import BadLabel
from pullstring.papers.labels_art import Piece
from pullstring.papers.labels_code import QUIET, modules
from pullstring.papers.labels_sheets import Laid, Shape, on_sheet, on_tape, refuse_diameter
from pullstring.papers.sheet_geometry import (
    EDGE_MM,
    MEDIA,
    TAPE_12,
    TAPE_24,
    BadSheet,
    Sheet,
    Tape,
    medium,
    sheet_of,
)
from pullstring.papers.typst_page import sheets
from tests.papers.labelled_house import grey, pages_of, read_back

PPI = 508  # 20 dots a millimetre
DOTS = 20
SHEETS = [name for name, one in MEDIA.items() if isinstance(one, Sheet) and one.columns > 1]
OWN = "210x297 2x6 90x40 left 12 top 14.3 gap 6 5.2 corner 2"


def piece(number: int) -> Piece:
    return Piece(
        "plain", f"0A-A{number:02d}", ("to the parlour", f"found as E{number:02d}"), code=f"MLH/0A-A{number:02d}"
    )


def rendered(laid: Laid, pdftoppm: str, folder: pathlib.Path, *, ppi: int = PPI) -> list[np.ndarray]:
    """Every page as another program draws it."""
    made = sheets(laid.pages, width_mm=laid.width_mm, height_mm=laid.height_mm, title="t")
    return pages_of(made, pdftoppm, folder, ppi=ppi)


@pytest.mark.parametrize("name", [*SHEETS, OWN])
def test_sheet__each_code_lies_where_the_geometry_says(name: str, pdftoppm: str, tmp_path: pathlib.Path) -> None:
    """The dark square of every code, measured on the drawn page, against the sum of edge, pitch and gap. [0.1 mm]"""
    sheet = medium(name)
    assert isinstance(sheet, Sheet)
    laid = on_sheet([piece(n) for n in range(sheet.places)], sheet, Shape(BLACK_ONLY, None))
    (page,) = rendered(laid, pdftoppm, tmp_path)
    assert page.shape[1] == pytest.approx(sheet.width_mm * DOTS, abs=1) and page.shape[0] == pytest.approx(
        sheet.height_mm * DOTS, abs=1
    )
    white = {text: (x / DOTS, y / DOTS) for _, text, x, y in read_back([page])}
    assert set(white) == {piece(n).code for n in range(sheet.places)}
    for spot in laid.spots:
        assert spot.code is not None and spot.code_mm is not None
        left, top, side = spot.code_mm
        module = side / (len(modules(spot.code)) + 2 * QUIET)
        x0, y0 = left + QUIET * module, top + QUIET * module
        ink = (
            page[
                round(y0 * DOTS) - 20 : round((y0 + 3 * module) * DOTS),
                round(x0 * DOTS) - 20 : round((x0 + 3 * module) * DOTS),
            ]
            < 128
        )
        rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
        assert (round(x0 * DOTS) - 20 + columns[0]) / DOTS == pytest.approx(x0, abs=0.1)
        assert (round(y0 * DOTS) - 20 + rows[0]) / DOTS == pytest.approx(y0, abs=0.1)


@pytest.mark.parametrize("name", SHEETS)
def test_sheet__nothing_is_printed_beyond_its_label_or_in_the_white_edge(
    name: str, pdftoppm: str, tmp_path: pathlib.Path
) -> None:
    sheet = medium(name)
    assert isinstance(sheet, Sheet)
    framed = [Piece("protected", f"E{n}", ("x" * 50,), "DO NOT TOUCH", f"MLH/E{n}") for n in range(sheet.places)]
    laid = on_sheet(framed, sheet, Shape(BLACK_ONLY, None))
    (page,) = rendered(laid, pdftoppm, tmp_path, ppi=254)
    allowed = np.zeros(page.shape, dtype=bool)
    boxes = [(s.x_mm, s.y_mm, s.width_mm, s.height_mm) for s in laid.spots]
    for x, y, w, h in [*boxes, *([rule] if (rule := sheet.rule_box()) else [])]:
        allowed[round(y * 10) : round((y + h) * 10) + 1, round(x * 10) : round((x + w) * 10) + 1] = True
    edge = round(EDGE_MM * 10) - 1
    allowed[:edge], allowed[-edge:], allowed[:, :edge], allowed[:, -edge:] = False, False, False, False
    assert not ((page < 128) & ~allowed).any()


def test_sheet__labels_of_a_sheet_written_in_millimetres() -> None:
    """The second place of the third row: 12 + 90 + 6 from the left, 14.3 + 2 x (40 + 5.2) from the top."""
    sheet = sheet_of(OWN)
    assert sheet.corner(5) == pytest.approx((108, 104.7)) and sheet.corner_mm == 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("210x297 3x8", "this is no sheet"),
        ("210x297 3x8 80x37", "its columns reach 240 mm and it is 210 mm wide"),
        ("210x297 3x8 70x37 top 5", "its rows reach 301 mm and it is 297 mm high"),
        ("210x297 0x8 70x37", "0x8 labels"),
        ("210x297 3x8 9x37", "the smallest is"),
        ("0x297 1x1 70x37", "a side is more than 0"),
        ("9000x297 3x8 70x37", "at most 1200 mm"),
        ("210 mm", "this is no sheet"),
        ("a7", "there is no such sheet"),
    ],
)
def test_sheet__what_cannot_be_is_refused_with_what_would_be_right(text: str, says: str) -> None:
    with pytest.raises(BadSheet, match=says):
        medium(text)


def test_sheet__all_faults_at_once() -> None:
    with pytest.raises(BadSheet) as found:
        sheet_of("100x100 3x8 70x37")
    assert "columns reach 210 mm" in str(found.value) and "rows reach 296 mm" in str(found.value)


@pytest.mark.parametrize("name", [*SHEETS, OWN, "210x297 1x4 190x60 left 10 top 20", "297x210 4x5 70x40"])
def test_sheet__the_rule_is_100_mm_and_covers_no_label(name: str, pdftoppm: str, tmp_path: pathlib.Path) -> None:
    sheet = medium(name)
    assert isinstance(sheet, Sheet)
    box = sheet.rule_box()
    assert box is not None
    for place in range(sheet.places):
        x, y = sheet.corner(place)
        apart = (
            x + sheet.label_w_mm <= box[0] + 0.01 or box[0] + box[2] <= x + 0.01
            or y + sheet.label_h_mm <= box[1] + 0.01 or box[1] + box[3] <= y + 0.01
        )  # fmt: skip
        assert apart, place
    laid = on_sheet([piece(1)], sheet, Shape(BLACK_ONLY, None))
    (page,) = rendered(laid, pdftoppm, tmp_path)
    line = np.flatnonzero(page[round((box[1] + box[3] / 2) * DOTS)] < 128)
    assert (line.max() - line.min() + 1) / DOTS == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize("used", [5, frozenset({0, 1, 3, 19})])
def test_sheet__used_places_stay_empty_on_the_first_sheet_only(used: int | frozenset[int]) -> None:
    sheet = medium("a4")
    assert isinstance(sheet, Sheet)
    laid = on_sheet([piece(n) for n in range(30)], sheet.with_used(used), Shape(BLACK_ONLY, None))
    gone = set(range(used)) if isinstance(used, int) else used
    free = [n for n in range(sheet.places) if n not in gone]
    places = [(0, n) for n in free] + [(1, n) for n in range(30 - len(free))]
    assert [(s.page, *sheet.printed(n)[:2]) for s, (_, n) in zip(laid.spots, places, strict=True)] == [
        (page, *sheet.printed(n)[:2]) for page, n in places
    ]
    assert [s.page for s in laid.spots] == [page for page, _ in places]
    assert [(s.x_mm, s.y_mm) for s in laid.spots] == [sheet.printed(n)[:2] for _, n in places]


def test_sheet__with_every_place_gone_is_refused() -> None:
    sheet = medium("a4")
    assert isinstance(sheet, Sheet)
    with pytest.raises(BadLabel, match="take a new sheet"):
        on_sheet([piece(1)], sheet.with_used(frozenset(range(sheet.places))), Shape(BLACK_ONLY, None))


@pytest.mark.parametrize("tape", [TAPE_12, TAPE_24])
def test_tape__as_high_as_the_tape_with_a_cut_mark_after_each_label(
    tape: Tape, pdftoppm: str, tmp_path: pathlib.Path
) -> None:
    laid = on_tape([piece(n) for n in range(5)], tape, Shape(BLACK_ONLY, None))
    (page,) = rendered(laid, pdftoppm, tmp_path)
    assert page.shape[0] == pytest.approx(tape.height_mm * DOTS, abs=1)
    for spot, after in zip(laid.spots, [*laid.spots[1:], None], strict=True):
        end = spot.x_mm + spot.width_mm
        mark = page[:, round(end * DOTS) : round((end + 4) * DOTS)] < 128
        across = np.flatnonzero(mark.any(axis=0))
        assert across.mean() / DOTS == pytest.approx(2, abs=0.15), "the mark stands in the middle of the white"
        assert 0.3 < mark.any(axis=1).mean() < 0.8, "dashed, from edge to edge"
        assert after is None or after.x_mm == pytest.approx(end + 4)


def test_tape__each_label_is_as_long_as_its_words() -> None:
    short, long = (
        Piece("plain", "E1", ("x",), code="MLH/E1"),
        Piece("plain", "E1", ("a longer line than the other one",), code="MLH/E1"),
    )
    laid = on_tape([short, long], TAPE_12, Shape(BLACK_ONLY, None))
    assert laid.spots[0].width_mm < laid.spots[1].width_mm and not laid.cut


def test_tape__strips_end_before_they_get_too_long() -> None:
    laid = on_tape([piece(n) for n in range(60)], TAPE_12, Shape(BLACK_ONLY, None))
    assert len(laid.pages) > 1 and laid.width_mm <= TAPE_12.strip_mm + 4
    assert [s.code for s in laid.spots] == [piece(n).code for n in range(60)]


@pytest.mark.parametrize("cable_mm", [3.0, 5.5, 8.0])
def test_flag__goes_round_the_cable_and_says_it_twice(cable_mm: float, pdftoppm: str, tmp_path: pathlib.Path) -> None:
    """The paper between both halves is the circumference of the cable, folded in the middle."""
    laid = on_tape([piece(1)], TAPE_24, Shape(BLACK_ONLY, cable_mm))
    pages = rendered(laid, pdftoppm, tmp_path)
    codes = sorted(read_back(pages), key=lambda c: c[2])
    assert [text for _, text, *_ in codes] == ["MLH/0A-A01"] * 2
    assert (codes[1][2] - codes[0][2]) / DOTS == pytest.approx((laid.spots[0].width_mm + np.pi * cable_mm) / 2, abs=0.1)
    middle = laid.spots[0].width_mm / 2
    between = pages[0][:, round((middle - np.pi * cable_mm / 2 + 0.3) * DOTS) : round((middle - 0.3) * DOTS)]
    assert not (between < 128).any(), "nothing is printed where the cable lies"


@pytest.mark.parametrize("cable_mm", [2.9, 8.1, -1.0, float("nan")])
def test_flag__a_cable_too_thin_or_too_thick_is_refused(cable_mm: float) -> None:
    with pytest.raises(BadLabel, match="3 to 8 mm"):
        refuse_diameter(cable_mm)


def test_flag__no_red_and_no_grey_where_there_is_only_black() -> None:
    laid = on_tape(
        [Piece("protected", "E1", ("Call first",), "DO NOT TOUCH", "MLH/E1")], TAPE_24, Shape(BLACK_ONLY, None)
    )
    picture = sheets(laid.pages, width_mm=laid.width_mm, height_mm=laid.height_mm, title="t", form="png", ppi=254)
    colours = np.asarray(Image.open(io.BytesIO(picture)).convert("RGB")).astype(int)
    assert np.abs(colours - colours.mean(axis=2, keepdims=True)).max() < 1
    assert ((grey(picture) > 60) & (grey(picture) < 190)).mean() < 0.06, "only edges are grey"

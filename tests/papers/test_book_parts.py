"""Parts of the book: letters that print, widths of columns, sheets of drawings, index order."""

from __future__ import annotations

import unicodedata

import pytest
from PIL import ImageFont

from pullstring.papers.book_letters import SANS, Letters, has_letter
from pullstring.papers.book_parts import BREAK, TEXT_MM, Listing, Row, listing_data, widths_mm
from pullstring.papers.book_sheets import LEAST_SHRUNK, OVERLAP_MM, _shrunk, paper_for, pieces
from pullstring.papers.ink import SECOND_FACES, font_folder
from pullstring.papers.labels_face import BOLD, letters

SOME = "aÄłčőßΩЖֆא☺–→≤°Ωﬁ\U0001d5a0" + "中日한😺🫠" + "\ue000\u202e\x07\u200b\uffff"


@pytest.mark.parametrize("letter", SOME, ids=[f"U+{ord(c):04X}" for c in SOME])
def test_letters__agree_with_the_faces_as_another_program_reads_them(letter: str) -> None:
    """FreeType draws a letter that a face lacks as its box for the missing one; what shows nothing never counts."""
    shows = unicodedata.category(letter)[0] != "C"
    drawn = []
    for face in SANS:
        font = ImageFont.truetype(str(font_folder() / SECOND_FACES[face]), 40)
        drawn.append(bytes(font.getmask(letter)) != bytes(font.getmask("\U0010fffd")))
    assert has_letter(letter) == (shows and all(drawn))


def test_letters__code_instead_of_a_box_and_the_words_are_kept() -> None:
    told = Letters()
    assert told.printable("Zimmer 中\n\tÖ") == "Zimmer [U+4E2D] Ö"
    assert told.printable("a\u202eb") == "a[U+202E]b"  # a turned direction could make a tag read as another
    assert told.told == {"中": "Zimmer 中 Ö", "\u202e": "a\u202eb"}
    assert told.drawing("<text>中</text>\n") == "<text>[U+4E2D]</text>\n"


def test_letters__composed_form_is_printed() -> None:
    assert Letters().printable("Gru\u0308n") == "Grün"


@pytest.mark.parametrize("longest", [1, 12, 60, 400])
@pytest.mark.parametrize("count", [1, 3, 9])
def test_widths__fill_the_page(longest: int, count: int) -> None:
    rows = [["ab " * (longest // 3 + 1)] * count, ["x" * min(longest, 30)] * count]
    widths = widths_mm(["column"] * count, rows, "l" * count)
    assert sum(widths) == pytest.approx(TEXT_MM)
    assert min(widths) > 3


def test_listing__a_word_wider_than_its_column_may_be_broken_and_loses_nothing() -> None:
    word = "W" * 90
    rows = tuple(Row((f"E{n}", word, word, word), (f"end:E{n}",)) for n in range(3))
    data = listing_data(Listing(("end", "a", "b", "c"), rows, "mlll"), Letters(), {"end:E1": 7})
    cell, width = data["rows"][0][1], data["widths"][1]
    assert cell.replace(BREAK, "") == word
    mm = letters(BOLD).advance[ord("W")] * 8 * 25.4 / 72
    assert max(len(part) for part in cell.split(BREAK)) * mm <= width
    assert data["marks"] == [[], [7], []]


@pytest.mark.parametrize(
    ("width", "height", "paper"),
    [(196, 283, (210, 297)), (283, 196, (297, 210)), (197, 283, (297, 420)), (406, 283, (420, 297)), (407, 284, None)],
)
def test_paper__smallest_of_a4_and_a3(width: float, height: float, paper: tuple[float, float] | None) -> None:
    """ISO 216 sheets less 7 mm on each side."""
    assert paper_for(width, height) == paper


@pytest.mark.parametrize(("width", "height"), [(500, 200), (807, 440), (300, 1500), (407, 407)])
def test_pieces__together_show_all_and_neighbours_share_a_strip(width: float, height: float) -> None:
    made = pieces(width, height)
    assert all(p.width <= p.paper_w - 14 + 1e-6 and p.height <= p.paper_h - 14 + 1e-6 for p in made)
    assert max(p.left + p.width for p in made) == pytest.approx(width)
    assert max(p.top + p.height for p in made) == pytest.approx(height)
    rows = sorted({p.top for p in made})
    first = [p for p in made if p.top == rows[0]]
    for a, b in zip(first, first[1:], strict=False):
        assert a.left + a.width - b.left == pytest.approx(OVERLAP_MM)
    assert len(made) == len(first) * len(rows)


def test_pieces__say_their_neighbours() -> None:
    made = pieces(700, 700)
    across = len([p for p in made if p.top == 0])
    assert "right edge lies on sheet 2" in made[0].joins and "left" not in made[0].joins
    assert "upper edge lies on sheet 1" in made[across].joins
    assert made[0].joins.startswith(f"sheet 1 of {len(made)}")


def test_shrunk__fewer_sheets_but_never_below_its_bound() -> None:
    assert len(pieces(*_shrunk(440, 280))) == 1
    width, height = _shrunk(2000, 900)
    assert width >= 2000 * LEAST_SHRUNK - 1e-6 and height / width == pytest.approx(900 / 2000)
    assert _shrunk(100, 100) == (100, 100)

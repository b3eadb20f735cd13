"""A drawing on paper at its own scale: the smallest of A4 and A3 that holds it, else pieces of A3 that say how they join."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from pullstring.papers.book_letters import Letters
from pullstring.papers.book_parts import Drawn
from pullstring.papers.sentences_book import BOOK
from pullstring.papers.typst_page import EDGE_MM, PAPERS_MM, size_mm

OVERLAP_MM = 10.0  # ours: what two neighbours both show, to lay them on each other
LEAST_SHRUNK = 0.8  # ours: letters of 7 pt become 5.6 pt
SIZES_MM = tuple((w, h) for name in ("A4", "A3") for w, h in (PAPERS_MM[name], PAPERS_MM[name][::-1]))


@dataclasses.dataclass(frozen=True)
class Piece:
    """What one sheet shows: its paper, and the part of the drawing from its top left corner; millimetres."""

    paper_w: float
    paper_h: float
    left: float
    top: float
    width: float
    height: float
    joins: str = ""


def paper_for(width_mm: float, height_mm: float) -> tuple[float, float] | None:
    """The smallest paper, A4 or A3 and turned as fits, that holds a drawing inside its white edge."""
    for paper_w, paper_h in SIZES_MM:
        if width_mm <= paper_w - 2 * EDGE_MM + 0.01 and height_mm <= paper_h - 2 * EDGE_MM + 0.01:
            return paper_w, paper_h
    return None


def pieces(width_mm: float, height_mm: float) -> list[Piece]:
    """The sheets of one drawing: one, or rows of A3 turned as needs the fewest."""
    paper = paper_for(width_mm, height_mm)
    if paper:
        return [Piece(*paper, 0, 0, width_mm, height_mm)]
    short, long = PAPERS_MM["A3"]
    paper_w, paper_h = min(
        ((long, short), (short, long)), key=lambda p: (_count(width_mm, p[0]) * _count(height_mm, p[1]), p)
    )
    across, down = _count(width_mm, paper_w), _count(height_mm, paper_h)
    step_x, step_y = paper_w - 2 * EDGE_MM - OVERLAP_MM, paper_h - 2 * EDGE_MM - OVERLAP_MM
    return [
        Piece(
            paper_w,
            paper_h,
            column * step_x,
            row * step_y,
            min(step_x + OVERLAP_MM, width_mm - column * step_x),
            min(step_y + OVERLAP_MM, height_mm - row * step_y),
            _joins(row, column, across, down),
        )
        for row in range(down)
        for column in range(across)
    ]


def _shrunk(width_mm: float, height_mm: float) -> tuple[float, float]:
    """A drawing without a scale so large that it needs the fewest sheets, and among these the largest."""
    sizes = [
        (width_mm * percent / 100, height_mm * percent / 100)
        for percent in range(100, round(100 * LEAST_SHRUNK) - 1, -1)
    ]
    return min(sizes, key=lambda size: (len(pieces(*size)), -size[0]))


def _count(length_mm: float, paper_mm: float) -> int:
    room = paper_mm - 2 * EDGE_MM
    return max(1, math.ceil((length_mm - OVERLAP_MM) / (room - OVERLAP_MM) - 1e-6))


def _joins(row: int, column: int, across: int, down: int) -> str:
    """How a sheet lies to its neighbours."""
    sides = (
        ("left", row, column - 1),
        ("right", row, column + 1),
        ("upper", row - 1, column),
        ("lower", row + 1, column),
    )
    joins = [BOOK["side"].format(side, r * across + c + 1) for side, r, c in sides if 0 <= r < down and 0 <= c < across]
    number = BOOK["piece"].format(row * across + column + 1, across * down)
    return f"{number}: {', '.join(joins)}; {BOOK['overlap'].format(int(OVERLAP_MM))}"


def sheet_data(
    part: Drawn, number: int, letters: Letters, number_of: dict[str, int], *, begins: str | None
) -> list[dict[str, Any]]:
    """The sheets of one drawing as the template takes them; the index finds it on the first."""
    width, height = _shrunk(*size_mm(part.svg)) if not part.to_scale else size_mm(part.svg)
    made = []
    for n, piece in enumerate(pieces(width, height)):
        says = f"{part.title} · {piece.joins}" if piece.joins else part.title
        made.append(
            {
                "kind": "sheet",
                "drawing": number,
                "drawing-width": width,
                "drawing-height": height,
                "width": piece.paper_w,
                "height": piece.paper_h,
                "x": (piece.paper_w - piece.width) / 2 if not piece.joins else EDGE_MM,
                "y": (piece.paper_h - piece.height) / 2 if not piece.joins else EDGE_MM,
                "left": piece.left,
                "top": piece.top,
                "shown-width": piece.width,
                "shown-height": piece.height,
                "piece": bool(piece.joins),
                "says": letters.printable(says),
                "marks": [number_of[m] for m in part.marks if m in number_of] if n == 0 else [],
                "begins": begins if n == 0 else None,
            }
        )
    return made

"""What the book is made of: chapters of paragraphs, listings whose rows can be looked up by tag, and drawings to scale."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.book_letters import Letters
from pullstring.papers.labels_face import BOLD, MONO, SANS, letters

TEXT_MM = 180.0
"""Width of what stands between the edges of `book.typ`."""
PT_MM = 25.4 / 72
SIZE_PT, INSET_PT = 8.0, 2.4
LONGEST_CELL = 420  # ours: a longer text is cut with a sign, so that a row is never taller than a page
BAR_MM = 1.0
WANTED_MM = 62.0  # ours: what the longest cell of a column may ask for before it is broken into lines
BREAK = "\u200b"
"""Zero-width space (Unicode 23.2): where a word that is wider than its column may go on in the next line."""


@dataclasses.dataclass(frozen=True)
class Row:
    """Cells, the things that the index finds here, and whether it is set in heavy letters with a bar before it."""

    cells: tuple[str, ...]
    marks: tuple[str, ...] = ()
    strong: bool = False


@dataclasses.dataclass(frozen=True)
class Listing:
    """Rows under named columns, as `blocks.Table` aligns them; `ranged` puts its first and last tag at the head of the page."""

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    align: str
    ranged: bool = False


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A drawing for pages of its own, with the things that the index finds on it; what is not `to_scale` may be shrunk a little."""

    svg: str
    title: str
    marks: tuple[str, ...] = ()
    to_scale: bool = True


Part = Block | Listing | Drawn


@dataclasses.dataclass(frozen=True)
class Chapter:
    """A chapter: its title, the one word by which the index calls it, and whether it begins a page."""

    title: str
    short: str
    parts: tuple[Part, ...]
    fresh: bool = True


KINDS_BY_COLUMN = {
    "end": "end",
    "run": "end",
    "cable": "cable",
    "outlet": "outlet",
    "port": "port",
    "unit": "unit",
    "UPS": "unit",
    "device": "unit",
    "room": "room",
}
"""Which kind of thing a column of tags names."""


def listed(block: Block, *, ranged: bool = False) -> Part:
    """A table of any answer as a listing: the tags of its first column are found by the index."""
    if not isinstance(block, Table):
        return block
    kind = KINDS_BY_COLUMN.get(block.columns[0], "") if block.align[0] == "m" else ""
    rows = tuple(Row(row, (f"{kind}:{row[0]}",) if kind else ()) for row in block.rows)
    return Listing(block.columns, rows, block.align, ranged)


def listing_data(part: Listing, letters_: Letters, number_of: Mapping[str, int]) -> dict[str, Any]:
    """A listing as the template takes it: finished cells, widths in millimetres, numbers of the index."""
    columns = [letters_.printable(name) for name in part.columns]
    rows = [[_cut(letters_.printable(cell)) for cell in row.cells] for row in part.rows]
    widths = widths_mm(columns, rows, part.align)
    room = [w - 2 * INSET_PT * PT_MM for w in widths]
    cells = [[_breakable(c, part.align[i], room[i]) for i, c in enumerate(row)] for row in rows]
    return {
        "kind": "listing",
        "columns": columns,
        "align": part.align,
        "widths": [round(w, 2) for w in widths],
        "rows": cells,
        "marks": [[number_of[m] for m in row.marks if m in number_of] for row in part.rows],
        "strong": [row.strong for row in part.rows],
        "ranged": part.ranged,
    }


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_CELL else text[: LONGEST_CELL - 2].rstrip() + " …"


def _width_mm(text: str, kind: str, *, bold: bool = False) -> float:
    face = MONO if kind == "m" else BOLD if bold else SANS
    return letters(face).width(text) * SIZE_PT * PT_MM


def widths_mm(columns: Sequence[str], rows: Sequence[Sequence[str]], align: str) -> list[float]:
    """Widths that fill the page: no column narrower than its longest word while there is room, the rest by what is wanted."""
    least, want, full = [], [], []
    for n, name in enumerate(columns):
        cells = dict.fromkeys([name, *(row[n] for row in rows)])
        words = dict.fromkeys(w for cell in cells for w in cell.split())
        around = 2 * INSET_PT * PT_MM + 0.3 + (BAR_MM if n == 0 else 0)
        longest = max((_width_mm(c, align[n], bold=n == 0) for c in cells), default=4.0)
        word = max((_width_mm(w, align[n], bold=n == 0) for w in words), default=4.0)
        least.append(word + around)
        want.append(max(min(longest, WANTED_MM), word) + around)
        full.append(longest + around)
    if sum(least) >= TEXT_MM:
        return [low * TEXT_MM / sum(least) for low in least]
    if sum(want) > TEXT_MM:
        return _towards(least, want)
    if sum(full) > TEXT_MM:
        return _towards(want, full)
    return [*full[:-1], TEXT_MM - sum(full[:-1])]


def _towards(low: Sequence[float], high: Sequence[float]) -> list[float]:
    """Between two sets of widths, so far that they fill the page."""
    share = (TEXT_MM - sum(low)) / (sum(high) - sum(low))
    return [a + share * (b - a) for a, b in zip(low, high, strict=True)]


def _breakable(text: str, kind: str, room_mm: float) -> str:
    """The text with places to break in words that are wider than their column."""
    if _width_mm(text, kind, bold=True) <= room_mm:
        return text
    return " ".join(_parted(word, kind, room_mm) for word in text.split(" "))


def _parted(word: str, kind: str, room_mm: float) -> str:
    if _width_mm(word, kind, bold=True) <= room_mm:
        return word
    done, line = "", ""
    for letter in word:
        if line and _width_mm(line + letter, kind, bold=True) > room_mm:
            done, line = done + line + BREAK, ""
        line += letter
    return done + line


def flat(chapters: Iterable[Chapter]) -> list[str]:
    """Everything that the index can find, each once."""
    found: dict[str, None] = {}
    for chapter in chapters:
        for part in chapter.parts:
            if isinstance(part, Drawn):
                found |= dict.fromkeys(part.marks)
            elif isinstance(part, Listing):
                found |= dict.fromkeys(m for row in part.rows for m in row.marks)
    return list(found)


def head(text: str) -> Heading:
    """A heading inside a chapter."""
    return Heading(text, 2)


def para(text: str) -> Para:
    """A plain paragraph."""
    return Para(text)

"""A page, or ready drawings, as PDF or PNG: only the packaged faces and no clock, so equal input gives equal bytes.

Text goes in as JSON and is placed as strings; nothing a person wrote is ever read as markup.
"""

from __future__ import annotations

import dataclasses
import functools
import json
import re
from collections.abc import Sequence
from importlib import resources
from typing import Any, Literal

import typst

from pullstring.papers.blocks import Block, Drawing, Heading, Page, Para, Table
from pullstring.papers.book_letters import Letters
from pullstring.papers.ink import font_folder

Form = Literal["pdf", "png"]
_SIZE = re.compile(r'<svg[^>]*\swidth="([0-9.]+)mm" height="([0-9.]+)mm"')
LONGEST_AUTO = 14  # letters; a wider column shares the rest of the width
PAPERS_MM = {
    "A4": (210, 297),
    "A3": (297, 420),
    "A2": (420, 594),
    "A1": (594, 841),
    "A0": (841, 1189),
}  # ISO 216
TEXT_MM = (178, 250)  # what stands between the edges of `page.typ`
EDGE_MM = 7.0  # ours: most printers leave 4 to 6 mm white


class TooLarge(ValueError):
    """A drawing does not fit the largest sheet."""


@dataclasses.dataclass(frozen=True)
class Placed:
    """An SVG at a place on a sheet; lengths in millimetres from the top left corner."""

    svg: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    says: str = ""


def pdf_page(page: Page) -> bytes:
    """The page on A4, as many sheets as it needs."""
    letters = Letters()
    data = {
        "title": letters.printable(page.title),
        "footer": letters.printable(page.footer),
        "blocks": [block_data(block, letters) for block in page.blocks],
    }
    return made("page.typ", data)


def sheets(
    pages: Sequence[Sequence[Placed]],
    *,
    width_mm: float,
    height_mm: float,
    title: str,
    form: Form = "pdf",
    ppi: float | None = None,
) -> bytes:
    """Placed drawings on sheets of one size, as `pdf`, or as `png` when there is one sheet."""
    if form == "png" and len(pages) != 1:
        raise ValueError(f"a picture holds one sheet, not {len(pages)}")
    letters = Letters()
    data = {
        "title": letters.printable(title),
        "width": width_mm,
        "height": height_mm,
        "sheets": [
            [
                {
                    "svg": letters.drawing(p.svg),
                    "x": p.x_mm,
                    "y": p.y_mm,
                    "width": p.width_mm,
                    "height": p.height_mm,
                    "says": letters.printable(p.says),
                }
                for p in page
            ]
            for page in pages
        ],
    }
    return made("sheet.typ", data, form=form, ppi=ppi)


def drawing_sheet(svg: str, *, title: str, form: Form = "pdf", ppi: float | None = None) -> bytes:
    """A drawing at its own scale on the smallest sheet, A4 to A0 and turned as fits best, that holds it."""
    width, height = size_mm(svg)
    for short, long in PAPERS_MM.values():
        for sheet_w, sheet_h in ((short, long), (long, short)):
            if width <= sheet_w - 2 * EDGE_MM and height <= sheet_h - 2 * EDGE_MM:
                placed = Placed(svg, (sheet_w - width) / 2, (sheet_h - height) / 2, width, height, title)
                return sheets([[placed]], width_mm=sheet_w, height_mm=sheet_h, title=title, form=form, ppi=ppi)
    raise TooLarge(
        f"{title}: the drawing is {width:.0f} by {height:.0f} mm and fits no sheet up to A0; draw it at a "
        "smaller scale, for example 1:200"
    )


def sheets_of_a4(drawings: Sequence[tuple[str, str]], *, title: str) -> bytes:
    """Drawings with their titles, each in the middle of an A4 upright; they were made to fit it."""
    width, height = PAPERS_MM["A4"]
    pages = []
    for says, svg in drawings:
        w, h = size_mm(svg)
        pages.append([Placed(svg, (width - w) / 2, (height - h) / 2, w, h, says)])
    return sheets(pages, width_mm=width, height_mm=height, title=title)


def size_mm(svg: str) -> tuple[float, float]:
    """Width and height that an SVG of ours states, in millimetres."""
    found = _SIZE.search(svg)
    if not found:
        raise ValueError("the drawing does not state its width and height in mm")
    return float(found[1]), float(found[2])


def block_data(block: Block, letters: Letters) -> dict[str, Any]:
    """A block as the templates take it, in letters that print."""
    if isinstance(block, Heading):
        return {"kind": "heading", "text": letters.printable(block.text), "level": block.level}
    if isinstance(block, Para):
        return {"kind": "para", "spoken": letters.printable(block.spoken), "tone": block.tone}
    if isinstance(block, Drawing):
        width, height = size_mm(block.svg)
        if width > TEXT_MM[0] or height > TEXT_MM[1]:
            raise TooLarge(
                f"{block.says}: the drawing is {width:.0f} by {height:.0f} mm and the page holds {TEXT_MM[0]} by "
                f"{TEXT_MM[1]} mm; print it as a sheet of its own"
            )
        svg, says = letters.drawing(block.svg), letters.printable(block.says)
        return {"kind": "drawing", "svg": svg, "says": says, "width": width, "height": height}
    return {"kind": "table", **table_data(block, letters)}


def table_data(table: Table, letters: Letters) -> dict[str, Any]:
    """Columns, rows and the share of the width that each column asks."""
    columns = [letters.printable(name) for name in table.columns]
    rows = [[letters.printable(cell) for cell in row] for row in table.rows]
    longest = [max(len(cell) for cell in column) for column in zip(columns, *rows, strict=True)]
    shares = [
        0 if n <= LONGEST_AUTO or kind == "r" else min(n, 3 * LONGEST_AUTO)
        for n, kind in zip(longest, table.align, strict=True)
    ]
    return {"columns": columns, "rows": rows, "align": table.align, "shares": shares}


@functools.cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(font_folder())])


def made(
    template: str, data: dict[str, Any], *, form: Form = "pdf", ppi: float | None = None, archive: bool = False
) -> bytes:
    """A template with its data as bytes; `archive` keeps to PDF/A-2b (ISO 19005-2)."""
    source = (resources.files("pullstring.papers") / template).read_bytes()
    done = typst.compile(
        source,
        format=form,
        ppi=ppi,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        timestamp=0,
        pdf_standards=["a-2b"] if archive else [],
        sys_inputs={"page": json.dumps(data, ensure_ascii=False, sort_keys=True)},
    )
    assert isinstance(done, bytes)
    return done

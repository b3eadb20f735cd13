"""Drawn labels put on sheets, on tape and on flags, with the place of each, so that others can be held against it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

from pullstring.papers import svg
from pullstring.papers.ink import Inks
from pullstring.papers.labels import BadLabel, rule_of
from pullstring.papers.labels_art import Art, Piece, drawn, natural_mm, planned
from pullstring.papers.labels_strips import Strip, drawn_strip
from pullstring.papers.sheet_geometry import RULE_MM, Sheet, Tape
from pullstring.papers.typst_page import Placed

LONGEST_MM = {12.0: 95.0, 24.0: 120.0}  # ours: a label that is longer than so is cut instead, by the tape's height
CUT_MM = 4.0  # ours: white between two labels on tape, with the cut mark in its middle
CABLE_MM = (3.0, 8.0)  # diameters for which a flag is made: thinner tears the paper, thicker hides its words


@dataclasses.dataclass(frozen=True)
class Spot:
    """Where a label lies on its page, and its code there; lengths in millimetres from the page's top left corner."""

    page: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    code: str | None
    code_mm: tuple[float, float, float] | None
    says: str


@dataclasses.dataclass(frozen=True)
class Laid:
    """Pages of one size with what lies on them; `cut` names by label what did not fit."""

    pages: tuple[tuple[Placed, ...], ...]
    width_mm: float
    height_mm: float
    spots: tuple[Spot, ...]
    cut: tuple[tuple[str, str], ...]
    ruled: bool


def style_of(kind: str, inks: Inks) -> str:
    """The style of a label; only what must not be touched is red, where there is red ink."""
    colour = inks.red if kind == "protected" else "#000000"
    return (
        '.plan .tag{font-family:"B612 Mono";font-weight:700;fill:#000000}'
        ".plan .small{font-family:B612;font-weight:400;fill:#000000}"
        f".plan .bold{{font-family:B612;font-weight:700;fill:{colour}}}"
        ".plan .white{font-family:B612;font-weight:700;fill:#ffffff}"
        '.plan .whitetag{font-family:"B612 Mono";font-weight:700;fill:#ffffff}'
        '.plan .mono{font-family:"B612 Mono";font-weight:400;fill:#000000}'
        f".plan .qr{{fill:#000000}}.plan .paper{{fill:#ffffff}}.plan .mark{{fill:{colour};stroke:none}}"
        f".plan .solid{{fill:{colour};stroke:none}}.plan .line{{fill:none;stroke:#000000}}"
        ".plan .dashed{stroke-dasharray:2.4 1.4}.plan .fold{fill:none;stroke:#000000;stroke-width:0.15;stroke-dasharray:1 1}"
    )


def document(parts: Sequence[str], kind: str, inks: Inks, *, width_mm: float, height_mm: float, says: str) -> str:
    """The SVG of one label."""
    paper = svg.rect((0, 0), width_mm, height_mm, "paper")
    return svg.document(
        [paper, *parts], width=width_mm, height=height_mm, mm_per_unit=1, style=style_of(kind, inks), says=says
    )


def refuse_diameter(cable_mm: float) -> None:
    """Raise BadLabel for a cable round which no flag is made."""
    least, most = CABLE_MM
    if not least <= cable_mm <= most:
        raise BadLabel(f"flags: {cable_mm:g} mm is no cable for a flag; give its diameter, {least:g} to {most:g} mm")


@dataclasses.dataclass(frozen=True)
class Shape:
    """How pieces are drawn: plain, or as flags round a cable of this diameter. [mm]"""

    inks: Inks
    cable_mm: float | None

    @property
    def wrap_mm(self) -> float:
        """What lies round the cable: its circumference. [mm]"""
        return 0.0 if self.cable_mm is None else math.pi * self.cable_mm

    def natural_mm(self, piece: Piece | Strip, *, height_mm: float) -> float:
        """Length on tape."""
        if isinstance(piece, Strip):
            return piece.length_mm
        longest = LONGEST_MM.get(height_mm, 120.0)
        once = natural_mm(piece, height_mm=height_mm, longest_mm=longest)
        return once if self.cable_mm is None else 2 * once + self.wrap_mm

    def art(
        self, piece: Piece | Strip, *, width_mm: float, height_mm: float
    ) -> tuple[Art, list[tuple[float, float, float]]]:
        """The label drawn, and where its codes lie on it: left, top and side."""
        if isinstance(piece, Strip):
            return drawn_strip(piece, height_mm=height_mm), []
        each = width_mm if self.cable_mm is None else (width_mm - self.wrap_mm) / 2
        if self.cable_mm is not None and each < 15:
            raise BadLabel(
                f"flags: {width_mm:g} mm is too short to go round {self.cable_mm:g} mm of cable; take a longer label or tape"
            )
        art = drawn(piece, width_mm=each, height_mm=height_mm)
        code = planned(piece, width_mm=each, height_mm=height_mm).code
        at = [] if code is None or piece.code is None else [(code.x, code.y, code.w)]
        if self.cable_mm is None:
            return art, at
        shift = each + self.wrap_mm
        parts = [
            *art.parts,
            f'<g transform="translate({svg.num(shift)} 0)">{"".join(art.parts)}</g>',
            *(
                svg.stroke(svg.path([(x, 0), (x, height_mm)]), "fold")
                for x in (each, width_mm / 2, each + self.wrap_mm)
            ),
        ]
        return Art(tuple(parts), art.cut), [*at, *((x + shift, y, side) for x, y, side in at)]


def on_sheet(pieces: Sequence[Piece | Strip], sheet: Sheet, shape: Shape) -> Laid:
    """Labels on the free places of a sheet, and on as many more as they need, each sheet with its rule."""
    if not sheet.free():
        gone = max(sheet.used, len(sheet.taken))
        raise BadLabel(f"labels: {gone} places are used of {sheet.places}; take a new sheet")
    pages: list[list[Placed]] = []
    spots: list[Spot] = []
    cut: list[tuple[str, str]] = []
    for piece, (page, place) in zip(pieces, sheet.spots(), strict=False):
        while page >= len(pages):
            pages.append(rule_of(sheet))
        x, y, w, h = sheet.printed(place)
        art, codes = shape.art(piece, width_mm=w, height_mm=h)
        picture = document(art.parts, piece.kind, shape.inks, width_mm=w, height_mm=h, says=piece.says)
        pages[page].append(Placed(picture, x, y, w, h, piece.says))
        spots += _spots(piece, page, x, y, w, h, codes)
        cut += [(piece.says, words) for words in art.cut]
    ruled = sheet.rule_box() is not None
    return Laid(tuple(map(tuple, pages)), sheet.width_mm, sheet.height_mm, tuple(spots), tuple(cut), ruled)


def _spots(
    piece: Piece | Strip, page: int, x: float, y: float, w: float, h: float, codes: Sequence[tuple[float, float, float]]
) -> list[Spot]:
    if not codes:
        return [Spot(page, x, y, w, h, None, None, piece.says)]
    return [Spot(page, x, y, w, h, piece.code, (x + cx, y + cy, side), piece.says) for cx, cy, side in codes]


def on_tape(pieces: Sequence[Piece | Strip], tape: Tape, shape: Shape) -> Laid:
    """Labels one after the other on strips of tape, a cut mark after each, at the end a rule of 100 mm."""
    h = tape.height_mm
    lengths = [shape.natural_mm(piece, height_mm=h) for piece in pieces]
    rule = Sheet("rule", RULE_MM + 4, h, 1, 1, RULE_MM + 4, h, rule_at=(0, 0))
    strips: list[list[tuple[Piece | Strip | None, float]]] = [[]]
    filled = 0.0
    for piece, length in (*zip(pieces, lengths, strict=True), (None, rule.width_mm)):
        if filled and filled + length > tape.strip_mm:
            strips.append([])
            filled = 0.0
        strips[-1].append((piece, length))
        filled += length + CUT_MM
    width = max(sum(length + CUT_MM for _, length in strip) for strip in strips)
    pages: list[tuple[Placed, ...]] = []
    spots: list[Spot] = []
    cut: list[tuple[str, str]] = []
    for page, strip in enumerate(strips):
        placed, x = [], 0.0
        for piece, length in strip:
            if piece is None:
                placed += [dataclasses.replace(p, x_mm=x) for p in rule_of(rule)]
            else:
                art, codes = shape.art(piece, width_mm=length, height_mm=h)
                picture = document(art.parts, piece.kind, shape.inks, width_mm=length, height_mm=h, says=piece.says)
                placed.append(Placed(picture, x, 0.0, length, h, piece.says))
                spots += _spots(piece, page, x, 0.0, length, h, codes)
                cut += [(piece.says, words) for words in art.cut]
            placed.append(_cut_mark(x + length, h, shape.inks))
            x += length + CUT_MM
        pages.append(tuple(placed))
    return Laid(tuple(pages), width, h, tuple(spots), tuple(cut), True)


def _cut_mark(x: float, height: float, inks: Inks) -> Placed:
    """A dashed line across the tape in the middle of the white between two labels."""
    line = svg.stroke(svg.path([(CUT_MM / 2, 0), (CUT_MM / 2, height)]), "fold")
    picture = document([line], "plain", inks, width_mm=CUT_MM, height_mm=height, says="cut here")
    return Placed(picture, x, 0.0, CUT_MM, height, "cut here")

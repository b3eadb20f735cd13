"""Sheets of labels and tape by their millimetres: our own generic sizes as data, and any other from a short text.

A sheet is what is bought: its size, its labels, the gaps between them. Places that are gone are skipped. On every sheet
stands a rule of 100 mm, for printers scale; it stands in the white edge where that is high enough, else over the last
places.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
from collections.abc import Iterator

RULE_MM = 100.0
EDGE_MM = 5.0  # ours: what most printers leave white
RULE_HEIGHT_MM = 7.0  # the rule with its sentence


class BadSheet(ValueError):
    """A sheet cannot be as it is described; one sentence for each fault."""


@dataclasses.dataclass(frozen=True)
class Sheet:
    """A sheet of labels, all lengths in millimetres; `used` places at its start are gone already, and so are `taken`.

    `rule_at` is the place (column, row) over which a rule of 100 mm is printed: whoever measures it knows whether the
    printer kept the scale. Places from there on hold no label. `corner_mm` is the radius of a label's corners.
    """

    name: str
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    label_w_mm: float
    label_h_mm: float
    left_mm: float = 0.0
    top_mm: float = 0.0
    used: int = 0
    rule_at: tuple[int, int] | None = None
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0
    corner_mm: float = 0.0
    taken: frozenset[int] = frozenset()

    @property
    def places(self) -> int:
        """How many labels one sheet holds."""
        return self.rule_at[1] * self.columns + self.rule_at[0] if self.rule_at else self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Top left corner of a place, counted along the rows from 0."""
        return (
            self.left_mm + place % self.columns * (self.label_w_mm + self.gap_x_mm),
            self.top_mm + place // self.columns * (self.label_h_mm + self.gap_y_mm),
        )

    def printed(self, place: int) -> tuple[float, float, float, float]:
        """Left, top, width and height of what is printed of a label: all but what lies in the white that printers leave.

        A piece that holds a single label comes from a label printer, which prints to its edge.
        """
        x, y = self.corner(place)
        right, low = x + self.label_w_mm, y + self.label_h_mm
        if self.columns * self.rows > 1:
            x, y = max(x, EDGE_MM), max(y, EDGE_MM)
            right, low = min(right, self.width_mm - EDGE_MM), min(low, self.height_mm - EDGE_MM)
        return x, y, right - x, low - y

    def free(self) -> list[int]:
        """Places of the first sheet on which nothing was printed yet."""
        return [n for n in range(self.used, self.places) if n not in self.taken]

    def spots(self) -> Iterator[tuple[int, int]]:
        """Page and place of one label after the other, without end; what is gone is gone on the first sheet only."""
        yield from ((0, place) for place in self.free())
        for page in itertools.count(1):
            yield from ((page, place) for place in range(self.places))

    def with_used(self, used: int | frozenset[int]) -> Sheet:
        """The sheet with so many places gone at its start, or with just these places gone."""
        if isinstance(used, int):
            return dataclasses.replace(self, used=used, taken=frozenset())
        return dataclasses.replace(self, used=0, taken=used)

    def rule_box(self) -> tuple[float, float, float, float] | None:
        """Where the rule of 100 mm stands: left, top, width and height; None on what is too narrow for it.

        In the white edge below or above the labels, else over the places from `rule_at` on.
        """
        if self.rule_at:
            column, row = self.rule_at
            x, y = self.corner(row * self.columns + column)
            return x, y, (self.columns - column) * (self.label_w_mm + self.gap_x_mm) - self.gap_x_mm, self.label_h_mm
        if self.width_mm < RULE_MM + 2 * EDGE_MM:
            return None
        below = self.top_mm + self.rows * (self.label_h_mm + self.gap_y_mm) - self.gap_y_mm
        if self.height_mm - below >= RULE_HEIGHT_MM + EDGE_MM:
            return 0.0, below, self.width_mm, self.height_mm - below - EDGE_MM
        if self.top_mm >= RULE_HEIGHT_MM + EDGE_MM:
            return 0.0, EDGE_MM, self.width_mm, self.top_mm - EDGE_MM
        return None

    def ruled(self) -> Sheet:
        """The sheet with its last places given to the rule, where there is no white edge for it."""
        if self.rule_at or self.rule_box() or self.width_mm < RULE_MM + 2 * EDGE_MM:
            return self
        pitch = self.label_w_mm + self.gap_x_mm
        wide = math.ceil((RULE_MM + 2 + self.gap_x_mm) / pitch)
        if wide <= self.columns and self.rows * self.columns > wide:
            return dataclasses.replace(self, rule_at=(self.columns - wide, self.rows - 1))
        return self


@dataclasses.dataclass(frozen=True)
class Tape:
    """Continuous tape: each label as long as it needs, a cut mark after each. `strip_mm` is the longest piece at a time."""

    name: str
    height_mm: float
    strip_mm: float


TAPE_60X12 = Sheet("tape 60 x 12 mm", 60, 12, 1, 1, 60, 12)
A4_70X37 = Sheet("A4, 24 labels of 70 x 37 mm", 210, 297, 3, 8, 70, 37, top_mm=0.5, rule_at=(1, 7))
A4_105X57 = Sheet("A4, 10 labels of 105 x 57 mm", 210, 297, 2, 5, 105, 57, top_mm=6.0, rule_at=(0, 4))
A4_63X38 = Sheet(
    "A4, 21 labels of 63.5 x 38.1 mm",
    210,
    297,
    3,
    7,
    63.5,
    38.1,
    left_mm=7.25,
    top_mm=15.15,
    gap_x_mm=2.5,
    corner_mm=1.5,
)
A4_48X25 = Sheet(
    "A4, 40 labels of 48.5 x 25.4 mm", 210, 297, 4, 10, 48.5, 25.4, left_mm=8.0, top_mm=21.5, corner_mm=1.0
)
LETTER_66X25 = Sheet(
    "letter, 30 labels of 66.7 x 25.4 mm", 215.9, 279.4, 3, 10, 66.7, 25.4, left_mm=4.75, top_mm=12.7, gap_x_mm=3.15,
    corner_mm=1.5,
)  # fmt: skip
TAPE_12 = Tape("tape 12 mm", 12.0, 1000.0)
TAPE_24 = Tape("tape 24 mm", 24.0, 1000.0)
SHEETS = {"tape": TAPE_60X12, "a4": A4_70X37}
MEDIA: dict[str, Sheet | Tape] = {
    "tape12": TAPE_12,
    "tape24": TAPE_24,
    "tape60": TAPE_60X12,
    "a4": A4_70X37,
    "a4-10": A4_105X57,
    "a4-21": A4_63X38,
    "a4-40": A4_48X25,
    "letter-30": LETTER_66X25,
}
"""Generic sizes, ours, by the millimetre; whoever has another sheet measures it and writes it as text: see `sheet_of`."""

_NUMBER = r"([0-9]+(?:\.[0-9]+)?)"
_SHEET = re.compile(
    rf"{_NUMBER}x{_NUMBER} ([0-9]+)x([0-9]+) {_NUMBER}x{_NUMBER}"
    rf"(?: left {_NUMBER})?(?: top {_NUMBER})?(?: gap {_NUMBER} {_NUMBER})?(?: corner {_NUMBER})?"
)
HOW = "write sheet, columns x rows, label, in mm: 210x297 3x8 70x37 left 0 top 0.5 gap 0 0"


def medium(text: str) -> Sheet | Tape:
    """A named sheet or tape, or a sheet written in millimetres."""
    known = MEDIA.get(text.strip().casefold())
    if known is not None:
        return known.ruled() if isinstance(known, Sheet) else known
    if not text.strip()[:1].isdigit():
        raise BadSheet(f"sheet {text!r}: there is no such sheet; there are {', '.join(MEDIA)}; or {HOW}")
    return sheet_of(text)


def sheet_of(text: str) -> Sheet:
    """A sheet from a short text in millimetres: `210x297 3x8 70x37 left 0 top 0.5 gap 0 0`.

    Size of the sheet, columns x rows, size of a label; then as needed the white edge left and above, the gaps between
    labels sideways and down, the radius of the corners. All faults are told at once.
    """
    found = _SHEET.fullmatch(" ".join(text.split()))
    if found is None:
        raise BadSheet(f"sheet {text!r}: this is no sheet; {HOW}")
    width, height, columns, rows, label_w, label_h, left, top, gap_x, gap_y, corner = (
        float(g or 0) for g in found.groups()
    )
    made = Sheet(
        text, width, height, int(columns), int(rows), label_w, label_h, left, top,
        gap_x_mm=gap_x, gap_y_mm=gap_y, corner_mm=corner,
    )  # fmt: skip
    if faults := _faults(made):
        raise BadSheet("; ".join(f"sheet {text!r}: {fault}" for fault in faults))
    return made.ruled()


LONGEST_MM = 1200.0  # ours: no office printer takes more
LEAST_W_MM, LEAST_H_MM = 20.0, 8.0  # ours: below this no code and no letter fits


def _faults(sheet: Sheet) -> list[str]:
    faults = []
    if sheet.columns < 1 or sheet.rows < 1 or sheet.columns * sheet.rows > 1000:
        faults.append(f"{sheet.columns}x{sheet.rows} labels; a sheet has 1 to 1000")
    if not (0 < sheet.width_mm <= LONGEST_MM and 0 < sheet.height_mm <= LONGEST_MM):
        faults.append(
            f"{sheet.width_mm:g} by {sheet.height_mm:g} mm; a side is more than 0 and at most {LONGEST_MM:g} mm"
        )
    if sheet.label_w_mm < LEAST_W_MM or sheet.label_h_mm < LEAST_H_MM:
        faults.append(
            f"labels of {sheet.label_w_mm:g} by {sheet.label_h_mm:g} mm; the smallest is {LEAST_W_MM:g} by {LEAST_H_MM:g} mm"
        )
    wide = sheet.left_mm + sheet.columns * (sheet.label_w_mm + sheet.gap_x_mm) - sheet.gap_x_mm
    high = sheet.top_mm + sheet.rows * (sheet.label_h_mm + sheet.gap_y_mm) - sheet.gap_y_mm
    if wide > sheet.width_mm + 0.01:
        faults.append(f"its columns reach {wide:g} mm and it is {sheet.width_mm:g} mm wide")
    if high > sheet.height_mm + 0.01:
        faults.append(f"its rows reach {high:g} mm and it is {sheet.height_mm:g} mm high")
    return faults

"""The coefficients of twisted-pair limits, read from `limits.csv`, and the few forms that they are coefficients of.

Inside the table f is in MHz and cable is 100 m long, as the standards print them; outside everything is SI.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import math
from collections.abc import Mapping

from pullstring.model.answers import Limit


@dataclasses.dataclass(frozen=True)
class Piece:
    """One row of `limits.csv`: a form, its coefficients, and where it holds."""

    edition: str
    standard: str
    part: str
    category: str
    quantity: str
    form: str
    over: str
    low: float
    high: float
    a: float
    b: float
    c: float
    least: float
    most: float
    unit: str
    provenance: str

    def line(self, x: float) -> float:
        """The form without floor and cap; also beyond its range, for whoever asks for that by name."""
        a, b, c = self.a, self.b, self.c
        match self.form:
            case "flat":
                return a
            case "roots":
                return a * math.sqrt(x) + b * x + c / math.sqrt(x)
            case "log":
                return a - b * math.log10(x / c)
            case "inverse root":
                return a + b / math.sqrt(x)
            case "power":
                return math.pow(x, b) * a + c / x
            case "line":
                return a + b * (x - self.low)
            case "points":
                return a + (b - a) * (x - self.low) / (self.high - self.low)
        raise AssertionError(f"limits.csv: {self.form!r} is made of other rows and has no line of its own")

    def bounded(self, value: float) -> float:
        """A value within the floor and the cap of the printed table."""
        return min(max(value, self.least), self.most)

    def limit(self, *, value: float, unit: str) -> Limit:
        """That value as a limit of this row's standard."""
        name = f"{self.standard}, {self.part} of {self.category}" if self.category != "any" else self.standard
        return Limit(value, unit, name, self.provenance)


def category_key(category: str) -> str:
    """A category or class as the table writes it: `Cat 5e`, `cat5e` and `5E` are `5e`; `class EA` is `EA`."""
    word = category.strip().casefold()
    for start in ("category", "class", "cat"):
        word = word.removeprefix(start).strip()
    known = {name.casefold(): name for name in ("3", "5", "5e", "6", "6A", "C", "D", "E", "EA")}
    if word not in known:
        raise ValueError(f"category {category!r}: no limits are held for it; give one of {', '.join(known.values())}")
    return known[word]


@functools.cache
def pieces_by_use() -> Mapping[tuple[str, str, str], tuple[Piece, ...]]:
    """All rows by part, category and quantity, in the order of the table."""
    text = importlib.resources.files("pullstring.copper").joinpath("limits.csv").read_text(encoding="utf-8")
    found: dict[tuple[str, str, str], list[Piece]] = {}
    for row in csv.DictReader(text.splitlines()):
        found.setdefault((row["part"], row["category"], row["quantity"]), []).append(_piece(row))
    return {use: tuple(rows) for use, rows in found.items()}


def _piece(row: Mapping[str, str]) -> Piece:
    def number(column: str, blank: float) -> float:
        return float(row[column]) if row[column] else blank

    words = ("edition", "standard", "part", "category", "quantity", "form", "over", "unit", "provenance")
    return Piece(
        low=number("from", -math.inf),
        high=number("to", math.inf),
        a=number("a", 0.0),
        b=number("b", 0.0),
        c=number("c", 0.0),
        least=number("least", -math.inf),
        most=number("most", math.inf),
        **{word: row[word] for word in words},
    )


@dataclasses.dataclass(frozen=True)
class Curve:
    """The rows of one quantity of one part and category in one edition, low to high."""

    pieces: tuple[Piece, ...]

    def at(self, x: float) -> Piece:
        """The row that holds at x; where two meet, the first. Outside all of them a ValueError."""
        for piece in self.pieces:
            if piece.low <= x <= piece.high:
                return piece
        low, high = min(p.low for p in self.pieces), max(p.high for p in self.pieces)
        first = self.pieces[0]
        raise ValueError(
            f"{first.part} of {first.category}: its {first.quantity} holds from {low:g} to {high:g} {first.over}, "
            f"and {x:g} {first.over} is outside; stay inside, or ask by name for the extrapolated value"
        )

    def nearest(self, x: float) -> Piece:
        """The row that holds at x, or the one whose end is nearest."""
        return min(self.pieces, key=lambda piece: max(piece.low - x, x - piece.high, 0.0))


def curve(*, part: str, category: str, quantity: str, edition: str | None) -> Curve:
    """The curve of that edition; without an edition, of the newest held. ValueError where none is held."""
    held = _held(part, category, quantity)
    wanted = edition if edition is not None or not held else held[-1].edition
    if found := tuple(piece for piece in held if piece.edition == wanted):
        return Curve(found)
    editions = sorted({piece.edition for piece in held})
    right = f"give {' or '.join(editions)}" if editions else "ask for another quantity or category"
    of = "" if edition is None else f" in {edition}"
    raise ValueError(f"{part} of {category}: no {quantity} is held{of}; {right}")


def borrowed(*, part: str, category: str, quantity: str, edition: str) -> Curve:
    """The curve of a part of a sum: of that edition if it has its own, else of another, for links borrow cable."""
    own = any(piece.edition == edition for piece in _held(part, category, quantity))
    return curve(part=part, category=category, quantity=quantity, edition=edition if own else None)


def in_mhz(*, frequency_hz: float) -> float:
    """A frequency as the table has it. [MHz]

    Parameters
    ----------
    frequency_hz : float
        Above zero. [Hz]

    References
    ----------
    A million hertz. Checked in ``tests/copper/test_limits.py``.
    """
    if not 0 < frequency_hz < math.inf:
        raise ValueError(f"frequency {frequency_hz:g} Hz: a limit needs a frequency; give one above zero")
    return frequency_hz / 1e6


def _held(part: str, category: str, quantity: str) -> tuple[Piece, ...]:
    uses = pieces_by_use()
    return uses.get((part, category, quantity), ()) or uses.get((part, "any", quantity), ())

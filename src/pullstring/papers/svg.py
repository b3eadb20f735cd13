"""The few SVG marks our drawings are made of; numbers rounded so that equal drawings are equal bytes."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

Point = tuple[float, float]
DECIMALS = 3  # a hundredth of a millimetre on paper at 1:100


def num(value: float) -> str:
    """A coordinate, short and without a minus zero."""
    text = f"{round(value, DECIMALS) + 0.0:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@dataclasses.dataclass(frozen=True)
class Sheet:
    """Turns the building's axes (y up) into the drawing's (y down), from the top left corner of what is drawn."""

    left_m: float
    top_m: float

    def pt(self, point: Sequence[float]) -> Point:
        """A point of the building on the drawing."""
        return point[0] - self.left_m, self.top_m - point[1]

    def path(self, points: Iterable[Sequence[float]], *, closed: bool = False) -> str:
        """Path data through points of the building."""
        return path([self.pt(p) for p in points], closed=closed)


def path(points: Iterable[Sequence[float]], *, closed: bool = False) -> str:
    """Path data through points of the drawing."""
    return "M" + "L".join(f"{num(x)} {num(y)}" for x, y, *_ in points) + ("Z" if closed else "")


def stroke(data: str, css: str, *, fill: str = "") -> str:
    """A path element; `fill` names a pattern."""
    return f'<path class="{css}" d="{data}"' + (f' fill="url(#{fill})"' if fill else "") + "/>"


def text(words: str, at: Sequence[float], css: str, *, anchor: str = "start") -> str:
    """Letters on their base line; what people wrote is escaped."""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text class="{css}" x="{num(at[0])}" y="{num(at[1])}"{where}>{escape(words)}</text>'


def group(parts: Iterable[str], css: str, *, layer: str = "", ref: str = "", title: str = "") -> list[str]:
    """Parts that belong together: a layer that can be switched, or a thing that can be asked about; nothing if empty."""
    inner = list(parts)
    if not inner:
        return []
    named = "".join(
        f" {name}={quoteattr(value)}" for name, value in (("data-layer", layer), ("data-ref", ref)) if value
    )
    told = [f"<title>{escape(title)}</title>"] if title else []
    return [f'<g class="{css}"{named}>', *told, *inner, "</g>"]


def circle(at: Sequence[float], radius: float, css: str) -> str:
    """A circle of the drawing."""
    return f'<circle class="{css}" cx="{num(at[0])}" cy="{num(at[1])}" r="{num(radius)}"/>'


def rect(at: Sequence[float], width: float, height: float, css: str, *, fill: str = "") -> str:
    """An upright rectangle of the drawing from its top left corner."""
    pattern = f' fill="url(#{fill})"' if fill else ""
    return (
        f'<rect class="{css}" x="{num(at[0])}" y="{num(at[1])}" width="{num(width)}" height="{num(height)}"{pattern}/>'
    )


def document(
    parts: Iterable[str],
    *,
    width: float,
    height: float,
    mm_per_unit: float,
    style: str,
    says: str,
    css: str = "plan",
) -> str:
    """The whole SVG, at its size on paper."""
    return (
        "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" class="{css}" width="{num(width * mm_per_unit)}mm" '
                f'height="{num(height * mm_per_unit)}mm" viewBox="0 0 {num(width)} {num(height)}" role="img" '
                f"aria-label={quoteattr(says)}>",
                f"<style>{style}</style>",
                *parts,
                "</svg>",
            ]
        )
        + "\n"
    )

"""Letters and marks of schematic drawings in millimetres: how words are set, measured and wrapped, and how states look.

One unit of these drawings is one millimetre on paper. What may not be touched is barred, what is to be added is red and
open, what is out of use is slashed; each with its word, so that a black print says the same.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from pullstring.model.refs import Ref
from pullstring.papers import svg
from pullstring.papers.ink import Inks
from pullstring.papers.labels_face import BOLD, MONO, MONO_BOLD, SANS, Face, letters
from pullstring.papers.svg import Point

LEAST_PT = 7.0
MM_PER_PT = 25.4 / 72
PITCH = 1.24  # height of a line in its letter size
BASE = 0.92  # from the top of a line to its base line, in its letter size
APART = 1.1  # between words and the small words behind them


@dataclasses.dataclass(frozen=True)
class Style:
    """A way to set words: class, face and letter size."""

    css: str
    face: Face
    size_mm: float

    @property
    def pitch(self) -> float:
        """Height of one line."""
        return self.size_mm * PITCH

    def width(self, words: str) -> float:
        """Width of a line, by the advances of the face."""
        return letters(self.face).width(words) * self.size_mm


HEAD = Style("head", BOLD, 4.4)
TAG = Style("tag", MONO_BOLD, 3.2)
MID = Style("mid", MONO_BOLD, 2.9)
NUMBER = Style("number", MONO, 2.6)
WORDS = Style("words", SANS, 2.9)
SMALL = Style("small", SANS, 2.5)
STRONG = Style("strong", BOLD, 2.6)
STYLES = (HEAD, TAG, MID, NUMBER, WORDS, SMALL, STRONG)


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of words with its style and its ink; `after` are small words behind them, on the same line if they fit."""

    words: str
    style: Style = SMALL
    ink: str = "ink"
    after: str = ""


def css(inks: Inks, *, under: str = "") -> str:
    """The style of these drawings as plain long-hand rules; `under` is put before each selector."""
    family = {
        "B612": 'B612,"DejaVu Sans",sans-serif',
        "B612 Mono": '"B612 Mono","DejaVu Sans Mono",monospace',
    }
    rules = {
        f".{s.css}": f"font-family:{family[s.face[0]]};font-weight:{s.face[1]};font-size:{svg.num(s.size_mm)}px"
        for s in STYLES
    }
    rules |= {
        ".ink": f"fill:{inks.ink}",
        ".second": f"fill:{inks.ink_2}",
        ".planned": f"fill:{inks.red}",
        ".bg,.face": f"fill:{inks.sheet}",
        ".face": f"stroke:{inks.ink};stroke-width:0.3",
        ".new": f"fill:{inks.sheet};stroke:{inks.red};stroke-width:0.4;stroke-dasharray:1.4 0.8",
        ".thin": f"fill:none;stroke:{inks.ink};stroke-width:0.2",
        ".faint": f"fill:none;stroke:{inks.rule};stroke-width:0.15",
        ".heavy": f"fill:none;stroke:{inks.ink};stroke-width:0.5",
        ".frame": f"fill:none;stroke:{inks.ink};stroke-width:0.6",
        ".bars": f"fill:none;stroke:{inks.ink};stroke-width:0.7",
        ".solid": f"fill:{inks.ink};stroke:none",
        ".hole": f"fill:{inks.sheet};stroke:{inks.ink};stroke-width:0.25",
        ".bridge": f"fill:none;stroke:{inks.ink};stroke-width:0.9",
        ".double": f"fill:none;stroke:{inks.ink};stroke-width:1.3",
        ".core": f"fill:none;stroke:{inks.sheet};stroke-width:0.7",
        ".gap": f"fill:none;stroke:{inks.sheet};stroke-width:1.2",
        ".slash": f"fill:none;stroke:{inks.ink};stroke-width:0.35",
        ".plan": f"fill:none;stroke:{inks.red};stroke-width:0.5;stroke-dasharray:1.8 0.9",
        ".dash": "stroke-dasharray:1.4 0.9",
        ".dot": "stroke-dasharray:0.3 0.9",
    }
    start = f"{under}.board "
    return "".join(f"{','.join(start + one for one in name.split(','))}{{{body}}}" for name, body in rules.items())


def document(parts: Iterable[str], *, width: float, height: float, inks: Inks, says: str, under: str = "") -> str:
    """The whole drawing, one unit a millimetre, on its own ground."""
    ground = svg.rect((0, 0), width, height, "bg")
    return svg.document(
        [ground, *parts],
        width=width,
        height=height,
        mm_per_unit=1,
        style=css(inks, under=under),
        says=says,
        css="board",
    )


def group(ref: Ref | str | None, title: str, parts: Iterable[str]) -> list[str]:
    """Marks of one thing, which carry its reference and say on pointing what it is."""
    about = f" data-ref={quoteattr(str(ref))}" if ref else ""
    return [f"<g{about}><title>{escape(plain(title))}</title>", *parts, "</g>"]


def plain(words: str) -> str:
    """Words without the letters that no drawing may hold (those below the space, by XML 1.0, 2.2)."""
    return "".join(c for c in words if c >= " " and c not in "\ufffe\uffff" and not "\ud800" <= c <= "\udfff")


def wrapped(words: str, style: Style, width: float) -> list[str]:
    """Words in as many lines as they need; a word wider than a line is broken, never cut."""
    lines = [""]
    for word in plain(" ".join(words.split())).split():
        for part in _broken(word, style, width):
            longer = f"{lines[-1]} {part}".strip()
            if style.width(longer) <= width:
                lines[-1] = longer
            else:
                lines.append(part)
    return [line for line in lines if line] if len(lines) > 1 else lines


def _broken(word: str, style: Style, width: float) -> list[str]:
    parts = []
    while style.width(word) > width and len(word) > 1:
        fits = next((n for n in range(len(word) - 1, 1, -1) if style.width(word[:n]) <= width), 1)
        parts.append(word[:fits])
        word = word[fits:]
    return [*parts, word]


def fitted(lines: Iterable[Line], width: float) -> list[Line]:
    """The same lines, each in as many as its width needs; empty ones left out."""
    found: list[Line] = []
    for line in lines:
        if not line.words.strip():
            continue
        line = dataclasses.replace(line, words=plain(line.words), after=plain(" ".join(line.after.split())))
        if line.after and line.style.width(line.words) + APART + SMALL.width(line.after) <= width:
            found.append(line)
            continue
        found += [dataclasses.replace(line, words=part, after="") for part in wrapped(line.words, line.style, width)]
        found += [Line(part, SMALL, line.ink) for part in wrapped(line.after, SMALL, width) if part]
    return found


def height(lines: Sequence[Line]) -> float:
    """Height of lines one under the other."""
    return sum(line.style.pitch for line in lines)


def stacked(lines: Sequence[Line], at: Point, *, anchor: str = "start") -> list[str]:
    """Lines one under the other, from the top left corner of the first."""
    x, y = at
    parts = []
    for line in lines:
        base = y + BASE * line.style.size_mm + (line.style.pitch - line.style.size_mm) / 2 - 0.1
        parts.append(text(line, (x, base), anchor=anchor))
        y += line.style.pitch
    return parts


def text(line: Line, at: Point, *, anchor: str = "start") -> str:
    """One line on its base line."""
    one = svg.text(line.words, at, f"{line.style.css} {line.ink}", anchor=anchor)
    if not line.after:
        return one
    behind = at[0] + line.style.width(line.words) + APART
    return one + svg.text(line.after, (behind, at[1]), f"{SMALL.css} {line.ink}")


def bars(x: float, y: float, width: float, tall: float) -> list[str]:
    """A strip of slanting bars with its edge: not to be touched."""
    step, data = 1.7, []
    low = -int(width // step) - 1
    for n in range(low, int(tall / step) + 2):
        # a line from (0, b) to (width, b + width), clipped to the strip
        b = n * step
        u0, u1 = max(0.0, -b), min(width, tall - b)
        if u1 - u0 > 0.2:
            data.append(svg.path([(x + u0, y + b + u0), (x + u1, y + b + u1)]))
    return [svg.stroke("".join(data), "bars"), svg.rect((x, y), width, tall, "thin")]


def slash(x: float, y: float, width: float, tall: float) -> list[str]:
    """A stroke through a cell: out of use."""
    line = svg.path([(x + 0.4, y + tall - 0.4), (x + width - 0.4, y + 0.4)])
    return [svg.stroke(line, "gap"), svg.stroke(line, "slash")]

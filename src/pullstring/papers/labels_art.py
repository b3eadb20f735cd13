"""How labels and tags look: drawn from plain geometry in millimetres, each kind told by its frame and its words.

A kind never rests on colour: do-not-touch has a frame of slanting bars round a solid band, reserved a single line,
temporary a dashed one, 24 V only is a solid band, standard power a heavy line, dead has crossed corners. Red is added where
there is red ink.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import shapely

from pullstring.papers import svg
from pullstring.papers.labels import LEAST_MM, tight
from pullstring.papers.labels_code import code_path, side_mm
from pullstring.papers.labels_face import BOLD, MONO_BOLD, SANS, cut_to, letters, lines_of

LARGEST_MM = 10.0  # ours: the largest letters of an identifier
LINE_MM = 3.2  # ours: the largest letters beneath it
PITCH = 1.25  # height of a line in its letter size
CAP = 0.72  # height of a capital in its letter size, rounded up
STACKED = 2.6  # a framed label longer than so many heights has its band on the left
NARROW = 1.1  # a label narrower than so many heights has its code above its words
LOW_MM = 16.0
OVER_MM = 0.6  # the white round a code may lie on white that is kept free anyway
LOOKS = {
    "plain": ("none", False),
    "protected": ("bars", True),
    "reserved": ("line", False),
    "temporary": ("dashed", False),
    "24v": ("line", True),
    "standard": ("heavy", False),
    "dead": ("crossed", False),
}
"""Frame of each kind, and whether the words of its band stand white on a solid ground."""


@dataclasses.dataclass(frozen=True)
class Piece:
    """What one label says: `large` the identifier, `lines` beneath in the order of their weight, `band` the words of its kind.

    `code` is the text of the code, None for a label without one.
    """

    kind: str
    large: str
    lines: tuple[str, ...] = ()
    band: str = ""
    code: str | None = None
    says: str = ""


@dataclasses.dataclass(frozen=True)
class Art:
    """A drawn label: its parts, and what was cut to fit."""

    parts: tuple[str, ...]
    cut: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Box:
    """A rectangle of a label, in millimetres from its top left corner."""

    x: float
    y: float
    w: float
    h: float

    def less(self, by: float) -> Box:
        """The rectangle without a margin on all sides."""
        return Box(self.x + by, self.y + by, self.w - 2 * by, self.h - 2 * by)


def margin_mm(height_mm: float) -> float:
    """White kept round what is drawn."""
    return min(2.5, max(0.8, height_mm * 0.05))


@dataclasses.dataclass(frozen=True)
class Plan:
    """Where the parts of a label stand: inside its frame, the words of its kind, its code and the text beside it."""

    outer: Box
    inside: Box
    band: Box | None
    code: Box | None
    text: Box
    stacked: bool


def planned(piece: Piece, *, width_mm: float, height_mm: float) -> Plan:
    """The plan of a label of this size; a long label has its band on the left, others above."""
    box = Box(0, 0, width_mm, height_mm)
    frame, _ = LOOKS[piece.kind]
    outer = box.less(0.6) if frame != "none" else box
    inside = _within(frame, outer).less(_air(frame, outer)) if frame != "none" else box.less(margin_mm(height_mm))
    stacked = width_mm > STACKED * height_mm
    band, rest = None, inside
    if frame != "none" and stacked:
        band = Box(inside.x, inside.y, band_width(piece.band, inside.h), inside.h)
        rest = Box(inside.x + band.w + 0.8, inside.y, inside.w - band.w - 0.8, inside.h)
    elif frame != "none":
        share = min(0.34 * inside.h, 9.0)
        band = Box(inside.x, inside.y, inside.w, share)
        rest = Box(inside.x, inside.y + share + 0.5, inside.w, inside.h - share - 0.5)
    code, text = _coded(piece.code, rest)
    return Plan(outer, inside, band, code, text, stacked)


def _coded(text: str | None, box: Box) -> tuple[Box | None, Box]:
    """Where the code and the words stand: side by side, one above the other where the label is narrow."""
    above = box.w < NARROW * box.h
    room = min(box.w + 2 * OVER_MM, box.h / 2) if above else min(box.h + 2 * OVER_MM, box.w / 2)
    side = side_mm(text, room_mm=room) if text is not None else None
    if side is None:
        return None, box
    if above:
        low = box.y + side - OVER_MM
        return Box(box.x - OVER_MM, box.y - OVER_MM, side, side), Box(box.x, low, box.w, box.y + box.h - low)
    code = Box(box.x - OVER_MM, box.y + (box.h - side) / 2, side, side)
    left = code.x + side + 0.2
    return code, Box(left, box.y, box.x + box.w - left, box.h)


def drawn(piece: Piece, *, width_mm: float, height_mm: float) -> Art:
    """One label of this size; a code that does not fit is left out and told as `code`."""
    plan = planned(piece, width_mm=width_mm, height_mm=height_mm)
    frame, solid = LOOKS[piece.kind]
    parts: list[str] = [] if plan.band is None else _frame(frame, plan.outer)
    if plan.band is not None:
        parts += _band(piece.band, plan.band, solid=solid, stacked=plan.stacked)
    if plan.code is not None and piece.code is not None:
        where = f"translate({svg.num(plan.code.x)} {svg.num(plan.code.y)})"
        parts.append(f'<g transform="{where}">{code_path(piece.code, side=plan.code.w)}</g>')
    words, cut = _words(piece, plan.text)
    missing = ["code"] if piece.code is not None and plan.code is None else []
    return Art((*parts, *words), (*missing, *cut))


def natural_mm(piece: Piece, *, height_mm: float, longest_mm: float) -> float:
    """Length that a label of this height needs on tape for its largest letters, at most the longest."""
    text = planned(piece, width_mm=longest_mm, height_mm=height_mm).text
    around = longest_mm - text.w
    large = large_mm(height_mm=text.h)
    need = letters(MONO_BOLD).width(piece.large) * large
    size = max(LEAST_MM, _largest_line(text) * 0.85)
    room = text.h - (large * CAP + 0.6)
    while need < text.w:
        if any(_all_fit(said, width=need, room=room, size=size) for said in _joined(piece.lines)):
            break
        need += 1.0
    framed = LOOKS[piece.kind][0] != "none"
    least = STACKED * height_mm + 0.1 if framed else 0.0
    return math.ceil(min(longest_mm, max(least, need + around)))


def large_mm(*, height_mm: float) -> float:
    """Letter size of the identifier for text of this height."""
    return min(height_mm * 0.46, LARGEST_MM)


def _largest_line(box: Box) -> float:
    return min(LINE_MM, max(LEAST_MM, box.h * 0.2))


def _thickness(frame: str, box: Box) -> float:
    if frame == "bars":
        return min(3.5, max(1.4, box.h * 0.1))
    return {"heavy": 1.0, "crossed": 0.6}.get(frame, 0.35)


def _within(frame: str, box: Box) -> Box:
    """The room inside a frame; on low tape the bars stand at both ends only, for the words need the height."""
    if frame == "bars" and box.h < LOW_MM:
        return Box(box.x + 3.0, box.y + 0.35, box.w - 6.0, box.h - 0.7)
    return box.less(_thickness(frame, box))


def _air(frame: str, box: Box) -> float:
    """White between the frame and what stands in it."""
    return min(box.h * 0.22, 4.0) * 0.45 if frame == "crossed" else 0.7


def _frame(frame: str, box: Box) -> list[str]:
    """The frame of a kind."""
    thick = _thickness(frame, box)
    if frame == "bars":
        return [svg.stroke(_bars(box, _within(frame, box)), "mark")]
    half = box.less(thick / 2)
    parts = [f'<rect class="line {frame}" {_at(half)} stroke-width="{svg.num(thick)}"/>']
    if frame == "crossed":
        arm = min(box.h * 0.22, 4.0)
        for x, y, dx, dy in _corners(half, arm):
            across = svg.path([(x + dx, y), (x, y + dy)])
            parts.append(f'<path class="line" d="{across}" stroke-width="0.9"/>')
    return parts


def _corners(box: Box, arm: float) -> list[tuple[float, float, float, float]]:
    right, low = box.x + box.w, box.y + box.h
    return [(box.x, box.y, arm, arm), (right, box.y, -arm, arm), (box.x, low, arm, -arm), (right, low, -arm, -arm)]


def _at(box: Box) -> str:
    n = svg.num
    return f'x="{n(box.x)}" y="{n(box.y)}" width="{n(box.w)}" height="{n(box.h)}"'


def _bars(box: Box, inner: Box) -> str:
    """Slanting bars in the room between two rectangles, as one path, with a line on both edges."""
    ring = shapely.box(box.x, box.y, box.x + box.w, box.y + box.h)
    ring = ring.difference(shapely.box(inner.x, inner.y, inner.x + inner.w, inner.y + inner.h))
    step = 2.0 * min(3.0, max(1.2, inner.x - box.x))
    bars = []
    start = box.x - box.h
    while start < box.x + box.w:
        low = box.y + box.h
        bars.append(
            shapely.Polygon(
                [(start, low), (start + step / 2, low), (start + step / 2 + box.h, box.y), (start + box.h, box.y)]
            )
        )
        start += step
    line = ring.difference(ring.buffer(-0.17, join_style="mitre"))
    drawn_bars = shapely.union_all([shapely.intersection(ring, shapely.union_all(bars)), line])
    polygons = [p for p in getattr(drawn_bars, "geoms", [drawn_bars]) if p.geom_type == "Polygon"]
    polygons.sort(key=lambda p: p.bounds)
    rings = [r for p in polygons for r in (p.exterior, *p.interiors)]
    return "".join(svg.path(list(r.coords)[:-1], closed=True) for r in rings)


def _band(words: str, box: Box, *, solid: bool, stacked: bool) -> list[str]:
    """The words of a kind, as large as their room lets them be; stacked word under word on a long label."""
    lines = stacked_words(words) if stacked else [words]
    face = letters(BOLD)
    widest = max(face.width(line) for line in lines)
    size = min((box.w - 1.6) / widest, (box.h - 0.8) / (len(lines) * 1.12))
    parts = [f'<rect class="solid" {_at(box)}/>'] if solid else []
    top = box.y + (box.h - len(lines) * 1.12 * size) / 2
    for number, line in enumerate(lines):
        base = top + (1.12 * number + 0.56 + CAP / 2) * size
        css = "white" if solid else "bold"
        parts.append(_text(line, (box.x + box.w / 2, base), css, size, anchor="middle"))
    return parts


def stacked_words(words: str) -> list[str]:
    """The words of a band in two lines of about equal length; a single word stays one."""
    split = words.split()
    if len(split) < 2:
        return [words]
    cuts = [(" ".join(split[:n]), " ".join(split[n:])) for n in range(1, len(split))]
    return list(min(cuts, key=lambda pair: max(len(p) for p in pair)))


def band_width(words: str, height: float) -> float:
    """Width that the words of a band take on a long label of this height."""
    lines = stacked_words(words)
    size = min(max(4.2, 0.24 * height), (height - 0.8) / (len(lines) * 1.12))
    return max(letters(BOLD).width(line) for line in lines) * size + 1.6


def _text(words: str, at: tuple[float, float], css: str, size: float, *, anchor: str = "start") -> str:
    element = svg.text(words, at, css, anchor=anchor)
    return f'<g font-size="{svg.num(size)}">{element}</g>'


def _words(piece: Piece, box: Box) -> tuple[list[str], list[str]]:
    face, cut = letters(MONO_BOLD), []
    size = min(large_mm(height_mm=box.h), box.w / max(face.width(piece.large), 0.1))
    large = piece.large
    if size < LEAST_MM:
        size, large = LEAST_MM, cut_to(piece.large, MONO_BOLD, width_mm=box.w, size_mm=LEAST_MM)
        cut.append(piece.large)
    room = box.h - (size * CAP + 0.6 if large else 0)
    line_mm, lines, shorter = _fitted(piece.lines, width=box.w, room=room, largest=_largest_line(box))
    cut += shorter
    used = (size * CAP if large else 0) + (len(lines) * PITCH * line_mm + 0.3 if lines else 0)
    top = box.y + max(0.0, (box.h - used) / 2)
    parts = []
    if large:
        parts.append(
            f'<g font-size="{svg.num(size)}">{tight(svg.text(large, (box.x, top + CAP * size), "tag"), size)}</g>'
        )
    base = top + (size * CAP + 0.3 if large else 0)
    parts += [
        _text(line, (box.x, base + (i + 0.86) * PITCH * line_mm), "small", line_mm) for i, line in enumerate(lines)
    ]
    return parts, cut


def _fitted(said: Sequence[str], *, width: float, room: float, largest: float) -> tuple[float, list[str], list[str]]:
    """Letter size, lines, and what was cut: as large as all of it fits, at last the smallest letters and the first lines."""
    size = largest
    while any(said):
        for together in _joined(said):
            if _all_fit(together, width=width, room=room, size=size):
                return size, _wrapped(together, width=width, size=size), []
        if size <= LEAST_MM:
            break
        size = max(LEAST_MM, size - 0.15)
    said = _joined(said)[-1] if any(said) else []
    most = int(room / (PITCH * LEAST_MM) + 1e-6)
    lines: list[str] = []
    cut: list[str] = []
    for number, words in enumerate(said):
        own = lines_of(words, SANS, width_mm=width, size_mm=LEAST_MM)
        left = most - len(lines) - (len(said) - number - 1)  # a line each for what comes after, while there is room
        own_most = max(left, 1 if len(lines) < most else 0)
        if len(own) > own_most:
            rest = " ".join(own[max(own_most - 1, 0) :])
            own = [*own[: max(own_most - 1, 0)], cut_to(rest + "…", SANS, width_mm=width, size_mm=LEAST_MM)][:own_most]
        if own != lines_of(words, SANS, width_mm=width, size_mm=LEAST_MM) or _too_wide(
            [words], width=width, size=LEAST_MM
        ):
            cut.append(words)
        lines += own
    return LEAST_MM, lines, cut


def _joined(said: Sequence[str]) -> list[list[str]]:
    """The lines one by one, then with the last ones together, for labels on which there is room for few lines."""
    said = [words for words in said if words]
    return [[*said[: len(said) - n], ", ".join(said[len(said) - n :])] for n in range(1, max(len(said), 2))]


def _wrapped(said: Sequence[str], *, width: float, size: float) -> list[str]:
    return [line for words in said if words for line in lines_of(words, SANS, width_mm=width, size_mm=size)]


def _all_fit(said: Sequence[str], *, width: float, room: float, size: float) -> bool:
    """Whether all lines stand in the room at this letter size, none of them cut."""
    high = len(_wrapped(said, width=width, size=size)) * PITCH * size
    return high <= room and not _too_wide(said, width=width, size=size)


def _too_wide(said: Sequence[str], *, width: float, size: float) -> bool:
    """Whether a single word is wider than a line."""
    face = letters(SANS)
    return any(face.width(word) * size > width for words in said for word in words.split())

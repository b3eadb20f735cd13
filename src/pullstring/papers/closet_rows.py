"""Rows of a board as they are drawn: number, old label, what sits on it, and beside it where that goes."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from pullstring.model.refs import Ref
from pullstring.papers import closet_marks as marks
from pullstring.papers import svg
from pullstring.papers.closet_marks import HEAD, MID, SMALL, STRONG, TAG, Line, fitted, height, stacked

GUTTER, NUMBER_W, LABEL_W, ON_W, GAP, TO_W = 8.0, 12.0, 20.0, 23.5, 1.5, 24.0
WIDTH = GUTTER + NUMBER_W + LABEL_W + ON_W + GAP + TO_W
FACE = NUMBER_W + LABEL_W + ON_W
PAD = 0.7
LEAST = 4.5
BARS_W = 2.6
SQUARE = 1.7
LANES = (1.0, 2.4, 3.8)  # where bridging clips are drawn, from the left edge of a column


@dataclasses.dataclass(frozen=True)
class Row:
    """One row, port or socket, its words wrapped to the cells."""

    ref: Ref | None
    title: str
    number: tuple[Line, ...]
    label: tuple[Line, ...]
    on: tuple[Line, ...]
    to: tuple[Line, ...]
    filled: bool = False
    planned: bool = False
    gone: bool = False
    barred: bool = False
    square: bool = True
    clips: tuple[Ref, ...] = ()
    keep: bool = False
    under: bool = True
    more: None = None

    @property
    def height(self) -> float:
        """Height of the fullest cell."""
        return max(LEAST, *(height(cell) + 2 * PAD for cell in (self.number, self.label, self.on, self.to)))

    def at(self, x: float, y: float) -> list[str]:
        """The row from the left edge of its column."""
        left, tall = x + GUTTER, self.height
        label, on, to = left + NUMBER_W, left + NUMBER_W + LABEL_W, left + FACE + GAP
        parts = [svg.rect((left, y), FACE, tall, "new" if self.planned else "face")]
        parts.append(svg.stroke("".join(svg.path([(u, y), (u, y + tall)]) for u in (label, on)), "thin"))
        parts += marks.slash(left, y, NUMBER_W, tall) if self.gone else []
        parts += marks.bars(left - BARS_W - 0.2, y, BARS_W, tall) if self.barred else []
        middle = y + (tall - height(self.number)) / 2
        parts += stacked(self.number, (left + NUMBER_W / 2, middle), anchor="middle")
        parts += stacked(self.label, (label + PAD, y + PAD))
        parts += stacked(self.on, (on + PAD + (SQUARE + 1.0 if self.square else 0), y + PAD))
        if self.square:
            parts.append(svg.rect((on + PAD, y + PAD + 1.0), SQUARE, SQUARE, "solid" if self.filled else "hole"))
        parts += stacked(self.to, (to, y + PAD))
        return marks.group(self.ref, self.title, parts)


def row(
    ref: Ref | None,
    title: str,
    *,
    number: str,
    label: Sequence[Line] = (),
    on: Sequence[Line] = (),
    to: Sequence[Line] = (),
    filled: bool = False,
    planned: bool = False,
    gone: bool = False,
    barred: bool = False,
    square: bool = True,
    clips: Sequence[Ref] = (),
) -> Row:
    """A row with its words wrapped."""
    ink = "planned" if planned else "ink"
    style = TAG if TAG.width(number) <= NUMBER_W - 2 * PAD else MID if len(number) < 6 else SMALL
    return Row(
        ref,
        title,
        tuple(fitted([Line(number, style, ink)], NUMBER_W - 2 * PAD)),
        tuple(fitted(label, LABEL_W - 2 * PAD)),
        tuple(fitted(on, ON_W - 2 * PAD - (SQUARE + 1.0 if square else 0))),
        tuple(fitted(to, TO_W)),
        filled,
        planned,
        gone,
        barred,
        square,
        tuple(clips),
    )


@dataclasses.dataclass(frozen=True)
class Head:
    """The head over some rows: tag, what it is, and a sentence; barred where the whole thing is not to be touched."""

    ref: Ref | None
    lines: tuple[Line, ...]
    again: tuple[Line, ...] = ()
    barred: bool = False
    gone: bool = False
    planned: bool = False
    last: bool = False
    under: bool = False

    @property
    def keep(self) -> bool:
        """A head stands over something."""
        return not self.last

    @property
    def height(self) -> float:
        """With white above."""
        return 3.6 + height(self.lines) + 1.0

    @property
    def more(self) -> Head | None:
        """The short head at the top of the next column; nothing where none is wanted."""
        return Head(self.ref, self.again, self.again, self.barred, self.gone, self.planned) if self.again else None

    def at(self, x: float, y: float) -> list[str]:
        """The head from the left edge of its column."""
        top, left = y + 3.6, x + GUTTER
        parts = stacked(self.lines, (left + (0 if not self.planned else 1.0), top))
        tall = height(self.lines)
        if self.planned:
            parts.insert(0, svg.rect((left, top - 0.4), WIDTH - GUTTER, tall + 0.8, "new"))
        parts += marks.bars(left - BARS_W - 1.0, top, BARS_W, tall) if self.barred else []
        parts += marks.slash(left - BARS_W - 1.0, top, BARS_W, tall) if self.gone and not self.barred else []
        said = " ".join(line.words for line in self.lines)
        return marks.group(self.ref, said, parts)


def head(
    ref: Ref | None,
    tag: str,
    words: Sequence[str],
    *,
    guarded: str | None = None,
    gone: bool = False,
    planned: bool = False,
    last: bool = False,
    keep_off: str = "",
) -> Head:
    """A head with its words wrapped."""
    ink = "planned" if planned else "ink"
    lines = [Line(tag, HEAD, ink), *(Line(w, SMALL, "planned" if planned else "second") for w in words)]
    if guarded is not None:
        lines.append(Line(keep_off, STRONG))
    again = fitted([Line(f"{tag}, continued", SMALL, "second")], WIDTH - GUTTER - 2)
    return Head(
        ref,
        tuple(fitted(lines, WIDTH - GUTTER - 2)),
        () if last else tuple(again),
        guarded is not None,
        gone,
        planned,
        last,
    )

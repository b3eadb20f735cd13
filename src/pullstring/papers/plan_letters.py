"""How much room letters take on a floor plan: measured from the packaged faces, so that what is placed is known to fit.

Sizes are those of a sheet at 1:100, in metres of the house, as in `drawing_style`.
"""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Sequence

from pullstring.papers.drawing_style import (
    AREA,
    EDGE_LEVEL,
    FORESEEN,
    LEVEL,
    LITTLE,
    NAME,
    READ,
    RUN,
    SMALL,
    TAG,
    TITLE,
)
from pullstring.papers.labels_face import BOLD, CUT, MONO, SANS, Face, letters

ASCENT, ASCENT_MARKED, DESCENT = (
    0.81,
    0.98,
    0.27,
)  # of B612 in its letter size, rounded up; marked: letters with accents
_UNPRINTABLE = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

FACE_OF: dict[str, tuple[Face, float]] = {
    "name": (SANS, NAME),
    "name little": (SANS, LITTLE),
    "area": (SANS, AREA),
    "tag": (MONO, TAG),
    "tag plan": (MONO, TAG),
    "tag run": (MONO, RUN),
    "tag word": (SANS, RUN),
    "small": (SANS, SMALL),
    "second": (SANS, SMALL),
    "cell": (BOLD, TITLE),
    "cell little": (BOLD, SMALL),
    "isonum": (MONO, LEVEL),
    "isonum edge": (BOLD, EDGE_LEVEL),
    "read": (BOLD, READ),
    "foreseen": (SANS, FORESEEN),
}
"""Face and letter size of each class of text."""


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of letters by its class."""

    words: str
    css: str

    @property
    def width(self) -> float:
        """Width on a sheet at 1:100."""
        return width(self.words, self.css)

    @property
    def above(self) -> float:
        """Height over the base line."""
        return FACE_OF[self.css][1] * (ASCENT if self.words.isascii() else ASCENT_MARKED)

    @property
    def below(self) -> float:
        """Depth under the base line."""
        return FACE_OF[self.css][1] * DESCENT

    @property
    def height(self) -> float:
        """Height of the line's box."""
        return self.above + self.below


@functools.lru_cache(maxsize=20_000)
def width(words: str, css: str) -> float:
    """Width of words in their class on a sheet at 1:100."""
    face, size = FACE_OF[css]
    return letters(face).width(words) * size


def clean(words: str) -> str:
    """Words on one line, without what no reader of SVG takes."""
    return " ".join(_UNPRINTABLE.sub("", words).split())


def wrapped(words: str, css: str, most: float) -> list[str]:
    """Words in lines of at most the given width; a word that is wider than a line is broken."""
    lines = [""]
    for word in clean(words).split():
        longer = f"{lines[-1]} {word}".strip()
        if width(longer, css) <= most:
            lines[-1] = longer
            continue
        *broken, rest = _broken(word, css, most)
        lines = [*([*lines] if lines[-1] else []), *broken, rest]
    return lines


def in_rows(items: Sequence[str], css: str, most: float) -> list[str]:
    """Short words in rows of at most the given width, each whole; with commas where one of them holds a space."""
    between = ", " if any(" " in item for item in items) else " "
    rows: list[str] = []
    for item in items:
        if rows and width(rows[-1] + between + item, css) <= most:
            rows[-1] += between + item
        else:
            rows.append(item)
    return rows


def _broken(word: str, css: str, most: float) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and width(parts[-1] + letter, css) > most:
            parts.append("")
        parts[-1] += letter
    return parts


def cut(words: str, css: str, most: float) -> str:
    """Words on one line, marked as cut where they are wider than there is room."""
    said = clean(words)
    if width(said, css) <= most:
        return said
    while said and width(said.rstrip() + CUT, css) > most:
        said = said[:-1]
    return said.rstrip() + CUT

"""Which letters paper can hold: those of the packaged faces. Any other is printed as its code, and told, never as an empty box."""

from __future__ import annotations

import bisect
import dataclasses
import functools
import unicodedata
from collections.abc import Sequence

from pullstring.papers.ink import SECOND_FACES, font_folder

SANS = (("DejaVu Sans", 400), ("DejaVu Sans", 700))
"""They stand behind all other faces and have every letter of theirs, so what these two lack no line can hold."""
CONTROL = ("Cc", "Cf", "Cs", "Co", "Cn")
"""Letters of Unicode that show nothing, turn the direction or belong to nobody (general category, Unicode 4.5)."""


@dataclasses.dataclass(frozen=True)
class Ranges:
    """Code points of one face as ranges, ends included."""

    firsts: Sequence[int]
    lasts: Sequence[int]

    def __contains__(self, code: int) -> bool:
        at = bisect.bisect_right(self.firsts, code) - 1
        return at >= 0 and code <= self.lasts[at]


@functools.cache
def second_face(face: tuple[str, int]) -> Ranges:
    """The letters of a second face, from its table of format 12 (ISO/IEC 14496-22, 5.2.1.3.8)."""
    data = (font_folder() / SECOND_FACES[face]).read_bytes()
    at = next(_u32(data, 20 + 16 * n) for n in range(_u16(data, 4)) if data[12 + 16 * n : 16 + 16 * n] == b"cmap")
    offsets = (at + _u32(data, at + 8 + 8 * n) for n in range(_u16(data, at + 2)))
    table = next(offset for offset in offsets if _u16(data, offset) == 12)
    starts = range(table + 16, table + 16 + 12 * _u32(data, table + 12), 12)
    return Ranges([_u32(data, s) for s in starts], [_u32(data, s + 4) for s in starts])


def _u16(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 2], "big")


def _u32(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 4], "big")


@functools.cache
def has_letter(letter: str) -> bool:
    """Whether the packaged faces have a letter, regular and bold, and it is one that shows."""
    if unicodedata.category(letter) in CONTROL:
        return False
    return all(ord(letter) in second_face(face) for face in SANS)


@functools.cache
def _plain(text: str) -> bool:
    return text.isascii() and text.isprintable()


def as_code(letter: str) -> str:
    """A letter as its code: `[U+4E00]`."""
    return f"[U+{ord(letter):04X}]"


@dataclasses.dataclass
class Letters:
    """Turns text into what can be printed and keeps what was printed as a code, with the words it stood in."""

    told: dict[str, str] = dataclasses.field(default_factory=dict)

    def printable(self, text: str) -> str:
        """The text in composed letters; line ends and tabs become spaces, what no face has becomes its code."""
        if _plain(text):
            return text
        composed = " ".join(unicodedata.normalize("NFC", text).split())
        return "".join(c if has_letter(c) else self._code(c, composed) for c in composed)

    def drawing(self, svg: str) -> str:
        """An SVG in which no letter is without a glyph; its line ends stay."""
        if svg.isascii():
            return svg
        lacking = {c for c in set(svg) if not c.isspace() and not has_letter(c)}
        for c in sorted(lacking):
            svg = svg.replace(c, self._code(c, ""))
        return svg

    def _code(self, letter: str, words: str) -> str:
        self.told.setdefault(letter, words)
        return as_code(letter)

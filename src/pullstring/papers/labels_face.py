"""The letters of the packaged faces: which there are and how wide, so that what is printed is known to fit.

Read from the font files themselves: character map of format 4 and horizontal advances, as the OpenType specification
(ISO/IEC 14496-22) lays them out.
"""

from __future__ import annotations

import dataclasses
import functools
import struct
import unicodedata
from collections.abc import Mapping

from pullstring.papers.ink import FACES, font_folder

CUT = "…"
UNKNOWN = "?"
MONO, MONO_BOLD, SANS, BOLD = ("B612 Mono", 400), ("B612 Mono", 700), ("B612", 400), ("B612", 700)
Face = tuple[str, int]


@dataclasses.dataclass(frozen=True)
class Letters:
    """One face: advance of each letter it has, in parts of the letter size."""

    advance: Mapping[int, float]

    def width(self, words: str) -> float:
        """Width of a line in its own letter size; letters that are missing count as the widest."""
        most = 1.0
        return sum(self.advance.get(ord(c), most) for c in words)


@functools.cache
def letters(face: Face) -> Letters:
    """The letters of a packaged face."""
    data = (font_folder() / FACES[face]).read_bytes()
    tables = {
        data[at : at + 4]: struct.unpack(">LL", data[at + 8 : at + 16]) for at in range(12, 12 + 16 * _u16(data, 4), 16)
    }
    unit = _u16(data, tables[b"head"][0] + 18)
    widths = [_u16(data, tables[b"hmtx"][0] + 4 * n) for n in range(_u16(data, tables[b"hhea"][0] + 34))]
    glyphs = _glyphs(data, tables[b"cmap"][0])
    return Letters({code: widths[min(glyph, len(widths) - 1)] / unit for code, glyph in glyphs.items() if glyph})


def _u16(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 2], "big")


def _glyphs(data: bytes, cmap: int) -> dict[int, int]:
    """Glyph by code point, from the first table of format 4."""
    offsets = [int.from_bytes(data[cmap + 8 + 8 * n : cmap + 12 + 8 * n], "big") for n in range(_u16(data, cmap + 2))]
    table = next(cmap + offset for offset in offsets if _u16(data, cmap + offset) == 4)
    twice = _u16(data, table + 6)
    end, start, delta, jump = (table + 14, table + 16 + twice, table + 16 + 2 * twice, table + 16 + 3 * twice)
    found = {}
    for n in range(0, twice, 2):
        for code in range(_u16(data, start + n), min(_u16(data, end + n), 0xFFFE) + 1):
            shift = _u16(data, jump + n)
            glyph = _u16(data, jump + n + shift + 2 * (code - _u16(data, start + n))) if shift else code
            found[code] = (glyph + _u16(data, delta + n)) % 65536 if glyph else 0
    return found


def lacking(words: str) -> str:
    """Letters that one of the packaged faces lacks, each once, in order."""
    known = [letters(face).advance for face in FACES]
    return "".join(dict.fromkeys(c for c in unicodedata.normalize("NFC", words) if any(ord(c) not in k for k in known)))


def printable(words: str, *, exact: bool) -> str:
    """Words in letters that the faces have: spaces single, a letter that lacks as its base letter, or as a question mark.

    `exact` is for identifiers, in which no letter may quietly become another: there it is always the question mark.
    """
    plain = " ".join(unicodedata.normalize("NFC", words).split())
    missing = lacking(plain)
    return "".join(UNKNOWN if c in missing and exact else _base(c) if c in missing else c for c in plain)


def _base(letter: str) -> str:
    base = "".join(c for c in unicodedata.normalize("NFD", letter) if not unicodedata.combining(c))
    return base if base and not lacking(base) else UNKNOWN


def cut_to(words: str, face: Face, *, width_mm: float, size_mm: float) -> str:
    """The line, cut with a sign of leaving out where it is wider than there is room."""
    known = letters(face)
    if known.width(words) * size_mm <= width_mm:
        return words
    while words and known.width(words.rstrip() + CUT) * size_mm > width_mm:
        words = words[:-1]
    return words.rstrip() + CUT


def lines_of(words: str, face: Face, *, width_mm: float, size_mm: float) -> list[str]:
    """Words in as many lines as they need; a word that is wider than a line is cut."""
    known, lines = letters(face), [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if known.width(longer) * size_mm <= width_mm:
            lines[-1] = longer
            continue
        fitting = cut_to(word, face, width_mm=width_mm, size_mm=size_mm)
        lines = [*lines, fitting] if lines[-1] else [fitting]
    return lines

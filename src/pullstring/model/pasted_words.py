"""The words of pasted lines: text cut into tokens, and the table of words that says what a word may mean.

The table is data (`data/pasted_words.csv`). Words are compared without case, accents of the apostrophe or a plural s;
a hyphen inside a word parts it in two, so that "Wi-Fi" and "wi fi" are one.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import math
import re
import unicodedata
from importlib import resources

_TOKEN = re.compile(
    r"\d{4}-\d\d-\d\d(?!\d)|\d{1,2}:\d\d(?!\d)|\d+(?:[.,]\d+)?(?:st|nd|rd|th)?(?![^\W\d_])|\d+|[^\W\d_]+(?:['’][^\W\d_]+)*|\S"
)
_CLOCK = re.compile(r"\d{1,2}:\d\d")
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
MOST_DIGITS = 9


@dataclasses.dataclass(frozen=True)
class Token:
    """A word, number or sign with its place in the text."""

    text: str
    key: str
    start: int
    end: int

    @property
    def is_word(self) -> bool:
        """Letters or digits, no mere sign."""
        return self.key[:1].isalnum()

    @property
    def number(self) -> float | None:
        """The value of a number; a comma may part the decimals, and three digits behind a sign are thousands."""
        if not self.text[0].isdigit() or len(self.text) > MOST_DIGITS or not _NUMBER.fullmatch(self.text):
            return None
        if _THOUSANDS.fullmatch(self.text):
            return float(self.text.replace(".", "").replace(",", ""))
        return float(self.text.replace(",", "."))

    @property
    def whole(self) -> int | None:
        """The value of a whole number."""
        value = self.number
        return int(value) if value is not None and value == math.floor(value) else None

    @property
    def is_clock(self) -> bool:
        """A time of day such as 14:00."""
        return ":" in self.text and bool(_CLOCK.fullmatch(self.text)) and int(self.text.split(":")[0]) < 25

    @property
    def is_date(self) -> bool:
        """A day such as 2026-11-03."""
        return len(self.text) == 10 and bool(_DATE.fullmatch(self.text))


def tokens(text: str, *, start: int = 0) -> list[Token]:
    """The tokens of a piece of text; `start` is the place of the piece in the whole."""
    return [Token(m[0], _key(m[0]), start + m.start(), start + m.end()) for m in _TOKEN.finditer(text)]


@functools.lru_cache(maxsize=65536)
def _key(text: str) -> str:
    return unicodedata.normalize("NFKC", text).casefold().replace("’", "'")


@dataclasses.dataclass(frozen=True)
class Word:
    """One entry of the table that fits at a place: its class, what it means, how many tokens it takes."""

    kind: str
    means: str
    length: int
    phrase: str


@functools.cache
def _table() -> dict[str, list[tuple[tuple[str, ...], str, str]]]:
    text = (resources.files("pullstring.model") / "data" / "pasted_words.csv").read_text(encoding="utf-8")
    table: dict[str, list[tuple[tuple[str, ...], str, str]]] = {}
    for row in csv.DictReader(text.splitlines()):
        for phrase in row["words"].split("|"):
            keys = tuple(t.key for t in tokens(phrase))
            table.setdefault(keys[0], []).append((keys, row["class"], row["means"] or phrase))
    for entries in table.values():
        entries.sort(key=lambda e: -len(e[0]))
    return table


@functools.lru_cache(maxsize=65536)
def _forms(key: str) -> tuple[str, ...]:
    """A word and what it may be the plural of."""
    forms = [key]
    if len(key) > 3 and key.endswith("s"):
        forms.append(key[:-1])
        if key.endswith("ies"):
            forms.append(key[:-3] + "y")
        elif key.endswith("es"):
            forms.append(key[:-2])
    return tuple(forms)


def words_at(line: list[Token], at: int) -> list[Word]:
    """All entries that fit at a place, the longest first; a hyphen between two words is passed over."""
    table, found = _table(), []
    for first in _forms(line[at].key):
        for keys, kind, means in table.get(first, ()):
            length = _fits(line, at, keys)
            if length:
                found.append(Word(kind, means, length, " ".join(keys)))
    return sorted(found, key=lambda w: -w.length)


def _fits(line: list[Token], at: int, keys: tuple[str, ...]) -> int:
    place = at
    for number, key in enumerate(keys):
        if number and place < len(line) and line[place].key == "-" and key != "-":
            place += 1
        if place >= len(line) or key not in _forms(line[place].key):
            return 0
        place += 1
    return place - at

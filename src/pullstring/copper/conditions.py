"""What the conditions of a reading say, read forgivingly from free text. What is not said stays None and is assumed aloud.

Understood, in any order and case, anything else is passed over:

- far end: `shorted at the outlet`, `far end short`, `strapped`, `wires joined`; `open`, `both ends open`; `not shorted` is open
- pair: `pair 3`, `first pair`, `all pairs`
- one wire: `wire a`, `leg b`, `wire 1`, `tip`, `ring`; two of three wires joined at the far end: `wires 1-2`, `wire 1 to 3`
  (1 and 2 are the wires of the pair, 3 is any other wire that leads there)
- `leads taken off`, `leads zeroed`; `clip lifted`, `isolated`, `lifted off`: nothing else touches; a temperature: `20 C`
"""

from __future__ import annotations

import dataclasses
import enum
import functools
import re


class Far(enum.StrEnum):
    """How the far end was left."""

    SHORTED = "shorted"
    OPEN = "open"


ALL_PAIRS = 0
WIRES = ("12", "13", "23")
"""The three loops among two wires of a pair and a third."""
_PAIR = re.compile(r"\bpair\s*(\d{1,4})\b")
_NOT_SHORT = re.compile(r"\b(?:not|un|no)[\s-]*(?:short|strap)\w*")
_SHORT = re.compile(
    r"\b(?:short(?:ed|ing)?|shorts|strap(?:ped)?|looped back)\b|\b(?:wires|legs|ends) (?:joined|twisted together)\b"
)
_OPEN = re.compile(r"\bopen\b|\bfar end (?:free|loose)\b")
_ONE = re.compile(r"\b(?:wire|leg|conductor)\s+([ab12])\b(?!\s*(?:-|to\b|and\b|,|\+|/)\s*[123ab]\b)")
_TWO = re.compile(r"\b(?:wires?|legs?|conductors?)\s+([123])\s*(?:-|\u2013|to\b|and\b|\+|/)\s*(?:wire\s+)?([123])\b")
_LEADS = re.compile(r"\bleads?\b[^,;]*\b(?:taken off|zeroed|nulled|subtracted|off)\b|\bzeroed\b")
_ALONE = re.compile(r"\b(?:lifted|isolated|parted|unclipped|taken off the (?:row|block))\b")
_DEGREES = re.compile(r"(?<![\w.,])([-\u2212]?\d{1,2}(?:[.,]\d+)?)\s*(?:\u00b0\s*)?C\b")
_SIDE = {"a": "1", "b": "2", "1": "1", "2": "2", "tip": "1", "ring": "2"}


@dataclasses.dataclass(frozen=True)
class Conditions:
    """Far end, pair (0: all), wire (`1`, `2`, or two of three such as `13`), leads off, nothing else touching, temperature."""

    far: Far | None
    pair: int | None
    wire: str
    leads_off: bool
    alone: bool
    temperature_c: float | None


@functools.lru_cache(maxsize=4096)
def parse_conditions(text: str, *, wanted: Far) -> Conditions:
    """Read the conditions of a reading that wants its far end in one state; that word wins where both are said."""
    said = text.casefold()
    shorted = _SHORT.search(_NOT_SHORT.sub(" ", said)) is not None
    opened = _OPEN.search(said) is not None or _NOT_SHORT.search(said) is not None
    found = {far for far, there in ((Far.SHORTED, shorted), (Far.OPEN, opened)) if there}
    far = wanted if wanted in found else next(iter(found), None)
    degrees = _DEGREES.search(text)
    return Conditions(
        far,
        _pair(said),
        _wire(said),
        _LEADS.search(said) is not None,
        _ALONE.search(said) is not None,
        float(degrees[1].replace(",", ".").replace("\u2212", "-")) if degrees else None,
    )


def _pair(said: str) -> int | None:
    if "all pairs" in said:
        return ALL_PAIRS
    named = _PAIR.search(said)
    return int(named[1]) if named else 1 if "first pair" in said else None


def _wire(said: str) -> str:
    two = _TWO.search(said)
    if two and "".join(sorted(two.groups())) in WIRES:
        return "".join(sorted(two.groups()))
    one = _ONE.search(said)
    if one:
        return _SIDE[one[1]]
    word = re.search(r"\b(tip|ring)\b", said)
    return _SIDE[word[1]] if word else ""

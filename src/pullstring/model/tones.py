"""What is heard, placed and read while tracing, as people write it down.

House rules
-----------
1. A tone: `loud from end:E12`, `faint from end:E13`, `none from end:E19`; `isolated` when the sending pair was taken off the
   block, `confirmed` when the tone stopped as the pair was shorted at the other end. `not looked from end:E12` says that nobody
   listened here: it is never `none`. `over end:E1 end:E2` names ends that were touched together.
2. A numbered remote: `remote placed` 3; `remotes heard` 3 7 of 1-8, or none of 1-8. What stands after `of` are the numbers that
   were looked for; without it only those heard are told.
3. A word on pairs: `word placed` 1 3 (these pairs shorted); `word read` 1 3 of 1-4 (these read closed), or none of 1-4.
4. A plain short: `short placed` on; `continuity` closed, or open with outlet:O1 outlet:O2 (where the shorts were).
5. An instrument tried on itself: `self-check` works, or silent.
6. `none` as the value of something placed says that it was taken off.

A tone that bleeds over is a reading and proves nothing.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterable

from pullstring.model.refs import Ref, parse_ref

LEVELS = ("none", "faint", "loud")
CARE = ("isolated", "confirmed")
_NUMBERS = re.compile(r"\d{1,4}(?:\s*-\s*\d{1,4})?")


class BadTone(ValueError):
    """A reading of tracing is not written as one."""


@dataclasses.dataclass(frozen=True)
class Tone:
    """How loud (0 none, 1 faint, 2 loud; None: not looked), from where, with which care, over which ends touched together."""

    level: int | None
    source: Ref
    isolated: bool
    confirmed: bool
    over: tuple[Ref, ...] = ()


OVER = ("end", "pair", "row")
"""What a probe can go over together."""


@dataclasses.dataclass(frozen=True)
class Heard:
    """Numbers that were read, and those that were looked for; None where nobody said which."""

    numbers: frozenset[int]
    of: frozenset[int] | None


@dataclasses.dataclass(frozen=True)
class Continuity:
    """Whether a pair read closed, and where shorts were said to be."""

    closed: bool
    shorted: tuple[Ref, ...]


def parse_tone(text: str) -> Tone:
    """Read a tone; raises BadTone, or BadName when a source is no reference."""
    words = [w if ":" in w else w.casefold() for w in text.split()]
    looked = words[:2] != ["not", "looked"]
    rest = words[1:] if looked else words[2:]
    known = words[:1] and words[0] in LEVELS if looked else True
    if not known or len(rest) < 2 or rest[0] != "from":
        raise BadTone(f"{text!r} is no tone; write for example: loud from end:E12 isolated confirmed")
    care, over = _care_and_over(text, rest[2:])
    if not looked and care:
        raise BadTone(f"{text!r} was not looked for, so it cannot be {care[0]}; leave that word out")
    level = LEVELS.index(words[0]) if looked else None
    return Tone(level, parse_ref(rest[1]), "isolated" in care, "confirmed" in care, over)


def _care_and_over(text: str, words: list[str]) -> tuple[list[str], tuple[Ref, ...]]:
    care = [w for w in words if w in CARE]
    left = [w for w in words if w not in CARE]
    if left and (left[0] != "over" or len(left) < 2 or not all(":" in w for w in left[1:])):
        raise BadTone(f"{text!r} is no tone; write for example: loud from outlet:O03 over end:E01 end:E02")
    over = tuple(parse_ref(w) for w in left[1:])
    if strange := [r for r in over if r.kind not in OVER]:
        raise BadTone(
            f"{text!r}: the probe goes over ends, not over {strange[0]}; write for example: over end:E01 end:E02"
        )
    if len(set(over)) < len(over):
        raise BadTone(f"{text!r} names one end twice; write it once")
    return care, over


def parse_heard(text: str, *, what: str = "remotes heard") -> Heard:
    """Read the numbers of remotes or pairs, and those that were looked for."""
    said, of, looked = text.casefold().partition(" of ")
    looked_for = _numbers(looked, text, what) if of else None
    numbers = frozenset[int]() if said.strip() == "none" else _numbers(said, text, what)
    if looked_for is None and not numbers:
        raise BadTone(f"{text!r} does not say what was looked for; write for example: none of 1-8")
    if looked_for is not None and not numbers <= looked_for:
        raise BadTone(f"{text!r} names a number outside of those looked for; write for example: 3 7 of 1-8")
    return Heard(numbers, looked_for)


def parse_placed(text: str, *, what: str = "word placed") -> frozenset[int]:
    """Read the pairs that a plug shorts, or the number of one remote."""
    numbers = _numbers(text, text, what)
    if what == "remote placed" and len(numbers) != 1:
        raise BadTone(f"{text!r} is not one number; a remote bears one, for example: 3")
    return numbers


def parse_continuity(text: str) -> Continuity:
    """Read whether a pair was closed, and where shorts were."""
    words = text.split()
    state = words[0].casefold() if words else ""
    if state not in ("closed", "open") or (len(words) > 1 and (words[1].casefold() != "with" or len(words) < 3)):
        raise BadTone(f"{text!r} is neither closed nor open; write for example: closed with outlet:O01 outlet:O02")
    return Continuity(state == "closed", tuple(parse_ref(w) for w in words[2:]))


def _numbers(said: str, text: str, what: str) -> frozenset[int]:
    """`1 3 5-8` as numbers."""
    found: set[int] = set()
    parts = _NUMBERS.findall(said)
    if not parts or _NUMBERS.sub("", said).replace(",", " ").strip():
        example = {"remote placed": "3", "remotes heard": "3 7 of 1-8", "word placed": "1 3", "word read": "1 3 of 1-4"}
        raise BadTone(f"{text!r} is no {what}; write numbers from 1, for example: {example[what]}")
    for part in parts:
        first, _, last = part.partition("-")
        low, high = int(first), int(last or first)
        if min(low, high) < 1:
            raise BadTone(f"{text!r} names {min(low, high)}; remotes, marks and pairs are counted from 1")
        if low > high:
            raise BadTone(f"{part!r} runs backwards; write the lower number first: {high}-{low}")
        found |= set(range(low, high + 1))
    return frozenset(found)


def _one(text: str) -> float:
    return float(min(parse_placed(text, what="remote placed")))


def _pairs(text: str) -> float:
    return float(len(parse_placed(text)))


def _heard(text: str) -> float:
    return float(len(parse_heard(text).numbers))


def _word(text: str) -> float:
    return float(len(parse_heard(text, what="word read").numbers))


def _closed(text: str) -> float:
    return float(parse_continuity(text).closed)


def _among(what: str, *choices: str) -> Callable[[str], float]:
    def value(text: str) -> float:
        if text.casefold() not in choices:
            raise BadTone(f"{text!r} is no {what}; write {' or '.join(choices)}")
        return float(text.casefold() == choices[0])

    return value


WRITTEN: dict[str, Callable[[str], float]] = {
    "remote placed": _one,
    "remotes heard": _heard,
    "word placed": _pairs,
    "word read": _word,
    "short placed": _among("short placed", "on"),
    "continuity": _closed,
    "self-check": _among("self-check", "works", "silent"),
}
"""Readings of tracing kept as they are written, each with the number that stands for it; BadTone when it is not written so."""
WRITTEN_UNITS = {
    "remote placed": "number",
    "remotes heard": "numbers",
    "word placed": "pairs",
    "word read": "pairs",
    "short placed": "on",
    "continuity": "closed",
    "self-check": "works",
}
TAKEN_OFF = frozenset({"remote placed", "word placed", "short placed", "resistor placed"})
"""What can be placed, and so taken off again: `none`."""


def named_in(quantity: str, text: str) -> Iterable[Ref]:
    """Things that a reading of tracing names besides the one it was taken at."""
    if quantity == "tone":
        tone = parse_tone(text)
        return (tone.source, *tone.over)
    return parse_continuity(text).shorted if quantity == "continuity" else ()

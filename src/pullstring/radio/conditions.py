"""The conditions of a level reading: `doors shut; heard from TAG; at 3.2 4.5; mean of 5`, in any order, the rest free words."""

from __future__ import annotations

import dataclasses
import functools
import re

from pullstring.model.geometry import FARTHEST_M
from pullstring.model.units import BadQuantity, parse_quantity

SHUT, OPEN, USUAL = "shut", "open", "usual"
_DOORS = {"shut": SHUT, "closed": SHUT, "open": OPEN, "opened": OPEN, "usual": USUAL, "as usual": USUAL}
_HEARD = re.compile(r"(?:was |is )?(?:heard from|heard|from)\s*:?\s*(.*)", re.IGNORECASE)
_KIND = re.compile(r"(?:unit|position)\s*:\s*", re.IGNORECASE)
_DOOR = re.compile(r"(?:all )?doors?\s+(?:were |was |are |is )?(.*)", re.IGNORECASE)
_AT = re.compile(r"(?:at|stood at)\s*:?\s*((?:x\s*)?[-+\u2212.,\d].*)", re.IGNORECASE)
_STRANGER = re.compile(r"(?:a )?(?:stranger|foreign|neighbour)\b(.*)", re.IGNORECASE)
_CHANNEL = re.compile(r".*?\b(?:on )?channel\s*:?\s*(\d+)", re.IGNORECASE)
_MEAN = re.compile(r"(?:mean|average)\b(?:\s+of)?\s*(.*)", re.IGNORECASE)
_MEAN_NUMBER = re.compile(r"(\d+)(?:\s+readings?)?", re.IGNORECASE)
_TURNED = re.compile(r"(?:while )?(?:turning|turned)\b.*", re.IGNORECASE)
MOST_COUNT = 1000  # ours
HIGHEST_CHANNEL = 233
"""Of the three bands; IEEE 802.11, from memory."""


@dataclasses.dataclass(frozen=True)
class Conditions:
    """What was said of a reading, as far as it could be read; `faults` are sentences on parts that begin well and go wrong.

    `at_m` is in the building's axes, its height above the floor if it was said.
    """

    heard: str = ""
    doors: str = ""
    at_m: tuple[float, ...] = ()
    stranger_channel: int | None = None
    stranger: bool = False
    count: int = 1
    turned: bool = False
    rest: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


@functools.lru_cache(maxsize=4096)
def parse_conditions(text: str) -> Conditions:
    """Read a phrase; never raises. Parts stand between semicolons, or commas with a space after them."""
    said = Conditions()
    for part in (p.strip() for p in re.split(r";|,(?=\s)|,$|\.\s*$", text)):
        if part:
            said = _add(said, part)
    return said


def _add(said: Conditions, part: str) -> Conditions:
    if found := _DOOR.fullmatch(part):
        word = " ".join(found[1].casefold().split())
        if word in _DOORS:
            return dataclasses.replace(said, doors=_DOORS[word])
        return _wrong(said, f"{part!r} does not tell how the doors stood; write doors shut or doors open")
    if found := _STRANGER.fullmatch(part):
        channel = _CHANNEL.fullmatch(found[1])
        if channel and 1 <= int(channel[1]) <= HIGHEST_CHANNEL:
            return dataclasses.replace(said, stranger=True, stranger_channel=int(channel[1]))
        wrong = _wrong(said, f"{part!r} names no channel; write stranger on channel 36")
        return dataclasses.replace(wrong, stranger=True)
    if found := _AT.fullmatch(part):
        return _at(said, part, found[1])
    if found := _MEAN.fullmatch(part):
        number = _MEAN_NUMBER.fullmatch(found[1])
        if number and 1 <= int(number[1]) <= MOST_COUNT:
            return dataclasses.replace(said, count=int(number[1]))
        return _wrong(said, f"{part!r} does not tell of how many readings; write mean of 5")
    if _TURNED.fullmatch(part):
        return dataclasses.replace(said, turned=True)
    if found := _HEARD.fullmatch(part):
        tag = _KIND.sub("", found[1]).strip()
        if not tag:
            return _wrong(said, f"{part!r} names nothing; write heard from and the tag of the access point")
        if said.heard and tag.casefold() != said.heard.casefold():
            return _wrong(said, f"it names {said.heard!r} and {tag!r}; write each access point as a reading of its own")
        return dataclasses.replace(said, heard=tag)
    return dataclasses.replace(said, rest=(*said.rest, part))


def _at(said: Conditions, part: str, written: str) -> Conditions:
    tokens = re.sub(r"\b[xyz]\s*[:=]?\s*(?=[-+\u2212.,\d])", " ", written, flags=re.IGNORECASE)
    tokens = re.sub(r"(?<=\d)\s+(?=(?:m|cm|mm|ft|in|yd)\b)", "", tokens).replace("/", " ")
    words = tokens.split()
    unit = re.sub(r"^[-+\u2212.,\d]+", "", words[-1]) if words else ""
    try:
        numbers = tuple(parse_quantity(w, "length", unit=unit or "m").value for w in words)
    except BadQuantity:
        numbers = ()
    if len(numbers) not in (2, 3) or max(map(abs, numbers)) > FARTHEST_M:
        return _wrong(said, f"{part!r} is no place; write at X Y or at X Y Z in the axes of the building")
    return dataclasses.replace(said, at_m=numbers)


def _wrong(said: Conditions, sentence: str) -> Conditions:
    return dataclasses.replace(said, faults=(*said.faults, sentence))

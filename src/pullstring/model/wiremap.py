"""A wire map: which pin of the near end reaches which pin of the far end, and which touch. Written as people say it.

Items are parted by `;`: `whole` (all other pins go straight), `whole 1 2 3 6`, `open 7 8`, `touch 5+7`, `goes 1>3 2>6`. A pin
that no item names was not tested. Continuity cannot show a split pair: two pairs exchanged alike at both ends map straight.
Pins of the 8-position connector and its two wire orders: TIA-568 (from memory); pair numbers are those of the cable.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping

SCHEMES: dict[str, tuple[tuple[int, int], ...]] = {
    "T568A": ((5, 4), (3, 6), (1, 2), (7, 8)),
    "T568B": ((5, 4), (1, 2), (3, 6), (7, 8)),
    "telephone": ((3, 4), (2, 5)),
}
"""Pins of the two conductors of pair 1 (blue), 2 (orange), 3 (green), 4 (brown): first `a`, then `b` of a pair."""

_PIN = re.compile(r"[1-9]\d?")
_GOES = re.compile(r"([1-9]\d?)\s*>\s*([1-9]\d?(?:\+[1-9]\d?)*)")


class BadWireMap(ValueError):
    """A wire map is not written as one."""


@dataclasses.dataclass(frozen=True)
class WireMap:
    """Far pins by near pin, groups of near pins that touch, and whether all other pins go straight."""

    far: Mapping[int, frozenset[int]]
    touching: frozenset[frozenset[int]]
    rest_whole: bool

    def reaches(self, pin: int) -> frozenset[int] | None:
        """Far pins that a near pin reaches; None when it was not tested."""
        return self.far.get(pin, frozenset({pin}) if self.rest_whole else None)

    def touched_by(self, pin: int) -> frozenset[int]:
        """Other near pins that a pin touches."""
        return frozenset(p for group in self.touching if pin in group for p in group) - {pin}

    def clean(self, pin: int) -> bool:
        """Whether a pin goes straight and touches nothing."""
        return self.reaches(pin) == frozenset({pin}) and not self.touched_by(pin)

    @property
    def faulty(self) -> frozenset[int]:
        """Pins that were tested and are open, crossed or touch another."""
        touched = {p for group in self.touching for p in group}
        return frozenset(touched | {p for p, far in self.far.items() if far != frozenset({p})})


def parse_wiremap(text: str) -> WireMap:
    """Read a wire map; raises BadWireMap with what would be right."""
    far: dict[int, frozenset[int]] = {}
    touching: set[frozenset[int]] = set()
    rest = False
    for item in (part.strip() for part in text.casefold().replace(",", ";").split(";")):
        word, _, after = item.partition(" ")
        if not item:
            continue
        if word == "whole":
            far |= {pin: frozenset({pin}) for pin in _pins(after)}
            rest = rest or not after.strip()
        elif word == "open" and after.strip():
            far |= dict.fromkeys(_pins(after), frozenset())
        elif word in ("touch", "short") and "+" in after:
            touching |= {_group(part) for part in after.split()}
        elif word in ("goes", "crossed") and ">" in after:
            far |= _goes(after)
        else:
            raise BadWireMap(_remedy(item))
    if not (far or touching or rest):
        raise BadWireMap(_remedy(text))
    return WireMap(far, frozenset(touching), rest)


def _remedy(found: str) -> str:
    return f"{found!r} is no wire map; write for example: whole; or: whole; open 7 8; touch 5+7; goes 1>3 2>6"


def _pins(text: str) -> list[int]:
    words = text.split()
    if wrong := [w for w in words if not _PIN.fullmatch(w)]:
        raise BadWireMap(f"{wrong[0]!r} is no pin; pins are numbers from 1, parted by spaces")
    return [int(w) for w in words]


def _group(part: str) -> frozenset[int]:
    pins = frozenset(_pins(part.replace("+", " ")))
    if len(pins) < 2:
        raise BadWireMap(f"{part!r} names one pin; write the pins that touch with a plus: 5+7")
    return pins


def _goes(text: str) -> dict[int, frozenset[int]]:
    found = {int(near): frozenset(map(int, far.split("+"))) for near, far in _GOES.findall(text)}
    if left := _GOES.sub("", text).strip():
        raise BadWireMap(f"{left!r} is no crossing; write near>far, for example goes 1>3 2>6")
    return found

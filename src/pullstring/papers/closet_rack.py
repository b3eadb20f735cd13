"""A rack as it stands: nineteen inches wide, its rack units numbered from below, what is in each.

Sizes: a rack unit is 44.45 mm and a front 482.6 mm (19 in) wide, by IEC 60297-3-100 and EIA/ECA-310-E, from memory.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.papers import closet_marks as marks
from pullstring.papers import svg
from pullstring.papers.closet_marks import MID, NUMBER, SMALL, Line, fitted, height, stacked, wrapped
from pullstring.papers.closet_rows import WIDTH
from pullstring.papers.closet_words import name_of, state_word

UNIT_MM = 44.45
FRONT_MM = 482.6
RAIL = 6.0  # left of the front: the numbers of the rack units, in mm of the sheet
INSIDE = 3.6  # a slot as high as this holds its own tag
_SPAN = re.compile(r"^\s*U?\s*(\d+)(?:\s*(?:-|to|–)\s*U?\s*(\d+))?\s*$", re.IGNORECASE)
_UNIT = re.compile(r"\bU(\d+)(?:\s*(?:-|to|–)\s*U?(\d+))?\b")


@dataclasses.dataclass(frozen=True)
class Slot:
    """What fills some rack units: lowest and highest, counted from below."""

    low: int
    high: int
    things: tuple[Thing, ...]


def slots_of(site: Site, rack: Thing) -> tuple[list[Slot], list[Thing]]:
    """What is in a rack by its height, top down; and what is in it at a height that nobody noted."""
    at: dict[tuple[int, int], list[Thing]] = {}
    unplaced: list[Thing] = []
    only = [r.ref for r in site.of_kind("rack") if r.text("state") != "removed"] == [rack.ref]
    for kind in ("unit", "block", "socket"):
        for thing in site.of_kind(kind):
            if thing.text("state") == "removed" or thing.ref_of("rack") not in (None, rack.ref):
                continue
            span = _span(thing, rack.ref, only=only)
            if span:
                at.setdefault(span, []).append(thing)
            elif thing.ref_of("rack") == rack.ref:
                unplaced.append(thing)
    return _merged(at), unplaced


def _span(thing: Thing, rack: Ref, *, only: bool) -> tuple[int, int] | None:
    """The rack units of a thing: as noted, else as its place or note tells in words that name the rack."""
    if thing.ref_of("rack") == rack and (found := _SPAN.match(thing.text("rack_u"))):
        return _ordered(found)
    for said in (thing.text("place"), thing.text("note")):
        named = re.search(rf"\b{re.escape(rack.tag)}\b", said) or only and re.search(r"\bin the rack\b", said)
        if (named or thing.ref_of("rack") == rack) and (found := _UNIT.search(said)):
            return _ordered(found)
    return None


def _ordered(found: re.Match[str]) -> tuple[int, int]:
    one = int(found[1])
    other = int(found[2] or one)
    return min(one, other), max(one, other)


def _merged(at: Mapping[tuple[int, int], Sequence[Thing]]) -> list[Slot]:
    """Things at overlapping heights share a slot: a panel and the block that is its jacks."""
    merged: list[Slot] = []
    for (low, high), things in sorted(at.items()):
        if merged and low <= merged[-1].high:
            last = merged.pop()
            merged.append(Slot(last.low, max(last.high, high), (*last.things, *things)))
        else:
            merged.append(Slot(low, high, tuple(things)))
    return merged[::-1]


def units_high(rack: Thing, slots: Sequence[Slot]) -> int:
    """Height in rack units: as noted, and never less than what is in it."""
    return (
        max(int(rack.number("height_u") or 0), *(s.high for s in slots), 0)
        if slots
        else int(rack.number("height_u") or 0)
    )


@dataclasses.dataclass(frozen=True)
class RackFront:
    """The front of a rack at a scale; what is not to be touched is barred."""

    site: Site
    rack: Thing
    slots: tuple[Slot, ...]
    units: int
    scale: int
    guarded: Mapping[str, str]
    keep: bool = False
    under: bool = True
    more: None = None

    @property
    def u_mm(self) -> float:
        """Height of a rack unit on the sheet."""
        return UNIT_MM / self.scale

    @property
    def height(self) -> float:
        """With its edge, and with the words beside it where they are longer."""
        return max(self.units * self.u_mm, *(y + height(lines) for _, lines, y in self._beside(0.0)), 0.0) + 4.0

    def at(self, x: float, y: float) -> list[str]:
        """The front from the left edge of its column."""
        left, wide, top = x + RAIL + 1.0, FRONT_MM / self.scale, y + 1.5
        parts = [svg.rect((left, top), wide, self.units * self.u_mm, "face")]
        every = 1 if self.u_mm >= NUMBER.pitch else 2 if 2 * self.u_mm >= NUMBER.pitch else 5
        for n in range(1, self.units + 1):
            low = top + (self.units - n + 1) * self.u_mm
            if n < self.units:
                parts.append(svg.stroke(svg.path([(left, low - self.u_mm), (left + wide, low - self.u_mm)]), "faint"))
            if n % every == 0 or n == 1:
                number = Line(str(n), NUMBER, "second")
                parts.append(marks.text(number, (left - 1.2, low - self.u_mm / 2 + 0.9), anchor="end"))
        for slot in self.slots:
            parts += self._slot(slot, left, top, wide)
        for slot, lines, low in self._beside(top):
            start = top + (self.units - slot.high + (slot.high - slot.low + 1) / 2) * self.u_mm
            turn = left + wide + 2.0
            middle = low + lines[0].style.pitch / 2
            lead = [(left + wide, start), (turn, start), (turn + 1.2, middle), (turn + 2.2, middle)]
            parts += marks.group(slot.things[0].ref, self._says(slot), [
                svg.stroke(svg.path(lead), "thin"), *stacked(lines, (turn + 2.8, low)),
            ])  # fmt: skip
        return marks.group(self.rack.ref, f"{self.rack.ref.tag}, front", parts)

    def _slot(self, slot: Slot, left: float, top: float, wide: float) -> list[str]:
        y, tall = top + (self.units - slot.high) * self.u_mm, (slot.high - slot.low + 1) * self.u_mm
        first = slot.things[0]
        planned = all(t.text("state") == "planned" for t in slot.things)
        parts = [svg.rect((left, y), wide, tall, "new" if planned else "face")]
        if any(str(t.ref) in self.guarded for t in slot.things):
            parts += marks.bars(left, y, 3.0, tall)
        if any(t.text("state") == "out of use" for t in slot.things):
            parts += marks.slash(left + wide - 6, y, 6, tall)
        tags = _tags(slot)
        if self._inside(slot):
            base = y + tall / 2 + 1.05
            parts.append(marks.text(Line(tags, MID, "planned" if planned else "ink"), (left + 3.8, base)))
        return marks.group(first.ref, self._says(slot), parts)

    def _inside(self, slot: Slot) -> bool:
        room = (slot.high - slot.low + 1) * self.u_mm >= INSIDE
        return room and MID.width(_tags(slot)) <= FRONT_MM / self.scale - 10

    def _says(self, slot: Slot) -> str:
        span = f"U{slot.high}" if slot.low == slot.high else f"U{slot.high} to U{slot.low}"
        return f"{span}: " + ", ".join(f"{t.ref.tag} {name_of(self.site, t.ref)}".strip() for t in slot.things)

    def _beside(self, top: float) -> list[tuple[Slot, list[Line], float]]:
        """The words beside the front, pushed down where they would lie on one another."""
        room = WIDTH - RAIL - 1.0 - FRONT_MM / self.scale - 5.5
        found, low = [], top - 1.0
        for slot in self.slots:
            said = [] if self._inside(slot) else [Line(_tags(slot), MID)]
            names = [name_of(self.site, t.ref) for t in slot.things]
            said += [Line(n, SMALL, "second") for n in dict.fromkeys(names) if n]
            said += [Line(w, SMALL) for t in slot.things if (w := state_word(t))]
            lines = fitted(said, room)
            if not lines:
                continue
            middle = top + (self.units - slot.high + (slot.high - slot.low + 1) / 2) * self.u_mm
            low = max(low, middle - lines[0].style.pitch / 2)
            found.append((slot, lines, low))
            low += height(lines) + 0.3
        return found


def _tags(slot: Slot) -> str:
    return " · ".join(t.ref.tag for t in slot.things)


def loose_words(things: Sequence[Thing]) -> list[str]:
    """Tags of what is in the rack at a height that nobody noted, wrapped for a head."""
    tags = ", ".join(t.ref.tag for t in things)
    return wrapped(f"in it, height not noted: {tags}", SMALL, WIDTH) if things else []

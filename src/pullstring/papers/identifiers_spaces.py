"""Spaces: the rooms in which cables come together, each with its floor and a letter that nothing noted later changes.

A room is a space when it is marked as the closet, when a block or a rack was noted in it, or when a cable from another
building ends in it. While no room is any of these, rooms in which two or more cables end that end at no outlet count.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterable, Iterator

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.entries import NONE_SAID, Scalar
from pullstring.model.norms import LinkId, link_id
from pullstring.model.refs import Ref, natural

Order = tuple[int, str, int, str]
NEVER: Order = (2**62, "", 0, "")
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
OUTLETS = ("outlet", "jack")


@dataclasses.dataclass(frozen=True)
class Space:
    """A room with its letter, and the moment of the record from which it was a space.

    `fs` is empty where no floor or no level of it is known.
    """

    room: Ref
    letter: str
    level: str
    building: Ref | None
    stands: bool
    became: Order

    @property
    def fs(self) -> str:
        """Floor and letter."""
        return f"{self.level}{self.letter}" if self.level else ""


def first_noted(thing: Thing) -> tuple[Order, tuple[tuple[str, int], ...]]:
    """When a thing was made in the record; the tag only parts things of one entry."""
    orders = [thing.made.order] if thing.made else [a.order for f in thing.fields.values() for a in f.heads]
    return min(orders, default=NEVER), natural(thing.ref.key)


def said_to_be_none(value: Scalar) -> bool:
    """Whether a value says that there is none."""
    return value is None or str(value).strip().casefold() in (NONE_SAID, "no", "missing", "")


def floor_of(site: Site, room: Thing | None) -> Thing | None:
    """The floor of a room."""
    return site.get(room.ref_of("floor")) if room else None


def level_word(floor: Thing | None) -> str:
    """The floor as the identifier writes it; a cellar is B1, B2 ... (ours: the standard's form is not known here)."""
    level = floor.get("level") if floor else None
    if isinstance(level, bool) or not isinstance(level, int | float) or level != int(level):
        return ""
    return str(int(level)) if level >= 0 else f"B{-int(level)}"


@once_a_site
def spaces(site: Site) -> dict[Ref, Space]:
    """The spaces by room, in the order in which they became spaces."""
    became = _became(site)
    rooms = sorted(became, key=lambda r: (became[r], first_noted(site.things[r])))
    fixed = _stated_letters(site, rooms)
    free = (letter for letter in _letters() if letter not in fixed.values())
    found = {}
    for room in rooms:
        thing = site.things[room]
        floor = floor_of(site, thing)
        letter = fixed.get(room) or next(free)
        building = floor.ref_of("building") if floor else None
        found[room] = Space(room, letter, level_word(floor), building, thing.stands, became[room])
    return found


def _letters() -> Iterator[str]:
    """A to Z without I and O, which read as 1 and 0; then AA, AB ..."""
    yield from LETTERS
    for first in LETTERS:
        for second in LETTERS:
            yield first + second
    number = 1
    while True:  # more rooms than letters: nobody has them, and nothing may break
        yield f"Z{number}Z"
        number += 1


def _became(site: Site) -> dict[Ref, Order]:
    """Each space with the moment of the record from which it was one: whatever is noted later comes after it."""
    moments: dict[Ref, list[Order]] = collections.defaultdict(list)
    for room in site.of_kind("room"):
        if room.text("closet") == "yes":
            moments[room.ref].append(room.fields["closet"].last.order)
    for kind in ("block", "rack"):
        for thing in site.of_kind(kind):
            if room_ref := thing.ref_of("room"):
                moments[room_ref].append(max(first_noted(thing)[0], thing.fields["room"].last.order))
    for room_ref, moment in _entrances(site):
        moments[room_ref].append(moment)
    if not any(ref in site.things for ref in moments):
        moments.update(_gathered(site))
    return {ref: min(orders) for ref, orders in moments.items() if ref in site.things}


def _entrances(site: Site) -> Iterator[tuple[Ref, Order]]:
    """Rooms in which a cable from another building ends."""
    for ends in site.ends_by_cable.values():
        placed = [(e, r, b) for e in ends if (r := e.ref_of("room")) and (b := building_of(site, r))]
        if len({b for _, _, b in placed}) > 1:
            moment = max(placed_at(e) for e, _, _ in placed)
            for _, room, _ in placed:
                yield room, moment


def placed_at(end: Thing) -> Order:
    """The moment of the record from which an end was known with its cable and its room."""
    said = [end.fields[name].last.order for name in ("room", "cable") if name in end.fields]
    return max([first_noted(end)[0], *said])


def building_of(site: Site, room: Ref | None) -> Ref | None:
    """The building in which a room lies."""
    floor = floor_of(site, site.get(room))
    return floor.ref_of("building") if floor else None


def _gathered(site: Site) -> dict[Ref, list[Order]]:
    """Without any closet, block or rack: rooms in which two or more cables end that end at no outlet."""
    at_outlet = {c.subject for c in site.about(relation="ends_at") if c.object.kind in OUTLETS}
    cables: dict[Ref, dict[Ref, Order]] = collections.defaultdict(dict)
    for end in site.of_kind("end"):
        room = end.ref_of("room")
        if room and end.ref not in at_outlet:
            cables[room].setdefault(end.ref_of("cable") or end.ref, end.fields["room"].last.order)
    return {room: sorted(orders.values())[:1] for room, orders in cables.items() if len(orders) > 1}


def stated(labels: Iterable[str]) -> LinkId | None:
    """The first label that is written as the standard writes a link."""
    for label in labels:
        try:
            return link_id(label)
        except ValueError:
            continue
    return None


def _stated_letters(site: Site, rooms: Iterable[Ref]) -> dict[Ref, str]:
    """Letters that labels in a space give it already: the label first noted counts, and no letter twice."""
    known = set(rooms)
    fixed: dict[Ref, str] = {}
    for end in sorted(site.of_kind("end"), key=first_noted):
        room = end.ref_of("room")
        label = stated((end.text("label"), end.ref.tag))
        if room in known and room not in fixed and label and label.floor is not None and label.space:
            level = level_word(floor_of(site, site.get(room)))
            if level == str(label.floor) and label.space not in fixed.values():
                fixed[room] = label.space
    return fixed

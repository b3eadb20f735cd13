"""The words of one sentence of pasted lines: rooms, floors, what lies beside what, gear, people, what must stay."""

from __future__ import annotations

import dataclasses
import re
from typing import Protocol

from pullstring.model.pasted_words import Token, Word, words_at

MOST_ROOMS_COUNTED = 60  # ours: "200 bedrooms" is a size, no list of rooms
ROOM_KINDS = ("room", "head", "small", "part", "floorroom")
PARTING = (",", "and", "&", "+", ":", ".", "the", "in", "with", "-")
SMALL_WORDS = ("a", "an", "any", "the", "more", "longer", "such", "working", "old", "other")
PLACES = ("beside", "above", "below", "between", "opposite")
SIMPLE = {
    "complaint": "need",
    "caretaker": "person",
    "owner": "person",
    "tenant": "person",
    "need": "wish",
} | {
    k: k for k in ("guard", "wall", "medium", "constraint", "outbuilding", "gear", "touch", "away", "present", "hazard")
}
SOFT = (
    "filler",
    "wallword",
    "lineword",
    "needword",
    "stay",
    "present",
    "place",
    "about",
    "abbreviation",
    "adjective",
    "clock",
    "day",
)


@dataclasses.dataclass
class Told:
    """A room as named; `floor` is a level as text, 'attic', 'mezzanine', 'top' or ''; `small` ones need no unit."""

    name: str
    floor: str = ""
    small: bool = False


@dataclasses.dataclass
class Found:
    """One thing understood: `what` it is, its `name`, an `other` word, figures, and the rooms it is about."""

    what: str
    piece: str
    name: str = ""
    other: str = ""
    low: float | None = None
    high: float | None = None
    room: str = ""
    to: str = ""


class Reading(Protocol):
    """What a scan needs of the reader: what was found so far, and where to put more."""

    rooms: dict[str, Told]
    found: list[Found]
    spots: list[tuple[int, Found]]
    begun: int
    heading: str
    last_room: str

    def add(self, what: str, at: int, **more: object) -> Found:
        """Note something at a place of the sentence."""

    def piece(self, at: int) -> str:
        """The piece that a place lies in."""

    def room(self, name: str, *, small: bool) -> Told:
        """The room of that name."""


class Scan:
    """The words of one sentence, from left to right."""

    def __init__(self, reader: Reading, line: list[Token]) -> None:
        self.r, self.t = reader, line
        self.known: list[int] = []
        self.unknown: list[int] = []
        self.lost: list[int] = []
        self.pending: list[Told] = []
        self.floor = ""
        self.number: tuple[float, int] | None = None
        self.complaint: Found | None = None
        self.placed = False
        self.denied_to = -1  # where the last denying word ends
        self.link: tuple[str, str] | None = None
        self.linked = ""
        self.gear: Found | None = None

    def read(self) -> list[int]:
        """Understand what can be; gives the places of the words that were not."""
        unknown = self.unknown
        rooms_before = len(self.r.rooms)
        i = 0
        while i < len(self.t):
            token = self.t[i]
            step = self._step(i)
            if step:
                self.known += [t.start for t in self.t[i : i + abs(step)]] if step > 0 else []
                i += abs(step)
                continue
            if token.is_word or ord(token.text[0]) > 0x2BFF:
                unknown.append(token.start)
            i += 1
        unknown += [*self.lost, *([self.number[1]] if self.number else [])]
        for room in self.pending:
            room.floor = room.floor or self.floor or self.r.heading
        if self.floor and len(self.r.rooms) == rooms_before and not self.pending and len(self.r.found) == self.r.begun:
            self.r.heading = self.floor
        return unknown

    def _step(self, i: int) -> int:
        """Tokens taken at a place: more than 0 when they say something, less when they are mere filling, 0 unknown."""
        if not self.t[i].is_word:
            return 0
        fit = words_at(self.t, i) if self.t[i].number is None else []
        if length := self._floor_at(i, fit) or self._floor_heading(i, fit):
            return length
        chain = self._chain(i)
        best = next(
            (
                w
                for w in fit
                if w.kind in SIMPLE or w.kind in PLACES or w.kind in ("people", "devices", "storeys", "negation")
            ),
            None,
        )
        if chain and (best is None or chain[0] >= best.length):
            return self._room(i, *chain)
        if best:
            return self._word(i, best)
        if (value := self._value(i)) is not None:
            self.lost += [self.number[1]] if self.number else []
            self.number = (value[0], self.t[i].start) if self._counts(i + value[1]) else None
            return -value[1] if self._counts(i + value[1]) else 0
        soft = next(
            (w for w in fit if w.kind in SOFT or w.kind in ("present", "leave", "arrive", "dozen", "touch")), None
        )
        return -soft.length if soft else 0

    def _value(self, i: int) -> tuple[float, int] | None:
        if self.t[i].number is not None:
            return float(self.t[i].number or 0), 1
        word = next((w for w in words_at(self.t, i) if w.kind == "number"), None)
        return (float(word.means), word.length) if word else None

    def _counts(self, i: int) -> bool:
        """Whether something that is counted comes within the next four words."""
        end = min(i + 4, len(self.t))
        parts = (
            k for k in range(i, end) if self.t[k].key in PARTING or any(w.kind in PLACES for w in words_at(self.t, k))
        )
        stop = next(parts, end)
        return any(
            w.kind in (*ROOM_KINDS, "gear", "people", "devices", "storeys", "guard", "outbuilding")
            for k in range(i, stop)
            for w in words_at(self.t, k)
        )

    def _floor_at(self, i: int, fit: list[Word]) -> int:
        word = next((w for w in fit if w.kind == "floor"), None)
        level, length = (word.means, word.length) if word else ("", 0)
        ordinal = next((w for w in fit if w.kind == "ordinal"), None)
        nth = re.fullmatch(r"(\d{1,2})(st|nd|rd|th)", self.t[i].key)
        if not word and (ordinal or nth):
            behind = i + (ordinal.length if ordinal else 1)
            if behind < len(self.t) and (
                w := next((w for w in words_at(self.t, behind) if w.kind == "floorword"), None)
            ):
                level, length = ordinal.means if ordinal else str(int(nth[1])) if nth else "", behind + w.length - i
        if (
            not length
            and any(w.kind == "floorword" for w in fit)
            and i + 1 < len(self.t)
            and self.t[i + 1].whole is not None
        ):
            level, length = str(min(self.t[i + 1].whole or 0, 99)), 2
        if not length:
            return 0
        self.floor = level
        for room in self.pending:
            room.floor = room.floor or level
        if self.pending:
            self.floor, self.pending = "", []
        return length

    def _floor_heading(self, i: int, fit: list[Word]) -> int:
        """`attic: study and box room`: the attic is the floor of what follows, and no room of its own."""
        word = next((w for w in fit if w.kind == "floorroom"), None)
        if word is None or i or i + word.length >= len(self.t) or self.t[i + word.length].key != ":":
            return 0
        self.floor = word.means
        return word.length

    def _chain(self, i: int) -> tuple[int, str, str, bool] | None:
        """A room's name that begins here: how many tokens, the name, its kind, whether it is a plural."""
        j, names, kind, plural = i, list[str](), "", False
        while j < len(self.t) and len(names) < 6:
            fit = words_at(self.t, j)
            found = next((w for w in fit if w.kind in ROOM_KINDS), None)
            if found and (not kind or found.kind in ("head", "part")):
                names.append(found.phrase)
                kind, j = found.kind, j + found.length
                plural = self.t[j - 1].key != found.phrase.split()[-1]
                continue
            modifier = next((w for w in fit if w.kind == "adjective"), None)
            own = self.t[j].text[:1].isupper() and self.t[j].is_word and not fit and self._value(j) is None
            if kind or not (modifier or own or self.t[j].key.endswith(("'s", "s'"))):
                break
            names.append(self.t[j].text if own else self.t[j].key)
            j += modifier.length if modifier else 1
        if not kind or (kind == "part" and len(names) == 1 and names[0] in ("store", "storage")):
            return None
        name = " ".join(names)
        return j - i, "WC" if name == "wc" else name[:1].upper() + name[1:], kind, plural

    def _room(self, i: int, length: int, name: str, kind: str, plural: bool) -> int:
        bare = name.casefold() in ("room", "chamber")
        if kind == "head" and i and self.t[i - 1].key in ("every", "each", "any", "all", "no"):
            return -length
        numbers, length = self._numbers(i, length, plural)
        count = self._count()
        if bare and not numbers or (plural and (count is None or count > MOST_ROOMS_COUNTED) and not numbers):
            if count is None:
                return -length if bare else 0
            if self.gear is not None and self.gear.high is None:
                self.gear.high = count
            else:
                self.r.add("rooms", self.t[i].start, low=count)
            return length
        whole = int(count) if count and count == int(count) and 1 < count <= MOST_ROOMS_COUNTED else 0
        names = [f"{name} {n}" for n in numbers or (range(1, whole + 1) if whole and plural else ())] or [name]
        small = kind in ("small", "part")
        for number, one in enumerate(names):
            self._named(
                i,
                one,
                small=small,
                more=number > 0,
                attic="attic" if name == "Attic" else "-1" if name in ("Cellar", "Basement") else "",
            )
        return length

    def _numbers(self, i: int, length: int, plural: bool) -> tuple[list[str], int]:
        numbers: list[str] = []
        k = i + length
        while k < len(self.t) and (n := self.t[k].whole) is not None and n < 1000 and self.t[k].text.isdigit():
            if (
                not plural
                and numbers
                or self._counts(k + 1)
                and not numbers
                and self._value(k + 1) is None
                and self.t[k + 1].is_word
            ):
                break
            numbers.append(str(n))
            k, length = k + 1, k + 1 - i
            if k + 1 < len(self.t) and self.t[k].key in ("-", "–", "to") and (last := self.t[k + 1].whole) is not None:
                numbers += [str(x) for x in range(n + 1, min(last, n + MOST_ROOMS_COUNTED) + 1)]
                k, length = k + 2, k + 2 - i
            if k < len(self.t) and self.t[k].key in (",", "and", "&", "+"):
                k += 1
        return numbers, length

    def _named(self, i: int, name: str, *, small: bool, attic: str, more: bool) -> None:
        before = self.r.last_room
        room = self.r.room(name, small=small)
        at = self.t[i].start
        if self.link and self.link[1] != name:
            what, subject = self.link
            pair = (name, subject) if what == "below" else (subject, name)
            named = {"below": "above", "between": "beside"}.get(what, what)
            self.r.add(named, at, room=pair[0], to=pair[1])
            self.linked = name
            self.r.last_room = before or name
            if what != "between" and not self._and_follows(i):
                self.link = None
            return
        if attic and not room.floor:
            room.floor = attic
        if self.floor and not room.floor:
            room.floor = self.floor
        elif not room.floor:
            self.pending.append(room)
        if self.gear is not None and not self.gear.room and self._place_before(i):
            self.gear.room = name
        if (bad := self.complaint) and self.r.piece(at) == bad.piece:
            if self.placed and (more or self.t[max(0, i - 1)].key in ("and", "the", "&")):
                self.r.add("need", at, name=bad.name, room=name)
            elif not self.placed and (self._place_before(i) or not bad.room):
                bad.room, self.placed = name, True

    def _and_follows(self, i: int) -> bool:
        return any(t.key in ("and", "&") for t in self.t[i + 1 : i + 4])

    def _place_before(self, i: int) -> bool:
        return any(w.kind in ("place", *PLACES) for k in range(max(0, i - 3), i) for w in words_at(self.t, k))

    def _word(self, i: int, word: Word) -> int:
        at = self.t[i].start
        if word.kind in PLACES:
            subject = self.r.last_room
            self.link = (word.kind, subject) if subject and self.gear is None else None
            return word.length
        if word.kind == "negation":
            self.denied_to = i + word.length
            return -word.length
        if word.kind in ("people", "devices", "storeys"):
            return self._counted(i, word)
        if word.kind in ("away", "present"):
            who = next((f for _, f in reversed(self.r.spots) if f.what == "person"), None)
            if who is None or who.other:
                return -word.length
            who.other = "away" if word.kind == "away" or self._denied(i) else "there"
            return word.length
        named = word.phrase if word.kind == "constraint" else word.means
        denied = self._denied(i)
        made = self.r.add(SIMPLE[word.kind], at, name=named, other="none" if denied else "")
        if denied and i + word.length < len(self.t) and self.t[i + word.length].key in ("or", "nor"):
            self.denied_to = i + word.length + 1
        if word.kind == "gear":
            self.gear, made.low = made, self._count()
            before = self.r.found[-2] if len(self.r.found) > self.r.begun + 1 else made
            if made.low is None and before.what == "rooms" and before.piece == made.piece:
                made.high = before.low
                self.r.found.remove(before)
        here = self.r.piece(at)
        if word.kind == "complaint":
            made.room, made.other = self.r.last_room if self._same_piece(here) else "", ""
            self.complaint, self.placed = made, False
        return word.length

    def _denied(self, i: int) -> bool:
        """Whether a denying word stands right before, with small words at most between: "no lift", "not sure about the lift"."""
        return 0 <= self.denied_to <= i and all(t.key in SMALL_WORDS for t in self.t[self.denied_to : i])

    def _count(self) -> float | None:
        """The number that stands before; taken once."""
        value, self.number = self.number, None
        return value[0] if value else None

    def _same_piece(self, piece: str) -> bool:
        return bool(self.r.last_room) and self.r.last_room.casefold() in piece.casefold()

    def _counted(self, i: int, word: Word) -> int:
        count = self._count()
        behind = i + word.length
        if count is None and word.kind == "people" and behind + 1 < len(self.t) and self.t[behind].key == "of":
            value = self._value(behind + 1)
            count, behind = (value[0], behind + 1 + value[1]) if value else (None, behind)
        if count is None:
            return -word.length
        self.r.add(word.kind, self.t[i].start, low=count)
        return behind - i

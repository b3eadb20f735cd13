"""What was understood of pasted lines as rows of our tables, grade `told`, with tags that are short, stable and readable.

A tag is the name in capitals with hyphens: TOWER-ROOM, BEDROOM-3, GATEHOUSE. The same name is the same thing, so the
same text twice says the same. A room or floor that the site has under that name or level keeps its own tag.
"""

from __future__ import annotations

import dataclasses
import re
import unicodedata
from collections.abc import Iterable, Mapping

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Claimed, Noted, Scalar
from pullstring.model.pasted import Pasted
from pullstring.model.pasted_scan import Found
from pullstring.model.tables import RawTable, Statement
from pullstring.model.towrite import note
from pullstring.model.when import parse_when

MAIN = "MAIN"
MOST_SOCKETS = 24  # ours: more of them in one room are a slip of the pen
LEVELS = {"attic": "attic", "mezzanine": "mezzanine", "top": "top floor", "0": "ground floor"}
SOCKETS = {"telephone sockets": "TEL", "data sockets": "NET"}
Row = dict[str, str]


def tag_of(name: str) -> str:
    """The tag of a name: capitals, with a hyphen for everything that is no letter and no figure."""
    return re.sub(r"[\W_]+", "-", unicodedata.normalize("NFKC", name)).strip("-").upper() or "X"


def rows_of_pasted(pasted: Pasted, site: Site | None) -> list[RawTable]:
    """Tables ready to be understood; only what was said stands in them."""
    writer = _Rows(site)
    writer.places(pasted)
    for found in pasted.found:
        if found.other != "none":
            writer.fact(found)
    writer.visit(pasted)
    return [_table(name, rows) for name, rows in writer.tables.items() if rows]


def _table(name: str, rows: Mapping[str, Row]) -> RawTable:
    header = tuple(dict.fromkeys(column for row in rows.values() for column in row))
    cells = tuple((n, tuple(row.get(c, "") for c in header)) for n, row in enumerate(rows.values(), 2))
    return RawTable("pasted lines", name, header, cells)


class _Rows:
    def __init__(self, site: Site | None) -> None:
        self.site = site
        names = (
            "buildings",
            "floors",
            "rooms",
            "outlets",
            "incoming_lines",
            "visits",
            "constraints",
            "services",
            "needs",
        )
        self.tables: dict[str, dict[str, Row]] = {
            name: {} for name in (*names, "hazards", "persons", "property", "claims")
        }
        held = list(site.of_kind("room")) if site else []
        self.rooms = {(t.text("name") or t.ref.tag).casefold(): t.ref.tag for t in held}
        floors = list(site.of_kind("floor")) if site else []
        self.floors = {str(t.get("level")): t.ref.tag for t in floors} | {
            t.text("name").casefold(): t.ref.tag for t in floors
        }
        houses = [t.ref.tag for t in site.of_kind("building")] if site else []
        self.main = houses[0] if houses and MAIN not in houses else MAIN

    def put(self, table: str, tag: str, **cells: str) -> Row:
        """A row by its tag; cells that are blank are not said."""
        kind = {"property": "property"}.get(table, table.removesuffix("s"))
        row = self.tables[table].setdefault(tag, {kind: tag, "grade": "told"})
        row.update({n: v for n, v in cells.items() if v})
        return row

    def building(self) -> str:
        """The main house; it is noted when something needs it."""
        if self.site is None or not any(True for _ in self.site.of_kind("building")):
            self.put("buildings", MAIN, name="main house")
        return self.main

    def places(self, pasted: Pasted) -> None:
        """Floors and rooms."""
        for room in pasted.rooms:
            tag = self.room(room.name)
            self.put("rooms", tag, name=room.name, floor=self.floor(room.floor) if room.floor else "")

    def room(self, name: str) -> str:
        """The tag of a room by its name."""
        return self.rooms.setdefault(name.casefold(), tag_of(name))

    def floor(self, level: str) -> str:
        """The tag of a floor: F0, F1, F-1, ATTIC; noted once."""
        name = LEVELS.get(level, f"floor {level}")
        if held := self.floors.get(level) or self.floors.get(name):
            return held
        number = level if re.fullmatch(r"-?\d+", level) else ""
        tag = self.floors[level] = f"F{number}" if number else level.upper()
        self.put("floors", tag, building=self.building(), level=number, name=name)
        return tag

    def fact(self, found: Found) -> None:
        """One thing that is no place."""
        if say := getattr(self, f"_{found.what}", None):
            say(found)

    def _beside(self, found: Found) -> None:
        a, b = (f"room:{self.room(n)}" for n in (found.room, found.to))
        if a != b:
            self.tables["claims"][f"{a} {found.what} {b}"] = {
                "subject": a,
                "relation": found.what,
                "object": b,
                "grade": "told",
            }

    _above = _beside

    def _built(self, found: Found) -> None:
        self.put("buildings", self.building(), era=found.name)

    def _wall(self, found: Found) -> None:
        row = self.put("buildings", self.building())
        words = [w for w in row.get("note", "").removeprefix("walls: ").split(", ") if w]
        row["note"] = "walls: " + ", ".join(dict.fromkeys([*words, found.name]))

    def _outbuilding(self, found: Found) -> None:
        self.building()
        away = f"{found.low:g} m from the main house" if found.low is not None else ""
        self.put("buildings", tag_of(found.name), name=found.name, note=away)

    def _speed(self, found: Found) -> None:
        down, up = ("" if v is None else f"{v:g}" for v in (found.low, found.high))
        self.put("incoming_lines", "LINE-1", down_mbps=down, up_mbps=up)

    def _medium(self, found: Found) -> None:
        self.put("incoming_lines", "LINE-1", medium=found.name)

    def _gear(self, found: Found) -> None:
        mark = SOCKETS.get(found.name)
        if not mark or not found.room or found.room.casefold() not in self.rooms:
            return
        room = self.room(found.room)
        for number in range(1, min(int(found.low or 1), MOST_SOCKETS) + 1):
            self.put("outlets", f"{room}-{mark}{number}", room=room, found=found.name.removesuffix("s"))

    def _guard(self, found: Found) -> None:
        self.put("services", tag_of(found.name), name=found.name, keep="yes")

    def _need(self, found: Found) -> None:
        room = self.room(found.room) if found.room else ""
        self.put("needs", f"{room or 'HOUSE'}-{tag_of(found.name)}", room=room, what=found.name)

    def _constraint(self, found: Found) -> None:
        self.put("constraints", tag_of(found.name), what=found.name)

    def _hazard(self, found: Found) -> None:
        self.put("hazards", tag_of(found.name), style=found.name)

    def _person(self, found: Found) -> None:
        self.put("persons", tag_of(found.name), note=found.other)

    def visit(self, pasted: Pasted) -> None:
        """One visit from what is said of coming, going and staying."""
        said = pasted.of("arrive", "leave", "stay")
        words = [f"{f.what}s {f.name} {f.other}" if f.what != "stay" else f"{f.low:g} days on site" for f in said]
        days = {f"{f.what}s": f.name for f in said if re.fullmatch(r"\d{4}-[01]\d-[0-3]\d", f.name)}
        if said:
            self.put("visits", "VISIT-1", note="; ".join(dict.fromkeys(" ".join(w.split()) for w in words)), **days)


def new_to(site: Site, statements: Iterable[Statement]) -> list[Statement]:
    """What the site does not say yet, whoever said it and when; what it says otherwise stays beside it."""
    claims = {(c.subject, c.relation, c.object) for c in site.claims}
    fresh = []
    for statement in statements:
        body = statement.body
        if isinstance(body, Claimed) and (body.subject, body.relation, body.object) in claims:
            continue
        if isinstance(body, Noted) and (thing := site.get(body.subject)):
            held = {n: [h.value for h in f.heads] for n, f in thing.fields.items()}
            fields = {n: _noted(held, n, v) for n, v in body.fields.items()}
            fields = {n: v for n, v in fields.items() if v not in held.get(n, [])}
            if not fields:
                continue
            own = {n: v for n, v in fields.items() if n == "note" or n not in held}
            body = note(site, dataclasses.replace(body, fields=own), parse_when(statement.at))
            if other := {n: v for n, v in fields.items() if n not in own}:
                fresh.append(dataclasses.replace(statement, body=Noted(body.subject, other, body.evidence)))
            if not own:
                continue
        elif isinstance(body, Noted):
            body = dataclasses.replace(body, new=True)
        fresh.append(dataclasses.replace(statement, body=body))
    return fresh


def _noted(held: Mapping[str, list[Scalar]], name: str, value: Scalar) -> Scalar:
    """A note goes behind the note that is there; any other value stays itself."""
    old = str(held[name][-1] or "") if name == "note" and held.get(name) else ""
    if not old or old in str(value):
        return value
    return old if str(value) in old else f"{old}; {value}"

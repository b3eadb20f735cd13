"""What works when: everything dark, then the mains come, and step by step power and signal spread until nothing changes.

Written from the tables and their guide alone, with copper as copper: a pair at a place is a point, points that touch are one
wire. Every answer is found by taking elements away and starting cold again; nothing is remembered from one start to the next.

What it takes for granted:
- Data need pairs 2 and 3 (pins 1-2 and 3-6) all the way. A line needs any pair; on a row of a split block lies one pair.
- Power over data goes over pairs 2 and 3 or over 1 and 4; 24 V always-on over 1 and 4 (IEEE 802.3 clause 33; common practice).
- A line and data are two signals: what passes data passes no line, and a telephone socket brings no data.
- A part goes with its whole: a port with its unit, an end with its cable, a pair with its cable, a row with its block.
- A service at a unit that takes power needs that power, also when a signal passes through the unit without.
- A loop noted between two jacks of a plate lies on that plate.
- Where a cable goes is how it arrives only when no recorded way arrives there.
"""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Collection, Iterable, Sequence

from tests.reach.simulated.paper import OF, Row, natural

Point = tuple[str, int]
A, B = (2, 3), (1, 4)
STRAIGHT = ("series jack", "coupler", "protector")
LINE_ONLY = ("panel", "telephone")
FITS = {
    "802.3af": {"802.3af", "802.3at", "802.3bt"},
    "802.3at": {"802.3at", "802.3bt"},
    "24 V always-on": {"24 V always-on"},
}
PARENT = {"port": "unit", "row": "block", "jack": "outlet", "pair": "cable"}


@dataclasses.dataclass(frozen=True)
class Wire:
    """Two points that touch as long as all it needs is there."""

    a: Point
    b: Point
    needs: frozenset[str]


class Property:
    """The tables, read once: things, what feeds what, and every wire with what it needs."""

    def __init__(self, rows: Sequence[Row]) -> None:
        self.rows = rows
        self.things: dict[str, dict[str, str]] = collections.defaultdict(dict)
        kinds = {**OF, "models": "model", "services": "service"}
        for table, cells in rows:
            if table in kinds:
                self.things[f"{kinds[table]}:{cells[kinds[table]]}"].update(cells)
        self.absent = frozenset(r for r, c in self.things.items() if c.get("state") in ("planned", "removed"))
        self.ends: dict[str, list[str]] = collections.defaultdict(list)
        for ref, cells in self.things.items():
            if ref.startswith("end:"):
                self.ends[f"cable:{cells['cable']}"].append(ref)
        closets = {c["room"] for table, c in rows if table == "rooms" and c.get("closet") == "yes"}
        for ends in self.ends.values():
            ends.sort(key=lambda e: self.things[e].get("room") not in closets)
        self.ports: dict[str, list[str]] = collections.defaultdict(list)
        for ref in self.things:
            if ref.startswith("port:"):
                self.ports[parent(ref)].append(ref)
        self.units = [r for r in self.things if r.startswith("unit:")]
        self.feeds = self._feeds()
        self.wires = list(self._wires())
        self.wires += list(self._arrivals())
        self.sources = {
            (c["from"], {"feed": "data", "exchange": "line"}.get(c["source"], c["needs"]))
            for t, c in rows
            if t == "services" and c.get("from")
        }
        self.unknown = self._unknown_feeds()

    def whole(self, ref: str) -> frozenset[str]:
        """A thing and what it is a part of: it goes when any of them goes."""
        out = {ref}
        if ref.partition(":")[0] in PARENT:
            out.add(parent(ref))
        if ref.startswith("end:"):
            out.add(f"cable:{self.things[ref]['cable']}")
        return frozenset(out)

    def model(self, unit: str) -> dict[str, str]:
        """What all units of its model have in common."""
        return self.things.get(f"model:{self.things[unit].get('model', '')}", {})

    def _said(self, column: str) -> Iterable[tuple[str, str, str]]:
        """Subject, object and detail of a relation, from the column of that name and from the claims."""
        key = {"clip_to": "joined"}.get(column, column)
        for table, cells in self.rows:
            if table in OF and cells.get(column):
                yield f"{OF[table]}:{cells[OF[table]]}", cells[column], ""
            elif table == "plugged" and column == "plugged":
                yield cells["plug"], cells["into"], ""
            elif table == "claims" and cells["relation"] == key:
                yield cells["subject"], cells["object"], cells.get("detail", "")

    def _feeds(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = collections.defaultdict(list)
        for subject, other, _ in self._said("fed_by"):
            found[subject].append(other)
        return found

    def wire(self, a: Point, b: Point, *needs: str) -> Wire:
        """A wire that needs its own two places too."""
        return Wire(a, b, frozenset().union(*(self.whole(r) for r in (a[0], b[0], *needs))))

    def _pairs(self, cable: str) -> range:
        return range(1, int(self.things[cable].get("pairs", "1")) + 1)

    def _open(self, pair: str) -> bool:
        return pair in self.things and self.things[pair].get("condition") == "open"

    def _wires(self) -> Iterable[Wire]:
        for cable, (near, *far) in self.ends.items():
            for n in self._pairs(cable):
                for other in far:
                    if not self._open(f"pair:{cable[6:]}.{n}"):
                        yield self.wire((near, n), (other, n), cable, f"pair:{cable[6:]}.{n}")
        for column in ("ends_at", "plugged"):
            for subject, place, detail in self._said(column):
                yield from self._placed(subject, place, detail)
        for subject, other, _ in self._said("clip_to"):
            yield from self._pair_joined(subject, other)
        for ref, cells in self.things.items():
            if ref.startswith("joint:"):
                yield from self._jointed(ref, cells)
            elif ref.startswith("unit:") and self.model(ref).get("what") in STRAIGHT:
                ports = [p for p in self.ports[ref] if not p.endswith(".back")]
                for n in (1, 2, 3, 4):
                    for other in ports[1:]:
                        yield self.wire((ports[0], n), (other, n), ref)

    def _placed(self, subject: str, place: str, detail: str) -> Iterable[Wire]:
        """An end or a cord at an outlet, jack, port or row."""
        pairs = self._pairs(f"cable:{self.things[subject]['cable']}") if subject.startswith("end:") else range(1, 5)
        if place.startswith("outlet:"):
            place = f"jack:{place[7:]}.{self._position(subject, place)}"
        named = re.search(r"pair (\d+)", detail)
        if place.startswith("row:") and self.things.get(parent(place), {}).get("style") != "panel":
            yield self.wire((subject, int(named[1]) if named else 1), (place, 1))
        elif not place.startswith("stop:"):
            swapped = {2: 3, 3: 2} if self.things.get(subject, {}).get("scheme") == "T568A" else {}
            for n in pairs:
                yield self.wire((subject, n), (place, swapped.get(n, n)))

    def _position(self, subject: str, outlet: str) -> int:
        """Which jack of a plate: the first, unless it has a position for each end of which only the plate was noted."""
        there = sorted((e for e, p, _ in self._said("ends_at") if p == outlet), key=natural)
        own = len(there) <= int(self.things[outlet].get("positions", "1"))
        return there.index(subject) + 1 if own and subject in there else 1

    def _pair_joined(self, subject: str, other: str) -> Iterable[Wire]:
        """Row to row by a clip; a pair at its closet end to a row; a pair at its far end to the near end of another."""
        if subject.startswith("row:"):
            yield self.wire((subject, 1), (other, 1))
            return
        cable, n = parent(subject), int(subject.rpartition(".")[2])
        if other.startswith("row:"):
            yield self.wire((self.ends[cable][0], n), (other, 1), subject)
        else:
            onward, m = parent(other), int(other.rpartition(".")[2])
            yield self.wire((self.ends[cable][1], n), (self.ends[onward][0], m), subject, other)

    def _jointed(self, ref: str, cells: dict[str, str]) -> Iterable[Wire]:
        members = cells["ends"].split()
        needs = [ref]
        if cells["style"] == "loop":
            needs += [f"outlet:{o}" for m in members if (o := self._plate(m))]
        for i, a in enumerate(members):
            for b in members[i + 1 :]:
                if a.startswith("row:"):
                    yield self.wire((a, 1), (b, 1), *needs)
                    continue
                both = min(len(self._pairs(f"cable:{self.things[m]['cable']}")) for m in (a, b))
                met = [tuple(map(int, p.split(">"))) for p in cells.get("pairs", "").split()]
                for x, y in met or [(n, n) for n in range(1, both + 1)]:
                    yield self.wire((a, x), (b, y), *needs)

    def _plate(self, end: str) -> str:
        place = self.things[end].get("ends_at", "")
        return place.partition(":")[2].rpartition(".")[0] if place.startswith("jack:") else ""

    def _arrivals(self) -> Iterable[Wire]:
        """Where an end goes, when no recorded way arrives there: along its own cable."""
        copper = Copper(self, frozenset())
        for end, outlet, _ in self._said("goes_to"):
            cable, jack = f"cable:{self.things[end]['cable']}", f"jack:{outlet[7:]}.1"
            if all(not copper.spread([(end, n)]) & {(jack, m) for m in range(1, 7)} for n in self._pairs(cable)):
                for n in self._pairs(cable):
                    yield self.wire((end, n), (jack, n), cable, f"pair:{cable[6:]}.{n}")

    def _unknown_feeds(self) -> frozenset[str]:
        """Units that take power of which nobody noted whence: nothing fits, and nothing is noted not to fit."""
        found, copper = set(), Copper(self, frozenset())
        for unit in self.units:
            takes = self.model(unit).get("takes", "")
            if self.feeds[unit] or takes in ("none", "line"):
                continue
            if takes == "plug":
                found.add(unit)
                continue
            reached = {p for port in self.ports[unit] for pairs in (A, B) for p in copper.reach(port, pairs)}
            others = [p for p in reached if p.startswith("port:") and parent(p) != unit and not self._mere_copper(p)]
            said = [self.gives(p) for p in others]
            if not FITS[takes] & set(said) and not any(said):
                found.add(unit)
        return frozenset(found)

    def _mere_copper(self, port: str) -> bool:
        return self.model(parent(port)).get("what") in STRAIGHT

    def gives(self, port: str) -> str:
        """What a port gives: as noted, else what its unit hands on from its first port to its second."""
        noted = self.things[port].get("gives", "")
        model = self.model(parent(port))
        handed = model.get("second_port_power") == "yes" and port != self.ports[parent(port)][0]
        return noted or (model["takes"] if handed else "")


class Copper:
    """The wires that are still there when some elements are not."""

    def __init__(self, place: Property, removed: frozenset[str]) -> None:
        self.there = [w for w in place.wires if not w.needs & removed]
        self.near: dict[Point, list[Point]] = collections.defaultdict(list)
        doubled: dict[tuple[str, str], set[tuple[int, int]]] = collections.defaultdict(set)
        for wire in self.there:
            self.near[wire.a].append(wire.b)
            self.near[wire.b].append(wire.a)
            doubled[wire.a[0], wire.b[0]].add((wire.a[1], wire.b[1]))
        self.beside: dict[tuple[str, tuple[int, int]], list[str]] = collections.defaultdict(list)
        for (a, b), pairs in doubled.items():
            for layer in (A, B):
                if len({n for n, m in pairs if n in layer and m in layer}) == 2:
                    self.beside[a, layer].append(b)
                    self.beside[b, layer].append(a)

    def spread(self, start: Iterable[Point]) -> set[Point]:
        """Every point that some points touch, they among them."""
        seen, todo = set(start), list(start)
        while todo:
            for other in self.near.get(todo.pop(), ()):
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        return seen

    def reach(self, start: str, layer: tuple[int, int]) -> set[str]:
        """Every place that is reached over two whole pairs."""
        seen, todo = {start}, [start]
        while todo:
            for other in self.beside.get((todo.pop(), layer), ()):
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        return seen


class Start:
    """One cold start of a property from which some elements were taken."""

    def __init__(self, place: Property, removed: Collection[str]) -> None:
        self.place, self.removed = place, frozenset(removed) | place.absent
        self.copper = Copper(place, self.removed)
        self.on: set[str] = set()
        self.data: set[str] = set()
        self.line: set[Point] = set()
        while self._mains() | self._over_data() | self._signals():
            pass

    def there(self, ref: str) -> bool:
        """Whether a thing is still there, with what it is a part of."""
        return not self.place.whole(ref) & self.removed

    def _may_run(self, *refs: str) -> bool:
        """Whether things are there and none is out of use: in place but off."""
        return all(self.there(r) and self.place.things[r].get("state") != "out of use" for r in refs)

    def _mains(self) -> bool:
        """One step of power along the mains; says whether anything came on."""
        before = len(self.on)
        for ref, cells in self.place.things.items():
            kind = ref.partition(":")[0]
            if ref in self.on or kind not in ("circuit", "switch", "socket", "unit") or not self._may_run(ref):
                continue
            if (cells.get("turned") or cells.get("breaker") or cells.get("usual") or "on") == "off":
                continue
            needs_none = kind == "unit" and self.place.model(ref)["takes"] in ("none", "line")
            if (
                kind == "circuit"
                or needs_none
                or ref in self.place.unknown
                or any(map(self._live, self.place.feeds[ref]))
            ):
                self.on.add(ref)
        return len(self.on) > before

    def _live(self, feeder: str) -> bool:
        if feeder.startswith("port:"):
            return self.there(feeder) and parent(feeder) in self.on and "mains" in self.place.gives(feeder)
        return feeder in self.on

    def _over_data(self) -> bool:
        """Ports of units that are on give power to what fits and is reached over whole pairs."""
        before = len(self.on)
        for unit in [u for u in self.place.units if u in self.on]:
            for port in self.place.ports[unit]:
                given = self.place.gives(port)
                if given not in ("802.3af", "802.3at", "802.3bt", "24 V always-on") or not self.there(port):
                    continue
                layers = (B,) if given == "24 V always-on" else (A, B)
                for other in {p for layer in layers for p in self.copper.reach(port, layer)}:
                    owner = parent(other) if other.startswith("port:") else unit
                    if (
                        owner != unit
                        and self._may_run(other, owner)
                        and given in FITS.get(self.place.model(owner)["takes"], ())
                    ):
                        self.on.add(owner)
        return len(self.on) > before

    def _signals(self) -> bool:
        """Signals go along copper from where they start, and through units that pass them."""
        before = len(self.data) + len(self.line)
        for start, kind in self.place.sources:
            if self._sends(start):
                self._set(start, kind)
        for unit in self.place.units:
            if not self.there(unit):
                continue
            model, ports = self.place.model(unit), [p for p in self.place.ports[unit] if self.there(p)]
            heard = unit in self.data or any(p in self.data for p in ports)
            called = any((p, n) in self.line for p in ports for n in range(1, 7))
            if heard and unit in self.on:
                self.data.add(unit)
            passes = model["passes"] == "always" or (model["passes"] == "when powered" and unit in self.on)
            if not passes or model["what"] in STRAIGHT:
                continue
            for port in ports:
                if heard and model["what"] not in LINE_ONLY:
                    self._set(port, "data")
                if called and model["what"] in LINE_ONLY:
                    self._set(port, "line")
        return len(self.data) + len(self.line) > before

    def _sends(self, start: str) -> bool:
        unit = start if start.startswith("unit:") else parent(start) if start.startswith("port:") else ""
        return self.there(start) and (not unit or unit in self.on)

    def _set(self, start: str, kind: str) -> None:
        if kind == "line":
            self.line |= self.copper.spread([(start, n) for n in range(1, 7)])
        elif start.startswith("unit:"):
            self.data.add(start)
        elif start not in self.data:
            self.data |= self.copper.reach(start, A)

    def works(self, service: dict[str, str]) -> bool:
        """Whether a service arrives."""
        at, needs = service["arrives_at"], service["needs"]
        if not self.there(at):
            return False
        powered = not at.startswith("unit:") or at in self.on
        places = self.place.ports[at] if at.startswith("unit:") else [at]
        if at.startswith("outlet:"):
            places = [j for j in self._jacks(at) if self.there(j)]
        places = [p for p in places if self.there(p)]
        if needs == "power":
            return powered
        if needs == "line":
            return powered and any((p, n) in self.line for p in places for n in range(1, 7))
        return powered and (at in self.data or any(p in self.data for p in places))

    def _jacks(self, outlet: str) -> list[str]:
        return [f"jack:{outlet[7:]}.{n}" for n in (1, 2)]


def parent(ref: str) -> str:
    """The thing of which a port, row, jack or pair is a part."""
    kind, _, tag = ref.partition(":")
    return f"{PARENT[kind]}:{tag.rpartition('.')[0]}" if kind in PARENT else ""


def working(place: Property, removed: Collection[str] = ()) -> frozenset[str]:
    """Names of the services that work when some elements are not there."""
    start = Start(place, removed)
    return frozenset(r for r, c in place.things.items() if r.startswith("service:") and start.works(c))


def goes_dark(place: Property, removed: Collection[str]) -> frozenset[str]:
    """Services that worked and do not when elements are taken away."""
    return working(place) - working(place, removed)

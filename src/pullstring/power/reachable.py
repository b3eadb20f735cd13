"""Everything a port's pins reach over copper: units, open jacks, foreign lines, other ports that give power, ends nobody knows.

House rules
-----------
1. A thing is reached if any one conductor of the port arrives there, by whatever way.
2. What is behind a second port counts as reached when its unit hands power on; when nobody knows, it counts as `maybe`.
3. A line of somebody else is told by volts that were read or by the service it carries, never by a colour.
4. Nothing that the record leaves open is taken as harmless: see `conducting`.
"""

from __future__ import annotations

import collections
import dataclasses
import enum
from collections.abc import Iterable, Iterator, Mapping

from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.conductors import PASSES_STRAIGHT, Point, is_return, outlet_of
from pullstring.model.grades import weakest
from pullstring.model.refs import Ref
from pullstring.power.conducting import Board, Way, board_of, ways
from pullstring.power.lines import foreign_lines

WIRED = ("802.3af", "802.3at", "802.3bt", "24 V always-on")
PAIRS = {"1-2": (1, 2), "3-6": (3, 6), "4-5": (4, 5), "7-8": (7, 8)}
_HANDS_NOTHING_ON = ("switch", "router")


class What(enum.StrEnum):
    """What can be reached."""

    UNIT = "unit"
    OPEN_JACK = "open jack"
    FOREIGN_LINE = "foreign line"
    OTHER_SOURCE = "other source"
    UNKNOWN_END = "unknown end"


@dataclasses.dataclass(frozen=True)
class Reached:
    """One thing within reach.

    `at` is the port, jack or end where it is met; `pins` are pins of the port with the contact there on which each arrives;
    `ohms` holds one wire's ohms by pin. `proven` are pins on which every cable of the way was proven whole. `maybe` says
    that nobody knows whether the power gets there at all. `beyond` is what hangs behind it.
    """

    what: What
    ref: Ref
    at: Ref
    pins: tuple[tuple[int, str], ...]
    path: tuple[Ref, ...]
    ohms: tuple[tuple[int, Interval], ...]
    proven: frozenset[int]
    grade: str | None
    because: tuple[str, ...]
    maybe: bool = False
    beyond: tuple[Reached, ...] = ()

    @property
    def lands(self) -> Mapping[str, str | None]:
        """By pair of the port the pair there on which both its wires arrive; None where one arrives nowhere or apart."""
        there: dict[int, set[str]] = collections.defaultdict(set)
        for pin, name in self.pins:
            there[pin].add(name)
        found: dict[str, str | None] = {}
        for pair, (a, b) in PAIRS.items():
            fits = [q for q, pins in PAIRS.items() if _meets(there, (a, b), pins)]
            found[pair] = pair if pair in fits else fits[0] if fits else None
        return found

    def loop(self, pairs: Iterable[str]) -> Interval | None:
        """Out and back over two pairs, one for each pole, the two wires of a pair in parallel; None if a pole has no wire. [ohm]"""
        by_pin = dict(self.ohms)
        low = high = 0.0
        inputs: dict[str, None] = {}
        for pair in pairs:
            wires = [by_pin[p] for p in PAIRS[pair] if p in by_pin]
            if not wires:
                return None
            low += _parallel([w.low for w in wires])
            high += _parallel([w.high for w in wires])
            inputs.update(dict.fromkeys(i for w in wires for i in w.inputs))
        return Interval(low, high, "ohm", tuple(inputs) if low < high else ())


@dataclasses.dataclass(frozen=True)
class Reach:
    """What a port reaches, and which of its pins touch each other somewhere, with the entries that say so."""

    port: Ref
    reached: tuple[Reached, ...]
    shorts: frozenset[tuple[int, int]]
    because: tuple[str, ...]

    @property
    def everything(self) -> tuple[Reached, ...]:
        """All that is reached, what hangs behind second ports included."""
        return tuple(_flat(self.reached))

    def of(self, what: What) -> tuple[Reached, ...]:
        """All of one kind."""
        return tuple(r for r in self.everything if r.what is what)


@once_a_site
def reachable(site: Site, *, port: Ref, gives: str) -> Reach:
    """Everything within reach of a port that gives power, or would if it were set to.

    Parameters
    ----------
    port : Ref
        The port.
    gives : str
        What it gives or would give, in the words of the table; only used to know its own volts from a stranger's.
    """
    return _reach(board_of(site), port, gives, frozenset({Ref("unit", port.parent_tag or "?")}))


def _reach(board: Board, port: Ref, gives: str, above: frozenset[Ref]) -> Reach:
    found = {pin: ways(board, start=Point(port, str(pin))) for pin in range(1, 9)}
    shorts, said = set(), dict[str, None]()
    for pin, there in found.items():
        for other in range(pin + 1, 9):
            if way := there.get(Point(port, str(other))):
                shorts.add((pin, other))
                said.update(dict.fromkeys(way.because))
    arrivals = _arrivals(found)
    reached = [
        *_units(board, port, gives, arrivals, above),
        *_open_jacks(board, arrivals),
        *_lines(board, port, gives, arrivals, found),
        *_unknown_ends(board, arrivals),
    ]
    return Reach(port, tuple(reached), frozenset(shorts), tuple(said))


_Arrivals = Mapping[Ref, tuple[tuple[int, str, Way], ...]]


def _arrivals(found: Mapping[int, Mapping[Point, Way]]) -> _Arrivals:
    """By jack, port, row or cable: the pins that arrive, on which contact, and how."""
    gathered: dict[Ref, list[tuple[int, str, Way]]] = collections.defaultdict(list)
    for pin, there in found.items():
        for point, way in there.items():
            if len(there) > 1:
                gathered[point.of].append((pin, point.side, way))
    return {ref: tuple(gathered[ref]) for ref in sorted(gathered)}


def _reached(
    what: What,
    ref: Ref,
    at: Ref,
    arrived: tuple[tuple[int, str, Way], ...],
    entries: Iterable[str] = (),
    *,
    loose: bool = False,
    beyond: tuple[Reached, ...] = (),
) -> Reached:
    """One thing from all wires that arrive there; `loose` when nobody knows whether its plug sits in that jack."""
    nearest: dict[int, Way] = {}
    for pin, _, way in arrived:
        if pin not in nearest or way.ohm.high < nearest[pin].ohm.high:
            nearest[pin] = way
    path = dict.fromkeys(r for w in nearest.values() for r in w.path)
    because = dict.fromkeys((*(e for w in nearest.values() for e in w.because), *entries))
    grade = weakest([g for w in nearest.values() if (g := w.grade)])
    return Reached(
        what,
        ref,
        at,
        tuple(sorted({(pin, name) for pin, name, _ in arrived})),
        tuple(path),
        tuple((pin, w.ohm) for pin, w in sorted(nearest.items())),
        frozenset() if loose else frozenset(p for p, w in nearest.items() if w.proven),
        "assumed" if loose else grade,
        tuple(because),
        beyond=beyond,
    )


def _units(board: Board, source: Ref, gives: str, arrivals: _Arrivals, above: frozenset[Ref]) -> Iterator[Reached]:
    """Units and other sources, at their ports or by a plug in an outlet of several jacks."""
    site = board.site
    for at, arrived in arrivals.items():
        if at.kind == "port" and at != source:
            yield from _unit(board, at, at, arrived, (), gives, above)
        elif at.kind == "jack":
            for claim in board.loose.get(outlet_of(at), ()):
                yield from _unit(board, claim.subject, at, arrived, claim.entries, gives, above)
    if source.kind == "port":
        for claim in site.about(subject=source, relation="plugged"):
            if claim in board.loose.get(claim.object, ()):
                yield _reached(What.UNKNOWN_END, claim.object, claim.object, (), claim.entries)


def _unit(
    board: Board,
    port: Ref,
    at: Ref,
    arrived: tuple[tuple[int, str, Way], ...],
    entries: tuple[str, ...],
    gives: str,
    above: frozenset[Ref],
) -> Iterator[Reached]:
    site, ref = board.site, Ref("unit", port.parent_tag or "?")
    unit, thing = site.get(ref), site.get(port)
    model = site.get(unit.ref_of("model")) if unit else None
    if unit is not None and not unit.stands or port.parent_tag is None:
        return
    if model and model.text("what") in PASSES_STRAIGHT:
        if model.text("what") == "coupler":
            yield from _open_coupler(board, ref, port, arrived)
        return
    loose = at.kind == "jack"
    said = (*entries, *(unit.entries if unit else ()), *(thing.entries if thing else ()))
    if thing and thing.stands and thing.text("gives") in WIRED:
        yield _reached(What.OTHER_SOURCE, port, at, arrived, said, loose=loose)
        return
    behind = () if ref in above else tuple(_beyond(board, port, model, gives, above | {ref}))
    said = (*said, *(model.entries if model else ()))
    yield _reached(What.UNIT, ref, at, arrived, said, loose=loose, beyond=behind)


def ports_of(site: Site, unit: Ref) -> tuple[Ref, ...]:
    """Ports of a unit: those noted and those that something is plugged into."""
    return _ports_by_unit(site).get(unit, ())


@once_a_site
def _ports_by_unit(site: Site) -> dict[Ref, tuple[Ref, ...]]:
    found: dict[Ref, set[Ref]] = collections.defaultdict(set)
    refs = {t.ref for t in site.of_kind("port") if t.stands}
    refs |= {r for c in site.claims if c.support for r in (c.subject, c.object) if r.kind == "port"}
    for ref in refs:
        if ref.parent_tag:
            found[Ref("unit", ref.parent_tag)].add(ref)
    return {unit: tuple(sorted(ports)) for unit, ports in found.items()}


def _open_coupler(board: Board, unit: Ref, port: Ref, arrived: tuple[tuple[int, str, Way], ...]) -> Iterator[Reached]:
    """The other side of a coupler into which nothing is plugged."""
    for other in ports_of(board.site, unit):
        if other != port and Point(other, "4") not in board.hops and Point(other, "1") not in board.hops:
            yield _reached(What.OPEN_JACK, other, other, arrived)


def _beyond(board: Board, port: Ref, model: Thing | None, gives: str, above: frozenset[Ref]) -> Iterator[Reached]:
    """What hangs behind the other ports of a unit that hands power on, or may."""
    if model is None or model.text("takes") not in WIRED:
        return
    hands_on = model.text("second_port_power")
    if hands_on == "no" or hands_on != "yes" and model.text("what") in _HANDS_NOTHING_ON:
        return
    for other in ports_of(board.site, Ref("unit", port.parent_tag or "?")):
        thing = board.site.get(other)
        if other == port or thing and thing.text("gives") in WIRED or is_return(model, other):
            continue
        behind = _reach(board, other, gives, above).reached
        if hands_on == "yes":
            yield from behind
            if not any(Point(other, str(pin)) in board.hops for pin in range(1, 9)):
                yield _reached(What.OPEN_JACK, other, other, (), model.entries)
        else:
            yield from (_maybe(r) for r in behind)


def _maybe(one: Reached) -> Reached:
    return dataclasses.replace(one, maybe=True, beyond=tuple(_maybe(r) for r in one.beyond))


def _open_jacks(board: Board, arrivals: _Arrivals) -> Iterator[Reached]:
    for at, arrived in arrivals.items():
        if at.kind == "jack" and is_open(board.site, at):
            thing, outlet = board.site.get(at), board.site.get(outlet_of(at))
            said = (*(thing.entries if thing else ()), *(outlet.entries if outlet else ()))
            yield _reached(What.OPEN_JACK, at, at, arrived, said)


def is_open(site: Site, jack: Ref) -> bool:
    """Whether anybody could plug something into a jack: nothing is in it, and it is not blanked nor out of reach."""
    outlet = outlet_of(jack)
    thing, plate = site.get(jack), site.get(outlet)
    if thing and (not thing.stands or thing.text("connector") in ("blank", "coax", "fibre")):
        return False
    if plate and (not plate.stands or plate.text("reachable") == "no"):
        return False
    if any(_there(site, c.subject) for c in site.about(relation="plugged", object=jack)):
        return False
    somewhere = [c for c in site.about(relation="plugged", object=outlet) if _there(site, c.subject)]
    counted = sum(1 for j in site.of_kind("jack") if j.stands and outlet_of(j.ref) == outlet)
    return len(somewhere) < max(counted, int(plate.number("positions") or 0) if plate else 0, 1)


def _there(site: Site, plug: Ref) -> bool:
    """Whether what a plug belongs to stands; of a unit that was taken out only the cord is left, and anybody may use it."""
    unit = site.get(Ref("unit", plug.parent_tag)) if plug.kind == "port" and plug.parent_tag else None
    return unit is None or unit.stands


def _lines(
    board: Board, port: Ref, gives: str, arrivals: _Arrivals, found: Mapping[int, Mapping[Point, Way]]
) -> Iterator[Reached]:
    """Lines of others: where volts were read that the port does not give, or a telephone or bell service is carried."""
    plugs = [*board.site.about(subject=port, relation="plugged"), *board.site.about(object=port, relation="plugged")]
    since = min((c.at.earliest for c in plugs), default=None)
    for line in foreign_lines(board.site, gives=gives, since=since):
        for at in line.on:
            if at in arrivals:
                yield _reached(What.FOREIGN_LINE, line.ref, at, arrivals[at], line.because)
                break


def _unknown_ends(board: Board, arrivals: _Arrivals) -> Iterator[Reached]:
    """Ends within reach of which nobody knows where they lie: not at a place, in no joint, not in a closet, not cut."""
    site = board.site
    cables: dict[Ref, list[tuple[int, str, Way]]] = collections.defaultdict(list)
    for at, arrived in arrivals.items():
        if at.kind == "pair" and at.parent_tag:
            cables[Ref("cable", at.parent_tag)] += arrived
    for cable, arrivals_there in cables.items():
        thing = site.get(cable)
        if thing is None or thing.text("state") in ("out of use", "lost"):
            continue
        ends = [e for e in site.ends_by_cable.get(cable, ()) if e.stands]
        goes = any(site.about(subject=e.ref, relation="goes_to") for e in ends)
        for end in ends:
            if not _placed(site, end) and not goes:
                yield _reached(What.UNKNOWN_END, end.ref, end.ref, tuple(arrivals_there), end.entries)
        if len(ends) < 2 and not goes:
            yield _reached(What.UNKNOWN_END, cable, cable, tuple(arrivals_there), thing.entries)


def _placed(site: Site, end: Thing) -> bool:
    room = site.get(end.ref_of("room"))
    return (
        any(site.about(subject=end.ref, relation=r) for r in ("ends_at", "plugged", "joined"))
        or bool(site.about(object=end.ref, relation="joined"))
        or any(end.ref in j.refs_of("ends") for j in site.of_kind("joint") if j.stands)
        or bool(room and room.text("closet") == "yes")
    )


def _meets(there: Mapping[int, set[str]], wires: tuple[int, int], pins: tuple[int, int]) -> bool:
    a, b = (there[p] for p in wires)
    one, other = map(str, pins)
    return one in a and other in b or other in a and one in b


def _parallel(ohms: list[float]) -> float:
    return 0.0 if min(ohms) <= 0 else 1 / sum(1 / r for r in ohms)


def _flat(reached: Iterable[Reached]) -> Iterator[Reached]:
    for one in reached:
        yield one
        yield from _flat(one.beyond)

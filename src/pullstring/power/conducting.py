"""Single conductors as power sees them: what touches what, by which way, over how many ohms.

Built on the conductors of `model`, with what the record leaves open taken the way that hides no danger: a cable whose pairs
nobody counted is taken to have all that its kind may have, and an end that is said to go to an outlet reaches it.
"""

from __future__ import annotations

import collections
import dataclasses
import heapq
import itertools
from collections.abc import Iterator, Mapping

from pullstring.copper.cables import cable_kind
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import Point, Touch, touches_of
from pullstring.model.damage import Damage, damages, pin_of, scheme_of, wire_of
from pullstring.model.grades import weakest
from pullstring.model.refs import Ref
from pullstring.model.wiremap import SCHEMES
from pullstring.power.supposed import noted, with_things
from pullstring.power.wires import Ohms, proven_pins

UNKNOWN_PAIRS = 4
"""Pairs that a cable is taken to have when neither its count nor its kind is known: all that a jack takes (ours, assumed)."""
DEAD = ("out of use", "lost")
NOT_DATA = ("telephone", "panel", "series jack", "protector", "other", "")
"""Units that may hang on a jack of six positions; a plug of any other has eight."""
SIX = ("6P4C", "6P2C", "6P6C", "screws")
_NO_OHM = Interval(0.0, 0.0, "ohm")


@dataclasses.dataclass(frozen=True)
class Hop:
    """From one point to a point that it touches; `cable` is the cable it runs along, None where things just touch."""

    to: Point
    ohm: Interval
    cable: Ref | None
    grade: str | None
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Way:
    """How one pin of a port gets to a point: its ohms, the things passed, and whether every cable on it is proven there."""

    ohm: Interval
    path: tuple[Ref, ...]
    proven: bool
    grade: str | None
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Board:
    """All hops by point; ports plugged at an outlet of several jacks, nobody knows which; pins proven by cable."""

    site: Site
    hops: Mapping[Point, tuple[Hop, ...]]
    loose: Mapping[Ref, tuple[Claim, ...]]
    proven: Mapping[Ref, frozenset[int]]


@once_a_site
def board_of(site: Site) -> Board:
    """The conductors of a site as power sees them."""
    taken = _assumed(site)
    ohms = Ohms(taken)
    loose = _loose(taken)
    hops: dict[Point, list[Hop]] = collections.defaultdict(list)
    for touch in _touches(taken):
        if touch.by == "plugged" and {(touch.a.of, touch.b.of), (touch.b.of, touch.a.of)} & loose.keys():
            continue
        cable = Ref("cable", touch.a.of.parent_tag or "?") if touch.by in ("cable", "goes_to") else None
        along, read = ohms.wire(cable, touch.a.of) if cable else (_NO_OHM, ())
        for here, there in ((touch.a, touch.b), (touch.b, touch.a)):
            hops[here].append(Hop(there, along, cable, touch.grade, (*touch.because, *read)))
    by_outlet: dict[Ref, list[Claim]] = collections.defaultdict(list)
    for claim in loose.values():
        by_outlet[claim.object].append(claim)
    told = {outlet: tuple(claims) for outlet, claims in by_outlet.items()}
    return Board(taken, {p: tuple(h) for p, h in hops.items()}, told, proven_pins(site))


def ways(board: Board, *, start: Point) -> dict[Point, Way]:
    """Every point that touches a pin of a port, each by the way of least resistance."""
    pin = int(start.side)
    rings = _goes_round(board, start)
    best: dict[Point, tuple[float, Point | None, Hop | None]] = {start: (0.0, None, None)}
    count = itertools.count()
    queue = [(0.0, next(count), start)]
    settled: dict[Point, Way] = {}
    while queue:
        here = heapq.heappop(queue)[2]
        if here in settled:
            continue
        _, before, hop = best[here]
        if before is None or hop is None:
            settled[here] = Way(_NO_OHM, (_holder(here),), True, None, ())
        else:
            whole = hop.cable is None or pin in board.proven.get(hop.cable, frozenset())
            settled[here] = _onward(settled[before], hop, here, whole, rings)
        so_far = settled[here].ohm.high
        for onward in board.hops.get(here, ()):
            ahead = so_far + onward.ohm.high
            if onward.to not in settled and (onward.to not in best or ahead < best[onward.to][0]):
                best[onward.to] = (ahead, here, onward)
                heapq.heappush(queue, (ahead, next(count), onward.to))
    return settled


def _onward(way: Way, hop: Hop, here: Point, whole: bool, rings: bool) -> Way:
    """One hop more. Where cables close a ring a second way lies in parallel, so the least ohms are only known to be above none."""
    low = 0.0 if rings else way.ohm.low + hop.ohm.low
    extra = ("parallel_way",) if rings and hop.ohm.high > 0 else ()
    passed = dict.fromkeys((*way.path, *((hop.cable,) if hop.cable else ()), _holder(here)))
    return Way(
        Interval(
            low, way.ohm.high + hop.ohm.high, "ohm", tuple(dict.fromkeys((*way.ohm.inputs, *hop.ohm.inputs, *extra)))
        ),
        tuple(passed),
        way.proven and whole,
        weakest([g for g in (way.grade, hop.grade) if g]),
        tuple(dict.fromkeys((*way.because, *hop.because))),
    )


def _holder(point: Point) -> Ref:
    """What a point is shown as on a path: the cable of a pair, else the row, jack or port itself."""
    return Ref("cable", point.of.parent_tag or "?") if point.of.kind == "pair" else point.of


def _goes_round(board: Board, start: Point) -> bool:
    """Whether the cables that touch a start close a ring: more wires than it takes to hold the places together."""
    seen, stack = {start}, [start]
    same: dict[Point, Point] = {}

    def root(point: Point) -> Point:
        while same.get(point, point) != point:
            point = same[point]
        return point

    wires: set[frozenset[Point]] = set()
    while stack:
        here = stack.pop()
        for hop in board.hops.get(here, ()):
            if hop.cable is not None:
                wires.add(frozenset((here, hop.to)))
            elif root(here) != root(hop.to):
                same[root(here)] = root(hop.to)
            if hop.to not in seen:
                seen.add(hop.to)
                stack.append(hop.to)
    return len(wires) > len({root(p) for p in seen}) - 1


def _assumed(site: Site) -> Site:
    """The site with what is left open taken so that no danger is hidden, and without the weaker of two accounts."""
    things: list[Thing] = []
    for cable in site.of_kind("cable"):
        if cable.get("pairs") is None:
            pairs = cable_kind(cable.text("jacket")).pairs
            things.append(noted(cable, site.moment, pairs=UNKNOWN_PAIRS if pairs is None else pairs))
    for claim in site.about(relation="plugged"):
        jack = site.get(first_jack(claim.object))
        if claim.subject.kind == "port" and jack and jack.text("connector") in SIX and _has_eight(site, claim.subject):
            things.append(noted(jack, site.moment, connector="8P8C"))
    return with_things(dataclasses.replace(site, claims=tuple(_one_account(site))), things)


def first_jack(ref: Ref) -> Ref:
    """The jack that is meant when only its outlet is named."""
    return Ref("jack", f"{ref.tag}.1") if ref.kind == "outlet" else ref


def _has_eight(site: Site, port: Ref) -> bool:
    unit = site.get(Ref("unit", port.parent_tag or "?"))
    model = site.get(unit.ref_of("model")) if unit else None
    return model is not None and model.text("what") not in NOT_DATA


def _one_account(site: Site) -> Iterator[Claim]:
    """Of two accounts of where a plug or an end is, the better one, and that as no more than assumed."""
    for claim in site.claims:
        both = claim.contradicted and claim.relation in ("ends_at", "plugged") and claim.object.kind != "row"
        if not both:
            yield claim
        elif claim.support and site.best(claim.subject, claim.relation) is claim:
            yield dataclasses.replace(claim, support="assumed")


def _loose(site: Site) -> dict[tuple[Ref, Ref], Claim]:
    """Plugs of ports in an outlet of several jacks, nobody said in which: by the port and the jack they would be taken for."""
    jacks: collections.Counter[Ref] = collections.Counter()
    for jack in site.of_kind("jack"):
        if jack.ref.parent_tag and jack.text("connector") in ("", "8P8C", *SIX):
            jacks[Ref("outlet", jack.ref.parent_tag)] += 1
    found = {}
    for claim in site.about(relation="plugged"):
        if claim.subject.kind == "port" and claim.object.kind == "outlet":
            outlet = site.get(claim.object)
            several = max(jacks[claim.object], int(outlet.number("positions") or 0) if outlet else 0) > 1
            if several:
                found[claim.subject, first_jack(claim.object)] = claim
    return found


def _touches(site: Site) -> Iterator[Touch]:
    """Touches without what runs along a cable that is out of use, with what a wire map crossed, and with what is only said."""
    dead = {c.ref for c in site.of_kind("cable") if c.text("state") in DEAD}
    crossed = dict(_crossed(site))
    for touch in touches_of(site):
        cable = Ref("cable", touch.a.of.parent_tag or "?") if touch.by == "cable" else None
        if cable in dead:
            continue
        other = crossed.get((touch.a.of, touch.a.side)) if cable else None
        yield dataclasses.replace(touch, b=other[0], because=other[1]) if other else touch
    yield from _said_to_go(site, dead)


def _crossed(site: Site) -> Iterator[tuple[tuple[Ref, str], tuple[Point, tuple[str, ...]]]]:
    """Conductors that a wire map found on another pin, unless the orders noted at both ends account for it."""
    for cable, damage in damages(site).items():
        schemes = {s for e in site.ends_by_cable.get(cable, ()) if e.stands and (s := e.text("scheme"))}
        if len(schemes) > 1:
            continue
        scheme = scheme_of(site, cable, cable)
        for pin, other in sorted(damage.crossed):
            near, far = (wire_of(p, scheme) for p in (pin, other))
            if pin != other and near and far:
                there = Point(Ref("pair", f"{cable.tag}.{far[0]}"), far[1], 1)
                yield (Ref("pair", f"{cable.tag}.{near[0]}"), near[1]), (there, damage.because)


def _said_to_go(site: Site, dead: set[Ref]) -> Iterator[Touch]:
    """Wires from ends that are said to go to an outlet, where no far end of their cable is noted to lie anywhere."""
    joined = {r for j in site.of_kind("joint") if j.stands for r in j.refs_of("ends")}
    for end in site.of_kind("end"):
        cable = site.get(end.ref_of("cable")) if end.stands else None
        if cable is None or not cable.stands or cable.ref in dead:
            continue
        ends = [e for e in site.ends_by_cable.get(cable.ref, ()) if e.stands]
        others = [e.ref for e in ends if e.ref != end.ref]
        if any(o in joined or any(site.about(subject=o, relation=r) for r in _LIES) for o in others):
            continue
        for claim in site.about(subject=end.ref, relation="goes_to"):
            if not claim.contradicted and claim.object.kind in ("outlet", "jack"):
                yield from _wires_to(site, cable, side_of(site, end, ends), claim)


_LIES = ("ends_at", "plugged", "joined")


def _wires_to(site: Site, cable: Thing, side: int, claim: Claim) -> Iterator[Touch]:
    jack = first_jack(claim.object)
    thing = site.get(jack)
    said = thing.text("scheme") if thing else ""
    scheme = said if said in SCHEMES else "telephone" if thing and thing.text("connector") in SIX else "T568B"
    damage = damages(site).get(cable.ref, Damage())
    for n, wire in itertools.product(range(1, int(cable.number("pairs") or 0) + 1), "ab"):
        if (n, wire) not in damage.open:
            pin = pin_of((n, wire), scheme)
            near = Point(Ref("pair", f"{cable.ref.tag}.{n}"), wire, side)
            to = Point(jack, str(pin) if pin is not None else f"{n}{wire}")
            yield Touch(near, to, claim.entries, claim.support, "goes_to")


def side_of(site: Site, end: Thing, ends: list[Thing]) -> int:
    """0 for the end of a cable in a closet, or the first; 1 for the other: as the conductors of `model` count them."""
    closets = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
    ranked = sorted(ends, key=lambda e: (e.ref_of("room") not in closets, e.ref))
    return min(ranked.index(end), 1)

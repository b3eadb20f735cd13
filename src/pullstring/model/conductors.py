"""Which conductors touch: derived from claims each time, never recorded.

A point is one conductor at one end of its cable, one side of a row, or one pin of a jack or port. An end on a row brings its
first pair unless the claim says `pair 3`; an end at an outlet or in a port brings all its pairs in the order of its connector.
Where nobody noted the order it is taken as T568B, for a jack of four contacts or two as telephone: both ends alike, so a
wrong guess joins the same pairs.
"""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Iterable, Iterator, Mapping

from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.damage import Damage, damages, pin_of
from pullstring.model.grades import weakest
from pullstring.model.refs import Ref
from pullstring.model.wiremap import SCHEMES

PASSES_STRAIGHT = ("series jack", "coupler", "protector")
"""Units whose ports are joined pin by pin inside, with power or without."""
_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)
_MAP = re.compile(r"(\d+)\s*>\s*(\d+)")
_FEW = ("6P4C", "6P2C", "6P6C", "screws")


@dataclasses.dataclass(frozen=True, order=True)
class Point:
    """A pair's conductor at the near (0) or far (1) end, a side of a row, or a pin; `of` is the pair, row, jack or port."""

    of: Ref
    side: str
    end: int = 0


@dataclasses.dataclass(frozen=True)
class Touch:
    """Two points that touch, with the entries that say so, their grade, and what makes them touch."""

    a: Point
    b: Point
    because: tuple[str, ...]
    grade: str | None
    by: str


@dataclasses.dataclass(frozen=True)
class Group:
    """Points that touch each other, with all touches among them."""

    points: tuple[Point, ...]
    touches: tuple[Touch, ...]

    @property
    def because(self) -> tuple[str, ...]:
        """Entries it stands on."""
        return tuple(sorted({e for t in self.touches for e in t.because}))

    @property
    def weakest(self) -> str | None:
        """The lowest grade among what it stands on."""
        return weakest([t.grade for t in self.touches if t.grade])


def pairs_of(site: Site, cable: Ref) -> int:
    """How many pairs a cable has; one when nobody has counted, none when it has none."""
    thing = site.get(cable)
    if thing and thing.get("pairs") == "none":
        return 0
    count = thing.number("pairs") if thing else None
    return max(0, int(count)) if count is not None else 1


def cable_of(site: Site, end: Ref) -> Ref | None:
    """The cable that an end belongs to."""
    thing = site.get(end) if end.kind == "end" else None
    return thing.ref_of("cable") if thing else None


def _order(point: Point) -> tuple[object, ...]:
    """Points in their own order, compared as plain values."""
    return point.of.kind, point.of.natural, point.of.key, point.side, point.end


def groups(touches: Iterable[Touch]) -> tuple[Group, ...]:
    """Points joined through touches, each group with two points or more, in order."""
    used = list(touches)
    points = sorted({p for touch in used for p in (touch.a, touch.b)}, key=_order)
    number = {point: n for n, point in enumerate(points)}
    parent = list(range(len(points)))

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for touch in used:
        a, b = root(number[touch.a]), root(number[touch.b])
        parent[max(a, b)] = min(a, b)
    members: dict[int, list[Point]] = collections.defaultdict(list)
    for n, point in enumerate(points):
        members[root(n)].append(point)
    among: dict[int, list[Touch]] = collections.defaultdict(list)
    for touch in used:
        among[root(number[touch.a])].append(touch)
    return tuple(Group(tuple(m), tuple(among[top])) for top, m in sorted(members.items()) if len(m) > 1)


@once_a_site
def conductor_nets(site: Site, *, through_devices: bool = True) -> tuple[Group, ...]:
    """All conductors that touch. Without devices, what meets only in a series jack or coupler stays apart."""
    return groups(touches_of(site, through_devices=through_devices))


def touches_of(site: Site, *, through_devices: bool = True) -> list[Touch]:
    """Every touch of the site, in a fixed order."""
    board = Board(site)
    found = [*board.inside_cables(), *board.from_claims(), *board.from_joints()]
    return found + ([*_through_devices(site, found)] if through_devices else [])


class Board:
    """The site with what is looked up often: ends by cable, jacks by outlet, damage by cable."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.damage: Mapping[Ref, Damage] = damages(site)
        closets = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
        by_cable: dict[Ref, list[Thing]] = collections.defaultdict(list)
        for end in site.of_kind("end"):
            if end.stands and (cable := end.ref_of("cable")):
                by_cable[cable].append(end)
        self.place: dict[Ref, int] = {}
        for ends in by_cable.values():
            ends.sort(key=lambda e: (e.ref_of("room") not in closets, e.ref))
            self.place.update({e.ref: min(n, 1) for n, e in enumerate(ends)})
        self.ends = by_cable
        self.at: dict[Ref, list[Claim]] = collections.defaultdict(list)
        for claim in site.about(relation="ends_at"):
            if claim.object.kind in ("outlet", "jack"):
                self.at[outlet_of(claim.object)].append(claim)
        self.looped = {r for j in site.of_kind("joint") if j.stands for r in j.refs_of("ends") if r.kind == "outlet"}

    def wire(self, cable: Ref, number: int, side: str, end: int) -> Point:
        return Point(Ref("pair", f"{cable.tag}.{number}"), side, end)

    def inside_cables(self) -> Iterator[Touch]:
        """Near and far end of each conductor that is not open, and conductors that touch inside the jacket."""
        for cable in self.site.of_kind("cable"):
            damage = self.damage.get(cable.ref, Damage())
            if not cable.stands:
                continue
            if len(self.ends.get(cable.ref, ())) > 1:
                for n in range(1, pairs_of(self.site, cable.ref) + 1):
                    for side in "ab":
                        if (n, side) not in damage.open:
                            near, far = self.wire(cable.ref, n, side, 0), self.wire(cable.ref, n, side, 1)
                            yield Touch(near, far, (), None, "cable")
            for group in sorted(damage.touching, key=sorted):
                first, *rest = sorted(group)
                for other in rest:
                    a, b = self.wire(cable.ref, *first, 0), self.wire(cable.ref, *other, 0)
                    yield Touch(a, b, damage.because, None, "damage")

    def from_claims(self) -> Iterator[Touch]:
        for claim in self.site.claims:
            if (
                claim.support is None
                or claim.relation not in ("ends_at", "joined", "plugged")
                or not self._stand(claim)
            ):
                continue
            if claim.relation == "joined":
                yield from self._joined(
                    claim.subject, claim.object, _detail(claim), claim.entries, claim.support, "joined"
                )
            elif claim.subject.kind == "end":
                yield from self._ends(claim)
            elif claim.subject.kind == "port" and claim.object.kind in ("port", "outlet", "jack"):
                yield from self._cord(claim)

    def _stand(self, claim: Claim) -> bool:
        return all(t is None or t.stands for t in (self.site.get(claim.subject), self.site.get(claim.object)))

    def _ends(self, claim: Claim) -> Iterator[Touch]:
        cable = cable_of(self.site, claim.subject)
        thing = self.site.get(claim.subject)
        if cable is None or thing is None:
            return
        where, end = claim.object, self.place.get(claim.subject, 0)
        if where.kind == "row":
            named = _PAIR.search(_detail(claim))
            for side in "ab":
                point = self.wire(cable, int(named[1]) if named else 1, side, end)
                yield Touch(point, Point(where, side), claim.entries, claim.support, "row")
            return
        if where.kind not in ("outlet", "jack", "port"):
            return
        holder = self.jack_of(claim) if where.kind == "outlet" else where
        scheme = self._scheme(thing, holder)
        for n in range(1, pairs_of(self.site, cable) + 1):
            for side in "ab":
                pin = pin_of((n, side), scheme)
                name = str(pin) if pin is not None else f"{n}{side}"
                yield Touch(
                    self.wire(cable, n, side, end), Point(holder, name), claim.entries, claim.support, claim.relation
                )

    def jack_of(self, claim: Claim) -> Ref:
        """The jack on which an end lies: with a position for each end its own, else all share the first."""
        outlet = claim.object
        thing = self.site.get(outlet)
        there = sorted(c.subject for c in self.at[outlet] if c.object == outlet)
        jacks = sum(1 for j in self.site.of_kind("jack") if outlet_of(j.ref) == outlet)
        positions = max(int(thing.number("positions") or 0) if thing else 0, jacks)
        own = positions >= len(there) and outlet not in self.looped
        return Ref("jack", f"{outlet.tag}.{there.index(claim.subject) + 1 if own and claim.subject in there else 1}")

    def _scheme(self, end: Thing, holder: Ref) -> str:
        jack = self.site.get(holder)
        for said in (end.text("scheme"), jack.text("scheme") if jack else ""):
            if said in SCHEMES:
                return said
        return "telephone" if jack and jack.text("connector") in _FEW else "T568B"

    def _cord(self, claim: Claim) -> Iterator[Touch]:
        """A cord that is not recorded apart: pin by pin."""
        for pin in range(1, 9):
            to = claim.object if claim.object.kind != "outlet" else Ref("jack", f"{claim.object.tag}.1")
            yield Touch(Point(claim.subject, str(pin)), Point(to, str(pin)), claim.entries, claim.support, "plugged")

    def from_joints(self) -> Iterator[Touch]:
        for joint in self.site.of_kind("joint"):
            ends = [r for r in joint.refs_of("ends") if r.kind in ("end", "row", "pair")]
            if joint.stands:
                said = {h.evidence.grade for h in joint.fields["ends"].heads} if "ends" in joint.fields else set()
                for other in ends[1:]:
                    yield from self._joined(
                        ends[0], other, joint.text("pairs"), joint.entries, weakest(sorted(said)), joint.text("style")
                    )

    def _joined(
        self, a: Ref, b: Ref, detail: str, because: tuple[str, ...], grade: str | None, by: str
    ) -> Iterator[Touch]:
        """Pair to pair by number unless the detail names which meets which, conductor to conductor."""
        first, second = cable_of(self.site, a), cable_of(self.site, b)
        if first and second:
            counted = min(pairs_of(self.site, first), pairs_of(self.site, second))
            named = [(int(x), int(y)) for x, y in _MAP.findall(detail)] or [(n, n) for n in range(1, counted + 1)]
            at, to = self.place.get(a, 0), self.place.get(b, 0)
            couples = [
                (self.wire(first, x, side, at), self.wire(second, y, side, to)) for x, y in named for side in "ab"
            ]
        elif a.kind in ("row", "pair") and b.kind in ("row", "pair"):
            couples = [(Point(a, side), Point(b, side)) for side in "ab"]
        elif "end" in (a.kind, b.kind) and {a.kind, b.kind} & {"row", "pair"}:
            end, place = (a, b) if a.kind == "end" else (b, a)
            cable, said = cable_of(self.site, end), _PAIR.search(detail)
            n, at = int(said[1]) if said else 1, self.place.get(end, 0)
            couples = [(self.wire(cable, n, side, at), Point(place, side)) for side in "ab"] if cable else []
        else:
            couples = []
        for one, other in couples:
            yield Touch(one, other, because, grade, by)


def outlet_of(ref: Ref) -> Ref:
    """The outlet of a jack; an outlet is its own."""
    return Ref("outlet", ref.parent_tag or ref.tag) if ref.kind == "jack" else ref


def _detail(claim: Claim) -> str:
    return " ".join(s.detail for s in claim.sayings)


def is_return(model: Thing | None, port: Ref) -> bool:
    """Whether a port is the return of a series jack: what comes back on it has passed the panel, not the jack."""
    return bool(model and model.text("what") == "series jack" and port.tag.rpartition(".")[2].casefold() == "back")


def passes_straight(model: Thing | None) -> bool:
    """Whether a unit joins its ports pin by pin: a series jack, coupler, protector, or what passes always and takes no power."""
    if model is None:
        return False
    return model.text("what") in PASSES_STRAIGHT or (model.text("passes"), model.text("takes")) == ("always", "none")


def _through_devices(site: Site, touches: Iterable[Touch]) -> Iterator[Touch]:
    """Pins of the ports of a unit that joins them straight; only pins that something touches."""
    pins: dict[Ref, set[str]] = collections.defaultdict(set)
    for touch in touches:
        for point in (touch.a, touch.b):
            if point.of.kind == "port":
                pins[point.of].add(point.side)
    by_unit: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for port in sorted(pins):
        if port.parent_tag:
            by_unit[Ref("unit", port.parent_tag)].append(port)
    for unit, every in sorted(by_unit.items()):
        thing = site.get(unit)
        model = site.get(thing.ref_of("model")) if thing else None
        ports = [p for p in every if not is_return(model, p)]
        if ports and thing and thing.stands and model and passes_straight(model):
            for other in ports[1:]:
                for pin in sorted(pins[ports[0]] & pins[other]):
                    yield Touch(
                        Point(ports[0], pin), Point(other, pin), (*thing.entries, *model.entries), None, "device"
                    )

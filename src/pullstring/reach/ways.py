"""Which places of the wiring touch, pair by pair, and what must be there for it: the ways that signals and power take.

A place is an end, jack, port or row; a way joins one pair at one place with one pair at another. Pairs at a jack or port are
numbered as on the connector (1 on pins 4-5, 2 on 1-2, 3 on 3-6, 4 on 7-8). A cable of which nobody counted the pairs is taken
to have four; the two pairs of a two-pair cable are taken to be put where data needs them.
"""

from __future__ import annotations

import collections
import dataclasses
import functools
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping

from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import Board, is_return, outlet_of, passes_straight
from pullstring.model.damage import damages
from pullstring.model.refs import Ref
from pullstring.model.wiring import cable_of
from pullstring.reach.consequence import Rule

Place = tuple[Ref, int]
DATA_PAIRS, OTHER_PAIRS = (2, 3), (1, 4)
"""Pairs on pins 1-2 and 3-6, and on 4-5 and 7-8. T568A and T568B alike (read in a published text)."""
LAYERS = {"A": DATA_PAIRS, "B": OTHER_PAIRS}
TWO_PAIRS = (1, 2)
CORD_PAIRS = (1, 2, 3, 4)
UNCOUNTED = 4
FEW_ENDS = 8
"""Up to so many ends of one joint each touches each; more are taken to meet at the first."""
GONE = ("removed", "planned", "out of use")
PARENT = {"port": "unit", "row": "block", "jack": "outlet", "pair": "cable"}
_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)
_MAP = re.compile(r"(\d+)\s*>\s*(\d+)")


@dataclasses.dataclass(frozen=True)
class Way:
    """Two pairs that touch while all of `needs` is there; `because` are the entries that say so."""

    a: Place
    b: Place
    needs: frozenset[Ref]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Hop:
    """Two places between which two pairs go together: data, or power in one alternative, can pass."""

    a: Ref
    b: Ref
    needs: frozenset[Ref]
    because: tuple[str, ...]


def with_whole(site: Site, refs: Iterable[Ref]) -> frozenset[Ref]:
    """Things with what they are a part of: a port goes with its unit, an end with its cable."""
    out: set[Ref] = set()
    for ref in refs:
        out.add(ref)
        if ref.kind in PARENT and ref.parent_tag:
            out.add(Ref(PARENT[ref.kind], ref.parent_tag))
        if ref.kind == "end" and (cable := cable_of(site, ref)):
            out.add(cable)
    return frozenset(out)


@once_a_site
def ways_of(site: Site) -> Ways:
    """The ways of a site, worked out once."""
    return Ways(site)


class Ways:
    """All ways of a site, in a fixed order."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.board = Board(site)
        self.damage = damages(site)
        self.far: dict[tuple[Ref, int], Ref] = {}
        for cable, ends in self.board.ends.items():
            for end in ends:
                self.far.setdefault((cable, self.board.place[end.ref]), end.ref)
        self.loops = self._loops()
        self.ways: list[Way] = [*self._inside(), *self._by_claims(), *self._joints(), *self._straight()]
        self.ways += list(self._arrivals())
        self.dented = list(self._inside(dented=True))

    def pairs(self, cable: Ref) -> tuple[int, ...]:
        """Numbers of the pairs of a cable; four when nobody counted them."""
        thing = self.site.get(cable)
        if thing is None:
            return CORD_PAIRS
        if thing.get("pairs") == "none":
            return ()
        count = thing.number("pairs")
        return tuple(range(1, (UNCOUNTED if count is None else max(0, int(count))) + 1))

    def stands(self, cable: Ref) -> bool:
        """Whether a cable is there and in use."""
        thing = self.site.get(cable)
        return thing is None or thing.text("state") not in GONE

    def _way(self, a: Place, b: Place, needs: Iterable[Ref], because: Iterable[str]) -> Way:
        whole = with_whole(self.site, (a[0], b[0], *needs))
        return Way(a, b, whole, tuple(dict.fromkeys(because)))

    def _inside(self, *, dented: bool = False) -> Iterator[Way]:
        """Pairs through a cable that are whole; or the dented ones, whose conductors touch something but go through."""
        for cable, ends in self.board.ends.items():
            thing = self.site.get(cable)
            if thing is None or not self.stands(cable):
                continue
            hurt = self.damage.get(cable)
            broken = (hurt.pairs - hurt.noisy) if hurt else frozenset()
            parted = frozenset(n for n, _ in hurt.open) if hurt else frozenset()
            wanted = broken - parted if dented else frozenset(self.pairs(cable)) - broken
            near, *others = (e.ref for e in ends)
            for n in self.pairs(cable):
                for other in others:
                    if n in wanted:
                        pair = Ref("pair", f"{cable.tag}.{n}")
                        yield self._way((near, n), (other, n), (cable, pair), thing.entries)

    def _by_claims(self) -> Iterator[Way]:
        for claim in self.site.claims:
            if not claim.support or not _stand(self.site, claim):
                continue
            if claim.relation in ("ends_at", "plugged"):
                yield from self._placed(claim)
            elif claim.relation == "joined":
                yield from self._joined(claim)

    def _placed(self, claim: Claim) -> Iterator[Way]:
        """An end or a cord at an outlet, jack, port or row."""
        subject, place = claim.subject, claim.object
        if place.kind not in ("outlet", "jack", "port", "row"):
            return
        cable = cable_of(self.site, subject) if subject.kind == "end" else None
        if subject.kind not in ("end", "port") or (subject.kind == "end" and (cable is None or not self.stands(cable))):
            return
        numbers = self.pairs(cable) if cable else CORD_PAIRS
        needs = [subject]
        if place.kind == "outlet":
            needs.append(place)
            place = self.board.jack_of(claim) if subject.kind == "end" else Ref("jack", f"{place.tag}.1")
        named = _PAIR.search(" ".join(s.detail for s in claim.sayings))
        if place.kind == "row" and not self._is_panel(place):
            number = int(named[1]) if named else 1
            yield self._way((subject, number), (place, 1), needs, claim.entries)
            return
        for n in numbers:
            yield self._way((subject, n), (place, n), needs, claim.entries)

    def _is_panel(self, row: Ref) -> bool:
        block = self.site.get(Ref("block", row.parent_tag)) if row.parent_tag else None
        return block is not None and block.text("style") == "panel"

    def _joined(self, claim: Claim) -> Iterator[Way]:
        """Row to row; a pair at its closet end to a row; a pair at its far end to the near end of another; end to end."""
        detail = " ".join(s.detail for s in claim.sayings)
        a, b = claim.subject, claim.object
        needs = [r for r in (a, b) if r.kind == "pair"]
        for one, other in self._meeting(a, b, detail):
            yield self._way(one, other, needs, claim.entries)

    def _meeting(self, a: Ref, b: Ref, detail: str) -> Iterator[tuple[Place, Place]]:
        if "row" in (a.kind, b.kind):
            one, other = (self._at_row(r, detail, other=o) for r, o in ((a, b), (b, a)))
            if one and other:
                yield one, other
        elif a.kind == b.kind == "pair":
            one, other = self._point(a, 1), self._point(b, 0)
            if one and other:
                yield one, other
        elif a.kind == b.kind == "end":
            yield from (((a, x), (b, y)) for x, y in self._mapped(a, b, detail))

    def _at_row(self, ref: Ref, detail: str, *, other: Ref) -> Place | None:
        if ref.kind == "row":
            return ref, 1
        if ref.kind == "pair":
            return self._point(ref, 0)
        named = _PAIR.search(detail)
        return (ref, int(named[1]) if named else 1) if ref.kind == "end" else None

    def _point(self, pair: Ref, side: int) -> Place | None:
        """A pair at the closet end (0) or the far end (1) of its cable."""
        if not pair.parent_tag or not pair.tag.rpartition(".")[2].isdecimal():
            return None
        cable = Ref("cable", pair.parent_tag)
        end = self.far.get((cable, side)) or self.far.get((cable, 0))
        return (end, int(pair.tag.rpartition(".")[2])) if end and self.stands(cable) else None

    def _mapped(self, a: Ref, b: Ref, detail: str) -> list[tuple[int, int]]:
        first, second = cable_of(self.site, a), cable_of(self.site, b)
        if first is None or second is None or not (self.stands(first) and self.stands(second)):
            return []
        named = [(int(x), int(y)) for x, y in _MAP.findall(detail)]
        return named or [(n, n) for n in self.pairs(first) if n in self.pairs(second)]

    def _loops(self) -> Mapping[Ref, Thing]:
        """The joint that loops all ends of an outlet, by outlet."""
        return {r: j for j in self.site.of_kind("joint") if j.stands for r in j.refs_of("ends") if r.kind == "outlet"}

    def _joints(self) -> Iterator[Way]:
        for joint in self.site.of_kind("joint"):
            if not joint.stands:
                continue
            ends = [r for r in joint.refs_of("ends") if r.kind in ("end", "row", "pair")]
            couples = itertools.combinations(ends, 2) if len(ends) <= FEW_ENDS else ((ends[0], e) for e in ends[1:])
            for a, b in couples:
                needs = [joint.ref, *(r for r in (a, b) if r.kind == "pair")]
                if joint.text("style") == "loop":
                    needs += self._plates(a, b)
                for one, other in self._meeting(a, b, joint.text("pairs")):
                    yield self._way(one, other, needs, joint.entries)

    def _plates(self, *ends: Ref) -> list[Ref]:
        """The outlets at which looped ends lie: the plate taken off parts the loop on it."""
        return [
            outlet_of(c.object)
            for end in ends
            for c in self.site.about(subject=end, relation="ends_at")
            if c.object.kind in ("outlet", "jack")
        ]

    def _straight(self) -> Iterator[Way]:
        """Ports that a unit joins pin by pin inside."""
        for unit, ports in ports_of(self.site).items():
            thing = self.site.get(unit)
            model = self.site.get(thing.ref_of("model")) if thing else None
            if thing is None or model is None or not thing.stands or not passes_straight(model):
                continue
            through = [p for p in ports if not is_return(model, p)]
            for other in through[1:]:
                for n in CORD_PAIRS:
                    yield self._way((through[0], n), (other, n), (unit,), (*thing.entries, *model.entries))

    def _arrivals(self) -> Iterator[Way]:
        """Where a wire goes, when no recorded way arrives there: along its own cable."""
        near: dict[Place, list[Place]] = collections.defaultdict(list)
        for way in self.ways:
            near[way.a].append(way.b)
            near[way.b].append(way.a)
        for claim in self.site.about(relation="goes_to"):
            if not claim.support or not _stand(self.site, claim):
                continue
            start, numbers = self._from(claim.subject)
            to = Ref("jack", f"{claim.object.tag}.1") if claim.object.kind == "outlet" else claim.object
            if start is None or to.kind not in ("jack", "port", "row", "end"):
                continue
            arrived = _spread(near, [(start, n) for n in numbers])
            if any(ref == to or outlet_of(ref) == outlet_of(to) for ref, _ in arrived):
                continue
            cable = cable_of(self.site, start)
            for n in numbers:
                needs = [r for r in (cable, Ref("pair", f"{cable.tag}.{n}") if cable else None) if r]
                needs += [claim.object] if claim.object.kind == "outlet" else []
                yield self._way((start, n), (to, n), needs, claim.entries)

    def _from(self, subject: Ref) -> tuple[Ref | None, tuple[int, ...]]:
        """The closet end of what goes somewhere, and its pairs."""
        if subject.kind == "pair":
            point = self._point(subject, 0)
            return (point[0], (point[1],)) if point else (None, ())
        if subject.kind == "cable":
            return self.far.get((subject, 0)), self.pairs(subject)
        cable = cable_of(self.site, subject) if subject.kind == "end" else None
        return (subject, self.pairs(cable)) if cable and self.stands(cable) else (None, ())

    @functools.cached_property
    def places(self) -> tuple[Place, ...]:
        """Every place with each pair that lies there, in order."""
        return tuple(sorted({p for way in self.ways for p in (way.a, way.b)}))

    @functools.cached_property
    def near(self) -> dict[Place, list[Place]]:
        """The neighbours of every pair at a place."""
        found: dict[Place, list[Place]] = collections.defaultdict(list)
        for way in self.ways:
            found[way.a].append(way.b)
            found[way.b].append(way.a)
        return found

    def start_of(self, subject: Ref) -> tuple[Ref | None, tuple[int, ...]]:
        """The closet end of a pair, cable or end, and the pairs meant."""
        return self._from(subject)

    @functools.cached_property
    def _hops(self) -> dict[tuple[str, bool], list[Hop]]:
        return {(layer, power): self._together(layer, power=power) for layer in LAYERS for power in (False, True)}

    def hops(self, layer: str, *, power: bool = False) -> list[Hop]:
        """Neighbours between which both pairs of a layer go: `A` on pins 1-2 and 3-6 (data too), `B` on the others.

        Power does not notice that the conductors of one pair touch, nor that a pair touches one outside the layer.
        """
        return self._hops[layer, power]

    def _shorted(self, a: Ref, b: Ref, used: tuple[int, ...]) -> bool:
        """Whether the two pairs of a layer, one for each pole, touch each other between the ends of one cable."""
        cable = cable_of(self.site, a) if a.kind == b.kind == "end" else None
        hurt = self.damage.get(cable) if cable and cable == cable_of(self.site, b) else None
        return hurt is not None and any(set(used) <= {n for n, _ in group} for group in hurt.touching)

    def _together(self, layer: str, *, power: bool) -> list[Hop]:
        wanted = LAYERS[layer]
        grouped: dict[tuple[Ref, Ref], dict[int, Way]] = collections.defaultdict(dict)
        for way in (*self.ways, *self.dented) if power else self.ways:
            if way.a[1] == way.b[1]:
                grouped[way.a[0], way.b[0]].setdefault(way.a[1], way)
        found = []
        for (a, b), by_pair in grouped.items():
            used = wanted if set(wanted) <= by_pair.keys() else None
            if used is None and layer == "A" and self._is_two_pair(a, b) and set(TWO_PAIRS) <= by_pair.keys():
                used = TWO_PAIRS
            if used and not (power and self._shorted(a, b, used)):
                ways = [by_pair[n] for n in used]
                needs = frozenset().union(*(w.needs for w in ways))
                found.append(Hop(a, b, needs, tuple(dict.fromkeys(e for w in ways for e in w.because))))
        return found

    def _is_two_pair(self, a: Ref, b: Ref) -> bool:
        cables = {c for r in (a, b) if r.kind == "end" and (c := cable_of(self.site, r))}
        return any(len(self.pairs(c)) == len(TWO_PAIRS) for c in cables)


def _spread(near: Mapping[Place, list[Place]], start: Iterable[Place]) -> set[Place]:
    seen, todo = set(start), list(start)
    while todo:
        for other in near.get(todo.pop(), ()):
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


def _stand(site: Site, claim: Claim) -> bool:
    return all(thing is None or thing.stands for thing in (site.get(claim.subject), site.get(claim.object)))


def ports_of(site: Site) -> dict[Ref, tuple[Ref, ...]]:
    """Ports by unit: those noted and those that something is plugged into."""
    found: dict[Ref, set[Ref]] = collections.defaultdict(set)
    refs = {t.ref for t in site.of_kind("port")}
    refs |= {r for c in site.claims for r in (c.subject, c.object) if r.kind == "port"}
    for ref in refs:
        if ref.parent_tag:
            found[Ref("unit", ref.parent_tag)].add(ref)
    return {unit: tuple(sorted(ports)) for unit, ports in sorted(found.items())}


def rule_of(
    site: Site,
    head: tuple[str, Ref],
    bodies: tuple[tuple[str, Ref], ...],
    through: tuple[Ref, ...] | frozenset[Ref],
    because: tuple[str, ...],
) -> Rule:
    """A rule that needs all its things present, with what they are parts of."""
    whole = with_whole(site, (head[1], *through))
    facts = tuple((kind, str(ref)) for kind, ref in bodies)
    return Rule((head[0], str(head[1])), facts, tuple(sorted(map(str, whole))), because)

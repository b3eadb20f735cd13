"""Which conductors touch, and which cables make a run. Derived from claims each time; never recorded.

Nodes of a net are pairs (`pair:C13.1`), rows of a block and jack positions of an outlet (`position:O15.1`). A pair is
followed as one thing here: both its conductors go the same way in a simple run. An end on a row brings its first pair
unless the claim's detail says `pair 3`; an end at an outlet brings all pairs, pair n to position n.
"""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Iterator

from pullstring.model.asbuilt import Claim, Site, Thing
from pullstring.model.grades import grade, weakest
from pullstring.model.refs import Ref

_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)


@dataclasses.dataclass(frozen=True)
class Net:
    """Pairs, rows and positions that touch, with the entries that say so and the weakest grade among them."""

    members: tuple[Ref, ...]
    because: tuple[str, ...]
    weakest: str | None

    @property
    def cables(self) -> tuple[Ref, ...]:
        """The cables whose pairs are in the net."""
        return tuple(dict.fromkeys(Ref("cable", m.parent_tag or "?") for m in self.members if m.kind == "pair"))


@dataclasses.dataclass(frozen=True)
class Run:
    """Cables in series from a closet end to what the run is judged for.

    `to` are the outlets or ports where it arrives, the surest first; empty when nobody knows. `touching` are other
    cables whose conductors touch this run's: taps until somebody parts them.
    """

    start: Ref
    cables: tuple[Ref, ...]
    to: tuple[Ref, ...]
    grade: str | None
    because: tuple[str, ...]
    joints: int
    touching: tuple[Ref, ...]
    contradicted: bool


@dataclasses.dataclass(frozen=True)
class _Edge:
    a: Ref
    b: Ref
    claim: Claim | None


def pairs_of(site: Site, cable: Ref) -> int:
    """How many pairs a cable has; one when nobody has counted."""
    thing = site.get(cable)
    count = thing.number("pairs") if thing else None
    return max(1, int(count)) if count is not None else 1


def nets(site: Site) -> tuple[Net, ...]:
    """All nets of two members or more, in order of their first member."""
    parent: dict[Ref, Ref] = {}
    edges = list(_edges(site))

    def root(node: Ref) -> Ref:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for edge in edges:
        a, b = sorted((root(edge.a), root(edge.b)))
        parent[b] = a
    members: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for node in sorted(parent):
        members[root(node)].append(node)
    used: dict[Ref, list[Claim]] = collections.defaultdict(list)
    for edge in edges:
        if edge.claim:
            used[root(edge.a)].append(edge.claim)
    return tuple(
        Net(
            tuple(group),
            tuple(sorted({e for c in used[top] for e in c.entries})),
            weakest([c.support for c in used[top] if c.support]),
        )
        for top, group in sorted(members.items())
        if len(group) > 1
    )


def _edges(site: Site) -> Iterator[_Edge]:
    for claim in site.about(relation="ends_at"):
        cable = cable_of(site, claim.subject)
        if cable is None:
            continue
        if claim.object.kind == "row":
            named = _PAIR.search(" ".join(s.detail for s in claim.sayings))
            yield _Edge(Ref("pair", f"{cable.tag}.{int(named[1]) if named else 1}"), claim.object, claim)
        elif claim.object.kind == "outlet":
            for n in range(1, pairs_of(site, cable) + 1):
                yield _Edge(Ref("pair", f"{cable.tag}.{n}"), Ref("position", f"{claim.object.tag}.{n}"), claim)
    for claim in site.about(relation="joined"):
        first, second = cable_of(site, claim.subject), cable_of(site, claim.object)
        if first and second:
            for n in range(1, min(pairs_of(site, first), pairs_of(site, second)) + 1):
                yield _Edge(Ref("pair", f"{first.tag}.{n}"), Ref("pair", f"{second.tag}.{n}"), claim)
        elif claim.subject.kind in ("row", "pair") and claim.object.kind in ("row", "pair"):
            yield _Edge(claim.subject, claim.object, claim)


def cable_of(site: Site, end: Ref) -> Ref | None:
    """The cable that an end belongs to."""
    thing = site.get(end) if end.kind == "end" else None
    return thing.ref_of("cable") if thing else None


def ends_of(site: Site, cable: Ref) -> tuple[Ref, ...]:
    """The recorded ends of a cable, standing or not."""
    return tuple(t.ref for t in site.of_kind("end") if t.ref_of("cable") == cable)


def closet_ends(site: Site) -> tuple[Thing, ...]:
    """Ends in a closet: their room is marked as one. With no closet marked, all ends that do not end at an outlet."""
    closets = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
    if closets:
        return tuple(e for e in site.of_kind("end") if e.ref_of("room") in closets and e.stands)
    at_outlet = {c.subject for c in site.about(relation="ends_at") if c.object.kind == "outlet"}
    return tuple(e for e in site.of_kind("end") if e.ref not in at_outlet and e.stands)


def runs(site: Site) -> tuple[Run, ...]:
    """One run for each closet end, in order of the ends."""
    by_cable: dict[Ref, list[Ref]] = collections.defaultdict(list)
    for end in site.of_kind("end"):
        if cable := end.ref_of("cable"):
            by_cable[cable].append(end.ref)
    touching = _touching(site)
    return tuple(_run(site, end, by_cable, touching) for end in closet_ends(site))


def _touching(site: Site) -> dict[Ref, set[Ref]]:
    found: dict[Ref, set[Ref]] = collections.defaultdict(set)
    for net in nets(site):
        for cable in net.cables:
            found[cable] |= set(net.cables) - {cable}
    return found


def _run(site: Site, start: Thing, by_cable: dict[Ref, list[Ref]], touching: dict[Ref, set[Ref]]) -> Run:
    cable = start.ref_of("cable")
    cables: list[Ref] = []
    used: list[Claim] = []
    joints, tip = 0, start.ref
    while cable and cable not in cables:
        cables.append(cable)
        tip = next((e for e in by_cable[cable] if e != tip), tip)
        onward = next((c for c in site.about(relation="joined") if tip in (c.subject, c.object)), None)
        if onward is None or tip == start.ref:
            break
        used.append(onward)
        joints += 1
        tip = onward.object if onward.subject == tip else onward.subject
        cable = cable_of(site, tip)
    arrivals = [c for c in site.about(subject=start.ref, relation="goes_to")]
    if tip != start.ref:
        arrivals += [c for r in ("ends_at", "plugged") for c in site.about(subject=tip, relation=r)]
        arrivals += list(site.about(subject=tip, relation="goes_to"))
    arrivals.sort(key=lambda c: (-_rank(c), str(c.object)))
    grades = [c.support for c in (*arrivals[:1], *used) if c.support]
    return Run(
        start.ref,
        tuple(cables),
        tuple(dict.fromkeys(c.object for c in arrivals)),
        weakest(grades) if arrivals else None,
        tuple(dict.fromkeys(e for c in (*arrivals, *used) for e in c.entries)),
        joints,
        tuple(sorted({t for c in cables for t in touching.get(c, ())} - set(cables))),
        any(c.contradicted for c in (*arrivals[:1], *used)),
    )


def _rank(claim: Claim) -> int:
    return grade(claim.support or "assumed").rank - (100 if claim.contradicted else 0)

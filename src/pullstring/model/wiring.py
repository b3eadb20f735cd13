"""Pairs that touch and the cables that make a run, on top of single conductors. Derived each time; never recorded."""

from __future__ import annotations

import collections
import dataclasses

from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import cable_of, conductor_nets, pairs_of
from pullstring.model.grades import grade, weakest
from pullstring.model.refs import Ref

__all__ = ["Net", "Run", "cable_of", "closet_ends", "ends_of", "nets", "pairs_of", "runs"]
CORDS = ("cord", "flat cord")
"""Cables with plugs, laid and taken up by hand: no run begins with one."""
WHOLE_JOINTS = ("splice", "loop", "series")
"""Joints through which a run goes on; a tap is a branch, and a clip lies on the block."""


@dataclasses.dataclass(frozen=True)
class Net:
    """Pairs, rows, jacks and ports that touch, with the entries that say so and the weakest grade among them."""

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
    cables whose conductors touch this run's: taps until somebody parts them. `back` is the closet end to which the run
    comes back, when both its ends lie in the closet.
    """

    start: Ref
    cables: tuple[Ref, ...]
    to: tuple[Ref, ...]
    grade: str | None
    because: tuple[str, ...]
    joints: int
    touching: tuple[Ref, ...]
    contradicted: bool
    back: Ref | None = None


@once_a_site
def nets(site: Site, *, through_devices: bool = True) -> tuple[Net, ...]:
    """All nets in order of their first member: conductors that touch, those of one pair taken together."""
    found = conductor_nets(site, through_devices=through_devices)
    holders: dict[Ref, list[int]] = collections.defaultdict(list)
    for number, group in enumerate(found):
        for point in group.points:
            if point.of.kind == "pair":
                holders[point.of].append(number)
    parent = list(range(len(found)))

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for numbers in holders.values():
        for n in numbers[1:]:
            a, b = sorted((root(numbers[0]), root(n)))
            parent[b] = a
    gathered: dict[int, list[int]] = collections.defaultdict(list)
    for n in range(len(found)):
        gathered[root(n)].append(n)
    out = []
    for numbers in gathered.values():
        members = sorted({p.of for n in numbers for p in found[n].points})
        if len(members) > 1:
            because = tuple(sorted({e for n in numbers for e in found[n].because}))
            grades = [t.grade for n in numbers for t in found[n].touches if t.grade]
            out.append(Net(tuple(members), because, weakest(grades)))
    return tuple(sorted(out, key=lambda net: net.members[0]))


def ends_of(site: Site, cable: Ref) -> tuple[Ref, ...]:
    """The recorded ends of a cable, standing or not."""
    return tuple(t.ref for t in site.ends_by_cable.get(cable, ()))


def closet_ends(site: Site) -> tuple[Thing, ...]:
    """Ends in a closet: their room is marked as one. With no closet marked, all ends that do not end at an outlet."""
    closets = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
    cords = {c.ref for c in site.of_kind("cable") if c.text("jacket") in CORDS}
    if closets:
        return tuple(
            e
            for e in site.of_kind("end")
            if e.ref_of("room") in closets and e.stands and e.ref_of("cable") not in cords
        )
    at_outlet = {c.subject for c in site.about(relation="ends_at") if c.object.kind == "outlet"}
    return tuple(e for e in site.of_kind("end") if e.ref not in at_outlet and e.stands)


@once_a_site
def runs(site: Site) -> tuple[Run, ...]:
    """One run for each closet end, in order of the ends."""
    touching = _touching(site)
    starts = closet_ends(site)
    closet = {e.ref for e in starts}
    return tuple(_run(site, end, touching, closet) for end in starts)


def _touching(site: Site) -> dict[Ref, set[Ref]]:
    found: dict[Ref, set[Ref]] = collections.defaultdict(set)
    for net in nets(site, through_devices=False):
        for cable in net.cables:
            found[cable] |= set(net.cables) - {cable}
    return found


def _run(site: Site, start: Thing, touching: dict[Ref, set[Ref]], closet: set[Ref]) -> Run:
    cable = start.ref_of("cable")
    cables: dict[Ref, None] = {}
    used: list[Claim] = []
    met: list[str] = []
    joints, tip = 0, start.ref
    while cable and cable not in cables:
        cables[cable] = None
        tip = next((e for e in ends_of(site, cable) if e != tip), tip)
        onward = None if tip == start.ref else _onward(site, tip)
        if onward is None:
            break
        tip, claim, entries = onward
        used += [claim] if claim else []
        met += entries
        joints += 1
        cable = cable_of(site, tip)
    arrivals = [c for c in site.about(subject=start.ref, relation="goes_to")]
    if tip != start.ref:
        arrivals += [c for r in ("ends_at", "plugged") for c in site.about(subject=tip, relation=r)]
        arrivals += list(site.about(subject=tip, relation="goes_to"))
    arrivals.sort(key=lambda c: (-_rank(c), str(c.object)))
    grades = [c.support for c in (*arrivals[:1], *used) if c.support]
    far = site.get(tip) if tip != start.ref and arrivals and arrivals[0].subject == tip else None
    if far and "cable" in far.fields:  # that this far end belongs to the cable is itself only as sure as it was noted
        grades.append(far.fields["cable"].last.evidence.grade)
    return Run(
        start.ref,
        tuple(cables),
        tuple(dict.fromkeys(c.object for c in arrivals)),
        weakest(grades) if arrivals else None,
        tuple(dict.fromkeys([*(e for c in (*arrivals, *used) for e in c.entries), *met])),
        joints,
        tuple(sorted({t for c in cables for t in touching.get(c, ())} - set(cables))),
        any(c.contradicted for c in (*arrivals[:1], *used)),
        tip if tip != start.ref and tip in closet else None,
    )


def _onward(site: Site, tip: Ref) -> tuple[Ref, Claim | None, tuple[str, ...]] | None:
    """The end on the other side of a splice or loop, with what says so."""
    for claim in (*site.about(subject=tip, relation="joined"), *site.about(object=tip, relation="joined")):
        return (claim.object if claim.subject == tip else claim.subject), claim, ()
    joint = _joints_of_two(site).get(tip)
    if joint is None:
        return None
    return next(r for r in joint.refs_of("ends") if r.kind == "end" and r != tip), None, joint.entries


@once_a_site
def _joints_of_two(site: Site) -> dict[Ref, Thing]:
    """The splice or loop of exactly two ends in which an end lies."""
    found: dict[Ref, Thing] = {}
    for joint in site.of_kind("joint"):
        ends = {r for r in joint.refs_of("ends") if r.kind == "end"}
        if joint.stands and joint.text("style") in WHOLE_JOINTS and len(ends) == 2:
            found.update(dict.fromkeys(ends, joint))
    return found


def _rank(claim: Claim) -> int:
    return grade(claim.support or "assumed").rank - (100 if claim.contradicted else 0)

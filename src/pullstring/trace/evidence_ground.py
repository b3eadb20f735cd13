"""Who takes part in tracing: outlets and closet ends by number, what is known of far ends, and who is left out and why.

House rules
-----------
1. One scene for the whole property: an outlet has one cable, whichever closet that ends in. Ends of several closets are all
   candidates; only walking differs.
2. An end is left out when it surely goes elsewhere; where that is only likely it takes part and leans.
3. A protected end is left out, but not when somebody says that it goes to an outlet: the outlet is then its.
"""

from __future__ import annotations

import collections
import dataclasses
import functools
from collections.abc import Iterable, Mapping

from pullstring.copper.lengths import of_cable, settle
from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.grades import grade
from pullstring.model.refs import BadName, Ref, parse_ref
from pullstring.model.when import FIRST, When
from pullstring.model.wiring import CORDS, closet_ends
from pullstring.reach.guards import guards_of
from pullstring.trace.assumed_evidence import weights

UNKNOWN = "unknown"
PLATES = ("outlet", "jack")


@dataclasses.dataclass(frozen=True)
class LeftOut:
    """A thing that takes no part, why (a code), what it has to do with, the chance of that, and the entries."""

    thing: Ref
    why: str
    about: tuple[Ref, ...] = ()
    says: str = ""
    chance: float = 1.0
    because: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Spot:
    """Where something was read or placed: the outlet or end by number, or a thing that has none."""

    outlet: int | None = None
    end: int | None = None
    other: Ref | None = None


@dataclasses.dataclass(frozen=True)
class Elsewhere:
    """That the cable of an end goes elsewhere: where, with what chance, in which sense, and the entries."""

    what: str
    about: tuple[Ref, ...]
    chance: float
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Ground:
    """The site with its outlets and closet ends by number."""

    site: Site
    outlets: tuple[Ref, ...]
    ends: tuple[Ref, ...]
    left_out: tuple[LeftOut, ...]

    @functools.cached_property
    def outlet_number(self) -> Mapping[Ref, int]:
        """The number of each outlet."""
        return {ref: n for n, ref in enumerate(self.outlets)}

    @functools.cached_property
    def end_number(self) -> Mapping[Ref, int]:
        """The number of each end that takes part."""
        return {ref: n for n, ref in enumerate(self.ends)}

    @functools.cached_property
    def out(self) -> frozenset[Ref]:
        """All that is left out."""
        return frozenset(one.thing for one in self.left_out)

    @functools.cached_property
    def far(self) -> Mapping[Ref, tuple[Thing, ...]]:
        """Cable ends seen at each outlet."""
        found: dict[Ref, list[Thing]] = collections.defaultdict(list)
        for end in far_ends(self.site):
            if outlet := outlet_at(self.site, end.ref):
                found[outlet].append(end)
        return {ref: tuple(ends) for ref, ends in found.items()}

    @functools.cached_property
    def loose(self) -> tuple[Thing, ...]:
        """Far ends at no outlet and of no cable that is known in the closet."""
        closet = {e.ref_of("cable") for e in closet_ends(self.site)}
        return tuple(
            e
            for e in far_ends(self.site)
            if outlet_at(self.site, e.ref) is None
            and (e.ref_of("cable") or e.ref) not in closet
            and not _stops(self.site, e)
        )

    def spot(self, ref: Ref) -> Spot:
        """The outlet or end that a reading at some thing speaks of."""
        found: Ref | None = ref
        if ref.kind == "jack":
            found = outlet_of(ref)
        elif ref.kind == "row":
            on = ends_on_row(self.site).get(ref, ())
            found = on[0] if len(on) == 1 else ref
        elif ref.kind in ("pair", "cable"):
            found = self._closet_end_of(Ref("cable", ref.parent_tag or "?") if ref.kind == "pair" else ref) or ref
        elif ref.kind == "end" and ref not in self.end_number and ref not in self.out:
            found = outlet_at(self.site, ref) or ref
        assert found is not None
        if found in self.outlet_number:
            return Spot(outlet=self.outlet_number[found])
        if found in self.end_number:
            return Spot(end=self.end_number[found])
        return Spot(other=found)

    def end_of_wire(self, ref: Ref) -> int | None:
        """The number of the closet end on the cable of a pair or of any end."""
        thing = self.site.get(ref)
        cable = Ref("cable", ref.parent_tag or "?") if ref.kind == "pair" else thing.ref_of("cable") if thing else None
        end = self._closet_end_of(cable) if cable else None
        return self.end_number.get(end) if end else None

    def _closet_end_of(self, cable: Ref) -> Ref | None:
        near = [e.ref for e in self.site.ends_by_cable.get(cable, ()) if e.ref in self.end_number or e.ref in self.out]
        return near[0] if len(near) == 1 else None

    def jacket(self, end: Ref) -> str:
        """The jacket at an end: as noted of the end, else of its cable; empty where nobody knows."""
        thing = self.site.get(end)
        cable = self.site.get(thing.ref_of("cable")) if thing else None
        said = (thing.text("jacket") if thing else "") or (cable.text("jacket") if cable else "")
        return "" if said in (UNKNOWN, "none") else said

    def pairs(self, end: Ref) -> float | None:
        """How many pairs were counted at an end."""
        thing = self.site.get(end)
        cable = self.site.get(thing.ref_of("cable")) if thing else None
        own = thing.number("pairs") if thing else None
        return own if own is not None else cable.number("pairs") if cable else None

    def look_entries(self, end: Ref) -> tuple[str, ...]:
        """The entries in which jacket and pairs of an end stand."""
        thing = self.site.get(end)
        cable = self.site.get(thing.ref_of("cable")) if thing else None
        found = [t.fields[n].last.entry for t in (thing, cable) if t for n in ("jacket", "pairs") if n in t.fields]
        return tuple(dict.fromkeys(found))

    def building(self, ref: Ref) -> Ref | None:
        """The building in which an outlet or end is."""
        thing = self.site.get(ref)
        room = self.site.get(thing.ref_of("room")) if thing else None
        floor = self.site.get(room.ref_of("floor")) if room else None
        return floor.ref_of("building") if floor else None


def moment(at: When) -> float:
    """A date as seconds: its earliest moment, or the latest where it has none."""
    return (at.latest if at.earliest == FIRST else at.earliest).timestamp()


@once_a_site
def near_ends(site: Site) -> frozenset[Ref]:
    """All ends in a closet."""
    return frozenset(e.ref for e in closet_ends(site))


@once_a_site
def far_ends(site: Site) -> tuple[Thing, ...]:
    """Standing cable ends that are not in a closet and of no cord."""
    near = near_ends(site)
    cords = {c.ref for c in site.of_kind("cable") if c.text("jacket") in CORDS}
    closets = _closets(site)
    return tuple(
        e
        for e in site.of_kind("end")
        if e.stands and e.ref not in near and e.ref_of("cable") not in cords and e.ref_of("room") not in closets
    )


def _closets(site: Site) -> set[Ref]:
    return {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}


def outlet_at(site: Site, end: Ref) -> Ref | None:
    """The outlet at which an end is."""
    claim = arrival(site, end)
    return outlet_of(claim.object) if claim and claim.object.kind in PLATES else None


def arrival(site: Site, end: Ref) -> Claim | None:
    """The strongest claim on where an end is: what it ends at, else what it is plugged into."""
    return site.best(end, "ends_at") or site.best(end, "plugged")


def _stops(site: Site, end: Thing) -> bool:
    claim = arrival(site, end.ref)
    return claim is not None and claim.object.kind in ("stop", "port", "row")


@once_a_site
def ends_on_row(site: Site) -> Mapping[Ref, tuple[Ref, ...]]:
    """Closet ends on each row: those that end there, and those of which a pair is joined to it."""
    found: dict[Ref, dict[Ref, None]] = collections.defaultdict(dict)
    near = near_ends(site)
    for claim in site.about(relation="ends_at"):
        if claim.object.kind == "row" and claim.subject in near:
            found[claim.object][claim.subject] = None
    for claim in site.about(relation="joined"):
        for one, other in ((claim.subject, claim.object), (claim.object, claim.subject)):
            if one.kind == "pair" and other.kind == "row":
                cable = Ref("cable", one.parent_tag or "?")
                for end in site.ends_by_cable.get(cable, ()):
                    if end.ref in near:
                        found[other][end.ref] = None
    return {row: tuple(ends) for row, ends in found.items()}


def odds_of(claim: Claim) -> float:
    """The odds of a claim by its grade; less when it is contradicted or stale."""
    g = grade(claim.support or "assumed").odds
    against = grade(claim.against).odds if claim.against else 0.0
    g = g * (1 - against) / (g * (1 - against) + (1 - g) * against) if against else g
    return 0.5 + (g - 0.5) * weights()["old_label_share"] if claim.stale else g


def ground(site: Site) -> Ground:
    """Outlets and ends that take part, in order of their tags, and those that do not."""
    left: list[LeftOut] = []
    outlets = []
    for thing in site.of_kind("outlet"):
        if thing.stands:
            outlets.append(thing.ref)
        else:
            left.append(_by_state(thing))
    ends = []
    closets = _closets(site)
    near = closet_ends(site)
    for end in near:
        why = _why_out(site, end)
        ends += [] if why else [end.ref]
        left += [why] if why else []
    left += [_by_state(e) for e in site.of_kind("end") if not e.stands and e.ref_of("room") in closets]
    return Ground(site, tuple(outlets), tuple(ends), tuple(left))


def _by_state(thing: Thing) -> LeftOut:
    return LeftOut(thing.ref, thing.text("state"), because=(thing.fields["state"].last.entry,))


def _why_out(site: Site, end: Thing) -> LeftOut | None:
    ref, cable = end.ref, site.get(end.ref_of("cable"))
    if cable and not cable.stands:
        return LeftOut(ref, cable.text("state"), (cable.ref,), because=(cable.fields["state"].last.entry,))
    jacket = end.text("jacket") or (cable.text("jacket") if cable else "")
    if jacket in ("coax", "fibre"):
        entries = [t.fields["jacket"].last.entry for t in (end, cable) if t and "jacket" in t.fields]
        return LeftOut(ref, jacket, _far_things(site, end), because=tuple(entries))
    to_outlet = any(c.object.kind in PLATES for c in site.about(subject=ref, relation="goes_to")) or any(
        thing.kind in PLATES for thing in _far_things(site, end)
    )
    if not to_outlet and (guards := dict(sorted(guards_of(site, ref).items()))):
        companies = " ".join(sorted(set(guards.values())))
        about = tuple(dict.fromkeys((*_far_things(site, end), *(r for r in map(_as_ref, guards) if r))))
        return LeftOut(ref, "protected", about, companies, because=_guard_entries(site, guards, end))
    if cable and (found := settle(of_cable(site, cable.ref)).interval) and found.high < weights()["stub_m"]:
        because = tuple(e for source in of_cable(site, cable.ref) for e in source.because)
        return LeftOut(ref, "stub", (cable.ref,), because=because)
    gone = [e for e in elsewhere(site, end) if e.chance >= weights()["strong_share"]]
    if gone and not to_outlet:
        best = max(gone, key=lambda e: e.chance)
        return LeftOut(ref, best.what, best.about, chance=best.chance, because=best.because)
    return None


def _as_ref(text: str) -> Ref | None:
    try:
        return parse_ref(text)
    except BadName:
        return None


def _guard_entries(site: Site, guards: Iterable[str], end: Thing) -> tuple[str, ...]:
    found: list[str] = []
    for name in guards:
        thing = site.get(_as_ref(name))
        found += [
            thing.fields[n].last.entry
            for n in ("protected_by", "carried_on", "provider", "login")
            if thing and n in thing.fields
        ]
    return tuple(dict.fromkeys(found)) or end.entries[:1]


def far_of(site: Site, end: Thing) -> tuple[tuple[Ref, float, tuple[str, ...]], ...]:
    """The other ends of the cable of a closet end, with the chance that they are, and the entries."""
    found: list[tuple[Ref, float, tuple[str, ...]]] = []
    near = near_ends(site)
    cable = end.ref_of("cable")
    for other in site.ends_by_cable.get(cable, ()) if cable else ():
        if other.ref != end.ref and other.ref not in near and other.stands:
            account = other.fields["cable"].last
            found.append((other.ref, grade(account.evidence.grade).odds, (account.entry,)))
    for claim in (
        *site.about(subject=end.ref, relation="other_end"),
        *site.about(object=end.ref, relation="other_end"),
    ):
        other_ref = claim.object if claim.subject == end.ref else claim.subject
        if other_ref not in near:
            found.append((other_ref, odds_of(claim), claim.entries))
    return tuple(found)


def _far_things(site: Site, end: Thing) -> tuple[Ref, ...]:
    """Where the cable of an end is said to go, by its far ends and by claims."""
    found = [c.object for far, _, _ in far_of(site, end) if (c := arrival(site, far))]
    found += [c.object for c in site.about(subject=end.ref, relation="goes_to")]
    return tuple(dict.fromkeys(found))


def elsewhere(site: Site, end: Thing) -> tuple[Elsewhere, ...]:
    """Ways in which the cable of an end is said to go elsewhere than to an outlet."""
    found: list[Elsewhere] = []
    own = site.best(end.ref, "ends_at")
    if own and own.object.kind == "stop" and own.object.key in _STOPS:
        found.append(Elsewhere(_STOPS[own.object.key], (), odds_of(own), own.entries))
    for far, chance, entries in far_of(site, end):
        claim = arrival(site, far)
        if claim is None or claim.object.kind in PLATES:
            continue
        told = min(chance, odds_of(claim))
        what = _STOPS.get(claim.object.key, "elsewhere") if claim.object.kind == "stop" else "elsewhere"
        because = (*entries, *claim.entries)
        if claim.object.kind in ("port", "unit"):
            what, told, because = _at_a_unit(site, end, told, because)
        found.append(Elsewhere(what, (far if claim.object.kind == "stop" else claim.object,), told, because))
    found += [
        Elsewhere("elsewhere", (c.object,), odds_of(c), c.entries)
        for c in site.about(subject=end.ref, relation="goes_to")
        if c.object.kind not in PLATES
    ]
    return tuple(found)


_STOPS = {"cut": "cut", "coil": "coil", "lost": "lost", "bare": "stub"}


def _at_a_unit(site: Site, end: Thing, told: float, because: tuple[str, ...]) -> tuple[str, float, tuple[str, ...]]:
    """Plugged at both ends; a link that ran says that something answers at the far end."""
    near = site.best(end.ref, "plugged")
    ran = [r.entry for r in site.readings if r.measured.quantity == "ran at" and r.measured.subject == end.ref]
    if near and ran:
        return "plugged", 1 - (1 - told) * weights()["ran_doubt"], (*because, *near.entries, *ran)
    return ("plugged" if near else "elsewhere"), told, because

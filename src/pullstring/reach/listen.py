"""Before something is pulled: whom to call first, and which two things to listen to while it is done.

One thing must stay alive: the likeliest victim of a wrong label. It is sought among all services that are not meant to go
dark, by what would make a hand take its wire for the one that is pulled: somebody said so, the same label, nearly the same tag,
the next row, the same look, the same hole. One thing should go dark: if it does not, the wrong wire was pulled. Where no known
service hangs on what is pulled, a unit that loses its power will do; where nothing does, that is told.
"""

from __future__ import annotations

import collections
import dataclasses
import enum
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.refs import Ref, natural, parse_ref
from pullstring.reach.consequence import Fact, goes_dark, live, proof
from pullstring.reach.guards import cable_of_ref, carried_away, guards_of, unplaced, wires_on
from pullstring.reach.rules import build


class Why(enum.StrEnum):
    """Why a service may be hit instead of, or together with, what is pulled; the strongest first."""

    SAID_TO_BE = "said_to_be"
    SAME_LABEL = "same_label"
    TAG_ALIKE = "tag_alike"
    NEXT_ROW = "next_row"
    SAME_LOOK = "same_look"
    SAME_HOLE = "same_hole"
    NEAREST = "nearest"
    HANGS_ON_IT = "hangs_on_it"
    LOSES_POWER = "loses_power"
    NOTED_ON_IT = "noted_on_it"


WEIGHT: Mapping[Why, int] = {
    Why.SAID_TO_BE: 32,
    Why.SAME_LABEL: 16,
    Why.TAG_ALIKE: 8,
    Why.NEXT_ROW: 4,
    Why.SAME_LOOK: 2,
    Why.SAME_HOLE: 1,
}
"""Each outweighs all that come after it. Ours, assumed."""
WEAK = ("assumed", "told")
"""Grades of a saying that an old label is enough for."""


@dataclasses.dataclass(frozen=True)
class Listen:
    """One thing to listen to, why this one, and the entries that say so."""

    ref: str
    why: Why
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Call:
    """A company to call before anything is touched, when it answers, what it guards, and whether it said yes already."""

    company: str
    name: str
    hours: str
    guards: tuple[str, ...]
    stops_kept: bool
    asked: bool
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Listening:
    """What belongs beside a proposal to take something away.

    `stays` is None where no service is known that could be hit, `goes` where nothing known hangs on what is pulled.
    `unplaced` are services of which nobody knows the wire: they may be on this one.
    """

    stays: Listen | None
    goes: Listen | None
    calls: tuple[Call, ...]
    unplaced: tuple[str, ...]


def listen(found: Site, cut: Collection[Ref]) -> Listening:
    """Whom to call and what to listen to while all of `cut` is taken away."""
    dark = dark_services(found, cut)
    return Listening(_stays(found, cut, dark), _goes(found, cut, dark), calls(found, cut), unplaced(found))


def dark_services(found: Site, cut: Collection[Ref]) -> tuple[str, ...]:
    """Services that go dark, those noted on a wire that is taken away among them."""
    reach = build(found)
    known = goes_dark(reach.rules, reach.services, {str(r) for r in cut})
    return tuple(dict.fromkeys((*known, *carried_away(found, cut))))


def calls(found: Site, cut: Collection[Ref]) -> tuple[Call, ...]:
    """Companies to call: first who guards what must stay and would go dark, then who guards anything else that is touched."""
    guards: dict[str, set[str]] = {}
    for ref in cut:
        for name, company in guards_of(found, ref).items():
            guards.setdefault(company, set()).add(name)
    dark = {name for name in dark_services(found, cut) if _is_kept(found, name)}
    every = [_call(found, tag, tuple(sorted(names)), bool(names & dark)) for tag, names in guards.items()]
    return tuple(sorted(every, key=lambda c: (not c.stops_kept, c.asked, c.company)))


def _call(found: Site, tag: str, names: tuple[str, ...], stops_kept: bool) -> Call:
    company = found.get(Ref("company", tag))
    entries = [*(company.entries if company else ()), *(e for n in names if (t := _thing(found, n)) for e in t.entries)]
    said = company.text if company else (lambda _: "")
    return Call(
        tag, said("name"), said("hours"), names, stops_kept, said("asked") == "yes", tuple(dict.fromkeys(entries))
    )


def _is_kept(found: Site, name: str) -> bool:
    thing = _thing(found, name)
    return thing is not None and thing.text("keep") == "yes"


def _thing(found: Site, name: str) -> Thing | None:
    return found.get(parse_ref(name))


def _goes(found: Site, cut: Collection[Ref], dark: Sequence[str]) -> Listen | None:
    """The service to prove it by, one that need not stay before one that must; else a unit that loses its power.

    A service that is only noted on the wire comes last: nobody knows that it falls silent.
    """
    reach, gone = build(found), {str(r) for r in cut}
    for name in sorted(goes_dark(reach.rules, reach.services, gone), key=lambda n: (_is_kept(found, n), n)):
        return Listen(name, Why.HANGS_ON_IT, _entries(found, name))
    units: dict[str, Fact] = {str(u.ref): ("P", str(u.ref)) for u in found.of_kind("unit") if u.ref not in cut}
    for name in goes_dark(reach.rules, units, gone):
        said = [e for rule in proof(reach.rules, units[name]) for e in rule.because]
        return Listen(name, Why.LOSES_POWER, tuple(dict.fromkeys(said)))
    return next((Listen(name, Why.NOTED_ON_IT, _entries(found, name)) for name in dark), None)


def _entries(found: Site, name: str) -> tuple[str, ...]:
    """What says that a service is alive, and the service's own."""
    reach, thing = build(found), _thing(found, name)
    fact = reach.services.get(name)
    said = [e for rule in proof(reach.rules, fact) for e in rule.because] if fact else []
    return tuple(dict.fromkeys([*(thing.entries if thing else ()), *said]))


def _stays(found: Site, cut: Collection[Ref], dark: Sequence[str]) -> Listen | None:
    """The likeliest victim of a wrong label among what is not meant to go dark; kept before others, near before far."""
    ours, steps = _wires(found, cut), _steps_to(found, {str(r) for r in cut})
    best: tuple[tuple[int, bool, float, str], Listen] | None = None
    for name, wires in _on_wires(found).items():
        if name in dark or not _heard(found, name):
            continue
        alike = _alike(found, ours, wires)
        first = max(alike, key=lambda why: WEIGHT[why], default=Why.NEAREST)
        thing = _thing(found, name)
        said = [*(thing.entries if thing else ()), *alike.get(first, ())]
        fact = build(found).services.get(name)
        away = steps.get(fact[1], float("inf")) if fact else float("inf")
        rank = (-sum(WEIGHT[why] for why in alike), not _is_kept(found, name), away, name)
        if best is None or rank < best[0]:
            best = rank, Listen(name, first, tuple(dict.fromkeys(said)))
    return best[1] if best else None


def _steps_to(found: Site, start: Collection[str]) -> dict[str, int]:
    """How many rules lie between what is pulled and each thing."""
    near = _neighbours(found)
    steps, ring = dict.fromkeys(start, 0), list(start)
    while ring:
        there = dict.fromkeys(two for one in ring for two in near.get(one, ()) if two not in steps)
        steps |= dict.fromkeys(there, max(steps.values()) + 1)
        ring = list(there)
    return steps


@once_a_site
def _neighbours(found: Site) -> Mapping[str, Collection[str]]:
    """All that one rule names together."""
    near: dict[str, dict[str, None]] = collections.defaultdict(dict)
    for rule in build(found).rules:
        named = dict.fromkeys((*rule.through, *(body[1] for body in rule.bodies)))
        for one in named:
            near[one] |= named
    return near


def _heard(found: Site, name: str) -> bool:
    """Whether anybody would notice: alive by what is known, or kept and noted on a wire. Not what is no longer paid for."""
    reach, thing = build(found), _thing(found, name)
    if thing is None or not thing.stands or thing.text("ceased") == "yes":
        return False
    return reach.services.get(name) in live(reach.rules) or thing.text("keep") == "yes"


@once_a_site
def _on_wires(found: Site) -> Mapping[str, frozenset[Ref]]:
    """The wires that each service is on: as noted, and as far as one way to it is known."""
    reach = build(found)
    out: dict[str, frozenset[Ref]] = {}
    for service in found.of_kind("service"):
        on = set(service.refs_of("carried_on"))
        on |= {c.subject for c in found.about(relation="carries", object=service.ref)}
        fact = reach.services.get(str(service.ref))
        through = (parse_ref(e) for rule in (proof(reach.rules, fact) if fact else ()) for e in rule.through)
        on |= {ref for ref in through if ref.kind in ("end", "cable", "pair")}
        out[str(service.ref)] = _wires(found, on)
    return out


def _wires(found: Site, refs: Iterable[Ref]) -> frozenset[Ref]:
    """Cables with their closet and far ends, of whatever is named; rows, joints and plates give what lies on them."""
    out: set[Ref] = set()
    for ref in refs:
        for wire in wires_on(found, ref) or (ref,):
            cable = cable_of_ref(found, wire)
            out |= {cable, *(e.ref for e in found.ends_by_cable.get(cable, ()))} if cable else {wire}
    return frozenset(out)


def _alike(found: Site, ours: frozenset[Ref], theirs: frozenset[Ref]) -> dict[Why, tuple[str, ...]]:
    """What makes wires of theirs look like ours, with the entries that say so; the same wire is like itself in nothing."""
    alike: dict[Why, list[str]] = {}
    apart = theirs - ours
    for why, said in _said_to_be(found, ours, theirs):
        alike.setdefault(why, []).extend(said)
    for a in ours:
        for b in apart:
            if a.kind == b.kind and a.kind in ("end", "cable"):
                for why, said in _pair_alike(found, a, b):
                    alike.setdefault(why, []).extend(said)
    return {why: tuple(dict.fromkeys(said)) for why, said in alike.items()}


def _said_to_be(found: Site, ours: frozenset[Ref], theirs: frozenset[Ref]) -> Iterator[tuple[Why, tuple[str, ...]]]:
    """A saying that is weak or beaten by now, and puts our wire where theirs is, or theirs where ours is."""
    at_ours, at_theirs = _places(found, ours), _places(found, theirs)
    for claim in found.claims:
        if claim.relation not in ("goes_to", "ends_at", "other_end", "carries", "alias_of"):
            continue
        if claim.support not in (None, *WEAK) and not claim.contradicted:
            continue
        if claim.subject in ours and claim.object in at_theirs or claim.subject in theirs and claim.object in at_ours:
            yield Why.SAID_TO_BE, claim.entries


def _places(found: Site, wires: frozenset[Ref]) -> set[Ref]:
    """Wires with the outlets, rows and services that they are believed to be at."""
    out = set(wires)
    for wire in wires:
        for claim in found.about(subject=wire):
            if claim.relation in ("goes_to", "ends_at", "carries", "plugged") and claim.object.kind not in (
                "use",
                "stop",
            ):
                out.add(claim.object)
    return out


def _pair_alike(found: Site, a: Ref, b: Ref) -> Iterator[tuple[Why, tuple[str, ...]]]:
    """Two ends or two cables, and what a hand or an eye could mistake."""
    one, other = found.get(a), found.get(b)
    if one is None or other is None:
        return
    said = (*one.entries, *other.entries)
    if _same(one, other, "label"):
        yield Why.SAME_LABEL, said
    if tags_alike(a.tag, b.tag):
        yield Why.TAG_ALIKE, said
    if a.kind == "end" and (rows := _next_rows(found, a, b)):
        yield Why.NEXT_ROW, rows
    if _same(one, other, "jacket") and (_same(one, other, "look") or one.text("look") == other.text("look") == ""):
        yield Why.SAME_LOOK, said
    if _same(one, other, "enters_by") and one.ref_of("room") == other.ref_of("room"):
        yield Why.SAME_HOLE, said


def _same(one: Thing, other: Thing, field: str) -> bool:
    text = one.text(field).casefold().strip()
    return text not in ("", "none", "unknown") and text == other.text(field).casefold().strip()


def _next_rows(found: Site, a: Ref, b: Ref) -> tuple[str, ...]:
    """The entries that put two ends on rows beside each other on one block."""
    for one in found.about(subject=a, relation="ends_at"):
        for other in found.about(subject=b, relation="ends_at"):
            rows = one.object, other.object
            if all(r.kind == "row" for r in rows) and rows[0].parent_tag == rows[1].parent_tag:
                near = [natural(r.key.rpartition(".")[2]) for r in rows]
                numbers = [parts[0][1] if parts else -1 for parts in near]
                if min(numbers) >= 0 and abs(numbers[0] - numbers[1]) <= 1:
                    return (*one.entries, *other.entries)
    return ()


def tags_alike(a: str, b: str) -> bool:
    """Whether one tag is easily read for the other: one sign more, less or other, or two neighbours exchanged."""
    x, y = a.casefold(), b.casefold()
    if x == y:
        return False
    if len(x) == len(y):
        off = [n for n in range(len(x)) if x[n] != y[n]]
        swapped = len(off) == 2 and off[1] == off[0] + 1 and x[off[0]] == y[off[1]] and x[off[1]] == y[off[0]]
        return len(off) == 1 or swapped
    short, long = sorted((x, y), key=len)
    return len(long) == len(short) + 1 and any(long[:n] + long[n + 1 :] == short for n in range(len(long)))

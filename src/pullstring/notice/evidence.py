"""What a veteran does not believe: silent taken for idle, old evidence, tags that swap, a feed without a label."""

from __future__ import annotations

import collections
import csv
import functools
from collections.abc import Iterator
from importlib import resources

from pullstring.model.answers import USUAL_RULES, Problem
from pullstring.model.asbuilt import Claim, Reading, Thing
from pullstring.model.conductors import cable_of
from pullstring.model.problems import listed, problem
from pullstring.model.refs import Ref, parse_ref, tag_key
from pullstring.model.wiring import ends_of
from pullstring.notice.look import Look
from pullstring.reach.guards import (
    QUIET_V,
    cable_of_ref,
    carried_away,
    guards_of,
    is_idle,
    metered,
    unplaced,
    volts_of,
    wires_on,
)

LIVE_ON = ("end", "cable", "pair", "row", "jack", "outlet", "port")
GIVES = ("injector", "switch", "telephone", "panel", "protector", "router", "converter")
IDLE = Ref("use", "idle")
STOPS = (Ref("stop", "cut"), Ref("stop", "bare"))
LIKE = str.maketrans(
    {"o": "0", "i": "1", "l": "1", "|": "1", "b": "8", "s": "5", "z": "2", "g": "6", "q": "0", "d": "0"}
)
"""Letters and digits that are taken for one another when written by hand (common practice)."""
ENDING = ("cut", "take out")
TAKES_AWAY = (
    "remove",
    "cut",
    "take out",
    "take off",
    "take down",
    "retire",
    "strip",
    "pull out",
    "rip out",
    "disconnect",
    "unplug",
)


def evidence(look: Look) -> Iterator[Problem]:
    """All detections of this family."""
    yield from _silent(look)
    yield from _live_unknown(look)
    yield from _protected_work(look)
    yield from _kept(look)
    yield from _feeds(look)
    yield from _look_alike(look)
    yield from _exchanged(look)
    yield from _stale(look)
    yield from _abandoned(look)


def _silent(look: Look) -> Iterator[Problem]:
    """Said to be idle, put out of use, cut or to be taken away, though no meter proves it; told once for each reason."""
    entries: dict[Ref, tuple[str, ...]] = {}
    for claim in look.site.about(relation="carries", object=IDLE):
        if not claim.contradicted:
            entries.setdefault(claim.subject, claim.entries)
    for cable in look.site.of_kind("cable"):
        if cable.text("state") == "out of use":
            acts = [d.entry for d in look.site.done if d.act in ENDING and d.subject == cable.ref]
            entries.setdefault(cable.ref, (*cable.entries, *acts))
    for task in look.site.of_kind("task"):
        if task.stands and task.text("done") != "yes" and task.text("nature") != "company" and _removes(task):
            for ref in task.refs_of("on"):
                if ref.kind in ("cable", "end", "pair"):
                    entries.setdefault(ref, task.entries)
    by_reason: dict[str, dict[Ref, Ref]] = collections.defaultdict(dict)
    for ref in sorted(entries):
        if says := _doubt(look, ref):
            by_reason[says].setdefault(_cable(look, ref) or ref, ref)
    for says, refs in sorted(by_reason.items()):
        because = [e for ref in refs.values() for e in entries[ref]]
        yield problem("silent_as_idle", where=listed(refs.values()), says=says, because=because)


def _doubt(look: Look, ref: Ref) -> str:
    """Why a thing may not count as idle; nothing when a meter proves it."""
    if is_idle(look.site, ref):
        return ""
    if metered(look.site, ref):
        return "volts were read on it"
    if not volts_of(look.site, ref):
        return "it was never metered for volts DC and AC"
    return "it was metered only in part, too long ago or before later work"


def _removes(task: Thing) -> bool:
    words = task.text("what").casefold()
    return any(w in words for w in TAKES_AWAY)


def _live_unknown(look: Look) -> Iterator[Problem]:
    """Voltage on a conductor, row or connector for which no service is noted and which no known source explains."""
    services = [s for s in look.site.of_kind("service") if s.stands]
    carried = {r for s in services for r in s.refs_of("carried_on")}
    carried |= {c.subject for s in services for c in look.site.about(relation="carries", object=s.ref)}
    carried |= {r for s in services for n in ("from", "arrives_at") if (r := s.ref_of(n))}
    found: dict[Ref, list[Reading]] = collections.defaultdict(list)
    for reading in look.site.readings:
        measured = reading.measured
        if measured.quantity in ("volts DC", "volts AC") and abs(measured.value_si or 0) >= QUIET_V:
            found[measured.subject].append(reading)
    for subject, readings in sorted(found.items()):
        wires = wires_on(look.site, subject)
        known = {subject, *wires}
        for wire in wires:
            known |= _known_of(look, wire, carried)
        ports = [p for e in known for p in look.plugged.get(e, ()) if p.kind == "port" and _may_give(look, p)]
        if subject.kind in LIVE_ON and not known & carried and not ports:
            says = listed(f"{r.measured.quantity} {r.measured.written}" for r in readings)
            yield problem("live_unknown", where=str(subject), says=says, because=[r.entry for r in readings])


def _known_of(look: Look, wire: Ref, carried: set[Ref]) -> set[Ref]:
    """What may carry the service of a wire: its cable and ends; of a pair alone, when its sisters are told apart."""
    cable = _cable(look, wire)
    if cable is None:
        return {wire}
    apart = any(r.kind == "pair" and _cable(look, r) == cable for r in carried)
    if wire.kind == "pair" and apart:
        return {wire}
    return {wire, cable, *ends_of(look.site, cable)}


def _may_give(look: Look, port: Ref) -> bool:
    """Whether a port is noted to give power, or belongs to a unit that does or that a company keeps."""
    thing = look.site.get(port)
    if thing and thing.text("gives") not in ("", "nothing", "none"):
        return True
    unit = look.site.get(Ref("unit", port.parent_tag)) if port.parent_tag else None
    model = look.model(unit) if unit else None
    return bool(unit and unit.ref_of("protected_by") or model and model.text("what") in GIVES)


def _cable(look: Look, ref: Ref) -> Ref | None:
    return cable_of_ref(look.site, ref)


def _protected_work(look: Look) -> Iterator[Problem]:
    """A task on something that only a company may touch, not marked as the company's."""
    for task in look.site.of_kind("task"):
        if not task.stands or task.text("done") == "yes" or task.text("nature") == "company":
            continue
        for ref in task.refs_of("on"):
            guards = guards_of(look.site, ref)
            asked = {c.ref.tag for c in look.site.of_kind("company") if c.text("asked") == "yes"}
            waiting = sorted(set(guards.values()) - asked)
            if waiting:
                where = f"{ref}"
                yield problem("work_on_protected", where=where, says=listed(waiting), because=task.entries)


def _kept(look: Look) -> Iterator[Problem]:
    """Services that must stay: those that nobody placed, and those whose cable is out of use or gone."""
    for name in unplaced(look.site):
        thing = look.site.get(parse_ref(name))
        yield problem("kept_unplaced", where=name, because=thing.entries if thing else ())
    for cable in look.site.of_kind("cable"):
        if cable.text("state") in ("out of use", "removed", "lost"):
            services = [look.site.get(parse_ref(s)) for s in carried_away(look.site, [cable.ref])]
            kept = [s for s in services if s and (s.text("keep") == "yes" or s.ref_of("protected_by"))]
            if kept:
                because = [*cable.entries, *_notes(kept)]
                yield problem(
                    "service_on_dead", where=str(cable.ref), says=listed(s.ref for s in kept), because=because
                )


def _feeds(look: Look) -> Iterator[Problem]:
    """The closet ends of what comes in from outside, when they bear no label."""
    cables: dict[Ref, tuple[str, ...]] = {}
    for line in look.site.of_kind("incoming_line"):
        if line.stands and (cable := line.ref_of("cable")) and line.text("label") in ("", "none"):
            cables[cable] = line.entries
    for service in look.site.of_kind("service"):
        start = service.ref_of("from")
        if not start or service.text("source") not in ("feed", "exchange") or not service.stands:
            continue
        starts = [start] if start.kind == "end" else []
        if start.kind in ("unit", "port"):
            starts = [r for p, at in look.plugged.items() for r in at if r.kind == "end" and _of_unit(p, start)]
        for end in starts:
            if cable := cable_of(look.site, end):
                cables.setdefault(cable, service.entries)
    for cable, entries in sorted(cables.items()):
        ends = [e for e in look.ends.get(cable, ()) if e.ref_of("room") in look.closets or not look.closets]
        bare = [e.ref for e in ends if e.text("label") in ("", "none")]
        if ends and len(bare) == len(ends):
            yield problem("feed_unlabelled", where=listed(bare), says=str(cable), because=[*entries, *_notes(ends)])


def _notes(things: list[Thing]) -> list[str]:
    return [e for t in things for e in t.entries]


def _of_unit(port: Ref, start: Ref) -> bool:
    if start.kind == "port":
        return port == start
    return port.kind == "port" and bool(port.parent_tag) and Ref("unit", port.parent_tag or "?") == start


def _look_alike(look: Look) -> Iterator[Problem]:
    groups: dict[tuple[str, str], list[Ref]] = collections.defaultdict(list)
    for ref, thing in look.site.things.items():
        if thing.stands and not ref.parent_tag:
            groups[ref.kind, tag_key(ref.tag.casefold().translate(LIKE))].append(ref)
    for (_, _), refs in sorted(groups.items()):
        if len(refs) > 1:
            entries = [e for r in refs for e in look.site.things[r].entries]
            yield problem("look_alike", where=listed(sorted(refs)), because=entries)


def _exchanged(look: Look) -> Iterator[Problem]:
    """Two ends of which each was first found where the other was found later: their tags changed places."""
    by_end: dict[tuple[str, Ref], dict[Ref, Claim]] = collections.defaultdict(dict)
    for claim in look.site.claims:
        if claim.relation in ("goes_to", "ends_at", "plugged") and claim.support and claim.subject.kind == "end":
            by_end[claim.relation, claim.subject][claim.object] = claim
    touching = [set(net.cables) for net in look.nets if len(net.cables) > 1]
    keys = sorted(by_end)
    for number, (relation, one) in enumerate(keys):
        for other_relation, two in keys[number + 1 :]:
            if relation != other_relation or len(by_end[relation, one]) < 2:
                continue
            cables = {cable_of(look.site, one), cable_of(look.site, two)}
            if any(cables <= net for net in touching):
                continue
            a, b = by_end[relation, one], by_end[relation, two]
            for first in sorted(a.keys() & b.keys()):
                for second in sorted((a.keys() & b.keys()) - {first}):
                    if _later(a[second], a[first]) and _later(b[first], b[second]):
                        entries = [e for c in (a[first], a[second], b[first], b[second]) for e in c.entries]
                        says = f"{first} and {second}"
                        yield problem("tags_exchanged", where=f"{one} and {two}", says=says, because=entries)


def _later(new: Claim, old: Claim) -> bool:
    return max(s.at.latest for s in new.sayings if s.holds) > max(s.at.latest for s in old.sayings if s.holds)


def _stale(look: Look) -> Iterator[Problem]:
    """All stale claims of one relation told together."""
    by_relation: dict[str, list[Claim]] = collections.defaultdict(list)
    for claim in look.site.claims:
        thing = look.site.get(claim.subject)
        if claim.stale and claim.support and (thing is None or thing.stands):
            by_relation[claim.relation].append(claim)
    for relation, claims in sorted(by_relation.items()):
        says = relation.replace("_", " ")
        where = listed([f"{c.subject} {says} {c.object}" for c in claims], most=4)
        yield problem("stale", where=where, says=says, because=[e for c in claims for e in c.entries])


@functools.cache
def abandoned_rules() -> dict[str, dict[str, str]]:
    """What a place's code calls abandoned, by rule set; each with its edition and 'verify locally'."""
    text = (resources.files("pullstring.notice") / "abandoned.csv").read_text(encoding="utf-8")
    return {row["rule_set"]: row for row in csv.DictReader(text.splitlines())}


def _abandoned(look: Look) -> Iterator[Problem]:
    """Cable out of use, by the logic of the place's code: not ended on gear or a connector at both ends, not reserved."""
    rule = abandoned_rules().get(look.site.rule_set or USUAL_RULES) or abandoned_rules()[USUAL_RULES]
    left: list[Thing] = []
    for cable in look.site.of_kind("cable"):
        unused = cable.text("state") == "out of use" or _cut_off(look, cable)
        loud = metered(look.site, cable.ref) and not is_idle(look.site, cable.ref)
        if unused and cable.text("reserved") != "yes" and not loud and not guards_of(look.site, cable.ref):
            ends = look.ends.get(cable.ref, [])
            landed = [e for e in ends if _landed(look, e.ref, rule)]
            if len(landed) < 2:
                left.append(cable)
    if left:
        says = f"{rule['says']} ({rule['edition']}, verify locally)"
        yield problem("abandoned", where=listed(c.ref for c in left), says=says, because=_notes(left))


def _cut_off(look: Look, cable: Thing) -> bool:
    """Whether all its ends stop bare or cut, and it was metered and found without voltage."""
    ends = look.ends.get(cable.ref, [])
    stops = [any(c.object in STOPS for c in look.site.about(subject=e.ref, relation="ends_at")) for e in ends]
    return cable.stands and len(ends) > 1 and all(stops) and is_idle(look.site, cable.ref)


def _landed(look: Look, end: Ref, rule: dict[str, str]) -> bool:
    """Whether an end still lies on what the rule counts as a termination."""
    counts = set(rule["counts_as_ended"].split("|"))
    return any(
        c.object.kind in counts for r in ("ends_at", "plugged") for c in look.site.about(subject=end, relation=r)
    )

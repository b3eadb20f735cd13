"""What a veteran notices about the building and the job: plates, boxes, buildings apart, suspect board, dates, company hours."""

from __future__ import annotations

from collections.abc import Iterator

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Thing
from pullstring.model.conductors import outlet_of
from pullstring.model.hours import parse_hours
from pullstring.model.problems import listed, problem
from pullstring.model.refs import Ref
from pullstring.model.when import FIRST, LAST, BadDate, When, parse_when
from pullstring.notice.look import Look

NO_METAL = ("fibre",)
SHUT = ("painted over",)
BAD_BONDS = ("loose", "corroded", "missing")


def place(look: Look) -> Iterator[Problem]:
    """All detections of this family."""
    yield from _mains_in_box(look)
    yield from _blocked(look)
    yield from _few_jacks(look)
    yield from _between_buildings(look)
    yield from _bonds(look)
    yield from _suspect_board(look)
    yield from _temporary(look)
    yield from _company_hours(look)


def _mains_in_box(look: Look) -> Iterator[Problem]:
    said = {r: h for h in look.site.of_kind("hazard") if h.text("style") == "mains" for r in h.refs_of("where")}
    for outlet in look.site.of_kind("outlet"):
        hazard = said.get(outlet.ref)
        if outlet.stands and (outlet.text("shares_box_with_mains") == "yes" or (hazard and hazard.stands)):
            because = [*outlet.entries, *(hazard.entries if hazard else ())]
            yield problem("mains_in_box", where=str(outlet.ref), because=because)


def _blocked(look: Look) -> Iterator[Problem]:
    for outlet in look.site.of_kind("outlet"):
        by, state = outlet.text("blocked_by"), outlet.text("condition")
        if outlet.stands and ((by and by != "none") or state in SHUT):
            says = by if by and by != "none" else state
            yield problem("plate_blocked", where=str(outlet.ref), says=says, because=outlet.entries)


def _few_jacks(look: Look) -> Iterator[Problem]:
    """A room whose plates hold fewer positions than its needs ask for; silent where a plate was never counted."""
    for room in look.site.of_kind("room"):
        needs = [
            n for n in look.site.of_kind("need") if n.stands and n.ref_of("room") == room.ref and n.number("ports")
        ]
        outlets = [o for o in look.site.of_kind("outlet") if o.stands and o.ref_of("room") == room.ref]
        there = [_positions(look, o) for o in outlets]
        if not needs or not outlets or None in there:
            continue
        wanted = sum(int(n.number("ports") or 0) for n in needs)
        if wanted > sum(p for p in there if p is not None):
            because = [e for t in (*needs, *outlets) for e in t.entries]
            yield problem(
                "too_few_jacks",
                where=listed(o.ref for o in outlets),
                says=listed(n.ref for n in needs),
                because=because,
            )


def _positions(look: Look, outlet: Thing) -> int | None:
    jacks = [j for j in look.site.of_kind("jack") if outlet_of(j.ref) == outlet.ref and j.text("connector") != "blank"]
    said = outlet.number("positions")
    return int(said) if said is not None else len(jacks) or None


def _between_buildings(look: Look) -> Iterator[Problem]:
    """Copper whose two ends lie in different buildings, told once a cable."""
    for cable in look.site.of_kind("cable"):
        ends = [e for e in look.site.ends_by_cable.get(cable.ref, ()) if e.text("state") != "removed"]
        if cable.text("state") == "removed" or cable.text("jacket") in NO_METAL or _guarded(look, ends):
            continue
        places = [p for end in ends for p in _where(look, end)]
        buildings = sorted({b for p in places if (b := look.building(p))})
        if len(buildings) > 1:
            entries = [e for end in ends for e in end.entries]
            yield problem(
                "between_buildings",
                where=str(cable.ref),
                says=" to ".join(map(str, buildings[:2])),
                because=[*cable.entries, *entries],
            )


def _guarded(look: Look, ends: list[Thing]) -> bool:
    """Whether a protector sits at both ends."""
    at = 0
    for end in ends:
        ports = [c.object for r in ("ends_at", "plugged") for c in look.site.about(subject=end.ref, relation=r)]
        models = [look.model(Ref("unit", p.parent_tag)) for p in ports if p.kind == "port" and p.parent_tag]
        at += any(m is not None and m.text("what") == "protector" for m in models)
    return at > 1


def _where(look: Look, end: Thing) -> list[Ref]:
    """Room of an end, and the outlets at which its cable is said to arrive."""
    goes = look.site.about(subject=end.ref, relation="goes_to")
    return [*look.far_places(end), *(c.object for c in goes if not c.contradicted)]


def _bonds(look: Look) -> Iterator[Problem]:
    for bond in look.site.of_kind("bond"):
        if bond.text("condition") in BAD_BONDS or bond.text("state") in ("removed", "lost"):
            says = bond.text("condition") if bond.text("condition") in BAD_BONDS else bond.text("state")
            yield problem("bond_bad", where=str(bond.ref), says=says, because=bond.entries)


def _suspect_board(look: Look) -> Iterator[Problem]:
    """Noisy work planned in a room where asbestos is suspected and no sample was cleared."""
    for hazard in look.site.of_kind("hazard"):
        if not hazard.stands or hazard.text("style") != "asbestos" or hazard.text("sample") == "clear":
            continue
        rooms = set(hazard.refs_of("where"))
        for task in look.site.of_kind("task"):
            open_task = task.text("state") != "removed" and task.text("done") != "yes"
            there = {*task.refs_of("rooms"), *task.refs_of("on"), *(look.room(r) for r in task.refs_of("on"))}
            if open_task and task.text("nature") == "noise" and (hit := [r for r in there if r in rooms]):
                because = [*hazard.entries, *task.entries]
                where = f"{hazard.ref} in {listed(sorted(r for r in hit if r))}"
                yield problem("suspect_board", where=where, says=str(task.ref), because=because)


def _temporary(look: Look) -> Iterator[Problem]:
    for work in look.site.of_kind("temporary"):
        if not work.stands or work.text("ended") == "yes":
            continue
        until = _date(work.text("must_end"))
        visit = look.site.get(work.ref_of("until_visit"))
        left = _date(visit.text("leaves")) if visit and visit.text("state") != "planned" else None
        over = [w for w in (until, left) if w and w.latest < look.today]
        if over:
            hazard = work.text("hazard")
            bad = bool(hazard) and hazard != "none"
            says = f"{work.text('what') or 'left as it was'}; it had to end by {over[0].text}"
            says += f" ({hazard})" if bad else ""
            code = "temporary_hazard" if bad else "temporary_over"
            yield problem(code, where=str(work.ref), says=says, because=work.entries)


def _date(text: str) -> When | None:
    try:
        return parse_when(text) if text and text != "none" else None
    except BadDate:
        return None


def _company_hours(look: Look) -> Iterator[Problem]:
    """A company that alone may touch something, and answers at no time of a visit that is still to come or running."""
    guarded = [t for kind in ("service", "unit") for t in look.site.of_kind(kind) if t.stands]
    needed = {c for t in guarded if (c := t.ref_of("protected_by"))}
    for visit in look.site.of_kind("visit"):
        arrives, leaves = _date(visit.text("arrives")), _date(visit.text("leaves"))
        if not arrives or not leaves or leaves.latest < look.today or FIRST in (arrives.earliest, leaves.latest):
            continue
        if leaves.latest == LAST or arrives.earliest > leaves.latest:
            continue
        for company in sorted(needed):
            thing = look.site.get(company)
            hours = parse_hours(thing.text("hours")) if thing else None
            if thing and hours and not hours.open_in(arrives.earliest, leaves.latest):
                because = [*thing.entries, *visit.entries]
                yield problem("company_shut", where=str(company), says=thing.text("hours"), because=because)

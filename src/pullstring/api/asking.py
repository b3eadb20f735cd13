"""The verbs that ask: site, runs, power, if-cut, and the first page."""

from __future__ import annotations

import collections
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.model.answers import Answer, Ask, Problem, Request

if TYPE_CHECKING:
    from pullstring.copper.judged import JudgedRun
    from pullstring.model.asbuilt import Site
    from pullstring.power.ports import JudgedPort
    from pullstring.reach.rules import Reach

CAUTIONS_WORK = ("volts_first", "local_trades")


def problems_of(site: Site) -> tuple[Problem, ...]:
    """All that is wrong or dangerous, worst first: of the record itself and what a veteran notices."""
    from pullstring.model.checks import record_problems
    from pullstring.model.problems import worst_first
    from pullstring.notice.noticed import noticed

    return worst_first((*record_problems(site), *noticed(site)))


def site(path: Path, request: Request, *, why: str | None = None, listed: bool = True) -> Answer:
    """The as-built site and its problems, with all things, claims and readings if `listed`; or why one thing is as it is."""
    found = load(path, request)
    if why is not None:
        return _why(found, request, why)
    kinds = collections.Counter(ref.kind for ref in found.things)
    states = collections.Counter(str(c.support if c.status == "holds" else c.status) for c in found.claims)
    answer = {"counts": kinds, "claim_counts": states, **(_listing(found) if listed else {})}
    return answered("site", found, request, answer, problems=problems_of(found))


def _listing(found: Site) -> dict[str, Any]:
    """Every thing with its accounts, every claim, every reading."""
    things = {
        str(t.ref): {n: [_account(h) for h in f.heads] for n, f in t.fields.items()} for t in found.things.values()
    }
    claims = [
        {
            "subject": str(c.subject),
            "relation": c.relation,
            "object": str(c.object),
            "grade": c.support,
            "against": c.against,
            "status": c.status,
            "because": list(c.entries),
        }
        for c in found.claims
    ]
    readings = [
        {
            "subject": str(r.measured.subject),
            "quantity": r.measured.quantity,
            "value": r.measured.value_si,
            "unit": r.measured.unit_si,
            "sign": r.measured.sign,
            "written": r.measured.written,
            "at": r.at.text,
        }
        for r in found.readings
    ]
    return {"things": things, "claims": claims, "readings": readings}


def _account(head: Any) -> dict[str, Any]:
    return {"value": head.value, "grade": head.evidence.grade, "at": head.at.text, "entry": head.entry}


def _why(found: Site, request: Request, why: str) -> Answer:
    from pullstring.model.columns import kinds

    name, dot, field = why.rpartition(".")
    try:
        ref = asked_for(found, [why], list(kinds()))[0]
        field = ""
    except BadRequest:
        if not dot:
            raise
        ref = asked_for(found, [name], list(kinds()))[0]
    thing = found.things[ref]
    fields = {n: [_account(h) for h in f.heads] for n, f in thing.fields.items() if field in ("", n)}
    about = [c for c in found.claims if c.subject == ref and field in ("", c.relation)]
    claims = [
        {
            "relation": c.relation,
            "object": str(c.object),
            "grade": c.support,
            "status": c.status,
            "because": list(c.entries),
        }
        for c in about
    ]
    if not fields and not claims:
        raise BadRequest([f"nothing is noted of {field!r} for {ref}"])
    because = [h["entry"] for accounts in fields.values() for h in accounts] + [e for c in about for e in c.entries]
    return answered(
        "site",
        found,
        request,
        {"thing": str(ref), "fields": fields, "claims": claims},
        because=tuple(dict.fromkeys(because)),
    )


def runs(path: Path, request: Request) -> Answer:
    """For every run: where it goes and how sure, what it can carry, the deciding reason and the next test."""
    from pullstring.copper.judged import judged_runs
    from pullstring.reach.guards import guards_of

    found = load(path, request)
    judged = judged_runs(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("end", "cable"))
        judged = tuple(j for j in judged if j.run.start in wanted or any(c in wanted for c in j.run.cables))
    only = {
        j.run.start: sorted({w for ref in (j.run.start, *j.run.cables) for w in guards_of(found, ref).values()})
        for j in judged
    }
    rows = [_run(found, j, only[j.run.start]) for j in judged]
    because = tuple(dict.fromkeys(e for j in judged for e in j.because))
    return answered(
        "runs",
        found,
        request,
        {"runs": rows},
        because=because,
        problems=problems_of(found)[:5],
        assumed=("temperature_10_30", "length_within_5_percent"),
        cautions=CAUTIONS_WORK,
        ask=_ask_run(found, [j for j in judged if not only[j.run.start]]),
    )


def _run(found: Site, judged: JudgedRun, only: Sequence[str]) -> dict[str, Any]:
    run = judged.run
    start = found.get(run.start)
    return {
        "end": run.start.tag,
        "cables": [c.tag for c in run.cables],
        "label": start.text("label") if start else "",
        "to": [str(t) for t in run.to],
        "grade": run.grade,
        "contradicted": run.contradicted,
        "joints": run.joints,
        "touching": [c.tag for c in run.touching],
        "jackets": list(judged.jackets),
        "length": judged.length,
        "mbps": judged.capability.mbps,
        "band": judged.capability.band,
        "reason": judged.capability.reason,
        "telephone": judged.capability.telephone,
        "loop": judged.loop,
        "capacitance": judged.capacitance,
        "rates": [{"mbps": r.mbps, "band": r.band, "reason": r.reason} for r in judged.capability.rates],
        "read": [
            {
                "quantity": r.measured.quantity,
                "written": r.measured.written,
                "value": r.measured.value_si,
                "unit": r.measured.unit_si,
                "at": r.at.text,
            }
            for r in judged.read
        ],
        "protected_by": list(only),
        "next_test": "company_first" if only else _next_test(found, judged),
        "because": list(judged.because),
    }


def _next_test(found: Site, judged: JudgedRun) -> str:
    """The cheapest test that would firm up the answer, as a code. No tone, ohms or device before volts."""
    from pullstring.reach.guards import carried_away, is_idle, metered

    if judged.capability.reason == "out_of_use":
        return "none"
    if set(carried_away(found, [judged.run.start])) & _must_stay(found):
        return "in_use"
    if judged.run.grade in (None, "assumed", "told") or judged.run.contradicted or judged.run.touching:
        if not metered(found, judged.run.start):
            return "volts"
        if not is_idle(found, judged.run.start):
            return "find_service"
    if judged.run.contradicted:
        return "tone_isolated"
    if judged.run.touching:
        return "part_first"
    if judged.run.grade in (None, "assumed", "told"):
        return "tone"
    if judged.run.grade in ("seen", "toned") and judged.whole is None:
        return "pin_out"
    if "reading" in judged.missing:
        return "link_test"
    return "none"


def _ask_run(found: Site, judged: Sequence[JudgedRun]) -> Ask | None:
    unknown = [
        j for j in judged if j.run.grade in (None, "assumed", "told") and _next_test(found, j) not in ("in_use", "none")
    ]
    return Ask(str(unknown[0].run.start), _next_test(found, unknown[0]), str(len(unknown))) if unknown else None


def power(path: Path, request: Request) -> Answer:
    """Port by port: mode match, volts and watts at the device, and the budget of each unit that gives power."""
    from pullstring.power.budget import budgets
    from pullstring.power.ports import judged_ports

    found = load(path, request)
    judged = judged_ports(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("port", "unit"))
        judged = tuple(j for j in judged if j.port in wanted or any(w.tag == j.port.parent_tag for w in wanted))
    rows = [_port(j) for j in judged]
    return answered(
        "power",
        found,
        request,
        {"ports": rows, "budgets": budgets(found, judged)},
        because=tuple(dict.fromkeys(e for j in judged for e in j.because)),
        problems=problems_of(found)[:5],
        assumed=("supply_24_nominal", "temperature_10_30", "unknown_length_0_90", "cords_not_counted"),
        cautions=("never_patch_always_on", "power_off_first"),
    )


def _port(judged: JudgedPort) -> dict[str, Any]:
    match = judged.match
    return {
        "port": judged.port.tag,
        "mode": judged.mode,
        "limit_w": judged.limit_w,
        "run": judged.run.run.start.tag if judged.run else None,
        "outlet": judged.outlet.tag if judged.outlet else None,
        "device": judged.device.tag if judged.device else None,
        "works": match.works if match else None,
        "code": match.code if match else "nothing_known_there",
        "volts": match.volts if match else None,
        "watts": match.watts if match else None,
        "hazard": bool(match and match.hazard),
        "because": list(judged.because),
    }


def if_cut(path: Path, request: Request) -> Answer:
    """STOP, ASK or GO for taking things away: what goes dark, whom to call, what to listen to."""
    from pullstring.model.columns import kinds
    from pullstring.reach.consequence import goes_dark, live, single_points
    from pullstring.reach.guards import carried_away, guards_of, is_idle, protected, unplaced, wires_on
    from pullstring.reach.rules import build

    found = load(path, request)
    reach = build(found)
    if not request.tags:
        points = single_points(reach.rules, reach.services, reach.keep)
        return answered(
            "if-cut",
            found,
            request,
            {
                "do_not_touch": protected(found),
                "single_points": {k: list(v) for k, v in points.items()},
                "names": _names(found),
                "unplaced": list(unplaced(found)),
            },
            assumed=reach.assumed,
            cautions=("nothing_cut", "local_trades"),
        )
    cut = asked_for(found, request.tags, list(kinds()))
    before = live(reach.rules)
    dark = goes_dark(reach.rules, reach.services, {str(r) for r in cut})
    dark = tuple(dict.fromkeys((*dark, *carried_away(found, cut))))
    units = {str(u.ref): ("P", str(u.ref)) for u in found.of_kind("unit") if u.stands and u.ref not in cut}
    unpowered = goes_dark(reach.rules, units, {str(r) for r in cut})
    kept = [d for d in dark if d in reach.keep or d in _must_stay(found)]
    guard = {name: why for ref in cut for name, why in guards_of(found, ref).items()}
    unknown = [str(ref) for ref in cut if wires_on(found, ref) and not is_idle(found, ref)]
    verdict = "STOP" if kept or guard else "ASK" if dark or unknown or unpowered else "GO"
    listen = [*dark, *(s for s in sorted(reach.services) if s not in dark)][:2]
    return answered(
        "if-cut",
        found,
        request,
        {
            "cut": [str(r) for r in cut],
            "verdict": verdict,
            "dark": [_service(found, d) for d in dark],
            "protected": guard,
            "unpowered": list(unpowered),
            "unknown": unknown,
            "call": sorted(set(guard.values()) - {""}),
            "listen": [_service(found, s) for s in listen],
            "not_known_alive": [n for n, fact in sorted(reach.services.items()) if fact not in before],
        },
        because=_proofs(reach, dark),
        assumed=reach.assumed,
        cautions=("nothing_cut", "local_trades"),
    )


def _must_stay(found: Site) -> set[str]:
    return {str(s.ref) for s in found.of_kind("service") if s.text("keep") == "yes" and s.stands}


def _proofs(reach: Reach, dark: Sequence[str]) -> tuple[str, ...]:
    from pullstring.reach.consequence import proof

    rules = [rule for name in dark if name in reach.services for rule in proof(reach.rules, reach.services[name])]
    return tuple(dict.fromkeys(e for rule in rules for e in rule.because))


def _names(found: Site) -> dict[str, str]:
    """What the services are called."""
    return {str(s.ref): s.text("name") for s in found.of_kind("service") if s.text("name")}


def _service(found: Site, name: str) -> dict[str, str]:
    from pullstring.model.refs import parse_ref

    thing = found.get(parse_ref(name))
    return {"service": name, "name": thing.text("name") if thing else "", "hours": thing.text("hours") if thing else ""}


def sheet(path: Path, request: Request) -> Answer:
    """The first page: what must not be touched, the ends, the runs."""
    found = load(path, request)
    judged = runs(path, request)
    cut = if_cut(path, Request(today=request.today, as_of=request.as_of, known_by=request.known_by))
    ends = [
        {
            "end": e.ref.tag,
            "cable": (e.ref_of("cable") or e.ref).tag,
            "found": e.text("found"),
            "label": e.text("label"),
        }
        for e in found.of_kind("end")
        if e.ref.tag in {r["end"] for r in judged.answer["runs"]}
    ]
    name = next((t.text("name") for t in found.of_kind("property")), "")
    return answered(
        "sheet",
        found,
        request,
        {
            "name": name,
            "do_not_touch": cut.answer["do_not_touch"],
            "single_points": cut.answer["single_points"],
            "names": cut.answer["names"],
            "ends": ends,
            "runs": judged.answer["runs"],
        },
        because=judged.because,
        problems=problems_of(found)[:5],
        assumed=judged.assumed,
        cautions=("nothing_cut", *CAUTIONS_WORK),
        ask=judged.ask,
    )

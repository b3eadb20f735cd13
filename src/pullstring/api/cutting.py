"""The verb `if-cut`: STOP, ASK or GO, whom to call, what goes dark, what to listen to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.api.tracing_odds import kept_by_odds
from pullstring.model.answers import Answer, Odds, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.reach.listen import Listen
    from pullstring.reach.odds import Weighed
    from pullstring.reach.rules import Reach


DRAWN = 20_000
"""Ways in which uncertain links may be, drawn when they are too many to count: enough that chance alone seldom makes an ASK."""


def if_cut(path: Path, request: Request, *, in_order: bool = False, without_mains_min: float | None = None) -> Answer:
    """STOP, ASK or GO for taking things away; an order in which they come out; or what ends when the mains are gone.

    Without tags: what must not be touched, each single point, and the loops of the network.
    """
    from pullstring.model.columns import kinds

    found = load(path, request)
    if without_mains_min is not None:
        return _without_mains(found, request, without_mains_min)
    if not request.tags:
        if in_order:
            raise BadRequest(["name what should come out: if-cut SITE TAGS --order"])
        return _untouchable(found, request)
    cut = asked_for(found, request.tags, list(kinds()))
    return _order(found, request, cut) if in_order else _verdict(found, request, cut)


def _untouchable(found: Site, request: Request) -> Answer:
    from pullstring.reach.consequence import single_points
    from pullstring.reach.guards import protected, unplaced
    from pullstring.reach.loops import loops
    from pullstring.reach.points import feeds
    from pullstring.reach.rules import build

    reach = build(found)
    points = single_points(reach.rules, reach.services, reach.keep)
    rings = loops(found)
    return answered(
        "if-cut",
        found,
        request,
        {
            "do_not_touch": protected(found),
            "single_points": {k: list(v) for k, v in points.items()},
            "names": _names(found),
            "unplaced": list(unplaced(found)),
            "power_paths": {name: [str(p) for p in feed.points] for name, feed in feeds(found).items()},
            "loops": [
                {
                    "units": [str(u) for u in ring.units],
                    "ports": [str(p) for p in ring.ports],
                    "pull": [str(r) for r in ring.pull],
                    "darkens": list(ring.darkens),
                    "sure": ring.sure,
                    "because": list(ring.because),
                }
                for ring in rings
            ],
        },
        because=tuple(dict.fromkeys(e for ring in rings for e in ring.because)),
        assumed=reach.assumed,
        cautions=("nothing_cut", "local_trades"),
    )


def _verdict(found: Site, request: Request, cut: Sequence[Ref]) -> Answer:
    from pullstring.reach.batteries import minutes_on_battery
    from pullstring.reach.consequence import goes_dark, live
    from pullstring.reach.guards import carried_away, guards_of, is_open_question
    from pullstring.reach.hanging import outlets_on
    from pullstring.reach.listen import listen
    from pullstring.reach.odds import never_go, uncertain_links, weighed
    from pullstring.reach.rules import build

    reach = build(found)
    gone = {str(r) for r in cut}
    dark = goes_dark(reach.rules, reach.services, gone)
    dark = tuple(dict.fromkeys((*dark, *carried_away(found, cut))))
    units = {str(u.ref): ("P", str(u.ref)) for u in found.of_kind("unit") if u.stands and u.ref not in cut}
    unpowered = goes_dark(reach.rules, units, gone)
    kept = [d for d in dark if d in reach.keep or d in must_stay(found)]
    guard = {name: why for ref in cut for name, why in guards_of(found, ref).items()}
    unknown = [str(ref) for ref in cut if is_open_question(found, ref)]
    links, rivals = uncertain_links(found)
    odds = weighed(reach.rules, reach.services, gone, links, seed=request.seed, exclusive=rivals, drawn=DRAWN)
    chancy = {name: chance for name, chance in never_go(odds, must_stay(found)).items() if name not in dark}
    resistor, by_odds = _resistors(found, cut), kept_by_odds(found, cut)
    ask = dark or unknown or unpowered or chancy or by_odds
    verdict = "STOP" if kept or guard or resistor else "ASK" if ask else "GO"
    beside, before = listen(found, cut), live(reach.rules)
    lost = [found.things[u.ref].ref for u in found.of_kind("unit") if str(u.ref) in unpowered]
    return answered(
        "if-cut",
        found,
        request,
        {
            "cut": [str(r) for r in cut],
            "verdict": verdict,
            "dark": [{**_service(found, d), "odds": _if_alive(odds, d)} for d in dark],
            "may_go_dark": [{**_service(found, name), "odds": chance} for name, chance in sorted(chancy.items())],
            "protected": guard,
            "unpowered": list(unpowered),
            "battery": {str(ref): minutes for ref, minutes in minutes_on_battery(found, lost).items()},
            "outlets": [str(o) for o in outlets_on(found, cut)],
            "unknown": unknown,
            "resistor": resistor,
            "by_odds": by_odds,
            "call": [{"company": c.company, "name": c.name, "hours": c.hours, "asked": c.asked} for c in beside.calls],
            "listen": {side: _heard(found, getattr(beside, side)) for side in ("stays", "goes")},
            "unplaced": list(beside.unplaced),
            "not_known_alive": [n for n, fact in sorted(reach.services.items()) if fact not in before],
        },
        because=_entries(found, reach, cut, dark, guard),
        assumed=reach.assumed,
        cautions=("nothing_cut", "local_trades"),
    )


def _entries(
    found: Site, reach: Reach, cut: Sequence[Ref], dark: Sequence[str], guard: Mapping[str, str]
) -> tuple[str, ...]:
    """What a verdict stands on: proofs of what goes dark, what is guarded, and the volts by which a wire counts as idle."""
    from pullstring.model.refs import parse_ref
    from pullstring.reach.guards import volts_of

    guarded = [e for name in guard if (thing := found.get(parse_ref(name))) for e in thing.entries]
    volts = [r.entry for ref in cut for r in volts_of(found, ref)]
    return tuple(dict.fromkeys((*_proofs(reach, dark), *guarded, *volts)))


def _resistors(found: Site, cut: Sequence[Ref]) -> list[str]:
    """Closet ends of runs over these things on which a resistor was read that nobody placed: it may be an alarm loop."""
    from pullstring.copper.judged import judged_runs
    from pullstring.copper.read import readings_of_run
    from pullstring.reach.guards import cable_of_ref, wires_on

    cables = {c for ref in cut for wire in wires_on(found, ref) if (c := cable_of_ref(found, wire))}
    runs = [j.run for j in judged_runs(found) if cables & set(j.run.cables)]
    return [str(run.start) for run in runs if any(said.stop for said in readings_of_run(found, run))]


def _if_alive(odds: Weighed, service: str) -> Odds | None:
    """The chance that a service goes dark, given that it is alive now; None where nothing is known of either."""
    alive, dark = odds.alive.get(service), odds.dark.get(service)
    if alive is None or dark is None or not alive.chance:
        return None
    return Odds(min(1.0, dark.chance / alive.chance), dark.assumed or alive.assumed)


def _heard(found: Site, one: Listen | None) -> dict[str, Any] | None:
    return {**_service(found, one.ref), "why": one.why.name.lower()} if one else None


def _order(found: Site, request: Request, cut: Sequence[Ref]) -> Answer:
    """Steps in which no kept service goes dark; what only a company may touch is no step."""
    from pullstring.reach.guards import guards_of, is_open_question
    from pullstring.reach.order import removal_plan
    from pullstring.reach.rules import build

    reach = build(found)
    guarded = {str(ref): sorted(set(why.values())) for ref in cut if (why := guards_of(found, ref))}
    free = [ref for ref in cut if str(ref) not in guarded]
    plan = removal_plan(reach.rules, reach.services, [str(r) for r in free], must_stay(found))
    loud = {str(ref) for ref in free if is_open_question(found, ref)}
    on_no_rule = [{"step": e, "dark": [], "alive": [], "meter": e in loud} for e in plan.unknown]
    steps = [
        {
            "step": step.element,
            "dark": [_service(found, s) for s in step.goes_dark],
            "alive": [_service(found, s) for s in step.check_alive],
            "meter": step.element in loud,
        }
        for step in plan.steps
    ]
    return answered(
        "if-cut",
        found,
        request,
        {
            "order": [*on_no_rule, *steps],
            "blocked": {e: [_service(found, s) for s in names] for e, names in plan.blocked.items()},
            "guarded": guarded,
            "largest_step": plan.largest_step,
            "at_least": plan.at_least,
        },
        assumed=reach.assumed,
        cautions=("nothing_cut", "local_trades"),
    )


def _without_mains(found: Site, request: Request, minutes: float) -> Answer:
    from pullstring.reach.batteries import promised_minutes
    from pullstring.reach.consequence import live
    from pullstring.reach.rules import build, build_without_mains

    now, then = build(found), build_without_mains(found, minutes=minutes)
    alive_now, alive_then = live(now.rules), live(then.rules)
    alive = {name: fact for name, fact in now.services.items() if fact in alive_now}
    return answered(
        "if-cut",
        found,
        request,
        {
            "without_mains_min": minutes,
            "dark": [_service(found, n) for n, fact in sorted(alive.items()) if fact not in alive_then],
            "alive": [_service(found, n) for n, fact in sorted(alive.items()) if fact in alive_then],
            "battery": {str(ref): holds for ref, holds in promised_minutes(found).items()},
        },
        assumed=(*then.assumed, "battery_minutes_as_noted"),
        cautions=("local_trades",),
    )


def must_stay(found: Site) -> set[str]:
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

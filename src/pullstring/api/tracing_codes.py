"""`trace --codes`, `--plugs` and `--two-trips`: what to put where for one walk, and what a reading would then mean.

`codes`: `clip` (each `outlet`, `room`, `room_name`, `floor`, `ohm`), `not` (`thing`, `why`), `volts` (what is metered for volts
first), `left` (outlets for which no value is left), `baseline` (ends to read before), `up_to`, `kept` (by `order`, so many on one
wire: `readings`, the smallest `gap` as a share of the smaller, `apart`: surely | likely | nearly | no), `nearest` (two readings),
`readings` (`ohm`: a range, `outlets`), `proved` (no set of the parts at hand is better).
`words`: `walks` (each a list of `end`, `pairs`), `alike` (groups of nets that read alike), `not`. `two_trips`: `wires`,
`possible`, `steps` (`says`, `cells`), `names` (by how many touch, the names to give there), `key`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.api.tracing import place_of
from pullstring.model.answers import Answer, Interval, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.trace.codes_resistors import Choice, Part, Shown

METER = 0.01
"""Ours, assumed: a hand meter reads ohms within so large a share."""
LEAST_OHM, LEAST_TOLERANCE, MOST_TOLERANCE = 100.0, 0.001, 0.5
"""Ours: a smaller part drowns in the loop of the line, none is more exact, and one that is off by half tells nothing."""
LINE_OHM = (0.0, 20.0)
"""Ours, assumed: loop of a house run, out and back."""
ASSUMED = ("trace_meter", "trace_line")


def trace_codes(path: Path, request: Request, *, up_to: int = 2) -> Answer:
    """Which resistor to clip on which outlet for one walk; outlets named, else all that are not settled yet."""
    site = load(path, request)
    named = asked_for(site, request.tags, ["outlet"]) if request.tags else None
    plan = codes_plan(site, named=named, up_to=up_to, today=request.today)
    return answered("trace", site, request, {"codes": plan}, assumed=ASSUMED, cautions=("volts_first", "local_trades"))


def codes_plan(site: Site, *, named: Sequence[Ref] | None, up_to: int, today: str) -> dict[str, Any]:
    """The plan as facts; raises BadRequest when no resistor is at hand."""
    parts = parts_at_hand(site, today=today)
    if not parts:
        raise BadRequest(
            [
                "no resistors are noted as at hand; note them in the table kit: style resistors, values 1.2k 2.2k 3.9k, "
                "tolerance_percent 1"
            ]
        )
    outlets, ends, refused = _may(site, named, today=today)
    outlets = _in_order(site, outlets, today=today)
    volts = _volts_first(site, (*outlets, *ends))
    chosen, left = _choice(parts, outlets, up_to)
    clip = [] if chosen is None else list(zip(outlets, chosen.values, strict=False))
    rows = [{"outlet": str(o), **place_of(site, o), "ohm": ohm} for o, ohm in clip]
    return {
        "clip": rows,
        "not": refused,
        "volts": [v for v in volts if v not in {str(o) for o in left}],
        "left": [str(o) for o in left],
        "baseline": [str(e) for e in ends],
        **_kept(chosen, {ohm: str(o) for o, ohm in clip}, up_to),
    }


def _in_order(site: Site, outlets: Sequence[Ref], *, today: str) -> list[Ref]:
    """Outlets in the order of a short walk that begins in the closet; those that are not traced last."""
    from pullstring.api.tracing_planned import planned
    from pullstring.trace.tours import walk

    found = planned(site, today=today)
    known = found.done.traced.outlets
    path = walk(found.travel_s, len(known), [known.index(o) for o in outlets if o in known])
    return [*(known[n] for n in path), *(o for o in outlets if o not in known)]


def _volts_first(site: Site, refs: Sequence[Ref]) -> list[str]:
    """What lacks only the reading of its volts."""
    from pullstring.trace.guarded import may_touch, only_volts

    return [str(ref) for ref in refs if only_volts(may_touch(site, ref))]


def parts_at_hand(site: Site, *, today: str) -> list[Part]:
    """The resistors noted in the kit."""
    from pullstring.trace.codes_resistors import Part
    from pullstring.trace.kit_at_hand import kit_at_hand

    kit = kit_at_hand(site, today=today)
    return [
        Part(ohm=r.ohm, tolerance=max(r.tolerance, LEAST_TOLERANCE), count=r.count)
        for r in kit.resistors
        if r.ohm >= LEAST_OHM and r.tolerance < MOST_TOLERANCE
    ]


def _may(site: Site, named: Sequence[Ref] | None, *, today: str) -> tuple[list[Ref], list[Ref], list[dict[str, Any]]]:
    """Outlets that take a resistor now, ends that may be metered for ohms, and what may not, with the reasons."""
    from pullstring.api.tracing_planned import planned
    from pullstring.api.tracing_worked import worked
    from pullstring.trace.guarded import may_touch, only_volts
    from pullstring.trace.standing import State

    done = worked(site)
    settled = {done.traced.outlets[s.outlet] for s in done.stands if s.state in (State.SURE, State.NO_CABLE)}
    wanted = list(named) if named is not None else [o for o in done.traced.outlets if o not in settled]
    reasons = {ref: may_touch(site, ref) for ref in (*wanted, *done.traced.ends)}
    refused = {ref: [str(w) for w in why] for ref, why in reasons.items() if why and not only_volts(why)}
    ground = planned(site, today=today).ground
    for number, why_not in ground.blocked.items():
        if (outlet := done.traced.outlets[number]) in wanted and why_not != "untouchable":
            refused.setdefault(outlet, [why_not])
    for number in sorted(ground.untouchable):
        refused.setdefault(done.traced.ends[number], ["in use"])
    told = [{"thing": str(ref), "why": why} for ref, why in refused.items()]
    return [o for o in wanted if o not in refused], [e for e in done.traced.ends if e not in refused], told


def _choice(parts: Sequence[Part], outlets: Sequence[Ref], up_to: int) -> tuple[Choice | None, list[Ref]]:
    """The values for as many outlets as there are values, and the outlets that must wait."""
    from pullstring.trace.codes_resistors import BadParts, Errors, choose

    different = len({p.ohm for p in parts if p.count > 0})
    now = min(len(outlets), different)
    if not now:
        return None, list(outlets)
    try:
        errors = Errors(meter=METER, line_ohm=LINE_OHM)
        return choose(parts=parts, wanted=now, up_to=up_to, errors=errors), list(outlets[now:])
    except BadParts as error:
        raise BadRequest(error.faults) from error


def _kept(choice: Choice | None, outlet_of: Mapping[float, str], up_to: int) -> dict[str, Any]:
    """How far the chosen values are told apart, and what each reading would mean."""
    from pullstring.trace.codes_resistors import Errors, shown_by

    if choice is None:
        return {"up_to": up_to, "kept": [], "nearest": [], "readings": [], "proved": False}
    reached = max((k.order for k in choice.kept if k.apart != "no" and k.order <= up_to), default=1)
    bands = shown_by(parts=choice.parts, up_to=reached, errors=Errors(meter=METER, line_ohm=LINE_OHM))
    kept = [
        {"order": k.order, "readings": k.readings, "gap": k.gap if k.nearest else None, "apart": k.apart}
        for k in choice.kept
        if k.order <= len(choice.parts)
    ]
    return {
        "up_to": up_to,
        "kept": kept,
        "nearest": [_shown(s, outlet_of) for s in choice.wanted.nearest or ()],
        "readings": [_shown(s, outlet_of) for s in bands],
        "proved": choice.proved,
    }


def _shown(shown: Shown, outlet_of: Mapping[float, str]) -> dict[str, Any]:
    return {
        "ohm": Interval(shown.low_ohm, shown.high_ohm, "ohm", ("part", "meter", "line")),
        "outlets": [outlet_of[v] for v in shown.values],
    }


def trace_words(path: Path, request: Request, *, pairs: int) -> Answer:
    """Which pairs to short on which end, so that one walk with a tester tells which end is at each outlet."""
    from pullstring.api.tracing_worked import worked
    from pullstring.trace.assumed import assumed_prior
    from pullstring.trace.codes_words import words_for
    from pullstring.trace.guarded import may_touch, only_volts

    site = load(path, request)
    done = worked(site)
    reasons = {e: may_touch(site, e) for e in done.traced.ends}
    refused = {e: [str(w) for w in why] for e, why in reasons.items() if why and not only_volts(why)}
    told = [{"thing": str(e), "why": why} for e, why in refused.items()]
    named = asked_for(site, request.tags, ["end"]) if request.tags else done.traced.ends
    free = [n for n, e in enumerate(done.traced.ends) if e not in refused and e in named]
    plan = words_for(free, pairs=pairs, levels=2, prior=assumed_prior(), blocks=done.traced.scene.blocks)
    walks = [
        [
            {"end": str(done.traced.ends[e]), "pairs": [k + 1 for k, d in enumerate(word) if d]}
            for e, word in walk.items()
        ]
        for walk in plan.walks
    ]
    alike = [[[str(done.traced.ends[e]) for e in sorted(net)] for net in group] for group in plan.alike]
    words = {"pairs": pairs, "walks": walks, "alike": alike, "not": told}
    return answered(
        "trace", site, request, {"words": words}, assumed=("trace_prior",), cautions=("volts_first", "local_trades")
    )


def trace_two_trips(path: Path, request: Request, *, wires: int) -> Answer:
    """How to tell the wires of one cable apart in two trips with a continuity tester alone."""
    from pullstring.papers.sentences_trace import TWO_TRIPS
    from pullstring.trace.two_trips import TooFew, by_remembering, two_trips

    if request.tags:
        raise BadRequest(
            [f"--two-trips is about {wires} wires of one cable, whichever; leave out {' '.join(request.tags)}"]
        )
    site = load(path, request)
    plan = two_trips(wires=wires)
    told: dict[str, Any]
    if plan is not None:
        steps = [{"says": TWO_TRIPS["here"], "cells": plan.first}, {"says": TWO_TRIPS["there"], "cells": plan.second}]
        names = [[touched, list(given)] for touched, given in sorted(plan.names.items())]
        told = {"steps": steps, "names": names, "key": sorted(plan.key.items())}
    else:
        try:
            chain = by_remembering(wires=wires)
        except TooFew as error:
            raise BadRequest([str(error)]) from error
        steps = [
            {"says": TWO_TRIPS["pairs"], "cells": chain.first},
            {"says": TWO_TRIPS["chain"], "cells": chain.second},
        ]
        told = {"steps": steps, "names": [], "key": []}
    answer = {"two_trips": {"wires": wires, "possible": plan is not None, **told}}
    return answered("trace", site, request, answer, cautions=("volts_first", "local_trades"))

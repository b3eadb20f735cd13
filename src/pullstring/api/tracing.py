"""The verb `trace`: where every outlet and end belongs, how sure, and why.

Answers, all with ends and outlets as `kind:TAG` and chances as odds:

`trace`: `outlets` (`outlet`, `room`, `room_name`, `floor`, `state`: sure | no cable | likely | tie | open, `goes`: rivals,
likeliest first, each `ends` and `odds`, `tie`, `with`: other outlets on the same ends, `stands`, `because`), `ends` (`end`,
`label`, `stands`: each `what`, `about`, `length`, `says`, `odds`; `odds`, `because`), `left_out` (`thing`, `why`),
`proposed` (`subject`, `relation`, `object`, `grade`, `how`, `odds`, `because`), `repeat` (`said`: an entry, `why`, `odds`),
`doubts` (`source`, `what`, `odds`, `because`), `unsure` (`thing`, `why`), `next` (`act` or null, `stop`), `counts`,
`evidence` (`log_evidence`, `how`).

`trace --why`: `about`, `goes`, `tie`, `for`, `against` (each `said`: entries, `weight`: natural log, `of`: ends or outlets),
`others` (what the rest of the house adds), `rests_on` (outlets that hold its rivals).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import CAUTIONS_WORK, answered, asked_for, load
from pullstring.api.tracing_entries import said_by
from pullstring.api.tracing_stands import end_rows, left_out, outlet_stands, unsure
from pullstring.model.answers import Answer, Odds, Request
from pullstring.trace.readings import Leaning

if TYPE_CHECKING:
    from pullstring.api.tracing_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.trace.explain import Reason

KINDS = ("outlet", "end")
"""What can be named to this verb."""
ASSUMED = ("trace_constants", "trace_prior")


def trace(path: Path, request: Request) -> Answer:
    """Odds for every outlet and end, or for those that are named; what could be accepted; what to read again; the next act."""
    from pullstring.api.tracing_next import next_in_short
    from pullstring.api.tracing_worked import worked

    site = load(path, request)
    named = asked_for(site, request.tags, KINDS) if request.tags else None
    done = worked(site)
    outlets = [row for row in _outlets(site, done) if named is None or _touches(row, named)]
    ends = [row for row in end_rows(site, done) if named is None or _end_touches(row, named, outlets)]
    shown = {row["outlet"] for row in outlets} | {row["end"] for row in ends}
    answer = {
        "outlets": outlets,
        "ends": ends,
        "left_out": left_out(done, named),
        "proposed": [p for p in proposed(site, done) if named is None or p["subject"] in shown or p["object"] in shown],
        "repeat": _repeat(site, done),
        "doubts": [_doubt(done, d) for d in done.doubts],
        "unsure": [u for u in unsure(done) if named is None or u["thing"] in shown],
        "next": next_in_short(site, request),
        "counts": _counts(done),
        "evidence": {"log_evidence": done.odds.log_evidence, "how": done.odds.how},
    }
    return answered(
        "trace",
        site,
        request,
        answer,
        because=tuple(dict.fromkeys(e for row in (*outlets, *ends) for e in row["because"])),
        assumed=(*ASSUMED, *done.traced.assumed),
        cautions=CAUTIONS_WORK,
    )


def trace_why(path: Path, request: Request, *, why: str) -> Answer:
    """The entries for and against where an outlet or an end belongs, by weight."""
    from pullstring.api.tracing_worked import worked

    site = load(path, request)
    ref = asked_for(site, [why], KINDS)[0]
    done = worked(site)
    answer = _why_outlet(site, done, ref) if ref.kind == "outlet" else _why_end(site, done, ref)
    because = [s["entry"] for side in ("for", "against") for w in answer[side] for s in w["said"]]
    return answered(
        "trace",
        site,
        request,
        answer,
        because=tuple(dict.fromkeys(because)),
        assumed=(*ASSUMED, *done.traced.assumed),
    )


def proposed(site: Site, done: Worked) -> list[dict[str, Any]]:
    """What is sure enough and better known than the record says, surest way of knowing first."""
    from pullstring.model.grades import grade

    rows = []
    for one in done.proposed:
        end, outlet = done.traced.ends[one.end], done.traced.outlets[one.outlet]
        known = [c.support for c in site.about(subject=end, relation="goes_to", object=outlet) if c.status == "holds"]
        if any(grade(k).rank >= grade(one.grade).rank for k in known if k):
            continue
        rows.append(
            {
                "subject": str(end),
                "relation": "goes_to",
                "object": str(outlet),
                "grade": one.grade,
                "how": one.how,
                "odds": Odds(min(1.0, one.chance)),
                "because": list(one.because),
            }
        )
    return sorted(rows, key=lambda r: -grade(r["grade"]).rank)


def _outlets(site: Site, done: Worked) -> list[dict[str, Any]]:
    from pullstring.trace.standing import shared_with

    shared = shared_with(done.stands)
    rows = []
    for one in done.stands:
        ref = done.traced.outlets[one.outlet]
        rows.append(
            {
                "outlet": str(ref),
                **place_of(site, ref),
                "state": one.state,
                "goes": [{"ends": ends_of(done, net), "odds": Odds(min(1.0, chance))} for net, chance in one.nets],
                "tie": [ends_of(done, net) for net in one.tied],
                "with": [str(done.traced.outlets[o]) for o in shared[one.outlet]],
                "stands": outlet_stands(done, one.outlet),
                "because": list(_entries(done, one.outlet)),
            }
        )
    return rows


def place_of(site: Site, ref: Ref) -> dict[str, str]:
    """The room of a thing with its name, and its floor; empty where nobody noted it."""
    thing = site.get(ref)
    room = site.get(thing.ref_of("room")) if thing else None
    floor = room.ref_of("floor") if room else None
    return {
        "room": str(room.ref) if room else "",
        "room_name": room.text("name") if room else "",
        "floor": floor.tag if floor else "",
    }


def ends_of(done: Worked, net: Iterable[int]) -> list[str]:
    """The ends of a net by name, in their order."""
    return [str(done.traced.ends[e]) for e in sorted(net)]


def _entries(done: Worked, outlet: int) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e for r in done.reasons[outlet].reasons for e in r.reading.because))


def _counts(done: Worked) -> dict[str, int]:
    from pullstring.trace.standing import State

    states = [one.state for one in done.stands]
    counts = {str(state): states.count(state) for state in State}
    return {"outlets": len(done.traced.outlets), "ends": len(done.traced.ends), **counts}


def _repeat(site: Site, done: Worked) -> list[dict[str, Any]]:
    rows = []
    for one in done.repeat:
        if isinstance(one.reading, Leaning) and not one.reading.key.startswith(SAID):
            continue
        for said in _own_entries(one.reading, said_by(site, one.reading.because)):
            rows.append({"said": said, "why": "contradiction", "odds": Odds(min(1.0, one.chance))})
    return rows


SAID = ("said ", "denied ", "label ")
"""What somebody said can be asked again; how a jacket looks or how long a wire is cannot."""


def _own_entries(reading: Any, said: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Of a reading over several outlets the entry of what was read, not those of what was placed."""
    if isinstance(reading, Leaning):
        return said
    return [s for s in said if s["kind"] == "reading" and not s["what"].endswith("placed")] or said[:1]


def _of_outlet(said: list[dict[str, Any]], outlet: str) -> list[dict[str, Any]]:
    """Of all that was placed for a reading only what sat on this outlet."""
    return [s for s in said if not s["what"].endswith("placed") or s["subject"] == outlet] or said


def _doubt(done: Worked, doubt: Any) -> dict[str, Any]:
    because = tuple(dict.fromkeys(e for r in doubt.readings for e in r.because))
    return {"source": doubt.source, "what": doubt.what, "odds": Odds(min(1.0, doubt.chance)), "because": list(because)}


def _touches(row: dict[str, Any], named: Sequence[Ref]) -> bool:
    ends = {e for g in row["goes"] if g["odds"].chance >= NEAR for e in g["ends"]}
    return any(str(r) == row["outlet"] or str(r) in ends for r in named)


def _end_touches(row: dict[str, Any], named: Sequence[Ref], outlets: Sequence[dict[str, Any]]) -> bool:
    near = {e for o in outlets for g in o["goes"][:1] for e in g["ends"]}
    return any(str(r) == row["end"] for r in named) or row["end"] in near


NEAR = 0.05
"""Ours: who asks of an end is told of outlets that are on it with this chance. [share]"""
RIVAL = 0.01
"""Ours: an end is told beside an outlet from this chance on. [share]"""


def _why_outlet(site: Site, done: Worked, ref: Ref) -> dict[str, Any]:
    if ref not in done.traced.outlets:
        return _blank_why(ref)
    number = done.traced.outlets.index(ref)
    one, told = done.stands[number], done.reasons[number]
    weighed = _weighed(site, told.reasons, ref, ends_of(done, told.net))
    return {
        **_blank_why(ref),
        "goes": [{"ends": ends_of(done, net), "odds": Odds(min(1.0, chance))} for net, chance in one.nets],
        "tie": [ends_of(done, net) for net in one.tied],
        "for": [w for w in weighed if w["weight"] > 0],
        "against": [w for w in weighed if w["weight"] < 0],
        "others": told.others,
        "rests_on": [str(done.traced.outlets[o]) for o in told.rests_on],
    }


def _weighed(site: Site, reasons: Iterable[Reason], outlet: Ref, of: list[str]) -> list[dict[str, Any]]:
    """Reasons by weight with what their entries say; what one entry says in two ways, as a tone that a short stopped, is one."""
    weights: dict[tuple[str, ...], float] = {}
    for one in reasons:
        if because := one.reading.because:
            weights[because] = weights.get(because, 0.0) + one.weight
    ranked = sorted(weights.items(), key=lambda pair: -abs(pair[1]))
    return [{"said": _of_outlet(said_by(site, b), str(outlet)), "weight": weight, "of": of} for b, weight in ranked]


def _blank_why(ref: Ref) -> dict[str, Any]:
    return {"about": str(ref), "goes": [], "tie": [], "for": [], "against": [], "others": 0.0, "rests_on": []}


def _why_end(site: Site, done: Worked, ref: Ref) -> dict[str, Any]:
    """Of an end: the outlets that may be on it, and of each what speaks for or against that."""
    from pullstring.trace.explain import reasons_of

    if ref not in done.traced.ends:
        return _blank_why(ref)
    number = done.traced.ends.index(ref)
    goes: list[dict[str, Any]] = []
    weighed: list[dict[str, Any]] = []
    for outlet, nets in enumerate(done.odds.nets):
        net = max((n for n in nets if number in n), key=lambda n: nets[n], default=frozenset[int]())
        chance = sum(c for n, c in nets.items() if number in n)
        if chance < RIVAL:
            continue
        goes.append({"outlet": str(done.traced.outlets[outlet]), "odds": Odds(min(1.0, chance))})
        told = reasons_of(done.table, done.odds, outlet, net=net)
        weighed += _weighed(site, told.reasons, done.traced.outlets[outlet], [str(done.traced.outlets[outlet])])
    weighed.sort(key=lambda w: -abs(w["weight"]))
    return {
        **_blank_why(ref),
        "goes": sorted(goes, key=lambda g: -g["odds"].chance),
        "for": [w for w in weighed if w["weight"] > 0],
        "against": [w for w in weighed if w["weight"] < 0],
    }

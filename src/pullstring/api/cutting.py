"""The verb `if-cut`: STOP, ASK or GO, whom to call, what goes dark, what to listen to."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pullstring.api.request import answered, asked_for, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.reach.rules import Reach


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
    kept = [d for d in dark if d in reach.keep or d in must_stay(found)]
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

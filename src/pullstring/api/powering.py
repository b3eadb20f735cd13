"""The verb `power`: what each port gives and reaches, budgets, batteries, heat, the port card; and a change before it is made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load, problems_of
from pullstring.model.answers import Answer, Ask, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.power.budget import Budget
    from pullstring.power.changes import Change
    from pullstring.power.ports import JudgedPort
    from pullstring.power.reachable import Reached

ASSUMED = ("supply_24_nominal", "temperature_10_30", "unknown_length_0_90", "cords_by_their_length")
CAUTIONS = ("never_patch_always_on", "power_off_first")


def power(path: Path, request: Request) -> Answer:
    """Port by port: what it gives, all that it reaches, volts and watts; then budgets, batteries, heat and the port card."""
    from pullstring.power.backup import backups
    from pullstring.power.budget import budgets
    from pullstring.power.card import supply
    from pullstring.power.heat import closet_heats
    from pullstring.power.ports import judged_ports

    found = load(path, request)
    judged = judged_ports(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("port", "unit"))
        judged = tuple(j for j in judged if j.port in wanted or any(w.tag == j.port.parent_tag for w in wanted))
    asked = {j.port.parent_tag for j in judged}
    budget = budgets(found, judged)
    counts = supply(found, planned=True)
    return answered(
        "power",
        found,
        request,
        {
            "ports": [_port(found, j) for j in judged],
            "budgets": budget,
            "batteries": [] if request.tags else backups(found),
            "heat": [] if request.tags else closet_heats(found),
            "card": _cards(found, asked),
            "supply": {
                "standard_ports": counts.standard_ports,
                "always_on_ports": counts.always_on_ports,
                "standard_loads": counts.standard_loads,
                "always_on_loads": counts.always_on_loads,
                "unfed": [str(u) for u in counts.unfed],
                "free": [str(p) for p in counts.free],
            },
        },
        because=tuple(dict.fromkeys(e for j in judged for e in j.because)),
        problems=problems_of(found)[:5],
        assumed=ASSUMED,
        cautions=CAUTIONS,
        ask=_ask(budget),
    )


def _ask(budget: Sequence[Budget]) -> Ask | None:
    """Whether a unit keeps power back by class or counts what is drawn, where that decides who starts."""
    for one in budget:
        starts = [[step.starts for step in order.steps] for order in one.orders]
        if not one.reserves and len(starts) > 1 and starts[0] != starts[1]:
            return Ask(f"unit:{one.unit}", "reserves_or_counts", "by class other units start than by draw")
    return None


def _port(found: Site, judged: JudgedPort) -> dict[str, Any]:
    match, verdict = judged.match, judged.verdict
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
        "codes": match.because if match else (),
        "verdict": {"works": verdict.works, "code": verdict.code, "codes": verdict.because} if verdict else None,
        "hazard": bool(verdict and verdict.hazard) or bool(match and match.hazard),
        "reached": [_reached(one) for one in judged.reach.everything],
        "shorts": [list(pins) for pins in sorted(judged.reach.shorts)],
        "pairs": _pairs(found, judged),
        "because": list(judged.because),
    }


def _reached(one: Reached) -> dict[str, Any]:
    return {
        "what": one.what,
        "thing": str(one.ref),
        "at": str(one.at),
        "pairs": {pair: there for pair, there in one.lands.items() if there},
        "grade": one.grade,
        "maybe": one.maybe,
    }


def _pairs(found: Site, judged: JudgedPort) -> list[dict[str, Any]]:
    """Wires of the pairs in use that are worse than their partner, as far as single wires were read."""
    if judged.run is None:
        return []
    return [
        {"pair": wires.pair, "codes": [wires.said.cause] if wires.said.cause else [], "because": list(wires.because)}
        for wires in judged.run.said.wires
    ]


def _cards(found: Site, asked: Iterable[str | None]) -> list[dict[str, Any]]:
    from pullstring.power.card import cards

    wanted = set(asked)
    return [
        {
            "unit": card.unit.tag,
            "ports": [
                {
                    "port": port.port.tag,
                    "gives": port.gives,
                    "saved": port.saved,
                    "for_unit": port.for_unit.tag if port.for_unit else None,
                    "devices": [d.tag for d in port.devices],
                    "open_jacks": [j.tag for j in port.open_jacks],
                    "works": port.verdict.works if port.verdict else None,
                    "code": port.verdict.code if port.verdict else None,
                    "hazard": bool(port.verdict and port.verdict.hazard),
                    "may": list(port.may),
                    "never": list(port.never),
                }
                for port in card.ports
            ],
        }
        for card in cards(found)
        if card.unit.tag in wanted
    ]


def power_change(
    path: Path, request: Request, *, gives: str | None = None, to_port: str | None = None, model: str | None = None
) -> Answer:
    """STOP, ASK or GO for a mode that is to be set, a plug that is to be moved, or a unit that is to be swapped."""
    from pullstring.power.changes import check_mode, check_move, check_swap

    found = load(path, request)
    if len(request.tags) != 1 or sum(x is not None for x in (gives, to_port, model)) != 1:
        raise BadRequest(
            ["name one port with --set MODE, one plug with --move-to PORT, or one unit with --swap-for MODEL"]
        )
    if gives is not None:
        subject = asked_for(found, request.tags, ("port",))[0]
        change = check_mode(found, port=subject, gives=_mode(gives))
    elif to_port is not None:
        subject = asked_for(found, request.tags, ("end", "port"))[0]
        change = check_move(found, plug=subject, to_port=asked_for(found, [to_port], ("port",))[0])
    else:
        subject = asked_for(found, request.tags, ("unit",))[0]
        change = check_swap(found, unit=subject, model=asked_for(found, [model or ""], ("model",))[0])
    return _changed(found, request, subject, change, {"gives": gives, "to": to_port, "model": model})


def _mode(text: str) -> str:
    from pullstring.power.card import MAY

    known = {name.casefold(): name for name in MAY}
    if text.casefold() not in known:
        raise BadRequest([f"{text!r} is no mode; the modes are {', '.join(known.values())}"])
    return known[text.casefold()]


def _changed(found: Site, request: Request, subject: Ref, change: Change, wanted: dict[str, Any]) -> Answer:
    from pullstring.api.cutting import must_stay
    from pullstring.reach.consequence import live
    from pullstring.reach.guards import guards_of
    from pullstring.reach.rules import build

    now, then = build(found), build(change.supposed)
    alive_now, alive_then = live(now.rules), live(then.rules)
    dark = [n for n, fact in sorted(now.services.items()) if fact in alive_now and fact not in alive_then]
    guard = guards_of(found, subject)
    stops = guard or set(dark) & must_stay(found)
    verdict = "STOP" if stops else "ASK" if dark and change.verdict == "GO" else str(change.verdict)
    return answered(
        "power",
        found,
        request,
        {
            "change": {"of": str(subject), **{k: v for k, v in wanted.items() if v is not None}},
            "verdict": verdict,
            "why": change.why,
            "protected": guard,
            "dark": [{"service": n, "name": t.text("name") if (t := _thing(found, n)) else ""} for n in dark],
            "loses": [str(u) for u in change.loses],
            "put_back": [{"port": b.port.tag, "gives": b.gives, "saved": b.saved} for b in change.put_back],
            "now": [_port(found, j) for j in change.now],
            "then": [_port(change.supposed, j) for j in change.then],
        },
        because=change.because,
        assumed=ASSUMED,
        cautions=CAUTIONS,
    )


def _thing(found: Site, name: str) -> Any:
    from pullstring.model.refs import parse_ref

    return found.get(parse_ref(name))

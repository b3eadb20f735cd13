"""Before anything is taken away: STOP, ASK or GO; an order; what ends with the mains; what must not be touched at all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer, Odds
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.phrases import thing
from pullstring.papers.sentences_cut import LISTEN_WHY
from pullstring.papers.sentences_trace import BY_ODDS
from pullstring.papers.words_trace_said import chance

Facts = Mapping[str, Any]
PARTS = ("end", "pair", "jack", "row", "port")
"""What is a part of something else; where the whole is told with the same services, the part is left out."""


def if_cut(answer: Answer) -> tuple[str, list[Block]]:
    """The page of whichever question was asked."""
    said = answer.answer
    if "verdict" in said:
        cut = ", ".join(thing(c) for c in said["cut"])
        return f"If {cut} is taken away", _verdict(said, cut)
    if "order" in said:
        return f"An order in which things come out at {answer.site}", _order(said)
    if "without_mains_min" in said:
        return f"When the mains have been gone for {said['without_mains_min']:g} min at {answer.site}", _dead_mains(
            said
        )
    return f"What must not be touched at {answer.site}", untouchable(said)


def _verdict(said: Facts, cut: str) -> list[Block]:
    blocks: list[Block] = [Heading(f"{said['verdict']}: {cut}")]
    if said["protected"]:
        only = "; ".join(f"{thing(k)}, only {v}" for k, v in said["protected"].items())
        blocks.append(Para(f"Protected: {only}."))
    if said["call"]:
        blocks.append(Para("Call first: " + "; ".join(_call(c) for c in said["call"]) + "."))
    dark = "; ".join(_with_odds(s) for s in said["dark"]) or "nothing that is recorded"
    blocks.append(Para(f"Goes dark: {dark}."))
    if said["may_go_dark"]:
        may = "; ".join(_with_odds(s) for s in said["may_go_dark"])
        blocks.append(Para(f"May go dark, for it is not sure what hangs on what: {may}."))
    if said["unpowered"]:
        blocks.append(Para("Loses its power: " + ", ".join(thing(u) for u in said["unpowered"]) + "."))
    if said["battery"]:
        held = ", ".join(f"{thing(u)} {int(minutes)} min" for u, minutes in said["battery"].items())
        blocks.append(Para(f"Holds on its battery at first: {held}."))
    if said["outlets"]:
        blocks.append(Para("Its wire leads to: " + ", ".join(thing(o) for o in said["outlets"]) + "."))
    if said["unknown"]:
        blocks.append(
            Para(
                "Not known to be idle: "
                + ", ".join(thing(u) for u in said["unknown"])
                + ". Silent is not idle; meter volts DC and AC first."
            )
        )
    if said["resistor"]:
        ends = ", ".join(thing(e) for e in said["resistor"])
        blocks.append(
            Para(f"A resistor that nobody placed was read on {ends}: it may be an alarm loop. Ask its company first.")
        )
    blocks += [Para(by_odds(one)) for one in said["by_odds"]]
    blocks += _listen(said["listen"])
    if said["unplaced"]:
        blocks.append(
            Para(
                "Nobody noted on which wire these are, so they may be on this one: "
                + ", ".join(thing(s) for s in said["unplaced"])
                + "."
            )
        )
    if said["not_known_alive"]:
        blocks.append(
            Para(
                "Not known how these live, so nothing is promised for them: "
                + ", ".join(thing(s) for s in said["not_known_alive"])
                + "."
            )
        )
    return blocks


def by_odds(row: Facts) -> str:
    """An end that was traced by odds only and may lead to something that must stay, with the test that settles it."""
    lead = row["leads"][0]
    keeps = lead["name"] or thing(lead["keeps"])
    words = BY_ODDS.format(end=thing(row["end"]), chance=chance(row["odds"]), outlet=thing(lead["outlet"]), keeps=keeps)
    return words[:1].upper() + words[1:]


def _listen(sides: Facts) -> list[Block]:
    told = []
    if sides["stays"]:
        why = sentence(LISTEN_WHY, sides["stays"]["why"])
        told.append(("must stay alive", _service(sides["stays"]), why))
    if sides["goes"]:
        told.append(("should go dark", _service(sides["goes"]), sentence(LISTEN_WHY, sides["goes"]["why"])))
    if not told:
        return [Para("There is no service to listen to; ask the caretaker to tell at once whatever falls silent.")]
    return [Heading("Listen to these two", 2), Table(("what", "which", "why this one"), tuple(told), "lll")]


def _call(call: Facts) -> str:
    hours = f", answers {call['hours']}" if call["hours"] else ""
    asked = ", said yes already" if call["asked"] else ""
    return f"{call['name'] or call['company']}{hours}{asked}"


def _with_odds(service: Facts) -> str:
    odds = service.get("odds")
    if not odds or odds["chance"] >= 1 or odds["chance"] <= 0:
        return _service(service)
    return f"{_service(service)}, {figures.odds(Odds(odds['chance'], odds['assumed']))}"


def _service(service: Facts) -> str:
    name = service["name"] or thing(service["service"])
    return f"{name} ({service['hours']})" if service["hours"] else name


def _names(services: Sequence[Facts]) -> str:
    return "; ".join(_service(s) for s in services) or "–"


def _order(said: Facts) -> list[Block]:
    steps = tuple(
        (str(n), thing(s["step"]), "meter volts first" if s["meter"] else "–", _names(s["dark"]), _names(s["alive"]))
        for n, s in enumerate(said["order"], 1)
    )
    blocks: list[Block] = (
        [Table(("step", "take out", "before", "goes dark", "must still live: listen"), steps, "rllll")]
        if steps
        else [Para("Nothing of it can come out.")]
    )
    if said["guarded"]:
        only = tuple((thing(ref), "only " + ", ".join(who)) for ref, who in said["guarded"].items())
        blocks += [Heading("Not yours to take out"), Table(("what", "who"), only)]
    if said["blocked"]:
        held = tuple((thing(ref), _names(names)) for ref, names in said["blocked"].items())
        blocks += [Heading("Cannot come out: a service that must stay hangs on it"), Table(("what", "service"), held)]
    if steps:
        best = "no order has less" if said["largest_step"] == said["at_least"] else "an order with less may exist"
        blocks.append(
            Para(
                f"At most {said['largest_step']} go dark at one step; {best}. Stop when one that must live falls silent."
            )
        )
    return blocks


def _dead_mains(said: Facts) -> list[Block]:
    rows = [("dark", _service(s)) for s in said["dark"]] + [("still alive", _service(s)) for s in said["alive"]]
    blocks: list[Block] = (
        [Table(("then", "service"), tuple(rows))]
        if rows
        else [Para("No service is known to be alive even with the mains.")]
    )
    held = ", ".join(f"{thing(u)} {int(minutes)} min" for u, minutes in said["battery"].items())
    blocks.append(Para(f"Minutes that batteries surely hold: {held or 'none that is known'}."))
    return blocks


def untouchable(said: Facts) -> list[Block]:
    """What only others may touch, what alone ends a service, and rings of the network."""
    blocks: list[Block] = [Heading("Do not touch")]
    rows = _grouped((who, thing(ref)) for ref, who in said["do_not_touch"].items())
    blocks.append(Table(("only", "what"), rows) if rows else Para("Nothing is noted as protected."))
    if said.get("unplaced"):
        kept = ", ".join(said["names"].get(s, thing(s)) for s in said["unplaced"])
        blocks.append(Para(f"Must stay, but nobody noted on which wire: {kept}. Find them before anything is moved."))
    names = said["names"]
    points = _grouped(
        (", ".join(names.get(s, thing(s)) for s in dark), thing(ref))
        for ref, dark in without_parts(said["single_points"]).items()
    )
    if points:
        blocks += [
            Heading("Each of these alone ends a service that must stay"),
            Table(("goes dark", "when any of these is taken away"), points),
        ]
    rings = tuple((_ring(r), _pull(r, names), "sure" if r["sure"] else "possible") for r in said.get("loops", ()))
    if rings:
        blocks += [Heading("Rings of the network"), Table(("ring", "pull this one plug", "how sure"), rings)]
    return blocks


def without_parts(points: Mapping[str, Sequence[str]]) -> dict[str, Sequence[str]]:
    """Single points without the ends, pairs and ports of what ends the same services anyway."""
    wholes = {(tag.casefold(), tuple(dark)) for kind, tag, dark in _split(points) if kind not in PARTS}
    by_cable = {tuple(dark) for kind, _, dark in _split(points) if kind == "cable"}
    left = {}
    for (kind, tag, dark), ref in zip(_split(points), points, strict=True):
        head = tag.casefold().rpartition(".")[0]
        told = tuple(dark) in by_cable if kind == "end" else (head, tuple(dark)) in wholes
        if kind not in PARTS or not told:
            left[ref] = dark
    return left


def _split(points: Mapping[str, Sequence[str]]) -> list[tuple[str, str, Sequence[str]]]:
    return [(ref.partition(":")[0], ref.partition(":")[2], dark) for ref, dark in points.items()]


def _ring(ring: Facts) -> str:
    return " – ".join(thing(u).removeprefix("unit ") for u in (*ring["units"], ring["units"][0]))


def _pull(ring: Facts, names: Mapping[str, str]) -> str:
    one, other = (thing(r) for r in ring["pull"])
    costs = ", ".join(names.get(s, thing(s)) for s in ring["darkens"])
    return f"{one} from {other}" + (f"; ends {costs}" if costs else "")


def _grouped(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Pairs by their first word, the second words of one kind told once: `cable C1, C2; unit D1`."""
    groups: dict[str, dict[str, list[str]]] = {}
    for first, second in pairs:
        kind, _, tag = second.rpartition(" ")
        groups.setdefault(first, {}).setdefault(kind, []).append(tag)
    return tuple(
        (first, "; ".join(f"{kind} {', '.join(tags)}" for kind, tags in kinds.items()))
        for first, kinds in groups.items()
    )

"""Codes for one walk: which resistor on which outlet, what to expect, what was read; words of plugs; the two trips."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import interval_of, thing
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_trace import APART, DECODED, DECODED_SHORT, GUARD_WHY, ORDERS_MANY, TWO_TRIPS
from pullstring.papers.words_trace_said import bare, chance, listed, net, tags, upper

Facts = Mapping[str, Any]
Made = tuple[str, list[Block]]


def part(ohm: float) -> str:
    """A resistor as it is written on its bag: 1.2 kohm."""
    return f"{figures.number(ohm / 1000)} kohm" if ohm >= 1000 else figures.ohms(ohm)


def codes(said: Facts, site: str) -> Made:
    """The plan of one walk with resistors."""
    plan = said["codes"]
    blocks: list[Block] = _frank(plan) if plan["clip"] else [Para("No outlet can take a resistor now.")]
    blocks += _not_now(plan["not"])
    if plan["volts"] and plan["clip"]:
        words = f"Meter volts DC, then AC, on every pair of {tags(plan['volts'])}: nobody did. Volts on it: leave it, note them."
        blocks += [Heading("Before anything else"), Para(words, "caution")]
    if plan["baseline"] and plan["clip"]:
        words = f"First read the ohms of {tags(plan['baseline'])} with nothing clipped on, and note each reading."
        blocks += [Heading("Before anything is clipped on"), Para(words), Para(FOREIGN, "caution")]
    if plan["clip"]:
        rows = tuple((bare([c["outlet"]]), _room(c), part(c["ohm"])) for c in plan["clip"])
        blocks += [Heading("Clip these on, in the order of the walk"), Table(("outlet", "room", "resistor"), rows)]
        told = tuple((interval_of(r["ohm"]), _outlets(r["outlets"])) for r in plan["readings"])
        blocks += [Heading("What a reading at an end would mean"), Table(("reading", "resistor of outlet"), told, "rl")]
        blocks.append(Para("Anything else is no clip of ours alone. " + FOREIGN))
    if plan["left"]:
        blocks.append(Para(f"No value is left for {tags(plan['left'])}; they wait for the next walk."))
    return f"Codes for one walk at {site}", blocks


FOREIGN = (
    "A reading that fits none of ours with nothing clipped on means that something is connected there: stop on that wire, "
    "it may be an alarm loop."
)


def _frank(plan: Facts) -> list[Block]:
    """How far the values are told apart: by how many of them lie on one wire."""
    rows = tuple(
        (ORDERS_MANY[k["order"]], str(k["readings"]), _percent(k["gap"]), sentence(APART, k["apart"]))
        for k in plan["kept"]
    )
    blocks: list[Block] = [Table(("on one wire", "readings", "smallest gap", "kept apart"), rows, "lrrl")]
    if plan["nearest"]:
        one, other = (_outlets(n["outlets"]) for n in plan["nearest"])
        blocks.append(Para(f"The nearest two are {one}, and {other}."))
    if not plan["proved"]:
        blocks.append(Para("There may be a better choice among the parts at hand; not all were tried."))
    return blocks


def _percent(gap: float | None) -> str:
    return "–" if gap is None else f"{figures.number(100 * gap)} %"


def _outlets(outlets: Sequence[str]) -> str:
    return " with ".join(bare([o]) for o in outlets) or "none"


def _room(row: Facts) -> str:
    return " ".join(w for w in (bare([row["room"]]) if row["room"] else "", row["room_name"]) if w) or "–"


def _not_now(refused: Sequence[Facts]) -> list[Block]:
    if not refused:
        return []
    by_why: dict[str, list[str]] = {}
    for one in refused:
        by_why.setdefault(listed([sentence(GUARD_WHY, w) for w in one["why"]]), []).append(one["thing"])
    rows = tuple((tags(refs), why) for why, refs in by_why.items())
    return [Heading("Takes no resistor and no meter on ohms now"), Table(("what", "why"), rows)]


def words(said: Facts, site: str) -> Made:
    """Which pairs to short on which end, for plugs."""
    plan = said["words"]
    blocks: list[Block] = []
    for number, walk in enumerate(plan["walks"], 1):
        rows = tuple((bare([w["end"]]), " ".join(map(str, w["pairs"])) or "none") for w in walk)
        title = "Short these pairs at the board" if len(plan["walks"]) == 1 else f"Walk {number}"
        blocks += [Heading(title), Table(("end", "pairs shorted"), rows)]
    blocks.append(
        Para("Then read with the tester at each outlet which pairs are closed; joined ends show the pairs of both.")
    )
    if plan["alike"]:
        groups = "; ".join(listed([net(n) for n in group], last="or") for group in plan["alike"][:6])
        more = f"; and {len(plan['alike']) - 6} more" if len(plan["alike"]) > 6 else ""
        blocks.append(Para(f"Would read alike: {groups}{more}."))
    return f"Words of plugs for one walk at {site}", [*blocks, *_not_now(plan["not"])]


def two_trips(said: Facts, site: str) -> Made:
    """How to part the wires of one cable with a continuity tester alone."""
    plan = said["two_trips"]
    head = TWO_TRIPS["intro" if plan["possible"] else "not"].format(plan["wires"])
    blocks: list[Block] = [Para(head), Para(TWO_TRIPS["caution"], "caution")]
    rows = tuple((str(n), step["says"], _cells(step["cells"])) for n, step in enumerate(plan["steps"], 1))
    blocks.append(Table(("step", "what", "wires tied together"), rows, "rll"))
    blocks += [
        Para(upper(sentence(TWO_TRIPS, "named").format(touched, ", ".join(map(str, names)))) + ".")
        for touched, names in plan["names"]
    ]
    blocks.append(Para(TWO_TRIPS["back"] + "." if plan["possible"] else TWO_TRIPS["unchain"]))
    if plan["key"]:
        told = tuple((f"{a} at first, {b} then", str(wire)) for (a, b), wire in plan["key"])
        blocks += [Heading("Which wire it is"), Table(("a wire that touched in all", "is wire"), told)]
    return f"Two trips for {plan['wires']} wires", blocks


def _cells(cells: Sequence[Sequence[int]]) -> str:
    return "; ".join("-".join(map(str, cell)) for cell in cells) or "–"


def decode(said: Facts, site: str) -> Made:
    """What was read, end by end, and the one act that parts what fits two."""
    found = said["decode"]
    blocks: list[Block] = []
    for end in found["ends"]:
        if act := end["act"]:
            fits = listed([_way(end, w) for w in end["ways"][:2]], last="or")
            blocks.append(Para(f"{upper(thing(end['end']))} fits two: {fits}. {_act(end, act)}"))
    rows = tuple((bare([e["end"]]), read(e["ohm"]), _meaning(e), _fit(e)) for e in found["ends"])
    blocks.append(Table(("end", "read", "what it means", "how sure"), rows, "lrll"))
    if not found["ends"]:
        blocks.append(Para("Nothing that was read speaks of what was named."))
    if any(e["stop"] or e["guard"] for e in found["ends"]):
        blocks.append(Para(FOREIGN, "caution"))
    placed = ", ".join(f"{bare([o])} {part(ohm)}" for o, ohm in found["placed"].items())
    blocks.append(Para(f"Clipped on: {placed}."))
    if not found["whole"]:
        blocks.append(Para("There were too many ways to count them all; the odds are of the likelier ones."))
    return f"What was read at {site}", blocks


def _act(end: Facts, act: Facts) -> str:
    do = (
        f"Take our clip off {bare([act['outlet']])}"
        if act["do"] == "take off"
        else f"Lift the clip between {bare(act['ends'])}"
    )
    then = "; ".join(f"{read(t['ohm'])} then means {_way(end, t)}" for t in act["then"])
    return f"{do} and read {bare([end['end']])} again: {then}."


def read(ohm: float | None) -> str:
    """What a meter showed."""
    return "open" if ohm is None else part(ohm)


def _meaning(end: Facts) -> str:
    best = end["ways"][0]
    words = sentence(DECODED, best["what"]).format(outlets=_outlets(best["outlets"]), others=bare(end["others"]))
    if end["guard"]:
        return f"stop: {listed([sentence(GUARD_WHY, why) for why in end['guard']])}; it reads like: {words}"
    return words


def _way(end: Facts, way: Facts) -> str:
    """One explanation of an end in a few words."""
    others = [e for e in way["ends"] if e != end["end"]]
    return sentence(DECODED_SHORT, way["what"]).format(outlets=_outlets(way["outlets"]), others=bare(others))


def _fit(end: Facts) -> str:
    rivals = [f"{_way(end, w)} {chance(w['odds'])}" for w in end["ways"][1:3] if w["odds"]["chance"] >= 0.01]
    return chance(end["ways"][0]["odds"]) + (f"; else {listed(rivals, last='or')}" if rivals else "")


PAGES: dict[str, Callable[[Facts, str], Made]] = {
    "codes": codes,
    "words": words,
    "two_trips": two_trips,
    "decode": decode,
}
"""By the key that an answer has."""

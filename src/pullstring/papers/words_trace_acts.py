"""The next act, the rest of its walk, and how frank one must be about the kit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.phrases import thing, things
from pullstring.papers.sentences_trace import ACTS, KIT_FRANK, NOT_ON_PAPER, STEP_CAUTIONS, STOPS, UNSURE_WHY, WITH
from pullstring.papers.words_trace_said import chance, listed, net, tags

Facts = Mapping[str, Any]


def act_says(act: Facts) -> str:
    """What to do, as one sentence without its stop."""
    return sentence(ACTS, act["kind"]).format(at=_at(act), what=_what(act))


def _at(act: Facts) -> str:
    return tags(act["ends"]) if act["kind"] == "lift clip" else thing(act["at"])


def _what(act: Facts) -> str:
    what = act["what"]
    if isinstance(what, list | tuple):
        return tags(what)
    return things(str(what)) if what not in (None, "") else ""


def act_with(act: Facts) -> str:
    """What one needs in the hand."""
    return sentence(WITH, act["kind"]) if act["kind"] in WITH else ""


def act_where(act: Facts) -> str:
    """Floor and room."""
    room = " ".join(w for w in (act["room"].partition(":")[2], act["room_name"]) if w)
    return ", ".join(w for w in (room, f"floor {act['floor']}" if act["floor"] else "") if w) or "place not noted"


def how_long(act: Facts) -> str:
    """`40 s, of which 25 s walking`."""
    whole = seconds(act["seconds"] + act["travel_s"])
    return _of_which(whole, seconds(act["travel_s"])) if act["travel_s"] >= 1 else whole


def _of_which(whole: str, walking: str) -> str:
    return f"{whole}, most of it walking" if whole == walking else f"{whole}, of which {walking} walking"


def seconds(value: float) -> str:
    """`40 s`, `3 min`, `1 h 20 min`: rounded as one would say it."""
    if value < 90:
        return f"{max(5, round(value / 5) * 5)} s" if value > 0 else "0 s"
    minutes = round(value / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"


def cautions_of(act: Facts, *, on_paper: bool = False) -> list[str]:
    """The sentences that stand beside a step, each once."""
    codes = [c for c in act["caution"] if not (on_paper and c in NOT_ON_PAPER)]
    return list(dict.fromkeys(STEP_CAUTIONS.get(c) or STEP_CAUTIONS[c.partition(" ")[0]] for c in codes))


def meaning(outcome: Facts) -> str:
    """`loud: E12 nearly certain`."""
    if not outcome["net"] and outcome["odds"] is None:
        return f"{outcome['label']}: nothing is settled by it"
    return f"{outcome['label']}: {thing(outcome['outlet'])} {net(outcome['net'])}, {chance(outcome['odds'])}"


def next_page(said: Facts, site: str) -> tuple[str, list[Block]]:
    """One act big, the rest of the walk in its order, what stays open, and what the kit can do."""
    blocks: list[Block] = [Para(f"First: {_lower(act_says(a))}.") for a in said["first"]]
    if act := said["act"]:
        blocks += [Heading(f"{act_says(act)}."), *_big(act)]
    else:
        blocks.append(Heading(sentence(STOPS, said["stop"])))
    blocks += _walk(said["walk"])
    if said["unsure"]:
        by_why: dict[str, list[str]] = {}
        for one in said["unsure"]:
            by_why.setdefault(one["why"], []).append(one["thing"])
        rows = tuple((tags(refs), sentence(UNSURE_WHY, why)) for why, refs in by_why.items())
        blocks += [Heading("Stays open"), Table(("what", "why"), rows)]
    blocks += [Para(sentence(KIT_FRANK, code)) for code in said["frank"]]
    return f"What to do next at {site}", blocks


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _big(act: Facts) -> list[Block]:
    lines = [f"Where: {act_where(act)}. How long: {how_long(act)}."]
    if needed := act_with(act):
        lines.append(f"With: {needed}.")
    if act["why"]:
        lines.append(_why(act["why"]))
    blocks: list[Block] = [Para(line) for line in lines]
    blocks += [Para(words, "caution") for words in cautions_of(act)]
    if told := [meaning(o) for o in act["outcomes"]]:
        blocks.append(Para("What it would mean: " + "; ".join(told) + "."))
    return blocks


def _why(why: Facts) -> str:
    if why["parts"]:
        return f"Why: it parts {listed([net(n) for n in why['parts']])} for {tags(why['outlets'])}."
    return f"Why: it is the quickest way to learn more of {tags(why['outlets'])}." if why["outlets"] else ""


def _walk(walk: Facts) -> list[Block]:
    acts = walk["acts"]
    if len(acts) < 2:
        return []
    rows = tuple(
        (str(n), f"{act_says(a)}", act_where(a), " ".join(cautions_of(a)) or "–") for n, a in enumerate(acts, 1)
    )
    whole = _of_which(seconds(walk["seconds"]), seconds(walk["travel_s"]))
    settles = f" It should settle {tags(walk['settles'])}." if walk["settles"] else ""
    return [
        Heading("This walk, in its order"),
        Table(("step", "what", "where", "caution"), rows, "rlll"),
        Para(f"About {whole}, if nothing surprises.{settles}"),
    ]

"""What the page of tracing shows otherwise than the terminal: how an outlet stands by shape and word, and what is clicked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers.blocks import Block, Heading, Para
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_trace import REPEAT_WHY, STANDS, STATES
from pullstring.papers.words_trace_said import bare, chance, entry, listed, net, strength

Facts = Mapping[str, Any]
SHAPES = {"sure": "full", "no cable": "no", "likely": "half", "tie": "two", "open": "ring"}
"""The shape beside the word, by the state of an outlet."""
SAID_HERE = ("Outlets", "Proposed to be accepted", "Read these again")
"""Parts of the terminal's page that the page shows in its own way."""
STAYS = "Stays open"
"""The heading from which on it is no longer about the act."""
FEW = 3


def act_and_rest(blocks: Sequence[Block]) -> tuple[list[Block], list[Block]]:
    """The next act with its walk, and what else is to be said of the plan."""
    at = next((n for n, b in enumerate(blocks) if isinstance(b, Heading) and b.text == STAYS), len(blocks))
    return list(blocks[:at]), list(blocks[at:])


def parts_of(blocks: Sequence[Block]) -> tuple[list[Block], list[Block]]:
    """The first lines, and all that is not shown otherwise."""
    first: list[Block] = []
    rest: list[Block] = []
    heading = None
    for block in blocks:
        if isinstance(block, Heading):
            heading = block.text
        if heading is None:
            (first if isinstance(block, Para) else rest).append(block)
        elif heading not in SAID_HERE:
            rest.append(block)
    return first, rest


def outlet_row(outlet: Facts) -> dict[str, Any]:
    """One outlet: where it goes, how sure in shape and words, its rivals, who else is on it, what it is."""
    goes, state = outlet["goes"], outlet["state"]
    if state == "tie":
        to, sure = [net(n) for n in outlet["tie"]], f"{chance(goes[0]['odds'])} each"
    elif state == "open" or not goes:
        to, sure = [], ""
    else:
        to, sure = [net(goes[0]["ends"])], chance(goes[0]["odds"])
    others = goes[: FEW + 1] if not to else [] if state == "tie" else goes[1 : FEW + 1]
    rivals = [f"{net(g['ends'])} {chance(g['odds'])}" for g in others if g["odds"]["chance"] >= 0.01]
    word = sentence(STATES, state)
    return {
        "ref": outlet["outlet"],
        "tag": bare([outlet["outlet"]]),
        "place": " ".join(w for w in (bare([outlet["room"]]) if outlet["room"] else "", outlet["room_name"]) if w),
        "to": listed(to, last="or") or "not known",
        "shape": SHAPES.get(state, "ring"),
        "sure": sure
        if sure == word or state in ("sure", "likely", "no cable")
        else ", ".join(w for w in (word, sure) if w),
        "rivals": listed(rivals, last="or"),
        "with": [bare([o]) for o in outlet["with"]],
        "is": sentence(STANDS, outlet["stands"]) if outlet["stands"] else "",
    }


def proposed_rows(proposed: Sequence[Facts]) -> list[dict[str, Any]]:
    """What could be accepted, outlet by outlet: all ends of one outlet are accepted together."""
    by_outlet: dict[str, list[Facts]] = {}
    for one in proposed:
        by_outlet.setdefault(one["object"], []).append(one)
    return [
        {
            "outlet": bare([outlet]),
            "ref": outlet,
            "ends": [(bare([p["subject"]]), p["subject"]) for p in given],
            "grade": ", ".join(dict.fromkeys(p["grade"] for p in given)),
            "sure": chance(min((p["odds"] for p in given), key=lambda o: float(o["chance"]))),
        }
        for outlet, given in by_outlet.items()
    ]


def repeat_rows(repeat: Sequence[Facts]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Readings to take again by why, each once with the thing that it is about."""
    by_why: dict[str, dict[str, str]] = {}
    for one in repeat:
        by_why.setdefault(sentence(REPEAT_WHY, one["why"]), {}).setdefault(entry(one["said"]), one["said"]["subject"])
    return [(why, list(rows.items())) for why, rows in by_why.items()]


def weighed_row(weighed: Facts) -> dict[str, Any]:
    """One entry for or against, with what it is about."""
    return {
        "lines": list(dict.fromkeys((entry(s), s["subject"]) for s in weighed["said"])),
        "strength": strength(weighed["weight"]),
        "of": net(weighed["of"]) if weighed.get("of") else "",
    }

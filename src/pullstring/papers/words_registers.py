"""Words of the registers: every end and every outlet as one row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer
from pullstring.papers.blocks import Block, Para, Table
from pullstring.papers.phrases import thing
from pullstring.papers.sentences_pages import BOX_WITH_MAINS, NO_ENDS, NO_OUTLETS, STOPS

END_COLUMNS = ("end", "cable", "in room", "sits on", "goes to", "how sure", "carries", "found", "old label")
OUTLET_COLUMNS = ("outlet", "in room", "ends here", "how sure", "plate", "condition", "found", "old label")
DASH = "–"


def ends(answer: Answer) -> tuple[str, list[Block]]:
    """The register of ends."""
    rows = end_rows(answer.answer["ends"])
    return "Ends", [Table(END_COLUMNS, rows, "mmlllllll")] if rows else [Para(NO_ENDS)]


def end_rows(told: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, ...], ...]:
    """One row an end."""
    return tuple(
        (
            e["end"],
            e["cable"] or DASH,
            _room(e),
            _state(e, _named(e["sits"])),
            _named(e["goes"]),
            _sure(e["goes"]),
            _named(e["carries"], short=True),
            e["found"] or DASH,
            e["label"] or DASH,
        )
        for e in told
    )


def outlets(answer: Answer) -> tuple[str, list[Block]]:
    """The register of outlets."""
    told = answer.answer["outlets"]
    rows = outlet_rows(told)
    blocks: list[Block] = [Table(OUTLET_COLUMNS, rows, "mlmlllll")] if rows else [Para(NO_OUTLETS)]
    shared = [o["outlet"] for o in told if o["shares_box_with_mains"]]
    if shared:
        blocks.append(Para(BOX_WITH_MAINS.format(", ".join(shared)), "caution"))
    return "Outlets", blocks


def outlet_rows(told: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, ...], ...]:
    """One row an outlet."""
    return tuple(
        (
            o["outlet"],
            _state(o, _room(o)),
            ", ".join(e["end"] for e in o["ends"]) or DASH,
            ", ".join(dict.fromkeys(_how(e) for e in o["ends"])) or DASH,
            o["plate"] or DASH,
            o["condition"] or DASH,
            o["found"] or DASH,
            o["label"] or DASH,
        )
        for o in told
    )


def _state(told: Mapping[str, Any], words: str) -> str:
    """Words after the state of a thing that is not simply there."""
    if told["state"] == "there":
        return words
    return told["state"] if words == DASH else f"{told['state']}; {words}"


def _room(told: Mapping[str, Any]) -> str:
    return " ".join(p for p in (told["room"], told["room_name"]) if p) or DASH


def _named(claims: Sequence[Mapping[str, Any]], *, short: bool = False) -> str:
    said = [STOPS.get(c["to"]) or thing(c["to"]) for c in claims]
    if short:
        said = [s.removeprefix("service ").removeprefix("use ") for s in said]
    return ", ".join(dict.fromkeys(said)) or DASH


def _sure(claims: Sequence[Mapping[str, Any]]) -> str:
    return ", ".join(dict.fromkeys(_how(c) for c in claims)) or DASH


def _how(claim: Mapping[str, Any]) -> str:
    return claim["grade"] if claim["status"] == "holds" else f"{claim['grade']}, {claim['status']}"


VERBS = {"ends": ends, "outlets": outlets}

"""The walk sheet: one walk on A4, black only, each act a row to tick with space to write, in the order of walking."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers import figures, svg
from pullstring.papers.book_letters import Letters
from pullstring.papers.labels_code import code_path, code_text
from pullstring.papers.sentences_trace import WALK
from pullstring.papers.typst_page import made
from pullstring.papers.words_trace_acts import act_says, act_where, act_with, cautions_of, seconds
from pullstring.papers.words_trace_codes import part
from pullstring.papers.words_trace_said import bare

Facts = Mapping[str, Any]
CODE_MM = 24.0
READS = frozenset({"touch", "touch set", "clip", "read", "ohms", "meter", "self-check"})
"""Acts after which something is written down."""


def walk_pdf(
    *, site: str, name: str, day: str, walk: Facts, first: Sequence[Facts] = (), codes: Facts | None = None
) -> bytes:
    """One walk as PDF.

    Parameters
    ----------
    site, name : str
        Code and name of the property.
    day : str
        Day of printing, a part of the sheet's number.
    walk : mapping
        `acts` in order, `seconds`, `travel_s`, as the verb gives them.
    first : sequence
        Acts that must be done before.
    codes : mapping or None
        The plan of resistors, where resistors are at hand.
    """
    letters = Letters()
    return made(
        "walk.typ", _printed(data_of(site=site, name=name, day=day, walk=walk, first=first, codes=codes), letters)
    )


def data_of(
    *, site: str, name: str, day: str, walk: Facts, first: Sequence[Facts], codes: Facts | None
) -> dict[str, Any]:
    """All that stands on the sheet, in words."""
    number = f"SHEET-W-{day[:10].replace('-', '')}-1"
    code = code_text(site, number)
    acts = [*first, *walk["acts"]]
    clips = codes["clip"] if codes else []
    bases = codes["baseline"] if codes and clips else []
    return {
        "title": WALK["of"].format(name),
        "heading": WALK["title"],
        "site": name if name == site else f"{site}  {name}",
        "day": figures.date(day[:10]),
        "says": WALK["says"],
        "volts": WALK["volts"],
        "fields": WALK["fields"].split("|"),
        "columns": WALK["columns"].split("|"),
        "long": WALK["long"].format(seconds(walk["seconds"]), seconds(walk["travel_s"])) if acts else "",
        "nothing": WALK["nothing"],
        "stops": _stops(acts),
        "clip-title": WALK["clips"],
        "clip-columns": WALK["clip_columns"].split("|"),
        "clips": [{"outlet": bare([c["outlet"]]), "room": _room(c), "value": part(c["ohm"])} for c in clips],
        "base-says": WALK["base"].format(bare(bases)),
        "base-columns": WALK["base_columns"].split("|"),
        "bases": [bare([e]) for e in bases],
        "foot": WALK["foot"],
        "code": CODE_MM,
        "identifier": code or f"{site}/{number}",
        "picture": _picture(code) if code else "",
    }


def _stops(acts: Sequence[Facts]) -> list[dict[str, Any]]:
    """Acts by the place where one stands, in the order of the walk; a place visited twice stands twice."""
    steps = itertools.count(1)
    return [
        {"place": place, "acts": [_row(act, next(steps)) for act in group if act["kind"] != "walk"]}
        for place, group in itertools.groupby(acts, key=act_where)
    ]


def _row(act: Facts, step: int) -> dict[str, Any]:
    return {
        "step": str(step),
        "says": act_says(act),
        "tool": act_with(act),
        "cautions": cautions_of(act, on_paper=True),
        "reads": act["kind"] in READS,
    }


def _room(row: Facts) -> str:
    return " ".join(w for w in (bare([row["room"]]) if row["room"] else "", row["room_name"]) if w)


def _picture(code: str) -> str:
    """The code as a drawing: property and number of the sheet, nothing else."""
    drawn = code_path(code, side=CODE_MM)
    return svg.document(
        [drawn], width=CODE_MM, height=CODE_MM, mm_per_unit=1, style=".plan .qr{fill:#000000}", says=f"code {code}"
    )


def _printed(value: Any, letters: Letters) -> Any:
    """Every text in letters that paper has; the code's drawing stays as it is."""
    if isinstance(value, str):
        return value if value.startswith("<svg") else letters.printable(value)
    if isinstance(value, dict):
        return {key: _printed(inner, letters) for key, inner in value.items()}
    if isinstance(value, list):
        return [_printed(inner, letters) for inner in value]
    return value

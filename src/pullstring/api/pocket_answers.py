"""What can be answered to an act of a walk, as fields of a jotting in which the row that it becomes stands already."""

from __future__ import annotations

import collections
import itertools
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.papers.words_pocket import CARE, DONE, FIELDS, UNITS, in_words

Facts = Mapping[str, Any]
HOLDS = {"place tone": "tone", "place remote": "remote"}
"""Acts that put something on, with the word of what."""
NEEDS = {"touch": "tone", "touch set": "tone", "take off tone": "tone", "take off remote": "remote"}
"""Acts that are nothing unless it was put on before."""
SURE = ("loud", "faint")
"""Tones of which it counts whether they were isolated and confirmed."""


def pocket_acts(acts: Sequence[Facts]) -> list[dict[str, Any]]:
    """Acts in the order of the walk, each with its words, its key, what it needs and what can be answered to it.

    A way alone is no act here. One that asks for two quantities, as volts DC and AC, becomes two: one thing is read at a time.
    """
    seen: collections.Counter[str] = collections.Counter()
    put_on: dict[str, str] = {}
    tone, made = "", []
    for act in acts:
        if act["kind"] == "walk":
            continue  # where to go stands beside the act that is done there
        tone = act["at"] if act["kind"] == "place tone" else tone
        needs = [put_on[name] for name in _needed(act, tone) if name in put_on]
        for told in _parts(act):
            about = " ".join([act["kind"], *told["match"].values()])
            seen[about] += 1
            key = about if seen[about] == 1 else f"{about} #{seen[about]}"
            if act["kind"] in HOLDS:
                put_on[f"{HOLDS[act['kind']]} {act['at']}"] = key
            room = act["room"].partition(":")[2]
            words = in_words(act, tone=told["match"].get("sent_on", ""))
            made.append({"key": key, "kind": act["kind"], "room": room, "needs": needs, "by": "", **words, **told})
    return made


def _needed(act: Facts, tone: str) -> list[str]:
    """By name what must have been put on before an act."""
    word = NEEDS.get(act["kind"])
    return [f"{word} {tone if word == 'tone' else act['at']}"] if word else []


def _parts(act: Facts) -> list[dict[str, Any]]:
    """What is answered to an act, one part for each quantity; an act that only makes a row, or none, is answered by Done."""
    by_quantity = {
        quantity: list(group)
        for quantity, group in itertools.groupby(act["answers"], key=lambda a: str(a["row"]["quantity"]))
    }
    if not by_quantity:
        return [_done(act)]
    return [_asked(answers) for answers in by_quantity.values()]


def _blank() -> dict[str, Any]:
    return {"match": {}, "answers": [], "checks": [], "pad": None, "tiles": None}


def _done(act: Facts) -> dict[str, Any]:
    """Done, and kept with the row that it makes; where it makes none, as words, which become no row."""
    if act["notes"]:
        fields = _fields(act["notes"][0])
    else:
        fields = {"what": "tone", "about": act["at"], "words": DONE.get(str(act["kind"]), str(act["kind"]))}
    return {**_blank(), "match": fields, "answers": [{"label": DONE[""], "fields": fields, "care": False}]}


def _fields(row: Mapping[str, str]) -> dict[str, str]:
    """A row of the table of measurements as fields of a jotting."""
    sent = {"sent_on": row["value"].partition(" from ")[2].split()[0]} if row["quantity"] == "tone" else {}
    return {"what": "reading", "about": row["subject"], "quantity": row["quantity"], "value": row["value"], **sent}


def _asked(answers: Iterable[Facts]) -> dict[str, Any]:
    made = _blank()
    for answer in answers:
        fields = _fields(answer["row"])
        typed = {name: said for name, said in fields.items() if name != "value"}
        made["match"] = typed
        if answer["asks"] in UNITS:
            made["pad"] = {"label": FIELDS[fields["quantity"]], "units": UNITS[answer["asks"]], "fields": typed}
        elif answer["asks"]:
            span = fields["value"].partition(" of ")[2]
            made["tiles"] = {"label": FIELDS[fields["quantity"]], "of": _numbers(span), "span": span, "fields": typed}
        else:
            care = fields["quantity"] == "tone" and fields["value"].startswith(SURE)
            made["answers"].append({"label": answer["label"], "fields": fields, "care": care})
    if any(answer["care"] for answer in made["answers"]):
        made["checks"] = [{"word": word, "label": label} for word, label in CARE.items()]
    return made


def _numbers(span: str) -> list[str]:
    """`1-4`, `3 7` as single numbers."""
    found: list[str] = []
    for part in span.split():
        low, _, high = part.partition("-")
        found += [str(n) for n in range(int(low), int(high or low) + 1)]
    return found

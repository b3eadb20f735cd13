"""Acts of tracing as facts: where, with what, what to mind, and what may be written down afterwards.

An act: `n` (its place in the walk), `kind`, `at` (`kind:TAG`, or empty), `ends` (ends it is about), `what` (number of a remote or
mark, pairs of a plug, ends touched together, or null), `room`, `room_name`, `floor`, `seconds`, `travel_s`, `caution` (codes),
`answers` (each `label` and the `row` of the table of measurements that says it; `{}` in its value stands for what is typed, `asks`
says what: numbers | pairs | ohm | volts), `notes` (rows that the act itself makes: what was placed or taken off).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pullstring.api.tracing import place_of

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref

Facts = dict[str, Any]
LEVELS = (("loud", "loud"), ("faint", "faint"), ("nothing", "none"), ("not looked", "not looked"))
"""What is heard of a tone: on a button, and in the record."""


def blank_act(site: Site, kind: str, at: Ref | None, **more: Any) -> Facts:
    """An act at a place, with nothing to write down yet."""
    place = place_of(site, at) if at else {"room": "", "room_name": "", "floor": ""}
    if at and at.kind == "room":
        room = site.get(at)
        floor = room.ref_of("floor") if room else None
        place = {"room": str(at), "room_name": room.text("name") if room else "", "floor": floor.tag if floor else ""}
    return {
        "n": 0,
        "kind": kind,
        "at": str(at) if at else "",
        "ends": [],
        "what": None,
        **place,
        "seconds": 0.0,
        "travel_s": 0.0,
        "caution": [],
        "answers": [],
        "notes": [],
        "outcomes": [],
        "why": None,
        **more,
    }


def row(subject: str, quantity: str, value: str) -> dict[str, str]:
    """A row of the table of measurements."""
    return {"subject": subject, "quantity": quantity, "value": value}


def tone_answers(end: str, outlet: str, over: Sequence[str] = ()) -> list[Facts]:
    """What may be heard at an end, or over several touched together, of a tone sent from an outlet."""
    more = f" over {' '.join(over)}" if over else ""
    return [
        {"label": label, "row": row(end, "tone", f"{level} from {outlet}{more}"), "asks": None}
        for label, level in LEVELS
    ]


def numbers_answer(at: str, looked_for: Sequence[int]) -> list[Facts]:
    """Which numbers of those placed are read."""
    of = " ".join(map(str, looked_for))
    none: Facts = {"label": "none", "row": row(at, "remotes heard", f"none of {of}"), "asks": None}
    return [{"label": "numbers", "row": row(at, "remotes heard", f"{{}} of {of}"), "asks": "numbers"}, none]


def pairs_answer(at: str, pairs: int) -> list[Facts]:
    """Which pairs read closed."""
    none: Facts = {"label": "none", "row": row(at, "word read", f"none of 1-{pairs}"), "asks": None}
    return [{"label": "pairs", "row": row(at, "word read", f"{{}} of 1-{pairs}"), "asks": "pairs"}, none]


def ohm_answer(at: str) -> list[Facts]:
    """What the meter shows."""
    open_: Facts = {"label": "open", "row": row(at, "resistance", "none"), "asks": None}
    return [{"label": "ohm", "row": row(at, "resistance", "{} ohm"), "asks": "ohm"}, open_]


def volts_answers(at: str) -> list[Facts]:
    """Volts of both kinds, each read or without."""
    found: list[Facts] = []
    for what in ("volts DC", "volts AC"):
        found += [{"label": what, "row": row(at, what, "{} V"), "asks": "volts"}]
        found += [{"label": f"no {what}", "row": row(at, what, "none"), "asks": None}]
    return found


def numbered(acts: Sequence[Facts]) -> list[Facts]:
    """Acts with their places in the walk."""
    return [{**act, "n": n} for n, act in enumerate(acts, 1)]

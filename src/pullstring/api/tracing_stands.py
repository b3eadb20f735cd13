"""What outlets and ends turned out to be, as facts: their findings, what takes no part, what stays open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pullstring.model.answers import Odds

if TYPE_CHECKING:
    from pullstring.api.tracing_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref


def outlet_stands(done: Worked, outlet: int) -> str:
    """The code of what an outlet is first of all."""
    return done.found.outlets[outlet].main.what


def end_rows(site: Site, done: Worked) -> list[dict[str, Any]]:
    """Every closet end with all that was found of it, taking part or not."""
    rows = []
    for found in done.found.ends:
        thing = site.get(found.thing)
        rows.append(
            {
                "end": str(found.thing),
                "label": thing.text("label") if thing else "",
                "stands": [
                    {
                        "what": one.what,
                        "about": [str(r) for r in one.about],
                        "length": one.length,
                        "says": one.says,
                        "odds": Odds(min(1.0, one.chance)),
                    }
                    for one in found.stands
                ],
                "odds": Odds(min(1.0, found.main.chance)),
                "because": list(dict.fromkeys(e for one in found.stands for e in one.because)),
            }
        )
    return rows


def left_out(done: Worked, named: Sequence[Ref] | None) -> list[dict[str, Any]]:
    """Outlets and ends that take no part, and why."""
    return [
        {"thing": str(one.thing), "why": one.why} for one in done.traced.left_out if named is None or one.thing in named
    ]


IN_THE_WAY = ("not reachable", "untouchable", "in use", "likely live")
"""Why nothing can be done at an outlet now."""


def unsure(done: Worked, blocked: Mapping[int, str] | None = None) -> list[dict[str, Any]]:
    """Outlets that are not settled, and why: a tie, in the way of it (`blocked`), or too little read."""
    from pullstring.trace.standing import State

    rows = []
    for one in done.stands:
        if one.state in (State.SURE, State.NO_CABLE):
            continue
        why = (blocked or {}).get(one.outlet, "open")
        if one.state is State.TIE and why not in IN_THE_WAY:
            why = "tie"
        rows.append({"thing": str(done.traced.outlets[one.outlet]), "why": why})
    return rows

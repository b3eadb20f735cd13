"""`trace --decode`: what the ohms read at the ends mean together, from the record or from the command line.

`decode`: `placed` (ohm by outlet), `ends` (each `end`, `ohm` or null for open, `what`: bare | run | chain | bridge | ring |
something else, `others`: ends of its net, `ways` (each `outlets`, `ends`, `what`, `odds`), `stop`, `act`: null or `do` (take off |
lift), `outlet`, `ends`, `then` (each `outlets`, `ends`, `what`, `odds`, `ohm`)), `whole` (false when only the likelier ways were
counted), `from`: record | line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.api.tracing_codes import LINE_OHM, METER
from pullstring.model.answers import Answer, Odds, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.trace.decode import Decoded, EndOdds, Way
    from pullstring.trace.readings import Ohms

PART = 0.01
"""Ours, assumed: parts named on the command line are of 1 %."""
TAKE_OFF_S, LIFT_S = 60.0, 10.0
"""Ours, assumed: to walk to an outlet and back to read again; to lift a clip on the board."""
OPEN = ("open", "none", "ol")
LEAST_OHM, MOST_OHM = 1e-3, 1e9
"""Ours: what a hand meter can show, with room to spare. [ohm]"""


@dataclasses.dataclass(frozen=True)
class _Round:
    """One round of readings, with what its numbers stand for."""

    ends: tuple[Ref, ...]
    outlets: tuple[Ref, ...]
    readings: tuple[Ohms, ...]
    blocks: tuple[tuple[int, ...], ...]
    because: tuple[str, ...]


def trace_decode(path: Path, request: Request, *, read: Sequence[str] = (), placed: Sequence[str] = ()) -> Answer:
    """Decode ohms: those given, each `END=OHM` and `OUTLET=OHM`, else the last round in the record.

    Raises
    ------
    BadRequest
        What names nothing, is no value, or a record in which no resistor was placed.
    """
    from pullstring.api.tracing_worked import worked
    from pullstring.trace.assumed import assumed_prior
    from pullstring.trace.decode import decode

    site = load(path, request)
    given = bool(read or placed)
    told = _from_line(site, read, placed) if given else _from_record(site)
    unread = max(0, len(worked(site).traced.ends) - len({r.end for r in told.readings}))
    found = decode(told.readings, prior=assumed_prior(), blocks=told.blocks, unread=unread)
    ends = [_end(site, told, found, one) for one in found.ends]
    if request.tags:
        wanted = {str(r) for r in asked_for(site, request.tags, ("end", "outlet"))}
        ends = [e for e in ends if e["end"] in wanted or any(wanted & set(w["outlets"]) for w in e["ways"])]
    ohms = {o: ohm for r in told.readings for o, ohm in r.placed.items()}
    answer = {
        "placed": {str(told.outlets[o]): ohm for o, ohm in sorted(ohms.items())},
        "ends": ends,
        "whole": found.whole,
        "from": "line" if given else "record",
    }
    return answered(
        "trace",
        site,
        request,
        {"decode": answer},
        because=told.because,
        assumed=("trace_meter", "trace_line", "trace_prior"),
        cautions=("volts_first", "local_trades"),
    )


def _from_record(site: Site) -> _Round:
    from pullstring.api.tracing_worked import worked
    from pullstring.trace.readings import Ohms

    traced = worked(site).traced
    readings = tuple(r for r in traced.readings if isinstance(r, Ohms))
    if not any(r.placed for r in readings):
        raise BadRequest(
            ["no resistor was placed in this record; give what was read: --placed OUTLET=1.2k --read END=1209"]
        )
    because = tuple(dict.fromkeys(e for r in readings for e in r.because))
    return _Round(traced.ends, traced.outlets, readings, traced.scene.blocks, because)


def _from_line(site: Site, read: Sequence[str], placed: Sequence[str]) -> _Round:
    from pullstring.trace.readings import Ohms

    faults: list[str] = []
    at = {ref: ohm for ref, ohm in _pairs(site, read, "end", faults)}
    on = {ref: ohm for ref, ohm in _pairs(site, placed, "outlet", faults)}
    faults += [
        f"{ref}: a resistor that is placed has a value; it is not open" for ref, ohm in on.items() if ohm is None
    ]
    if not read:
        faults.append("nothing was read; give it as --read END=OHM")
    if not placed:
        faults.append("nothing is placed; give it as --placed OUTLET=OHM")
    if faults:
        raise BadRequest(faults)
    ends, outlets = tuple(at), tuple(on)
    values = {n: on[ref] or 0.0 for n, ref in enumerate(outlets)}
    off = (METER**2 + PART**2) ** 0.5
    readings = tuple(
        Ohms(key=str(ref), end=n, ohm=at[ref], placed=values, off=off, line_ohm=LINE_OHM) for n, ref in enumerate(ends)
    )
    return _Round(ends, outlets, readings, _blocks(site, ends), ())


def _blocks(site: Site, ends: Sequence[Ref]) -> tuple[tuple[int, ...], ...]:
    """Which of these ends may be joined in the closet, as the record has it."""
    from pullstring.api.tracing_worked import worked

    traced = worked(site).traced
    found = []
    for block in traced.scene.blocks:
        here = tuple(n for n, ref in enumerate(ends) if ref in {traced.ends[e] for e in block})
        if len(here) > 1:
            found.append(here)
    return tuple(found)


def _pairs(site: Site, given: Sequence[str], kind: str, faults: list[str]) -> list[tuple[Ref, float | None]]:
    """Each `TAG=OHM` with what it names; all faults are added."""
    from pullstring.model.units import BadQuantity, parse_quantity

    found: list[tuple[Ref, float | None]] = []
    for text in given:
        tag, equals, value = text.partition("=")
        if not equals or not value.strip():
            faults.append(
                f"{text!r} is no reading; write it as TAG=OHM, for example {'E1' if kind == 'end' else 'O1'}=1.2k"
            )
            continue
        if value.strip()[:1] in "<>":
            faults.append(
                f"{text!r}: write what the meter showed, without < or >; 'open' if it showed more than it can"
            )
            continue
        try:
            ref = asked_for(site, [tag.strip()], [kind])[0]
            open_ = value.strip().casefold() in OPEN
            ohm = None if open_ else parse_quantity(value, "resistance").value
            if ohm and not LEAST_OHM <= ohm <= MOST_OHM:
                faults.append(f"{text!r}: no meter shows that; write ohm, kohm or Mohm as it shows them, or open")
            elif ohm is not None and ohm <= 0 and kind == "outlet":
                faults.append(f"{text!r}: a resistor has more than nothing; write its value in ohm")
            elif ohm is not None and ohm < 0:
                faults.append(f"{text!r}: no reading of ohms is below nothing; write what the meter showed, or open")
            elif any(ref == other for other, _ in found):
                faults.append(f"{text!r}: {ref.tag} stands twice; give one value for each")
            else:
                found.append((ref, ohm))
        except BadRequest as error:
            faults += error.faults
        except BadQuantity as error:
            faults.append(f"{text!r}: {error}")
    return found


def _end(site: Site, told: _Round, found: Decoded, one: EndOdds) -> dict[str, Any]:
    from pullstring.trace.decode_split import split
    from pullstring.trace.guarded import Why, may_touch

    reading = [r for r in told.readings if r.end == one.end][-1]
    act = split(one, reading, take_off_s=lambda outlet: TAKE_OFF_S, lift_s=LIFT_S)
    best = one.best
    return {
        "end": str(told.ends[one.end]),
        "ohm": reading.ohm,
        "what": best.kind,
        "others": [str(told.ends[e]) for e in sorted(best.ends) if e != one.end],
        "ways": [_way(told, way) for way in one.ways if way.chance >= LEAST or way is best],
        "stop": one.stop,
        "guard": [str(why) for why in may_touch(site, told.ends[one.end]) if why.why is not Why.VOLTS_NOT_READ],
        "act": None if act is None else {
            "do": act.act,
            "outlet": None if act.outlet is None else str(told.outlets[act.outlet]),
            "ends": [str(told.ends[e]) for e in sorted(act.ends)],
            "then": [{**_way(told, a.way), "ohm": a.ohm} for a in act.after],
        },
    }  # fmt: skip


LEAST = 0.005
"""Ours: ways below this chance are not told. [share]"""


def _way(told: _Round, way: Way) -> dict[str, Any]:
    return {
        "outlets": [str(told.outlets[o]) for o in sorted(way.outlets)],
        "ends": [str(told.ends[e]) for e in sorted(way.ends)],
        "what": way.kind,
        "odds": Odds(min(1.0, way.chance)),
    }

"""Ohms read at ends while resistors sit on outlets.

House rules
-----------
1. A reading counts against the resistors that were on when it was taken; with none on, it is what the end reads by itself, and
   stands beside later readings of that end as their baseline.
2. A loop with its far end shorted, or a reading with volts on the pair, is no reading of a resistor.
3. One end read twice alike, with the same resistors on and as far alone, counts once more each time: two readings are two.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from pullstring.copper.conditions import Far, parse_conditions
from pullstring.model.asbuilt import Reading
from pullstring.model.refs import Ref
from pullstring.trace import readings as read
from pullstring.trace.assumed_evidence import weights
from pullstring.trace.evidence_blocks import Blocks
from pullstring.trace.evidence_ground import Ground, moment
from pullstring.trace.evidence_heard import NotUsed, Placement, active, key_of, lifted

_SHARE = re.compile(r"(\d+(?:[.,]\d+)?)\s*%")
HOUR_S = 3600.0


def of_resistors(
    ground: Ground, blocks: Blocks, placed: Sequence[Placement]
) -> tuple[list[read.Ohms], list[NotUsed], list[Reading]]:
    """Readings with resistors on, entries that could not be used, and readings of ends by themselves."""
    found: list[read.Ohms] = []
    not_used: list[NotUsed] = []
    bare: list[Reading] = []
    every = list(_plain(ground))
    for reading in every:
        spot, at = ground.spot(reading.measured.subject), moment(reading.at)
        on = [p for p in active(placed, "resistor placed", at=at) if p.spot.outlet is not None and p.value]
        on = [p for p in on if at - p.since <= weights()["placed_lasts_h"] * HOUR_S]
        if spot.end is None:
            not_used.append(NotUsed(reading.entry, "untraced" if spot.other in ground.out else "no thing"))
        elif not on:
            bare.append(reading)
        else:
            found.append(_ohms(ground, blocks, reading, on, _baseline(ground, every, reading, on)))
    return found, not_used, bare


def _plain(ground: Ground) -> Iterator[Reading]:
    """Readings of ohms at closet ends that are no loops and no readings with volts."""
    for reading in ground.site.readings:
        measured = reading.measured
        if measured.quantity != "resistance" or measured.subject.kind not in ("end", "pair", "row", "cable"):
            continue
        if parse_conditions(measured.evidence.conditions, wanted=Far.OPEN).far is not Far.SHORTED:
            yield reading


def _value(reading: Reading) -> float | None:
    """The ohms read; None where the meter showed open, or more than it can."""
    return None if reading.measured.sign in ("none", ">") else reading.measured.value_si


def _baseline(ground: Ground, every: Sequence[Reading], reading: Reading, on: Sequence[Placement]) -> Reading | None:
    """The last reading of the same end before the first of these resistors was put on."""
    first, spot = min(p.since for p in on), ground.spot(reading.measured.subject)
    before = [r for r in every if moment(r.at) < first and ground.spot(r.measured.subject) == spot]
    return max(before, key=lambda r: moment(r.at), default=None)


def _ohms(
    ground: Ground, blocks: Blocks, reading: Reading, on: Sequence[Placement], baseline: Reading | None
) -> read.Ohms:
    spot, at, c = ground.spot(reading.measured.subject), moment(reading.at), weights()
    assert spot.end is not None
    shares = [_tolerance(p.instrument) for p in on]
    off = math.hypot(max(shares), c["meter_off"]) / math.sqrt(3)
    base = _value(baseline) if baseline else None
    return read.Ohms(
        key=key_of(reading),
        opened=blocks.opened([ground.ends[spot.end]], at=at, lifted=lifted(reading)),
        because=(reading.entry, *(p.entry for p in on), *((baseline.entry,) if baseline else ())),
        when=at,
        end=spot.end,
        ohm=_value(reading),
        placed={p.spot.outlet: p.value for p in on if p.spot.outlet is not None and p.value},
        off=off,
        line_ohm=(c["line_least_ohm"], c["line_most_ohm"]),
        baseline=base,
    )


def _tolerance(words: str) -> float:
    """The tolerance of a part, `1 % part`, as a share."""
    said = _SHARE.search(words)
    return float(said[1].replace(",", ".")) / 100 if said else weights()["part_off"]


def equal(found: Sequence[read.Ohms], ground: Ground) -> Iterator[tuple[Ref, Ref, tuple[str, ...]]]:
    """Ends that read the same ohms while the same resistors were on: they may be joined out of sight."""
    for n, one in enumerate(found):
        for other in found[n + 1 :]:
            if one.ohm is None or other.ohm is None or one.placed != other.placed or one.end == other.end:
                continue
            if abs(math.log(one.ohm / other.ohm)) <= weights()["equal_ohm"] and one.ohm > 0:
                yield ground.ends[one.end], ground.ends[other.end], (one.because[0], other.because[0])

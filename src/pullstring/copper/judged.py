"""Runs of a site judged: what to expect of the copper, what was read, and which rates it may carry."""

from __future__ import annotations

import dataclasses

from pullstring.copper.cables import CableKind, cable_kind
from pullstring.copper.capability import Capability, judge_data
from pullstring.copper.expected import expected_capacitance, expected_loop
from pullstring.model.answers import Estimate, Interval
from pullstring.model.asbuilt import Reading, Site, Thing
from pullstring.model.wiring import Run, runs

TEMPERATURE_C = Interval(10, 30, "C")  # ours, assumed: inside a house, no reading taken
LENGTH_SPREAD = 0.05  # ours, assumed: a length noted without a reading is within 5 %


@dataclasses.dataclass(frozen=True)
class JudgedRun:
    """One run with what it can carry; `missing` names what nobody has noted, `read` the readings taken on it."""

    run: Run
    jackets: tuple[str, ...]
    capability: Capability
    loop: Estimate | None
    capacitance: Estimate | None
    length: Interval | None
    read: tuple[Reading, ...]
    missing: tuple[str, ...]
    whole: int | None
    because: tuple[str, ...]


def judged_runs(site: Site) -> tuple[JudgedRun, ...]:
    """All runs of a site, in the order of their closet ends."""
    return tuple(judge(site, run) for run in runs(site))


def judge(site: Site, run: Run) -> JudgedRun:
    """One run from what is noted of its cables and read on them."""
    cables = [c for c in (site.get(ref) for ref in run.cables) if c]
    kinds = [cable_kind(c.text("jacket")) for c in cables] or [cable_kind("unknown")]
    weakest = min(kinds, key=lambda k: (k.known, k.family == "data", k.usual_mbps))
    lengths = [c.number("length_m") for c in cables]
    known = [x for x in lengths if x is not None and x >= 0]
    length = _around(sum(known)) if cables and len(known) == len(cables) else None
    subjects = {run.start, *run.cables}
    read = tuple(r for r in site.readings if r.measured.subject in subjects)
    ran = [(r.measured.value_si or 0) / 1e6 for r in read if r.measured.quantity == "ran at" and r.measured.sign == "="]
    twisted = {c.text("twisted") for c in cables}
    capability = judge_data(
        kind=weakest,
        whole_pairs=whole_pairs(cables, run),
        joints=run.joints,
        taps=len(run.touching),
        shorted_pairs=0,
        twisted=False if "no" in twisted else True if twisted == {"yes"} else None,
        ran_mbps=max(ran, default=None),
        length=length,
    )
    missing = tuple(
        n
        for n, lacks in (
            ("length", length is None),
            ("jacket", not weakest.known),
            ("destination", not run.to),
            ("reading", not read),
        )
        if lacks
    )
    entries = (*run.because, *(e for c in cables for e in c.entries), *(r.entry for r in read))
    return JudgedRun(
        run,
        tuple(k.name for k in kinds),
        capability,
        _loop(cables, kinds, length),
        _capacitance(kinds, length),
        length,
        read,
        missing,
        whole_pairs(cables, run),
        tuple(dict.fromkeys(entries)),
    )


def whole_pairs(cables: list[Thing], run: Run) -> int | None:
    """Pairs proven whole: the smallest count of pairs, and only if every conductor was pinned out."""
    counts = [int(n) for c in cables if (n := c.number("pairs")) is not None and n >= 0]
    return min(counts) if counts and run.grade in ("pinned out", "qualified", "certified") else None


def _around(length_m: float) -> Interval:
    return Interval(length_m * (1 - LENGTH_SPREAD), length_m * (1 + LENGTH_SPREAD), "m", ("length_m",))


def _loop(cables: list[Thing], kinds: list[CableKind], length: Interval | None) -> Estimate | None:
    if length is None:
        return None
    noted = {g if (g := c.number("gauge_awg")) is not None and 0 <= g <= 40 else None for c in cables}
    if None in noted or not noted:
        low, high = min(k.awg.low for k in kinds), max(k.awg.high for k in kinds)
    else:
        gauges = [g for g in noted if g is not None]
        low, high = min(gauges), max(gauges)
    return expected_loop(length=length, awg=Interval(low, high, "AWG"), temperature=TEMPERATURE_C)


def _capacitance(kinds: list[CableKind], length: Interval | None) -> Estimate | None:
    if length is None:
        return None
    per_m = Interval(
        min(k.capacitance_f_per_m.low for k in kinds), max(k.capacitance_f_per_m.high for k in kinds), "F/m"
    )
    return expected_capacitance(length=length, capacitance_f_per_m=per_m)

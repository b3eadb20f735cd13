"""Runs of a site judged: what to expect of the copper, what was read, and which rates it may carry."""

from __future__ import annotations

import dataclasses
import datetime as dt

from pullstring.copper.cables import CableKind, cable_kind
from pullstring.copper.capability import Capability, Reason, RunFacts, judge_data, judge_out_of_use
from pullstring.copper.expected import expected_capacitance, expected_loop
from pullstring.copper.lengths import TEMPERATURE_C, by_jacket, settle
from pullstring.copper.read import Length, length_of_run
from pullstring.copper.series import cords_of
from pullstring.model.acts import ACTS
from pullstring.model.answers import Estimate, Interval
from pullstring.model.asbuilt import Reading, Site, Thing, once_a_site
from pullstring.model.damage import Damage, damage_of, mapped_pairs, scheme_of, together
from pullstring.model.grades import grade
from pullstring.model.when import parse_when
from pullstring.model.wiring import Run, ends_of, runs

GONE = ("out of use", "lost", "removed")
SHAKES = frozenset(act.name for act in ACTS.values() if act.stale)
"""Acts after which what ran before proves nothing: those that the act table says shake what a wire carries."""


@dataclasses.dataclass(frozen=True)
class JudgedRun:
    """One run with what it can carry; `missing` names what nobody has noted, `read` the readings taken on it."""

    run: Run
    jackets: tuple[str, ...]
    facts: RunFacts
    capability: Capability
    loop: Estimate | None
    capacitance: Estimate | None
    said: Length
    read: tuple[Reading, ...]
    missing: tuple[str, ...]
    whole: int | None
    damage: Damage
    scheme: str
    because: tuple[str, ...]
    ran_at: str

    @property
    def length(self) -> Interval | None:
        """Length of the run, None when nothing tells. [m]"""
        return self.said.interval

    @property
    def out_of_use(self) -> bool:
        """Whether a cable of it was noted as out of use, lost or removed."""
        return self.capability.reason is Reason.OUT_OF_USE


@once_a_site
def judged_runs(site: Site) -> tuple[JudgedRun, ...]:
    """All runs of a site, in the order of their closet ends."""
    return tuple(judge(site, run) for run in runs(site))


def judge(site: Site, run: Run) -> JudgedRun:
    """One run from what is noted of its cables and read on them."""
    cables = [c for c in (site.get(ref) for ref in run.cables) if c]
    kinds = [cable_kind(c.text("jacket")) for c in cables] or [cable_kind("unknown")]
    weakest = min(kinds, key=lambda k: (k.known, k.family == "data", k.usual_mbps))
    said = length_of_run(site, run)
    length = said.interval
    by_the_jacket = (
        settle(by_jacket(site, run)).interval or length
    )  # a reading is held against the way, not against itself
    subjects = {run.start, *run.cables}
    read = tuple(r for r in site.readings if r.measured.subject in subjects)
    facts = _facts(site, run, cables, weakest, length, read)
    gone = any(c.text("state") in GONE for c in cables)
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
    damaged = _damage(site, run)
    entries = (
        *run.because,
        *(e for c in cables for e in c.entries),
        *(r.entry for r in read),
        *damaged.because,
        *said.because,
    )
    return JudgedRun(
        run,
        tuple(k.name for k in kinds),
        facts,
        judge_out_of_use() if gone else judge_data(facts),
        _loop(cables, kinds, by_the_jacket),
        _capacitance(kinds, by_the_jacket),
        said,
        read,
        missing,
        facts.whole_pairs,
        damaged,
        scheme_of(site, run.cables[0], run.cables[0]) if run.cables else "T568B",
        tuple(dict.fromkeys(entries)),
        _ran_at(site, run, read),
    )


def _facts(
    site: Site, run: Run, cables: list[Thing], kind: CableKind, length: Interval | None, read: tuple[Reading, ...]
) -> RunFacts:
    ran = [(r.measured.value_si or 0) / 1e6 for r in read if _proves(site, run, r)]
    twisted = {c.text("twisted") for c in cables}
    cords = cords_of(site, run)
    return RunFacts(
        kind=kind,
        whole_pairs=whole_pairs(site, cables, run),
        joints=run.joints,
        taps=len([c for c in run.touching if c not in cords]),
        shorted_pairs=len(_damage(site, run).pairs),
        twisted=False if "no" in twisted else True if twisted == {"yes"} else None,
        ran_mbps=max(ran, default=None),
        length=length,
    )


def _ran_at(site: Site, run: Run, read: tuple[Reading, ...]) -> str:
    """When the highest rate that still proves the run was run; empty when none was."""
    proofs = [r for r in read if _proves(site, run, r)]
    best = max(proofs, key=lambda r: (r.measured.value_si or 0, r.at.latest), default=None)
    return best.at.text if best else ""


def _proves(site: Site, run: Run, reading: Reading) -> bool:
    """Whether a rate that was run proves this run: over all of it, not too long ago, and nothing was done to it since."""
    measured = reading.measured
    whole = measured.subject == run.start or run.cables == (measured.subject,)
    touched = {run.start, *run.cables, *(e for c in run.cables for e in ends_of(site, c))}
    since = any(
        d.at.latest >= reading.at.earliest and {d.subject, d.object} & touched for d in site.done if d.act in SHAKES
    )
    age = grade("ran").stale_after_days
    old = age is not None and parse_when(site.moment).latest - reading.at.earliest > dt.timedelta(days=age)
    return measured.quantity == "ran at" and measured.sign in ("=", ">") and whole and not since and not old


def _damage(site: Site, run: Run) -> Damage:
    return together([damage_of(site, c) for c in run.cables])


def whole_pairs(site: Site, cables: list[Thing], run: Run) -> int | None:
    """Pairs proven whole: those of a wire map over the whole run, or all but the damaged of one that was pinned out."""
    damaged = _damage(site, run).pairs
    mapped = mapped_pairs(site, run.cables[0]) if len(run.cables) == 1 else None
    if mapped:
        return sum(good for n, good in mapped.items() if n not in damaged)
    counts = [int(n) for c in cables if (n := c.number("pairs")) is not None and n >= 0]
    return (
        max(min(counts) - len(damaged), 0) if counts and run.grade in ("pinned out", "qualified", "certified") else None
    )


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

"""What one conductor of a cable costs in ohms, and on which pins a run was proven whole.

A reading outranks what length and gauge give: `wire resistance` of a wire, then half of the `loop resistance` of a pair.
Both count only until the cable was next worked on.
"""

from __future__ import annotations

import collections
from collections.abc import Mapping, Sequence

from pullstring.copper.cables import cable_kind
from pullstring.copper.expected import expected_loop
from pullstring.copper.judged import judged_runs
from pullstring.copper.lengths import TEMPERATURE_C, of_cable, settle
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Reading, Site, Thing
from pullstring.model.damage import WORK, damages, mapped_pairs, pin_of, scheme_of
from pullstring.model.refs import Ref
from pullstring.model.wiring import CORDS

UNKNOWN_M = Interval(0, 90, "m", ("length_m",))
"""A cable of unknown length: up to the 90 m of a permanent link (TIA-568, read in published texts)."""
PROOF_GRADES = ("pinned out", "qualified", "certified")
RAN = "ran"
TWO_PAIRS = frozenset({1, 2, 3, 6})
"""Pins that 10BASE-T and 100BASE-TX use, so all that a link at 100 Mb/s proves (IEEE 802.3, read in published texts)."""
ALL_PINS = frozenset(range(1, 9))
_NO_OHM = Interval(0.0, 0.0, "ohm")


class Ohms:
    """Ohms of the wires of a site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.read: dict[tuple[Ref, str], list[Reading]] = collections.defaultdict(list)
        for reading in site.readings:
            quantity = reading.measured.quantity
            if quantity in ("wire resistance", "loop resistance") and reading.measured.value_si is not None:
                self.read[reading.measured.subject, quantity].append(reading)
        self.known: dict[Ref, Interval] = {}

    def wire(self, cable: Ref, pair: Ref) -> tuple[Interval, tuple[str, ...]]:
        """Ohms of one wire of a pair from end to end, and the entries of the readings that said so."""
        ends = [e.ref for e in self.site.ends_by_cable.get(cable, ())]
        for quantity, share in (("wire resistance", 1.0), ("loop resistance", 0.5)):
            for subjects in ([pair], [cable, *ends] if self._alone(cable) else [cable]):
                found = self._last(cable, ends, subjects, quantity)
                if found:
                    return _hull(found, share), tuple(r.entry for r in found)
        if cable not in self.known:
            self.known[cable] = _computed(self.site, cable)
        return self.known[cable], ()

    def _alone(self, cable: Ref) -> bool:
        """Whether what is read at an end of the cable is of this cable alone: no joint lies at its ends."""
        ends = {e.ref for e in self.site.ends_by_cable.get(cable, ())}
        joined = any(ends & set(j.refs_of("ends")) for j in self.site.of_kind("joint") if j.stands)
        return not joined and not any(
            self.site.about(subject=e, relation="joined") or self.site.about(object=e, relation="joined") for e in ends
        )

    def _last(self, cable: Ref, ends: Sequence[Ref], subjects: Sequence[Ref], quantity: str) -> list[Reading]:
        """The readings of the last day on which any was taken, unless the cable was worked on since."""
        every = [r for s in subjects for r in self.read.get((s, quantity), ())]
        if not every:
            return []
        last = max(r.at.latest for r in every)
        worked = {cable, *ends}
        if any(d.act in WORK and {d.subject, d.object} & worked and d.at.latest > last for d in self.site.done):
            return []
        return [r for r in every if r.at.latest.date() == last.date()]


def _hull(readings: Sequence[Reading], share: float) -> Interval:
    """From the least to the greatest of several readings; one that says less than or more than is open on that side."""
    values = [(r.measured.value_si or 0.0) * share for r in readings]
    low = 0.0 if any(r.measured.sign == "<" for r in readings) else min(values)
    inputs = ("reading",) if low < max(values) else ()
    return Interval(max(low, 0.0), max(*values, 0.0), "ohm", inputs)


def _computed(site: Site, cable: Ref) -> Interval:
    """By length and gauge; a cord without a noted length counts nothing."""
    thing = site.get(cable)
    if thing is None:
        return _NO_OHM
    length = length_of(site, thing)
    if length is None:
        if thing.text("jacket") in CORDS:
            return _NO_OHM
        length = UNKNOWN_M
    gauge = thing.number("gauge_awg")
    awg = (
        Interval.exact(gauge, "AWG") if gauge is not None and 0 <= gauge <= 40 else cable_kind(thing.text("jacket")).awg
    )
    hottest = thing.number("temperature_c")
    temperature = Interval.exact(hottest, "C") if hottest is not None else TEMPERATURE_C
    loop = expected_loop(length=length, awg=awg, temperature=temperature).interval
    return Interval(loop.low / 2, loop.high / 2, "ohm", loop.inputs)


def length_of(site: Site, cable: Thing) -> Interval | None:
    """Length of a cable from its marks, a tape and what was noted; None when nobody knows. [m]"""
    return settle(of_cable(site, cable.ref)).interval


def proven_pins(site: Site) -> Mapping[Ref, frozenset[int]]:
    """Pins, as the near end counts them, on which each cable was proven whole: by a wire map, pinned out, or by what ran.

    A cord is taken as whole unless damage was found on it: it is changed when in doubt.
    """
    proven: dict[Ref, frozenset[int]] = {
        c.ref: ALL_PINS - _hurt(site, c.ref) for c in site.of_kind("cable") if c.text("jacket") in CORDS
    }
    for judged in judged_runs(site):
        run = judged.run
        pins: frozenset[int] = frozenset()
        ran = max((r.mbps for r in judged.capability.rates if str(r.reason) == RAN), default=0)
        if run.grade in PROOF_GRADES or ran >= 1000:
            pins = ALL_PINS
        elif ran:
            pins = TWO_PAIRS
        for cable in run.cables:
            mapped = mapped_pairs(site, cable) or {}
            scheme = scheme_of(site, cable, cable)
            clean = {p for n, good in mapped.items() if good for s in "ab" if (p := pin_of((n, s), scheme))}
            found = (pins | clean) - _hurt(site, cable) if mapped or pins else pins
            proven[cable] = proven.get(cable, frozenset()) | found
    return proven


def _hurt(site: Site, cable: Ref) -> frozenset[int]:
    """Pins whose pair is open or crackles; a short is told by what touches."""
    damage = damages(site).get(cable)
    if damage is None:
        return frozenset()
    scheme = scheme_of(site, cable, cable)
    pairs = {n for n, _ in damage.open} | damage.noisy
    return frozenset(p for n in pairs for s in "ab" if (p := pin_of((n, s), scheme)))

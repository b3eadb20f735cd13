"""How long a run is: from metre marks, a tape, a note, loop ohms and capacitance, and what it means when they disagree.

House rules
-----------
1. All that agree are taken together: the answer is what every one of them allows.
2. Where they disagree the jacket is believed before the note, the note before the meter, and all of them before an estimate;
   among meter readings the shorter, since joints add ohms and branches add farads.
3. A capacitance that is too small for the way tells where a pair is open, so it is no length of the run.
4. A disagreement is a finding with the causes that fit and the amount too many; it is never averaged away.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterable, Sequence

from pullstring.copper.cables import cable_kind
from pullstring.copper.readings import (
    length_by_capacitance,
    length_by_loop,
    length_by_marks,
    overlap,
)
from pullstring.copper.taken import Taken, readings_at
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Field, Site
from pullstring.model.refs import Ref
from pullstring.model.wiring import Run, ends_of

TEMPERATURE_C = Interval(10, 30, "C")  # ours, assumed: inside a house, no reading taken
WARMED_C = 20.0  # ours, assumed: a cable noted by its hottest place may be this much colder elsewhere
MARK_SPREAD_M = 1.0  # ours, assumed: each mark is read within half a metre
TAPE_SHARE, TAPE_STEP_M = 0.02, 0.1  # ours, assumed: a tape along a cable
NOTED_SHARE = {"assumed": 0.15, "told": 0.10}  # ours, assumed: a length noted by that grade
NOTED_SHARE_ELSE = 0.05  # ours, assumed: a length noted by a better one


class Source(enum.StrEnum):
    """From what a length was taken."""

    MARKS = "marks"
    TAPE = "tape"
    NOTED = "noted"
    ESTIMATED = "estimated"
    PARTS = "parts"
    LOOP = "loop"
    CAPACITANCE = "capacitance"
    BOTH_ENDS = "both_ends"


TRUST = (Source.MARKS, Source.TAPE, Source.PARTS, Source.NOTED)
"""Sources that speak of the jacket, the most trusted first."""


@dataclasses.dataclass(frozen=True)
class LengthFrom:
    """A length by one source, the pair it was read on (0: none), the entries it stands on, and what was assumed."""

    source: Source
    interval: Interval
    pair: int
    because: tuple[str, ...]
    assumed: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Wire:
    """What the wire of a run may be: gauge, farads per metre, temperature, each with its entries; codes of what was assumed."""

    awg: Interval
    awg_because: tuple[str, ...]
    farads: Interval
    farads_because: tuple[str, ...]
    temperature: Interval
    temperature_because: tuple[str, ...]

    def temperature_of(self, taken: Taken) -> Interval:
        """The temperature of the copper while a reading was taken: as its conditions say, else as noted, else assumed."""
        said = taken.conditions.temperature_c
        return self.temperature if said is None else Interval.exact(said, "C")


@dataclasses.dataclass(frozen=True)
class Settled:
    """Sources taken together: what they allow, whether they agree (None: only one), and who was not believed."""

    interval: Interval | None
    agree: bool | None
    against: tuple[LengthFrom, ...]


def wire_of(site: Site, run: Run) -> Wire:
    """Gauge, capacitance and temperature of a run: as noted of its cables, else the spread of the kinds of their jackets."""
    gauges, farads = [], []
    awg_because: list[str] = []
    farads_because: list[str] = []
    warm: list[float] = []
    warm_because: list[str] = []
    for ref in run.cables or (None,):
        cable = site.get(ref)
        fields = cable.fields if cable else {}
        kind = cable_kind(cable.text("jacket") if cable else "")
        gauge = cable.number("gauge_awg") if cable else None
        noted = gauge is not None and 0 <= gauge <= 40
        gauges.append(Interval.exact(gauge, "AWG") if noted and gauge is not None else kind.awg)
        farads.append(kind.capacitance_f_per_m)
        awg_because += _entry(fields.get("gauge_awg" if noted else "jacket"))
        farads_because += _entry(fields.get("jacket"))
        hottest = cable.number("temperature_c") if cable else None
        if hottest is not None:
            warm.append(hottest)
            warm_because += _entry(fields.get("temperature_c"))
    hottest = max(warm, default=TEMPERATURE_C.high)
    temperature = Interval(min(TEMPERATURE_C.low, hottest - WARMED_C), hottest, "C") if warm else TEMPERATURE_C
    return Wire(_hull(gauges), (*awg_because,), _hull(farads), (*farads_because,), temperature, (*warm_because,))


def by_jacket(site: Site, run: Run) -> tuple[LengthFrom, ...]:
    """Lengths from marks, tape and notes; of several cables in series the sum, when every one of them has a length."""
    found = [of_cable(site, cable) for cable in run.cables]
    if len(found) == 1:
        return found[0]
    parts = [(settle(sources).interval, sources) for sources in found]
    known = [part for part, _ in parts if part is not None]
    if not found or len(known) < len(found):
        return ()
    inputs = tuple(dict.fromkeys(name for part in known for name in part.inputs))
    total = Interval(sum(p.low for p in known), sum(p.high for p in known), "m", inputs)
    because = tuple(dict.fromkeys(e for _, sources in parts for s in sources for e in s.because))
    return (LengthFrom(Source.PARTS, total, 0, because),)


def by_reading(wire: Wire, taken: Taken) -> LengthFrom | None:
    """The length that a reading of a loop or of a capacitance gives; None for one that does not count."""
    if taken.rejected is not None or taken.value is None:
        return None
    if taken.loop:
        temperature = wire.temperature_of(taken)
        length = length_by_loop(loop=taken.value, awg=wire.awg, temperature=temperature)
        said = taken.conditions.temperature_c is not None
        because = (*taken.because, *wire.awg_because, *(() if said else wire.temperature_because))
        assumed = taken.assumed if said or wire.temperature_because else (*taken.assumed, "temperature")
        return LengthFrom(Source.LOOP, length, taken.pair, tuple(dict.fromkeys(because)), assumed)
    if taken.quantity == "capacitance":
        length = length_by_capacitance(capacitance=taken.value, capacitance_f_per_m=wire.farads)
        because = tuple(dict.fromkeys((*taken.because, *wire.farads_because)))
        return LengthFrom(Source.CAPACITANCE, length, taken.pair, because, taken.assumed)
    return None


def settle(sources: Sequence[LengthFrom]) -> Settled:
    """What several lengths say together, by house rules 1 and 2."""
    together = overlap(lengths=[s.interval for s in sources])
    if together is not None or not sources:
        return Settled(together, True if len(sources) > 1 else None, ())
    believed = _believed(sources)
    against = tuple(s for s in sources if s not in believed)
    return Settled(overlap(lengths=[s.interval for s in believed]), False, against)


def _believed(sources: Sequence[LengthFrom]) -> list[LengthFrom]:
    """The most trusted source, or the shortest reading, with all that agree with it, taken in order of trust."""

    def order(s: LengthFrom) -> tuple[int, float]:
        if s.source in TRUST:
            return TRUST.index(s.source), s.interval.high
        return (len(TRUST) + (s.source is Source.ESTIMATED)), s.interval.high

    believed: list[LengthFrom] = []
    for source in sorted(sources, key=order):
        if overlap(lengths=[*(s.interval for s in believed), source.interval]) is not None:
            believed.append(source)
    return believed


def of_cable(site: Site, cable: Ref) -> tuple[LengthFrom, ...]:
    """Lengths of one cable from marks, tape and notes."""
    found: list[LengthFrom] = []
    marked = [e for e in (site.get(r) for r in ends_of(site, cable)) if e and e.number("mark_m") is not None]
    if len(marked) == 2:
        near_m, far_m = (e.number("mark_m") or 0.0 for e in marked)
        interval = length_by_marks(near_m=near_m, far_m=far_m, spread_m=MARK_SPREAD_M)
        because = tuple(e.fields["mark_m"].last.entry for e in marked)
        found.append(LengthFrom(Source.MARKS, interval, 0, because))
    found += _taped(site, {cable, *ends_of(site, cable)})
    thing = site.get(cable)
    noted = thing.number("length_m") if thing else None
    if thing and noted is not None and noted >= 0:
        account = thing.fields["length_m"].last
        grade = account.evidence.grade
        off = noted * NOTED_SHARE.get(grade, NOTED_SHARE_ELSE)
        source = Source.ESTIMATED if grade == "assumed" else Source.NOTED
        found.append(LengthFrom(source, _around(noted, off), 0, (account.entry,)))
    return tuple(found)


def _taped(site: Site, subjects: Iterable[Ref]) -> list[LengthFrom]:
    """Readings of a length: along the marks, or along the cable with a tape."""
    found = []
    for reading in readings_at(site, subjects):
        measured = reading.measured
        metres = measured.value_si
        if measured.quantity == "length" and measured.sign == "=" and metres is not None:
            by_marks = "mark" in f"{measured.evidence.conditions} {measured.evidence.instrument}".casefold()
            off = MARK_SPREAD_M if by_marks else metres * TAPE_SHARE + TAPE_STEP_M
            source = Source.MARKS if by_marks else Source.TAPE
            found.append(LengthFrom(source, _around(metres, off), 0, (reading.entry,)))
    return found


def _around(metres: float, off: float) -> Interval:
    return Interval(max(metres - off, 0.0), metres + off, "m", ("length_m",) if off else ())


def _entry(field: Field | None) -> list[str]:
    return [field.last.entry] if field else []


def _hull(ranges: Sequence[Interval]) -> Interval:
    return Interval(min(r.low for r in ranges), max(r.high for r in ranges), ranges[0].unit)

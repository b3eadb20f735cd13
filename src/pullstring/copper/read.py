"""What every reading on a run says, and how long the run is. Codes only; the sentences live with the words of the pages.

House rules
-----------
1. What is connected comes first: a reading that no copper could give is no length, and a resistor that nobody placed means
   stop and ask the company.
2. A reading is compared with what the other sources expect of it, never with itself.
3. `because` names every entry that counted: without one of them the answer is wider, less confirmed, or assumes more.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Sequence

from pullstring.copper.expected import Compared, Verdict, compare, expected_capacitance, expected_loop, expected_wire
from pullstring.copper.legs import WirePair, blame, wire_ohm
from pullstring.copper.lengths import LengthFrom, Settled, Source, Wire, by_jacket, by_reading, settle, wire_of
from pullstring.copper.open_pairs import Open, open_pairs
from pullstring.copper.readings import Cause, what_capacitor, what_resistor
from pullstring.copper.taken import LEAST_OHM, Rejected, Taken, taken_on
from pullstring.model.answers import Interval, spread
from pullstring.model.asbuilt import Reading, Site
from pullstring.model.wiring import Run

LONGEST_M = 300.0  # ours, assumed: no house run is longer; three times the longest standard link
PART_SHARE = 0.01  # ours, assumed: a coded resistor is a 1 % part
CODED_LOOP_OHM = 20.0  # ours, assumed: wire that may lie between a coded resistor and the meter
DO_NOT_FIT = WirePair(Cause.WIRES_DO_NOT_FIT, 0, None, None)
OPEN_TO_RESISTOR = (None, Rejected.NOT_SAID_SHORTED, Rejected.FAR_OPEN)


@dataclasses.dataclass(frozen=True)
class Said:
    """One reading: whether it counts, what it says of length, what is connected, and how it stands against the others."""

    taken: Taken
    rejected: Rejected | None
    causes: tuple[Cause, ...]
    length: Interval | None
    compared: Compared
    assumed: tuple[str, ...]
    because: tuple[str, ...]

    @property
    def stop(self) -> bool:
        """Whether nothing may be done on it before its company was asked."""
        return Cause.STOP_ASK_COMPANY in self.causes


@dataclasses.dataclass(frozen=True)
class Refused:
    """A reading or a length that was not used, and why; `because` are the entries that speak against it."""

    entry: str
    quantity: str
    reason: Rejected
    causes: tuple[Cause, ...]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Finding:
    """A disagreement: causes that fit, likeliest first, and how much is too many [ohm or m]."""

    causes: tuple[Cause, ...]
    source: Source
    pair: int
    amount: Interval | None
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Wires:
    """The two wires of a pair: what they say, with the entries."""

    pair: int
    said: WirePair
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Length:
    """How long a run is; `interval` is None when nothing tells. `agree` is None with one source alone. [m]"""

    interval: Interval | None
    sources: tuple[LengthFrom, ...]
    narrowest: Source | None
    agree: bool | None
    findings: tuple[Finding, ...]
    opens: tuple[Open, ...]
    wires: tuple[Wires, ...]
    rejected: tuple[Refused, ...]
    assumed: tuple[str, ...]
    because: tuple[str, ...]


def length_of_run(site: Site, run: Run) -> Length:
    """How long a run is, from which sources, what the readings found on the way, and which were not used."""
    wire = wire_of(site, run)
    known = [_known(site, wire, t) for t in taken_on(site, run)]
    taken = [t for t, _ in known]
    sources, opens = _sources(site, run, wire, taken)
    settled = settle(sources)
    wires = tuple(_wires(taken, wire, _way(site, run, wire, taken, without=("loop", "wire"))))
    findings = tuple(_findings(settled, wire, taken, sources, wires))
    refused = [Refused(t.reading.entry, t.quantity, t.rejected, causes, t.because) for t, causes in known if t.rejected]
    refused += [_disbelieved(s) for s in settled.against]
    used = [s.because for s in sources] + [o.because for o in opens] + [w.because for w in wires]
    assumed = [s.assumed for s in sources] + [o.assumed for o in opens]
    return Length(
        settled.interval,
        tuple(sources),
        min(sources, key=_width).source if sources else None,
        settled.agree,
        findings,
        opens,
        wires,
        tuple(refused),
        tuple(dict.fromkeys(itertools.chain(*assumed))),
        tuple(dict.fromkeys(itertools.chain(*used))),
    )


def readings_of_run(site: Site, run: Run) -> tuple[Said, ...]:
    """Every reading of ohms and farads on a run, in the order of the record, with what it says."""
    wire = wire_of(site, run)
    known = [_known(site, wire, t) for t in taken_on(site, run)]
    taken = [t for t, _ in known]
    wires = tuple(_wires(taken, wire, _way(site, run, wire, taken, without=("loop", "wire"))))
    out = []
    for t, connected in known:
        own = by_reading(wire, t)
        others = _way(site, run, wire, [o for o in taken if o is not t], without=("wire",))
        compared = _compared(wire, t, others, wires)
        causes = connected or compared.causes
        assumed = own.assumed if own else t.assumed
        because = tuple(dict.fromkeys((*(own.because if own else t.because), *(others.because if others else ()))))
        out.append(Said(t, t.rejected, causes, own.interval if own else None, compared, assumed, because))
    return tuple(out)


def _known(site: Site, wire: Wire, taken: Taken) -> tuple[Taken, tuple[Cause, ...]]:
    """A reading with what is connected there; such a reading is no length."""
    if taken.value is None:
        ohms = taken.quantity != "capacitance" and taken.rejected is Rejected.NO_VALUE
        return taken, (Cause.OPEN_OR_LEAK,) if ohms and _beyond_copper(wire, taken) else ()
    if taken.quantity == "capacitance" and taken.rejected in (None, Rejected.TOUCHING):
        part = what_capacitor(capacitance=taken.value, capacitance_f_per_m=wire.farads, longest_m=LONGEST_M)
        causes: tuple[Cause, ...] = (part,) if part else ()
        placed: tuple[str, ...] = ()
    elif taken.quantity != "capacitance" and taken.rejected in OPEN_TO_RESISTOR:
        causes, placed = _resistor(site, wire, taken)
    else:
        return taken, ()
    if not causes:
        return taken, ()
    because = tuple(dict.fromkeys((*taken.because, *placed)))
    return dataclasses.replace(taken, rejected=Rejected.CONNECTED, because=because), causes


def _beyond_copper(wire: Wire, taken: Taken) -> bool:
    """Whether the meter showed no closed loop, or more than it can show of copper."""
    least = taken.reading.measured.value_si
    if least is None:
        return True
    at_least = Interval.exact(least, "ohm")
    temperature = wire.temperature_of(taken)
    return what_resistor(resistance=at_least, awg=wire.awg, temperature=temperature, longest_m=LONGEST_M) is not None


def _resistor(site: Site, wire: Wire, taken: Taken) -> tuple[tuple[Cause, ...], tuple[str, ...]]:
    assert taken.value is not None
    part = what_resistor(
        resistance=taken.value, awg=wire.awg, temperature=wire.temperature_of(taken), longest_m=LONGEST_M
    )
    if part is None or part is Cause.OPEN_OR_LEAK:
        return ((part,) if part else ()), ()
    coded = _coded(site, taken.value, taken.reading)
    return ((Cause.CODED_RESISTOR,), coded) if coded else ((part, Cause.STOP_ASK_COMPANY), ())


def _coded(site: Site, value: Interval, reading: Reading) -> tuple[str, ...]:
    """The placed resistor, or the two in parallel, that a reading could be; a single one before two."""
    placed = [
        r
        for r in site.readings
        if r.measured.quantity == "resistor placed" and r.measured.value_si and r.at.earliest <= reading.at.latest
    ]
    singles = [((r.entry,), r.measured.value_si or 0.0) for r in placed]
    doubles = [((*a[0], *b[0]), a[1] * b[1] / (a[1] + b[1])) for a, b in itertools.combinations(singles, 2)]
    for group in (singles, doubles):
        fits = [
            (abs(ohm - value.middle), entries)
            for entries, ohm in group
            if value.high >= ohm * (1 - PART_SHARE) and value.low <= ohm * (1 + PART_SHARE) + CODED_LOOP_OHM
        ]
        if fits:
            return min(fits)[1]
    return ()


def _sources(site: Site, run: Run, wire: Wire, taken: Sequence[Taken]) -> tuple[list[LengthFrom], tuple[Open, ...]]:
    """All lengths, with the capacitances of open pairs taken out."""
    jacket = list(by_jacket(site, run))
    loops = [s for t in taken if t.loop and (s := by_reading(wire, t))]
    way = settle([*jacket, *loops])
    because = tuple(dict.fromkeys(e for s in (*jacket, *loops) if s not in way.against for e in s.because))
    opens, both = open_pairs(taken, wire, way=way.interval, because=because)
    broken = {o.pair for o in opens}
    farads = [s for t in taken if t.quantity == "capacitance" and t.pair not in broken and (s := by_reading(wire, t))]
    return [*jacket, *loops, *both, *farads], opens


@dataclasses.dataclass(frozen=True)
class _Way:
    """The length that a reading is held against, with its entries."""

    interval: Interval
    because: tuple[str, ...]


def _way(site: Site, run: Run, wire: Wire, taken: Sequence[Taken], *, without: tuple[str, ...]) -> _Way | None:
    kept = [t for t in taken if not (t.loop and "loop" in without) and t.quantity != "wire resistance"]
    sources, _ = _sources(site, run, wire, kept)
    settled = settle(sources)
    if settled.interval is None:
        return None
    return _Way(
        settled.interval, tuple(dict.fromkeys(e for s in sources if s not in settled.against for e in s.because))
    )


def _compared(wire: Wire, taken: Taken, way: _Way | None, wires: Sequence[Wires]) -> Compared:
    if taken.rejected is not None or way is None:
        return compare(quantity=taken.quantity, read=None, expected=None)
    given = {"length": way.interval, "awg": wire.awg, "temperature": wire.temperature_of(taken)}
    if taken.quantity == "capacitance":
        expected = expected_capacitance(length=way.interval, capacitance_f_per_m=wire.farads)
    elif taken.quantity == "wire resistance" and len(taken.wire) < 2:
        expected = expected_wire(**given)
    else:
        expected = expected_loop(**given)
    found = compare(quantity=taken.quantity, read=taken.value, expected=expected.interval)
    if found.verdict is Verdict.ABOVE and taken.quantity != "capacitance":
        return dataclasses.replace(found, causes=_by_wires(taken.pair, wires, found.causes))
    return found


def _by_wires(pair: int, wires: Sequence[Wires], causes: tuple[Cause, ...]) -> tuple[Cause, ...]:
    """Single wires decide between a bad joint and other wire."""
    said = next((w.said for w in wires if w.pair == pair), None)
    if said is None or said.cause is None:
        return causes
    if said.cause in (Cause.BAD_JOINT, Cause.WIRES_DO_NOT_FIT):
        return (said.cause,) if said.cause is Cause.BAD_JOINT else causes
    return tuple(c for c in causes if c is not Cause.BAD_JOINT)


def _findings(
    settled: Settled, wire: Wire, taken: Sequence[Taken], sources: Sequence[LengthFrom], wires: Sequence[Wires]
) -> Iterator[Finding]:
    for against in settled.against:
        assert settled.interval is not None
        found = compare(quantity=against.source, read=against.interval, expected=settled.interval)
        over = Interval(
            max(against.interval.low - settled.interval.high, 0.0),
            max(against.interval.high - settled.interval.low, 0.0),
            "m",
            tuple(dict.fromkeys((*against.interval.inputs, *settled.interval.inputs))),
        )
        causes, amount = found.causes, over if found.verdict is Verdict.ABOVE else None
        if against.source is Source.ESTIMATED:
            causes, amount = (Cause.ESTIMATE_WRONG,), None
        elif against.source is Source.LOOP:
            reading = next(t for t in taken if t.loop and t.pair == against.pair and t.reading.entry in against.because)
            compared = _compared(wire, reading, _Way(settled.interval, ()), wires)
            causes = _longer_first(against, sources, compared.causes)
            amount = _too_many(compared)
        elif against.source in (Source.CAPACITANCE, Source.BOTH_ENDS):
            above = found.verdict is Verdict.ABOVE
            causes = _longer_first(against, sources, (Cause.TAP_OR_RINGER,)) if above else (Cause.CUT,)
        because = tuple(dict.fromkeys(e for s in sources for e in s.because))
        yield Finding(causes, against.source, against.pair, amount, because)


def _longer_first(against: LengthFrom, sources: Sequence[LengthFrom], causes: tuple[Cause, ...]) -> tuple[Cause, ...]:
    """When ohms and farads both say the same longer way, the way is longer; when only one does, it is not."""
    electric = {Source.LOOP: (Source.CAPACITANCE, Source.BOTH_ENDS)}.get(against.source, (Source.LOOP,))
    others = [s for s in sources if s.source in electric]
    agree = [s for s in others if settle([s, against]).agree]
    rest = tuple(c for c in causes if c is not Cause.LONGER_WAY)
    if agree:
        return (Cause.LONGER_WAY, *rest)
    return rest if others else causes


def _too_many(compared: Compared) -> Interval | None:
    read, expected = compared.read, compared.expected
    if read is None or expected is None or compared.verdict is not Verdict.ABOVE:
        return None
    inputs = tuple(dict.fromkeys((*read.inputs, *expected.inputs)))
    return Interval(read.low - expected.high, read.high - expected.low, "ohm", inputs)


def _disbelieved(source: LengthFrom) -> Refused:
    return Refused(source.because[0], source.source, Rejected.DISAGREES, (), source.because)


def _wires(taken: Sequence[Taken], wire: Wire, way: _Way | None) -> Iterator[Wires]:
    """Pairs of which both single wires are known, read alone or solved from three loops."""
    counted = [t for t in taken if t.quantity == "wire resistance" and t.rejected is None and t.value is not None]
    for pair in sorted({t.pair for t in counted}):
        said = {t.wire: t for t in counted if t.pair == pair}
        first, second = (_alone(said, n) for n in "12")
        if first is None or second is None:
            continue
        one = next(iter(said.values()))
        given = {"awg": wire.awg, "temperature": wire.temperature_of(one)}
        expected = expected_wire(length=way.interval, **given).interval if way else None
        because = (*(e for t in said.values() for e in t.because), *wire.awg_because, *(way.because if way else ()))
        fit = min(first.high, second.high) > LEAST_OHM
        found = blame(first=first, second=second, expected=expected) if fit else DO_NOT_FIT
        yield Wires(pair, found, tuple(dict.fromkeys(because)))


def _alone(said: dict[str, Taken], number: str) -> Interval | None:
    """One wire as read, or from the three loops over it, its mate and a third."""
    if number in said:
        return said[number].value
    loops = [said[key].value for key in ("12", "13", "23") if key in said]
    if len(loops) < 3:
        return None
    mate, third, other = loops if number == "1" else (loops[0], loops[2], loops[1])
    assert mate and third and other
    found = spread(wire_ohm, "ohm", with_second_ohm=mate, with_third_ohm=third, second_third_ohm=other)
    return Interval(max(found.low, LEAST_OHM), max(found.high, LEAST_OHM), "ohm", found.inputs)


def _width(source: LengthFrom) -> float:
    return source.interval.high - source.interval.low

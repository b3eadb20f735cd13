"""Every powered port of a site against all that it reaches: mode match, volts and watts at the device, what is a danger."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Sequence
from typing import Literal, cast

from pullstring.copper.capability import Reason, usable_pairs
from pullstring.copper.expected import expected_loop
from pullstring.copper.judged import JudgedRun, judged_runs
from pullstring.model.answers import Band, Interval
from pullstring.model.asbuilt import Claim, Site, Thing, once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.refs import Ref
from pullstring.model.wiremap import SCHEMES
from pullstring.model.wiring import cable_of, ends_of
from pullstring.power.modes import ALTERNATIVES, PortPower, Wires, match_over
from pullstring.power.reachable import Reach, Reached, What, reachable
from pullstring.power.verdicts import Code, Match, Mode, Said, with_more, worst_of
from pullstring.power.wants import over_class, shared_load, wants

POWERED = {"802.3af": Mode.AF, "802.3at": Mode.AT, "802.3bt": Mode.BT, "24 V always-on": Mode.ALWAYS_24V}
SUPPLY_24V = Interval(24.0, 24.0, "V")  # the nominal value; ask for a reading at the injector
PAIR_NAMES = {n: "-".join(map(str, sorted(pins))) for n, pins in enumerate(SCHEMES["T568B"], 1)}
ALL_PAIRS = frozenset(PAIR_NAMES.values())
UNKNOWN_LOOP = expected_loop(
    length=Interval(0, 90, "m", ("length_m",)), awg=Interval(22, 26, "AWG"), temperature=Interval(10, 30, "C")
).interval
"""A run of unknown length: up to the 90 m of a permanent link (TIA-568, read in published texts), 22 to 26 AWG (ours, assumed)."""
WEAK = ("assumed", "told")


@dataclasses.dataclass(frozen=True)
class Matched:
    """One unit within reach of a port, and whether they fit."""

    reached: Reached
    match: Match


@dataclasses.dataclass(frozen=True)
class JudgedPort:
    """One port, all that it reaches, and whether they fit.

    `device` is the nearest unit, None when nothing is known there, and `match` is of that one alone; `every` holds all
    units within reach. `verdict` is the worst over everything reached, open jacks and lines of others included.
    """

    port: Ref
    mode: str
    limit_w: float | None
    run: JudgedRun | None
    device: Ref | None
    outlet: Ref | None
    match: Match | None
    because: tuple[str, ...]
    reach: Reach
    every: tuple[Matched, ...]
    verdict: Match | None


@once_a_site
def judged_ports(site: Site) -> tuple[JudgedPort, ...]:
    """All ports that give power over data wires, in their order."""
    return tuple(
        judge_port(site, port=port.ref, gives=port.text("gives"))
        for port in site.of_kind("port")
        if port.text("gives") in POWERED and port.stands and _unit_stands(site, port.ref)
    )


@once_a_site
def judge_port(site: Site, *, port: Ref, gives: str) -> JudgedPort:
    """One port as if it gave what is named: a mode, or `nothing`."""
    thing = site.get(port) or Thing(port, {}, ())
    plug, other = _plug(site, port)
    run = _runs_by_end(site).get(other) if other and other.kind == "end" else None
    outlet = next((outlet_of(to) for to in run.run.to if to.kind in ("outlet", "jack")), None) if run else None
    reach = reachable(site, port=port, gives=gives)
    power = PortPower(
        POWERED.get(gives, Mode.OFF if gives == "nothing" else None),
        _supply(site, port, gives),
        None,
        cast(Literal["A", "B"] | None, thing.text("alternative") or None),
        thing.number("limit_w"),
    )
    every = tuple(_matched(site, power, reach, reach.reached, ()))
    every = tuple(sorted(every, key=lambda m: (m.reached.maybe, len(m.reached.path), m.reached.ref)))
    device = every[0].reached.ref if every else _device(site, other, run, outlet)
    found = every[0].match if every else _unwired(site, power, device, run)
    entries = (*thing.entries, *(plug.entries if plug else ()), *(run.because if run else ()), *reach.because)
    entries += tuple(e for r in reach.everything for e in r.because)
    return JudgedPort(
        port,
        gives,
        power.limit_w,
        run,
        device,
        outlet,
        found,
        tuple(dict.fromkeys(e for e in entries if e)),
        reach,
        every,
        _verdict(power.mode, reach, every, found),
    )


@once_a_site
def _runs_by_end(site: Site) -> dict[Ref, JudgedRun]:
    return {j.run.start: j for j in judged_runs(site)}


def _plug(site: Site, port: Ref) -> tuple[Claim | None, Ref | None]:
    plugs = [*site.about(relation="plugged", object=port), *site.about(subject=port, relation="plugged")]
    plug = next((p for p in plugs if not p.contradicted), plugs[0] if plugs else None)
    return plug, (plug.object if plug.subject == port else plug.subject) if plug else None


def _unit_stands(site: Site, port: Ref) -> bool:
    unit = site.get(Ref("unit", port.parent_tag)) if port.parent_tag else None
    return unit is None or unit.stands


def _supply(site: Site, port: Ref, gives: str) -> Interval | None:
    """Volts at the port: as last read there, else the nominal 24 V; a standard port's own range is the law's."""
    read = [
        r
        for r in site.readings
        if r.measured.subject == port and r.measured.quantity == "volts DC" and abs(r.measured.value_si or 0) >= 1
    ]
    if read:
        volts = abs(max(read, key=lambda r: r.at.latest).measured.value_si or 0)
        return Interval.exact(volts, "V")
    return SUPPLY_24V if POWERED.get(gives) is Mode.ALWAYS_24V else None


def _matched(
    site: Site, port: PortPower, reach: Reach, there: Sequence[Reached], before: tuple[Interval, ...]
) -> Iterator[Matched]:
    """Units on the same wires, each with what hangs behind it; `before` are the loops that its power has passed already."""
    for one in there:
        if one.what is What.UNIT:
            yield Matched(one, _match(site, port, reach, one, [r for r in there if r is not one], before))
            yield from _matched(site, port, reach, one.beyond, (*before, _loop_over(port, one)))


def _match(
    site: Site, port: PortPower, reach: Reach, one: Reached, there: Sequence[Reached], before: tuple[Interval, ...]
) -> Match:
    """One unit, with all else that hangs on the same wires."""
    others = [r for r in there if r.what not in (What.OPEN_JACK, What.UNKNOWN_END)]
    device = wants(site, one.ref, one.beyond)
    if port.mode is Mode.ALWAYS_24V and device.mode is Mode.ALWAYS_24V:
        also = [wants(site, r.ref, r.beyond) for r in others if r.what is What.UNIT]
        device = shared_load(device, [d for d in also if d.mode is Mode.ALWAYS_24V])
    shared = frozenset(pin for r in others if r.ref != one.ref for pin, _ in r.pins)
    found = match_over(port=port, device=device, wires=_wires(port, reach, one, shared, before))
    said: list[Said] = list(over_class(site, one.ref, device))
    if one.grade in WEAK:
        said.append((Band.POSSIBLE, Code.WAY_ONLY_TOLD))
    found = with_more(found, said, port.mode)
    return _if_it_gets_there(found) if one.maybe else found


def _if_it_gets_there(found: Match) -> Match:
    """Behind a second port of which nobody knows whether it hands power on: no danger is proven, and no power promised."""
    codes = tuple(dict.fromkeys((Code.SECOND_PORT_UNKNOWN, *found.because)))
    return Match(Band.POSSIBLE, Code.SECOND_PORT_UNKNOWN, None, None, False, codes)


def _loop_over(port: PortPower, one: Reached) -> Interval:
    """Out and back to a unit over the pairs that the port uses, or over either where nobody knows which. [ohm]"""
    used = port.alternative or ("B" if port.mode is Mode.ALWAYS_24V else None)
    ways = [ALTERNATIVES[used]] if used else list(ALTERNATIVES.values())
    loops = [loop for way in ways if (loop := one.loop(way)) is not None]
    return _hull(loops) if loops else UNKNOWN_LOOP


def _wires(port: PortPower, reach: Reach, one: Reached, shared: frozenset[int], before: tuple[Interval, ...]) -> Wires:
    serves, crossed = _serving(one.lands, always=port.mode is Mode.ALWAYS_24V)
    whole = frozenset(p for p in serves if one.proven.issuperset(_pins(p)) and not one.maybe)
    reversed_poles = one.lands["4-5"] == "7-8" and one.lands["7-8"] == "4-5"
    if port.mode is Mode.ALWAYS_24V:
        serves = serves | ({"4-5", "7-8"} if reversed_poles else set())
        whole = whole | (frozenset({"4-5", "7-8"}) if reversed_poles else frozenset())
        crossed = crossed - serves
    return Wires(
        whole,
        frozenset(serves) - whole,
        frozenset(crossed),
        reach.shorts,
        shared,
        reversed_poles and port.mode is Mode.ALWAYS_24V,
        _sum([*before, _loop_over(port, one)]),
    )


def _sum(loops: Sequence[Interval]) -> Interval:
    inputs = dict.fromkeys(i for x in loops for i in x.inputs)
    return Interval(sum(x.low for x in loops), sum(x.high for x in loops), "ohm", tuple(inputs))


def _pins(pair: str) -> tuple[int, ...]:
    return tuple(int(p) for p in pair.split("-"))


def _serving(lands: object, *, always: bool) -> tuple[set[str], set[str]]:
    """Pairs that arrive where they serve, and those that arrive elsewhere.

    A standard device takes power on either alternative and in either sense (IEEE 802.3 clause 33, from memory), so an
    alternative may arrive exchanged or on the other one, but whole. A 24 V device is taken to want each pair in its place.
    """
    there = cast(dict[str, str | None], lands)
    serves = {p for p, q in there.items() if p == q}
    for way in ALTERNATIVES.values():
        if not always and {there[p] for p in way} in [set(a) for a in ALTERNATIVES.values()]:
            serves |= set(way)
    return serves, {p for p, q in there.items() if q is not None} - serves


def _hull(loops: list[Interval]) -> Interval:
    low, high = min(x.low for x in loops), max(x.high for x in loops)
    inputs = dict.fromkeys(i for x in loops for i in x.inputs)
    if len({(x.low, x.high) for x in loops}) > 1:
        inputs["alternative"] = None
    return Interval(low, high, "ohm", tuple(inputs) if low < high else ())


def _unwired(site: Site, port: PortPower, device: Ref | None, run: JudgedRun | None) -> Match | None:
    """A unit that is known to hang there although no conductor is known to arrive: a cable out of use, or without pairs."""
    if device is None:
        return None
    whole = frozenset() if run and usable_pairs(run.facts) == 0 else _whole(run)
    wires = Wires(
        whole or frozenset(),
        ALL_PAIRS if whole is None else frozenset(),
        frozenset(),
        _shorts(run),
        frozenset(),
        False,
        _loop(run),
    )
    found = match_over(port=port, device=wants(site, device, ()), wires=wires)
    return found if found.works is not Band.NO else dataclasses.replace(found, volts=None, watts=None)


def _verdict(mode: Mode | None, reach: Reach, every: tuple[Matched, ...], found: Match | None) -> Match | None:
    matches = [m.match for m in every] or ([found] if found else [])
    said = list(_of_others(mode, reach, bool(matches)))
    return worst_of(matches, said, mode) if matches or said else None


def _of_others(mode: Mode | None, reach: Reach, fed: bool) -> Iterator[Said]:
    """What all that is no unit says, worst first for a port that asks nobody."""
    always = mode is Mode.ALWAYS_24V
    for one in reach.everything:
        if one.maybe and one.what is not What.UNIT:
            yield (Band.POSSIBLE, Code.SECOND_PORT_UNKNOWN)
        elif one.what is What.FOREIGN_LINE:
            yield (Band.NO, Code.LINE_ON_WIRES)
        elif one.what is What.OTHER_SOURCE:
            yield (Band.NO, Code.OTHER_SOURCE)
        elif one.what is What.UNKNOWN_END:
            yield (Band.NO if always else Band.POSSIBLE, Code.FAR_END_UNKNOWN)
        elif one.what is What.OPEN_JACK:
            yield (Band.NO if always else Band.LIKELY if fed else Band.POSSIBLE, Code.OPEN_JACK)
    if always and _is_fed_short(reach):
        yield (Band.NO, Code.SHORT_BETWEEN_POLES)


def _is_fed_short(reach: Reach) -> bool:
    """Whether a wire of one pole of the 24 V touches one of the other, whatever hangs there."""
    return any({a, b} & {4, 5} and {a, b} & {7, 8} for a, b in reach.shorts)


def _whole(run: JudgedRun | None) -> frozenset[str] | None:
    """Pairs known to be whole: none of a run out of use, all of one pinned out with all four; else nobody knows."""
    if run and run.capability.reason is Reason.OUT_OF_USE:
        return frozenset()
    if run is None or run.whole is None:
        return None
    broken = {n for n, _ in run.damage.open}
    if run.whole + len(run.damage.pairs - broken) + len(broken) < len(ALL_PAIRS):
        return None
    return frozenset(name for n, name in PAIR_NAMES.items() if n not in broken)


def _shorts(run: JudgedRun | None) -> frozenset[tuple[int, int]]:
    """Pins that touch, two by two, for a connector in the order of which both ends are alike."""
    groups = run.damage.pins(scheme=run.scheme) if run else ()
    return frozenset(couple for group in groups for couple in itertools.combinations(sorted(group), 2))


def _device(site: Site, other: Ref | None, run: JudgedRun | None, outlet: Ref | None) -> Ref | None:
    """The unit at the far end: by a port, or by what is plugged at the outlet."""
    reached = [other] if other and other.kind == "port" else list(run.run.to) if run else []
    for ref in reached:
        if ref.kind == "port" and ref.parent_tag:
            return Ref("unit", ref.parent_tag)
    if other and other.kind == "end" and run is None:
        for end in (e for c in [cable_of(site, other)] if c for e in ends_of(site, c) if e != other):
            for claim in site.about(subject=end, relation="plugged"):
                if claim.object.kind == "port" and claim.object.parent_tag:
                    return Ref("unit", claim.object.parent_tag)
                outlet = outlet or claim.object
    if outlet:
        for claim in site.about(relation="plugged"):
            if outlet_of(claim.object) == outlet and claim.subject.kind == "port" and claim.subject.parent_tag:
                return Ref("unit", claim.subject.parent_tag)
    return None


def _loop(run: JudgedRun | None) -> Interval:
    """Out-and-back resistance over two pairs, one for each pole, over the range of the run's length and gauge."""
    pair = run.loop.interval if run and run.loop else UNKNOWN_LOOP
    return Interval(pair.low / 2, pair.high / 2, "ohm", pair.inputs)

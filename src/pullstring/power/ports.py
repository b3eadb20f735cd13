"""Every powered port of a site against the device that it reaches: mode match, volts and watts at the device."""

from __future__ import annotations

import dataclasses
import itertools

from pullstring.copper.capability import Reason
from pullstring.copper.expected import expected_loop
from pullstring.copper.judged import JudgedRun, judged_runs
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.refs import Ref
from pullstring.model.wiremap import SCHEMES
from pullstring.model.wiring import cable_of, ends_of
from pullstring.power.modes import DevicePower, Match, Mode, PortPower, match

POWERED = {"802.3af": Mode.AF, "802.3at": Mode.AT, "802.3bt": Mode.BT, "24 V always-on": Mode.ALWAYS_24V}
SUPPLY_24V = Interval(24.0, 24.0, "V")  # the nominal value; ask for a reading at the injector
PAIR_NAMES = {n: "-".join(map(str, sorted(pins))) for n, pins in enumerate(SCHEMES["T568B"], 1)}
ALL_PAIRS = frozenset(PAIR_NAMES.values())
UNKNOWN_LOOP = expected_loop(
    length=Interval(0, 90, "m", ("length_m",)), awg=Interval(22, 26, "AWG"), temperature=Interval(10, 30, "C")
).interval
"""A run of unknown length: up to the 90 m of a permanent link (TIA-568, read in published texts), 22 to 26 AWG (ours, assumed)."""


@dataclasses.dataclass(frozen=True)
class JudgedPort:
    """One port that gives power, what it reaches, and whether they fit. `device` is None when nothing is known there."""

    port: Ref
    mode: str
    limit_w: float | None
    run: JudgedRun | None
    device: Ref | None
    outlet: Ref | None
    match: Match | None
    because: tuple[str, ...]


@once_a_site
def judged_ports(site: Site) -> tuple[JudgedPort, ...]:
    """All ports that give power over data wires, in their order."""
    by_end = {j.run.start: j for j in judged_runs(site)}
    return tuple(
        _judge(site, port, by_end)
        for port in site.of_kind("port")
        if port.text("gives") in POWERED and port.stands and _unit_stands(site, port.ref)
    )


def _judge(site: Site, port: Thing, by_end: dict[Ref, JudgedRun]) -> JudgedPort:
    mode = port.text("gives")
    plugs = [c for c in site.about(relation="plugged", object=port.ref)] + list(
        site.about(subject=port.ref, relation="plugged")
    )
    plug = plugs[0] if plugs else None
    other = (plug.object if plug.subject == port.ref else plug.subject) if plug else None
    run = by_end.get(other) if other and other.kind == "end" else None
    outlet = next((outlet_of(to) for to in run.run.to if to.kind in ("outlet", "jack")), None) if run else None
    device = _device(site, other, run, outlet)
    entries = (*port.entries, *(plug.entries if plug else ()), *(run.because if run else ()))
    found = None
    if device:
        found = match(
            port=PortPower(
                POWERED[mode], SUPPLY_24V if mode.startswith("24") else None, None, None, port.number("limit_w")
            ),
            device=_wants(site, device),
            whole_pairs=_whole(run),
            shorts=_shorts(run),
            loop=_loop(run),
        )
    return JudgedPort(port.ref, mode, port.number("limit_w"), run, device, outlet, found, tuple(dict.fromkeys(entries)))


def _unit_stands(site: Site, port: Ref) -> bool:
    unit = site.get(Ref("unit", port.parent_tag)) if port.parent_tag else None
    return unit is None or unit.stands


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


def _wants(site: Site, unit: Ref) -> DevicePower:
    thing = site.get(unit)
    model = site.get(thing.ref_of("model")) if thing else None
    if model is None:
        return DevicePower(None, None, None, None)
    takes = model.text("takes")
    mode = Mode(takes) if takes in {m.value for m in Mode} else Mode.OFF if takes == "none" else None
    number, typical, most = model.number("class"), model.number("typical_w"), model.number("max_w")
    load = Interval(typical if typical is not None else most, most, "W", ("load_w",)) if most is not None else None
    return DevicePower(mode, int(number) if number is not None else None, load, None)


def _loop(run: JudgedRun | None) -> Interval:
    """Out-and-back resistance over two pairs, one for each pole, over the range of the run's length and gauge."""
    pair = run.loop.interval if run and run.loop else UNKNOWN_LOOP
    return Interval(pair.low / 2, pair.high / 2, "ohm", pair.inputs)

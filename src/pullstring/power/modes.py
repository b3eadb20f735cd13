"""Which port suits which device: the mode, the class, the pairs and the volts that are left.

House rules
-----------
1. A standard port (802.3af, at, bt) asks before it gives, so it never harms; a stranger stays dark.
2. A 24 V always-on port asks nobody. Anything on its wire that is not known to want 24 V is a hazard.
3. Alternative A is pins 1-2 and 3-6, alternative B and 24 V are pins 4-5 and 7-8; classes 5 to 8 take all.
4. A short inside one pair joins equal poles and power does not notice. Between the two poles a standard port finds no
   device and gives nothing; a 24 V always-on port feeds the short, and that is a hazard.
5. A second load on the powered pairs spoils what a standard port looks for: no power, and rightly so.
6. What is not known costs certainty: the band is then `possible` at best.

Codes, not sentences; the sentences live with the words of the pages. Pins: IEEE 802.3 clauses 33
and 145 as published; the habits of 24 V gear are common practice (some makers differ: read the data plate).
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator
from typing import Literal

from pullstring.model.answers import Band, Interval, spread
from pullstring.power.classes import GREATEST_PSE_V, PowerClass, power_class
from pullstring.power.loop import load_voltage_v, supply_power_w
from pullstring.power.verdicts import WORSE, Code, Match, Mode, Said, answered

__all__ = [
    "ALTERNATIVES",
    "PAIR_PINS",
    "Code",
    "DevicePower",
    "Match",
    "Mode",
    "PortPower",
    "Wires",
    "match",
    "match_over",
]

SMALL_DROP = 0.10
"""A loss of this part of the supply is harmless where a device's least voltage is unknown. Assumed by us."""

PAIR_PINS = {"1-2": (1, 2), "3-6": (3, 6), "4-5": (4, 5), "7-8": (7, 8)}
"""Pairs of an eight-position jack by their pins. T568A and T568B alike."""

ALTERNATIVES: dict[str, tuple[str, str]] = {"A": ("1-2", "3-6"), "B": ("4-5", "7-8")}
"""The pair of each pole, sign left open; 24 V always-on is + on 4-5 and - on 7-8 (common practice)."""


HIGHEST_CLASS = {Mode.AF: 3, Mode.AT: 4, Mode.BT: 8}
"""Highest class of each standard mode. IEEE 802.3 clauses 33 and 145 (read in a published table)."""


@dataclasses.dataclass(frozen=True)
class PortPower:
    """What a port gives. None means not known.

    `supply` is its voltage [V]; `highest_class` counts for a standard port; `alternative` is the pairs it
    uses for classes 0 to 4; `limit_w` is what it can give at most [W].
    """

    mode: Mode | None
    supply: Interval | None
    highest_class: int | None
    alternative: Literal["A", "B"] | None
    limit_w: float | None


@dataclasses.dataclass(frozen=True)
class DevicePower:
    """What a device wants. None means not known.

    `load` is its draw [W]; `least_v` is the voltage below which it does not run [V].
    """

    mode: Mode | None
    class_number: int | None
    load: Interval | None
    least_v: float | None


TwoPins = tuple[int, int]
"""Two pins of one jack, in any order; names of places, not numbers to count with."""


@dataclasses.dataclass(frozen=True)
class Wires:
    """What lies between a port and a device.

    Parameters
    ----------
    whole, unsure : frozenset of str
        Pairs continuous end to end, and those of which nobody knows; the others are missing.
    crossed : frozenset of str
        Pairs that arrive where they do not serve: missing, and known why.
    shorts : frozenset of TwoPins
        Pins that touch each other anywhere within reach.
    shared : frozenset of int
        Pins on which another load, line or source hangs.
    reversed_poles : bool
        Whether 4-5 and 7-8 arrive exchanged.
    loop : Interval
        Out-and-back resistance over two pairs, one pair per pole; over four pairs half of it counts. [ohm]
    """

    whole: frozenset[str]
    unsure: frozenset[str]
    crossed: frozenset[str]
    shorts: frozenset[TwoPins]
    shared: frozenset[int]
    reversed_poles: bool
    loop: Interval

    def __post_init__(self) -> None:
        strange = sorted((self.whole | self.unsure | self.crossed) - PAIR_PINS.keys())
        if strange:
            raise ValueError(f"whole_pairs: {strange[0]!r} is no pair; the pairs are {', '.join(PAIR_PINS)}")
        for short in self.shorts:
            if not all(1 <= pin <= 8 for pin in short):
                raise ValueError(f"shorts: {short} is not two pins of a jack; pins run from 1 to 8")
        if self.loop.unit != "ohm" or self.loop.low < 0:
            raise ValueError(f"loop: {self.loop.low} {self.loop.unit} is no resistance; give ohm, zero or more")


def match(
    *,
    port: PortPower,
    device: DevicePower,
    whole_pairs: frozenset[str] | None,
    shorts: frozenset[TwoPins],
    loop: Interval,
) -> Match:
    """Whether one device runs from one port over one run.

    Parameters
    ----------
    port, device : PortPower, DevicePower
        Both ends.
    whole_pairs : frozenset of str or None
        Of `1-2`, `3-6`, `4-5`, `7-8`, those continuous end to end; None if nobody has looked.
    shorts : frozenset of TwoPins
        Pins found touching.
    loop : Interval
        Out-and-back resistance over two pairs, one pair per pole; over four pairs half of it counts. [ohm]

    Returns
    -------
    Match
        Band, code, volts and watts; never NaN.

    References
    ----------
    IEEE 802.3 clauses 33 and 145; 24 V habits are common practice. Checked in ``tests/power/test_modes.py``.
    """
    whole, unsure = (frozenset[str](), frozenset(PAIR_PINS)) if whole_pairs is None else (whole_pairs, frozenset[str]())
    wires = Wires(whole, unsure, frozenset(), shorts, frozenset(), False, loop)
    return match_over(port=port, device=device, wires=wires)


def match_over(*, port: PortPower, device: DevicePower, wires: Wires) -> Match:
    """As `match`, over wires of which more is known: what else hangs on them, what is crossed, what is unsure.

    References
    ----------
    As `match`. A second load spoils the signature: common practice. Checked in ``tests/power/test_modes.py``.
    """
    if port.mode in HIGHEST_CLASS and device.mode in HIGHEST_CLASS:
        return _standard(port, device, wires)
    if port.mode is Mode.ALWAYS_24V and device.mode is Mode.ALWAYS_24V:
        return _always_on(port, device, wires)
    return _unlike(port.mode, device.mode)


def _unlike(port: Mode | None, device: Mode | None) -> Match:
    said: list[Said]
    if device in (Mode.PLUG, Mode.OFF):
        said = [(Band.LIKELY, Code.OWN_PLUG)]
    elif port is Mode.ALWAYS_24V:
        said = [(Band.NO, Code.DOES_NOT_START)] if device else [(Band.NO, Code.DEVICE_UNKNOWN)]
    elif port in (Mode.OFF, Mode.PLUG):
        said = [(Band.NO, Code.PORT_GIVES_NONE)]
    elif port is None:
        said = [(Band.POSSIBLE, Code.PORT_UNKNOWN)]
    elif device is None:
        said = [(Band.POSSIBLE, Code.DEVICE_UNKNOWN)]
    else:
        said = [(Band.NO, Code.STAYS_DARK)]
    if port is Mode.ALWAYS_24V:
        said.append((Band.LIKELY, Code.NEVER_PATCH_ALWAYS_ON))
    return answered(said, port, volts=None, watts=None)


def _standard(port: PortPower, device: DevicePower, wires: Wires) -> Match:
    loop = wires.loop
    wanted = power_class(class_number=_class_of(device))
    over = Interval(loop.low / 2, loop.high / 2, "ohm") if wanted.pairs == 4 else loop
    supply = port.supply or Interval(wanted.pse_voltage.value, GREATEST_PSE_V.value, "V")
    load = device.load or Interval.exact(wanted.pd_power.value, "W")
    against, volts, watts = _delivered(supply, load, over, device.least_v, port.limit_w)
    said = [
        *_class_granted(port, device, wanted),
        *_over_pairs(_ways(port, wanted), wires, (Band.NO, Code.SIGNATURE_SPOILED)),
        *against,
        *_within(over, wanted.loop_resistance.value),
        (Band.LIKELY, Code.GRANTED),
    ]
    return answered(said, port.mode, volts=volts, watts=watts)


def _always_on(port: PortPower, device: DevicePower, wires: Wires) -> Match:
    """On 4-5 and 7-8 unless the port is noted to use the others; there it leaves two pairs for data."""
    supply = port.supply or Interval.exact(24.0, "V")
    alternative = port.alternative or "B"
    said = list(_over_pairs([ALTERNATIVES[alternative]], wires, (Band.POSSIBLE, Code.SHARES_POWER)))
    if wires.reversed_poles:
        said.append((Band.UNLIKELY, Code.POLES_REVERSED))
    aside: list[Said] = [(Band.LIKELY, Code.DATA_100_ONLY)] if alternative == "B" else []
    if device.load is None:
        return answered([*said, (Band.POSSIBLE, Code.LOAD_UNKNOWN), *aside], port.mode, volts=None, watts=None)
    against, volts, watts = _delivered(supply, device.load, wires.loop, device.least_v, port.limit_w)
    said += against
    if volts and device.least_v is None and volts.low < (1 - SMALL_DROP) * supply.low:
        said.append((Band.POSSIBLE, Code.LEAST_VOLTS_UNKNOWN))
    return answered([*said, (Band.LIKELY, Code.FED_24V), *aside], port.mode, volts=volts, watts=watts)


def _class_of(device: DevicePower) -> int:
    if device.class_number is not None:
        return device.class_number
    return 3 if device.mode is Mode.AF else 4 if device.mode is Mode.AT else 8


def _class_granted(port: PortPower, device: DevicePower, wanted: PowerClass) -> Iterator[Said]:
    assert port.mode is not None
    highest = HIGHEST_CLASS[port.mode] if port.highest_class is None else port.highest_class
    if device.class_number is None:
        yield (Band.POSSIBLE, Code.CLASS_UNKNOWN)
    elif wanted.pse_power.value > power_class(class_number=highest).pse_power.value:
        yield (Band.NO, Code.CLASS_NOT_GRANTED)
    elif port.mode is Mode.BT and port.highest_class is None and wanted.type_number == 4:
        yield (Band.POSSIBLE, Code.PORT_CLASS_UNKNOWN)


def _ways(port: PortPower, wanted: PowerClass) -> list[tuple[str, ...]]:
    """Each set of pairs over which the port may send that class; two where its alternative is unknown."""
    if wanted.pairs == 4:
        return [(*ALTERNATIVES["A"], *ALTERNATIVES["B"])]
    if port.alternative is not None:
        return [ALTERNATIVES[port.alternative]]
    return [ALTERNATIVES["A"], ALTERNATIVES["B"]]


def _over_pairs(ways: list[tuple[str, ...]], wires: Wires, if_shared: Said) -> Iterator[Said]:
    found = [
        [*_continuous(way, wires), *_shorted(way, wires.shorts), *_shared(way, wires.shared, if_shared)] for way in ways
    ]
    worst = [max((WORSE.index(band) for band, _ in said), default=0) for said in found]
    cap = max(worst)
    if min(worst) < max(worst):
        cap = max(min(worst), WORSE.index(Band.POSSIBLE))
        yield (WORSE[cap], Code.ALTERNATIVE_UNKNOWN)
    for band, code in itertools.chain.from_iterable(found):
        yield (WORSE[min(cap, WORSE.index(band))], code)


def _continuous(way: tuple[str, ...], wires: Wires) -> Iterator[Said]:
    if not (wires.whole | wires.unsure).issuperset(way):
        yield (Band.NO, Code.PAIRS_MISSING)
        if wires.crossed.intersection(way):
            yield (Band.NO, Code.PAIRS_CROSSED)
    elif not wires.whole.issuperset(way):
        yield (Band.POSSIBLE, Code.PAIRS_UNKNOWN)


def _shared(way: tuple[str, ...], shared: frozenset[int], said: Said) -> Iterator[Said]:
    """Another load on any wire of the way."""
    if shared & {pin for pair in way for pin in PAIR_PINS[pair]}:
        yield said


def _shorted(way: tuple[str, ...], shorts: frozenset[TwoPins]) -> Iterator[Said]:
    of_pin = {pin: name for name, pins in PAIR_PINS.items() for pin in pins}
    for one, other in sorted(shorts):
        touched = {of_pin[one], of_pin[other]}
        if len(touched) == 1:
            yield (Band.LIKELY, Code.SHORT_INSIDE_PAIR)
        elif touched.issubset(way):
            yield (Band.NO, Code.SHORT_BETWEEN_POLES)
        elif touched.intersection(way):
            yield (Band.UNLIKELY, Code.SHORT_TO_OTHER_PAIR)


def _delivered(
    supply: Interval, load: Interval, loop: Interval, least_v: float | None, limit_w: float | None
) -> tuple[list[Said], Interval | None, Interval | None]:
    """What speaks against it, volts at the device, watts at the port.

    The best corner (most volts, least load, least loop) decides `no`, the worst corner decides `possible`;
    a worst corner without a voltage fails every check.
    """
    best = {"supply_v": supply.high, "load_w": load.low, "loop_ohm": loop.low}
    worst = {"supply_v": supply.low, "load_w": load.high, "loop_ohm": loop.high}
    if math.isnan(load_voltage_v(**best)):
        return [(Band.NO, Code.NO_VOLTAGE)], None, None
    said: list[Said] = []
    collapses = math.isnan(load_voltage_v(**worst))
    if collapses:
        said.append((Band.POSSIBLE, Code.NEAR_COLLAPSE))
    if least_v is not None and not load_voltage_v(**worst) >= least_v:
        said.append((Band.NO if load_voltage_v(**best) < least_v else Band.POSSIBLE, Code.VOLTS_TOO_LOW))
    if limit_w is not None and not supply_power_w(**worst) <= limit_w:
        said.append((Band.NO if supply_power_w(**best) > limit_w else Band.POSSIBLE, Code.OVER_PORT_LIMIT))
    if collapses:
        return said, None, None
    inputs = {"supply_v": supply, "load_w": load, "loop_ohm": loop}
    return said, spread(load_voltage_v, "V", **inputs), spread(supply_power_w, "W", **inputs)


def _within(loop: Interval, limit_ohm: float) -> Iterator[Said]:
    if loop.low > limit_ohm:
        yield (Band.UNLIKELY, Code.LOOP_OVER_LIMIT)
    elif loop.high > limit_ohm:
        yield (Band.POSSIBLE, Code.LOOP_OVER_LIMIT)

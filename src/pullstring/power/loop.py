"""A load that draws constant power at the end of a resistive loop.

A device with a switching supply behaves so: as the voltage falls it draws more current, until it collapses.
NaN means that no voltage can carry the power; it ends here: `far_end` turns it into a "no" with its reason.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

from pullstring.copper.line import conductor_ohm_per_m
from pullstring.model.answers import Band, Interval, spread
from pullstring.power.verdicts import Code

STRANDED = 7.95 / 7.77
"""Resistance of stranded wire against solid wire of one gauge. [1] NEC chapter 9 table 8, 18 AWG (read in a published text)."""


@dataclasses.dataclass(frozen=True)
class Stretch:
    """One piece of a way: a run or a cord, solid or stranded."""

    length: Interval
    awg: Interval
    temperature: Interval
    stranded: bool


@dataclasses.dataclass(frozen=True)
class FarEnd:
    """What arrives at the far end of a loop: a band with its reason, volts there, current, and watts at the source.

    All three are None where no figure can be given for some corner of the ranges.
    """

    works: Band
    code: Code
    volts: Interval | None
    current: Interval | None
    watts: Interval | None


def load_voltage_v(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    r"""Voltage left at a constant-power load at the end of a resistive loop.

    Ohm's law gives :math:`V^2 - V_s V + P R = 0`; the device settles on the larger root.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, :math:`V_s`, above zero. [V]
    load_w : float
        Power drawn by the device, :math:`P`, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, :math:`R`, zero or more. [ohm]

    Returns
    -------
    float
        Voltage at the device; NaN where no voltage can carry the power. [V]

    References
    ----------
    IEEE 802.3 clauses 33 and 145 (end points only; the quadratic is ours).
    Checked in ``tests/published/test_ieee8023_power.py`` and ``test_always_on_24v.py``.
    """
    V_s, P, R = supply_v, load_w, loop_ohm
    under_root = V_s**2 - 4 * P * R
    return math.nan if under_root < 0 else (V_s + math.sqrt(under_root)) / 2


def load_current_a(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    r"""Current in the loop, :math:`I = P / V` with the larger root :math:`V`.

    The same as :math:`(V_s - \sqrt{V_s^2 - 4 P R}) / 2R`, and good for R = 0 as well.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Current; NaN where no voltage can carry the power. [A]

    References
    ----------
    As `load_voltage_v`. Checked in ``tests/published/test_ieee8023_power.py``.
    """
    return load_w / load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)


def supply_power_w(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    """Power the source must give: the load and what heats the wire.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Power at the source; NaN where no voltage can carry the load. [W]

    References
    ----------
    V_s I. Checked both ways in ``tests/published/test_ieee8023_power.py``.
    """
    return supply_v * load_current_a(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)


def greatest_load_w(*, supply_v: float, loop_ohm: float) -> float:
    r"""Greatest power that can arrive at all, :math:`V_s^2 / 4R`; half of the voltage is then lost.

    A bound, not a plan: a device collapses before it.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Power at the device; infinite for a loop without resistance. [W]

    References
    ----------
    The root of `load_voltage_v` vanishes there. Checked in ``tests/published/test_always_on_24v.py``.
    """
    V_s, R = supply_v, loop_ohm
    return math.inf if R == 0 else V_s**2 / (4 * R)


def load_power_w(*, supply_v: float, current_a: float, loop_ohm: float) -> float:
    """Power that arrives at a current: P = V I - I^2 R.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    current_a : float
        Current in the loop, zero or more. [A]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Power at the device. [W]

    References
    ----------
    IEEE 802.3 clauses 33 and 145 by their end points. Checked in ``tests/published/test_ieee8023_power.py``.
    """
    V_s, I, R = supply_v, current_a, loop_ohm  # noqa: E741
    return V_s * I - I**2 * R


def greatest_loop_ohm(*, supply_v: float, load_w: float, supply_w: float) -> float:
    r"""Greatest loop that costs no more than the port has to spare: :math:`(P_s - P)/(P_s/V_s)^2`.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    supply_w : float
        Power the source can give, above zero. [W]

    Returns
    -------
    float
        Out-and-back resistance; zero where the source has nothing to spare. [ohm]

    References
    ----------
    `load_power_w` solved for R. Checked in ``tests/published/test_ieee8023_power.py``.
    """
    return max(supply_w - load_w, 0.0) / (supply_w / supply_v) ** 2


def pole_ohm(*, wires_ohm: Sequence[float]) -> float:
    """Resistance of one pole: its wires that are really whole, in parallel. One of two alike lost doubles it.

    Parameters
    ----------
    wires_ohm : sequence of float
        Each whole wire of the pole from end to end, read or computed, zero or more. [ohm]

    Returns
    -------
    float
        Resistance of the pole; infinite when no wire of it is whole. [ohm]

    References
    ----------
    Conductors in parallel (Kirchhoff). Checked in ``tests/power/test_power_loop.py``.
    """
    if not wires_ohm:
        return math.inf
    return 0.0 if min(wires_ohm) == 0 else 1 / sum(1 / r for r in wires_ohm)


def poles_loop(*, plus: Sequence[Interval], minus: Sequence[Interval]) -> Interval | None:
    """Out and back over the wires that are whole on each pole: two to a pole over two pairs, four over four.

    Parameters
    ----------
    plus, minus : sequence of Interval
        The whole wires of each pole, each from end to end, read or computed. [ohm]

    Returns
    -------
    Interval or None
        Resistance of the loop, with the inputs of its wires; None when a pole has no wire. [ohm]

    References
    ----------
    `pole_ohm` of both, in series. Checked in ``tests/power/test_power_loop.py``.
    """
    if not plus or not minus:
        return None
    low, high = (
        sum(pole_ohm(wires_ohm=[getattr(w, side) for w in pole]) for pole in (plus, minus)) for side in ("low", "high")
    )
    inputs = dict.fromkeys(i for w in (*plus, *minus) for i in w.inputs)
    return Interval(low, high, "ohm", tuple(inputs) if low < high else ())


def wire_over(*, stretches: Sequence[Stretch]) -> Interval:
    """One wire over a run and its cords, end to end. A cord of unknown length is not in the list, and so not counted.

    Parameters
    ----------
    stretches : sequence of Stretch
        The pieces in series.

    Returns
    -------
    Interval
        Resistance of one wire, with the names of what is not known exactly. [ohm]

    References
    ----------
    `conductor_ohm_per_m`, summed; stranded cords have 2 % more. Checked in ``tests/power/test_power_loop.py``.
    """

    def piece(one: Stretch) -> Interval:
        more = STRANDED if one.stranded else 1.0
        return spread(
            lambda length_m, awg, temperature_c: (
                more * length_m * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c)
            ),
            "ohm",
            length_m=one.length,
            awg=one.awg,
            temperature_c=one.temperature,
        )

    found = [piece(one) for one in stretches]
    inputs = dict.fromkeys(i for x in found for i in x.inputs)
    return Interval(sum(x.low for x in found), sum(x.high for x in found), "ohm", tuple(inputs))


def greatest_loop_for_volts_ohm(*, supply_v: float, load_w: float, least_v: float) -> float:
    r"""Greatest loop over which a load still has its least voltage: :math:`(V_s - V) V / P`.

    Below half of the supply there is no steady state, so a smaller `least_v` counts as that half.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    least_v : float
        Voltage below which the device does not run; zero where only the collapse is asked for. [V]

    Returns
    -------
    float
        Out-and-back resistance; infinite without a load, zero where even the supply is too low. [ohm]

    References
    ----------
    The quadratic of `load_voltage_v` solved for R. Checked in ``tests/power/test_power_loop.py``.
    """
    V = max(least_v, supply_v / 2)
    if supply_v < V:
        return 0.0
    return math.inf if load_w == 0 else (supply_v - V) * V / load_w


def greatest_length_m(
    *, supply_v: float, load_w: float, least_v: float, awg: float, temperature_c: float, pairs: int, cords_ohm: float
) -> float:
    """Longest run over which a load still has its least voltage, when all wires are whole.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    least_v : float
        Voltage below which the device does not run; zero where only the collapse is asked for. [V]
    awg : float
        Gauge of the run. [AWG]
    temperature_c : float
        Temperature of the copper. [C]
    pairs : int
        Pairs that carry power: 2 or 4. [pairs]
    cords_ohm : float
        Out-and-back resistance of the cords over those pairs; zero where there are none. [ohm]

    Returns
    -------
    float
        Length, one way; infinite without a load, zero where the cords alone are too much. [m]

    References
    ----------
    `greatest_loop_for_volts_ohm`. Checked in ``tests/published/test_always_on_24v.py``.
    """
    if pairs not in (2, 4):
        raise ValueError(f"pairs: power goes over 2 or 4 pairs, not {pairs}; give 2 or 4")
    left = greatest_loop_for_volts_ohm(supply_v=supply_v, load_w=load_w, least_v=least_v) - cords_ohm
    per_m = 2 * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c) / pairs
    return max(left, 0.0) / per_m


def far_end(*, supply: Interval, load: Interval, loop: Interval | None, least_v: float | None) -> FarEnd:
    """What is left at the far end, as an answer: never NaN, always with its reason.

    The best corner (most volts, least load, least loop) decides a "no"; the worst corner lowers it to "possible".

    Parameters
    ----------
    supply : Interval
        Voltage at the source. [V]
    load : Interval
        Power drawn by the device. [W]
    loop : Interval or None
        Out-and-back resistance, as `poles_loop` gives it; None when a pole has no whole wire. [ohm]
    least_v : float or None
        Voltage below which the device does not run; None when nobody knows. [V]

    Returns
    -------
    FarEnd
        Band, reason, volts, current and watts.

    References
    ----------
    `load_voltage_v` in the corners; it is monotone in each input. Checked in ``tests/published/test_always_on_24v.py``.
    """
    if loop is None:
        return FarEnd(Band.NO, Code.PAIRS_MISSING, None, None, None)
    best = load_voltage_v(supply_v=supply.high, load_w=load.low, loop_ohm=loop.low)
    worst = load_voltage_v(supply_v=supply.low, load_w=load.high, loop_ohm=loop.high)
    if math.isnan(best):
        return FarEnd(Band.NO, Code.NO_VOLTAGE, None, None, None)
    if least_v is not None and best < least_v:
        works, code = Band.NO, Code.VOLTS_TOO_LOW
    elif math.isnan(worst):
        works, code = Band.POSSIBLE, Code.NEAR_COLLAPSE
    elif least_v is None:
        works, code = Band.POSSIBLE, Code.LEAST_VOLTS_UNKNOWN
    else:
        works, code = (Band.POSSIBLE, Code.VOLTS_TOO_LOW) if worst < least_v else (Band.LIKELY, Code.GRANTED)
    if math.isnan(worst):
        return FarEnd(works, code, None, None, None)
    inputs = {"supply_v": supply, "load_w": load, "loop_ohm": loop}
    return FarEnd(
        works,
        code,
        spread(load_voltage_v, "V", **inputs),
        spread(load_current_a, "A", **inputs),
        spread(supply_power_w, "W", **inputs),
    )

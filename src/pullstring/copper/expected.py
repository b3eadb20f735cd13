"""What a meter should read on a run, with the range that unknown lengths, gauges and temperatures leave, and what it read."""

from __future__ import annotations

import dataclasses
import enum

from pullstring.copper.line import capacitance_f, conductor_ohm_per_m, loop_ohm
from pullstring.copper.readings import Cause
from pullstring.model.answers import Estimate, Interval, spread


class Verdict(enum.StrEnum):
    """A reading against what was expected."""

    WITHIN = "within"
    ABOVE = "above"
    BELOW = "below"
    NOT_COMPARABLE = "not comparable"


@dataclasses.dataclass(frozen=True)
class Compared:
    """One reading against what was expected of it, and what could explain the difference, the likeliest first."""

    quantity: str
    read: Interval | None
    expected: Interval | None
    verdict: Verdict
    causes: tuple[Cause, ...]


_OHMS_ABOVE = (Cause.BAD_JOINT, Cause.SPLICE_OR_THINNER, Cause.LONGER_WAY)
_OHMS_BELOW = (Cause.SHORT_IN_THE_WAY, Cause.THICKER_WIRE)
_CAUSES = {
    ("ohm", Verdict.ABOVE): _OHMS_ABOVE,
    ("ohm", Verdict.BELOW): _OHMS_BELOW,
    ("F", Verdict.ABOVE): (Cause.TAP_OR_RINGER, Cause.LONGER_WAY),
    ("F", Verdict.BELOW): (Cause.CUT,),
    ("m", Verdict.ABOVE): (Cause.TWO_ACCOUNTS,),
    ("m", Verdict.BELOW): (Cause.TWO_ACCOUNTS,),
}


def compare(*, quantity: str, read: Interval | None, expected: Interval | None) -> Compared:
    """Whether a reading lies where it should: within as soon as both ranges have a value in common.

    Parameters
    ----------
    quantity : str
        Name of the reading.
    read, expected : Interval or None
        Both in one unit; None when there is nothing to compare. [ohm, F or m]

    Returns
    -------
    Compared
        Verdict and what could explain it.

    References
    ----------
    A joint adds ohms, a branch adds farads, a cut takes farads away (common practice).
    Checked in ``tests/copper/test_expected.py``.
    """
    if read is None or expected is None:
        return Compared(quantity, read, expected, Verdict.NOT_COMPARABLE, ())
    _in_unit(quantity, read, expected.unit)
    if read.low > expected.high:
        verdict = Verdict.ABOVE
    elif read.high < expected.low:
        verdict = Verdict.BELOW
    else:
        verdict = Verdict.WITHIN
    return Compared(quantity, read, expected, verdict, _CAUSES.get((read.unit, verdict), ()))


def expected_loop(*, length: Interval, awg: Interval | int, temperature: Interval) -> Estimate:
    """Loop resistance to expect on one pair, the far end shorted.

    Valid for solid copper without joints; a reading well above the range speaks of a joint or a longer way.

    Parameters
    ----------
    length : Interval
        Length of the cable, one way. [m]
    awg : Interval or int
        Gauge, or the range of gauges it may have. [AWG]
    temperature : Interval
        Temperature of the copper. [C]

    Returns
    -------
    Estimate
        Range of the loop; its inputs are named `length_m`, `awg`, `temperature_c`. [ohm]

    References
    ----------
    `pullstring.copper.line.loop_ohm` at all corners. Checked in ``tests/copper/test_expected.py``.
    """
    gauge = Interval.exact(awg, "AWG") if isinstance(awg, int) else awg
    _in_unit("length", length, "m")
    _in_unit("awg", gauge, "AWG")
    _in_unit("temperature", temperature, "C")
    between = spread(loop_ohm, "ohm", length_m=length, awg=gauge, temperature_c=temperature)
    return Estimate(between, "copper.loop", ("solid_copper", "wires_alike", "no_joint"))


def expected_capacitance(*, length: Interval, capacitance_f_per_m: Interval) -> Estimate:
    """Capacitance to expect between the wires of one pair, the far end open.

    Parameters
    ----------
    length : Interval
        Length of the pair. [m]
    capacitance_f_per_m : Interval
        Mutual capacitance of the cable kind. [F/m]

    Returns
    -------
    Estimate
        Range of the reading; its inputs are named `length_m`, `capacitance_f_per_m`. [F]

    References
    ----------
    `pullstring.copper.line.capacitance_f` at all corners. Checked in ``tests/copper/test_expected.py``.
    """
    _in_unit("length", length, "m")
    _in_unit("capacitance_f_per_m", capacitance_f_per_m, "F/m")
    between = spread(capacitance_f, "F", length_m=length, capacitance_f_per_m=capacitance_f_per_m)
    return Estimate(between, "copper.capacitance", ("no_tap", "nothing_connected"))


def expected_wire(*, length: Interval, awg: Interval, temperature: Interval) -> Estimate:
    """Resistance to expect of one wire alone, from end to end.

    Parameters
    ----------
    length : Interval
        Length of the cable, one way. [m]
    awg : Interval
        Gauge, or the range of gauges it may have. [AWG]
    temperature : Interval
        Temperature of the copper. [C]

    Returns
    -------
    Estimate
        Range; its inputs are named `length_m`, `awg`, `temperature_c`. [ohm]

    References
    ----------
    `pullstring.copper.line.conductor_ohm_per_m` at all corners. Checked in ``tests/copper/test_expected.py``.
    """

    def law(*, length_m: float, awg: float, temperature_c: float) -> float:
        return length_m * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c)

    between = spread(law, "ohm", length_m=length, awg=awg, temperature_c=temperature)
    return Estimate(between, "copper.wire", ("solid_copper", "no_joint"))


def _in_unit(name: str, given: Interval, unit: str) -> None:
    if given.unit != unit:
        raise ValueError(f"{name}: the range is in {given.unit!r}; give it in {unit!r}")

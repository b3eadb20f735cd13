"""What a meter should read on a run, with the range that unknown lengths, gauges and temperatures leave."""

from __future__ import annotations

from pullstring.copper.line import capacitance_f, loop_ohm
from pullstring.model.answers import Estimate, Interval, spread


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


def _in_unit(name: str, given: Interval, unit: str) -> None:
    if given.unit != unit:
        raise ValueError(f"{name}: the range is in {given.unit!r}; give it in {unit!r}")

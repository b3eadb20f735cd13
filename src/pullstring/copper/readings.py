"""What a meter reading says of a pair: how long it is, where it is open, what is connected to it, which wire is bad.

House rules
-----------
1. Everything that can go wrong in a joint adds ohms; every branch or device adds farads. Only a cut takes farads away and only
   a short in the way takes ohms away. So with both ends of a pair sound, the shorter of two answers is nearer the truth.
2. A reading that no copper of the house could give is not a length: something is connected there.
"""

from __future__ import annotations

import enum
from collections.abc import Sequence

from pullstring.copper.line import length_from_capacitance_m, length_from_loop_m, loop_ohm
from pullstring.model.answers import Interval, spread

RINGER_F = Interval(0.4e-6, 2.6e-6, "F")
"""A telephone ringer: 0.47 to 2.2 uF (common practice), with the tolerance of the part. [F]"""

RESISTOR_OHM = Interval(1e3, 100e3, "ohm")
"""Coded resistors and end-of-line resistors of alarm loops (common practice). [ohm]"""


class Cause(enum.StrEnum):
    """What explains a reading that is not what the wire alone would give."""

    BAD_JOINT = "bad_joint"
    SPLICE_OR_THINNER = "splice_or_thinner"
    LONGER_WAY = "longer_way"
    SHORT_IN_THE_WAY = "short_in_the_way"
    THICKER_WIRE = "thicker_wire"
    TAP_OR_RINGER = "tap_or_ringer"
    CUT = "cut"
    RINGER = "ringer"
    CAPACITOR = "capacitor"
    RESISTOR = "resistor"
    CODED_RESISTOR = "coded_resistor"
    NOT_COPPER = "not_copper"
    OPEN_OR_LEAK = "open_or_leak"
    STOP_ASK_COMPANY = "stop_ask_company"
    WIRES_DO_NOT_FIT = "wires_do_not_fit"
    TWO_ACCOUNTS = "two_accounts"
    ESTIMATE_WRONG = "estimate_wrong"


def length_by_marks(*, near_m: float, far_m: float, spread_m: float) -> Interval:
    """Length of jacket between the metre marks printed at both ends; which end is higher does not matter.

    Parameters
    ----------
    near_m, far_m : float
        Marks as printed. [m]
    spread_m : float
        How far the difference may be off. [m]

    Returns
    -------
    Interval
        Length, its input named `mark_m`. [m]

    References
    ----------
    Running marks of the jacket (common practice). Checked in ``tests/copper/test_readings.py``.
    """
    length_m = abs(far_m - near_m)
    return Interval(max(length_m - spread_m, 0.0), length_m + spread_m, "m", ("mark_m",) if spread_m else ())


def length_by_loop(*, loop: Interval, awg: Interval, temperature: Interval) -> Interval:
    """Length of a pair whose far end is shorted, from its loop resistance. Joints make it too long.

    Parameters
    ----------
    loop : Interval
        Reading with its spread, leads taken off. [ohm]
    awg : Interval
        Gauge, or the range of gauges that the jacket may hold. [AWG]
    temperature : Interval
        Temperature of the copper. [C]

    Returns
    -------
    Interval
        Length; inputs `loop_ohm`, `awg`, `temperature_c`. [m]

    References
    ----------
    `pullstring.copper.line.length_from_loop_m` at all corners. Checked in ``tests/copper/test_readings.py``.
    """
    return spread(length_from_loop_m, "m", loop_ohm=loop, awg=awg, temperature_c=temperature)


def length_by_capacitance(*, capacitance: Interval, capacitance_f_per_m: Interval) -> Interval:
    """Length of a pair to where it is open, from its capacitance. Branches and devices make it too long.

    Parameters
    ----------
    capacitance : Interval
        Reading with its spread. [F]
    capacitance_f_per_m : Interval
        Mutual capacitance of the kind of cable, above zero. [F/m]

    Returns
    -------
    Interval
        Length; inputs `capacitance_f`, `capacitance_f_per_m`. [m]

    References
    ----------
    `pullstring.copper.line.length_from_capacitance_m` at all corners. Checked in ``tests/copper/test_readings.py``.
    """
    given = {"capacitance_f": capacitance, "capacitance_f_per_m": capacitance_f_per_m}
    return spread(length_from_capacitance_m, "m", **given)


def overlap(*, lengths: Sequence[Interval]) -> Interval | None:
    """What all of several ranges allow; None when they disagree, or when there is none.

    Parameters
    ----------
    lengths : sequence of Interval
        Ranges of one quantity in one unit. [m]

    Returns
    -------
    Interval or None
        With the inputs of the ranges that make its two ends. [m]

    References
    ----------
    Intersection of intervals. Checked in ``tests/copper/test_readings.py``.
    """
    if not lengths:
        return None
    lowest = max(lengths, key=lambda i: i.low)
    highest = min(lengths, key=lambda i: i.high)
    if lowest.low > highest.high:
        return None
    inputs = tuple(dict.fromkeys((*lowest.inputs, *highest.inputs)))
    return Interval(lowest.low, highest.high, lowest.unit, inputs)


def open_share(*, near: Interval, far: Interval) -> Interval | None:
    r"""Where a conductor is open, as a share of its length from the near end: :math:`C_n/(C_n+C_f)`.

    Whatever the farads per metre, as long as they are the same all along.

    Parameters
    ----------
    near, far : Interval
        Capacitance read at either end. [F]

    Returns
    -------
    Interval or None
        Share, 0 at the near end and 1 at the far end; None when both ends read nothing. [1]

    References
    ----------
    Two open stubs of one uniform line (ratio; ours). Checked in ``tests/copper/test_readings.py``.
    """
    if near.high <= 0 and far.high <= 0:
        return None
    return spread(_share, "1", near_f=near, far_f=far)


def open_distance(*, near: Interval, far: Interval, length: Interval) -> Interval | None:
    """How far from the near end a conductor is open, from readings at both ends and the length of the way.

    Parameters
    ----------
    near, far : Interval
        Capacitance read at either end. [F]
    length : Interval
        Length from end to end. [m]

    Returns
    -------
    Interval or None
        Distance from the near end; inputs `near_f`, `far_f`, `length_m`. [m]

    References
    ----------
    `open_share` of the length. Checked in ``tests/copper/test_readings.py``.
    """
    if near.high <= 0 and far.high <= 0:
        return None
    return spread(lambda near_f, far_f, length_m: _share(near_f, far_f) * length_m, "m",
                  near_f=near, far_f=far, length_m=length)  # fmt: skip


def open_distance_by_sister(*, broken: Interval, sound: Interval, length: Interval) -> Interval:
    """How far off a conductor is open, against a sound pair of the same jacket read at the same end.

    Parameters
    ----------
    broken, sound : Interval
        Capacitance of the open pair and of the sound one, the latter above zero. [F]
    length : Interval
        Length from end to end. [m]

    Returns
    -------
    Interval
        Distance, never beyond the length; inputs `broken_f`, `sound_f`, `length_m`. [m]

    References
    ----------
    Ratio of two pairs with the same farads per metre (ours). Checked in ``tests/copper/test_readings.py``.
    """
    return spread(lambda broken_f, sound_f, length_m: min(broken_f / sound_f, 1.0) * length_m, "m",
                  broken_f=broken, sound_f=sound, length_m=length)  # fmt: skip


def what_capacitor(*, capacitance: Interval, capacitance_f_per_m: Interval, longest_m: float) -> Cause | None:
    """Whether a capacitance is more than the longest sensible run could have: then a part is connected, and it is no length.

    Parameters
    ----------
    capacitance : Interval
        Reading with its spread. [F]
    capacitance_f_per_m : Interval
        Mutual capacitance of the kind of cable. [F/m]
    longest_m : float
        Longest run that the house could hold. [m]

    Returns
    -------
    Cause or None
        `ringer`, `capacitor` (a protector, a filter), or None: it may be cable.

    References
    ----------
    Ringer 0.47 to 2.2 uF (common practice); the rule is ours. Checked in ``tests/copper/test_readings.py``.
    """
    if capacitance.low <= longest_m * capacitance_f_per_m.high:
        return None
    ringer = capacitance.high >= RINGER_F.low and capacitance.low <= RINGER_F.high
    return Cause.RINGER if ringer else Cause.CAPACITOR


def what_resistor(*, resistance: Interval, awg: Interval, temperature: Interval, longest_m: float) -> Cause | None:
    """Whether a resistance is more than any copper of the house could have: then it is no loop, and no length.

    Parameters
    ----------
    resistance : Interval
        Reading with its spread. [ohm]
    awg : Interval
        Gauges that the jacket may hold. [AWG]
    temperature : Interval
        Temperature of the copper. [C]
    longest_m : float
        Longest run that the house could hold. [m]

    Returns
    -------
    Cause or None
        `resistor` (1 to 100 kohm), `not_copper` (less: a part or a very bad joint), `open_or_leak` (more), or None.

    References
    ----------
    End-of-line and coded resistors (common practice); the rule is ours. Checked in ``tests/copper/test_readings.py``.
    """
    most = loop_ohm(length_m=longest_m, awg=awg.high, temperature_c=temperature.high)
    if resistance.low <= most:
        return None
    if resistance.high < RESISTOR_OHM.low:
        return Cause.NOT_COPPER
    return Cause.RESISTOR if resistance.low <= RESISTOR_OHM.high else Cause.OPEN_OR_LEAK


def _share(near_f: float, far_f: float) -> float:
    """Half way where both read nothing: inside what the other corners span."""
    return near_f / (near_f + far_f) if near_f + far_f > 0 else 0.5

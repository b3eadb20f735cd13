"""Time that a signal takes along a pair, and what lengths times allow."""

from __future__ import annotations

from pullstring.copper.limits import LENGTH_OF_TABLES_M
from pullstring.copper.limits_table import curve, in_mhz

LIGHT_M_PER_S = 299_792_458.0
"""Speed of light in vacuum. [m/s] Exact by definition of the metre."""


def cable_delay_s(*, frequency_hz: float, length_m: float) -> float:
    r"""Greatest propagation delay of cable: :math:`534 + 36/\sqrt f` ns for 100 m, f in MHz.

    Parameters
    ----------
    frequency_hz : float
        1 to 500 MHz. [Hz]
    length_m : float
        Length of the cable, zero or more. [m]

    Returns
    -------
    float
        Greatest delay allowed. [s]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    f = in_mhz(frequency_hz=frequency_hz)
    return (
        curve(part="cable", category="any", quantity="delay", edition=None).at(f).line(f) * 1e-9 * _hundreds(length_m)
    )


def cable_skew_s(*, length_m: float) -> float:
    """Greatest difference of delay between the pairs of a cable: 45 ns for 100 m.

    Parameters
    ----------
    length_m : float
        Length of the cable, zero or more. [m]

    Returns
    -------
    float
        Greatest skew allowed. [s]

    References
    ----------
    TIA-568-C.2 (from memory). Checked in ``tests/copper/test_cords.py``.
    """
    return curve(part="cable", category="any", quantity="skew", edition=None).pieces[0].a * 1e-9 * _hundreds(length_m)


def run_delay_s(*, frequency_hz: float, length_m: float, joints: int) -> float:
    """Delay of a run at the limit of its cable, with 2.5 ns for every connection.

    Parameters
    ----------
    frequency_hz : float
        1 to 500 MHz. [Hz]
    length_m : float
        Length of all cable and cords, zero or more. [m]
    joints : int
        Mated connections in the run. [count]

    Returns
    -------
    float
        Greatest delay allowed to its parts. [s]

    References
    ----------
    TIA-568-C.2 (from memory); at 10 MHz it gives 555 ns for a channel and 498 ns for a permanent link.
    Checked in ``tests/published/test_check_rows.py``.
    """
    f = in_mhz(frequency_hz=frequency_hz)
    connection = curve(part="connector", category="any", quantity="delay", edition=None).at(f).line(f) * 1e-9
    return cable_delay_s(frequency_hz=frequency_hz, length_m=length_m) + joints * connection


def length_for_delay_m(*, delay_s: float, delay_s_per_m: float) -> float:
    """Length that uses up a delay.

    10BASE-T allows 1000 ns; at 545.4 ns for 100 m that is 183 m, where old manuals say 200 m.

    Parameters
    ----------
    delay_s : float
        Delay allowed, zero or more. [s]
    delay_s_per_m : float
        Delay of the cable, above zero. [s/m]

    Returns
    -------
    float
        Length. [m]

    References
    ----------
    Length is time by speed. Checked in ``tests/published/test_check_rows.py``.
    """
    return delay_s / delay_s_per_m


def velocity_factor(*, delay_s_per_m: float) -> float:
    """Speed of a signal as a share of that of light.

    The TIA limit at 10 MHz, 545.4 ns for 100 m, is 0.61; usual cable is quicker, up to 0.7.

    Parameters
    ----------
    delay_s_per_m : float
        Delay of the cable, above zero. [s/m]

    Returns
    -------
    float
        Share, 0 to 1. [ratio]

    References
    ----------
    By definition. Checked in ``tests/copper/test_cords.py``.
    """
    return 1 / (delay_s_per_m * LIGHT_M_PER_S)


def _hundreds(length_m: float) -> float:
    return length_m / LENGTH_OF_TABLES_M

"""Direct current and capacitance of a pair of copper wires.

Words outside, the source's symbols inside; plain floats; numbers by name.
"""

from __future__ import annotations

import math

COPPER_OHM_M = 1.7241e-8
"""Resistivity of annealed copper at 20 C. [ohm m] IEC 60028 (from memory)."""

COPPER_PER_C = 0.00393
"""Rise of that resistivity per degree, referred to 20 C. [1/C] IEC 60028 (from memory)."""

NEC_PER_C = 0.00323
"""The same rise referred to 75 C. [1/C] NEC chapter 9 table 8, note (read in a published text)."""


def gauge_diameter_m(*, awg: float) -> float:
    r"""Diameter of a bare solid conductor of an American wire gauge.

    :math:`d = 0.127\,\mathrm{mm} \cdot 92^{(36-n)/39}`: 39 equal ratios between 0.005 in and 0.46 in.

    Parameters
    ----------
    awg : float
        Gauge number, 0 to 40; a larger number is a thinner wire. [AWG]

    Returns
    -------
    float
        Diameter of the copper alone. [m]

    References
    ----------
    ASTM B258 (the ratio read in a published text). Checked in ``tests/published/test_astm_b258.py``.
    """
    n = awg
    return 0.127e-3 * math.pow(92, (36 - n) / 39)


def conductor_ohm_per_m(*, awg: float, temperature_c: float) -> float:
    """Resistance of one solid copper conductor, one way, per metre.

    Valid for solid annealed copper from -40 to 100 C. Copper-clad aluminium has more than this, and stranded
    wire about 2 % more.

    Parameters
    ----------
    awg : float
        Gauge number. [AWG]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Resistance of one conductor. [ohm/m]

    References
    ----------
    IEC 60028 constants (from memory) on the ASTM B258 diameter.
    Checked in ``tests/published/test_astm_b258.py`` and ``test_nec_chapter9_table8.py``.
    """
    d = gauge_diameter_m(awg=awg)
    area = math.pi * d**2 / 4
    return COPPER_OHM_M * (1 + COPPER_PER_C * (temperature_c - 20)) / area


def nec_ohm(*, ohm_at_75c: float, temperature_c: float) -> float:
    """Resistance at another temperature, in the form the American code prints it.

    R2 = R1 [1 + 0.00323 (T2 - 75)], for copper.

    Parameters
    ----------
    ohm_at_75c : float
        Resistance at 75 C, in any unit of resistance or resistance per length. [ohm]
    temperature_c : float
        Temperature asked for. [C]

    Returns
    -------
    float
        Resistance at that temperature, in the unit given. [ohm]

    References
    ----------
    NEC chapter 9 table 8, note (read in a published text). Rival of the 20 C form in `conductor_ohm_per_m`.
    Checked in ``tests/published/test_nec_chapter9_table8.py``.
    """
    R_1 = ohm_at_75c
    return R_1 * (1 + NEC_PER_C * (temperature_c - 75))


def loop_ohm(*, length_m: float, awg: float, temperature_c: float) -> float:
    """Resistance read at one end of a pair whose far end is shorted: out and back.

    Parameters
    ----------
    length_m : float
        Length of the cable, one way, zero or more. [m]
    awg : float
        Gauge number of both conductors. [AWG]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Loop resistance of one pair, joints not counted. [ohm]

    References
    ----------
    Two conductors in series. Checked in ``tests/published/test_astm_b258.py``.
    """
    return 2 * length_m * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c)


def powered_loop_ohm(*, length_m: float, awg: float, temperature_c: float, pairs: int) -> float:
    """Out-and-back resistance met by power that is sent over two or four pairs.

    Each pole uses half of the pairs, so it has as many conductors in parallel as there are pairs in use.

    Parameters
    ----------
    length_m : float
        Length of the cable, one way, zero or more. [m]
    awg : float
        Gauge number of all conductors. [AWG]
    temperature_c : float
        Temperature of the copper. [C]
    pairs : int
        Pairs in use: 2 (one pair per pole) or 4 (two pairs per pole). [pairs]

    Returns
    -------
    float
        Loop resistance seen by the power. [ohm]

    References
    ----------
    Conductors in parallel; the pairset loop of IEEE 802.3 clause 33 (from memory).
    Checked in ``tests/published/test_always_on_24v.py``.
    """
    if pairs not in (2, 4):
        raise ValueError(f"pairs: power goes over 2 or 4 pairs, not {pairs}; give 2 or 4")
    return loop_ohm(length_m=length_m, awg=awg, temperature_c=temperature_c) / pairs


def capacitance_f(*, length_m: float, capacitance_f_per_m: float) -> float:
    """Capacitance between the two wires of a pair that is open at the far end.

    Valid at the low frequency of a hand meter, with nothing else on the pair: a tap or a ringer adds to it.

    Parameters
    ----------
    length_m : float
        Length of the pair, zero or more; branches add theirs. [m]
    capacitance_f_per_m : float
        Mutual capacitance of the cable. [F/m]

    Returns
    -------
    float
        Capacitance. [F]

    References
    ----------
    A uniform line shorter than a hundredth of a wavelength. Checked in ``tests/copper/test_line.py``.
    """
    return length_m * capacitance_f_per_m


def length_from_loop_m(*, loop_ohm: float, awg: float, temperature_c: float) -> float:
    """Length of a pair from its loop resistance, the far end shorted.

    The gauge must be known: 24 against 26 AWG moves the answer by 59 %. Joints make the answer too long.

    Parameters
    ----------
    loop_ohm : float
        Reading, out and back, the resistance of the leads taken off. [ohm]
    awg : float
        Gauge number of both conductors. [AWG]
    temperature_c : float
        Temperature of the copper. [C]

    Returns
    -------
    float
        Length, one way. [m]

    References
    ----------
    Inverse of `loop_ohm`. Checked in ``tests/published/test_astm_b258.py``.
    """
    return loop_ohm / (2 * conductor_ohm_per_m(awg=awg, temperature_c=temperature_c))


def length_from_capacitance_m(*, capacitance_f: float, capacitance_f_per_m: float) -> float:
    """Distance to the open end of a pair from its capacitance.

    Parameters
    ----------
    capacitance_f : float
        Reading between the two wires, the capacitance of the leads taken off. [F]
    capacitance_f_per_m : float
        Mutual capacitance of the cable, above zero. [F/m]

    Returns
    -------
    float
        Length to the open end, branches included. [m]

    References
    ----------
    Inverse of `capacitance_f`. Checked in ``tests/copper/test_line.py``.
    """
    return capacitance_f / capacitance_f_per_m

"""How much of what one pair sends is heard on its neighbours at the same end (near-end crosstalk, NEXT).

A NEXT loss is better when it is greater. What several places add is added as voltages, the worst case.
A meter cannot read it, so every figure here is a limit or an assumption and the verdict is a band.
"""

from __future__ import annotations

import math

import numpy as np

from pullstring.copper.limits_table import curve
from pullstring.copper.line_models import Reals, plain_number

SPLIT_PAIR_DB = 22.0
"""NEXT loss of a split pair, about; nothing untwisted is worse. [dB] A published glossary of cable tests."""

UNTWISTED_WORST = (58.0, 0.075)
"""NEXT loss at 1 MHz [dB] of that untwisted length [m]: the Category 3 connection with the untwist it allows. Assumed."""

UNTWISTED_TYPICAL = (83.0, 0.013)
"""The same of a Category 5e connection; at equal lengths it is 9.8 dB better. Assumed."""


def next_scaled_db(
    *, next_db: float | Reals, at_hz: float, frequency_hz: float | Reals, disturbers: int
) -> float | Reals:
    r"""NEXT loss of one pair at one frequency carried to another, and to several disturbers.

    Its power grows as :math:`f^{1.5} n^{0.6}`: :math:`NEXT - 15\log(f/f_0) - 6\log n`.

    Parameters
    ----------
    next_db : float or array
        Loss from one disturber. [dB]
    at_hz : float
        Where that holds, above zero. [Hz]
    frequency_hz : float or array
        Where it is wanted, above zero. [Hz]
    disturbers : int
        Pairs that disturb, 1 or more. [count]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    IEEE 802.3an channel studies (read in a published text). Checked in ``tests/published/test_check_rows.py``.
    """
    f = _above_zero(frequency_hz)
    if not at_hz > 0 or disturbers < 1:
        raise ValueError("at_hz, disturbers: a frequency above zero and one pair or more are needed; give such")
    return plain_number(np.asarray(next_db) - 15 * np.log10(f / at_hz) - 6 * math.log10(disturbers))


def binder_next_db(*, frequency_hz: float | Reals, disturbers: int) -> float | Reals:
    r"""NEXT loss that 99 of 100 binders of telephone cable keep: power :math:`0.8536\cdot10^{-14} n^{0.6} f^{1.5}`.

    Parameters
    ----------
    frequency_hz : float or array
        Above zero; the model is of the lowest megahertz. [Hz]
    disturbers : int
        Pairs that disturb, 1 to 49. [count]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    ANSI T1.413 and T1.417 (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    f = _above_zero(frequency_hz)
    if disturbers < 1:
        raise ValueError("disturbers: one pair or more disturbs; give their number")
    return plain_number(-10 * np.log10(0.8536e-14 * disturbers**0.6 * f**1.5))


def cable_curve_next_db(*, category: str, frequency_hz: float | Reals) -> float | Reals:
    """NEXT limit of a category of cable over frequency, carried on beyond its range.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A.
    frequency_hz : float or array
        Above zero. [Hz]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    TIA-568-C, row by row in ``limits.csv``. Checked in ``tests/copper/test_crosstalk.py``.
    """
    return _log_curve("cable", category, frequency_hz)


def joint_next_db(*, category: str, frequency_hz: float | Reals) -> float | Reals:
    """NEXT limit of a connection of a category over frequency, without cap, carried on beyond its range.

    Parameters
    ----------
    category : str
        3 for splices and old blocks, 5, 5e, 6 or 6A for what is marked so.
    frequency_hz : float or array
        Above zero. [Hz]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    TIA connecting-hardware table, row by row in ``limits.csv``. Checked in ``tests/copper/test_crosstalk.py``.
    """
    return _log_curve("connector", category, frequency_hz)


def untwisted_next_db(
    *, length_m: float | Reals, frequency_hz: float | Reals, at_1_mhz_db: float, reference_m: float
) -> float | Reals:
    r"""NEXT loss of a piece without twist: :math:`K - 20\log(f\,d/d_0)`, never under that of a split pair.

    Coupling grows with frequency and length while the piece is short against a wave. Assumed by us: no table was found.

    Parameters
    ----------
    length_m : float or array
        Untwisted length d, zero or more. [m]
    frequency_hz : float or array
        Above zero. [Hz]
    at_1_mhz_db : float
        Loss K at 1 MHz of the reference length: `UNTWISTED_WORST` or `UNTWISTED_TYPICAL`. [dB]
    reference_m : float
        That length, above zero. [m]

    Returns
    -------
    float or array
        Loss; 300 for no length at all. [dB]

    References
    ----------
    Ours, on the connecting hardware of TIA-568 and its untwist. Checked in ``tests/copper/test_crosstalk.py``.
    """
    f = _above_zero(frequency_hz)
    d = np.asarray(length_m, dtype=np.float64)
    if np.any(d < 0) or not reference_m > 0:
        raise ValueError("length_m, reference_m: lengths are zero or more, the reference above zero; give such")
    falls = at_1_mhz_db - 20 * np.log10(np.maximum(f / 1e6 * d / reference_m, 1e-12))
    return plain_number(np.clip(falls, SPLIT_PAIR_DB, 300.0))


def voltage_sum_db(*, losses_db: tuple[float | Reals, ...]) -> float | Reals:
    r"""What several couplings are together when all add in step: :math:`-20\log\sum 10^{-NEXT_i/20}`.

    Parameters
    ----------
    losses_db : tuple of float or array
        NEXT loss of each place, one or more. [dB]

    Returns
    -------
    float or array
        Loss of all. [dB]

    References
    ----------
    The sum of TIA-568 for channels (from memory). Checked in ``tests/copper/test_crosstalk.py``.
    """
    if not losses_db:
        raise ValueError("losses_db: nothing couples; give one loss or more")
    total = sum(np.power(10.0, -np.asarray(loss, dtype=np.float64) / 20) for loss in losses_db)
    return plain_number(np.asarray(-20 * np.log10(total), dtype=np.float64))


def _log_curve(part: str, category: str, frequency_hz: float | Reals) -> float | Reals:
    f = _above_zero(frequency_hz) / 1e6
    held = curve(part=part, category=category, quantity="next", edition=None).pieces
    values = held[0].a - held[0].b * np.log10(f / held[0].c)
    for piece in held[1:]:
        values = np.where(f > piece.low, piece.a - piece.b * np.log10(f / piece.c), values)
    return plain_number(np.asarray(values, dtype=np.float64))


def _above_zero(frequency_hz: float | Reals) -> Reals:
    f = np.asarray(frequency_hz, dtype=np.float64)
    if not np.all((f > 0) & np.isfinite(f)):
        raise ValueError("frequency_hz: a frequency lies above zero; give it in hertz")
    return f

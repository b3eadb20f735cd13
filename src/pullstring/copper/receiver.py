"""What a receiver needs, and what it has: required signal to noise, the best decision-feedback receiver, capacity.

A decision-feedback receiver that puts every frequency to its best use has the geometric mean of 1 + SNR. Real receivers
fall short of it; what is taken off for that is called the implementation loss.
"""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

from pullstring.copper.limits_table import curve
from pullstring.copper.line_models import Reals, attenuation_db

SENT_DBM_PER_HZ = -76.0
NOISE_DBM_PER_HZ = -140.0
"""Density of the signal as sent and of the noise at the receiver: choices of modelling, ours. [dBm/Hz]"""

IMPLEMENTATION_DB = 6.0
"""What a real receiver falls short of the best one. [dB] Choice of modelling, ours."""

FLOOR_DB = -100.0
"""No signal to speak of; a finite number instead of minus infinity. [dB]"""


def pam_snr_required_db(*, levels: int, error_rate: float) -> float:
    r"""Signal to noise that uncoded pulses of M levels take: :math:`\frac{M^2-1}{3}\,Q^{-1}(p)^2`.

    Parameters
    ----------
    levels : int
        M, 2 or more. [count]
    error_rate : float
        Errors allowed per symbol, p, above 0 and below 0.5. [ratio]

    Returns
    -------
    float
        Signal to noise. [dB]

    References
    ----------
    Textbook form for equally spaced levels in Gaussian noise. Checked in ``tests/published/test_check_rows.py``.
    """
    if levels < 2:
        raise ValueError(f"levels: pulses have 2 levels or more, not {levels}; give such a number")
    return 10 * math.log10((levels**2 - 1) / 3 * _q_inverse(error_rate) ** 2)


def shannon_gap_db(*, error_rate: float) -> float:
    r"""How far uncoded pulses of many levels stay behind capacity: :math:`\Gamma = Q^{-1}(p/2)^2/3`; 9.8 dB at 1e-7.

    Parameters
    ----------
    error_rate : float
        Errors allowed per symbol, p, above 0 and below 0.5. [ratio]

    Returns
    -------
    float
        Gap. [dB]

    References
    ----------
    Textbook form; an inner level errs to both sides. Checked in ``tests/published/test_check_rows.py``.
    """
    return 10 * math.log10(_q_inverse(error_rate / 2) ** 2 / 3)


def salz_snr_db(*, frequency_hz: Reals, snr_db: Reals) -> float:
    r"""Signal to noise of the best decision-feedback receiver: :math:`\exp\left(\frac1B\int\ln(1+SNR)\,df\right)-1`.

    Integrated by trapezoids over the frequencies given.

    Parameters
    ----------
    frequency_hz : array
        Rising, two or more, covering the band of the signal. [Hz]
    snr_db : array
        Signal to noise at each. [dB]

    Returns
    -------
    float
        Signal to noise, never under -100. [dB]

    References
    ----------
    Salz, optimum mean-square decision feedback, Bell System Technical Journal 1973 (abstract read).
    Checked in ``tests/published/test_check_rows.py``.
    """
    f = np.asarray(frequency_hz, dtype=np.float64)
    if f.ndim != 1 or f.size < 2 or np.any(np.diff(f) <= 0):
        raise ValueError("frequency_hz: two or more rising frequencies are needed; give those of the band")
    weight = np.zeros_like(f)
    weight[:-1] += np.diff(f) / 2
    weight[1:] += np.diff(f) / 2
    return float(weighted_salz_db(snr_db=np.asarray(snr_db, dtype=np.float64), weight=weight / weight.sum()))


def weighted_salz_db(*, snr_db: Reals, weight: Reals) -> Reals:
    """`salz_snr_db` with the weights of an integration given, over the last axis; they add up to one.

    Parameters
    ----------
    snr_db : array
        Signal to noise; the last axis is frequency. [dB]
    weight : array
        Share of the band that each frequency stands for. [ratio]

    Returns
    -------
    array
        Signal to noise, never under -100. [dB]

    References
    ----------
    As `salz_snr_db`. Checked in ``tests/copper/test_receiver.py``.
    """
    mean = np.log1p(np.power(10.0, np.minimum(snr_db, 300.0) / 10)) @ weight
    return np.asarray(10 * np.log10(np.maximum(np.expm1(mean), 10 ** (FLOOR_DB / 10))), dtype=np.float64)


def snr_db(*, loss_db: float | Reals, next_db: float | Reals | None) -> Reals:
    r"""Signal to noise at a frequency: :math:`S - IL - 10\log(10^{(S-NEXT)/10}+10^{N_0/10})`.

    Parameters
    ----------
    loss_db : float or array
        Loss of the run. [dB]
    next_db : float, array or None
        Near-end crosstalk loss from all that disturbs; None if nothing does. [dB]

    Returns
    -------
    array
        Signal to noise. [dB]

    References
    ----------
    S = -76 and N0 = -140 dBm/Hz are choices of modelling. Checked in ``tests/copper/test_receiver.py``.
    """
    noise = 10 ** (NOISE_DBM_PER_HZ / 10)
    heard = 0.0 if next_db is None else np.power(10.0, (SENT_DBM_PER_HZ - np.asarray(next_db)) / 10)
    return np.asarray(SENT_DBM_PER_HZ - loss_db - 10 * np.log10(heard + noise), dtype=np.float64)


def worst_link_snr_db(*, category: str, length_m: float, disturbers: int, top_hz: float) -> float:
    """The best receiver's signal to noise on cable that is as bad as its category allows, from 1 MHz up.

    Parameters
    ----------
    category : str
        3, 5, 5e, 6 or 6A; its limit curves are carried on above their top.
    length_m : float
        Length, zero or more. [m]
    disturbers : int
        Pairs that disturb, 1 or more. [count]
    top_hz : float
        Top of the band, above 1 MHz: half the symbol rate. [Hz]

    Returns
    -------
    float
        Signal to noise. [dB]

    References
    ----------
    Limits of TIA-568-C; pairs add as n to the 0.6 (IEEE 802.3an channel studies, read in a published text).
    Checked in ``tests/copper/test_receiver.py``.
    """
    if not top_hz > 1e6 or disturbers < 1:
        raise ValueError("top_hz, disturbers: the band ends above 1 MHz and one pair or more disturbs; give such")
    f = np.linspace(1e6, top_hz, 2001)
    row = curve(part="cable", category=category, quantity="next", edition=None).pieces[0]
    near = row.a - row.b * np.log10(f / 1e6 / row.c) - 6 * math.log10(disturbers)
    loss = attenuation_db(model=f"cat{category.casefold()}_limit", frequency_hz=f, length_m=length_m)
    return salz_snr_db(frequency_hz=f, snr_db=snr_db(loss_db=loss, next_db=near))


def capacity_bps(*, band_hz: float, snr_db: float | Reals) -> float:
    r"""Shannon's bound: :math:`B\,\overline{\log_2(1+SNR)}`.

    With a gap to capacity and a margin, take both off the signal to noise first.

    Parameters
    ----------
    band_hz : float
        Width of the band, zero or more. [Hz]
    snr_db : float or array
        Signal to noise, or its values at the middles of equal parts of the band. [dB]

    Returns
    -------
    float
        Capacity. [bit/s]

    References
    ----------
    Shannon 1949 (from memory). Checked in ``tests/published/test_check_rows.py``.
    """
    if not 0 <= band_hz < math.inf:
        raise ValueError("band_hz: a band is zero or more; give its width in hertz")
    ratio = np.power(10.0, np.minimum(np.asarray(snr_db, dtype=np.float64), 300.0) / 10)
    return float(band_hz * np.mean(np.log1p(ratio)) / math.log(2))


def bits_per_hz(*, rate_bps: float, pairs: int, nyquist_hz: float) -> float:
    """How densely a rate uses its pairs: 4 bit/s/Hz for 1000BASE-T, 6.25 for 2.5GBASE-T.

    Parameters
    ----------
    rate_bps : float
        Rate over all pairs. [bit/s]
    pairs : int
        Pairs that carry it. [count]
    nyquist_hz : float
        Half the symbol rate, above zero. [Hz]

    Returns
    -------
    float
        Density. [bit/s/Hz]

    References
    ----------
    By definition. Checked in ``tests/published/test_check_rows.py``.
    """
    if pairs < 1 or not nyquist_hz > 0:
        raise ValueError("pairs, nyquist_hz: one pair or more and a band above zero are needed; give such")
    return rate_bps / pairs / nyquist_hz


def _q_inverse(p: float) -> float:
    if not 0 < p < 0.5:
        raise ValueError(f"error_rate: {p:g} is none; give a share above 0 and below 0.5")
    return -NormalDist().inv_cdf(p)

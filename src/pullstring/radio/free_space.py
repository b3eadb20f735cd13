"""Loss of a wave that meets nothing, and the level that is left: ITU-R P.525.

Words outside, the source's symbols inside; numbers by name; scalars or arrays of any shape. A length or frequency of zero
or less gives NaN: there is no such path.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.materials import LIGHT_M_PER_S

Floats = NDArray[np.float64]

NEAREST_M = 0.5
"""Shortest distance at which a level is worth telling: nearer, antennas are no points. [m] Common practice; callers hold to it."""


def wavelength_m(*, frequency_hz: Floats | float) -> Floats:
    r"""Wavelength in air, :math:`\lambda = c / f`.

    Parameters
    ----------
    frequency_hz : float or array
        Above zero. [Hz]

    Returns
    -------
    array
        Wavelength; the refraction of air (0.03 %) is left out. [m]

    References
    ----------
    Speed of light by definition of the metre. Checked in ``tests/radio/test_free_space.py``.
    """
    return LIGHT_M_PER_S / _above_zero(frequency_hz)


def free_space_loss_db(*, distance_m: Floats | float, frequency_hz: Floats | float) -> Floats:
    r"""Basic transmission loss between isotropic antennas in free space.

    :math:`L_{bf} = 20 \log_{10}(4 \pi d / \lambda)`. Valid in the far field; see `NEAREST_M`.

    Parameters
    ----------
    distance_m : float or array
        Length of the path, above zero. [m]
    frequency_hz : float or array
        Above zero. [Hz]

    Returns
    -------
    array
        Loss. [dB]

    References
    ----------
    ITU-R P.525, basic transmission loss of point-to-point links (from memory).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    d = _above_zero(distance_m)
    return 20 * np.log10(4 * pi * d / wavelength_m(frequency_hz=frequency_hz))


def received_level_dbm(
    *, eirp_dbm: Floats | float, loss_db: Floats | float, receive_gain_dbi: Floats | float
) -> Floats:
    r"""Level at the terminals of the receiving antenna: what is radiated, less the loss, plus the gain.

    :math:`P_r = EIRP - L + G_r`. Valid when both antennas look at each other and share a polarisation.

    Parameters
    ----------
    eirp_dbm : float or array
        What the sender radiates in the direction of the path. [dBm]
    loss_db : float or array
        All loss between isotropic antennas. [dB]
    receive_gain_dbi : float or array
        Gain of the receiving antenna in the direction of the path. [dBi]

    Returns
    -------
    array
        Level received. [dBm]

    References
    ----------
    Definition of basic transmission loss, ITU-R P.341 (from memory).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    return np.asarray(eirp_dbm, float) - loss_db + receive_gain_dbi


def two_ray_gain_db(
    *, plan_m: float, near_height_m: float, far_height_m: float, reflection_ratio: complex, frequency_hz: float
) -> float:
    r"""What a bounce off flat ground adds to the straight path between two masts, or takes away.

    :math:`20 \log_{10} |1 + \Gamma \frac{d_0}{d_1} e^{-j 2 \pi (d_1 - d_0) / \lambda}|`. Valid over
    ground that is flat to a fraction of the wavelength divided by the grazing angle; lawn and gravel scatter, so take it
    as the swing to expect and not as a value.

    Parameters
    ----------
    plan_m : float
        Distance along the ground, above zero. [m]
    near_height_m, far_height_m : float
        Heights above the ground, zero or more. [m]
    reflection_ratio : complex
        Amplitude of the bounce, Gamma; near grazing it goes to -1 on any ground. [1]
    frequency_hz : float
        [Hz]

    Returns
    -------
    float
        Above zero where the bounce helps; minus infinity where it cancels all. [dB]

    References
    ----------
    Two paths by geometry. Checked against the plane-earth limit in ``tests/radio/test_free_space.py``.
    """
    d_0 = float(np.hypot(plan_m, near_height_m - far_height_m))
    d_1 = float(np.hypot(plan_m, near_height_m + far_height_m))
    phase = 2 * pi * (d_1 - d_0) / float(wavelength_m(frequency_hz=frequency_hz))
    with np.errstate(divide="ignore"):
        return float(20 * np.log10(np.abs(1 + reflection_ratio * d_0 / d_1 * np.exp(-1j * phase))))


def _above_zero(value: Floats | float) -> Floats:
    given = np.asarray(value, float)
    return np.where(given > 0, given, np.nan)

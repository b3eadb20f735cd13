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
    return np.asarray(eirp_dbm, float) - np.asarray(loss_db, float) + np.asarray(receive_gain_dbi, float)


def _above_zero(value: Floats | float) -> Floats:
    given = np.asarray(value, float)
    return np.where(given > 0, given, np.nan)

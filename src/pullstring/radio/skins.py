"""How much of a field goes through a skin, and how much comes back, at every angle: tables made once per scene.

Where layers are known they follow ITU-R P.2040 (`slab.py`); where only a loss is known it holds at every angle.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from math import log10

import numpy as np
from numpy.typing import NDArray

from pullstring.radio import slab
from pullstring.radio.scene import Skin

STEPS = 512
"""Steps of the cosine of incidence from 0 to 1 in the tables."""
_COSINES = (np.arange(STEPS + 1) / STEPS).clip(1e-4)


@dataclasses.dataclass(frozen=True)
class Responses:
    """Amplitude ratios by band, skin, polarisation (0 TE, 1 TM) and step of the cosine of incidence."""

    frequencies_hz: NDArray[np.float64]
    names: tuple[str, ...]
    through: NDArray[np.complex64]
    back: NDArray[np.complex64]


def responses(
    skins: Mapping[str, Skin], *, bands: Sequence[str], frequencies_hz: Sequence[float], interference: bool
) -> Responses:
    """Tables for all skins in the order of their names.

    Parameters
    ----------
    skins : mapping of Skin by name
    bands, frequencies_hz : sequences of one length
        The bands asked for and where in them the losses are worked out. [Hz]
    interference : bool
        True takes layers as even to the millimetre (only for drawings that are); False leaves interference out.

    References
    ----------
    ITU-R P.2040-4 (09/2025), by `slab`; a loss alone holds at every angle, which is ours. Checked in ``tests/radio/test_skins.py``.
    """
    names = tuple(sorted(skins))
    shape = (len(bands), len(names), 2, STEPS + 1)
    through, back = np.zeros(shape, np.complex64), np.zeros(shape, np.complex64)
    for b, (band, hz) in enumerate(zip(bands, frequencies_hz, strict=True)):
        for s, name in enumerate(names):
            for p, polarisation in enumerate(slab.POLARISATIONS):
                through[b, s, p], back[b, s, p] = _one(skins[name], band, hz, polarisation, interference)
    return Responses(np.asarray(frequencies_hz, float), names, through, back)


def normal_loss_db(skin: Skin, *, band: str, frequency_hz: float) -> float:
    """Loss of one crossing straight on, interference left out.

    Parameters
    ----------
    skin : Skin
    band : str
        One of `scene.BANDS`.
    frequency_hz : float
        Where in the band. [Hz]

    Returns
    -------
    float
        Zero or more. [dB]

    References
    ----------
    ITU-R P.2040-4 (09/2025), by `slab.mean_powers`. Checked in ``tests/radio/test_skins.py``.
    """
    if not skin.layers:
        return skin.loss_db[band]
    stack = slab.sheets(skin.layers, frequency_hz=frequency_hz)
    power, _ = slab.mean_powers(stack, frequency_hz=frequency_hz, cos_incidence=1.0, polarisation="TE")
    return float(-10 * log10(max(float(power[0]), 1e-40)))


def _one(
    skin: Skin, band: str, hz: float, polarisation: str, interference: bool
) -> tuple[slab.Complex | float, slab.Complex | float]:
    sign = -1.0 if polarisation == "TE" else 1.0
    if not skin.layers:
        return 10 ** (-skin.loss_db[band] / 20), sign * 10 ** (-skin.mirror_db[band] / 20)
    stack = slab.sheets(skin.layers, frequency_hz=hz)
    T, R = slab.scattering(stack, frequency_hz=hz, cos_incidence=_COSINES, polarisation=polarisation)
    if interference:
        return T, R
    through, back = slab.mean_powers(stack, frequency_hz=hz, cos_incidence=_COSINES, polarisation=polarisation)
    endless = [(stack[0][0], 1e3)]  # the sign is that of the first face
    _, face = slab.scattering(endless, frequency_hz=hz, cos_incidence=_COSINES, polarisation=polarisation)
    return np.sqrt(through).astype(complex), np.sqrt(back) * np.where(face.real < 0, -1.0, 1.0)

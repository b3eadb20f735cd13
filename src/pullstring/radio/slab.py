r"""Transmission and reflection of a plane wave at layers in air: ITU-R P.2040-4, multi-layer slab.

Fields go as exp(+j w t). TE: the electric field stands across the plane of incidence; TM: it lies in it. Reflections
have the signs of P.2040: a good conductor gives -1 in TE and +1 in TM. Real walls are not even to a tenth of a
wavelength, so for them `mean_powers` leaves interference out: it is smooth in thickness, and 5 mm of drawing error
change nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.materials import LIGHT_M_PER_S, permittivity
from pullstring.radio.scene import Layer

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]
Sheet = tuple[complex, float]
"""A layer as its complex relative permittivity [1] and its thickness [m]."""
POLARISATIONS = ("TE", "TM")


def sheets(layers: Sequence[Layer], *, frequency_hz: float) -> tuple[Sheet, ...]:
    """Layers with the permittivity their materials have at a frequency.

    Parameters
    ----------
    layers : sequence of Layer
    frequency_hz : float
        [Hz]

    Returns
    -------
    tuple of (complex, float)
        Relative permittivity [1] and thickness [m].

    References
    ----------
    ITU-R P.2040-4 (09/2025), Table 3, by `materials.permittivity`.
    """
    return tuple((permittivity(one.material, frequency_hz=frequency_hz), one.thickness_m) for one in layers)


def scattering(
    stack: Sequence[Sheet], *, frequency_hz: float, cos_incidence: Floats | float, polarisation: str
) -> tuple[Complex, Complex]:
    r"""Complex transmission and reflection of a stack of layers in air, with interference.

    Each layer is the matrix [cos p, j sin p / Y; j Y sin p, cos p] with p = k0 root d, root = sqrt(eps - sin^2),
    Y = root (TE) or eps / root (TM), both over eta0; air outside has Y0 = cos (TE) or 1 / cos (TM).
    T = 2 / (A + B Y0 + C / Y0 + D), R = (A + B Y0 - C / Y0 - D) times T / 2.

    Parameters
    ----------
    stack : sequence of (complex, float)
        Relative permittivity [1] and thickness [m] of each layer, from the side of incidence.
    frequency_hz : float
        [Hz]
    cos_incidence : float or array
        Cosine of the angle to the normal, above 0 and up to 1. [1]
    polarisation : str
        "TE" or "TM".

    Returns
    -------
    T, R : complex arrays of the shape of `cos_incidence`
        Amplitude ratios. The loss is -20 log10 of the absolute value. [1]

    References
    ----------
    ITU-R P.2040-4 (09/2025), slabs of several layers; from memory, checked against two libraries in
    ``tests/published/test_p2040.py``.
    """
    cos = np.atleast_1d(np.asarray(cos_incidence, float)).astype(complex)
    te = _is_te(polarisation)
    k0 = 2 * pi * frequency_hz / LIGHT_M_PER_S
    A, B, C, D = np.ones_like(cos), np.zeros_like(cos), np.zeros_like(cos), np.ones_like(cos)
    for eps, thickness_m in stack:
        root, Y = _admittance(eps, cos, te)
        p = k0 * root * thickness_m
        p = p.real + 1j * np.maximum(p.imag, -300)  # beyond 2600 dB nothing is left, and the sine would overflow
        c, js = np.cos(p), 1j * np.sin(p)
        A, B, C, D = A * c + B * js * Y, A * js / Y + B * c, C * c + D * js * Y, C * js / Y + D * c
    Y0 = cos if te else 1 / cos
    T = 2 / (A + B * Y0 + C / Y0 + D)
    R = (A + B * Y0 - C / Y0 - D) * T / 2
    return T, (R if te else -R)


def mean_powers(
    stack: Sequence[Sheet], *, frequency_hz: float, cos_incidence: Floats | float, polarisation: str
) -> tuple[Floats, Floats]:
    """Share of power transmitted and reflected by a stack in air, averaged over the phase of every layer.

    Powers instead of fields are added up from face to face. For one layer this is
    |1 - r^2|^2 a / (1 - |r|^4 a^2) with a the power left after one way through.

    Parameters
    ----------
    stack : sequence of (complex, float)
        Relative permittivity [1] and thickness [m] of each layer, from the side of incidence.
    frequency_hz : float
        [Hz]
    cos_incidence : float or array
        Cosine of the angle to the normal, above 0 and up to 1. [1]
    polarisation : str
        "TE" or "TM".

    Returns
    -------
    through, back : arrays of the shape of `cos_incidence`
        Power ratios. [1]

    References
    ----------
    ITU-R P.2040-4 (09/2025) gives the faces; adding powers is ours. Checked in ``tests/published/test_p2040.py`` and
    ``tests/radio/test_slab.py``.
    """
    cos = np.atleast_1d(np.asarray(cos_incidence, float)).astype(complex)
    te = _is_te(polarisation)
    k0 = 2 * pi * frequency_hz / LIGHT_M_PER_S
    before = cos if te else 1 / cos
    through, back, inside = np.ones(cos.shape), np.zeros(cos.shape), np.zeros(cos.shape)
    onward = np.ones(cos.shape)  # through in the other direction
    left = np.ones(cos.shape)  # power left after one way through the layer before this face
    for eps, thickness_m in (*stack, (1.0 + 0j, 0.0)):
        root, Y = _admittance(eps, cos, te)
        r = (before - Y) / (before + Y)
        face, face_in, face_out = np.abs(r) ** 2, np.abs(1 + r) ** 2, np.abs(1 - r) ** 2
        many = 1 / (1 - inside * left**2 * face)
        back = back + through * onward * left**2 * face * many
        through, onward, inside = (
            through * left * face_in * many,
            onward * left * face_out * many,
            face + face_in * face_out * left**2 * inside * many,
        )
        left = np.exp(2 * k0 * root.imag * thickness_m)
        before = Y
    return through, np.minimum(back, 1 - through)  # very thin and lossy sheets would throw back more than is left


def of_layers(
    layers: Sequence[Layer], *, frequency_hz: float, cos_incidence: Floats | float, polarisation: str
) -> tuple[Complex, Complex]:
    """Complex transmission and reflection of layers in air, with interference: `scattering` of their materials.

    Parameters
    ----------
    layers : sequence of Layer
        From the side of incidence.
    frequency_hz : float
        [Hz]
    cos_incidence : float or array
        Cosine of the angle to the normal, above 0 and up to 1. [1]
    polarisation : str
        "TE" or "TM".

    Returns
    -------
    T, R : complex arrays
        Amplitude ratios. [1]

    References
    ----------
    ITU-R P.2040-4 (09/2025), slabs of several layers. Checked in ``tests/published/test_p2040.py``.
    """
    stack = sheets(layers, frequency_hz=frequency_hz)
    return scattering(stack, frequency_hz=frequency_hz, cos_incidence=cos_incidence, polarisation=polarisation)


def _admittance(eps: complex, cos: Complex, te: bool) -> tuple[Complex, Complex]:
    """Longitudinal root (the branch that decays) and admittance of a medium over that of vacuum."""
    root = np.sqrt(eps - 1 + cos**2)
    root = np.where(root.imag > 0, -root, root)
    return root, (root if te else eps / root)


def _is_te(polarisation: str) -> bool:
    if polarisation not in POLARISATIONS:
        raise ValueError(f"{polarisation!r} is no polarisation; write TE or TM")
    return polarisation == "TE"

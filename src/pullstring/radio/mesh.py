"""Wire mesh standing in air: chicken wire, welded mesh. Loss falls with frequency, for a mesh is a high-pass filter.

House rules
-----------
1. Both forms hold in a range of cell over wavelength. Outside, they refuse; whoever has such a mesh takes the class of the wall.
2. **Never for a plastered wall.** Plaster tunes the mesh out or makes it worse, by 8 dB either way (own field solver, one cell
   in 25 mm of permittivity 4); there a class with a wide spread stands, and readings narrow it.
3. Against the field solver both forms are 0.1 to 2.5 dB low in the range where they hold.
"""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.free_space import wavelength_m

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]

VACUUM_H_PER_M = 4e-7 * pi
"""Permeability of vacuum. [H/m] CODATA 2018 agrees to nine digits."""
AIR_OHM = 376.730313668
"""Wave impedance of vacuum. [ohm] CODATA 2018."""
SHEET_CELLS_IN_WAVELENGTH = 3
"""The sheet impedance is used up to a cell of a third of a wavelength; it is derived for cells under about a fifth. [1] Memory."""


def mesh_transmission(
    *,
    cell_m: float,
    wire_diameter_m: float,
    wire_ohm: float,
    frequency_hz: float,
    cos_incidence_ratio: Floats | float,
    polarisation: str,
) -> Complex:
    r"""Amplitude passed by a square mesh of wires that touch where they cross, in air.

    :math:`Z_s = R_w + j \omega L_s`, :math:`L_s = \frac{\mu_0 a}{2 \pi} \ln \frac{1}{1 - e^{-2 \pi r / a}}`. TE:
    :math:`x = 2 Z_s \cos\theta / \eta_0`; TM: :math:`x = 2 (Z_s - j \omega L_s \sin^2\theta / 2) / (\eta_0 \cos\theta)`;
    :math:`T = x / (1 + x)`.

    Parameters
    ----------
    cell_m : float
        From wire to wire, a; at most a third of a wavelength. [m]
    wire_diameter_m : float
        Twice the radius r, less than the cell. [m]
    wire_ohm : float
        Resistance of one cell's length of wire, R_w; zero for a wire without loss. [ohm]
    frequency_hz : float
        [Hz]
    cos_incidence_ratio : float or array
        Cosine of the angle to the normal, above 0 and up to 1. [1]
    polarisation : str
        "TE" or "TM".

    Returns
    -------
    complex array
        Amplitude ratio T; the loss is -20 log10 of its absolute value. [1]

    References
    ----------
    Bonded wire mesh as a sheet impedance, IEEE Trans. EMC 30(3), 1988 (abstract and section on the model read, formula from
    memory). Checked in ``tests/published/test_radio_check_rows.py`` and ``tests/radio/test_mesh.py``.
    """
    a, r = cell_m, wire_diameter_m / 2
    if not 0 < wire_diameter_m < a:
        raise ValueError(
            f"wire of {wire_diameter_m:g} m in cells of {a:g} m: a wire is thinner than its cell; give both in metres"
        )
    share = a / float(wavelength_m(frequency_hz=frequency_hz))
    if share > 1 / SHEET_CELLS_IN_WAVELENGTH:
        raise ValueError(
            f"cell of {a:g} m at {frequency_hz:g} Hz: {share:.2f} wavelengths are too many for a sheet; it holds up to 0.33"
        )
    X_s = 2 * pi * frequency_hz * VACUUM_H_PER_M * a / (2 * pi) * -np.log(-np.expm1(-2 * pi * r / a))
    cos = np.asarray(cos_incidence_ratio, float)
    Z_s = wire_ohm + 1j * X_s
    if polarisation == "TE":
        x = 2 * Z_s * cos / AIR_OHM
    elif polarisation == "TM":
        x = 2 * (Z_s - 1j * X_s * (1 - cos**2) / 2) / (AIR_OHM * cos)
    else:
        raise ValueError(f"{polarisation!r} is no polarisation; write TE or TM")
    return np.asarray(x / (1 + x))


def strip_grid_transmission(*, cell_m: float, strip_m: float, frequency_hz: float) -> complex:
    r"""Amplitude passed at normal incidence by a square grid of flat strips in air, for cells of up to a wavelength.

    Admittance over that of air :math:`Y = -j (\beta - 1/\beta) \frac{a/c + (a/\lambda)^2 / 2}{\ln \csc(\pi \delta / 2 a)}` with
    :math:`\beta = (1 - 0.41 \delta / a) \lambda / a` and c = a - delta; :math:`T = 1 / (1 + Y/2)`. A round wire counts as a strip
    of twice its diameter.

    Parameters
    ----------
    cell_m : float
        From strip to strip, a; less than a wavelength. [m]
    strip_m : float
        Width of a strip, delta, less than half the cell. [m]
    frequency_hz : float
        [Hz]

    Returns
    -------
    complex
        Amplitude ratio T; the loss is -20 log10 of its absolute value. [1]

    References
    ----------
    Closed forms for transmission through periodic metal grids, IEEE Trans. AP 30(5), 1982 (from memory); twice the diameter
    is the usual equivalence of wire and strip. Checked in ``tests/published/test_radio_check_rows.py``.
    """
    a, delta = cell_m, strip_m
    if not 0 < delta < a / 2:
        raise ValueError(
            f"strip of {delta:g} m in cells of {a:g} m: a strip is less than half its cell; give both in metres"
        )
    share = a / float(wavelength_m(frequency_hz=frequency_hz))
    if share >= 1:
        raise ValueError(
            f"cell of {a:g} m at {frequency_hz:g} Hz: {share:.2f} wavelengths are too many; the grid holds below 1"
        )
    beta = (1 - 0.41 * delta / a) / share
    Y = -1j * (beta - 1 / beta) * (a / (a - delta) + share**2 / 2) / -np.log(np.sin(pi * delta / (2 * a)))
    return complex(1 / (1 + Y / 2))

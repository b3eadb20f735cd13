r"""Published models of pairs: what a metre of cable does to a signal, over frequency.

House rules
-----------
1. Parameters are rows of `line_models.csv` with source and provenance; here are only the forms.
2. Four forms: `bt0` (per km), `tno` (per m), `limit` (a category's limit curve, carried beyond its range), and a power law
   that has loss only. They disagree by design: at 16 MHz a pair of 0.5 mm loses 6.1 dB (power law) to 9.2 dB (T05h) in 100 m,
   the Category 3 limit is 13.1 dB. So a loss is a bracket, never one line.
3. All at 20 C; what heat, gauge and stranded wire add stands in the estimate.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from pullstring.copper.delay import LIGHT_M_PER_S
from pullstring.copper.limits_table import curve

Reals = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]

DB_PER_NEPER = 20 / math.log(10)
MU_0_H_PER_M = 4e-7 * math.pi
"""Permeability of vacuum. [H/m]"""

SLOW, QUICK = 0.61, 0.69
"""Velocity factors that old pairs lie between: the TIA-568 delay limit at 10 MHz, and the models `cat5` and `T05h`
(computed here). [ratio]"""

LIMIT_OHM = 100.0
"""Impedance of a line whose limit curve is all that is known. [ohm] The nominal value of TIA-568."""

TOP_HZ = 500e6
"""Highest frequency at which any model is asked. [Hz]"""

POWER_LAW = {0.4e-3: (5.1, 14.3, 0.59), 0.5e-3: (4.4, 10.8, 0.60), 0.6e-3: (3.8, 9.2, 0.61)}
"""k1, k2, k3 by diameter of the copper [m]: from memory; the form was read in a published text."""


@dataclasses.dataclass(frozen=True)
class LineModel:
    """One row of `line_models.csv`; between `low_hz` and `high_hz` its source stands behind it."""

    name: str
    form: str
    values: Mapping[str, float]
    category: str
    low_hz: float
    high_hz: float
    source: str
    provenance: str


@functools.cache
def line_models() -> Mapping[str, LineModel]:
    """All models by name, in the order of the table."""
    text = importlib.resources.files("pullstring.copper").joinpath("line_models.csv").read_text(encoding="utf-8")
    return {row["model"]: _model(row) for row in csv.DictReader(text.splitlines())}


def line_model(name: str) -> LineModel:
    """The model of that name; ValueError names those that are held."""
    held = line_models()
    if name not in held:
        raise ValueError(f"model {name!r}: no such line is held; give one of {', '.join(held)}")
    return held[name]


def secondary(*, model: str, frequency_hz: float | Reals) -> tuple[Complexes, Complexes]:
    r"""Propagation constant and characteristic impedance of a line.

    bt0: :math:`R=(r^4+af^2)^{1/4}`, :math:`L=(L_0+L_ix)/(1+x)`, :math:`x=(f/f_m)^b`, :math:`C=C_i`, no leakage.
    tno: :math:`Z_s=j\omega L_s+R_{s0}\left(1-q_sq_x+\sqrt{q_s^2q_x^2+2s\,(q_s^2+sq_y)/(q_s^2/q_x+sq_y)}\right)`,
    :math:`Y_p=j\omega C_p(1+jf/f_d)^{-2\phi/\pi}`. Both: :math:`\gamma=\sqrt{ZY}`, :math:`Z_0=\sqrt{Z/Y}`.
    limit: the loss of the limit curve, the phase of velocity factor 0.61, 100 ohm.

    Parameters
    ----------
    model : str
        Name of a row of ``line_models.csv``.
    frequency_hz : float or array
        Above zero, up to 500 MHz; each row says how far its source goes. [Hz]

    Returns
    -------
    pair of arrays
        Propagation constant [1/m] and impedance [ohm], complex.

    References
    ----------
    ANSI T1.417 and ITU-T G.993 (BT0), ITU-T G.9701 (TNO): forms and parameters read in a published text.
    Checked in ``tests/copper/test_line_models.py`` and ``tests/published/test_check_rows.py``.
    """
    f = _frequencies(frequency_hz)
    line = line_model(model)
    if line.form == "limit":
        alpha = _limit_db_per_m(line.category, f) / DB_PER_NEPER
        beta = 2 * math.pi * f / (SLOW * LIGHT_M_PER_S)
        return _complex(alpha + 1j * beta), _complex(np.full_like(f, LIMIT_OHM))
    Z, Y = (_bt0 if line.form == "bt0" else _tno)(line.values, f)
    return _complex(np.sqrt(Z * Y)), _complex(np.sqrt(Z / Y))


def attenuation_db(*, model: str, frequency_hz: float | Reals, length_m: float) -> float | Reals:
    r"""Loss of a line that is matched at both ends, at 20 C: :math:`20\log_{10}(e)\,\mathrm{Re}\,\gamma\,l`.

    Parameters
    ----------
    model : str
        Name of a row of ``line_models.csv``.
    frequency_hz : float or array
        Above zero, up to 500 MHz. [Hz]
    length_m : float
        Length, zero or more. [m]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    As `secondary`. Checked in ``tests/published/test_check_rows.py``.
    """
    gamma, _ = secondary(model=model, frequency_hz=frequency_hz)
    return plain_number(DB_PER_NEPER * gamma.real * _length(length_m))


def power_law_db(*, diameter_m: float, frequency_hz: float | Reals, length_m: float) -> float | Reals:
    r"""Loss of a telephone pair by the simple law :math:`k_1+k_2(f/\mathrm{MHz})^{k_3}` dB/km, 0 to 30 MHz.

    Parameters
    ----------
    diameter_m : float
        Diameter of the copper: 0.4, 0.5 or 0.6 mm. [m]
    frequency_hz : float or array
        Above zero, up to 30 MHz. [Hz]
    length_m : float
        Length, zero or more. [m]

    Returns
    -------
    float or array
        Loss. [dB]

    References
    ----------
    Form read in a published text (a German course of transmission), constants from memory. It is the mildest of the models.
    Checked in ``tests/published/test_check_rows.py``.
    """
    f = _frequencies(frequency_hz)
    if np.any(f > 30e6):
        raise ValueError("frequency_hz: the power law holds to 30 MHz; give one below, or ask a model of the table")
    found = [k for d, k in POWER_LAW.items() if math.isclose(d, diameter_m, rel_tol=1e-6)]
    if not found:
        raise ValueError(f"diameter_m: {diameter_m:g} m has no constants; give 0.0004, 0.0005 or 0.0006")
    k1, k2, k3 = found[0]
    return plain_number((k1 + k2 * (f / 1e6) ** k3) * _length(length_m) / 1000)


def model_velocity_factor(*, model: str, frequency_hz: float | Reals) -> float | Reals:
    r"""Phase velocity of a line as a share of that of light: :math:`\omega/(\beta c)`.

    Parameters
    ----------
    model : str
        Name of a row of ``line_models.csv``.
    frequency_hz : float or array
        Above zero, up to 500 MHz. [Hz]

    Returns
    -------
    float or array
        Share; 0.67 to 0.69 between 10 and 31 MHz for `cat5` and `T05h`. [ratio]

    References
    ----------
    As `secondary`. Checked in ``tests/copper/test_line_models.py``.
    """
    f = _frequencies(frequency_hz)
    gamma, _ = secondary(model=model, frequency_hz=f)
    return plain_number(2 * math.pi * f / (gamma.imag * LIGHT_M_PER_S))


def model_delay_s(*, model: str, frequency_hz: float | Reals, length_m: float) -> float | Reals:
    r"""Phase delay of a line: :math:`\beta l/\omega`.

    Parameters
    ----------
    model : str
        Name of a row of ``line_models.csv``.
    frequency_hz : float or array
        Above zero, up to 500 MHz. [Hz]
    length_m : float
        Length, zero or more. [m]

    Returns
    -------
    float or array
        Delay. [s]

    References
    ----------
    As `secondary`. Checked in ``tests/copper/test_line_models.py``.
    """
    f = _frequencies(frequency_hz)
    gamma, _ = secondary(model=model, frequency_hz=f)
    return plain_number(gamma.imag * _length(length_m) / (2 * math.pi * f))


def plain_number(value: Reals) -> float | Reals:
    """A float where one number was asked for, else the array."""
    held = np.asarray(value, dtype=np.float64)
    return held if held.ndim else float(held)


def _complex(value: npt.ArrayLike) -> Complexes:
    return np.asarray(value, dtype=np.complex128)


def _bt0(p: Mapping[str, float], f: Reals) -> tuple[Complexes, Complexes]:
    omega = 2 * math.pi * f
    R = (p["r"] ** 4 + p["a"] * f**2) ** 0.25
    x = (f / p["fm"]) ** p["b"]
    L = (p["L0"] + p["Li"] * x) / (1 + x)
    return _complex((R + 1j * omega * L) / 1000), _complex(1j * omega * p["Ci"] / 1000)


def _tno(p: Mapping[str, float], f: Reals) -> tuple[Complexes, Complexes]:
    omega = 2 * math.pi * f
    speed = p["nvf"] * LIGHT_M_PER_S
    L_s, C_p = p["Z0"] / speed, 1 / (speed * p["Z0"])
    q_s = 1 / (p["qH"] ** 2 * p["qL"])
    omega_s = 4 * math.pi * p["qH"] ** 2 * p["Rs0"] / MU_0_H_PER_M
    s = 1j * omega / omega_s
    q_x, q_y = p["qx"], p["qy"]
    inner = q_s**2 * q_x**2 + 2 * s * (q_s**2 + s * q_y) / (q_s**2 / q_x + s * q_y)
    Z = 1j * omega * L_s + p["Rs0"] * (1 - q_s * q_x + np.sqrt(inner))
    return _complex(Z), _complex(1j * omega * C_p * (1 + 1j * f / p["fd"]) ** (-2 * p["phi"] / math.pi))


def _limit_db_per_m(category: str, f: Reals) -> Reals:
    row = curve(part="cable", category=category, quantity="loss", edition=None).pieces[0]
    mhz = f / 1e6
    return np.asarray((row.a * np.sqrt(mhz) + row.b * mhz + row.c / np.sqrt(mhz)) / 100, dtype=np.float64)


def _frequencies(frequency_hz: float | Reals) -> Reals:
    f = np.asarray(frequency_hz, dtype=np.float64)
    if not np.all((f > 0) & (f <= TOP_HZ)):
        raise ValueError("frequency_hz: a line is asked above 0 and up to 500 MHz; give a frequency between them")
    return f


def _length(length_m: float) -> float:
    if not 0 <= length_m <= 1e5:
        raise ValueError(f"length_m: {length_m:g} m is no length of a run; give 0 m to 100 km")
    return length_m


def _model(row: Mapping[str, str]) -> LineModel:
    cells = dict(cell.split("=") for cell in row["values"].split())
    category = cells.pop("category", "")
    return LineModel(
        name=row["model"],
        form=row["form"],
        values={name: float(value) for name, value in cells.items()},
        category=category,
        low_hz=float(row["low_hz"]),
        high_hz=float(row["high_hz"]),
        source=row["source"],
        provenance=row["provenance"],
    )

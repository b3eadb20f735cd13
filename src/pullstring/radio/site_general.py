"""Published losses that know no plan of the house: for comparing, never for answering.

House rules
-----------
1. Nothing here goes into an answer, except that `facade_loss_db` gives a prior for a pane or an outside wall of which only the
   kind is known. The rest shows how far a law without walls is from one with walls.
2. Two forms of ITU-R P.1238 exist, with other numbers and other units of frequency. They have two functions.
3. Wooden floors of old houses lose 1 to 5 dB. The floor terms here were taken in concrete buildings; do not put them on wood.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.free_space import free_space_loss_db

Floats = NDArray[np.float64]

FACADES: Mapping[str, tuple[float, float]] = {
    "glass": (2.0, 0.2),
    "coated glass": (25.4, 0.11),
    "coated glass, older edition": (23.0, 0.3),
    "concrete": (5.0, 4.0),
    "wood": (4.85, 0.12),
    "plywood": (1.03, 0.17),
}
"""Loss a + b f of a facade, f in GHz. [dB, dB/GHz] 3GPP TR 38.901 Table 7.4.3-1 (a library's source; older coated glass memory)."""

COST_FLOOR_EXPONENT = 0.46
"""How much each further floor loses its weight, b. [1] COST 231 final report chapter 4 (constants read in public code)."""


@dataclasses.dataclass(frozen=True)
class SiteGeneral:
    """One row of the alpha-beta-gamma table of ITU-R P.1238-11: where it holds and how wide it scatters."""

    place: str
    alpha: float
    beta: float
    gamma: float
    sigma_db: float
    from_m: float | None
    to_m: float | None
    provenance: str


@dataclasses.dataclass(frozen=True)
class PowerLaw:
    """One row of the older tables of ITU-R P.1238: distance power loss and loss of the floors between."""

    place: str
    band: str
    N: float
    first_floor_db: float
    next_floor_db: float | None
    sigma_db: float | None
    provenance: str

    def floors_db(self, *, floors_count: int) -> float:
        """Loss of the floors between, Lf(n). NaN where the table has no second floor. [dB]"""
        if floors_count <= 0:
            return 0.0
        return self.first_floor_db + (floors_count - 1) * _nan(self.next_floor_db if floors_count > 1 else 0.0)


@functools.cache
def power_laws() -> Mapping[tuple[str, str], PowerLaw]:
    """The rows of ITU-R P.1238-9 by place and band."""
    rows = [row for row in _rows() if row["model"] == "P.1238-9"]
    return {
        (row["place"], row["band"]): PowerLaw(
            row["place"],
            row["band"],
            float(row["N"]),
            float(row["Lf1"]),
            _number(row["Lf_per_floor"]),
            _number(row["sigma_db"]),
            row["provenance"],
        )
        for row in rows
    }


@functools.cache
def site_generals() -> Mapping[str, SiteGeneral]:
    """The rows of ITU-R P.1238-11 by place."""
    return {
        row["place"]: SiteGeneral(
            place=row["place"],
            from_m=_number(row["from_m"]),
            to_m=_number(row["to_m"]),
            provenance=row["provenance"],
            **{name: float(row[name]) for name in ("alpha", "beta", "gamma", "sigma_db")},
        )
        for row in _rows()
        if row["model"] == "P.1238-11"
    }


def power_law_loss_db(
    *, exponent: float, floor_db: Floats | float, distance_m: Floats | float, frequency_hz: float
) -> Floats:
    r"""Indoor loss, older form of ITU-R P.1238 (to edition -9). For comparing only.

    :math:`L = 20 \log_{10} f + N \log_{10} d + L_f(n) - 28`, f in MHz, d above 1 m. N of 28 is an exponent of 2.8.

    Parameters
    ----------
    exponent : float
        A tenth of the distance power loss coefficient, N / 10. [1]
    floor_db : float or array
        Loss of the floors between, L_f(n). [dB]
    distance_m : float or array
        Above 1 m. [m]
    frequency_hz : float
        0.9 to 100 GHz by edition; N and L_f belong to a band. [Hz]

    Returns
    -------
    array
        Median loss; NaN below 1 m. [dB]

    References
    ----------
    ITU-R P.1238-8/-9 section 3.1 (form read in public code; `power_laws` says how each number is known).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    N, L_f, d = 10 * exponent, np.asarray(floor_db, float), np.asarray(distance_m, float)
    d = np.where(d >= 1, d, np.nan)
    return np.asarray(20 * np.log10(frequency_hz / 1e6) + N * np.log10(d) + L_f - 28)


def site_general_loss_db(*, place: str, distance_m: Floats | float, frequency_hz: float) -> Floats:
    r"""Indoor loss, newer form of ITU-R P.1238 (from edition -10). For comparing only; no row is for homes.

    :math:`L = 10 \alpha \log_{10} d + \beta + 10 \gamma \log_{10} f`, d in m, f in **GHz** (MHz would add 40 dB and more).

    Parameters
    ----------
    place : str
        A row of `site_generals`, such as "office NLoS".
    distance_m : float or array
        Within the row's range where it has one. [m]
    frequency_hz : float
        0.3 to 450 GHz by row. [Hz]

    Returns
    -------
    array
        Median loss; NaN outside the row's distances. [dB]

    References
    ----------
    ITU-R P.1238-11 Table 2 (coefficients read in public code, the unit GHz from memory).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    known = site_generals()
    if place not in known:
        raise ValueError(f"place {place!r}: ITU-R P.1238 has no such row; give one of {', '.join(known)}")
    row, d = known[place], np.asarray(distance_m, float)
    near, far = row.from_m or 0.0, row.to_m or np.inf
    d = np.where((d > 0) & (d >= near) & (d <= far), d, np.nan)
    return np.asarray(10 * row.alpha * np.log10(d) + row.beta + 10 * row.gamma * np.log10(frequency_hz / 1e9))


def office_los_loss_db(*, distance_m: Floats | float, frequency_hz: float) -> Floats:
    r"""Indoor office with line of sight, :math:`PL = 32.4 + 17.3 \log_{10} d + 20 \log_{10} f`, f in GHz. For comparing only.

    Valid from 1 to 150 m; scatter 3.0 dB.

    Parameters
    ----------
    distance_m : float or array
        Slant distance, 1 to 150 m. [m]
    frequency_hz : float
        0.5 to 100 GHz. [Hz]

    Returns
    -------
    array
        Median loss; NaN outside the distances. [dB]

    References
    ----------
    3GPP TR 38.901 Table 7.4.1-1, InH-Office LOS (a library's source).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    return np.asarray(32.4 + 17.3 * np.log10(_office_m(distance_m)) + 20 * np.log10(frequency_hz / 1e9))


def office_nlos_loss_db(*, distance_m: Floats | float, frequency_hz: float) -> Floats:
    r"""Indoor office without line of sight: the larger of `office_los_loss_db` and its own line. For comparing only.

    :math:`PL' = 38.3 \log_{10} d + 17.3 + 24.9 \log_{10} f`, f in GHz, 1 to 150 m; scatter 8.03 dB.

    Parameters
    ----------
    distance_m : float or array
        Slant distance, 1 to 150 m. [m]
    frequency_hz : float
        0.5 to 100 GHz. [Hz]

    Returns
    -------
    array
        Median loss; NaN outside the distances. [dB]

    References
    ----------
    3GPP TR 38.901 Table 7.4.1-1, InH-Office NLOS (a library's source).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    own = 38.3 * np.log10(_office_m(distance_m)) + 17.3 + 24.9 * np.log10(frequency_hz / 1e9)
    return np.asarray(np.maximum(office_los_loss_db(distance_m=distance_m, frequency_hz=frequency_hz), own))


def facade_loss_db(*, material: str, frequency_hz: Floats | float) -> Floats:
    """Loss of a facade of which only the material is known, a + b f.

    Coated glass is the trap: it looks like glass and loses as much as a thick wall.

    Parameters
    ----------
    material : str
        One of `FACADES`.
    frequency_hz : float or array
        0.5 to 100 GHz. [Hz]

    Returns
    -------
    array
        Loss at normal incidence; TR 38.901 adds 5 dB for other angles on average. [dB]

    References
    ----------
    3GPP TR 38.901 Table 7.4.3-1 (a library's source). Checked in ``tests/radio/test_site_general.py``.
    """
    if material not in FACADES:
        raise ValueError(f"facade of {material!r}: TR 38.901 has no such row; give one of {', '.join(FACADES)}")
    a, b = FACADES[material]
    return a + b * np.asarray(frequency_hz, float) / 1e9


def cost_floors_db(*, floors_count: int, floor_db: float) -> float:
    r"""Loss of several floors of the COST 231 multi-wall model: each further one counts less. For comparing only.

    :math:`k^{(k+2)/(k+1) - b} L_f`, b = 0.46. Fitted near 1.8 GHz in concrete buildings (L_f 18.3 dB).

    Parameters
    ----------
    floors_count : int
        Floors between, zero or more. [1]
    floor_db : float
        Loss of one floor, L_f. [dB]

    Returns
    -------
    float
        Loss of all. [dB]

    References
    ----------
    COST 231 final report chapter 4 (constants read in public code, form from memory).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    k = floors_count
    return float(k ** ((k + 2) / (k + 1) - COST_FLOOR_EXPONENT) * floor_db) if k > 0 else 0.0


def cost_multi_wall_db(
    *,
    distance_m: Floats | float,
    frequency_hz: float,
    constant_db: float,
    walls_db: Floats | float,
    floors_count: int,
    floor_db: float,
) -> Floats:
    r"""COST 231 multi-wall model: free space, plus walls as they are counted, plus floors. For comparing only.

    :math:`L = L_{fs} + L_c + \sum k_w L_w + k^{(k+2)/(k+1) - b} L_f`; light walls 3.4 dB, heavy ones 6.9 dB near 1.8 GHz.

    Parameters
    ----------
    distance_m : float or array
        Above zero. [m]
    frequency_hz : float
        Near 1.8 GHz. [Hz]
    constant_db : float
        L_c, about 0 with true free space. [dB]
    walls_db : float or array
        Sum over the walls crossed. [dB]
    floors_count : int
        Floors between, zero or more. [1]
    floor_db : float
        Loss of one floor. [dB]

    Returns
    -------
    array
        Loss. [dB]

    References
    ----------
    COST 231 final report chapter 4 (constants read in public code, form from memory).
    Checked in ``tests/published/test_radio_check_rows.py``.
    """
    floors = cost_floors_db(floors_count=floors_count, floor_db=floor_db)
    free = free_space_loss_db(distance_m=distance_m, frequency_hz=frequency_hz)
    return np.asarray(free + constant_db + np.asarray(walls_db, float) + floors)


def _office_m(distance_m: Floats | float) -> Floats:
    d = np.asarray(distance_m, float)
    return np.where((d >= 1) & (d <= 150), d, np.nan)


def _rows() -> list[dict[str, str]]:
    text = importlib.resources.files("pullstring.radio").joinpath("data/site_general.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def _nan(value: float | None) -> float:
    return float("nan") if value is None else value

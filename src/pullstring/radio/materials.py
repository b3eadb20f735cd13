"""What building materials do to a wave, from `data/materials.csv`: ITU-R P.2040-4 (09/2025), Table 3.

Editions differ: brick of P.2040-1 (2015) loses 30 % more than brick of P.2040-4. The file says which edition holds.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping
from math import pi

VACUUM_F_PER_M = 8.8541878128e-12
"""Permittivity of vacuum. [F/m] CODATA 2018."""
LIGHT_M_PER_S = 299_792_458.0
"""Speed of light in vacuum. [m/s] By definition."""


@dataclasses.dataclass(frozen=True)
class Material:
    """Four numbers from which permittivity and conductivity follow, and where they were read."""

    name: str
    a: float
    b: float
    c: float
    d: float
    from_ghz: float
    to_ghz: float
    provenance: str

    def relative_permittivity(self, *, frequency_hz: float) -> float:
        """Real part of the relative permittivity, eps' = a f^b with f in GHz. [1]"""
        return float(self.a * (frequency_hz / 1e9) ** self.b)

    def conductivity_s_per_m(self, *, frequency_hz: float) -> float:
        """Conductivity, sigma = c f^d with f in GHz. [S/m]"""
        return float(self.c * (frequency_hz / 1e9) ** self.d)

    def permittivity(self, *, frequency_hz: float) -> complex:
        """Complex relative permittivity, eps = eps' - j sigma / (2 pi f eps0). [1]"""
        return complex_permittivity(
            relative=self.relative_permittivity(frequency_hz=frequency_hz),
            conductivity_s_per_m=self.conductivity_s_per_m(frequency_hz=frequency_hz),
            frequency_hz=frequency_hz,
        )


def complex_permittivity(*, relative: float, conductivity_s_per_m: float, frequency_hz: float) -> complex:
    """Complex relative permittivity for fields that go as exp(+j w t): eps' - j sigma / (2 pi f eps0).

    Parameters
    ----------
    relative : float
        Real part, eps'. [1]
    conductivity_s_per_m : float
        Conductivity, sigma. [S/m]
    frequency_hz : float
        Frequency, f. [Hz]

    Returns
    -------
    complex
        Its imaginary part is zero or less. [1]

    References
    ----------
    ITU-R P.2040-4 (09/2025), section on electrical properties of materials (from memory).
    """
    return complex(relative, -conductivity_s_per_m / (2 * pi * frequency_hz * VACUUM_F_PER_M))


@functools.cache
def materials() -> Mapping[str, Material]:
    """All materials of the table by name."""
    text = importlib.resources.files("pullstring.radio").joinpath("data/materials.csv").read_text("utf-8")
    numbers = ("a", "b", "c", "d", "from_ghz", "to_ghz")
    return {
        r["material"]: Material(
            name=r["material"], provenance=r["provenance"], **{number: float(r[number]) for number in numbers}
        )
        for r in csv.DictReader(text.splitlines())
    }


def permittivity(material: str, *, frequency_hz: float) -> complex:
    """Complex relative permittivity of a material of the table; KeyError for a material that is not there.

    Parameters
    ----------
    material : str
        A name of `materials`.
    frequency_hz : float
        Frequency; the table says from where to where each row holds. [Hz]

    Returns
    -------
    complex
        For fields that go as exp(+j w t). [1]

    References
    ----------
    ITU-R P.2040-4 (09/2025), Table 3, per row of `data/materials.csv`. Checked in ``tests/published/test_p2040.py``.
    """
    return materials()[material].permittivity(frequency_hz=frequency_hz)

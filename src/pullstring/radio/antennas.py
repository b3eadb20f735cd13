"""How much weaker an antenna is away from its best direction: classes by parabola, from `data/antennas.csv`.

House rules
-----------
1. A class, never a model: nobody knows the pattern of the box on the wall. The form is that of 3GPP TR 38.901 Table 7.3-1.
2. Gains are relative, zero or less; what is radiated in the best direction is the sender's own number.
3. Directions are the ones the waves leave in, x east, y north, z up. `azimuth_deg` turns to the left of east, `tilt_deg` up.
   A rod looks level all round and stands upright at tilt 0; a ceiling's antenna looks down at tilt -90 (`rest_tilt_deg`).
4. By reciprocity a class holds for sending and for receiving.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Directions = NDArray[np.float64]
"""Directions in space, n rows of x, y, z of any length above zero."""

PEAK_LOSS_DB = 12
"""Loss of the parabola at the whole half-power width off the best direction; 3 dB at half of it. [dB]
3GPP TR 38.901 Table 7.3-1 (memory)."""


@dataclasses.dataclass(frozen=True)
class Antenna:
    """One class: its form, its best gain, its half-power widths, and how deep it falls behind and beside."""

    name: str
    form: str
    gain_dbi: float
    across_deg: float
    updown_deg: float
    floor_db: float
    side_floor_db: float
    rest_tilt_deg: float
    provenance: str


@functools.cache
def antennas() -> Mapping[str, Antenna]:
    """All classes by name."""
    text = importlib.resources.files("pullstring.radio").joinpath("data/antennas.csv").read_text("utf-8")
    numbers = ("gain_dbi", "across_deg", "updown_deg", "floor_db", "side_floor_db", "rest_tilt_deg")
    return {
        row["antenna"]: Antenna(
            name=row["antenna"],
            form=row["form"],
            provenance=row["provenance"],
            **{name: float(row[name]) for name in numbers},
        )
        for row in csv.DictReader(text.splitlines())
    }


def antenna_class(name: str) -> Antenna:
    """The class of that name, in any case."""
    known = antennas()
    if (key := name.strip().lower()) not in known:
        raise ValueError(f"antenna {name!r}: no such class is held; give one of {', '.join(known)}")
    return known[key]


def gain_db(antenna: str, *, azimuth_deg: float, tilt_deg: float, directions: Directions) -> Floats:
    r"""Gain of an antenna in some directions, relative to its best one.

    Sector: :math:`A = -\min(A_h + A_v, A_m)` with :math:`A_h = \min(12 (\phi/\phi_{3dB})^2, A_m)` across and
    :math:`A_v = \min(12 (\theta/\theta_{3dB})^2, SLA_v)` up and down. Rod: A_v alone, the same all round. Cone: the parabola
    in the angle off the best direction. Far field only.

    Parameters
    ----------
    antenna : str
        A class of `antennas`.
    azimuth_deg : float
        Where it looks, to the left of east. [deg]
    tilt_deg : float
        How far up it looks; down is below zero. [deg]
    directions : array of [n, 3]
        Where the waves leave to, of any length above zero.

    Returns
    -------
    array of [n]
        Gain relative to the best direction, zero or less. [dB]

    References
    ----------
    3GPP TR 38.901 Table 7.3-1 (from memory); classes and widths per row of the table. Checked in ``tests/radio/test_antennas.py``.
    """
    kind = antenna_class(antenna)
    given = np.atleast_2d(np.asarray(directions, float))
    ahead, left, up = _own_axes(azimuth_deg, tilt_deg) @ (given / np.linalg.norm(given, axis=1, keepdims=True)).T
    off_level = np.degrees(np.arcsin(np.clip(up, -1, 1)))
    if kind.form == "even":
        return np.zeros(len(given))
    if kind.form == "rod":
        return -_parabola(off_level, kind.updown_deg, kind.floor_db)
    if kind.form == "cone":
        return -_parabola(np.degrees(np.arccos(np.clip(ahead, -1, 1))), kind.across_deg, kind.floor_db)
    across = _parabola(np.degrees(np.arctan2(left, ahead)), kind.across_deg, kind.floor_db)
    updown = _parabola(off_level, kind.updown_deg, kind.side_floor_db)
    return -np.minimum(across + updown, kind.floor_db)


def _parabola(off_deg: Floats, width_deg: float, floor_db: float) -> Floats:
    return np.minimum(PEAK_LOSS_DB * (off_deg / width_deg) ** 2, floor_db)


def _own_axes(azimuth_deg: float, tilt_deg: float) -> Floats:
    """Rows: where it looks, its left, its up."""
    a, t = np.radians(azimuth_deg), np.radians(tilt_deg)
    return np.array(
        [
            [np.cos(a) * np.cos(t), np.sin(a) * np.cos(t), np.sin(t)],
            [-np.sin(a), np.cos(a), 0.0],
            [-np.cos(a) * np.sin(t), -np.sin(a) * np.sin(t), np.cos(t)],
        ]
    )

"""Tables of wireless rates: the steps of each kind, the least level of each, and what each carries.

A *step* is one pairing of modulation and coding; its number is the standard's. `rate_steps.csv` holds bits, coding and least
level at 20 MHz, `rate_kinds.csv` data subcarriers and symbol.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LONG_GUARD_S = 0.8e-6
SHORT_GUARD_S = 0.4e-6
"""Guard intervals: the usual one of all three kinds, and the short one of HT and VHT. [s] IEEE 802.11 (read)."""
TABLE_WIDTH_MHZ = 20


@dataclasses.dataclass(frozen=True)
class Step:
    """One step of a kind: bits in each subcarrier, the share of them that is data, and the least level at 20 MHz."""

    kind: str
    number: int
    bits: int
    coding: float
    sensitivity_dbm: float
    provenance: str


def table_rows(name: str) -> list[dict[str, str]]:
    """Rows of a table in the room's `data` folder."""
    text = (importlib.resources.files("pullstring.radio") / "data" / name).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def steps(standard: str) -> tuple[Step, ...]:
    """The steps of a kind (HT, VHT or HE), slowest first."""
    found = tuple(
        Step(
            row["kind"],
            int(row["step"]),
            int(row["bits"]),
            int(row["coding_up"]) / int(row["coding_down"]),
            float(row["sensitivity_dbm"]),
            row["provenance"],
        )
        for row in table_rows("rate_steps.csv")
        if row["kind"] == standard
    )
    if not found:
        raise ValueError(f"{standard!r}: no such kind of wireless link is held; give HT, VHT or HE")
    return found


@functools.cache
def _symbols() -> Mapping[tuple[str, int], tuple[int, float]]:
    return {
        (row["kind"], int(row["width_mhz"])): (int(row["subcarriers"]), float(row["symbol_us"]) * 1e-6)
        for row in table_rows("rate_kinds.csv")
    }


def widths_of(standard: str) -> tuple[int, ...]:
    """Channel widths that a kind knows, narrowest first. [MHz]"""
    return tuple(sorted(width for kind, width in _symbols() if kind == standard))


def _symbol(standard: str, width_mhz: int) -> tuple[int, float]:
    held = _symbols().get((standard, width_mhz))
    if held is None:
        raise ValueError(
            f"{standard} at {width_mhz} MHz: no such width; it has {', '.join(map(str, widths_of(standard)))}"
        )
    return held


def sensitivity_dbm(*, standard: str, step_number: int, width_mhz: int) -> float:
    """Least level at which a receiver must still take a step: the table at 20 MHz, 3 dB more per doubling of the width.

    Parameters
    ----------
    standard : str
        HT, VHT or HE.
    step_number : int
        Number of the step, as in the standard. [1]
    width_mhz : int
        Width of the channel. [MHz]

    Returns
    -------
    float
        Level. [dBm]

    References
    ----------
    IEEE 802.11n, ac and ax, minimum sensitivity, 1 packet in 10 lost (read in a published text). Checked in
    ``tests/radio/test_rates.py`` (RC153 to RC176).
    """
    _symbol(standard, width_mhz)
    return _step(standard, step_number).sensitivity_dbm + 3.0 * math.log2(width_mhz / TABLE_WIDTH_MHZ)


def _step(standard: str, number: int) -> Step:
    held = {step.number: step for step in steps(standard)}
    if number not in held:
        raise ValueError(f"{standard} step {number}: it has steps 0 to {max(held)}")
    return held[number]


def step_rate_mbps(*, standard: str, step_number: int, width_mhz: int, streams: int, guard_s: float) -> float:
    r"""Rate on the air of one step: :math:`N_{SD}\,b\,R\,N_{SS} / (T + T_{GI})`.

    Parameters
    ----------
    standard : str
        HT, VHT or HE.
    step_number : int
        Number of the step, as in the standard. [1]
    width_mhz : int
        Width of the channel. [MHz]
    streams : int
        Spatial streams. [1]
    guard_s : float
        Guard interval: `LONG_GUARD_S`, or `SHORT_GUARD_S` for HT and VHT. [s]

    Returns
    -------
    float
        Rate; NaN for a step that VHT leaves out because its bits in a symbol are no whole number (from memory). [Mbit/s]

    References
    ----------
    IEEE 802.11ac and 802.11ax (read in a published text). Checked in ``tests/radio/test_rates.py`` (RC177 to RC186).
    """
    N_SD, T = _symbol(standard, width_mhz)
    step = _step(standard, step_number)
    bits = N_SD * step.bits * step.coding * streams
    if standard == "VHT" and abs(bits - round(bits)) > 1e-6:
        return math.nan
    return bits / (T + guard_s) / 1e6


@functools.cache
def ladder(*, standard: str, width_mhz: int, streams: int) -> tuple[Array, Array]:
    """Least levels and rates of all usable steps, slowest first, with the usual guard interval.

    Parameters
    ----------
    standard : str
        HT, VHT or HE.
    width_mhz : int
        Width of the channel. [MHz]
    streams : int
        Spatial streams. [1]

    Returns
    -------
    two arrays
        Levels [dBm] and rates [Mbit/s], both rising.

    References
    ----------
    As `sensitivity_dbm` and `step_rate_mbps`. Checked in ``tests/radio/test_rates.py``.
    """
    levels, rates = [], []
    for number in (step.number for step in steps(standard)):
        rate = step_rate_mbps(
            standard=standard, step_number=number, width_mhz=width_mhz, streams=streams, guard_s=LONG_GUARD_S
        )
        if not math.isnan(rate):
            levels.append(sensitivity_dbm(standard=standard, step_number=number, width_mhz=width_mhz))
            rates.append(rate)
    return np.array(levels), np.array(rates)

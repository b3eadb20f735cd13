r"""What rate a level carries, there and back, and what is left of it in use.

The design rate takes the least levels of `rate_tables.py` as they stand; good receivers beat them by 5 to 10 dB (common
practice), so the expected rate takes them `EXPECTED_BETTER_DB` lower. Both are asked for by `margin_db`.
"""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np

from pullstring.model.answers import Interval
from pullstring.radio.rate_tables import Array, ladder, table_rows

DESIGN_BETTER_DB = 0.0
"""`margin_db` for design: the table as it stands."""
EXPECTED_BETTER_DB = 6.0
"""`margin_db` for what to expect of a good receiver. [dB] Common practice: 5 to 10."""


@dataclasses.dataclass(frozen=True)
class Carried:
    """Rates of a link: down to the device, up from it, and the lesser of both. [Mbit/s] 0 means no link."""

    down_mbps: float
    up_mbps: float
    uplink_dbm: float

    @property
    def both_mbps(self) -> float:
        """What the link carries in its weaker direction. [Mbit/s]"""
        return min(self.down_mbps, self.up_mbps)


def noise_floor_dbm(*, bandwidth_hz: float, noise_figure_db: float) -> float:
    """Noise of a receiver: -174 dBm/Hz + 10 log B + noise figure.

    Interference often adds 5 to 10 dB at 2.4 GHz (common practice); it is no part of this.

    Parameters
    ----------
    bandwidth_hz : float
        Width of the channel. [Hz]
    noise_figure_db : float
        Of the receiver; 7 dB is common practice. [dB]

    Returns
    -------
    float
        Level of the noise. [dBm]

    References
    ----------
    k T B at 290 K, rounded to -174 dBm/Hz. Checked in ``tests/radio/test_rates.py`` (RC148 to RC152).
    """
    return -174.0 + 10.0 * math.log10(bandwidth_hz) + noise_figure_db


def rate_mbps(
    *, level_dbm: float | Array, width_mhz: int, streams: int, standard: str, margin_db: float
) -> float | Array:
    """Rate on the air at a level: the fastest step whose least level is reached.

    Parameters
    ----------
    level_dbm : float or array
        Level of the local mean over the whole channel; NaN where nothing is known. [dBm]
    width_mhz : int
        Width of the channel. [MHz]
    streams : int
        Spatial streams that both ends have. [1]
    standard : str
        HT, VHT or HE: the older of both ends.
    margin_db : float
        How much better than its table the receiver is: `DESIGN_BETTER_DB` or `EXPECTED_BETTER_DB`. [dB]

    Returns
    -------
    float or array
        Rate; 0 where no step is reached, NaN where the level is. [Mbit/s]

    References
    ----------
    IEEE 802.11n, ac and ax, minimum sensitivity and rates. Checked in ``tests/radio/test_rates.py``.
    """
    least, rates = ladder(standard=standard, width_mhz=width_mhz, streams=streams)
    level = np.asarray(level_dbm, dtype=np.float64)
    at = np.searchsorted(least - margin_db, level + 1e-9, side="right")
    rate = np.where(np.isnan(level), np.nan, np.concatenate(([0.0], rates))[np.minimum(at, len(rates))])
    return rate if rate.ndim else float(rate)


def needed_dbm(*, wanted_mbps: float, width_mhz: int, streams: int, standard: str, margin_db: float) -> float | None:
    """Least level that carries a rate on the air; None when no level does.

    Parameters
    ----------
    wanted_mbps : float
        Rate on the air. [Mbit/s]
    width_mhz : int
        Width of the channel. [MHz]
    streams : int
        Spatial streams. [1]
    standard : str
        HT, VHT or HE.
    margin_db : float
        As in `rate_mbps`. [dB]

    Returns
    -------
    float or None
        Level. [dBm]

    References
    ----------
    As `rate_mbps`, read the other way. Checked in ``tests/radio/test_rates.py``.
    """
    least, rates = ladder(standard=standard, width_mhz=width_mhz, streams=streams)
    enough = np.flatnonzero(rates >= wanted_mbps)
    return float(least[enough[0]]) - margin_db if len(enough) else None


def uplink_dbm(
    *,
    downlink_dbm: float | Array,
    access_point_eirp_dbm: float,
    access_point_gain_dbi: float,
    client_eirp_dbm: float,
    client_gain_dbi: float,
) -> float | Array:
    r"""Level at the access point of what a device sends back along the same way.

    The way is the same in both directions, and so are the antennas: :math:`L_{up} = L_{down} - EIRP_a + G_a + EIRP_c - G_c`.

    Parameters
    ----------
    downlink_dbm : float or array
        Level at the device. [dBm]
    access_point_eirp_dbm, client_eirp_dbm : float
        What each radiates in its best direction; phones 12 to 17, access points 17 to 27 (common practice). [dBm]
    access_point_gain_dbi, client_gain_dbi : float
        Gain of each antenna in its best direction; 0 where nothing is known. [dBi]

    Returns
    -------
    float or array
        Level at the access point. [dBm]

    References
    ----------
    Reciprocity of the way and of antennas. Checked in ``tests/radio/test_rates.py``.
    """
    way = access_point_gain_dbi - access_point_eirp_dbm + client_eirp_dbm - client_gain_dbi
    up = np.asarray(downlink_dbm, dtype=np.float64) + way
    return up if up.ndim else float(up)


def carried(
    *, downlink_dbm: float, uplink_dbm: float, width_mhz: int, streams: int, standard: str, margin_db: float
) -> Carried:
    """Rates down and up of a link.

    Parameters
    ----------
    downlink_dbm, uplink_dbm : float
        Level at the device, and at the access point. [dBm]
    width_mhz : int
        Width of the channel. [MHz]
    streams : int
        Spatial streams that both ends have. [1]
    standard : str
        HT, VHT or HE: the older of both ends.
    margin_db : float
        As in `rate_mbps`. [dB]

    Returns
    -------
    Carried
        Both rates on the air, and the level of the way back.

    References
    ----------
    As `rate_mbps`. Checked in ``tests/radio/test_rates.py``.
    """
    down, up = (
        float(rate_mbps(level_dbm=level, width_mhz=width_mhz, streams=streams, standard=standard, margin_db=margin_db))
        for level in (downlink_dbm, uplink_dbm)
    )
    return Carried(down, up, uplink_dbm)


@functools.cache
def goodput_share(air: str) -> Interval:
    """What is left of the rate on the air for the user: `clean` or `mixed` air, from `goodput.csv`. [1]"""
    rows = {row["air"]: row for row in table_rows("goodput.csv")}
    if air not in rows:
        raise ValueError(f"{air!r}: no such air is held; give one of {', '.join(rows)}")
    return Interval(float(rows[air]["low"]), float(rows[air]["high"]), "", ("share of the rate left in use",))


def usual_air(band: str) -> str:
    """The row of `goodput.csv` that a band usually has: 2.4 GHz is mixed. Common practice."""
    return "mixed" if band == "2.4 GHz" else "clean"


def goodput_mbps(*, on_air_mbps: float, air: str) -> Interval:
    """What a user gets of a rate on the air, when the air is his alone.

    Parameters
    ----------
    on_air_mbps : float
        Rate on the air. [Mbit/s]
    air : str
        `clean` or `mixed`.

    Returns
    -------
    Interval
        Rate for the user. [Mbit/s]

    References
    ----------
    Common practice: 0.6 to 0.7, and 0.4 to 0.5. Checked in ``tests/radio/test_rates.py``.
    """
    share = goodput_share(air)
    return Interval(on_air_mbps * share.low, on_air_mbps * share.high, "Mbit/s", share.inputs)


def power_sum_dbm(*, levels_dbm: Array) -> float:
    """Level of several signals together: 10 log of the sum of their powers.

    Parameters
    ----------
    levels_dbm : array
        Levels; NaN counts as nothing. [dBm]

    Returns
    -------
    float
        Their sum; minus infinity when there is none. [dBm]

    References
    ----------
    Powers of signals without a fixed phase add. Checked in ``tests/radio/test_rates.py`` (RC187).
    """
    powers = np.power(10.0, np.asarray(levels_dbm, dtype=np.float64) / 10.0)
    total = float(np.nansum(powers))
    return 10.0 * math.log10(total) if total else -math.inf

"""The rate that one device gets in a room, down and up, from draws of the levels there.

A device's power is what it radiates, so its weak antenna is in that already; what it reads lower counts on the way down only.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from statistics import NormalDist

import numpy as np

from pullstring.radio.rates import DESIGN_BETTER_DB, EXPECTED_BETTER_DB, rate_mbps, uplink_dbm
from pullstring.radio.rooms import Levels, RoomSamples, heard, middle_and_ends, reached_dbm, strongest
from pullstring.radio.rooms_assumed import Rules, lines_of

_AGE = ("HT", "VHT", "HE")
_WIDE = 2 * NormalDist().inv_cdf(0.9)


@dataclasses.dataclass(frozen=True)
class Station:
    """The wireless side of an access point: power by band as in the scene, gain of its antenna, channel width by band."""

    name: str
    eirp_dbm: Mapping[str, float]
    gain_dbi: float
    width_mhz: Mapping[str, int]
    streams: int
    standard: str


@dataclasses.dataclass(frozen=True)
class Device:
    """What hangs on an access point: a row of `data/need_devices.csv`.

    `eirp_dbm` is what it radiates, `lower_db` what it reads lower than a plain antenna, `spread_db` how devices differ in both.
    """

    name: str
    eirp_dbm: float
    lower_db: float
    spread_db: float
    streams: int
    width_mhz: Mapping[str, int]
    standard: str


@dataclasses.dataclass(frozen=True)
class RoomRate:
    """Rates on the air for one device in a room, by band. [Mbit/s]

    `design` is carried at the agreed share of the points by the published table; `expected` at half of them by a good
    receiver; both in the middle draw. `low` is the low end of the first, `high` the high end of the second; `up_low` and
    `up_high` the same for the way back. Down is 0 where nothing comes back.
    """

    band: str
    design_mbps: float
    expected_mbps: float
    low_mbps: float
    high_mbps: float
    up_low_mbps: float
    up_high_mbps: float


@functools.cache
def devices() -> Mapping[str, Device]:
    """The devices of the table; where it gives a range, that is the middle 80 % of devices."""
    return {line["device"]: _device(line) for line in lines_of("need_devices.csv")}


def _device(line: Mapping[str, str]) -> Device:
    n = {name: float(line[name]) for name in ("low_dbm", "high_dbm", "reads_lower_low_db", "reads_lower_high_db")}
    columns = {"2.4 GHz": "width_24_mhz", "5 GHz": "width_5_mhz", "6 GHz": "width_6_mhz"}
    return Device(
        name=line["device"],
        eirp_dbm=(n["low_dbm"] + n["high_dbm"]) / 2,
        lower_db=(n["reads_lower_low_db"] + n["reads_lower_high_db"]) / 2,
        spread_db=(n["reads_lower_high_db"] - n["reads_lower_low_db"]) / _WIDE,
        streams=int(line["streams"]),
        width_mhz={band: int(line[column]) for band, column in columns.items() if line[column]},
        standard=line["standard"],
    )


def way_back_db(device: Device, station: Station, band: str) -> float:
    """How much stronger the device arrives at the access point than that at a plain antenna beside the device; mostly below 0.

    The way and the access point's antenna are the same in both directions; the device's own gain is within its power.
    """
    back = uplink_dbm(
        downlink_dbm=0.0,
        access_point_eirp_dbm=station.eirp_dbm[band],
        access_point_gain_dbi=station.gain_dbi,
        client_eirp_dbm=device.eirp_dbm,
        client_gain_dbi=0.0,
    )
    return float(back)


def link(device: Device | Station, station: Station, band: str) -> tuple[int, int, str]:
    """Width, streams and kind that both ends have; at 2.4 GHz there is no VHT."""
    standard = min(device.standard, station.standard, key=_AGE.index)
    width = min(device.width_mhz.get(band, 20), station.width_mhz.get(band, 20))
    return width, min(device.streams, station.streams), "HT" if standard == "VHT" and band == "2.4 GHz" else standard


def rates(
    samples: RoomSamples, band: str, *, device: Device, station: Station, better_db: float
) -> tuple[Levels, Levels] | None:
    """Rates on the air down and up between a device at each point and one access point, [draws, points].

    Parameters
    ----------
    better_db : float
        How much better than the published table the receivers are. [dB]

    Returns
    -------
    two arrays or None
        Rates; down is 0 where nothing comes back. None where the access point does not send the band. [Mbit/s]

    References
    ----------
    `rates.rate_mbps`; both directions, as common practice asks.
    """
    found = heard(samples, band)
    if found is None or station.name not in found[0] or band not in device.width_mhz:
        return None
    levels = found[1][:, found[0].index(station.name), :] + samples.lowered_db
    return _both_ways(levels, band, device, station, better_db)


def _both_ways(levels: Levels, band: str, device: Device, station: Station, better_db: float) -> tuple[Levels, Levels]:
    """Rates down and up at levels of a plain antenna."""
    width, streams, standard = link(device, station, band)
    down, up = (
        np.asarray(rate_mbps(level_dbm=level, width_mhz=width, streams=streams, standard=standard, margin_db=better_db))
        for level in (levels - device.lower_db, levels + way_back_db(device, station, band))
    )
    return np.where(up > 0, down, 0.0), np.where(down > 0, up, 0.0)


def room_rate(
    samples: RoomSamples, band: str, *, device: Device, stations: Mapping[str, Station], rules: Rules
) -> RoomRate | None:
    """What one device of a kind gets in a room; None where nobody sends the band or the device does not know it."""
    design = _best_rates(samples, band, device, stations, DESIGN_BETTER_DB)
    expected = _best_rates(samples, band, device, stations, EXPECTED_BETTER_DB)
    if design is None or expected is None:
        return None
    first, low, _ = _reached(design[0], rules.points_share, rules)
    second, _, high = _reached(expected[0], 0.5, rules)
    _, up_low, _ = _reached(design[1], rules.points_share, rules)
    _, _, up_high = _reached(expected[1], 0.5, rules)
    return RoomRate(band, first, second, low, high, up_low, up_high)


def _best_rates(
    samples: RoomSamples, band: str, device: Device, stations: Mapping[str, Station], better_db: float
) -> tuple[Levels, Levels] | None:
    """Rates by whichever access point carries most down, and up, at each point; of those that are alike, the strongest."""
    found = heard(samples, band)
    if found is None or band not in device.width_mhz:
        return None
    alike: dict[tuple[object, ...], list[str]] = {}
    for name in found[0]:
        key = (*link(device, stations[name], band), way_back_db(device, stations[name], band))
        alike.setdefault(key, []).append(name)
    pairs = [
        _both_ways(strongest(samples, band, n) + samples.lowered_db, band, device, stations[n[0]], better_db)
        for n in alike.values()
    ]
    return np.max([down for down, _ in pairs], axis=0), np.max([up for _, up in pairs], axis=0)


def _reached(rate: Levels, share: float, rules: Rules) -> tuple[float, float, float]:
    reached = reached_dbm(level_dbm=rate, points_share=share)
    return middle_and_ends(values=reached, interval_share=rules.interval_share)

"""Access points without a wire: what reaches them over the air from those that have one."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.api.signal_stations import thing_of
from pullstring.model.answers import Interval
from pullstring.radio.antennas import antenna_class, gain_db
from pullstring.radio.learning_levels import foretell
from pullstring.radio.meshed import Hop, hop_between, over_air
from pullstring.reach.consequence import live
from pullstring.reach.rules import build

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.radio.scene import Sender

Facts = dict[str, Any]
FOUR_IN_FIVE = 1.2816
"""Standard deviations on either side that hold four in five."""


def meshed(site: Site, work: Worked) -> list[Facts]:
    """A row for every access point, there or planned, that the record does not feed by wire.

    Where it feeds none by wire, those that are there are taken as fed, and the rows say so.
    """
    senders = work.scene.senders
    alive = live(build(site).rules)
    wired = {s.name for s in senders if not s.planned and (of := thing_of(site, s)) and ("D", str(of.ref)) in alive}
    fed = wired or {s.name for s in senders if not s.planned}
    found = over_air([s.name for s in senders], _hops(work), fed=fed)
    planned = {s.name: s.planned for s in senders}
    return [
        {
            "sender": _tag(one.name),
            "planned": planned[one.name],
            "way": [_tag(name) for name in one.way],
            "band": one.band,
            "low_dbm": one.level.low if one.level else None,
            "high_dbm": one.level.high if one.level else None,
            "low_mbps": one.shared.low,
            "high_mbps": one.shared.high,
            "alone_low_mbps": one.alone.low,
            "alone_high_mbps": one.alone.high,
            "taken_as_fed": not wired,
        }
        for one in found
    ]


def _hops(work: Worked) -> dict[tuple[str, str, str], Hop]:
    """Every pair of access points in every band that both send, as far as their levels are known."""
    told = foretell(work.base.checked.learned, work.ground)
    at = list(work.held.senders)
    level, spread = told.level_dbm[:, :, at], told.spread_db[:, :, at]
    found = {}
    for b, band in enumerate(work.bands):
        for (i, one), (j, other) in itertools.combinations(enumerate(work.scene.senders), 2):
            if band not in one.eirp_dbm or band not in other.eirp_dbm:
                continue
            ways = [
                _range(float(level[b, k, m]) + _facing_db(there, here), float(spread[b, k, m]))
                for k, m, here, there in ((i, j, one, other), (j, i, other, one))
            ]
            there, back = ways
            if there and back:
                stations = work.base.stations[one.name], work.base.stations[other.name]
                found[one.name, other.name, band] = hop_between(*stations, band, there_dbm=there, back_dbm=back)
    return found


def _range(level_dbm: float, spread_db: float) -> Interval | None:
    if not math.isfinite(level_dbm):
        return None
    half = FOUR_IN_FIVE * spread_db if math.isfinite(spread_db) else 0.0
    return Interval(level_dbm - half, level_dbm + half, "dBm")


def _facing_db(sender: Sender, toward: Sender) -> float:
    """Gain of an access point's antenna straight toward another. [dBi]"""
    kind = antenna_class(sender.antenna)
    way = np.subtract(toward.spot, sender.spot)
    if not way.any():
        return kind.gain_dbi
    turned = gain_db(sender.antenna, azimuth_deg=sender.azimuth_deg, tilt_deg=sender.tilt_deg, directions=way[None])
    return float(kind.gain_dbi + turned[0])


def _tag(name: str) -> str:
    return name.rpartition(":")[2]

"""Access points without a wire: what reaches them over the air from those that have one."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.api.signal_stations import tag_of, thing_of
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


def meshed(site: Site, work: Worked, *, planned: bool) -> list[Facts]:
    """A row for every access point, there or planned, that the record does not feed by wire.

    Where it feeds none by wire, those that are there are taken as fed, and the rows say so; where none is there, there are no
    rows. What is there is reached by what is there, and by what is planned only where that counts too (`planned`).
    """
    senders = work.scene.senders
    alive = live(build(site).rules)
    wired = {s.name for s in senders if not s.planned and (of := thing_of(site, s)) and ("D", str(of.ref)) in alive}
    fed = wired or {s.name for s in senders if not s.planned}
    if not fed:
        return []
    hops, there = _hops(work), [s.name for s in senders if planned or not s.planned]
    now = {ends: hop for ends, hop in hops.items() if ends[0] in there and ends[1] in there}
    best = {one.name: one for one in over_air([s.name for s in senders], hops, fed=fed)}
    best |= {one.name: one for one in over_air(there, now, fed=fed)}
    to_come = {s.name for s in senders if s.planned}
    return [
        {
            "sender": tag_of(one.name),
            "planned": one.name in to_come,
            "way": [tag_of(name) for name in one.way],
            "band": one.band,
            "low_dbm": one.level.low if one.level else None,
            "high_dbm": one.level.high if one.level else None,
            "low_mbps": one.shared.low,
            "high_mbps": one.shared.high,
            "alone_low_mbps": one.alone.low,
            "alone_high_mbps": one.alone.high,
            "taken_as_fed": not wired,
        }
        for one in best.values()
    ]


def _hops(work: Worked) -> dict[tuple[str, str, str], Hop]:
    """Every pair of access points in every band that both send, as far as their levels are known."""
    told = foretell(work.base.checked.learned, work.ground)
    at = list(work.held.senders)
    low, high = told.low_dbm[:, :, at], told.high_dbm[:, :, at]
    found = {}
    for b, band in enumerate(work.bands):
        for (i, one), (j, other) in itertools.combinations(enumerate(work.scene.senders), 2):
            if band not in one.eirp_dbm or band not in other.eirp_dbm:
                continue
            ways = [
                _range(float(low[b, k, m]), float(high[b, k, m]), _facing_db(there, here))
                for k, m, here, there in ((i, j, one, other), (j, i, other, one))
            ]
            there, back = ways
            if there and back:
                stations = work.base.stations[one.name], work.base.stations[other.name]
                found[one.name, other.name, band] = hop_between(*stations, band, there_dbm=there, back_dbm=back)
    return found


def _range(low_dbm: float, high_dbm: float, facing_dbi: float) -> Interval | None:
    return Interval(low_dbm + facing_dbi, high_dbm + facing_dbi, "dBm") if math.isfinite(low_dbm + high_dbm) else None


def _facing_db(sender: Sender, toward: Sender) -> float:
    """Gain of an access point's antenna straight toward another. [dBi]"""
    kind = antenna_class(sender.antenna)
    way = np.subtract(toward.spot, sender.spot)
    if not way.any():
        return kind.gain_dbi
    turned = gain_db(sender.antenna, azimuth_deg=sender.azimuth_deg, tilt_deg=sender.tilt_deg, directions=way[None])
    return float(kind.gain_dbi + turned[0])

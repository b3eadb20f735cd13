"""What can reach an access point over the air, in hops from those that are fed by wire.

House rules
-----------
1. A hop carries what its weaker direction carries, by the published tables; its range holds the level's four chances in five
   and receivers from as good as the table to as good as usual.
2. The way with the most air left is taken: airtime adds over hops, so the sum of 1/rate decides. At most `MOST_HOPS`.
3. What is told is what arrives at the access point. Devices that hang on the same radio take from it once more.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Mapping, Sequence

from pullstring.model.answers import Interval
from pullstring.radio.rates import DESIGN_BETTER_DB, EXPECTED_BETTER_DB, rate_mbps
from pullstring.radio.room_rates import Station, link
from pullstring.radio.sharing import mesh_rate

MOST_HOPS = 3
"""Ours: of longer chains nobody should promise anything."""


@dataclasses.dataclass(frozen=True)
class Hop:
    """From one access point to another in one band: level of the weaker direction as a plain range, and its rate. [dBm, Mbit/s]"""

    level: Interval
    rate: Interval


@dataclasses.dataclass(frozen=True)
class OverAir:
    """How an access point is reached: `way` begins at the one with a wire and ends at itself; empty when nothing reaches it.

    `level` is that of the weakest hop; `shared` what arrives when all hops are on one radio, `alone` when each hop has a radio
    and a channel of its own. [dBm, Mbit/s]
    """

    name: str
    band: str
    way: tuple[str, ...]
    level: Interval | None
    shared: Interval
    alone: Interval


def hop_between(one: Station, other: Station, band: str, *, there_dbm: Interval, back_dbm: Interval) -> Hop:
    """One hop.

    Parameters
    ----------
    one, other : Station
        Both ends; they talk as the older of them, with what both have.
    there_dbm, back_dbm : Interval
        Level of each at the other, its receiving antenna counted. [dBm]

    Returns
    -------
    Hop
        Its weaker direction. [dBm, Mbit/s]

    References
    ----------
    `rates.rate_mbps`. Checked in ``tests/radio/test_meshed.py``.
    """
    width, streams, standard = link(one, other, band)
    low, high = min(there_dbm.low, back_dbm.low), min(there_dbm.high, back_dbm.high)
    rates = [
        float(rate_mbps(level_dbm=level, width_mhz=width, streams=streams, standard=standard, margin_db=better_db))
        for level, better_db in ((low, DESIGN_BETTER_DB), (high, EXPECTED_BETTER_DB))
    ]
    return Hop(Interval(low, high, "dBm"), Interval(min(rates), max(rates), "Mbit/s"))


def over_air(
    names: Sequence[str], hops: Mapping[tuple[str, str, str], Hop], *, fed: Collection[str]
) -> tuple[OverAir, ...]:
    """How each access point that is not fed is reached best.

    Parameters
    ----------
    names : sequence of str
        Access points to reach.
    hops : mapping
        By both ends and band, either order of the ends.
    fed : collection of str
        Access points with a wire.

    Returns
    -------
    tuple of OverAir
        In the order of the names, those without a wire. [Mbit/s]

    References
    ----------
    Airtime adds over hops (`sharing.mesh_rate`). Checked against every way there is in ``tests/radio/test_meshed.py``.
    """
    bands = sorted({band for _, _, band in hops})
    best = {band: _ways(hops, band, fed) for band in bands}
    found = []
    for name in (n for n in names if n not in fed):
        told = [_told(name, band, ways[name], hops) for band, ways in best.items() if name in ways]
        nothing = Interval.exact(0.0, "Mbit/s")
        found.append(
            max(
                told, key=lambda t: (t.shared.low, t.shared.high), default=OverAir(name, "", (), None, nothing, nothing)
            )
        )
    return tuple(found)


def _ways(hops: Mapping[tuple[str, str, str], Hop], band: str, fed: Collection[str]) -> dict[str, tuple[str, ...]]:
    """The way with the least airtime to each access point that can be reached in a band, by one hop more each round."""
    near: dict[str, list[tuple[str, float]]] = {}
    for (one, other, of), hop in sorted(hops.items()):
        if of == band and hop.rate.high > 0:
            cost = 1 / hop.rate.low if hop.rate.low > 0 else _NEVER_SURE / hop.rate.high
            near.setdefault(one, []).append((other, cost))
            near.setdefault(other, []).append((one, cost))
    held: dict[str, tuple[float, tuple[str, ...]]] = {name: (0.0, (name,)) for name in sorted(fed)}
    for _ in range(MOST_HOPS):
        after = dict(held)
        for here, (spent, way) in held.items():
            for there, cost in near.get(here, ()):
                if there not in way and spent + cost < after.get(there, (math.inf, ()))[0]:
                    after[there] = (spent + cost, (*way, there))
        held = after
    return {name: way for name, (_, way) in held.items() if name not in fed}


_NEVER_SURE = 1e6
"""Ours: a hop that may carry nothing is taken only where no other way leads."""


def _told(name: str, band: str, way: tuple[str, ...], hops: Mapping[tuple[str, str, str], Hop]) -> OverAir:
    met = [hops.get((a, b, band)) or hops[b, a, band] for a, b in zip(way, way[1:], strict=False)]
    weakest = min(met, key=lambda hop: hop.level.low)
    shared, alone = (
        Interval(
            mesh_rate(hops_mbps=[h.rate.low for h in met], own_backhaul=own).low,
            mesh_rate(hops_mbps=[h.rate.high for h in met], own_backhaul=own).high,
            "Mbit/s",
        )
        for own in (False, True)
    )
    return OverAir(name, band, way, weakest.level, shared, alone)

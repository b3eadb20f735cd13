"""A link between two buildings: how clear it is, what is lost on the way, how high the masts must be.

House rules
-----------
1. The link is as good as its weaker direction: both levels are worked out, the way back from the other end's power.
2. A link wants 0.6 of the first Fresnel zone clear and `MARGIN_DB` to spare. It may work with less, until the leaves grow.
3. What a mast needs besides height is no law of radio: only the codes of the cautions stand here.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.model.answers import Interval
from pullstring.radio.foliage import foliage_loss
from pullstring.radio.free_space import free_space_loss_db, received_level_dbm
from pullstring.radio.knife_edge import deygout_loss_db, height_factor, knife_edge_loss_db
from pullstring.radio.link_profile import (
    Ground,
    Line,
    Obstacle,
    Place,
    edges,
    ground_obstacles,
    inside_m,
    nearest_place,
    samples,
)
from pullstring.radio.rates import DESIGN_BETTER_DB, rate_mbps
from pullstring.radio.scene import Spot

Floats = NDArray[np.float64]

WANTED_RATIO = 0.6
"""Share of the first Fresnel zone's radius that is to be clear. [1] Common practice, from memory."""
MARGIN_DB = 10.0
"""To spare above the least level: fading, rain, ageing. [dB] Common practice."""
AIM_DB = 3.0
"""How far aim, cables and stated power are off, either way. [dB] Assumed by us."""
RISE_STEP_M = 0.05
"""How finely heights are tried before they are narrowed down. [m]"""


@dataclasses.dataclass(frozen=True)
class LinkEnd:
    """One end: where the antenna stands, what it radiates towards the other, and what its antenna gains in receiving."""

    name: str
    spot: Spot
    eirp_dbm: float
    gain_dbi: float


@dataclasses.dataclass(frozen=True)
class Air:
    """How the two radios talk: width of the channel, spatial streams and standard of the older one, and the level they need."""

    width_mhz: int
    streams: int
    standard: str
    least_dbm: float


@dataclasses.dataclass(frozen=True)
class Rise:
    """How much longer a mast must be at the near end alone, at the far end alone, or at both. None: not within the limit. [m]"""

    near_m: float | None
    far_m: float | None
    both_m: float | None


@dataclasses.dataclass(frozen=True)
class Link:
    """What is to be said of a link."""

    near: str
    far: str
    length_m: float
    places: tuple[Place, ...]
    """Where each obstacle comes nearest to the line, worst first."""
    edges_db: float
    leaves_db: Interval
    level_dbm: Interval
    back_dbm: Interval
    to_spare_db: Interval
    """Weaker direction above the level that the radios need. [dB]"""
    rate_mbps: Interval
    """On the air, in the weaker direction, by the published tables. [Mbit/s]"""
    rise: Rise
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]

    @property
    def clear_ratio(self) -> float | None:
        """The least share of the first Fresnel zone that is clear; None where nothing stands along the line. [1]"""
        return self.places[0].clear_ratio if self.places else None

    @property
    def clear_share(self) -> float | None:
        """How much of what is to be clear is clear, 0 to 1: at 1 nothing reaches into 0.6 of the zone. [1]"""
        return None if self.clear_ratio is None else min(max(self.clear_ratio / WANTED_RATIO, 0.0), 1.0)

    @property
    def in_the_way(self) -> tuple[str, ...]:
        """Kinds of what reaches into the part of the zone that is to be clear, worst first: wall, roof, tree, ground."""
        return tuple(dict.fromkeys(one.kind for one in self.places if one.clear_ratio < WANTED_RATIO))

    @property
    def sound(self) -> bool:
        """Whether the zone is clear enough and the worst season leaves enough to spare."""
        clear = self.clear_ratio is None or self.clear_ratio >= WANTED_RATIO
        return clear and self.to_spare_db.low >= MARGIN_DB


def link_between(
    near: LinkEnd,
    far: LinkEnd,
    obstacles: Sequence[Obstacle],
    ground: Ground,
    air: Air,
    *,
    frequency_hz: float,
    longest_rise_m: float,
) -> Link:
    """All about one link, with the obstacles and the ground that are known.

    Parameters
    ----------
    near, far : LinkEnd
        Both masts.
    obstacles : sequence of Obstacle
        What stands along the line; `link_profile.obstacles_between` finds walls and roofs of a scene.
    ground : sequence of (float, float)
        Distance and height; empty where nobody knows it.
    air : Air
        How the radios talk.
    frequency_hz : float
        [Hz]
    longest_rise_m : float
        By how much a mast may be made longer at most. [m]

    Returns
    -------
    Link
        Clearance, loss, level both ways, margin, rate, and the height needed.

    References
    ----------
    ITU-R P.525, P.526; the assembly is ours. Checked in ``tests/radio/test_links.py``.
    """
    line = Line(near.spot, far.spot)
    everything = (*obstacles, *ground_obstacles(ground))
    places = [place for one in everything if (place := nearest_place(line, one, frequency_hz=frequency_hz))]
    bent_db = deygout_loss_db(edges(line, everything), length_m=line.length_m, frequency_hz=frequency_hz)
    leaves = leaves_loss(line, everything, frequency_hz=frequency_hz)
    free_db = float(free_space_loss_db(distance_m=line.length_m, frequency_hz=frequency_hz))
    level, back = (_level(a, b, free_db + bent_db, leaves) for a, b in ((near, far), (far, near)))
    weaker = min(level, back, key=lambda one: one.low)
    return Link(
        near.name,
        far.name,
        line.length_m,
        tuple(sorted(places, key=lambda one: (one.clear_ratio, one.distance_m, one.name))),
        bent_db,
        leaves,
        level,
        back,
        Interval(weaker.low - air.least_dbm, weaker.high - air.least_dbm, "dB", weaker.inputs),
        Interval(_rate(weaker.low, air), _rate(weaker.high, air), "Mbit/s", weaker.inputs),
        height_needed(line, everything, frequency_hz=frequency_hz, longest_rise_m=longest_rise_m),
        _cautions(everything),
        () if len(ground) > 1 else ("ground_unknown",),
    )


def height_needed(line: Line, obstacles: Sequence[Obstacle], *, frequency_hz: float, longest_rise_m: float) -> Rise:
    """By how much masts must grow until every obstacle leaves 0.6 of the first Fresnel zone clear.

    Each number is the shortest rise that does it, to a millimetre, counted as the masts stand now; 0 where they are high enough.

    Parameters
    ----------
    line : Line
        As the masts stand now.
    obstacles : sequence of Obstacle
        Trees and ground among them.
    frequency_hz : float
        [Hz]
    longest_rise_m : float
        No rise beyond this is looked for. [m]

    Returns
    -------
    Rise
        For the near end, the far end, and both alike.

    References
    ----------
    ITU-R P.526 section 2; 0.6 of the zone is common practice. Checked in ``tests/radio/test_links.py``.
    """
    near, far, both = (_rise(line, obstacles, ends, frequency_hz, longest_rise_m) for ends in ((1, 0), (0, 1), (1, 1)))
    return Rise(near, far, both)


def leaves_loss(line: Line, obstacles: Sequence[Obstacle], *, frequency_hz: float) -> Interval:
    """Loss through the trees on the line; each costs no more than the way over its top.

    Parameters
    ----------
    line : Line
        Between the masts.
    obstacles : sequence of Obstacle
        Those of kind tree count.
    frequency_hz : float
        0.23 to 95 GHz. [Hz]

    Returns
    -------
    Interval
        From bare branches to wet leaves. [dB]

    References
    ----------
    `foliage_loss`, with the edge of ITU-R P.526 as its cap (ours). Checked in ``tests/radio/test_links.py``.
    """
    low = high = 0.0
    for tree in obstacles:
        depth_m = inside_m(line, tree) if tree.kind == "tree" else 0.0
        places, tops = samples(line, tree)
        if depth_m > 0 and places.size:
            through = foliage_loss(depth_m=depth_m, frequency_hz=frequency_hz)
            before = places * line.length_m / line.plan_m
            nu = height_factor(
                height_m=-line.clearance_m(places, tops),
                before_m=before,
                after_m=line.length_m - before,
                frequency_hz=frequency_hz,
            )
            over_db = float(np.max(knife_edge_loss_db(edge_factor=nu)))
            low, high = low + min(through.low, over_db), high + min(through.high, over_db)
    return Interval(low, high, "dB", ("leaves",) if high else ())


def _level(sender: LinkEnd, receiver: LinkEnd, loss_db: float, leaves: Interval) -> Interval:
    best = float(received_level_dbm(eirp_dbm=sender.eirp_dbm, loss_db=loss_db, receive_gain_dbi=receiver.gain_dbi))
    return Interval(best - leaves.high - AIM_DB, best - leaves.low + AIM_DB, "dBm", ("aim and power", *leaves.inputs))


def _rate(level_dbm: float, air: Air) -> float:
    return float(
        rate_mbps(
            level_dbm=level_dbm,
            width_mhz=air.width_mhz,
            streams=air.streams,
            standard=air.standard,
            margin_db=DESIGN_BETTER_DB,
        )
    )


def _rise(
    line: Line, obstacles: Sequence[Obstacle], ends: tuple[int, int], frequency_hz: float, longest_m: float
) -> float | None:
    pairs = [samples(line, one) for one in obstacles]
    places = np.concatenate([place for place, _ in pairs]) if pairs else np.empty(0)
    tops = np.concatenate([top for _, top in pairs]) if pairs else np.empty(0)

    def clear(rise_m: float) -> bool:
        taller = line.raised(near_m=ends[0] * rise_m, far_m=ends[1] * rise_m)
        wanted = WANTED_RATIO * taller.fresnel_m(places, frequency_hz)
        return bool(np.all(taller.clearance_m(places, tops) >= wanted))

    tried = np.arange(0.0, longest_m + RISE_STEP_M / 2, RISE_STEP_M).tolist()
    high: float | None = next((rise for rise in tried if clear(rise)), None)
    if not high:
        return high
    low = high - RISE_STEP_M
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (low, middle) if clear(middle) else (middle, high)
    return high


def _cautions(obstacles: Sequence[Obstacle]) -> tuple[str, ...]:
    trees = ("trees_grow",) if any(one.kind == "tree" for one in obstacles) else ()
    return ("mast_trades", "mast_lightning", "storm", *trees)

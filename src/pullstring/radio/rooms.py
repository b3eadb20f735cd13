"""A room's answer, band by band, from levels drawn together at its points: how strong, how sure, who serves, who could take over.

Each draw is one way in which everything may be, so whatever is asked of a room is asked of every draw, and the
interval is the spread of those replies. Levels are local means, as a plain antenna meets them or as a device reads
them (`lowered_db`); what another device reads lower belongs to the need (`needs_met.py`), not to the room.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from pullstring.model.answers import Odds
from pullstring.radio.rooms_assumed import Rules

Levels = npt.NDArray[np.float64]
FAINTEST_DBM = -250.0
"""Stands for a level that does not arrive, so that no infinity reaches an answer; far below any receiver. [dBm]"""


@dataclasses.dataclass(frozen=True)
class RoomSamples:
    """Levels at a room's points, by band: [draws, senders, points]. Draw k is the same world in every band.

    A sender that does not send a band is NaN there. All arrays have one shape; a band that nobody sends may be absent.
    `lowered_db` says by how much these levels are lower than a plain antenna's, where they are told as a device reads them.
    """

    room: str
    senders: tuple[str, ...]
    level_dbm: Mapping[str, Levels]
    lowered_db: float
    held: dict[object, Any] = dataclasses.field(default_factory=dict, compare=False, repr=False)


@dataclasses.dataclass(frozen=True)
class BandAnswer:
    """One band in one room. Every value is the middle draw, between the ends of the interval.

    `level_dbm` is reached at the agreed share of the points, `median_dbm` at half of them. `server` is best at most of
    the points. `second_dbm` is reached, at the agreed share of the points, by the second best access point there;
    `second` is who that mostly is. `at_edge` is the chance that the agreed edge is reached.
    """

    band: str
    level_dbm: float
    low_dbm: float
    high_dbm: float
    median_dbm: float
    median_low_dbm: float
    median_high_dbm: float
    server: str
    server_share: float
    second: str | None
    second_dbm: float | None
    roaming: Odds
    edge_dbm: float
    at_edge: Odds


@dataclasses.dataclass(frozen=True)
class RoomAnswer:
    """A room: its bands, or a code that says why nothing can be said of it."""

    room: str
    bands: Mapping[str, BandAnswer]
    why_not_known: str | None
    unknown_bands: Mapping[str, str]


def reached_dbm(*, level_dbm: Levels, points_share: float) -> Levels:
    """The highest level that at least a share of the points reach.

    Of n points ordered from the weakest, the one with floor((1 - share) n) points below it. So at 90 % of ten points it
    is the second weakest, and of fewer than ten the weakest: no value between two points is made up.

    Parameters
    ----------
    level_dbm : array
        Levels, the points along the last axis. [dBm]
    points_share : float
        Share of the points that must reach it, over 0 to 1. [-]

    Returns
    -------
    array
        That level, without the last axis. [dBm]

    References
    ----------
    Our definition; common practice speaks of the level exceeded at 90 % of an area without naming a rule for few points.
    """
    count = level_dbm.shape[-1]
    left_out = min(math.floor((1 - points_share) * count + 1e-9), count - 1)
    found: Levels = np.partition(level_dbm, left_out, axis=-1)[..., left_out]
    return found


def middle_and_ends(*, values: Levels, interval_share: float) -> tuple[float, float, float]:
    """Middle, low and high end of draws.

    Parameters
    ----------
    values : array
        One value for each draw, in any unit. [-]
    interval_share : float
        Share of the draws between both ends. [-]

    Returns
    -------
    tuple of float
        Median, then the ends, which cut off equal shares; between two draws in a straight line.

    References
    ----------
    Quantiles of a sample (numpy, method "linear").
    """
    tail = (1 - interval_share) / 2
    low, middle, high = np.quantile(values, [tail, 0.5, 1 - tail])
    return float(middle), float(low), float(high)


def heard(samples: RoomSamples, band: str) -> tuple[tuple[str, ...], Levels] | None:
    """Who sends a band, by name, and their levels [draws, senders, points]; None where nobody does or there are no points."""
    if band not in samples.held:
        samples.held[band] = _heard(samples, samples.level_dbm.get(band))
    found: tuple[tuple[str, ...], Levels] | None = samples.held[band]
    return found


def _heard(samples: RoomSamples, levels: Levels | None) -> tuple[tuple[str, ...], Levels] | None:
    if levels is None or not levels.size:
        return None
    sends = [k for k in range(len(samples.senders)) if not np.isnan(levels[:, k, :]).all()]
    order = sorted(sends, key=lambda k: samples.senders[k])
    if not order:
        return None
    arriving = levels[:, order, :]
    arriving[~(arriving > FAINTEST_DBM)] = FAINTEST_DBM  # what is no number as well
    return tuple(samples.senders[k] for k in order), arriving


def strongest(samples: RoomSamples, band: str, among: Iterable[str]) -> Levels:
    """Level of the strongest of some access points that send a band, at every point [draws, points]."""
    wanted = frozenset(among)
    if (band, wanted) not in samples.held:
        found = heard(samples, band)
        assert found is not None and wanted <= set(found[0])
        names, levels = found
        samples.held[band, wanted] = levels[:, [k for k, n in enumerate(names) if n in wanted], :].max(axis=1)
    level: Levels = samples.held[band, wanted]
    return level


def band_answer(samples: RoomSamples, band: str, *, edge_dbm: float, rules: Rules) -> BandAnswer | None:
    """What one band is like in a room; None where nobody sends it.

    Parameters
    ----------
    edge_dbm : float
        The agreed edge of the band. [dBm]

    References
    ----------
    Definitions of our own, as said with `BandAnswer` and `reached_dbm`.
    """
    found = heard(samples, band)
    if found is None:
        return None
    names, levels = found
    best_dbm = strongest(samples, band, names)
    reached = reached_dbm(level_dbm=best_dbm, points_share=rules.points_share)
    half = reached_dbm(level_dbm=best_dbm, points_share=0.5)
    level, low, high = middle_and_ends(values=reached, interval_share=rules.interval_share)
    median, median_low, median_high = middle_and_ends(values=half, interval_share=rules.interval_share)
    first = levels.argmax(axis=1)
    best = _counted(first, len(names))
    server = int(best.argmax())
    second, second_dbm, roaming = _second(names, levels, first, server, rules)
    return BandAnswer(
        band=band,
        level_dbm=level,
        low_dbm=low,
        high_dbm=high,
        median_dbm=median,
        median_low_dbm=median_low,
        median_high_dbm=median_high,
        server=names[server],
        server_share=float(best[server] / best.sum()),
        second=second,
        second_dbm=second_dbm,
        roaming=roaming,
        edge_dbm=edge_dbm,
        at_edge=Odds(float(np.mean(reached >= edge_dbm))),
    )


def room_answer(samples: RoomSamples, *, edges: Mapping[str, float], rules: Rules, barred: str | None) -> RoomAnswer:
    """All bands of a room.

    `edges` is the agreed edge by band. `barred` is a code that says why nothing can be said of this room whatever the
    levels are: it has no place, or what stands around it is not known. Else a band is not known where nobody sends it
    or where its interval is too wide.
    """
    if barred is None and not any(levels.shape[-1] for levels in samples.level_dbm.values()):
        barred = "no_points" if samples.level_dbm else "no_sender"
    if barred is not None:
        return RoomAnswer(samples.room, {}, barred, {})
    bands: dict[str, BandAnswer] = {}
    unknown: dict[str, str] = {}
    for band in sorted(samples.level_dbm):
        answer = band_answer(samples, band, edge_dbm=edges.get(band, rules.edge_dbm[band]), rules=rules)
        if answer is None:
            unknown[band] = "no_sender"
        elif is_too_wide(answer, rules=rules):
            unknown[band] = "too_wide"
        else:
            bands[band] = answer
    why = None if bands else ("too_wide" if "too_wide" in unknown.values() else "no_sender")
    return RoomAnswer(samples.room, bands, why, unknown)


def is_too_wide(answer: BandAnswer, *, rules: Rules) -> bool:
    """Whether the interval is no answer; one that ends below any use is, however wide: there is nothing to be had."""
    return answer.high_dbm - answer.low_dbm > rules.widest_db and answer.high_dbm > rules.hopeless_dbm


def _counted(who: npt.NDArray[np.intp], senders_count: int) -> npt.NDArray[np.intp]:
    return np.bincount(who.ravel(), minlength=senders_count)


def _second(
    names: tuple[str, ...], levels: Levels, first: npt.NDArray[np.intp], server: int, rules: Rules
) -> tuple[str | None, float | None, Odds]:
    """Who mostly is second best, the second best level reached, and the chance that a device can be taken over."""
    if len(names) < 2:
        return None, None, Odds(0.0)
    others = levels.copy()
    np.put_along_axis(others, first[:, None, :], -np.inf, axis=1)
    reached = reached_dbm(level_dbm=others.max(axis=1), points_share=rules.points_share)
    roaming = float(np.mean(reached >= rules.roaming_dbm))
    named = _beside(names, levels, server) if roaming >= rules.roaming_share else None
    return named, float(np.median(reached)), Odds(roaming)


def _beside(names: tuple[str, ...], levels: Levels, server: int) -> str:
    """Who is best at most points when the one that serves is left out."""
    others = [k for k in range(len(names)) if k != server]
    counted = _counted(levels[:, others, :].argmax(axis=1), len(others))
    return names[others[int(counted.argmax())]]

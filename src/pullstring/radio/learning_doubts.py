"""Learning that checks itself: each reading foretold from all other spots, and readings that contradict the rest named."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.radio.learning import Learned, learn
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_censored import Solved, scales, solve
from pullstring.radio.learning_readings import Reading
from pullstring.radio.learning_rows import Array, Tables
from pullstring.radio.scene import Sender, Skin

FEWEST = 4
"""Readings heard from which on one may be set aside: of three, two do not outvote one."""


@dataclasses.dataclass(frozen=True)
class LeftOut:
    """One reading as those of all other spots foretell it. `foretold_dbm` is what the device should read."""

    key: str
    sender: str
    band: str
    read_dbm: float | None
    foretold_dbm: float
    spread_db: float
    off_db: float
    """Read less foretold; for "none heard" how far the foretold level lies over what the device hears, negative, or 0."""
    doubt_db: float
    """The same against all other readings, those of its own spot on other bands too."""
    doubt_ratio: float
    """That in standard deviations, 0 or more."""
    against: str | None
    """The one other reading without which this one would fit much better, if there is one."""


@dataclasses.dataclass(frozen=True)
class Doubt:
    """Something to read again: `alone` (one reading against the rest) or `pair` (two of one spot and day).

    Behind the first key of `alone` stands the other reading with which it does not agree, if it is one.
    """

    kind: str
    keys: tuple[str, ...]
    off_db: float
    aside: bool
    """Whether nothing is learned from it until it was repeated."""


@dataclasses.dataclass(frozen=True)
class Checked:
    """What was learned, and how far it can be trusted."""

    learned: Learned
    left_out: tuple[LeftOut, ...]
    doubts: tuple[Doubt, ...]
    leave_one_out_db: float | None
    """Root mean square of read less foretold from all other spots; None with fewer than two readings heard."""
    before_db: float | None
    """The same before anything is learned."""


def _without(solved: Solved, groups: Sequence[Array]) -> tuple[Array, Array]:
    """What each row should show [n] and its variance [n], learned from all rows but those of its group."""
    rows, count = solved.rows, len(solved.rows.readings)
    mean, var, log = np.empty((3, len(solved.scales), count))
    for group in groups:
        cov = np.linalg.inv(solved.inverse[:, group[:, None], group])
        off = np.einsum("kij,kj->ki", cov, solved.pull[:, group])
        mean[:, group], var[:, group] = solved.site_db[:, group] - off, np.einsum("kii->ki", cov)
        fit = np.einsum("ki,ki->k", off, solved.pull[:, group])
        log[:, group] = -0.5 * (fit + np.linalg.slogdet(cov)[1])[:, None]
    quiet = ~rows.heard
    var[:, quiet] += rows.noise_db[quiet] ** 2 - solved.site_db2[:, quiet]
    share = np.log(solved.weight)[:, None] - log
    weight = np.exp(share - share.max(axis=0, initial=-np.inf))
    weight /= weight.sum(axis=0)
    middle = (weight * mean).sum(axis=0)
    return middle, (weight * (var + (mean - middle) ** 2)).sum(axis=0)


def _same_spot(readings: Sequence[Reading]) -> list[Array]:
    """Rows in groups: of one spot within a metre, or of one room."""
    centre = np.array([np.mean(one.spots, axis=0) for one in readings])
    near = np.linalg.norm(centre[:, None] - centre[None], axis=2) <= assumed()["same_spot"]
    first = near.argmax(axis=1)
    return [np.flatnonzero(first == i) for i in np.unique(first)]


def _against(solved: Solved, row: int, scale: int, doubt_ratio: float) -> str | None:
    """The other reading without which this row fits best, where that brings it under two thirds of what it is off."""
    inverse, pull = solved.inverse[scale], solved.pull[scale]
    key, best = None, doubt_ratio * 2 / 3
    for other in range(len(solved.rows.readings)):
        if other == row:
            continue
        both = np.linalg.inv(inverse[np.ix_([row, other], [row, other])])
        off = abs(float(both[0] @ pull[[row, other]])) / math.sqrt(both[0, 0])
        if off < best:
            key, best = solved.rows.readings[other].key, off
    return key


def leave_one_out(learned: Learned) -> tuple[LeftOut, ...]:
    """Every reading used, foretold from all other spots, in closed form at the wall losses learned from all."""
    rows = learned.solved.rows
    if not rows.readings:
        return ()
    solved = solve(rows, among=scales(), keep_all=True)
    likeliest = int(solved.weight.argmax())
    elsewhere, spread2 = _without(solved, _same_spot(rows.readings))
    others, doubt2 = _without(solved, [np.array([i]) for i in range(len(rows.readings))])
    found = []
    for i, one in enumerate(rows.readings):
        off, doubt = (float(rows.target_db[i] - mean[i]) for mean in (elsewhere, others))
        foretold = (one.floor_dbm if one.level_dbm is None else one.level_dbm) - off
        if not one.heard:
            off, doubt = min(off, 0.0), min(doubt, 0.0)
        ratio = abs(doubt) / math.sqrt(doubt2[i])
        against = _against(solved, i, likeliest, ratio) if ratio >= assumed()["doubt_at"] else None
        spread = math.sqrt(spread2[i])
        found.append(
            LeftOut(one.key, one.sender or "", one.band, one.level_dbm, foretold, spread, off, doubt, ratio, against)
        )
    return tuple(found)


def _pairs(readings: Sequence[Reading]) -> list[Doubt]:
    """Two readings of one spot, day, device, access point and band whose values cannot both be."""
    a, found = assumed(), []
    for i, one in enumerate(readings):
        for other in readings[i + 1 :]:
            same = all(getattr(one, name) == getattr(other, name) for name in ("device", "sender", "band", "at"))
            placed = len(one.spots) == len(other.spots) == 1
            if not (same and placed) or math.dist(one.spots[0], other.spots[0]) > a["same_spot"]:
                continue
            off = (one.level_dbm or one.floor_dbm) - (other.level_dbm or other.floor_dbm)
            if (one.heard or other.heard) and abs(off) > a["pair_at"] * math.hypot(one.noise_db, other.noise_db):
                found.append(Doubt("pair", (one.key, other.key), off, False))
    return found


def _figure(offs: Sequence[float]) -> float | None:
    return math.sqrt(sum(off**2 for off in offs) / len(offs)) if len(offs) >= 2 else None


def check(
    readings: Sequence[Reading], tables: Tables, *, skins: Mapping[str, Skin], senders: Sequence[Sender]
) -> Checked:
    """Learn, set aside what is far off, one by one and worst first, and name what contradicts the rest."""
    again = functools.partial(learn, readings, tables, skins=skins, senders=senders)
    a, doubts = assumed(), _pairs(readings)
    aside: list[str] = []
    learned = again()
    left = leave_one_out(learned)
    most = sum(one.heard for one in readings) // FEWEST
    while left and len(aside) < most:
        worst = max(left, key=lambda one: one.doubt_ratio)
        if worst.doubt_ratio < a["aside_at"]:
            break
        aside.append(worst.key)
        doubts.append(Doubt("alone", (worst.key,), worst.doubt_db, True))
        learned = again(aside=aside)
        left = leave_one_out(learned)
    for one in sorted(left, key=lambda one: -one.doubt_ratio):
        if one.doubt_ratio >= a["doubt_at"] and not any(one.key in told.keys for told in doubts):
            keys = (one.key,) if one.against is None else (one.key, one.against)
            doubts.append(Doubt("alone", keys, one.doubt_db, False))
    rows = learned.solved.rows
    before = _figure([float(off) for off, heard in zip(learned.before_db, rows.heard, strict=True) if heard])
    after = _figure([one.off_db for one in left if one.read_dbm is not None])
    return Checked(learned, left, tuple(doubts), after, before)

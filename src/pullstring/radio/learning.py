"""Learning from a few readings: device offsets, exponent, loss of each wall type, and what no drawing shows.

`learn` weighs the readings on the tables that tracing left for their spots; nothing is traced again. What it gives
foretells the level on the tables of any other points (`learning_levels.py`) and checks itself (`learning_doubts.py`).
Without readings it gives what was believed before, with its spread.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_censored import Solved, below, near_by, scales, solve
from pullstring.radio.learning_readings import Reading
from pullstring.radio.learning_rows import Array, Prior, Tables, Weighed, rows_of
from pullstring.radio.scene import Sender, Skin

ROUNDS = 5
FOUR_IN_FIVE = 1.2816
"""Standard deviations on either side of the mean that hold 80 % of a normal distribution."""


@dataclasses.dataclass(frozen=True)
class LearnedNumber:
    """One plain number with its 80 % interval, before and after the readings."""

    name: str
    band: str
    before: float
    before_spread: float
    value: float
    low: float
    high: float

    @classmethod
    def of(cls, name: str, band: str, before: tuple[float, float], after: tuple[float, float]) -> LearnedNumber:
        """From means and standard deviations."""
        value, spread = after
        return cls(name, band, *before, value, value - FOUR_IN_FIVE * spread, value + FOUR_IN_FIVE * spread)


@dataclasses.dataclass(frozen=True)
class Unused:
    """A reading that taught nothing, and why: no_sender, not_sent, unclear, aside."""

    key: str
    why: str


@dataclasses.dataclass(frozen=True)
class Learned:
    """What the readings taught."""

    prior: Prior
    solved: Solved
    change_db: Array
    """Loss of each crossing over its prior mean at which everything is linear [bands, skins]."""
    before_db: Array
    """What was read less what was believed before, for each row."""
    unused: tuple[Unused, ...]

    @functools.cached_property
    def exponent(self) -> LearnedNumber:
        """The exponent of distance; 2 in free space."""
        a, spread = assumed(), float(np.sqrt(self.solved.mixed_cov[0, 0]))
        before = (a["exponent_mean"], a["exponent_spread"])
        return LearnedNumber.of("exponent", "", before, (before[0] + float(self.solved.mixed_mean[0]), spread))

    @functools.cached_property
    def walls(self) -> tuple[LearnedNumber, ...]:
        """dB that one crossing of each wall type loses over its prior mean, by band."""
        mean = self.solved.mixed_mean[1:].reshape(self.prior.wall_db.shape)
        spread = np.sqrt(np.diag(self.solved.mixed_cov)[1:]).reshape(mean.shape)
        wall_share = np.sqrt(assumed()["wall_class_share"])
        return tuple(
            LearnedNumber.of(
                skin,
                band,
                (0.0, float(self.prior.wall_db[b, k] * wall_share)),
                (float(mean[b, k]), float(spread[b, k])),
            )
            for k, skin in enumerate(self.prior.skins)
            for b, band in enumerate(self.prior.bands)
        )

    @functools.cached_property
    def offsets(self) -> tuple[LearnedNumber, ...]:
        """What each device reads over the level at the place, for each band on which it was used."""
        used = sorted({(one.device, one.band) for one in self.solved.rows.readings})
        before = (assumed()["offset_mean"], self.offset_spread)
        return tuple(LearnedNumber.of(name, band, before, self.offset(name, band)) for name, band in used)

    @property
    def offset_spread(self) -> float:
        """Standard deviation of a device's offset on one band before readings. [dB]"""
        return float(np.hypot(assumed()["offset_spread"], assumed()["offset_band_spread"]))

    def offset_before(self, band: str, other: str) -> float:
        """Covariance of one device's offsets on two bands before readings."""
        a = assumed()
        return a["offset_spread"] ** 2 + (band == other) * a["offset_band_spread"] ** 2

    def offset_rows(self, device: str, band: str) -> Array:
        """Covariance of one device's offset on one band with the readings [n]."""
        a, rows = assumed(), self.solved.rows.readings
        return np.array(
            [
                (a["offset_spread"] ** 2 + (one.band == band) * a["offset_band_spread"] ** 2) * (one.device == device)
                for one in rows
            ],
            dtype=float,
        )

    def offset(self, device: str, band: str) -> tuple[float, float]:
        """Mean and standard deviation of what a device reads over the level at the place. [dB]"""
        solved, with_rows = self.solved, self.offset_rows(device, band)
        mean = solved.pull @ with_rows
        var = self.offset_spread**2 - np.einsum("i,kij,j->k", with_rows, solved.inverse, with_rows)
        middle = float(solved.weight @ mean)
        spread = float(np.sqrt(solved.weight @ (var + (mean - middle) ** 2)))
        return assumed()["offset_mean"] + middle, spread


def _named(tables: Tables, prior: Prior, one: Reading, at: Weighed, real: Sequence[str]) -> list[Reading] | str:
    """The reading with its access point named, or as one for each that it says something of; or why it says nothing."""
    if one.sender is not None and one.sender not in tables.senders:
        return "no_sender"
    if one.band not in tables.bands:
        return "not_sent"
    band = tables.bands.index(one.band)
    spots = {tuple(map(float, spot)): i for i, spot in enumerate(tables.points)}
    where = [spots[spot] for spot in one.standing]
    level = at.level_dbm[band][:, where].mean(axis=1)
    if one.sender is not None:
        return [one] if np.isfinite(level[tables.senders.index(one.sender)]) else "not_sent"
    names = [name for name in real if np.isfinite(level[tables.senders.index(name)])]
    if not names:
        return "not_sent"
    index = [tables.senders.index(name) for name in names]
    field = prior.field_db(at.crossings[band][index][:, where].mean(axis=1), band_index=band)
    spread = np.sqrt(
        field**2 + np.array(prior.power_db)[index] ** 2 + assumed()["offset_spread"] ** 2 + one.noise_db**2
    )
    shown = level[index] + assumed()["offset_mean"]
    if one.level_dbm is None:
        told = [name for name, mean, wide in zip(names, shown, spread, strict=True) if mean + 3 * wide > one.floor_dbm]
        return [dataclasses.replace(one, sender=name) for name in told]
    others = [max([other for j, other in enumerate(shown) if j != i], default=-1e3) for i in range(len(shown))]
    log_odds = below(z_ratio=(shown - others) / (np.sqrt(2) * field))[0] - 0.5 * ((one.level_dbm - shown) / spread) ** 2
    first, *rest = np.argsort(-log_odds, kind="stable")
    if rest and log_odds[first] - log_odds[rest[0]] < np.log(assumed()["stranger_odds"]):
        return "unclear"
    return [dataclasses.replace(one, sender=names[int(first)])]


def _least_change(prior: Prior, skins: Mapping[str, Skin]) -> Array:
    """The lowest change of each loss [bands, skins]: no wall makes a signal stronger."""
    lowest = [[-skins[skin].loss_db.get(band, np.inf) for skin in prior.skins] for band in prior.bands]
    return np.asarray(np.maximum(np.array(lowest, dtype=float).reshape(prior.wall_db.shape), -4 * prior.wall_db))


def learn(
    readings: Sequence[Reading],
    tables: Tables,
    *,
    skins: Mapping[str, Skin],
    senders: Sequence[Sender],
    aside: Sequence[str] = (),
    start: Learned | None = None,
) -> Learned:
    """What these readings teach; `tables` hold their spots (`spots_of`), `aside` names readings not to learn from.

    The level is not linear in the losses of the walls: what a wall keeps out comes through a door. So it is
    linearised again about what was learned (Gauss-Newton), a few rounds. `start` was learned from most of the same
    readings: a few new ones then take one round.
    """
    prior = Prior.of(tables, skins=skins, senders=senders)
    weighed = Weighed.at(tables, change_db=np.zeros(prior.wall_db.shape))
    real = [one.name for one in senders if not one.planned and one.name in tables.senders]
    used: list[Reading] = []
    unused = [Unused(one.key, "aside") for one in readings if one.key in set(aside)]
    for one in readings:
        if one.key in set(aside):
            continue
        named = _named(tables, prior, one, weighed, real)
        if isinstance(named, str):
            unused.append(Unused(one.key, named))
        else:
            used.extend(named)
    first = rows_of(weighed, prior, used)
    if start is None or start.prior.wall_db.shape != prior.wall_db.shape or not start.solved.rows.readings:
        change, solved = weighed.change_db, solve(first, among=scales())
    else:
        change, before = start.change_db, start.solved
        again = rows_of(Weighed.at(tables, change_db=change), prior, used)
        solved = solve(again, among=near_by(before.scales), start=before)
    lowest = _least_change(prior, skins)
    for turn in range(0 if not used else ROUNDS if start is None else 1):
        new = np.maximum(solved.mixed_mean[1:].reshape(change.shape), lowest)
        if np.abs(new - change).max(initial=0) < assumed()["linear_within"] / 2:
            break
        change = new if turn < 2 else (new + change) / 2  # half steps settle what swings to and fro
        rows = rows_of(Weighed.at(tables, change_db=change), prior, used)
        solved = solve(rows, among=near_by(solved.scales), start=solved)
    return Learned(prior, solved, change, first.target_db, tuple(unused))

"""What was learned, foretold at any points: the level with its spread, and drawn worlds for a room's points together."""

from __future__ import annotations

import dataclasses

import numpy as np

from pullstring.radio.learning import FOUR_IN_FIVE, Learned
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_readings import Reading
from pullstring.radio.learning_rows import Array, Tables, Weighed, kernel


@dataclasses.dataclass(frozen=True)
class Foretold:
    """Local mean at points [bands, senders, points] and its spread; NaN where a sender does not send.

    The spread is one standard deviation as an 80 % interval sees it: so that 1.28 of it on either side hold four in five.
    """

    level_dbm: Array
    spread_db: Array

    @property
    def unknown(self) -> Array:
        """Where there is no ground to foretell the level [bands, points].

        No access point sends there, or the strongest is not known to within a useful interval and may be heard.
        """
        a = assumed()
        sent = np.where(np.isnan(self.level_dbm), -np.inf, self.level_dbm)
        best = sent.argmax(axis=1)[:, None]
        spread = np.take_along_axis(self.spread_db, best, axis=1)[:, 0]
        heard = np.where(np.isnan(self.level_dbm), -np.inf, self.high_dbm).max(axis=1) > a["out_of_reach"]
        return np.asarray(np.isneginf(sent.max(axis=1)) | ((spread > a["unknown_spread"]) & heard))

    @property
    def low_dbm(self) -> Array:
        """Lower end of the 80 % interval."""
        return self.level_dbm - FOUR_IN_FIVE * self.spread_db

    @property
    def high_dbm(self) -> Array:
        """Upper end of the 80 % interval."""
        return self.level_dbm + FOUR_IN_FIVE * self.spread_db


@dataclasses.dataclass(frozen=True)
class Ground:
    """Tables of points, kept as last weighed; weighed anew only where a wall's loss moved far."""

    weighed: Weighed

    @classmethod
    def of(cls, tables: Tables) -> Ground:
        """Tables weighed at the prior means."""
        return cls(Weighed.at(tables, change_db=np.zeros((len(tables.bands), len(tables.skins)))))

    def moved_to(self, learned: Learned) -> Ground:
        """The same tables near enough to what was learned for a linear step to do."""
        off = np.abs(learned.change_db - self.weighed.change_db).max(initial=0)
        if off <= assumed()["linear_within"]:
            return self
        return Ground(Weighed.at(self.weighed.tables, change_db=learned.change_db))


@dataclasses.dataclass(frozen=True)
class Together:
    """What was learned, and a ground: how the level at its points goes with the numbers and with the readings."""

    learned: Learned
    ground: Ground

    def columns(self, band: int) -> Array:
        """Which of the shared numbers move this band: the exponent and its own wall losses."""
        skins = len(self.learned.prior.skins)
        return np.concatenate([[0], 1 + band * skins + np.arange(skins)]).astype(int)

    def moves(self, band: int, sender: int, at: Array | slice) -> Array:
        """How the level moves with exponent and this band's wall losses [points, 1 + skins]."""
        count = self.ground.weighed.log_distance.shape[1]
        return self.ground.weighed.moves[band][sender * count : (sender + 1) * count][at]

    def own(self, sender: int) -> Array:
        """Which rows are of this sender."""
        return np.flatnonzero(self.learned.solved.rows.sender == sender)

    def field_db(self, band: int, sender: int, at: Array | slice) -> Array:
        """Spread of what no drawing shows, at points [points]."""
        return self.learned.prior.field_db(self.ground.weighed.crossings[band, sender][at], band_index=band)

    def powers(self, band: int, sender: int) -> Array:
        """Covariance of what a sender radiates with its own rows [own]."""
        prior, rows = self.learned.prior, self.learned.solved.rows
        alike = prior.alike("power_band_correlation")[band, rows.band[self.own(sender)]]
        return np.asarray(prior.power_db[sender] ** 2 * alike)

    def fields(self, band: int, sender: int, at: Array | slice) -> Array:
        """Covariance of what no drawing shows with the sender's own rows, at the usual scale [points, own]."""
        rows, own = self.learned.solved.rows, self.own(sender)
        items = np.flatnonzero(np.isin(rows.item_row, own))
        near = kernel(one_m=self.ground.weighed.spots[at], other_m=rows.spots[items].astype(np.float32))
        mixed = (near * rows.item_field_db[items]) @ rows.mix[np.ix_(own, items)].T
        alike = self.learned.prior.alike("field_band_correlation")[band, rows.band[own]]
        return np.asarray(self.field_db(band, sender, at)[:, None] * (mixed * alike))


@dataclasses.dataclass(frozen=True)
class _Device:
    """What a device adds to the local mean on one band: its offset's covariance with the rows, and what it reads over."""

    rows: Array
    mean_db: float
    var_db2: Array
    """Variance of the offset under each scale, and of one reading about the local mean [k]."""

    @classmethod
    def of(cls, learned: Learned, band: str, like: Reading) -> _Device:
        solved, rows = learned.solved, learned.offset_rows(like.device, band)
        spent = np.einsum("i,kij,j->k", rows, solved.inverse, rows)
        noise = dataclasses.replace(like, band=band).noise_db
        return cls(rows, learned.offset(like.device, band)[0], learned.offset_spread**2 - spent + noise**2)


def foretell(learned: Learned, ground: Ground, *, like: Reading | None = None) -> Foretold:
    """Local mean and spread at every point of the ground; or what a reading like this one would show there.

    A device's offset and the level at a place are known better together than each alone: what was read is their sum.
    """
    w = ground.weighed
    level, spread = np.empty(w.level_dbm.shape), np.empty(w.level_dbm.shape)
    read = set(learned.solved.rows.sender.tolist())
    both = Together(learned, ground)
    for band, name in enumerate(learned.prior.bands):
        device = None if like is None else _Device.of(learned, name, like)
        _unread(both, band, device, level[band], spread[band])
        for sender in sorted(read):
            level[band, sender], spread[band, sender] = _read(both, band, sender, device)
    return Foretold(level, spread)


def _four_in_five(weight: Array, each_db: Array) -> Array:
    """Half of the interval that holds four in five of a mixture, over `FOUR_IN_FIVE`: two Newton steps from the mean spread."""
    half = FOUR_IN_FIVE * (weight @ each_db)
    for _ in range(2):
        z = half / each_db
        density = np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)
        t = 1 / (1 + 0.33267 * z)  # Abramowitz and Stegun 26.2.16, good to 1e-5
        above = density * t * (0.4361836 - t * (0.1201676 - 0.9372980 * t))
        half = half + (weight @ above - 0.1) / (weight @ (density / each_db))
    return np.asarray(half / FOUR_IN_FIVE)


def _unread(both: Together, band: int, device: _Device | None, level: Array, spread: Array) -> None:
    """Every sender as if nothing had been read of it: what was learned of walls and exponent, its own spreads on top."""
    prior, solved, w = both.learned.prior, both.learned.solved, both.ground.weighed
    cols = both.columns(band)
    mean = solved.mixed_mean[cols]
    mean[1:] -= w.change_db[band]
    value, vector = np.linalg.eigh(solved.mixed_cov[np.ix_(cols, cols)])
    root = (vector * np.sqrt(np.maximum(value, 0)))[:, value > 1e-4]
    scale2 = float(solved.weight @ np.array([one.field_factor for one in solved.scales])) ** 2
    own = -scale2 * (1 - assumed()["wall_class_share"]) * prior.wall_db[band] ** 2
    always, ties = np.full(level.shape[0], scale2 * assumed()["field_spread"] ** 2) + np.square(prior.power_db), 0.0
    if device is not None:
        ties = -2 * np.einsum("k,kgi,kij,j->g", solved.weight, solved.shared_rows, solved.inverse, device.rows)[cols]
        always, level_more = always + solved.weight @ device.var_db2, device.mean_db
    else:
        level_more = 0.0
    columns = np.column_stack([root, mean, np.concatenate([[0.0], own]) + ties]).astype(np.float32)
    every, points = w.moves[band], level.shape[1]
    for sender in range(level.shape[0]):  # one at a time stays in the processor's cache
        part = every[sender * points : (sender + 1) * points] @ columns
        var = np.einsum("ij,ij->i", part[:, :-2], part[:, :-2]) + part[:, -1]
        level[sender] = w.level_dbm[band, sender] + part[:, -2] + level_more
        spread[sender] = np.sqrt(var + always[sender])
    spread[np.isnan(level)] = np.nan


def _read(both: Together, band: int, sender: int, device: _Device | None) -> tuple[Array, Array]:
    """One sender of which something was read, weighed under each scale."""
    solved, w, every = both.learned.solved, both.ground.weighed, slice(None)
    own, cols = both.own(sender), both.columns(band)
    moving, near = both.moves(band, sender, every), both.fields(band, sender, every)
    field2, power = both.field_db(band, sender, every) ** 2, both.powers(band, sender)
    means, variances = [], []
    for k, scale in enumerate(solved.scales):
        inverse, pull, scale2 = solved.inverse[k], solved.pull[k], scale.field_factor**2
        shared = solved.shared_mean[k, cols]
        shared[1:] -= w.change_db[band]
        across = solved.shared_rows[k][cols] @ inverse[:, own]
        ties = np.block([[solved.shared_cov[k][np.ix_(cols, cols)], -across], [-across.T, -inverse[np.ix_(own, own)]]])
        goes = np.concatenate([moving, (power + scale2 * near).astype(np.float32)], axis=1)
        along, more_mean, more_var = np.concatenate([shared, pull[own]]), 0.0, both.learned.prior.power_db[sender] ** 2
        var = np.einsum("pi,pi->p", goes @ ties.astype(np.float32), goes) + scale2 * field2
        if device is not None:
            spent = inverse @ device.rows
            more_mean, more_var = assumed()["offset_mean"] + device.rows @ pull, more_var + device.var_db2[k]
            var -= 2 * goes @ np.concatenate([solved.shared_rows[k][cols] @ spent, spent[own]]).astype(np.float32)
        means.append(goes @ along.astype(np.float32) + more_mean)
        variances.append(var + more_var)
    mean = solved.weight @ np.array(means)
    each = np.sqrt(np.maximum(np.array(variances) + (np.array(means) - mean) ** 2, 1e-6))
    return w.level_dbm[band, sender] + mean, _four_in_five(solved.weight, each)

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
        w = self.ground.weighed
        log = -10 * w.log_distance[sender][at]
        return np.concatenate([log[:, None], -w.crossings[band, sender][at]], axis=1)

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
        near = kernel(one_m=self.ground.weighed.tables.points[at], other_m=rows.spots) * rows.item_field_db
        alike = self.learned.prior.alike("field_band_correlation")[band, rows.band[own]]
        return np.asarray(self.field_db(band, sender, at)[:, None] * (near @ rows.mix[own].T) * alike)


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
    cov = solved.mixed_cov[np.ix_(cols, cols)]
    value, vector = np.linalg.eigh(cov)
    root = vector * np.sqrt(np.maximum(value, 0))
    crossed = w.crossings[band]
    log = w.log_distance * -10
    flat = crossed.reshape(-1, crossed.shape[-1])
    scale2 = float(solved.weight @ np.array([one.field_factor for one in solved.scales])) ** 2
    field2 = np.maximum(flat, 0) @ ((1 - assumed()["wall_class_share"]) * prior.wall_db[band] ** 2)
    moved = flat @ np.concatenate([root[1:], mean[1:, None]], axis=1).astype(flat.dtype)
    part = log.ravel()[:, None] * root[0].astype(flat.dtype) - moved[:, :-1]
    var = np.einsum("ij,ij->i", part, part) + scale2 * (field2 + assumed()["field_spread"] ** 2)
    level[:] = w.level_dbm[band] + (log.ravel() * mean[0] - moved[:, -1]).reshape(log.shape)
    if device is not None:
        with_device = -np.einsum("k,kgi,kij,j->g", solved.weight, solved.shared_rows, solved.inverse, device.rows)[cols]
        var += 2 * (log.ravel() * with_device[0] - flat @ with_device[1:]) + solved.weight @ device.var_db2
        level += device.mean_db
    spread[:] = np.sqrt(var.reshape(log.shape) + np.square(prior.power_db)[:, None])
    spread[np.isnan(level)] = np.nan


def _read(both: Together, band: int, sender: int, device: _Device | None) -> tuple[Array, Array]:
    """One sender of which something was read, weighed under each scale."""
    solved, w = both.learned.solved, both.ground.weighed
    own, cols = both.own(sender), both.columns(band)
    every = slice(None)
    moving = both.moves(band, sender, every)
    field, power, near = both.field_db(band, sender, every), both.powers(band, sender), both.fields(band, sender, every)
    means, variances = [], []
    for k, scale in enumerate(solved.scales):
        shared = solved.shared_mean[k, cols]
        shared[1:] -= w.change_db[band]
        by_row = power + scale.field_factor**2 * near
        across = solved.shared_rows[k][cols] @ solved.inverse[k][:, own]
        means.append(moving @ shared + by_row @ solved.pull[k, own])
        variances.append(
            np.einsum("pi,pi->p", moving @ solved.shared_cov[k][np.ix_(cols, cols)], moving)
            + both.learned.prior.power_db[sender] ** 2
            + scale.field_factor**2 * field**2
            - np.einsum("pi,pi->p", 2 * (moving @ across) + by_row @ solved.inverse[k][np.ix_(own, own)], by_row)
        )
        if device is not None:
            spent = solved.inverse[k] @ device.rows
            means[-1] = means[-1] + device.rows @ solved.pull[k]
            variances[-1] += device.var_db2[k] - 2 * (
                moving @ (solved.shared_rows[k][cols] @ spent) + by_row @ spent[own]
            )
    mean = solved.weight @ np.array(means) + (0 if device is None else assumed()["offset_mean"])
    means = [one + (0 if device is None else assumed()["offset_mean"]) for one in means]
    each = np.sqrt(np.maximum(np.array(variances) + (np.array(means) - mean) ** 2, 1e-6))
    return w.level_dbm[band, sender] + mean, _four_in_five(solved.weight, each)

"""What was learned, foretold at any points: the level with its spread, and drawn worlds for a room's points together."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from pullstring.radio.learning import FOUR_IN_FIVE, Learned
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_rows import Array, Tables, Weighed, kernel


@dataclasses.dataclass(frozen=True)
class Foretold:
    """Local mean at points [bands, senders, points] and its standard deviation; NaN where a sender does not send."""

    level_dbm: Array
    spread_db: Array

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


def _columns(learned: Learned, band: int) -> Array:
    skins = len(learned.prior.skins)
    return np.concatenate([[0], 1 + band * skins + np.arange(skins)]).astype(int)


def _moves(ground: Ground, band: int, senders: Sequence[int] | slice) -> Array:
    """How the level moves with exponent and this band's wall losses [senders, points, 1 + skins]."""
    w = ground.weighed
    log = -10 * w.log_distance[senders]
    return np.concatenate([log[..., None], -w.crossings[band][senders]], axis=-1)


def _reading_rows(learned: Learned, sender: int) -> Array:
    return np.flatnonzero(learned.solved.rows.sender == sender)


def _with_rows(learned: Learned, ground: Ground, band: int, sender: int, at: Array | slice) -> tuple[Array, float, Array]:
    """Spread of the field at points of one sender, and power and field covariance with that sender's readings."""
    prior, rows, w = learned.prior, learned.solved.rows, ground.weighed
    own = _reading_rows(learned, sender)
    field = prior.field_db(w.crossings[band, sender][at], band_index=band)
    power = prior.power_db[sender] ** 2 * prior.alike("power_band_correlation")[band, rows.band[own]]
    near = kernel(one_m=w.tables.points[at], other_m=rows.spots) * rows.item_field_db
    alike = prior.alike("field_band_correlation")[band, rows.band[own]]
    return field, power, field[:, None] * (near @ rows.mix[own].T) * alike


def foretell(learned: Learned, ground: Ground) -> Foretold:
    """Local mean and spread at every point of the ground."""
    w = ground.weighed
    level, spread = np.empty(w.level_dbm.shape), np.empty(w.level_dbm.shape)
    read = set(learned.solved.rows.sender.tolist())
    for band in range(len(learned.prior.bands)):
        _unread(learned, ground, band, level[band], spread[band])
        for sender in sorted(read):
            level[band, sender], spread[band, sender] = _read(learned, ground, band, sender)
    return Foretold(level, spread)


def _unread(learned: Learned, ground: Ground, band: int, level: Array, spread: Array) -> None:
    """Every sender as if nothing had been read of it: what was learned of walls and exponent, its own spreads on top."""
    prior, solved, w = learned.prior, learned.solved, ground.weighed
    cols = _columns(learned, band)
    mean = solved.mixed_mean[cols]
    mean[1:] -= w.change_db[band]
    cov = solved.mixed_cov[np.ix_(cols, cols)]
    value, vector = np.linalg.eigh(cov)
    root = vector * np.sqrt(np.maximum(value, 0))
    crossed = w.crossings[band]
    log = w.log_distance * -10
    flat = crossed.reshape(-1, crossed.shape[-1])
    scale2 = float(solved.weight @ np.array([one.field_factor**2 for one in solved.scales]))
    field2 = np.maximum(flat, 0) @ ((1 - assumed()["wall_class_share"]) * prior.wall_db[band] ** 2)
    both = np.concatenate([root[1:], mean[1:, None]], axis=1).astype(flat.dtype)
    moved = flat @ both
    part = log.ravel()[:, None] * root[0].astype(flat.dtype) - moved[:, :-1]
    var = np.einsum("ij,ij->i", part, part) + scale2 * (field2 + assumed()["field_spread"] ** 2)
    level[:] = w.level_dbm[band] + (log.ravel() * mean[0] - moved[:, -1]).reshape(log.shape)
    spread[:] = np.sqrt(var.reshape(log.shape) + np.square(prior.power_db)[:, None])
    spread[np.isnan(level)] = np.nan


def _read(learned: Learned, ground: Ground, band: int, sender: int) -> tuple[Array, Array]:
    """One sender of which something was read, weighed under each scale."""
    solved, w = learned.solved, ground.weighed
    own, cols = _reading_rows(learned, sender), _columns(learned, band)
    moves = _moves(ground, band, [sender])[0]
    field, power, near = _with_rows(learned, ground, band, sender, slice(None))
    means, variances = [], []
    for k, scale in enumerate(solved.scales):
        shared = solved.shared_mean[k, cols]
        shared[1:] -= w.change_db[band]
        with_own = power + scale.field_factor**2 * near
        across = solved.shared_rows[k][cols] @ solved.inverse[k][:, own]
        means.append(moves @ shared + with_own @ solved.pull[k, own])
        variances.append(
            np.einsum("pi,pi->p", moves @ solved.shared_cov[k][np.ix_(cols, cols)], moves)
            + learned.prior.power_db[sender] ** 2
            + scale.field_factor**2 * field**2
            - np.einsum("pi,pi->p", 2 * (moves @ across) + with_own @ solved.inverse[k][np.ix_(own, own)], with_own)
        )
    mean = solved.weight @ np.array(means)
    var = solved.weight @ (np.array(variances) + (np.array(means) - mean) ** 2)
    return w.level_dbm[band, sender] + mean, np.sqrt(np.maximum(var, 1e-6))

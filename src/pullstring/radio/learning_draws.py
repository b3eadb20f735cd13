"""Worlds drawn from what was learned: levels at a room's points together, so that any answer about the room has a spread.

Each draw is a world from before the readings, moved by what the readings say against it (Matheron's rule): walls,
powers and fields of one draw belong together, over points, access points and bands.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from pullstring.radio.learning import Learned
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_levels import Ground, Together
from pullstring.radio.learning_rows import Array, kernel


def _root(cov: Array) -> Array:
    """A matrix whose product with its transpose is this covariance."""
    value, vector = np.linalg.eigh(cov)
    return np.asarray(vector * np.sqrt(np.maximum(value, 0)))


@dataclasses.dataclass(frozen=True)
class Worlds:
    """Draws for some points of a ground and some access points (all, unless named)."""

    learned: Learned
    ground: Ground
    points: Sequence[int]
    senders: Sequence[str] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The access points, in the order of the draws."""
        every = self.learned.prior.senders
        return every if self.senders is None else tuple(name for name in every if name in set(self.senders))

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        """Levels of so many worlds [count, bands, access points, points]; NaN where one does not send. [dBm]"""
        solved = self.learned.solved
        which = np.sort(rng.choice(len(solved.scales), size=count, p=solved.weight))
        parts = [self._under(k, int((which == k).sum()), rng) for k in range(len(solved.scales)) if (which == k).any()]
        return np.concatenate(parts)

    def _under(self, k: int, count: int, rng: np.random.Generator) -> Array:
        learned, ground = self.learned, self.ground
        solved, prior, rows, w = learned.solved, learned.prior, learned.solved.rows, ground.weighed
        at, scale = np.asarray(self.points, dtype=int), solved.scales[k].field_factor
        together = Together(learned, ground)
        wanted = [prior.senders.index(name) for name in self.names]
        both = sorted({*wanted, *rows.sender.tolist()})
        shared = rng.standard_normal((count, solved.prior_cov.shape[1])) @ _root(solved.prior_cov[k]).T
        power, field = self._powers(both, count, rng), self._fields(both, at, count, rng)
        shown = shared @ rows.shared.T + rng.standard_normal((count, len(rows.readings))) @ _root(rows.offsets).T
        place = np.array([both.index(s) for s in rows.sender], dtype=int)
        shown += power[:, place, rows.band]
        item = field[:, place[rows.item_row], rows.band[rows.item_row], len(at) + np.arange(len(rows.item_row))]
        shown += scale * (item * rows.item_field_db) @ rows.mix.T
        noise2 = solved.site_db2[k] + scale**2 * rows.lost
        shown += rng.standard_normal(shown.shape) * np.sqrt(noise2)
        pull = (solved.site_db[k] - shown) @ solved.inverse[k]
        moved = shared + pull @ solved.shared_rows[k].T
        out = np.empty((count, len(prior.bands), len(wanted), len(at)))
        for band in range(len(prior.bands)):
            step = moved[:, together.columns(band)].copy()
            step[:, 1:] -= w.change_db[band]
            for i, sender in enumerate(wanted):
                j = both.index(sender)
                by_row = together.powers(band, sender) + scale**2 * together.fields(band, sender, at)
                out[:, band, i] = (
                    w.level_dbm[band, sender, at]
                    + step @ together.moves(band, sender, at).T
                    + power[:, j, band, None]
                    + scale * together.field_db(band, sender, at) * field[:, j, band, : len(at)]
                    + pull[:, together.own(sender)] @ by_row.T
                )
        return out

    def _powers(self, senders: list[int], count: int, rng: np.random.Generator) -> Array:
        """What each radiates more than noted [count, senders, bands]."""
        prior = self.learned.prior
        drawn = rng.standard_normal((count, len(senders), len(prior.bands)))
        spread = np.array(prior.power_db)[senders]
        return np.asarray(drawn @ _root(prior.alike("power_band_correlation")).T * spread[:, None])

    def _fields(self, senders: list[int], at: Array, count: int, rng: np.random.Generator) -> Array:
        """What no drawing shows, of spread 1 [count, senders, bands, points and items]."""
        spots = np.concatenate([self.ground.weighed.tables.points[at], self.learned.solved.rows.spots])
        near = _root(kernel(one_m=spots, other_m=spots))
        bands, share = len(self.learned.prior.bands), assumed()["field_band_correlation"]
        common = rng.standard_normal((count, len(senders), 1, len(spots)))
        own = rng.standard_normal((count, len(senders), bands, len(spots)))
        return np.asarray((np.sqrt(share) * common + np.sqrt(1 - share) * own) @ near.T)

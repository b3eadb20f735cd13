"""Rows weighed under several scales at once, with "none heard" counted as what it says: weaker than the device hears.

Under one scale (how good the drawing is, whether a wall type is named wrongly) everything is Gaussian but for the
readings of nothing. Each of those is stood in for by a Gaussian reading whose mean and width give the same first two
moments (expectation propagation); the scales are then weighed by how well they foretell what was read.
"""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np

from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_rows import Array, Rows

SWEEPS = 12
SETTLED = 3e-3
WIDE_DB2 = 1e6
LEAST_WEIGHT = 0.003


@dataclasses.dataclass(frozen=True)
class Scale:
    """One way the world may be: the drawing so many times worse than usual, wall types' spreads so much wider."""

    field_factor: float
    wall_factor: float
    odds: float


@functools.cache
def scales() -> tuple[Scale, ...]:
    """The ways that are weighed: seven of the drawing, a log-normal about 1, times wall types right or wrong."""
    a = assumed()
    factors = (0.1, 0.2, 0.4, 0.7, 1.0, 1.4, 2.0)
    steps = np.gradient(np.log(factors))
    shares = np.exp(-0.5 * (np.log(factors) / a["field_scale_spread"]) ** 2) * steps
    shares /= shares.sum()
    walls = ((1.0, 1 - a["wall_wrong_odds"]), (a["wall_wrong_factor"], a["wall_wrong_odds"]))
    return tuple(
        Scale(f, w, float(share) * odds) for f, share in zip(factors, shares, strict=True) for w, odds in walls
    )


def _below(z: float) -> tuple[float, float]:
    """Natural log of the normal chance to lie below z, and density over chance there."""
    if z < -30:
        return -0.5 * z * z - math.log(-z) - 0.5 * math.log(2 * math.pi), -z + 1 / -z
    chance = 0.5 * math.erfc(-z / math.sqrt(2))
    return math.log(chance), math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi) / chance


_below_each = np.frompyfunc(_below, 1, 2)


def below(*, z_ratio: Array) -> tuple[Array, Array]:
    """Log chance to lie below, and density over chance, of the standard normal.

    Parameters
    ----------
    z_ratio : array
        Standard deviations from the mean. [1]

    Returns
    -------
    two arrays
        Natural log of the chance, and the ratio. [1]

    References
    ----------
    Normal distribution; beyond 30 standard deviations the first terms of its asymptotic series.
    """
    both = _below_each(np.asarray(z_ratio, dtype=float))
    return np.asarray(both[0], dtype=float), np.asarray(both[1], dtype=float)


@dataclasses.dataclass(frozen=True)
class Solved:
    """The rows weighed under each scale k that still counts."""

    rows: Rows
    scales: tuple[Scale, ...]
    weight: Array
    """How much each scale counts [k]; sums to 1."""
    evidence: Array
    """Natural log of how well each foretells the readings [k]."""
    prior_cov: Array
    """Covariance of exponent and wall losses before readings [k, g, g]."""
    prior_rows: Array
    """Covariance of what the readings show before they are read, without noise [k, n, n]."""
    site_db: Array
    """What was read, or what stands in for "none heard" [k, n]."""
    site_db2: Array
    """Its noise variance [k, n]."""

    @functools.cached_property
    def middle_sites(self) -> dict[tuple[str, int], tuple[float, float]]:
        """What stands in for each "none heard", over the scales: mean over what was read, and variance; to start from."""
        rows = self.rows
        mean, var = self.weight @ (self.site_db - rows.target_db), 1 / (self.weight @ (1 / self.site_db2))
        return {
            (rows.readings[i].key, int(rows.sender[i])): (float(mean[i]), float(var[i]))
            for i in np.flatnonzero(~rows.heard)
        }

    @functools.cached_property
    def inverse(self) -> Array:
        """Inverse of the covariance of the readings [k, n, n]."""
        count = self.site_db.shape[1]
        return np.asarray(np.linalg.inv(self.prior_rows + self.site_db2[:, :, None] * np.eye(count)))

    @functools.cached_property
    def pull(self) -> Array:
        """What the readings pull with [k, n]."""
        return np.asarray(np.einsum("kij,kj->ki", self.inverse, self.site_db))

    @functools.cached_property
    def shared_rows(self) -> Array:
        """Covariance of exponent and wall losses with the readings [k, g, n]."""
        return np.asarray(self.prior_cov @ self.rows.shared.T)

    @functools.cached_property
    def shared_mean(self) -> Array:
        """Exponent and wall losses learned, from their prior means [k, g]."""
        return np.asarray(np.einsum("kgn,kn->kg", self.shared_rows, self.pull))

    @functools.cached_property
    def shared_cov(self) -> Array:
        """Their covariance [k, g, g]."""
        return np.asarray(self.prior_cov - self.shared_rows @ self.inverse @ self.shared_rows.transpose(0, 2, 1))

    @functools.cached_property
    def mixed_mean(self) -> Array:
        """Exponent and wall losses over all scales [g]."""
        return np.asarray(self.weight @ self.shared_mean)

    @functools.cached_property
    def mixed_cov(self) -> Array:
        """Their covariance over all scales [g, g]."""
        off = self.shared_mean - self.mixed_mean
        return np.asarray(
            np.einsum("k,kij->ij", self.weight, self.shared_cov) + np.einsum("k,ki,kj->ij", self.weight, off, off)
        )


def _sites(rows: Rows, prior: Array, start: Solved | None) -> tuple[Array, Array, Array]:
    """What stands in for each reading [k, n], its variance, and what that adds to the evidence [k]."""
    kept, count = prior.shape[0], len(rows.readings)
    eye, quiet = np.eye(count), ~rows.heard
    noise2 = rows.noise_db**2
    mean = np.tile(rows.target_db, (kept, 1))
    var = np.tile(noise2, (kept, 1))
    extra = np.zeros(kept)
    if not quiet.any():
        return mean, var, extra
    var[:, quiet] = WIDE_DB2
    if start is not None:
        before = start.middle_sites
        for i in np.flatnonzero(quiet):
            known = before.get((rows.readings[i].key, int(rows.sender[i])))
            if known is not None:
                mean[:, i], var[:, i] = rows.target_db[i] + known[0], known[1]
    for sweep in range(SWEEPS):
        inverse = np.linalg.inv(prior + var[:, :, None] * eye)
        pull = np.einsum("kij,kj->ki", inverse, mean)
        diagonal = np.einsum("kii->ki", inverse)[:, quiet]
        out_mean = mean[:, quiet] - pull[:, quiet] / diagonal
        out_var = np.maximum(1 / diagonal - var[:, quiet], 1e-6)
        wide = np.sqrt(out_var + noise2[quiet])
        z = (rows.target_db[quiet] - out_mean) / wide
        log_chance, ratio = below(z_ratio=z)
        slope, bend = ratio / wide, np.maximum(ratio * (z + ratio), 1e-12) / wide**2
        new_var = np.clip(1 / bend - out_var, 1e-3, WIDE_DB2)
        new_mean = np.where(new_var < WIDE_DB2, out_mean - slope / bend, mean[:, quiet])
        share = 1.0 if sweep == 0 and start is None else 0.7
        precision = (1 - share) / var[:, quiet] + share / new_var
        shift = (1 - share) * mean[:, quiet] / var[:, quiet] + share * new_mean / new_var
        moved = np.abs(shift / precision - mean[:, quiet]) / np.sqrt(1 / precision)
        mean[:, quiet], var[:, quiet] = shift / precision, 1 / precision
        both = out_var + var[:, quiet]
        extra = (log_chance + 0.5 * np.log(2 * np.pi * both) + (out_mean - mean[:, quiet]) ** 2 / (2 * both)).sum(1)
        if moved.max() < SETTLED:
            break
    return mean, var, extra


def near_by(kept: tuple[Scale, ...]) -> tuple[Scale, ...]:
    """These scales and their neighbours: where a few readings more can move what counts."""
    factors = sorted({one.field_factor for one in scales()})
    at = [factors.index(one.field_factor) for one in kept]
    return tuple(one for one in scales() if min(at) - 1 <= factors.index(one.field_factor) <= max(at) + 1)


def solve(rows: Rows, *, among: tuple[Scale, ...], start: Solved | None = None, keep_all: bool = False) -> Solved:
    """Weigh the rows under each of these scales and keep those that count (or all); `start` was solved with fewer."""
    wide = {f: rows.prior.shared(wider_factor=f) for f in {one.wall_factor for one in among}}
    shared = np.stack([wide[one.wall_factor] for one in among])
    field = np.array([one.field_factor for one in among])[:, None, None] ** 2
    prior = rows.shared @ shared @ rows.shared.T + field * rows.fields + rows.powers + rows.offsets
    mean, var, extra = _sites(rows, prior, start)
    full = prior + var[:, :, None] * np.eye(len(rows.readings))
    fit = np.einsum("ki,ki->k", mean, np.linalg.solve(full, mean[:, :, None])[:, :, 0])
    evidence = -0.5 * (fit + np.linalg.slogdet(full)[1] + mean.shape[1] * math.log(2 * math.pi)) + extra
    log = evidence + np.log([one.odds for one in among])
    weight = np.maximum(np.exp(log - log.max()), 1e-300)
    weight /= weight.sum()
    keep = (weight >= LEAST_WEIGHT) | keep_all
    kept = tuple(one for one, stays in zip(among, keep, strict=True) if stays)
    weight = weight[keep] / weight[keep].sum()
    return Solved(rows, kept, weight, evidence[keep], shared[keep], prior[keep], mean[keep], var[keep])

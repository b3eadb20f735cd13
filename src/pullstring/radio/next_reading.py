"""Where to read next: the spot that narrows the rooms' answers most for each minute it costs.

Everything is Gaussian here at what was learned: a reading at a spot takes from an answer's variance the square of what
they share over the variance of the reading, whatever it will show. Answers near the edge of their need count more, for
there a few decibels decide.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Sequence

import numpy as np

from pullstring.radio.learning import FOUR_IN_FIVE, Learned
from pullstring.radio.learning_levels import Foretold, Ground, Together, foretell
from pullstring.radio.learning_readings import Reading
from pullstring.radio.learning_rows import Array, kernel

LEAST_URGENT = 0.05
"""Ours: how much an answer far from its edge counts beside one on it."""


@dataclasses.dataclass(frozen=True)
class Wanted:
    """One answer about a room: the level at its points on a band, against the level it needs.

    `points` are indices into the ground. `weight` is how much the need counts; 1 for each is fine.
    """

    room: str
    band: str
    points: tuple[int, ...]
    need_dbm: float
    weight: float


@dataclasses.dataclass(frozen=True)
class NextReading:
    """One proposal: which candidate, by how much it narrows the answers in all, and what it costs."""

    candidate: int
    narrows_db: float
    """What the 80 % interval of the room that gains most gets narrower, end to end."""
    minutes: float
    """Walking there and reading."""
    helps: tuple[str, ...]
    """Rooms that gain, most first."""


@dataclasses.dataclass(frozen=True, eq=False)
class Chooser:
    """Chooses among candidate spots (indices into the ground), for one device that reads the strongest of each band.

    `minutes` [1 + candidates, candidates] is the walk from here (row 0) and from each candidate; `reading_min` what a
    reading takes once there.
    """

    learned: Learned
    ground: Ground
    wanted: tuple[Wanted, ...]
    candidates: tuple[int, ...]
    like: Reading
    minutes: Array
    reading_min: float

    @functools.cached_property
    def _foretold(self) -> Foretold:
        return foretell(self.learned, self.ground)

    @functools.cached_property
    def _items(self) -> tuple[Array, Array, Array]:
        """Band, sender and point of every level that plays a part: of candidates first, then of the answers."""
        sent = np.where(np.isnan(self._foretold.level_dbm), -np.inf, self._foretold.level_dbm)
        best, bands = sent.argmax(axis=1), len(self.learned.prior.bands)
        at = np.array([*self.candidates, *(point for points in self._deciding for point in points)], dtype=int)
        split = len(self.candidates)
        band = np.concatenate(
            [
                np.repeat(np.arange(bands), split),
                [self._band(one) for one, points in zip(self.wanted, self._deciding, strict=True) for _ in points],
            ]
        ).astype(int)
        points = np.concatenate([np.tile(at[:split], bands), at[split:]]).astype(int)
        return band, best[band, points], points

    def _band(self, one: Wanted) -> int:
        return self.learned.prior.bands.index(one.band)

    @functools.cached_property
    def _deciding(self) -> tuple[tuple[int, ...], ...]:
        """The points that decide what is exceeded at 90 % of each room: its weakest fifth, at least one, at most eight."""
        sent = np.where(np.isnan(self._foretold.level_dbm), -np.inf, self._foretold.level_dbm).max(axis=1)
        found = []
        for one in self.wanted:
            level = sent[self._band(one)][list(one.points)]
            weakest = np.argsort(level, kind="stable")[: max(1, min(8, len(level) // 5))]
            found.append(tuple(one.points[i] for i in weakest))
        return tuple(found)

    def _covariance(self) -> Array:
        """Covariance of all items given what was read, under the likeliest scale [items, items].

        Those of the candidates are readings: the device's offset is in them, and goes with what it read before.
        """
        learned, both = self.learned, Together(self.learned, self.ground)
        solved, prior, (band, sender, point) = learned.solved, learned.prior, self._items
        k = int(solved.weight.argmax())
        scale2 = solved.scales[k].field_factor ** 2
        moves = np.zeros((len(band), solved.mixed_cov.shape[0]))
        rows = np.zeros((len(band), len(solved.rows.readings)))
        field = np.empty(len(band))
        for b, s in sorted(set(zip(band.tolist(), sender.tolist(), strict=True))):
            mine = np.flatnonzero((band == b) & (sender == s))
            at = point[mine]
            moves[np.ix_(mine, both.columns(b))] = both.moves(b, s, at)
            field[mine] = both.field_db(b, s, at)
            own = both.own(s)
            rows[np.ix_(mine, own)] = both.powers(b, s) + scale2 * both.fields(b, s, at)
        read = len(self.candidates) * len(prior.bands)
        names = [prior.bands[b] for b in band[:read]]
        rows[:read] += np.array([learned.offset_rows(self.like.device, name) for name in names])
        known = moves @ solved.shared_rows[k] + rows
        same = sender[:, None] == sender[None, :]
        power = np.array(prior.power_db)[sender]
        spots = self.ground.weighed.tables.points[point]
        alone = prior.alike("power_band_correlation")[np.ix_(band, band)] * np.outer(power, power)
        near = prior.alike("field_band_correlation")[np.ix_(band, band)] * kernel(one_m=spots, other_m=spots)
        cov = moves @ solved.prior_cov[k] @ moves.T + same * (alone + scale2 * near * np.outer(field, field))
        cov[:read, :read] += [[learned.offset_before(one, other) for other in names] for one in names]
        return np.asarray(cov - known @ solved.inverse[k] @ known.T)

    @functools.cached_property
    def _joint(self) -> tuple[Array, Array, Array]:
        """Covariance of the readings [r, r], of answers with readings [a, r], and of the answers [a]; r = bands x candidates."""
        cov, split = self._covariance(), len(self.candidates) * len(self.learned.prior.bands)
        counts = [len(points) for points in self._deciding]
        mean = np.zeros((len(counts), cov.shape[0]))
        start = split
        for i, count in enumerate(counts):
            mean[i, start : start + count] = 1 / count
            start += count
        bands = self.learned.prior.bands
        noise = [dataclasses.replace(self.like, band=bands[b]).noise_db for b in self._items[0][:split]]
        read = cov[:split, :split] + np.diag(np.square(noise))
        return read, (mean @ cov)[:, :split], np.einsum("ai,ij,aj->a", mean, cov, mean)

    @functools.cached_property
    def _urgent(self) -> Array:
        """How much each answer counts: its weight, times how near the edge it stands, never nothing [answers]."""
        f = self._foretold
        counts: list[float] = []
        for one, points in zip(self.wanted, self._deciding, strict=True):
            band, at = self._band(one), list(points)
            best = np.where(np.isnan(f.level_dbm[band]), -np.inf, f.level_dbm[band])[:, at].argmax(axis=0)
            level, spread = f.level_dbm[band][best, at].mean(), f.spread_db[band][best, at].mean()
            near = np.exp(-0.5 * ((one.need_dbm - level) / max(spread, 1.0)) ** 2)
            counts.append(float(one.weight * max(near, LEAST_URGENT)))
        return np.array(counts)

    def walk(self, count: int) -> tuple[NextReading, ...]:
        """So many readings one after the other, each the best for its minutes given those before; fewer if none helps."""
        read, shared, answers = (one.copy() for one in self._joint)
        here, bands = 0, len(self.learned.prior.bands)
        chosen: list[NextReading] = []
        total = len(self.candidates)
        for _ in range(min(count, total)):
            gain = np.stack(
                [self._gain(read, shared, answers, [c + b * total for b in range(bands)]) for c in range(total)]
            )
            minutes = self.minutes[here] + self.reading_min
            each = gain @ self._urgent
            worth = each / minutes
            worth[[one.candidate for one in chosen]] = -np.inf
            best = int(worth.argmax())
            if not each[best] > 0:
                break
            helped = np.argsort(-(gain[best] * self._urgent), kind="stable")
            rooms = tuple(dict.fromkeys(self.wanted[i].room for i in helped if gain[best, i] > 0.05))
            narrows = 2 * FOUR_IN_FIVE * float(gain[best].max())
            chosen.append(NextReading(best, narrows, float(minutes[best]), rooms[:3]))
            pair = [best + b * total for b in range(bands)]
            taken = np.linalg.inv(read[np.ix_(pair, pair)])
            answers = answers - np.einsum("ai,ij,aj->a", shared[:, pair], taken, shared[:, pair])
            shared, read = shared - shared[:, pair] @ taken @ read[pair], read - read[:, pair] @ taken @ read[pair]
            read = read + 1e-9 * np.eye(len(read))
            here = 1 + best
        return tuple(chosen)

    @staticmethod
    def _gain(read: Array, shared: Array, answers: Array, pair: Sequence[int]) -> Array:
        """What the answers' standard deviations lose by one visit [answers]."""
        taken = np.linalg.inv(read[np.ix_(pair, pair)])
        after = answers - np.einsum("ai,ij,aj->a", shared[:, pair], taken, shared[:, pair])
        return np.asarray(np.sqrt(np.maximum(answers, 0)) - np.sqrt(np.maximum(after, 0)))

"""Worlds drawn from what was learned: levels at a room's points together, so that any answer about the room has a spread.

Each draw is a world from before the readings, moved by what the readings say against it (Matheron's rule): walls,
powers and fields of one draw belong together, over points, access points and bands. What all places share is drawn once
(`Drawing`), so draw k is the same world in every room.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Sequence
from typing import Any

import numpy as np

from pullstring.radio.learning import Learned
from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_levels import Ground, Together
from pullstring.radio.learning_rows import Array, kernel

STEADY = 1e-6
"""Added to a variance of 1 so that spots in one place do not make a root impossible."""


def _root(cov: Array) -> Array:
    """A matrix whose product with its transpose is this covariance."""
    value, vector = np.linalg.eigh(cov)
    return np.asarray(vector * np.sqrt(np.maximum(value, 0)))


@dataclasses.dataclass(frozen=True)
class _Under:
    """Worlds under one scale: exponent and losses [n, g], powers over what was noted [n, senders, bands], normal numbers of
    the field at the readings' spots [n, senders, bands, spots], the pull of each reading [n, rows], and what the device
    reads over the level [n, bands]."""

    scale: int
    moved: Array
    power: Array
    at_items: Array
    pull: Array
    offset: Array


@dataclasses.dataclass(frozen=True)
class Drawing:
    """So many worlds, as far as they are the same for all places."""

    learned: Learned
    to_items: Array
    """Inverse root of how alike the field is at the readings' spots."""
    under: tuple[_Under, ...]

    @classmethod
    def of(
        cls,
        learned: Learned,
        count: int,
        rng: np.random.Generator,
        *,
        device: str | None = None,
        likeliest_only: bool = False,
    ) -> Drawing:
        """Draw what all places share; with a device, levels come as it reads them; quicker under the likeliest scale only."""
        items = learned.solved.rows.spots
        of_items = np.linalg.cholesky(kernel(one_m=items, other_m=items) + STEADY * np.eye(len(items)))
        solved = learned.solved
        shares = np.eye(len(solved.scales))[solved.weight.argmax()] if likeliest_only else solved.weight
        counts = list(enumerate(_shared_out(shares, count)))
        return cls(
            learned,
            np.linalg.inv(of_items),
            tuple(_under(learned, of_items, k, n, rng, device) for k, n in counts if n),
        )

    def levels(self, ground: Ground, points: Sequence[int], senders: Sequence[str], own: np.random.Generator) -> Array:
        """Levels at points of a ground [worlds, bands, access points, points]; NaN where one does not send. [dBm]

        `own` draws what each point has for itself.
        """
        at, prior = np.asarray(points, dtype=int), self.learned.prior
        wanted = [prior.senders.index(name) for name in senders]
        spots, items = ground.weighed.tables.points[at], self.learned.solved.rows.spots
        with_items = (self.to_items @ kernel(one_m=items, other_m=spots)).T
        left = kernel(one_m=spots, other_m=spots) - with_items @ with_items.T
        of_points = np.linalg.cholesky(left + STEADY * np.eye(len(at)))
        both = Together(self.learned, ground)
        parts = [[_Part.of(both, band, sender, at) for sender in wanted] for band in range(len(prior.bands))]
        return np.concatenate(
            [self._levels(one, both, parts, wanted, with_items, of_points, own) for one in self.under]
        )

    def _levels(
        self,
        one: _Under,
        both: Together,
        parts: Sequence[Sequence[_Part]],
        wanted: list[int],
        with_items: Array,
        of_points: Array,
        own: np.random.Generator,
    ) -> Array:
        prior, count, points = self.learned.prior, len(one.moved), len(of_points)
        scale = self.learned.solved.scales[one.scale].field_factor
        seed = int(own.integers(2**32))
        alone = [_child(own, seed, prior.senders[s]) for s in wanted]
        field = np.stack([_normals(count, len(prior.bands), points, one_of) for one_of in alone], 1) @ of_points.T
        field += one.at_items[:, wanted] @ with_items.T
        out = np.empty((count, len(prior.bands), len(wanted), points))
        for band, of_band in enumerate(parts):
            step = one.moved[:, both.columns(band)].copy()
            step[:, 1:] -= both.ground.weighed.change_db[band]
            for i, (sender, part) in enumerate(zip(wanted, of_band, strict=True)):
                out[:, band, i] = (
                    part.level_dbm
                    + step @ part.moves.T
                    + (one.power[:, sender, band] + one.offset[:, band])[:, None]
                    + scale * part.field_db * field[:, i, band]
                    + one.pull[:, part.own] @ (part.powers + scale**2 * part.fields).T
                )
        return out


@dataclasses.dataclass(frozen=True)
class _Part:
    """What one sender's level at some points hangs on in one band, the same under every scale."""

    level_dbm: Array
    moves: Array
    field_db: Array
    own: Array
    powers: Array
    fields: Array

    @classmethod
    def of(cls, both: Together, band: int, sender: int, at: Array) -> _Part:
        return cls(
            both.ground.weighed.level_dbm[band, sender, at],
            both.moves(band, sender, at),
            both.field_db(band, sender, at),
            both.own(sender),
            both.powers(band, sender),
            both.fields(band, sender, at),
        )


def _under(
    learned: Learned, of_items: Array, k: int, count: int, rng: np.random.Generator, device: str | None
) -> _Under:
    solved, prior, rows = learned.solved, learned.prior, learned.solved.rows
    scale, senders, bands = solved.scales[k].field_factor, len(prior.senders), len(prior.bands)
    shared = _paired(rng, (count, solved.prior_cov.shape[1])) @ _root(solved.prior_cov[k]).T
    of_bands, seed = _root(prior.alike("power_band_correlation")).T, int(rng.integers(2**32))
    power, at_items = np.empty((count, senders, bands)), np.empty((count, senders, bands, len(of_items)))
    for s, name in enumerate(prior.senders):  # by name, so that another access point moves no draw of this one
        alone = _child(rng, seed, name)
        power[:, s] = _paired(alone, (count, bands)) @ of_bands * prior.power_db[s]
        at_items[:, s] = _normals(count, bands, len(of_items), alone)
    offsets, over, with_rows = _offsets(learned, count, rng, device)
    shown = shared @ rows.shared.T + offsets + power[:, rows.sender, rows.band]
    row = rows.item_row
    item = np.empty((count, len(row)))
    for s, b in sorted({(int(s), int(b)) for s, b in zip(rows.sender[row], rows.band[row], strict=True)}):
        mine = (rows.sender[row] == s) & (rows.band[row] == b)
        item[:, mine] = at_items[:, s, b] @ of_items[mine].T
    shown += scale * (item * rows.item_field_db) @ rows.mix.T
    noise2 = solved.site_db2[k] + scale**2 * rows.lost
    shown += _paired(rng, shown.shape) * np.sqrt(noise2)
    pull = (solved.site_db[k] - shown) @ solved.inverse[k]
    moved = shared + pull @ solved.shared_rows[k].T
    return _Under(k, moved, power, at_items, pull, over + pull @ with_rows.T)


def _offsets(learned: Learned, count: int, rng: np.random.Generator, device: str | None) -> tuple[Array, Array, Array]:
    """What the readings' devices read over the level [n, rows], what one device does before readings [n, bands], and the
    covariance of the two [bands, rows]."""
    bands, rows = learned.prior.bands, learned.solved.rows
    if device is None:
        drawn = _paired(rng, (count, len(rows.readings))) @ _root(rows.offsets).T
        return drawn, np.zeros((count, len(bands))), np.zeros((len(bands), len(rows.readings)))
    with_rows = np.array([learned.offset_rows(device, band) for band in bands]).reshape(len(bands), -1)
    alone = np.array([[learned.offset_before(one, other) for other in bands] for one in bands])
    together = _paired(rng, (count, len(rows.readings) + len(bands)))
    drawn = together @ _root(np.block([[rows.offsets, with_rows.T], [with_rows, alone]])).T
    n = len(rows.readings)
    return drawn[:, :n], assumed()["offset_mean"] + drawn[:, n:], with_rows


def _child(rng: np.random.Generator, seed: int, name: str) -> np.random.Generator:
    """A generator of the kind given, for one name."""
    kind: Any = type(rng.bit_generator)
    return np.random.Generator(kind([seed, *name.encode()]))


def _paired(rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
    """Normal numbers of spread 1, in the second half the first ones turned round: then middles hardly hang on the draw."""
    half = rng.standard_normal(((shape[0] + 1) // 2, *shape[1:]))
    return np.concatenate([half, -half])[: shape[0]]


def _shared_out(shares: Array, count: int) -> Array:
    """So many worlds shared out by pairs, as near to the shares as whole pairs go, the largest rest first [scales]."""
    exact = shares * (count // 2)
    pairs = np.floor(exact).astype(int)
    order = np.argsort(-(exact - pairs), kind="stable")
    pairs[order[: count // 2 - pairs.sum()]] += 1
    found = 2 * pairs
    found[int(np.argmax(shares))] += count % 2
    return np.asarray(found)


def _normals(count: int, bands: int, spots: int, rng: np.random.Generator) -> Array:
    """Normal numbers of spread 1, alike between bands as far as the field is [count, bands, spots]."""
    share = assumed()["field_band_correlation"]
    common = _paired(rng, (count, 1, spots))
    own = _paired(rng, (count, bands, spots))
    return np.asarray(np.sqrt(share) * common + np.sqrt(1 - share) * own)


@dataclasses.dataclass(frozen=True)
class Worlds:
    """Draws for some points of a ground and some access points (all, unless named)."""

    learned: Learned
    ground: Ground
    points: Sequence[int]
    senders: Sequence[str] | None = None

    @functools.cached_property
    def names(self) -> tuple[str, ...]:
        """The access points, in the order of the draws."""
        every = self.learned.prior.senders
        return every if self.senders is None else tuple(name for name in every if name in set(self.senders))

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        """Levels of so many worlds [count, bands, access points, points]; NaN where one does not send. [dBm]"""
        return Drawing.of(self.learned, count, rng).levels(self.ground, self.points, self.names, rng.spawn(1)[0])

"""Readings as rows of a linear model: what each should show before anything is learned, and how it moves with what is not known.

Not known are: one offset for each device (and a smaller one for each of its bands), what each access point radiates,
the exponent of distance, the loss of each wall type in each band, and what no drawing shows: a field for each access
point, alike within a few metres and partly alike on all bands. Everything is counted from its prior mean.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from pullstring.radio.learning_assumed import assumed
from pullstring.radio.learning_readings import Reading
from pullstring.radio.scene import Sender, Skin

Array = npt.NDArray[Any]


class Tables(Protocol):
    """What tracing leaves for a set of points; `pullstring.radio.traced` makes it."""

    @property
    def senders(self) -> tuple[str, ...]:
        """Names, in the order of the second axis."""
        ...

    @property
    def bands(self) -> tuple[str, ...]:
        """Names, in the order of the first axis."""
        ...

    @property
    def skins(self) -> tuple[str, ...]:
        """Wall types, in the order of the last axis of the crossings."""
        ...

    @property
    def points(self) -> Array:
        """Spots [p, 3]. [m]"""
        ...

    def level_dbm(self, change_db: Array | None = None) -> Array:
        """Local mean [bands, senders, points]; NaN where a sender does not send."""
        ...

    def crossings(self, change_db: Array | None = None) -> Array:
        """Effective crossings [bands, senders, points, skins]."""
        ...

    def log_distance(self) -> Array:
        """log10 of the distance in metres [senders, points]."""
        ...


@dataclasses.dataclass(frozen=True)
class Prior:
    """What is believed before readings, for the senders, bands and wall types of one site."""

    senders: tuple[str, ...]
    bands: tuple[str, ...]
    skins: tuple[str, ...]
    power_db: tuple[float, ...]
    """Spread of what each sender radiates."""
    wall_db: Array
    """Spread of the loss of one crossing [bands, skins]."""

    @classmethod
    def of(cls, tables: Tables, *, skins: Mapping[str, Skin], senders: Sequence[Sender]) -> Prior:
        """The prior of a scene, in the order of its tables."""
        by_name = {one.name: one for one in senders}
        power = tuple(by_name[name].spread_db for name in tables.senders)
        wall = [[skins[skin].spread_db.get(band, 0.0) for skin in tables.skins] for band in tables.bands]
        return cls(
            tables.senders, tables.bands, tables.skins, power, np.array(wall).reshape(len(wall), len(tables.skins))
        )

    def alike(self, share: str) -> Array:
        """How far two bands go together [bands, bands]: 1 with itself, a share of the data file with another."""
        among = assumed()[share]
        return np.asarray(among + (1 - among) * np.eye(len(self.bands)))

    def shared(self, *, wider_factor: float) -> Array:
        """Covariance of exponent and wall losses [1 + bands x skins] with the wall types' spreads so much wider."""
        bands, skins = self.wall_db.shape
        class_db = self.wall_db * np.sqrt(assumed()["wall_class_share"]) * wider_factor
        cov = np.zeros((1 + bands * skins, 1 + bands * skins))
        cov[0, 0] = assumed()["exponent_spread"] ** 2
        blocks = cov[1:, 1:].reshape(bands, skins, bands, skins)
        alike = self.alike("wall_band_correlation")
        for skin in range(skins):
            blocks[:, skin, :, skin] = alike * np.outer(class_db[:, skin], class_db[:, skin])
        return cov

    def field_db(self, crossings: Array, *, band_index: int | Array) -> Array:
        """Spread of what no drawing shows, where the effective crossings [..., skins] are these."""
        a = assumed()
        own = (1 - a["wall_class_share"]) * self.wall_db[band_index] ** 2
        walls = np.einsum("...k,...k->...", np.maximum(crossings, 0), own.astype(crossings.dtype))
        return np.asarray(np.sqrt(a["field_spread"] ** 2 + walls))


def kernel(*, one_m: Array, other_m: Array) -> Array:
    """How alike what no drawing shows is at two sets of spots [p, 3] and [q, 3].

    Exponential in the distance, a metre up counting for more than one along the floor.

    Parameters
    ----------
    one_m, other_m : array
        Spots, x, y, z. [m]

    Returns
    -------
    array
        1 at the same spot, towards 0 far away [p, q].

    References
    ----------
    Exponential covariance of shadowing over distance: Gudmundson 1991 (from memory); its length is data
    (`data/assumed_learning.csv`). Checked in ``tests/radio/test_learning.py``.
    """
    a = assumed()
    scale = (np.array([1.0, 1.0, a["field_height_factor"]]) / a["field_length"]).astype(one_m.dtype)
    one, other = one_m * scale, other_m * scale
    square = sum((one[:, axis, None] - other[None, :, axis]) ** 2 for axis in range(3))
    return np.asarray(np.exp(-np.sqrt(np.maximum(square, 0))))


@dataclasses.dataclass(frozen=True)
class Rows:
    """n readings of known senders, linear about one set of wall losses."""

    prior: Prior
    readings: tuple[Reading, ...]
    sender: Array
    band: Array
    target_db: Array
    """What was read less what should be read if everything were at its prior mean; the floor where none was heard."""
    heard: Array
    noise_db: Array
    shared: Array
    """How each moves with exponent and wall losses [n, 1 + bands x skins]."""
    spots: Array
    mix: Array
    """Which of the items (reading and spot) make which reading [n, items]; rows sum to 1."""
    item_row: Array
    item_field_db: Array

    @functools.cached_property
    def near(self) -> Array:
        """How alike the items are [items, items]."""
        return kernel(one_m=self.spots, other_m=self.spots)

    @functools.cached_property
    def fields(self) -> Array:
        """Covariance of what no drawing shows, at the usual scale [n, n]."""
        rows, field = self.item_row, self.item_field_db
        alike = self.prior.alike("field_band_correlation")[np.ix_(self.band, self.band)]
        same = alike * (self.sender[:, None] == self.sender[None, :])
        full = same[np.ix_(rows, rows)] * self.near * np.outer(field, field)
        cov = self.mix @ full @ self.mix.T
        return np.asarray(cov + np.diag(self.lost))

    @functools.cached_property
    def lost(self) -> Array:
        """Variance at one spot that the mean over a room's points has not; 0 where the spot is known."""
        field = self.item_field_db
        same = self.item_row[:, None] == self.item_row[None, :]
        full = self.near * np.outer(field, field) * same
        mean = np.einsum("ni,ni->n", self.mix @ full, self.mix)
        return np.asarray(np.maximum(self.mix @ field**2 - mean, 0))

    @functools.cached_property
    def powers(self) -> Array:
        """Covariance of what the access points radiate [n, n]."""
        power = np.array(self.prior.power_db)[self.sender]
        alike = self.prior.alike("power_band_correlation")[np.ix_(self.band, self.band)]
        return np.asarray(alike * np.outer(power, power) * (self.sender[:, None] == self.sender[None, :]))

    @functools.cached_property
    def offsets(self) -> Array:
        """Covariance of the devices' offsets [n, n]."""
        a = assumed()
        device = np.array([one.device for one in self.readings], dtype=object)
        same = device[:, None] == device[None, :]
        band = self.band[:, None] == self.band[None, :]
        return np.asarray(same * (a["offset_spread"] ** 2 + band * a["offset_band_spread"] ** 2))


@dataclasses.dataclass(frozen=True)
class Weighed:
    """The tables at one set of wall losses; level and crossings belong together."""

    tables: Tables
    change_db: Array
    level_dbm: Array
    crossings: Array
    log_distance: Array

    @classmethod
    def at(cls, tables: Tables, *, change_db: Array) -> Weighed:
        """Weigh the tables anew.

        Parameters
        ----------
        change_db : array
            What each crossing loses more than its prior mean [bands, skins]. [dB]
        """
        level, crossings = tables.level_dbm(change_db), tables.crossings(change_db)
        np.maximum(level, assumed()["least_level"], out=level)
        return cls(tables, change_db, level, crossings, tables.log_distance())

    @functools.cached_property
    def spots(self) -> Array:
        """The points in single precision. [m]"""
        return np.asarray(self.tables.points, dtype=np.float32)

    @functools.cached_property
    def moves(self) -> tuple[Array, ...]:
        """For each band how every level moves with exponent and that band's losses [senders x points, 1 + skins]."""
        made = []
        for crossed in self.crossings:
            one = np.empty((self.log_distance.size, 1 + crossed.shape[-1]), dtype=np.float32)
            one[:, 0] = -10 * self.log_distance.ravel()
            one[:, 1:] = -crossed.reshape(len(one), -1)
            made.append(one)
        return tuple(made)


def rows_of(weighed: Weighed, prior: Prior, readings: Sequence[Reading]) -> Rows:
    """The rows of readings whose senders and bands all stand in the tables, at the wall losses of `weighed`."""
    tables = weighed.tables
    place = {tuple(map(float, spot)): i for i, spot in enumerate(tables.points)}
    sender = np.array([tables.senders.index(one.sender or "") for one in readings], dtype=int)
    band = np.array([tables.bands.index(one.band) for one in readings], dtype=int)
    item_row = np.array([i for i, one in enumerate(readings) for _ in one.standing], dtype=int)
    where = np.array([place[spot] for one in readings for spot in one.standing], dtype=int)
    mix = (np.arange(len(readings))[:, None] == item_row[None, :]).astype(float)
    mix /= np.maximum(mix.sum(axis=1, keepdims=True), 1)
    item_band, item_sender = band[item_row], sender[item_row]
    level = weighed.level_dbm[item_band, item_sender, where]
    crossed = weighed.crossings[item_band, item_sender, where]
    bands, skins = prior.wall_db.shape
    shared = np.zeros((len(item_row), 1 + bands * skins))
    shared[:, 0] = -10 * weighed.log_distance[item_sender, where]
    columns = 1 + item_band[:, None] * skins + np.arange(skins)[None, :]
    np.put_along_axis(shared, columns, -crossed, axis=1)
    mean = mix @ level
    spread = mix @ level**2 - mean**2
    field = prior.field_db(crossed, band_index=item_band)
    given = np.array([one.floor_dbm if one.level_dbm is None else one.level_dbm for one in readings], dtype=float)
    moved = mix @ shared
    return Rows(
        prior=prior,
        readings=tuple(readings),
        sender=sender,
        band=band,
        target_db=given - mean - assumed()["offset_mean"] + moved[:, 1:] @ weighed.change_db.ravel(),
        heard=np.array([one.heard for one in readings], dtype=bool),
        noise_db=np.sqrt(np.array([one.noise_db for one in readings]) ** 2 + np.maximum(spread, 0)),
        shared=moved,
        spots=tables.points[where],
        mix=mix,
        item_row=item_row,
        item_field_db=field,
    )

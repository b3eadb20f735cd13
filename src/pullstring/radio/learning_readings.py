"""Readings as learning wants them: where, with which device, from whom, how loud, or that nothing was heard."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

from pullstring.radio.learning_assumed import assumed
from pullstring.radio.scene import BANDS, Spot


@dataclasses.dataclass(frozen=True)
class Reading:
    """One level that somebody read, or "none heard" (`level_dbm` None), with one device at one place.

    `spots` is one spot, or the points of the room where only the room is known. `sender` None: nobody noted from which
    access point; of "none heard" it means from none at all. `floor_dbm` is the weakest level that the device can hear.
    `count` readings were averaged, while turning within a metre where `turned`. `at` is the day.
    """

    key: str
    spots: tuple[Spot, ...]
    sender: str | None
    device: str
    band: str
    level_dbm: float | None
    floor_dbm: float
    count: int
    turned: bool
    at: str

    def __post_init__(self) -> None:
        if not self.spots:
            raise ValueError(f"reading {self.key}: no spot; give the spot, or the points of its room")
        if self.band not in BANDS:
            raise ValueError(f"reading {self.key}: band {self.band!r} is not known; use one of {', '.join(BANDS)}")
        if self.count < 1:
            raise ValueError(f"reading {self.key}: a mean of {self.count} readings is none; count from 1")

    @property
    def heard(self) -> bool:
        """Whether the device heard anything."""
        return self.level_dbm is not None

    @property
    def noise_db(self) -> float:
        """One standard deviation of this reading about the local mean at its spot. [dB]"""
        a = assumed()
        fading = a["small_scale_turned"] if self.turned else a[f"small_scale_{self.band}"]
        return math.sqrt(fading**2 + a["jitter"] ** 2 / self.count + a["rounding"] ** 2)

    @property
    def standing(self) -> tuple[Spot, ...]:
        """The spots that stand for this reading: its own one, or evenly picked points of its room."""
        most = int(assumed()["room_points"])
        if len(self.spots) <= most:
            return self.spots
        return tuple(self.spots[round(i * (len(self.spots) - 1) / (most - 1))] for i in range(most))


def spots_of(readings: Iterable[Reading]) -> tuple[Spot, ...]:
    """Every spot that learning from these readings needs in its table, once each, in a fixed order."""
    return tuple(sorted({spot for reading in readings for spot in reading.standing}))

"""What the radio laws work on: surfaces, rooms and senders in site coordinates, free of the record they came from.

Lengths in metres, x east, y north, z up, all on the site plan; levels in dBm, losses in dB. Built from a site by
`scene_of.py`; tests build it by hand.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

Point = tuple[float, float]
Polygon = tuple[Point, ...]
Spot = tuple[float, float, float]

BANDS = ("2.4 GHz", "5 GHz", "6 GHz")
MIDDLE_HZ: Mapping[str, float] = {"2.4 GHz": 2.437e9, "5 GHz": 5.5e9, "6 GHz": 6.5e9}
"""A frequency near the middle of each band, at which losses are worked out. [Hz]"""


@dataclasses.dataclass(frozen=True)
class Layer:
    """One layer of a wall: a material of `data/materials.csv` and how thick it is."""

    material: str
    thickness_m: float


@dataclasses.dataclass(frozen=True)
class Skin:
    """What one wall type, floor or fill does to a signal, before any reading.

    Either `layers` are known (loss and reflection follow from ITU-R P.2040 at every angle), or only a loss by band,
    which then holds at every angle. `spread_db` is one standard deviation of the loss of one crossing, by band.
    `origin` says what the loss rests on: layers, planning, class, measured or assumed.
    """

    name: str
    origin: str
    layers: tuple[Layer, ...]
    loss_db: Mapping[str, float]
    spread_db: Mapping[str, float]
    mirror_db: Mapping[str, float]
    """Loss of a reflection by band, 0 or more; used only where there are no layers."""


@dataclasses.dataclass(frozen=True)
class Opening:
    """A hole in a wall: from u0 to u1 along it, between two heights of the site; `skin` None means nothing stands in it."""

    name: str
    u0_m: float
    u1_m: float
    z0_m: float
    z1_m: float
    skin: str | None


@dataclasses.dataclass(frozen=True)
class Wall:
    """A straight upright wall between two heights of the site, with its openings."""

    name: str
    start: Point
    end: Point
    z0_m: float
    z1_m: float
    skin: str
    openings: tuple[Opening, ...] = ()


@dataclasses.dataclass(frozen=True)
class Slab:
    """A level surface at a height of the site: pieces that do not overlap, with holes in which nothing stands."""

    name: str
    z_m: float
    pieces: tuple[Polygon, ...]
    holes: tuple[Polygon, ...]
    skin: str


@dataclasses.dataclass(frozen=True)
class Room:
    """A room with the points at which its level is judged."""

    name: str
    building: str
    floor: str
    pieces: tuple[Polygon, ...]
    floor_z_m: float
    height_m: float
    points: tuple[Spot, ...]


@dataclasses.dataclass(frozen=True)
class Sender:
    """A radio that serves rooms, or a place considered for one. A band that it does not send is absent.

    `eirp_dbm` is what it radiates in its best direction; `spread_db` one standard deviation of that, before readings.
    `antenna` names a row of `data/antennas.csv`; it looks towards `azimuth_deg` (to the left of east) and up by `tilt_deg`.
    """

    name: str
    spot: Spot
    eirp_dbm: Mapping[str, float]
    spread_db: float
    antenna: str
    azimuth_deg: float
    tilt_deg: float
    room: str
    planned: bool


@dataclasses.dataclass(frozen=True)
class Scene:
    """Everything between senders and rooms."""

    walls: tuple[Wall, ...]
    slabs: tuple[Slab, ...]
    rooms: tuple[Room, ...]
    senders: tuple[Sender, ...]
    skins: Mapping[str, Skin]

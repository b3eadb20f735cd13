"""Small scenes built by hand, houses thrown by dice, and levels in them; everything invented."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import numpy as np

from pullstring.radio.gates import gates_of
from pullstring.radio.paths import Arrived, House, Kinds, all_paths
from pullstring.radio.scene import BANDS, MIDDLE_HZ, Layer, Opening, Scene, Sender, Skin, Slab, Wall
from pullstring.radio.skins import responses
from pullstring.radio.surfaces import surfaces_of
from pullstring.radio.traced import Traced, trace_scene

STRAIGHT = Kinds(reflections=0, openings=0)
MIRRORS = Kinds(reflections=1, openings=0)
EDGES = Kinds(reflections=0, openings=1)
BEST = Kinds(reflections=2, openings=2)
NO_MIRROR_DB = 400.0
"""A surface that throws nothing back."""
NONE: dict[str, float] = {}
FIVE = ("5 GHz",)


def plain(name: str, *, loss_db: float, mirror_db: float = NO_MIRROR_DB) -> Skin:
    """A skin of which only a loss is known, the same in all bands."""
    spread = {band: 3.0 for band in BANDS}
    return Skin(name, "class", (), {b: loss_db for b in BANDS}, spread, {b: mirror_db for b in BANDS})


def layered(name: str, *layers: tuple[str, float]) -> Skin:
    return Skin(name, "layers", tuple(Layer(*one) for one in layers), NONE, {b: 3.0 for b in BANDS}, NONE)


def sender(
    *spot: float,
    name: str = "S1",
    antenna: str = "isotropic",
    azimuth_deg: float = 0.0,
    tilt_deg: float = 0.0,
    eirp_dbm: float = 0.0,
    bands: Iterable[str] = BANDS,
) -> Sender:
    power = {band: eirp_dbm for band in bands}
    return Sender(name, (spot[0], spot[1], spot[2]), power, 3.0, antenna, azimuth_deg, tilt_deg, "", False)


def wall(
    name: str, *line: float, skin: str, z0_m: float = 0.0, z1_m: float = 3.0, openings: Sequence[Opening] = ()
) -> Wall:
    return Wall(name, (line[0], line[1]), (line[2], line[3]), z0_m, z1_m, skin, tuple(openings))


def hole(name: str, *box: float, skin: str | None = None) -> Opening:
    return Opening(name, box[0], box[1], box[2], box[3], skin)


def rect(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def scene(
    *,
    walls: Sequence[Wall] = (),
    slabs: Sequence[Slab] = (),
    skins: Sequence[Skin] = (),
    senders: Sequence[Sender] = (),
) -> Scene:
    return Scene(tuple(walls), tuple(slabs), (), tuple(senders), {one.name: one for one in skins})


def traced(
    of: Scene,
    points: Sequence[Sequence[float]] | np.ndarray,
    kinds: Kinds,
    *,
    bands: Sequence[str] = FIVE,
    interference: bool = False,
    use_compiler: bool | None = False,
    **how: float,
) -> Traced:
    return trace_scene(
        of,
        np.asarray(points, float),
        bands=bands,
        kinds=kinds,
        interference=interference,
        use_compiler=use_compiler,
        **how,
    )


def level(of: Scene, point: Sequence[float], kinds: Kinds, *, band: str = "5 GHz", interference: bool = False) -> float:
    """Level of the only sender at one point. [dBm]"""
    found = traced(of, [point], kinds, bands=(band,), interference=interference).level_dbm()
    return float(found[0, 0, 0])


def free_dbm(far_m: float, *, band: str = "5 GHz") -> float:
    """Level of 0 dBm after free space: ITU-R P.525, 20 log10 (4 pi d f / c). [dBm]"""
    return -20 * math.log10(4 * math.pi * far_m * MIDDLE_HZ[band] / 299_792_458.0)


def added(*levels_dbm: float) -> float:
    """Power sum of levels. [dBm]"""
    return 10 * math.log10(sum(10 ** (one / 10) for one in levels_dbm))


def house_of(of: Scene, *, bands: Sequence[str] = FIVE, interference: bool = False) -> House:
    made = responses(of.skins, bands=bands, frequencies_hz=[MIDDLE_HZ[b] for b in bands], interference=interference)
    surfaces = surfaces_of(of)
    return House(surfaces, made, gates_of(surfaces))


def arrived(of: Scene, spot: Sequence[float], points: Sequence[Sequence[float]], kinds: Kinds) -> list[Arrived]:
    """Paths of every kind at 5 GHz, without antennas."""
    return list(all_paths(house_of(of), np.asarray(spot, float), np.asarray(points, float), kinds))


SKINS = (
    layered("brick", ("plaster", 0.015), ("brick", 0.225)),
    layered("studs", ("plasterboard", 0.013), ("air", 0.075), ("plasterboard", 0.013)),
    layered("boards", ("wood", 0.03)),
    layered("pane", ("glass", 0.006)),
    plain("lath", loss_db=20.0, mirror_db=1.0),
    plain("wet stone", loss_db=14.0, mirror_db=7.0),
)


def thrown(seed: int, *, storeys: int = 2, turn_deg: float = 0.0, antennas: Sequence[str] = ("isotropic",)) -> Scene:
    """A house thrown by dice: outer walls, two or three inner ones a storey, doors open and shut, windows, floors with holes."""
    dice = np.random.default_rng(seed)
    wide, deep, high = dice.uniform(8, 14), dice.uniform(6, 10), 2.8
    walls: list[Wall] = []
    for storey in range(storeys):
        foot = storey * high
        corners = [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
        for n, (a, b) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
            u = float(dice.uniform(1, math.dist(a, b) - 2.5))
            window = hole(f"w{storey}{n}", u, u + 1.2, foot + 0.9, foot + 2.1, skin="pane")
            walls.append(wall(f"out{storey}{n}", *a, *b, skin="brick", z0_m=foot, z1_m=foot + high, openings=[window]))
        split = float(dice.uniform(0.35, 0.65)) * wide
        across = float(dice.uniform(0.35, 0.65)) * deep
        lines = [(split, 0.0, split, deep), (0.0, across, split, across), (split, across + 0.3, wide, across + 0.3)]
        for n, line in enumerate(lines[: int(dice.integers(2, 4))]):
            u = float(dice.uniform(0.5, math.dist(line[:2], line[2:]) - 1.5))
            fill = [None, None, "boards"][int(dice.integers(3))]
            door = hole(f"d{storey}{n}", u, u + 0.9, foot, foot + 2.1, skin=fill)
            skin = str(dice.choice(["brick", "studs", "lath", "wet stone"]))
            top = foot + (high if dice.random() < 0.8 else 2.3)
            walls.append(wall(f"in{storey}{n}", *line, skin=skin, z0_m=foot, z1_m=top, openings=[door]))
    x, y = float(dice.uniform(1, wide - 3)), float(dice.uniform(1, deep - 2))
    whole = rect(0, 0, wide, deep)
    slabs = [Slab("ground", 0.0, (whole,), (), "wet stone"), Slab("roof", storeys * high, (whole,), (), "boards")]
    if storeys > 1:
        halves = (rect(0, 0, wide / 2, deep), rect(wide / 2, 0, wide, deep))
        slabs.append(Slab("floor", high, halves, (rect(x, y, x + 2, y + 1),), "boards"))
    senders = [
        sender(
            *_inside(dice, wide, deep, storeys * high),
            name=f"S{n}",
            antenna=one,
            azimuth_deg=70.0 * n,
            tilt_deg=-90.0 * (one == "ceiling"),
        )
        for n, one in enumerate(antennas)
    ]
    return turned(scene(walls=walls, slabs=slabs, skins=SKINS, senders=senders), turn_deg=turn_deg)


def spots(seed: int, of: Scene, *, count: int) -> np.ndarray:
    """Points thrown by dice about the house of the same turn, most inside."""
    dice = np.random.default_rng(seed)
    ends = np.array([w.start for w in of.walls])
    top = max(w.z1_m for w in of.walls)
    low, high = ends.min(0) - 0.5, ends.max(0) + 0.5
    return np.column_stack([dice.uniform(low, high, (count, 2)), dice.uniform(0.2, top - 0.2, count)])


def turned(of: Scene, *, turn_deg: float, shift: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Scene:
    """The scene turned to the left about the origin and shifted; angles of antennas turn along."""
    if turn_deg == 0 and shift == (0.0, 0.0, 0.0):
        return of
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def flat(p: Sequence[float]) -> tuple[float, float]:
        return p[0] * c - p[1] * s + shift[0], p[0] * s + p[1] * c + shift[1]

    def ring(p: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
        return tuple(flat(q) for q in p)

    up = shift[2]
    walls = tuple(
        dataclasses.replace(
            w,
            start=flat(w.start),
            end=flat(w.end),
            z0_m=w.z0_m + up,
            z1_m=w.z1_m + up,
            openings=tuple(dataclasses.replace(o, z0_m=o.z0_m + up, z1_m=o.z1_m + up) for o in w.openings),
        )
        for w in of.walls
    )
    slabs = tuple(
        dataclasses.replace(s, z_m=s.z_m + up, pieces=tuple(map(ring, s.pieces)), holes=tuple(map(ring, s.holes)))
        for s in of.slabs
    )
    senders = tuple(
        dataclasses.replace(s, spot=(*flat(s.spot), s.spot[2] + up), azimuth_deg=s.azimuth_deg + turn_deg)
        for s in of.senders
    )
    return dataclasses.replace(of, walls=walls, slabs=slabs, senders=senders)


def turned_points(
    points: np.ndarray, *, turn_deg: float, shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> np.ndarray:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return points @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]).T + np.array(shift)


def _inside(dice: np.random.Generator, wide: float, deep: float, top: float) -> tuple[float, float, float]:
    return (
        float(dice.uniform(0.5, wide - 0.5)),
        float(dice.uniform(0.5, deep - 0.5)),
        float(dice.uniform(0.5, top - 0.3)),
    )

"""Worlds for learning: the reference house with its ray-traced levels as truth, and what somebody drew of it.

What is drawn at random there: what the access point radiates over what is noted, the offset of the device, and what is
left of fading after turning on the spot, from the same spreads that the program takes for granted. Where a world says
so, also furniture: a field that no drawing shows.
"""

import csv
import dataclasses
import functools
from pathlib import Path

import numpy as np

from pullstring.radio.learning import Learned, learn
from pullstring.radio.learning_levels import Foretold, Ground, foretell
from pullstring.radio.learning_readings import Reading, spots_of
from pullstring.radio.paths import Kinds
from pullstring.radio.scene import BANDS, Opening, Scene, Sender, Skin, Slab, Wall
from pullstring.radio.traced import trace_scene
from tests.radio import reference_house
from tests.radio.reference_house import LATH

FOLDER = Path(__file__).parents[1] / "authorities" / "radio"
BOTH = BANDS[:2]
FLOOR = -92.0
FILES = {"2.4 GHz": "2p45", "5 GHz": "5p5"}


@functools.cache
def truth(variant):
    """Ray-traced local mean [bands, points], their spots and their rooms."""
    levels, spots, rooms = [], [], []
    for band in BOTH:
        text = (FOLDER / f"rt_{variant}_{FILES[band]}.csv").read_text(encoding="utf-8")
        rows = list(csv.DictReader(text.splitlines()))
        levels.append([float(row["power_sum_dbm"]) for row in rows])
        spots = [(float(row["x"]), float(row["y"]), float(row["z"])) for row in rows]
        rooms = [row["room"] for row in rows]
    return np.array(levels), tuple(spots), tuple(rooms)


def sender(name="AP", spot=(2.03, 2.47, 2.3), spread_db=1.5, planned=False):
    return Sender(name, spot, dict.fromkeys(BOTH, 20.0), spread_db, "isotropic", 0.0, 0.0, "G1", planned)


def drawn_scene(variant, *, senders, missing=(), named=()):
    """The reference house as somebody drew it: walls by their layers, lath as a class, doors left out, types mixed up."""
    found, rename = reference_house.scene(variant), dict(named)
    spread = {name: 3.0 if name.startswith("brick") else 1.5 for name in found.skins}
    made = {
        name: dataclasses.replace(one, spread_db=dict.fromkeys(BOTH, spread[name])) for name, one in found.skins.items()
    }
    made[LATH] = Skin(LATH, "class", (), *(dict.fromkeys(BOTH, value) for value in (20.0, 6.0, 1.0)))
    walls = tuple(
        dataclasses.replace(
            wall,
            skin=rename.get(wall.skin, wall.skin),
            openings=tuple(one for one in wall.openings if one.name not in missing),
        )
        for wall in found.walls
    )
    return dataclasses.replace(found, walls=walls, senders=tuple(senders), skins=made)


def cut(traced, spots):
    """The rows of a traced table that belong to some of its spots."""
    place = {tuple(map(float, spot)): i for i, spot in enumerate(traced.points)}
    at = [place[spot] for spot in spots]
    return dataclasses.replace(
        traced, points=traced.points[at], share=traced.share[:, :, at], crossed=traced.crossed[:, at]
    )


@functools.cache
def traced(variant, *, missing=(), named=()):
    """Second-order tables of the reference house at its points, from its own sender."""
    scene = drawn_scene(variant, senders=(sender(),), missing=missing, named=named)
    points = np.array(truth(variant)[1])
    return Drawn(scene, trace_scene(scene, points, bands=BOTH, kinds=reference_house.BEST))


@dataclasses.dataclass(frozen=True)
class World:
    """One house as it is on one day, and one device."""

    true_dbm: np.ndarray
    offset_db: np.ndarray
    spots: tuple
    rng: np.random.Generator
    turned: bool

    def read(self, points, device="phone"):
        """A reading on each band at each of these points."""
        return [self.reading(int(i), band, device) for i in points for band in BOTH]

    def reading(self, point, band, device="phone"):
        b = BOTH.index(band)
        blank = Reading(
            f"{point} {band}", (self.spots[point],), "AP", device, band, None, FLOOR, 5, self.turned, "2026-03-01"
        )
        level = self.true_dbm[b, point] + self.offset_db[b] + self.rng.normal(0, blank.noise_db)
        return dataclasses.replace(blank, level_dbm=None if level < FLOOR else float(round(level)))


def world(levels_dbm, spots, seed, *, power_db, furniture_db=0.0, turned=True):
    """A day in a house whose local means would be these [bands, points] if all were as noted."""
    rng, alike = np.random.default_rng(seed), np.array([[1, 0.5], [0.5, 1]])
    power = rng.multivariate_normal([0, 0], power_db**2 * alike)
    offset = rng.normal(-4, 4) + rng.normal(0, 1, 2)
    near = np.exp(-np.linalg.norm(np.subtract.outer(spots, spots)[:, range(3), :, range(3)], axis=0) / 3.0)
    furniture = furniture_db * np.linalg.cholesky(near + 1e-9 * np.eye(len(spots))) @ rng.normal(size=(len(spots), 1))
    return World(np.asarray(levels_dbm) + power[:, None] + furniture[:, 0], offset, tuple(spots), rng, turned)


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A house as somebody drew it, traced."""

    scene: Scene
    tables: object

    def with_power(self, power_db):
        senders = tuple(dataclasses.replace(one, spread_db=power_db) for one in self.scene.senders)
        return dataclasses.replace(self, scene=dataclasses.replace(self.scene, senders=senders))

    def learn(self, readings) -> Learned:
        spots = spots_of(readings) or (tuple(self.tables.points[0]),)
        return learn(readings, cut(self.tables, spots), skins=self.scene.skins, senders=self.scene.senders)

    def foretell(self, learned, like=None) -> Foretold:
        return foretell(learned, Ground.of(self.tables).moved_to(learned), like=like)


@dataclasses.dataclass(frozen=True)
class Score:
    """Means over days and over the points where nothing was read."""

    held: float
    """Share of the points whose local mean lies in its 80 % interval."""
    read_held: float
    """Share of what the device would read in its 80 % interval."""
    before_db: float
    after_db: float


def score(drawn, levels_dbm, spots, *, days, points, power_db=(1.5, 4.0), furniture_db=0.0):
    """Learn from readings at so many points chosen at random, on so many days; the powers noted in turn well and badly."""
    held, read_held, before, after = [], [], [], []
    for day in range(days):
        spread = power_db[day % len(power_db)]
        house, noted = (
            world(levels_dbm, spots, day, power_db=spread, furniture_db=furniture_db),
            drawn.with_power(spread),
        )
        chosen = house.rng.choice(len(spots), points, replace=False)
        rest = np.setdiff1d(np.arange(len(spots)), chosen)
        learned = noted.learn(house.read(chosen))
        found = noted.foretell(learned)
        off = (house.true_dbm - found.level_dbm[:, 0])[:, rest]
        held.append((np.abs(off) <= (found.high_dbm - found.level_dbm)[:, 0][:, rest]).mean())
        after.append((off**2).mean())
        before.append(((house.true_dbm - drawn.tables.level_dbm()[:, 0])[:, rest] ** 2).mean())
        like = house.reading(0, BOTH[0])
        device = noted.foretell(learned, like)
        noise = np.array([[dataclasses.replace(like, band=band).noise_db] for band in BOTH])
        shown = house.true_dbm + house.offset_db[:, None] + noise * house.rng.normal(size=house.true_dbm.shape)
        inside = np.abs(shown - device.level_dbm[:, 0]) <= (device.high_dbm - device.level_dbm)[:, 0]
        read_held.append(inside[:, rest].mean())
    return Score(np.mean(held), np.mean(read_held), np.sqrt(np.mean(before)), np.sqrt(np.mean(after)))


def _room_walls(lines):
    for i, (start, end, skin, holes) in enumerate(lines):
        openings = tuple(Opening(f"o{i}.{j}", u0, u1, 0.0, 2.05, fill) for j, (u0, u1, fill) in enumerate(holes))
        yield Wall(f"w{i}", start, end, 0.0, 2.6, skin, openings)


BUNGALOW = (
    ((0, 0), (14, 0), "outside", ((2.0, 3.2, "pane"),)),
    ((14, 0), (14, 9), "outside", ()),
    ((14, 9), (0, 9), "outside", ((5.0, 6.0, "leaf"),)),
    ((0, 9), (0, 0), "outside", ()),
    ((0, 5), (14, 5), "inside", ((2.0, 2.9, None), (10.5, 11.4, "leaf"))),
    ((5, 0), (5, 5), "inside", ((3.5, 4.3, None),)),
    ((9, 5), (9, 9), "inside", ((0.5, 1.3, None),)),
)


@functools.cache
def bungalow():
    """A second house, invented: as drawn, true levels on twelve days of building it [bands, points], and its points."""

    def flat(name, losses, spread):
        return Skin(
            name,
            "class",
            (),
            dict(zip(BOTH, losses, strict=True)),
            dict.fromkeys(BOTH, spread),
            dict.fromkeys(BOTH, 6.0),
        )

    made = {
        "outside": flat("outside", (12.0, 16.0), 4.0),
        "inside": flat("inside", (6.0, 7.0), 3.0),
        "pane": flat("pane", (2.0, 3.0), 1.5),
        "leaf": flat("leaf", (3.0, 4.0), 1.5),
    }
    floor = Slab("floor", 0.0, (((0, 0), (14, 0), (14, 9), (0, 9)),), (), "outside")
    drawn = Scene(tuple(_room_walls(BUNGALOW)), (floor,), (), (sender(spot=(3.1, 7.3, 2.2)),), made)
    spots = tuple((x, y, 1.2) for x in np.arange(1.03, 14, 1.7) for y in np.arange(0.87, 9, 1.45))
    first = trace_scene(drawn, np.array(spots), bands=BOTH, kinds=Kinds(reflections=1, openings=1))
    rng, levels = np.random.default_rng(11), []
    for _ in range(12):
        more = {name: rng.normal(0, one.spread_db[BOTH[0]]) for name, one in made.items()}
        true = {
            name: dataclasses.replace(
                one, loss_db={band: max(loss + more[name], 0.5) for band, loss in one.loss_db.items()}
            )
            for name, one in made.items()
        }
        scene = dataclasses.replace(drawn, skins=true)
        levels.append(trace_scene(scene, np.array(spots), bands=BOTH, kinds=reference_house.BEST).level_dbm()[:, 0])
    return Drawn(drawn, first), tuple(levels), spots

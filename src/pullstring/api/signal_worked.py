"""What signal works with, made once for a site: the scene traced, readings learned from, worlds drawn for every room."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.api.signal_stations import station
from pullstring.api.signal_tables import part, tables
from pullstring.model.answers import Progress, silent
from pullstring.model.asbuilt import Site, once_a_site
from pullstring.radio.learning_doubts import Checked, check
from pullstring.radio.learning_draws import Drawing
from pullstring.radio.learning_levels import Ground
from pullstring.radio.learning_readings import Reading, spots_of
from pullstring.radio.needs import Wanted, wanted_of
from pullstring.radio.paths import Kinds
from pullstring.radio.readings_of import Level, readings_of
from pullstring.radio.room_rates import Station, devices
from pullstring.radio.rooms import RoomAnswer, RoomSamples, room_answer
from pullstring.radio.rooms_assumed import Rules, assumed_rules
from pullstring.radio.scene import BANDS, Room, Scene, Spot
from pullstring.radio.scene_of import Made, made_scene
from pullstring.radio.traced import Traced, is_compiled

STEP_M = 1.0  # ours: from judging point to judging point
MOST_DRAWN = 24  # ours: points of a room for which worlds are drawn; a larger room is thinned evenly
USUAL_DEVICE = "phone"
WORLDS, WORLDS_MOVED = 400, 64  # ours: worlds drawn for an answer, and for a look at what if
LONGEST_S = 60.0  # ours: what tracing may take on the machine below before fewer paths are followed
WHOLE, SOME, FEW = Kinds(2, 2), Kinds(1, 2), Kinds(0, 1)
NUMPY_TIMES = {WHOLE: 100, SOME: 20}
"""Ours: numpy takes so many times as long; read off houses of 20 and 70 walls with hundreds of points, within a factor of three."""


@dataclasses.dataclass(frozen=True)
class Held:
    """Points of rooms, readings and senders in one table, traced together."""

    traced: Traced
    rooms: Mapping[str, tuple[int, ...]]
    """By room the places of its judging points in the table."""
    spots: tuple[int, ...]
    senders: tuple[int, ...]


@dataclasses.dataclass(frozen=True)
class Base:
    """What does not hang on who counts and what is drawn: the scene, its tables, what was learned."""

    made: Made
    bands: tuple[str, ...]
    levels: tuple[Level, ...]
    held: Held
    kinds: Kinds
    checked: Checked
    ground: Ground
    stations: Mapping[str, Station]
    needs: tuple[Wanted, ...]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Readings that can be learned from."""
        return tuple(one.reading for one in self.levels if one.reading)

    @property
    def device(self) -> str | None:
        """The device with which most was read; levels are told as it reads them. None where nothing was read."""
        used = [r.device for r in self.readings]
        return max(sorted(set(used)), key=used.count) if used else None

    @property
    def whole(self) -> bool:
        """Whether all paths were followed; in a large property fewer are."""
        return self.kinds == WHOLE

    @property
    def lowered_db(self) -> float:
        """How much lower than a plain antenna a usual device of that kind reads; 0 where levels are those of a plain one. [dB]"""
        if self.device is None:
            return 0.0
        kind = next((k for k in devices() if k in self.device), USUAL_DEVICE)
        return devices()[kind].lower_db


@dataclasses.dataclass(frozen=True)
class Worked:
    """Everything an answer about signal is read from; `scene` and `ground` differ from those of `base` where one was moved."""

    base: Base
    scene: Scene
    held: Held
    ground: Ground
    samples: Mapping[str, RoomSamples]
    answers: Mapping[str, RoomAnswer]
    rules: Rules

    @property
    def bands(self) -> tuple[str, ...]:
        """Bands that somebody sends or that were read."""
        return self.base.bands


def worked(site: Site, *, planned: bool, doors: str, even: bool, seed: int, progress: Progress = silent) -> Worked:
    """All that an answer about signal needs; the second time it is there already.

    Parameters
    ----------
    site : Site
    planned : bool
        Whether access points count that are only planned.
    doors : str
        usual, open or shut.
    even : bool
        Whether layers of walls are as even as drawn, so that waves inside them interfere.
    seed : int
        Of the worlds drawn.
    """
    based(site, doors=doors, even=even, shown=_Unseen(progress))
    return _worked(site, planned=planned, doors=doors, even=even, seed=seed)


class _Unseen:
    """Progress that does not count when what was worked out is looked up."""

    def __init__(self, progress: Progress) -> None:
        self.progress = progress

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Unseen)

    def __hash__(self) -> int:
        return 0


NOT_SHOWN = _Unseen(silent)


@once_a_site
def based(site: Site, *, doors: str, even: bool, shown: _Unseen) -> Base:
    """The scene traced once, and learned from."""
    made = made_scene(site, doors=doors, step_m=STEP_M)
    levels = readings_of(site, made.scene)
    readings = tuple(one.reading for one in levels if one.reading)
    bands = _bands(made.scene, readings)
    kinds = kinds_for(made.scene, len(made.scene.senders), sum(len(r.points) for r in made.scene.rooms))
    held = _held(made.scene, readings, bands, kinds, even, shown.progress)
    checked = check(readings, part(held.traced, held.spots), skins=made.scene.skins, senders=made.scene.senders)
    ground = Ground.of(held.traced).moved_to(checked.learned)
    stations = {s.name: station(site, s) for s in made.scene.senders}
    return Base(made, bands, levels, held, kinds, checked, ground, stations, wanted_of(site))


@once_a_site
def _worked(site: Site, *, planned: bool, doors: str, even: bool, seed: int) -> Worked:
    base = based(site, doors=doors, even=even, shown=NOT_SHOWN)
    counted = [s.name for s in base.made.scene.senders if planned or not s.planned]
    rules = assumed_rules()
    drawing = shared_draws(site, doors=doors, even=even, seed=seed, count=WORLDS)
    samples = drawn(base, drawing, base.ground, base.held.rooms, counted, seed=seed)
    answers = answered_rooms(samples, rules)
    return Worked(base, base.made.scene, base.held, base.ground, samples, answers, rules)


@once_a_site
def shared_draws(site: Site, *, doors: str, even: bool, seed: int, count: int) -> Drawing:
    """Worlds as far as all places share them."""
    base = based(site, doors=doors, even=even, shown=NOT_SHOWN)
    rng, quick = np.random.default_rng(seed), count == WORLDS_MOVED
    return Drawing.of(base.checked.learned, count, rng, device=base.device, likeliest_only=quick)


def drawn(
    base: Base,
    drawing: Drawing,
    ground: Ground,
    rooms: Mapping[str, Sequence[int]],
    senders: Sequence[str],
    *,
    seed: int,
) -> dict[str, RoomSamples]:
    """Worlds for every room, as the device reads them; numbers that all rooms share are the same in every room's draw k.

    `rooms` says which points of the ground are of each room.
    """
    return {
        room.name: _drawn(base, drawing, ground, room, rooms[room.name], senders, seed)
        for room in base.made.scene.rooms
    }


def _drawn(
    base: Base, drawing: Drawing, ground: Ground, room: Room, at: Sequence[int], senders: Sequence[str], seed: int
) -> RoomSamples:
    if not at or not senders:
        nothing = np.empty((1, 0, len(at)))
        return RoomSamples(room.name, (), {} if at else dict.fromkeys(base.bands, nothing), base.lowered_db)
    own = np.random.default_rng([seed, *room.name.encode()])
    levels = drawing.levels(ground, thinned(at, MOST_DRAWN), senders, own)
    return RoomSamples(room.name, tuple(senders), {b: levels[:, i] for i, b in enumerate(base.bands)}, base.lowered_db)


def thinned(at: Sequence[int], most: int) -> list[int]:
    """At most so many of some points, evenly taken."""
    if not at:
        return []
    return [at[i] for i in np.unique(np.linspace(0, len(at) - 1, min(len(at), most)).astype(int))]


def answered_rooms(samples: Mapping[str, RoomSamples], rules: Rules) -> dict[str, RoomAnswer]:
    """Every room's answer, by name."""
    return {name: room_answer(of, edges=rules.edge_dbm, rules=rules, barred=None) for name, of in samples.items()}


def kinds_for(scene: Scene, senders: int, points: int) -> Kinds:
    """Which paths are followed: fewer where there is so much that it would take long.

    Microseconds for a sender and a point, by surfaces and by openings in which nothing stands: ours, read off houses of 70 to
    400 walls with the compiled kernels on one core, and half as much again for more bands than one; more cores take less.
    """
    surfaces = len(scene.walls) + len(scene.slabs)
    gates = sum(o.skin is None for w in scene.walls for o in w.openings)
    whole_us = 18 + 0.2 * surfaces + gates * (1.7 + 0.012 * surfaces)
    some_us = 5 + 0.03 * surfaces + gates * (0.5 + 0.0021 * surfaces)
    for kinds, cost_us in ((WHOLE, whole_us), (SOME, some_us)):
        if senders * points * cost_us * (1 if is_compiled() else NUMPY_TIMES[kinds]) <= LONGEST_S * 1e6:
            return kinds
    return FEW


def _bands(scene: Scene, readings: Sequence[Reading]) -> tuple[str, ...]:
    sent = {band for s in scene.senders for band in s.eirp_dbm} | {r.band for r in readings}
    return tuple(b for b in BANDS if b in sent)


def _held(
    scene: Scene, readings: Sequence[Reading], bands: Sequence[str], kinds: Kinds, even: bool, progress: Progress
) -> Held:
    places: dict[Spot, int] = {}

    def put(spot: Spot) -> int:
        return places.setdefault((float(spot[0]), float(spot[1]), float(spot[2])), len(places))

    rooms = {room.name: tuple(put(p) for p in room.points) for room in scene.rooms}
    spots = tuple(put(p) for p in spots_of(readings))
    senders = tuple(put(s.spot) for s in scene.senders)
    traced = tables(scene, list(places), bands=bands, kinds=kinds, even=even, progress=progress)
    return Held(traced, rooms, spots, senders)

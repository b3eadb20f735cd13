"""Every sender traced to every point once; what readings say of walls then re-weighs the tables and traces nothing anew.

Paths with the same crossings are kept as one bundle, so a change of a wall's loss is applied path by path.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.model.answers import Progress, silent
from pullstring.radio import paths
from pullstring.radio.antennas import gain_db
from pullstring.radio.gates import gates_of
from pullstring.radio.paths import House, Kinds
from pullstring.radio.scene import MIDDLE_HZ, Scene, Sender
from pullstring.radio.skins import responses
from pullstring.radio.surfaces import Whole, surfaces_of

Floats = NDArray[np.float64]
Counts = NDArray[np.uint8]
Ratio = float
Sending = tuple[Floats, Floats]
"""Where a sender stands, and the table of its antenna."""
Tracer = Callable[[Sequence[Sending], NDArray[np.float32], NDArray[np.uint8]], Iterator[int]]
"""Traces senders, each into its part of `share` and `crossed`, and gives the number of each that is done."""
BUNDLES = 8  # ours: bundles kept for a sender and a point; the weakest are put together
CUT = 10**-3  # ours: paths 30 dB below what has arrived are passed over
LEAST_SHARE = 1e-15  # ours: 150 dB between antennas; nothing can use less
TURNS, RISES = 180, 90  # steps of the antenna tables, 2 degrees each
NEAREST_M = 0.5


@dataclasses.dataclass(frozen=True)
class Traced:
    """What arrives from every sender at every point, before any reading.

    `share` [bands, senders, points, bundles] is power over radiated power, antenna counted; `crossed`
    [senders, points, bundles, skins] says how often each bundle crosses each skin; `eirp_dbm` [bands, senders] is NaN
    where a band is not sent.
    """

    bands: tuple[str, ...]
    senders: tuple[str, ...]
    skins: tuple[str, ...]
    points: Floats
    spots: Floats
    eirp_dbm: Floats
    share: NDArray[np.float32]
    crossed: NDArray[np.uint8]

    def level_dbm(self, change_db: Floats | None = None) -> Floats:
        """Level of the local mean at every point. [bands, senders, points] [dBm]

        Parameters
        ----------
        change_db : array [bands, skins], optional
            By how much one crossing loses more than its prior mean.
        """
        level = np.empty(self.share.shape[:3])
        for b in range(len(self.bands)):
            arrived = self._weighed(b, change_db).sum(-1)
            level[b] = self.eirp_dbm[b][:, None] + 10 * np.log10(np.maximum(arrived, LEAST_SHARE))
        return level

    def crossings(self, change_db: Floats | None = None) -> Floats:
        """Effective crossings: minus the slope of the level over the loss of one crossing. [bands, senders, points, skins]"""
        slope = np.empty((*self.share.shape[:3], len(self.skins)))
        for b in range(len(self.bands)):
            power = self._weighed(b, change_db)
            power /= np.maximum(power.sum(-1, keepdims=True), 1e-30)
            slope[b] = np.einsum("spk,spkc->spc", power, self.crossed, dtype=np.float32, casting="unsafe")
        return slope

    def log_distance(self) -> Floats:
        """Logarithm of the straight distance in metres, not nearer than half a metre. [senders, points]"""
        far = np.sqrt(((self.points[None] - self.spots[:, None]) ** 2).sum(-1))
        logarithm: Floats = np.log10(np.maximum(far, NEAREST_M))
        return logarithm

    def _weighed(self, b: int, change_db: Floats | None) -> NDArray[np.float32]:
        share: NDArray[np.float32] = self.share[b].copy()
        if change_db is None:
            return share
        weight = np.exp(self.crossed @ (change_db[b] * (-np.log(10) / 10)).astype(np.float32))
        share *= weight
        return share


def trace_scene(
    scene: Scene,
    points: Floats,
    *,
    bands: Sequence[str],
    kinds: Kinds,
    interference: bool = False,
    use_compiler: bool | None = None,
    cut: Ratio = CUT,
    frequencies_hz: Mapping[str, float] = MIDDLE_HZ,
    progress: Progress = silent,
) -> Traced:
    """Trace all senders of a scene to points [p, 3].

    Parameters
    ----------
    bands : sequence of str
        Which of `scene.BANDS`.
    kinds : Kinds
        Which paths are followed.
    interference : bool
        Whether layers are as even as drawn; see `skins.responses`.
    use_compiler : bool or None
        None takes the compiled kernels where there is a compiler; True insists; False takes numpy.
    cut : float
        Paths weaker than this share of what has arrived are passed over (compiled only). [1]

    References
    ----------
    ITU-R P.525 (free space), P.2040 (walls), P.526 (edges); images for reflections. Checked in ``tests/radio/test_accuracy.py``.
    """
    ready = made_ready(
        scene, points, bands=bands, kinds=kinds, interference=interference, use_compiler=use_compiler, cut=cut,
        frequencies_hz=frequencies_hz,
    )  # fmt: skip
    return ready.trace(scene.senders, progress)


@dataclasses.dataclass(frozen=True)
class Ready:
    """A house and points of it, ready to trace any sender to them: what all senders share is worked out."""

    bands: tuple[str, ...]
    skins: tuple[str, ...]
    points: Floats
    tracer: Tracer

    def trace(self, senders: Sequence[Sender], progress: Progress = silent) -> Traced:
        """Levels of these senders at all points."""
        shape = (len(senders), len(self.points), BUNDLES)
        share = np.zeros((len(self.bands), *shape), np.float32)
        crossed = np.zeros((*shape, len(self.skins)), np.uint8)
        sending = [(np.asarray(sender.spot, float), antenna_table(sender)) for sender in senders]
        for s in self.tracer(sending, share, crossed):
            progress((s + 1) / len(senders), senders[s].name)
        arrived = (share @ np.ones(BUNDLES, np.float32)).max(0, initial=0.0)
        lost = arrived < LEAST_SHARE  # weaker than anything can use: nothing is known of the way it came
        share[:, lost], crossed[lost] = 0, 0
        eirp = np.array([[s.eirp_dbm.get(b, np.nan) for s in senders] for b in self.bands], float)
        eirp = eirp.reshape(len(self.bands), len(senders))
        spots, names = np.array([s.spot for s in senders], float).reshape(-1, 3), tuple(s.name for s in senders)
        return Traced(self.bands, names, self.skins, self.points, spots, eirp, share, crossed)


def made_ready(
    scene: Scene,
    points: Floats,
    *,
    bands: Sequence[str],
    kinds: Kinds,
    interference: bool = False,
    use_compiler: bool | None = None,
    cut: Ratio = CUT,
    frequencies_hz: Mapping[str, float] = MIDDLE_HZ,
) -> Ready:
    """What `trace_scene` works out before it looks at senders; takes what that takes. [m, Hz]"""
    if not bands:
        return Ready((), tuple(sorted(scene.skins)), points, lambda *_: iter(()))
    made = responses(
        scene.skins, bands=bands, frequencies_hz=[frequencies_hz[b] for b in bands], interference=interference
    )
    surfaces = surfaces_of(scene)
    house = House(surfaces, made, gates_of(surfaces))
    points = np.ascontiguousarray(np.asarray(points, float).reshape(-1, 3))
    tracer = _compiled(house, points, kinds, cut) if use_compiler is not False else None
    if tracer is None:
        if use_compiler:
            raise RuntimeError("there is no compiler for the kernels of radio; install numba or let numpy do it")
        tracer = _by_numpy(house, points, kinds)
    return Ready(tuple(bands), made.names, points, tracer)


def antenna_table(sender: Sender) -> Floats:
    """Gain of a sender's antenna by steps of azimuth and of elevation, as a power ratio. [TURNS, RISES + 1]"""
    return _antenna_table(sender.antenna, sender.azimuth_deg, sender.tilt_deg)


@functools.lru_cache(maxsize=64)
def _antenna_table(antenna: str, azimuth_deg: float, tilt_deg: float) -> Floats:
    azimuth = np.arange(TURNS) * (2 * np.pi / TURNS)
    elevation = (np.arange(RISES + 1) / RISES - 0.5) * np.pi
    flat = np.cos(elevation)
    way = np.stack(
        [
            np.cos(azimuth)[:, None] * flat,
            np.sin(azimuth)[:, None] * flat,
            np.broadcast_to(np.sin(elevation), (TURNS, RISES + 1)),
        ],
        -1,
    )
    gain = gain_db(antenna, azimuth_deg=azimuth_deg, tilt_deg=tilt_deg, directions=way.reshape(-1, 3))
    table: Floats = 10 ** (gain.reshape(TURNS, RISES + 1) / 10)
    return table


def looked_up(table: Floats, k: Floats) -> Floats:
    """Gain in unit directions k [m, 3], between the steps of a table."""
    a = (np.arctan2(k[:, 1], k[:, 0]) / (2 * np.pi) % 1.0) * TURNS
    e = (np.arcsin(np.clip(k[:, 2], -1, 1)) / np.pi + 0.5) * RISES
    i, j = a.astype(int) % TURNS, np.minimum(e.astype(int), RISES - 1)
    p, q, n = a - a.astype(int), e - j, (i + 1) % TURNS
    here = table[i, j] * (1 - q) + table[i, j + 1] * q
    gain: Floats = here * (1 - p) + (table[n, j] * (1 - q) + table[n, j + 1] * q) * p
    return gain


def is_compiled() -> bool:
    """Whether the compiled kernels are at hand; without them numpy does the same, many times slower."""
    try:
        import pullstring.radio.compiled  # noqa: F401
    except (ImportError, RuntimeError):
        return False
    return True


def _compiled(house: House, points: Floats, kinds: Kinds, cut: Ratio) -> Tracer | None:
    try:
        from pullstring.radio.compiled import tracer
    except (ImportError, RuntimeError):  # no compiler for this Python, or no place to keep what it makes
        return None
    return tracer(house, points, kinds, cut=cut, least=LEAST_SHARE, bundles=BUNDLES)


def _by_numpy(house: House, points: Floats, kinds: Kinds) -> Tracer:
    def traced(senders: Sequence[Sending], into: NDArray[np.float32], counts: NDArray[np.uint8]) -> Iterator[int]:
        for s, (spot, gain) in enumerate(senders):
            found = list(paths.all_paths(house, spot, points, kinds))
            which = np.concatenate([f.which for f in found])
            share = np.concatenate([f.share * looked_up(gain, f.leaves) for f in found], 1)
            crossed = np.concatenate([f.crossings for f in found])
            into[:, s], counts[s] = bundled(which, share, crossed, points_count=len(points))
            yield s

    return traced


def bundled(
    which: Whole, share: Floats, crossed: Counts, *, points_count: int
) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    """Paths put together by point and equal crossings; beyond `BUNDLES` of a point, the weakest are put together.

    Parameters
    ----------
    which : array [m]
        Which point each path reaches.
    share : array [bands, m]
        Power that arrives over power radiated. [1]
    crossed : array [m, skins]
        How often each path crosses each skin.
    points_count : int
        How many points there are. [1]

    Returns
    -------
    share [bands, points, bundles], crossed [points, bundles, skins]
        The strongest bundle first; a last bundle of several has the crossings of its strongest part. [1]

    References
    ----------
    Ours. Checked in ``tests/radio/test_traced.py``.
    """
    rows = np.column_stack([which, crossed])
    unique, back = np.unique(rows, axis=0, return_inverse=True)
    power = np.stack([np.bincount(back.ravel(), weights=s, minlength=len(unique)) for s in share])
    order = np.lexsort((-power.max(0), unique[:, 0]))
    unique, power = unique[order], power[:, order]
    first = np.searchsorted(unique[:, 0], np.arange(points_count))
    slot = np.minimum(np.arange(len(unique)) - first[unique[:, 0]], BUNDLES - 1)
    into = np.zeros((len(share), points_count, BUNDLES), np.float32)
    for b in range(len(share)):
        np.add.at(into[b], (unique[:, 0], slot), power[b])
    counts = np.zeros((points_count, BUNDLES, crossed.shape[1]), np.uint8)
    leads = np.flatnonzero(np.diff(np.stack([unique[:, 0], slot]), axis=1, prepend=-1).any(0))
    counts[unique[leads, 0], slot[leads]] = unique[leads, 1:]
    return into, counts

"""Straight levels of a drawn house by plain Python, by shapely and by the engine, as ratios in one run; then all other paths.

From the repository's folder: `python -m bench.signal_levels [--points 6000] [--paths]`. Not named `signal`: a file of that name
beside the others would hide Python's own module from them. All ways must give the same levels. The slow ways take
fewer points and their times are scaled up by that, as the table says. Times are times on the clock, the best of three for
what takes less than a second: the compiled engine uses every core, the others one, so let nothing else run meanwhile.
`--paths` adds the engine's openings and reflections at full size.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
import os
import time
from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from pullstring.radio.paths import Kinds
from pullstring.radio.scene import MIDDLE_HZ, Opening, Scene, Sender, Skin, Slab, Wall
from pullstring.radio.traced import trace_scene

Floats = NDArray[np.float64]
ROWS, COLUMNS = 9, 10  # rooms; 199 walls
SENDERS = 50
BAND = "5 GHz"
HEIGHT_M = 1.2  # of senders and points alike, so that no antenna turns away
LOSSES_DB = (2.0, 4.0, 6.0)
LIGHT_M_PER_S = 299_792_458.0
SLOW = {"plain Python": 30, "shapely, wall by wall": 30, "shapely, tree": 600}
"""Points at most that a slow way takes."""
ALIKE_DB = 0.01


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A drawn house: its scene, and points to ask at [points, 3]."""

    scene: Scene
    points: Floats


def drawn(points: int, *, doors: int, seed: int) -> Drawn:
    """A grid of rooms of uneven size, walls of three kinds at random, and so many open doors."""
    dice = np.random.default_rng(seed)
    xs, ys = (np.cumsum([0.0, *dice.uniform(2.5, 5.0, n)]) for n in (COLUMNS, ROWS))
    lines = [((xs[c], y), (xs[c + 1], y)) for y in ys for c in range(COLUMNS)]
    lines += [((x, ys[r]), (x, ys[r + 1])) for x in xs for r in range(ROWS)]
    with_door = set(dice.choice(len(lines), doors, replace=False).tolist()) if doors else set()
    walls = tuple(
        Wall(
            f"w{k}",
            (float(a[0]), float(a[1])),
            (float(b[0]), float(b[1])),
            0.0,
            2.7,
            f"kind {int(dice.integers(3))}",
            (Opening(f"d{k}", 0.8, 1.7, 0.0, 2.0, None),) if k in with_door else (),
        )
        for k, (a, b) in enumerate(lines)
    )
    size = (float(xs[-1]), float(ys[-1]))
    skins = {f"kind {k}": _skin(f"kind {k}", loss) for k, loss in enumerate(LOSSES_DB)}
    outline = ((0.0, 0.0), (size[0], 0.0), size, (0.0, size[1]))
    slabs = tuple(Slab(f"slab {z}", z, (outline,), (), "kind 2") for z in (0.0, 2.7)) if doors else ()
    spots = dice.uniform((0.0, 0.0), size, (SENDERS + points, 2))
    senders = tuple(_sender(f"A{k:02d}", *spots[k]) for k in range(SENDERS))
    at = np.column_stack([spots[SENDERS:], np.full(points, HEIGHT_M)])
    return Drawn(Scene(walls, slabs, (), senders, skins), at)


def _skin(name: str, loss_db: float) -> Skin:
    return Skin(name, "planning", (), {BAND: loss_db}, {BAND: 3.0}, {BAND: 8.0})


def _sender(name: str, x_m: float, y_m: float) -> Sender:
    spot = (float(x_m), float(y_m), HEIGHT_M)
    return Sender(name, spot, {BAND: 20.0}, 2.0, "omni", 0.0, 0.0, "", False)


def free_space_dbm(far_m: float) -> float:
    """20 dBm less free space, not nearer than half a metre."""
    return 20.0 - 20 * math.log10(4 * math.pi * max(far_m, 0.5) * MIDDLE_HZ[BAND] / LIGHT_M_PER_S)


def plain(house: Drawn) -> Floats:
    """Loops over senders, points and walls: which side of one line the ends of the other are on."""
    walls = [(*w.start, *w.end, house.scene.skins[w.skin].loss_db[BAND]) for w in house.scene.walls]
    found = []
    for sender in house.scene.senders:
        ax, ay, _ = sender.spot
        levels = []
        for bx, by, _ in house.points.tolist():
            dx, dy, lost = bx - ax, by - ay, 0.0
            for px, py, qx, qy, loss in walls:
                one, other = dx * (py - ay) - dy * (px - ax), dx * (qy - ay) - dy * (qx - ax)
                if one * other < 0:
                    wx, wy = qx - px, qy - py
                    if (wx * (ay - py) - wy * (ax - px)) * (wx * (by - py) - wy * (bx - px)) < 0:
                        lost += loss
            levels.append(free_space_dbm(math.hypot(dx, dy)) - lost)
        found.append(levels)
    return np.array(found)


def wall_by_wall(house: Drawn) -> Floats:
    """Loops, with shapely saying whether two lines meet."""
    walls = [(shapely.LineString((w.start, w.end)), house.scene.skins[w.skin].loss_db[BAND]) for w in house.scene.walls]
    found = []
    for sender in house.scene.senders:
        levels = []
        for point in house.points.tolist():
            line = shapely.LineString((sender.spot[:2], point[:2]))
            levels.append(free_space_dbm(line.length) - sum(loss for wall, loss in walls if line.intersects(wall)))
        found.append(levels)
    return np.array(found)


def by_tree(house: Drawn) -> Floats:
    """One question to shapely's tree of the walls for all lines of a sender."""
    walls = shapely.linestrings([(w.start, w.end) for w in house.scene.walls])
    losses = np.array([house.scene.skins[w.skin].loss_db[BAND] for w in house.scene.walls])
    tree, ends, found = shapely.STRtree(walls), house.points[:, :2], []
    for sender in house.scene.senders:
        starts = np.broadcast_to(np.array(sender.spot[:2]), ends.shape)
        lines = shapely.linestrings(np.stack([starts, ends], 1))
        which, wall = tree.query(lines, predicate="intersects")
        free = np.array([free_space_dbm(far) for far in shapely.length(lines)])
        found.append(free - np.bincount(which, weights=losses[wall], minlength=len(ends)))
    return np.array(found)


def engine(house: Drawn, *, kinds: Kinds, use_compiler: bool) -> Floats:
    """The program's own levels."""
    traced = trace_scene(house.scene, house.points, bands=(BAND,), kinds=kinds, use_compiler=use_compiler)
    return traced.level_dbm()[0]


def seconds(act: Callable[[], Floats]) -> tuple[float, Floats]:
    """Time of a piece of work on the clock, the best of three if it is short, and what it gives. [s]"""
    best = math.inf
    for _ in range(3):
        start = time.perf_counter()
        result = act()
        best = min(best, time.perf_counter() - start)
        if best > 1.0:
            break
    return best, result


def compare(points: int) -> None:
    """All ways of the straight path; they must agree at the points that they share."""
    house = drawn(points, doors=0, seed=1)
    straight = Kinds(reflections=0, openings=0)
    ways: dict[str, Callable[[Drawn], Floats]] = {
        "plain Python": plain,
        "shapely, wall by wall": wall_by_wall,
        "shapely, tree": by_tree,
        "engine, numpy": lambda h: engine(h, kinds=straight, use_compiler=False),
    }
    if has_compiler():
        engine(drawn(2, doors=0, seed=1), kinds=straight, use_compiler=True)  # compiles, or loads what was compiled
        ways["engine, compiled"] = lambda h: engine(h, kinds=straight, use_compiler=True)
    took, levels = {}, {}
    for name, way in ways.items():
        count = min(points, SLOW.get(name, points))
        few = dataclasses.replace(house, points=house.points[:count])
        time_s, levels[name] = seconds(lambda way=way, few=few: way(few))  # type: ignore[misc]
        took[name] = (time_s, count)
    alike(levels)
    told(took, points, len(house.scene.walls))


def alike(levels: dict[str, Floats]) -> None:
    for one, two in zip(list(levels)[:-1], list(levels)[1:], strict=True):
        count = min(levels[one].shape[1], levels[two].shape[1])
        apart = np.abs(levels[one][:, :count] - levels[two][:, :count]).max()
        if not apart < ALIKE_DB:
            raise SystemExit(f"bench/signal_levels.py: {one} and {two} differ by {apart:.3f} dB; they must be equal.")


def told(took: dict[str, tuple[float, int]], points: int, walls: int) -> None:
    print(
        f"straight path, {SENDERS} senders x {points} points x {walls} walls; all ways give the same levels:"
    )
    full = {name: time_s * points / count for name, (time_s, count) in took.items()}
    least = min(full.values())
    for name, (time_s, count) in took.items():
        how = "" if count == points else f"   (from {time_s:.2f} s for {count} points)"
        print(f"  {name:24s} {full[name]:9.3f} s   x {full[name] / least:8.1f}{how}")


def other_paths(points: int) -> None:
    """Openings and reflections, by the compiled engine, against the times aimed at."""
    house = drawn(points, doors=24, seed=1)
    rows: Sequence[tuple[str, Kinds, float]] = (
        ("straight", Kinds(reflections=0, openings=0), 0.1),
        ("openings, one", Kinds(reflections=0, openings=1), 1.0),
        ("openings, two in a row", Kinds(reflections=0, openings=2), 1.0),
        ("reflections, once", Kinds(reflections=1, openings=0), 2.0),
        ("the same with openings", Kinds(reflections=1, openings=2), 2.0),
        ("reflections, twice", Kinds(reflections=2, openings=0), 10.0),
        ("everything", Kinds(reflections=2, openings=2), 10.0),
    )
    size = f"{SENDERS} senders x {points} points, {len(house.scene.walls)} walls, 24 open doors"
    print(f"engine, compiled, {size}, {os.cpu_count()} cores:")
    few = dataclasses.replace(house, points=house.points[:2])
    for name, kinds, aim_s in rows:
        engine(few, kinds=kinds, use_compiler=True)
        time_s, _ = seconds(lambda kinds=kinds: engine(house, kinds=kinds, use_compiler=True))  # type: ignore[misc]
        print(f"  {name:24s} {time_s:9.3f} s   aim {aim_s:g} s at 6000 points", flush=True)


def has_compiler() -> bool:
    try:
        import pullstring.radio.compiled  # noqa: F401
    except ImportError:
        print("no compiler here: the engine by numpy only")
        return False
    return True


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--points", type=int, default=6000)
    parser.add_argument("--paths", action="store_true", help="openings and reflections too")
    asked = parser.parse_args()
    if asked.points < 1:
        raise SystemExit("bench/signal_levels.py: --points takes 1 or more.")
    compare(asked.points)
    if asked.paths and has_compiler():
        other_paths(asked.points)


if __name__ == "__main__":
    main()

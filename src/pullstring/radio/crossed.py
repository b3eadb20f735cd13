"""Which walls the straight line between two points crosses, in the order met, and the simple sum that follows.

A sketch beside the engine: every wall counts once at its flat loss, at any angle. Its figures are easily done by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from pullstring.radio.scene import Opening, Scene, Spot, Wall

SAME_M = 1e-9
METRE_MEGAHERTZ_DB = 27.55
"""20 log10(4 pi / c) with metres and megahertz, cut to two digits as it is usually printed. [dB]"""


def crossings(scene: Scene, a: Spot, b: Spot, *, ignore_openings: bool) -> tuple[str, ...]:
    """Names of the walls that the straight line from a to b crosses, in the order met.

    A wall counts once, where the line cuts it between its ends and its heights; one that the line only touches or runs
    along does not count. `ignore_openings` counts walls whole; else a wall is not crossed where nothing stands in it.
    """
    met = []
    for wall in scene.walls:
        if (found := _cut(wall, a, b)) is not None:
            share, u, z = found
            hole = None if ignore_openings else _hole(wall, u, z)
            if hole is None or hole.skin is not None:
                met.append((share, wall.name))
    return tuple(name for _, name in sorted(met))


def straight_loss_db(
    scene: Scene, crossed: Sequence[str], *, band: str, distance_m: float, frequency_hz: float
) -> float:
    """Free space and the flat losses of the walls that are crossed.

    Parameters
    ----------
    scene : Scene
    crossed : sequence of str
        Names of walls, each as often as it is crossed.
    band : str
        Whose losses count.
    distance_m : float
        Straight distance, above zero. [m]
    frequency_hz : float
        [Hz]

    Returns
    -------
    float
        [dB]

    References
    ----------
    Free space after ITU-R P.525 in the form 20 log10 d + 20 log10 f - 27.55 (d in m, f in MHz); sum of walls after
    COST 231 multi-wall, without its floor term.
    """
    skins = {wall.name: wall.skin for wall in scene.walls}
    free = 20 * math.log10(distance_m) + 20 * math.log10(frequency_hz / 1e6) - METRE_MEGAHERTZ_DB
    return free + sum(scene.skins[skins[name]].loss_db[band] for name in crossed)


def _cut(wall: Wall, a: Spot, b: Spot) -> tuple[float, float, float] | None:
    """Share of the way from a to b, place along the wall and height at which the line cuts it; None where it does not."""
    (ax, ay, az), (bx, by, bz) = a, b
    (x, y), (ex, ey) = wall.start, wall.end
    wx, wy, dx, dy = ex - x, ey - y, bx - ax, by - ay
    across = dx * wy - dy * wx
    length = math.hypot(wx, wy)
    if abs(across) <= SAME_M * length:
        return None
    share = ((x - ax) * wy - (y - ay) * wx) / across
    along = ((x - ax) * dy - (y - ay) * dx) / across
    z = az + share * (bz - az)
    if not (0 < share < 1 and 0 <= along <= 1 and wall.z0_m <= z <= wall.z1_m):
        return None
    return share, along * length, z


def _hole(wall: Wall, u_m: float, z_m: float) -> Opening | None:
    inside = (o for o in wall.openings if o.u0_m < u_m < o.u1_m and o.z0_m < z_m < o.z1_m)
    return next(inside, None)

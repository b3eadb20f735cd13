"""The surfaces of a scene as flat arrays: walls first, slabs after them, in one row of numbers each.

A wall is an upright rectangle with patches (its openings); a slab is a level area inside rings, by the even-odd rule.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from numpy.typing import NDArray

from pullstring.radio.scene import Scene, Slab

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Place = int
"""Which surface: its place in `Surfaces`."""
LEAST_WALL_M = 0.01  # ours: shorter stretches are slips of the pen
CLOSED_M = 1e-7  # ours: by so much a wall is longer that holds its last point
SAME_LINE = 1e-6  # ours: sine of the angle between walls in one line


@dataclasses.dataclass(frozen=True)
class Surfaces:
    """Walls 0 to w-1, then slabs. Skins are numbered in the order of their names; -1 means nothing stands there.

    `start`, `along`: foot and unit vector of a wall [w, 2]; `length`, `low`, `high` [w] in metres. Patches of wall k are
    `patch_from[k]` to `patch_from[k+1]`, each (u0, u1, z0, z1) in `patch` with `patch_skin`. Slab j lies at `level[j]`;
    its edges are `edge_from[j]` to `edge_from[j+1]`, each (x0, y0, x1, y1) in `edge`.
    """

    names: tuple[str, ...]
    start: Floats
    along: Floats
    length: Floats
    low: Floats
    high: Floats
    wall_skin: Whole
    patch_from: Whole
    patch: Floats
    patch_skin: Whole
    patch_names: tuple[str, ...]
    level: Floats
    slab_skin: Whole
    edge_from: Whole
    edge: Floats

    @property
    def walls(self) -> int:
        """How many of the surfaces are walls."""
        return len(self.length)

    @property
    def total(self) -> int:
        """How many surfaces there are."""
        return len(self.length) + len(self.level)


def surfaces_of(scene: Scene) -> Surfaces:
    """Flat arrays of a scene; walls shorter than a centimetre or without height are left out."""
    number = {name: k for k, name in enumerate(sorted(scene.skins))}
    walls = [w for w in scene.walls if np.hypot(*np.subtract(w.end, w.start)) > LEAST_WALL_M and w.z1_m > w.z0_m]
    walls.sort(key=lambda w: (w.z0_m, w.z1_m))  # walls of one storey side by side
    start = np.array([w.start for w in walls], float).reshape(-1, 2)
    vector = np.array([w.end for w in walls], float).reshape(-1, 2) - start
    length = np.hypot(vector[:, 0], vector[:, 1])
    along = vector / length[:, None]
    length = length + np.where(_ends_here(start, along, length), CLOSED_M, 0.0)
    holes = [w.openings for w in walls]
    patches = [(o.u0_m, o.u1_m, o.z0_m, o.z1_m) for os in holes for o in os]
    rings = [_edges(s) for s in scene.slabs]
    return Surfaces(
        (*(w.name for w in walls), *(s.name for s in scene.slabs)),
        start,
        along,
        length,
        np.array([w.z0_m for w in walls], float),
        np.array([w.z1_m for w in walls], float),
        np.array([number[w.skin] for w in walls], np.int64),
        np.cumsum([0, *(len(os) for os in holes)]),
        np.array(patches, float).reshape(-1, 4),
        np.array([-1 if o.skin is None else number[o.skin] for os in holes for o in os], np.int64),
        tuple(o.name for os in holes for o in os),
        np.array([s.z_m for s in scene.slabs], float),
        np.array([number[s.skin] for s in scene.slabs], np.int64),
        np.cumsum([0, *(len(r) for r in rings)]),
        np.concatenate([*rings, np.zeros((0, 4))]),
    )


def _ends_here(start: Floats, along: Floats, length: Floats) -> NDArray[np.bool_]:
    """Which walls hold their own last point: all but those that another wall in the same line goes on from, or shares it with.

    A wall holds its first point always. So a ray exactly through a corner meets both walls, and one exactly through a joint
    of two walls in a line meets one of them.
    """
    end = start + along * length[:, None]
    ends = np.ones(len(start), bool)
    for k in range(len(start)):
        in_line = np.abs(along[k, 0] * along[:, 1] - along[k, 1] * along[:, 0]) < SAME_LINE
        goes_on = in_line & (np.abs(start - end[k]).max(1) < CLOSED_M * 1e4)
        shares = in_line & (np.abs(end - end[k]).max(1) < CLOSED_M * 1e4)
        ends[k] = not goes_on.any() and not shares[:k].any()
    return ends


def _edges(slab: Slab) -> Floats:
    """Edges of a slab without its holes; pieces that touch become one, so that no seam lets a signal through."""
    shape = shapely.unary_union([shapely.make_valid(shapely.Polygon(p)) for p in slab.pieces])
    if slab.holes:
        shape = shape.difference(shapely.unary_union([shapely.make_valid(shapely.Polygon(h)) for h in slab.holes]))
    found = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                corners = np.asarray(ring.coords)[:, :2]
                found.append(np.hstack([corners[:-1], corners[1:]]))
    return np.concatenate([*found, np.zeros((0, 4))])

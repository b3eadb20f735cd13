"""A house as plain arrays, and its plainest questions, compiled: sides of planes, images, what a leg meets.

Without the compiler this module is not used.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple, TypeAlias

from numba import njit
from numba.core.options import DefaultOptions

from pullstring.radio.legs import TOUCH_M
from pullstring.radio.skins import STEPS

_QUICK: dict[str, Any] = {"cache": True, "fastmath": True, "nogil": True, "error_model": "numpy"}
_UNCOUNTED: dict[str, Any] = {"_nrt": False} if hasattr(DefaultOptions, "_nrt") else {}
allocating: Any = njit(**_QUICK)
compiled: Any = njit(**_QUICK, **_UNCOUNTED)
"""For functions that make no arrays: arrays that are handed on are not counted, which would take longer than the work."""
inlined: Any = njit(**_QUICK, **_UNCOUNTED, forceinline=True)

Metre: TypeAlias = Any
Place: TypeAlias = Any
Ratio: TypeAlias = Any
Table: TypeAlias = Any
"""What parameters are: lengths and parts of directions, numbers of things and counts, ratios, arrays."""

CX, CY, OFF, FOOT, LENGTH, LOW, HIGH, SKIN, FROM, TO = range(10)
"""Rows of the plates: unit vector along a wall, distance of its plane from the origin along (-cy, cx, 0), along times
start, length, heights, skin, patches. Of a slab: 0, 0, height, then the frame of its outline x0, x1, y0, y1, skin, edges."""


WALL = 7
"""Row of the planks in which the number of the wall stands."""
LANES = 8
"""Walls in a block."""
GROUP = 16
"""Blocks in a group; a shorter loop over them would not be taken at once."""


class Flat(NamedTuple):
    """A house as a few arrays: fewer of them are quicker to hand on."""

    walls: int
    storeys: Any  # [n, 4] low, high, from, to: groups of blocks of walls of equal heights
    planks: Any  # [blocks, 8, lanes] the walls again as in the plates, neighbours in one block, blocks filled up
    hulls: Any  # [groups, 4, blocks] the blocks of a group from above: middle x, y and half size x, y
    plates: Any  # [10, surfaces], walls first
    patches: Any  # [n, 5] u0, u1, z0, z1, skin or -1
    edges: Any  # [n, 4] x0, y0, x1, y1
    tables: Any  # complex [2, bands, skins, 2, steps + 1]: through, back
    most: Any  # [2, bands, skins, steps] largest power through and back, between a step of the cosine and the next
    wave: Any  # [2, bands] wavelength in metres, and (wavelength / 4 pi)^2


class Work(NamedTuple):
    """Room in which one path is worked out: its stops, where it turns, and what is left of it."""

    room: Any  # [11, 3 or bands] rows as below
    turns: Any  # [3, 3] rows SURFACE, SKIN_AT, COUNT
    met: Any  # int32 [n, 3] surface, skin, leg
    field: Any  # complex [bands, 3]
    crossed: Any  # uint8 [skins]


FAIR, FLOOR, FREE, LEFT, ARRIVED, WORTH = range(5, 11)
"""Rows of the room after five stops, each by band: the most that walls can leave by sight from afar; what is not worth
following; power left by distance and edges; the same less the least that surfaces take; power that arrived; what is
worth following to any point of the cell."""
SURFACE, SKIN_AT, COUNT = range(3)
"""Rows of the turns: surface at which a path turns, skin that throws it back or -1 at an edge; how many surfaces were met."""


@inlined
def side(F: Flat, k: Place, x: Metre, y: Metre, z: Metre):
    """Signed distance of a point from the plane of surface k. [m]"""
    if k >= F.walls:
        return z - F.plates[OFF, k]
    return F.plates[CX, k] * y - F.plates[CY, k] * x - F.plates[OFF, k]


@inlined
def plane(F: Flat, k: Place):
    """Unit normal of surface k."""
    if k >= F.walls:
        return 0.0, 0.0, 1.0
    return -F.plates[CY, k], F.plates[CX, k], 0.0


@inlined
def image(F: Flat, k: Place, x: Metre, y: Metre, z: Metre):
    """A point mirrored in the plane of surface k."""
    nx, ny, nz = plane(F, k)
    d = 2 * side(F, k, x, y, z)
    return x - d * nx, y - d * ny, z - d * nz


@inlined
def apart(ax: Metre, ay: Metre, az: Metre, bx: Metre, by: Metre, bz: Metre):
    """Distance of two points. [m]"""
    return math.sqrt((ax - bx) ** 2 + (ay - by) ** 2 + (az - bz) ** 2)


@inlined
def step(cos: Ratio):
    """Step of the tables in which a cosine of incidence lies."""
    return min(int(min(abs(cos), 1.0) * STEPS), STEPS - 1)


@inlined
def met(F: Flat, k: Place, x: Metre, y: Metre, z: Metre):
    """Skin of surface k at a point of its plane, -1 where nothing stands."""
    first, last = int(F.plates[FROM, k]), int(F.plates[TO, k])
    skin = int(F.plates[SKIN, k])
    if k >= F.walls:
        inside = False
        for e in range(first, last):
            y0, y1 = F.edges[e, 1], F.edges[e, 3]
            if (y0 > y) != (y1 > y) and x < F.edges[e, 0] + (y - y0) * (F.edges[e, 2] - F.edges[e, 0]) / (y1 - y0):
                inside = not inside
        return skin if inside else -1
    u = F.plates[CX, k] * x + F.plates[CY, k] * y - F.plates[FOOT, k]
    if u < 0 or u >= F.plates[LENGTH, k] or z < F.plates[LOW, k] or z >= F.plates[HIGH, k]:
        return -1
    for p in range(first, last):
        if F.patches[p, 0] <= u < F.patches[p, 1] and F.patches[p, 2] <= z < F.patches[p, 3]:
            skin = int(F.patches[p, 4])
    return skin


@inlined
def close(hulls: Table, group: Place, mx: Metre, my: Metre, dx: Metre, dy: Metre):
    """Which blocks of a group a leg can touch, seen from above, a bit each: by its middle and its vector."""
    found = 0
    hx, hy = 0.5 * abs(dx), 0.5 * abs(dy)
    for lane in range(GROUP):
        x, y = hulls[group, 0, lane] - mx, hulls[group, 1, lane] - my
        wide, deep = hulls[group, 2, lane], hulls[group, 3, lane]
        beside = (abs(x) <= wide + hx) & (abs(y) <= deep + hy)
        found |= (1 << lane) if beside & (abs(dx * y - dy * x) <= abs(dx) * deep + abs(dy) * wide) else 0
    return found


@inlined
def find(planks: Table, block: Place, ax: Metre, ay: Metre, az: Metre, dx: Metre, dy: Metre, dz: Metre):
    """Which walls of a block a leg crosses inside their frames, a bit each; without division and branch it takes all at once."""
    found = 0
    for lane in range(LANES):
        cx, cy = planks[block, CX, lane], planks[block, CY, lane]
        a = cx * ay - cy * ax - planks[block, OFF, lane]
        q = cy * dx - cx * dy
        sign = 1.0 if q > 0 else -1.0
        a, q = a * sign, q * sign
        u = (cx * ax + cy * ay - planks[block, FOOT, lane]) * q + a * (cx * dx + cy * dy)
        z = az * q + a * dz
        inside = (a > TOUCH_M) & (a < q - TOUCH_M) & (u >= 0) & (u < planks[block, LENGTH, lane] * q)
        found |= (
            (1 << lane) if inside & (z >= planks[block, LOW, lane] * q) & (z < planks[block, HIGH, lane] * q) else 0
        )
    return found

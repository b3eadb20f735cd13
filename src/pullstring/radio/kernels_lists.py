"""Ways that can leave a spot at all, listed once: pairs of surfaces, a surface and an edge, two openings in a row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullstring.radio.kernels_bends import EUX, EUY, EUZ, EWALL, EX, EY, EZ, GWALL, SIZE, beyond
from pullstring.radio.kernels_house import (
    CX,
    CY,
    FOOT,
    HIGH,
    LENGTH,
    LOW,
    OFF,
    allocating,
    compiled,
    image,
    inlined,
    plane,
    side,
    step,
)
from pullstring.radio.legs import TOUCH_M

if TYPE_CHECKING:
    from pullstring.radio.kernels_cells import Aids
    from pullstring.radio.kernels_house import Flat, Metre, Table


@inlined
def _overlap(F, k, ax, ay, az, bx, by, bz):
    """Whether the stretch between two points of the plane of surface k can touch the surface (its frame, not its outline)."""
    P = F.plates
    if k >= F.walls:
        return (
            max(ax, bx) >= P[FOOT, k]
            and min(ax, bx) <= P[LENGTH, k]
            and max(ay, by) >= P[LOW, k]
            and min(ay, by) <= P[HIGH, k]
        )
    a = P[CX, k] * ax + P[CY, k] * ay - P[FOOT, k]
    b = P[CX, k] * bx + P[CY, k] * by - P[FOOT, k]
    return max(a, b) >= 0 and min(a, b) <= P[LENGTH, k] and max(az, bz) >= P[LOW, k] and min(az, bz) <= P[HIGH, k]


@inlined
def _slant(F, k, here, there, ax, ay, az, ix, iy, iz):
    """Cosine of incidence on surface k of the line from an image, on the side of `here`, to a point at `there`."""
    dx, dy, dz = ax - ix, ay - iy, az - iz
    return (abs(here) + abs(there)) / max(np.sqrt(dx * dx + dy * dy + dz * dz), 1e-9)


@compiled
def reach(F: Flat, A: Aids, x: Metre, y: Metre, z: Metre, table: Table):
    """Raise table [surfaces, edges, bands] to the most that a surface can throw from a spot to an edge; 0 where it cannot."""
    for k in range(F.plates.shape[1]):
        here = side(F, k, x, y, z)
        if abs(here) <= TOUCH_M:
            continue
        ix, iy, iz = image(F, k, x, y, z)
        for e in range(A.rims.shape[0]):
            if int(A.rims[e, EWALL]) == k:
                continue
            ax, ay, az, size = A.rims[e, EX], A.rims[e, EY], A.rims[e, EZ], A.rims[e, SIZE]
            bx, by, bz = ax + size * A.rims[e, EUX], ay + size * A.rims[e, EUY], az + size * A.rims[e, EUZ]
            a, b = side(F, k, ax, ay, az), side(F, k, bx, by, bz)
            at = 0
            if a * here <= 0 and b * here <= 0:
                continue
            if a * here > 0 and b * here > 0:
                s, t = here / (here + a), here / (here + b)
                if not _overlap(
                    F, k, ix + s * (ax - ix), iy + s * (ay - iy), iz + s * (az - iz),
                    ix + t * (bx - ix), iy + t * (by - iy), iz + t * (bz - iz),
                ):  # fmt: skip
                    continue
                at = step(
                    min(_slant(F, k, here, a, ax, ay, az, ix, iy, iz), _slant(F, k, here, b, bx, by, bz, ix, iy, iz))
                )
            for band in range(table.shape[2]):
                table[k, e, band] = max(table[k, e, band], A.brighter[band, k, at])


@inlined
def _start(F, k):
    """Where wall k begins, seen from above."""
    P = F.plates
    return P[FOOT, k] * P[CX, k] - P[OFF, k] * P[CY, k], P[FOOT, k] * P[CY, k] + P[OFF, k] * P[CX, k]


@inlined
def _beam(F, i, j, ix, iy):
    """Whether wall j can lie in the beam from an image through wall i, seen from above."""
    P = F.plates
    ax, ay = _start(F, i)
    ax, ay = ax - ix, ay - iy
    bx, by = ax + P[LENGTH, i] * P[CX, i], ay + P[LENGTH, i] * P[CY, i]
    px, py = _start(F, j)
    px, py = px - ix, py - iy
    qx, qy = px + P[LENGTH, j] * P[CX, j], py + P[LENGTH, j] * P[CY, j]
    if ax * by - ay * bx < 0:
        ax, ay, bx, by = bx, by, ax, ay
    left = ax * py - ay * px < 0 and ax * qy - ay * qx < 0
    right = bx * py - by * px > 0 and bx * qy - by * qx > 0
    return not (left or right)


@compiled
def _follows(F, i, j, here, ix, iy, iz):
    """Whether surface j can be met after surface i, from whose side `here` the rays come as from an image."""
    P, walls = F.plates, F.walls
    if i == j or abs(side(F, j, ix, iy, iz)) <= TOUCH_M:
        return False
    if j < walls and i < walls:
        sx, sy = _start(F, j)
        ex, ey = sx + P[LENGTH, j] * P[CX, j], sy + P[LENGTH, j] * P[CY, j]
        if here * side(F, i, sx, sy, 0.0) <= 0 and here * side(F, i, ex, ey, 0.0) <= 0:
            return False
        return _beam(F, i, j, ix, iy)
    if i >= walls and j >= walls:
        return here * (P[OFF, j] - P[OFF, i]) > 0
    if j < walls:
        return not (here > 0 and P[HIGH, j] <= P[OFF, i] or here < 0 and P[LOW, j] >= P[OFF, i])
    return True


@allocating
def pairs(F: Flat, x: Metre, y: Metre, z: Metre):
    """Pairs of surfaces [n, 2], one after the other; image, and the first's mirrored normal and ends [n, 10]."""
    total = F.plates.shape[1]
    found, images = np.empty((total * total, 2), np.int32), np.empty((total * total, 10))
    n = 0
    for i in range(total):
        here = side(F, i, x, y, z)
        if abs(here) <= TOUCH_M:
            continue
        ix, iy, iz = image(F, i, x, y, z)
        mx, my, mz = plane(F, i)
        for j in range(total):
            if not _follows(F, i, j, here, ix, iy, iz):
                continue
            nx, ny, nz = plane(F, j)
            part = 2 * (mx * nx + my * ny + mz * nz)
            found[n, 0], found[n, 1] = i, j
            images[n, 0], images[n, 1], images[n, 2] = image(F, j, ix, iy, iz)
            images[n, 3], images[n, 4], images[n, 5] = mx - part * nx, my - part * ny, mz - part * nz
            if i < F.walls:
                sx, sy = _start(F, i)
                images[n, 6], images[n, 7], _ = image(F, j, sx, sy, 0.0)
                sx, sy = sx + F.plates[LENGTH, i] * F.plates[CX, i], sy + F.plates[LENGTH, i] * F.plates[CY, i]
                images[n, 8], images[n, 9], _ = image(F, j, sx, sy, 0.0)
            n += 1
    return found[:n].copy(), images[:n].copy()


@allocating
def strings(F: Flat, A: Aids, x: Metre, y: Metre, z: Metre):
    """Openings [n, 2] one after the other, in walls of their own, the second beyond the first."""
    gates = A.gates.shape[0]
    found, n = np.empty((gates * gates, 2), np.int32), 0
    for g in range(gates):
        for h in range(gates):
            k = int(A.gates[g, GWALL])
            if k != int(A.gates[h, GWALL]) and beyond(F, A.gates, k, h, x, y, z):
                found[n, 0], found[n, 1] = g, h
                n += 1
    return found[:n].copy()

"""All paths of `paths.py` from one sender to many points, compiled: one thread, the same answers as the numpy path.

Before walls are counted, a path is passed over when free space and its edges alone leave it `cut` below what has
already arrived in every band. Pairs of surfaces that no ray from the sender can meet one after the other are not tried.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from pullstring.radio.gates import ROUNDS
from pullstring.radio.kernels_path import (
    CX,
    CY,
    EUX,
    EUY,
    EUZ,
    EWALL,
    EX,
    EY,
    EZ,
    FOOT,
    GCX,
    GCY,
    GHIGH,
    GLOW,
    GWALL,
    GX,
    GY,
    GZ,
    HIGH,
    LENGTH,
    LOW,
    OFF,
    SIZE,
    WIDTH,
    apart,
    compiled,
    follow,
    image,
    keep,
    met,
    plane,
    side,
)
from pullstring.radio.legs import TOUCH_M
from pullstring.radio.skins import STEPS

EDGE = 0.2495
"""Most power left behind one edge: the knife edge at nu = 0."""


class Bundles(NamedTuple):
    """What arrives at each point, by equal crossings: power [bands, points, bundles], crossings [points, bundles, skins]."""

    power: np.ndarray
    crossings: np.ndarray
    used: np.ndarray


@compiled
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
    return (
        max(a, b) >= 0 and min(a, b) <= P[LENGTH, k] and max(az, bz) >= P[LOW, k] and min(az, bz) <= P[HIGH, k]
    )


@compiled
def reached(F, x, y, z):
    """Pairs of a surface and an edge [n, 2] that a spot can reach by one reflection in that surface, at the most."""
    rims, total = F.rims.shape[0], F.plates.shape[1]
    found = np.empty((rims * total, 2), np.int32)
    n = 0
    for k in range(total):
        here = side(F, k, x, y, z)
        if abs(here) <= TOUCH_M:
            continue
        ix, iy, iz = image(F, k, x, y, z)
        for e in range(rims):
            if int(F.rims[e, EWALL]) == k:
                continue
            ax, ay, az = F.rims[e, EX], F.rims[e, EY], F.rims[e, EZ]
            size = F.rims[e, SIZE]
            bx, by, bz = ax + size * F.rims[e, EUX], ay + size * F.rims[e, EUY], az + size * F.rims[e, EUZ]
            a, b = side(F, k, ax, ay, az), side(F, k, bx, by, bz)
            if a * here <= 0 and b * here <= 0:
                continue
            if a * here > 0 and b * here > 0:
                s, t = here / (here + a), here / (here + b)
                if not _overlap(
                    F, k, ix + s * (ax - ix), iy + s * (ay - iy), iz + s * (az - iz),
                    ix + t * (bx - ix), iy + t * (by - iy), iz + t * (bz - iz),
                ):  # fmt: skip
                    continue
            found[n, 0], found[n, 1] = k, e
            n += 1
    return found[:n].copy()


@compiled
def _start(F, k):
    """Where wall k begins, seen from above."""
    P = F.plates
    return P[FOOT, k] * P[CX, k] - P[OFF, k] * P[CY, k], P[FOOT, k] * P[CY, k] + P[OFF, k] * P[CX, k]


@compiled
def _beam(F, i, j, ix, iy):
    """Whether wall j can lie in the beam from an image through wall i, seen from above."""
    P = F.plates
    ax, ay = _start(F, i)
    ax, ay = ax - ix, ay - iy
    bx, by = ax + P[LENGTH, i] * P[CX, i], ay + P[LENGTH, i] * P[CY, i]
    turn = ax * by - ay * bx
    px, py = _start(F, j)
    px, py = px - ix, py - iy
    qx, qy = px + P[LENGTH, j] * P[CX, j], py + P[LENGTH, j] * P[CY, j]
    if turn < 0:
        ax, ay, bx, by = bx, by, ax, ay
    left = ax * py - ay * px < 0 and ax * qy - ay * qx < 0
    right = bx * py - by * px > 0 and bx * qy - by * qx > 0
    return not (left or right)


@compiled
def _pairs(F, x, y, z):
    """Pairs of surfaces [n, 2] that can throw a ray from the sender back one after the other, and images [n, 3]."""
    P = F.plates
    walls, total = F.walls, P.shape[1]
    found = np.empty((total * total, 2), np.int32)
    images = np.empty((total * total, 3))
    n = 0
    for i in range(total):
        here = side(F, i, x, y, z)
        if abs(here) <= TOUCH_M:
            continue
        ix, iy, iz = image(F, i, x, y, z)
        for j in range(total):
            if i == j or abs(side(F, j, ix, iy, iz)) <= TOUCH_M:
                continue
            if j < walls and i < walls:
                sx, sy = _start(F, j)
                ex, ey = sx + P[LENGTH, j] * P[CX, j], sy + P[LENGTH, j] * P[CY, j]
                if here * side(F, i, sx, sy, 0.0) <= 0 and here * side(F, i, ex, ey, 0.0) <= 0:
                    continue
                if not _beam(F, i, j, ix, iy):
                    continue
            elif i >= walls and j >= walls:
                if here * (P[OFF, j] - P[OFF, i]) <= 0:
                    continue
            elif j < walls:
                if here > 0 and P[HIGH, j] <= P[OFF, i] or here < 0 and P[LOW, j] >= P[OFF, i]:
                    continue
            found[n, 0], found[n, 1] = i, j
            images[n, 0], images[n, 1], images[n, 2] = image(F, j, ix, iy, iz)
            n += 1
    return found[:n].copy(), images[:n].copy()


@compiled
def _too_weak(F, far2, share, floor):
    """Whether free space over a way (its square given) leaves less than the floor in every band."""
    for b in range(F.wave.size):
        if share * F.wave[b] ** 2 >= floor[b] * 157.91367041742973 * far2:  # (4 pi)^2
            return False
    return True


@compiled
def _dim(F, i, j, cos_i, cos_j, far2, floor, two):
    """As `_too_weak`, with what two surfaces at most throw back at these angles (or one only)."""
    a = min(int(min(cos_i, 1.0) * STEPS), STEPS - 1)
    c = min(int(min(cos_j, 1.0) * STEPS), STEPS - 1)
    for b in range(F.wave.size):
        share = F.brightest[b, i, a] * (F.brightest[b, j, c] if two > 0 else 1.0)
        if share * F.wave[b] ** 2 >= floor[b] * 157.91367041742973 * far2:
            return False
    return True


@compiled
def _bend(F, e, ax, ay, az, bx, by, bz):
    """Point of an edge by which the string from A to B is shortest; see gates.bend."""
    fx, fy, fz, ux, uy, uz = F.rims[e, EX], F.rims[e, EY], F.rims[e, EZ], F.rims[e, EUX], F.rims[e, EUY], F.rims[e, EUZ]
    a = (ax - fx) * ux + (ay - fy) * uy + (az - fz) * uz
    b = (bx - fx) * ux + (by - fy) * uy + (bz - fz) * uz
    off_a = math.sqrt(max((ax - fx) ** 2 + (ay - fy) ** 2 + (az - fz) ** 2 - a * a, 0.0))
    off_b = math.sqrt(max((bx - fx) ** 2 + (by - fy) ** 2 + (bz - fz) ** 2 - b * b, 0.0))
    t = min(max((a * off_b + b * off_a) / max(off_a + off_b, 1e-9), 0.0), F.rims[e, SIZE])
    return fx + t * ux, fy + t * uy, fz + t * uz


@compiled
def _parted(F, k, ax, ay, az, bx, by, bz):
    a, b = side(F, k, ax, ay, az), side(F, k, bx, by, bz)
    return a * b < 0 and abs(a) > TOUCH_M and abs(b) > TOUCH_M


@compiled
def _hit(F, k, ix, iy, iz, tx, ty, tz):
    """Where the line from an image to its target meets surface k, and the skin there."""
    if not _parted(F, k, ix, iy, iz, tx, ty, tz):
        return 0.0, 0.0, 0.0, -1
    a, b = side(F, k, ix, iy, iz), side(F, k, tx, ty, tz)
    t = a / (a - b)
    x, y, z = ix + t * (tx - ix), iy + t * (ty - iy), iz + t * (tz - iz)
    return x, y, z, met(F, k, x, y, z)


@compiled
def _arrive(F, stop, turns, surface, skin, gain, cut, total, floor, W, at, out):
    if follow(F, stop, turns, surface, skin, gain, floor, W):
        for b in range(total.size):
            total[b] += W.arrived[b]
            floor[b] = max(floor[b], total[b] * cut)
        keep(out.used[at], out.power[:, at], out.crossings[at], W.crossed, W.arrived)


@compiled
def _put(stop, i, x, y, z):
    stop[i, 0], stop[i, 1], stop[i, 2] = x, y, z


@compiled
def _by_rims(F, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    """Round each edge of each opening to a point on the other side of its wall."""
    ax, ay, az = A
    bx, by, bz = B
    if _too_weak(F, apart(ax, ay, az, bx, by, bz) ** 2, EDGE, floor):
        return
    for e in range(F.rims.shape[0]):
        k = int(F.rims[e, EWALL])
        if not _parted(F, k, ax, ay, az, bx, by, bz):
            continue
        x, y, z = _bend(F, e, ax, ay, az, bx, by, bz)
        way = apart(ax, ay, az, x, y, z) + apart(x, y, z, bx, by, bz)
        if _too_weak(F, way * way, EDGE, floor):
            continue
        _put(stop, 1, x, y, z)
        _put(stop, 2, bx, by, bz)
        surface[0], skin[0] = k, -1
        _arrive(F, stop, 1, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def _through(F, g, ax, ay, az, bx, by, bz):
    """Where the line from A to B meets an opening, cut to it; see gates._through."""
    fx, fy, ux, uy = F.gates[g, GX], F.gates[g, GY], F.gates[g, GCX], F.gates[g, GCY]
    a = -uy * (ax - fx) + ux * (ay - fy)
    b = -uy * (bx - fx) + ux * (by - fy)
    t = min(max(a / (a - b), 0.0), 1.0) if abs(a - b) > 1e-9 else 0.5
    u = (ax + t * (bx - ax) - fx) * ux + (ay + t * (by - ay) - fy) * uy
    u = min(max(u, 0.0), F.gates[g, WIDTH])
    return fx + u * ux, fy + u * uy, min(max(az + t * (bz - az), F.gates[g, GLOW]), F.gates[g, GHIGH])


@compiled
def _at_rim(F, g, x, y, z):
    u = (x - F.gates[g, GX]) * F.gates[g, GCX] + (y - F.gates[g, GY]) * F.gates[g, GCY]
    low, high = F.gates[g, GLOW], F.gates[g, GHIGH]
    return u <= 1e-6 or u >= F.gates[g, WIDTH] - 1e-6 or z <= low + 1e-6 or z >= high - 1e-6


@compiled
def _beyond(F, k, g, ax, ay, az):
    """Whether a part of opening g lies on the other side of surface k than A."""
    x, y = F.gates[g, GX], F.gates[g, GY]
    ex, ey = x + F.gates[g, WIDTH] * F.gates[g, GCX], y + F.gates[g, WIDTH] * F.gates[g, GCY]
    here = side(F, k, ax, ay, az)
    return here * side(F, k, x, y, 0.0) < 0 or here * side(F, k, ex, ey, 0.0) < 0


@compiled
def _by_two_gates(F, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    """By two openings in a row, on the shortest string through both, where it bends at both."""
    ax, ay, az = A
    bx, by, bz = B
    if _too_weak(F, apart(ax, ay, az, bx, by, bz) ** 2, EDGE * EDGE, floor):
        return
    gates = F.gates.shape[0]
    for g in range(gates):
        k = int(F.gates[g, GWALL])
        for h in range(gates):
            m = int(F.gates[h, GWALL])
            if k == m or not _beyond(F, k, h, ax, ay, az) or not _beyond(F, m, g, bx, by, bz):
                continue
            gx = F.gates[g, GX] + 0.5 * F.gates[g, WIDTH] * F.gates[g, GCX]
            gy = F.gates[g, GY] + 0.5 * F.gates[g, WIDTH] * F.gates[g, GCY]
            gz = F.gates[g, GZ] + 0.5 * (F.gates[g, GHIGH] - F.gates[g, GLOW])
            hx = F.gates[h, GX] + 0.5 * F.gates[h, WIDTH] * F.gates[h, GCX]
            hy = F.gates[h, GY] + 0.5 * F.gates[h, WIDTH] * F.gates[h, GCY]
            hz = F.gates[h, GZ] + 0.5 * (F.gates[h, GHIGH] - F.gates[h, GLOW])
            for _ in range(ROUNDS):
                px, py, pz = _through(F, g, ax, ay, az, hx, hy, hz)
                qx, qy, qz = _through(F, h, gx, gy, gz, bx, by, bz)
                gx, gy, gz, hx, hy, hz = px, py, pz, qx, qy, qz
            if not (_at_rim(F, g, gx, gy, gz) and _at_rim(F, h, hx, hy, hz)):
                continue
            if not (_parted(F, k, ax, ay, az, hx, hy, hz) and _parted(F, m, gx, gy, gz, bx, by, bz)):
                continue
            _put(stop, 1, gx, gy, gz)
            _put(stop, 2, hx, hy, hz)
            _put(stop, 3, bx, by, bz)
            surface[0], skin[0], surface[1], skin[1] = k, -1, m, -1
            _arrive(F, stop, 2, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def _by_one_mirror(F, images, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    bx, by, bz = B
    for k in range(images.shape[0]):
        here = side(F, k, A[0], A[1], A[2])
        there = side(F, k, bx, by, bz)
        if here * there <= 0 or abs(here) <= TOUCH_M or abs(there) <= TOUCH_M:
            continue
        ix, iy, iz = images[k, 0], images[k, 1], images[k, 2]
        far2 = (bx - ix) ** 2 + (by - iy) ** 2 + (bz - iz) ** 2
        if _dim(F, k, 0, (abs(here) + abs(there)) / math.sqrt(far2), 0.0, far2, floor, -1):
            continue
        x, y, z, found = _hit(F, k, ix, iy, iz, bx, by, bz)
        if found < 0:
            continue
        _put(stop, 1, x, y, z)
        _put(stop, 2, bx, by, bz)
        surface[0], skin[0] = k, found
        _arrive(F, stop, 1, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def _by_two_mirrors(F, first, pairs, images, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    bx, by, bz = B
    for n in range(pairs.shape[0]):
        ix, iy, iz = images[n, 0], images[n, 1], images[n, 2]
        dx, dy, dz = bx - ix, by - iy, bz - iz
        far2 = dx * dx + dy * dy + dz * dz
        if _too_weak(F, far2, 1.0, floor):
            continue
        i, j = pairs[n, 0], pairs[n, 1]
        far = math.sqrt(far2)
        nx, ny, nz = plane(F, j)
        cos_j = (dx * nx + dy * ny + dz * nz) / far
        mx, my, mz = plane(F, i)
        cos_i = (
            (dx / far - 2 * cos_j * nx) * mx + (dy / far - 2 * cos_j * ny) * my + (dz / far - 2 * cos_j * nz) * mz
        )
        if _dim(F, i, j, abs(cos_i), abs(cos_j), far2, floor, 1):
            continue
        qx, qy, qz, second = _hit(F, j, ix, iy, iz, bx, by, bz)
        if second < 0:
            continue
        px, py, pz, found = _hit(F, i, first[i, 0], first[i, 1], first[i, 2], qx, qy, qz)
        if found < 0:
            continue
        _put(stop, 1, px, py, pz)
        _put(stop, 2, qx, qy, qz)
        _put(stop, 3, bx, by, bz)
        surface[0], skin[0], surface[1], skin[1] = i, found, j, second
        _arrive(F, stop, 2, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def _mirror_then_edge(F, first, ways, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    bx, by, bz = B
    for n in range(ways.shape[0]):
        k, e = ways[n, 0], ways[n, 1]
        ix, iy, iz = first[k, 0], first[k, 1], first[k, 2]
        if _too_weak(F, (bx - ix) ** 2 + (by - iy) ** 2 + (bz - iz) ** 2, EDGE, floor):
            continue
        qx, qy, qz = _bend(F, e, ix, iy, iz, bx, by, bz)
        way = apart(ix, iy, iz, qx, qy, qz) + apart(qx, qy, qz, bx, by, bz)
        if _too_weak(F, way * way, EDGE, floor):
            continue
        px, py, pz, found = _hit(F, k, ix, iy, iz, qx, qy, qz)
        wall = int(F.rims[e, EWALL])
        if found < 0 or not _parted(F, wall, px, py, pz, bx, by, bz):
            continue
        _put(stop, 1, px, py, pz)
        _put(stop, 2, qx, qy, qz)
        _put(stop, 3, bx, by, bz)
        surface[0], skin[0], surface[1], skin[1] = k, found, wall, -1
        _arrive(F, stop, 2, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def _edge_then_mirror(F, ways, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out):
    ax, ay, az = A
    bx, by, bz = B
    for n in range(ways.shape[0]):
        k, e = ways[n, 0], ways[n, 1]
        ix, iy, iz = image(F, k, bx, by, bz)
        if _too_weak(F, (ax - ix) ** 2 + (ay - iy) ** 2 + (az - iz) ** 2, EDGE, floor):
            continue
        qx, qy, qz = _bend(F, e, ax, ay, az, ix, iy, iz)
        way = apart(ix, iy, iz, qx, qy, qz) + apart(qx, qy, qz, ax, ay, az)
        if _too_weak(F, way * way, EDGE, floor):
            continue
        px, py, pz, found = _hit(F, k, ix, iy, iz, qx, qy, qz)
        wall = int(F.rims[e, EWALL])
        if found < 0 or not _parted(F, wall, ax, ay, az, px, py, pz):
            continue
        _put(stop, 1, qx, qy, qz)
        _put(stop, 2, px, py, pz)
        _put(stop, 3, bx, by, bz)
        surface[0], skin[0], surface[1], skin[1] = wall, -1, k, found
        _arrive(F, stop, 2, surface, skin, gain, cut, total, floor, W, at, out)


@compiled
def trace(F, sender, gain, points, ways_from, ways, reflections, openings, cut, least, W, out):
    """All paths from one sender to all points into `out`; `ways` lists, point after point, what `reached` gives."""
    A = (sender[0], sender[1], sender[2])
    bands, total_surfaces = F.wave.size, F.plates.shape[1]
    first = np.zeros((total_surfaces, 3))
    for k in range(total_surfaces):
        first[k, 0], first[k, 1], first[k, 2] = image(F, k, A[0], A[1], A[2])
    pairs, images = _pairs(F, A[0], A[1], A[2]) if reflections > 1 else (np.empty((0, 2), np.int32), np.empty((0, 3)))
    mixed = reflections > 1 and openings > 0
    own = reached(F, A[0], A[1], A[2]) if mixed else np.empty((0, 2), np.int32)
    stop, surface, skin = np.zeros((5, 3)), np.zeros(3, np.int64), np.zeros(3, np.int64)
    total, floor = np.zeros(bands), np.zeros(bands)
    _put(stop, 0, A[0], A[1], A[2])
    for at in range(points.shape[0]):
        B = (points[at, 0], points[at, 1], points[at, 2])
        total[:], floor[:] = 0, least
        _put(stop, 1, B[0], B[1], B[2])
        _arrive(F, stop, 0, surface, skin, gain, cut, total, floor, W, at, out)
        if openings:
            _by_rims(F, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)
        if reflections:
            _by_one_mirror(F, first, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)
        if openings > 1:
            _by_two_gates(F, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)
        if reflections > 1:
            _by_two_mirrors(F, first, pairs, images, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)
        if mixed:
            _mirror_then_edge(F, first, own, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)
            part = ways[ways_from[at] : ways_from[at + 1]]
            _edge_then_mirror(F, part, A, B, stop, surface, skin, gain, cut, total, floor, W, at, out)

"""One path, compiled: the same laws as `legs.py`, `gates.py` and `paths.py`, on plain numbers, for `kernels.py`.

A path is dropped as soon as it has lost so much that it lies below a floor in every band: losses only grow, so no
dropped path could have come back. Without the compiler this module is not used.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit

from pullstring.radio.legs import TOUCH_M
from pullstring.radio.paths import NEAREST_M
from pullstring.radio.skins import STEPS

compiled: Any = njit(cache=True, fastmath=True, nogil=True)


CX, CY, OFF, FOOT, LENGTH, LOW, HIGH, SKIN, FROM, TO = range(10)
"""Rows of the plates: unit vector along a wall, distance of its plane from the origin along (-cy, cx, 0), along times
start, length, heights, skin, patches. Of a slab: 0, 0, height, then the frame of its outline x0, x1, y0, y1, skin, edges."""
GX, GY, GZ, GCX, GCY, WIDTH, GLOW, GHIGH, GWALL = range(9)
"""Columns of the gates: foot, unit vector along, width, heights, wall."""
EX, EY, EZ, EUX, EUY, EUZ, SIZE, EWALL = range(8)
"""Columns of the rims: foot, unit vector, length, wall."""


class Flat(NamedTuple):
    """A house as a few arrays: fewer of them are quicker to hand on."""

    walls: int
    storeys: Any  # [n, 4] low, high, from, to: walls of equal heights stand side by side
    plates: Any  # [10, surfaces], walls first
    patches: Any  # [n, 5] u0, u1, z0, z1, skin or -1
    edges: Any  # [n, 4] x0, y0, x1, y1
    tables: Any  # complex [2, bands, skins, 2, steps + 1]: through, back
    brightest: Any  # largest power a surface throws back [bands, surfaces, steps + 1]
    wave: Any  # [bands] wavelength in metres
    gates: Any  # [g, 9]
    rims: Any  # [e, 8]


class Work(NamedTuple):
    """Room in which one path is worked out."""

    field: Any  # complex [bands, 3]
    crossed: Any  # uint8 [skins]
    hit: Any  # uint8 [w, filled up to eight]
    words: Any  # the same as uint64
    left: Any  # [bands]
    least: Any  # [bands]
    arrived: Any  # [bands]


@compiled
def side(F, k, x, y, z):
    """Signed distance of a point from the plane of surface k. [m]"""
    if k >= F.walls:
        return z - F.plates[OFF, k]
    return F.plates[CX, k] * y - F.plates[CY, k] * x - F.plates[OFF, k]


@compiled
def plane(F, k):
    if k >= F.walls:
        return 0.0, 0.0, 1.0
    return -F.plates[CY, k], F.plates[CX, k], 0.0


@compiled
def met(F, k, x, y, z):
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


@compiled
def _across(kx, ky, kz, nx, ny, nz):
    sx, sy, sz = ky * nz - kz * ny, kz * nx - kx * nz, kx * ny - ky * nx
    size = math.sqrt(sx * sx + sy * sy + sz * sz)
    if size < 1e-9:
        return (0.0, 0.0, 1.0) if abs(nz) < 0.5 else (1.0, 0.0, 0.0)
    return sx / size, sy / size, sz / size


@compiled
def _upright(kx, ky, kz):
    flat = math.sqrt(kx * kx + ky * ky)
    if flat < 1e-9:
        return 1.0, 0.0, 0.0
    return -kx * kz / flat, -ky * kz / flat, flat


@compiled
def _cross(F, E, skin, kx, ky, kz, k):
    """One crossing, in place; see legs.through."""
    nx, ny, nz = plane(F, k)
    at = min(abs(kx * nx + ky * ny + kz * nz), 1.0) * STEPS
    low = min(int(at), STEPS - 1)
    part = at - low
    sx, sy, sz = _across(kx, ky, kz, nx, ny, nz)
    for b in range(E.shape[0]):
        te = F.tables[0, b, skin, 0, low] * (1 - part) + F.tables[0, b, skin, 0, low + 1] * part
        tm = F.tables[0, b, skin, 1, low] * (1 - part) + F.tables[0, b, skin, 1, low + 1] * part
        extra = (te - tm) * (E[b, 0] * sx + E[b, 1] * sy + E[b, 2] * sz)
        E[b, 0] = tm * E[b, 0] + extra * sx
        E[b, 1] = tm * E[b, 1] + extra * sy
        E[b, 2] = tm * E[b, 2] + extra * sz


@compiled
def _bounce(F, E, skin, kx, ky, kz, k):
    """One reflection, in place; see legs.bounce."""
    nx, ny, nz = plane(F, k)
    kn = kx * nx + ky * ny + kz * nz
    at = min(abs(kn), 1.0) * STEPS
    low = min(int(at), STEPS - 1)
    part = at - low
    sx, sy, sz = _across(kx, ky, kz, nx, ny, nz)
    px, py, pz = ky * sz - kz * sy, kz * sx - kx * sz, kx * sy - ky * sx
    ox, oy, oz = kx - 2 * kn * nx, ky - 2 * kn * ny, kz - 2 * kn * nz
    qx, qy, qz = oy * sz - oz * sy, oz * sx - ox * sz, ox * sy - oy * sx
    for b in range(E.shape[0]):
        te = F.tables[1, b, skin, 0, low] * (1 - part) + F.tables[1, b, skin, 0, low + 1] * part
        tm = F.tables[1, b, skin, 1, low] * (1 - part) + F.tables[1, b, skin, 1, low + 1] * part
        s = te * (E[b, 0] * sx + E[b, 1] * sy + E[b, 2] * sz)
        p = tm * (E[b, 0] * px + E[b, 1] * py + E[b, 2] * pz)
        E[b, 0], E[b, 1], E[b, 2] = s * sx + p * qx, s * sy + p * qy, s * sz + p * qz


@compiled
def _turn(E, kx, ky, kz, ox, oy, oz):
    """Round an edge, in place; see legs.turn."""
    ux, uy, uz = _upright(kx, ky, kz)
    vx, vy, vz = _upright(ox, oy, oz)
    hx, hy, hz = ky * uz - kz * uy, kz * ux - kx * uz, kx * uy - ky * ux
    gx, gy, gz = oy * vz - oz * vy, oz * vx - ox * vz, ox * vy - oy * vx
    for b in range(E.shape[0]):
        up = E[b, 0] * ux + E[b, 1] * uy + E[b, 2] * uz
        level = E[b, 0] * hx + E[b, 1] * hy + E[b, 2] * hz
        E[b, 0], E[b, 1], E[b, 2] = up * vx + level * gx, up * vy + level * gy, up * vz + level * gz


@compiled
def _weaker(E, least):
    """Whether a field has fallen below what it must keep, in every band."""
    for b in range(E.shape[0]):
        power = 0.0
        for i in range(3):
            power += E[b, i].real ** 2 + E[b, i].imag ** 2
        if power >= least[b]:
            return False
    return True


@compiled
def _find(plates, first, last, ax, ay, az, dx, dy, dz, hit):
    """Mark which walls from first to last a leg crosses inside their frame; no division and no branch, so that it vectorises."""
    for k in range(first, last):
        cx, cy = plates[CX, k], plates[CY, k]
        a = cx * ay - cy * ax - plates[OFF, k]
        q = cy * dx - cx * dy
        sign = 1.0 if q > 0 else -1.0
        u = (cx * ax + cy * ay - plates[FOOT, k]) * q * sign + a * sign * (cx * dx + cy * dy)
        z = az * q * sign + a * sign * dz
        a, q = a * sign, q * sign
        inside = (a > TOUCH_M) & (a < q - TOUCH_M) & (u >= 0) & (u < plates[LENGTH, k] * q)
        hit[k] = 1 if inside & (z >= plates[LOW, k] * q) & (z < plates[HIGH, k] * q) else 0


@compiled
def _leg(F, ax, ay, az, bx, by, bz, skip, other, W):
    """One leg, in place; False when what is left is below `W.least` in every band."""
    dx, dy, dz = bx - ax, by - ay, bz - az
    far = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-9)
    kx, ky, kz = dx / far, dy / far, dz / far
    for s in range(F.storeys.shape[0]):
        if max(az, bz) < F.storeys[s, 0] or min(az, bz) >= F.storeys[s, 1]:
            continue
        first, last = int(F.storeys[s, 2]), int(F.storeys[s, 3])
        _find(F.plates, first, last, ax, ay, az, dx, dy, dz, W.hit)
        for word in range(first // 8, (last + 7) // 8):
            if W.words[word] == 0:
                continue
            for k in range(max(8 * word, first), min(8 * word + 8, last)):
                if W.hit[k] and k != skip and k != other:
                    if not _pass(F, k, ax, ay, az, dx, dy, dz, kx, ky, kz, W):
                        return False
    for k in range(F.walls, F.plates.shape[1]):
        a, b = az - F.plates[OFF, k], bz - F.plates[OFF, k]
        if a * b < 0 and abs(a) > TOUCH_M and abs(b) > TOUCH_M and k != skip and k != other:
            if not _pass(F, k, ax, ay, az, dx, dy, dz, kx, ky, kz, W):
                return False
    return True


@compiled
def _pass(F, k, ax, ay, az, dx, dy, dz, kx, ky, kz, W):
    """Through surface k, if anything stands where the leg meets it; False as in `_leg`."""
    a, b = side(F, k, ax, ay, az), side(F, k, ax + dx, ay + dy, az + dz)
    t = a / (a - b)
    skin = met(F, k, ax + t * dx, ay + t * dy, az + t * dz)
    if skin < 0:
        return True
    _cross(F, W.field, skin, kx, ky, kz, k)
    W.crossed[skin] += 1
    return not _weaker(W.field, W.least)


@compiled
def keep(slots, power, counts, crossed, arrived):
    """Add an arrived path to the bundle with the same crossings; the weakest bundle makes room. Gives bundles in use."""
    used = 0
    for s in range(counts.shape[0]):
        if slots[s] == 0:
            break
        used += 1
        same = True
        for c in range(crossed.size):
            if counts[s, c] != crossed[c]:
                same = False
                break
        if same:
            for b in range(arrived.size):
                power[b, s] += arrived[b]
            return
    if used < counts.shape[0]:
        s = used
        slots[s] = 1
    else:
        s, weakest = 0, 1e300
        for one in range(used):
            if power[:, one].max() < weakest:
                s, weakest = one, power[:, one].max()
        if arrived.max() < weakest:
            for b in range(arrived.size):
                power[b, s] += arrived[b]
            return
        for b in range(arrived.size):
            arrived[b] += power[b, s]
    for c in range(crossed.size):
        counts[s, c] = crossed[c]
    for b in range(arrived.size):
        power[b, s] = arrived[b]


@compiled
def gain_of(gain, kx, ky, kz):
    """Gain of the sender's antenna in a direction, from its table [azimuth, elevation]; a power ratio."""
    turns, rises = gain.shape[0], gain.shape[1] - 1
    a = (math.atan2(ky, kx) / (2 * math.pi) % 1.0) * turns
    e = (math.asin(min(max(kz, -1.0), 1.0)) / math.pi + 0.5) * rises
    i, j = int(a) % turns, min(int(e), rises - 1)
    p, q = a - int(a), e - j
    n = (i + 1) % turns
    return (gain[i, j] * (1 - q) + gain[i, j + 1] * q) * (1 - p) + (gain[n, j] * (1 - q) + gain[n, j + 1] * q) * p


@compiled
def image(F, k, x, y, z):
    nx, ny, nz = plane(F, k)
    d = 2 * side(F, k, x, y, z)
    return x - d * nx, y - d * ny, z - d * nz


@compiled
def apart(ax, ay, az, bx, by, bz):
    return math.sqrt((ax - bx) ** 2 + (ay - by) ** 2 + (az - bz) ** 2)


@compiled
def _edge_left(F, stop, turns, surface, skin, i, left):
    """Multiply `left` by the share of power left behind the knife edge at turn i; see paths._detour."""
    ax, ay, az = stop[i, 0], stop[i, 1], stop[i, 2]
    bx, by, bz = stop[i + 2, 0], stop[i + 2, 1], stop[i + 2, 2]
    if i > 0 and skin[i - 1] >= 0:
        ax, ay, az = image(F, surface[i - 1], stop[i - 1, 0], stop[i - 1, 1], stop[i - 1, 2])
    if i + 1 < turns and skin[i + 1] >= 0:
        bx, by, bz = image(F, surface[i + 1], stop[i + 3, 0], stop[i + 3, 1], stop[i + 3, 2])
    ex, ey, ez = stop[i + 1, 0], stop[i + 1, 1], stop[i + 1, 2]
    detour = apart(ax, ay, az, ex, ey, ez) + apart(ex, ey, ez, bx, by, bz) - apart(ax, ay, az, bx, by, bz)
    for b in range(left.size):
        nu = 2 * math.sqrt(max(detour, 0.0) / F.wave[b]) - 0.1
        left[b] *= 0.20417379446695297 / (math.sqrt(nu * nu + 1) + nu) ** 2  # 10 ** -0.69


@compiled
def follow(F, stop, turns, surface, skin, gain, floor, W):
    """One path along its stops into W.arrived and W.crossed; False when it fell below `floor` on its way."""
    far = 0.0
    for i in range(turns + 1):
        far += apart(stop[i, 0], stop[i, 1], stop[i, 2], stop[i + 1, 0], stop[i + 1, 1], stop[i + 1, 2])
    first = max(apart(stop[0, 0], stop[0, 1], stop[0, 2], stop[1, 0], stop[1, 1], stop[1, 2]), 1e-9)
    kx, ky, kz = (stop[1, 0] - stop[0, 0]) / first, (stop[1, 1] - stop[0, 1]) / first, (stop[1, 2] - stop[0, 2]) / first
    sent = gain_of(gain, kx, ky, kz)
    alive = False
    for b in range(W.left.size):
        W.left[b] = sent * (F.wave[b] / (4 * math.pi * max(far, NEAREST_M))) ** 2
    for i in range(turns):
        if skin[i] < 0:
            _edge_left(F, stop, turns, surface, skin, i, W.left)
    for b in range(W.left.size):
        W.least[b] = floor[b] / max(W.left[b], 1e-300)
        alive = alive or W.least[b] <= 1
    if not alive:
        return False
    ux, uy, uz = _upright(kx, ky, kz)
    for b in range(W.left.size):
        W.field[b, 0], W.field[b, 1], W.field[b, 2] = ux, uy, uz
    W.crossed[:] = 0
    for i in range(turns + 1):
        skip = surface[i - 1] if i > 0 else -1
        other = surface[i] if i < turns else -1
        if not _leg(
            F, stop[i, 0], stop[i, 1], stop[i, 2], stop[i + 1, 0], stop[i + 1, 1], stop[i + 1, 2],
            skip, other, W,
        ):  # fmt: skip
            return False
        if i < turns:
            n = max(apart(stop[i + 2, 0], stop[i + 2, 1], stop[i + 2, 2], stop[i + 1, 0], stop[i + 1, 1], stop[i + 1, 2]), 1e-9)
            ox, oy, oz = (stop[i + 2, 0] - stop[i + 1, 0]) / n, (stop[i + 2, 1] - stop[i + 1, 1]) / n, (stop[i + 2, 2] - stop[i + 1, 2]) / n
            if skin[i] < 0:
                _turn(W.field, kx, ky, kz, ox, oy, oz)
            else:
                _bounce(F, W.field, skin[i], kx, ky, kz, surface[i])
                if _weaker(W.field, W.least):
                    return False
            kx, ky, kz = ox, oy, oz
    ux, uy, uz = _upright(kx, ky, kz)
    for b in range(W.left.size):
        taken = W.field[b, 0] * ux + W.field[b, 1] * uy + W.field[b, 2] * uz
        W.arrived[b] = W.left[b] * (taken.real**2 + taken.imag**2)
    return True

"""One path, compiled: the same laws as `legs.py`, `gates.py` and `paths.py`, on plain numbers, for `kernels.py`.

A path is followed twice. The first time only the most that each surface can let through or throw back is counted, and
the path is dropped as soon as it falls below a floor in every band: losses only grow, so none of these could have come
back. What is left is followed with its field.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullstring.radio.kernels_house import (
    ARRIVED,
    COUNT,
    FAIR,
    FLOOR,
    FREE,
    GROUP,
    LEFT,
    OFF,
    SKIN_AT,
    SURFACE,
    WALL,
    apart,
    close,
    compiled,
    find,
    image,
    inlined,
    met,
    plane,
    side,
    step,
)
from pullstring.radio.legs import TOUCH_M
from pullstring.radio.paths import NEAREST_M
from pullstring.radio.skins import STEPS

if TYPE_CHECKING:
    from pullstring.radio.kernels_house import Flat, Metre, Place, Table, Work


@inlined
def _across(kx, ky, kz, nx, ny, nz):
    sx, sy, sz = ky * nz - kz * ny, kz * nx - kx * nz, kx * ny - ky * nx
    size = math.sqrt(sx * sx + sy * sy + sz * sz)
    if size < 1e-9:
        return (0.0, 0.0, 1.0) if abs(nz) < 0.5 else (1.0, 0.0, 0.0)
    return sx / size, sy / size, sz / size


@inlined
def _upright(kx, ky, kz):
    flat = math.sqrt(kx * kx + ky * ky)
    if flat < 1e-9:
        return 1.0, 0.0, 0.0
    return -kx * kz / flat, -ky * kz / flat, flat


@inlined
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


@inlined
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


@inlined
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


@inlined
def _lose(F, W, way, skin, cos):
    """Take from what is left the least that a skin takes; whether too little remains in every band."""
    low = step(cos)
    gone = True
    for b in range(W.field.shape[0]):
        W.room[LEFT, b] *= F.most[way, b, skin, low]
        if W.room[LEFT, b] >= W.room[FLOOR, b]:
            gone = False
    return gone


@inlined
def _pass(F, k, leg, ax, ay, az, dx, dy, dz, far, W):
    """Through surface k, if anything stands where the leg meets it; False when too little is left."""
    a, b = side(F, k, ax, ay, az), side(F, k, ax + dx, ay + dy, az + dz)
    t = a / (a - b)
    skin = met(F, k, ax + t * dx, ay + t * dy, az + t * dz)
    if skin < 0:
        return True
    n = W.turns[COUNT, 0]
    W.turns[COUNT, 0] = n + 1
    while n > 0 and (W.met[n - 1, 2] > leg or W.met[n - 1, 2] == leg and W.met[n - 1, 0] > k):
        W.met[n, 0], W.met[n, 1], W.met[n, 2] = W.met[n - 1, 0], W.met[n - 1, 1], W.met[n - 1, 2]
        n -= 1
    W.met[n, 0], W.met[n, 1], W.met[n, 2] = k, skin, leg
    return not _lose(F, W, 0, skin, (a - b) / far)


@inlined
def _scan(F, i, skip, other, W):
    """List what leg i crosses; False when too little is left behind it."""
    ax, ay, az = W.room[i, 0], W.room[i, 1], W.room[i, 2]
    bz = W.room[i + 1, 2]
    dx, dy, dz = W.room[i + 1, 0] - ax, W.room[i + 1, 1] - ay, bz - az
    far = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-9)
    for s in range(F.storeys.shape[0]):
        if max(az, bz) < F.storeys[s, 0] or min(az, bz) >= F.storeys[s, 1]:
            continue
        for group in range(int(F.storeys[s, 2]), int(F.storeys[s, 3])):
            blocks = close(F.hulls, group, ax + 0.5 * dx, ay + 0.5 * dy, dx, dy)
            block = group * GROUP
            while blocks:
                found = find(F.planks, block, ax, ay, az, dx, dy, dz) if blocks & 1 else 0
                lane = 0
                while found:
                    k = int(F.planks[block, WALL, lane])
                    if found & 1 and k != skip and k != other and not _pass(F, k, i, ax, ay, az, dx, dy, dz, far, W):
                        return False
                    found >>= 1
                    lane += 1
                blocks >>= 1
                block += 1
    for k in range(F.walls, F.plates.shape[1]):
        a, b = az - F.plates[OFF, k], bz - F.plates[OFF, k]
        if a * b >= 0 or abs(a) <= TOUCH_M or abs(b) <= TOUCH_M or k in (skip, other):
            continue
        if not _pass(F, k, i, ax, ay, az, dx, dy, dz, far, W):
            return False
    return True


@inlined
def _longest(W, turns, done):
    """The longest leg that is not done: it meets most, and what is lost there need not be looked for elsewhere."""
    best, most = 0, -1.0
    for i in range(turns + 1):
        far = 0.0
        for axis in range(3):
            far += (W.room[i + 1, axis] - W.room[i, axis]) ** 2
        if far > most and not done >> i & 1:
            best, most = i, far
    return best


@inlined
def _leg(W, i):
    """Unit vector along leg i."""
    ax, ay, az, bx, by, bz = (
        W.room[i, 0],
        W.room[i, 1],
        W.room[i, 2],
        W.room[i + 1, 0],
        W.room[i + 1, 1],
        W.room[i + 1, 2],
    )
    far = max(apart(ax, ay, az, bx, by, bz), 1e-9)
    return (bx - ax) / far, (by - ay) / far, (bz - az) / far


@inlined
def _fields(F, turns, W):
    """The field along a path whose crossings are listed, and what an upright rod takes of it at the end."""
    kx, ky, kz = _leg(W, 0)
    ux, uy, uz = _upright(kx, ky, kz)
    for b in range(W.field.shape[0]):
        W.field[b, 0], W.field[b, 1], W.field[b, 2] = ux, uy, uz
    for c in range(W.crossed.size):
        W.crossed[c] = 0
    n = 0
    for i in range(turns + 1):
        while n < W.turns[COUNT, 0] and W.met[n, 2] == i:
            _cross(F, W.field, W.met[n, 1], kx, ky, kz, W.met[n, 0])
            W.crossed[W.met[n, 1]] += 1
            n += 1
        if i < turns:
            ox, oy, oz = _leg(W, i + 1)
            if W.turns[SKIN_AT, i] < 0:
                _turn(W.field, kx, ky, kz, ox, oy, oz)
            else:
                _bounce(F, W.field, W.turns[SKIN_AT, i], kx, ky, kz, W.turns[SURFACE, i])
            kx, ky, kz = ox, oy, oz
    ux, uy, uz = _upright(kx, ky, kz)
    for b in range(W.field.shape[0]):
        taken = W.field[b, 0] * ux + W.field[b, 1] * uy + W.field[b, 2] * uz
        W.room[ARRIVED, b] = W.room[FREE, b] * (taken.real**2 + taken.imag**2)


KNIFE = 0.20417379446695297
"""10 ** -0.69: the share behind a knife edge at nu = 0.1; see gates.knife_db."""


@inlined
def knife(detour: Metre, wave: Metre):
    """Share of power left behind a knife edge, from the detour round it; see gates.knife_db."""
    nu = 2 * math.sqrt(max(detour, 0.0) / wave) - 0.1
    return KNIFE / (math.sqrt(nu * nu + 1) + nu) ** 2


@inlined
def _edge_left(F, turns, i, W):
    """Multiply what is left by the share behind the knife edge at turn i; see paths._detour."""
    stop = W.room
    ax, ay, az = stop[i, 0], stop[i, 1], stop[i, 2]
    bx, by, bz = stop[i + 2, 0], stop[i + 2, 1], stop[i + 2, 2]
    if i > 0 and W.turns[SKIN_AT, i - 1] >= 0:
        ax, ay, az = image(F, W.turns[SURFACE, i - 1], stop[i - 1, 0], stop[i - 1, 1], stop[i - 1, 2])
    if i + 1 < turns and W.turns[SKIN_AT, i + 1] >= 0:
        bx, by, bz = image(F, W.turns[SURFACE, i + 1], stop[i + 3, 0], stop[i + 3, 1], stop[i + 3, 2])
    ex, ey, ez = stop[i + 1, 0], stop[i + 1, 1], stop[i + 1, 2]
    detour = apart(ax, ay, az, ex, ey, ez) + apart(ex, ey, ez, bx, by, bz) - apart(ax, ay, az, bx, by, bz)
    for b in range(W.field.shape[0]):
        W.room[FREE, b] *= knife(detour, F.wave[0, b])


@inlined
def _ahead(F, turns, W):
    """Power left by distance and edges alone; False when with the least that walls take it is too little in every band."""
    far = 0.0
    for i in range(turns + 1):
        far += apart(W.room[i, 0], W.room[i, 1], W.room[i, 2], W.room[i + 1, 0], W.room[i + 1, 1], W.room[i + 1, 2])
    far = max(far, NEAREST_M)
    for b in range(W.field.shape[0]):
        W.room[FREE, b] = F.wave[1, b] / (far * far)
    for i in range(turns):
        if W.turns[SKIN_AT, i] < 0:
            _edge_left(F, turns, i, W)
    alive = False
    for b in range(W.field.shape[0]):
        W.room[LEFT, b] = W.room[FREE, b]
        alive = alive or W.room[FREE, b] * W.room[FAIR, b] >= W.room[FLOOR, b]
    return alive


@inlined
def gain_of(gain: Table, even: Place, kx: Metre, ky: Metre, kz: Metre):
    """Gain of the sender's antenna in a direction, from its table [azimuth, elevation]; a power ratio. `even` as in Sent."""
    turns, rises = gain.shape[0], gain.shape[1] - 1
    if even == 1:
        e = (math.asin(min(max(kz, -1.0), 1.0)) / math.pi + 0.5) * rises
        j = min(int(e), rises - 1)
        return gain[0, j] * (1 - (e - j)) + gain[0, j + 1] * (e - j)
    a = (math.atan2(ky, kx) / (2 * math.pi) % 1.0) * turns
    e = (math.asin(min(max(kz, -1.0), 1.0)) / math.pi + 0.5) * rises
    i, j = int(a) % turns, min(int(e), rises - 1)
    p, q = a - int(a), e - j
    n = (i + 1) % turns
    return (gain[i, j] * (1 - q) + gain[i, j + 1] * q) * (1 - p) + (gain[n, j] * (1 - q) + gain[n, j + 1] * q) * p


@compiled
def follow(F: Flat, gain: Table, even: Place, turns: Place, W: Work):
    """One path along its stops into W.arrived and W.crossed; False when it fell below the floor on its way."""
    if not _ahead(F, turns, W):
        return False
    W.turns[COUNT, 0] = 0
    for i in range(turns):
        if W.turns[SKIN_AT, i] >= 0:
            kx, ky, kz = _leg(W, i)
            nx, ny, nz = plane(F, W.turns[SURFACE, i])
            if _lose(F, W, 1, W.turns[SKIN_AT, i], kx * nx + ky * ny + kz * nz):
                return False
    done = 0
    for _ in range(turns + 1):
        i = _longest(W, turns, done)
        done |= 1 << i
        skip = W.turns[SURFACE, i - 1] if i > 0 else -1
        other = W.turns[SURFACE, i] if i < turns else -1
        if not _scan(F, i, skip, other, W):
            return False
    if even < 2:
        kx, ky, kz = _leg(W, 0)
        sent = gain_of(gain, even, kx, ky, kz)
        alive = False
        for b in range(W.field.shape[0]):
            W.room[FREE, b] *= sent
            alive = alive or W.room[LEFT, b] * sent >= W.room[FLOOR, b]
        if not alive:
            return False
    _fields(F, turns, W)
    return True


@compiled
def keep(at: Place, W: Work, used: Table, power: Table, counts: Table):
    """Add an arrived path to the bundle of point `at` with the same crossings; a new one takes a free or the weakest slot."""
    slots = counts.shape[1]
    weakest, least = 0, 1e300
    for s in range(used[at]):
        same = True
        for c in range(W.crossed.size):
            if counts[at, s, c] != W.crossed[c]:
                same = False
                break
        if same:
            for b in range(W.field.shape[0]):
                power[b, at, s] += W.room[ARRIVED, b]
            return
        most = 0.0
        for b in range(W.field.shape[0]):
            most = max(most, power[b, at, s])
        if most < least:
            weakest, least = s, most
    arrives = 0.0
    for b in range(W.field.shape[0]):
        arrives = max(arrives, W.room[ARRIVED, b])
    fresh = used[at] < slots
    if fresh:
        weakest = used[at]
        used[at] += 1
    if fresh or arrives >= least:
        for c in range(W.crossed.size):
            counts[at, weakest, c] = W.crossed[c]
    for b in range(W.field.shape[0]):
        power[b, at, weakest] += W.room[ARRIVED, b]

"""One reflection and one edge of an opening, in either order, compiled.

Seen from the spot whose image the surface throws, both orders are alike: the sender's with the surface first, the
point's with the edge first. Distance and knife edge of eight ways are worked out at once.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from pullstring.radio.kernels_bends import EDGE, EUX, EUY, EUZ, EWALL, EX, EY, EZ, SIZE, bend, hit, parted
from pullstring.radio.kernels_cells import near
from pullstring.radio.kernels_house import FAIR, FLOOR, LANES, OFF, WORTH, compiled, image, inlined, plane
from pullstring.radio.kernels_path import KNIFE
from pullstring.radio.kernels_sum import arrive, by, open_at, put

if TYPE_CHECKING:
    from pullstring.radio.kernels_cells import Aids, Cells, Sent, Sum
    from pullstring.radio.kernels_house import Flat, Metre, Place, Ratio, Table, Work

NX, NY, NZ, AT, FX, FY, FZ, UX, UY, UZ, LONG, STRONG, NUMBER = range(13)
"""Rows of the ways of a cell: normal and offset of the surface; foot, unit vector and length of the edge; power it can
have at a metre, without the knife edge, over what is worth following; place in the list."""


@inlined
def set_way(A: Aids, D: Table, at: Place, normal: Any, off: Metre, e: Place, strong: Ratio, n: Place):
    """Write way `at` of a cell: by a plane, or by none where its normal is nothing, and edge e."""
    block, lane = at // LANES, at % LANES
    D[block, NX, lane], D[block, NY, lane], D[block, NZ, lane] = normal
    D[block, AT, lane] = off
    D[block, FX, lane], D[block, FY, lane], D[block, FZ, lane] = A.rims[e, EX], A.rims[e, EY], A.rims[e, EZ]
    D[block, UX, lane], D[block, UY, lane], D[block, UZ, lane] = A.rims[e, EUX], A.rims[e, EUY], A.rims[e, EUZ]
    D[block, LONG, lane], D[block, STRONG, lane], D[block, NUMBER, lane] = A.rims[e, SIZE], strong, n


@inlined
def filled_up(D: Table, row: Place, count: Place):
    """How many blocks so many ways take; what the last has no way for is nothing in the row of its power."""
    blocks = -(-count // LANES)
    for at in range(count, LANES * blocks):
        D[at // LANES, row, at % LANES] = 0.0
    return blocks


@compiled
def _list_ways(F, A, C, c, S, R, W, own):
    """List the ways of the sender or of the cell that can matter; gives blocks of them, the last filled up with nothing."""
    count, surfaces, bands = 0, F.plates.shape[1], W.field.shape[0]
    straight = near(C, c, S.spot[0], S.spot[1], S.spot[2])
    first, last = (0, S.ways.shape[0]) if own else (C.way_from[c], C.way_from[c + 1])
    limit = straight * straight / EDGE
    for n in range(first, last):
        k, e, g = (S.ways[n, 0], S.ways[n, 1], S.ways[n, 2]) if own else (C.ways[n, 0], C.ways[n, 1], C.ways[n, 2])
        best, strong = 0.0, 0.0
        for b in range(bands):
            share = (S.way_share[n, b] if own else C.way_share[n, b]) * F.wave[1, b] / W.room[WORTH, b]
            best = max(best, share)
            strong = max(strong, share * (C.sight[c, surfaces + g, b] if own else S.sight[0, surfaces + g, b]))
        if best < limit and bands == 1:
            break
        if strong >= limit:
            set_way(A, R.ways, count, plane(F, k), F.plates[OFF, k], e, strong, n)
            count += 1
    return filled_up(R.ways, STRONG, count)


@inlined
def longest(F: Flat):
    """The longest wave: it loses least at an edge. [m]"""
    wave = F.wave[0, 0]
    for b in range(F.wave.shape[1]):
        wave = max(wave, F.wave[0, b])
    return wave


@inlined
def least_worth(W: Work):
    """By how much what is worth following to a point is more than to its cell, in the band where that is least."""
    limit = 1e300
    for b in range(W.field.shape[0]):
        limit = min(limit, W.room[FLOOR, b] / W.room[WORTH, b])
    return limit


@inlined
def matter(
    D: Table, block: Place, vx: Metre, vy: Metre, vz: Metre, x: Metre, y: Metre, z: Metre, wave: Metre, limit: Ratio
):
    """Which ways of a block are above a limit, a bit each: from the image of spot v by the edge to the other spot."""
    found = 0
    for lane in range(LANES):
        nx, ny, nz = D[block, NX, lane], D[block, NY, lane], D[block, NZ, lane]
        over = 2 * (nx * vx + ny * vy + nz * vz - D[block, AT, lane])
        ix, iy, iz = vx - over * nx, vy - over * ny, vz - over * nz
        fx, fy, fz = D[block, FX, lane], D[block, FY, lane], D[block, FZ, lane]
        ux, uy, uz = D[block, UX, lane], D[block, UY, lane], D[block, UZ, lane]
        a = (ix - fx) * ux + (iy - fy) * uy + (iz - fz) * uz
        b = (x - fx) * ux + (y - fy) * uy + (z - fz) * uz
        a2 = (ix - fx) ** 2 + (iy - fy) ** 2 + (iz - fz) ** 2 - a * a
        b2 = (x - fx) ** 2 + (y - fy) ** 2 + (z - fz) ** 2 - b * b
        off_a, off_b = math.sqrt(abs(a2)), math.sqrt(abs(b2))
        t = (a * off_b + b * off_a) / (off_a + off_b + 1e-9)
        t = t if t > 0 else 0.0
        t = t if t < D[block, LONG, lane] else D[block, LONG, lane]
        way = math.sqrt(abs(a2) + (a - t) ** 2) + math.sqrt(abs(b2) + (b - t) ** 2)
        detour = way - math.sqrt((ix - x) ** 2 + (iy - y) ** 2 + (iz - z) ** 2)
        detour = detour if detour > 0 else 0.0
        nu = 2 * math.sqrt(detour / wave) - 0.1
        bent = (math.sqrt(nu * nu + 1) + nu) * way
        found |= (1 << lane) if D[block, STRONG, lane] * KNIFE >= limit * bent * bent else 0
    return found


@inlined
def _stops(F, A, k, e, W, own, x, y, z):
    """Stops of a way into the room; False where the surface is not met or the edge does not part its ends."""
    ax, ay, az = W.room[0, 0], W.room[0, 1], W.room[0, 2]
    vx, vy, vz, tx, ty, tz = (ax, ay, az, x, y, z) if own else (x, y, z, ax, ay, az)
    ix, iy, iz = image(F, k, vx, vy, vz)
    qx, qy, qz = bend(A.rims, e, ix, iy, iz, tx, ty, tz)
    px, py, pz, found = hit(F, k, ix, iy, iz, qx, qy, qz)
    wall = int(A.rims[e, EWALL])
    if found < 0 or not parted(F, wall, px, py, pz, tx, ty, tz):
        return False
    if own:
        put(W, 1, px, py, pz)
        put(W, 2, qx, qy, qz)
        by(W, 0, k, found)
        by(W, 1, wall, -1)
    else:
        put(W, 1, qx, qy, qz)
        put(W, 2, px, py, pz)
        by(W, 0, wall, -1)
        by(W, 1, k, found)
    return True


@inlined
def _one_way(F, A, C, c, S, n, at, x, y, z, R, W, own):
    k, e, g = (S.ways[n, 0], S.ways[n, 1], S.ways[n, 2]) if own else (C.ways[n, 0], C.ways[n, 1], C.ways[n, 2])
    thing = F.plates.shape[1] + g
    if not _stops(F, A, k, e, W, own, x, y, z):
        return
    for b in range(W.field.shape[0]):
        if own:
            W.room[FAIR, b] = S.way_share[n, b] * C.sight[c, thing, b]
        else:
            W.room[FAIR, b] = C.way_share[n, b] * S.sight[0, thing, b]
    arrive(F, S, 2, at, R, W)


@compiled
def by_ways(F: Flat, A: Aids, C: Cells, c: Place, S: Sent, R: Sum, W: Work, own: Place):
    """One reflection and one edge to the points of a cell: the surface first (`own` 1), or the edge first (0)."""
    blocks = _list_ways(F, A, C, c, S, R, W, own)
    ax, ay, az = S.spot[0], S.spot[1], S.spot[2]
    wave = longest(F)
    for at in range(C.start[c], C.start[c + 1] if blocks else C.start[c]):
        x, y, z = open_at(C, R, at, W)
        put(W, 3, x, y, z)
        vx, vy, vz, tx, ty, tz = (ax, ay, az, x, y, z) if own else (x, y, z, ax, ay, az)
        limit = least_worth(W)
        for block in range(blocks):
            found, lane = matter(R.ways, block, vx, vy, vz, tx, ty, tz, wave, limit), 0
            while found:
                if found & 1:
                    n = int(R.ways[block, NUMBER, lane])
                    _one_way(F, A, C, c, S, n, at, x, y, z, R, W, own)
                found >>= 1
                lane += 1

"""Strings pulled tight round the edges of one opening, or through two in a row, compiled.

Distance and knife edges of eight of them are worked out at once; only those that can matter at a point are followed.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullstring.radio.gates import ROUNDS
from pullstring.radio.kernels_bends import (
    EDGE,
    EGATE,
    EWALL,
    GCX,
    GCY,
    GHIGH,
    GLOW,
    GWALL,
    GX,
    GY,
    WIDTH,
    bend,
    beyond,
    half,
    middle,
    parted,
    pull,
    through,
)
from pullstring.radio.kernels_cells import near
from pullstring.radio.kernels_house import FAIR, LANES, WORTH, apart, compiled, inlined
from pullstring.radio.kernels_path import KNIFE
from pullstring.radio.kernels_sum import arrive, by, open_at, put
from pullstring.radio.kernels_ways import NUMBER, STRONG, filled_up, least_worth, longest, matter, set_way

if TYPE_CHECKING:
    from pullstring.radio.kernels_cells import Aids, Cells, Sent, Sum
    from pullstring.radio.kernels_house import Flat, Place, Work

FX, FY, UX, UY, WIDE, BOTTOM, TOP = range(7)
"""Rows of one opening among the strings of a cell: foot, unit vector along, width, heights; the other's stand `OTHER` lower."""
OTHER, POWER, WHICH = 7, 14, 15
"""Where the rows of the second opening begin; power a string can have at a metre, without the knife edges, over what is worth
following; its place in the list."""
ROWS = 16


@compiled
def _list_rims(F, A, C, c, S, R, W):
    """List the edges round which a cell can be reached; gives blocks of them."""
    ax, ay, az = S.spot[0], S.spot[1], S.spot[2]
    surfaces, count = F.plates.shape[1], 0
    for g in range(A.gates.shape[0]):
        gx, gy, gz = middle(A.gates, g)
        far = apart(ax, ay, az, gx, gy, gz) + near(C, c, gx, gy, gz) - 2 * half(A.gates, g)
        far = max(near(C, c, ax, ay, az), far)
        strong = 0.0
        for b in range(W.field.shape[0]):
            share = S.sight[0, surfaces + g, b] * C.sight[c, surfaces + g, b]
            strong = max(strong, share * F.wave[1, b] / W.room[WORTH, b])
        if strong * EDGE >= far * far:
            for e in range(A.rim_from[g], A.rim_from[g + 1]):
                set_way(A, R.ways, count, (0.0, 0.0, 0.0), 0.0, e, strong, e)
                count += 1
    return filled_up(R.ways, STRONG, count)


@compiled
def by_rims(F: Flat, A: Aids, C: Cells, c: Place, S: Sent, R: Sum, W: Work):
    """Round each edge of each opening to points on the other side of its wall."""
    ax, ay, az = S.spot[0], S.spot[1], S.spot[2]
    surfaces, blocks = F.plates.shape[1], _list_rims(F, A, C, c, S, R, W)
    wave = longest(F)
    for at in range(C.start[c], C.start[c + 1] if blocks else C.start[c]):
        x, y, z = open_at(C, R, at, W)
        put(W, 2, x, y, z)
        limit = least_worth(W)
        for block in range(blocks):
            found, lane = matter(R.ways, block, ax, ay, az, x, y, z, wave, limit), 0
            while found:
                e = int(R.ways[block, NUMBER, lane])
                k, g = int(A.rims[e, EWALL]), surfaces + int(A.rims[e, EGATE])
                if found & 1 and parted(F, k, ax, ay, az, x, y, z):
                    for b in range(W.field.shape[0]):
                        W.room[FAIR, b] = S.sight[0, g, b] * C.sight[c, g, b]
                    by(W, 0, k, -1)
                    qx, qy, qz = bend(A.rims, e, ax, ay, az, x, y, z)
                    put(W, 1, qx, qy, qz)
                    arrive(F, S, 1, at, R, W)
                found >>= 1
                lane += 1


@inlined
def _set(A, D, at, g, h, strong, n):
    block, lane = at // LANES, at % LANES
    for row, gate in ((0, g), (OTHER, h)):
        D[block, row + FX, lane], D[block, row + FY, lane] = A.gates[gate, GX], A.gates[gate, GY]
        D[block, row + UX, lane], D[block, row + UY, lane] = A.gates[gate, GCX], A.gates[gate, GCY]
        D[block, row + WIDE, lane] = A.gates[gate, WIDTH]
        D[block, row + BOTTOM, lane], D[block, row + TOP, lane] = A.gates[gate, GLOW], A.gates[gate, GHIGH]
    D[block, POWER, lane], D[block, WHICH, lane] = strong, n


@compiled
def _list_strings(F, A, C, c, S, R, W):
    """List the pairs of openings in a row by which a cell can be reached; gives blocks of them."""
    count, surfaces = 0, F.plates.shape[1]
    straight = near(C, c, S.spot[0], S.spot[1], S.spot[2])
    for n in range(S.strings.shape[0]):
        g, h = S.strings[n, 0], S.strings[n, 1]
        px, py, pz = middle(A.gates, g)
        qx, qy, qz = middle(A.gates, h)
        slack = half(A.gates, g) + half(A.gates, h)
        far = apart(S.spot[0], S.spot[1], S.spot[2], px, py, pz) + apart(px, py, pz, qx, qy, qz)
        far = max(straight, far + near(C, c, qx, qy, qz) - 2 * slack)
        strong = 0.0
        for b in range(W.field.shape[0]):
            share = S.string_share[n, b] * C.sight[c, surfaces + h, b]
            strong = max(strong, share * F.wave[1, b] / W.room[WORTH, b])
        if strong * EDGE * EDGE >= far * far:
            _set(A, R.strings, count, g, h, strong, n)
            count += 1
    return filled_up(R.strings, POWER, count)


@inlined
def _bent(detour, wave):
    """What a knife edge divides the square of a distance by, at the least, as a factor on the distance; see kernels_path.knife."""
    nu = 2 * math.sqrt(max(detour, 0.0) / wave) - 0.1
    return math.sqrt(nu * nu + 1) + nu


@inlined
def _matter(D, block, ax, ay, az, bx, by, bz, wave, limit):
    """Which strings of a block are above a limit, a bit each: pulled tight as by `pull`, wherever they bend."""
    found = 0
    for lane in range(LANES):
        fx, fy, ux, uy = D[block, FX, lane], D[block, FY, lane], D[block, UX, lane], D[block, UY, lane]
        gx, gy = D[block, OTHER + FX, lane], D[block, OTHER + FY, lane]
        vx, vy = D[block, OTHER + UX, lane], D[block, OTHER + UY, lane]
        wide, low, high = D[block, WIDE, lane], D[block, BOTTOM, lane], D[block, TOP, lane]
        wide_, low_, high_ = D[block, OTHER + WIDE, lane], D[block, OTHER + BOTTOM, lane], D[block, OTHER + TOP, lane]
        px, py, pz = fx + 0.5 * wide * ux, fy + 0.5 * wide * uy, 0.5 * (low + high)
        qx, qy, qz = gx + 0.5 * wide_ * vx, gy + 0.5 * wide_ * vy, 0.5 * (low_ + high_)
        for _ in range(ROUNDS):
            tx, ty, tz = through(fx, fy, ux, uy, wide, low, high, ax, ay, az, qx, qy, qz)
            qx, qy, qz = through(gx, gy, vx, vy, wide_, low_, high_, px, py, pz, bx, by, bz)
            px, py, pz = tx, ty, tz
        one, two, three = apart(ax, ay, az, px, py, pz), apart(px, py, pz, qx, qy, qz), apart(qx, qy, qz, bx, by, bz)
        first = _bent(one + two - apart(ax, ay, az, qx, qy, qz), wave)
        second = _bent(two + three - apart(px, py, pz, bx, by, bz), wave)
        size = (one + two + three) * first * second
        found |= (1 << lane) if D[block, POWER, lane] * KNIFE * KNIFE >= limit * size * size else 0
    return found


@compiled
def by_two_gates(F: Flat, A: Aids, C: Cells, c: Place, S: Sent, R: Sum, W: Work):
    """By two openings in a row, on the shortest string through both, where it bends at both."""
    blocks, surfaces = _list_strings(F, A, C, c, S, R, W), F.plates.shape[1]
    wave = longest(F)
    for at in range(C.start[c], C.start[c + 1] if blocks else C.start[c]):
        x, y, z = open_at(C, R, at, W)
        put(W, 3, x, y, z)
        limit = least_worth(W)
        for block in range(blocks):
            found, lane = _matter(R.strings, block, S.spot[0], S.spot[1], S.spot[2], x, y, z, wave, limit), 0
            while found:
                n = int(R.strings[block, WHICH, lane])
                g, h = S.strings[n, 0], S.strings[n, 1]
                k, m = int(A.gates[g, GWALL]), int(A.gates[h, GWALL])
                if found & 1 and beyond(F, A.gates, m, g, x, y, z) and pull(F, A.gates, g, h, W):
                    for b in range(W.field.shape[0]):
                        W.room[FAIR, b] = S.string_share[n, b] * C.sight[c, surfaces + h, b]
                    by(W, 0, k, -1)
                    by(W, 1, m, -1)
                    arrive(F, S, 2, at, R, W)
                found >>= 1
                lane += 1

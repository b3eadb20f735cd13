"""All paths of `paths.py` from one sender to many points, compiled: the same answers as the numpy path.

Points come in cells. For a cell, the surfaces and openings by which a path could matter are listed first: distance,
the most that walls leave by sight from afar, what a surface throws back at these angles. A path is passed over when
all that leaves it `cut` below what has already arrived, in every band.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullstring.radio.kernels_bends import hit
from pullstring.radio.kernels_cells import glimmers, glimmers_twice, in_wedge, lit, near
from pullstring.radio.kernels_house import (
    FAIR,
    FLOOR,
    WORTH,
    compiled,
    inlined,
    plane,
    side,
    step,
)
from pullstring.radio.kernels_strings import by_rims, by_two_gates
from pullstring.radio.kernels_sum import arrive, by, open_at, put, worth
from pullstring.radio.kernels_ways import by_ways
from pullstring.radio.legs import TOUCH_M

if TYPE_CHECKING:
    from pullstring.radio.kernels_cells import Aids, Cells, Sent, Sum
    from pullstring.radio.kernels_house import Flat, Place, Work


@compiled
def _straight(F, C, c, S, R, W):
    for b in range(W.field.shape[0]):
        W.room[FAIR, b] = 1.0
    for at in range(C.start[c], C.start[c + 1]):
        x, y, z = open_at(C, R, at, W)
        put(W, 1, x, y, z)
        arrive(F, S, 0, at, R, W)


@compiled
def _list_mirrors(F, A, C, c, S, R, W):
    count = 0
    for k in range(F.plates.shape[1]):
        if abs(side(F, k, S.spot[0], S.spot[1], S.spot[2])) <= TOUCH_M:
            continue
        ix, iy, iz = S.first[k, 0], S.first[k, 1], S.first[k, 2]
        if not lit(F, C, c, k, ix, iy, iz):
            continue
        for b in range(W.field.shape[0]):
            W.room[FAIR, b] = S.sight[0, k, b] * C.sight[c, k, b]
        if glimmers(F, A, C, c, k, ix, iy, iz, W):
            R.listed[count] = k
            count += 1
    return count


@compiled
def _by_one_mirror(F, A, C, c, S, R, W):
    count = _list_mirrors(F, A, C, c, S, R, W)
    for at in range(C.start[c], C.start[c + 1] if count else C.start[c]):
        x, y, z = open_at(C, R, at, W)
        put(W, 2, x, y, z)
        for n in range(count):
            k = R.listed[n]
            px, py, pz, found = hit(F, k, S.first[k, 0], S.first[k, 1], S.first[k, 2], x, y, z)
            if found < 0:
                continue
            for b in range(W.field.shape[0]):
                W.room[FAIR, b] = S.sight[0, k, b] * C.sight[c, k, b]
            put(W, 1, px, py, pz)
            by(W, 0, k, found)
            arrive(F, S, 1, at, R, W)


@compiled
def _list_pairs(F, A, C, c, S, R, W):
    """Pairs of surfaces by which a cell can be reached."""
    count = 0
    far = near(C, c, S.spot[0], S.spot[1], S.spot[2])
    for n in range(S.pairs.shape[0]):
        ended, j = True, S.pairs[n, 1]
        faint = True
        for b in range(W.field.shape[0]):
            share = S.pair_share[n, b] * F.wave[1, b]
            if share >= W.room[WORTH, b] * far * far:
                ended = False
                faint = faint and share * C.sight[c, j, b] < W.room[WORTH, b] * far * far
        if ended and W.field.shape[0] == 1:
            break
        if faint or not lit(F, C, c, j, S.images[n, 0], S.images[n, 1], S.images[n, 2]):
            continue
        if S.pairs[n, 0] < F.walls and not in_wedge(
            C, c, S.images[n, 0], S.images[n, 1], S.images[n, 6], S.images[n, 7], S.images[n, 8], S.images[n, 9]
        ):
            continue
        if glimmers_twice(F, A, C, c, S, n, W):
            R.listed[count] = n
            count += 1
    return count


@inlined
def _dim(F, A, C, c, S, n, x, y, z, W):
    """Whether pair n cannot matter at a point, by distance, angles and sight; else its shares stand in the room."""
    i, j = S.pairs[n, 0], S.pairs[n, 1]
    dx, dy, dz = x - S.images[n, 0], y - S.images[n, 1], z - S.images[n, 2]
    far2 = dx * dx + dy * dy + dz * dz
    far = math.sqrt(far2)
    nx, ny, nz = plane(F, j)
    last = step((dx * nx + dy * ny + dz * nz) / far)
    first = step((dx * S.images[n, 3] + dy * S.images[n, 4] + dz * S.images[n, 5]) / far)
    dim = True
    for b in range(W.field.shape[0]):
        W.room[FAIR, b] = S.pair_share[n, b] * C.sight[c, j, b]
        share = W.room[FAIR, b] * A.bright[b, i, first] * A.bright[b, j, last] * F.wave[1, b]
        if share >= W.room[FLOOR, b] * far2:
            dim = False
    return dim


@compiled
def _by_two_mirrors(F, A, C, c, S, R, W):
    count = _list_pairs(F, A, C, c, S, R, W)
    for at in range(C.start[c], C.start[c + 1] if count else C.start[c]):
        x, y, z = open_at(C, R, at, W)
        put(W, 3, x, y, z)
        for one in range(count):
            n = R.listed[one]
            i, j = S.pairs[n, 0], S.pairs[n, 1]
            qx, qy, qz, second = hit(F, j, S.images[n, 0], S.images[n, 1], S.images[n, 2], x, y, z)
            if second < 0 or _dim(F, A, C, c, S, n, x, y, z, W):
                continue
            px, py, pz, first = hit(F, i, S.first[i, 0], S.first[i, 1], S.first[i, 2], qx, qy, qz)
            if first < 0:
                continue
            put(W, 1, px, py, pz)
            put(W, 2, qx, qy, qz)
            by(W, 0, i, first)
            by(W, 1, j, second)
            arrive(F, S, 2, at, R, W)


@compiled
def trace(
    F: Flat, A: Aids, C: Cells, S: Sent, reflections: Place, openings: Place, first: Place, last: Place, R: Sum, W: Work
):
    """All paths from one sender to the points of some cells, into R."""
    put(W, 0, S.spot[0], S.spot[1], S.spot[2])
    for c in range(first, last):
        _straight(F, C, c, S, R, W)
        if openings or reflections:
            worth(C, c, R, W)
        if reflections:
            _by_one_mirror(F, A, C, c, S, R, W)
            worth(C, c, R, W)
        if openings:
            by_rims(F, A, C, c, S, R, W)
            worth(C, c, R, W)
        if openings > 1:
            by_two_gates(F, A, C, c, S, R, W)
            worth(C, c, R, W)
        if reflections > 1:
            _by_two_mirrors(F, A, C, c, S, R, W)
            worth(C, c, R, W)
        if reflections > 1 and openings:
            for order in range(2):
                by_ways(F, A, C, c, S, R, W, 1 - order)
                worth(C, c, R, W)

"""Points in cells, compiled: what can reach any point of a cell at all, and how strong it can be at the most."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from pullstring.radio.kernels_house import (
    CX,
    CY,
    FAIR,
    FOOT,
    HIGH,
    LENGTH,
    LOW,
    OFF,
    WORTH,
    inlined,
    plane,
    side,
    step,
)
from pullstring.radio.legs import TOUCH_M

if TYPE_CHECKING:
    from pullstring.radio.kernels_house import Flat, Metre, Place, Work


class Cells(NamedTuple):
    """Points in groups that lie close together on a storey."""

    points: Any  # [p, 3] in the order of the cells
    start: Any  # [cells + 1]
    box: Any  # [cells, 6] middle and half size
    sight: Any  # [cells, things, bands]
    way_from: Any  # [cells + 1]
    ways: Any  # int32 [n, 2] surface and edge by which a cell can be reached, edge first, best first
    way_share: Any  # [n, bands] most that is left of these


class Sent(NamedTuple):
    """A sender and what can leave it."""

    spot: Any  # [3]
    first: Any  # [surfaces, 3] its images
    sight: Any  # [1, things, bands]
    pairs: Any  # int32 [n, 2] surfaces one after the other, best first
    images: Any  # [n, 10] image, and the normal and ends of the first surface mirrored in the second
    pair_share: Any  # [n, bands]
    ways: Any  # int32 [m, 2] surface and edge, best first
    way_share: Any  # [m, bands]
    strings: Any  # int32 [s, 2] two openings one after the other, best first
    string_share: Any  # [s, bands]
    gain: Any
    even: int  # of its antenna: 2 alike in all directions, 1 alike all round, 0 neither


class Aids(NamedTuple):
    """What paths can go by."""

    gates: Any  # [g, 9]
    rims: Any  # [e, 9]
    rim_from: Any  # [g + 1]
    bright: Any  # [bands, surfaces, steps] largest power a surface throws back at a step
    brighter: Any  # the same, at this step or more straight on


class Sum(NamedTuple):
    """What has arrived so far, and the bundles it is kept in."""

    total: Any  # [points, bands]
    listed: Any  # int32 [n] candidates of the cell
    ways: Any  # [blocks, 13, lanes] candidates by a surface and an edge; see `kernels_ways.py`
    strings: Any  # [blocks, 16, lanes] candidates by two openings; see `kernels_strings.py`
    used: Any  # [points]
    power: Any  # float32 [bands, points, bundles]
    counts: Any  # uint8 [points, bundles, skins]
    limits: Any  # [2] cut, least


@inlined
def near(C: Cells, c: Place, x: Metre, y: Metre, z: Metre):
    """Distance of a spot from the box of a cell. [m]"""
    dx = max(abs(x - C.box[c, 0]) - C.box[c, 3], 0.0)
    dy = max(abs(y - C.box[c, 1]) - C.box[c, 4], 0.0)
    dz = max(abs(z - C.box[c, 2]) - C.box[c, 5], 0.0)
    return max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-3)


@inlined
def _straight_on(C, c, nx, ny, nz, x, y, z):
    """Least cosine between n and the way from a spot to somewhere in the box."""
    dx, dy, dz = C.box[c, 0] - x, C.box[c, 1] - y, C.box[c, 2] - z
    hx, hy, hz = C.box[c, 3], C.box[c, 4], C.box[c, 5]
    part = abs(nx * dx + ny * dy + nz * dz) - abs(nx) * hx - abs(ny) * hy - abs(nz) * hz
    if part <= 0:
        return 0.0
    return part / math.sqrt((abs(dx) + hx) ** 2 + (abs(dy) + hy) ** 2 + (abs(dz) + hz) ** 2)


@inlined
def in_wedge(C: Cells, c: Place, ix: Metre, iy: Metre, ax: Metre, ay: Metre, bx: Metre, by: Metre):
    """Whether the cell can lie, seen from above, between the rays from an image through a and through b."""
    ax, ay, bx, by = ax - ix, ay - iy, bx - ix, by - iy
    if ax * by - ay * bx < 0:
        ax, ay, bx, by = bx, by, ax, ay
    mx, my, hx, hy = C.box[c, 0] - ix, C.box[c, 1] - iy, C.box[c, 3], C.box[c, 4]
    left = ax * my - ay * mx + abs(ay) * hx + abs(ax) * hy
    right = bx * my - by * mx - abs(by) * hx - abs(bx) * hy
    return left >= 0 and right <= 0


@inlined
def lit(F: Flat, C: Cells, c: Place, k: Place, ix: Metre, iy: Metre, iz: Metre):
    """Whether a ray from an image through the frame of surface k can reach the cell."""
    P, box = F.plates, C.box
    here = side(F, k, ix, iy, iz)
    there = side(F, k, box[c, 0], box[c, 1], box[c, 2])
    nx, ny, nz = plane(F, k)
    reach = abs(nx) * box[c, 3] + abs(ny) * box[c, 4] + abs(nz) * box[c, 5]
    if abs(here) <= TOUCH_M or (there > reach if here > 0 else there < -reach):
        return False
    if k >= F.walls:
        return True
    if max(iz, box[c, 2] + box[c, 5]) < P[LOW, k] or min(iz, box[c, 2] - box[c, 5]) > P[HIGH, k]:
        return False
    ax, ay = P[FOOT, k] * P[CX, k] - P[OFF, k] * P[CY, k], P[FOOT, k] * P[CY, k] + P[OFF, k] * P[CX, k]
    return in_wedge(C, c, ix, iy, ax, ay, ax + P[LENGTH, k] * P[CX, k], ay + P[LENGTH, k] * P[CY, k])


@inlined
def glimmers(F: Flat, A: Aids, C: Cells, c: Place, k: Place, ix: Metre, iy: Metre, iz: Metre, W: Work):
    """Whether what surface k throws to the cell from an image can matter in any band; what gets there stands in the room."""
    nx, ny, nz = plane(F, k)
    at = step(_straight_on(C, c, nx, ny, nz, ix, iy, iz))
    far = near(C, c, ix, iy, iz)
    for b in range(W.field.shape[0]):
        if W.room[FAIR, b] * A.brighter[b, k, at] * F.wave[1, b] >= W.room[WORTH, b] * far * far:
            return True
    return False


@inlined
def glimmers_twice(F: Flat, A: Aids, C: Cells, c: Place, S: Sent, n: Place, W: Work):
    """As `glimmers`, for pair n of a sender."""
    i, j = S.pairs[n, 0], S.pairs[n, 1]
    ix, iy, iz = S.images[n, 0], S.images[n, 1], S.images[n, 2]
    nx, ny, nz = plane(F, j)
    last = step(_straight_on(C, c, nx, ny, nz, ix, iy, iz))
    first = step(_straight_on(C, c, S.images[n, 3], S.images[n, 4], S.images[n, 5], ix, iy, iz))
    far = near(C, c, ix, iy, iz)
    for b in range(W.field.shape[0]):
        share = S.pair_share[n, b] * C.sight[c, j, b] * A.brighter[b, i, first] * A.brighter[b, j, last]
        if share * F.wave[1, b] >= W.room[WORTH, b] * far * far:
            return True
    return False

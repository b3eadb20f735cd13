"""What stands between places, seen from afar: the most that walls leave of a leg between a spot and anything by which a
path may go. Paths that cannot matter are passed over by it, before they are looked at one by one.

A thing by which paths go (a surface, or an opening in which nothing stands) is looked at through a few samples along it;
the clearest of them counts. Slabs as things are clear of walls: a path may meet them anywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from pullstring.radio.kernels_house import (
    CX,
    CY,
    FOOT,
    FROM,
    GROUP,
    LEFT,
    OFF,
    SKIN,
    TO,
    WALL,
    apart,
    close,
    compiled,
    find,
    inlined,
    met,
    side,
    step,
)
from pullstring.radio.legs import TOUCH_M

if TYPE_CHECKING:
    from pullstring.radio.kernels_house import Flat, Metre, Place, Ratio, Table, Work


class Things(NamedTuple):
    """Surfaces first, openings after them, and their samples."""

    samples: Any  # [n, 3]
    first: Any  # [things + 1]


@inlined
def _clearest(F, k, u, b, low):
    """Most that wall k lets through at some height, u metres along it."""
    most = F.most[0, b, int(F.plates[SKIN, k]), low]
    for p in range(int(F.plates[FROM, k]), int(F.plates[TO, k])):
        if F.patches[p, 0] <= u < F.patches[p, 1]:
            skin = int(F.patches[p, 4])
            most = max(most, F.most[0, b, skin, low] if skin >= 0 else 1.0)
    return most


@inlined
def _clear_wall(F, k, ax, ay, az, dx, dy, dz, far, W):
    """Multiply what is left by the most that wall k leaves of a leg."""
    a, b = side(F, k, ax, ay, az), side(F, k, ax + dx, ay + dy, az + dz)
    t = a / (a - b)
    u = F.plates[CX, k] * (ax + t * dx) + F.plates[CY, k] * (ay + t * dy) - F.plates[FOOT, k]
    low = step((a - b) / far)
    for band in range(W.field.shape[0]):
        W.room[LEFT, band] *= _clearest(F, k, u, band, low)


@compiled
def clear(F: Flat, ax: Metre, ay: Metre, az: Metre, bx: Metre, by: Metre, bz: Metre, W: Work):
    """The most that surfaces leave of a leg, by band, into W.left."""
    for b in range(W.field.shape[0]):
        W.room[LEFT, b] = 1.0
    dx, dy, dz = bx - ax, by - ay, bz - az
    far = max(apart(ax, ay, az, bx, by, bz), 1e-9)
    for s in range(F.storeys.shape[0]):
        if max(az, bz) >= F.storeys[s, 0] and min(az, bz) < F.storeys[s, 1]:
            for group in range(int(F.storeys[s, 2]), int(F.storeys[s, 3])):
                blocks = close(F.hulls, group, ax + 0.5 * dx, ay + 0.5 * dy, dx, dy)
                block = group * GROUP
                while blocks:
                    found = find(F.planks, block, ax, ay, az, dx, dy, dz) if blocks & 1 else 0
                    lane = 0
                    while found:
                        if found & 1:
                            _clear_wall(F, int(F.planks[block, WALL, lane]), ax, ay, az, dx, dy, dz, far, W)
                        found >>= 1
                        lane += 1
                    blocks >>= 1
                    block += 1
    for k in range(F.walls, F.plates.shape[1]):
        a, b = az - F.plates[OFF, k], bz - F.plates[OFF, k]
        if a * b < 0 and abs(a) > TOUCH_M and abs(b) > TOUCH_M:
            t = a / (a - b)
            skin = met(F, k, ax + t * dx, ay + t * dy, F.plates[OFF, k])
            if skin >= 0:
                for band in range(W.field.shape[0]):
                    W.room[LEFT, band] *= F.most[0, band, skin, step((a - b) / far)]


@compiled
def look(F: Flat, T: Things, x: Metre, y: Metre, z: Metre, margin: Ratio, row: Place, view: Table, W: Work):
    """What a spot can see of every thing, at the most, into `view` [rows, things, bands]: larger values only."""
    for n in range(T.first.size - 1):
        if T.first[n] == T.first[n + 1]:
            for b in range(W.field.shape[0]):
                view[row, n, b] = 1.0
        for s in range(T.first[n], T.first[n + 1]):
            clear(F, x, y, z, T.samples[s, 0], T.samples[s, 1], T.samples[s, 2], W)
            for b in range(W.field.shape[0]):
                view[row, n, b] = min(max(view[row, n, b], W.room[LEFT, b] * margin), 1.0)


@compiled
def look_all(F: Flat, T: Things, spots: Table, rows: Table, margin: Ratio, view: Table, W: Work):
    """`look` from every spot [n, 3]; spot n counts for row `rows[n]` of the views."""
    for n in range(spots.shape[0]):
        look(F, T, spots[n, 0], spots[n, 1], spots[n, 2], margin, rows[n], view, W)

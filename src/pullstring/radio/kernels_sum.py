"""What has arrived at a point so far, and what is still worth following, compiled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullstring.radio.kernels_house import ARRIVED, FLOOR, SKIN_AT, SURFACE, WORTH, inlined
from pullstring.radio.kernels_path import follow, keep

if TYPE_CHECKING:
    from pullstring.radio.kernels_cells import Cells, Sent, Sum
    from pullstring.radio.kernels_house import Flat, Metre, Place, Work


@inlined
def put(W: Work, i: Place, x: Metre, y: Metre, z: Metre):
    W.room[i, 0], W.room[i, 1], W.room[i, 2] = x, y, z


@inlined
def by(W: Work, i: Place, surface: Place, skin: Place):
    W.turns[SURFACE, i], W.turns[SKIN_AT, i] = surface, skin


@inlined
def open_at(C: Cells, R: Sum, at: Place, W: Work):
    """Begin with point `at`: what is worth following to it."""
    for b in range(W.field.shape[0]):
        W.room[FLOOR, b] = max(R.limits[1], R.total[at, b] * R.limits[0])
    return C.points[at, 0], C.points[at, 1], C.points[at, 2]


@inlined
def worth(C: Cells, c: Place, R: Sum, W: Work):
    """What is worth following to any point of a cell, into the room."""
    for b in range(W.field.shape[0]):
        low = R.total[C.start[c], b]
        for at in range(C.start[c] + 1, C.start[c + 1]):
            low = min(low, R.total[at, b])
        W.room[WORTH, b] = max(R.limits[1], low * R.limits[0])


@inlined
def arrive(F: Flat, S: Sent, turns: Place, at: Place, R: Sum, W: Work):
    if follow(F, S.gain, S.even, turns, W):
        for b in range(W.field.shape[0]):
            R.total[at, b] += W.room[ARRIVED, b]
            W.room[FLOOR, b] = max(W.room[FLOOR, b], R.total[at, b] * R.limits[0])
        keep(at, W, R.used, R.power, R.counts)

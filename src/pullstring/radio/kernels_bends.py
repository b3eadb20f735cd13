"""Openings and their edges, compiled: where a string bends; see `gates.py`."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pullstring.radio.gates import ROUNDS
from pullstring.radio.kernels_house import compiled, inlined, met, side
from pullstring.radio.legs import TOUCH_M

if TYPE_CHECKING:
    from pullstring.radio.kernels_house import Flat, Metre, Place, Ratio, Table, Work

GX, GY, GZ, GCX, GCY, WIDTH, GLOW, GHIGH, GWALL = range(9)
"""Columns of the gates: foot, unit vector along, width, heights, wall."""
EX, EY, EZ, EUX, EUY, EUZ, SIZE, EWALL, EGATE = range(9)
"""Columns of the rims: foot, unit vector, length, wall, gate."""
EDGE = 0.2495
"""Most power left behind one edge: the knife edge at nu = 0. [1]"""


@inlined
def bend(rims: Table, e: Place, ax: Metre, ay: Metre, az: Metre, bx: Metre, by: Metre, bz: Metre):
    """Point of an edge by which the string from A to B is shortest; see gates.bend."""
    fx, fy, fz, ux, uy, uz = rims[e, EX], rims[e, EY], rims[e, EZ], rims[e, EUX], rims[e, EUY], rims[e, EUZ]
    a = (ax - fx) * ux + (ay - fy) * uy + (az - fz) * uz
    b = (bx - fx) * ux + (by - fy) * uy + (bz - fz) * uz
    off_a = math.sqrt(max((ax - fx) ** 2 + (ay - fy) ** 2 + (az - fz) ** 2 - a * a, 0.0))
    off_b = math.sqrt(max((bx - fx) ** 2 + (by - fy) ** 2 + (bz - fz) ** 2 - b * b, 0.0))
    t = min(max((a * off_b + b * off_a) / max(off_a + off_b, 1e-9), 0.0), rims[e, SIZE])
    return fx + t * ux, fy + t * uy, fz + t * uz


@inlined
def parted(F: Flat, k: Place, ax: Metre, ay: Metre, az: Metre, bx: Metre, by: Metre, bz: Metre):
    """Whether A and B lie on two sides of surface k, neither of them on it; see paths._parts."""
    a, b = side(F, k, ax, ay, az), side(F, k, bx, by, bz)
    return a * b < 0 and abs(a) > TOUCH_M and abs(b) > TOUCH_M


@inlined
def hit(F: Flat, k: Place, ix: Metre, iy: Metre, iz: Metre, tx: Metre, ty: Metre, tz: Metre):
    """Where the line from an image to its target meets surface k, and the skin there; -1 where it does not."""
    a, b = side(F, k, ix, iy, iz), side(F, k, tx, ty, tz)
    if a * b >= 0 or abs(a) <= TOUCH_M or abs(b) <= TOUCH_M:
        return 0.0, 0.0, 0.0, -1
    t = a / (a - b)
    x, y, z = ix + t * (tx - ix), iy + t * (ty - iy), iz + t * (tz - iz)
    return x, y, z, met(F, k, x, y, z)


@inlined
def middle(gates: Table, g: Place):
    """Where a string through an opening starts to be pulled tight; see gates._middle."""
    half = 0.5 * gates[g, WIDTH]
    return (
        gates[g, GX] + half * gates[g, GCX],
        gates[g, GY] + half * gates[g, GCY],
        gates[g, GZ] + 0.5 * (gates[g, GHIGH] - gates[g, GLOW]),
    )


@inlined
def half(gates: Table, g: Place):
    """Distance from the middle of an opening to its corners. [m]"""
    return 0.5 * math.sqrt(gates[g, WIDTH] ** 2 + (gates[g, GHIGH] - gates[g, GLOW]) ** 2)


@inlined
def through(
    fx: Metre, fy: Metre, ux: Ratio, uy: Ratio, wide: Metre, low: Metre, high: Metre,
    ax: Metre, ay: Metre, az: Metre, bx: Metre, by: Metre, bz: Metre,
):  # fmt: skip
    """Where the line from A to B meets an opening (foot, unit vector along, width, heights), cut to it; see gates._through."""
    a = -uy * (ax - fx) + ux * (ay - fy)
    b = -uy * (bx - fx) + ux * (by - fy)
    t = min(max(a / (a - b), 0.0), 1.0) if abs(a - b) > 1e-9 else 0.5
    u = (ax + t * (bx - ax) - fx) * ux + (ay + t * (by - ay) - fy) * uy
    u = min(max(u, 0.0), wide)
    return fx + u * ux, fy + u * uy, min(max(az + t * (bz - az), low), high)


@inlined
def _at_gate(gates, g, ax, ay, az, bx, by, bz):
    fx, fy, ux, uy = gates[g, GX], gates[g, GY], gates[g, GCX], gates[g, GCY]
    return through(fx, fy, ux, uy, gates[g, WIDTH], gates[g, GLOW], gates[g, GHIGH], ax, ay, az, bx, by, bz)


@inlined
def _at_rim(gates, g, x, y, z):
    u = (x - gates[g, GX]) * gates[g, GCX] + (y - gates[g, GY]) * gates[g, GCY]
    low, high = gates[g, GLOW], gates[g, GHIGH]
    return u <= 1e-6 or u >= gates[g, WIDTH] - 1e-6 or z <= low + 1e-6 or z >= high - 1e-6


@inlined
def beyond(F: Flat, gates: Table, k: Place, g: Place, ax: Metre, ay: Metre, az: Metre):
    """Whether a part of opening g lies on the other side of surface k than A."""
    x, y = gates[g, GX], gates[g, GY]
    ex, ey = x + gates[g, WIDTH] * gates[g, GCX], y + gates[g, WIDTH] * gates[g, GCY]
    here = side(F, k, ax, ay, az)
    return here * side(F, k, x, y, 0.0) < 0 or here * side(F, k, ex, ey, 0.0) < 0


@compiled
def pull(F: Flat, gates: Table, g: Place, h: Place, W: Work):
    """Pull the string from stop 0 to stop 3 tight through two openings, into stops 1 and 2; whether it bends at both."""
    stop = W.room
    ax, ay, az, bx, by, bz = stop[0, 0], stop[0, 1], stop[0, 2], stop[3, 0], stop[3, 1], stop[3, 2]
    px, py, pz = middle(gates, g)
    qx, qy, qz = middle(gates, h)
    for _ in range(ROUNDS):
        tx, ty, tz = _at_gate(gates, g, ax, ay, az, qx, qy, qz)
        qx, qy, qz = _at_gate(gates, h, px, py, pz, bx, by, bz)
        px, py, pz = tx, ty, tz
    k, m = int(gates[g, GWALL]), int(gates[h, GWALL])
    if not (_at_rim(gates, g, px, py, pz) and _at_rim(gates, h, qx, qy, qz)):
        return False
    if not (parted(F, k, ax, ay, az, qx, qy, qz) and parted(F, m, px, py, pz, bx, by, bz)):
        return False
    stop[1, 0], stop[1, 1], stop[1, 2] = px, py, pz
    stop[2, 0], stop[2, 1], stop[2, 2] = qx, qy, qz
    return True

"""One straight leg of a path: which surfaces it meets, and what is left of the field behind them. The numpy reference.

Legs come as arrays of ends [m, 3]; fields as complex vectors [bands, m, 3] that stand across the direction of the leg.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.skins import STEPS, Responses
from pullstring.radio.surfaces import Place, Surfaces, Whole

Floats = NDArray[np.float64]
Fields = NDArray[np.complex128]
Table = NDArray[np.complex64]
TOUCH_M = 1e-6
"""An end nearer to a plane than this touches it and does not cross it. [m]"""


@dataclasses.dataclass
class Rays:
    """Paths on their way: the field after the last leg [bands, m, 3], and how often each skin was crossed [m, skins]."""

    field: Fields
    crossings: NDArray[np.uint8]


def directions(A: Floats, B: Floats) -> tuple[Floats, Floats]:
    """Unit vectors from A to B [m, 3] and distances [m]. [1, m]"""
    way = B - A
    far = np.maximum(np.sqrt((way**2).sum(1)), 1e-9)
    return way / far[:, None], far


def upright(k: Floats) -> Floats:
    """Unit vector across each direction k [m, 3] in its upright plane: the field of an upright rod. [1]"""
    flat = np.sqrt(k[:, 0] ** 2 + k[:, 1] ** 2)
    safe = np.maximum(flat, 1e-9)
    up = np.stack([-k[:, 0] * k[:, 2] / safe, -k[:, 1] * k[:, 2] / safe, flat], 1)
    up[flat < 1e-9] = (1.0, 0.0, 0.0)
    return up


def normal_of(surfaces: Surfaces, k: Place) -> Floats:
    """Unit normal of a surface. [1]"""
    if k >= surfaces.walls:
        return np.array([0.0, 0.0, 1.0])
    x, y = surfaces.along[k]
    return np.array([-y, x, 0.0])


def offset_of(surfaces: Surfaces, k: Place) -> float:
    """Distance of a surface's plane from the origin along its normal. [m]"""
    if k >= surfaces.walls:
        return float(surfaces.level[k - surfaces.walls])
    x, y = surfaces.along[k]
    return float(-y * surfaces.start[k, 0] + x * surfaces.start[k, 1])


def met(surfaces: Surfaces, k: Place, P: Floats) -> Whole:
    """Skin of surface k at points of its plane [m, 3]; -1 where nothing stands there."""
    if k >= surfaces.walls:
        j = k - surfaces.walls
        inside = np.zeros(len(P), bool)
        for x0, y0, x1, y1 in surfaces.edge[surfaces.edge_from[j] : surfaces.edge_from[j + 1]]:
            if y0 != y1:
                rises = (y0 > P[:, 1]) != (y1 > P[:, 1])
                inside ^= rises & (P[:, 0] < x0 + (P[:, 1] - y0) * (x1 - x0) / (y1 - y0))
        return np.where(inside, surfaces.slab_skin[j], -1)
    u = (P[:, :2] - surfaces.start[k]) @ surfaces.along[k]
    z = P[:, 2]
    there = (u >= 0) & (u < surfaces.length[k]) & (z >= surfaces.low[k]) & (z < surfaces.high[k])
    skin = np.where(there, surfaces.wall_skin[k], -1)
    for p in range(surfaces.patch_from[k], surfaces.patch_from[k + 1]):
        u0, u1, z0, z1 = surfaces.patch[p]
        skin[there & (u >= u0) & (u < u1) & (z >= z0) & (z < z1)] = surfaces.patch_skin[p]
    return skin


def ratio(table: Table, skin: Whole, cos: Floats) -> Fields:
    """Amplitude ratios [bands, polarisation, m] of skins at cosines of incidence, between the steps of the table."""
    at = np.clip(cos, 0, 1) * STEPS
    low = np.minimum(at.astype(np.int64), STEPS - 1)
    share = at - low
    found: Fields = (
        table[:, skin, :, low] * (1 - share)[:, None, None] + table[:, skin, :, low + 1] * share[:, None, None]
    )
    return np.moveaxis(found, (0, 1, 2), (2, 0, 1))


def across(k: Floats, n: Floats) -> Floats:
    """Unit vector across the plane of incidence for directions k [m, 3]; any one across k where it is not defined. [1]"""
    s = np.cross(k, n)
    size = np.sqrt((s**2).sum(1))
    straight_on = size < 1e-9
    s[straight_on] = (0.0, 0.0, 1.0) if abs(n[2]) < 0.5 else (1.0, 0.0, 0.0)
    return s / np.where(straight_on, 1.0, np.maximum(size, 1e-9))[:, None]


def carry(surfaces: Surfaces, made: Responses, A: Floats, B: Floats, rays: Rays, skip: tuple[Place, ...]) -> None:
    """Send rays along their legs A to B, in place: losses of all surfaces on the way but `skip`, crossings."""
    k, _ = directions(A, B)
    for surface in range(surfaces.total):
        if surface in skip:
            continue
        n, at = normal_of(surfaces, surface), offset_of(surfaces, surface)
        before, after = A @ n - at, B @ n - at
        crosses = (before * after < 0) & (np.abs(before) > TOUCH_M) & (np.abs(after) > TOUCH_M)
        which = np.flatnonzero(crosses)
        if not len(which):
            continue
        P = A[which] + (B[which] - A[which]) * (before[which] / (before[which] - after[which]))[:, None]
        skin = met(surfaces, surface, P)
        which, skin = which[skin >= 0], skin[skin >= 0]
        if len(which):
            through(made, rays, which, skin, k[which], n)


def through(made: Responses, rays: Rays, which: Whole, skin: Whole, k: Floats, n: Floats) -> None:
    """One crossing of the rays `which`, in place: E' = T_TM E + (T_TE - T_TM)(E . s) s."""
    te, tm = np.moveaxis(ratio(made.through, skin, np.abs(k @ n)), 1, 0)
    s = across(k, n)
    E = rays.field[:, which]
    along = (E * s).sum(2)
    rays.field[:, which] = tm[..., None] * E + ((te - tm) * along)[..., None] * s
    np.add.at(rays.crossings, (which, skin), 1)


def bounce(made: Responses, rays: Rays, skin: Whole, k: Floats, n: Floats) -> None:
    """One reflection of all rays, in place: k' = k - 2 (k . n) n, parts along s and p = k x s go with R_TE and R_TM."""
    te, tm = np.moveaxis(ratio(made.back, skin, np.abs(k @ n)), 1, 0)
    s = across(k, n)
    p, p_after = np.cross(k, s), np.cross(k - 2 * (k @ n)[:, None] * n, s)
    E = rays.field
    rays.field = (te * (E * s).sum(2))[..., None] * s + (tm * (E * p).sum(2))[..., None] * p_after


def turn(rays: Rays, k: Floats, after: Floats) -> None:
    """At an edge the way goes on in another direction, in place: the upright and the level part of the field go on as such."""
    up, up_after = upright(k), upright(after)
    E = rays.field
    rays.field = (E * up).sum(2)[..., None] * up_after + (E * np.cross(k, up)).sum(2)[..., None] * np.cross(
        after, up_after
    )

"""Openings in which nothing stands, and how a signal bends round their edges: ITU-R P.526 knife edges.

A path through a gate is a taut string from sender to point by one of its edges, each straight part with its own walls.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from pullstring.radio.surfaces import Surfaces

Floats = NDArray[np.float64]
Edge = tuple[Floats, Floats]
SLIVER_M = 1e-6  # ours: no edge is this thin
LEAST_SILL_M = 0.05  # ours: an edge lower than this over the foot of its wall is the floor, and no edge
ROUNDS = 6  # ours: how often a string through two openings is pulled tight


@dataclasses.dataclass(frozen=True)
class Gate:
    """An opening in a wall in which nothing stands: its patch, its wall, and its corners on the site."""

    patch: int
    wall: int
    foot: Floats
    along: Floats
    low_m: float
    high_m: float
    width_m: float
    edges: tuple[Edge, ...]
    """Ends of the edges round which a signal bends: both jambs, the lintel, the sill."""


def gates_of(surfaces: Surfaces) -> tuple[Gate, ...]:
    """All openings in which nothing stands."""
    found = []
    for wall in range(surfaces.walls):
        for patch in range(surfaces.patch_from[wall], surfaces.patch_from[wall + 1]):
            if surfaces.patch_skin[patch] >= 0:
                continue
            u0, u1, z0, z1 = surfaces.patch[patch]
            u0, u1 = max(u0, 0.0), min(u1, surfaces.length[wall])
            z0, z1 = max(z0, surfaces.low[wall]), min(z1, surfaces.high[wall])
            if u1 > u0 and z1 > z0:
                found.append(_gate(surfaces, wall, patch, (u0, u1, z0, z1)))
    return tuple(found)


def _gate(surfaces: Surfaces, wall: int, patch: int, box: tuple[float, float, float, float]) -> Gate:
    u0, u1, z0, z1 = box
    along = np.array([*surfaces.along[wall], 0.0])
    base = np.array([*surfaces.start[wall], 0.0])

    def corner(u: float, z: float) -> Floats:
        found: Floats = base + u * along + np.array([0.0, 0.0, z])
        return found

    edges = []
    if u0 > 0:
        edges.append((corner(u0, z0), corner(u0, z1)))
    if u1 < surfaces.length[wall] - SLIVER_M:
        edges.append((corner(u1, z0), corner(u1, z1)))
    if z1 < surfaces.high[wall]:
        edges.append((corner(u0, z1), corner(u1, z1)))
    if z0 > surfaces.low[wall] + LEAST_SILL_M:
        edges.append((corner(u0, z0), corner(u1, z0)))
    return Gate(patch, wall, corner(u0, z0), along, z0, z1, u1 - u0, tuple(edges))


def bend(edge: Edge, A: Floats, B: Floats) -> Floats:
    """Point of an edge by which the string from A to B [m, 3] is shortest: both sides folded into one plane, cut to the edge."""
    foot, end = edge
    size = float(np.sqrt(((end - foot) ** 2).sum()))
    unit = (end - foot) / size
    a, b = (A - foot) @ unit, (B - foot) @ unit
    off_a = np.sqrt(np.maximum(((A - foot) ** 2).sum(-1) - a**2, 0))
    off_b = np.sqrt(np.maximum(((B - foot) ** 2).sum(-1) - b**2, 0))
    t = np.clip((a * off_b + b * off_a) / np.maximum(off_a + off_b, 1e-9), 0, size)
    point: Floats = foot + t[..., None] * unit
    return point


def taut(one: Gate, two: Gate, A: Floats, B: Floats) -> tuple[Floats, Floats]:
    """Points in two openings by which the string from A to B [m, 3] is shortest: pulled tight in turn, `ROUNDS` times."""
    P, Q = np.broadcast_to(_middle(one), B.shape), np.broadcast_to(_middle(two), B.shape)
    for _ in range(ROUNDS):
        P, Q = _through(one, A, Q), _through(two, P, B)
    return P, Q


def at_edge(one: Gate, P: Floats) -> NDArray[np.bool_]:
    """Whether points of an opening lie at its edge, so that a string bends there."""
    u, z = (P - one.foot) @ one.along, P[:, 2]
    edge: NDArray[np.bool_] = (
        (u <= 1e-6) | (u >= one.width_m - 1e-6) | (z <= one.low_m + 1e-6) | (z >= one.high_m - 1e-6)
    )
    return edge


def _middle(one: Gate) -> Floats:
    middle: Floats = one.foot + one.along * one.width_m / 2 + np.array([0.0, 0.0, (one.high_m - one.low_m) / 2])
    return middle


def _through(one: Gate, A: Floats, B: Floats) -> Floats:
    """Where the line from A to B meets the plane of an opening, cut to the opening; half way where it does not meet it."""
    n = np.array([-one.along[1], one.along[0], 0.0])
    a, b = (A - one.foot) @ n, (B - one.foot) @ n
    meets = np.abs(a - b) > 1e-9
    t = np.clip(np.where(meets, a / np.where(meets, a - b, 1), 0.5), 0, 1)
    P = A + (B - A) * t[..., None]
    u = np.clip((P - one.foot) @ one.along, 0, one.width_m)
    point: Floats = one.foot + u[..., None] * one.along
    point[..., 2] = np.clip(P[..., 2], one.low_m, one.high_m)
    return point


def knife_db(*, detour_m: Floats, wavelength_m: Floats) -> Floats:
    """Loss at an edge that stands in the way, from the detour round it: nu = 2 sqrt(detour / wavelength). [bands, m] [dB]

    J = 6.9 + 20 log10(sqrt((nu - 0.1)^2 + 1) + nu - 0.1). ITU-R P.526, single knife edge, for nu > -0.78.
    """
    nu = 2 * np.sqrt(np.maximum(detour_m, 0)[None, :] / wavelength_m[:, None]) - 0.1
    loss: Floats = 6.9 + 20 * np.log10(np.sqrt(nu**2 + 1) + nu)
    return loss

"""What stands along a line between two masts, and how clear of it the line passes.

House rules
-----------
1. Heights are heights of the site, as everywhere in the room; distances run along the plan from the near mast.
2. A wall or a roof counts as closed up to its top: what would still come through its windows is left out, which errs to
   "raise the mast".
3. What stands within `OWN_M` of a mast is what holds it, and is no obstacle.
4. Roofs are known as level surfaces. A ridge that the record does not hold must be given as an obstacle of its own.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon

from pullstring.radio.knife_edge import fresnel_radius_m
from pullstring.radio.scene import Scene, Spot

Floats = NDArray[np.float64]
Ground = Sequence[tuple[float, float]]
"""The ground along the line: distance from the near mast and height, in order. [m, m]"""

OWN_M = 0.3
"""Nearer to a mast than this stands what holds it. [m] Ours."""
SAME_EDGE_M = 0.6
"""Edges nearer to each other than this are one: the two faces of a thick wall. [m] Ours."""
STEP_M, MOST_STEPS = 1.0, 41
"""How finely a roof, a crown or the ground is looked at. [m, 1] Ours."""


@dataclasses.dataclass(frozen=True)
class Obstacle:
    """Something along the line: a wall (from and to are one place), a roof, a tree, the ground.

    `kind` is wall, roof, tree or ground. Trees let part of the wave through; everything else bends it over its top.
    """

    name: str
    kind: str
    from_m: float
    to_m: float
    top_m: float
    end_top_m: float | None = None
    """Height at the far side where it differs, for ground that slopes. [m]"""

    def __post_init__(self) -> None:
        if not self.from_m <= self.to_m:
            raise ValueError(
                f"obstacle {self.name}: it runs from {self.from_m:g} to {self.to_m:g} m; give the nearer place first"
            )

    def top_at(self, place_m: float) -> float:
        """Height of the top at a place along the line. [m]"""
        if self.end_top_m is None or self.to_m == self.from_m:
            return self.top_m
        return self.top_m + (self.end_top_m - self.top_m) * (place_m - self.from_m) / (self.to_m - self.from_m)


@dataclasses.dataclass(frozen=True)
class Place:
    """Where an obstacle comes nearest to the line: clearance across the line, below zero where it reaches into it."""

    name: str
    kind: str
    distance_m: float
    clearance_m: float
    fresnel_m: float

    @property
    def clear_ratio(self) -> float:
        """Clearance over the radius of the first Fresnel zone; 0.6 is wanted, below 0 the line is cut. [1]"""
        return self.clearance_m / self.fresnel_m


class Line:
    """The straight line between two masts, and places along it as arrays."""

    def __init__(self, near: Spot, far: Spot) -> None:
        self.near, self.far = near, far
        self.plan_m = math.dist(near[:2], far[:2])
        if self.plan_m < 2 * OWN_M:
            raise ValueError(
                f"masts {self.plan_m:.1f} m apart on the plan: a link between buildings is longer; check both places"
            )

    def raised(self, *, near_m: float, far_m: float) -> Line:
        """The line between longer masts. [m]"""
        return Line(_up(self.near, near_m), _up(self.far, far_m))

    @property
    def length_m(self) -> float:
        """From antenna to antenna. [m]"""
        return math.dist(self.near, self.far)

    def height_m(self, places_m: Floats) -> Floats:
        """Height of the line above zero of the site. [m]"""
        return self.near[2] + (self.far[2] - self.near[2]) * places_m / self.plan_m

    def clearance_m(self, places_m: Floats, tops_m: Floats) -> Floats:
        """How far above the tops the line passes, measured across the line. [m]"""
        return (self.height_m(places_m) - tops_m) * self.plan_m / self.length_m

    def fresnel_m(self, places_m: Floats, frequency_hz: float) -> Floats:
        """Radius of the first Fresnel zone. [m]"""
        before = places_m * self.length_m / self.plan_m
        return fresnel_radius_m(order=1, before_m=before, after_m=self.length_m - before, frequency_hz=frequency_hz)


def samples(line: Line, obstacle: Obstacle) -> tuple[Floats, Floats]:
    """Places along an obstacle, away from both masts, and its height there. [m, m]"""
    start, end = max(obstacle.from_m, OWN_M), min(obstacle.to_m, line.plan_m - OWN_M)
    if start > end:
        return np.empty(0), np.empty(0)
    count = 1 if start == end else min(MOST_STEPS, math.ceil((end - start) / STEP_M) + 1)
    places = np.linspace(start, end, count)
    return places, np.array([obstacle.top_at(place) for place in places.tolist()])


def nearest_place(line: Line, obstacle: Obstacle, *, frequency_hz: float) -> Place | None:
    """Where an obstacle takes most of the first Fresnel zone; None where it stands outside the link.

    Parameters
    ----------
    line : Line
        Between the masts.
    obstacle : Obstacle
        Along it.
    frequency_hz : float
        [Hz]

    Returns
    -------
    Place or None
        The worst place along the obstacle, looked at every metre.

    References
    ----------
    ITU-R P.526 section 2 for the zone. Checked in ``tests/radio/test_links.py``.
    """
    places, tops = samples(line, obstacle)
    if not places.size:
        return None
    clear, radius = line.clearance_m(places, tops), line.fresnel_m(places, frequency_hz)
    worst = int(np.argmin(clear / radius))
    return Place(obstacle.name, obstacle.kind, float(places[worst]), float(clear[worst]), float(radius[worst]))


def inside_m(line: Line, obstacle: Obstacle) -> float:
    """How much of the line runs below the top of an obstacle, along the line: what a wave has to go through. [m]"""
    start, end = max(obstacle.from_m, 0.0), min(obstacle.to_m, line.plan_m)
    if start >= end:
        return 0.0
    ends = np.array([start, end])
    first, last = (line.height_m(ends) - np.array([obstacle.top_at(start), obstacle.top_at(end)])).tolist()
    if first >= 0 and last >= 0:
        return 0.0
    share = 1.0 if first <= 0 and last <= 0 else abs(min(first, last)) / (abs(first) + abs(last))
    return share * (end - start) * line.length_m / line.plan_m


def edges(line: Line, obstacles: Iterable[Obstacle]) -> list[tuple[float, float]]:
    """Edges that bend the wave: both ends of each obstacle but trees, along the line and across it; near ones are one. [m, m]"""
    points = []
    for one in obstacles:
        places, tops = samples(line, one)
        if one.kind != "tree" and places.size:
            keep = np.unique([0, len(places) - 1])
            across = -line.clearance_m(places[keep], tops[keep])
            points += list(zip((places[keep] * line.length_m / line.plan_m).tolist(), across.tolist(), strict=True))
    kept: list[tuple[float, float]] = []
    for point in sorted(points, key=lambda edge: (-edge[1], edge[0])):
        if all(abs(point[0] - other[0]) >= SAME_EDGE_M for other in kept):
            kept.append(point)
    return sorted(kept)


def ground_obstacles(ground: Ground) -> tuple[Obstacle, ...]:
    """The ground as obstacles, one for each stretch between two points. Fewer than two points say nothing."""
    given = list(ground)
    if any(a[0] >= b[0] for a, b in itertools.pairwise(given)):
        raise ValueError(
            "ground: its points must run from the near mast to the far one; give them in that order, each once"
        )
    return tuple(Obstacle("ground", "ground", a[0], b[0], a[1], b[1]) for a, b in itertools.pairwise(given))


def obstacles_between(scene: Scene, near: Spot, far: Spot) -> tuple[Obstacle, ...]:
    """Walls and level surfaces of the scene under or in the line between two masts, in order along it."""
    line, ray = Line(near, far), LineString([near[:2], far[:2]])
    found = []
    for wall in scene.walls:
        for place in _along(line, ray.intersection(LineString([wall.start, wall.end]))):
            found.append(Obstacle(wall.name, "wall", place[0], place[1], wall.z1_m))
    for slab in scene.slabs:
        for piece in slab.pieces:
            for place in _along(line, ray.intersection(Polygon(piece))):
                found.append(Obstacle(slab.name, "roof", place[0], place[1], slab.z_m))
    kept = [one for one in found if not any(_hides(other, one) for other in found if other is not one)]
    return tuple(sorted(kept, key=lambda one: (one.from_m, one.to_m, one.name)))


def _hides(other: Obstacle, one: Obstacle) -> bool:
    """Whether all of one obstacle lies below another: the floor under a roof, the wall under its eaves."""
    if other.from_m > one.from_m or other.to_m < one.to_m or other.top_m < one.top_m:
        return False
    same = (other.from_m, other.to_m, other.top_m) == (one.from_m, one.to_m, one.top_m)
    return not same or (other.kind, other.name) < (one.kind, one.name)


def _along(line: Line, crossing: object) -> list[tuple[float, float]]:
    """Where the pieces of a crossing begin and end along the line. [m]"""
    parts = getattr(crossing, "geoms", (crossing,))
    spans = []
    for part in parts:
        places = [math.dist(line.near[:2], xy[:2]) for xy in getattr(part, "coords", ())]
        if places:
            spans.append((min(places), max(places)))
    return spans


def _up(spot: Spot, rise_m: float) -> Spot:
    return (spot[0], spot[1], spot[2] + rise_m)

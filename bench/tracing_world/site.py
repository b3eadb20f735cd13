"""The building: where outlets and the closet are, how long the walk is, which ends lie side by side and which are on a block."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import numpy.typing as npt

from bench.tracing_world.numbers import Times

Floats = npt.NDArray[np.float64]
IN_BUNDLE, IN_BLOCK, ENDS_PER_BLOCK = 12, 4, 15
Place = tuple[float, float, int]
"""x [m], y [m], floor."""


@dataclasses.dataclass(frozen=True, eq=False)
class Site:
    """What can be seen: outlets 0..n-1 and the closet as place n, ends 0..m-1; `travel_s` without entering a place."""

    ends: int
    travel_s: Floats
    bundles: tuple[tuple[int, ...], ...]
    blocks: tuple[tuple[int, ...], ...]

    @property
    def outlets(self) -> int:
        return len(self.travel_s) - 1

    @property
    def closet(self) -> int:
        return len(self.travel_s) - 1


def floors_of(outlets: int) -> int:
    return 1 + min(3, outlets // 20)


def drawn_places(outlets: int, rng: np.random.Generator) -> list[Place]:
    """Outlets, floor by floor, then the closet."""
    per = math.ceil(outlets / floors_of(outlets)) if outlets else 0
    length_m = 6.0 * max(2, per // 3)
    found = [(rng.uniform(0, length_m), rng.uniform(0, 12.0), o // per) for o in range(outlets)]
    return [*found, (rng.uniform(0, 6.0), 6.0, 0)]


def walked_s(places: list[Place], times: Times) -> Floats:
    """Walking time between all places, along the walls, stairs included."""
    x, y, floor = (np.array(column, dtype=float) for column in zip(*places, strict=True))
    up = np.abs(floor[:, None] - floor)
    along = np.abs(x[:, None] - x) + np.abs(y[:, None] - y) + times.stairs_way * (up > 0)
    found: Floats = along / times.walking + times.stairs * up
    return found


def drawn_bundles(ends: int, rng: np.random.Generator) -> tuple[tuple[int, ...], ...]:
    order = [int(e) for e in rng.permutation(ends)]
    return tuple(tuple(order[i : i + IN_BUNDLE]) for i in range(0, ends, IN_BUNDLE))


def drawn_blocks(ends: int, rng: np.random.Generator) -> tuple[tuple[int, ...], ...]:
    order = [int(e) for e in rng.permutation(ends)]
    count = ends // ENDS_PER_BLOCK
    return tuple(tuple(sorted(order[IN_BLOCK * b : IN_BLOCK * (b + 1)])) for b in range(count))


def drawn_site(outlets: int, ends: int, *, times: Times, rng: np.random.Generator) -> Site:
    travel_s = walked_s(drawn_places(outlets, rng), times)
    return Site(ends, travel_s, drawn_bundles(ends, rng), drawn_blocks(ends, rng))


def visit_bound_s(site: Site, times: Times) -> float:
    """No one who acts once at every outlet and tags it is faster: the least tree over all places, and the acts (by Prim)."""
    away, total = site.travel_s[site.closet].copy(), 0.0
    left = set(range(site.outlets))
    while left:
        nearest = min(left, key=lambda o: float(away[o]))
        total += float(away[nearest])
        left.remove(nearest)
        away = np.minimum(away, site.travel_s[nearest])
    return total + site.outlets * (times.enter_outlet + times.read_outlet + times.tag_outlet)

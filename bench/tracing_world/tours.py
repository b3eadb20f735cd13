"""Walking order: the nearest next, then every stretch turned round that shortens the open way."""

from __future__ import annotations

from collections.abc import Sequence

from bench.tracing_world.site import Floats

LEAST = 1e-9


def walking_order(travel_s: Floats, start: int, stops: Sequence[int]) -> list[int]:
    """Open way over all stops; ties go to the lower number; passes are repeated until nothing helps."""
    t = travel_s.tolist()
    order = nearest_next(t, start, stops)
    helped = True
    while helped:
        helped = False
        for i in range(len(order)):
            before = t[order[i - 1] if i else start]
            for j in range(i + 1, len(order)):
                first, last = order[i], order[j]
                change = before[last] - before[first]
                if j + 1 < len(order):
                    change += t[first][order[j + 1]] - t[last][order[j + 1]]
                if change < -LEAST:
                    order[i : j + 1] = order[i : j + 1][::-1]
                    helped = True
    return order


def nearest_next(t: list[list[float]], start: int, stops: Sequence[int]) -> list[int]:
    left, at, found = sorted(stops), start, list[int]()
    while left:
        at = min(left, key=lambda o: (t[at][o], o))
        left.remove(at)
        found.append(at)
    return found

"""Walks: in which order to see some places. A short path, not the shortest: nearest neighbour, then reversals and moves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from pullstring.trace.relations import Floats

May = Callable[[Sequence[int]], bool]
"""Whether an order is possible at all: a source has to be taken off before it is put on again."""


def path_s(travel_s: Floats, path: Sequence[int]) -> float:
    """Seconds along a path of places."""
    return float(sum(travel_s[a, b] for a, b in zip(path[:-1], path[1:], strict=True)))


def walk(
    travel_s: Floats,
    start: int,
    stops: Sequence[int],
    *,
    end: int | None = None,
    first: Sequence[int] = (),
    may: May | None = None,
) -> tuple[int, ...]:
    """A short path from a place over all stops, and on to `end` if there is one; ties go to the lower number.

    Parameters
    ----------
    travel_s : array
        Walking time between places. [s]
    start, stops, end : int
        Places.
    first : sequence of int
        Stops that go before all others in the first guess, so that it is a possible order.
    may : callable
        Whether an order of the stops is possible; the first guess must be.
    """
    order: list[int] = []
    for group in (list(first), [s for s in stops if s not in first]):
        while group:
            at = order[-1] if order else start
            nearest = min(group, key=lambda s: (travel_s[at, s], s))
            group.remove(nearest)
            order.append(nearest)
    legs = _Legs(travel_s, start, end)
    while (other := legs.better(order, may)) is not None:
        order = other
    return tuple(order)


class _Legs:
    """Legs between neighbouring stops; a path without an end has a last leg of no seconds."""

    def __init__(self, travel_s: Floats, start: int, end: int | None) -> None:
        self.travel = [[float(s) for s in row] for row in travel_s]
        self.start, self.end = start, end

    def better(self, order: list[int], may: May | None) -> list[int] | None:
        """The first possible order that is shorter by reversing a part or moving a stop; None when there is none."""
        path = [self.start, *order, self.end]
        for i in range(1, len(order) + 1):
            for j in range(i + 1, len(order) + 1):
                for saved, other in self._changes(path, i, j):
                    if saved > 1e-9 and (may is None or may(other())):
                        return other()
        return None

    def _changes(self, path: list[int | None], i: int, j: int) -> Iterator[tuple[float, Callable[[], list[int]]]]:
        """Seconds saved by reversing stops i to j, by moving stop i behind j, and by moving stop j before i."""
        a, b, c, d = path[i - 1], path[i], path[j], path[j + 1]
        now = self._leg(a, b) + self._leg(c, d)
        yield now - self._leg(a, c) - self._leg(b, d), lambda: _stops(path[:i] + path[i : j + 1][::-1] + path[j + 1 :])
        after, before = path[i + 1], path[j - 1]
        moved = self._leg(a, after) + self._leg(c, b) + self._leg(b, d) - self._leg(b, after)
        yield now - moved, lambda: _stops(path[:i] + path[i + 1 : j + 1] + [b] + path[j + 1 :])
        moved = self._leg(a, c) + self._leg(c, b) + self._leg(before, d) - self._leg(before, c)
        yield now - moved, lambda: _stops(path[:i] + [c] + path[i:j] + path[j + 1 :])

    def _leg(self, a: int | None, b: int | None) -> float:
        return 0.0 if a is None or b is None else self.travel[a][b]


def _stops(path: list[int | None]) -> list[int]:
    return [stop for stop in path[1:-1] if stop is not None]

"""How to tell the wires of one cable apart in two trips, with a continuity tester alone.

First tie the wires together here in groups and walk to the far end; there count with how many each wire touches, name it, and
tie the wires together in other groups; walk back, take the first ties off, and count again. A wire is known by its two counts
when no two wires share both.

Theory. Let r_a be the number of wires whose first count is a, c_b the number whose second is b. Groups of a wires: r_a is a
multiple of a. Of these wires no two share their second count, so r_a is at most the number of different second counts; as r_a is
at least a for the largest a, and the other way round, both sides use exactly the counts 1 to m, each at least once, with
a <= r_a <= m. So n lies between 1 + 2 + ... + m and the sum of all a * floor(m / a): 1, 3 to 4, 6 to 8, 10 to 15, 15 to 21 ...
Nothing reaches 2, 5 or 9, and every other number is reached (a published result; checked here to 100 wires).
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Mapping, Sequence

IMPOSSIBLE = (2, 5, 9)
"""Counts of wires for which no two groupings give every wire its own two counts."""
Cells = tuple[tuple[int, ...], ...]


class TooFew(ValueError):
    """There are not enough wires to tell apart in this way."""


@dataclasses.dataclass(frozen=True)
class Trips:
    """Two groupings by which every wire is known.

    `first` are the groups to tie here, by numbers 1 to n that mean nothing yet (a group of one is left alone). `names[a]` are the
    names to give at the far end, in any order, to the wires that touch in groups of a; `second` the groups to tie there, by
    these names. `key` says, back here, which name a wire has that was in a first group of a and now touches in a group of b.
    """

    wires: int
    first: Cells
    names: Mapping[int, tuple[int, ...]]
    second: Cells
    key: Mapping[tuple[int, int], int]


@dataclasses.dataclass(frozen=True)
class Remembered:
    """The same by remembering who touches whom: pairs here, a chain there; for every count of three or more.

    `first` are the pairs to tie here; the wires in `alone` (one or two) are tied to nothing. At the far end the lone wires are
    named 1 (and 2), each pair that touches takes the next two names; `second` are the pairs to tie there, by name: the chain from
    lone wire 1 through all pairs. Back here, with the first ties off, the lone wire that touches something is 1, what it touches is
    the first of the first pair, the wire it was tied to here is the second of it, what that touches begins the next pair, and
    so on; a lone wire that touches nothing is 2.
    """

    wires: int
    first: Cells
    alone: tuple[int, ...]
    second: Cells


def two_trips(*, wires: int) -> Trips | None:
    """Groupings for so many wires; None for 2, 5 and 9, where there are none.

    Parameters
    ----------
    wires : int
        Wires of one cable, all of them reachable at both ends and nothing else connected; one or more.

    Raises
    ------
    TooFew
        No wire at all.

    References
    ----------
    A published result on two partitions of a finite set; the construction by row and column sums is a textbook one.
    Checked for 1 to 100 in ``tests/trace/test_two_trips.py``.
    """
    if wires < 1:
        raise TooFew(f"{wires} wires need no telling apart; one or more would be right")
    for most in itertools.count(1):
        if most * (most + 1) // 2 > wires:
            return None
        for rows in _sums(wires, most):
            if (grid := _grid(rows, rows)) is not None:
                return _trips(wires, most, grid)
    return None


def by_remembering(*, wires: int) -> Remembered:
    """Pairs and a chain for so many wires.

    Parameters
    ----------
    wires : int
        Wires of one cable, three or more; two need another conductor that is known at both ends, which makes them three.

    Raises
    ------
    TooFew
        Fewer than three wires.

    References
    ----------
    A published puzzle's answer, for odd counts; the second lone wire for even ones is ours. Checked by playing it in
    ``tests/trace/test_two_trips.py``.
    """
    if wires < 3:
        raise TooFew(
            f"{wires} wires cannot be told apart by touch alone; take another conductor that is known at both ends, "
            "which makes it three or more"
        )
    lone = 1 if wires % 2 else 2
    numbers = range(1, wires + 1)
    first = tuple((numbers[k], numbers[k + 1]) for k in range(0, wires - lone, 2))
    chain = [1, *range(lone + 1, wires + 1)]
    second = tuple((chain[k], chain[k + 1]) for k in range(0, len(chain) - 1, 2))
    return Remembered(wires, first, tuple(numbers[wires - lone :]), second)


def tells_apart(*, first: Cells, second: Cells) -> bool:
    """Whether two groupings of the same wires give every wire its own two counts.

    Parameters
    ----------
    first, second : tuple of tuples of int
        Groups of the same wires, each wire once.
    """
    sizes = [{wire: len(cell) for cell in cells for wire in cell} for cells in (first, second)]
    once = all(sorted(w for cell in cells for w in cell) == sorted(sizes[0]) for cells in (first, second))
    counts = {(sizes[0][wire], sizes[1].get(wire)) for wire in sizes[0]}
    return once and len(counts) == len(sizes[0])


def _sums(wires: int, most: int) -> Iterator[tuple[int, ...]]:
    """How many wires may have each count 1 to `most`: a multiple of the count, at most `most`, all together `wires`."""

    def rest(count: int, left: int) -> Iterator[tuple[int, ...]]:
        if count == 0:
            if left == 0:
                yield ()
            return
        least = count * (count - 1) // 2
        for many in range(count, most + 1, count):
            if left - many >= least:
                for smaller in rest(count - 1, left - many):
                    yield (*smaller, many)

    return rest(most, wires)


def _grid(rows: Sequence[int], columns: Sequence[int]) -> list[set[int]] | None:
    """For each row the columns in which it stands, with given sums; None when there is no such grid.

    Rows in falling order take the columns that still want most: this finds a grid whenever there is one (a textbook result).
    """
    left = list(columns)
    found: list[set[int]] = [set() for _ in rows]
    for row in sorted(range(len(rows)), key=lambda r: -rows[r]):
        taken = sorted(range(len(left)), key=lambda c: (-left[c], c))[: rows[row]]
        if any(left[c] == 0 for c in taken):
            return None
        for c in taken:
            left[c] -= 1
        found[row] = set(taken)
    return found if not any(left) else None


def _trips(wires: int, most: int, grid: Sequence[set[int]]) -> Trips:
    counts = [(a + 1, b + 1) for a in range(most) for b in sorted(grid[a])]
    key = {count: name for name, count in enumerate(counts, 1)}
    names = {a: tuple(key[c] for c in counts if c[0] == a) for a in range(1, most + 1)}
    by_second = {b: [key[c] for c in counts if c[1] == b] for b in range(1, most + 1)}
    first = tuple(group for a in range(1, most + 1) for group in _groups(names[a], a))
    second = tuple(group for b in range(1, most + 1) for group in _groups(by_second[b], b))
    return Trips(wires, first, names, second, key)


def _groups(names: Sequence[int], size: int) -> Iterator[tuple[int, ...]]:
    for start in range(0, len(names), size):
        yield tuple(names[start : start + size])

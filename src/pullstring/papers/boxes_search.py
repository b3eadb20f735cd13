"""Rectangles that touch where rooms lie next to each other: a bounded search on a grid, the same each time.

Rooms are placed one after the other, each against all its neighbours that stand already; where that fails the search
goes back. It tries several first rooms and shapes, and gives up after a fixed number of trials. A tree of rooms can
always be drawn: each room as wide as all that hangs on it, what hangs on it right below. What remains is placed so
that it touches as many neighbours as it can.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence

Cells = tuple[int, int, int, int]  # x, y of the lower left corner, width, height
Size = tuple[int, int]
TRIALS = 600  # ours: rooms tried in one attempt before another first room is taken
STARTS = 5
PART_SHARE = 4  # ours: a room with more neighbours than this may grow long, as a passage does


@dataclasses.dataclass(frozen=True)
class Wanted:
    """Rooms by number with the sizes they may have, who lies next to whom, what must lie over what, and what is taken."""

    sizes: Sequence[Sequence[Size]]
    beside: Sequence[frozenset[int]]
    over: Mapping[int, Cells] = dataclasses.field(default_factory=dict)
    taken: Sequence[Cells] = ()
    origin: tuple[int, int] = (0, 0)


def placed(wanted: Wanted) -> list[Cells]:
    """A rectangle for each room of one connected group; none on top of another."""
    count = len(wanted.sizes)
    order = sorted(range(count), key=lambda n: (n not in wanted.over, -len(wanted.beside[n]), n))
    firsts = [*order[: STARTS - 1], order[-1]]
    for first in dict.fromkeys(firsts):
        found = _Search(wanted, first).run()
        if found:
            return found
    if not wanted.over and sum(map(len, wanted.beside)) == 2 * (count - 1):
        return _as_tree(wanted)
    return max((_greedy(wanted, first) for first in dict.fromkeys(firsts)), key=lambda made: _touching(wanted, made))


def contact(a: Cells, b: Cells) -> int:
    """How many cells long the wall is that two rectangles share."""
    (ax, ay, aw, ah), (bx, by, bw, bh) = a, b
    if ax + aw == bx or bx + bw == ax:
        return max(0, min(ay + ah, by + bh) - max(ay, by))
    if ay + ah == by or by + bh == ay:
        return max(0, min(ax + aw, bx + bw) - max(ax, bx))
    return 0


def overlap(a: Cells, b: Cells) -> bool:
    """Whether two rectangles lie on each other."""
    return a[0] < b[0] + b[2] and b[0] < a[0] + a[2] and a[1] < b[1] + b[3] and b[1] < a[1] + a[3]


def shapes(area_cells: float, neighbours: int) -> list[Size]:
    """Sizes for a room: nearest to its area and to a square first; long ones for a room with many neighbours."""
    wide = range(1, max(3, round(area_cells) + 1))
    made = {(w, max(1, round(area_cells / w))) for w in wide}
    good = [s for s in made if max(s) <= 2.5 * min(s)] or sorted(made)[:1]
    found = sorted(good, key=lambda s: (round(abs(s[0] * s[1] - area_cells), 6), abs(s[0] - s[1]), -s[0]))[:3]
    if neighbours > PART_SHARE:
        long = 2 * ((neighbours + 1) // 2)
        thick = max(1, min(2, round(area_cells / long)))
        found = [(long, thick), (thick, long), *found]
    return list(dict.fromkeys(found))


class _Search:
    """One attempt from one first room."""

    def __init__(self, wanted: Wanted, first: int) -> None:
        self.wanted, self.first = wanted, first
        self.at: dict[int, Cells] = {}
        self.left = TRIALS

    def run(self) -> list[Cells] | None:
        return [self.at[n] for n in range(len(self.wanted.sizes))] if self._next() else None

    def _next(self) -> bool:
        if len(self.at) == len(self.wanted.sizes):
            return True
        room = self._choice()
        for cells in self._candidates(room):
            if self.left <= 0:
                return False
            self.left -= 1
            self.at[room] = cells
            if self._may_go_on() and self._next():
                return True
            del self.at[room]
        return False

    def _choice(self) -> int:
        """The room with the most neighbours that stand already."""
        if not self.at:
            return self.first
        beside, rooms = self.wanted.beside, range(len(self.wanted.sizes))
        open_rooms = [n for n in rooms if n not in self.at and beside[n] & self.at.keys()]
        return max(open_rooms, key=lambda n: (len(beside[n] & self.at.keys()), len(beside[n]), -n))

    def _candidates(self, room: int) -> list[Cells]:
        wanted = self.wanted
        stood = sorted(wanted.beside[room] & self.at.keys())
        if not stood:
            return [c for c in _starts(wanted, room) if self._fits(room, c)]
        near = min(stood, key=lambda n: (self.at[n][2] + self.at[n][3], n))
        others = [self.at[n] for n in stood]
        scored = []
        for rank, size in enumerate(wanted.sizes[room]):
            for cells in _around(self.at[near], size):
                if self._fits(room, cells) and all(contact(cells, o) for o in others):
                    scored.append((self._cost(cells, others), rank, cells))
        return [cells for _, _, cells in sorted(scored)]

    def _fits(self, room: int, cells: Cells) -> bool:
        over = self.wanted.over.get(room)
        if over is not None and not overlap(over, cells):
            return False
        return not any(overlap(cells, o) for o in (*self.at.values(), *self.wanted.taken))

    def _cost(self, cells: Cells, others: Sequence[Cells]) -> tuple[int, int]:
        """Longest shared walls first, then the most compact."""
        boxes = [*self.at.values(), cells]
        x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
        x1, y1 = max(b[0] + b[2] for b in boxes), max(b[1] + b[3] for b in boxes)
        return -sum(contact(cells, o) for o in others), (x1 - x0) + (y1 - y0)

    def _may_go_on(self) -> bool:
        """Whether every standing room still has free wall for each neighbour that is to come."""
        filled = list(self.at.values())
        for room, cells in self.at.items():
            to_come = len(self.wanted.beside[room] - self.at.keys())
            if to_come and _free_wall(cells, filled) < to_come:
                return False
        return True


def _free_wall(cells: Cells, filled: Sequence[Cells]) -> int:
    x, y, w, h = cells
    rim = [(u, v) for u in range(x, x + w) for v in (y - 1, y + h)]
    rim += [(u, v) for v in range(y, y + h) for u in (x - 1, x + w)]
    near = [
        b for b in filled if b != cells and b[0] <= x + w and x <= b[0] + b[2] and b[1] <= y + h and y <= b[1] + b[3]
    ]
    return sum(not any(overlap((u, v, 1, 1), b) for b in near) for u, v in rim)


def _starts(wanted: Wanted, room: int) -> list[Cells]:
    over = wanted.over.get(room)
    x, y = (over[0], over[1]) if over else wanted.origin
    shift = [(0, 0), (-1, 0), (1, 0), (0, -1), (0, 1)] if over else [(0, 0)]
    return [(x + u, y + v, w, h) for w, h in wanted.sizes[room] for u, v in shift]


def _around(cells: Cells, size: Size) -> Iterator[Cells]:
    """Every place at which a rectangle shares at least one cell of wall with another."""
    (x, y, w, h), (mine_w, mine_h) = cells, size
    for v in range(y - mine_h + 1, y + h):
        yield x + w, v, mine_w, mine_h
        yield x - mine_w, v, mine_w, mine_h
    for u in range(x - mine_w + 1, x + w):
        yield u, y + h, mine_w, mine_h
        yield u, y - mine_h, mine_w, mine_h


def _as_tree(wanted: Wanted) -> list[Cells]:
    """Each room as wide as all that hangs on it; what hangs on the first room half above and half below it."""
    root = max(range(len(wanted.sizes)), key=lambda n: (len(wanted.beside[n]), -n))
    at: dict[int, Cells] = {}

    def width(room: int, parent: int | None) -> int:
        below = [n for n in sorted(wanted.beside[room]) if n != parent]
        return max(wanted.sizes[room][-1][0], sum(width(n, room) for n in below))

    def hang(rooms: Sequence[int], parent: int, x: int, y: int, down: int) -> None:
        for room in rooms:
            wide, tall = width(room, parent), 2
            at[room] = (x, y if down > 0 else y - tall, wide, tall)
            below = [n for n in sorted(wanted.beside[room]) if n != parent]
            hang(below, room, x, y + tall if down > 0 else y - tall, down)
            x += wide

    branches = sorted(wanted.beside[root])
    upper, lower = branches[: len(branches) // 2], branches[len(branches) // 2 :]
    wide = max(2, *(sum(width(n, root) for n in part) for part in (upper, lower)))
    x, y = wanted.origin
    at[root] = (x, y, wide, 2)
    hang(upper, root, x, y + 2, 1)
    hang(lower, root, x, y, -1)
    shift = min(0, *(-overlap_need(cells, wanted.taken) for cells in at.values()))
    return [(at[n][0] - shift, *at[n][1:]) for n in range(len(wanted.sizes))]


def overlap_need(cells: Cells, taken: Sequence[Cells]) -> int:
    """How far to the right a rectangle must go to lie clear of what is taken."""
    return max((t[0] + t[2] + 1 - cells[0] for t in taken if overlap(cells, t)), default=0)


def _greedy(wanted: Wanted, first: int) -> list[Cells]:
    """Every room somewhere: against as many of its neighbours as there is room for, over what it must lie over if it can."""
    search = _Search(wanted, first)
    rooms = range(len(wanted.sizes))
    while len(search.at) < len(wanted.sizes):
        room = search._choice()
        stood = [search.at[n] for n in sorted(wanted.beside[room] & search.at.keys())]
        walls = stood or list(search.at.values())
        tried = [
            c
            for size in wanted.sizes[room]
            for cells in (walls or [(*wanted.origin, 0, 1)])
            for c in (_around(cells, size) if walls else _starts(wanted, room))
        ]
        free = [c for c in tried if not any(overlap(c, o) for o in (*search.at.values(), *wanted.taken))]
        if not free:
            far = max((o[0] + o[2] for o in (*search.at.values(), *wanted.taken)), default=0)
            w, h = wanted.sizes[room][0]
            free = [(far + 1, wanted.origin[1], w, h)]
        over = wanted.over.get(room)
        search.at[room] = min(
            free,
            key=lambda c: (
                over is not None and not overlap(over, c),
                -sum(contact(c, o) > 0 for o in stood),
                search._cost(c, stood),
                c,
            ),
        )
    return [search.at[n] for n in rooms]


def _touching(wanted: Wanted, made: Sequence[Cells]) -> int:
    near = sum(contact(made[a], made[b]) > 0 for a in range(len(made)) for b in wanted.beside[a])
    return 2 * near + sum(overlap(made[n], over) for n, over in wanted.over.items())

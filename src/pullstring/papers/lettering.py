"""Where words may stand on a drawing: boxes that are taken, and the first good place for the next."""

from __future__ import annotations

import dataclasses
import math
import textwrap
from collections.abc import Iterable, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.papers.svg import Point


@dataclasses.dataclass
class Taken:
    """The boxes (x0, y0, x1, y1) in the building's axes where something stands already."""

    walls: BaseGeometry
    boxes: list[tuple[float, float, float, float]] = dataclasses.field(default_factory=list)

    def add(self, points: Iterable[Sequence[float]], *, margin: float = 0.0) -> None:
        """Take the box around some points."""
        xs, ys = zip(*((p[0], p[1]) for p in points), strict=True)
        self.boxes.append((min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin))

    def cost(self, centre: Point, width: float, height: float) -> float:
        """How much of a box at `centre` is covered already; walls count half."""
        x0, y0, x1, y1 = _box(centre, width, height)
        cover = sum(
            max(0.0, min(x1, b[2]) - max(x0, b[0])) * max(0.0, min(y1, b[3]) - max(y0, b[1])) for b in self.boxes
        )
        return cover + float(shapely.box(x0, y0, x1, y1).intersection(self.walls).area) / 2

    def take(self, centre: Point, width: float, height: float) -> Point:
        """Take the box and hand back its centre."""
        self.boxes.append(_box(centre, width, height))
        return centre


def _box(centre: Point, width: float, height: float) -> tuple[float, float, float, float]:
    x, y = centre
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def beside(taken: Taken, anchor: Point, away: Point, reach: float, width: float, height: float) -> Point:
    """The free place nearest to a symbol, by preference on the side `away` from its wall."""
    start = math.atan2(away[1], away[0])
    best: tuple[float, Point] | None = None
    for far in (0.0, 0.5, 1.2):
        for turn in (0, 45, -45, 90, -90, 135, -135, 180):
            dx, dy = math.cos(start + math.radians(turn)), math.sin(start + math.radians(turn))
            hold = min(width / 2 / max(abs(dx), 1e-9), height / 2 / max(abs(dy), 1e-9))
            centre = (
                anchor[0] + dx * (reach + hold + far * height),
                anchor[1] + dy * (reach + hold + far * height),
            )
            cost = round(taken.cost(centre, width, height), 6)
            if best is None or cost < best[0]:
                best = cost, centre
            if cost == 0:
                return taken.take(centre, width, height)
    assert best is not None
    return taken.take(best[1], width, height)


def inside(taken: Taken, room: BaseGeometry, width: float, height: float) -> tuple[Point, float]:
    """The best place for a room's name, near the middle of the room, and how much of it is covered there."""
    middle = room.centroid if room.contains(room.centroid) else room.representative_point()
    x0, y0, x1, y1 = room.bounds
    step = max(0.1, min(x1 - x0, y1 - y0) / 12)
    best: tuple[float, Point] = (math.inf, (middle.x, middle.y))
    for i in range(int((x1 - x0) / step) + 1):
        for j in range(int((y1 - y0) / step) + 1):
            centre = (x0 + (i + 0.5) * step, y0 + (j + 0.5) * step)
            box = shapely.box(*_box(centre, width, height))
            outside = float(box.difference(room).area)
            cover = taken.cost(centre, width, height) + outside
            cost = round(10 * cover + 0.05 * math.dist(centre, (middle.x, middle.y)), 6)
            if cost < best[0]:
                best = cost, centre
    return best[1], taken.cost(best[1], width, height)


def wrapped(words: str, letters: int) -> list[str]:
    """A name in lines of at most so many letters, whole words only."""
    return textwrap.wrap(words, max(letters, 1), break_long_words=False, break_on_hyphens=False) or [""]

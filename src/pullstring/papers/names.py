"""Names of rooms on a drawing: as large as the room carries; where even small letters do not fit, the tag alone."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import shapely

from pullstring.model.geometry import RoomShape
from pullstring.papers import figures, lettering, svg
from pullstring.papers.drawing_style import AREA, LITTLE, NAME, SANS_EM
from pullstring.papers.lettering import Taken
from pullstring.papers.svg import Point, Sheet

PITCH = 1.2  # height of a line in its letter size
MARGIN = 0.06
COVER = 0.03  # how much of a name may lie on other things, for boxes are larger than what is in them


@dataclasses.dataclass(frozen=True)
class Name:
    """The lines of one room with their letter sizes, around a centre; `for_key` says what had no room there."""

    lines: tuple[tuple[str, float], ...]
    centre: Point
    for_key: str = ""

    @property
    def height(self) -> float:
        """Height of all lines, in units of a sheet at 1:100."""
        return sum(size * PITCH for _, size in self.lines)

    @property
    def width(self) -> float:
        """Width of the longest line, rounded up, in units of a sheet at 1:100."""
        return max(len(words) * SANS_EM * size for words, size in self.lines)


def place(rooms: Sequence[RoomShape], taken: Taken, *, k: float) -> list[Name]:
    """A place for every room's name, small rooms first, for they have the least choice; in the order given."""
    placed = {}
    for room in sorted(rooms, key=lambda r: (round(r.area_m2, 6), r.ref)):
        placed[room.ref] = _placed(room, taken, k)
    return [placed[room.ref] for room in rooms]


def _placed(room: RoomShape, taken: Taken, k: float) -> Name:
    piece = max((shapely.Polygon(p) for p in room.pieces), key=lambda p: (round(p.area, 6), p.bounds))
    area = figures.square_metres(room.area_m2)
    under = (f"{room.ref.tag} · {area}", AREA)
    trials = []
    for size in (NAME, LITTLE):
        for letters in sorted({len(room.name) or 1, 14, 9}, reverse=True):
            lines = lettering.wrapped(room.name, letters) if room.name else []
            trials.append(Name((*((line, size) for line in lines), under), (0, 0)))
    in_key = f"{room.ref.tag} is {room.name or 'a room'}, {area}"
    trials.append(Name(((room.ref.tag, AREA),), (0, 0), in_key))
    best: tuple[float, Name] | None = None
    for trial in trials:
        centre, cover = lettering.inside(taken, piece, (trial.width + MARGIN) * k, (trial.height + MARGIN) * k)
        if best is None or cover < best[0] - 1e-6:
            best = cover, dataclasses.replace(trial, centre=centre)
        if cover <= COVER * k * k:
            break
    assert best is not None
    taken.take(best[1].centre, best[1].width * k, best[1].height * k)
    return best[1]


def draw(name: Name, sheet: Sheet, *, k: float) -> list[str]:
    """The lines, one under the other, around the centre."""
    x, y = sheet.pt(name.centre)
    parts, base = [], y - name.height * k / 2
    for number, (words, size) in enumerate(name.lines):
        css = "area" if number == len(name.lines) - 1 else "name" if size == NAME else "name little"
        parts.append(svg.text(words, (x, base + 0.93 * size * k), css, anchor="middle"))
        base += size * PITCH * k
    return parts

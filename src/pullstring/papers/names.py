"""Names of rooms on a drawing: as large as the room carries, wrapped, small, or the tag alone with the name in the key.

Joints and a word on what may not be touched stand under the name, for they have a room and no point.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import shapely

from pullstring.model.geometry import RoomShape
from pullstring.model.refs import Ref
from pullstring.papers import figures, plan_marks, plan_spots, svg
from pullstring.papers.plan_field import Box, Field
from pullstring.papers.plan_letters import Line, clean, wrapped
from pullstring.papers.plan_spots import Spots
from pullstring.papers.svg import Point, Sheet

INK_EDGE = 0.03
WRAPS = (99.0, 3.2, 2.3, 1.7)  # widths at 1:100 to which a name is wrapped, the widest first
COVERED = (0.02, 0.12)  # ours: how much of a name may lie on walls, doors and runs; all sizes are tried with the first
COVERED_TAG = 0.3
MARK = 2 * plan_marks.JOINT + 0.08


@dataclasses.dataclass(frozen=True)
class Name:
    """The lines of one room in their box; `for_key` says what had no room there."""

    room: RoomShape
    lines: tuple[Line, ...]
    box: Box | None
    for_key: str = ""
    leader: tuple[Point, Point] | None = None


@dataclasses.dataclass(frozen=True)
class Item:
    """What is in a room without a point: a mark and a word."""

    ref: Ref
    mark: str
    words: str
    box: Box
    leader: tuple[Point, Point] | None = None


@dataclasses.dataclass(frozen=True)
class Ground:
    """The rooms as fields, each with its bounds and the point where its name would like to stand."""

    field: Mapping[Ref, tuple[Field, Box, Point]]


def ground(rooms: Sequence[RoomShape], k: float) -> Ground:
    """The fields of all rooms."""
    made = {}
    for room in rooms:
        polygons = [shapely.Polygon(p) for p in room.pieces]
        x0, y0, x1, y1 = shapely.total_bounds(polygons)
        bounds = float(x0), float(y0), float(x1), float(y1)
        field = Field.over(bounds, 0.05 * k)
        for piece in room.pieces:
            field.add_polygon(piece)
        largest = max(polygons, key=lambda p: (round(p.area, 6), p.bounds))
        middle = largest.centroid if largest.contains(largest.centroid) else largest.representative_point()
        made[room.ref] = field, bounds, (middle.x, middle.y)
    return Ground(made)


def place(rooms: Sequence[RoomShape], on: Ground, spots: Spots) -> list[Name]:
    """A place for every room's name, small rooms first, for they have the least choice; in the order given."""
    placed = {}
    for room in sorted(rooms, key=lambda r: (round(r.area_m2, 6), r.ref)):
        placed[room.ref] = _placed(room, on, spots)
    return [placed[room.ref] for room in rooms]


def _placed(room: RoomShape, on: Ground, spots: Spots) -> Name:
    area, name = figures.square_metres(room.area_m2), clean(room.name)
    under = Line(f"{room.ref.tag} · {area}", "area")
    trials: list[tuple[Line, ...]] = []
    for css in ("name", "name little"):
        for most in WRAPS:
            lines = tuple(Line(line, css) for line in wrapped(name, css, most)) if name else ()
            if " ".join(line.words for line in lines) == name:
                trials.append((*lines, under))
    field, bounds, middle = on.field[room.ref]
    for most in COVERED:
        for lines in dict.fromkeys(trials):
            width, height = (v * spots.k for v in size(lines))
            box = plan_spots.inside(spots, field, bounds, middle, width, height, most=most)
            if box is not None:
                return Name(room, lines, spots.take(box))
    said = f"{room.ref.tag} is {name or 'a room'}, {area}"
    tag = (Line(room.ref.tag, "area"),)
    width, height = (v * spots.k for v in size(tag))
    box = plan_spots.inside(spots, field, bounds, middle, width, height, most=COVERED_TAG)
    if box is not None:
        return Name(room, tag, spots.take(box), said)
    dot = 0.03 * spots.k
    own = middle[0] - dot, middle[1] - dot, middle[0] + dot, middle[1] + dot
    found = plan_spots.beside(spots, own, (0.0, 1.0), width, height)
    if found is not None:
        return Name(room, tag, found[0], said, found[1])
    return Name(room, (), None, said)


def size(lines: Sequence[Line]) -> tuple[float, float]:
    """Width and height of some lines at 1:100."""
    return max(line.width for line in lines) + 2 * INK_EDGE, sum(line.height for line in lines)


def item(ref: Ref, mark: str, words: str, name: Name, on: Ground, spots: Spots) -> Item | None:
    """A mark with its word in a room, near under the room's name; None when there is no room."""
    line = Line(words, "tag" if mark.startswith("joint") else "tag word")
    width = (MARK + line.width + 2 * INK_EDGE) * spots.k
    height = max(line.height, 2 * plan_marks.JOINT + 0.06, 0.34 if mark == "guard" else 0.0) * spots.k
    field, bounds, middle = on.field[name.room.ref]
    if name.box is not None and name.leader is None:
        middle = (name.box[0] + name.box[2]) / 2, name.box[1] - height / 2 - 0.05 * spots.k
    for most in (*COVERED, COVERED_TAG):
        box = plan_spots.inside(spots, field, bounds, middle, width, height, most=most)
        if box is not None:
            return Item(ref, mark, words, spots.take(box))
    dot = 0.03 * spots.k
    own = middle[0] - dot, middle[1] - dot, middle[0] + dot, middle[1] + dot
    found = plan_spots.beside(spots, own, (0.0, -1.0), width, height)
    return None if found is None else Item(ref, mark, words, found[0], found[1])


def draw(name: Name, sheet: Sheet, *, k: float) -> list[str]:
    """The lines, one under the other."""
    if name.box is None:
        return []
    middle = sheet.pt(((name.box[0] + name.box[2]) / 2, name.box[3]))
    top = middle[1]
    parts = [svg.stroke(sheet.path(name.leader), "leader")] if name.leader else []
    for line in name.lines:
        parts.append(svg.text(line.words, (middle[0], top + line.above * k), line.css, anchor="middle"))
        top += line.height * k
    return parts


def draw_item(item: Item, sheet: Sheet, *, k: float) -> list[str]:
    """The mark and its word."""
    x0, y0, _, y1 = item.box
    left, middle = sheet.pt((x0, (y0 + y1) / 2))
    at = left + (INK_EDGE + plan_marks.JOINT) * k, middle
    css = "tag" if item.mark.startswith("joint") else "tag word"
    line = Line(item.words, css)
    where = left + (INK_EDGE + MARK) * k, middle + (line.above - line.below) * k / 2
    mark = plan_marks.small_frame(at, k=k) if item.mark == "guard" else plan_marks.joint(item.mark[6:], at, k=k)
    leader = [svg.stroke(sheet.path(item.leader), "leader")] if item.leader else []
    return [*leader, *mark, svg.text(item.words, where, css)]

"""Walls that nobody drew, guessed on the sides of rooms: between two rooms half way, else on the outer side."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing
from pullstring.radio.scene import Point, Skin, Wall
from pullstring.radio.scene_assumed import Taken, WallClass, assumed, wall_classes
from pullstring.radio.scene_rooms import Drawn
from pullstring.radio.scene_skins import UNKNOWN, class_of, class_skin, guessed, skin_of, wall_types
from pullstring.radio.scene_storeys import Storey, solid

LEAST_M = 0.05  # ours: shorter stretches are slips of the pen
PARALLEL = math.sin(math.radians(3))  # ours
OUTER, INNER = "outer", "inner"


@dataclasses.dataclass(frozen=True)
class Side:
    """One side of a room, walked so that the room lies on the left."""

    room: int
    start: Point
    end: Point

    @property
    def length_m(self) -> float:
        """[m]"""
        return math.dist(self.start, self.end)

    @property
    def along(self) -> Point:
        """Unit vector from start to end."""
        return (self.end[0] - self.start[0]) / self.length_m, (self.end[1] - self.start[1]) / self.length_m

    def at(self, u_m: float, *, out_m: float) -> Point:
        """The point so far along and so far out of the room.

        Parameters
        ----------
        u_m, out_m : float
            From the start, and to the right. [m]

        References
        ----------
        Plane geometry.
        """
        (x, y), (dx, dy) = self.start, self.along
        return x + u_m * dx + out_m * dy, y + u_m * dy - out_m * dx

    def of(self, point: Point) -> tuple[float, float]:
        """How far along the side a point is, and how far out of the room. [m]"""
        (x, y), (dx, dy) = self.start, self.along
        px, py = point[0] - x, point[1] - y
        return px * dx + py * dy, px * dy - py * dx


def guessed_walls(
    site: Site, drawn: Sequence[Drawn], bare: Sequence[Storey]
) -> tuple[tuple[Wall, ...], Mapping[str, Skin], tuple[Taken, ...]]:
    """Walls on storeys that have rooms and no recorded wall, their skins, and what was taken for granted."""
    rooms = {storey: [r for r in drawn if r.storey == storey] for storey in bare}
    rooms = {storey: found for storey, found in rooms.items() if found}
    if not rooms:
        return (), {}, ()
    skins = guessed_skins(site)
    made = []
    for storey, found in rooms.items():
        for number, (where, start, end) in enumerate(between(found), 1):
            made.append(
                Wall(
                    f"{storey.ref.tag} side {number}",
                    storey.to_site(start, 0.0)[:2],
                    storey.to_site(end, 0.0)[:2],
                    storey.frame.z_m + storey.z_m,
                    storey.frame.z_m + storey.top_m,
                    skins[where].name,
                )
            )
    return tuple(made), {s.name: s for s in skins.values()}, (Taken("walls_guessed", tuple(s.ref for s in rooms)),)


def between(rooms: Sequence[Drawn]) -> list[tuple[str, Point, Point]]:
    """Stretches of wall between and around the rooms of one storey: outer or inner, from where to where."""
    sides = [
        Side(number, a, b)
        for number, room in enumerate(rooms)
        for piece in _rings(room)
        for a, b in zip(piece, piece[1:] + piece[:1], strict=True)
        if math.dist(a, b) > LEAST_M
    ]
    found = []
    for side in sides:
        shared = [(other.room, *met) for other in sides if other.room != side.room and (met := _facing(side, other))]
        for room, u0, u1, gap in shared:
            if side.room < room:
                found.append((INNER, side.at(u0, out_m=gap / 2), side.at(u1, out_m=gap / 2)))
        for u0, u1 in _left_over(side.length_m, [(u0, u1) for _, u0, u1, _ in shared]):
            found.append((OUTER, side.at(u0, out_m=0), side.at(u1, out_m=0)))
    return sorted(found)


def _rings(room: Drawn) -> list[tuple[Point, ...]]:
    """Outer sides with the room on the left; a room with a yard inside has its sides there too, seldom enough to leave out."""
    area = room.area
    parts = [area] if area.geom_type == "Polygon" else list(getattr(area, "geoms", ()))
    return [ring for p in parts for ring in solid(type(p)(p.exterior))] if parts else []


def _facing(side: Side, other: Side) -> tuple[float, float, float] | None:
    """Where along a side another room's side lies opposite, and the gap between; None where it does not."""
    (ax, ay), (bx, by) = side.along, other.along
    if abs(ax * by - ay * bx) > PARALLEL or ax * bx + ay * by > 0:
        return None
    (u1, out1), (u0, out0) = side.of(other.start), side.of(other.end)
    gap = (out0 + out1) / 2
    low, high = max(0.0, u0), min(side.length_m, u1)
    if high - low <= LEAST_M or not -LEAST_M < gap < assumed("facing_m"):
        return None
    return low, high, gap


def _left_over(length_m: float, shared: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """What of a side is not opposite another room."""
    free, at = [], 0.0
    for low, high in sorted(shared):
        if low - at > LEAST_M:
            free.append((at, low))
        at = max(at, high)
    return [*free, (at, length_m)] if length_m - at > LEAST_M else free


def guessed_skins(site: Site) -> Mapping[str, Skin]:
    """Skins for outer and inner walls: the wall types noted, else the wall words of the place, else unknown."""
    types = [t for t in wall_types(site) if class_of(t).use == "wall"]
    if types:
        order = sorted(types, key=lambda t: (t.number("thickness_m") or 0.0, skin_of(t).loss_db["5 GHz"]))
        chosen = {OUTER: skin_of(order[-1]), INNER: skin_of(order[0])}
        return {where: guessed(s, f"{s.name}, guessed") for where, s in chosen.items()}
    named = sorted(_worded(site), key=lambda c: c.loss_db) or [wall_classes()[UNKNOWN]]
    kinds = {OUTER: named[-1], INNER: named[0]}
    return {where: guessed(class_skin(c, c.name), f"{c.name}, guessed") for where, c in kinds.items()}


def _worded(site: Site) -> list[WallClass]:
    """Classes whose words stand in what was noted of the place and its buildings; a longer word before one inside it."""
    said = " ".join(_words(t) for kind in ("property", "building") for t in site.of_kind(kind)).casefold()
    found = set()
    for word, name in sorted(((w, c.name) for c in wall_classes().values() for w in c.words), key=lambda p: -len(p[0])):
        said, count = re.subn(rf"\b{re.escape(word)}\b", " ", said)
        found |= {name} if count else set()
    return [c for c in wall_classes().values() if c.name in found]


def _words(thing: Thing) -> str:
    return " ".join(thing.text(name) for name in ("note", "built", "era"))

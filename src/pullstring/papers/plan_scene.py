"""A floor with all that its drawing needs to know: shapes, walls as bodies, guarded things, runs, and the fields."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import shapely

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import FloorPlan, RoomShape, WallShape, floor_plan
from pullstring.model.refs import BadName, Ref, parse_ref
from pullstring.papers import symbols, walls
from pullstring.papers.plan_field import Box, Field
from pullstring.papers.plan_guard import Guarded, guarded
from pullstring.papers.plan_runs import Run, runs_of
from pullstring.papers.svg import Sheet
from pullstring.papers.symbols import Found
from pullstring.papers.walls import Body

if TYPE_CHECKING:
    from pullstring.papers.signal_layer import Signal

PAD = 0.8
NARROWEST = 15.0
SQUARE = 0.06  # side of the fields' squares, at 1:100
FREE_EDGE = 0.14  # between the frame's line and the nearest words, at 1:100


class NothingToDraw(ValueError):
    """A floor has neither a room's outline nor a wall."""


@dataclasses.dataclass(frozen=True)
class Scene:
    """A floor with all that the drawing needs to know of it; `marks` names what the key explains."""

    site: Site
    plan: FloorPlan
    walls: tuple[WallShape, ...]
    rooms: tuple[RoomShape, ...]
    planned_walls: frozenset[str]
    bodies: tuple[Body, ...]
    found: Found
    sheet: Sheet
    width: float
    height: float
    scale: int
    as_of: str
    prefix: str
    guarded: Guarded
    runs: tuple[Run, ...]
    runs_given: bool
    in_key: tuple[str, ...] = ()
    marks: frozenset[str] = frozenset()
    signal: Signal | None = None
    signal_key: tuple[tuple[str, str, str], ...] = ()

    @property
    def k(self) -> float:
        """Size of letters and symbols in metres of the house; 1 at 1:100."""
        return self.scale / 100

    @property
    def bounds(self) -> Box:
        """What the sheet of the plan shows, in the building's axes."""
        left, top = self.sheet.left_m, self.sheet.top_m
        return left, top - self.height, left + self.width, top

    @property
    def frame(self) -> Box:
        """Where words may stand."""
        x0, y0, x1, y1 = self.bounds
        edge = FREE_EDGE * self.k
        return x0 + edge, y0 + edge, x1 - edge, y1 - edge

    def room(self, ref: Ref | None) -> RoomShape | None:
        """A room's shape on this floor."""
        return next((r for r in self.rooms if r.ref == ref), None)


def scene_of(
    site: Site,
    floor: Ref,
    *,
    scale: int,
    as_of: str,
    runs: Sequence[Mapping[str, Any]] | None,
    untouchable: Iterable[str] | None,
    to_remove: Iterable[str],
) -> Scene:
    """Everything of one floor; raises NothingToDraw where it has neither an outline nor a wall."""
    if scale < 1:
        raise ValueError(f"a scale is a whole number such as 50 or 100, not {scale}")
    plan = floor_plan(site, floor)

    def stays(ref: Ref) -> bool:
        thing = site.get(ref)
        return thing is not None and thing.text("state") != "removed"

    rooms = tuple(r for r in plan.rooms if stays(r.ref) and r.area_m2 > 1e-6)
    standing = tuple(w for w in plan.walls if stays(w.ref) and walls.length_m(w) > 0)
    if not rooms and not standing:
        raise NothingToDraw(
            f"floor {floor.tag}: no room has an outline and no wall is noted; note an outline such as "
            "0 0; 6 5 for one room of this floor"
        )
    planned = frozenset(w.ref.key for w in standing if (t := site.get(w.ref)) and t.text("state") == "planned")
    k = scale / 100
    bodies = walls.bodies(standing, planned, k=k)
    guard = guarded(site, untouchable)
    found_runs = runs_of(site, runs, to_remove=_refs(to_remove), guarded=guard.untouchable)
    ends = {r for run in found_runs for r in (*run.begins, *run.reaches) if r.kind == "unit"}
    units = ends | {r for r in guard.word if r.kind == "unit"}
    found = symbols.on_floor(site, plan, tuple(w for w in standing if w.ref.key not in planned), units=units)
    everything = [shapely.Polygon(p) for r in rooms for p in r.pieces] + [b.area for b in bodies]
    everything += [shapely.Point(s.at) for s in found.symbols]
    x0, y0, x1, y1 = shapely.total_bounds(everything)
    width = max(x1 - x0 + 2 * PAD * k, NARROWEST * k)
    return Scene(
        site,
        plan,
        standing,
        rooms,
        planned,
        bodies,
        found,
        Sheet(float(x0 - (width - (x1 - x0)) / 2), float(y1 + PAD * k)),
        float(width),
        float(y1 - y0 + 2 * PAD * k),
        scale,
        as_of or site.as_of or "",
        "h-" + "".join(c if c.isalnum() else "-" for c in floor.key),
        guard,
        found_runs,
        runs is not None,
    )


def _refs(names: Iterable[str]) -> frozenset[Ref]:
    found = set()
    for name in names:
        try:
            found.add(parse_ref(str(name)))
        except BadName:
            continue
    return frozenset(found)


def walls_field(scene: Scene) -> Field:
    """Where walls stand; openings count half, for a window's lines are thin."""
    field = Field.over(scene.bounds, SQUARE * scene.k)
    for box in walls.full_boxes(scene.walls):
        field.add_polygon([(x, y) for x, y in box.exterior.coords[:-1]])
    return field

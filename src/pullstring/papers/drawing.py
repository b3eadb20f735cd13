"""One floor drawn to scale: walls by material, rooms, outlets, where cables end, access points, key and title block.

The drawing stands in the building's own axes, so turning the house changes only the arrow. One metre of the house is
one unit of the drawing, and the size in millimetres is stated, so that paper shows exactly 1:100 or 1:50.
"""

from __future__ import annotations

import dataclasses
import math

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import FloorPlan, Opening, RoomShape, WallShape, floor_plan
from pullstring.model.refs import Ref
from pullstring.papers import lettering, names, svg, symbols, walls
from pullstring.papers.drawing_key import foot, foot_height
from pullstring.papers.drawing_style import MONO_EM, TAG, plan_css, plan_sizes
from pullstring.papers.ink import DAY, Inks
from pullstring.papers.lettering import Taken
from pullstring.papers.svg import Sheet
from pullstring.papers.symbols import Found
from pullstring.papers.walls import Body

PAD = 0.8
NARROWEST = 15.0


class NothingToDraw(ValueError):
    """A floor has neither a room's outline nor a wall."""


@dataclasses.dataclass(frozen=True)
class Scene:
    """A floor with all that the drawing needs to know of it."""

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
    in_key: tuple[str, ...] = ()

    @property
    def k(self) -> float:
        """Size of letters and symbols in metres of the house; 1 at 1:100."""
        return self.scale / 100


def floor_svg(site: Site, floor: Ref, *, scale: int = 100, as_of: str = "", inks: Inks = DAY) -> str:
    """The drawing of one floor as SVG that states its size on paper.

    Parameters
    ----------
    site : Site
        The as-built site; planned things are drawn open and red.
    floor : Ref
        Which floor.
    scale : int
        100 draws one metre as 10 mm, 50 as 20 mm.
    as_of : str
        Date for the title block; the site's own when empty.
    inks : Inks
        Day, night or black only.

    Raises
    ------
    NothingToDraw
        When the floor has no outline and no wall, with what to note.
    """
    scene = _scene(site, floor, scale=scale, as_of=as_of)
    k = scene.k
    taken = Taken(shapely.unary_union([b.area for b in scene.bodies]))
    doors = [part for wall in scene.walls for o in wall.openings for part in _opening(scene, wall, o, taken)]
    for symbol in scene.found.symbols:
        taken.add(symbols.corners(symbol, k), margin=0.04 * k)
    tags = _tags(scene, taken)
    named = names.place(scene.rooms, taken, k=k)
    scene = dataclasses.replace(scene, in_key=tuple(n.for_key for n in named if n.for_key))
    bodies = [part for body in scene.bodies for part in walls.draw_body(body, scene.sheet, scene.prefix)]
    marks = [part for symbol in scene.found.symbols for part in symbols.draw(symbol, scene.sheet, k=k)]
    total = scene.height + foot_height(scene)
    return svg.document(
        [
            *walls.patterns(scene.prefix, k=k),
            svg.rect((0, 0), scene.width, total, "bg"),
            _grid(scene),
            _edges(scene),
            *bodies,
            *doors,
            *(part for name in named for part in names.draw(name, scene.sheet, k=k)),
            *marks,
            *tags,
            *foot(scene),
        ],
        width=scene.width,
        height=total,
        mm_per_unit=1000 / scale,
        style=plan_css(inks) + plan_sizes(k),
        says=f"{scene.plan.name or floor.tag}, drawn at 1:{scale}: {len(scene.rooms)} rooms, "
        f"{len(scene.found.symbols)} things marked",
    )


def _scene(site: Site, floor: Ref, *, scale: int, as_of: str) -> Scene:
    if scale < 1:
        raise ValueError(f"a scale is a whole number such as 50 or 100, not {scale}")
    plan = floor_plan(site, floor)

    def stays(ref: Ref) -> bool:
        thing = site.get(ref)
        return thing is not None and thing.text("state") != "removed"

    rooms = tuple(r for r in plan.rooms if stays(r.ref))
    standing = tuple(w for w in plan.walls if stays(w.ref) and walls.length_m(w) > 0)
    if not rooms and not standing:
        raise NothingToDraw(
            f"floor {floor.tag}: no room has an outline and no wall is noted; note an outline such as "
            "0 0; 6 5 for one room of this floor"
        )
    planned = frozenset(w.ref.key for w in standing if (t := site.get(w.ref)) and t.text("state") == "planned")
    k = scale / 100
    bodies = walls.bodies(standing, planned, k=k)
    found = symbols.on_floor(site, plan, tuple(w for w in standing if w.ref.key not in planned))
    everything = [shapely.Polygon(p) for r in rooms for p in r.pieces] + [b.area for b in bodies]
    everything += [shapely.Point(s.at) for s in found.symbols]
    x0, y0, x1, y1 = shapely.unary_union(everything).bounds
    width = max(x1 - x0 + 2 * PAD * k, NARROWEST * k)
    left = x0 - (width - (x1 - x0)) / 2
    prefix = "h-" + "".join(c if c.isalnum() else "-" for c in floor.key)
    return Scene(
        site,
        plan,
        standing,
        rooms,
        planned,
        bodies,
        found,
        Sheet(left, y1 + PAD * k),
        width,
        y1 - y0 + 2 * PAD * k,
        scale,
        as_of or site.as_of or "",
        prefix,
    )


def _grid(scene: Scene) -> str:
    """Lines at whole metres of the building's axes, over the sheet of the plan."""
    left, top = scene.sheet.left_m, scene.sheet.top_m
    right, bottom = left + scene.width, top - scene.height
    upright = [[(x, top), (x, bottom)] for x in range(math.ceil(left), math.floor(right) + 1)]
    level = [[(left, y), (right, y)] for y in range(math.ceil(bottom), math.floor(top) + 1)]
    return svg.stroke("".join(scene.sheet.path(line) for line in upright + level), "grid")


def _edges(scene: Scene) -> str:
    """Thin outlines of the rooms where no wall stands, and none across a door."""
    covered = shapely.unary_union([walls.full_box(w, scene.walls).buffer(0.02) for w in scene.walls])
    bounds = shapely.unary_union([shapely.Polygon(p).exterior for r in scene.rooms for p in r.pieces])
    inner = shapely.unary_union([_seam(r) for r in scene.rooms])
    left = shapely.line_merge(bounds.difference(covered).difference(inner))
    lines = sorted([(x, y) for x, y in part.coords] for part in getattr(left, "geoms", [left]) if not part.is_empty)
    return svg.stroke("".join(scene.sheet.path(line) for line in lines), "edge") if lines else ""


def _seam(room: RoomShape) -> BaseGeometry:
    """Where two pieces of one room meet: no line there."""
    pieces = [shapely.Polygon(p) for p in room.pieces]
    shared = [a.intersection(b).buffer(0.001) for i, a in enumerate(pieces) for b in pieces[i + 1 :]]
    return shapely.unary_union(shared)


def _opening(scene: Scene, wall: WallShape, opening: Opening, taken: Taken) -> list[str]:
    middle = (opening.u0_m + opening.u1_m) / 2
    inner = [shapely.Polygon(p) for r in scene.rooms for p in r.pieces]

    def in_room(side: int) -> bool:
        spot = shapely.Point(walls.local(wall).at(middle, side * (wall.thickness_m / 2 + 0.3)))
        return any(p.contains(spot) for p in inner)

    side = 1 if in_room(1) or not in_room(-1) else -1
    if opening.fill == "door":
        for leaf in walls.leaves(wall, opening, side):
            taken.add(leaf)
    return walls.draw_opening(wall, opening, side, scene.sheet)


def _tags(scene: Scene, taken: Taken) -> list[str]:
    k, parts = scene.k, []
    for symbol in scene.found.symbols:
        width, height = (len(symbol.tag) * MONO_EM * TAG + 0.06) * k, TAG * k
        away = (1.0, 0.0) if symbol.form == "radio" else symbol.away
        reach = (symbol.reach + 0.05) * k
        x, y = scene.sheet.pt(lettering.beside(taken, symbol.at, away, reach, width, height))
        css = "tag plan" if symbol.planned else "tag"
        parts.append(svg.text(symbol.tag, (x, y + 0.36 * TAG * k), css, anchor="middle"))
    return parts

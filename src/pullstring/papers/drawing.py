"""One floor drawn to scale: walls by material, rooms, outlets, runs, joints, access points, ends, what is not to be touched.

The drawing stands in the building's own axes, so turning the house changes only the arrow. One metre of the house is
one unit of the drawing, and the size in millimetres is stated, so that paper shows exactly 1:100 or 1:50. Each layer is
a group of its own and each thing says what it is, so that a page can switch layers and ask about a thing.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import shapely
from shapely.geometry.base import BaseGeometry

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import Opening, RoomShape, WallShape
from pullstring.model.refs import Ref
from pullstring.papers import plan_inside, plan_lines, plan_things, svg, walls
from pullstring.papers.drawing_key import foot_of
from pullstring.papers.drawing_style import plan_css, plan_sizes
from pullstring.papers.ink import DAY, Inks
from pullstring.papers.plan_scene import NothingToDraw, Scene, scene_of

if TYPE_CHECKING:
    from pullstring.papers.signal_layer import Signal

__all__ = ["NothingToDraw", "floor_svg"]


def floor_svg(
    site: Site,
    floor: Ref,
    *,
    scale: int = 100,
    as_of: str = "",
    inks: Inks = DAY,
    runs: Sequence[Mapping[str, Any]] | None = None,
    untouchable: Iterable[str] | None = None,
    to_remove: Iterable[str] = (),
    signal: Signal | None = None,
) -> str:
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
    runs : sequence of mappings, optional
        The rows `runs` of the answer on runs; without them what the record itself says of ends.
    untouchable : iterable of str, optional
        Things as `kind:TAG` that may not be touched, from the answer on cutting.
    to_remove : iterable of str
        Cables or ends as `kind:TAG` that are to be taken out.
    signal : Signal, optional
        Levels of one band; the floor is then drawn with access points and readings only, without runs and outlets.

    Raises
    ------
    NothingToDraw
        When the floor has no outline and no wall, with what to note.
    """
    scene = scene_of(site, floor, scale=scale, as_of=as_of, runs=runs, untouchable=untouchable, to_remove=to_remove)
    layer = None
    if signal is not None:
        from pullstring.papers.signal_layer import SignalLayer, for_signal

        scene = for_signal(scene, signal)
        layer = SignalLayer.of(scene, signal)
        scene = dataclasses.replace(scene, signal_key=layer.key)
    k = scene.k
    doors = [(wall, opening, _side(scene, wall, opening)) for wall in scene.walls for opening in wall.openings]
    leaves = [leaf for d in doors if d[1].fill == "door" for leaf in walls.leaves(*d)]
    made = plan_inside.placed(scene, leaves, layer.take if layer else None)
    scene = dataclasses.replace(scene, in_key=(*(layer.notes if layer else ()), *made.notes), marks=made.marks)
    foot = foot_of(scene)
    total = scene.height + foot.height
    bodies = [part for body in scene.bodies for part in walls.draw_body(body, scene.sheet, scene.prefix)]
    openings = [
        part
        for wall, opening, side in doors
        for part in svg.group(walls.draw_opening(wall, opening, side, scene.sheet), "opening", ref=str(opening.ref))
    ]
    layers = [
        ("rooms", _rooms(scene)),
        ("signal", layer.under() if layer else []),
        ("walls", bodies),
        ("openings", openings),
        ("runs", [*plan_lines.draw(scene, made.traffic), *plan_things.gates(scene, made)]),
        ("joints", plan_things.joints(scene, made)),
        ("ends", plan_things.standing(scene, made, ("block", "unit"))),
        ("access-points", plan_things.standing(scene, made, ("radio",))),
        ("outlets", plan_things.standing(scene, made, ("outlet",))),
        ("protected", plan_things.protected(scene, made)),
        ("readings", layer.over() if layer else []),
        ("names", plan_things.room_names(scene, made)),
    ]
    return svg.document(
        [
            *walls.patterns(scene.prefix, k=k),
            svg.rect((0, 0), scene.width, total, "bg"),
            _grid(scene),
            *(part for name, parts in layers for part in svg.group(parts, f"layer {name}", layer=name)),
            *foot.parts,
        ],
        width=scene.width,
        height=total,
        mm_per_unit=1000 / scale,
        style=plan_css(inks) + plan_sizes(k),
        says=f"{scene.plan.name or floor.tag}, drawn at 1:{scale}: {len(scene.rooms)} rooms, "
        f"{len(made.stood)} things marked",
    )


def _grid(scene: Scene) -> str:
    """Lines at whole metres of the building's axes, over the sheet of the plan."""
    left, top = scene.sheet.left_m, scene.sheet.top_m
    right, bottom = left + scene.width, top - scene.height
    upright = [[(x, top), (x, bottom)] for x in range(math.ceil(left), math.floor(right) + 1)]
    level = [[(left, y), (right, y)] for y in range(math.ceil(bottom), math.floor(top) + 1)]
    return svg.stroke("".join(scene.sheet.path(line) for line in upright + level), "grid")


def _rooms(scene: Scene) -> list[str]:
    """The floor of each room, to be asked about, and thin outlines where no wall stands, and none across a door."""
    areas = [
        part
        for room in scene.rooms
        for part in svg.group(
            [svg.stroke("".join(scene.sheet.path(p, closed=True) for p in room.pieces), "ground")],
            "room",
            ref=str(room.ref),
            title=" ".join([room.ref.tag, *room.name.split()]),
        )
    ]
    covered = shapely.unary_union([box.buffer(0.02) for box in walls.full_boxes(scene.walls)])
    bounds = shapely.unary_union([shapely.Polygon(p).exterior for r in scene.rooms for p in r.pieces])
    inner = shapely.unary_union([_seam(r) for r in scene.rooms])
    left = shapely.line_merge(bounds.difference(covered).difference(inner))
    lines = sorted([(x, y) for x, y in part.coords] for part in getattr(left, "geoms", [left]) if not part.is_empty)
    return [*areas, *([svg.stroke("".join(scene.sheet.path(line) for line in lines), "edge")] if lines else [])]


def _seam(room: RoomShape) -> BaseGeometry:
    """Where two pieces of one room meet: no line there."""
    pieces = [shapely.Polygon(p) for p in room.pieces]
    shared = [a.intersection(b).buffer(0.001) for i, a in enumerate(pieces) for b in pieces[i + 1 :]]
    return shapely.unary_union(shared)


def _side(scene: Scene, wall: WallShape, opening: Opening) -> int:
    """To which side a door is drawn open: into a room if one side has none."""
    middle = (opening.u0_m + opening.u1_m) / 2
    spots = [walls.local(wall).at(middle, side * (wall.thickness_m / 2 + 0.3)) for side in (1, -1)]
    left, right = (any(_holds(p, spot) for r in scene.rooms for p in r.pieces) for spot in spots)
    return 1 if left or not right else -1


def _holds(polygon: Sequence[svg.Point], point: svg.Point) -> bool:
    from pullstring.model.geometry import contains

    return contains(tuple(polygon), point)

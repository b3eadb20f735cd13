"""One floor for drawing programs: the open exchange format DXF, in metres, each kind of thing on a layer with a plain name.

Written with the library `ezdxf`, which is an optional part: without it a sentence says how to get it. The file holds no
clock and no chance number, so the same floor gives the same bytes.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import math
from collections.abc import Iterator, Sequence
from typing import Any

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import Opening, RoomShape, WallShape, floor_plan
from pullstring.model.refs import Ref
from pullstring.papers import figures, symbols, walls
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.symbols import Symbol
from pullstring.papers.walls import Body

MISSING = (
    "a drawing as DXF needs one more part: install the extra dxf of this program, as in pip install 'pullstring[dxf]'"
)
METRE = 6  # $INSUNITS: 6 is metre (DXF reference, header variables)
VERSION = "R2010"
LAYERS = {
    "walls": 7,
    "wall hatch": 8,
    "walls to add": 1,
    "openings": 7,
    "rooms": 8,
    "room names": 7,
    "outlets": 7,
    "where cables end": 7,
    "access points": 7,
    "to add": 1,
    "names of things": 7,
}
"""Layers with their colour number: 7 is black or white as the ground is, 8 is grey, 1 is red for what is to be added."""
FORMS = {"outlet": "outlets", "block": "where cables end", "radio": "access points"}
LETTER_M, NAME_M = 0.18, 0.3
HATCHES: dict[str, list[tuple[float, tuple[float, float], tuple[float, float], list[float]]]] = {
    "brick": [(45, (0, 0), (-0.113, 0.113), [])],
    "rubble": [(0, (0, 0), (0, 0.15), []), (90, (0, 0), (0.15, 0.23), [0.15, -0.15])],
    "timber": [(45, (0, 0), (-0.2, 0.2), []), (135, (0, 0), (0.2, 0.2), [])],
    "board": [(45, (0, 0), (-0.3, 0.3), [])],
    "metal lath": [(30, (0, 0), (-0.06, 0.104), []), (150, (0, 0), (0.06, 0.104), [])],
    "lath": [(0, (0, 0), (0, 0.06), [])],
}
"""Lines of each hatch: angle, starting point, step to the next line, dashes; in metres."""


class NoDxf(RuntimeError):
    """The library that writes DXF is not installed."""


def floor_dxf(site: Site, floor: Ref) -> bytes:
    """One floor as DXF, in the building's own axes, in metres.

    Parameters
    ----------
    site : Site
        The as-built site; what is planned stands on layers of its own.
    floor : Ref
        Which floor.

    Raises
    ------
    NoDxf
        When the optional part is not installed; the sentence says how to get it.
    NothingToDraw
        When the floor has no outline and no wall.
    """
    try:
        ezdxf: Any = importlib.import_module("ezdxf")
    except ImportError as error:
        raise NoDxf(MISSING) from error
    plan = floor_plan(site, floor)
    standing = tuple(w for w in plan.walls if _stays(site, w.ref) and walls.length_m(w) > 0)
    rooms = tuple(r for r in plan.rooms if _stays(site, r.ref))
    if not rooms and not standing:
        raise NothingToDraw(
            f"floor {floor.tag}: no room has an outline and no wall is noted; note an outline such as "
            "0 0; 6 5 for one room of this floor"
        )
    planned = frozenset(w.ref.key for w in standing if (t := site.get(w.ref)) and t.text("state") == "planned")
    with _without_clock(ezdxf):
        doc = ezdxf.new(VERSION, units=METRE)
        for name, colour in LAYERS.items():
            doc.layers.add(name, color=colour)
        space = doc.modelspace()
        for body in walls.bodies(standing, planned, k=1.0):
            _body(space, body)
        for wall in standing:
            for opening in wall.openings:
                _opening(space, wall, opening)
        for room in rooms:
            _room(space, room)
        _symbol_blocks(doc)
        found = symbols.on_floor(site, plan, tuple(w for w in standing if w.ref.key not in planned))
        for symbol in found.symbols:
            _symbol(space, symbol)
        if found.unplaced:
            _words(space, f"not drawn, no point noted: {', '.join(found.unplaced)}", _below(standing, rooms), LETTER_M)
        for name in sorted(doc.entitydb.dxf_types_in_use()):  # else the library lists them as chance has it
            doc.classes.add_class(name)
        out = io.StringIO()
        doc.write(out)
    return out.getvalue().encode("utf-8")


@contextlib.contextmanager
def _without_clock(ezdxf: Any) -> Iterator[None]:
    """While writing, the library puts neither the time nor chance numbers into the file."""
    was = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = was


def _stays(site: Site, ref: Ref) -> bool:
    thing = site.get(ref)
    return thing is not None and thing.text("state") != "removed"


def _body(space: Any, body: Body) -> None:
    """The edge of all walls of one build as closed lines, and their hatch inside."""
    rings = walls.rings(body.area)
    for ring in rings:
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "walls to add" if body.planned else "walls"})
    if body.planned:
        return
    if body.hatch in HATCHES:
        hatch = space.add_hatch(color=256, dxfattribs={"layer": "wall hatch"})
        name = body.hatch.replace(" ", "_").upper()
        hatch.set_pattern_fill(name, definition=HATCHES[body.hatch])
        for ring in rings:
            hatch.paths.add_polyline_path(ring, is_closed=True)


def _opening(space: Any, wall: WallShape, opening: Opening) -> None:
    at, half = walls.local(wall).at, wall.thickness_m / 2
    attribs = {"layer": "openings"}
    across = (0.0, -half, half) if opening.fill == "window" else (-half, half) if opening.fill != "door" else ()
    for v in across:
        space.add_line(at(opening.u0_m, v), at(opening.u1_m, v), dxfattribs=attribs)
    if opening.fill == "door":
        for hinge, opened, shut in walls.leaves(wall, opening, 1):
            space.add_line(hinge, opened, dxfattribs=attribs)
            turns = [math.degrees(math.atan2(p[1] - hinge[1], p[0] - hinge[0])) for p in (opened, shut)]
            if (turns[1] - turns[0]) % 360 > 180:
                turns.reverse()
            space.add_arc(hinge, math.dist(hinge, opened), turns[0], turns[1], dxfattribs=attribs)


def _room(space: Any, room: RoomShape) -> None:
    for piece in room.pieces:
        space.add_lwpolyline(piece, close=True, dxfattribs={"layer": "rooms"})
    import shapely

    spot = shapely.Polygon(room.pieces[0]).representative_point()
    attribs = {"layer": "room names"}
    for words, drop, tall in ((room.name, 0.0, NAME_M), (_area(room), 0.45, LETTER_M)):
        if words:
            text = space.add_text(" ".join(words.split()), height=tall, dxfattribs=attribs)
            text.set_placement((spot.x, spot.y - drop), align=_middle())


def _area(room: RoomShape) -> str:
    return f"{room.ref.tag}, {figures.square_metres(room.area_m2)}"


def _middle() -> Any:
    from ezdxf.enums import TextEntityAlignment

    return TextEntityAlignment.MIDDLE_CENTER


def _below(standing: Sequence[WallShape], rooms: Sequence[RoomShape]) -> tuple[float, float]:
    points = [p for w in standing for p in (w.start, w.end)] + [p for r in rooms for piece in r.pieces for p in piece]
    return min(x for x, _ in points), min(y for _, y in points) - 1.0


def _words(space: Any, words: str, at: tuple[float, float], tall: float) -> None:
    space.add_text(words, height=tall, dxfattribs={"layer": "names of things", "insert": at})


def _symbol_blocks(doc: Any) -> None:
    """One block a form, drawn from plain geometry round its insertion point; the tag is an attribute."""
    for form, layer in FORMS.items():
        block = doc.blocks.new(name=layer.replace(" ", "_"))
        if form == "outlet":
            block.add_arc((0, 0), symbols.OUTLET, 0, 180)
            block.add_line((-symbols.OUTLET, 0), (symbols.OUTLET, 0))
        elif form == "block":
            side = symbols.BLOCK
            block.add_lwpolyline([(-side / 2, 0), (side / 2, 0), (side / 2, side), (-side / 2, side)], close=True)
            for part in (0.25, 0.5, 0.75):
                block.add_line((-0.36 * side, part * side), (0.36 * side, part * side))
        else:
            block.add_circle((0, 0), symbols.RADIO)
            for turn in (45, 135, 225, 315):
                u, v = math.cos(math.radians(turn)), math.sin(math.radians(turn))
                near, far = symbols.RADIO + 0.05, symbols.RAY
                block.add_line((near * u, near * v), (far * u, far * v))
        block.add_attdef("TAG", insert=(0, symbols.BLOCK + 0.06), text="", height=LETTER_M)


def _symbol(space: Any, symbol: Symbol) -> None:
    layer = FORMS[symbol.form]
    turn = math.degrees(math.atan2(symbol.away[1], symbol.away[0])) - 90 if symbol.form != "radio" else 0.0
    attribs = {"layer": "to add" if symbol.planned else layer, "rotation": round(turn, 6)}
    placed = space.add_blockref(layer.replace(" ", "_"), symbol.at, dxfattribs=attribs)
    up = symbols.BLOCK + 0.06
    spot = (symbol.at[0] + symbol.away[0] * up, symbol.at[1] + symbol.away[1] * up)
    text = symbol.tag + (" (out of use)" if symbol.gone else "")
    placed.add_attrib("TAG", text, insert=spot, dxfattribs={"height": LETTER_M, "layer": "names of things"})

"""Symbols of things on a floor: outlets, where cables end, access points, other gear. Filled is there, open is to be added."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence

import shapely
from shapely.geometry import LineString

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import FloorPlan, Point, WallShape, place_of
from pullstring.model.refs import Ref
from pullstring.papers import svg
from pullstring.papers.svg import Sheet

SNAP_M = 0.6  # ours: what is noted nearer to a wall's face than this is drawn at the face
OUTLET = 0.15
BLOCK = 0.36
RADIO = 0.17
RAY = 0.36
GEAR = 0.15
MOST_TICKS = 4
RADIO_MOUNTS = ("ceiling", "wall", "mast", "pole")
"""Ours: where a place without a unit is taken for that of an access point."""
FORMS = ("outlet", "block", "radio", "unit")
GONE = ("lost", "out of use")


@dataclasses.dataclass(frozen=True)
class Symbol:
    """One thing to draw: its place, the direction away from its wall, and how it stands."""

    form: str
    tag: str
    at: Point
    away: Point
    planned: bool
    gone: bool
    ticks: int
    ref: Ref | None = None
    true_at: Point | None = None  # where it was noted, when its symbol had to stand aside

    @property
    def reach(self) -> float:
        """Distance from its place that it fills, at 1:100."""
        return {"outlet": OUTLET + 0.08, "block": BLOCK, "radio": RAY, "unit": GEAR, "way": GEAR}[self.form]


@dataclasses.dataclass(frozen=True)
class Found:
    """The symbols of a floor, and the tags of things whose point was never noted."""

    symbols: tuple[Symbol, ...]
    unplaced: tuple[str, ...]


def on_floor(site: Site, plan: FloorPlan, walls: Sequence[WallShape], *, units: Collection[Ref] = ()) -> Found:
    """All outlets, blocks and access points of one floor, and the other units named that have a point, in order."""
    symbols, unplaced = [], []
    for thing, form in _shown(site, units):
        if thing.text("state") == "removed" or not _is_here(site, thing, plan.floor):
            continue
        place = place_of(site, thing)
        if place is None and form == "unit":
            continue
        if place is None:
            unplaced.append(thing.ref.tag)
            continue
        at, away = (place.x_m, place.y_m), (0.0, 1.0)
        if form in ("outlet", "block"):
            at, away = _to_wall(at, walls, plan, thing.ref_of("room"))
        ticks = min(int(thing.number("positions") or 0), MOST_TICKS)
        state = thing.text("state")
        symbols.append(Symbol(form, thing.ref.tag, at, away, state == "planned", state in GONE, ticks, thing.ref))
    return Found(tuple(symbols), tuple(unplaced))


def _shown(site: Site, units: Collection[Ref]) -> list[tuple[Thing, str]]:
    def is_radio(unit: Thing) -> bool:
        model = site.get(unit.ref_of("model"))
        return model is not None and model.text("what") == "access point"

    return (
        [(t, "outlet") for t in site.of_kind("outlet")]
        + [(t, "block") for t in site.of_kind("block")]
        + [(t, "radio") for t in site.of_kind("unit") if is_radio(t)]
        + [(t, "radio") for t in site.of_kind("position") if _waits_for_radio(site, t)]
        + [(t, "unit") for t in site.of_kind("unit") if t.ref in units and not is_radio(t)]
    )


def _waits_for_radio(site: Site, position: Thing) -> bool:
    """Whether a place has a point, hangs where access points hang, and bears no unit yet."""
    if position.text("mount") not in RADIO_MOUNTS or position.number("x_m") is None or position.number("y_m") is None:
        return False
    borne = (site.get(claim.subject) for claim in site.about(relation="mounted_at", object=position.ref))
    return not any(unit is not None and unit.text("state") != "removed" for unit in borne)


def _is_here(site: Site, thing: Thing, floor: Ref) -> bool:
    room = site.get(thing.ref_of("room"))
    return room is not None and room.ref_of("floor") == floor


def _to_wall(at: Point, walls: Sequence[WallShape], plan: FloorPlan, room: Ref | None) -> tuple[Point, Point]:
    """The point at the face of the nearest wall, or of the room's edge where no wall is noted, and the way off it."""
    lines = [(LineString([w.start, w.end]), w.thickness_m / 2) for w in walls]
    own = [r for r in plan.rooms if r.ref == room]
    point = shapely.Point(at)
    if not any(line.distance(point) - half <= SNAP_M for line, half in lines):
        lines = [
            (LineString([a, b]), 0.0)
            for r in own
            for p in r.pieces
            for a, b in zip(p, p[1:] + p[:1], strict=True)
            if math.dist(a, b) > 0
        ] or lines
    if not lines:
        return at, (0.0, 1.0)
    line, half = min(
        lines,
        key=lambda pair: (round(max(0.0, pair[0].distance(point) - pair[1]), 6), pair[0].distance(point)),
    )
    foot = line.interpolate(line.project(point))
    dx, dy = at[0] - foot.x, at[1] - foot.y
    far = math.hypot(dx, dy)
    if far < 0.01:
        dx, dy, far = *_off(line, foot, own), 1.0
    away = dx / far, dy / far
    if far - half > SNAP_M:
        return at, away
    return (foot.x + away[0] * half, foot.y + away[1] * half), away


def _off(line: LineString, foot: shapely.Point, own: Sequence[object]) -> Point:
    """Across the line, towards the thing's own room."""
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    length = math.dist((x0, y0), (x1, y1))
    left = (y0 - y1) / length, (x1 - x0) / length
    pieces = [p for r in own for p in getattr(r, "pieces", ())]
    if not pieces:
        return left
    inner = shapely.Polygon(pieces[0]).representative_point()
    leans = (inner.x - foot.x) * left[0] + (inner.y - foot.y) * left[1]
    return left if leans >= 0 else (-left[0], -left[1])


def corners(symbol: Symbol, k: float) -> list[Point]:
    """Corners of the box that a symbol fills, in the building's axes."""
    (x, y), (dx, dy), r = symbol.at, symbol.away, symbol.reach * k
    if symbol.form in ("radio", "unit", "way"):
        return [(x - r, y - r), (x + r, y + r)]
    slash = _slash_of(symbol, k) if symbol.gone else []
    side = BLOCK * k / 2 if symbol.form == "block" else OUTLET * k
    return [*slash, *((x + u * dx - v * dy, y + u * dy + v * dx) for u in (0.0, r) for v in (-side, side))]


def _slash_of(symbol: Symbol, k: float) -> list[Point]:
    """Both ends of the slash over what is out of use or lost."""
    (x, y), (dx, dy) = symbol.at, symbol.away
    deep, half = {"outlet": (OUTLET / 2, OUTLET * 1.2), "block": (BLOCK / 2, BLOCK * 0.7), "radio": (0.0, RAY)}.get(
        symbol.form, (0.0, GEAR)
    )
    x, y, half = x + dx * deep * k, y + dy * deep * k, half * k
    return [(x - half, y - half), (x + half, y + half)]


def draw(symbol: Symbol, sheet: Sheet, *, k: float) -> list[str]:
    """The marks of one symbol."""
    return {"outlet": _outlet, "block": _block, "radio": _radio, "unit": _gear, "way": _way}[symbol.form](
        symbol, sheet, k
    )


def _outlet(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    """Half a disc, its flat to the wall, a tick for each jack."""
    r = OUTLET * k
    (x, y), (dx, dy) = symbol.at, symbol.away
    a, b = sheet.pt((x - r * dy, y + r * dx)), sheet.pt((x + r * dy, y - r * dx))
    half = f"M{svg.num(a[0])} {svg.num(a[1])}A{svg.num(r)} {svg.num(r)} 0 0 1 {svg.num(b[0])} {svg.num(b[1])}Z"
    ticks = []
    for i in range(symbol.ticks):
        turn = math.radians(30 * (i - (symbol.ticks - 1) / 2))
        ux, uy = dx * math.cos(turn) - dy * math.sin(turn), dx * math.sin(turn) + dy * math.cos(turn)
        ticks.append(sheet.path([(x + ux * r, y + uy * r), (x + ux * (r + 0.08 * k), y + uy * (r + 0.08 * k))]))
    parts = [svg.stroke(half, _ink(symbol))]
    parts += [svg.stroke("".join(ticks), _line(symbol))] if ticks else []
    return parts + _slash(symbol, sheet, k)


def _block(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    """A square with rungs, one side to the wall."""
    s = BLOCK * k
    (x, y), (dx, dy) = symbol.at, symbol.away

    def at(u: float, v: float) -> Point:
        return x + u * dx - v * dy, y + u * dy + v * dx

    square = sheet.path([at(0, -s / 2), at(0, s / 2), at(s, s / 2), at(s, -s / 2)], closed=True)
    rungs = "".join(sheet.path([at(s * part, -s * 0.36), at(s * part, s * 0.36)]) for part in (0.25, 0.5, 0.75))
    parts = [svg.stroke(square, _ink(symbol)), svg.stroke(rungs, "newline" if symbol.planned else "gap")]
    return parts + _slash(symbol, sheet, k)


def _radio(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    """A disc with its dot and four slanting rays."""
    x, y = sheet.pt(symbol.at)
    slant = math.sqrt(0.5)
    rays = "".join(
        svg.path([(x + sx * a * slant * k, y + sy * a * slant * k) for a in (RADIO + 0.05, RAY)])
        for sx in (-1, 1)
        for sy in (-1, 1)
    )
    parts = [
        svg.stroke(rays, _line(symbol)),
        svg.circle((x, y), RADIO * k, _ink(symbol)),
        svg.circle((x, y), RADIO * 0.38 * k, _line(symbol) if symbol.planned else "pf"),
    ]
    return parts + _slash(symbol, sheet, k)


def _gear(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    """An upright square with one line across: gear that is no access point."""
    r, (x, y) = GEAR * 0.9 * k, symbol.at
    square = sheet.path([(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], closed=True)
    across = sheet.path([(x - r * 0.6, y), (x + r * 0.6, y)])
    parts = [svg.stroke(square, _ink(symbol)), svg.stroke(across, "newline" if symbol.planned else "gap")]
    return parts + _slash(symbol, sheet, k)


def _way(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    """A square cut from corner to corner, one half filled: here a pathway leaves the floor."""
    r, (x, y) = GEAR * 0.9 * k, symbol.at
    square = sheet.path([(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], closed=True)
    half = sheet.path([(x - r, y - r), (x + r, y - r), (x + r, y + r)], closed=True)
    edge = "new" if symbol.planned else "hollow"
    return [svg.stroke(square, edge), *([] if symbol.planned else [svg.stroke(half, "is")])]


def _slash(symbol: Symbol, sheet: Sheet, k: float) -> list[str]:
    if not symbol.gone:
        return []
    line = sheet.path(_slash_of(symbol, k))
    return [svg.stroke(line, "gap"), svg.stroke(line, "isline lost")]


def _ink(symbol: Symbol) -> str:
    return "new" if symbol.planned else "is"


def _line(symbol: Symbol) -> str:
    return "newline" if symbol.planned else "isline"

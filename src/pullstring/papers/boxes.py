"""A plan from the first minute: rooms without corners laid out as boxes from what was said to lie next to what.

Nothing here is measured. A box has the size that the room's own words name, else 12 m²; it touches the boxes that are
said to be next to it wherever the search finds room, lies over the room it is said to be above, and stands clear of
rooms whose corners are known. What was said and could not be drawn so is told. `boxes_sketch.sketch_svg` draws it.
"""

from __future__ import annotations

import collections
import dataclasses
import math
import re
from collections.abc import Iterator, Mapping, Sequence

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.geometry import Polygon, as_polygon, parse_outline
from pullstring.model.refs import Ref
from pullstring.model.units import BadQuantity, parse_quantity
from pullstring.papers.boxes_search import Cells, Wanted, placed, shapes

DEFAULT_AREA_M2 = 12.0  # ours, assumed: a room of which nobody said how large it is
CELL_M = math.sqrt(DEFAULT_AREA_M2) / 2
MOST_CELLS = 60.0  # ours: a room is drawn no larger than this
_SIDES = re.compile(r"(\d+(?:\.\d+)?)\s*(m|ft|feet|')?\s*(?:x|×|by)\s*(\d+(?:\.\d+)?)\s*(m|ft|feet|')?", re.IGNORECASE)
_AREA = re.compile(r"(\d+(?:\.\d+)?)\s*(m2|m²|sqm|sq m|square metres|sq ft|ft2|ft²|square feet)", re.IGNORECASE)
FT2_M2 = 0.3048**2  # the international foot, exact
Outline = tuple[Polygon, ...]


@dataclasses.dataclass(frozen=True)
class Story:
    """Rooms of one height: a floor as noted, or what relations say where no floor was noted."""

    floor: Ref | None
    level: int
    rooms: tuple[Ref, ...]


@dataclasses.dataclass(frozen=True)
class Layout:
    """Corners for every room of the site, and what was said that is not drawn so: (room, `beside` or `above`, room)."""

    stories: tuple[Story, ...]
    outlines: Mapping[Ref, Outline]
    boxes: frozenset[Ref]
    apart: tuple[tuple[Ref, str, Ref], ...]


def laid_out(site: Site) -> dict[Ref, Outline]:
    """Corners in metres for every room that has none; the same site gives the same corners."""
    made = layout(site)
    return {ref: made.outlines[ref] for ref in sorted(made.boxes)}


@once_a_site
def layout(site: Site) -> Layout:
    """All rooms story by story, the lowest first, so that what is above can lie above."""
    rooms = {r.ref: r for r in site.of_kind("room") if r.text("state") != "removed"}
    beside = [(a, b) for a, b in _said(site, "beside") if a in rooms and b in rooms]
    above = [(a, b) for a, b in _said(site, "above") if a in rooms and b in rooms]
    stories = _stories(site, rooms, beside, above)
    outlines: dict[Ref, Outline] = {
        ref: tuple(as_polygon(p) for p in parse_outline(room.text("outline")))
        for ref, room in rooms.items()
        if room.text("outline")
    }
    known = frozenset(outlines)
    for story in stories:
        outlines |= _boxes(rooms, story, outlines, beside, above)
    apart = [(a, "beside", b) for a, b in beside if not touch(outlines[a], outlines[b]) or not _same(stories, a, b)]
    apart += [(a, "above", b) for a, b in above if not _over(outlines[a], outlines[b]) or _same(stories, a, b)]
    return Layout(tuple(stories), outlines, frozenset(rooms) - known, tuple(apart))


def _said(site: Site, relation: str) -> list[tuple[Ref, Ref]]:
    """Pairs of a relation that is not ruled out, each once, in order."""
    found: dict[tuple[Ref, Ref], None] = {}
    for claim in site.about(relation=relation):
        a, b = claim.subject, claim.object
        pair = (min(a, b), max(a, b)) if relation == "beside" else (a, b)
        if a != b:
            found[pair] = None
    return sorted(found)


def area_of(room: Thing) -> float:
    """Area in m² that a room's own words name, else the default."""
    for said in (room.text("name"), room.text("use"), room.text("note")):
        if found := _AREA.search(said):
            value = float(found[1])
            return value * FT2_M2 if "f" in found[2].lower() else value
        if (found := _SIDES.search(said)) and (found[2] or found[4]):
            unit = found[4] or found[2]
            try:
                sides = [parse_quantity(found[n], "length", unit=unit.replace("feet", "ft")).value for n in (1, 3)]
            except BadQuantity:
                continue
            return sides[0] * sides[1]
    return DEFAULT_AREA_M2


def _stories(
    site: Site, rooms: Mapping[Ref, Thing], beside: Sequence[tuple[Ref, Ref]], above: Sequence[tuple[Ref, Ref]]
) -> list[Story]:
    """Floor and level of every room: as noted, else from a neighbour, else one higher than what it is above."""
    floors = [f for f in site.of_kind("floor")]
    level_of = {f.ref: _level(f, n) for n, f in enumerate(floors)}
    at: dict[Ref, tuple[Ref | None, int]] = {}
    for ref, room in rooms.items():
        if (floor := room.ref_of("floor")) is not None:
            at[ref] = floor, level_of.get(floor, 0)
    links: dict[Ref, list[tuple[Ref, int]]] = collections.defaultdict(list)
    for a, b in beside:
        links[a].append((b, 0))
        links[b].append((a, 0))
    for a, b in above:
        links[a].append((b, -1))
        links[b].append((a, 1))
    todo = collections.deque(sorted(at))
    for ref in [*sorted(at), *sorted(rooms)]:
        if ref not in at:
            at[ref] = None, 0
            todo.append(ref)
        while todo:
            here = todo.popleft()
            for there, step in sorted(links[here]):
                if there not in at:
                    at[there] = _next_floor(site, level_of, at[here], step)
                    todo.append(there)
    groups: dict[tuple[Ref | None, int], list[Ref]] = collections.defaultdict(list)
    for ref in sorted(rooms):
        groups[at[ref]].append(ref)
    order = sorted(groups, key=lambda g: (g[1], g[0] is None, g[0] or Ref("floor", "0")))
    return [Story(floor, level, tuple(groups[floor, level])) for floor, level in order]


def _level(floor: Thing, number: int) -> int:
    level, z = floor.number("level"), floor.number("z_m")
    return int(level) if level is not None else round(z / 3) if z is not None else number


def _next_floor(
    site: Site, level_of: Mapping[Ref, int], here: tuple[Ref | None, int], step: int
) -> tuple[Ref | None, int]:
    floor, level = here
    if step == 0 or floor is None:
        return floor, level + step
    building = site.things[floor].ref_of("building") if floor in site.things else None
    there = [f for f, n in level_of.items() if n == level + step and site.things[f].ref_of("building") == building]
    return (there[0] if len(there) == 1 else None), level + step


def _same(stories: Sequence[Story], a: Ref, b: Ref) -> bool:
    return any(a in s.rooms and b in s.rooms for s in stories)


def _boxes(
    rooms: Mapping[Ref, Thing],
    story: Story,
    outlines: Mapping[Ref, Outline],
    beside: Sequence[tuple[Ref, Ref]],
    above: Sequence[tuple[Ref, Ref]],
) -> dict[Ref, Outline]:
    """Boxes for the rooms of a story that have no corners, group by group, clear of each other and of those that have."""
    free = [r for r in story.rooms if r not in outlines]
    taken = [_cells(outlines[r]) for r in story.rooms if r in outlines]
    near: dict[Ref, set[Ref]] = {r: set() for r in free}
    for a, b in beside:
        if a in near and b in near:
            near[a].add(b)
            near[b].add(a)
    under = {a: _cells(outlines[b]) for a, b in above if a in near and b in outlines and b not in story.rooms}
    found: dict[Ref, Outline] = {}
    groups = sorted(_groups(near), key=lambda g: (not any(r in under for r in g), -len(g), g[0]))
    row_top = low = min((t[1] for t in taken), default=0)
    x = max((t[0] + t[2] for t in taken), default=-1) + 1
    widest = max(8, 2 * math.ceil(math.sqrt(4 * len(free))))
    start = x
    for group in groups:
        number = {ref: n for n, ref in enumerate(group)}
        sizes = [shapes(min(area_of(rooms[r]) / CELL_M**2, MOST_CELLS), len(near[r])) for r in group]
        made = placed(
            Wanted(
                sizes,
                [frozenset(number[o] for o in near[r]) for r in group],
                {number[r]: cells for r, cells in under.items() if r in number},
                tuple(taken),
                (x, low),
            )
        )
        if not any(r in under for r in group):
            made = _moved(made, x, low, taken)
            x = max(c[0] + c[2] for c in made) + 1
            row_top = max(row_top, *(c[1] + c[3] for c in made))
            if x - start > widest:
                x, low = start, row_top + 1
        taken += made
        found |= {ref: _outline(made[n]) for ref, n in number.items()}
    return found


def _moved(made: Sequence[Cells], x: int, low: int, taken: Sequence[Cells]) -> list[Cells]:
    """A group with its lower left corner at a place, or as far to the right of it as needed to be clear."""
    dx, dy = x - min(c[0] for c in made), low - min(c[1] for c in made)
    while True:
        shifted = [(c[0] + dx, c[1] + dy, c[2], c[3]) for c in made]
        hit = [t for t in taken for c in shifted if _close(c, t)]
        if not hit:
            return shifted
        dx += max(1, max(t[0] + t[2] for t in hit) + 1 - min(c[0] for c in shifted))


def _close(a: Cells, b: Cells) -> bool:
    """Whether two rectangles overlap or touch: groups that nobody said to be next to each other keep a cell apart."""
    return a[0] <= b[0] + b[2] and b[0] <= a[0] + a[2] and a[1] <= b[1] + b[3] and b[1] <= a[1] + a[3]


def _groups(near: Mapping[Ref, set[Ref]]) -> Iterator[list[Ref]]:
    seen: set[Ref] = set()
    for ref in sorted(near):
        if ref in seen:
            continue
        group, todo = [], [ref]
        seen.add(ref)
        while todo:
            here = todo.pop()
            group.append(here)
            todo += [o for o in sorted(near[here]) if o not in seen]
            seen |= near[here]
        yield sorted(group)


def _cells(outline: Outline) -> Cells:
    """The cells that hold an outline."""
    xs, ys = [x for p in outline for x, _ in p], [y for p in outline for _, y in p]
    x0, y0 = math.floor(min(xs) / CELL_M + 1e-6), math.floor(min(ys) / CELL_M + 1e-6)
    return x0, y0, math.ceil(max(xs) / CELL_M - 1e-6) - x0, math.ceil(max(ys) / CELL_M - 1e-6) - y0


def _outline(cells: Cells) -> Outline:
    x, y, w, h = (round(c * CELL_M, 3) for c in (cells[0], cells[1], cells[0] + cells[2], cells[1] + cells[3]))
    return (((x, y), (w, y), (w, h), (x, h)),)


def _box(outline: Outline) -> tuple[float, float, float, float]:
    xs, ys = [x for p in outline for x, _ in p], [y for p in outline for _, y in p]
    return min(xs), min(ys), max(xs), max(ys)


def touch(one: Outline, other: Outline) -> bool:
    """Whether two rooms share at least half a metre of wall, with the thickness of a wall between them at most."""
    import shapely

    a, b = (shapely.unary_union([shapely.Polygon(p) for p in o]) for o in (one, other))
    near = a.buffer(0.4, join_style="mitre").intersection(b.boundary)
    return bool(near.length >= 0.5 and a.intersection(b).area < 0.01 * min(a.area, b.area))


def _over(upper: Outline, lower: Outline) -> bool:
    a, b = _box(upper), _box(lower)
    return min(a[2], b[2]) - max(a[0], b[0]) > 0.1 and min(a[3], b[3]) - max(a[1], b[1]) > 0.1

"""A floor drawn from what was said: broken edges, no scale, every outlet, end and unit as a tag inside its room."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence

from shapely.geometry.base import BaseGeometry

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.papers import closet_marks as marks
from pullstring.papers import figures, svg
from pullstring.papers.boxes import Layout, Outline, Story, layout
from pullstring.papers.closet_marks import HEAD, MID, SMALL, STRONG, WORDS, Line, fitted, height, stacked
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.ink import DAY, Inks

EDGE = 5.0
LEAST_K, MOST_K = 9.0, 15.0  # millimetres of paper for a metre: as large as the fullest room needs, within these
PAD = 1.4
LEAST_W = 110.0
INSIDE = ("outlet", "block", "unit", "end")
NOT_TO_SCALE = "not to scale: laid out from what was said to lie next to what"
UNKNOWN = "floor not noted"


@dataclasses.dataclass(frozen=True)
class _Room:
    """A room to draw: its lines, those that stay, and what has no room inside it."""

    ref: Ref
    outline: Outline
    is_box: bool
    lines: tuple[Line, ...]
    refs: tuple[tuple[Ref, ...], ...]
    left_over: tuple[str, ...]
    tags_left: bool


def sketch_svg(site: Site, floor: Ref | None, *, inks: Inks = DAY) -> str:
    """The rooms of one floor as boxes; with None, of all rooms of which no floor is noted, the highest on top.

    Raises
    ------
    NothingToDraw
        When no room is noted there.
    """
    made = layout(site)
    stories = [s for s in made.stories if s.floor == floor and s.rooms][::-1]
    if not stories:
        where = f"floor {floor.tag}" if floor else "rooms without a floor"
        raise NothingToDraw(f"{where}: no room is noted there; note one, such as room R1 of this floor")
    k = _size(site, made, stories)
    parts: list[str] = []
    left = min(_bounds(made, s)[0] for s in stories)
    right = max(_bounds(made, s)[0] + _bounds(made, s)[2] for s in stories)
    width = max(LEAST_W, (right - left) * k) + 2 * EDGE
    said = NOT_TO_SCALE if any(r in made.boxes for s in stories for r in s.rooms) else "not to scale"
    top = _top(site, floor, width, said)
    y = EDGE + height(top) + 4.0
    left_over: list[str] = []
    for story in stories:
        if len(stories) > 1:
            parts += stacked([Line(_level(story), STRONG)], (EDGE, y))
            y += STRONG.pitch + 1.5
        drawn, tall, over = _story(site, made, story, k, left, (EDGE, y))
        parts += drawn
        left_over += over
        y += tall + 4.0
    notes = _notes(site, made, stories, left_over, width)
    parts += stacked(notes, (EDGE, y))
    total = y + height(notes) + EDGE
    frame = [
        svg.rect((0.6, 0.6), width - 1.2, total - 1.2, "frame"),
        *stacked(top, (EDGE, EDGE)),
        svg.stroke(svg.path([(0.6, EDGE + height(top) + 1.5), (width - 0.6, EDGE + height(top) + 1.5)]), "heavy"),
    ]
    rooms = sum(len(s.rooms) for s in stories)
    return marks.document(
        [*frame, *parts], width=width, height=total, inks=inks, says=f"{_title(site, floor)}, {rooms} rooms, {said}"
    )


def _size(site: Site, made: Layout, stories: Sequence[Story]) -> float:
    """Millimetres for a metre: the least at which every room holds its words and tags, or at least its name."""
    steps = [n / 2 for n in range(int(2 * LEAST_K), int(2 * MOST_K) + 1)]

    def left_over(k: float, only_names: bool) -> int:
        rooms = [_room(site, made, r, k) for s in stories for r in s.rooms]
        return sum(len(r.left_over) - (only_names and r.tags_left) for r in rooms)

    for only_names in (False, True):
        if found := next((k for k in steps if not left_over(k, only_names)), None):
            return found
    return MOST_K


def _title(site: Site, floor: Ref | None) -> str:
    thing = site.get(floor)
    name = thing.text("name") if thing else ""
    return f"{floor.tag} {name}".strip() if floor else UNKNOWN[0].upper() + UNKNOWN[1:]


def _top(site: Site, floor: Ref | None, width: float, said: str) -> list[Line]:
    named = next(iter(site.of_kind("property")), None)
    place = (named.text("name") or named.ref.tag) if named else "property not named"
    as_of = f"as of {figures.date(site.as_of)}" if site.as_of else "the whole record"
    lines = [Line(_title(site, floor), HEAD), Line(said, STRONG), Line(f"{place} · {as_of}", SMALL, "second")]
    return fitted(lines, width - 2 * EDGE)


def _level(story: Story) -> str:
    return f"level {story.level:+d}".replace("-", "−") if story.level else "level 0"


def _bounds(made: Layout, story: Story) -> tuple[float, float, float, float]:
    """Left, top, width and height of a story, in metres; top as the largest y."""
    points = [p for r in story.rooms for piece in made.outlines[r] for p in piece]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), max(ys), max(xs) - min(xs), max(ys) - min(ys)


def _largest(outline: Outline) -> tuple[float, float, float, float]:
    """Left, top, width and height of the upright box inside which a room's words stand: that of its largest piece."""
    boxes = []
    for piece in outline:
        xs, ys = [x for x, _ in piece], [y for _, y in piece]
        whole = (min(xs), max(ys), max(xs) - min(xs), max(ys) - min(ys))
        boxes.append(whole if len(piece) == 4 and _upright(piece) else _inner(piece))
    return max(boxes, key=lambda b: (round(b[2] * b[3], 6), b))


def _upright(piece: Sequence[tuple[float, float]]) -> bool:
    return len({round(x, 6) for x, _ in piece}) == 2 and len({round(y, 6) for _, y in piece}) == 2


def _inner(piece: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    """The largest of some upright boxes that lie inside a piece."""
    import shapely

    area = shapely.Polygon(piece)
    xs, ys = sorted({x for x, _ in piece}), sorted({y for _, y in piece})
    steps_x = [xs[0] + (xs[-1] - xs[0]) * n / 8 for n in range(9)]
    steps_y = [ys[0] + (ys[-1] - ys[0]) * n / 8 for n in range(9)]
    best = (area.representative_point().x, area.representative_point().y, 0.0, 0.0)
    us, vs = sorted({*xs[:12], *steps_x}), sorted({*ys[:12], *steps_y})
    for n, u in enumerate(us):
        for w in us[n + 1 :]:
            for m, v in enumerate(vs):
                for t in vs[:m:-1]:
                    if (w - u) * (t - v) > best[2] * best[3] and area.covers(shapely.box(u, v, w, t)):
                        best = (u, t, w - u, t - v)
    return best


def _inside(site: Site, room: Ref) -> list[Thing]:
    return [
        t for kind in INSIDE for t in site.of_kind(kind) if t.ref_of("room") == room and t.text("state") != "removed"
    ]


def _room(site: Site, made: Layout, ref: Ref, k: float) -> _Room:
    """The words of a room, as many as its box holds: name and tag first, then the tags of what is in it."""
    _, _, wide, tall = _largest(made.outlines[ref])
    width, room = wide * k - 2 * PAD, tall * k - 2 * PAD
    thing = site.things[ref]
    head = fitted([Line(thing.text("name"), WORDS), Line(ref.tag, SMALL, "second")], max(width, 1.0))
    widest = max((line.style.width(line.words) for line in head), default=0.0)
    if height(head) > room or widest > width:
        head = fitted([Line(ref.tag, SMALL)], max(width, 1.0))
        named = (f"{ref.tag} is {thing.text('name')}",) if thing.text("name") else ()
    else:
        named = ()
    if height(head) > room or max((line.style.width(line.words) for line in head), default=0.0) > width:
        head, named = [], (f"{ref.tag} {thing.text('name')} is too small to name".replace("  ", " "),)
    lines = list(head)
    refs: list[tuple[Ref, ...]] = [()] * len(head)
    over: list[str] = []
    low = height(head)
    row: list[Thing] = []
    for one in [*_inside(site, ref), None]:
        longer = _row_width([*row, one]) if one else 0.0
        if one is not None and longer <= width:
            row.append(one)
            continue
        if row:
            if low + MID.pitch <= room:
                lines.append(Line("", MID))
                refs.append(tuple(t.ref for t in row))
                low += MID.pitch
            else:
                over += [t.ref.tag for t in row]
        row = [one] if one is not None and MID.width(one.ref.tag) <= width else []
        over += [one.ref.tag] if one is not None and not row else []
    more = (*named, *([f"{ref.tag} holds too: {', '.join(over)}"] if over else []))
    return _Room(ref, made.outlines[ref], ref in made.boxes, tuple(lines), tuple(refs), more, bool(over))


SPACE = 2.2


def _row_width(row: Iterable[Thing]) -> float:
    tags = [t.ref.tag for t in row]
    return sum(MID.width(t) for t in tags) + SPACE * (len(tags) - 1)


def _story(
    site: Site, made: Layout, story: Story, k: float, left: float, at: svg.Point
) -> tuple[list[str], float, list[str]]:
    _, top, _, tall = _bounds(made, story)

    def pt(p: Sequence[float]) -> svg.Point:
        return at[0] + (p[0] - left) * k, at[1] + (top - p[1]) * k

    parts: list[str] = []
    over: list[str] = []
    for ref in story.rooms:
        room = _room(site, made, ref, k)
        over += room.left_over
        edges = "".join(svg.path([pt(p) for p in piece], closed=True) for piece in room.outline)
        x0, y0, wide, high = _largest(room.outline)
        x, y = pt((x0, y0))
        inner = [svg.stroke(edges, "bg")]
        low = y + (high * k - height(room.lines)) / 2
        for line, refs in zip(room.lines, room.refs, strict=True):
            if refs:
                inner += _tags(site, refs, x + wide * k / 2, low)
            else:
                inner += stacked([line], (x + wide * k / 2, low), anchor="middle")
            low += line.style.pitch
        parts += marks.group(ref, f"{ref.tag} {site.things[ref].text('name')}".strip(), inner)
    return [*parts, *_edges(site, made, story, pt)], tall * k, over


def _edges(site: Site, made: Layout, story: Story, pt: Callable[[Sequence[float]], svg.Point]) -> list[str]:
    """The edges of all rooms, an edge that two share once: full where it was noted, broken where it was only said."""
    import shapely

    def of(refs: Iterable[Ref]) -> BaseGeometry:
        pieces = [shapely.Polygon(p).exterior for r in refs for p in made.outlines[r]]
        return shapely.unary_union(pieces) if pieces else shapely.LineString()

    planned = [r for r in story.rooms if site.things[r].text("state") == "planned"]
    noted = of(r for r in story.rooms if r not in made.boxes and r not in planned)
    said = of(r for r in story.rooms if r in made.boxes and r not in planned).difference(noted)
    new = of(planned).difference(noted).difference(said)
    parts: list[str] = []
    for lines, css in ((said, "thin dash"), (noted, "heavy"), (new, "plan")):
        merged = shapely.line_merge(lines) if lines.geom_type.startswith("Multi") else lines
        runs = sorted([tuple(p.coords) for p in getattr(merged, "geoms", [merged]) if not p.is_empty])
        if runs:
            parts.append(svg.stroke("".join(svg.path([pt(p) for p in run]) for run in runs), css))
    return parts


def _tags(site: Site, refs: Sequence[Ref], middle: float, y: float) -> list[str]:
    x = middle - _row_width([site.things[r] for r in refs]) / 2
    parts: list[str] = []
    for ref in refs:
        thing = site.things[ref]
        ink = "planned" if thing.text("state") == "planned" else "ink"
        drawn = stacked([Line(ref.tag, MID, ink)], (x, y))
        wide = MID.width(ref.tag)
        if thing.text("state") in ("out of use", "lost"):
            drawn += marks.slash(x - 0.4, y, wide + 0.8, MID.pitch)
        says = f"{ref.kind.replace('_', ' ')} {ref.tag}"
        parts += marks.group(ref, says, drawn)
        x += wide + SPACE
    return parts


def _notes(site: Site, made: Layout, stories: Sequence[Story], over: Sequence[str], width: float) -> list[Line]:
    """What the picture cannot show: relations that are not drawn so, and what had no room."""
    here = {r for s in stories for r in s.rooms}

    def name(ref: Ref) -> str:
        return site.things[ref].text("name") or ref.tag

    words = {"beside": "next to", "above": "above"}
    lines = [
        Line(f"drawn apart: {name(a)} is said to be {words[how]} {name(b)}", STRONG)
        for a, how, b in made.apart
        if a in here or b in here
    ]
    kinds = [("broken edges: nobody measured this room", any(r in made.boxes for r in here))]
    kinds.append(("full edges: drawn from noted corners", any(r not in made.boxes for r in here)))
    lines += [Line(said, SMALL, "second") for said, is_so in kinds if is_so]
    lines += [Line(said, SMALL) for said in over]
    return fitted(lines, width - 2 * EDGE)

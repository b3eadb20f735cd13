"""What hangs on what, as a drawing: power as a double line, data as a single one, a telephone or alarm line dashed."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers import closet_marks as marks
from pullstring.papers import figures, svg
from pullstring.papers.closet_marks import HEAD, MID, SMALL, STRONG, WORDS, Line, fitted, height, stacked
from pullstring.papers.ink import DAY, Inks
from pullstring.papers.riser_layout import BOX_W, GRID, MARK_W, Box, Laid, Net, input_lines, laid

EDGE = 5.0
BAND_W = 22.0
SIDE_W = 62.0
HEADS_H = 8.0
BARS_W = 3.0
KEY = (
    ("power", "power"),
    ("data", "data"),
    ("line", "a line: telephone, alarm, door"),
    ("unsure", "broken, with a question mark: told or assumed only, or contradicted"),
    ("planned", "broken all along, red in colour: to be added"),
    ("bars", "barred: do not touch"),
)
KEY_W = 62.0
Facts = Mapping[str, Any]


@dataclasses.dataclass(frozen=True)
class _Frame:
    """A laid-out riser with where it stands on its sheet."""

    laid: Laid
    x: float
    y: float
    inks: Inks


def riser_svg(tree: Facts, *, inks: Inks = DAY) -> str:
    """The riser as SVG that states its size on paper; letters of at least 7 pt.

    Parameters
    ----------
    tree : mapping
        What hangs on what, as `api.drawn.tree` gives it.
    inks : Inks
        Day, night or black only.
    """
    made = laid(tree)
    top = _top(tree)
    start = EDGE + height(top) + 4.0
    frame = _Frame(made, EDGE + BAND_W, start + HEADS_H, inks)
    inner = BAND_W + made.width
    body = max(made.height, 20.0) + HEADS_H
    side, side_w = _aside(tree, EDGE + inner + 4, start, body)
    width = max(EDGE + inner + side_w + EDGE, 150.0)
    foot, foot_h = _foot(width, start + body + 2)
    total = start + body + 2 + foot_h + EDGE
    parts = [
        svg.rect((0.6, 0.6), width - 1.2, total - 1.2, "frame"),
        *stacked(top, (EDGE, EDGE)),
        svg.stroke(svg.path([(0.6, start - 1.5), (width - 0.6, start - 1.5)]), "heavy"),
        *_bands(frame, EDGE + inner),
        *(part for net in made.nets for part in _net(frame, net)),
        *(part for box in made.boxes.values() for part in _box(frame, box)),
        *side,
        *foot,
    ]
    if not made.boxes:
        parts += stacked([Line("Nothing that hangs on anything is noted yet.", SMALL)], (EDGE, start + 4))
    says = f"What hangs on what: {len(made.boxes)} things, {len(tree['edges'])} ways"
    return marks.document(parts, width=width, height=total, inks=inks, says=says)


def _top(tree: Facts) -> list[Line]:
    as_of = f"as of {figures.date(tree['as_of'])}" if tree["as_of"] else "the whole record"
    said = " · ".join(w for w in (tree["property"] or "property not named", as_of, "not to scale") if w)
    return [Line("What hangs on what", HEAD), Line(said, SMALL, "second")]


def _bands(frame: _Frame, right: float) -> list[str]:
    made, parts = frame.laid, []
    for words, top, _ in made.bands:
        y = frame.y + top
        parts.append(svg.stroke(svg.path([(EDGE, y), (right, y)]), "faint"))
        parts += stacked(fitted([Line(words, WORDS, "second")], BAND_W - 2), (EDGE, y + 0.8))
    for words, first in made.heads:
        x = frame.x + made.column_x[first]
        parts += stacked(fitted([Line(words, STRONG)], BOX_W)[:2], (x, frame.y - HEADS_H + 0.6))
    shown: dict[tuple[int, float], int] = {}
    for words, first, top in made.titles:
        key = (first, top)
        shown[key] = shown.get(key, 0) + 1
        if shown[key] == 1:
            more = [w for w, f, t in made.titles if (f, t) == key and w != words]
            said = fitted([Line(", ".join([words, *more]), SMALL, "second")], BOX_W)[:1]
            parts += stacked(said, (frame.x + made.column_x[first], frame.y + top + 0.8))
    return parts


def _box(frame: _Frame, box: Box) -> list[str]:
    x, y = frame.x + frame.laid.column_x[box.column], frame.y + box.y
    planned = box.node["state"] == "planned"
    parts = [svg.rect((x, y), BOX_W, box.height, "new" if planned else "face")]
    left = x + 1.5
    if box.node["guard"] is not None:
        parts += marks.bars(x + BOX_W - BARS_W, y, BARS_W, box.height)
    if box.node["state"] in ("out of use", "lost"):
        parts += marks.slash(x + BOX_W - 8, y, 8, GRID)
    words = (*box.head, *(one for edge in box.inputs for one in input_lines(edge)))
    for row, line in enumerate(words):
        base = y + (row + 0.5) * GRID + 0.36 * line.style.size_mm
        parts.append(marks.text(line, (left, base)))
    return marks.group(box.node["ref"], f"{box.node['tag']} {box.node['name']}".strip(), parts)


def _net(frame: _Frame, net: Net) -> list[str]:
    """One trunk with its branches: first the strokes, then for power their white core, then dots and question marks."""
    made = frame.laid
    start = made.boxes[net.start]
    lane_of = {channel: made.lane_x(channel, lane) for channel, _, _, lane in net.uprights}
    out_y = start.out_y(net.signal)
    right = made.column_x[start.column] + BOX_W
    trunk = [[(right, out_y), (lane_of[start.column + 1], out_y)]]
    trunk += [[(lane_of[c], a), (lane_of[c], b)] for c, a, b, _ in net.uprights if b - a > 1e-6]
    if net.level_y is not None:
        xs = sorted(lane_of.values())
        trunk.append([(xs[0], net.level_y), (xs[-1], net.level_y)])
    sure: list[list[svg.Point]] = []
    unsure: list[list[svg.Point]] = []
    planned: list[list[svg.Point]] = []
    dots: list[svg.Point] = []
    for edge in net.edges:
        box = made.boxes[edge["to"]]
        y = box.in_y(box.inputs.index(edge))
        stub = [(lane_of[box.column], y), (made.column_x[box.column], y)]
        (planned if edge["planned"] else unsure if edge["unsure"] else sure).append(stub)
        dots.append((lane_of[box.column], y))
    if net.level_y is not None:
        dots += [(x, net.level_y) for x in lane_of.values()]
    if all(e["planned"] for e in net.edges):
        planned += trunk
    else:
        sure = trunk + sure
    parts = _strokes(frame, sure, net.signal) + _broken(frame, unsure, net.signal) + _strokes(frame, planned, "plan")
    dotted = dots if len(net.edges) > 1 else []
    parts += [svg.circle((frame.x + x, frame.y + y), 0.65, "solid") for x, y in dict.fromkeys(dotted)]
    to = ", ".join(e["to"].partition(":")[2] for e in net.edges)
    return marks.group(None, f"{net.signal} from {start.node['tag']} to {to}", parts)


def _strokes(frame: _Frame, lines: Sequence[Sequence[svg.Point]], signal: str) -> list[str]:
    if not lines:
        return []
    data = "".join(svg.path([(frame.x + x, frame.y + y) for x, y in line]) for line in lines)
    return _inked(data, signal)


def _inked(data: str, signal: str, more: str = "") -> list[str]:
    if signal == "power":
        return [svg.stroke(data, f"double{more}"), svg.stroke(data, "core")]
    return [svg.stroke(data, {"data": "heavy", "line": "heavy dash", "plan": "plan"}[signal] + more)]


def _broken(frame: _Frame, stubs: Sequence[Sequence[svg.Point]], signal: str) -> list[str]:
    """Branches of which one is not sure: the line broken before the box, with a question mark in the gap."""
    parts: list[str] = []
    for (x0, y), (x1, _) in stubs:
        left, right, y = frame.x + x0, frame.x + x1, frame.y + y
        gap = right - MARK_W + 0.7
        parts += _inked(svg.path([(left, y), (gap, y)]), signal)
        parts += _inked(svg.path([(gap + 3.2, y), (right, y)]), signal)
        parts.append(marks.text(Line("?", STRONG), (gap + 0.75, y + 0.95)))
    return parts


def _aside(tree: Facts, x: float, y: float, tall: float) -> tuple[list[str], float]:
    """What hangs on nothing that is known, in columns at the side; and how wide they are."""
    groups: list[tuple[str | None, str, list[Line]]] = []
    if tree["aside"]:
        head = fitted([Line("Hangs on nothing that is known", STRONG)], SIDE_W - 4)
        groups.append((None, "", head))
    for node in tree["aside"]:
        where = ", ".join(w for w in (node["name"], node["room"]) if w)
        ink = "planned" if node["state"] == "planned" else "ink"
        said = {"out of use": "out of use", "planned": "to be added"}.get(node["state"], "")
        lines = fitted([Line(node["tag"], MID, ink, where), Line(said, SMALL, ink)], SIDE_W - 4)
        groups.append((node["ref"], f"{node['tag']} {where}".strip(), lines))
    if tree["not_arriving"]:
        groups.append((None, "", fitted([Line("Nobody noted where these arrive", STRONG)], SIDE_W - 4)))
        groups += [(s["ref"], s["name"], fitted([Line(s["name"], SMALL)], SIDE_W - 4)) for s in tree["not_arriving"]]
    parts: list[str] = []
    column, low = 0, 0.0
    for ref, title, lines in groups:
        need = height(lines) + 0.9
        if low + need > tall and low > 0:
            column, low = column + 1, 0.0
        made = stacked(lines, (x + column * SIDE_W, y + low))
        parts += marks.group(ref, title, made) if ref else made
        low += need
    return parts, (column + 1) * SIDE_W if groups else 0.0


def _foot(width: float, y: float) -> tuple[list[str], float]:
    parts = [svg.stroke(svg.path([(0.6, y), (width - 0.6, y)]), "thin")]
    each = max(1, int((width - 2 * EDGE) // KEY_W))
    top = y + 2.0
    for n in range(0, len(KEY), each):
        row = [(what, fitted([Line(said, SMALL)], KEY_W - 16)) for what, said in KEY[n : n + each]]
        for place, (what, lines) in enumerate(row):
            x = EDGE + place * KEY_W
            parts += [*_swatch(what, x, top), *stacked(lines, (x + 13, top))]
        top += max(height(lines) for _, lines in row) + 1.0
    return parts, top - y


def _swatch(what: str, x: float, y: float) -> list[str]:
    middle = y + 1.5
    if what == "bars":
        return marks.bars(x, y, 11, 2.8)
    if what == "unsure":
        return [
            *_inked(svg.path([(x, middle), (x + 4, middle)]), "data"),
            *_inked(svg.path([(x + 8, middle), (x + 11, middle)]), "data"),
            marks.text(Line("?", STRONG), (x + 5.2, middle + 0.95)),
        ]
    return _inked(svg.path([(x, middle), (x + 11, middle)]), "plan" if what == "planned" else what)

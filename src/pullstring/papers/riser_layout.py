"""Where the boxes and lines of a riser stand: levels as bands, buildings as columns, lines only in the lanes between.

Every line leaves its box to the right, turns in a lane between two columns, if need be along a lane at the head of its
band, and enters the next box from the left. Boxes stand on a grid; lines leave at one phase of the grid and enter at
another, so that no two of them ever lie on each other, and none runs through a box.
"""

from __future__ import annotations

import collections
import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.papers.closet_marks import MID, SMALL, STRONG, Line, fitted
from pullstring.papers.closet_words import NOBODY, keep_off, mode, sure

BOX_W = 39.0
GRID = 3.9
BELOW = GRID  # white under a box
LANE = 2.4
MARK_W = 5.0  # before a box: where a question mark may break the line
TITLE = 5.0
MOST_COLUMNS = 5  # ours: columns of one building
NOWHERE = "place not known"
SOURCES = "comes in"
Facts = Mapping[str, Any]


@dataclasses.dataclass(frozen=True)
class Box:
    """One thing: its lines, its place, and at which rows its edges come in."""

    node: Facts
    column: int
    band: int
    head: tuple[Line, ...]
    inputs: tuple[Facts, ...]
    y: float = 0.0
    outs: tuple[str, ...] = ()

    @property
    def rows(self) -> int:
        """Rows of the grid that it fills."""
        return max(len(self.head) + sum(len(input_lines(e)) for e in self.inputs), len(self.outs))

    @property
    def height(self) -> float:
        """Height of the box."""
        return self.rows * GRID

    def in_y(self, number: int) -> float:
        """Where an edge comes in: at the first line of its words."""
        before = len(self.head) + sum(len(input_lines(e)) for e in self.inputs[:number])
        return self.y + (before + 0.5) * GRID

    def out_y(self, signal: str) -> float:
        """Where the edges of one signal go out."""
        return self.y + (self.outs.index(signal) + 0.15) * GRID


@dataclasses.dataclass(frozen=True)
class Net:
    """All edges of one signal from one box: upright strokes by channel, and a level stroke at the head of a band."""

    start: str
    signal: str
    edges: tuple[Facts, ...]
    level_y: float | None
    uprights: tuple[tuple[int, float, float, int], ...]  # channel, top, foot, lane


@dataclasses.dataclass(frozen=True)
class Laid:
    """A whole riser in millimetres, from its own top left corner."""

    boxes: Mapping[str, Box]
    nets: tuple[Net, ...]
    bands: tuple[tuple[str, float, float], ...]  # words, top, foot
    titles: tuple[tuple[str, int, float], ...]  # words, first column, y
    heads: tuple[tuple[str, int], ...]  # words, first column
    column_x: tuple[float, ...]
    channel_x: tuple[float, ...]
    width: float
    height: float

    def lane_x(self, channel: int, lane: int) -> float:
        """Where a lane of a channel stands."""
        return self.channel_x[channel] + LANE + lane * LANE


def input_lines(edge: Facts) -> list[Line]:
    """The words of one edge inside the box at which it comes in."""
    kind = {"data": "data", "power": "power", "line": "line"}[edge["signal"]]
    given = mode(edge["gives"]) if edge["gives"] and edge["gives"] not in ("mains", "battery mains") else ""
    source = edge["port"] or edge["from"].partition(":")[2]
    how = "" if edge["grade"] is None else sure(edge["grade"], contradicted=edge["contradicted"])
    said = " · ".join(w for w in (f"{given or kind} {source}", ", ".join(edge["cables"]), how) if w)
    return fitted([Line(said, SMALL, "planned" if edge["planned"] else "second")], BOX_W - 3)


def head_lines(node: Facts) -> list[Line]:
    """The words at the head of a box."""
    ink = "planned" if node["state"] == "planned" else "ink"
    lines = [
        Line(node["tag"], MID, ink, node["name"] or {"end": "comes in", "circuit": "breaker"}.get(node["kind"], ""))
    ]
    lines.append(Line(node["room"], SMALL, "second"))
    for service in node["services"]:
        does = "must stay: " if service["keep"] else "serves: "
        lines.append(Line(f"{does}{service['name']}{'' if service['arrives'] else ', does not arrive'}", STRONG))
    said = {"out of use": "out of use", "planned": "to be added", "lost": "lost"}.get(node["state"], "")
    lines.append(Line(said, STRONG, ink))
    lines.append(Line("switched off" if node["is_off"] else "", STRONG))
    lines.append(Line(f"its power: {NOBODY}" if node["power_not_known"] else "", SMALL, "second"))
    if node["guard"] is not None:
        lines.append(Line(keep_off(node["guard"]), STRONG))
    return fitted(lines, BOX_W - 3 - (4 if node["guard"] is not None else 0))


def laid(tree: Facts) -> Laid:
    """Places for all boxes and lines of a tree, in the order given; the same tree gives the same places."""
    columns, heads = _columns(tree)
    bands, of_node = _bands(tree)
    boxes = _boxes(tree, columns, of_node)
    nets = _nets(tree)
    spans = {key: _span(boxes, key, edges) for key, edges in nets.items()}
    level = _level_lanes(boxes, nets, spans)
    boxes, rows, level_y = _stacked(boxes, len(bands), level)
    made, lanes = _uprights(boxes, nets, spans, level_y)
    count = max((b.column for b in boxes.values()), default=0) + 1
    column_x, channel_x, x = [], [], 0.0
    for channel in range(count + 1):
        channel_x.append(x)
        x += LANE + lanes.get(channel, 0) * LANE + MARK_W
        if channel < count:
            column_x.append(x)
            x += BOX_W
    titles = _titles(tree, boxes, heads, rows)
    shown = tuple((words, *rows[n]) for n, words in enumerate(bands))
    foot = rows[-1][1] if rows else 0.0
    return Laid(boxes, tuple(made), shown, titles, heads, tuple(column_x), tuple(channel_x), x, foot)


def _columns(tree: Facts) -> tuple[dict[str, int], tuple[tuple[str, int], ...]]:
    """Column of every node: sources first, then building by building, what hangs on something to the right of it."""
    nodes = {n["ref"]: n for n in tree["nodes"]}
    depth = _depths(tree)
    sources = [r for r, n in nodes.items() if n["kind"] in ("circuit", "end", "cable", "pair")]
    names = {f["building"]: f["building_name"] for f in tree["floors"]}
    order = [*sorted({*names, *(n["building"] for n in nodes.values())} - {""}), ""]
    found = dict.fromkeys(sources, 0)
    heads = [(SOURCES, 0)] if sources else []
    first = 1 if sources else 0
    for building in order:
        mine = [r for r, n in nodes.items() if n["building"] == building and r not in found]
        if not mine:
            continue
        deep = _merged([depth[r] for r in mine])
        found |= {ref: first + deep[depth[ref]] for ref in mine}
        heads.append((f"{building} {names.get(building, '')}".strip() or NOWHERE, first))
        first += max(deep.values()) + 1
    return found, tuple(heads)


def _merged(depths: Sequence[int]) -> dict[int, int]:
    """Column for each depth within a building: no more columns than its things are worth, the smallest neighbours joined."""
    counts = collections.Counter(depths)
    groups = [[d] for d in sorted(counts)]
    most = max(1, min(MOST_COLUMNS, round(math.sqrt(len(depths)))))
    while len(groups) > most:
        sizes = [sum(counts[d] for d in g) for g in groups]
        at = min(range(len(groups) - 1), key=lambda n: (sizes[n] + sizes[n + 1], n))
        groups[at : at + 2] = [groups[at] + groups[at + 1]]
    return {d: n for n, group in enumerate(groups) for d in group}


def _depths(tree: Facts) -> dict[str, int]:
    """Edges from the nearest source, breadth first."""
    onward: dict[str, list[str]] = collections.defaultdict(list)
    for edge in tree["edges"]:
        onward[edge["from"]].append(edge["to"])
    fed = {e["to"] for e in tree["edges"]}
    todo = [n["ref"] for n in tree["nodes"] if n["ref"] not in fed]
    depth = dict.fromkeys(todo, 0)
    for ref in [*todo, *(n["ref"] for n in tree["nodes"])]:
        queue = collections.deque([ref])
        depth.setdefault(ref, 0)
        while queue:
            here = queue.popleft()
            for there in onward[here]:
                if there not in depth:
                    depth[there] = depth[here] + 1
                    queue.append(there)
    return depth


def _bands(tree: Facts) -> tuple[list[str], dict[str, int]]:
    """The levels that hold something, the highest first, and the band of each node; a source stands with what it feeds."""
    level_of = {f["tag"]: f["level"] for f in tree["floors"]}
    known = {n["ref"]: level_of[n["floor"]] for n in tree["nodes"] if n["floor"] in level_of}
    for edge in tree["edges"]:  # twice removed is enough for a breaker and the wire behind it
        if edge["from"] not in known and edge["to"] in known:
            known[edge["from"]] = known[edge["to"]]
    levels = sorted(set(known.values()), reverse=True)
    words = [_level(n) for n in levels]
    band = {ref: levels.index(level) for ref, level in known.items()}
    missing = [n["ref"] for n in tree["nodes"] if n["ref"] not in band]
    band |= dict.fromkeys(missing, len(levels))
    return words + ([NOWHERE] if missing else []), band


def _level(level: int) -> str:
    return "level 0, ground" if level == 0 else f"level {level:+d}".replace("-", "−")


def _boxes(tree: Facts, columns: Mapping[str, int], bands: Mapping[str, int]) -> dict[str, Box]:
    ins: dict[str, list[Facts]] = collections.defaultdict(list)
    outs: dict[str, set[str]] = collections.defaultdict(set)
    order = {"power": 0, "data": 1, "line": 2}
    for edge in tree["edges"]:
        ins[edge["to"]].append(edge)
        outs[edge["from"]].add(edge["signal"])
    return {
        n["ref"]: Box(
            n,
            columns[n["ref"]],
            bands[n["ref"]],
            tuple(head_lines(n)),
            tuple(sorted(ins[n["ref"]], key=lambda e: (order[e["signal"]], e["from"]))),
            outs=tuple(sorted(outs[n["ref"]], key=order.__getitem__)),
        )
        for n in tree["nodes"]
    }


Key = tuple[str, str]


def _nets(tree: Facts) -> dict[Key, list[Facts]]:
    found: dict[Key, list[Facts]] = {}
    for edge in tree["edges"]:
        found.setdefault((edge["from"], edge["signal"]), []).append(edge)
    return found


def _span(boxes: Mapping[str, Box], key: Key, edges: Sequence[Facts]) -> tuple[int, int]:
    """First and last channel of a net."""
    channels = [boxes[key[0]].column + 1, *(boxes[e["to"]].column for e in edges)]
    return min(channels), max(channels)


def _level_lanes(
    boxes: Mapping[str, Box], nets: Mapping[Key, Sequence[Facts]], spans: Mapping[Key, tuple[int, int]]
) -> dict[Key, tuple[int, int]]:
    """Band and lane of the level stroke of each net that goes to more than one channel."""
    taken: dict[int, list[tuple[int, int, int]]] = collections.defaultdict(list)
    found: dict[Key, tuple[int, int]] = {}
    for key in nets:
        low, high = spans[key]
        if low == high:
            continue
        band = boxes[key[0]].band
        lane = 0
        while any(n == lane and low <= b and a <= high for a, b, n in taken[band]):
            lane += 1
        taken[band].append((low, high, lane))
        found[key] = band, lane
    return found


def _stacked(
    boxes: Mapping[str, Box], bands: int, level: Mapping[Key, tuple[int, int]]
) -> tuple[dict[str, Box], list[tuple[float, float]], dict[Key, float]]:
    """Boxes one under the other in their column and band, on the grid; the bands; the height of each level stroke."""
    placed: dict[str, Box] = {}
    rows: list[tuple[float, float]] = []
    level_y: dict[Key, float] = {}
    y = 0.0
    for band in range(bands):
        top = y
        lanes = [lane for b, lane in level.values() if b == band]
        for key, (b, lane) in level.items():
            if b == band:
                level_y[key] = top + TITLE + (lane + 1) * LANE
        start = top + TITLE + (max(lanes, default=-1) + 2) * LANE
        start = GRID * (int(start / GRID) + 1)
        low: dict[int, float] = {}
        for ref, box in boxes.items():
            if box.band == band:
                at = low.get(box.column, start)
                placed[ref] = dataclasses.replace(box, y=at)
                low[box.column] = at + box.height + BELOW
        y = max(low.values(), default=start) + 1.0
        rows.append((top, y))
    return placed, rows, level_y


def _uprights(
    boxes: Mapping[str, Box],
    nets: Mapping[Key, Sequence[Facts]],
    spans: Mapping[Key, tuple[int, int]],
    level_y: Mapping[Key, float],
) -> tuple[list[Net], dict[int, int]]:
    """Lanes for all upright strokes, so that two in one lane never meet."""
    wanted: list[tuple[int, float, float, Key]] = []
    for key, edges in nets.items():
        home = boxes[key[0]].column + 1
        heights: dict[int, list[float]] = collections.defaultdict(list)
        heights[home].append(boxes[key[0]].out_y(key[1]))
        for edge in edges:
            box = boxes[edge["to"]]
            heights[box.column].append(box.in_y(box.inputs.index(edge)))
        for channel, ys in heights.items():
            ys += [level_y[key]] if key in level_y else []
            wanted.append((channel, min(ys), max(ys), key))
    lanes: dict[int, list[list[tuple[float, float]]]] = collections.defaultdict(list)
    strokes: dict[Key, list[tuple[int, float, float, int]]] = collections.defaultdict(list)
    for channel, top, foot, key in sorted(wanted, key=lambda w: (w[0], w[2] - w[1], w[1], w[3])):
        free = next(
            (n for n, used in enumerate(lanes[channel]) if all(foot + 1 < a or b + 1 < top for a, b in used)), None
        )
        if free is None:
            lanes[channel].append([])
            free = len(lanes[channel]) - 1
        lanes[channel][free].append((top, foot))
        strokes[key].append((channel, top, foot, free))
    made = [Net(key[0], key[1], tuple(edges), level_y.get(key), tuple(strokes[key])) for key, edges in nets.items()]
    return made, {channel: len(used) for channel, used in lanes.items()}


def _titles(
    tree: Facts, boxes: Mapping[str, Box], heads: Sequence[tuple[str, int]], rows: Sequence[tuple[float, float]]
) -> tuple[tuple[str, int, float], ...]:
    """The name of each floor that holds a box, at the head of its band over the first column of its building."""
    found: dict[tuple[str, int], tuple[str, int, float]] = {}
    starts = sorted(first for _, first in heads)
    names = {f["tag"]: f"{f['tag']} {f['name']}".strip() for f in tree["floors"]}
    for box in boxes.values():
        floor = box.node["floor"]
        if floor and (box.column > 0 or heads[0][0] != SOURCES):
            first = max(s for s in starts if s <= box.column)
            found.setdefault((floor, first), (names[floor], first, rows[box.band][0]))
    return tuple(sorted(found.values(), key=lambda t: (t[2], t[1], t[0])))

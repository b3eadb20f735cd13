"""Numbers beside the symbols of a floor: the tag, a ring for the work state, the guard's word, the runs that arrive.

A number that finds no room beside its symbol stands farther off with a thin line; the smaller lines go first.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from pullstring.model.asbuilt import Site
from pullstring.papers import plan_marks, plan_spots, svg
from pullstring.papers.plan_field import Box
from pullstring.papers.plan_letters import Line, clean, in_rows
from pullstring.papers.plan_runs import Run
from pullstring.papers.plan_spots import Spots
from pullstring.papers.plan_stand import Stood
from pullstring.papers.svg import Point, Sheet

RING_WIDTH = 0.27
MOST_RUNS = 8  # ours: more ends than so many are said in the key
RUNS_WIDTH = 1.5
PLAIN_FAR = 2.8  # ours: a number with more lines than one goes no farther than this; then its tag alone is tried
INK_EDGE = 0.02


@dataclasses.dataclass(frozen=True)
class Label:
    """The lines beside one symbol, around their box, with the line that leads there."""

    stood: Stood
    lines: tuple[Line, ...]
    ring: str
    box: Box
    leader: tuple[Point, Point] | None
    short: bool = False


def work_of(site: Site, stood: Stood, runs: Sequence[Run]) -> str:
    """The work state of an outlet or access point; empty for what was there and was not measured."""
    symbol = stood.symbol
    thing = site.get(symbol.ref)
    if thing is None or symbol.form not in ("outlet", "radio") or symbol.gone:
        return ""
    if thing.text("health") == "called dead" or thing.text("condition") == "broken" or any(r.fault for r in runs):
        return "fault"
    new = any(r.state == "new" for r in runs)
    if symbol.planned:
        return "pulled" if new else "planned"
    return "measured" if any(r.measured for r in runs) else "pulled" if new else ""


def label(spots: Spots, stood: Stood, *, words: Sequence[str], runs: Sequence[Run], ring: str) -> Label | None:
    """The number of a symbol where there is room for it; None when there is none even for the tag alone."""
    symbol = stood.symbol
    tag = Line(clean(symbol.tag), "tag plan" if symbol.planned else "tag")
    said = [Line(w, "tag word") for w in words]
    ends = [Line(row, "tag run") for row in in_rows([clean(r.end.tag) for r in runs], "tag run", RUNS_WIDTH)]
    full = (tag, *said, *(ends if 0 < len(runs) <= MOST_RUNS else ()))
    trials = [full, (tag, *said), (tag,)]
    away = (1.0, 0.0) if symbol.form in ("radio", "unit", "way") else symbol.away
    for number, lines in enumerate(dict.fromkeys(trials)):
        width, height = size(lines, ring)
        most = PLAIN_FAR if len(lines) > 1 else plan_spots.FAR[-1]
        found = plan_spots.beside(spots, stood.box, away, width * spots.k, height * spots.k, most=most)
        if found is not None:
            return Label(stood, lines, ring, *found, short=number > 0 or len(runs) > MOST_RUNS)
    return None


def size(lines: Sequence[Line], ring: str) -> tuple[float, float]:
    """Width and height of a label at 1:100."""
    first = lines[0].width + (RING_WIDTH if ring else 0.0)
    return max(first, *(ln.width for ln in lines)) + 2 * INK_EDGE, sum(ln.height for ln in lines)


def draw(made: Label, sheet: Sheet, *, k: float) -> list[str]:
    """The leader, the ring and the lines."""
    x0, y0, x1, y1 = made.box
    (left, top), right = sheet.pt((x0, y1)), sheet.pt((x1, y0))[0]
    middle = (left + right) / 2
    parts = [svg.stroke(sheet.path(made.leader), "leader")] if made.leader else []
    for number, line in enumerate(made.lines):
        base = top + line.above * k
        x = middle
        if number == 0 and made.ring:
            x = middle + RING_WIDTH * k / 2
            at = x - (line.width / 2 + RING_WIDTH - plan_marks.RING - 0.03) * k, base - 0.09 * k
            parts += svg.group(plan_marks.ring(made.ring, at, k=k), "work", title=made.ring)
        parts.append(svg.text(line.words, (x, base), line.css, anchor="middle"))
        top += line.height * k
    return parts

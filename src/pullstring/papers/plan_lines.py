"""Runs as they are drawn: gaps in the walls they pass, double lines, and each run by how it stands."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from pullstring.papers import plan_words, svg
from pullstring.papers.plan_lanes import Stretch
from pullstring.papers.plan_scene import Scene
from pullstring.papers.plan_traffic import Drawn, Tail, Traffic, wall_parts
from pullstring.papers.svg import Point, Sheet

CSS = {"there": "there", "new": "pulled", "planned": "planned", "remove": "remove"}
EVERY, TICK, CROSS = 0.55, 0.045, 0.04  # of ticks and crosses along a line, at 1:100
SHORTEST = 0.22  # a shorter stretch carries no tick


def draw(scene: Scene, made: Traffic) -> list[str]:
    """All lines of a floor, the gaps below them."""
    sheet, k = scene.sheet, scene.k
    cores = "".join(sheet.path(part) for d in made.drawn for part in wall_parts(scene, d.points))
    trunks = _trunks(made.drawn)
    parts = [svg.stroke(cores, "core")] if cores else []
    for css, path in trunks:
        data = sheet.path(path)
        parts += [svg.stroke(data, f"trunk {css}".strip()), svg.stroke(data, "hollow-line")]
    for one in made.drawn:
        title = plan_words.run_title(one.run, one.reach, known=True)
        parts += svg.group(_line(one, sheet, k), "run", ref=str(one.run.end), title=title)
    for tail in made.tails:
        parts += svg.group(
            [_tail(tail, sheet)], "run", ref=str(tail.run.end), title=plan_words.run_title(tail.run, None, known=False)
        )
    return parts


def sample(state: str, ends: tuple[Point, Point], *, k: float) -> list[str]:
    """A piece of a run of one state, for the key, in the drawing's own axes."""
    css = CSS[state]
    parts = [svg.stroke(svg.path(ends), css)]
    if css in ("there", "remove"):
        marks = "".join(svg.path([(x, y) for x, y in m]) for m in _marks(list(ends), k, crosses=css == "remove"))
        parts.append(svg.stroke(marks, css))
    return parts


def _tail(tail: Tail, sheet: Sheet) -> str:
    return svg.stroke(sheet.path(tail.line), "unknown planned" if tail.run.state == "planned" else "unknown")


def single(one: Drawn) -> list[list[Point]]:
    """The parts of a run's line that it does not share with a double line."""
    if not any(s.together for s in one.stretches):
        return [list(one.points)]
    together = {(s.upright, round(s.level, 6)) for s in one.stretches if s.together}
    kept: list[list[Point]] = []
    for a, b in itertools.pairwise(one.points):
        upright = abs(a[0] - b[0]) < 1e-9
        if (upright, round(a[0] if upright else a[1], 6)) in together:
            continue
        if kept and kept[-1][-1] == a:
            kept[-1].append(b)
        else:
            kept.append([a, b])
    return kept


def _line(one: Drawn, sheet: Sheet, k: float) -> list[str]:
    lines = single(one)
    if not lines:
        return []
    css = CSS[one.run.state]
    parts = [svg.stroke("".join(sheet.path(line) for line in lines), css)]
    if css in ("there", "remove"):
        marks = "".join(sheet.path(m) for line in lines for m in _marks(line, k, crosses=css == "remove"))
        parts += [svg.stroke(marks, css)] if marks else []
    return parts


def _marks(line: Sequence[Point], k: float, *, crosses: bool) -> Iterable[list[Point]]:
    """Slanting ticks or small crosses along a line, at least one on it."""
    legs = [(a, b, math.dist(a, b)) for a, b in itertools.pairwise(line)]
    long = [leg for leg in legs if leg[2] >= SHORTEST * k] or [max(legs, key=lambda leg: leg[2])]
    for a, b, length in long:
        if length <= 0:
            continue
        count = max(1, int(length / (EVERY * k)))
        dx, dy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        for i in range(count):
            u = (i + 0.5) * length / count
            x, y = a[0] + u * dx, a[1] + u * dy
            if crosses:
                for turn in (45, 135):
                    yield _short((x, y), (dx, dy), turn, CROSS * k)
            else:
                yield _short((x, y), (dx, dy), 60, TICK * k)


def _short(at: Point, along: Point, turn: float, half: float) -> list[Point]:
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = along[0] * c - along[1] * s, along[0] * s + along[1] * c
    return [(at[0] - dx * half, at[1] - dy * half), (at[0] + dx * half, at[1] + dy * half)]


def _trunks(drawn: Sequence[Drawn]) -> list[tuple[str, list[Point]]]:
    """The double lines, each stretch of a level once, with the class of their state where all are of one."""
    found: dict[tuple[bool, float], list[tuple[Stretch, str]]] = {}
    for one in drawn:
        for s in one.stretches:
            if s.together:
                found.setdefault((s.upright, round(s.level, 6)), []).append((s, CSS[one.run.state]))
    made: list[tuple[str, list[Point]]] = []
    for (upright, level), stretches in sorted(found.items()):
        runs: list[tuple[float, float]] = []
        for low, high in sorted((s.low, s.high) for s, _ in stretches):
            if runs and low <= runs[-1][1] + 1e-9:
                runs[-1] = runs[-1][0], max(high, runs[-1][1])
            else:
                runs.append((low, high))
        states = {css for _, css in stretches}
        css = "planned" if states == {"planned"} else "pulled" if states <= {"planned", "pulled"} else ""
        made += [(css, [(level, a), (level, b)] if upright else [(a, level), (b, level)]) for a, b in runs]
    return made

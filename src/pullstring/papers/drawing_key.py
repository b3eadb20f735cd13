"""What stands under a floor: the scale bar, the rule of 100 mm, the key of hatches and symbols, notes, and the title block."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from shapely.geometry import box

from pullstring.model.asbuilt import Thing
from pullstring.papers import (
    figures,
    plan_letters,
    plan_lines,
    plan_marks,
    plan_words,
    signal_marks,
    svg,
    symbols,
    walls,
)
from pullstring.papers.drawing_style import RUN
from pullstring.papers.svg import Sheet

if TYPE_CHECKING:
    from pullstring.papers.plan_scene import Scene

EDGE = 0.35
COLUMN = 4.8
SWATCH = (0.7, 0.24)
LINE = 0.29
TALL = 0.62  # row of a picture that is higher than a line
BIG = ("radio there", "radio planned", "block there", "block planned", "door", "slash", "guard", "keep")
BAR_TOP, BAR = 0.05, 0.08
RULE_TOP = 0.72
RULE_MM = 100
KEY_TOP = 1.5
BLOCK_HEIGHT = 1.05


@dataclasses.dataclass(frozen=True)
class Item:
    """One line of the key: its picture by name, and its words."""

    picture: str
    words: str


@dataclasses.dataclass(frozen=True)
class Foot:
    """All parts under the plan, and how high they stand, in units of the drawing."""

    height: float
    parts: list[str]


def foot_of(scene: Scene) -> Foot:
    """All parts under the plan, top down."""
    k = scene.k
    rows = _laid(scene)
    heights = [max(max(len(ls) * LINE + 0.16, TALL if it.picture in BIG else 0.0) for it, ls in row) for row in rows]
    notes = [_wrapped(words, scene.width / k - 2 * EDGE) for words in scene.in_key]
    below = KEY_TOP + sum(heights)
    noted = sum(len(lines) * LINE + 0.06 for lines in notes) + (0.12 if notes else 0.0)
    block_top = scene.height + (below + noted + 0.25) * k
    return Foot(
        (below + noted + 0.25 + BLOCK_HEIGHT) * k,
        [
            *svg.group([*_bar(scene), *_rule(scene)], "measures"),
            *svg.group(_key(scene, rows, heights), "key"),
            *svg.group(_notes(scene, notes, scene.height + below * k), "notes"),
            *_title_block(scene, block_top),
        ],
    )


def _wrapped(words: str, most: float) -> list[str]:
    return plan_letters.wrapped(words, "small", most)


def _notes(scene: Scene, notes: list[list[str]], top: float) -> list[str]:
    parts, k = [], scene.k
    for lines in notes:
        for line in lines:
            parts.append(svg.text(line, (EDGE * k, top + 0.2 * k), "small"))
            top += LINE * k
        top += 0.06 * k
    return parts


def _bar(scene: Scene) -> list[str]:
    """Whole metres, black and open by turns, about 50 mm long."""
    k, top = scene.k, scene.height + BAR_TOP * scene.k
    count = max(1, round(5 * k))
    step = 1 if count <= 10 else count // 5
    left = EDGE * k
    parts = [svg.rect((left, top), count, BAR * k, "rule solid")]
    parts += [svg.rect((left + i, top), step, BAR * k, "bar") for i in range(0, count, 2 * step)]
    parts += [svg.text(str(i), (left + i, top + 0.36 * k), "small", anchor="middle") for i in range(0, count + 1, step)]
    return [
        *parts,
        svg.text("m", (left + count + 0.22 * k, top + 0.36 * k), "small"),
        svg.text("thin squares are 1 m", (left + count + 0.9 * k, top + 0.36 * k), "second"),
    ]


def _rule(scene: Scene) -> list[str]:
    """A line that measures 100 mm on paper, with a tick each 10 mm: it shows whether the printer kept the scale."""
    k = scene.k
    left, top = EDGE * k, scene.height + (RULE_TOP + 0.1) * k
    long = RULE_MM / 1000 * scene.scale
    ticks = "".join(
        svg.path([(left + i * long / 10, top - (0.12 if i % 5 == 0 else 0.06) * k), (left + i * long / 10, top)])
        for i in range(11)
    )
    words = (
        plan_words.CHECK_RULE
        if left + long + plan_letters.width(plan_words.CHECK_RULE, "second") * k < (scene.width - 0.5 * k)
        else plan_words.CHECK_RULE_SHORT
    )
    return [
        *svg.group([svg.stroke(svg.path([(left, top), (left + long, top)]) + ticks, "rule")], "check-rule"),
        svg.text(words, (left + long + 0.15 * k, top), "second"),
    ]


def _items(scene: Scene) -> list[Item]:
    """Wall types first, then symbols, only those that the drawing shows."""
    items = [Item(mark, words) for mark, words, _ in scene.signal_key]
    for tag in sorted({w.wall_type for w in scene.walls if w.wall_type and w.ref.key not in scene.planned_walls}):
        built = scene.site.get(tag)
        if built is not None:
            items.append(
                Item(
                    built.text("hatch") or "none",
                    f"{' '.join([tag.tag, *built.text('name').split()])}: {_loss(built)}",
                )
            )
    if any(w.wall_type is None and w.ref.key not in scene.planned_walls for w in scene.walls):
        items.append(Item("none", "wall whose build is not known"))
    if scene.planned_walls:
        items.append(Item("planned wall", "wall to be added"))
    for form, name in plan_words.SYMBOL_KEY.items():
        for planned in (False, True):
            if any(s.form == form and s.planned == planned for s in scene.found.symbols):
                items.append(
                    Item(
                        f"{form} {'planned' if planned else 'there'}",
                        f"{name}{': open and red, to be added' if planned else ', there'}",
                    )
                )
    if any(s.gone for s in scene.found.symbols):
        items.append(Item("slash", "with a slash: out of use or lost"))
    if any(o.fill == "door" for w in scene.walls for o in w.openings):
        items.append(Item("door", "door; the side it opens to is not surveyed"))
    for table in (plan_words.RUN_KEY, plan_words.WORK_KEY, plan_words.JOINT_KEY, plan_words.GUARD_KEY):
        items += [Item(mark, words) for mark, words in table.items() if mark in scene.marks]
    return items


def _loss(built: Thing) -> str:
    two, five = built.number("loss_2g4_db"), built.number("loss_5g_db")
    if two is None and five is None:
        return "loss not known"
    grades = [built.fields[n].last.evidence.grade for n in ("loss_2g4_db", "loss_5g_db") if n in built.fields]
    parts = [
        f"{figures.decibels(value)} at {band} GHz" for value, band in ((two, "2.4"), (five, "5")) if value is not None
    ]
    return figures.on_drawing(f"{', '.join(parts)} ({' and '.join(dict.fromkeys(grades))})")


def _columns(scene: Scene) -> int:
    return max(1, int((scene.width / scene.k - 2 * EDGE) / COLUMN))


def _laid(scene: Scene) -> list[list[tuple[Item, list[str]]]]:
    """The key in rows, each item with its wrapped words."""
    columns = _columns(scene)
    share = (scene.width / scene.k - 2 * EDGE) / columns
    laid = [(item, _wrapped(item.words, share - SWATCH[0] - 0.4)) for item in _items(scene)]
    return [laid[i : i + columns] for i in range(0, len(laid), columns)]


def _key(scene: Scene, rows: list[list[tuple[Item, list[str]]]], heights: list[float]) -> list[str]:
    k, parts = scene.k, []
    share = (scene.width - 2 * EDGE * k) / _columns(scene)
    top = scene.height + KEY_TOP * k
    for row, height in zip(rows, heights, strict=True):
        for column, (item, lines) in enumerate(row):
            left = EDGE * k + column * share
            parts += _picture(scene, item.picture, left, top)
            parts += [
                svg.text(line, (left + (SWATCH[0] + 0.2) * k, top + (0.2 + i * LINE) * k), "small")
                for i, line in enumerate(lines)
            ]
        top += height * k
    return parts


def _picture(scene: Scene, picture: str, left: float, top: float) -> list[str]:
    """A small piece of what the line explains, drawn by the same code as on the plan."""
    k, (width, height) = scene.k, SWATCH
    sheet = Sheet(-left, top)  # the swatch's own axes: from its top left corner, y up
    if (level := next((n for mark, _, n in scene.signal_key if mark == picture), None)) is not None:
        return signal_marks.sample(picture, left, top, width, k, words=level)
    form, _, state = picture.rpartition(" ")
    if form in symbols.FORMS and state in ("there", "planned"):
        low = {"block": -0.3, "outlet": -0.22}.get(form, -0.12)
        symbol = symbols.Symbol(form, "", (width / 2 * k, low * k), (0.0, 1.0), state == "planned", False, 0)
        return symbols.draw(symbol, sheet, k=k)
    if picture == "door":
        data = (
            f"M{svg.num(left + 0.15 * k)} {svg.num(top + 0.26 * k)}l0 {svg.num(-0.34 * k)}"
            f"a{svg.num(0.34 * k)} {svg.num(0.34 * k)} 0 0 1 {svg.num(0.34 * k)} {svg.num(0.34 * k)}"
        )
        return [svg.stroke(data, "thin")]
    if picture == "slash":
        symbol = symbols.Symbol("outlet", "", (width / 2 * k, -0.2 * k), (0.0, 1.0), False, True, 0)
        return symbols.draw(symbol, sheet, k=k)
    if picture in scene.marks:
        return _sample(picture, left, top, k)
    area = box(0, -height * k, width * k, 0)
    marks = tuple(
        tuple((u, v - height * k / 2) for u, v in line if u <= width * k + 1e-9)
        for line in walls.hatch_marks(picture, width * k, height * k, k=k)
    )
    body = walls.Body(picture, picture == "planned wall", area, tuple(m for m in marks if len(m) > 1), False)
    return walls.draw_body(body, sheet, scene.prefix)


def _sample(mark: str, left: float, top: float, k: float) -> list[str]:
    """A piece of a line or a mark, drawn by the same code as on the plan."""
    at = left + SWATCH[0] / 2 * k, top + 0.12 * k
    ends = (left, at[1]), (left + SWATCH[0] * k, at[1])
    kind, _, name = mark.partition(" ")
    if kind == "run":
        return plan_lines.sample(name, ends, k=k)
    if kind == "way":
        symbol = symbols.Symbol("way", "", (at[0], -at[1]), (0.0, 1.0), name == "planned", False, 0)
        return symbols.draw(symbol, Sheet(0.0, 0.0), k=k)
    if kind == "work":
        return plan_marks.ring(name, at, k=k)
    if kind == "joint":
        return plan_marks.joint(name, at, k=k)
    if mark == "unknown":
        return [svg.stroke(svg.path(ends), "unknown")]
    if mark == "trunk":
        return [svg.stroke(svg.path(ends), "trunk"), svg.stroke(svg.path(ends), "hollow-line")]
    if mark == "leader":
        return [svg.stroke(svg.path(ends), "leader")]
    if mark == "core":
        wall = svg.rect((at[0] - 0.06 * k, top - 0.02 * k), 0.12 * k, 0.3 * k, "bar")
        return [wall, svg.stroke(svg.path(ends), "core"), svg.stroke(svg.path(ends), "there")]
    if mark == "ends under":
        return [
            svg.text("1", (at[0], top + 0.06 * k), "tag", anchor="middle"),
            svg.text("2 3", (at[0], top + (0.06 + RUN) * k), "tag run", anchor="middle"),
        ]
    if mark == "guard":
        return plan_marks.small_frame(at, k=k)
    if mark == "keep":
        return [
            svg.stroke(
                svg.path(
                    [
                        (at[0] - 0.1 * k, top),
                        (at[0] + 0.1 * k, top),
                        (at[0] + 0.1 * k, top + 0.24 * k),
                        (at[0] - 0.1 * k, top + 0.24 * k),
                    ],
                    closed=True,
                ),
                "guard keep",
            )
        ]
    return []


def _title_block(scene: Scene, top: float) -> list[str]:
    """Ruled cells as on a drawing sheet: place, floor, scale, date, north."""
    k = scene.k
    named = next(iter(scene.site.of_kind("property")), None)
    place = (named.text("name") or named.ref.tag) if named else "property not named"
    as_of = figures.date(scene.as_of) if scene.as_of else "the whole record"
    floor = f"{scene.plan.floor.tag} {scene.plan.name}".strip()
    angle = scene.plan.frame.angle_deg
    cells = [
        ("property", place, 0.0),
        ("floor", floor, 0.0),
        *([("signal, dBm", scene.signal.band, 2.1)] if scene.signal else []),
        ("scale", f"1:{scene.scale}", 1.4),
        ("as of", as_of, 3.5),
        ("north" if angle else "north up", "", 2.0),
    ]
    free = scene.width / k - sum(width for *_, width in cells)
    left, parts = 0.0, [svg.stroke(svg.path([(0, top), (scene.width, top)]), "wall heavy")]
    for number, (name, words, fixed) in enumerate(cells):
        width = (fixed or free * (0.55 if number == 0 else 0.45)) * k
        if number:
            parts.append(svg.stroke(svg.path([(left, top), (left, top + BLOCK_HEIGHT * k)]), "rule"))
        parts += [svg.text(name, (left + 0.15 * k, top + 0.33 * k), "second")]
        parts += [_cell(words, width / k - 0.3, (left + 0.15 * k, top + 0.8 * k))] if words else []
        left += width
    frame = svg.rect((0.03 * k, 0.03 * k), scene.width - 0.06 * k, top + (BLOCK_HEIGHT - 0.06) * k, "wall heavy")
    return [*parts, frame, *_arrow(left - 0.4 * k, top + 0.56 * k, angle, k)]


def _cell(words: str, width: float, at: svg.Point) -> str:
    """The words as large as the cell holds them; cut, and marked as cut, only where small letters do not fit either."""
    css = "cell" if plan_letters.width(plan_letters.clean(words), "cell") <= width else "cell little"
    return svg.text(plan_letters.cut(words, css, width), at, css)


def _arrow(x: float, y: float, angle_deg: float, k: float) -> list[str]:
    """An arrow to north; a building turned to the left has its north to the right of the sheet's top."""
    turn = math.radians(angle_deg)

    def at(across: float, along: float) -> svg.Point:
        right = across * math.cos(turn) + along * math.sin(turn)
        down = across * math.sin(turn) - along * math.cos(turn)
        return x + right * k, y + down * k

    return [
        svg.stroke(svg.path([at(0, -0.38), at(0, 0.1)]), "rule"),
        svg.stroke(svg.path([at(-0.13, 0.06), at(0, 0.4), at(0.13, 0.06)], closed=True), "bar"),
    ]

"""The drawings of the book: every floor at the largest scale that fits, every closet, what hangs on what."""

from __future__ import annotations

import dataclasses
import html
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import BadOutline, parse_outline
from pullstring.papers.book_parts import Chapter, Drawn, Part, para
from pullstring.papers.book_sheets import SIZES_MM, paper_for
from pullstring.papers.boxes_sketch import sketch_svg
from pullstring.papers.closet_front import boards, closet_sheets
from pullstring.papers.closet_words import caption
from pullstring.papers.drawing import NothingToDraw, floor_svg
from pullstring.papers.ink import Inks, on_white
from pullstring.papers.riser import riser_svg
from pullstring.papers.sentences_book import BOOK
from pullstring.papers.typst_page import EDGE_MM, size_mm

SCALES = (50, 100)
"""The scales of a plan, the larger drawing first."""
ON_A_FLOOR = ("room", "outlet", "unit", "block", "rack", "position", "joint", "socket", "switch", "box")
"""Kinds that stand in a room, so that the index can send a reader to the plan."""
_REF = re.compile(r'data-ref="([^"]*)"')
Facts = Mapping[str, Any]
Step = Callable[[float, str], None]


@dataclasses.dataclass(frozen=True)
class Plan:
    """A floor as drawn: the stem of its file's name, its title, its scale (None: a sketch of boxes), what stands on it."""

    stem: str
    name: str
    scale: int | None
    svg: str
    marks: tuple[str, ...]

    @property
    def title(self) -> str:
        """Name and scale."""
        return BOOK["scale"].format(self.name, self.scale) if self.scale else BOOK["sketch"].format(self.name)


@dataclasses.dataclass(frozen=True)
class Look:
    """How floors are drawn, and what laws say of what stands on them; `scale` None is the largest that fits."""

    scale: int | None
    as_of: str
    inks: Inks
    runs: Sequence[Facts]
    untouchable: Mapping[str, str]
    to_remove: Sequence[str] = ()


def plans(site: Site, floors: Sequence[Thing | None], look: Look, *, progress: Step) -> list[Plan]:
    """Each floor at the scale asked for, else the largest that A4 or A3 holds, else 1:100; without corners as boxes."""
    made = []
    for n, floor in enumerate(floors):
        progress(n / len(floors), BOOK["floor"].format(floor.ref.tag) if floor else BOOK["no_floor"])
        plan = _plan(site, floor, look) if floor and _has_corners(site, floor) else None
        made.append(plan or _sketch(site, floor, look))
    return made


def _plan(site: Site, floor: Thing, look: Look) -> Plan | None:
    for scale in (look.scale,) if look.scale else SCALES:
        if scale != SCALES[-1] and not look.scale and not _may_fit(site, floor, scale):
            continue
        try:
            svg = floor_svg(
                site,
                floor.ref,
                scale=scale,
                as_of=look.as_of,
                inks=look.inks,
                runs=look.runs,
                untouchable=look.untouchable,
                to_remove=look.to_remove,
            )
        except NothingToDraw:
            return None
        if scale == SCALES[-1] or look.scale or paper_for(*size_mm(svg)):
            return Plan(f"floor_{_stem(floor.ref.tag)}", _name(floor), scale, svg, _marks(site, floor, svg))
    return None


def _sketch(site: Site, floor: Thing | None, look: Look) -> Plan:
    svg = sketch_svg(site, floor.ref if floor else None, inks=look.inks)
    stem = f"floor_{_stem(floor.ref.tag)}" if floor else "rooms"
    return Plan(stem, _name(floor), None, svg, _marks(site, floor, svg))


def _marks(site: Site, floor: Thing | None, svg: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*_on_floor(site, floor), *refs_in(svg))))


def floors_of(site: Site) -> list[Thing | None]:
    """The floors that have rooms, in their order; None at the end for rooms of which nobody noted the floor."""
    rooms = [r for r in site.of_kind("room") if r.text("state") != "removed"]
    there = {r.ref_of("floor") for r in rooms}
    found: list[Thing | None] = [f for f in site.of_kind("floor") if f.ref in there and f.text("state") != "removed"]
    known = {f.ref for f in found if f}
    return [*found, None] if any(r.ref_of("floor") not in known for r in rooms) else found


def _has_corners(site: Site, floor: Thing) -> bool:
    return any(r.text("outline") for r in site.of_kind("room") if r.ref_of("floor") == floor.ref)


def _may_fit(site: Site, floor: Thing, scale: int) -> bool:
    """Whether the rooms alone would fit the largest sheet; a drawing costs too much to be made in vain."""
    xs: list[float] = []
    ys: list[float] = []
    for room in site.of_kind("room"):
        if room.ref_of("floor") == floor.ref and room.text("outline"):
            try:
                points = [p for piece in parse_outline(room.text("outline")) for p in piece]
            except BadOutline:
                continue
            xs += [x for x, _ in points]
            ys += [y for _, y in points]
    if not xs:
        return True
    wide, high = (1000 / scale * (max(v) - min(v)) for v in (xs, ys))
    longest, shortest = max(SIZES_MM[-1]) - 2 * EDGE_MM, min(SIZES_MM[-1]) - 2 * EDGE_MM
    return max(wide, high) <= longest and min(wide, high) <= shortest


def plan_chapter(site: Site, made: Sequence[Plan]) -> Chapter:
    """The plans, each on sheets of its own; rooms without corners on a floor that has some are named."""
    parts: list[Part] = [Drawn(on_white(p.svg), p.title, p.marks, to_scale=p.scale is not None) for p in made]
    drawn = {name for p in made if p.scale is None for name in p.marks}
    bare = [r for r in site.of_kind("room") if not r.text("outline") and r.text("state") != "removed"]
    bare = [r for r in bare if str(r.ref) not in drawn]
    if not parts:
        parts.append(para(BOOK["nothing_drawn"]))
    if bare:
        names = ", ".join(f"{r.ref.tag} {r.text('name')}".strip() for r in bare)
        parts.append(para(BOOK["no_plan"].format(names)))
    return Chapter(BOOK["plans"], "plan", tuple(parts))


def _name(floor: Thing | None) -> str:
    return f"{floor.ref.tag} {floor.text('name')}".strip() if floor else BOOK["no_floor"]


def _on_floor(site: Site, floor: Thing | None) -> Iterator[str]:
    if floor:
        yield str(floor.ref)
    rooms = {r.ref for r in site.of_kind("room") if _is_on(site, r, floor)}
    for kind in ON_A_FLOOR:
        for thing in site.of_kind(kind):
            place = thing.ref if kind == "room" else thing.ref_of("room")
            if place in rooms and thing.text("state") != "removed":
                yield str(thing.ref)


def _is_on(site: Site, room: Thing, floor: Thing | None) -> bool:
    there = site.get(room.ref_of("floor"))
    return there is floor if floor else there is None or there.text("state") == "removed"


def closets(site: Site, *, inks: Inks, runs: Sequence[Facts], untouchable: Mapping[str, str]) -> list[tuple[str, str]]:
    """Every place where cables come together: title and SVG of each sheet."""
    found = []
    for board in boards(site):
        made = closet_sheets(site, board=board, inks=inks, untouchable=untouchable, runs=runs)
        for number, sheet in enumerate(made, 1):
            of = f", {BOOK['piece'].format(number, len(made))}" if len(made) > 1 else ""
            found.append((caption(site, board) + of, sheet))
    return found


def closet_chapter(made: Sequence[tuple[str, str]]) -> Chapter:
    """The closets, or a sentence that there is none."""
    parts: list[Part] = [Drawn(on_white(svg), title, refs_in(svg)) for title, svg in made]
    return Chapter(BOOK["closet"], "closet", tuple(parts) or (para(BOOK["no_closet"]),))


def riser(tree: Facts, *, inks: Inks) -> str | None:
    """What hangs on what as SVG; None where nothing hangs on anything."""
    return riser_svg(tree, inks=inks) if tree["nodes"] else None


def riser_chapter(svg: str | None) -> Chapter:
    """The riser, or a sentence that nothing is known."""
    parts: tuple[Part, ...] = (
        (Drawn(on_white(svg), BOOK["riser"], refs_in(svg), to_scale=False),) if svg else (para(BOOK["no_riser"]),)
    )
    return Chapter(BOOK["riser"], "riser", parts)


def _stem(tag: str) -> str:
    """A tag as a part of a file's name."""
    return "".join(c if c.isascii() and c.isalnum() else "_" for c in tag)


def refs_in(svg: str) -> tuple[str, ...]:
    """The things that a drawing's groups are about."""
    return tuple(dict.fromkeys(html.unescape(ref) for ref in _REF.findall(svg)))

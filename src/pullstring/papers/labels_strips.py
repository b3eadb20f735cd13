"""Strips of cells for panels and switches: one cell a port, at the pitch of the ports, with its number and what is on it."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.papers import svg
from pullstring.papers.identifiers import identified
from pullstring.papers.labels import LEAST_MM, BadLabel
from pullstring.papers.labels_art import CAP, Art, Box
from pullstring.papers.labels_face import MONO, MONO_BOLD, cut_to, letters

PITCH_MM = (8.0, 40.0)  # narrower than this no letter fits; wider is no strip
NUMBER_MM, LINE_MM = 5.0, 2.6  # ours: the largest letters of a number and of what is on it
HIGH_MM = 14.0  # ours: a strip is no higher, on however high a label it lies
HEAD_MM = 14.0  # ours: the first cell, with the tag of the unit


@dataclasses.dataclass(frozen=True)
class Cell:
    """One port: its number, the link or unit on it, and what stands out of it (24 V)."""

    number: str
    on_it: str = ""
    always: bool = False


@dataclasses.dataclass(frozen=True)
class Strip:
    """The cells of one unit or panel, or as many of them as one label holds."""

    large: str
    cells: tuple[Cell, ...]
    pitch_mm: float
    says: str
    kind: str = "plain"
    code: None = None

    @property
    def length_mm(self) -> float:
        """Length of the strip with its head."""
        return HEAD_MM + self.pitch_mm * len(self.cells)


def refuse_pitch(pitch_mm: float | None) -> float:
    """The pitch, or BadLabel where none was given or it is none of a strip."""
    least, most = PITCH_MM
    if pitch_mm is None or not least <= pitch_mm <= most:
        raise BadLabel(
            f"ports: measure from the middle of one port to the middle of the next and give it, {least:g} to {most:g} mm"
        )
    return pitch_mm


def strips(
    site: Site, card: Sequence[Mapping[str, Any]], *, guarded: Collection[str], pitch_mm: float
) -> list[tuple[Ref, Strip]]:
    """A strip for each panel with rows and each unit with two ports or more that stands and is not guarded by others."""
    devices = {p["port"]: (p["devices"], p["gives"]) for one in card for p in one["ports"]}
    found = []
    for block in site.of_kind("block"):
        rows = [r for r in site.of_kind("row") if r.ref.parent_tag and Ref("block", r.ref.parent_tag) == block.ref]
        if block.stands and block.text("style") == "panel" and rows:
            cells = tuple(Cell(_number(r.ref), links_on(site, r.ref)) for r in sorted(rows, key=lambda r: r.ref))
            found.append((block.ref, Strip(block.ref.tag, cells, pitch_mm, f"strip {block.ref.tag}")))
    for unit in site.of_kind("unit"):
        ports = [p for p in site.of_kind("port") if p.ref.parent_tag and Ref("unit", p.ref.parent_tag) == unit.ref]
        ports = [p for p in ports if p.stands and p.text("gives") not in ("mains", "battery mains")]
        if unit.stands and len(ports) > 1 and str(unit.ref) not in guarded:
            cells = tuple(_cell(site, p, devices) for p in sorted(ports, key=lambda p: p.ref))
            found.append((unit.ref, Strip(unit.ref.tag, cells, pitch_mm, f"strip {unit.ref.tag}")))
    return found


def _cell(site: Site, port: Thing, devices: Mapping[str, tuple[Sequence[str], str]]) -> Cell:
    hangs, gives = devices.get(port.ref.tag, ((), port.text("gives")))
    return Cell(_number(port.ref), links_on(site, port.ref) or " ".join(hangs), gives.startswith("24 V"))


def _number(ref: Ref) -> str:
    return ref.tag.rpartition(".")[2]


def links_on(site: Site, place: Ref) -> str:
    """Identifiers of the links whose ends sit here, or in whose row or jack the plug of a cord leads."""
    claims = [c for relation in ("plugged", "ends_at") for c in site.about(object=place, relation=relation)]
    ends = [c.subject for c in claims if c.subject.kind == "end"]
    onward = [c.object for c in site.about(subject=place, relation="plugged")]
    ends += [c.subject for row in onward for c in site.about(object=row, relation="ends_at")]
    found = [one.identifier for end in ends if (one := identified(site, end)) and one.stands]
    return " ".join(dict.fromkeys(found))


def split_to(strip: Strip, width_mm: float) -> list[Strip]:
    """The strip in as many parts as labels of this width need."""
    most = int((width_mm - HEAD_MM) / strip.pitch_mm + 1e-6)
    if most < 1:
        raise BadLabel(f"ports: a label of {width_mm:g} mm holds no cell of {strip.pitch_mm:g} mm; take tape")
    return [dataclasses.replace(strip, cells=strip.cells[n : n + most]) for n in range(0, len(strip.cells), most)]


def drawn_strip(strip: Strip, *, height_mm: float) -> Art:
    """The cells with their edges; a 24 V port stands on a solid ground."""
    height_mm = min(height_mm, HIGH_MM)
    parts, cut = [], []
    head = Box(0, 0, HEAD_MM, height_mm)
    size = min(height_mm * 0.4, (HEAD_MM - 1.6) / letters(MONO_BOLD).width(strip.large))
    name = strip.large if size >= LEAST_MM else cut_to(strip.large, MONO_BOLD, width_mm=HEAD_MM - 1.6, size_mm=LEAST_MM)
    cut += [strip.large] if name != strip.large else []
    parts.append(_mid(name, head, height_mm / 2 + max(size, LEAST_MM) * CAP / 2, max(size, LEAST_MM), "tag"))
    for place, cell in enumerate(strip.cells):
        box = Box(HEAD_MM + place * strip.pitch_mm, 0, strip.pitch_mm, height_mm)
        drawn, shorter = _drawn_cell(cell, box)
        parts += drawn
        cut += shorter
    for place in range(len(strip.cells) + 1):
        x = HEAD_MM + place * strip.pitch_mm
        parts.append(f'<path class="line" d="{svg.path([(x, 0.6), (x, height_mm - 0.6)])}" stroke-width="0.2"/>')
    return Art(tuple(parts), tuple(cut))


def _drawn_cell(cell: Cell, box: Box) -> tuple[list[str], list[str]]:
    room, parts, cut = box.w - 1.0, [], []
    number_mm = min(box.h * 0.38, NUMBER_MM, room / letters(MONO_BOLD).width(cell.number))
    css = ("whitetag", "white") if cell.always else ("tag", "mono")
    if cell.always:
        parts.append(svg.rect((box.x + 0.3, 0.8), box.w - 0.6, box.h - 1.6, "solid"))
    lines = [*(["24 V"] if cell.always else []), *cell.on_it.split()]
    widest = max((letters(MONO).width(line) for line in lines), default=0.1)
    size = max(LEAST_MM, min(LINE_MM, room / widest))
    most = max(1, int((box.h - 2.1 - number_mm * CAP) / (size * 1.2) + 1e-6))
    kept = lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]}…"]
    cut += [" ".join(lines)] if kept != lines else []
    base = 0.8 + (box.h - 1.6 - number_mm * CAP - 0.5 - len(kept) * size * 1.2) / 2 + number_mm * CAP
    parts.append(_mid(cell.number, box, base, number_mm, css[0]))
    for n, line in enumerate(kept):
        fitting = cut_to(line, MONO, width_mm=room, size_mm=size)
        cut += [line] if fitting != line and not cut else []
        parts.append(_mid(fitting, box, base + 0.5 + (n + 0.86) * size * 1.2, size, css[1]))
    return parts, cut


def _mid(words: str, box: Box, base: float, size: float, css: str) -> str:
    element = svg.text(words, (box.x + box.w / 2, base), css, anchor="middle")
    return f'<g font-size="{svg.num(size)}">{element}</g>'

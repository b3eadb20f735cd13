"""The port card for the closet door: what each port gives, what hangs there, in which room, on which link.

One card for the units of each room, on as many pages as its ports need.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.papers import svg, words_labels
from pullstring.papers.identifiers import identified
from pullstring.papers.ink import Inks
from pullstring.papers.labels_face import BOLD, MONO, MONO_BOLD, SANS, cut_to, letters, lines_of, printable
from pullstring.papers.labels_strips import links_on
from pullstring.papers.sheet_geometry import EDGE_MM
from pullstring.papers.typst_page import Placed

CARDS_MM = {"a5": (148.0, 210.0), "a4": (210.0, 297.0)}  # ISO 216
ROW_MM, HEAD_MM, FOOT_MM, UNIT_MM, WARN_MM = 7.4, 15.0, 8.0, 9.0, 4.4
TEXT_MM, SMALL_MM = 3.1, 2.4  # letters of a cell, and of one whose words need two lines
SHARES = (0.11, 0.2, 0.3, 0.23, 0.16)
"""Widths of the columns of `CARD_COLUMNS`, of the whole."""


@dataclasses.dataclass(frozen=True)
class _Line:
    """One strip of a card: the name of a unit with the heads of the columns, a port, or a warning."""

    kind: str
    cells: tuple[str, ...]

    @property
    def height_mm(self) -> float:
        """Height on the card."""
        return {"unit": UNIT_MM + ROW_MM - 1.5, "port": ROW_MM, "warning": WARN_MM, "gap": 3.0}[self.kind]


def card_pages(
    site: Site, card: Sequence[Mapping[str, Any]], *, size: str, day: str, inks: Inks
) -> tuple[list[list[Placed]], list[tuple[str, str]]]:
    """Pages of cards, closets first; and what was cut, by unit."""
    width, height = CARDS_MM[size]
    pages: list[list[Placed]] = []
    cut: list[tuple[str, str]] = []
    for room, units in _by_room(site, card).items():
        wide = width - 2 * EDGE_MM - 4
        lines = [line for one in units for line in _lines(site, one, wide)]
        parts = _paged(lines, height - 2 * EDGE_MM - HEAD_MM - FOOT_MM - 4)
        for number, part in enumerate(parts, 1):
            of = f" ({number} of {len(parts)})" if len(parts) > 1 else ""
            title = words_labels.CARD_TITLE.format(_room_name(site, room)) + of
            drawn, shorter = _page(site, part, title=title, width=width, height=height, day=day)
            picture = svg.document(drawn, width=width, height=height, mm_per_unit=1, style=_style(inks), says=title)
            pages.append([Placed(picture, 0, 0, width, height, title)])
            cut += shorter
    return pages, cut


def _by_room(site: Site, card: Sequence[Mapping[str, Any]]) -> dict[Ref | None, list[Mapping[str, Any]]]:
    """The units of each room; closets first, then in the order of the answer."""
    rooms: dict[Ref | None, list[Mapping[str, Any]]] = {}
    for one in card:
        unit = site.get(Ref("unit", one["unit"]))
        rooms.setdefault(unit.ref_of("room") if unit else None, []).append(one)
    closets = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
    return dict(sorted(rooms.items(), key=lambda pair: pair[0] not in closets))


def _room_name(site: Site, ref: Ref | None) -> str:
    room = site.get(ref)
    return printable(room.text("name") or room.ref.tag, exact=False) if room else words_labels.CARD_NO_ROOM


def _lines(site: Site, one: Mapping[str, Any], wide: float) -> list[_Line]:
    """A unit with its ports and, under them, what to mind."""
    unit = site.get(Ref("unit", one["unit"]))
    own = identified(site, unit.ref) if unit else None
    name = printable(f"{own.identifier if own else one['unit']} {unit.text('name') if unit else ''}", exact=False)
    found = [_Line("unit", (name,)), *(_Line("port", _row(site, port)) for port in one["ports"])]
    said = []
    for port in one["ports"]:
        number = port["port"].rpartition(".")[2]
        if port["gives"].startswith("24 V"):
            said.append(words_labels.CARD_ALWAYS.format(number))
            if port["open_jacks"]:
                said.append(words_labels.CARD_OPEN.format(number, ", ".join(port["open_jacks"])))
        if port["hazard"]:
            said.append(words_labels.CARD_HAZARD.format(number))
    wrapped = [line for words in said for line in lines_of(words, BOLD, width_mm=wide, size_mm=TEXT_MM)]
    return [
        *found,
        *([_Line("gap", ())] if wrapped else []),
        *(_Line("warning", (w,)) for w in wrapped),
        _Line("gap", ()),
    ]


def _row(site: Site, port: Mapping[str, Any]) -> tuple[str, ...]:
    """One port in words: number, mode, units, their rooms, the links that lead there."""
    units = [thing for tag in port["devices"] if (thing := site.get(Ref("unit", tag)))]
    rooms = [room.text("name") or room.ref.tag for unit in units if (room := site.get(unit.ref_of("room")))]
    names = [f"{u.ref.tag} {u.text('name')}".strip() for u in units]
    names = names or [words_labels.CARD_JACK.format(jack) for jack in port["open_jacks"]]
    gives = words_labels.CARD_NOT_SAVED.format(port["gives"]) if port["saved"] == "no" else port["gives"]
    cells = (
        port["port"].rpartition(".")[2],
        gives,
        "; ".join(names) or "–",
        "; ".join(dict.fromkeys(rooms)) or "–",
        links_on(site, Ref("port", port["port"])) or "–",
    )
    return tuple(printable(cell, exact=n in (0, 4)) for n, cell in enumerate(cells))


def _paged(lines: Sequence[_Line], room: float) -> list[list[_Line]]:
    """Lines by page: a unit that fits a page is not parted; one that does not has its name again where its ports go on."""
    pages: list[list[_Line]] = [[]]
    left, unit = room, None
    for number, line in enumerate(lines):
        need = line.height_mm
        if line.kind == "unit":
            unit = line
            end = next((n for n in range(number + 1, len(lines)) if lines[n].kind == "unit"), len(lines))
            whole = sum(one.height_mm for one in lines[number:end] if one.kind != "gap")
            need = whole if whole <= room else need + ROW_MM
        if need > left and pages[-1]:
            if line.kind == "gap":
                continue
            again = [unit] if unit and line.kind == "port" else []
            pages.append(list(again))
            left = room - sum(one.height_mm for one in again)
        pages[-1].append(line)
        left -= line.height_mm
    return pages


def _style(inks: Inks) -> str:
    return (
        ".plan .paper{fill:#ffffff}.plan .line{fill:none;stroke:#000000}.plan .solid{fill:#000000}"
        '.plan .mono{font-family:"B612 Mono";font-weight:400;fill:#000000}'
        '.plan .tag{font-family:"B612 Mono";font-weight:700;fill:#000000}'
        ".plan .small{font-family:B612;font-weight:400;fill:#000000}.plan .bold{font-family:B612;font-weight:700;fill:#000000}"
        ".plan .white{font-family:B612;font-weight:700;fill:#ffffff}"
        f".plan .red{{font-family:B612;font-weight:700;fill:{inks.red}}}"
    )


def _page(
    site: Site, lines: Sequence[_Line], *, title: str, width: float, height: float, day: str
) -> tuple[list[str], list[tuple[str, str]]]:
    left, wide, y = EDGE_MM + 2, width - 2 * EDGE_MM - 4, EDGE_MM + 2
    size = min(7.0, wide / max(letters(BOLD).width(title), 0.1))
    parts = [svg.rect((0, 0), width, height, "paper"), _text(title, (left, y + 7), "bold", size)]
    parts.append(_rule(left, y + 10.5, wide, 0.7))
    cut: list[tuple[str, str]] = []
    y, unit = y + HEAD_MM, ""
    for line in lines:
        if line.kind == "unit":
            unit = line.cells[0]
            parts += _unit(unit, left, wide, y)
        elif line.kind == "warning":
            parts.append(_text(line.cells[0], (left, y + 3.2), "red", TEXT_MM))
        elif line.kind == "port":
            drawn, shorter = _port(line.cells, left, wide, y)
            parts += drawn
            cut += [(unit.partition(" ")[0], words) for words in shorter]
        y += line.height_mm
    foot = cut_to(words_labels.CARD_FOOT.format(site.property_tag, day), SANS, width_mm=wide, size_mm=SMALL_MM)
    parts.append(_text(printable(foot, exact=False), (left, height - EDGE_MM - 2), "small", SMALL_MM))
    return parts, cut


def _unit(name: str, left: float, wide: float, y: float) -> list[str]:
    """The name of a unit, and the heads of the columns under it."""
    size = min(4.4, wide / max(letters(BOLD).width(name), 0.1))
    heads = zip(words_labels.CARD_COLUMNS, _columns(left, wide), strict=True)
    low = y + UNIT_MM + ROW_MM - 1.5
    parts = [_text(head, (x + 1, low - 1.6), "small", SMALL_MM) for head, (x, _) in heads]
    return [_text(name, (left, y + 6), "bold", size), *parts, _rule(left, low, wide, 0.4)]


def _columns(left: float, wide: float) -> list[tuple[float, float]]:
    return [(left + wide * sum(SHARES[:n]), wide * share) for n, share in enumerate(SHARES)]


def _port(cells: Sequence[str], left: float, wide: float, y: float) -> tuple[list[str], list[str]]:
    """One port; a 24 V port stands on a solid ground, so that it is seen without colour."""
    parts, cut = [], []
    for number, (words, (x, w)) in enumerate(zip(cells, _columns(left, wide), strict=True)):
        face, css = {0: (MONO_BOLD, "tag"), 4: (MONO, "mono")}.get(number, (SANS, "small"))
        if number == 1 and words.startswith("24 V"):
            parts.append(svg.rect((x, y + 0.6), w - 0.8, ROW_MM - 1.2, "solid"))
            face, css = BOLD, "white"
        lines, size = _cell(words, face, w - 1.9, 4.4 if number == 0 else TEXT_MM)
        if " ".join(lines) != words:
            cut.append(words)
        base = y + ROW_MM / 2 + size * 0.36 - (len(lines) - 1) * size * 0.6
        parts += [_text(line, (x + 1, base + n * size * 1.2), css, size) for n, line in enumerate(lines)]
    return [*parts, _rule(left, y + ROW_MM, wide, 0.15)], cut


def _cell(words: str, face: tuple[str, int], room: float, largest: float) -> tuple[list[str], float]:
    """The words of a cell: in one line, a little smaller, in two small lines, at last cut."""
    one = room / max(letters(face).width(words), 0.1)
    if one >= min(largest, TEXT_MM) * 0.85:
        return [words], min(largest, one)
    lines = lines_of(words, face, width_mm=room, size_mm=SMALL_MM)
    if len(lines) > 2:
        lines = [lines[0], cut_to(" ".join(lines[1:]), face, width_mm=room, size_mm=SMALL_MM)]
    return lines, SMALL_MM


def _rule(left: float, y: float, wide: float, weight: float) -> str:
    return f'<path class="line" d="{svg.path([(left, y), (left + wide, y)])}" stroke-width="{svg.num(weight)}"/>'


def _text(words: str, at: tuple[float, float], css: str, size: float) -> str:
    return f'<g font-size="{svg.num(size)}">{svg.text(words, at, css)}</g>'

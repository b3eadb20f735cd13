"""Signal on paper: a sheet for each floor and band to scale, then the rooms of that floor in sentences."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pullstring.papers.blocks import Block, Heading, Para
from pullstring.papers.book_drawings import refs_in
from pullstring.papers.book_letters import Letters
from pullstring.papers.book_parts import Chapter, Drawn, Part
from pullstring.papers.book_sheets import paper_for
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.ink import on_white
from pullstring.papers.sentences_signal import PAPER
from pullstring.papers.typst_page import EDGE_MM, PAPERS_MM, TooLarge, block_data, made, size_mm
from pullstring.papers.words_signal import as_read, first_lines, limits, needs, room_sentence, taken
from pullstring.papers.words_signal_read import learned, read_parts
from pullstring.papers.words_signal_wires import air, channels, links, uplinks

Facts = Mapping[str, Any]
SCALES = (50, 100)
"""The larger drawing first."""


@dataclasses.dataclass(frozen=True)
class Sheet:
    """A floor in one band as drawn; `scale` is that of the paper."""

    floor: str
    name: str
    band: str
    scale: int
    svg: str

    @property
    def title(self) -> str:
        """Floor, band and scale."""
        return PAPER["sheet"].format(f"{self.floor} {self.name}".strip(), self.band, self.scale)

    @property
    def stem(self) -> str:
        """The stem of its file's name."""
        return "_".join(["signal", *(_plain(w) for w in (self.floor, self.band))])


def _plain(text: str) -> str:
    return "".join(c if c.isascii() and c.isalnum() else "_" for c in text)


def drawn(
    floors: Sequence[Facts], bands: Sequence[str], draw: Callable[[str, str, int], str], *, scale: int | None
) -> list[Sheet]:
    """Each floor and band at the scale asked for, else the largest that A4 or A3 holds, else 1:100.

    `draw` gives the drawing of a floor in a band at a scale; floors without corners are left out.
    """
    found = []
    for floor in floors:
        for band in bands:
            for wanted in (scale,) if scale else SCALES:
                try:
                    svg = draw(floor["tag"], band, wanted)
                except NothingToDraw:
                    break
                if scale or wanted == SCALES[-1] or paper_for(*size_mm(svg)):
                    found.append(Sheet(floor["tag"], floor["name"], band, wanted, svg))
                    break
    return found


def floor_blocks(answer: Facts, floor: str) -> list[Block]:
    """The rooms of a floor in sentences."""
    rooms = [r for r in answer["rooms"] if r["floor"] == floor]
    blocks: list[Block] = []
    for room in rooms:
        blocks += [Heading(f"{room['room']} {room['name']}".strip(), 2), Para(room_sentence(room))]
    return blocks


def rest_blocks(answer: Facts) -> list[Block]:
    """What holds for the whole property."""
    rows = [
        *needs(answer),
        *read_parts(answer),
        *learned(answer),
        *channels(answer.get("channels") or {}, answer.get("air_rules")),
    ]
    rows += [
        *air(answer.get("air") or ()),
        *links(answer.get("links") or ()),
        *uplinks(answer.get("uplinks") or (), answer.get("over_air") or ()),
    ]
    return [*(Para(line) for line in (*first_lines(answer), as_read(answer))), *rows, *taken(answer), *limits(answer)]


def pdf(answer: Facts, sheets: Sequence[Sheet], floors: Sequence[Facts], *, title: str, footer: str) -> bytes:
    """All sheets and sentences; raises TooLarge where a drawing fits no sheet up to A0."""
    letters = Letters()
    parts: list[dict[str, Any]] = [_text(letters, title, rest_blocks(answer))]
    parts += [_sheet(letters, s) for floor in floors for s in sheets if s.floor == floor["tag"]]
    told: list[Block] = []
    for floor in floors:
        if blocks := floor_blocks(answer, floor["tag"]):
            told += [Heading(PAPER["rooms"].format(f"{floor['tag']} {floor['name']}".strip())), *blocks]
    if told:
        parts.append(_text(letters, PAPER["chapter"], told))
    return made("signal.typ", {"title": letters.printable(title), "footer": letters.printable(footer), "parts": parts})


def _text(letters: Letters, title: str, blocks: Sequence[Block]) -> dict[str, Any]:
    data = [block_data(b, letters) for b in blocks]
    return {"kind": "text", "title": letters.printable(title), "blocks": data}


def _sheet(letters: Letters, sheet: Sheet) -> dict[str, Any]:
    width, height = size_mm(sheet.svg)
    for short, long in PAPERS_MM.values():
        for wide, high in ((short, long), (long, short)):
            if width <= wide - 2 * EDGE_MM and height <= high - 2 * EDGE_MM:
                return {
                    "kind": "sheet", "svg": letters.drawing(on_white(sheet.svg)), "says": letters.printable(sheet.title),
                    "wide": wide, "high": high, "width": width, "height": height,
                }  # fmt: skip
    raise TooLarge(PAPER["too large"].format(sheet.title, round(width), round(height)))


def chapter(answer: Facts, sheets: Sequence[Sheet], floors: Sequence[Facts]) -> Chapter:
    """The same for the book: sheets, then rooms in sentences."""
    parts: list[Part] = [Para(line) for line in first_lines(answer)]
    for floor in floors:
        blocks = floor_blocks(answer, floor["tag"])
        if blocks:
            parts += [Heading(f"{floor['tag']} {floor['name']}".strip(), 1), *blocks]
    parts += [Drawn(on_white(s.svg), s.title, refs_in(s.svg)) for s in sheets]
    return Chapter(PAPER["chapter"], "signal", tuple(parts))

"""The book: one record on paper for somebody who never saw the house. Archive form, packaged faces, same record same bytes."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer, Problem
from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref, natural, parse_ref, tag_key
from pullstring.papers import book_back, book_front, book_registers, figures
from pullstring.papers.blocks import Block, Drawing
from pullstring.papers.book_letters import Letters
from pullstring.papers.book_parts import Chapter, Drawn, Listing, flat, listing_data
from pullstring.papers.book_sheets import sheet_data
from pullstring.papers.sentences_book import BOOK, COVER, HOW_TO
from pullstring.papers.typst_page import block_data, made


@dataclasses.dataclass(frozen=True)
class Facts:
    """All that the book stands on: the site as paper may know it, and each answer asked for once."""

    site: Site
    sheet: Answer
    cut: Answer
    runs: Answer
    power: Answer
    ends: Sequence[Mapping[str, Any]]
    outlets: Sequence[Mapping[str, Any]]
    ports: Sequence[Mapping[str, Any]]
    problems: Sequence[Problem]
    order: Answer | None


def book_pdf(facts: Facts, drawn: Sequence[Chapter]) -> bytes:
    """The whole book as PDF/A-2b.

    Parameters
    ----------
    facts : Facts
        What `api.book_facts` gives.
    drawn : sequence of Chapter
        Plans, closet and riser, as `book_drawings` makes them.
    """
    chapters = _chapters(facts, drawn)
    index = _index(chapters)
    number_of = {ref: n for n, ref in enumerate(index)}
    letters = Letters()
    drawings: list[str] = []
    told = [_chapter_data(c, letters, number_of, drawings) for c in chapters]
    if letters.told:
        extra = book_back.letters(dict(letters.told))
        chapters.append(extra)
        told.append(_chapter_data(extra, letters, number_of, drawings))
    return made("book.typ", _data(facts, chapters, told, index, drawings, letters), archive=True)


def _chapters(facts: Facts, drawn: Sequence[Chapter]) -> list[Chapter]:
    guarded = facts.cut.answer["do_not_touch"]
    runs = facts.runs.answer["runs"]
    taken = (*facts.runs.assumed, *facts.power.assumed, *facts.cut.assumed)
    chapters = [
        book_front.do_not_touch(facts.sheet, facts.cut),
        *drawn,
        book_registers.outlets(facts.outlets, runs, guarded),
        book_registers.ends(facts.ends, guarded),
        book_registers.runs(runs),
        book_registers.power(facts.ports, facts.power),
        book_front.removal(facts.site, facts.order),
        book_front.problems(facts.problems),
        book_front.cautions(),
        book_back.how_sure(),
        book_back.limits(facts.site, runs, taken),
    ]
    return [*chapters, book_back.everything_else(facts.site, flat(chapters))]


def _index(chapters: Sequence[Chapter]) -> list[str]:
    """Every thing that stands somewhere, in the order of tags."""

    def key(name: str) -> tuple[Any, ...]:
        ref = parse_ref(name)
        return natural(tag_key(ref.tag)), ref.kind

    return sorted((name for name in flat(chapters) if _ref(name)), key=key)


def _ref(name: str) -> Ref | None:
    try:
        return parse_ref(name)
    except ValueError:
        return None


def _chapter_data(chapter: Chapter, letters: Letters, number_of: dict[str, int], drawings: list[str]) -> dict[str, Any]:
    parts: list[dict[str, Any]] = []
    title = letters.printable(chapter.title)
    for part in chapter.parts:
        if isinstance(part, Drawn):
            drawings.append(letters.drawing(part.svg))
            begins = title if not parts else None
            parts += sheet_data(part, len(drawings) - 1, letters, number_of, begins=begins)
        elif isinstance(part, Listing):
            parts.append(listing_data(part, letters, number_of))
        else:
            assert isinstance(part, Block) and not isinstance(part, Drawing)
            parts.append(block_data(part, letters))
    return {"title": title, "fresh": chapter.fresh, "parts": parts}


def _data(
    facts: Facts,
    chapters: Sequence[Chapter],
    told: Sequence[dict[str, Any]],
    index: Sequence[str],
    drawings: Sequence[str],
    letters: Letters,
) -> dict[str, Any]:
    said, sheet = facts.sheet.answer, facts.sheet
    day = figures.date(said["day"])
    name = said["name"] or sheet.site
    entries = [(letters.printable(r.tag), r.kind.replace("_", " ")) for r in (parse_ref(name) for name in index)]
    footer = f"{name} · site {sheet.site} · as of {day} · rules {sheet.rules}, verify locally"
    return {
        "title": letters.printable(BOOK["title"].format(name)),
        "says": letters.printable(COVER["says"].format(day)),
        "how": list(HOW_TO),
        "pages": {key: BOOK[key] for key in ("touch", "ends", "outlets", "index")},
        "block": [
            [COVER["site"], letters.printable(sheet.site)],
            [COVER["as_of"], day],
            [COVER["record"], COVER["entries"].format(said["changed"]["entries"])],
            [COVER["rules"], letters.printable(sheet.rules)],
        ],
        "footer": letters.printable(footer),
        "date": [int(part) for part in said["day"].split("-")],
        "chapters": list(told),
        "shorts": [c.short for c in chapters],
        "drawings": list(drawings),
        "index": [{"tag": tag, "kind": kind} for tag, kind in entries],
        "index-title": BOOK["index"],
        "index-says": BOOK["index_says"],
    }

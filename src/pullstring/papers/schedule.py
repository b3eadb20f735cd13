"""The workbook: runs, ends, outlets and ports as sheets to filter and print; the same words and figures as the book."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pullstring.papers import words_runs
from pullstring.papers.book_parts import Chapter, Listing
from pullstring.papers.book_registers import ends, outlets, power, runs
from pullstring.papers.phrases import interval_of
from pullstring.papers.sentences_book import SCHEDULE
from pullstring.papers.words_power import PORT_COLUMNS

if TYPE_CHECKING:
    from pullstring.papers.book import Facts as BookFacts

LEAST, MOST = 6, 46  # ours: the narrowest and the widest column, in letters
CABLE_COLUMNS = ("run", "cables", "jackets", "length", *words_runs.COLUMNS[1:], "label", "only")
PORTS = ("port", "of")
Facts = Mapping[str, Any]


def workbook(facts: BookFacts) -> bytes:
    """All registers as one workbook (ECMA-376), dated by the day it tells of; texts are texts, never formulas.

    Parameters
    ----------
    facts : book.Facts
        What the book stands on.
    """
    import xlsxwriter

    said, guarded = facts.sheet.answer, facts.cut.answer["do_not_touch"]
    told = facts.runs.answer["runs"]
    day = dt.datetime.combine(dt.date.fromisoformat(said["day"]), dt.time())
    made = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "default_date_format": "yyyy-mm-dd",
    }
    book = xlsxwriter.Workbook(made, options)
    book.set_properties({"title": SCHEDULE["title"].format(said["name"] or facts.sheet.site), "created": day})
    footer = SCHEDULE["footer"].format(facts.sheet.site, said["day"], facts.sheet.rules)
    sheets = (
        (SCHEDULE["cables"], CABLE_COLUMNS, schedule_rows(told)),
        (SCHEDULE["ends"], *_register(ends(facts.ends, guarded), "end")),
        (SCHEDULE["outlets"], *_register(outlets(facts.outlets, told, guarded), "outlet")),
        (SCHEDULE["ports"], *_register(power(facts.ports, facts.power), *PORTS)),
        (SCHEDULE["judged"], *_register(power((), facts.power), *PORT_COLUMNS)),
        (SCHEDULE["tests"], *_register(runs(told), "test")),
    )
    looks = {"head": book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 2})}
    looks["cell"] = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    for name, columns, rows in sheets:
        _sheet(book.add_worksheet(name), columns, rows, looks, footer=footer)
    book.close()
    return made.getvalue()


def schedule_rows(told: Sequence[Facts]) -> list[tuple[str, ...]]:
    """One row a run: what it is made of, where it goes, what it carries, its label and who alone may touch it."""
    return [
        (
            r["end"],
            ", ".join(r["cables"]),
            ", ".join(r["jackets"]) or "–",
            interval_of(r["length"]),
            *row[1:],
            r["label"] or "–",
            ", ".join(r["protected_by"]) or "–",
        )
        for r, row in zip(told, words_runs.rows(told), strict=True)
    ]


def _register(chapter: Chapter, *heads: str) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The listing of a chapter whose columns begin so: columns and rows; a sentence where the chapter has none."""
    for part in chapter.parts:
        if isinstance(part, Listing) and part.columns[: len(heads)] == heads:
            return part.columns, [row.cells for row in part.rows]
    return (SCHEDULE["empty"],), []


def _sheet(
    sheet: Any, columns: Sequence[str], rows: Sequence[Sequence[str]], looks: Mapping[str, Any], *, footer: str
) -> None:
    """A sheet with its head frozen, a filter over all of it, and A4 lying with the head on every page (ISO 216)."""
    for n, name in enumerate(columns):
        longest = max((len(row[n]) for row in rows), default=0)
        sheet.set_column(n, n, min(max(longest, len(name), LEAST) + 2, MOST), looks["cell"])
        sheet.write_string(0, n, name, looks["head"])
    for y, row in enumerate(rows, 1):
        for x, cell in enumerate(row):
            sheet.write_string(y, x, cell, looks["cell"])
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(rows), 1), len(columns) - 1)
    sheet.set_paper(9)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.6)
    sheet.set_footer(f"&L&8{footer.replace('&', '&&')}&R&8&P / &N")

"""Blank sheets for handwriting: ruled every 8 mm, with a code by which a photograph of one is attached to what it is about."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.papers import svg
from pullstring.papers.book_letters import Letters
from pullstring.papers.labels_code import code_path, code_text
from pullstring.papers.sentences_book import BLANKS, FORMS
from pullstring.papers.typst_page import made

LINE_MM = 8.0
ROWS = 25  # ours: what an upright A4 holds under its head
CODE_MM = 24.0
ON_WIRES = ("readings", "tone")
LONGEST = 40  # letters of what is filled in; more has no room in a line
FORM_NAMES = tuple(FORMS)
"""The forms there are."""


@dataclasses.dataclass(frozen=True)
class Sheet:
    """One sheet: which form, its number, and rows that are filled in already."""

    form: str
    number: str
    rows: tuple[tuple[str, ...], ...]


def blanks(
    site: Site,
    *,
    day: str,
    forms: Sequence[str] = FORM_NAMES,
    filled: Sequence[str] = (),
    guarded: Collection[str] = (),
) -> bytes:
    """The forms as PDF, each at least one sheet; those that are `filled` bear the tags that the record knows.

    Parameters
    ----------
    site : Site
        The site as paper may know it.
    day : str
        Day of printing, a part of each sheet's number.
    forms, filled : sequence of str
        Names of `FORM_NAMES`.
    guarded : collection of str
        References that only others may touch; sheets for working on wires do not name them.
    """
    letters = Letters()
    name = next((t.text("name") for t in site.of_kind("property")), "") or site.property_tag
    told = sheets_of(site, day=day, forms=forms, filled=filled, guarded=guarded)
    pages = [_page(site, sheet, letters) for sheet in told]
    data = {
        "title": letters.printable(BLANKS["title"].format(name)),
        "site": letters.printable(name),
        "line": LINE_MM,
        "code": CODE_MM,
        "foot": BLANKS["foot"],
        "fields": list(BLANKS["fields"].split("|")),
        "pages": pages,
    }
    return made("blank.typ", data)


def sheets_of(
    site: Site, *, day: str, forms: Sequence[str], filled: Sequence[str], guarded: Collection[str] = ()
) -> list[Sheet]:
    """The sheets in the order of the forms; numbers go on within a form."""
    found = []
    for form in FORM_NAMES:
        if form not in forms:
            continue
        rows = known_rows(site, form, guarded) if form in filled else []
        for n in range(max(1, -(-len(rows) // ROWS))):
            number = f"SHEET-{FORMS[form]['letter']}-{day[:10].replace('-', '')}-{n + 1}"
            found.append(Sheet(form, number, tuple(rows[n * ROWS : (n + 1) * ROWS])))
    return found


def known_rows(site: Site, form: str, guarded: Collection[str] = ()) -> list[tuple[str, ...]]:
    """What the record knows for the first columns of a form; sheets for work on wires leave out what only others may touch."""
    kept = [t for t in site.of_kind(FORMS[form]["kind"]) if t.stands]
    return [_FILLS[form](site, t) for t in kept if form not in ON_WIRES or str(t.ref) not in guarded]


def _room(site: Site, thing: Thing) -> str:
    room = site.get(thing.ref_of("room"))
    return f"{room.ref.tag} {room.text('name')}".strip() if room else ""


def _cable(thing: Thing) -> str:
    cable = thing.ref_of("cable")
    return cable.tag if cable else ""


_FILLS: Mapping[str, Any] = {
    "ends": lambda site, t: (t.ref.tag, _cable(t), _room(site, t)),
    "plates": lambda site, t: (t.ref.tag, _room(site, t)),
    "readings": lambda site, t: (t.ref.tag,),
    "tone": lambda site, t: (t.ref.tag,),
    "ports": lambda site, t: (t.ref.tag, t.text("gives")),
    "photographs": lambda site, t: (t.ref.tag, ", ".join(r.tag for r in t.refs_of("of"))),
}


def _page(site: Site, sheet: Sheet, letters: Letters) -> dict[str, Any]:
    form = FORMS[sheet.form]
    columns = [part.rpartition(" ") for part in str(form["columns"]).split("|")]
    width = len(columns)
    rows = [[_cut(letters.printable(c)) for c in (*row, *("",) * width)][:width] for row in sheet.rows]
    rows += [[""] * width for _ in range(ROWS - len(rows))]
    code = code_text(site.property_tag, sheet.number)
    return {
        "title": form["title"],
        "says": form["says"] + (f" {BLANKS['left_out']}" if sheet.rows and sheet.form in ON_WIRES else ""),
        "columns": [name for name, _, _ in columns],
        "widths": [float(mm) for _, _, mm in columns],
        "rows": rows,
        "number": sheet.number,
        "picture": _code(code) if code else "",
        "identifier": letters.printable(code or f"{site.property_tag}/{sheet.number}"),
    }


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 2].rstrip() + " …"


def _code(text: str) -> str:
    """The code as a drawing: property and number of the sheet, nothing else."""
    style = ".plan .qr{fill:#000000}"
    path = code_path(text, side=CODE_MM)
    return svg.document([path], width=CODE_MM, height=CODE_MM, mm_per_unit=1, style=style, says=f"code {text}")

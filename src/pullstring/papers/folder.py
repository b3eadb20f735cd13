"""A folder of papers: first page as PDF and HTML, every floor to scale, labels, and an index page to open."""

from __future__ import annotations

import html as escape
from collections.abc import Callable, Sequence
from pathlib import Path

from pullstring.model.answers import Answer
from pullstring.model.asbuilt import Site, Thing
from pullstring.papers.drawing import floor_svg
from pullstring.papers.html import html_page, style
from pullstring.papers.labels import SHEETS, BadLabel, Label, label_pdf
from pullstring.papers.typst_page import drawing_sheet, pdf_page
from pullstring.papers.words import page_of


def first_page(folder: Path, sheet: Answer) -> list[tuple[str, str]]:
    """The first page twice; gives file names with what they are."""
    page = page_of(sheet)
    (folder / "first_page.pdf").write_bytes(pdf_page(page))
    (folder / "first_page.html").write_text(html_page(page), encoding="utf-8", newline="")
    return [("first_page.pdf", "the first page on paper"), ("first_page.html", "the first page in the browser")]


def floors(
    folder: Path, site: Site, drawn: Sequence[Thing], *, as_of: str, progress: Callable[[float, str], None]
) -> list[tuple[str, str]]:
    """Each floor as SVG and as PDF at 1:100."""
    made = []
    for i, floor in enumerate(drawn):
        progress(i / len(drawn), f"floor {floor.ref.tag}")
        svg = floor_svg(site, floor.ref, as_of=as_of)
        stem = "floor_" + "".join(c if c.isalnum() else "_" for c in floor.ref.tag)
        (folder / f"{stem}.svg").write_text(svg, encoding="utf-8", newline="")
        (folder / f"{stem}.pdf").write_bytes(drawing_sheet(svg, title=f"{site.property_tag} {floor.text('name')}"))
        made.append((f"{stem}.svg", f"{floor.ref.tag} {floor.text('name')}"))
        made.append((f"{stem}.pdf", f"{floor.ref.tag} at 1:100 on paper"))
    return made


def labels(folder: Path, site: Site) -> tuple[list[tuple[str, str]], list[str]]:
    """One label for each standing end, on A4 and on tape; a tag that no code can hold is told and left out."""
    items, left = [], []
    for end in site.of_kind("end"):
        if end.stands:
            cable = end.ref_of("cable")
            try:
                items.append(Label(site.property_tag, end.ref.tag, f"cable {cable.tag}" if cable else ""))
            except BadLabel as error:
                left.append(str(error))
    if not items:
        return [], left
    (folder / "labels_a4.pdf").write_bytes(label_pdf(items, sheet=SHEETS["a4"]))
    (folder / "label_tape.pdf").write_bytes(label_pdf(items[:1], sheet=SHEETS["tape"]))
    return [("labels_a4.pdf", "labels for every cable end"), ("label_tape.pdf", "one label for 12 mm tape")], left


def index_page(folder: Path, *, title: str, lines: Sequence[str], made: Sequence[tuple[str, str]]) -> None:
    """An index page to open: what was made, and the first floor as a picture."""
    links = "".join(
        f'<tr><td class="m"><a href="{escape.escape(n)}">{escape.escape(n)}</a></td><td>{escape.escape(what)}</td></tr>'
        for n, what in made
    )
    drawn = [n for n, _ in made if n.endswith(".svg")]
    picture = max(drawn, key=lambda n: ((folder / n).stat().st_size, n), default="")  # the floor with most on it
    shown = f'<p><img src="{picture}" alt="{escape.escape(title)}" style="max-width:100%"></p>' if picture else ""
    text = "".join(f"<p>{escape.escape(line)}</p>" for line in lines)
    (folder / "index.html").write_text(
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" '
        f'content="width=device-width"><title>{escape.escape(title)}</title><style>{style()}</style></head>'
        f"<body><main><h1>{escape.escape(title)}</h1>{text}<table>{links}</table>{shown}</main></body></html>\n",
        encoding="utf-8",
        newline="",
    )

"""The sheets of `start` into a folder: each as HTML for the phone and as PDF for paper."""

from __future__ import annotations

from pathlib import Path

from pullstring.model.answers import Answer
from pullstring.papers.html import html_page
from pullstring.papers.typst_page import pdf_page
from pullstring.papers.words_start import sheet_pages


def write_sheets(folder: Path, answer: Answer) -> list[str]:
    """Write all sheets; gives the names of the files."""
    made = {}
    for stem, page in sheet_pages(answer).items():
        made[f"{stem}.html"] = html_page(page).encode()
        made[f"{stem}.pdf"] = pdf_page(page)
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return list(made)

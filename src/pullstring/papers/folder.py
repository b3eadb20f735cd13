"""A folder of papers with an index page to open. What was printed before is never taken for new: it goes first."""

from __future__ import annotations

import dataclasses
import html as escape
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from pullstring.papers.sentences_book import FOLDER

OURS = (
    r"index\.html|first_page\.(pdf|html)|book\.pdf|floor_\w+\.(svg|pdf)|rooms\.(svg|pdf)|closet\.pdf|closet_\d+\.svg|riser\.(svg|pdf)"
    r"|labels?_\w+\.pdf|port_card\.pdf|tables\.xlsx|blanks\.pdf|walk_sheet\.pdf|signal\.pdf"
    r"|signal_\w+\.svg"
)
"""Names of files that printing makes; nothing else in a folder is ever touched."""
INDEX = "index.html"


@dataclasses.dataclass(frozen=True)
class Paper:
    """One file with what it is."""

    name: str
    data: bytes
    says: str


def is_ours(name: str) -> bool:
    """Whether printing makes a file of this name."""
    return re.fullmatch(OURS, name) is not None


def put(folder: Path, made: Sequence[Paper], index: bytes) -> None:
    """Put papers into a folder, the index page last.

    All of them exist already, so nothing is half written for want of an answer. First the old index and the old files of
    the same names go; then each new file appears whole under its name. Whoever pulls the plug between finds no index page.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in (INDEX, *(p.name for p in made)):
        (folder / name).unlink(missing_ok=True)
    for name, data in (*((p.name, p.data) for p in made), (INDEX, index)):
        part = folder / f"{name}.part"
        part.write_bytes(data)
        os.replace(part, folder / name)


def older(folder: Path, made: Sequence[Paper]) -> list[str]:
    """Papers of an earlier print that this one does not make anew."""
    now = {p.name for p in made} | {INDEX}
    if not folder.is_dir():
        return []
    return sorted(p.name for p in folder.iterdir() if p.is_file() and is_ours(p.name) and p.name not in now)


def index_page(
    *,
    title: str,
    lines: Sequence[str],
    made: Sequence[tuple[str, str]],
    old: Sequence[str],
    pictures: Mapping[str, int],
) -> bytes:
    """An index page to open: what was made, what lies there from earlier, and the floor with most on it as a picture."""
    from pullstring.papers.html import style

    shown = max(pictures, key=lambda n: (pictures[n], n), default="")
    picture = f'<p><img src="{shown}" alt="{escape.escape(title)}" style="max-width:100%"></p>' if shown else ""
    text = "".join(f"<p>{escape.escape(line)}</p>" for line in lines)
    before = f"<h2>{FOLDER['old']}</h2><p>{FOLDER['old_says']}</p>{_links([(n, '') for n in old])}" if old else ""
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" '
        f'content="width=device-width"><title>{escape.escape(title)}</title><style>{style()}</style></head>'
        f"<body><main><h1>{escape.escape(title)}</h1>{text}{_links(made)}{before}{picture}</main></body></html>\n"
    ).encode()


def _links(made: Sequence[tuple[str, str]]) -> str:
    rows = "".join(
        f'<tr><td class="m"><a href="{escape.escape(n)}">{escape.escape(n)}</a></td><td>{escape.escape(what)}</td></tr>'
        for n, what in made
    )
    return f"<table>{rows}</table>"

"""The verb `start`: pasted lines in, a first page out."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from pullstring import api
from pullstring.cli.common import SITE, give, hand, request, writing


@click.command("start")
@SITE
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--code", help="short code of the place, for labels; else made from the file's name")
@click.option("--look", is_flag=True, help="only answer; write nothing into the site file")
@click.option(
    "--sheets", metavar="FOLDER", type=click.Path(path_type=Path), help="sheets as HTML and PDF into a folder"
)
@writing
def start(
    path: Path,
    file: Path | None,
    code: str | None,
    look: bool,
    sheets: Path | None,
    author: str | None,
    today: str | None,
    as_json: bool,
) -> int:
    """From pasted lines (FILE or standard input): photo list, questions, blank sheets, a rough size."""
    text = _read(file)
    answer = api.start(path, request(today=today), text=text, look=look, code=code, **hand(author))
    if sheets is not None:
        from pullstring.papers.start_sheets import write_sheets

        for name in write_sheets(sheets, answer):
            click.echo(f"{sheets / name}", err=True)
    return give(answer, as_json=as_json)


def _read(file: Path | None) -> str:
    """The text as UTF-8; a byte that is no letter becomes a mark, so that any file can be read."""
    data = file.read_bytes() if file is not None and str(file) != "-" else sys.stdin.buffer.read()
    return data.decode("utf-8-sig", errors="replace").replace("\0", " ")


COMMANDS = {"start": start}

"""The verb `add`: one entry from the hand."""

from __future__ import annotations

from pathlib import Path

import click

from pullstring import api
from pullstring.cli.common import SITE, give, hand, request, writing


@click.command("add")
@SITE
@click.argument("table")
@click.argument("cells", nargs=-1, required=True, metavar="COLUMN=VALUE...")
@writing
def add(path: Path, table: str, cells: tuple[str, ...], author: str | None, today: str | None, as_json: bool) -> int:
    """Enter one row of a table, for example: add SITE ends end=E07 found="row 20" grade=seen."""
    wrong = [c for c in cells if "=" not in c]
    if wrong:
        raise api.BadRequest([f"{c!r} is no cell; write it as column=value" for c in wrong])
    row = {name.strip(): value for name, _, value in (c.partition("=") for c in cells)}
    return give(api.add(path, request(today=today), table=table, cells=row, **hand(author)), as_json=as_json)


COMMANDS = {"add": add}

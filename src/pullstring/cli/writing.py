"""The verbs that write: new, import, export."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.common import SITE, asking, give, hand, request, writing
from pullstring.model.answers import silent

FOLDER = click.argument("folder", type=click.Path(path_type=Path))


@click.command("new")
@SITE
@click.option("--code", required=True, help="short code of the place, for example KC")
@click.option("--name", default="", help="its name")
@writing
def new(path: Path, code: str, name: str, author: str | None, today: str | None, as_json: bool) -> int:
    """Begin the record of a site in a new file."""
    return give(api.new(path, request(today=today), code=code, name=name, **hand(author)), as_json=as_json)


@click.command("import")
@SITE
@FOLDER
@click.option("--dry", is_flag=True, help="say what would be entered, and enter nothing")
@writing
def import_(path: Path, folder: Path, dry: bool, author: str | None, today: str | None, as_json: bool) -> int:
    """Read a folder of CSV tables into the record: all of it, or nothing and every fault."""
    return give(
        api.import_(path, request(today=today), folder=folder, dry=dry, progress=silent, **hand(author)),
        as_json=as_json,
    )


@click.command("export")
@SITE
@FOLDER
@asking
def export(path: Path, folder: Path, as_json: bool, strict: bool, **options: Any) -> int:
    """Write the as-built site as a folder of CSV tables."""
    return give(api.export(path, request(**options), folder=folder), as_json=as_json, strict=strict)


COMMANDS = {"new": new, "import": import_, "export": export}

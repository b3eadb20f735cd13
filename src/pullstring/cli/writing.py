"""The verbs that write: new, import, export."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.common import SITE, asking, give, hand, request, writing
from pullstring.model.answers import silent


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
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--dry", is_flag=True, help="say what would be entered, and enter nothing")
@click.option("--map", "map_file", type=click.Path(path_type=Path), help="a map for foreign sheets (TOML)")
@click.option(
    "--what-fits", "fits", is_flag=True, help="say which columns are understood, and print a map to begin with"
)
@click.option("--rescue", is_flag=True, help="take every whole entry from a damaged record")
@writing
def import_(
    path: Path,
    source: Path,
    dry: bool,
    map_file: Path | None,
    fits: bool,
    rescue: bool,
    author: str | None,
    today: str | None,
    as_json: bool,
) -> int:
    """Read tables (a folder of CSV files, a workbook) or another record of the site: all of it, or nothing and every fault."""
    asked = request(today=today)
    if fits:
        fitting = api.what_fits(path, asked, folder=source)
        code = give(fitting, as_json=as_json)
        if not as_json:
            click.echo(fitting.answer["map"])  # as it is, so that it can be kept as a file
        return code
    if rescue or api.is_record(source):
        if map_file:
            raise api.BadRequest([f"{source.name}: a map is for tables, and this is a record; leave out --map"])
        answer = api.import_record(path, asked, source=source, rescue=rescue, dry=dry, **hand(author))
    else:
        answer = api.import_(path, asked, folder=source, map_file=map_file, dry=dry, progress=silent, **hand(author))
    return give(answer, as_json=as_json)


@click.command("export")
@SITE
@click.argument("folder", metavar="FOLDER|FILE.xlsx", type=click.Path(path_type=Path))
@click.option(
    "--as",
    "form",
    type=click.Choice(["tables", "record", "shared"]),
    default="tables",
    show_default=True,
    help="tables; the whole record; or a set that may be given away",
)
@asking
def export(path: Path, folder: Path, form: str, as_json: bool, strict: bool, **options: Any) -> int:
    """Write the as-built site as tables, the whole record, or what may be shared."""
    verb = {"tables": api.export, "record": api.export_record, "shared": api.export_shared}[form]
    return give(verb(path, request(**options), folder=folder), as_json=as_json, strict=strict)


COMMANDS = {"new": new, "import": import_, "export": export}

"""The verbs of the hand: add one entry, strike one out; secrets are asked for without being shown."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from pullstring import api
from pullstring.cli.common import SITE, give, hand, request, writing

PASSPHRASE_FILE = click.option(
    "--passphrase-file", type=click.Path(path_type=Path), help="a file whose first line is the passphrase"
)


def passphrase(file: Path | None, *, twice: bool) -> str:
    """The passphrase from a file, from PULLSTRING_PASSPHRASE_FILE, or typed; never from the command line."""
    named = file or (Path(p) if (p := os.environ.get("PULLSTRING_PASSPHRASE_FILE")) else None)
    if named:
        lines = named.read_text(encoding="utf-8-sig").splitlines()
        return lines[0] if lines else ""
    if not sys.stdin.isatty():
        raise api.BadRequest(["there is no terminal to type the passphrase at; name a file with --passphrase-file"])
    return str(
        click.prompt("passphrase that seals it (not the secret)", hide_input=True, confirmation_prompt=twice, err=True)
    )


def secret(column: str) -> str:
    """The secret itself: typed unseen, or the first line of standard input when that is no terminal."""
    if sys.stdin.isatty():
        return str(click.prompt(f"{column}, the secret itself", hide_input=True, confirmation_prompt=True, err=True))
    return sys.stdin.readline().rstrip("\r\n")


@click.command("add")
@SITE
@click.argument("table")
@click.argument("cells", nargs=-1, required=True, metavar="COLUMN=VALUE...")
@click.option("--seal", "sealed", metavar="COLUMN", multiple=True, help="ask for this secret and enter it sealed")
@PASSPHRASE_FILE
@writing
def add(
    path: Path,
    table: str,
    cells: tuple[str, ...],
    sealed: tuple[str, ...],
    passphrase_file: Path | None,
    author: str | None,
    today: str | None,
    as_json: bool,
) -> int:
    """Enter one row of a table, for example: add SITE ends end=E07 found="row 20" grade=seen."""
    wrong = [c for c in cells if "=" not in c]
    if wrong:
        raise api.BadRequest([f"{c!r} is no cell; write it as column=value" for c in wrong])
    row = {name.strip(): value for name, _, value in (c.partition("=") for c in cells)}
    if twice := [c for c in sealed if c in row]:
        raise api.BadRequest([f"{c!r} is given as a cell and with --seal; leave out the cell" for c in twice])
    if sealed:
        phrase = passphrase(passphrase_file, twice=True)
        for column in sealed:
            row[column] = api.seal_cell(path, table=table, column=column, secret=secret(column), passphrase=phrase)
    return give(api.add(path, request(today=today), table=table, cells=row, **hand(author)), as_json=as_json)


@click.command("strike")
@SITE
@click.argument("entry")
@click.option("--why", required=True, help="why it never was so")
@click.option("--redact", is_flag=True, help="destroy its content too, here and in every copy that is merged later")
@writing
def strike(path: Path, entry: str, why: str, redact: bool, author: str | None, today: str | None, as_json: bool) -> int:
    """Say that an earlier entry never was so. (What was so and has changed is an act: add SITE acts ...)"""
    asked = request(today=today)
    return give(api.strike(path, asked, entry=entry, why=why, redact=redact, **hand(author)), as_json=as_json)


COMMANDS = {"add": add, "strike": strike}

"""The verb serve: the pages of one site, for this machine and, when asked, for phones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pullstring import api
from pullstring.cli.common import SITE, hand, request

if TYPE_CHECKING:
    from pullstring.web.server import Open


@click.command("serve")
@SITE
@click.option(
    "--port", type=int, default=8471, show_default=True, help="keep it: a phone's entries lie under its address"
)
@click.option("--phones", is_flag=True, help="let phones in this network reach the pocket page, each by a code")
@click.option("--author", metavar="ROLE", default=None, help="who writes on the laptop; a role, no name is needed")
@click.option("--as-of", metavar="DAY", help="the site as it was on that day")
@click.option("--known-by", metavar="DAY|ENTRY", help="only what was known by then")
@click.option("--today", metavar="DAY", help="take this as today")
def serve(path: Path, port: int, phones: bool, author: str | None, **options: Any) -> int:
    """The site in the browser: problems, plan, closet, registers, runs, power, history, and entries by phone."""
    from pullstring.web.server import serve as run

    asked = request(**options)
    api.load(path, asked)
    run(
        path,
        asked,
        port=port,
        ready=_told,
        phones=phones,
        author=hand(author)["author"],
        fixed_day=bool(options["today"]),
    )
    return 0


def _told(found: Open) -> None:
    click.echo(f"{found.address}  (Ctrl-C ends it)", err=True)
    if found.for_phones:
        click.echo(f"code for a phone: {found.code} (ten minutes, one phone; page Phones gives the next)", err=True)
        for link in found.for_phones:
            click.echo(f"on the phone: {link}?code={found.code}", err=True)


COMMANDS = {"serve": serve}
"""The verb that stays."""

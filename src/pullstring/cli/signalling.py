"""The verb `signal`: room by room the level, who serves, what readings taught, where to read next."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.asking import TAGS
from pullstring.cli.common import SITE, asking, give, request


@click.command("signal")
@SITE
@TAGS
@click.option("--planned", is_flag=True, help="count access points that are only planned")
@click.option(
    "--doors", type=click.Choice(["usual", "open", "shut"]), default="usual", help="how all doors and hatches stand"
)
@click.option("--even-layers", "even", is_flag=True, help="take layers of walls as even to the millimetre as drawn")
@click.option("--link", nargs=2, metavar="END END", help="a link through the air between two access points or places")
@asking
def signal(
    path: Path,
    tags: tuple[str, ...],
    planned: bool,
    doors: str,
    even: bool,
    link: tuple[str, ...] | None,
    as_json: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Room by room and band: the level, how sure, who serves, whether needs are met; and where to read next."""
    asked = request(tags=tags, **options)
    answer = api.signal(path, asked, planned=planned, doors=doors, even=even, links=link or ())
    return give(answer, as_json=as_json, strict=strict)


COMMANDS = {"signal": signal}

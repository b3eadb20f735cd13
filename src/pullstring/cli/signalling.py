"""The verb `signal`: room by room the level, who serves, what readings taught, where to read next."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.asking import TAGS
from pullstring.cli.common import SITE, asking, give, request
from pullstring.model.answers import Progress

QUIET_S = 3.0
"""So long nothing is said of how far it is."""


def _slowly(started: float) -> Progress:
    """Progress that is told once the work takes long."""

    def told(fraction: float, words: str) -> None:
        if time.monotonic() - started > QUIET_S:
            click.echo(f"{round(100 * fraction):3d} % {words}", err=True)

    return told


@click.command("signal")
@SITE
@TAGS
@click.option("--planned", is_flag=True, help="count access points that are only planned")
@click.option(
    "--doors", type=click.Choice(["usual", "open", "shut"]), default="usual", help="how all doors and hatches stand"
)
@click.option("--even-layers", "even", is_flag=True, help="take layers of walls as even to the millimetre as drawn")
@click.option("--all", "whole", is_flag=True, help="every fault of the plan and the readings, not the first five alone")
@click.option("--link", nargs=2, metavar="END END", help="a link through the air between two access points or places")
@click.option(
    "--move",
    nargs=4,
    metavar="UNIT FLOOR X Y",
    help="the rooms if that access point stood there, in the building's axes",
)
@asking
def signal(
    path: Path,
    tags: tuple[str, ...],
    planned: bool,
    doors: str,
    even: bool,
    whole: bool,
    link: tuple[str, ...] | None,
    move: tuple[str, ...] | None,
    as_json: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Room by room and band: the level, how sure, who serves, whether needs are met; and where to read next."""
    asked = request(tags=tags, **options)
    if move:
        unit, floor, x, y = move
        answer = api.signal_moved(path, asked, sender=unit, x_m=_metres(x), y_m=_metres(y), floor=floor)
        return give(answer, as_json=as_json, strict=strict)
    told = _slowly(time.monotonic())
    answer = api.signal(path, asked, planned=planned, doors=doors, even=even, links=link or (), progress=told)
    return give(answer, as_json=as_json, strict=strict, whole=whole)


def _metres(text: str) -> float:
    """A length as a cell of a table has it: metres, or with its unit."""
    from pullstring.model.units import BadQuantity, parse_quantity

    try:
        return float(parse_quantity(text, "length", unit="m").value)
    except BadQuantity as error:
        raise api.BadRequest([f"--move: {error}"]) from error


COMMANDS = {"signal": signal}

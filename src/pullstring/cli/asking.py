"""The verbs that ask: site, runs, power, if-cut."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.adding import passphrase
from pullstring.cli.common import SITE, asking, give, request
from pullstring.model.answers import Answer, Request

TAGS = click.argument("tags", nargs=-1)


LISTS: dict[str, Callable[[Path, Request, str | None], Answer]] = {
    "ends": lambda path, asked, _: api.ends(path, asked),
    "outlets": lambda path, asked, _: api.outlets(path, asked),
    "history": lambda path, asked, about: api.history(path, asked, about=about),
    "inbox": lambda path, asked, _: api.inbox(path, asked),
}
"""What --list tells; with --why THING the history is that of one thing."""


@click.command("site")
@SITE
@click.option("--why", metavar="THING[.FIELD]", help="the entries behind one thing or one of its fields")
@click.option("--open-seal", is_flag=True, help="with --why THING.FIELD: ask for the passphrase and show the secret")
@click.option("--passphrase-file", type=click.Path(path_type=Path), help="a file whose first line is the passphrase")
@click.option("--all", "whole", is_flag=True, help="every problem, not the first five alone")
@click.option(
    "--list", "listed", type=click.Choice(list(LISTS)), help="a register, who said what, or what waits to be sorted"
)
@click.option("--find", "word", metavar="WORD", help="what bears a word as tag, label or name")
@asking
def site(
    path: Path,
    why: str | None,
    listed: str | None,
    word: str | None,
    open_seal: bool,
    passphrase_file: Path | None,
    whole: bool,
    as_json: bool,
    strict: bool,
    **options: Any,
) -> int:
    """The as-built site and what is wrong in it, worst first: five lines, the rest with --all."""
    if open_seal:
        if why is None:
            raise api.BadRequest(["name what to open: site SITE --why THING.FIELD --open-seal"])
        if as_json:
            raise api.BadRequest(["what is under a seal is shown on the page only; leave out --json"])
        phrase = passphrase(passphrase_file, twice=False)
        return give(api.open_seal(path, request(**options), what=why, passphrase=phrase), as_json=False)
    if word is not None:
        return give(api.find(path, request(**options), word=word), as_json=as_json)
    if listed is not None:
        return give(LISTS[listed](path, request(**options), why), as_json=as_json)
    answer = api.site(path, request(**options), why=why, listed=as_json)
    return give(answer, as_json=as_json, strict=strict, whole=whole)


@click.command("runs")
@SITE
@TAGS
@asking
def runs(path: Path, tags: tuple[str, ...], as_json: bool, strict: bool, **options: Any) -> int:
    """Where every run goes and how sure that is, what it can carry, why, and the cheapest next test."""
    answer = api.runs(path, request(tags=tags, **options), whole=as_json or bool(tags))
    return give(answer, as_json=as_json, strict=strict)


@click.command("power")
@SITE
@TAGS
@click.option(
    "--set", "gives", metavar="MODE", help="may this port be set to that mode: 802.3af, 24 V always-on, nothing ..."
)
@click.option("--move-to", "to_port", metavar="PORT", help="may this plug be moved to that port")
@click.option("--swap-for", "model", metavar="MODEL", help="may this unit be swapped for one of that model")
@asking
def power(
    path: Path,
    tags: tuple[str, ...],
    gives: str | None,
    to_port: str | None,
    model: str | None,
    as_json: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Port by port: what fits, volts and watts, budgets, batteries, heat, the port card; or a change before it is made."""
    asked = request(tags=tags, **options)
    if (gives, to_port, model) == (None, None, None):
        return give(api.power(path, asked), as_json=as_json, strict=strict)
    answer = api.power_change(path, asked, gives=gives, to_port=to_port, model=model)
    return give(answer, as_json=as_json, strict=strict)


@click.command("if-cut")
@SITE
@TAGS
@click.option("--order", "in_order", is_flag=True, help="an order in which the named things come out safely")
@click.option(
    "--without-mains",
    "minutes",
    type=click.FloatRange(min=0),
    metavar="MINUTES",
    help="what ends when the mains have been gone for so long",
)
@asking
def if_cut(
    path: Path,
    tags: tuple[str, ...],
    in_order: bool,
    minutes: float | None,
    as_json: bool,
    strict: bool,
    **options: Any,
) -> int:
    """STOP, ASK or GO for taking the named things away; without a tag, what must not be touched."""
    answer = api.if_cut(path, request(tags=tags, **options), in_order=in_order, without_mains_min=minutes)
    return give(answer, as_json=as_json, strict=strict)


COMMANDS = {"site": site, "runs": runs, "power": power, "if-cut": if_cut}

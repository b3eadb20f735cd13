"""The verb `trace`: which cable is which, what to try next, codes for one walk, and what was read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.asking import TAGS
from pullstring.cli.common import SITE, asking, give, hand, request
from pullstring.model.answers import Answer

MODES = {
    "why": "--why",
    "next_act": "--next",
    "codes": "--codes",
    "plugs": "--plugs",
    "wires": "--two-trips",
    "decode": "--decode",
    "accept": "--accept",
}
"""Options that each ask another question."""
BELONGS = {
    "at": ("--at", ("next_act",)),
    "up_to": ("--up-to", ("codes",)),
    "placed": ("--placed", ("decode",)),
    "read": ("--read", ("decode",)),
    "dry": ("--dry", ("accept",)),
    "author": ("--author", ("accept",)),
}
"""Options that need another beside them."""


@click.command("trace")
@SITE
@TAGS
@click.option("--why", metavar="OUTLET|END", help="the entries for and against, by weight")
@click.option("--next", "next_act", is_flag=True, help="one act to do now, the rest of its walk, and when to stop")
@click.option("--at", metavar="PLACE", help="with --next: where you stand (a room, an outlet, an end)")
@click.option("--codes", is_flag=True, help="which resistor on which outlet for one walk; TAGS name outlets")
@click.option("--up-to", type=click.IntRange(1, 3), help="with --codes: so many in parallel stay apart (2 unless said)")
@click.option("--plugs", type=click.IntRange(1, 8), metavar="PAIRS", help="words for scrap plugs of so many pairs")
@click.option("--two-trips", "wires", type=click.IntRange(1, 200), metavar="N", help="N wires with a continuity tester")
@click.option("--decode", is_flag=True, help="what the ohms read at the ends mean")
@click.option(
    "--read", multiple=True, metavar="END=OHM", help="with --decode: what was read; open if more than it shows"
)
@click.option("--placed", multiple=True, metavar="OUTLET=OHM", help="with --decode: what is clipped on")
@click.option("--accept", is_flag=True, help="write what is sure enough as claims; TAGS pick some")
@click.option("--dry", is_flag=True, help="with --accept: show it and write nothing")
@click.option("--author", metavar="ROLE", default=None, help="with --accept: who accepts; a role, no name is needed")
@asking
def trace(path: Path, tags: tuple[str, ...], as_json: bool, strict: bool, **options: Any) -> int:
    """Which cable end belongs to which outlet, how sure, and what to do next."""
    _one_question(options)
    return give(_answer(path, tags, options), as_json=as_json, strict=strict)


def _answer(path: Path, tags: tuple[str, ...], options: dict[str, Any]) -> Answer:
    asked = request(tags=tags, **options)
    if options["why"] is not None:
        return api.trace_why(path, asked, why=options["why"])
    if options["next_act"]:
        return api.trace_next(path, asked, at=options["at"])
    if options["codes"]:
        return api.trace_codes(path, asked, up_to=options["up_to"] or 2)
    if options["plugs"] is not None:
        return api.trace_words(path, asked, pairs=options["plugs"])
    if options["wires"] is not None:
        return api.trace_two_trips(path, asked, wires=options["wires"])
    if options["decode"]:
        return api.trace_decode(path, asked, read=options["read"], placed=options["placed"])
    if options["accept"]:
        return api.trace_accept(path, asked, dry=options["dry"], **hand(options["author"]))
    return api.trace(path, asked)


def _one_question(options: dict[str, Any]) -> None:
    """Raise BadRequest when options ask several questions at once, or stand without the one they belong to."""
    asked = [name for name in MODES if options[name] not in (None, False)]
    faults = []
    if len(asked) > 1:
        named = " and ".join(MODES[name] for name in asked)
        faults.append(f"{named} are different questions; ask one at a time")
    for name, (option, needs) in BELONGS.items():
        if options[name] not in (None, False, ()) and not any(n in asked for n in needs):
            faults.append(f"{option} belongs to {' or '.join(MODES[n] for n in needs)}; name that too")
    if faults:
        raise api.BadRequest(faults)


COMMANDS = {"trace": trace}

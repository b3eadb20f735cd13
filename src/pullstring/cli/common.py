"""What the verbs share: options, the request, and how an answer is given out."""

from __future__ import annotations

import datetime as dt
import getpass
import json
import os
import platform
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypedDict, TypeVar

import click

from pullstring import api
from pullstring.model.answers import Answer, Request, plain

F = TypeVar("F", bound=Callable[..., Any])
SITE = click.argument("path", metavar="SITE", type=click.Path(path_type=Path))


def asking(command: F) -> F:
    """Options of every verb that asks."""
    for option in reversed(
        (
            click.option("--as-of", metavar="DAY", help="the site as it was on that day"),
            click.option("--known-by", metavar="DAY|ENTRY", help="only what was known by then"),
            click.option("--today", metavar="DAY", help="take this as today"),
            click.option("--seed", type=int, default=1, show_default=True, help="for whatever draws"),
            click.option("--json", "as_json", is_flag=True, help="one JSON object"),
            click.option("--strict", is_flag=True, help="exit 1 when something can hurt or goes dark"),
        )
    ):
        command = option(command)
    return command


def writing(command: F) -> F:
    """Options of every verb that writes entries."""
    for option in reversed(
        (
            click.option("--author", metavar="ROLE", default=None, help="who writes; a role, no name is needed"),
            click.option("--today", metavar="DAY", help="take this as today"),
            click.option("--json", "as_json", is_flag=True, help="one JSON object"),
        )
    ):
        command = option(command)
    return command


def today(text: str | None) -> str:
    """The day asked for, or the machine's own."""
    return api.day(text) if text else dt.date.today().isoformat()


def request(*, tags: tuple[str, ...] = (), **options: Any) -> Request:
    """The request from a verb's options."""
    return Request(
        today=today(options.get("today")),
        tags=tags,
        as_of=options.get("as_of"),
        known_by=options.get("known_by"),
        seed=options.get("seed", 1),
    )


class Hand(TypedDict):
    """Who writes, on which device, and what its clock says."""

    author: str
    device: str
    wrote: str


def hand(author: str | None) -> Hand:
    """The hand that writes now."""
    who = author or os.environ.get("PULLSTRING_AUTHOR") or _user()
    return {
        "author": who,
        "device": os.environ.get("PULLSTRING_DEVICE") or f"{who}@{_device()}",
        "wrote": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
    }


def _device() -> str:
    return re.sub(r"[^\w.-]+", "-", platform.node()) or "laptop"


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "technician"


def as_json_text(answer: Answer) -> str:
    """The documented JSON object of an answer: sorted keys, two spaces, one line feed at the end."""
    return json.dumps(plain(answer), sort_keys=True, indent=2, ensure_ascii=False) + "\n"


def give(answer: Answer, *, as_json: bool, strict: bool = False, whole: bool = False) -> int:
    """Print an answer and return its exit code."""
    if as_json:
        click.echo(as_json_text(answer), nl=False)
    else:
        from pullstring.papers.terminal import text_page
        from pullstring.papers.words import page_of

        click.echo(
            text_page(
                page_of(answer, whole=whole), width=max(60, min(shutil.get_terminal_size((120, 40)).columns, 160))
            )
        )
    worst = api.worst(answer)
    bad = (worst is not None and worst <= 1) or answer.answer.get("verdict") in ("STOP", "ASK")
    return 1 if strict and bad else 0

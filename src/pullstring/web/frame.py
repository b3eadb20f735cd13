"""The frame around every page of the laptop: the list of sheets, the search, the title block."""

from __future__ import annotations

import dataclasses
import functools
import urllib.parse
from typing import Any

import jinja2
from starlette.requests import Request as Asked
from starlette.responses import HTMLResponse

from pullstring import api
from pullstring.papers.blocks import Page
from pullstring.papers.html import fragment
from pullstring.web.asked import Desk

SHEETS = (
    ("/", "site", "Site and problems"),
    ("/plan", "plan", "Plan"),
    ("/closet", "closet", "Closet"),
    ("/riser", "riser", "What hangs on what"),
    ("/ends", "ends", "Ends"),
    ("/outlets", "outlets", "Outlets"),
    ("/runs", "runs", "Runs"),
    ("/trace", "trace", "Which cable is which"),
    ("/power", "power", "Power"),
    ("/signal", "signal", "Signal"),
    ("/if-cut", "if-cut", "Before you cut"),
    ("/history", "history", "Who said what"),
    ("/inbox", "inbox", "To sort"),
    ("/draw", "draw", "Draw the house"),
    ("/phones", "phones", "Phones"),
)
"""Address, name and words of each page, in the order of the list."""


@dataclasses.dataclass(frozen=True)
class Stand:
    """Where a reader stands: the day and the knowledge that carry over from page to page."""

    as_of: str
    known_by: str

    def href(self, address: str) -> str:
        """An address within this stand."""
        kept = {name: value for name, value in dataclasses.asdict(self).items() if value}
        if not kept:
            return address
        return f"{address}{'&' if '?' in address else '?'}{urllib.parse.urlencode(kept)}"


@functools.cache
def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.PackageLoader("pullstring.web", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )


def stand_of(asked: Asked) -> Stand:
    """The stand that an address names."""
    return Stand(asked.query_params.get("as_of", "").strip(), asked.query_params.get("known_by", "").strip())


def link_in(stand: Stand) -> str:
    """Where a tag in a table leads; `{}` stands for it."""
    return stand.href("/find?q={}")


def shown(
    asked: Asked, desk: Desk, template: str, *, sheet: str, title: str, status: int = 200, **context: Any
) -> HTMLResponse:
    """A page in its frame."""
    stand = stand_of(asked)
    site = api.load(desk.path, desk.asked())
    waiting = sum(1 for j in site.of_kind("jotting") if not j.text("sorted") and j.text("state") != "removed")
    name = next((t.text("name") for t in site.of_kind("property")), "")
    text = (
        _environment()
        .get_template(template)
        .render(
            title=title,
            sheet=sheet,
            sheets=SHEETS,
            stand=stand,
            code=site.property_tag,
            name=name or site.property_tag,
            waiting=waiting,
            today=desk.asked().today,
            night=asked.cookies.get("print") == "night",
            query=asked.query_params.get("q", ""),
            **context,
        )
    )
    return HTMLResponse(text, status)


def blocks_of(asked: Asked, page: Page) -> Any:
    """The blocks of a page, its identifiers linked."""
    return fragment(page, link=link_in(stand_of(asked)))


def bare(asked: Asked, page: Page) -> HTMLResponse:
    """The blocks alone, for a panel on another page."""
    return HTMLResponse(_environment().get_template("bare.html").render(page=page, blocks=blocks_of(asked, page)))

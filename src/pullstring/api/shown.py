"""Drawings as the pages show them: each floor, the closet, what hangs on what; what laws must say is asked here once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import asked_for, load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.papers.ink import Inks


def every_floor(path: Path, request: Request) -> list[dict[str, Any]]:
    """All floors in their order, drawn or not."""
    site = load(path, request)
    kept = [f for f in site.of_kind("floor") if f.text("state") != "removed"]
    return [{"tag": f.ref.tag, "name": f.text("name")} for f in kept]


def drawn_floor(path: Path, request: Request, *, floor: str, scale: int, inks: Inks | None = None) -> str:
    """One floor as SVG; raises BadRequest for no such floor, NothingToDraw where nothing is noted."""
    from pullstring.papers.drawing import floor_svg
    from pullstring.papers.ink import DAY

    site = load(path, request)
    ref = asked_for(site, [floor], ["floor"])[0]
    return floor_svg(site, ref, scale=scale, as_of=request.as_of or request.today, inks=inks or DAY)


def drawn_closets(path: Path, request: Request) -> list[tuple[str, str]]:
    """Every board and rack as one stands before it: title and SVG."""
    return []


def drawn_riser(path: Path, request: Request) -> list[tuple[str, str]]:
    """What hangs on what: title and SVG."""
    return []

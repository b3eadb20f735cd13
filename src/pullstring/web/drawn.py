"""Drawings as pages: a floor with its layers, the closet as one stands before it, what hangs on what."""

from __future__ import annotations

from collections.abc import Callable

import markupsafe
from starlette.requests import Request as Asked
from starlette.responses import Response
from starlette.routing import Route

from pullstring import api
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.ink import BLACK_ONLY, DAY, Inks
from pullstring.web.asked import Desk
from pullstring.web.frame import shown

LAYERS = (
    ("walls", "walls"),
    ("rooms", "rooms"),
    ("openings", "doors and windows"),
    ("outlets", "outlets"),
    ("runs", "runs"),
    ("joints", "joints"),
    ("ends", "ends"),
    ("access-points", "access points"),
    ("protected", "do not touch"),
    ("names", "names"),
)
"""Layers of a floor that a page can hide, in the order of the list."""
SCALES = (50, 100, 200)
ON_SCREEN = 150  # ours: at this scale letters and symbols are large enough on a page that is not paper


def routes(desk: Desk) -> list[Route]:
    """Pages with drawings, and the drawings alone."""
    return [
        Route("/plan", _plan(desk)),
        Route("/closet", _closet(desk)),
        Route("/riser", _riser(desk)),
        Route("/floor/{tag:path}.svg", _floor(desk)),
    ]


def _inks(asked: Asked) -> Inks:
    return BLACK_ONLY if asked.query_params.get("inks") == "black" else DAY


def _scale(asked: Asked) -> int:
    wanted = asked.query_params.get("scale", "100")
    return int(wanted) if wanted in [str(s) for s in SCALES] else 100


def _floor(desk: Desk) -> Callable[[Asked], Response]:
    def drawing(asked: Asked) -> Response:
        made = api.drawn_floor(
            desk.path, desk.asked(asked), floor=asked.path_params["tag"], scale=_scale(asked), inks=_inks(asked)
        )
        return Response(made, media_type="image/svg+xml")

    return drawing


def _plan(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        request = desk.asked(asked)
        floors = api.every_floor(desk.path, request)
        wanted = asked.query_params.get("floor", "") or (floors[0]["tag"] if floors else "")
        svg, says = "", ""
        try:
            if wanted:
                svg = api.drawn_floor(desk.path, request, floor=wanted, scale=ON_SCREEN)
        except NothingToDraw as error:
            says = str(error)
        name = next((f["name"] for f in floors if f["tag"] == wanted), "")
        return shown(
            asked,
            desk,
            "plan.html",
            sheet="plan",
            title=f"Plan: {name or wanted}" if wanted else "Plan",
            footer="",
            floors=floors,
            floor=wanted,
            layers=LAYERS,
            svg=markupsafe.Markup(svg),
            says=says,
        )

    return page


def _closet(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        made = api.drawn_closets(desk.path, desk.asked(asked))
        return shown(asked, desk, "drawings.html", sheet="closet", title="Closet", footer="", drawings=_marked(made))

    return page


def _riser(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        made = api.drawn_riser(desk.path, desk.asked(asked))
        return shown(
            asked, desk, "drawings.html", sheet="riser", title="What hangs on what", footer="", drawings=_marked(made)
        )

    return page


def _marked(made: list[tuple[str, str]]) -> list[tuple[str, markupsafe.Markup]]:
    return [(title, markupsafe.Markup(svg)) for title, svg in made]

"""The page of signal: a floor in one band with its lines, the rooms in words, and what if an access point stood elsewhere."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import markupsafe
from starlette.requests import Request as Asked
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from pullstring import api
from pullstring.api.printing_signal import drawn_signal
from pullstring.model.answers import plain, silent
from pullstring.papers.blocks import Page
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.ink import BLACK_ONLY, DAY
from pullstring.papers.sentences_signal import PAGE
from pullstring.papers.words import page_of
from pullstring.papers.words_signal import as_read, first_lines
from pullstring.papers.words_signal_page import (
    entry_choices,
    moved_rows,
    moved_says,
    parts_of,
    room_rows,
    senders_on,
    tail_of,
    then_rows,
)
from pullstring.web.asked import Desk
from pullstring.web.drawn import ON_SCREEN, SCALES
from pullstring.web.frame import blocks_of, shown

FARTHEST_M = 2000.0  # ours: nobody drags an access point farther


def routes(desk: Desk) -> list[Route]:
    """Pages of signal, and what a dragged access point asks."""
    return [
        Route("/signal", _signal(desk)),
        Route("/signal/sheet.pdf", _sheet(desk)),
        Route("/signal/{floor:path}.svg", _drawing(desk)),
        Route("/api/signal.json", _json(desk)),
        Route("/api/signal/moved.json", _moved(desk)),
    ]


def _signal(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        request, query = desk.asked(asked), asked.query_params
        answer = api.signal(desk.path, request)
        said = answer.answer
        floors = api.every_floor(desk.path, request)
        floor, band = _chosen(asked, floors, said)
        made = page_of(answer, whole=True)
        read, rest = parts_of(said)
        moved, then, says = _asked_move(desk, asked, said, floor, band)
        return shown(
            asked,
            desk,
            "signal.html",
            sheet="signal",
            title=made.title,
            footer=made.footer,
            floors=floors,
            floor=floor,
            bands=said["bands"],
            band=band,
            edge=said["edge_dbm"].get(band),
            lines=first_lines(said) if said["rooms"] else [],
            as_read=as_read(said),
            svg=_svg(desk, asked, said, floor, band),
            no_drawing=PAGE["no drawing" if said["bands"] else "no sender"],
            rooms=room_rows(said, band=band, floor=floor),
            senders=senders_on(said, floor),
            moved=moved,
            then=then,
            says=says,
            words=PAGE,
            now=not (query.get("as_of") or query.get("known_by")),
            author=desk.author,
            **entry_choices(said, floor),
            read=blocks_of(asked, Page("", tuple(read))),
            rest=blocks_of(asked, Page("", tuple(rest))),
            tail=blocks_of(asked, Page("", tail_of(made.blocks, answer))),
        )

    return page


def _chosen(asked: Asked, floors: list[dict[str, Any]], said: Any) -> tuple[str, str]:
    """The floor and band that an address names; else the first floor with an access point, and 5 GHz where there is that."""
    wanted, band = asked.query_params.get("floor", "").strip(), asked.query_params.get("band", "").strip()
    tags = [f["tag"] for f in floors]
    with_sender = [t for t in tags if any(s["floor"] == t for s in said["senders"])]
    first = (with_sender or tags or [""])[0]
    bands = said["bands"]
    usual = "5 GHz" if "5 GHz" in bands else (bands or [""])[0]
    return wanted if wanted in tags else first, band if band in bands else usual


def _svg(desk: Desk, asked: Asked, said: Any, floor: str, band: str) -> markupsafe.Markup | str:
    if not floor or not band:
        return ""
    try:
        drawing = drawn_signal(desk.path, desk.asked(asked), said, floor=floor, band=band, scale=ON_SCREEN)
    except (NothingToDraw, api.BadRequest):
        return ""
    return markupsafe.Markup(drawing)


def _asked_move(
    desk: Desk, asked: Asked, said: Any, floor: str, band: str
) -> tuple[dict[str, str], dict[str, Any], str]:
    """What a form without a script asks: the access point, its new place, and the rooms then."""
    query = asked.query_params
    moved = {name: query.get(name, "").strip() for name in ("sender", "x", "y")}
    if not all(moved.values()):
        return {"sender": "", "x": "", "y": ""}, {}, ""
    after = _move(desk, asked, floor)
    return moved, moved_rows(said, after, band=band), moved_says(said, after, band=band, **moved)


def _move(desk: Desk, asked: Asked, floor: str) -> Any:
    query = asked.query_params
    x_m, y_m = (_metres(query.get(name, ""), name) for name in ("x", "y"))
    answer = api.signal_moved(
        desk.path, desk.asked(asked), sender=query.get("sender", "").strip(), x_m=x_m, y_m=y_m, floor=floor
    )
    return answer.answer


def _metres(text: str, name: str) -> float:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = float("nan")
    if not abs(value) <= FARTHEST_M:
        raise api.BadRequest([f"{name}: {text[:20]!r} is no length in metres; write a number such as 3.5"])
    return value


def _moved(desk: Desk) -> Callable[[Asked], Response]:
    def answer(asked: Asked) -> Response:
        return JSONResponse({"rooms": then_rows(_move(desk, asked, asked.query_params.get("floor", "").strip()))})

    return answer


def _json(desk: Desk) -> Callable[[Asked], Response]:
    def answer(asked: Asked) -> Response:
        made = plain(api.signal(desk.path, desk.asked(asked)))
        text = json.dumps(made, sort_keys=True, indent=2, ensure_ascii=False)
        return Response(text + "\n", media_type="application/json")

    return answer


def _drawing(desk: Desk) -> Callable[[Asked], Response]:
    """The drawing alone, at a scale of paper."""

    def drawing(asked: Asked) -> Response:
        query = asked.query_params
        said = api.signal(desk.path, desk.asked(asked)).answer
        scale = int(query["scale"]) if query.get("scale") in [str(s) for s in SCALES] else 100
        made = drawn_signal(
            desk.path,
            desk.asked(asked),
            said,
            floor=asked.path_params["floor"],
            band=query.get("band", "5 GHz"),
            scale=scale,
            inks=BLACK_ONLY if query.get("inks") == "black" else DAY,
        )
        return Response(made, media_type="image/svg+xml")

    return drawing


def _sheet(desk: Desk) -> Callable[[Asked], Response]:
    """All floors and bands on paper, made when it is asked for."""

    def paper(asked: Asked) -> Response:
        from pullstring.api.printing import Wanted, papers_of

        made, _ = papers_of(desk.path, desk.asked(asked), Wanted(only=("signal",)), progress=silent)
        whole = next((p for p in made if p.name.endswith(".pdf")), None)
        if whole is None:
            return RedirectResponse("/signal", 303)
        headers = {"Content-Disposition": f'inline; filename="{whole.name}"'}
        return Response(whole.data, media_type="application/pdf", headers=headers)

    return paper

"""The pages of tracing: what to do next, how every outlet stands and why, what could be accepted, codes for one walk."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import markupsafe
from starlette.requests import Request as Asked
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pullstring import api
from pullstring.model.answers import Answer, silent
from pullstring.papers.blocks import Block, Page
from pullstring.papers.drawing import NothingToDraw
from pullstring.papers.walk_on_floor import shown_on, stops_of, with_stops
from pullstring.papers.words import page_of
from pullstring.papers.words_trace_page import (
    act_and_rest,
    outlet_row,
    parts_of,
    proposed_rows,
    repeat_rows,
    weighed_row,
)
from pullstring.web.asked import Desk
from pullstring.web.drawn import ON_SCREEN
from pullstring.web.frame import blocks_of, shown

MOST_PAIRS, MOST_WIRES = 8, 100


def routes(desk: Desk) -> list[Route]:
    """Pages of tracing; what they send is kept by `writing`."""
    return [
        Route("/trace", _trace(desk)),
        Route("/trace/why", _why(desk)),
        Route("/trace/codes", _codes(desk)),
        Route("/trace/walk.pdf", _sheet(desk)),
        Route("/api/trace/next.json", _next(desk)),
    ]


def _trace(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        tags = tuple(t for t in asked.query_params.getlist("tags") if t.strip())
        answer = api.trace(desk.path, desk.asked(asked, tags=tags))
        made = page_of(answer)
        first, rest = parts_of(made.blocks)
        said = answer.answer
        return shown(
            asked,
            desk,
            "trace.html",
            sheet="trace",
            title=made.title,
            footer=made.footer,
            tags=tags,
            first=_blocks(asked, made, first),
            rest=_blocks(asked, made, rest),
            outlets=[outlet_row(o) for o in said["outlets"]],
            proposed=proposed_rows(said["proposed"]),
            repeat=repeat_rows(said["repeat"]),
            waiting_rows=_answered_rows(desk, asked),
            author=desk.author,
            now=not tags and not asked.query_params.get("as_of"),
            **_walk(desk, asked),
        )

    return page


def _blocks(asked: Asked, page: Page, blocks: list[Block]) -> Any:
    return blocks_of(asked, Page(page.title, tuple(blocks)))


def _walk(desk: Desk, asked: Asked) -> dict[str, Any]:
    """The next act and its walk in words, with the floors on which it goes."""
    at = asked.query_params.get("at", "").strip() or None
    answer = api.trace_next(desk.path, desk.asked(asked), at=at)
    said = answer.answer
    made = page_of(answer)
    act, beside = act_and_rest(made.blocks)
    stops = stops_of(said["walk"]["acts"] or ([said["act"]] if said["act"] else []))
    return {
        "next": _blocks(asked, made, act),
        "beside": _blocks(asked, made, beside) if beside else "",
        "floors": _drawings(desk, asked, stops),
        "at": at or "",
    }


def _drawings(desk: Desk, asked: Asked, stops: list[dict[str, Any]]) -> list[tuple[str, str, markupsafe.Markup]]:
    """Floors that the walk goes through, with its stops."""
    request = desk.asked(asked)
    found = []
    for floor in api.every_floor(desk.path, request):
        if not any(s["floor"] == floor["tag"] for s in stops):
            continue
        try:
            drawing = api.drawn_floor(desk.path, request, floor=floor["tag"], scale=ON_SCREEN)
        except NothingToDraw:
            continue
        if shown_on(drawing, stops):
            words = " ".join(w for w in (floor["tag"], floor["name"]) if w)
            found.append((floor["tag"], words, markupsafe.Markup(with_stops(drawing, stops))))
    return found


def _answered_rows(desk: Desk, asked: Asked) -> dict[str, Any]:
    """Rows that answers to acts of a walk would become: they name their thing wholly, so nobody need say what is meant."""
    waiting = [
        j
        for j in api.inbox(desk.path, desk.asked(asked)).answer["waiting"]
        if ":" in j["about"] and len(j["means"]) == 1 and j["what"] in ("reading", "tone")
    ]
    return {"count": len(waiting), "rows": [row for j in waiting for row in j["rows"]]}


def _why(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        answer = api.trace_why(desk.path, desk.asked(asked), why=asked.query_params.get("of", ""))
        made, said = page_of(answer), answer.answer
        first, _ = parts_of(made.blocks)
        return shown(
            asked,
            desk,
            "trace_why.html",
            sheet="trace",
            title=made.title,
            footer=made.footer,
            about=said["about"],
            first=_blocks(asked, made, first),
            table=_blocks(asked, made, [b for b in made.blocks if b not in first][:1] if said["goes"] else []),
            sides=[
                (words, [weighed_row(w) for w in said[side]])
                for side, words in (("for", "Speaks for it"), ("against", "Speaks against it"))
            ],
        )

    return page


def _codes(desk: Desk) -> Callable[[Asked], Response]:
    """Resistors for one walk, words for scrap plugs, or two trips with a continuity tester."""

    def page(asked: Asked) -> Response:
        query = asked.query_params
        tags = tuple(t for t in " ".join(query.getlist("tags")).split() if t)
        try:
            made = page_of(_asked_codes(desk, asked, tags))
            says: tuple[str, ...] = ()
        except api.BadRequest as error:
            made, says = Page("Codes for one walk", ()), error.faults
        return shown(
            asked,
            desk,
            "trace_codes.html",
            sheet="trace",
            title=made.title,
            footer=made.footer,
            blocks=_blocks(asked, made, list(made.blocks)),
            says=says,
            tags=tags,
            up_to=query.get("up_to", "2"),
            pairs=query.get("pairs", ""),
            wires=query.get("wires", ""),
        )

    return page


def _asked_codes(desk: Desk, asked: Asked, tags: tuple[str, ...]) -> Answer:
    query = asked.query_params
    if query.get("pairs"):
        return api.trace_words(desk.path, desk.asked(asked), pairs=_number(query["pairs"], "pairs", MOST_PAIRS))
    if query.get("wires"):
        return api.trace_two_trips(desk.path, desk.asked(asked), wires=_number(query["wires"], "wires", MOST_WIRES))
    up_to = _number(query.get("up_to") or "2", "in parallel", 3)
    return api.trace_codes(desk.path, desk.asked(asked, tags=tags), up_to=up_to)


def _number(text: str, what: str, most: int) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= most:
        raise api.BadRequest([f"{what}: {text[:20]!r} is not a whole number from 1 to {most}"])
    return int(text)


def _sheet(desk: Desk) -> Callable[[Asked], Response]:
    """The walk sheet, made when it is asked for."""

    def paper(asked: Asked) -> Response:
        from pullstring.api.printing import Wanted, papers_of

        made, _ = papers_of(desk.path, desk.asked(asked), Wanted(only=("walk",)), progress=silent)
        if not made:
            return RedirectResponse("/trace", 303)
        headers = {"Content-Disposition": f'inline; filename="{made[0].name}"'}
        return Response(made[0].data, media_type="application/pdf", headers=headers)

    return paper


def _next(desk: Desk) -> Callable[[Asked], Response]:
    import json

    from pullstring.model.answers import plain

    def answer(asked: Asked) -> Response:
        at = asked.query_params.get("at", "").strip() or None
        made = plain(api.trace_next(desk.path, desk.asked(asked), at=at))
        return Response(
            json.dumps(made, sort_keys=True, indent=2, ensure_ascii=False) + "\n", media_type="application/json"
        )

    return answer

"""The pages of the laptop. Each asks one verb and shows its words; the same words stand on the terminal and on paper."""

from __future__ import annotations

import json
from collections.abc import Callable

import segno
from starlette.requests import Request as Asked
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pullstring import api
from pullstring.model.answers import Answer, plain
from pullstring.papers.html import page_css
from pullstring.papers.words import page_of
from pullstring.web.asked import Desk
from pullstring.web.drawn import routes as drawn_routes
from pullstring.web.files import file, held
from pullstring.web.frame import bare, blocks_of, shown, stand_of
from pullstring.web.guard import House
from pullstring.web.pairing import Pairing
from pullstring.web.signal import routes as signal_routes
from pullstring.web.tracing import routes as tracing_routes

Asking = Callable[[Asked], Answer]
OWN_PAGES = ("site", "trace")
"""Verbs whose pages show more than the words of their answer."""


def routes(desk: Desk, pairing: Pairing, house: House) -> list[Route]:
    """All that is asked with GET."""
    verbs = _verbs(desk)
    made = [Route(f"/{name}", _page(desk, name, ask)) for name, ask in verbs.items() if name not in OWN_PAGES]
    made += [Route(f"/api/{name}.json", _json(ask)) for name, ask in verbs.items()]
    return [
        Route("/", _first(desk)),
        *made,
        *drawn_routes(desk),
        *tracing_routes(desk),
        *signal_routes(desk),
        Route("/thing", _thing(desk)),
        Route("/find", _find(desk)),
        Route("/inbox", _inbox(desk)),
        Route("/phones", _phones(desk, pairing, house)),
        Route("/photo/{sha256}", _photo(desk)),
        Route(
            "/api/shapes/{floor:path}.json",
            lambda asked: _plain(api.shapes(desk.path, desk.asked(asked), floor=asked.path_params["floor"])),
        ),
        Route("/api/floors.json", lambda asked: _plain(api.floors_of(desk.path, desk.asked(asked)))),
        Route("/draw", lambda asked: file(asked, "static", "draw.html")),
        Route("/pocket", lambda asked: file(asked, "pocket", "pocket.html")),
        Route("/pocket/{name}", lambda asked: file(asked, "pocket", asked.path_params["name"])),
        Route("/static/page.css", _style),
        Route("/static/{name}", lambda asked: file(asked, "static", asked.path_params["name"])),
        Route("/fonts/{name}", lambda asked: file(asked, "fonts", asked.path_params["name"])),
        Route("/favicon.ico", lambda asked: Response(status_code=204)),  # browsers ask unbidden; there is none
    ]


def _verbs(desk: Desk) -> dict[str, Asking]:
    """What each page asks, by its name."""

    def tags(asked: Asked) -> tuple[str, ...]:
        return tuple(t for t in asked.query_params.getlist("tags") if t.strip())

    def of(verb: Callable[..., Answer]) -> Asking:
        return lambda asked: verb(desk.path, desk.asked(asked, tags=tags(asked)))

    def runs(asked: Asked) -> Answer:
        wanted = tags(asked)
        # as on the terminal: all behind a run when it is named
        whole = bool(wanted) or asked.url.path.endswith(".json")
        return api.runs(desk.path, desk.asked(asked, tags=wanted), whole=whole)

    def history(asked: Asked) -> Answer:
        query = asked.query_params
        about, before = query.get("about", "").strip() or None, query.get("before", "").strip() or None
        return api.history(desk.path, desk.asked(asked), about=about, before=before)

    return {
        "site": of(api.site),
        "runs": runs,
        "power": of(api.power),
        "if-cut": of(api.if_cut),
        "trace": of(api.trace),
        "ends": of(api.ends),
        "outlets": of(api.outlets),
        "history": history,
    }


def _page(desk: Desk, name: str, ask: Asking) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        answer = ask(asked)
        made = page_of(answer)
        if asked.query_params.get("bare"):
            return bare(asked, made)
        template = {"if-cut": "if_cut.html", "history": "history.html"}.get(name, "page.html")
        return shown(
            asked,
            desk,
            template,
            sheet=name,
            title=made.title,
            blocks=blocks_of(asked, made),
            footer=made.footer,
            answer=answer.answer,
            tags=asked.query_params.getlist("tags"),
        )

    return page


def _json(ask: Asking) -> Callable[[Asked], Response]:
    def answer(asked: Asked) -> Response:
        text = json.dumps(plain(ask(asked)), sort_keys=True, indent=2, ensure_ascii=False)
        return Response(text + "\n", media_type="application/json")

    return answer


def _plain(value: object) -> Response:
    return Response(json.dumps(plain(value), ensure_ascii=False), media_type="application/json")


def _style(asked: Asked) -> Response:
    return Response(page_css(), media_type="text/css; charset=utf-8", headers={"Cache-Control": "no-cache"})


def _first(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        answer = api.site(desk.path, desk.asked(asked), listed=False)
        made = page_of(answer, whole=bool(asked.query_params.get("all")))
        return shown(
            asked, desk, "site.html", sheet="site", title=made.title, blocks=blocks_of(asked, made), footer=made.footer,
            more=len(answer.problems) > 5 and not asked.query_params.get("all"),
        )  # fmt: skip

    return page


def _thing(desk: Desk) -> Callable[[Asked], Response]:
    """One thing: why it is as it is, its photographs, and the ways on."""

    def page(asked: Asked) -> Response:
        answer = api.site(desk.path, desk.asked(asked), why=asked.query_params.get("ref", ""))
        made = page_of(answer)
        if asked.query_params.get("bare"):
            return bare(asked, made)
        return shown(
            asked, desk, "thing.html", sheet="", title=made.title, blocks=blocks_of(asked, made), footer=made.footer,
            ref=answer.answer["thing"], photos=api.photos_of_thing(desk.path, desk.asked(asked), answer.answer["thing"]),
        )  # fmt: skip

    return page


def _find(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        answer = api.find(desk.path, desk.asked(asked), word=asked.query_params.get("q", "")[:200])
        found = answer.answer["found"]
        if len(found) == 1:
            stand = stand_of(asked)
            return RedirectResponse(stand.href(f"/thing?ref={_quoted(found[0]['ref'])}"), 303)
        made = page_of(answer)
        return shown(
            asked, desk, "found.html", sheet="", title=made.title, blocks=blocks_of(asked, made), footer=made.footer,
            found=found,
        )  # fmt: skip

    return page


def _quoted(text: str) -> str:
    import urllib.parse

    return urllib.parse.quote(text, safe="")


def _inbox(desk: Desk) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        meant = {
            name.removeprefix("meant."): said for name, said in asked.query_params.items() if name.startswith("meant.")
        }
        answer = api.inbox(desk.path, desk.asked(asked), meant=meant)
        made = page_of(answer)
        from pullstring.papers.words_pages import jotted

        return shown(
            asked, desk, "inbox.html", sheet="inbox", title=made.title, footer=made.footer,
            jottings=[{**j, "says": jotted(j)} for j in answer.answer["waiting"]], author=desk.author,
        )  # fmt: skip

    return page


def _phones(desk: Desk, pairing: Pairing, house: House) -> Callable[[Asked], Response]:
    def page(asked: Asked) -> Response:
        code = pairing.code() if house.phones else ""
        lan = sorted(h for h in house.hosts if not h.startswith(("127.", "localhost", "[::1]")))
        links = [f"http://{host}/pocket?code={code}" for host in lan] if code else []
        return shown(
            asked, desk, "phones.html", sheet="phones", title="Phones", pair_code=code, footer="",
            links=[(link, segno.make(link, error="m").svg_inline(scale=4)) for link in links],
            phones=[p for p in api.phones(desk.path)],
        )  # fmt: skip

    return page


def _photo(desk: Desk) -> Callable[[Asked], Response]:
    def picture(asked: Asked) -> Response:
        data, media_type = api.photo(desk.path, asked.path_params["sha256"])
        return Response(data, media_type=media_type)  # never kept by the browser: it may be destroyed on request

    return picture


__all__ = ["held", "routes"]

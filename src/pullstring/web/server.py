"""The first page and the floors of one site in the browser: loopback only, GET only, the record opened anew per request.

The host a browser names is checked, so that no page of the open internet can read the site through a borrowed name.
"""

from __future__ import annotations

import json
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.datastructures import MutableHeaders
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request as Asked
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullstring import api
from pullstring.model.answers import Request, plain
from pullstring.model.refs import BadName, Ref
from pullstring.papers.drawing import NothingToDraw, floor_svg
from pullstring.papers.html import html_page
from pullstring.papers.words import page_of

LOOPBACK = "127.0.0.1"
POLICY = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src 'self' data:"
HEADERS = {"Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store"}
HTTP_PORT = 80
"""The port that browsers leave out of the host (RFC 9110, section 4.2.1)."""


class PortTaken(ValueError):
    """Something else listens on the port already."""


class _OnlyHere:
    """Refuses a host name that is not this machine's own and all that is not GET; every answer gets our headers."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app, self.hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        await (self._refusal(Asked(scope)) or self.app)(scope, receive, with_headers)

    def _refusal(self, asked: Asked) -> Response | None:
        if asked.headers.get("host", "").lower() not in self.hosts:
            return PlainTextResponse("this page is for this machine only; open it by 127.0.0.1\n", 400)
        if asked.method != "GET":
            return PlainTextResponse("these pages are for reading only; ask with GET\n", 405, {"Allow": "GET"})
        return None


def application(path: Path, request: Request, *, port: int) -> Starlette:
    """The pages of one site as an application; see `serve`."""

    def first(asked: Asked) -> Response:
        page = page_of(api.sheet(path, request))
        return HTMLResponse(html_page(page, night=asked.query_params.get("print") == "night"))

    def answer(_: Asked) -> Response:
        text = json.dumps(plain(api.sheet(path, request)), sort_keys=True, indent=2, ensure_ascii=False)
        return Response(text + "\n", media_type="application/json")

    def floor(asked: Asked) -> Response:
        tag = asked.path_params["tag"]
        try:
            svg = floor_svg(api.load(path, request), Ref("floor", tag), as_of=request.as_of or request.today)
        except (BadName, NothingToDraw) as error:
            raise HTTPException(404, f"there is no floor {tag!r} to draw") from error
        return Response(svg, media_type="image/svg+xml")

    def icon(_: Asked) -> Response:
        return Response(status_code=204)  # browsers ask unbidden; there is none, and that is no fault

    def broken(_: Asked, error: Exception) -> Response:
        return PlainTextResponse(f"{error}\n", 500)

    names = (LOOPBACK, "localhost", "[::1]")
    hosts = frozenset([*(f"{name}:{port}" for name in names), *(names if port == HTTP_PORT else ())])
    return Starlette(
        routes=[
            Route("/", first),
            Route("/answer.json", answer),
            Route("/floor/{tag}.svg", floor),
            Route("/favicon.ico", icon),
        ],
        middleware=[Middleware(_OnlyHere, hosts=hosts)],
        exception_handlers={ValueError: broken},
    )


def serve(path: Path, request: Request, *, port: int, ready: Callable[[str], None] | None = None) -> None:
    """Show a site until somebody ends it; raises PortTaken when the port is not free.

    Parameters
    ----------
    path : Path
        The site file.
    request : Request
        What every page is asked with.
    port : int
        Where to listen; 0 takes a free one.
    ready : callable or None
        Called with the address of the first page once the port is ours.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
        listener.listen()
    except (OSError, OverflowError) as error:
        listener.close()
        raise PortTaken(f"port {port} cannot be used ({error}); name another one with --port") from error
    ours = listener.getsockname()[1]
    pages = application(path, request, port=ours)
    server = uvicorn.Server(uvicorn.Config(pages, log_level="warning", access_log=False))
    with listener:
        if ready:
            ready(f"http://{LOOPBACK}:{ours}/")
        server.run(sockets=[listener])

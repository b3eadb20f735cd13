"""The first page and the floors of one site in the browser: loopback only, GET only, the record opened anew per request.

The host a browser names is checked, so that no page of the open internet can read the site through a borrowed name.
"""

from __future__ import annotations

import json
import socket
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request as Asked
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from pullstring import api
from pullstring.model.answers import Request, plain
from pullstring.model.refs import BadName, Ref
from pullstring.papers.drawing import NothingToDraw, floor_svg
from pullstring.papers.html import html_page
from pullstring.papers.words import page_of

LOOPBACK = "127.0.0.1"
POLICY = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src 'self' data:"


class PortTaken(ValueError):
    """Something else listens on the port already."""


class _OnlyHere:
    """Refuses a host name that is not this machine's own, and adds the page's policy."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app, self.hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and Asked(scope).headers.get("host", "") not in self.hosts:
            refused = PlainTextResponse("this page is for this machine only; open it by 127.0.0.1\n", 400)
            await refused(scope, receive, send)
            return
        await self.app(scope, receive, send)


def application(path: Path, request: Request, *, port: int) -> Starlette:
    """The pages of one site as an application; see `serve`."""

    def first(asked: Asked) -> Response:
        page = page_of(api.sheet(path, request))
        return _safe(HTMLResponse(html_page(page, night=asked.query_params.get("print") == "night")))

    def answer(_: Asked) -> Response:
        text = json.dumps(plain(api.sheet(path, request)), sort_keys=True, indent=2, ensure_ascii=False)
        return _safe(Response(text + "\n", media_type="application/json"))

    def floor(asked: Asked) -> Response:
        tag = asked.path_params["tag"]
        try:
            svg = floor_svg(api.load(path, request), Ref("floor", tag), as_of=request.as_of or request.today)
        except (BadName, NothingToDraw) as error:
            raise HTTPException(404, f"there is no floor {tag!r} to draw") from error
        return _safe(Response(svg, media_type="image/svg+xml"))

    def broken(_: Asked, error: Exception) -> Response:
        return PlainTextResponse(f"{error}\n", 500)

    hosts = frozenset(f"{name}:{port}" for name in (LOOPBACK, "localhost", "[::1]"))
    return Starlette(
        routes=[Route("/", first), Route("/answer.json", answer), Route("/floor/{tag}.svg", floor)],
        middleware=[Middleware(_OnlyHere, hosts=hosts)],
        exception_handlers={ValueError: broken},
    )


def _safe(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "no-store"
    return response


def serve(path: Path, request: Request, *, port: int) -> None:
    """Show a site until somebody ends it; raises PortTaken when the port is not free."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise PortTaken(f"port {port} cannot be used ({error}); name another one with --port") from error
    server = uvicorn.Server(
        uvicorn.Config(
            application(path, request, port=listener.getsockname()[1]), log_level="warning", access_log=False
        )
    )
    server.run(sockets=[listener])

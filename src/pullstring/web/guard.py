"""Who may ask what: the host named, the origin, the size of a body, and the right of a phone; every answer gets our headers.

A page of the open internet that a browser of this laptop shows can send requests to any address. It cannot make that
browser name another host or origin than its own, so both are compared with ours (RFC 9110, section 7.2; RFC 6454, section 7).
What comes from another machine than this one is a phone: it sees the pocket page only and writes with its token.
"""

from __future__ import annotations

import dataclasses
import ipaddress

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "font-src 'self'",
        "img-src 'self' data: blob:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
MOST_JSON = 2_000_000  # ours: bytes of a body of words
MOST_PICTURE = 12_000_000  # ours: bytes of a photograph
OPEN_TO_PHONES = ("/pocket", "/fonts/", "/static/ink.css", "/favicon.ico")
FOR_PHONES = ("/api/pair", "/api/pocket", "/api/entries", "/api/photos/")
FOREIGN = ("cross-site", "same-site")
"""What a browser says of a request that a page of another origin made (Fetch Metadata Request Headers, section 2.4)."""
READING = ("GET", "HEAD")
WRITING = ("POST", "PUT")


@dataclasses.dataclass(frozen=True)
class House:
    """What the guard knows: the hosts by which we may be called here and from the network, and whether phones are let in.

    A name of this machine may be answered by anybody in a network, so it opens nothing to who comes from here.
    """

    hosts: frozenset[str]
    phones: bool
    here: frozenset[str]


class TooLarge(Exception):
    """A body is longer than it may be."""


class Guard:
    """Refuses what may not ask, before anything of it is read."""

    def __init__(self, app: ASGIApp, house: House) -> None:
        self.app, self.house = app, house

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(HEADERS)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        await self.app(scope, _counted(receive, _most(scope)), with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        headers, method, path = Headers(scope=scope), scope["method"], scope["path"]
        host = headers.get("host", "").lower()
        if host not in (self.house.here if is_here(scope) else self.house.hosts) or len(headers.getlist("host")) > 1:
            return _no(400, "this page answers only to its own address; open it by 127.0.0.1")
        if method not in (*READING, *WRITING):
            return _no(405, f"{method[:20]} is not done here; pages are asked with GET and written to with POST")
        if headers.get("sec-fetch-site", "none") in FOREIGN and headers.get("sec-fetch-dest", "") != "document":
            return _no(403, "this was asked by another page than ours; open it by its own address")
        if not is_here(scope) and (says := self._of_phones(method, path)):
            return _no(403, says)
        if method in WRITING:
            if [o.lower() for o in headers.getlist("origin")] != [f"http://{host}"]:
                return _no(403, "this was sent from another page than ours; nothing was written")
            length = headers.get("content-length", "")
            if length and (not length.isdecimal() or int(length) > _most(scope)):
                return _no(413, f"this is longer than {_most(scope)} bytes; nothing was written")
        return None

    def _of_phones(self, method: str, path: str) -> str:
        if not self.house.phones:
            return "this is for this machine only; start it with --phones to let phones in"
        if method in READING and path.startswith(OPEN_TO_PHONES):
            return ""
        if path.startswith(FOR_PHONES):
            return ""
        return "this page is for the laptop; on a phone open /pocket"


def is_here(scope: Scope) -> bool:
    """Whether a request comes from this machine itself."""
    client = scope.get("client")
    try:
        return client is not None and ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _most(scope: Scope) -> int:
    return MOST_PICTURE if scope["path"].startswith("/api/photos/") else MOST_JSON


def _no(status: int, says: str) -> Response:
    return JSONResponse({"error": says}, status)


def _counted(receive: Receive, most: int) -> Receive:
    """A body without a length, or with a false one, is counted as it comes."""
    seen = 0

    async def counting() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise TooLarge(f"this is longer than {most} bytes; nothing was written")
        return message

    return counting

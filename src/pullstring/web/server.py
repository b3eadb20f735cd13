"""The pages of one site for the laptop, and the pocket page for phones; the record is opened anew for each request.

Loopback only, unless phones are let in. What may be asked by whom stands in `guard`, what is kept in `writing`.
"""

from __future__ import annotations

import contextlib
import dataclasses
import getpass
import importlib
import platform
import re
import socket
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request as Asked
from starlette.responses import JSONResponse, Response

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.when import BadDate
from pullstring.papers.drawing import NothingToDraw
from pullstring.web import pages, writing
from pullstring.web.asked import Desk
from pullstring.web.frame import shown
from pullstring.web.guard import HEADERS, POLICY, Guard, House, TooLarge, is_here
from pullstring.web.pairing import Pairing

__all__ = ["POLICY", "PortTaken", "application", "serve"]

LOOPBACK = "127.0.0.1"
HTTP_PORT = 80
"""The port that browsers leave out of the host (RFC 9110, section 4.2.1)."""


class PortTaken(ValueError):
    """Something else listens on the port already."""


def application(
    path: Path,
    request: Request,
    *,
    port: int,
    author: str = "",
    fixed_day: bool = True,
    addresses: tuple[str, ...] = (),
    pairing: Pairing | None = None,
) -> Starlette:
    """The pages of one site as an application; see `serve`."""
    who = author or _user()
    machine = re.sub(r"[^\w.-]+", "-", platform.node()) or "laptop"
    device = f"{who}@{machine}"
    desk = Desk(path, request, who, device, fixed_day)
    here = _with_port((LOOPBACK, "localhost", "[::1]"), port)
    house = House(here | _with_port([a.lower() for a in addresses], port), phones=bool(addresses), here=here)
    kept = pairing or Pairing()

    def refused(asked: Asked, error: Exception) -> Response:
        says = _plainly(asked, path, str(error))
        return _told(asked, desk, 404 if isinstance(error, api.BadRequest | NothingToDraw | BadDate) else 500, says)

    def missing(asked: Asked, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        says = {404: "there is no such page here", 405: "this is not asked so"}.get(status, "this cannot be answered")
        return _told(asked, desk, status, says)

    def too_large(_: Asked, error: Exception) -> Response:
        return JSONResponse({"error": str(error)}, 413)

    def broken(asked: Asked, error: Exception) -> Response:
        says = "something in the program is broken; nothing was half written. Ask another page, or start it anew"
        answer = _told(asked, desk, 500, says)
        answer.headers.update({**HEADERS, "Cache-Control": "no-store"})  # this one comes from outside of the guard
        return answer

    return Starlette(
        routes=[*writing.routes(desk, kept), *pages.routes(desk, kept, house)],
        middleware=[Middleware(Guard, house=house), Middleware(GZipMiddleware, minimum_size=1000, compresslevel=6)],
        exception_handlers={
            TooLarge: too_large,
            HTTPException: missing,
            ValueError: refused,
            OSError: refused,
            Exception: broken,
        },
    )


def _with_port(names: Sequence[str], port: int) -> frozenset[str]:
    """Hosts as a browser names them."""
    return frozenset([*(f"{name}:{port}" for name in names), *(names if port == HTTP_PORT else ())])


def _plainly(asked: Asked, path: Path, says: str) -> str:
    """A sentence without the place of the file, for whoever is not at the laptop."""
    return says if is_here(asked.scope) else says.replace(f"{path}: ", "").replace(str(path), "the record")


def _told(asked: Asked, desk: Desk, status: int, says: str) -> Response:
    """A refusal as a page for a reader, as JSON for a module."""
    wants_page = asked.method in ("GET", "HEAD") and "text/html" in asked.headers.get("accept", "")
    if wants_page and is_here(asked.scope) and not asked.query_params.get("bare"):
        try:
            return shown(
                asked,
                desk,
                "told.html",
                sheet="",
                title="Not to be had",
                status=status,
                says=says.split("\n"),
                footer="",
            )
        except Exception:
            return Response(f"{says}\n", status, media_type="text/plain")
    if asked.url.path.startswith("/api/"):
        return JSONResponse({"error": says.split("\n")[0], "faults": says.split("\n")}, status)
    return Response(f"{says}\n", status, media_type="text/plain")


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "technician"


@dataclasses.dataclass(frozen=True)
class Open:
    """Where the pages stand: the address on this machine, those for phones, and the code that pairs one."""

    address: str
    for_phones: tuple[str, ...]
    code: str


def lan_addresses() -> tuple[str, ...]:
    """Addresses of this machine in its own network, and its name; nothing is sent to find them."""
    found: list[str] = []
    name = platform.node().split(".")[0].lower()
    with contextlib.suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # TEST-NET-1 (RFC 5737): a datagram socket only chooses its own side
        found.append(probe.getsockname()[0])
    kept = [a for a in dict.fromkeys(found) if not a.startswith("127.")]
    return (*kept, *([f"{name}.local", name] if re.fullmatch(r"[a-z0-9-]+", name) else []))


def serve(
    path: Path,
    request: Request,
    *,
    port: int,
    ready: Callable[[Open], None] | None = None,
    phones: bool = False,
    author: str = "",
    fixed_day: bool = True,
) -> None:
    """Show a site until somebody ends it; raises PortTaken when the port is not free.

    Parameters
    ----------
    path : Path
        The site file.
    request : Request
        What every page is asked with; its day is that of the clock unless `fixed_day`.
    port : int
        Where to listen; 0 takes a free one.
    ready : callable or None
        Called with the addresses once the port is ours.
    phones : bool
        Listen to the network, so that phones reach the pocket page; else to this machine only.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if phones else LOOPBACK, port))
        listener.listen()
    except (OSError, OverflowError) as error:
        listener.close()
        raise PortTaken(f"port {port} cannot be used ({error}); name another one with --port") from error
    ours = listener.getsockname()[1]
    addresses, pairing = lan_addresses() if phones else (), Pairing()
    app = application(
        path, request, port=ours, author=author, fixed_day=fixed_day, addresses=addresses, pairing=pairing
    )
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,  # who asks is the peer of the connection, whatever a header says
    )
    server = uvicorn.Server(config)
    with listener:
        if ready:
            links = tuple(f"http://{a}:{ours}/pocket" for a in addresses)
            ready(Open(f"http://{LOOPBACK}:{ours}/", links, pairing.code() if phones else ""))
        threading.Thread(target=_warm, args=(path, request), daemon=True).start()
        server.run(sockets=[listener])


def _warm(path: Path, request: Request) -> None:
    """Load what the first pages need while nobody waits for it yet."""
    try:
        api.load(path, request)
        for part in ("shapely", "pullstring.papers.drawing", "pullstring.copper.estimated"):
            importlib.import_module(part)
    except Exception as error:
        print(f"a page may be slow or missing: {type(error).__name__}", file=sys.stderr)

"""Files that pages fetch: modules, styles and faces of the package, told apart by their hash so that none is stale."""

from __future__ import annotations

import functools
import hashlib
import re
from importlib import resources

from starlette.requests import Request as Asked
from starlette.responses import Response

from pullstring.papers.html import ink_css

TYPES = {
    "js": "text/javascript; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "html": "text/html; charset=utf-8",
    "woff2": "font/woff2",
    "svg": "image/svg+xml",
}
FOLDERS = {"static": ("web", "static"), "pocket": ("phone",), "fonts": ("papers", "fonts")}
_NAME = re.compile(r"[A-Za-z0-9_-]{1,60}\.[a-z0-9]{1,8}")
MOST_KEPT = 200  # ours: files kept in memory, with the names that are none


@functools.lru_cache(maxsize=MOST_KEPT)
def held(folder: str, name: str) -> tuple[bytes, str, str] | None:
    """Bytes, media type and tag of a packaged file; None when there is none of that name."""
    ending = name.rpartition(".")[2]
    if not _NAME.fullmatch(name) or ending not in TYPES:
        return None
    if (folder, name) == ("static", "ink.css"):
        data = ink_css().encode()
    else:
        place = resources.files("pullstring").joinpath(*FOLDERS[folder], name)
        if not place.is_file():
            return None
        data = place.read_bytes()
    return data, TYPES[ending], f'"{hashlib.sha256(data).hexdigest()[:20]}"'


def file(asked: Asked, folder: str, name: str) -> Response:
    """One packaged file; a browser that has it already is told so."""
    found = held(folder, name) if _NAME.fullmatch(name) else None
    if found is None:
        return Response("there is no such file here\n", 404, media_type="text/plain")
    data, media_type, tag = found
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if asked.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(data, media_type=media_type, headers=headers)

"""Who is let in: host, origin, method, length, the right of a phone. What is refused writes nothing and tells nothing."""

from __future__ import annotations

import hashlib
import http.client
import json
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from pullstring.web.guard import HEADERS, MOST_JSON, MOST_PICTURE, POLICY
from tests.journeys.sites import ASKED, make, packaged
from tests.web.served import Served, serving

KEY = "0123456789abcdef0123456789abcdef"
ROW = {"key": KEY, "author": "TEC", "rows": [{"table": "rooms", "cells": {"room": "X9", "name": "Loft"}, "new": True}]}


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("guard"), packaged("two_rooms"))


@pytest.fixture(scope="module")
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


def bytes_of(site: Path) -> str:
    return hashlib.sha256(site.read_bytes()).hexdigest()


FOREIGN_HOSTS = [
    "evil.test",
    "evil.test:{port}",
    "127.0.0.1:1",
    "localhost.evil.test:{port}",
    "",
    "127.0.0.1:{port}.evil.test",
    "[::1",
]
FOREIGN_ORIGINS = [
    None, "null", "http://evil.test", "https://127.0.0.1:{port}", "http://127.0.0.1:1", "http://localhost:{port}",
    "http://127.0.0.1:{port}.evil.test",
]  # fmt: skip


@pytest.mark.parametrize("host", FOREIGN_HOSTS)
def test_a_borrowed_name__is_refused(served: Served, host: str) -> None:
    """A page of the open internet whose name was pointed here names its own host, not ours."""
    status, headers, body = served.ask("/", headers={"Host": host.format(port=served.port)})
    assert status == 400
    assert b"Kiln" not in body
    assert headers["content-security-policy"] == POLICY


def test_host_names__know_no_case(served: Served) -> None:
    """RFC 9110, section 4.2.3."""
    assert served.ask("/", headers={"Host": f"LOCALHOST:{served.port}"})[0] == 200


@pytest.mark.parametrize("origin", FOREIGN_ORIGINS)
@pytest.mark.parametrize("path", ["/api/rows", "/api/strike", "/api/pair", "/api/unpair", "/api/entries"])
def test_another_origin__writes_nothing(site: Path, served: Served, path: str, origin: str | None) -> None:
    """RFC 6454, section 7: a browser names the origin of the page that sends; `localhost` and `127.0.0.1` are two origins."""
    before = bytes_of(site)
    headers = {"Content-Type": "application/json"}
    if origin is not None:
        headers["Origin"] = origin.format(port=served.port)
    status, _, body = served.ask(path, method="POST", body=json.dumps(ROW).encode(), headers=headers)
    assert (status, json.loads(body)["error"]) == (
        403,
        "this was sent from another page than ours; nothing was written",
    )
    assert bytes_of(site) == before


@pytest.mark.parametrize("method", ["DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "PROPFIND"])
def test_other_methods__are_not_done(served: Served, method: str) -> None:
    assert served.ask("/", method=method)[0] in (400, 405)


def test_every_answer__bears_the_headers(served: Served) -> None:
    for path in ("/", "/none", "/api/runs.json", "/static/ink.css", "/floor/Q9.svg", "/fonts/B612-Regular.woff2"):
        _, headers, _ = served.ask(path)
        assert {k: headers.get(k.lower()) for k in HEADERS} == HEADERS, path


def test_no_body__is_longer_than_it_may_be(site: Path, served: Served) -> None:
    before = bytes_of(site)
    origin = {"Origin": served.origin, "Content-Type": "application/json"}
    for path, most in (("/api/rows", MOST_JSON), (f"/api/photos/{'0' * 64}", MOST_PICTURE)):
        method = "PUT" if "photos" in path else "POST"
        told = {**origin, "Content-Length": str(most + 1)}
        assert served.ask(path, method=method, body=b"{}", headers=told)[0] == 413
        assert served.ask(path, method=method, body=b"{}", headers={**origin, "Content-Length": "-5"})[0] in (400, 413)
    assert sent_in_pieces(served, origin, MOST_JSON + 70_000) == 413
    assert bytes_of(site) == before


def sent_in_pieces(served: Served, headers: dict[str, str], size: int) -> int:
    """Status of a body without a length."""
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=60)
    try:
        pieces = (b" " * 65536 for _ in range(size // 65536 + 1))
        connection.request("POST", "/api/rows", body=pieces, headers=headers, encode_chunked=True)
        return connection.getresponse().status
    except (BrokenPipeError, ConnectionResetError):
        return 413
    finally:
        connection.close()


@pytest.mark.parametrize(
    "path",
    ["/static/../server.py", "/static/..%2fserver.py", "/static/%2e%2e/server.py", "/pocket/..%5c..%5cdemo", "/fonts/OFL.txt",
     "/static/ink.css%00.html", "/photo/../../etc/passwd", "/photo/" + "0" * 64,
     "/floor/..%2f..%2fetc%2fpasswd.svg", "//etc/passwd",
     "/static/__init__.py", "/static/", "/pocket/.", "/api/shapes/%00.json"],
)  # fmt: skip
def test_paths_that_climb__find_nothing(served: Served, path: str) -> None:
    status, _, body = served.ask(path)
    assert status in (400, 404)
    assert b"root:" not in body
    assert b"Traceback" not in body
    assert b"import" not in body


def test_a_stranger_in_the_network__sees_the_pocket_page_only(site: Path, served: Served) -> None:
    """Asked over an address of this machine that is not the loopback one; skipped where there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address = probe.getsockname()[0]
        except OSError:
            pytest.skip("this machine has no address but the loopback one")
    if address.startswith("127."):
        pytest.skip("this machine has no address but the loopback one")
    before = bytes_of(site)

    def ask(path: str, method: str = "GET") -> int:
        connection = http.client.HTTPConnection(address, served.port, timeout=30)
        host = f"{address}:{served.port}"
        connection.request(method, path, body=json.dumps(ROW) if method == "POST" else None,
                           headers={"Host": host, "Origin": f"http://{host}", "Content-Type": "application/json"})  # fmt: skip
        try:
            return connection.getresponse().status
        finally:
            connection.close()

    assert {p: ask(p) for p in ("/", "/plan", "/api/runs.json", "/photo/" + "0" * 64, "/phones", "/static/frame.js")} == {
        "/": 403, "/plan": 403, "/api/runs.json": 403, "/photo/" + "0" * 64: 403, "/phones": 403, "/static/frame.js": 403,
    }  # fmt: skip
    assert {p: ask(p, "POST") for p in ("/api/rows", "/api/strike", "/api/unpair")} == {
        "/api/rows": 403, "/api/strike": 403, "/api/unpair": 403,
    }  # fmt: skip
    assert ask("/api/entries", "POST") == 401
    assert ask("/api/pocket") == 401
    assert ask("/static/ink.css") == 200
    assert bytes_of(site) == before

"""A real server on a real record, in a process of its own, for tests that ask it as a browser or a phone would."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


class Served:
    """A running server: its port, what it said when it began, and how to ask it."""

    def __init__(self, process: subprocess.Popen[str], said: list[str]) -> None:
        self.process, self.said = process, said
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", " ".join(said))
        assert found, said
        self.port = int(found[1])

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def code(self) -> str:
        """The code that pairs a phone."""
        found = re.search(r"code for a phone: (\d+)", " ".join(self.said))
        assert found, self.said
        return found[1]

    def ask(
        self, path: str = "/", *, method: str = "GET", body: bytes | None = None, headers: dict[str, str] | None = None
    ) -> tuple[int, dict[str, str], bytes]:
        """Status, headers and body of one answer."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request(method, path, body=body, headers={"Host": f"127.0.0.1:{self.port}", **(headers or {})})
            answer = connection.getresponse()
            return answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()
        finally:
            connection.close()

    def text(self, path: str = "/", **headers: str) -> str:
        """A page that must be there."""
        status, _, body = self.ask(path, headers={"Accept": "text/html", **headers})
        assert status == 200, (path, status, body[:300])
        return body.decode()

    def post(self, path: str, body: Any, *, token: str = "", method: str = "POST") -> tuple[int, dict[str, Any]]:
        """Send JSON as our own page does."""
        headers = {"Origin": self.origin, "Content-Type": "application/json"}
        if token:
            headers["Authorization"] = f"Bearer {token}"
        status, _, said = self.ask(path, method=method, body=json.dumps(body).encode(), headers=headers)
        return status, json.loads(said)


@contextlib.contextmanager
def serving(site: Path, *options: str, port: int = 0) -> Iterator[Served]:
    """Serve a site until the block ends."""
    process = subprocess.Popen(
        [sys.executable, "-m", "pullstring", "serve", str(site), "--port", str(port), *options],
        stderr=subprocess.PIPE,
        text=True,
        env=dict(os.environ),
    )
    said: list[str] = []
    try:
        assert process.stderr is not None
        while True:
            line = process.stderr.readline()
            if not line:
                raise AssertionError(f"the server ended: {said}")
            said.append(line.strip())
            last = "code for a phone" if "--phones" in options else "Ctrl-C"
            if last in line:
                break
        yield Served(process, said)
    finally:
        process.terminate()
        process.wait(20)
        if process.stderr:
            process.stderr.close()

"""A phone in a test: Chromium at its size and by touch, under a plain http name as on site, behind a line that can be bad."""

from __future__ import annotations

import contextlib
import io
import json
import platform
import random
import re
import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.log.store import open_store
from pullstring.web.server import lan_addresses
from tests.web.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

SIZE = {"width": 390, "height": 844}
LAN = next((a for a in lan_addresses() if re.fullmatch(r"[\d.]+", a)), "127.0.0.1")
"""Where the laptop meets its phones; a machine without any network has only itself."""
HOST = f"{platform.node().split('.')[0].lower()}.local" if LAN != "127.0.0.1" else LAN
"""The name of this machine in its own network: over plain http it is no secure context, as on a real phone."""


class Line:
    """What lies between phone and laptop: passes, loses answers after the laptop has done its work, is dead, or a hotel's."""

    def __init__(self) -> None:
        self.target = 0
        self.mode = "pass"
        self.lose = 0  # answers to sendings of entries still to be lost
        self.lost = 0
        self.heard: list[str] = []  # every request line, in order
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._door.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def count(self, beginning: str) -> int:
        """How often something was asked."""
        return sum(asked.startswith(beginning) for asked in self.heard)

    def _listen(self) -> None:
        while True:
            with contextlib.suppress(OSError):
                phone, _ = self._door.accept()
                threading.Thread(target=self._serve, args=(phone,), daemon=True).start()

    def _serve(self, phone: socket.socket) -> None:
        """One request a connection: the phone is told to close, so that each meets the line as it is then."""
        with phone, contextlib.suppress(OSError):
            asked = _message(phone)
            if not asked:
                return
            self.heard.append(asked.partition(b" HTTP/")[0].decode())
            if self.mode == "dead":
                return
            if self.mode == "hotel":
                page = b"<!doctype html><p>Welcome, guest. Your room number, please."
                phone.sendall(
                    b"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: %d\r\n\r\n" % len(page) + page
                )
                return
            with socket.create_connection((LAN, self.target), timeout=30) as laptop:
                head, _, body = asked.partition(b"\r\n\r\n")
                laptop.sendall(
                    re.sub(rb"(?i)\r\nconnection:[^\r]*", b"", head) + b"\r\nConnection: close\r\n\r\n" + body
                )
                said = b"".join(iter(lambda: laptop.recv(65536), b""))
            if asked.startswith(b"POST /api/entries") and self.lose > 0:
                self.lose -= 1
                self.lost += 1
                return
            phone.sendall(said)


def _message(phone: socket.socket) -> bytes:
    """One request, whole."""
    data = b""
    while b"\r\n\r\n" not in data:
        more = phone.recv(65536)
        if not more:
            return b""
        data += more
    head, _, body = data.partition(b"\r\n\r\n")
    found = re.search(rb"(?i)\r\ncontent-length: *(\d+)", head)
    while found and len(body) < int(found[1]):
        body += phone.recv(65536)
    return head + b"\r\n\r\n" + body


@contextlib.contextmanager
def phone(browser: Browser, **options: Any) -> Iterator[BrowserContext]:
    """One phone: its storage is its own."""
    said = {"viewport": SIZE, "has_touch": True, "is_mobile": True, "timezone_id": "Europe/Vienna", **options}
    context = browser.new_context(**said)
    context.set_default_timeout(20_000)
    try:
        yield context
    finally:
        context.close()


def address(served: Served, query: str = "") -> str:
    return f"http://{HOST}:{served.port}/pocket{query}"


def next_code(served: Served) -> str:
    """The code that the laptop's own page shows now."""
    found = re.search(r">\s*(\d{3}) (\d{3})\s*<", served.text("/phones"))
    assert found
    return found[1] + found[2]


def open_pocket(context: BrowserContext, served: Served, *, code: str = "") -> Page:
    """The pocket page in a new tab; with a code it pairs."""
    page = context.new_page()
    page.on("dialog", lambda dialog: dialog.accept())  # "leave the page?" is answered with yes
    page.goto(address(served, f"?code={code}" if code else ""))
    page.wait_for_selector("#acts button")
    if code:
        words_in(page, "#site-name", "Kiln Cottage")
    return page


def paired(context: BrowserContext, served: Served) -> Page:
    return open_pocket(context, served, code=next_code(served))


def words_in(page: Page, where: str, words: str, *, seconds: float = 20) -> None:
    """Wait until an element says words."""
    page.wait_for_function(
        "([where, words]) => document.querySelector(where)?.textContent.includes(words)",
        arg=[where, words],
        timeout=1000 * seconds,
    )


def all_in_record(page: Page, *, seconds: float = 45) -> None:
    words_in(page, "#waiting-words", "all in the record", seconds=seconds)


def act(page: Page, word: str) -> None:
    page.get_by_role("button", name=re.compile(f"^{word}(, begun)?$")).tap()


def double_tap(page: Page, name: str) -> None:
    """Two taps on one spot, faster than a page may change under the thumb."""
    spot = page.get_by_role("button", name=name, exact=True).bounding_box()
    assert spot is not None
    for _ in range(2):
        page.touchscreen.tap(spot["x"] + 30, spot["y"] + 20)
        page.wait_for_timeout(120)


def note(page: Page, words: str, *, about: str = "") -> None:
    act(page, "Note")
    if about:
        page.fill("[name=about]", about)
    page.fill("[name=words]", words)
    keep(page)


def keep(page: Page) -> None:
    """Keep, and see that it is kept: on this phone at least."""
    page.get_by_role("button", name="Keep", exact=True).tap()
    page.wait_for_selector("[data-act=tag]")


def picture(seed: int, *, size: tuple[int, int] = (640, 480)) -> bytes:
    """A JPEG that no other seed gives, with a position in it as a camera would write."""
    from PIL import Image

    draw = random.Random(seed)
    small = Image.frombytes("RGB", (16, 12), draw.randbytes(16 * 12 * 3))
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (48.0, 12.0, 30.0), 3: "E", 4: (16.0, 22.0, 0.0)}
    exif[0x010F] = "invented camera"
    out = io.BytesIO()
    small.resize(size, Image.Resampling.BICUBIC).save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


def shoot(page: Page, tap: Any, data: bytes, *, name: str = "shot.jpg") -> None:
    """Do `tap`, which opens the camera, and take the picture."""
    with page.expect_file_chooser() as chosen:
        tap()
    chosen.value.set_files([{"name": name, "mimeType": "image/jpeg", "buffer": data}])
    page.wait_for_selector(".taken li")


def entries(site: Path, *, device: str = "phone-") -> list[dict[str, Any]]:
    """What phones brought into the record, in the order in which it arrived."""
    with open_store(site, read_only=True) as store:
        rows = store.rows("SELECT line FROM entries ORDER BY arrival")
    made = [json.loads(line) for (line,) in rows if line]
    return [entry for entry in made if entry["device"].startswith(device)]


def jottings(site: Path) -> list[dict[str, Any]]:
    return [e for e in entries(site) if e["kind"] == "noted" and e["body"]["subject"].startswith("jotting:")]


def once_and_in_order(site: Path) -> list[dict[str, Any]]:
    """The phones' entries: each id once, each device's counts ascending in the order of arrival and without a gap."""
    made = entries(site)
    assert len({e["id"] for e in made}) == len(made)
    for device in {e["device"] for e in made}:
        counts = [e["n"] for e in made if e["device"] == device]
        assert counts == list(range(1, len(counts) + 1)), (device, counts)
    return made

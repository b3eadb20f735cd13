"""What somebody who means harm, a bad moment or an odd record may do to the pages: every hole that was found, held shut."""

from __future__ import annotations

import asyncio
import copy
import hashlib
import html
import json
import os
import re
import shutil
import socket
import sqlite3
import time
import urllib.parse
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from xml.dom import minidom

import pytest

from pullstring import api
from pullstring.log import opening
from pullstring.log.refusals import Busy
from pullstring.model import columns
from pullstring.web.files import held as held_files
from pullstring.web.guard import HEADERS
from pullstring.web.server import application, lan_addresses
from tests.journeys.sites import ASKED, HAND, make, packaged
from tests.web.served import Served, serving
from tests.web.test_keeping import PNG, act, entries, jotting, key, paired, row

PAGES = ("/", "/?all=1", "/plan", "/closet", "/riser", "/ends", "/outlets", "/runs", "/power", "/if-cut", "/history",
         "/inbox", "/phones", "/find?q=e", "/api/floors.json", "/api/runs.json", "/api/site.json")  # fmt: skip


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


@pytest.fixture
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


def every_page(served: Served) -> None:
    """Every page of the laptop answers with words."""
    for page in PAGES:
        status, _, body = served.ask(page, headers={"Accept": "text/html"})
        assert status in (200, 303), (page, body[:400])
        assert len(body.split()) > 5 or status == 303, page


def lan() -> str:
    """An address of this machine that is not the loopback one."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address = str(probe.getsockname()[0])
        except OSError:
            address = "127."
    if address.startswith("127."):
        pytest.skip("this machine has no address but the loopback one")
    return address


def bent(phone: dict[str, Any], n: int, path: tuple[str, ...], value: Any) -> dict[str, Any]:
    """A whole jotting with one part replaced."""
    made = copy.deepcopy(jotting(phone, n, what="note", words="x"))
    holder = made
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    return made


DEEP: Any = "x"
for _ in range(900):
    DEEP = [DEEP]
BENT = [
    (("photos",), [5]), (("photos",), [{}]), (("photos",), "abc"), (("photos",), {"a": 1}),
    (("body", "over"), {"words": [{}]}), (("body", "over"), {"words": [[]]}), (("body", "under"), {"words": [3]}),
    (("body", "over"), {"words": "abc"}),
    (("body", "fields", "words"), {"a": []}), (("body", "fields", "words"), [1]), (("body", "fields", "words"), 7),
    (("body", "fields", "words"), None), (("body", "fields", "words"), True), (("body", "fields", "words"), DEEP),
    (("body", "fields", "words"), 1e308), (("body", "fields", "words"), "w" * 100_000),
    (("body", "fields"), [["what", 1]]), (("body",), {}),
    (("body", "evidence", "by"), {"a": 1}), (("body", "evidence", "method"), 5), (("body", "evidence", "by"), "b" * 100_000),
    (("author",), "a" * 100_000), (("visit",), "v" * 100_000), (("id",), "i" * 100_000), (("id",), "../x"), (("id",), ""),
    (("wrote",), "w" * 100_000), (("key",), "0" * 64), (("schema",), 99), (("schema",), -1),
    (("body", "subject"), "jotting:" + "1" * 5000), (("body", "subject"), "jotting:" + "t" * 5000),
    (("body", "fields", "words"), "\0"), (("body", "fields", "a" * 5000), "x"), (("id",), "\ud800"), (("author",), "\ud800"),
]  # fmt: skip


def test_entries__no_bent_one_holds_up_another_or_breaks_the_site(site: Path, served: Served) -> None:
    """A phone sends again what was not answered: an answer that fails for one bent entry would hold up all for ever."""
    phone = paired(served)
    made = [bent(phone, n, *how) for n, how in enumerate(BENT, 1)]
    good = jotting(phone, len(made) + 1, what="note", words="the good one")
    for one, how in zip(made, BENT, strict=True):
        status, said = served.post("/api/entries", {"entries": [one]}, token=phone["token"])
        assert (status, len(said.get("refused", {}))) == (200, 1), (how[0], str(how[1])[:60], said)
        assert len(json.dumps(said)) < 3000, how[0]
    status, said = served.post("/api/entries", {"entries": [*made, good]}, token=phone["token"])
    assert (status, said["stored"]) == (200, [good["id"]])
    every_page(served)


def held(site: Path) -> sqlite3.Connection:
    """Another program that writes to the record and does not end."""
    other = sqlite3.connect(site, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    return other


def test_a_record_in_use__loses_no_entry_and_no_photograph(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is refused with a sentence of its own the phone gives back to be written anew; what failed it sends again."""
    monkeypatch.setattr(opening, "WAIT_MS", 50)  # as after the five seconds that a writer waits
    made = api.pair(site, ASKED, name="x", device="phone-1", token="t")
    one = jotting({"device": made.id, "short": made.short}, 1, what="note", words="kept")
    sha = hashlib.sha256(PNG).hexdigest()
    other = held(site)
    for work in (lambda: api.take_entries(site, [one], device=made.id),
                 lambda: api.take_photo(site, PNG, sha256=sha, device=made.id)):  # fmt: skip
        with pytest.raises(Busy):
            work()
    other.execute("ROLLBACK")
    other.close()
    assert api.take_entries(site, [one], device=made.id)["stored"] == [one["id"]]
    assert api.take_photo(site, PNG, sha256=sha, device=made.id) == sha


def test_a_phone__writes_nothing_over_what_others_made(site: Path, served: Served) -> None:
    one = paired(served)
    mine = jotting(one, 1, what="note", words="mine")
    served.post("/api/entries", {"entries": [mine]}, token=one["token"])
    served.post("/api/rows", act(row("photos", photo="P9", shows="plate", privacy="private", grade="seen")))
    code = served.text("/phones").partition('class="code n">')[2][:7].replace(" ", "")
    two = paired(served, code)
    others = jotting(two, 1, what="note", words="not mine")
    others["body"]["subject"] = f"jotting:{one['short'].lower()}01"
    opened = jotting(two, 2, privacy="open")
    opened["body"]["subject"] = "photo:P9"
    said = served.post("/api/entries", {"entries": [others, opened]}, token=two["token"])[1]
    assert said["stored"] == []
    assert "was made by another hand" in said["refused"][others["id"]]
    served.post("/api/rows", act(row("jottings", jotting=mine["body"]["subject"][8:], sorted="yes", grade="seen")))
    assert served.post("/api/entries", {"entries": [mine]}, token=one["token"])[1]["stored"] == [mine["id"]]


def test_rows__two_servers_at_once_never_make_one_tag_twice(site: Path, served: Served) -> None:
    """Two windows that took the same next tag, on two servers of one record: one enters it, the others are told."""
    with serving(site, "--today", ASKED.today) as second, ThreadPoolExecutor(8) as pool:
        for turn in range(3):
            made = row("rooms", room=f"K{90 + turn}", floor="K0", grade="seen", new=True)
            doors = [served, second] * 4
            said = list(pool.map(lambda door, made=made: door.post("/api/rows", act(made)), doors))
            assert sorted(status for status, _ in said) == [200] + [422] * 7
            assert all("already; take another tag" in s["error"] for status, s in said if status == 422)


def test_rows__a_large_act_is_answered_whole_again_and_soon(site: Path, served: Served) -> None:
    """Rows of ends make several entries each: more than there are rows in an act."""
    rows = [
        row("ends", end=f"E{n}", cable=f"C{n}", carries="use:idle", grade="seen", new=True) for n in range(1000, 1700)
    ]
    rows += [row("cables", cable=f"C{n}", grade="seen", new=True) for n in range(1000, 1700)]
    sent = act(*rows)
    began = time.monotonic()
    status, first = served.post("/api/rows", sent)
    assert status == 200, first
    assert len(first["entries"]) > 2000
    between = time.monotonic()
    again = served.post("/api/rows", sent)[1]
    assert (again["already"], again["entries"]) == (True, first["entries"])
    assert time.monotonic() - between < max(3.0, 2 * (between - began))


@pytest.mark.parametrize("author", ["\ud800", "\0", 7, ["x"]])
def test_rows__an_author_that_is_no_name(site: Path, served: Served, author: Any) -> None:
    before = site.read_bytes()
    for path, sent in (("/api/rows", act(row("rooms", room="K8", name="x", grade="seen"), author=author)),
                       ("/api/strike", {"key": key(), "entries": [entries(site)[3].id], "author": author})):  # fmt: skip
        status, said = served.post(path, sent)
        assert (status, "author" in said["error"]) == (422, True), said
    assert site.read_bytes() == before


def raw(port: int, text: str, address: str = "127.0.0.1") -> bytes:
    """What the server answers to bytes that no client library would send."""
    with socket.create_connection((address, port), timeout=20) as line:
        line.sendall(text.replace("\n", "\r\n").encode("latin-1"))
        found = b""
        while part := line.recv(65536):
            found += part
    return found


def test_a_name_of_this_machine__opens_nothing_to_a_rebound_page(site: Path, served: Served) -> None:
    """Who answers for this machine's name in a foreign network can point it at 127.0.0.1 after his own page has loaded;
    the browser then names that host and its origin, and comes from this machine (RFC 6762 has no proof of a name)."""
    before = site.read_bytes()
    names = lan_addresses()
    assert names
    for host in [f"{name}:{served.port}" for name in names]:
        assert served.ask("/", headers={"Host": host})[0] == 400, host
        headers = {"Host": host, "Origin": f"http://{host}", "Content-Type": "application/json"}
        body = json.dumps(act(row("rooms", room="K8", name="x", grade="seen"))).encode()
        assert served.ask("/api/rows", method="POST", body=body, headers=headers)[0] == 400, host
    assert site.read_bytes() == before


@pytest.mark.parametrize("peer", ["127.0.0.1", "::1", "unknown", "127.0.0.1, 10.0.0.1"])
def test_who_asks__is_not_told_by_a_header(site: Path, monkeypatch: pytest.MonkeyPatch, peer: str) -> None:
    """The peer of the connection counts (RFC 7239, section 8.1), whatever is set up for other servers on this machine."""
    address = lan()
    monkeypatch.setenv("FORWARDED_ALLOW_IPS", "*")
    with serving(site, "--today", ASKED.today, "--phones") as served:
        ask = f"GET /api/site.json HTTP/1.1\nHost: {address}:{served.port}\nX-Forwarded-For: {peer}\nConnection: close\n\n"
        assert raw(served.port, ask, address).startswith(b"HTTP/1.1 403")
        here = served.ask("/api/site.json", headers={"X-Forwarded-For": "10.9.8.7"})
        assert here[0] == 200


def test_headers_said_twice__and_targets_with_a_host(site: Path, served: Served) -> None:
    """RFC 9112, sections 3.2 and 3.2.2: a second Host is refused; a host in the target is none of ours to serve."""
    before, host = site.read_bytes(), f"127.0.0.1:{served.port}"
    body = json.dumps(act(row("rooms", room="K8", name="x", grade="seen")))
    head = f"Content-Type: application/json\nContent-Length: {len(body)}\nConnection: close\n\n{body}"
    ours = f"Origin: http://{host}"
    for text in (
        f"POST /api/rows HTTP/1.1\nHost: {host}\nHost: evil.test\n{ours}\n{head}",
        f"POST /api/rows HTTP/1.1\nHost: evil.test\nHost: {host}\n{ours}\n{head}",
        f"POST /api/rows HTTP/1.1\nHost: {host}\n{ours}\nOrigin: http://evil.test\n{head}",
        f"POST http://evil.test/api/rows HTTP/1.1\nHost: {host}\n{ours}\n{head}",
        f"POST //api/rows HTTP/1.1\nHost: {host}\n{ours}\n{head}",
        f"POST /api/rows HTTP/1.0\n{ours}\n{head}",
    ):
        assert raw(served.port, text)[9:12] in (b"400", b"403", b"404"), text[:90]
    upgrade = (
        f"GET / HTTP/1.1\nHost: {host}\nUpgrade: websocket\nConnection: Upgrade, close\nSec-WebSocket-Version: 13\n\n"
    )
    assert b" 101 " not in raw(served.port, upgrade)
    assert site.read_bytes() == before


def test_a_token_taken_away__holds_for_a_body_that_is_still_coming(site: Path, served: Served) -> None:
    phone = paired(served)
    body = json.dumps({"entries": [jotting(phone, 1, what="note", words="late")]}).encode()
    with socket.create_connection(("127.0.0.1", served.port), timeout=20) as line:
        line.sendall(
            f"POST /api/entries HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nOrigin: {served.origin}\r\n"
            f"Content-Type: application/json\r\nAuthorization: Bearer {phone['token']}\r\n"
            f"Content-Length: {len(body)}\r\n\r\n".encode()
        )
        line.sendall(body[:20])
        time.sleep(0.5)
        assert served.post("/api/unpair", {"device": phone["device"]})[0] == 200
        line.sendall(body[20:])
        assert line.recv(200).startswith(b"HTTP/1.1 401")
    assert not [e for e in entries(site) if e.device == phone["device"]]


def test_names_of_files_that_are_not_there__tell_and_keep_nothing(served: Served) -> None:
    """Anybody in the network may ask for them, as often and as long as he likes."""
    for folder in ("pocket", "static", "fonts"):
        status, _, body = served.ask(f"/{folder}/{'a' * 300}.js")
        assert (status, body) == (404, b"there is no such file here\n")
    assert held_files.cache_info().maxsize


def test_photographs__do_not_stay_in_the_browser(site: Path, served: Served) -> None:
    """A photograph that was destroyed on request must not lie in a cache (RFC 9111, section 5.2.2.5)."""
    sha = api.take_photo(site, PNG, sha256=hashlib.sha256(PNG).hexdigest(), device="laptop")
    assert served.ask(f"/photo/{sha}")[1]["cache-control"] == "no-store"


@pytest.mark.parametrize("letter", ["\x01", "\x0b", "\x1b", "\ufffe", "\ud800"])
def test_letters_that_no_drawing_can_hold__are_refused(site: Path, served: Served, letter: str) -> None:
    """XML 1.0, section 2.2: one of them and no browser shows the floor's drawing."""
    status, said = served.post("/api/rows", act(row("rooms", room="R1", name=f"a{letter}b", grade="seen")))
    assert (status, "holds a letter that cannot be kept" in said["error"]) == (422, True), said
    minidom.parseString(served.ask("/floor/K0.svg")[2])


ODD = "EG/1 ü%41+#?&<b>"
EVIL = "<script>alert(1)</script>\"'><img src=x onerror=y>{{7*7}}"


def test_odd_tags_and_evil_words__stay_words_on_every_page(site: Path, served: Served) -> None:
    rows = [
        row("floors", floor=ODD, building=building_of(site), name=EVIL, level="3"),
        row("rooms", room=ODD, name=EVIL, floor=ODD, outline="0 0; 4 5", closet="yes"),
        row("outlets", outlet=ODD, room=ODD, x_m="1", y_m="1", label=EVIL, found=EVIL),
        row("cables", cable=ODD, pairs="4"), row("ends", end=ODD, room=ODD, cable=ODD, label=EVIL, found=EVIL),
        row("units", unit=ODD, name=EVIL, room=ODD, x_m="2", y_m="2"), row("blocks", block=ODD, room=ODD),
        row("jottings", jotting=ODD, what="note", about=EVIL, words=EVIL, place=EVIL),
        row("photos", photo="P9", of="end:E1", shows=EVIL),
        row("services", service=ODD, name=EVIL, keep="yes"),
    ]  # fmt: skip
    assert served.post("/api/rows", act(*rows, author=EVIL[:70]))[0] == 200
    tag = urllib.parse.quote(ODD, safe="")
    kinds = ("room", "end", "outlet", "unit", "floor", "cable", "jotting", "block", "service")
    for page in (
        *PAGES, *(f"/thing?ref={kind}:{tag}" for kind in kinds), f"/plan?floor={tag}", f"/if-cut?tags=end:{tag}",
        f"/history?about=end:{tag}", f"/find?q={urllib.parse.quote(EVIL)}", f"/runs?tags=end:{tag}", "/thing?ref=end:E1",
        f"/inbox?meant.{tag}=end:{tag}", f"/floor/{tag}.svg", f"/api/shapes/{tag}.json", "/ends?as_of=2026-01-01",
        f"/?known_by={urllib.parse.quote(EVIL)}",
    ):  # fmt: skip
        status, headers, body = served.ask(page, headers={"Accept": "text/html"})
        said = body.decode()
        assert status == 200 or "known_by" in page, (page, said[:300])
        if "json" not in headers["content-type"]:
            assert not re.search(r"<script>alert|<img src=x|<b>[\"&]", said), page
        if "svg" in headers["content-type"]:
            minidom.parseString(body)
        for link in re.findall(r'(?:href|src)="(/[^"#]*)"', said) if page.startswith("/plan") else []:
            address = urllib.parse.quote(html.unescape(link), safe="/?=&%+.:~-_")
            assert served.ask(address, headers={"Accept": "text/html"})[0] < 400, (page, link)


def building_of(site: Path) -> str:
    return next(api.load(site, ASKED).of_kind("building")).ref.tag


def test_the_kept_site__is_never_of_another_file(tmp_path: Path) -> None:
    """Two copies grew by one entry each; the one is put in the other's place while the pages are open."""
    one = make(tmp_path, packaged("two_rooms"))
    two = tmp_path / "copy.site"
    shutil.copyfile(one, two)
    for path, name in ((one, "First"), (two, "Second")):
        api.add(path, ASKED, table="rooms", cells={"room": "R1", "name": name, "grade": "seen"}, **HAND)
    with serving(one, "--today", ASKED.today) as served:
        assert b"First" in served.ask("/api/shapes/K0.json")[2]
        for put in (shutil.copyfile, os.replace):
            put(two, one)
            assert b"Second" in served.ask("/api/shapes/K0.json")[2]
            shutil.copyfile(one, two)


@pytest.mark.parametrize(
    ("site_of", "dest", "status"),
    [("cross-site", "image", 403), ("cross-site", "empty", 403), ("same-site", "script", 403), ("cross-site", "iframe", 403),
     ("cross-site", "document", 200), ("same-origin", "empty", 200), ("none", "document", 200)],
)  # fmt: skip
def test_a_page_of_another_origin__asks_nothing_but_by_a_link(
    served: Served, site_of: str, dest: str, status: int
) -> None:
    """It could not read the answer, but make the laptop work, and see how long that takes."""
    assert served.ask("/if-cut", headers={"Sec-Fetch-Site": site_of, "Sec-Fetch-Dest": dest})[0] == status


def test_many_things_that_are_not_there__are_told_soon(site: Path, served: Served) -> None:
    assert (
        served.post("/api/rows", act(*[row("ends", end=f"E{n}", found="x", grade="seen") for n in range(100, 2100)]))[0]
        == 200
    )
    began = time.monotonic()
    unknown = "&".join(f"tags=QE{n}x" for n in range(600))
    assert served.ask(f"/if-cut?{unknown}")[0] == 404
    wide = {"table": "rooms", "cells": {f"c{n}": "x" for n in range(60_000)}}
    assert served.post("/api/rows", act(wide))[1]["error"].startswith("row 1: it has 60000 cells")
    assert time.monotonic() - began < 5


def test_rows__many_acts_at_once_are_all_entered(site: Path, served: Served) -> None:
    with serving(site, "--today", ASKED.today) as second, ThreadPoolExecutor(12) as pool:
        acts = [
            (door, act(row("rooms", room=f"Z{n}", grade="seen", new=True)))
            for n, door in enumerate([served, second] * 6)
        ]
        said = list(pool.map(lambda one: one[0].post("/api/rows", one[1]), acts))
    assert [status for status, _ in said] == [200] * 12, said
    assert len({s["entries"][0] for _, s in said}) == 12


def test_an_answer_of_a_broken_program__bears_the_headers_too(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object, **__: object) -> None:
        raise KeyError("broken by hand")

    monkeypatch.setattr(api, "ends", breaks)
    app, sent = application(site, ASKED, port=8471), []
    scope = {
        "type": "http", "method": "GET", "path": "/ends", "raw_path": b"/ends", "query_string": b"", "scheme": "http",
        "headers": [(b"host", b"127.0.0.1:8471"), (b"accept", b"text/html")], "client": ("127.0.0.1", 5), "root_path": "",
        "server": ("127.0.0.1", 8471), "http_version": "1.1",
    }  # fmt: skip

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    with ThreadPoolExecutor(1) as apart, pytest.raises(KeyError):  # a browser's driver may hold this thread's loop
        apart.submit(lambda: asyncio.run(app(scope, receive, send))).result()
    found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    assert sent[0]["status"] == 500
    assert {name: found.get(name.lower()) for name in HEADERS} == HEADERS
    assert found["cache-control"] == "no-store"


@pytest.mark.parametrize("what", ["one end", "all removed", "all struck out"])
def test_records_that_are_legal_but_odd__fill_every_page_with_words(tmp_path: Path, what: str) -> None:
    if what == "one end":
        site = tmp_path / "one.site"
        api.new(site, ASKED, code="KC", name="", **HAND)
        api.add(site, ASKED, table="ends", cells={"end": "E1", "found": "x", "grade": "seen"}, **HAND)
    else:
        site = make(tmp_path, packaged("two_rooms"))
    every = [e.id for e in entries(site)]
    if what == "all struck out":
        api.strike_all(site, ASKED, entries=every, why="x", key=key(), **HAND)
    elif what == "all removed":
        tables = {t.kind: name for name, t in columns.tables().items() if t.kind}
        gone = [
            api.Row(tables[thing.ref.kind], {**said_again(tables[thing.ref.kind], thing), "state": "removed"})
            for thing in api.load(site, ASKED).things.values()
            if columns.tables()[tables[thing.ref.kind]].column("state")
        ]
        api.add_rows(site, ASKED, rows=gone, key=key(), **HAND)
    with serving(site, "--today", ASKED.today) as served:
        every_page(served)


def said_again(table: str, thing: Any) -> dict[str, str]:
    """The cells that a row of a thing needs."""
    needed = [c for c in columns.tables()[table].columns if c.type == "tag" or c.required]
    return {c.name: thing.ref.tag if c.type == "tag" else thing.text(c.name) for c in needed}

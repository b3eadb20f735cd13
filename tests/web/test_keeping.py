"""What pages and phones send: all of it or nothing, once, in order, and every refusal a sentence."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.refs import Ref
from tests.journeys.sites import ASKED, make, packaged
from tests.web.served import Served, serving

PNG = b"\x89PNG\r\n\x1a\n" + b"invented picture"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return make(tmp_path, packaged("two_rooms"))


@pytest.fixture
def served(site: Path) -> Iterator[Served]:
    with serving(site, "--today", ASKED.today, "--phones") as found:
        yield found


def key() -> str:
    return secrets.token_hex(16)


def row(table: str, new: bool = False, **cells: str) -> dict[str, Any]:
    return {"table": table, "cells": cells, "new": new}


def act(*rows: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"key": key(), "author": "TEC", "rows": list(rows), **more}


def entries(site: Path) -> list[Any]:
    with open_store(site, read_only=True) as store:
        return store.entries()


ROOM = row("rooms", room="K9", name="Loft", floor="K0", outline="10 0; 13 4", grade="seen", new=True)
WALL = row("walls", wall="W9", floors="K0", line="10 0; 13 0", grade="seen", new=True)


def test_rows__one_act_is_entered_whole_and_once(site: Path, served: Served) -> None:
    before = len(entries(site))
    sent = act(ROOM, WALL, row("openings", opening="D9", wall="W9", u0_m="1", u1_m="1.8", fill="door", grade="seen"))
    status, first = served.post("/api/rows", sent)
    again = served.post("/api/rows", sent)[1]
    assert (status, first["already"], len(first["entries"])) == (200, False, 3)
    assert (again["already"], again["entries"]) == (True, first["entries"])
    assert len(entries(site)) == before + 3
    found = api.load(site, ASKED)
    assert found.things[Ref("room", "K9")].text("name") == "Loft"
    assert found.things[Ref("opening", "D9")].ref_of("wall") == Ref("wall", "W9")


def test_rows__sent_by_many_at_once_count_once(site: Path, served: Served) -> None:
    before, sent = len(entries(site)), act(ROOM, WALL)
    with ThreadPoolExecutor(8) as pool:
        said = list(pool.map(lambda _: served.post("/api/rows", sent), range(16)))
    assert {status for status, _ in said} == {200}
    assert {tuple(answer["entries"]) for _, answer in said} == {tuple(said[0][1]["entries"])}
    assert len(entries(site)) == before + 2


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([row("rooms", room="K9", outline="0 0")], "rooms 1, column outline: '0 0' has a piece with fewer than two corners"),
        ([row("nothing", x="1")], "row 1: there is no table 'nothing'"),
        ([row("rooms", room="R1", name="Again", new=True)], "rooms 1: there is a room R1 already; take another tag"),
        ([ROOM, {**ROOM, "cells": {**ROOM["cells"], "name": "Twice"}}], "rooms 2: K9 is made twice here; take another tag"),
        ([row("outlets", outlet="O99", room="K77")], "outlets 1, column room"),
        ([row("rooms", room="K9", colour="red")], "this column is not known in rooms"),
        ([], "an act has 1 to 2000 rows; this one has 0"),
        ([{"table": "rooms"}], "row 1: it needs a table and its cells"),
        ([row("rooms", room=7)], "row 1: room is to be a text"),  # type: ignore[arg-type]
    ],
)  # fmt: skip
def test_rows__a_fault_writes_nothing(site: Path, served: Served, rows: list[dict[str, Any]], says: str) -> None:
    before = site.read_bytes()
    good = row("rooms", room="K8", name="Good", grade="seen")
    status, said = served.post("/api/rows", act(*rows, *([good] if rows else [])))
    assert status == 422
    assert any(says in fault for fault in said["faults"]), said
    assert site.read_bytes() == before


def test_rows__every_fault_at_once(served: Served) -> None:
    status, said = served.post(
        "/api/rows", act(row("rooms", room="K9", outline="0 0"), row("outlets", outlet="O99", x_m="wide"))
    )
    assert status == 422
    assert len(said["faults"]) == 2


def test_strike__takes_back_an_act_and_redo_enters_it_anew(site: Path, served: Served) -> None:
    made = served.post("/api/rows", act(ROOM, WALL))[1]["entries"]
    undo = {"key": key(), "author": "TEC", "entries": made, "why": "undone"}
    first, again = served.post("/api/strike", undo)[1], served.post("/api/strike", undo)[1]
    assert first["entries"] == again["entries"]
    assert Ref("room", "K9") not in api.load(site, ASKED).things
    status, _ = served.post("/api/rows", act(ROOM, WALL))
    assert status == 200
    assert Ref("room", "K9") in api.load(site, ASKED).things


def test_strike__what_is_not_there_is_a_sentence(site: Path, served: Served) -> None:
    before = site.read_bytes()
    status, said = served.post("/api/strike", {"key": key(), "entries": ["nope"], "why": "x"})
    assert (status, said["error"]) == (422, "there is no entry 'nope'; it may be in another record")
    assert site.read_bytes() == before


def paired(served: Served, code: str | None = None) -> dict[str, Any]:
    status, said = served.post("/api/pair", {"code": code or served.code, "name": "my phone"})
    assert status == 200, said
    return said


def jotting(phone: dict[str, Any], n: int, *, tick: int = 1, **fields: str) -> dict[str, Any]:
    """An entry as the phone makes it."""
    evidence = {"grade": "seen", "method": "", "conditions": "", "instrument": "", "by": ""}
    body = {
        "subject": f"jotting:{phone['short']}{n}",
        "fields": fields,
        "evidence": evidence,
        "over": {},
        "under": {},
        "new": True,
    }
    return {
        "id": secrets.token_hex(16), "author": "TEC", "device": phone["device"], "n": n, "tick": tick + n,
        "at": "2026-03-09T10:00:00+00:00", "wrote": "2001-01-01T00:00:00+00:00",
        "visit": "", "photos": [], "key": "", "schema": 1, "kind": "noted", "body": body,
    }  # fmt: skip


def test_pairing__a_code_is_good_for_one_phone(served: Served) -> None:
    paired(served)
    assert served.post("/api/pair", {"code": served.code})[0] == 403


def test_pairing__five_wrong_codes_end_it(served: Served) -> None:
    wrong = "000000" if served.code != "000000" else "000001"
    assert [served.post("/api/pair", {"code": wrong})[0] for _ in range(5)] == [403] * 5
    assert served.post("/api/pair", {"code": served.code})[0] == 403


def test_entries__same_again_is_stored_once_and_in_order(site: Path, served: Served) -> None:
    phone = paired(served)
    made = [jotting(phone, n, what="note", words=f"word {n}") for n in (1, 2, 3)]
    for _ in range(2):
        status, said = served.post("/api/entries", {"entries": made}, token=phone["token"])
        assert (status, said["stored"], said["refused"]) == (200, [e["id"] for e in made], {})
    mine = [e for e in entries(site) if e.device == phone["device"]]
    assert [(e.n, e.body.fields["words"]) for e in mine] == [(1, "word 1"), (2, "word 2"), (3, "word 3")]


def test_entries__a_refused_one_holds_up_no_other(site: Path, served: Served) -> None:
    phone = paired(served)
    made = [jotting(phone, n, what="note", words=f"word {n}") for n in range(1, 8)]
    made[1]["body"]["evidence"]["grade"] = "surely"
    made[2]["device"] = "another"
    made[3]["body"]["subject"] = "room:R1"
    made[4]["tick"] = 10**12
    made[5]["kind"] = "nonsense"
    status, said = served.post("/api/entries", {"entries": [*made, "no entry", None]}, token=phone["token"])
    assert status == 200
    assert said["stored"] == [made[0]["id"], made[6]["id"]]
    assert set(said["refused"]) == {e["id"] for e in made[1:6]} | {"number 8", "number 9"}
    assert all(str(site) not in sentence for sentence in said["refused"].values())
    assert [e.n for e in entries(site) if e.device == phone["device"]] == [1, 7]


def test_entries__same_id_with_other_words_is_refused(served: Served) -> None:
    phone = paired(served)
    made = jotting(phone, 1, what="note", words="first")
    served.post("/api/entries", {"entries": [made]}, token=phone["token"])
    bent = {**made, "body": {**made["body"], "fields": {"what": "note", "words": "second"}}}
    said = served.post("/api/entries", {"entries": [bent]}, token=phone["token"])[1]
    assert said["stored"] == []
    assert "differ in content" in said["refused"][made["id"]]


def test_entries__a_phone_takes_back_only_its_own(site: Path, served: Served) -> None:
    phone = paired(served)
    others = entries(site)[5].id
    made = jotting(phone, 1, what="note", words="mine")
    evil = {**jotting(phone, 2), "kind": "struck_out", "body": {"entry": others, "why": "no", "redacted": False}}
    mine = {
        **jotting(phone, 3),
        "kind": "struck_out",
        "body": {"entry": made["id"], "why": "wrong tag", "redacted": False},
    }
    said = served.post("/api/entries", {"entries": [made, evil, mine]}, token=phone["token"])[1]
    assert said["stored"] == [made["id"], mine["id"]]
    assert "only what this phone entered can be taken back here" in said["refused"][evil["id"]]


def test_a_token__is_needed_and_can_be_taken_away(served: Served) -> None:
    phone = paired(served)
    assert served.post("/api/entries", {"entries": []})[0] == 401
    assert served.post("/api/entries", {"entries": []}, token="guess")[0] == 401
    assert served.post("/api/entries", {"entries": []}, token=phone["token"])[0] == 200
    assert served.post("/api/unpair", {"device": phone["device"]})[1] == {"unpaired": True}
    assert served.post("/api/entries", {"entries": []}, token=phone["token"])[0] == 401


def test_photographs__are_kept_by_their_hash(site: Path, served: Served) -> None:
    phone = paired(served)
    sha = hashlib.sha256(PNG).hexdigest()
    headers = {"Origin": served.origin, "Content-Type": "image/png", "Authorization": f"Bearer {phone['token']}"}
    for _ in range(2):
        assert served.ask(f"/api/photos/{sha}", method="PUT", body=PNG, headers=headers)[0] == 200
    assert served.ask(f"/api/photos/{'0' * 64}", method="PUT", body=PNG, headers=headers)[0] == 422
    text = b"<svg onload=alert(1)>"
    wrong = hashlib.sha256(text).hexdigest()
    assert served.ask(f"/api/photos/{wrong}", method="PUT", body=text, headers=headers)[0] == 422
    status, found, body = served.ask(f"/photo/{sha}")
    assert (status, found["content-type"], body) == (200, "image/png", PNG)


def test_inbox__a_jotting_becomes_rows_and_is_sorted(site: Path, served: Served) -> None:
    phone = paired(served)
    made = [
        jotting(phone, 1, what="tag", about="E77", place="closet room", words="grey, behind the shelf"),
        jotting(phone, 2, what="reading", about="E1", quantity="volts DC", value="48.2 V"),
        jotting(phone, 3, what="tone", about="E2", heard="loud", sent_on="E3"),
        jotting(phone, 4, what="note", about="nobody knows", words="wet wall"),
    ]
    served.post("/api/entries", {"entries": made}, token=phone["token"])
    waiting = api.inbox(site, ASKED).answer["waiting"]
    assert [j["tag"] for j in waiting] == [f"{phone['short']}{n}" for n in (1, 2, 3, 4)]
    for told in waiting:
        status, said = served.post("/api/rows", act(*told["rows"]))
        assert status == 200, said
    assert api.inbox(site, ASKED).answer == {"waiting": [], "sorted": 4}
    found = api.load(site, ASKED)
    end = found.things[Ref("end", "E77")]
    assert (end.text("found"), end.ref_of("room")) == ("grey, behind the shelf", Ref("room", "R1"))
    read = {(str(r.measured.subject), r.measured.quantity): r.measured.written for r in found.readings}
    assert read["end:E1", "volts DC"] == "48.2 V"
    assert read["end:E2", "tone"].startswith("loud from end:E3")

"""What one thumb can do: each act as a person does it, and what then stands in the record."""

from __future__ import annotations

from pathlib import Path

from tests.phone.phone import all_in_record, jottings, note, once_and_in_order, paired


def test_note__stored_and_in_the_record(pocket, laptop, site: Path) -> None:
    page = paired(pocket, laptop)
    page.on("console", lambda said: print("CONSOLE", said.text))
    page.on("pageerror", lambda said: print("ERROR", said))
    note(page, "smoke", about="E3")
    all_in_record(page)
    [entry] = once_and_in_order(site)
    assert entry["body"]["fields"] == {"what": "note", "about": "E3", "words": "smoke"}
    page.screenshot(path="/tmp/pocket1.png")
    assert len(jottings(site)) == 1

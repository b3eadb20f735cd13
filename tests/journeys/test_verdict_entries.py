"""A verdict names the entries it stands on: without one of them it is weaker, never stronger."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pullstring import api
from tests.journeys.sites import ASKED, HAND, make, packaged
from tests.reach.test_rules import changed

ORDER = ["GO", "ASK", "STOP"]


def verdict(site: Path, tag: str) -> tuple[str, tuple[str, ...]]:
    answer = api.if_cut(site, dataclasses.replace(ASKED, tags=(tag,)))
    return answer.answer["verdict"], answer.because


def metered(rows, subject):
    blank = dict.fromkeys(rows["measurements"][0], "")
    for quantity in ("volts DC", "volts AC"):
        row = {**blank, "subject": subject, "quantity": quantity, "value": "none", "key": quantity, "grade": "metered"}
        rows["measurements"].append(row)
    return rows


def test_go__without_either_reading_of_volts_it_is_ask(tmp_path: Path) -> None:
    site = make(tmp_path, metered(packaged("two_rooms"), "cable:C3"))
    said, because = verdict(site, "cable:C3")
    assert said == "GO" and len(because) >= 2
    for entry in because:
        copy = tmp_path / f"{entry}.site"
        copy.write_bytes(site.read_bytes())
        api.strike(copy, ASKED, entry=entry, why="to see what hangs on it", redact=False, **HAND)
        assert verdict(copy, "cable:C3")[0] == "ASK"


@pytest.mark.parametrize("tag", ["C1", "C2", "C3", "C4", "C5", "U1", "W1", "X1"])
def test_any__striking_out_an_entry_behind_it_never_turns_stop_or_ask_to_go(tmp_path: Path, tag: str) -> None:
    site = make(tmp_path, changed(packaged("two_rooms"), "ports", "U1.1", "mode_saved", "yes"))
    said, because = verdict(site, tag)
    for n, entry in enumerate(because[:12]):
        copy = tmp_path / f"{n}.site"
        copy.write_bytes(site.read_bytes())
        api.strike(copy, ASKED, entry=entry, why="to see what hangs on it", redact=False, **HAND)
        try:
            then = verdict(copy, tag)[0]
        except api.BadRequest:
            continue  # the thing itself was only in that entry
        assert not (said != "GO" and then == "GO"), (tag, entry)

"""What ran once proves little once something was done: cut cables, splices, age, parts of a run; and volts before tone."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pullstring import api
from pullstring.log.store import open_store
from pullstring.model.when import parse_when
from tests.journeys.sites import ASKED, HAND, Rows, make, packaged
from tests.model.make import did


def of(path: Path, end: str, today: str = ASKED.today) -> dict:
    return api.runs(path, dataclasses.replace(ASKED, tags=(end,), today=today)).answer["runs"][0]


def do(path: Path, *bodies, at: str) -> None:
    with open_store(path, device="laptop") as store:
        store.append(list(bodies), at=parse_when(at), wrote=HAND["wrote"], author="TEC", device="laptop")


def reading(rows: Rows, subject: str, quantity: str, value: str) -> Rows:
    row = {
        **dict.fromkeys(rows["measurements"][0], ""),
        "subject": subject,
        "quantity": quantity,
        "value": value,
        "key": subject + quantity,
        "grade": "metered",
        "at": "2026-03-01",
    }
    return {**rows, "measurements": [*rows["measurements"], row]}


@pytest.mark.parametrize("state", ["out of use", "lost", "removed"])
def test_cable_out_of_use__carries_nothing_and_feeds_nothing(tmp_path: Path, state: str) -> None:
    rows = packaged("two_rooms")
    rows["cables"] = [{**r, "state": state if r["cable"] == "C1" else ""} for r in rows["cables"]]
    path = make(tmp_path, rows)
    run = of(path, "E1")
    assert (run["mbps"], run["band"], run["reason"], run["telephone"]) == (0, "no", "out_of_use", "no")
    port = api.power(path, dataclasses.replace(ASKED, tags=("U1.1",))).answer["ports"][0]
    assert (port["works"], port["code"]) == ("no", "pairs_missing")


def test_cut_by_an_act__and_before_it_the_run_was_good(tmp_path: Path) -> None:
    path = make(tmp_path, packaged("two_rooms"))
    do(path, did("cut", "cable:C1"), at="2026-03-05")
    assert of(path, "E1")["reason"] == "out_of_use"
    before = api.runs(path, dataclasses.replace(ASKED, tags=("E1",), as_of="2026-03-01")).answer["runs"][0]
    assert (before["mbps"], before["reason"]) == (1000, "ran")


def test_ran__proves_nothing_after_work_on_the_run(tmp_path: Path) -> None:
    path = make(tmp_path, packaged("two_rooms"))
    do(path, did("take off", "end:O1a", "outlet:O1"), did("terminate", "end:O1a", "outlet:O1"), at="2026-03-05")
    assert of(path, "E1")["reason"] != "ran"


def test_ran__still_proves_after_work_elsewhere(tmp_path: Path) -> None:
    path = make(tmp_path, packaged("two_rooms"))
    do(path, did("cut", "cable:C3"), did("turn off", "switch:W1"), at="2026-03-05")
    assert of(path, "E1")["reason"] == "ran"


def test_ran__ages_as_the_grades_say(tmp_path: Path) -> None:
    """`ran` is stale after 365 days (grades.csv, ours)."""
    path = make(tmp_path, packaged("two_rooms"))
    assert of(path, "E1", today="2027-02-09")["reason"] == "ran"
    assert of(path, "E1", today="2027-02-12")["reason"] != "ran"


def test_ran__over_a_part_does_not_prove_the_whole(tmp_path: Path) -> None:
    rows = reading(packaged("two_rooms"), "cable:C4", "ran at", "1000 Mb/s")
    assert of(make(tmp_path / "part", rows), "E4")["reason"] == "spliced"
    rows = reading(packaged("two_rooms"), "end:E4", "ran at", "100 Mb/s")
    rates = {r["mbps"]: r["reason"] for r in of(make(tmp_path / "whole", rows), "E4")["rates"]}
    assert (rates[100], rates[1000]) == ("ran", "spliced")


def test_next_test__volts_then_tone(tmp_path: Path) -> None:
    rows = packaged("two_rooms")
    assert of(make(tmp_path / "a", rows), "E3")["next_test"] == "volts"
    rows = reading(rows, "end:E3", "volts DC", "none")
    assert of(make(tmp_path / "b", rows), "E3")["next_test"] == "volts"
    assert of(make(tmp_path / "c", reading(rows, "end:E3", "volts AC", "none")), "E3")["next_test"] == "tone"
    assert of(make(tmp_path / "d", reading(rows, "end:E3", "volts AC", "24 V")), "E3")["next_test"] == "find_service"

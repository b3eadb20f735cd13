"""The small property whose every answer is worked out by hand in `kiln_cottage_by_head.md`."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pullstring import api
from tests.journeys.sites import ASKED, make, packaged


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("kiln"), packaged("two_rooms"))


def asked(*tags: str) -> object:
    return dataclasses.replace(ASKED, tags=tags)


def holds(value: dict, figure: float, within: float) -> bool:
    interval = value.get("interval", value)
    return interval["low"] <= figure <= interval["high"] and interval["high"] - interval["low"] <= within


@pytest.mark.parametrize(
    ("end", "to", "grade", "loop_ohm", "farad"),
    [
        ("E1", "outlet:O1", "pinned out", 1.684, 0.52e-9),
        ("E2", "outlet:O2", "toned", 3.368, 1.04e-9),
        ("E3", "outlet:O3", "told", 8.421, 2.6e-9),
        ("E4", "outlet:O4", "seen", 16.842, 5.2e-9),
    ],
)
def test_runs__as_worked_out_by_hand(site: Path, end: str, to: str, grade: str, loop_ohm: float, farad: float) -> None:
    run = api.runs(site, asked(end)).answer["runs"][0]
    assert (run["to"][0], run["grade"]) == (to, grade)
    assert holds(run["loop"], loop_ohm, 0.2 * loop_ohm)
    assert holds(run["capacitance"], farad, 2 * farad)
    assert "length_m" in run["loop"]["interval"]["inputs"]


def test_runs__bands_by_evidence_and_kind(site: Path) -> None:
    runs = {r["end"]: r for r in api.runs(site, ASKED).answer["runs"]}
    assert (runs["E1"]["mbps"], runs["E1"]["band"], runs["E1"]["reason"]) == (1000, "likely", "ran")
    assert runs["E3"]["reason"] == "untwisted"
    assert runs["E3"]["mbps"] == 10
    assert (runs["E4"]["cables"], runs["E4"]["joints"], runs["E4"]["reason"]) == (["C4", "C4b"], 1, "spliced")
    assert (runs["E5"]["grade"], runs["E5"]["loop"], runs["E5"]["capacitance"]) == ("assumed", None, None)


def test_power__volts_and_budget_by_hand(site: Path) -> None:
    said = api.power(site, ASKED).answer
    ports = {p["port"]: p for p in said["ports"]}
    assert (ports["U1.1"]["device"], ports["U1.2"]["device"]) == ("U2", "U3")
    assert holds(ports["U1.2"]["volts"], 23.57, 0.4)
    assert holds(ports["U1.2"]["volts"], 23.72, 0.4)
    assert not any(p["hazard"] for p in ports.values())
    assert (ports["U1.1"]["works"], ports["U1.1"]["code"]) == ("likely", "granted")  # C1 is pinned out
    assert ports["U1.2"]["works"] == "possible"  # C2 is only toned
    (budget,) = said["budgets"]
    assert [budget[k] for k in ("unit", "budget_w", "class_w", "plate_w", "typical_w")] == ["U1", 30, 21.4, 16, 11]
    assert [step["starts"] for order in budget["orders"] for step in order["steps"]] == ["starts"] * 4


@pytest.mark.parametrize(
    ("tag", "verdict", "dark"),
    [
        ("switch:W1", "STOP", ["S1", "S2"]),
        ("socket:X1", "STOP", ["S1", "S2"]),
        ("unit:U1", "STOP", ["S1", "S2"]),
        ("cable:C1", "STOP", ["S1"]),
        ("end:E1", "STOP", ["S1"]),
        ("outlet:O1", "STOP", ["S1"]),
        ("cable:C2", "STOP", ["S2"]),
        ("unit:U4", "STOP", ["S1"]),
        ("socket:X2", "STOP", ["S1"]),
        ("circuit:CB", "STOP", ["S1", "S2"]),
        ("cable:C3", "ASK", []),
        ("cable:C4", "ASK", []),
        ("cable:C5", "ASK", []),
    ],
)
def test_if_cut__what_goes_dark(site: Path, tag: str, verdict: str, dark: list[str]) -> None:
    said = api.if_cut(site, asked(tag)).answer
    assert said["verdict"] == verdict
    assert [s["service"] for s in said["dark"]] == [f"service:{d}" for d in dark]


def test_if_cut__silent_cable_goes_only_after_volts(tmp_path: Path) -> None:
    rows = packaged("two_rooms")
    for quantity, key in (("volts DC", "q1"), ("volts AC", "q2")):
        rows["measurements"].append(
            {
                **dict.fromkeys(rows["measurements"][0], ""),
                "subject": "cable:C3",
                "quantity": quantity,
                "value": "none",
                "key": key,
                "grade": "metered",
            }
        )
    path = make(tmp_path, rows)
    assert api.if_cut(path, asked("C3")).answer["verdict"] == "GO"
    assert api.if_cut(path, asked("C5")).answer["verdict"] == "ASK"


def test_if_cut__a_live_pair_is_never_idle(tmp_path: Path) -> None:
    rows = packaged("two_rooms")
    for quantity, value, key in (("volts DC", "48 V", "q1"), ("volts AC", "none", "q2")):
        rows["measurements"].append(
            {
                **dict.fromkeys(rows["measurements"][0], ""),
                "subject": "cable:C3",
                "quantity": quantity,
                "value": value,
                "key": key,
                "grade": "metered",
            }
        )
    assert api.if_cut(make(tmp_path, rows), asked("C3")).answer["verdict"] == "ASK"


def test_tag_of_another_kind__is_told_as_what_it_is(site: Path) -> None:
    with pytest.raises(api.BadRequest, match=r"'U1' is unit:U1; what can be named here: end or cable"):
        api.runs(site, dataclasses.replace(ASKED, tags=("U1",)))


def test_tag_named_twice__counts_once(site: Path) -> None:
    said = api.if_cut(site, dataclasses.replace(ASKED, tags=("C3", "cable:C3"))).answer
    assert said["cut"] == ["cable:C3"]

"""From the site to what is alive: switches, modes and guards, on the small property bent by one cell at a time."""

from __future__ import annotations

import dataclasses
from importlib import resources
from pathlib import Path

import pytest

from pullstring import api
from pullstring.log.tables_io import read_folder
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.tables import understand
from pullstring.model.when import parse_when
from pullstring.reach.consequence import goes_dark, live, single_points
from pullstring.reach.rules import Reach, build
from tests.journeys.sites import ASKED, Rows, make, packaged


def changed(rows: Rows, table: str, tag: str, column: str, text: str) -> Rows:
    """The rows with one cell changed."""
    key = next(iter(rows[table][0]))
    assert any(r[key] == tag for r in rows[table])
    return {**rows, table: [{**r, column: text} if r[key] == tag else r for r in rows[table]]}


def alive(path: Path) -> set[str]:
    reach = build(api.load(path, ASKED))
    holds = live(reach.rules)
    return {name for name, fact in reach.services.items() if fact in holds}


def test_as_found__both_services_live(tmp_path: Path) -> None:
    assert alive(make(tmp_path, packaged("two_rooms"))) == {"service:S1", "service:S2"}


@pytest.mark.parametrize(
    ("table", "tag", "column", "text", "left"),
    [
        ("switches", "W1", "usual", "off", set()),
        ("circuits", "CB", "breaker", "off", set()),
        ("ports", "U1.1", "gives", "24 V always-on", {"service:S2"}),  # a standard unit does not start on 24 V
        ("ports", "U1.1", "gives", "802.3at", {"service:S1", "service:S2"}),  # the higher type serves the lower
        ("models", "KM-AP", "takes", "802.3at", {"service:S2"}),  # the lower type does not serve the higher
        ("ports", "U1.2", "gives", "802.3af", {"service:S1"}),  # a 24 V unit stays dark on a standard port
        ("ports", "U1.2", "gives", "nothing", {"service:S1"}),
        ("cables", "C1", "state", "out of use", {"service:S2"}),
        ("units", "U1", "state", "removed", set()),
        ("units", "U1", "state", "planned", set()),
    ],
)
def test_one_cell_changed__what_still_lives(
    tmp_path: Path, table: str, tag: str, column: str, text: str, left: set[str]
) -> None:
    assert alive(make(tmp_path, changed(packaged("two_rooms"), table, tag, column, text))) == left


@pytest.fixture(scope="module")
def two_rooms() -> Reach:
    """Rules of the packaged property, straight from its tables: no record on disk between them."""
    raw, faults = read_folder(Path(str(resources.files("pullstring.demo"))) / "two_rooms")
    said = understand(raw, known={}, today="2026-03-10")
    assert (faults, said.faults) == ([], ())
    entries = [
        Entry(f"e{n}", "TEC", "laptop", n, n, parse_when(s.at), "2026-03-10T20:00:00+00:00", s.body, key=s.key)
        for n, s in enumerate(said.statements, start=1)
    ]
    return build(replay(entries, today="2026-03-10"))


WHAT_GOES_DARK = [  # the table of that name in tests/journeys/kiln_cottage_by_head.md; a unit that is gone has no power
    ("switch:W1", "U1 U2 U3", "S1 S2"),
    ("socket:X1", "U1 U2 U3", "S1 S2"),
    ("unit:U1", "U1 U2 U3", "S1 S2"),
    ("cable:C1", "U2", "S1"),
    ("end:E1", "U2", "S1"),
    ("outlet:O1", "U2", "S1"),
    ("cable:C2", "U3", "S2"),
    ("end:E2", "U3", "S2"),
    ("outlet:O2", "U3", "S2"),
    ("unit:U4", "U4", "S1"),
    ("socket:X2", "U4", "S1"),
    ("circuit:CB", "U1 U2 U3 U4", "S1 S2"),
    ("cable:C3", "", ""),
    ("cable:C4", "", ""),
    ("cable:C4b", "", ""),
    ("cable:C5", "", ""),
]


@pytest.mark.parametrize(("removed", "units", "services"), WHAT_GOES_DARK, ids=[row[0] for row in WHAT_GOES_DARK])
def test_what_goes_dark__by_head(two_rooms: Reach, removed: str, units: str, services: str) -> None:
    assert goes_dark(two_rooms.rules, two_rooms.services, {removed}) == tuple(f"service:{s}" for s in services.split())
    powered = {u: ("P", f"unit:{u}") for u in ("U1", "U2", "U3", "U4")}
    assert goes_dark(two_rooms.rules, powered, {removed}) == tuple(units.split())


def test_what_goes_dark__each_alone_ends_it(two_rooms: Reach) -> None:
    """The sentence below that table names units, mains and cables; ends, outlets and ports on the way are left to it."""
    points = single_points(two_rooms.rules, two_rooms.services, two_rooms.keep)
    named = {e: dark for e, dark in points.items() if not e.startswith(("end:", "outlet:", "port:", "pair:", "jack:"))}
    for service, way in (("S1", "U4 X2 CB U1 X1 W1 C1 U2"), ("S2", "U1 X1 W1 CB C2 U3")):
        assert {e.partition(":")[2] for e, dark in named.items() if f"service:{service}" in dark} == set(way.split())


def test_what_goes_dark__nothing_on_this_property_is_taken_as_powered(two_rooms: Reach) -> None:
    """Every unit has a feed in the tables: a socket, or a port that gives what it takes."""
    assert two_rooms.assumed == ()


def test_service_used_at_the_box_it_comes_into__needs_that_box_powered(tmp_path: Path) -> None:
    """The feed alone brings nothing: the box takes mains from X2, and nothing else stands between."""
    rows = changed(packaged("two_rooms"), "services", "S1", "arrives_at", "unit:U4")
    reach = build(api.load(make(tmp_path, rows), ASKED))
    assert goes_dark(reach.rules, reach.services, {"socket:X2"}) == ("service:S1",)
    assert goes_dark(reach.rules, reach.services, {"socket:X1"}) == ("service:S2",)


def test_idle__one_loud_pair_is_enough_to_keep_it(tmp_path: Path) -> None:
    """Pair 1 was metered without volts, pair 2 with 48 V: the cable is not idle."""
    rows = packaged("two_rooms")
    for quantity, value, key in (("volts DC", "none", "p1"), ("volts AC", "none", "p2"), ("volts DC", "48 V", "p3")):
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
    asked = dataclasses.replace(ASKED, tags=("C3",))
    assert api.if_cut(make(tmp_path, rows), asked).answer["verdict"] == "ASK"


@pytest.mark.parametrize(
    ("subject", "dc", "ac", "verdict"),
    [
        ("cable:C3", "none", "none", "GO"),
        ("cable:C3", "0.2 V", "-0.1 V", "GO"),
        ("end:E3", "none", "none", "GO"),
        ("cable:C3", "-48 V", "none", "ASK"),  # the usual sign of telephone battery on the ring wire
        ("cable:C3", "48 V", "none", "ASK"),
        ("cable:C3", "none", "90 V", "ASK"),
        ("cable:C3", "> 0.5 V", "none", "ASK"),
        ("cable:C3", "< 60 V", "none", "ASK"),
    ],
)
def test_idle__by_the_volts_whichever_way_the_meter_was_held(
    tmp_path: Path, subject: str, dc: str, ac: str, verdict: str
) -> None:
    rows = packaged("two_rooms")
    blank = dict.fromkeys(rows["measurements"][0], "")
    for quantity, value in (("volts DC", dc), ("volts AC", ac)):
        rows["measurements"].append(
            {**blank, "subject": subject, "quantity": quantity, "value": value, "key": quantity, "grade": "metered"}
        )
    asked = dataclasses.replace(ASKED, tags=("C3",))
    assert api.if_cut(make(tmp_path, rows), asked).answer["verdict"] == verdict


def test_idle__a_reading_on_one_pair_is_heard_for_the_cable(tmp_path: Path) -> None:
    rows = packaged("two_rooms")
    blank = dict.fromkeys(rows["measurements"][0], "")
    for subject, quantity, value in (
        ("cable:C3", "volts DC", "none"),
        ("cable:C3", "volts AC", "none"),
        ("pair:C3.2", "volts DC", "-48 V"),
    ):
        rows["measurements"].append(
            {
                **blank,
                "subject": subject,
                "quantity": quantity,
                "value": value,
                "key": quantity + subject,
                "grade": "metered",
            }
        )
    asked = dataclasses.replace(ASKED, tags=("C3",))
    assert api.if_cut(make(tmp_path, rows), asked).answer["verdict"] == "ASK"

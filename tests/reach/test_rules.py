"""From the site to what is alive: switches, modes and guards, on the small property bent by one cell at a time."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from pullstring import api
from pullstring.reach.consequence import live
from pullstring.reach.rules import build
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

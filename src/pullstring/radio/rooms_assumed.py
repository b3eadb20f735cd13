"""What a room is judged by where the record says nothing: common practice or assumed, in `data/rooms_assumed.csv`, editable."""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Mapping


@dataclasses.dataclass(frozen=True)
class Rules:
    """How a room is judged.

    `points_share` of its points must have a level for the room to have it; intervals hold `interval_share` of cases.
    A second access point is named from `roaming_dbm` on, when the chance of that is at least `roaming_share`. An
    interval wider than `widest_db` is no answer, unless it ends below `hopeless_dbm`. A share of the air above
    `busy_percent` is a finding. A body about the device adds `body_spread_db` (one standard deviation). `edge_dbm` is the
    agreed edge by band where nobody agreed on another.
    """

    points_share: float
    interval_share: float
    roaming_dbm: float
    roaming_share: float
    widest_db: float
    hopeless_dbm: float
    busy_percent: float
    body_spread_db: float
    edge_dbm: Mapping[str, float]


def lines_of(name: str) -> list[dict[str, str]]:
    """The lines of one table of this room, as text."""
    text = (importlib.resources.files("pullstring.radio") / "data" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def assumed_rules() -> Rules:
    """The assumed rules."""
    c = {line["name"]: float(line["value"]) for line in lines_of("rooms_assumed.csv")}
    edges = {"2.4 GHz": c.pop("edge_2g4_dbm"), "5 GHz": c.pop("edge_5g_dbm"), "6 GHz": c.pop("edge_6g_dbm")}
    return Rules(**c, edge_dbm=edges)

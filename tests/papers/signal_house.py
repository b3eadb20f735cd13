"""Levels for the small invented house, shaped as the verb `signal` answers: by straight lines and flat wall losses.

Not the engine: a stand-in simple enough to be followed by hand, so that papers are tested without the laws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import shapely

from pullstring.model.asbuilt import Site
from pullstring.model.geometry import FloorPlan, contains, floor_plan
from pullstring.model.refs import Ref

BANDS = {"2.4 GHz": 2437.0, "5 GHz": 5500.0}
EIRP_DBM = 4.0
LOSS_DB = {"rubble": 24.0, "brick": 14.0, "lath": 6.0, "metal lath": 18.0}
DARK = ("R4",)
"""Rooms of which this house says that there is no ground to predict."""
SENDERS = {"A1": ("R1", 3.2, 3.1, False), "A2": ("R3", 8.0, 6.2, True)}


def level_dbm(plan: FloorPlan, band: str, spot: tuple[float, float], at: tuple[float, float]) -> float:
    """Free space (ITU-R P.525, in MHz and metres) and each wall once that the straight line crosses."""
    line = shapely.LineString([spot, at])
    crossed = [w for w in plan.walls if line.length and line.crosses(shapely.LineString([w.start, w.end]))]
    distance_m = max(0.5, math.dist(spot, at))
    free = 20 * math.log10(distance_m) + 20 * math.log10(BANDS[band]) - 27.55
    return EIRP_DBM - free - sum(LOSS_DB.get(w.hatch, 4.0) for w in crossed)


def field(
    site: Site, floor: str, band: str, step_m: float = 0.25, *, at: dict[str, Any] | None = None
) -> dict[str, Any]:
    """A grid over the rooms of a floor; what is outside or dark has no level."""
    plan = floor_plan(site, Ref("floor", floor))
    points = [p for r in plan.rooms for piece in r.pieces for p in piece]
    x0, y0 = (math.floor(min(p[i] for p in points)) for i in (0, 1))
    x1, y1 = (math.ceil(max(p[i] for p in points)) for i in (0, 1))
    xs = [x0 + step_m * (i + 0.5) for i in range(int((x1 - x0) / step_m))]
    ys = [y0 + step_m * (i + 0.5) for i in range(int((y1 - y0) / step_m))]
    levels: list[list[float | None]] = []
    unknown: list[list[bool]] = []
    spots = {t: (x, y) for t, (_, x, y, _) in SENDERS.items()} | (at or {})
    for y in ys:
        rooms = [next((r for r in plan.rooms if any(contains(p, (x, y)) for p in r.pieces)), None) for x in xs]
        unknown.append([r is not None and r.ref.tag in DARK for r in rooms])
        levels.append(
            [
                None
                if r is None or r.ref.tag in DARK
                else max(level_dbm(plan, band, s, (x, y)) for s in spots.values())
                for x, r in zip(xs, rooms, strict=True)
            ]
        )
    return {"floor": floor, "band": band, "x_m": xs, "y_m": ys, "level_dbm": levels, "unknown": unknown}


def _room(site: Site, room: Any, grids: dict[str, dict[str, Any]]) -> dict[str, Any]:
    bands = {}
    for band, grid in grids.items():
        inside = sorted(
            level
            for y, row in zip(grid["y_m"], grid["level_dbm"], strict=True)
            for x, level in zip(grid["x_m"], row, strict=True)
            if level is not None and any(contains(p, (x, y)) for p in room.pieces)
        )
        if inside:
            low, middle = inside[len(inside) // 10], inside[len(inside) // 2]
            bands[band] = {
                "level_dbm": low, "low_dbm": low - 5, "high_dbm": low + 5,
                "median_dbm": middle, "median_low_dbm": middle - 4, "median_high_dbm": middle + 4,
                "server": "A1", "second": "A2" if low > -70 else None, "second_dbm": -72.0 if low > -70 else None,
                "rate_mbps": [120.0, 310.0], "read_dbm": -66.0 if room.ref.tag == "R2" else None,
            }  # fmt: skip
    tag = room.ref.tag
    needs = [
        {"need": "ND-1", "what": "call", "band": b, "level_dbm": -67.0, "chance": 0.8}
        for b in ("5 GHz",)
        if b in bands and tag in ("R1", "R2")
    ]
    return {
        "room": tag, "name": room.name, "floor": "B0", "known": bool(bands), "bands": bands, "needs": needs,
        "why_not_known": None if bands else "too_wide",
    }  # fmt: skip


def rooms(site: Site, *, at: dict[str, Any] | None = None) -> list[dict[str, Any]]:
    """The rooms of the ground floor, and one above of which nothing is known."""
    grids = {band: field(site, "B0", band, 0.5, at=at) for band in BANDS}
    found = [_room(site, r, grids) for r in floor_plan(site, Ref("floor", "B0")).rooms]
    attic = {"room": "R6", "name": "Attic", "floor": "B1", "known": False, "bands": {}, "needs": []}
    return [*found, {**attic, "why_not_known": "no_sender"}]


def reading(
    key: str, room: str, x_m: float, y_m: float, read: float | None, predicted: float, *, doubted: bool = False
) -> dict[str, Any]:
    """One reading as the answer tells it."""
    off = None if read is None else read - predicted
    return {
        "key": key, "room": room, "x_m": x_m, "y_m": y_m, "floor": "B0", "band": "5 GHz", "read_dbm": read,
        "predicted_dbm": predicted, "low_dbm": predicted - 6, "high_dbm": predicted + 6, "off_db": off, "doubted": doubted,
    }  # fmt: skip


READINGS: Sequence[dict[str, Any]] = (
    reading("g1", "R2", 7.0, 1.2, -66.0, -62.4),
    reading("g2", "R1", 1.0, 1.0, -49.0, -51.2),
    reading("g3", "R3", 3.0, 4.7, -58.0, -72.0, doubted=True),
    reading("g4", "R5", 6.0, 6.3, None, -81.0),
)


def answer(site: Site, *, at: dict[str, Any] | None = None) -> dict[str, Any]:
    """The whole answer of `signal` for the small house."""
    return {
        "bands": list(BANDS),
        "edge_dbm": {"2.4 GHz": -67.0, "5 GHz": -67.0},
        "rooms": rooms(site, at=at),
        "senders": [
            {"sender": t, "room": r, "floor": "B0", "x_m": x, "y_m": y, "z_m": 2.5, "planned": p,
             "bands": {"2.4 GHz": {"channel": "6", "eirp_dbm": 20.0}, "5 GHz": {"channel": "36", "eirp_dbm": 20.0}}}
            for t, (r, x, y, p) in SENDERS.items()
        ],
        "readings": [dict(r) for r in READINGS],
        "learned": {
            "offsets": [{"device": "phone", "db": -5.1, "low_db": -7.0, "high_db": -3.2}],
            "exponent": {"value": 2.1, "low": 1.9, "high": 2.3},
            "walls": [
                {"wall_type": "W5", "band": "5 GHz", "prior_db": 16.0, "db": 18.2, "low_db": 15.0, "high_db": 21.0}
            ],
        },
        "leave_one_out_db": 4.1,
        "before_db": 7.9,
        "next": [
            {"room": "R5", "x_m": 5.6, "y_m": 7.0, "floor": "B0", "minutes": 1.2, "narrows_db": 1.4},
            {"room": "R6", "x_m": 4.0, "y_m": 2.0, "floor": "B1", "minutes": 2.6, "narrows_db": 0.6},
        ],
        "channels": {},
        "links": [],
        "limits": [],
        "not_known": [r["room"] for r in rooms(site, at=at) if not r["known"]],
    }  # fmt: skip

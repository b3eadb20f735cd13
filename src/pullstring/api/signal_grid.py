"""Levels on a grid over one floor, for lines on a drawing: the strongest access point at each spot, as learned.

Lines are drawn from the points by which rooms are judged, about a metre apart: a level is a mean over about a metre, and so
a drawing says what the rooms' answers say and traces nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from pullstring.api.signal_worked import Worked, worked
from pullstring.api.signalling import no_such_band
from pullstring.model.asbuilt import once_a_site
from pullstring.model.geometry import FloorPlan, floor_plan
from pullstring.papers.signal_fitted import fitted
from pullstring.radio.learning_levels import foretell

if TYPE_CHECKING:
    from pullstring.model.answers import Request
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.radio.learning_rows import Array

LEAST_DBM = -130.0
MOST_SPOTS = 250_000  # ours: spots of one grid; one over a larger floor is wider


def grid(site: Site, request: Request, *, floor: Ref, band: str, step_m: float) -> dict[str, Any]:
    """`x_m`, `y_m` in the building's axes; `level_dbm` and `unknown` in rows by y, None where nothing is told."""
    work = worked(site, planned=False, doors="usual", even=False, seed=request.seed)
    if band not in work.bands:
        raise no_such_band(band, work.bands)
    return _grids(site, floor=floor, step_m=step_m, seed=request.seed)[band]


@once_a_site
def _grids(site: Site, *, floor: Ref, step_m: float, seed: int) -> dict[str, dict[str, Any]]:
    work = worked(site, planned=False, doors="usual", even=False, seed=seed)
    plan = floor_plan(site, floor)
    xs, ys, room_of = _spots(plan, step_m)
    level = np.full((len(work.bands), *room_of.shape), np.nan)
    if (room_of >= 0).any() and any(not s.planned for s in work.scene.senders):
        _fill(work, [r.ref.tag for r in plan.rooms], _on_site(plan, xs, ys), room_of, level)
    found = {}
    for b, band in enumerate(work.bands):
        known = [bool((a := work.answers.get(r.ref.tag)) and band in a.bands) for r in plan.rooms]
        dark = (room_of >= 0) & ~np.array([*known, True])[room_of]
        shown = np.where(dark, np.nan, level[b])
        found[band] = {
            "floor": floor.tag,
            "band": band,
            "x_m": [float(x) for x in xs],
            "y_m": [float(y) for y in ys],
            "level_dbm": [[None if np.isnan(v) else float(v) for v in row] for row in shown],
            "unknown": [[bool(v) for v in row] for row in dark],
        }
    return found


def _spots(plan: FloorPlan, step_m: float) -> tuple[Array, Array, Any]:
    """Axes of the grid, and in which room each of its points lies, -1 for none."""
    corners = np.array([p for r in plan.rooms for piece in r.pieces for p in piece], float).reshape(-1, 2)
    if not len(corners):
        return np.zeros(0), np.zeros(0), np.zeros((0, 0), int)
    low, high = corners.min(0), corners.max(0)
    step_m = max(step_m, float(np.sqrt(np.prod(high - low) / MOST_SPOTS)))
    xs, ys = (np.arange(a + step_m / 2, b, step_m) for a, b in zip(low, high, strict=True))
    x, y = np.meshgrid(xs, ys)
    room_of = np.full(x.shape, -1)
    for number, room in enumerate(plan.rooms):
        for piece in room.pieces:
            room_of[shapely.contains_xy(shapely.make_valid(shapely.Polygon(piece)), x, y) & (room_of < 0)] = number
    return xs, ys, room_of


def _on_site(plan: FloorPlan, xs: Array, ys: Array) -> Array:
    """The points of a grid on the site plan. [rows, columns, 2] [m]"""
    x, y = np.meshgrid(xs, ys)
    spots = [plan.frame.to_site((float(a), float(b)), 0.0)[:2] for a, b in zip(x.ravel(), y.ravel(), strict=True)]
    return np.array(spots, float).reshape(*x.shape, 2)


def _strongest(work: Worked) -> Array:
    """Level of the strongest access point that is there, as the device reads it. [bands, points] [dBm]"""
    learned, device = work.base.checked.learned, work.base.device
    there = [k for k, s in enumerate(work.scene.senders) if not s.planned]
    level = foretell(learned, work.ground).level_dbm[:, there]
    shown = np.array([learned.offset(device, b)[0] if device else 0.0 for b in work.bands])
    return np.asarray(np.where(np.isnan(level), LEAST_DBM, level).max(axis=1) + shown[:, None])


def _fill(work: Worked, rooms: list[str], spots: Array, room_of: Any, level: Array) -> None:
    """Level between the judged points of each room."""
    strongest = _strongest(work)
    for number, name in enumerate(rooms):
        at, here = list(work.held.rooms.get(name, ())), room_of == number
        if at and here.any():
            level[:, here] = fitted(work.held.traced.points[at][:, :2], strongest[:, at], spots[here])

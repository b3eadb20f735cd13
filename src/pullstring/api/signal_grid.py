"""Levels on a grid over one floor, for lines on a drawing: the strongest access point at each spot, as learned."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from pullstring.api.signal_worked import Worked, kinds_for, worked
from pullstring.api.signalling import no_such_band
from pullstring.model.asbuilt import once_a_site
from pullstring.model.geometry import FloorPlan, floor_plan
from pullstring.radio.learning_levels import Ground, foretell
from pullstring.radio.scene_assumed import assumed
from pullstring.radio.traced import trace_scene

if TYPE_CHECKING:
    from pullstring.model.answers import Request
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref

LEAST_DBM = -130.0


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
    xs, ys, inside, room_of = _spots(plan, step_m)
    level = np.full((len(work.bands), inside.size), np.nan)
    if inside.any() and work.scene.senders:
        level[:, inside.ravel()] = _levels(site, work, plan, floor, xs, ys, inside)
    found = {}
    for b, band in enumerate(work.bands):
        known = {r.ref.tag: bool((a := work.answers.get(r.ref.tag)) and band in a.bands) for r in plan.rooms}
        dark = np.array([r >= 0 and not known[plan.rooms[r].ref.tag] for r in room_of.ravel()]).reshape(inside.shape)
        shown = np.where(dark, np.nan, level[b].reshape(inside.shape))
        found[band] = {
            "floor": floor.tag,
            "band": band,
            "x_m": [float(x) for x in xs],
            "y_m": [float(y) for y in ys],
            "level_dbm": [[None if np.isnan(v) else float(v) for v in row] for row in shown],
            "unknown": [[bool(v) for v in row] for row in dark],
        }
    return found


def _spots(plan: FloorPlan, step_m: float) -> tuple[Any, Any, Any, Any]:
    """Axes of the grid, which of its points lie in a room, and in which."""
    corners = np.array([p for r in plan.rooms for piece in r.pieces for p in piece], float).reshape(-1, 2)
    if not len(corners):
        return np.zeros(0), np.zeros(0), np.zeros((0, 0), bool), np.zeros((0, 0), int)
    low, high = corners.min(0), corners.max(0)
    xs, ys = (np.arange(a + step_m / 2, b, step_m) for a, b in zip(low, high, strict=True))
    x, y = np.meshgrid(xs, ys)
    room_of = np.full(x.shape, -1)
    for number, room in enumerate(plan.rooms):
        for piece in room.pieces:
            room_of[shapely.contains_xy(shapely.make_valid(shapely.Polygon(piece)), x, y) & (room_of < 0)] = number
    return xs, ys, room_of >= 0, room_of


def _levels(site: Site, work: Worked, plan: FloorPlan, floor: Ref, xs: Any, ys: Any, inside: Any) -> Any:
    """Level of the strongest access point that is there, at the points in rooms. [bands, points]"""
    thing = site.get(floor)
    height = ((thing.number("z_m") if thing else None) or 0.0) + assumed("judging_height_m")
    x, y = np.meshgrid(xs, ys)
    points = [plan.frame.to_site((float(a), float(b)), height) for a, b in zip(x[inside], y[inside], strict=True)]
    scene = work.scene
    kinds = kinds_for(scene, len(scene.senders), len(points))
    traced = trace_scene(dataclasses.replace(scene), np.array(points), bands=work.bands, kinds=kinds)
    learned, device = work.base.checked.learned, work.base.device
    told = foretell(learned, Ground.of(traced).moved_to(learned))
    shown = np.array([learned.offset(device, b)[0] if device else 0.0 for b in work.bands])[:, None]
    there = [k for k, s in enumerate(scene.senders) if not s.planned]
    if not there:
        return np.full((len(work.bands), len(points)), np.nan)
    sent = np.where(np.isnan(told.level_dbm), LEAST_DBM, told.level_dbm)[:, there]
    return sent.max(axis=1) + shown

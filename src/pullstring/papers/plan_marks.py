"""Marks that say how a thing stands: work state, joints, the frame of what may not be touched. Plain geometry, all ours.

Every mark reads without colour; each stands with its word in the key.
"""

from __future__ import annotations

import math

from pullstring.papers import svg
from pullstring.papers.plan_field import Box
from pullstring.papers.svg import Point, Sheet

RING = 0.08
JOINT = 0.13
FRAME = 0.09  # from a symbol to its frame
BARS = 0.06  # from the frame to its second bars
WORK = ("planned", "pulled", "measured", "fault")


def ring(work: str, at: Point, *, k: float) -> list[str]:
    """The work state at a point of the drawing: open, half, full, or with a slash."""
    x, y, r = at[0], at[1], RING * k
    if work == "planned":
        return [svg.circle(at, r, "hollow")]
    if work == "measured":
        return [svg.circle(at, r, "is")]
    if work == "pulled":
        half = f"M{svg.num(x)} {svg.num(y - r)}A{svg.num(r)} {svg.num(r)} 0 0 0 {svg.num(x)} {svg.num(y + r)}Z"
        return [svg.circle(at, r, "hollow"), svg.stroke(half, "is")]
    d = r * 1.35
    return [svg.circle(at, r, "hollow"), svg.stroke(svg.path([(x - d, y + d), (x + d, y - d)]), "isline")]


def joint(style: str, at: Point, *, k: float) -> list[str]:
    """A joint at a point of the drawing, by its style."""
    x, y, r = at[0], at[1], JOINT * k
    diamond = svg.path([(x - r, y), (x, y - r), (x + r, y), (x, y + r)], closed=True)
    if style == "splice":
        return [svg.stroke(diamond, "is")]
    if style == "tap":
        return [svg.stroke(svg.path([(x - r, y - r * 0.8), (x + r, y - r * 0.8), (x, y + r * 0.9)], closed=True), "is")]
    if style == "clip":
        bars = "".join(svg.path([(x + d * r, y - r), (x + d * r, y + r)]) for d in (-0.6, 0.6))
        return [svg.stroke(bars + svg.path([(x - 0.6 * r, y), (x + 0.6 * r, y)]), "isline")]
    if style == "loop":
        corners = [(x + r * math.cos(math.radians(a)), y + r * math.sin(math.radians(a))) for a in range(0, 360, 60)]
        return [svg.stroke(svg.path(corners, closed=True), "hollow")]
    if style == "series":
        return [
            svg.stroke(diamond, "hollow"),
            svg.stroke(svg.path([(x - r, y), (x + r, y)]), "isline"),
        ]
    return [svg.stroke(diamond, "hollow")]


def framed(box: Box, *, k: float, strict: bool) -> Box:
    """The box that a frame around a box fills."""
    side = (FRAME + (BARS if strict else 0) + 0.02) * k
    up = (FRAME + 0.02) * k
    return box[0] - side, box[1] - up, box[2] + side, box[3] + up


def frame(box: Box, sheet: Sheet, *, k: float, strict: bool) -> list[str]:
    """The frame around a box of the building: with second bars at both sides for what may not be touched."""
    x0, y0, x1, y1 = box[0] - FRAME * k, box[1] - FRAME * k, box[2] + FRAME * k, box[3] + FRAME * k
    around = sheet.path([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)
    if not strict:
        return [svg.stroke(around, "guard keep")]
    bars = "".join(sheet.path([(x, y0), (x, y1)]) for x in (x0 - BARS * k, x1 + BARS * k))
    return [svg.stroke(around + bars, "guard")]


def small_frame(at: Point, *, k: float) -> list[str]:
    """The barred frame by itself, at a point of the drawing."""
    x, y, h = at[0], at[1], 0.12 * k
    around = svg.path(
        [(x - 0.06 * k, y - h), (x + 0.06 * k, y - h), (x + 0.06 * k, y + h), (x - 0.06 * k, y + h)], closed=True
    )
    bars = "".join(svg.path([(x + d * k, y - h), (x + d * k, y + h)]) for d in (-0.12, 0.12))
    return [svg.stroke(around + bars, "guard")]

"""Where the number of a line of equal level stands: in the line, at its straightest stretch, on nothing else."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import numpy as np

from pullstring.papers import plan_letters
from pullstring.papers.plan_field import Box, Field, Numbers
from pullstring.papers.signal_contours import AGREED, Contour
from pullstring.papers.svg import Point

ALONG = 0.1  # ours, at 1:100: how finely places on a line are tried
AIR = 0.05  # ours, at 1:100: between a number and what stands near
BENT = 0.93  # ours: chord over line; a more bent stretch bears no number
AGAIN = 7.0  # ours, at 1:100: a line longer than this bears a second number
TALL = 0.8  # height of digits in their letter size, with a little air


@dataclasses.dataclass(frozen=True)
class Number:
    """A number in its line: its middle and its turn in the building's axes, never upside down."""

    words: str
    css: str
    at: Point
    turn_deg: float


def words_of(level_dbm: int) -> str:
    """A level as drawings write it, with the true minus sign (U+2212)."""
    return str(level_dbm).replace("-", "−")


def numbers(lines: Sequence[Contour], soft: Field, boxes: Iterable[Box], *, k: float) -> list[Number]:
    """Numbers for as many lines as have a free straight stretch; the agreed edge chooses first."""
    taken = Field(soft.x0, soft.y0, soft.cell, (soft.weight > 0).astype(float))
    for box in boxes:
        taken.add_box(box)
    found: list[Number] = []
    for line in sorted(lines, key=lambda c: (c.kind != AGREED, -c.length_m, c.points)):
        for share in _shares(line, k):
            if (number := _best(line, share, taken, k)) is not None:
                found.append(number)
                taken.add_polygon(_corners(number, k))
    return found


def _shares(line: Contour, k: float) -> list[tuple[float, float]]:
    """Parts of a line that bear a number each."""
    return [(0.0, 0.5), (0.5, 1.0)] if line.length_m > AGAIN * k else [(0.0, 1.0)]


def css_of(line: Contour) -> str:
    """The class of a line's number."""
    return "isonum edge" if line.kind == AGREED else "isonum"


def _size(words: str, css: str, k: float) -> tuple[float, float]:
    return plan_letters.width(words, css) * k, plan_letters.FACE_OF[css][1] * TALL * k


def _best(line: Contour, share: tuple[float, float], taken: Field, k: float) -> Number | None:
    words, css = words_of(line.level_dbm), css_of(line)
    wide, _ = _size(words, css, k)
    need = wide + 2 * AIR * k
    points = np.asarray(line.points)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    low, high = share[0] * run[-1] + need / 2, share[1] * run[-1] - need / 2
    if high < low:
        return None
    middle = np.arange(low, high + 1e-9, ALONG * k)
    ends = [np.column_stack([np.interp(middle + s, run, points[:, n]) for n in (0, 1)]) for s in (-need / 2, need / 2)]
    chord = ends[1] - ends[0]
    straight = np.hypot(chord[:, 0], chord[:, 1]) / need
    at = np.column_stack([np.interp(middle, run, points[:, n]) for n in (0, 1)])
    cost = np.where(straight >= BENT, np.round(1 - straight, 3), np.inf)
    cost += 0.02 * np.abs(middle - (low + high) / 2) / max(high - low, 1e-9)
    for n in np.argsort(cost, kind="stable"):
        if not math.isfinite(cost[n]):
            return None
        number = Number(words, css, (float(at[n, 0]), float(at[n, 1])), _upright(chord[n]))
        if _free(taken, number, k):
            return number
    return None


def _upright(chord: Numbers) -> float:
    turn = math.degrees(math.atan2(chord[1], chord[0]))
    return round((turn + 90) % 180 - 90, 1)


def _corners(number: Number, k: float) -> list[Point]:
    return [_at(number, u, v, k) for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


def _at(number: Number, u: float, v: float, k: float) -> Point:
    """A point of a number's own box, from -1 to 1 along and across."""
    wide, high = _size(number.words, number.css, k)
    along, across = u * (wide / 2 + AIR * k), v * (high / 2 + AIR * k)
    turn = math.radians(number.turn_deg)
    return (
        number.at[0] + along * math.cos(turn) - across * math.sin(turn),
        number.at[1] + along * math.sin(turn) + across * math.cos(turn),
    )


def _free(taken: Field, number: Number, k: float) -> bool:
    rows, columns = taken.weight.shape
    for u in np.linspace(-1, 1, 9):
        for v in (-1.0, -0.5, 0.0, 0.5, 1.0):
            x, y = _at(number, float(u), v, k)
            i, j = math.floor((x - taken.x0) / taken.cell), math.floor((y - taken.y0) / taken.cell)
            if not (0 <= i < columns and 0 <= j < rows) or taken.weight[j, i] > 0:
                return False
    return True

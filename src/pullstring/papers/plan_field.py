"""Areas of a floor as a field of small squares, so that what any box covers is known by four look-ups.

Sums over boxes are taken from a table of running sums (Crow 1984, "Summed-area tables for texture mapping"), for all
candidate boxes at once.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pullstring.papers.svg import Point

Numbers = NDArray[np.float64]
Box = tuple[float, float, float, float]
MOST_SQUARES = 1_500_000


@dataclasses.dataclass
class Field:
    """Squares over (x0, y0, x1, y1) in the building's axes, each with a weight of how much stands there."""

    x0: float
    y0: float
    cell: float
    weight: Numbers
    _table: Numbers | None = None

    @classmethod
    def over(cls, bounds: Box, cell: float) -> Field:
        """An empty field; squares grow where there would be too many."""
        x0, y0, x1, y1 = bounds
        cell = max(cell, math.sqrt(max(x1 - x0, cell) * max(y1 - y0, cell) / MOST_SQUARES))
        columns, rows = math.ceil((x1 - x0) / cell) + 1, math.ceil((y1 - y0) / cell) + 1
        return cls(x0, y0, cell, np.zeros((rows, columns)))

    def add_polygon(self, ring: Sequence[Point], value: float = 1.0) -> None:
        """Raise the squares whose middle lies in a polygon to a value (even-odd rule)."""
        points = np.asarray(ring, dtype=float)
        (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
        i0, i1, j0, j1 = self._window((left, low, right, high))
        if i1 <= i0 or j1 <= j0:
            return
        x = self.x0 + (np.arange(i0, i1) + 0.5) * self.cell
        y = self.y0 + (np.arange(j0, j1) + 0.5) * self.cell
        inside = np.zeros((j1 - j0, i1 - i0), dtype=bool)
        for (ax, ay), (bx, by) in zip(points, np.roll(points, -1, axis=0), strict=True):
            if ay == by:
                continue
            rows = (ay > y) != (by > y)
            crossing = ax + (y[rows] - ay) / (by - ay) * (bx - ax)
            inside[rows] ^= x[None, :] < crossing[:, None]
        part = self.weight[j0:j1, i0:i1]
        part[inside] = np.maximum(part[inside], value)
        self._table = None

    def add_box(self, box: Box, value: float = 1.0) -> None:
        """Raise all squares that a box touches to a value."""
        i0, i1, j0, j1 = self._window(box)
        part = self.weight[j0:j1, i0:i1]
        np.maximum(part, value, out=part)
        self._table = None

    def _window(self, box: Box) -> tuple[int, int, int, int]:
        rows, columns = self.weight.shape
        return (
            min(max(math.floor((box[0] - self.x0) / self.cell), 0), columns),
            min(max(math.ceil((box[2] - self.x0) / self.cell), 0), columns),
            min(max(math.floor((box[1] - self.y0) / self.cell), 0), rows),
            min(max(math.ceil((box[3] - self.y0) / self.cell), 0), rows),
        )

    def sums(self, boxes: Numbers) -> Numbers:
        """For each box (rows of x0, y0, x1, y1) the weight of what it covers, in square metres."""
        if self._table is None:
            rows, columns = self.weight.shape
            self._table = np.zeros((rows + 1, columns + 1))
            np.cumsum(np.cumsum(self.weight, axis=0), axis=1, out=self._table[1:, 1:])
        i0, i1, j0, j1 = self._corners(boxes)
        t = self._table
        return (t[j1, i1] - t[j0, i1] - t[j1, i0] + t[j0, i0]) * self.cell**2

    def full(self, boxes: Numbers) -> NDArray[np.bool_]:
        """Whether every square that a box touches has the weight 1 at least."""
        i0, i1, j0, j1 = self._corners(boxes)
        return self.sums(boxes) >= (i1 - i0) * (j1 - j0) * self.cell**2 * (1 - 1e-9)

    def _corners(self, boxes: Numbers) -> tuple[NDArray[np.int64], ...]:
        rows, columns = self.weight.shape
        near = 1e-6
        i0 = np.clip(np.floor((boxes[:, 0] - self.x0) / self.cell + near), 0, columns).astype(np.int64)
        i1 = np.clip(np.ceil((boxes[:, 2] - self.x0) / self.cell - near), 0, columns).astype(np.int64)
        j0 = np.clip(np.floor((boxes[:, 1] - self.y0) / self.cell + near), 0, rows).astype(np.int64)
        j1 = np.clip(np.ceil((boxes[:, 3] - self.y0) / self.cell - near), 0, rows).astype(np.int64)
        return i0, np.maximum(i0, i1), j0, np.maximum(j0, j1)

    def like(self) -> Field:
        """An empty field over the same squares."""
        return Field(self.x0, self.y0, self.cell, np.zeros_like(self.weight))

    def widened(self, by: float) -> Field:
        """The field with everything nearer than `by` to a filled square, along the axes, filled as well."""
        reach = max(1, round(by / self.cell))
        table = np.zeros((self.weight.shape[0] + 2 * reach + 1, self.weight.shape[1] + 2 * reach + 1))
        padded = np.pad(self.weight, reach)
        np.cumsum(np.cumsum(padded, axis=0), axis=1, out=table[1:, 1:])
        n = 2 * reach + 1
        near = table[n:, n:] - table[:-n, n:] - table[n:, :-n] + table[:-n, :-n]
        return Field(self.x0, self.y0, self.cell, (near > 0.5).astype(float))

    def inner(self, by: float) -> Field:
        """What of the field is farther than `by` from its edge."""
        outside = Field(self.x0, self.y0, self.cell, (self.weight < 0.5).astype(float)).widened(by)
        return Field(self.x0, self.y0, self.cell, 1.0 - outside.weight)

    def cells(self, boxes: Numbers) -> Numbers:
        """How many squares each box touches."""
        i0, i1, j0, j1 = self._corners(boxes)
        return ((i1 - i0) * (j1 - j0)).astype(float)

"""Which sets of outlets a reading of ohms may be: all combinations of the placed resistors that come near it."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pullstring.trace.ohms_on_net import LEAST_OHM, Doubt, fit, foreign
from pullstring.trace.readings import Ohms
from pullstring.trace.scene import NO_NET, Net

Floats = npt.NDArray[np.float64]
MOST_SETS = 60_000
"""Ours: larger sets are left out when there would be more combinations than these."""
WIDE_SDS = 6.0
"""Ours: a set further than this from a reading is not looked at."""
LEAST_LOG = 10.0
"""Ours: a set whose likelihood lies e^10 below that of 'something else' is let go."""


@dataclasses.dataclass(frozen=True)
class Unit:
    """Ends that are known to be joined, read as one; `opened` when its clips were lifted and it stands alone."""

    ends: Net
    readings: tuple[Ohms, ...]
    opened: bool = False


@dataclasses.dataclass(frozen=True)
class Options:
    """What a unit may carry: the log of the likelihood for each set of outlets that fits, and for something else."""

    unit: Unit
    sets: dict[Net, float]
    other: float


class Combinations:
    """All sets of up to so many placed outlets, and what they measure together."""

    def __init__(self, outlets: Sequence[int], up_to: int) -> None:
        self.outlets = list(outlets)
        self.up_to, total = 0, 1
        for size in range(1, min(up_to, len(self.outlets)) + 1):
            total += math.comb(len(self.outlets), size)
            if total > MOST_SETS:
                break
            self.up_to = size
        self.members = [
            np.array(list(itertools.combinations(range(len(self.outlets)), size)), dtype=np.int64)
            for size in range(1, self.up_to + 1)
        ]

    def near(self, reading: Ohms) -> set[Net]:
        """The sets whose resistance lies near a reading, the line and the baseline taken into account."""
        siemens = np.array([1 / max(reading.placed[o], LEAST_OHM) if o in reading.placed else 0 for o in self.outlets])
        base = 1 / max(reading.baseline, LEAST_OHM) if reading.baseline is not None else 0.0
        found = {NO_NET} if self._fits(np.array([base]), reading)[0] else set()
        for rows in self.members:
            for row in rows[self._fits(siemens[rows].sum(axis=1) + base, reading)]:
                found.add(frozenset(self.outlets[m] for m in row))
        return found

    def _fits(self, siemens: Floats, reading: Ohms) -> npt.NDArray[np.bool_]:
        if reading.ohm is None:
            bare: npt.NDArray[np.bool_] = siemens == 0
            return bare
        read, wide = max(reading.ohm, LEAST_OHM), math.exp(WIDE_SDS * reading.off)
        with np.errstate(divide="ignore"):
            ohms = np.where(siemens > 0, 1 / siemens, np.inf)
        near: npt.NDArray[np.bool_] = (ohms <= read * wide) & ((ohms + reading.line_ohm[1]) * wide >= read)
        return near


def options_of(unit: Unit, combinations: Combinations, *, doubt: Doubt) -> Options:
    """The sets of outlets that fit all readings of a unit, and how likely these are when something else hangs on it."""
    fitting = None
    for reading in unit.readings:
        near = combinations.near(reading)
        fitting = near if fitting is None else fitting & near
    other = sum(math.log(foreign(r, doubt=doubt)) for r in unit.readings)
    sound = math.log(1 - doubt.something_else) * len(unit.readings)
    found: dict[Net, float] = {}
    for outlets in sorted(fitting or {NO_NET}, key=lambda s: (len(s), sorted(s))):
        chance = [fit(r, (r.placed[o] for o in sorted(outlets) if o in r.placed)) for r in unit.readings]
        log = sound + sum(math.log(c) for c in chance) if min(chance, default=1.0) > 0 else -math.inf
        if log > other - LEAST_LOG:
            found[outlets] = log
    return Options(unit, found, other)

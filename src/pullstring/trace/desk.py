"""A working desk: readings come and go, and the odds are there when they are asked for."""

from __future__ import annotations

from collections.abc import Iterable

from pullstring.trace import readings as read
from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.exact import MOST_OUTLETS
from pullstring.trace.posterior import Posterior, odds_of
from pullstring.trace.propagate import Messages
from pullstring.trace.relations import Floats
from pullstring.trace.scene import Scene
from pullstring.trace.table import Table


class Desk:
    """Odds that follow the readings; worked out when asked for, starting from where they stood."""

    def __init__(self, scene: Scene, *, prior: Prior, noise: Noise, up_to: int = MOST_OUTLETS) -> None:
        self.scene, self.prior, self.noise, self.up_to = scene, prior, noise, up_to
        self._table = Table(scene, prior=prior, noise=noise)
        self._start: Messages | None = None
        self._odds: Posterior | None = None

    def add(self, reading: read.Any) -> None:
        """Count a reading; the same class and key again replaces it."""
        self._table.add(reading)
        self._odds = None

    def add_all(self, readings: Iterable[read.Any]) -> None:
        """Count several."""
        for reading in readings:
            self.add(reading)

    def take_back(self, reading: read.Any) -> None:
        """Forget a reading."""
        self._table.take_back(reading)
        self._odds = None

    @property
    def readings(self) -> tuple[read.Any, ...]:
        """All that counts, in the order told."""
        return tuple(self._table.read.values())

    def posterior(self) -> Posterior:
        """The odds after all readings."""
        if self._odds is None:
            self._odds, self._start = odds_of(self._table, self._start, up_to=self.up_to)
        return self._odds

    def beliefs(self) -> Floats:
        """Chances [outlets, hypotheses + 1] over `scene.hypotheses`, 'no cable here' last."""
        return self.posterior().beliefs

    def logs(self) -> Floats:
        """What was read of each outlet alone, as natural logs over the same columns."""
        return self._table.logs

    def adopt(self, table: Table) -> None:
        """Let readings weigh as in another table of the same readings, such as one with instruments doubted."""
        self._table, self._start, self._odds = table, None, None

    def copy(self) -> Desk:
        """Another desk with the same readings."""
        other = Desk(self.scene, prior=self.prior, noise=self.noise, up_to=self.up_to)
        other._table, other._start, other._odds = self._table.copy(), self._start, self._odds
        return other

"""The odds of single outlets while readings come in: the rest of the house as it was last worked out, the outlet as read since.

Working all odds out anew after every touch would be slow and change little: a reading of one outlet moves that outlet at
once, and the others when the whole is worked out again (`again`).
"""

from __future__ import annotations

import numpy as np

from pullstring.trace.assumed import Sure
from pullstring.trace.desk import Desk
from pullstring.trace.relations import Floats
from pullstring.trace.scene import NO_NET, Net


class Rows:
    """Chances of each outlet over hypotheses, and how sure that makes it."""

    def __init__(self, desk: Desk, sure: Sure) -> None:
        self.desk, self.sure = desk, sure
        nets = [net for _, net in desk.scene.hypotheses] + [NO_NET]
        self.nets = list(dict.fromkeys(nets))
        place = {net: n for n, net in enumerate(self.nets)}
        self._net_of = np.array([place[net] for net in nets], dtype=np.int64)
        self.again()

    def again(self) -> None:
        """Work out the whole house from all readings."""
        beliefs = self.desk.beliefs()
        self._rest = np.log(np.maximum(beliefs, 1e-300)) - self.desk.logs()

    def of(self, outlet: int) -> Floats:
        """Chances of an outlet over the hypotheses, 'no cable here' last."""
        logs = self._rest[outlet] + self.desk.logs()[outlet]
        weights = np.exp(logs - logs.max())
        found: Floats = weights / weights.sum()
        return found

    def likeliest(self, outlet: int) -> tuple[Net, float]:
        """The likeliest net and its chance."""
        chances = np.bincount(self._net_of, self.of(outlet), minlength=len(self.nets))
        best = int(chances.argmax())
        return self.nets[best], float(chances[best])

    def settled(self, outlet: int) -> bool:
        """Whether an outlet is sure enough."""
        net, chance = self.likeliest(outlet)
        return chance >= (self.sure.net if net else self.sure.none)

    def short_of(self, outlet: int) -> float:
        """Bits by which an outlet is open."""
        chances = np.bincount(self._net_of, self.of(outlet), minlength=len(self.nets))
        return float(-(chances * np.log2(np.maximum(chances, 1e-300))).sum())

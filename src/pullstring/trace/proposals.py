"""Pairings that are sure enough to be put before a person, each with the grade that what was done allows and no higher.

House rules: odds alone make nothing more than assumed. A tone counts as toned only if the pair was off the block and the tone
stopped when it was shorted at the other end; a code (a numbered remote, a coded plug, a resistor of ours) that was read at the
other end counts alike. A net of several ends is proposed only for ends on which something was done.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping, Sequence

from pullstring.trace import readings as read
from pullstring.trace.ohms_on_net import log_likelihood
from pullstring.trace.posterior import Posterior
from pullstring.trace.scene import Net, Scene
from pullstring.trace.standing import Standing, State

GRADES = {
    "tone": "toned",
    "remote": "toned",
    "plug": "toned",
    "resistor": "toned",
    "marks": "seen",
    "tone heard": "told",
    "left over": "assumed",
}
"""The grade that each way of knowing allows, best first."""
WEIGHS = 2.3
"""Ours: ohms speak for a pairing from ten times as likely on (natural log)."""
LOUD = 2
Care = Callable[[str], frozenset[str]]
"""By entry: what care was taken, of 'isolated', 'confirmed', 'marks'."""


@dataclasses.dataclass(frozen=True)
class Proposal:
    """An end that goes to an outlet: how that is known, the chance, and the entries."""

    end: int
    outlet: int
    how: str
    chance: float
    because: tuple[str, ...]

    @property
    def grade(self) -> str:
        """The grade that a claim of it may bear."""
        return GRADES[self.how]


def proposals(
    stands: Sequence[Standing],
    odds: Posterior,
    readings: Iterable[read.Any],
    *,
    scene: Scene,
    care: Care,
    sure_net: float,
) -> tuple[Proposal, ...]:
    """What is sure enough, by outlet.

    Parameters
    ----------
    stands : sequence of Standing
        How each outlet stands, by number; only settled ones on a net are looked at.
    readings : iterable
        All that was read.
    care : callable
        What care was taken at an entry.
    sure_net : float
        From which chance on the own end of an outlet is settled. [share]
    """
    log = list(readings)
    believed = {one.outlet: one.best[0] for one in stands if one.state is State.SURE}
    rules = _Rules(scene, odds, believed, care, sure_net)
    return tuple(proposal for one in stands if one.state is State.SURE for proposal in _of(one, log, rules))


@dataclasses.dataclass(frozen=True)
class _Rules:
    scene: Scene
    odds: Posterior
    believed: Mapping[int, Net]
    care: Care
    sure_net: float

    def alone(self, reading: read.Any, end: int, outlet: int, net: Net) -> bool:
        """Whether a reading at an end speaks of this end alone: it is no block's, the pair was off it, or the block was open."""
        if len(net) == 1 or self.odds.own[outlet, end] >= self.sure_net:
            return True
        return self.scene.block_of[end] in reading.opened or any("isolated" in self.care(e) for e in reading.because)

    def how(self, reading: read.Any) -> str:
        """The way of knowing that a reading is."""
        taken = frozenset[str]().union(*(self.care(entry) for entry in reading.because))
        if isinstance(reading, read.Tone):
            return "tone" if taken >= {"isolated", "confirmed"} else "tone heard"
        if isinstance(reading, read.Leaning):
            return "marks" if "marks" in taken else "left over"
        return {read.Remote: "remote", read.Plugs: "plug", read.Ohms: "resistor"}[type(reading)]

    def speaks(self, reading: read.Any, outlet: int, end: int, net: Net) -> bool:
        """Whether a reading by itself says that this outlet is on this end."""
        match reading:
            case read.Tone():
                return (reading.outlet, reading.end, reading.level) == (outlet, end, LOUD)
            case read.Remote():
                return (reading.outlet, reading.end, reading.hit) == (outlet, end, True)
            case read.Plugs():
                word = 0
                for other in net:
                    word |= reading.words.get(other, 0)
                return reading.outlet == outlet and end in reading.words and 0 < reading.bits == word
            case read.Ohms():
                on = frozenset(o for o, there in self.believed.items() if end in there and o in reading.placed)
                with_it = log_likelihood(reading, on | {outlet})
                return (
                    reading.end == end and outlet in on and with_it - log_likelihood(reading, on - {outlet}) >= WEIGHS
                )
            case read.Leaning():
                return reading.outlet == outlet and reading.log_weight.get(end, 0.0) > 0
        return False


def _of(one: Standing, log: Sequence[read.Any], rules: _Rules) -> Iterable[Proposal]:
    net, chance = one.best
    found: dict[int, tuple[str, list[str]]] = {}
    for reading in log:
        for end in net:
            if not rules.speaks(reading, one.outlet, end, net) or not rules.alone(reading, end, one.outlet, net):
                continue
            best, because = found.get(end, ("left over", []))
            found[end] = (min(best, rules.how(reading), key=list(GRADES).index), [*because, *reading.because])
    if not found:
        end = max(net, key=lambda e: (rules.odds.own[one.outlet, e], -e))
        if len(net) > 1 and rules.odds.own[one.outlet, end] < rules.sure_net:
            return
        about = [r.because for r in log if getattr(r, "outlet", None) == one.outlet]
        found[end] = ("left over", [entry for because in about for entry in because])
    for end in sorted(found):
        how, because = found[end]
        yield Proposal(end, one.outlet, how, chance, tuple(dict.fromkeys(because)))

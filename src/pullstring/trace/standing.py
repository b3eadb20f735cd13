"""How an outlet stands after all readings: settled, likely, a tie, or open; and which rivals are left.

A tie is said to be a tie and none of it is picked: rivals whose chances differ by less than `TIE` of the larger.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Mapping, Sequence

from pullstring.trace.assumed import Sure
from pullstring.trace.scene import NO_NET, Net

TIE = 0.02
"""Ours, assumed: chances that differ by less than this share of the larger count as equal."""
MOST_TIED = 4
"""Ours, assumed: more rivals than these are no tie but an open question."""
LIKELY = 0.5
"""Ours, assumed: below this no net is called likely, and no few rivals a tie."""
LEAST = 0.005
"""Ours, assumed: rivals below this chance are not told."""


class State(enum.StrEnum):
    """How sure it is where an outlet belongs."""

    SURE = "sure"
    NO_CABLE = "no cable"
    LIKELY = "likely"
    TIE = "tie"
    OPEN = "open"


@dataclasses.dataclass(frozen=True)
class Standing:
    """One outlet: its state, the nets it may be on with their chances, likeliest first, and those that tie."""

    outlet: int
    state: State
    nets: tuple[tuple[Net, float], ...]
    tied: tuple[Net, ...]

    @property
    def best(self) -> tuple[Net, float]:
        """The likeliest net and its chance; of a tie the one with the lowest numbers, for sorting only."""
        return self.nets[0] if self.nets else (NO_NET, 1.0)


def standings(nets: Sequence[Mapping[Net, float]], *, sure: Sure) -> tuple[Standing, ...]:
    """Every outlet by number, from the chances of its nets; where no end is known at all, nothing is known of an outlet."""
    if not any(net for chances in nets for net in chances):
        return tuple(Standing(outlet, State.OPEN, (), ()) for outlet in range(len(nets)))
    return tuple(_standing(outlet, chances, sure) for outlet, chances in enumerate(nets))


def _standing(outlet: int, chances: Mapping[Net, float], sure: Sure) -> Standing:
    ranked = sorted(chances.items(), key=lambda pair: (-round(pair[1], 9), len(pair[0]), sorted(pair[0])))
    told = tuple((net, min(1.0, chance)) for n, (net, chance) in enumerate(ranked) if n == 0 or chance >= LEAST)
    if not told:
        return Standing(outlet, State.OPEN, (), ())
    net, best = told[0]
    if best >= (sure.net if net else sure.none):
        return Standing(outlet, State.SURE if net else State.NO_CABLE, told, ())
    tied = tuple(other for other, chance in told if chance > best * (1 - TIE))
    if 2 <= len(tied) <= MOST_TIED and sum(chances[other] for other in tied) >= LIKELY:
        return Standing(outlet, State.TIE, told, tied)
    return Standing(outlet, State.LIKELY if best >= LIKELY else State.OPEN, told, ())


def shared_with(found: Sequence[Standing]) -> tuple[tuple[int, ...], ...]:
    """For each outlet the others that are likeliest on an end of its likeliest net: a chain, a ring or a clip."""
    on = [one.best[0] if one.state in (State.SURE, State.LIKELY) else NO_NET for one in found]
    return tuple(
        tuple(other for other, net in enumerate(on) if other != number and net & own) for number, own in enumerate(on)
    )

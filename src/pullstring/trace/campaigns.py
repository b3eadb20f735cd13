"""Ways to go about it with what is at hand: what all of them share.

A campaign is one way of working: marks or coded plugs on ends and one walk with the tester (`campaigns_tester`); remotes out, then
the reader in the closet; one tone, then the probe (`campaigns_sources`). Each makes an offer from the job as it stands, so a person
may deviate at any time; the offer that tells most bits a second is taken.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from pullstring.trace import gain
from pullstring.trace.acts import Act, Standing
from pullstring.trace.assumed import Costs, Noise
from pullstring.trace.kits import Kit
from pullstring.trace.relations import Floats
from pullstring.trace.rows import Rows
from pullstring.trace.scene import Net, Scene
from pullstring.trace.tours import path_s, walk

TRIES = 4
"""Ours: how often a source is put on an outlet in all."""
PLAYS = 1e-4
"""Ours: outlets expected on an end, below which it is out of play."""


@dataclasses.dataclass
class State:
    """A job as it stands: what it is about, what is believed, where things are, and how often an outlet was tried."""

    scene: Scene
    travel_s: Floats
    kit: Kit
    costs: Costs
    noise: Noise
    rows: Rows
    standing: Standing
    off_limits: frozenset[int]
    """Outlets that cannot or must not be touched."""
    ends: tuple[int, ...]
    """Ends that may be touched."""
    tries: dict[int, int] = dataclasses.field(default_factory=dict)
    clips: dict[int, int] = dataclasses.field(default_factory=dict)
    touched: set[Net] = dataclasses.field(default_factory=set)
    reads: dict[int, int] = dataclasses.field(default_factory=dict)
    tour: tuple[int, ...] = ()
    bad: set[int] = dataclasses.field(default_factory=set)
    """Numbers of remotes that are dead or stuck."""
    number_of: dict[str, int] = dataclasses.field(default_factory=dict)
    visits: dict[int, int] = dataclasses.field(default_factory=dict)
    """On how many walks with the tester an outlet was read."""
    heard: dict[int, int] = dataclasses.field(default_factory=dict)
    """Ends whose mark was read somewhere, with its number."""
    tried_others: set[int] = dataclasses.field(default_factory=set)
    """Outlets that were read once more with marks that were read elsewhere."""
    round_s: dict[tuple[int, ...], float] = dataclasses.field(default_factory=dict)

    @property
    def closet(self) -> int:
        """The place of the ends."""
        return self.scene.outlets

    @property
    def remotes(self) -> int:
        """How many remotes are of use: those at hand less the bad ones, no more than there are outlets."""
        return min(self.kit.remotes - len(self.bad), self.scene.outlets)

    def open(self) -> list[int]:
        """Outlets that are not settled, can be touched and were not tried too often, in walking order."""
        rank = {o: n for n, o in enumerate(self.tour)}
        found = [
            o
            for o in range(self.scene.outlets)
            if o not in self.off_limits and self.tries.get(o, 0) < TRIES and not self.rows.settled(o)
        ]
        return sorted(found, key=lambda o: (rank.get(o, len(rank)), o))

    def enter_s(self, stops: int) -> float:
        """Seconds to get into place at some outlets."""
        return stops * self.costs.enter_s


@dataclasses.dataclass(frozen=True)
class Offer:
    """What a campaign would do next; the bits that its whole coming round is expected to tell, and the seconds of that round.

    `again` says that the reading begins anew: outlets count as not read since the marks were put on.
    """

    acts: tuple[Act, ...]
    bits: float
    seconds: float
    again: bool = False

    @property
    def bits_per_s(self) -> float:
        """What it is worth."""
        return self.bits / max(self.seconds, 1e-9)


def expected_on(state: State) -> Floats:
    """How many of the open outlets are expected on each end."""
    rows = [state.rows.of(outlet) for outlet in state.open()]
    return np.sum(rows, axis=0) @ gain.on_net(state.scene) if rows else np.zeros(state.scene.ends)


def in_play(state: State) -> list[int]:
    """Ends on which an open outlet may still be."""
    found = expected_on(state)
    return [e for e in state.ends if found[e] > PLAYS]


def outward_s(state: State, outlets: Sequence[int]) -> float:
    """Seconds of a walk from the closet over some outlets and back, with getting into place."""
    order = walk(state.travel_s, state.closet, outlets, end=state.closet)
    return path_s(state.travel_s, [state.closet, *order, state.closet]) + state.enter_s(len(outlets))


def take_all_off(state: State) -> tuple[Act, ...]:
    """The last walk: everything comes off."""
    toned = () if state.standing.tone_at is None else (state.standing.tone_at,)
    stops = [*state.standing.remotes, *(o for o in toned if o not in state.standing.remotes)]
    acts: list[Act] = []
    for o in walk(state.travel_s, state.standing.position, stops):
        acts += [Act("take off tone", o)] * (o in toned) + [Act("take off remote", o)] * (o in state.standing.remotes)
    return tuple(acts)

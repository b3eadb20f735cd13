"""Ways to go about it with what is at hand, each deciding the next acts from how things stand and what is believed.

A campaign is one way of working: marks on all ends and one walk; coded plugs and one walk; remotes out, then the reader in
the closet; one tone, then the probe. Each is a function of the job as it stands, so a person may deviate at any time.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from pullstring.trace import gain
from pullstring.trace.acts import Act, Standing
from pullstring.trace.assumed import Costs, Noise
from pullstring.trace.kits import Kit
from pullstring.trace.relations import ON, Floats, relations
from pullstring.trace.rows import Rows
from pullstring.trace.scene import Net, Scene
from pullstring.trace.tours import path_s, walk

SETS = (2, 3, 4, 6, 8, 12, 16, 24, 32)
"""Ours: how many of the likeliest ends are touched together."""
ENOUGH = 0.7
"""Ours: share of the ends in play that a round clips before all its outlets are found."""
READS, CLIPS, TRIES = 3, 3, 4
"""Ours: reads of an outlet in a row, clips of an end while the same remotes are out, tries of an outlet in all."""


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


def with_marks(state: State, outlets: Sequence[int], least: float) -> tuple[Act, ...]:
    """Marks on all ends in play, then one walk with the tester; an outlet is read again while one stands there."""
    fresh = not any(state.reads.values())
    if fresh and (todo := [e for e in _in_play(state) if e not in state.standing.marks]):
        first = len(state.standing.marks)
        numbers = range(first, state.kit.marks)
        return tuple(Act("mark", e, n) for e, n in zip(todo, numbers, strict=False))
    return _read_on(state, outlets, least)


def with_plugs(state: State, outlets: Sequence[int], least: float) -> tuple[Act, ...]:
    """Words on all ends in play, then one walk; a further walk changes the words so that what was alike differs."""
    if not state.reads and outlets:
        words = _words(state, 1 + max((state.tries.get(o, 0) for o in outlets), default=0))
        fresh = {e: w for e, w in words.items() if state.standing.marks.get(e) != w}
        if fresh:
            return tuple(Act("mark", e, w) for e, w in fresh.items())
    return _read_on(state, outlets, least)


def _words(state: State, turn: int) -> dict[int, int]:
    """A word for each end: within a block single pairs, since bridged words add up; else by the digits of a count in base 15."""
    found: dict[int, int] = {}
    for n, e in enumerate(_in_play(state)):
        block = state.scene.block_of[e]
        if block is not None and len(state.scene.blocks[block]) <= 4:
            found[e] = 1 << (state.scene.blocks[block].index(e) + turn * block) % 4
        else:
            digits = [n % 15, n // 15 % 15, (n + n // 15) % 15]
            found[e] = 1 + digits[(turn - 1) % 3]
    return found


def _read_on(state: State, outlets: Sequence[int], least: float) -> tuple[Act, ...]:
    at = state.standing.position
    if at in outlets and 0 < state.reads.get(at, 0) < READS and not state.rows.settled(at):
        return (Act("read", at),)
    left = [o for o in outlets if not state.reads.get(o)]
    if not left:
        return ()
    return (Act("read", left[0]),)


def _in_play(state: State) -> list[int]:
    """Ends on which an open outlet may still be."""
    rows = [state.rows.of(outlet) for outlet in state.open()]
    found = np.sum(rows, axis=0) @ (relations(state.scene) == ON) if rows else np.zeros(state.scene.ends)
    return [e for e in state.ends if found[e] > 1e-4]


def sweep(state: State, *, least: float) -> tuple[Act, ...]:
    """The end to clip next while remotes are out; none when it tells fewer bits than the least."""
    placed = [o for o in sorted(state.standing.remotes) if not state.rows.settled(o)]
    if not placed:
        return ()
    bits = gain.of_clip(np.stack([state.rows.of(o) for o in placed]), state.scene, state.noise)
    left = [e for e in state.ends if state.clips.get(e, 0) < CLIPS]
    best = max(left, key=lambda e: (bits[e], -e), default=None)
    return (Act("clip", best),) if best is not None and bits[best] >= least else ()


def exchange(state: State, outlets: Sequence[int]) -> tuple[Act, ...]:
    """One walk: remotes that have told what they can come off, the next outlets get theirs, and back to the closet."""
    out = state.standing.remotes
    off = [o for o in out if state.rows.settled(o) or state.tries.get(o, 0) > TRIES or o in state.off_limits]
    space = state.remotes - len(out) + len(off)
    new = [o for o in outlets if o not in out][: max(space, 0)]
    return _in_one_walk(state, off, new) if new else ()


def take_all_off(state: State) -> tuple[Act, ...]:
    """The last walk: everything comes off."""
    toned = () if state.standing.tone_at is None else (state.standing.tone_at,)
    stops = [*state.standing.remotes, *(o for o in toned if o not in state.standing.remotes)]
    acts: list[Act] = []
    for o in walk(state.travel_s, state.standing.position, stops):
        acts += [Act("take off tone", o)] * (o in toned) + [Act("take off remote", o)] * (o in state.standing.remotes)
    return tuple(acts)


def _in_one_walk(state: State, off: Sequence[int], new: Sequence[int]) -> tuple[Act, ...]:
    free = [n for n in range(state.kit.remotes) if n not in {*state.standing.remotes.values(), *state.bad}]

    def may(order: Iterable[int]) -> bool:
        at_hand = len(free)
        for o in order:
            at_hand += (state.standing.remotes[o] not in state.bad) if o in off else -1
            if at_hand < 0:
                return False
        return True

    stops = [*off, *new]
    order = walk(state.travel_s, state.standing.position, stops, end=state.closet, first=off, may=may)
    acts = []
    for o in order:
        if o in off:
            acts.append(Act("take off remote", o))
            free += [state.standing.remotes[o]] * (state.standing.remotes[o] not in state.bad)
        else:
            acts.append(Act("place remote", o, free.pop(0)))
    return tuple(acts)


def with_tone(state: State, outlets: Sequence[int], least: float) -> tuple[Act, ...]:
    """One tone: on to the next outlet, or the probe that tells most in its time."""
    at = state.standing.tone_at
    if at is None:
        return (Act("place tone", next_for_tone(state, outlets)),) if outlets else ()
    if not state.rows.settled(at) and at not in state.off_limits and (act := _probe(state, at, least)):
        return (act,)
    return (Act("take off tone", at),)


def next_for_tone(state: State, outlets: Sequence[int]) -> int:
    """The next outlet in walking order after where one stands."""
    return walk(state.travel_s, state.standing.position, outlets)[0] if len(outlets) < 6 else outlets[0]


def _probe(state: State, outlet: int, least: float) -> Act | None:
    row = state.rows.of(outlet)
    touches = gain.of_touch(row, state.scene, state.noise) / state.costs.touch_s
    single = [e for e in state.ends if frozenset((e,)) not in state.touched]
    best = max(single, key=lambda e: (touches[e], -e), default=None)
    found = [(float(touches[best]), Act("touch", best))] if best is not None else []
    if sets := _sets(state, row):
        bits = gain.of_set(row, state.scene, state.noise, sets) / state.costs.bundle_s
        n = int(np.argmax(bits))
        found.append((float(bits[n]), Act("touch set", min(sets[n]), sets[n])))
    value, act = max(found, key=lambda pair: pair[0], default=(0.0, None))
    return act if value >= least else None


def _sets(state: State, row: Floats) -> list[Net]:
    """Sets of the likeliest ends, not touched together before; an end alone may be touched once more as a set."""
    weight = row @ (relations(state.scene) == ON)
    order = sorted(state.ends, key=lambda e: (-weight[e], e))
    sets = [frozenset(order[:size]) for size in SETS if size <= len(order)]
    sets += [frozenset((a, far)) for a in order[:3] for far in order[-3:] if a != far]
    return [s for s in dict.fromkeys(sets) if s not in state.touched]


def waiting_bits_per_s(state: State) -> float:
    """Bits a second that the next round with remotes is expected to tell: what its outlets are open by, over all it takes.

    With no remote to spare for another outlet nothing waits.
    """
    out = state.standing.remotes
    spare = state.remotes - sum(not state.rows.settled(o) for o in out)
    coming = [o for o in state.open() if o not in out][: max(spare, 0)]
    if not coming:
        return 0.0
    if tuple(coming) not in state.round_s:
        ends = len(_in_play(state))
        acts_s = len(coming) * (state.costs.place_s + state.costs.retrieve_s) + ends * ENOUGH * state.costs.clip_s
        state.round_s[tuple(coming)] = acts_s + outward_s(state, coming)
    return sum(state.rows.short_of(o) for o in coming) / state.round_s[tuple(coming)]


def outward_s(state: State, outlets: Sequence[int]) -> float:
    """Seconds of a walk from the closet over some outlets and back, with getting into place."""
    order = walk(state.travel_s, state.closet, outlets, end=state.closet)
    return path_s(state.travel_s, [state.closet, *order, state.closet]) + state.enter_s(len(outlets))


Reading = Callable[[State, Sequence[int], float], tuple[Act, ...]]
"""A campaign of walks with the tester."""

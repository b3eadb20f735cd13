"""Sources on outlets, then the closet: numbered remotes and the reader, or one tone and the probe."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from pullstring.trace import gain
from pullstring.trace.acts import Act
from pullstring.trace.campaigns import TRIES, Offer, State, in_play, outward_s
from pullstring.trace.relations import Floats
from pullstring.trace.scene import Net
from pullstring.trace.tours import path_s, walk

SETS = (2, 3, 4, 6, 8, 12, 16, 24, 32)
"""Ours: how many of the likeliest ends are touched together."""
ENOUGH = 0.7
"""Ours: share of the ends in play that a round clips before all its outlets are found."""
SWEEP = 1.45
"""Ours, as the bench has it: clips of a round for each end in play, times k/(k + 1) with k remotes: misses, joined ends."""
CLIPS = 3
"""Ours: clips of an end while the same remotes are out."""
FEW = 6
"""Ours: of fewer outlets than these the nearest comes next, else the next in walking order."""


def sweep(state: State, *, least: float) -> tuple[Act, ...]:
    """The end to clip next while remotes are out; none when it tells fewer bits than the least."""
    placed = [o for o in sorted(state.standing.remotes) if not state.rows.settled(o)]
    if not placed:
        return ()
    bits = gain.of_clip(np.stack([state.rows.of(o) for o in placed]), state.scene, state.noise)
    left = [e for e in state.ends if state.clips.get(e, 0) < CLIPS]
    best = max(left, key=lambda e: (bits[e], -e), default=None)
    return (Act("clip", best),) if best is not None and bits[best] >= least else ()


def remotes_offer(state: State, outlets: Sequence[int]) -> Offer | None:
    """One walk: remotes that have told what they can come off, the next outlets get theirs, and back to the closet."""
    out = state.standing.remotes
    off = [o for o in out if state.rows.settled(o) or state.tries.get(o, 0) > TRIES or o in state.off_limits]
    space = state.remotes - len(out) + len(off)
    new = [o for o in outlets if o not in out][: max(space, 0)]
    if not new:
        return None
    waiting = [o for o in outlets if o not in out]
    bits = sum(state.rows.short_of(o) for o in waiting)
    return Offer(_in_one_walk(state, off, new), bits, _rounds_s(state, waiting))


def _rounds_s(state: State, outlets: Sequence[int]) -> float:
    """Seconds of all rounds that outlets in their order will need; an end is out of play once its outlet is found.

    The last of k things among ends in no order stands at k/(k + 1) of them on average.
    """
    c, closet, each = state.costs, state.closet, max(state.remotes, 1)
    seconds = len(outlets) * (c.place_s + c.retrieve_s + 2 * c.enter_s)
    ends, enough = len(in_play(state)), SWEEP * each / (each + 1)
    for first in range(0, len(outlets), each):
        stops = outlets[first : first + each]
        seconds += path_s(state.travel_s, [closet, *stops, closet])
        seconds += max(ends - first, len(stops)) * enough * c.clip_s
    return seconds


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


def probe(state: State, *, least: float) -> tuple[Act, ...]:
    """With a tone out: the touch that tells most in its time, or the tone comes off."""
    at = state.standing.tone_at
    if at is None:
        return ()
    if not state.rows.settled(at) and at not in state.off_limits:
        value, act = _best_touch(state, at)
        if act is not None and value >= least:
            return (act,)
    return (Act("take off tone", at),)


def tone_offer(state: State, outlets: Sequence[int]) -> Offer | None:
    """The tone goes to the next outlet, and one walks back to the closet; its worth is that of all outlets that wait.

    Else it would take the outlets by the door from under a walk that passes them anyhow.
    """
    waiting = [o for o in outlets if o not in state.standing.remotes]
    if not waiting or state.standing.tone_at is not None:
        return None
    at = walk(state.travel_s, state.standing.position, waiting)[0] if len(waiting) < FEW else waiting[0]
    c, bits = state.costs, sum(state.rows.short_of(o) for o in waiting)
    there_s = sum(float(state.travel_s[o, state.closet] + state.travel_s[state.closet, o]) for o in waiting)
    acts_s = len(waiting) * (2 * c.enter_s + c.place_s + c.retrieve_s)
    widest = max(waiting, key=lambda o: (state.rows.short_of(o), -o))
    seconds = there_s + acts_s + bits / max(_best_touch(state, widest)[0], 1e-9)
    return Offer((Act("place tone", at),), bits, seconds)


def _best_touch(state: State, outlet: int) -> tuple[float, Act | None]:
    """Bits a second, and the touch of one end or of a set that tells them."""
    row = state.rows.of(outlet)
    touches = gain.of_touch(row, state.scene, state.noise) / state.costs.touch_s
    single = [e for e in state.ends if frozenset((e,)) not in state.touched]
    best = max(single, key=lambda e: (touches[e], -e), default=None)
    found: list[tuple[float, Act | None]] = []
    if best is not None:
        found.append((float(touches[best]), Act("touch", best)))
    if sets := _sets(state, row):
        bits = gain.of_set(row, state.scene, state.noise, sets) / state.costs.bundle_s
        n = int(np.argmax(bits))
        found.append((float(bits[n]), Act("touch set", min(sets[n]), sets[n])))
    return max(found, key=lambda pair: pair[0], default=(0.0, None))


def _sets(state: State, row: Floats) -> list[Net]:
    """Sets of the likeliest ends, not touched together before; an end alone may be touched once more as a set."""
    weight = row @ gain.on_net(state.scene)
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
    return sum(state.rows.short_of(o) for o in coming) / _round_s(state, coming)


def _round_s(state: State, outlets: Sequence[int]) -> float:
    """Seconds of a round: out and back over some outlets, remotes on and off, and so many ends clipped."""
    if tuple(outlets) not in state.round_s:
        acts_s = len(outlets) * (state.costs.place_s + state.costs.retrieve_s)
        clips_s = len(in_play(state)) * ENOUGH * state.costs.clip_s
        state.round_s[tuple(outlets)] = acts_s + clips_s + outward_s(state, outlets)
    return state.round_s[tuple(outlets)]

"""Marks or coded plugs on ends, then one walk over the outlets with the tester.

House rules
-----------
1. The likeliest ends are marked first; with fewer marks than ends they move on after a walk.
2. A walk goes to the outlets of which the marks tell something. An outlet is read again, while one stands there, until it is sure
   which of the marks are on it.
3. Of an outlet that showed no mark it is not said that it has no cable before marks that were read elsewhere were tried.
4. Words are dealt so that ends between which an outlet is in doubt get different ones; within a block single pairs, since words of
   joined ends add up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.trace import gain
from pullstring.trace.acts import Act
from pullstring.trace.campaigns import Offer, State, expected_on
from pullstring.trace.tours import path_s, walk

READS, VISITS = 3, 12
"""Ours: reads of an outlet in a row; walks on which it is read in all."""
WORD_READS = 2
"""Ours: readings of a word until it is sure; a number is sure once it was read."""
SAYS = 0.03
"""Ours: bits that the marks must tell of an outlet, for it to be read."""
MARKED = 0.02
"""Ours: outlets expected on an end, for it to be marked."""
PAIRS = 4
"""Pairs of a coded plug, each open or shorted."""

Marks = Mapping[int, int]


def offer(state: State, outlets: Sequence[int]) -> Offer | None:
    """Read on where the marks on ends still tell something, else put marks on and begin a walk."""
    waiting = [o for o in outlets if state.visits.get(o, 0) < VISITS]
    going_on = _read_on(state, waiting, state.standing.marks) if state.standing.marks else None
    if going_on and state.standing.position != state.closet:
        return going_on
    offers = [o for o in (going_on, _begin(state, waiting)) if o]
    return max(offers, key=lambda o: o.bits_per_s, default=None)


def read_again(state: State) -> bool:
    """Whether to read once more where one stands."""
    at, count = state.standing.position, state.reads.get(state.standing.position, 0)
    if not 0 < count < READS or at in state.off_limits or state.rows.settled(at):
        return False
    return bool(_told(state, [at], state.standing.marks).likeliest[0] < state.rows.sure.net)


def other_marks(state: State) -> tuple[Act, ...]:
    """Where an outlet showed no mark one may be dead: ends whose mark was never read get others, and it is read again."""
    seen = [o for o in state.visits if o not in state.off_limits | state.tried_others]
    silent = sorted(o for o in seen if state.rows.settled(o) and not state.rows.likeliest(o)[0])
    if not silent or not state.heard or not state.kit.marks:
        return ()
    chances = np.sum([state.rows.of(o) for o in silent], axis=0) @ gain.on_net(state.scene)
    unread = sorted((e for e in state.ends if e not in state.heard), key=lambda e: (-round(float(chances[e]), 12), e))
    good, on = sorted(set(state.heard.values())), state.standing.marks
    free = iter(n for n in good if n not in [on.get(e) for e in unread[: len(good)]])
    fresh = [(e, next(free, None)) for e in unread[: len(good)] if on.get(e) not in good]
    acts = tuple(Act("mark", e, n) for e, n in fresh if n is not None)
    if acts:
        return acts
    return (Act("read", walk(state.travel_s, state.standing.position, silent)[0]),)


def _read_on(state: State, outlets: Sequence[int], marks: Marks) -> Offer | None:
    left = [o for o in outlets if not state.reads.get(o)]
    told = _told(state, left, marks)
    stops = [o for o, bits in zip(left, told.bits, strict=True) if bits >= SAYS]
    if not stops:
        return None
    return Offer((Act("read", stops[0]),), float(told.bits[told.bits >= SAYS].sum()), _walk_s(state, stops))


def _begin(state: State, outlets: Sequence[int]) -> Offer | None:
    """Marks where they tell most, and a walk with them; an outlet that one walk does not settle is counted with a second one."""
    marks = _numbers(state) if state.kit.marks else _words(state)
    told = _told(state, outlets, marks)
    stops = [o for o, bits in zip(outlets, told.bits, strict=True) if bits >= SAYS]
    if not stops:
        return None
    fresh = tuple(Act("mark", e, n) for e, n in marks.items() if state.standing.marks.get(e) != n)
    walks = 2.0 - told.settles
    bits = sum(
        min(state.rows.short_of(o), b * w) for o, b, w in zip(outlets, told.bits, walks, strict=True) if b >= SAYS
    )
    seconds = (len(fresh) * state.costs.mark_s + _walk_s(state, stops)) * float(walks[told.bits >= SAYS].mean())
    return Offer(fresh or (Act("read", stops[0]),), bits, seconds, again=True)


def _walk_s(state: State, stops: Sequence[int]) -> float:
    """A walk over outlets in their order, and back to the closet; out on it the way back has to be made anyhow."""
    back = [state.closet] if state.standing.position == state.closet else []
    path = [state.standing.position, *stops, *back]
    reads = len(stops) * (1 if state.kit.marks else WORD_READS)
    return path_s(state.travel_s, path) + reads * state.costs.read_s + state.enter_s(len(stops))


def _told(state: State, outlets: Sequence[int], marks: Marks) -> gain.Told:
    if not outlets or not marks:
        return gain.Told(np.zeros(len(outlets)), np.ones(len(outlets)), np.zeros(len(outlets)))
    rows, sure = np.stack([state.rows.of(o) for o in outlets]), state.rows.sure.net
    if state.kit.marks:
        return gain.of_numbers(rows, state.scene, state.noise, list(marks), sure=sure)
    return gain.of_words(rows, state.scene, state.noise, marks, pairs=PAIRS, sure=sure)


def _likeliest_ends(state: State, count: int, *, among: Sequence[int] | None = None) -> list[int]:
    """So many ends on which most outlets are expected, the likeliest first."""
    found = expected_on(state)
    order = sorted(state.ends if among is None else among, key=lambda e: (-round(float(found[e]), 9), e))
    return [e for e in order[:count] if found[e] >= MARKED]


def _numbers(state: State) -> dict[int, int]:
    """A number for each of the likeliest ends; a mark that sits well stays."""
    ends = sorted(_likeliest_ends(state, state.kit.marks))
    kept = {e: n for e, n in state.standing.marks.items() if e in ends and n < state.kit.marks}
    free = iter(n for n in range(state.kit.marks) if n not in kept.values())
    return {e: kept[e] if e in kept else next(free) for e in ends}


def _words(state: State) -> dict[int, int]:
    """A word for each of the likeliest ends, dealt one end after the other: the word by which outlets mistake it least."""
    rows = [state.rows.of(o) for o in state.open()]
    chances = np.reshape(rows, (len(rows), -1)) @ gain.on_net(state.scene) if rows else np.zeros((0, state.scene.ends))
    by_word, found = np.zeros((len(chances), 1 << PAIRS)), dict[int, int]()
    for e in sorted(_may_be_plugged(state), key=lambda e: state.scene.block_of[e] is None):
        alike = chances[:, e] @ by_word
        found[e] = min(_may_have(state, e, found), key=lambda w: (round(float(alike[w]), 9), w))
        by_word[:, found[e]] += chances[:, e]
    return found


def _may_be_plugged(state: State) -> list[int]:
    """Ends in play that have a plug already, and as many of the likeliest others as there are plugs left."""
    ends = _likeliest_ends(state, len(state.ends))
    others = _likeliest_ends(state, len(state.ends), among=[e for e in state.ends if e not in state.standing.marks])
    fresh = others[: max(state.kit.plugs - len(state.standing.marks), 0)]
    return [e for e in ends if e in state.standing.marks or e in fresh]


def _may_have(state: State, end: int, dealt: Marks) -> Sequence[int]:
    """Words that an end may have: within a block a single pair that no other end of it has."""
    block = state.scene.block_of[end]
    if block is None or len(state.scene.blocks[block]) > PAIRS:
        return range(1, 1 << PAIRS)
    taken = {dealt[e] for e in state.scene.blocks[block] if e in dealt}
    return [1 << pair for pair in range(PAIRS) if 1 << pair not in taken]

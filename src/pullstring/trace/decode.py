"""What the ohms read at all ends say together, with odds: runs, chains, bridges, rings, and what is none of ours.

House rules
-----------
1. All ends of one walk are decoded together: a clip that one end shows is missing at the others, unless they are joined.
2. A reading that fits nothing of ours is never forced into a set: something else is on that wire, stop, it may be an alarm loop.
3. Odds rest on what is assumed of old wiring (`Prior`, `ring`) and of clips (`Doubt`); all are inputs.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterable, Mapping, Sequence

from pullstring.copper.readings import RESISTOR_OHM, Cause
from pullstring.trace.assumed import Prior
from pullstring.trace.decode_joint import Group, Joining, State, components, states_of
from pullstring.trace.decode_sets import Combinations, Options, Unit, options_of
from pullstring.trace.ohms_on_net import ASSUMED, Doubt
from pullstring.trace.readings import Ohms
from pullstring.trace.scene import NO_NET, BadScene, Net

UP_TO = 3
"""Ours: more than three outlets on one net are looked for only when it is asked."""
LEAST = 1e-4
"""Ours: a way below this chance is not told."""
RING = 0.02
"""Ours, assumed: weight of two ends of no common block being joined (a ring, a hidden joint)."""


class Kind(enum.StrEnum):
    """What an end turned out to be."""

    BARE = "bare"
    """Nothing of ours on it."""
    RUN = "run"
    """One outlet on one end."""
    CHAIN = "chain"
    """Several outlets on one end: it reads them in parallel."""
    BRIDGE = "bridge"
    """Several ends of one block read the same: a clip or wire joins them."""
    RING = "ring"
    """Ends of no common block read the same: one cable that comes back, or a joint nobody sees."""
    SOMETHING_ELSE = "something else"
    """The reading fits nothing of ours: stop."""


@dataclasses.dataclass(frozen=True)
class Way:
    """One explanation of an end: the outlets on its net, the ends of that net, what it is, and its chance."""

    outlets: Net
    ends: Net
    kind: Kind
    chance: float


@dataclasses.dataclass(frozen=True)
class EndOdds:
    """One end: its ways, likeliest first, and what a reading that is none of ours may be."""

    end: int
    ways: tuple[Way, ...]
    causes: tuple[Cause, ...]

    @property
    def best(self) -> Way:
        """The likeliest way."""
        return self.ways[0]

    @property
    def stop(self) -> bool:
        """Whether something else is likeliest on it that may be an alarm loop: nothing may be done before its company is told."""
        return self.best.kind is Kind.SOMETHING_ELSE and Cause.STOP_ASK_COMPANY in self.causes


@dataclasses.dataclass(frozen=True)
class Decoded:
    """All ends in their order; for each outlet with a resistor its nets with chances (none: on no end that was read).

    `whole` is False when there were too many ways to count all; the odds are then of the likelier ones.
    `joints` are pairs of ends with the chance that they are one net, likeliest first.
    """

    ends: tuple[EndOdds, ...]
    outlets: Mapping[int, tuple[tuple[Net, float], ...]]
    joints: tuple[tuple[int, int, float], ...]
    whole: bool

    def of(self, end: int) -> EndOdds:
        """The odds of one end; KeyError when it was not read."""
        for found in self.ends:
            if found.end == end:
                return found
        raise KeyError(end)


def decode(
    readings: Sequence[Ohms],
    *,
    prior: Prior,
    unread: int,
    blocks: Sequence[Sequence[int]] = (),
    joined: Sequence[Net] = (),
    ring: float = RING,
    doubt: Doubt = ASSUMED,
    up_to: int = UP_TO,
) -> Decoded:
    """What the ohms of one walk say of all ends together.

    Parameters
    ----------
    readings : sequence of Ohms
        What was read at each end, open ones too; an end may be read again after a clip was taken off. Once its block was
        opened (`opened` holds its number) only the readings since then count for it.
    prior : Prior
        Weights of an end by its count of outlets, of an outlet without a cable, of two ends of a block being joined.
    unread : int
        How many ends of the closet were not read: a clip that shows nowhere may be on one of them.
    blocks : sequence of sequences of int
        Ends that may be joined in the closet, by the number of the block.
    joined : sequence of sets of int
        Ends that are known to be joined.
    ring : float
        Weight of two ends of no common block being joined.
    doubt : Doubt
        Clips without contact, something else on a wire.
    up_to : int
        Most outlets looked for on one net.

    Raises
    ------
    BadScene
        A reading of ohms, or a resistor, that is below zero; an error that is none.
    """
    _check(readings)
    block_of = {end: number for number, block in enumerate(blocks) for end in block}
    outlets = sorted({o for r in readings for o in r.placed})
    combinations = Combinations(outlets, up_to)
    options = [options_of(u, combinations, doubt=doubt) for u in _units(readings, block_of, joined)]
    ways: dict[int, dict[Way, float]] = {}
    nets: dict[int, dict[Net, float]] = {o: {} for o in outlets}
    joints: dict[tuple[int, int], float] = {}
    whole = True
    joining = Joining(on_block=prior.joined, elsewhere=ring, unseen=_unseen(readings, prior, unread, doubt))
    for component in components(options):
        states, complete = states_of(component, prior=prior, joining=joining, block_of=block_of)
        whole = whole and complete
        _count(states, component, block_of, ways, nets, joints)
    causes = {e: _causes(one) for one in options for e in one.unit.ends}
    ends = tuple(EndOdds(end, _ranked(ways[end]), causes[end]) for end in sorted(ways))
    by_outlet = {o: _seen(found) for o, found in nets.items()}
    likely = sorted(((a, b, c) for (a, b), c in joints.items() if c > LEAST), key=lambda j: (-j[2], j[0], j[1]))
    return Decoded(ends, by_outlet, tuple(likely), whole)


def before(*, ohm: float | None, line_ohm: tuple[float, float]) -> tuple[Cause, ...]:
    """What an end read before anything was clipped on: nothing (open), a short, or a part that is none of ours.

    Parameters
    ----------
    ohm : float or None
        The reading; None when the meter showed open. [ohm]
    line_ohm : tuple of float
        The loop of the wire, least and most. [ohm]

    Returns
    -------
    tuple of Cause
        Empty where it was open; `short_in_the_way`; or what the part may be, with `stop_ask_company` where it may be an alarm loop.

    References
    ----------
    End-of-line resistors of alarm loops, 1 to 100 kohm (common practice, `pullstring.copper.readings`).
    Checked in ``tests/trace/test_decode.py``.
    """
    if ohm is None:
        return ()
    if ohm <= line_ohm[1]:
        return (Cause.SHORT_IN_THE_WAY,)
    if ohm > RESISTOR_OHM.high:
        return (Cause.OPEN_OR_LEAK,)
    return (Cause.NOT_COPPER if ohm < RESISTOR_OHM.low else Cause.RESISTOR, Cause.STOP_ASK_COMPANY)


def _unseen(readings: Sequence[Ohms], prior: Prior, unread: int, doubt: Doubt) -> float:
    """Weight of an outlet that shows nowhere: without a cable, on an end that was not read, or its clip without contact.

    An end that gets an outlet changes its weight from that of none to that of one.
    """
    last = {r.end: r for r in readings}
    open_ends = sum(r.ohm is None for r in last.values())
    gets_one = prior.by_count[1] / prior.by_count[0]
    return prior.no_cable + gets_one * (unread + doubt.no_contact * open_ends)


def _check(readings: Iterable[Ohms]) -> None:
    faults = []
    for r in readings:
        values = [("reading", r.ohm), ("baseline", r.baseline), *(("resistor", ohm) for ohm in r.placed.values())]
        faults += [f"reading {r.key}: {what} {v:g} ohm is below zero" for what, v in values if v is not None and v < 0]
        if not 0 < r.off < 1:
            faults.append(f"reading {r.key}: error {r.off:g} is no share; 0.01 stands for 1 %")
        if not 0 <= r.line_ohm[0] <= r.line_ohm[1]:
            faults.append(f"reading {r.key}: line of {r.line_ohm[0]:g} to {r.line_ohm[1]:g} ohm is no range")
    if faults:
        raise BadScene(faults)


def _units(readings: Sequence[Ohms], block_of: Mapping[int, int], joined: Sequence[Net]) -> list[Unit]:
    """Ends known to be joined as one; an end whose block was opened by itself, without what was read before."""
    at: dict[int, dict[str, Ohms]] = {}
    for r in readings:
        at.setdefault(r.end, {})[r.key] = r
    opened = {e: [r for r in kept.values() if block_of.get(e) in r.opened] for e, kept in at.items()}
    units = [Unit(frozenset((e,)), tuple(kept), opened=True) for e, kept in opened.items() if kept]
    left = {e for e, kept in opened.items() if not kept}
    for group in _merged(joined):
        ends = group & left
        if ends:
            units.append(Unit(ends, tuple(r for e in sorted(ends) for r in at[e].values())))
            left -= ends
    units += [Unit(frozenset((e,)), tuple(at[e].values())) for e in left]
    return sorted(units, key=lambda u: sorted(u.ends))


def _merged(groups: Sequence[Net]) -> list[Net]:
    found: list[Net] = []
    for group in groups:
        touching = [f for f in found if f & group]
        found = [f for f in found if not f & group]
        found.append(frozenset(group).union(*touching))
    return found


def _count(
    states: Sequence[tuple[float, State]],
    component: Sequence[Options],
    block_of: Mapping[int, int],
    ways: dict[int, dict[Way, float]],
    nets: dict[int, dict[Net, float]],
    joints: dict[tuple[int, int], float],
) -> None:
    known = {e: one.unit.ends for one in component for e in one.unit.ends}
    for chance, state in states:
        found = [(g.ends, Way(g.outlets, g.ends, _kind(g, block_of), 0.0)) for g in state.groups]
        found += [((frozenset((e,))), Way(NO_NET, known[e], Kind.SOMETHING_ELSE, 0.0)) for e in state.other]
        for ends, way in found:
            for end in ends:
                of_end = ways.setdefault(end, {})
                of_end[way] = of_end.get(way, 0.0) + chance
            for outlet in way.outlets:
                nets[outlet][ends] = nets[outlet].get(ends, 0.0) + chance
            if way.outlets:
                for a in ends:
                    for b in (e for e in ends if e > a):
                        joints[a, b] = joints.get((a, b), 0.0) + chance


def _kind(group: Group, block_of: Mapping[int, int]) -> Kind:
    if not group.outlets:
        return Kind.BARE
    if len(group.ends) > 1:
        blocks = {block_of.get(e) for e in group.ends}
        return Kind.BRIDGE if not group.ring and len(blocks) == 1 and None not in blocks else Kind.RING
    return Kind.CHAIN if len(group.outlets) > 1 else Kind.RUN


def _ranked(found: Mapping[Way, float]) -> tuple[Way, ...]:
    ways = [dataclasses.replace(way, chance=min(1.0, chance)) for way, chance in found.items()]
    ways.sort(key=lambda w: (-round(w.chance, 12), len(w.outlets), sorted(w.outlets), sorted(w.ends)))
    return tuple(w for n, w in enumerate(ways) if n == 0 or w.chance >= LEAST)


def _seen(found: Mapping[Net, float]) -> tuple[tuple[Net, float], ...]:
    """The nets of an outlet, and the rest of its chance on none."""
    unseen = max(0.0, 1 - sum(found.values()))
    ranked = sorted([*found.items(), (NO_NET, unseen)], key=lambda f: (-round(f[1], 12), sorted(f[0])))
    return tuple(f for n, f in enumerate(ranked) if n == 0 or f[1] >= LEAST)


def _causes(one: Options) -> tuple[Cause, ...]:
    """What the last reading is if it is none of ours."""
    last = one.unit.readings[-1]
    return before(ohm=last.ohm, line_ohm=last.line_ohm)

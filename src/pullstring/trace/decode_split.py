"""The cheapest single act that tells two explanations of an end apart: take one clip off an outlet, or lift a clip on the block."""

from __future__ import annotations

import dataclasses
import enum
import math
from collections.abc import Callable, Sequence

from pullstring.trace.codes_resistors import APART_SDS
from pullstring.trace.decode import EndOdds, Kind, Way
from pullstring.trace.ohms_on_net import LEAST_OHM, line_range, parallel_ohm
from pullstring.trace.readings import Ohms
from pullstring.trace.scene import NO_NET, Net

RIVAL = 0.02
"""Ours, assumed: explanations below this chance need no act of their own."""
LEAST_RANGE = 1e-9


class Act(enum.StrEnum):
    """What is done."""

    TAKE_OFF = "take off"
    """Our clip is taken off an outlet."""
    LIFT = "lift"
    """A clip on the block is lifted, so that the end stands alone."""


@dataclasses.dataclass(frozen=True)
class After:
    """What the end reads after the act if it is so: parts together without the line [ohm], None for open.

    `may_ohm` are further values that it may read then: after lifting, the clips share themselves out in a way nobody knows.
    """

    way: Way
    ohm: float | None
    may_ohm: tuple[float | None, ...] = ()


@dataclasses.dataclass(frozen=True)
class Split:
    """One act at an outlet (take off) or between two ends (lift), and what the end reads then in each case.

    `sds` is how far the readings of the two likeliest cases lie apart in standard deviations, infinite where one is open.
    """

    act: Act
    outlet: int | None
    ends: Net
    after: tuple[After, ...]
    sds: float
    seconds: float


def rivals(found: EndOdds) -> tuple[Way, ...]:
    """The explanations of an end that are still worth telling apart; one alone when it is settled."""
    return tuple(w for n, w in enumerate(found.ways) if n == 0 or w.chance >= RIVAL)


def to_lift(way: Way) -> tuple[tuple[int, int], ...]:
    """Between which ends clips are to be lifted so that each end of a bridge stands alone: neighbours by number."""
    ends = sorted(way.ends)
    return tuple(zip(ends, ends[1:], strict=False)) if way.kind is Kind.BRIDGE else ()


def split(
    found: EndOdds, reading: Ohms, *, take_off_s: Callable[[int], float], lift_s: float | None = None
) -> Split | None:
    """The cheapest act that tells the two likeliest explanations apart; None when the end is settled or no act does.

    Parameters
    ----------
    found : EndOdds
        The odds of the end.
    reading : Ohms
        Its last reading, with what is placed now.
    take_off_s : callable
        Seconds to take the clip off an outlet and come back to read, by outlet.
    lift_s : float or None
        Seconds to lift a clip on the block; None where that may not be done.

    Notes
    -----
    Of acts that cost the same the one that leaves fewer rivals is taken, then the one whose readings lie further apart.
    """
    ways = rivals(found)
    if len(ways) < 2:
        return None
    acts = [_take_off(outlet, ways, reading, take_off_s(outlet)) for outlet in _outlets(ways)]
    if lift_s is not None:
        acts += [_lift(found.end, ends, ways, reading, lift_s) for ends in _bridged(found.end, ways)]
    parting = [a for a in acts if a.sds >= APART_SDS]
    if not parting:
        return None
    return min(parting, key=lambda a: (a.seconds, _left(a, reading), -a.sds, a.act, a.outlet or 0, sorted(a.ends)))


def _outlets(ways: Sequence[Way]) -> list[int]:
    return sorted({o for w in ways for o in w.outlets})


def _bridged(end: int, ways: Sequence[Way]) -> list[Net]:
    """The bridges of the likely explanations of an end."""
    return sorted({w.ends for w in ways if w.kind is Kind.BRIDGE and end in w.ends}, key=sorted)


def _take_off(outlet: int, ways: Sequence[Way], reading: Ohms, seconds: float) -> Split:
    after = tuple(After(w, _ohm_of(w, w.outlets - {outlet}, reading)) for w in ways)
    return Split(Act.TAKE_OFF, outlet, NO_NET, after, _apart(after, reading), seconds)


def _lift(end: int, ends: Net, ways: Sequence[Way], reading: Ohms, seconds: float) -> Split:
    """Whoever stands on this end alone reads on as before; on a bridge the outlets share themselves out over the ends."""
    after = []
    for way in ways:
        if way.kind is not Kind.BRIDGE or way.ends != ends:
            after.append(After(way, _ohm_of(way, way.outlets, reading)))
            continue
        may = tuple(dict.fromkeys(_ohm_of(way, part, reading) for part in _parts(way.outlets)))
        after.append(After(way, may[0], may[1:]))
    return Split(Act.LIFT, None, ends, tuple(after), _apart(after, reading), seconds)


def _parts(outlets: Net) -> list[Net]:
    """What may be left on one end of a bridge, singles first. That all stand on one end and none on the others is left out
    where there are several: the clip was then lifted in vain."""
    ordered = sorted(outlets)
    found = [frozenset(o for bit, o in enumerate(ordered) if mask >> bit & 1) for mask in range(1 << len(ordered))]
    some = [s for s in found if s and s != outlets] or [outlets, NO_NET]
    return sorted(some, key=lambda s: (not s, len(s), sorted(s)))


def _ohm_of(way: Way, left: Net, reading: Ohms) -> float | None:
    """What an end reads with these clips left; where something else hangs on it, what it reads now."""
    if way.kind is Kind.SOMETHING_ELSE:
        return reading.ohm
    parts = [reading.placed[o] for o in sorted(left) if o in reading.placed]
    whole = parallel_ohm([*parts, *([reading.baseline] if reading.baseline is not None else [])])
    return whole if math.isfinite(whole) else None


def _apart(after: Sequence[After], reading: Ohms) -> float:
    """How far the two likeliest cases lie apart at least."""
    one, other = after[0], after[1]
    return min(_sds(a, b, reading) for a in (one.ohm, *one.may_ohm) for b in (other.ohm, *other.may_ohm))


def _sds(a: float | None, b: float | None, reading: Ohms) -> float:
    if a is None or b is None:
        return math.inf if (a is None) != (b is None) else 0.0
    (a, va), (b, vb) = _middle(a, reading), _middle(b, reading)
    return abs(a - b) / math.sqrt(va + vb)


def _middle(ohm: float, reading: Ohms) -> tuple[float, float]:
    """The middle of what is read, and its variance: the error, and the line as even in its range."""
    low, high = line_range([max(ohm, LEAST_OHM)], reading.line_ohm)
    middle = ohm + (low + high) / 2
    return middle, (middle * reading.off) ** 2 + (high - low) ** 2 / 12 + LEAST_RANGE


def _left(split: Split, reading: Ohms) -> float:
    """Chance that two explanations drawn by their odds still read alike after the act."""
    return sum(
        a.way.chance * b.way.chance
        for n, a in enumerate(split.after)
        for b in split.after[n + 1 :]
        if _sds(a.ohm, b.ohm, reading) < APART_SDS
    )

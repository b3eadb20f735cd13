"""Which resistors to clip on the outlets, so that one reading at each end tells which of them are on it.

House rules
-----------
1. Two readings are apart in the worst case when all parts, the meter and the line may be off as far as they can be and the bands
   still do not touch; they are apart by odds when their middles lie `APART_SDS` standard deviations of their difference apart.
2. What is not kept apart is said by order: pairs yes, triples no.
3. Parts read beforehand with the meter of the job have the tolerance of that reading, and the meter cancels: tell it so.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Sequence

from pullstring.trace.codes_search import search
from pullstring.trace.ohms_on_net import line_range, parallel_ohm

APART_SDS = 4.0
"""Ours, assumed: of two neighbours so far apart the wrong one is taken for the other 1 time in 40 (half the way is 2 sd)."""
NEARLY_SDS = 2.0
"""Ours, assumed: of two neighbours so far apart the wrong one is taken for the other 1 time in 6; taking a clip off decides."""
NODES = 20_000
"""Ours: sets looked at before the best found counts as good enough; about a second."""
MOST_READINGS = 20_000
"""Ours: an order with more parallels than these is not judged."""
NEAR = 12
"""Ours: each reading is held against so many of the next higher ones."""


class BadParts(ValueError):
    """The parts at hand cannot do it; all faults, one sentence each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))


@dataclasses.dataclass(frozen=True, kw_only=True)
class Part:
    """A value at hand: nominal [ohm], how far it may be off as a share of itself, how many there are."""

    ohm: float
    tolerance: float
    count: int


@dataclasses.dataclass(frozen=True, kw_only=True)
class Errors:
    """What lies between a part and its reading: the meter as a share of the reading, the loop of the line [ohm]."""

    meter: float
    line_ohm: tuple[float, float]


@dataclasses.dataclass(frozen=True)
class Shown:
    """What one combination shows: its parts [ohm], the parts together, the band it is read in, its middle and one sd [ohm]."""

    values: tuple[float, ...]
    ohm: float
    low_ohm: float
    high_ohm: float
    middle_ohm: float
    sd_ohm: float


@dataclasses.dataclass(frozen=True)
class Kept:
    """How well all combinations of up to `order` parts are kept apart.

    `gap` is the smallest gap between neighbours over the smaller of the two (parts exact, no line), `nearest` those two.
    `worst` says whether no two bands touch; `sds` is the smallest distance of two middles in standard deviations of their
    difference, `closest` those two.
    """

    order: int
    readings: int
    gap: float
    nearest: tuple[Shown, Shown] | None
    worst: bool
    sds: float
    closest: tuple[Shown, Shown] | None

    @property
    def likely(self) -> bool:
        """Whether all readings are apart, in the worst case or by odds."""
        return self.worst or self.sds >= APART_SDS

    @property
    def apart(self) -> str:
        """In a word: 'surely' in the worst case, 'likely' by odds, 'nearly' where two may be mistaken at times, else 'no'."""
        if self.worst:
            return "surely"
        return "likely" if self.likely else "nearly" if self.sds >= NEARLY_SDS else "no"


@dataclasses.dataclass(frozen=True)
class Choice:
    """Values to clip on, ascending, and how far they are told apart.

    `kept` holds one row for each order from 1 to one above the wanted one, as far as that can be judged; `proved` says that no
    set of the parts at hand has a larger smallest gap at the wanted order. `bands` are the readings of the order reached.
    """

    parts: tuple[Part, ...]
    up_to: int
    kept: tuple[Kept, ...]
    bands: tuple[Shown, ...]
    proved: bool

    @property
    def values(self) -> tuple[float, ...]:
        """The values. [ohm]"""
        return tuple(p.ohm for p in self.parts)

    @property
    def wanted(self) -> Kept:
        """How the wanted order is kept apart."""
        return self.kept[self.up_to - 1]

    @property
    def order_worst(self) -> int:
        """The highest order that is kept apart in the worst case; 0 when not even the singles are."""
        return max((k.order for k in self.kept if k.worst), default=0)

    @property
    def order_likely(self) -> int:
        """The highest order that is kept apart at all, in the worst case or by odds; 0 when not even the singles are."""
        return max((k.order for k in self.kept if k.likely), default=0)

    @property
    def not_kept(self) -> tuple[int, ...]:
        """The orders that are not kept apart, neither in the worst case nor by odds."""
        return tuple(k.order for k in self.kept if not k.likely)


def choose(*, parts: Sequence[Part], wanted: int, up_to: int, errors: Errors, nodes: int = NODES) -> Choice:
    """The values whose readings, single and in parallel up to an order, stay furthest apart.

    Parameters
    ----------
    parts : sequence of Part
        Values at hand. Equal values read alike, so one of each is used at most; the one with the least tolerance.
    wanted : int
        How many outlets get a resistor.
    up_to : int
        1 singles, 2 also two in parallel, 3 also three.
    errors : Errors
        Meter and line.
    nodes : int
        How long the search may look for something better.

    Returns
    -------
    Choice
        The set with the largest smallest gap that the search found; whether it is enough stands in `kept`.

    Raises
    ------
    BadParts
        Fewer different values than outlets, a value that is no resistance, an order that is none.

    References
    ----------
    Resistors on dead pairs read through parallels (common practice); the search is ours. Checked in
    ``tests/trace/test_codes_resistors.py``.
    """
    pool = _pool(parts, wanted=wanted, up_to=up_to, errors=errors)
    span = errors.line_ohm[1] - errors.line_ohm[0]
    found = search(ohms=[p.ohm for p in pool], wanted=wanted, up_to=up_to, span_ohm=span, nodes=nodes)
    assert found is not None
    chosen = [pool[n] for n in sorted(found.chosen)]
    judged = judge(parts=chosen, up_to=up_to, errors=errors)
    return dataclasses.replace(judged, proved=found.proved)


def highest(*, parts: Sequence[Part], wanted: int, up_to: int, errors: Errors, nodes: int = NODES) -> Choice:
    """The choice for the highest order, from `up_to` down, that is kept apart by odds; for singles when none is.

    Parameters
    ----------
    parts, wanted, up_to, errors, nodes
        As for `choose`.
    """
    for order in range(up_to, 0, -1):
        choice = choose(parts=parts, wanted=wanted, up_to=order, errors=errors, nodes=nodes)
        if choice.order_likely >= order or order == 1:
            return choice
    return choose(parts=parts, wanted=wanted, up_to=up_to, errors=errors, nodes=nodes)


def most_outlets(*, parts: Sequence[Part], up_to: int, errors: Errors, nodes: int = NODES) -> Choice | None:
    """The choice for the most outlets that one walk can keep apart by odds at this order; None when not even one value is at hand.

    More outlets than these want a second walk.
    """
    best = None
    for wanted in range(1, len({p.ohm for p in parts if p.count > 0}) + 1):
        choice = choose(parts=parts, wanted=wanted, up_to=up_to, errors=errors, nodes=nodes)
        if not choice.wanted.likely:
            break
        best = choice
    return best


def judge(*, parts: Sequence[Part], up_to: int, errors: Errors) -> Choice:
    """How well given parts are told apart, for orders 1 to one above `up_to`.

    Parameters
    ----------
    parts : sequence of Part
        One for each outlet; here equal values are allowed, and are not kept apart.
    up_to : int
        The wanted order.
    errors : Errors
        Meter and line.
    """
    ordered = tuple(sorted(parts, key=lambda p: p.ohm))
    kept = []
    for order in range(1, max(up_to, min(up_to + 1, len(ordered))) + 1):
        if order > up_to and _count(len(ordered), order) > MOST_READINGS:
            break
        kept.append(_kept(order, shown_by(parts=ordered, up_to=order, errors=errors)))
    reached = max((k.order for k in kept if k.order <= up_to and k.likely), default=1)
    bands = tuple(shown_by(parts=ordered, up_to=reached, errors=errors))
    return Choice(ordered, up_to, tuple(kept), bands, proved=False)


def shown_by(*, parts: Sequence[Part], up_to: int, errors: Errors) -> list[Shown]:
    r"""What every single and every parallel of up to so many parts shows, by ohms.

    The band takes every part, the meter and the line at their worst. As a standard deviation each of them is taken as even in its
    range (:math:`w/\sqrt{3}` of its half width), parts as independent: a part moves the parallel by :math:`P/R_i` of its share.
    """
    found = []
    for size in range(1, min(up_to, len(parts)) + 1):
        found += [_shown(group, errors) for group in itertools.combinations(parts, size)]
    return sorted(found, key=lambda s: (s.ohm, s.values))


def _shown(group: Sequence[Part], errors: Errors) -> Shown:
    values = [p.ohm for p in group]
    whole = parallel_ohm(values)
    add_low, add_high = line_range(values, errors.line_ohm)
    low = (parallel_ohm(p.ohm * (1 - p.tolerance) for p in group) + add_low) * (1 - errors.meter)
    high = (parallel_ohm(p.ohm * (1 + p.tolerance) for p in group) + add_high) * (1 + errors.meter)
    middle = whole + (add_low + add_high) / 2
    of_parts = sum((whole / p.ohm * p.tolerance) ** 2 for p in group) / 3
    variance = whole**2 * of_parts + middle**2 * errors.meter**2 / 3 + (add_high - add_low) ** 2 / 12
    return Shown(tuple(sorted(values)), whole, low, high, middle, math.sqrt(variance))


def _kept(order: int, shown: Sequence[Shown]) -> Kept:
    gap, nearest = math.inf, None
    for a, b in itertools.pairwise(shown):
        if b.ohm / a.ohm - 1 < gap:
            gap, nearest = b.ohm / a.ohm - 1, (a, b)
    by_low = sorted(shown, key=lambda s: s.low_ohm)
    reach = itertools.accumulate((s.high_ohm for s in by_low), max)
    worst = all(b.low_ohm > high for high, b in zip(reach, by_low[1:], strict=False))
    sds, closest = math.inf, None
    by_middle = sorted(shown, key=lambda s: s.middle_ohm)
    for n, a in enumerate(by_middle):
        for b in by_middle[n + 1 : n + 1 + NEAR]:
            apart = _sds(a, b)
            if apart < sds:
                sds, closest = apart, (a, b)
    return Kept(order, len(shown), gap, nearest, worst, sds, closest)


def _sds(a: Shown, b: Shown) -> float:
    both = math.hypot(a.sd_ohm, b.sd_ohm)
    apart = abs(b.middle_ohm - a.middle_ohm)
    return apart / both if both else math.inf if apart else 0.0


def _count(many: int, order: int) -> int:
    return sum(math.comb(many, k) for k in range(1, order + 1))


def _pool(parts: Iterable[Part], *, wanted: int, up_to: int, errors: Errors) -> list[Part]:
    """One part of each value that is at hand, ascending."""
    faults = []
    best: dict[float, Part] = {}
    for part in parts:
        if not (math.isfinite(part.ohm) and part.ohm > 0):
            faults.append(f"part {part.ohm:g} ohm is no resistor; a value above zero would be right")
        elif not 0 <= part.tolerance < 1:
            faults.append(f"part {part.ohm:g} ohm: tolerance {part.tolerance:g} is no share; 0.01 stands for 1 %")
        elif part.count > 0 and (part.ohm not in best or part.tolerance < best[part.ohm].tolerance):
            best[part.ohm] = part
    if up_to < 1:
        faults.append(f"order {up_to} is none; 1 singles, 2 also pairs in parallel, 3 also triples")
    if wanted < 1:
        faults.append(f"{wanted} outlets need no resistors; one or more would be right")
    if not 0 <= errors.meter < 1:
        faults.append(f"meter error {errors.meter:g} is no share; 0.01 stands for 1 %")
    if not 0 <= errors.line_ohm[0] <= errors.line_ohm[1]:
        faults.append(
            f"line of {errors.line_ohm[0]:g} to {errors.line_ohm[1]:g} ohm is no range; the smaller stands first"
        )
    if wanted > len(best) and not faults:
        different = "1 different value" if len(best) == 1 else f"{len(best)} different values"
        faults.append(
            f"{wanted} outlets need {wanted} different values and only {different} are at hand, for equal ones read alike; "
            f"code {len(best)} outlets on each walk, or bring more values"
        )
    if faults:
        raise BadParts(faults)
    return [best[ohm] for ohm in sorted(best)]

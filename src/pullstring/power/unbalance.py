"""Wires and pairs that share a current unequally: how much each carries, and whether a coil of the port minds.

Power leaves by the middle of a coil, so the two wires of a pair carry half each, and the halves cancel in its core. Where
one wire has more ohms the halves differ, and the difference magnetises the core: data suffer before anything gets hot.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Sequence

from pullstring.copper.legs import Unbalance, blame, unbalance
from pullstring.copper.readings import Cause
from pullstring.model.answers import Interval, Limit, spread
from pullstring.power.classes import pair_current

PAIR_TO_PAIR = Limit(0.07, "1", "IEEE 802.3 clause 145, pair to pair of a channel", "from memory")
PAIR_TO_PAIR_OHM = (
    Limit(0.05, "ohm", "IEEE 802.3 clause 145, pair to pair of a channel, the stricter reading", "from memory"),
    Limit(0.1, "ohm", "IEEE 802.3 clause 145, pair to pair of a channel, the looser reading", "from memory"),
)
"""Pairs may differ by this much whatever their share. Two readings are remembered; between them the answer is open."""
UNBALANCE_SHARE = Limit(0.03, "1", "IEEE 802.3 clause 33, current unbalance of a pair", "from memory")


class Reason(enum.StrEnum):
    """What the ohms of wires and pairs say about power over them."""

    WITHIN = "within_unbalance"
    OVER_CABLE = "over_cable_unbalance"
    OVER_CHANNEL = "over_channel_unbalance"
    PAIRS_UNLIKE = "pairs_unlike"
    SATURATION = "coil_may_saturate"
    WORSE_WIRE = "one_wire_worse_than_its_partner"
    ONE_WIRE = "one_wire_of_the_pair_only"
    OTHER_WIRE = "splice_or_thinner_wire"
    NOT_KNOWN = "not_known"


@dataclasses.dataclass(frozen=True)
class SharedPair:
    """Two wires of a pair that carries one pole.

    `shares` is the part of the pair's current that each wire carries; `apart` the current by which they differ, with the
    limit it is held against. `worse` is 1 or 2, the wire that is worse than its partner, 0 where neither is. `unbalance` is
    None where one wire is missing.
    """

    codes: tuple[Reason, ...]
    shares: tuple[Interval, Interval]
    apart: Interval
    limit: Limit
    worse: int
    unbalance: Unbalance | None


@dataclasses.dataclass(frozen=True)
class TwoPairs:
    """Two pairs that carry one pole together: how unlike, and the part of the current that each carries."""

    code: Reason
    of_sum: Interval
    apart: Interval
    shares: tuple[Interval, Interval]
    limit: Limit


def current_shares(*, wires_ohm: Sequence[float]) -> tuple[float, ...]:
    """Part of the current that each of several parallel wires carries.

    Parameters
    ----------
    wires_ohm : sequence of float
        Each wire from end to end, above zero. [ohm]

    Returns
    -------
    tuple of float
        Shares, one for each wire; together 1. [1]

    References
    ----------
    Currents go as conductances (Kirchhoff). Checked in ``tests/power/test_unbalance.py``.
    """
    whole = sum(1 / r for r in wires_ohm)
    return tuple(1 / r / whole for r in wires_ohm)


def unbalance_current_a(*, current_a: float, first_ohm: float, second_ohm: float) -> float:
    """Current by which the two wires of a pair differ: I |R2 - R1|/(R1 + R2).

    Parameters
    ----------
    current_a : float
        Current of the pair, zero or more. [A]
    first_ohm, second_ohm : float
        Its two wires, above zero. [ohm]

    Returns
    -------
    float
        Difference. [A]

    References
    ----------
    Difference of `current_shares`. Checked in ``tests/power/test_unbalance.py``.
    """
    return current_a * abs(second_ohm - first_ohm) / (first_ohm + second_ohm)


def unbalance_limit(*, type_number: int) -> Limit:
    """Greatest difference of current in a pair: 3 % of the greatest current of a pair, 10.5 mA for type 1.

    Parameters
    ----------
    type_number : int
        1 to 4. [type]

    Returns
    -------
    Limit
        Difference of the currents of both wires. [A]

    References
    ----------
    IEEE 802.3 clause 33 (from memory). Checked in ``tests/power/test_unbalance.py``.
    """
    most = pair_current(type_number=type_number)
    return Limit(UNBALANCE_SHARE.value * most.value, "A", UNBALANCE_SHARE.standard, UNBALANCE_SHARE.provenance)


def shared_pair(
    *, first: Interval | None, second: Interval | None, current: Interval, type_number: int, expected: Interval | None
) -> SharedPair:
    """What two wires of a pair say, when the pair carries a current.

    Parameters
    ----------
    first, second : Interval or None
        The two wires from end to end, above zero; None for one that is not whole. [ohm]
    current : Interval
        Current of the pair. [A]
    type_number : int
        Type of the port, 1 to 4; for 24 V always-on take 1. [type]
    expected : Interval or None
        One wire as length and gauge give it. [ohm]

    Returns
    -------
    SharedPair
        Codes, the deciding one first; shares; the difference against its limit.

    References
    ----------
    As `unbalance_limit`, `blame`. Checked in ``tests/power/test_unbalance.py``.
    """
    limit = unbalance_limit(type_number=type_number)
    if first is None or second is None:
        return _missing(first, second, current, limit)
    said = unbalance(first=first, second=second)
    pair = blame(first=first, second=second, expected=expected)
    apart = Interval(
        current.low * said.of_sum.low,
        current.high * said.of_sum.high,
        "A",
        (*said.of_sum.inputs, *(("current_a",) if current.low < current.high else ())),
    )
    codes = [
        *([Reason.SATURATION] if apart.high > limit.value else []),
        *([Reason.OVER_CHANNEL] if said.within_channel is False else []),
        *([Reason.OVER_CABLE] if said.within_cable is False else []),
        *([Reason.WORSE_WIRE] if pair.cause is Cause.BAD_JOINT else []),
        *([Reason.OTHER_WIRE] if pair.cause is Cause.SPLICE_OR_THINNER else []),
        *([Reason.NOT_KNOWN] if None in (said.within_channel, said.within_cable) else []),
    ]
    shares = (_share(first, second), _share(second, first))
    return SharedPair(tuple(codes) or (Reason.WITHIN,), shares, apart, limit, pair.wire, said)


def two_pairs(*, first: Interval, second: Interval) -> TwoPairs:
    """Two pairs that carry one pole together, as classes 5 to 8 do.

    Parameters
    ----------
    first, second : Interval
        Each pair as one conductor, its two wires in parallel, above zero. [ohm]

    Returns
    -------
    TwoPairs
        `within_unbalance` up to 7 % or the stricter ohms, `pairs_unlike` beyond 7 % and the looser ohms, else open.

    References
    ----------
    IEEE 802.3 clause 145 (from memory). Checked in ``tests/power/test_unbalance.py``.
    """
    said = unbalance(first=first, second=second)
    apart = _unsigned(spread(_difference_ohm, "ohm", first_ohm=first, second_ohm=second))
    strict, loose = PAIR_TO_PAIR_OHM
    if said.of_sum.high <= PAIR_TO_PAIR.value or apart.high <= strict.value:
        code = Reason.WITHIN
    elif said.of_sum.low > PAIR_TO_PAIR.value and apart.low > loose.value:
        code = Reason.PAIRS_UNLIKE
    else:
        code = Reason.NOT_KNOWN
    return TwoPairs(code, said.of_sum, apart, (_share(first, second), _share(second, first)), PAIR_TO_PAIR)


def _missing(first: Interval | None, second: Interval | None, current: Interval, limit: Limit) -> SharedPair:
    """One wire carries all, or none does."""
    one = 1.0 if first is not None else 0.0
    other = 1.0 if second is not None else 0.0
    shares = (Interval.exact(one, "1"), Interval.exact(other, "1"))
    all_of_it = current if one + other else Interval.exact(0.0, "A")
    codes = [Reason.SATURATION] if all_of_it.high > limit.value else []
    codes.append(Reason.ONE_WIRE if one + other else Reason.NOT_KNOWN)
    return SharedPair(tuple(codes), shares, all_of_it, limit, 0 if not one + other else 2 if one else 1, None)


def _share(own: Interval, other: Interval) -> Interval:
    return spread(lambda own_ohm, other_ohm: other_ohm / (own_ohm + other_ohm), "1", own_ohm=own, other_ohm=other)


def _difference_ohm(first_ohm: float, second_ohm: float) -> float:
    return first_ohm - second_ohm


def _unsigned(signed: Interval) -> Interval:
    ends = (abs(signed.low), abs(signed.high))
    return Interval(0.0 if signed.low <= 0 <= signed.high else min(ends), max(ends), signed.unit, signed.inputs)

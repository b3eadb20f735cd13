"""The two wires of one pair: each alone, how much they differ, and whether a joint or the wire itself is to blame.

Two wires of one pair are alike. One that is higher has a bad joint; both higher than the way explains means other wire.
"""

from __future__ import annotations

import dataclasses

from pullstring.copper.limits_table import curve
from pullstring.copper.readings import Cause
from pullstring.model.answers import Interval, Limit, spread

CHANNEL_UNBALANCE_OHM = 0.2
"""A channel may differ by this much whatever its share. [ohm] TIA-568-C.2 and IEEE 802.3 (from memory)."""


@dataclasses.dataclass(frozen=True)
class Unbalance:
    """How much two wires of a pair differ, by both definitions, against both limits.

    `of_smaller` is (max - min)/min, which the cable limit means; `of_sum` is |R1 - R2|/(R1 + R2), which the channel limit
    means. True within, False beyond, None when the spread of the readings leaves it open.
    """

    of_smaller: Interval
    of_sum: Interval
    within_cable: bool | None
    within_channel: bool | None
    cable: Limit
    channel: Limit


@dataclasses.dataclass(frozen=True)
class WirePair:
    """What the ohms of two single wires say: a cause or none, on which wire (1, 2, both 0), and the ohms too many."""

    cause: Cause | None
    wire: int
    extra: Interval | None
    unbalance: Unbalance | None


def wire_ohm(*, with_second_ohm: float, with_third_ohm: float, second_third_ohm: float) -> float:
    r"""One wire alone, from three loops over any two of three wires that are joined at the far end.

    :math:`R_1 = (R_{12} + R_{13} - R_{23})/2`. Below zero when the three readings do not belong together.

    Parameters
    ----------
    with_second_ohm, with_third_ohm : float
        Loop of the wire with the second and with the third. [ohm]
    second_third_ohm : float
        Loop of the other two. [ohm]

    Returns
    -------
    float
        Resistance of the first wire. [ohm]

    References
    ----------
    Three sums solved for one part (Kirchhoff). Checked in ``tests/copper/test_legs.py``.
    """
    return (with_second_ohm + with_third_ohm - second_third_ohm) / 2


def unbalance_of_smaller(*, first_ohm: float, second_ohm: float) -> float:
    """Unbalance as the cable limit means it: (max - min)/min.

    Parameters
    ----------
    first_ohm, second_ohm : float
        The two wires of a pair, above zero. [ohm]

    Returns
    -------
    float
        Share. [1]

    References
    ----------
    TIA-568-C.2, cable (from memory). Checked in ``tests/copper/test_legs.py``.
    """
    return max(first_ohm, second_ohm) / min(first_ohm, second_ohm) - 1


def unbalance_of_sum(*, first_ohm: float, second_ohm: float) -> float:
    """Unbalance as the channel limit means it: |R1 - R2|/(R1 + R2).

    Parameters
    ----------
    first_ohm, second_ohm : float
        The two wires of a pair, above zero. [ohm]

    Returns
    -------
    float
        Share. [1]

    References
    ----------
    TIA-568-C.2, channel, and IEEE 802.3 clause 33 (from memory). Checked in ``tests/copper/test_legs.py``.
    """
    return abs(first_ohm - second_ohm) / (first_ohm + second_ohm)


def unbalance(*, first: Interval, second: Interval) -> Unbalance:
    """How much two wires differ by both definitions, against the cable's 5 % and the channel's 3 % or 0.2 ohm.

    Parameters
    ----------
    first, second : Interval
        The two wires of a pair, above zero. [ohm]

    Returns
    -------
    Unbalance
        Both shares with their spread, and what the limits say.

    References
    ----------
    TIA-568-C.2 (from memory): of the channel's two limits the larger counts. Checked in ``tests/copper/test_legs.py``.
    """
    signed = spread(lambda first_ohm, second_ohm: (first_ohm - second_ohm) / (first_ohm + second_ohm), "1",
                    first_ohm=first, second_ohm=second)  # fmt: skip
    of_sum = _unsigned(signed)
    of_smaller = Interval(_of_smaller(of_sum.low), _of_smaller(of_sum.high), "1", of_sum.inputs)
    apart = _unsigned(
        spread(lambda first_ohm, second_ohm: first_ohm - second_ohm, "ohm", first_ohm=first, second_ohm=second)
    )
    cable, channel = _limit("cable"), _limit("channel")
    fine = (_within(of_sum, channel.value), _within(apart, CHANNEL_UNBALANCE_OHM))
    within_channel = True if True in fine else None if None in fine else False
    return Unbalance(of_smaller, of_sum, _within(of_smaller, cable.value), within_channel, cable, channel)


def blame(*, first: Interval, second: Interval, expected: Interval | None) -> WirePair:
    """A bad joint in one wire told from other wire in both.

    One wire higher than the other, beyond what the readings leave open: a bad joint in that wire. Both higher than the
    way explains: a hidden splice to thinner wire, or a longer way. Without `expected` only the first can be seen.

    Parameters
    ----------
    first, second : Interval
        The two wires of a pair, above zero. [ohm]
    expected : Interval or None
        One wire as its known length gives it. [ohm]

    Returns
    -------
    WirePair
        Cause, wire and the ohms too many; `extra` counts from the better wire, or from the range expected.

    References
    ----------
    Two wires of one pair have one length and one gauge (common practice). Checked in ``tests/copper/test_legs.py``.
    """
    said = unbalance(first=first, second=second)
    high, low, number = (first, second, 1) if first.middle >= second.middle else (second, first, 2)
    over = expected is not None and low.low > expected.high
    apart = high.low > low.high and said.within_cable is not True
    if over and expected is not None:
        return WirePair(Cause.SPLICE_OR_THINNER, 0, _less(low, expected), said)
    if apart:
        return WirePair(Cause.BAD_JOINT, number, _less(high, low), said)
    return WirePair(None, 0, None, said)


def _less(more: Interval, less: Interval) -> Interval:
    inputs = tuple(dict.fromkeys((*more.inputs, *less.inputs)))
    return Interval(max(more.low - less.high, 0.0), more.high - less.low, "ohm", inputs)


def _unsigned(signed: Interval) -> Interval:
    ends = (abs(signed.low), abs(signed.high))
    low = 0.0 if signed.low <= 0 <= signed.high else min(ends)
    return Interval(low, max(ends), signed.unit, signed.inputs)


def _of_smaller(of_sum: float) -> float:
    """(max - min)/min from (max - min)/(max + min)."""
    return 2 * of_sum / (1 - of_sum)


def _within(value: Interval, limit: float) -> bool | None:
    return True if value.high <= limit else False if value.low > limit else None


def _limit(part: str) -> Limit:
    piece = curve(part=part, category="any", quantity="unbalance", edition=None).pieces[0]
    return Limit(piece.a, piece.unit or "1", f"{piece.standard}, unbalance within a pair of {part}", piece.provenance)

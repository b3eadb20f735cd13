"""Which channel each radio takes: least weighted overlap first, then the greatest total width, then what is liked better.

The weight of a pair is by how many dB one arrives at the other above -85 dBm; a pair pays it when their channels share a 20 MHz
channel. A stranger on the air pays like a radio that cannot be moved, and so does a radio that must keep its channel. Of equal
plans the one with fewest radios on channels that must listen for radar (or that are found late) wins, then the one that
changes fewest present channels. Where the rules of the place come in, see `channels_air.py`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np

from pullstring.plan.channels_blocks import NEVER, Costs, blocks_of
from pullstring.plan.channels_search import TABLE_WORK, Cheapest, cheapest
from pullstring.radio.air import PARTLY, SAME, Allowed, Channel, meeting

QUIET_DBM = -85.0
"""A radio on the same channel that arrives with less does not count. [dBm] Common practice, a target and no standard."""
PARTLY_TIMES = 2
"""How much worse a channel that is partly across is than the same channel: both talk over each other. Ours."""
WIDTH_MHZ = 20
WIDTH_BY_RATE = ((60, 20), (250, 40))
WIDTH_ABOVE = 80
"""Least width [MHz] up to a total rate of the rooms served [Mbit/s], and beyond. Ours."""
BESIDE = 16
"""A block has at most so many 20 MHz channels."""


@dataclasses.dataclass(frozen=True)
class Radio:
    """A radio that needs a channel. `keeps` is one it must keep, `present` the one it has now; None where not known."""

    name: str
    least_mhz: int
    most_mhz: int
    keeps: Channel | None = None
    present: Channel | None = None


@dataclasses.dataclass(frozen=True)
class Stranger:
    """Somebody else's radio: its channel, and the weight with which each of ours hears it; see `pair_weight`."""

    name: str
    channel: Channel
    heard: Mapping[str, int]


@dataclasses.dataclass(frozen=True)
class Overlap:
    """Another radio on the same air: how it meets ours (`same`, or `partly`, which counts more), how many dB above -85 dBm it
    arrives, and what that counts."""

    other: str
    how: str
    above_db: int
    counts_db: int


@dataclasses.dataclass(frozen=True)
class Choice:
    """The channel of one radio and what it still shares it with, worst first. `narrow`: less wide than it should be."""

    name: str
    channel: Channel
    overlaps: tuple[Overlap, ...]
    moved: bool
    kept: bool
    narrow: bool


@dataclasses.dataclass(frozen=True)
class ChannelPlan:
    """A channel for every radio. No plan overlaps by less than `least_db`; the plan is proven when it is as good as that.

    `present_db` is the overlap of the channels as they are now, None when that of a radio is not known.
    """

    choices: tuple[Choice, ...]
    overlap_db: int
    width_mhz: int
    least_db: int
    overlap_proven: bool
    proven: bool
    present_db: int | None
    steps: int

    @property
    def worse_db(self) -> int | None:
        """By how much the present channels overlap more. [dB]"""
        return None if self.present_db is None else self.present_db - self.overlap_db


def pair_weight(*, eirp_dbm: float, loss_db: float) -> int:
    """By how many whole dB a radio arrives at another above `QUIET_DBM`; halves go to the even number.

    Parameters
    ----------
    eirp_dbm : float
        What the one radiates. [dBm]
    loss_db : float
        Loss on the way to the other. [dB]

    Returns
    -------
    int
        Weight, 0 or more. [dB]

    References
    ----------
    -85 dBm between access points on one channel is common practice. Checked in ``tests/plan/test_channels.py``.
    """
    return max(0, round(eirp_dbm - loss_db - QUIET_DBM))


def least_width_mhz(*, rate_mbps: float) -> int:
    """Width that the total rate of the rooms of a radio asks for: 20 up to 60 Mbit/s, 40 up to 250, else 80.

    Parameters
    ----------
    rate_mbps : float
        What the rooms need together. [Mbit/s]

    Returns
    -------
    int
        Width. [MHz]

    References
    ----------
    Ours, assumed. Checked in ``tests/plan/test_channels_frozen.py``.
    """
    return next((width for most, width in WIDTH_BY_RATE if rate_mbps <= most), WIDTH_ABOVE)


def channel_plan(
    radios: Sequence[Radio],
    weights: Mapping[tuple[str, str], int],
    strangers: Sequence[Stranger],
    airs: Sequence[Sequence[Allowed]],
    *,
    step_limit: int,
) -> ChannelPlan:
    """A channel for every radio of one band.

    Parameters
    ----------
    radios : sequence of Radio
        All radios of the band that weigh on each other; names differ.
    weights : mapping
        Weight of a pair by its two names, in either order; a missing pair weighs nothing. [dB]
    strangers : sequence of Stranger
        What else is heard.
    airs : sequence of sequences of Allowed
        Channels to choose from. The channels of one list are apart or inside each other; of several lists (1, 6, 11 and
        1, 5, 9, 13) the better one is taken.
    step_limit : int
        How long to search where there are too many radios for a table: steps, about 10,000 a second.

    Returns
    -------
    ChannelPlan
        The plan, with its proof or how much better another might be.
    """
    _check(radios, airs)
    free = [radio for radio in radios if radio.keeps is None]
    both = {(a, b): weight for pair, weight in weights.items() for a, b in (pair, pair[::-1])}
    held = [*strangers, *(_as_stranger(radio, both) for radio in radios if radio.keeps is not None)]
    best: tuple[Cheapest, Sequence[Allowed], Costs] | None = None
    least, steps = NEVER, 0
    for air in airs:
        costs = _costs(free, both, held, air)
        found = cheapest(costs, step_limit=step_limit, table_work=TABLE_WORK)
        least, steps = min(least, found.bound), steps + found.steps
        if best is None or found.cost < best[0].cost:
            best = (found, air, costs)
    assert best is not None
    found, air, costs = best
    picked = {radio.name: air[block].channel for radio, block in zip(free, found.picked, strict=True)}
    channels = {radio.name: picked.get(radio.name) or radio.keeps for radio in radios}
    return _plan(
        radios, {n: c for n, c in channels.items() if c}, both, strangers, found.cost, (least, steps, costs.step)
    )


def _check(radios: Sequence[Radio], airs: Sequence[Sequence[Allowed]]) -> None:
    names = [radio.name for radio in radios]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"radio {', '.join(twice)}: named twice; each radio needs a name of its own")
    if not airs or not all(airs):
        raise ValueError("channels: none is left to choose from; allow at least one")


def _as_stranger(radio: Radio, both: Mapping[tuple[str, str], int]) -> Stranger:
    assert radio.keeps is not None
    return Stranger(radio.name, radio.keeps, {b: weight for (a, b), weight in both.items() if a == radio.name})


def _costs(
    free: Sequence[Radio], both: Mapping[tuple[str, str], int], held: Sequence[Stranger], air: Sequence[Allowed]
) -> Costs:
    blocks = blocks_of([frozenset(one.channel.parts) for one in air])
    n = len(free)
    pairs = np.array([[both.get((a.name, b.name), 0) if a is not b else 0 for b in free] for a in free], dtype=np.int64)
    ranks = (n + 1) ** 2
    step = ranks * (BESIDE * n + 1)  # more than everything below it together
    alone = np.full((n, len(air)), NEVER, dtype=np.int64)
    for row, radio in enumerate(free):
        wide = _widths(radio, air)
        for column, one in enumerate(air):
            width = one.channel.width_mhz
            if width in wide:
                paid = sum(_counts(one.channel, other.channel, other.heard.get(radio.name, 0)) for other in held)
                lost = (max(wide) - width) // WIDTH_MHZ
                unliked = one.radar or not one.listened_first
                moves = radio.present is not None and radio.present != one.channel
                alone[row, column] = paid * step + lost * ranks + unliked * (n + 1) + moves
    return Costs(blocks, pairs.reshape(n, n), alone, step)


def _widths(radio: Radio, air: Sequence[Allowed]) -> set[int]:
    """Widths a radio may take; where none is wide enough, the widest there is."""
    held = {one.channel.width_mhz for one in air if one.channel.width_mhz <= radio.most_mhz}
    if not held:
        raise ValueError(
            f"radio {radio.name}: no channel is as narrow as its {radio.most_mhz} MHz; allow a narrower one"
        )
    return {width for width in held if width >= radio.least_mhz} or {max(held)}


def _counts(own: Channel, other: Channel, weight: int) -> int:
    """What a radio on the air of another counts."""
    return weight * {SAME: 1, PARTLY: PARTLY_TIMES}.get(meeting(own, other), 0)


def overlap_of(
    channels: Mapping[str, Channel], weights: Mapping[tuple[str, str], int], strangers: Sequence[Stranger]
) -> dict[str, tuple[Overlap, ...]]:
    """For each radio, with which others it shares the air on given channels, worst first; any channels may be asked about."""
    both = {(a, b): weight for pair, weight in weights.items() for a, b in (pair, pair[::-1])}
    found = {}
    for name, own in channels.items():
        others = [(other, channel, both.get((name, other), 0)) for other, channel in channels.items() if other != name]
        others += [(one.name, one.channel, one.heard.get(name, 0)) for one in strangers]
        met = [
            Overlap(other, meeting(own, channel), weight, _counts(own, channel, weight))
            for other, channel, weight in others
        ]
        found[name] = tuple(sorted((one for one in met if one.counts_db), key=lambda one: (-one.counts_db, one.other)))
    return found


def total_db(overlaps: Mapping[str, Sequence[Overlap]]) -> int:
    """Overlap of a whole plan: each pair of our own once, each stranger once for everyone who hears it. [dB]"""
    counted = [(one.other in overlaps, one.counts_db) for own in overlaps.values() for one in own]
    return sum(paid for ours, paid in counted if ours) // 2 + sum(paid for ours, paid in counted if not ours)


def _plan(
    radios: Sequence[Radio],
    channels: Mapping[str, Channel],
    both: Mapping[tuple[str, str], int],
    strangers: Sequence[Stranger],
    cost: int,
    searched: tuple[int, int, int],
) -> ChannelPlan:
    least, steps, step = searched
    overlaps = overlap_of(channels, both, strangers)
    overlap = total_db(overlaps)
    fixed = overlap - cost // step  # what those that keep their channels pay among themselves and to strangers
    present = {radio.name: now for radio in radios if (now := radio.keeps or radio.present)}
    choices = tuple(
        Choice(
            radio.name,
            channels[radio.name],
            overlaps[radio.name],
            radio.present is not None and radio.present != channels[radio.name],
            radio.keeps is not None,
            channels[radio.name].width_mhz < radio.least_mhz,
        )
        for radio in radios
    )
    return ChannelPlan(
        choices,
        overlap,
        sum(channel.width_mhz for channel in channels.values()),
        fixed + least // step,
        least // step >= cost // step,
        least >= cost,
        total_db(overlap_of(present, both, strangers)) if len(present) == len(radios) else None,
        steps,
    )

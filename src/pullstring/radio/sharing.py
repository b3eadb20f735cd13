"""How the air is shared: share of airtime, who waits for whom, hops of a mesh, other ways to feed an access point, roaming.

Radios that hear each other on one channel take turns. A share of airtime is a number from 0 up; above 1 it does not fit.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Mapping, Sequence

from pullstring.model.answers import Interval
from pullstring.radio.air import PARTLY, SAME, Channel, meeting
from pullstring.radio.rate_tables import TABLE_WIDTH_MHZ, table_rows

DEFER_DBM = -82.0
"""A radio waits for a start of frame at this level in each 20 MHz. [dBm] IEEE 802.11 clear channel assessment (from memory)."""
ROAMING_DBM = -75.0
"""The second access point should arrive with this. [dBm] Common practice, a target and no standard."""


@dataclasses.dataclass(frozen=True)
class OnAir:
    """A radio that sends in a band: its channel, and the share of airtime its own devices take."""

    name: str
    channel: Channel
    own_share: float
    foreign: bool


@dataclasses.dataclass(frozen=True)
class Turns:
    """One of the site's radios and what it shares the air with.

    `waits_for` take turns with it; `noise_from` lie partly across its channel and disturb it instead, which is worse.
    `taken_share` is its own share and that of all it waits for; `left_share` what others leave to it; `fair_share` what it gets
    when all want everything.
    """

    name: str
    waits_for: tuple[str, ...]
    noise_from: tuple[str, ...]
    taken_share: float
    left_share: float
    fair_share: float

    @property
    def fits(self) -> bool:
        """Whether its own devices get what they need. False as well when the shares together are above 1."""
        return self.taken_share <= 1.0


@dataclasses.dataclass(frozen=True)
class Uplink:
    """A way other than twisted pair to feed an access point, with its rate for the user. Common practice."""

    way: str
    rate: Interval
    says: str
    provenance: str


def airtime_share(*, needed_mbps: float, goodput_mbps: Interval) -> Interval:
    """Share of airtime that a device takes: what it needs over what it would get alone.

    So a slow device takes more of the air than a quick one for the same need.

    Parameters
    ----------
    needed_mbps : float
        What it needs. [Mbit/s]
    goodput_mbps : Interval
        What it would get if the air were its alone. [Mbit/s]

    Returns
    -------
    Interval
        Share, infinite where nothing arrives. [1]

    References
    ----------
    Airtime is rate needed over rate had (common practice). Checked in ``tests/radio/test_sharing.py``.
    """
    low, high = (
        needed_mbps / got if got > 0 else (math.inf if needed_mbps > 0 else 0.0)
        for got in (goodput_mbps.high, goodput_mbps.low)
    )
    return Interval(low, high, "", goodput_mbps.inputs)


def hears(*, level_dbm: float, width_mhz: float) -> bool:
    """Whether a radio waits for another: at least `DEFER_DBM` arrives in each 20 MHz of what the other sends.

    Parameters
    ----------
    level_dbm : float
        Level of the other over its whole channel; NaN hears nothing. [dBm]
    width_mhz : float
        Width of the other's channel. [MHz]

    Returns
    -------
    bool
        True when it waits.

    References
    ----------
    IEEE 802.11, -82 dBm for a start of frame in 20 MHz (from memory). Checked in ``tests/radio/test_sharing.py``.
    """
    return level_dbm - 10.0 * math.log10(width_mhz / TABLE_WIDTH_MHZ) >= DEFER_DBM


def taking_turns(radios: Sequence[OnAir], levels_dbm: Mapping[tuple[str, str], float]) -> tuple[Turns, ...]:
    """For each of the site's radios, with whom it shares the air.

    `levels_dbm` gives the level of the first named at the second; a pair that is missing either way is not heard. Two
    radios take turns as soon as one of them hears the other, for the deaf one then talks over the other.
    """
    found = []
    for own in radios:
        if own.foreign:
            continue
        met = [(other, meeting(own.channel, other.channel)) for other in radios if other is not own]
        near = [(other, how) for other, how in met if _heard(own, other, levels_dbm)]
        waits = [other for other, how in near if how == SAME]
        noise = [other for other, how in near if how == PARTLY]
        others = sum(other.own_share for other in waits)
        found.append(
            Turns(
                own.name,
                tuple(other.name for other in waits),
                tuple(other.name for other in noise),
                own.own_share + others,
                max(0.0, 1.0 - others),
                1.0 / (1 + len(waits)),
            )
        )
    return tuple(found)


def _heard(one: OnAir, other: OnAir, levels_dbm: Mapping[tuple[str, str], float]) -> bool:
    return any(
        hears(level_dbm=levels_dbm.get((sender.name, at.name), math.nan), width_mhz=sender.channel.width_mhz)
        for sender, at in ((one, other), (other, one))
    )


def hop_share(*, hop_count: int) -> Interval:
    """Share of the rate of one hop that is left after several on one radio: 1/2^(n-1) at worst, 1/n at best.

    1/n holds when all hear each other (every frame is sent n times); 1/2^(n-1) is the pessimistic rule where some do not.

    Parameters
    ----------
    hop_count : int
        Hops from the wired access point, 1 or more. [1]

    Returns
    -------
    Interval
        Share. [1]

    References
    ----------
    Both rules read in published texts. Checked in ``tests/radio/test_sharing.py`` (RC209 to RC211).
    """
    if hop_count < 1:
        raise ValueError(f"{hop_count} hops: a way over the air has at least one")
    return Interval(0.5 ** (hop_count - 1), 1.0 / hop_count, "", ("who hears whom",) if hop_count > 2 else ())


def mesh_rate(*, hops_mbps: Sequence[float], own_backhaul: bool) -> Interval:
    r"""What arrives at the end of a mesh.

    On one radio each hop takes its share of the same air, :math:`1 / \sum 1/r_i` at best, and the slowest hop times
    1/2^(n-1) at worst. Where every hop but the last has a radio and channel of its own, the slowest hop decides.

    Parameters
    ----------
    hops_mbps : sequence of float
        Rate of each hop alone. [Mbit/s]
    own_backhaul : bool
        Whether access points talk to each other by radios of their own, on channels free of each other.

    Returns
    -------
    Interval
        Rate; 0 when a hop carries nothing. [Mbit/s]

    References
    ----------
    Airtime adds over hops; for equal hops this is 1/n (read). Checked in ``tests/radio/test_sharing.py``.
    """
    slowest = min(hops_mbps)
    if slowest <= 0:
        return Interval.exact(0.0, "Mbit/s")
    if own_backhaul:
        return Interval.exact(slowest, "Mbit/s")
    best = 1.0 / sum(1.0 / rate for rate in hops_mbps)
    worst = min(best, slowest * hop_share(hop_count=len(hops_mbps)).low)
    return Interval(worst, best, "Mbit/s", ("who hears whom",) if worst < best else ())


def weak_hops(*, hops_mbps: Sequence[float], needed_mbps: float) -> tuple[int, ...]:
    """Hops, counted from 1 at the wire, that do not carry the rate by themselves: then no mesh helps.

    Parameters
    ----------
    hops_mbps : sequence of float
        Rate of each hop alone. [Mbit/s]
    needed_mbps : float
        What must arrive at the end. [Mbit/s]

    Returns
    -------
    tuple of int
        Numbers of the hops that are too slow.

    References
    ----------
    Common practice: every hop must meet the rate. Checked in ``tests/radio/test_sharing.py``.
    """
    return tuple(number for number, rate in enumerate(hops_mbps, 1) if rate < needed_mbps)


@functools.cache
def uplinks() -> Mapping[str, Uplink]:
    """Power line and coax as ways to feed an access point, by name: rates with their spread, common practice."""
    return {
        row["way"]: Uplink(
            row["way"],
            Interval(float(row["low_mbps"]), float(row["high_mbps"]), "Mbit/s", (row["way"],)),
            row["says"],
            row["provenance"],
        )
        for row in table_rows("uplinks.csv")
    }


def second_for_roaming(levels_dbm: Mapping[str, float]) -> tuple[str | None, bool]:
    """The second strongest access point at a spot, and whether it arrives with the `ROAMING_DBM` that roaming wants.

    Names decide between equal levels, so that the answer is always the same. NaN is not heard.
    """
    heard = sorted((-level, name) for name, level in levels_dbm.items() if not math.isnan(level))
    if len(heard) < 2:
        return None, False
    level, name = heard[1]
    return name, -level >= ROAMING_DBM


def groups_of_turns(turns: Sequence[Turns]) -> tuple[tuple[str, ...], ...]:
    """Radios of the site that share one stretch of air, directly or through each other; loners are left out."""
    own = [one.name for one in turns]
    group = {name: name for name in own}
    for one, other in itertools.product(turns, own):
        if other in one.waits_for:
            old, new = sorted((group[one.name], group[other]))
            group = {name: old if head == new else head for name, head in group.items()}
    found = {head: tuple(name for name in own if group[name] == head) for head in group.values()}
    return tuple(names for names in found.values() if len(names) > 1)

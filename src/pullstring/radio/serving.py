"""What hangs on each access point, band by band, and how much of the air that takes.

A room's needs hang on the access point that serves it in the band in which they are met most surely. The middle is what to
expect; the low end takes quick receivers and little lost in use, the high end the published table and much lost.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from pullstring.model.answers import Interval
from pullstring.radio.needs import Part
from pullstring.radio.needs_met import NeedAnswer
from pullstring.radio.rate_tables import ladder
from pullstring.radio.rates import DESIGN_BETTER_DB, EXPECTED_BETTER_DB, goodput_share, usual_air
from pullstring.radio.room_rates import Device, Station, devices, link, rates
from pullstring.radio.rooms import Levels, RoomAnswer, RoomSamples
from pullstring.radio.rooms_assumed import Rules
from pullstring.radio.sharing import OnAir, Turns


@dataclasses.dataclass(frozen=True)
class Hanging:
    """One access point in one band: rooms and needs on it, and the share of its air that they take. [percent]

    `percent` is what to expect, `range` its interval; over 100 it does not fit. `is_busy` when the middle is above the rule's
    share. `slowest` is the need that takes most. `not_reached` are needs that seldom get a link there at all; they count
    with the slowest rate. `with_others_percent` adds what all take whom it waits for; None where no channels were given.
    """

    sender: str
    band: str
    rooms: tuple[str, ...]
    needs: tuple[str, ...]
    percent: float
    range: Interval
    is_busy: bool
    slowest: str | None
    not_reached: tuple[str, ...]
    with_others_percent: float | None
    waits_for: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class _Taken:
    """What one use of one need takes of the air, in each draw: low, expected, high; and whether it gets a link in most draws."""

    need: str
    room: str
    low: Levels
    middle: Levels
    high: Levels
    is_reached: bool


def hanging(
    needs: Iterable[NeedAnswer],
    *,
    samples: Mapping[str, RoomSamples],
    answers: Mapping[str, RoomAnswer],
    stations: Mapping[str, Station],
    rules: Rules,
) -> tuple[Hanging, ...]:
    """Every access point and band that serves some room or need, by name and band.

    `samples` and `answers` are by room; all samples have the same draws, so that what hangs on one access point adds up
    draw by draw.
    """
    rooms: dict[tuple[str, str], list[str]] = defaultdict(list)
    for room, answer in sorted(answers.items()):
        for band, of in answer.bands.items():
            rooms[of.server, band].append(room)
    taken: dict[tuple[str, str], list[_Taken]] = defaultdict(list)
    for need in sorted(needs, key=lambda n: (n.need, n.room)):
        for part in need.parts:
            served = answers[need.room].bands.get(part.band or "")
            if served is not None:
                station = stations[served.server]
                taken[served.server, served.band].append(
                    _taken(need, part.part, samples[need.room], served.band, station, rules)
                )
    return tuple(
        _hanging(sender, band, rooms[sender, band], taken[sender, band], rules)
        for sender, band in sorted({*rooms, *taken})
    )


def _hanging(sender: str, band: str, rooms: Sequence[str], taken: Sequence[_Taken], rules: Rules) -> Hanging:
    tail = (1 - rules.interval_share) / 2
    low, middle, high = (
        float(np.quantile(100 * np.sum([getattr(t, which) for t in taken], axis=0), q)) if taken else 0.0
        for which, q in (("low", tail), ("middle", 0.5), ("high", 1 - tail))
    )
    of_need: dict[str, float] = defaultdict(float)
    for t in taken:
        of_need[t.need] += float(np.median(t.middle))
    return Hanging(
        sender=sender,
        band=band,
        rooms=tuple(rooms),
        needs=tuple(sorted(of_need)),
        percent=middle,
        range=Interval(low, high, "%", ("level", "share of the rate left in use") if taken else ()),
        is_busy=middle > rules.busy_percent,
        slowest=max(sorted(of_need), key=lambda n: of_need[n], default=None),
        not_reached=tuple(sorted({t.need for t in taken if not t.is_reached})),
        with_others_percent=None,
        waits_for=(),
    )


def _taken(need: NeedAnswer, part: Part, samples: RoomSamples, band: str, station: Station, rules: Rules) -> _Taken:
    """Rate asked for over rate had, both ways, at a point such that half of them are better, times how often it is asked."""
    device = devices()[part.device]
    share = goodput_share(usual_air(band))
    slowest = _slowest_mbps(device, station, band)
    found = [
        (left, rates(samples, band, device=device, station=station, better_db=better))
        for left, better in (
            (share.high, EXPECTED_BETTER_DB),
            (share.middle, EXPECTED_BETTER_DB),
            (share.low, DESIGN_BETTER_DB),
        )
    ]
    takes, reached = [], True
    for left, pair in found:
        assert pair is not None  # the answer named this access point and band for the room
        down, up = (np.median(rate, axis=-1) for rate in pair)
        reached = reached and float(np.median(down)) > 0
        one = part.down_mbps / np.maximum(down, slowest) + part.up_mbps / np.maximum(up, slowest)
        takes.append(part.count * part.busy_share * one / left)
    return _Taken(need.need, need.room, takes[0], takes[1], takes[2], reached)


def _slowest_mbps(device: Device, station: Station, band: str) -> float:
    width, streams, standard = link(device, station, band)
    return float(ladder(standard=standard, width_mhz=width, streams=streams)[1][0])


def on_air(found: Sequence[Hanging], *, channels: Mapping[tuple[str, str], OnAir]) -> tuple[OnAir, ...]:
    """The site's radios with what their own devices take, for `sharing.taking_turns`; `channels` by access point and band.

    A radio on which nothing hangs takes nothing but is there. Radios are named `access point, band`.
    """
    own = {(h.sender, h.band): h.percent / 100 for h in found}
    return tuple(
        dataclasses.replace(radio, name=radio_name(sender, band), own_share=own.get((sender, band), 0.0))
        for (sender, band), radio in sorted(channels.items())
    )


def radio_name(sender: str, band: str) -> str:
    """How a radio is named where each band of an access point is one."""
    return f"{sender}, {band}"


def with_others(found: Sequence[Hanging], turns: Sequence[Turns], rules: Rules) -> tuple[Hanging, ...]:
    """The same with whom each radio waits for and what all of them take together; busy when that is above the rule's share."""
    by_name = {t.name: t for t in turns}
    out = []
    for h in found:
        turn = by_name.get(radio_name(h.sender, h.band))
        if turn is None:
            out.append(h)
            continue
        percent = 100 * turn.taken_share
        out.append(
            dataclasses.replace(
                h, with_others_percent=percent, waits_for=turn.waits_for, is_busy=percent > rules.busy_percent
            )
        )
    return tuple(out)

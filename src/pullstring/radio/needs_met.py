"""The chance that a need is met in a room, both ways.

Where each spread belongs: how sure the levels are is in the draws; that one device reads lower than another (3 to 10 dB for
phones) and that a body stands in the way belongs to the device, is the same at all its places and weakens both ways
alike, so it is one shift of a whole room and is added to each draw in closed form. Time and small-scale fading are left
out: the level asked for is one of the local mean.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping

import numpy as np

from pullstring.model.answers import Odds
from pullstring.radio.needs import Part, Wanted
from pullstring.radio.rates import DESIGN_BETTER_DB, goodput_share, needed_dbm, usual_air
from pullstring.radio.room_rates import Device, Station, devices, link, way_back_db
from pullstring.radio.rooms import Levels, RoomSamples, heard, reached_dbm, strongest
from pullstring.radio.rooms_assumed import Rules

_NEVER_DBM = 1000.0


@dataclasses.dataclass(frozen=True)
class PartAnswer:
    """One use of a need: the band on which it is met most surely, the chance of that, and of each way taken alone."""

    part: Part
    band: str | None
    chance: Odds
    chance_down: Odds
    chance_up: Odds


@dataclasses.dataclass(frozen=True)
class NeedAnswer:
    """A need in a room: the chance that all its uses are met, with the band and level of the use that is met least surely.

    `why_not` is a code where there is no chance to tell: nothing is asked of the air, nobody sends a band that is allowed,
    or the room is not known. `limited_by` is `up` where the way back is what fails first.
    """

    need: str
    room: str
    kind: str | None
    band: str | None
    level_dbm: float | None
    chance: Odds | None
    limited_by: str | None
    parts: tuple[PartAnswer, ...]
    why_not: str | None
    doubts: tuple[str, ...]


def need_answer(
    wanted: Wanted, samples: RoomSamples, *, stations: Mapping[str, Station], rules: Rules, barred: str | None
) -> NeedAnswer:
    """The chance that a need is met at a room's points, or at a thing's one point.

    A use is met when, on one band it may use, the agreed share of the points has its level and, at the same points,
    the way back carries its rate up by the published table. At each point the device is taken to find the access point
    that serves it best both ways. Devices of different uses differ independently; the levels they meet are the same.
    """
    why = wanted.why_not or barred
    if why is None and not any(heard(samples, b) for p in wanted.parts for b in p.bands):
        why = "no_sender"
    if why is not None:
        return NeedAnswer(wanted.need, samples.room, None, None, None, None, None, (), why, wanted.doubts)
    answers, together = [], np.ones(1)
    for part in wanted.parts:
        answer, met = _part_answer(part, samples, stations, rules)
        answers.append(answer)
        together = together * met
    worst = min(answers, key=lambda a: a.chance.chance)
    return NeedAnswer(
        wanted.need,
        samples.room,
        worst.part.kind,
        worst.band,
        worst.part.level_dbm,
        _odds(together),
        "up" if worst.chance_up.chance < worst.chance_down.chance else "down",
        tuple(answers),
        None,
        wanted.doubts,
    )


def _part_answer(
    part: Part, samples: RoomSamples, stations: Mapping[str, Station], rules: Rules
) -> tuple[PartAnswer, Levels]:
    """The use's answer, and the chance that it is met in each draw."""
    spread = math.hypot(devices()[part.device].spread_db, rules.body_spread_db)
    best: PartAnswer | None = None
    in_band: list[Levels] = []
    for band in part.bands:
        margins = _margins(part, band, samples, stations)
        if margins is None:
            continue
        both, one, other = (reached_dbm(level_dbm=m, points_share=rules.points_share) for m in margins)
        met = _normal(both / spread)
        in_band.append(both)
        here = PartAnswer(part, band, _odds(met), _odds(_normal(one / spread)), _odds(_normal(other / spread)))
        if best is None or here.chance.chance > best.chance.chance:
            best = here
    if best is None:
        return PartAnswer(part, None, Odds(0.0), Odds(0.0), Odds(0.0)), np.zeros(1)
    met = _normal(np.max(in_band, axis=0) / spread)
    return dataclasses.replace(best, chance=_odds(met)), met


def _margins(
    part: Part, band: str, samples: RoomSamples, stations: Mapping[str, Station]
) -> tuple[Levels, Levels, Levels] | None:
    """What is to spare for the usual device both ways, down and up, [draws, points]; None where nobody sends or it cannot.

    Each is the level less what that access point asks for; so of those that ask for the same, the strongest counts.
    """
    device = devices()[part.device]
    found = heard(samples, band)
    if found is None or band not in device.width_mhz:
        return None
    down = device.lower_db + part.level_dbm
    up = {n: _up_asks_dbm(part, device, stations[n], band) for n in found[0]}
    both = {n: max(down, asks) for n, asks in up.items()}
    asked = (both, dict.fromkeys(up, down), up)
    both_ways, one, other = (_to_spare(samples, band, asks) + samples.lowered_db for asks in asked)
    return both_ways, one, other


def _to_spare(samples: RoomSamples, band: str, asks_dbm: Mapping[str, float]) -> Levels:
    groups: dict[float, list[str]] = {}
    for name, asks in asks_dbm.items():
        groups.setdefault(asks, []).append(name)
    found: Levels = np.max([strongest(samples, band, names) - asks for asks, names in groups.items()], axis=0)
    return found


def _up_asks_dbm(part: Part, device: Device, station: Station, band: str) -> float:
    """Level of a plain antenna at the device from which on its way back carries the use's rate."""
    least = least_up_dbm(part, device, station, band)
    return _NEVER_DBM if least is None else least - way_back_db(device, station, band)


def least_up_dbm(part: Part, device: Device, station: Station, band: str) -> float | None:
    """Least level at an access point at which a use's rate up is carried, by the published table; None if no level does."""
    width, streams, standard = link(device, station, band)
    on_air = part.up_mbps / goodput_share(usual_air(band)).middle
    return needed_dbm(
        wanted_mbps=on_air, width_mhz=width, streams=streams, standard=standard, margin_db=DESIGN_BETTER_DB
    )


def _normal(z: Levels) -> Levels:
    """Chance that a normal value lies below each of these."""
    return np.array([0.5 * math.erfc(-v / math.sqrt(2)) for v in np.clip(z, -40.0, 40.0)])


def _odds(chances: Levels) -> Odds:
    return Odds(min(max(float(np.mean(chances)), 0.0), 1.0))

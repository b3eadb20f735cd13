"""Rooms as the answer of signal has them: levels by band, rates, needs, what was read."""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING, Any

from pullstring.model.refs import Ref
from pullstring.radio.needs_met import NeedAnswer, need_answer
from pullstring.radio.room_rates import devices, room_rate
from pullstring.radio.rooms import BandAnswer, RoomSamples

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site

Facts = dict[str, Any]
USUAL_DEVICE = "phone"


def rows(site: Site, work: Worked) -> list[Facts]:
    """Every room of the record, those without outline too, in the order of the record."""
    needs = needs_by_room(work)
    found = []
    for thing in site.of_kind("room"):
        if not thing.stands:
            continue
        answer, samples = work.answers.get(thing.ref.tag), work.samples.get(thing.ref.tag)
        floor = thing.ref_of("floor")
        why = answer.why_not_known if answer else "no_points"
        found.append(
            {
                "room": thing.ref.tag,
                "name": thing.text("name"),
                "floor": floor.tag if floor else "",
                "known": why is None,
                "why_not_known": why,
                "bands": {b: _band(work, samples, of) for b, of in answer.bands.items()} if answer and samples else {},
                "needs": [_need(work, n) for n in needs.get(thing.ref.tag, [])],
            }
        )
    return found


def needs_by_room(work: Worked) -> dict[str, list[NeedAnswer]]:
    """Every need's chance, by room; needs of rooms without place say so."""
    found: dict[str, list[NeedAnswer]] = {}
    for wanted in work.base.needs:
        if wanted.room is None:
            continue
        room = wanted.room.tag
        samples = work.samples.get(room) or RoomSamples(room, (), {}, 0.0)
        answer = work.answers.get(room)
        barred = answer.why_not_known if answer else "no_points"
        found.setdefault(room, []).append(
            need_answer(wanted, samples, stations=work.base.stations, rules=work.rules, barred=barred)
        )
    return found


def _band(work: Worked, samples: RoomSamples, of: BandAnswer) -> Facts:
    rate = room_rate(samples, of.band, device=devices()[USUAL_DEVICE], stations=work.base.stations, rules=work.rules)
    read = [
        one.reading.level_dbm
        for one in work.base.levels
        if one.reading and one.room == samples.room and one.band == of.band and one.reading.level_dbm is not None
        if not one.outdated
    ]
    return {
        "level_dbm": of.level_dbm,
        "low_dbm": of.low_dbm,
        "high_dbm": of.high_dbm,
        "median_dbm": of.median_dbm,
        "median_low_dbm": of.median_low_dbm,
        "median_high_dbm": of.median_high_dbm,
        "server": of.server.rpartition(":")[2],
        "server_share": of.server_share,
        "second": of.second.rpartition(":")[2] if of.second else None,
        "second_dbm": of.second_dbm,
        "roaming": of.roaming.chance,
        "at_edge": of.at_edge.chance,
        "rate_mbps": [rate.low_mbps, rate.high_mbps] if rate else None,
        "read_dbm": statistics.median(read) if read else None,
    }


def _need(work: Worked, n: NeedAnswer) -> Facts:
    wanted = next(w for w in work.base.needs if w.need == n.need)
    return {
        "need": n.need,
        "what": wanted.says,
        "unit": wanted.unit.tag if isinstance(wanted.unit, Ref) else None,
        "band": n.band,
        "level_dbm": n.level_dbm,
        "chance": n.chance.chance if n.chance else None,
        "limited_by": n.limited_by,
        "why_not": n.why_not,
        "doubts": list(n.doubts),
    }

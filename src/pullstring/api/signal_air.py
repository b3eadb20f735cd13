"""The air of the site: a channel for every radio, what hangs on each and how much of its airtime that takes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.api.signal_powers import over_rules
from pullstring.api.signal_rooms import needs_by_room
from pullstring.api.signal_stations import channel_number, channel_of, tag_of
from pullstring.model.answers import USUAL_RULES
from pullstring.plan.channels import QUIET_DBM, Choice, Radio, Stranger, channel_plan, least_width_mhz, pair_weight
from pullstring.plan.channels_air import airs_of
from pullstring.radio.air import Channel, block, rule_sets, sub_bands
from pullstring.radio.serving import hanging, on_air, radio_name, with_others
from pullstring.radio.sharing import OnAir, taking_turns, uplinks

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.radio.scene import Sender

Facts = dict[str, Any]
STEPS = 20_000
WIDEST_MHZ = {"2.4 GHz": 20, "5 GHz": 80, "6 GHz": 160}
STRANGER_SHARE = 0.1
"""Ours, assumed: what somebody else's access point takes of the air it is on."""


def air_rules(named: str) -> Facts:
    """Which rules channels and powers go by: the set that is named, if channels are held for it, else the usual one.

    `named` is empty where nobody named one, and not among `held` where no channels are held for it.
    """
    known = {name.casefold(): name for name in rule_sets()}
    held = known.get(named.casefold(), USUAL_RULES)
    return {"rules": held, "edition": sub_bands(held)[0].edition, "named": named, "held": list(rule_sets())}


def channels(site: Site, work: Worked, *, rules: str) -> dict[str, Facts]:
    """By band a channel for every access point that is there or planned, with what still overlaps."""
    held = air_rules(rules)["rules"]
    between = _between(work)
    found = {}
    for b, band in enumerate(work.bands):
        senders = [(k, s) for k, s in enumerate(work.scene.senders) if band in s.eirp_dbm]
        airs = airs_of(
            rules=held, band=band, radar=True, low_power=False, outdoors=False, without=(), only=(),
            most_mhz=WIDEST_MHZ[band],
        )  # fmt: skip
        if not senders or not airs:
            continue
        present = {s.name: _present(site, work, s, band, held) for _, s in senders}
        noted = {s.name: _as_noted(present[s.name], channel_number(site, s, band)) for _, s in senders}
        weights = {
            (one.name, other.name): pair_weight(eirp_dbm=one.eirp_dbm[band], loss_db=one.eirp_dbm[band] - level)
            for i, one in senders
            for j, other in senders
            if i < j and np.isfinite(level := max(between[b, i, j], between[b, j, i]))
        }
        strangers = _strangers(work, band, [s.name for _, s in senders])
        plans = [
            channel_plan(
                [_radio(work, s, band, present[s.name]) for s in group], weights, strangers, airs, step_limit=STEPS
            )
            for group in _groups([s for _, s in senders], weights)
        ]
        radar = {one.channel for held_air in airs for one in held_air if one.radar}
        choices = sorted((c for plan in plans for c in plan.choices), key=lambda c: c.name)
        found[band] = {
            "rules": held,
            "choices": [_choice(c, present[c.name], noted[c.name], radar) for c in choices],
            "overlap_db": sum(plan.overlap_db for plan in plans),
            "present_db": _sum([plan.present_db for plan in plans]),
            "overlap_proven": all(plan.overlap_proven for plan in plans),
            "over_rules": over_rules(
                site, {s.name: s for _, s in senders}, band=band, rules=held,
                present=present, noted=noted, chosen={c.name: c.channel for c in choices},
            ),
        }  # fmt: skip
    return found


def _groups(senders: Sequence[Sender], weights: Mapping[tuple[str, str], int]) -> list[list[Sender]]:
    """Access points that hear each other, directly or by others: what one group takes is nothing to another."""
    head = {s.name: s.name for s in senders}
    for (one, other), weight in weights.items():
        if weight > 0 and head[one] != head[other]:
            old, new = head[other], head[one]
            head = {name: new if of == old else of for name, of in head.items()}
    return [[s for s in senders if head[s.name] == one] for one in dict.fromkeys(head.values())]


def _sum(parts: Sequence[int | None]) -> int | None:
    return None if None in parts else sum(p for p in parts if p is not None)


def _as_noted(present: Channel | None, number: int | None) -> str | None:
    """Name of the channel that is noted, or the bare number where there is no such channel."""
    return present.name if present else None if number is None else str(number)


def _choice(c: Choice, present: Channel | None, noted: str | None, radar: Collection[Channel]) -> Facts:
    return {
        "name": tag_of(c.name),
        "channel": c.channel.name,
        "width_mhz": c.channel.width_mhz,
        "overlaps": [{"other": tag_of(o.other), "how": o.how, "above_db": o.above_db} for o in c.overlaps],
        "radar": c.channel in radar,
        "present": noted,
        "moved": c.moved or (present is None and noted is not None),
        "kept": c.kept,
        "narrow": c.narrow,
    }


def _present(site: Site, work: Worked, sender: Sender, band: str, rules: str) -> Channel | None:
    return channel_of(site, sender, band, width_mhz=work.base.stations[sender.name].width_mhz[band], rules=rules)


def _radio(work: Worked, sender: Sender, band: str, present: Channel | None) -> Radio:
    rate = _rate_asked(work, sender.name, band)
    most = WIDEST_MHZ[band]
    return Radio(sender.name, min(least_width_mhz(rate_mbps=rate), most), most, None, present)


def _rate_asked(work: Worked, sender: str, band: str) -> float:
    """What the needs of the rooms that an access point serves ask for together. [Mb/s]"""
    served = {r for r, a in work.answers.items() if (of := a.bands.get(band)) and of.server == sender}
    return sum(
        p.count * p.busy_share * (p.down_mbps + p.up_mbps)
        for need in work.base.needs
        if need.room and need.room.tag in served
        for p in need.parts
    )


def _between(work: Worked) -> Any:
    """Level of each access point where each other hangs, as learned. [bands, senders, at sender]"""
    from pullstring.radio.learning_levels import foretell

    told = foretell(work.base.checked.learned, work.ground)
    return told.level_dbm[:, :, list(work.held.senders)]


def _strangers(work: Worked, band: str, ours: list[str]) -> list[Stranger]:
    """Foreign access points that were heard: each weighs on all of ours as loud as it was read; the loudest reading counts."""
    loudest: dict[int, float] = {}
    for one in work.base.levels:
        number = one.conditions.stranger_channel
        value = one.read_dbm
        if one.band == band and number is not None and value is not None:
            loudest[number] = max(value, loudest.get(number, -200.0))
    found = []
    for number, level in sorted(loudest.items()):
        try:
            channel = block(band=band, channel_number=number, width_mhz=20)
        except ValueError:
            continue
        weight = pair_weight(eirp_dbm=level, loss_db=0.0)
        found.append(Stranger(f"stranger on channel {number}", channel, dict.fromkeys(ours, weight)))
    return found


def airtime(site: Site, work: Worked, *, rules: str) -> list[Facts]:
    """What hangs on each access point in each band, the share of the air that takes, and with whom it takes turns."""
    known = {r: a for r, a in work.answers.items() if a.bands}
    needs = [n for of in needs_by_room(work).values() for n in of if n.room in known]
    found = hanging(needs, samples=work.samples, answers=work.answers, stations=work.base.stations, rules=work.rules)
    radios: dict[tuple[str, str], OnAir] = {}
    held_rules = air_rules(rules)["rules"]
    for s in work.scene.senders:
        for band in s.eirp_dbm:
            if channel := _present(site, work, s, band, held_rules):
                radios[s.name, band] = OnAir(s.name, channel, 0.0, False)
    between = _between(work)
    levels: dict[tuple[str, str], float] = {}
    held = list(on_air(found, channels=radios))
    for band in work.bands:
        for foreign in _strangers(work, band, [s.name for s in work.scene.senders]):
            held.append(OnAir(f"{foreign.name}, {band}", foreign.channel, STRANGER_SHARE, True))
            for name, weight in foreign.heard.items():
                levels[f"{foreign.name}, {band}", radio_name(name, band)] = QUIET_DBM + weight
    for b, band in enumerate(work.bands):
        for i, one in enumerate(work.scene.senders):
            for j, other in enumerate(work.scene.senders):
                if i != j:
                    levels[radio_name(one.name, band), radio_name(other.name, band)] = float(between[b, i, j])
    turns = taking_turns(held, levels)
    return [
        {
            "sender": tag_of(h.sender),
            "band": h.band,
            "rooms": list(h.rooms),
            "needs": list(h.needs),
            "percent": h.percent,
            "low_percent": h.range.low,
            "high_percent": h.range.high,
            "busy": h.is_busy,
            "slowest": h.slowest,
            "not_reached": list(h.not_reached),
            "with_others_percent": h.with_others_percent,
            "waits_for": [tag_of(w.rpartition(", ")[0]) for w in h.waits_for],
        }
        for h in with_others(found, turns, work.rules)
    ]


def uplinks_said() -> list[Facts]:
    """Ways to feed an access point other than by twisted pair, as rates with their spread: common practice."""
    from pullstring.radio.sharing import hop_share

    ways: list[Facts] = [
        {"way": u.way, "low_mbps": u.rate.low, "high_mbps": u.rate.high, "says": u.says} for u in uplinks().values()
    ]
    hops = [{"hops": n, "low_share": s.low, "high_share": s.high} for n in (1, 2, 3) if (s := hop_share(hop_count=n))]
    return [*ways, {"way": "mesh", "hops": hops}]

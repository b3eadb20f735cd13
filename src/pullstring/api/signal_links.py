"""Links through the air between buildings: the zone that must be clear, what bends over, how high the masts must be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest
from pullstring.radio.antennas import antenna_class
from pullstring.radio.link_profile import obstacles_between
from pullstring.radio.links import Air, Link, LinkEnd, link_between
from pullstring.radio.rates import needed_dbm
from pullstring.radio.scene import MIDDLE_HZ
from pullstring.radio.scene_senders import masts_of

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.radio.scene import Sender

Facts = dict[str, Any]
BAND = "5 GHz"
NARROW = ("panel", "panel narrow", "dish")
"""Antennas that are hung to look at one other."""
WIDTH_MHZ, STREAMS, STANDARD, WANTED_MBPS = 40, 2, "VHT", 100.0  # ours
LONGEST_RISE_M = 10.0  # ours: no longer mast is looked at
MOST = 6


def links_of(site: Site, work: Worked, *, named: Sequence[str]) -> list[Facts]:
    """The link between two named access points or places, else links between narrow antennas of different buildings."""
    ends = (*work.scene.senders, *(m for m in masts_of(site) if all(m.name != s.name for s in work.scene.senders)))
    pairs = [_named(ends, named)] if named else _pairs(work, ends)
    return [_facts(_link(work, a, b), guessed=any(BAND not in s.eirp_dbm for s in (a, b))) for a, b in pairs[:MOST]]


def _named(ends: Sequence[Sender], named: Sequence[str]) -> tuple[Sender, Sender]:
    by_tag = {s.name.rpartition(":")[2].casefold(): s for s in ends}
    missing = [n for n in named if n.casefold() not in by_tag]
    if missing or len(named) != 2 or named[0].casefold() == named[1].casefold():
        known = ", ".join(s.name.rpartition(":")[2] for s in ends) or "none"
        said = f"there is no radio {missing[0]!r} with a spot" if missing else "a link has two ends"
        raise BadRequest([f"{said}; name two of these: {known}"])
    return by_tag[named[0].casefold()], by_tag[named[1].casefold()]


def _pairs(work: Worked, ends: Sequence[Sender]) -> list[tuple[Sender, Sender]]:
    """Each narrow antenna with the nearest one of another building."""
    houses = {r.name: r.building for r in work.scene.rooms}
    narrow = [s for s in ends if s.antenna in NARROW and BAND in s.eirp_dbm]
    found = {}
    for one in narrow:
        others = [s for s in narrow if s is not one and _apart(one, s, houses)]
        if others:
            near = min(others, key=lambda s: (_far2(one, s), s.name))
            found[min(one.name, near.name), max(one.name, near.name)] = (one, near)
    return [found[key] for key in sorted(found)]


def _apart(one: Sender, other: Sender, houses: dict[str, str]) -> bool:
    a, b = houses.get(one.room), houses.get(other.room)
    return a != b if a and b else _far2(one, other) > 25.0


def _far2(one: Sender, other: Sender) -> float:
    return sum((a - b) ** 2 for a, b in zip(one.spot, other.spot, strict=True))


def _link(work: Worked, near: Sender, far: Sender) -> Link:
    ends = [
        LinkEnd(s.name.rpartition(":")[2], s.spot, s.eirp_dbm.get(BAND, 20.0), antenna_class(s.antenna).gain_dbi)
        for s in (near, far)
    ]
    least = needed_dbm(wanted_mbps=WANTED_MBPS, width_mhz=WIDTH_MHZ, streams=STREAMS, standard=STANDARD, margin_db=0.0)
    air = Air(WIDTH_MHZ, STREAMS, STANDARD, least if least is not None else -70.0)
    obstacles = obstacles_between(work.scene, near.spot, far.spot)
    return link_between(
        ends[0], ends[1], obstacles, (), air, frequency_hz=MIDDLE_HZ[BAND], longest_rise_m=LONGEST_RISE_M
    )


def _facts(link: Link, *, guessed: bool) -> Facts:
    return {
        "near": link.near,
        "far": link.far,
        "length_m": link.length_m,
        "clear_ratio": link.clear_ratio,
        "edges_db": link.edges_db,
        "level_dbm": {"low": link.level_dbm.low, "high": link.level_dbm.high},
        "back_dbm": {"low": link.back_dbm.low, "high": link.back_dbm.high},
        "to_spare_db": {"low": link.to_spare_db.low, "high": link.to_spare_db.high},
        "rate_mbps": {"low": link.rate_mbps.low, "high": link.rate_mbps.high},
        "rise": {"near_m": link.rise.near_m, "far_m": link.rise.far_m, "both_m": link.rise.both_m},
        "sound": link.sound,
        "in_the_way": list(link.in_the_way),
        "cautions": list(link.cautions),
        "assumed": [*link.assumed, *(["power_assumed"] if guessed else [])],
    }

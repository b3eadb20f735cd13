"""Channels and powers that are noted, held against what the rules of the place allow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from pullstring.api.signal_stations import tag_of, thing_of
from pullstring.radio.air import Channel, allowed
from pullstring.radio.scene_senders import EIRP, sources

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site
    from pullstring.radio.scene import Sender

Facts = dict[str, Any]
ROUNDED_DB = 0.05
"""Ours: no power is noted more finely."""


def over_rules(
    site: Site, senders: Mapping[str, Sender], *, band: str, rules: str,
    present: Mapping[str, Channel | None], noted: Mapping[str, str | None], chosen: Mapping[str, Channel],
) -> list[Facts]:  # fmt: skip
    """What is noted and not allowed: a channel that the rules do not know, or more power than they allow on a channel.

    Where no channel is noted, or another is chosen, the power is held against the chosen one too. Assumed powers are not judged.
    `noted` are channels as noted, whether there are such or not; `present` those that there are.
    """
    most = {one.channel: one.eirp_dbm for one in allowed(rules=rules, band=band)}
    return [
        row
        for name, sender in sorted(senders.items())
        for row in _of(site, sender, band, most, noted[name], (present[name], chosen.get(name)))
    ]


def _of(
    site: Site, sender: Sender, band: str, most: Mapping[Channel, float],
    noted: str | None, channels: tuple[Channel | None, ...],
) -> Iterator[Facts]:  # fmt: skip
    said = {"sender": tag_of(sender.name), "band": band}
    power = noted_dbm(site, sender, band)
    if noted is not None and channels[0] not in most:
        yield {**said, "why": "channel", "channel": noted, "noted_dbm": power, "most_dbm": None}
    for channel in dict.fromkeys(c for c in channels if c is not None and c in most):
        if power is not None and power > most[channel] + ROUNDED_DB:
            yield {**said, "why": "power", "channel": channel.name, "noted_dbm": power, "most_dbm": most[channel]}


def noted_dbm(site: Site, sender: Sender, band: str) -> float | None:
    """The power that somebody noted of an access point, its place or its model. [dBm]"""
    thing = thing_of(site, sender)
    return next((one.number(EIRP[band]) for one in sources(site)[0] if thing and one.thing.ref == thing.ref), None)

"""Channel, width and kind of the radio of each access point, as the record has them; what nobody noted is as common."""

from __future__ import annotations

import re

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.radio.air import Channel, allowed, block
from pullstring.radio.antennas import antenna_class
from pullstring.radio.room_rates import Station
from pullstring.radio.scene import BANDS, Sender

STREAMS, STANDARD = 2, "VHT"  # common practice: what hangs in houses has two antennas and is some years old
WIDTH_MHZ = {"2.4 GHz": 20, "5 GHz": 80, "6 GHz": 80}  # common practice: as it comes out of the box
WIDTHS_MHZ = {"2.4 GHz": (20,), "5 GHz": (20, 40, 80, 160), "6 GHz": (20, 40, 80, 160, 320)}
"""Widths that exist. IEEE 802.11, from memory."""
_CHANNEL = re.compile(
    r"(?<![\d.])(?:(2\.4|5|6)\s*(?:GHz)?(?:\s*[:=]\s*|\s+))?(?:channel\s*)?(\d{1,3})(?![\d.])", re.IGNORECASE
)


def thing_of(site: Site, sender: Sender) -> Thing | None:
    """The unit that a sender is, or the place that is considered for one."""
    kind, _, tag = sender.name.rpartition(":")
    return site.get(Ref(kind or "unit", tag))


def tag_of(name: str) -> str:
    """The tag of a sender as people read it: its name without the kind that parts it from another of the same tag."""
    return name.rpartition(":")[2]


def station(site: Site, sender: Sender) -> Station:
    """The wireless side of a sender."""
    noted = _noted_width_mhz(site, sender)
    wide = {b: _width(noted, b) if noted else WIDTH_MHZ[b] for b in sender.eirp_dbm}
    return Station(sender.name, sender.eirp_dbm, antenna_class(sender.antenna).gain_dbi, wide, STREAMS, STANDARD)


def _noted_width_mhz(site: Site, sender: Sender) -> float | None:
    thing = thing_of(site, sender)
    model = site.get(thing.ref_of("model")) if thing else None
    return next((n for t in (thing, model) if t and (n := t.number("width_mhz"))), None)


def _width(noted_mhz: float, band: str) -> int:
    """The widest channel that exists in a band and is no wider than noted. [MHz]"""
    return max(w for w in WIDTHS_MHZ[band] if w <= max(noted_mhz, 20))


def channel_of(site: Site, sender: Sender, band: str, *, width_mhz: int, rules: str) -> Channel | None:
    """The channel that is noted for a band: `36`, or `2.4: 6, 5: 36`; None where none is, or where there is no such channel.

    Where nobody noted how wide it is, it is taken as wide as the rules allow round that number, and no wider than given.
    """
    number = channel_number(site, sender, band)
    if number is None:
        return None
    narrower = [] if _noted_width_mhz(site, sender) else [w for w in reversed(WIDTHS_MHZ[band]) if w < width_mhz]
    found = [c for w in (width_mhz, *narrower) if (c := _block(band, number, w))]
    may = {one.channel for one in allowed(rules=rules, band=band)}
    return next((c for c in found if c in may), found[0] if found else None)


def channel_number(site: Site, sender: Sender, band: str) -> int | None:
    """The number that is noted as channel for a band, whether there is such a channel or not."""
    thing = thing_of(site, sender)
    position = site.get(thing.ref_of("position")) if thing else None
    text = next((t.text("channel") for t in (thing, position) if t and t.text("channel")), "")
    for named, number in _CHANNEL.findall(text):
        if (named and f"{named} GHz" == band) or (not named and _usual_band(int(number)) == band):
            return int(number)
    return None


def _usual_band(number: int) -> str:
    """The band that a bare channel number means; numbers of 6 GHz must name it."""
    return BANDS[0] if number <= 14 else BANDS[1]


def _block(band: str, number: int, width_mhz: int) -> Channel | None:
    for width in (width_mhz, 20):
        try:
            return block(band=band, channel_number=number, width_mhz=width)
        except ValueError:
            continue
    return None

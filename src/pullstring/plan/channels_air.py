"""Which channels a plan may choose from, by the rules of the place and what is wanted of them."""

from __future__ import annotations

from collections.abc import Collection

from pullstring.radio.air import Allowed, allowed, apart


def airs_of(
    *,
    rules: str,
    band: str,
    radar: bool,
    low_power: bool,
    outdoors: bool,
    without: Collection[int],
    only: Collection[int],
    most_mhz: int,
) -> tuple[tuple[Allowed, ...], ...]:
    """Lists of channels, each of which `channel_plan` may take; empty when nothing is left.

    Parameters
    ----------
    rules : str
        Name of the rule set; its rules are to be verified locally.
    band : str
        2.4 GHz, 5 GHz or 6 GHz.
    radar : bool
        Whether channels that must listen for radar may be used: there a unit is silent for a minute or ten after a start, and
        leaves within 10 s when it hears one.
    low_power : bool
        Whether channels for low power only may be used.
    outdoors : bool
        Whether a radio stands outdoors, where channels for indoors do not count.
    without, only : collections of int
        20 MHz channels that are not wanted, and the only ones that are; `only` empty means all. [channel]
    most_mhz : int
        Widest block. [MHz]
    """
    held = [
        one
        for one in allowed(rules=rules, band=band)
        if one.channel.width_mhz <= most_mhz
        and (radar or not one.radar)
        and (low_power or not one.low_power)
        and not (outdoors and one.indoor)
        and not set(one.channel.parts) & set(without)
        and (not only or set(one.channel.parts) <= set(only))
    ]
    lists = apart(rules=rules, band=band)
    if len(lists) == 1 and len(held) and band != "2.4 GHz":
        return (tuple(held),)
    found = [tuple(one for one in held if set(one.channel.parts) <= set(listed)) for listed in lists]
    return tuple(dict.fromkeys(one for one in found if one))

"""How long batteries hold: the minutes that may be counted on when the mains are gone."""

from __future__ import annotations

from collections.abc import Collection

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.power.backup import least_minutes


def promised_minutes(site: Site) -> dict[Ref, float]:
    """Minutes of every battery that stands: of a UPS the least that its test or its battery bears, of others as noted. [min]

    Nothing is promised of a battery that is called dead, nor where nobody noted minutes.
    """
    found: dict[Ref, float] = {}
    for unit in site.of_kind("unit"):
        if not unit.stands or unit.text("health") == "called dead":
            continue
        model = site.get(unit.ref_of("model"))
        noted = unit.number("runs_without_mains_min")
        if model is not None and model.text("what") == "UPS":
            found[unit.ref] = least_minutes(site, unit=unit.ref)
        elif noted is not None:
            found[unit.ref] = noted
    return found


def minutes_on_battery(site: Site, units: Collection[Ref]) -> dict[Ref, float]:
    """Of these units those that hold for a while, with their minutes. [min]"""
    return {ref: holds for ref, holds in promised_minutes(site).items() if ref in set(units) and holds > 0}

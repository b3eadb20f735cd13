"""The card for the closet door: port by port what it gives, what may be plugged in there, and what never."""

from __future__ import annotations

import dataclasses

from pullstring.model.answers import Band
from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.power.ports import POWERED, JudgedPort, judge_port, judged_ports
from pullstring.power.reachable import What, ports_of
from pullstring.power.verdicts import Match

ALWAYS = "24 V always-on"
MAY = {
    "802.3af": ("802.3af", "plug", "none"),
    "802.3at": ("802.3af", "802.3at", "plug", "none"),
    "802.3bt": ("802.3af", "802.3at", "802.3bt", "plug", "none"),
    ALWAYS: (ALWAYS,),
    "nothing": ("plug", "none"),
}
"""What a unit may take to be plugged into a port that gives so. A standard port asks before it gives: plain gear is safe there."""
NEVER = {
    "802.3af": (ALWAYS,),
    "802.3at": (ALWAYS,),
    "802.3bt": (ALWAYS,),
    ALWAYS: ("802.3af", "802.3at", "802.3bt", "plug", "none", "unknown"),
    "nothing": (),
}
"""What never: 24 V gear stays dark on a standard port; anything but 24 V gear may be destroyed by 24 V that asks nobody."""


@dataclasses.dataclass(frozen=True)
class PortCard:
    """One port on the card. `open_jacks` are those within reach with nothing in; on an always-on port each must be blanked."""

    port: Ref
    gives: str
    saved: str
    for_unit: Ref | None
    devices: tuple[Ref, ...]
    open_jacks: tuple[Ref, ...]
    verdict: Match | None
    may: tuple[str, ...]
    never: tuple[str, ...]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class UnitCard:
    """All ports of a unit that gives power."""

    unit: Ref
    ports: tuple[PortCard, ...]


@dataclasses.dataclass(frozen=True)
class Supply:
    """Ports that give power against units that want it over the wire; units that no port feeds, ports with nothing on them."""

    standard_ports: int
    always_on_ports: int
    standard_loads: int
    always_on_loads: int
    unfed: tuple[Ref, ...]
    free: tuple[Ref, ...]

    @property
    def too_many(self) -> int:
        """Units more than there are powered ports. [count]"""
        loads, ports = self.standard_loads + self.always_on_loads, self.standard_ports + self.always_on_ports
        return max(0, loads - ports)


def cards(site: Site) -> tuple[UnitCard, ...]:
    """The cards of all units with a port that gives power over data wires."""
    giving = {Ref("unit", j.port.parent_tag): None for j in judged_ports(site) if j.port.parent_tag}
    found = []
    for unit in giving:
        judged = [
            judge_port(site, port=port, gives=(thing.text("gives") if (thing := site.get(port)) else "") or "nothing")
            for port in ports_of(site, unit)
            if _is_data(site, port)
        ]
        found.append(UnitCard(unit, tuple(_card(site, j) for j in judged)))
    return tuple(found)


def _is_data(site: Site, port: Ref) -> bool:
    thing = site.get(port)
    return thing is None or thing.stands and thing.text("gives") not in ("mains", "battery mains")


def _card(site: Site, judged: JudgedPort) -> PortCard:
    thing = site.get(judged.port)
    return PortCard(
        judged.port,
        judged.mode,
        (thing.text("mode_saved") if thing else "") or "unknown",
        thing.ref_of("for_unit") if thing else None,
        tuple(dict.fromkeys(m.reached.ref for m in judged.every)) or ((judged.device,) if judged.device else ()),
        tuple(dict.fromkeys(r.ref for r in judged.reach.of(What.OPEN_JACK))),
        judged.verdict,
        MAY.get(judged.mode, ()),
        NEVER.get(judged.mode, ("unknown",)),
        judged.because,
    )


def supply(site: Site, *, planned: bool) -> Supply:
    """How many ports give power and how many units want it; with `planned` what is only planned counts too."""
    giving = [
        p.text("gives") for p in site.of_kind("port") if p.text("gives") in POWERED and _counts(site, p.ref, planned)
    ]
    wants = {
        unit.ref: model.text("takes")
        for unit in site.of_kind("unit")
        if (unit.stands or planned and unit.text("state") == "planned")
        and (model := site.get(unit.ref_of("model")))
        and model.text("takes") in POWERED
    }
    fed = {m.reached.ref for j in judged_ports(site) for m in j.every if m.match.works in (Band.LIKELY, Band.POSSIBLE)}
    return Supply(
        sum(mode != ALWAYS for mode in giving),
        sum(mode == ALWAYS for mode in giving),
        sum(takes != ALWAYS for takes in wants.values()),
        sum(takes == ALWAYS for takes in wants.values()),
        tuple(sorted(unit for unit in wants if unit not in fed)),
        tuple(j.port for j in judged_ports(site) if not j.every and j.device is None),
    )


def _counts(site: Site, port: Ref, planned: bool) -> bool:
    unit = site.get(Ref("unit", port.parent_tag)) if port.parent_tag else None
    return unit is None or unit.stands or planned and unit.text("state") == "planned"

"""What a unit wants of a port: its mode, its class, its watts, with what it hands on to others behind it.

A unit that hands power on must itself get what it draws and what the others draw, divided by its efficiency. That is not
part of IEEE 802.3 but common practice; 0.85 to 0.9 is common practice too and counts where no efficiency is noted.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Sequence

from pullstring.model.answers import Band, Interval
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.power.classes import power_class
from pullstring.power.modes import DevicePower
from pullstring.power.reachable import Reached, What
from pullstring.power.verdicts import Code, Mode, Said

EFFICIENCY = Interval(0.85, 0.9, "1", ("efficiency",))
"""Of a unit that hands power on, where none is noted. Common practice."""


def wants(site: Site, unit: Ref, beyond: Sequence[Reached]) -> DevicePower:
    """What a unit is noted to want; unknown where nothing is noted of its model."""
    model = _model(site, unit)
    if model is None:
        return DevicePower(None, None, None, None)
    takes = model.text("takes")
    mode = Mode(takes) if takes in {m.value for m in Mode} else Mode.OFF if takes == "none" else None
    number = model.number("class")
    behind = [r.ref for r in beyond if r.what is What.UNIT and not r.maybe]
    load = _load(site, unit, behind, frozenset())
    return DevicePower(mode, int(number) if number is not None else None, load, model.number("least_v"))


def shared_load(device: DevicePower, others: Iterable[DevicePower]) -> DevicePower:
    """The device with the watts of others on the same wires added to its greatest: all of it may run over one stretch."""
    loads = [o.load for o in others]
    if device.load is None or any(x is None for x in loads):
        return dataclasses.replace(device, load=None) if loads else device
    more = sum(x.high for x in loads if x is not None)
    inputs = (*device.load.inputs, *(("others_w",) if more else ()))
    return dataclasses.replace(device, load=Interval(device.load.low, device.load.high + more, "W", inputs))


def over_class(site: Site, unit: Ref, device: DevicePower) -> Iterator[Said]:
    """Whether a unit that hands power on asks for more than its class grants it."""
    model = _model(site, unit)
    if model is None or device.class_number is None or device.load is None or not 0 <= device.class_number <= 8:
        return
    own = model.number("max_w")
    grants = power_class(class_number=device.class_number).pd_power.value
    if own is not None and device.load.high > max(own, grants):
        yield (Band.NO if device.load.low > grants else Band.POSSIBLE, Code.OVER_CLASS)


def _load(site: Site, unit: Ref, behind: Sequence[Ref], above: frozenset[Ref]) -> Interval | None:
    """Watts that a unit takes, from typical to greatest; None when its greatest is not known."""
    model = _model(site, unit)
    most = model.number("max_w") if model else None
    if model is None or most is None:
        return None
    typical = model.number("typical_w")
    low, high = min(typical if typical is not None else most, most), most
    inputs: tuple[str, ...] = ("load_w",)
    percent = model.number("efficiency_percent")
    efficiency = Interval.exact(percent / 100, "1") if percent else EFFICIENCY
    for child in dict.fromkeys((*behind, *_fed_by(site, unit))):
        if child == unit or child in above:
            continue
        taken = _load(site, child, (), above | {unit})
        if taken is None:
            return None
        low, high = low + taken.low / efficiency.high, high + taken.high / efficiency.low
        inputs = tuple(dict.fromkeys((*inputs, *efficiency.inputs)))
    return Interval(low, high, "W", inputs if low < high else ())


def _fed_by(site: Site, unit: Ref) -> Iterator[Ref]:
    """Units that are fed by a port of the unit: a splitter's plug, for one."""
    for claim in site.about(relation="fed_by"):
        port = claim.object
        if claim.subject.kind == "unit" and port.kind == "port" and port.parent_tag:
            fed = site.get(claim.subject)
            if Ref("unit", port.parent_tag) == unit and fed and fed.stands:
                yield claim.subject


def _model(site: Site, unit: Ref) -> Thing | None:
    thing = site.get(unit)
    return site.get(thing.ref_of("model")) if thing else None

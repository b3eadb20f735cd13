"""What a unit can give against what hangs on it: by class, by plate, typical; and who starts when all are switched on.

House rules
-----------
1. A switch either keeps power back by class or counts what is drawn. When nobody knows which, both outcomes are told; a unit
   that gives 24 V always-on only knows no classes, so it is not asked.
2. Ports get power in the order in which the unit serves them; where none is noted, in the order of their numbers (ours, assumed).
3. 24 V always-on knows no classes: its greatest draw stands in place of a class.
4. What has its own plug, or hangs on an injector, asks nothing of the unit; what is handed on by a device is asked by that device.
5. Whether a unit goes on past a refused port to a smaller one is not known: what comes after it may start.
"""

from __future__ import annotations

import collections
import dataclasses
import enum
from collections.abc import Mapping, Sequence

from pullstring.model.answers import Band, Interval
from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.refs import Ref
from pullstring.power.classes import power_class
from pullstring.power.modes import HIGHEST_CLASS, DevicePower
from pullstring.power.ports import POWERED, JudgedPort, judged_ports
from pullstring.power.reachable import What
from pullstring.power.verdicts import Code, Mode
from pullstring.power.wants import EFFICIENCY, wants

PLAN_MARGIN = 1.25
"""Typical draw is planned with this much room. [1] Common practice, no limit."""
OWN_FEED = ("socket", "switch", "circuit")
_ASKS_NOTHING = {Code.OWN_PLUG, Code.STAYS_DARK, Code.PORT_GIVES_NONE, Code.DOES_NOT_START}
_ROUNDING = 1e-9


class Reason(enum.StrEnum):
    """What a budget says or lacks."""

    WITHIN = "within_budget"
    OVER_CLASS = "over_budget_by_class"
    OVER_PLATE = "over_budget_by_plate"
    OVER_TYPICAL = "over_budget_typical"
    OVER_PLAN = "over_budget_with_margin"
    RESERVES_UNKNOWN = "reserves_or_counts_unknown"
    ORDER_ASSUMED = "order_by_port_number"
    CLASS_UNKNOWN = "class_unknown"
    LOAD_UNKNOWN = "load_unknown"


class Starts(enum.StrEnum):
    """Whether a device gets power when all are switched on at once."""

    YES = "starts"
    MAYBE = "may_start"
    NO = "refused"


class Rule(enum.StrEnum):
    """How a unit counts."""

    BY_CLASS = "class"
    BY_DRAW = "draw"


@dataclasses.dataclass(frozen=True)
class PortDraw:
    """What the devices on one port ask of it.

    `known` is False when the greatest is not noted and a bound stands for it; `asks_first` when the port is a standard one,
    which knows classes.
    """

    port: Ref
    devices: tuple[Ref, ...]
    by_class: Interval
    plate: Interval
    at_port: Interval
    known: bool
    asks_first: bool
    codes: tuple[Reason, ...]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Handed:
    """Watts that a unit hands on over data wires, capped at what it can give."""

    watts: Interval
    unknown: tuple[Ref, ...]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Step:
    """One port in its turn: what it asks, what all up to it ask together, and whether it starts."""

    port: str
    device: str
    watts: Interval
    total: Interval
    starts: Starts


@dataclasses.dataclass(frozen=True)
class Order:
    """All ports of a unit in the order in which it serves them, under one way of counting."""

    rule: Rule
    steps: tuple[Step, ...]


@dataclasses.dataclass(frozen=True)
class Budget:
    """Watts of one unit: what it can give, and three sums of what is asked of it.

    `planned_w` is the typical sum with the margin of common practice. `reserves` is empty when nobody knows; `orders` then
    holds both outcomes. `unknown` names devices whose draw is not noted: they are in no sum.
    """

    unit: str
    budget_w: float
    class_w: float
    plate_w: float
    typical_w: float
    planned_w: float
    reserves: str
    orders: tuple[Order, ...]
    unknown: tuple[str, ...]
    codes: tuple[Reason, ...]
    because: tuple[str, ...]


def starts_in_order(*, budget_w: float, asked: Sequence[Interval]) -> tuple[Starts, ...]:
    """Who starts, one after the other, out of one budget.

    One that fits although all before it ask their most surely starts. One that does not fit beside those that surely start, all
    at their least, is refused. The rest may start. So more load never adds to those that surely start.

    Parameters
    ----------
    budget_w : float
        What the unit can give. [W]
    asked : sequence of Interval
        What each asks, in the order in which they are served. [W]

    Returns
    -------
    tuple of Starts
        One for each.

    References
    ----------
    Counting; checked on 370 W with classes 3 and 4 and with 8 W in ``tests/power/test_budget.py``.
    """
    found = []
    most = least = 0.0
    for one in asked:
        most += one.high
        if most <= budget_w + _ROUNDING:
            least += one.low
            found.append(Starts.YES)
        else:
            found.append(Starts.NO if least + one.low > budget_w + _ROUNDING else Starts.MAYBE)
    return tuple(found)


def budgets(found: Site, judged: Sequence[JudgedPort]) -> tuple[Budget, ...]:
    """The budget of each unit that one of the given ports belongs to, over all of that unit's ports.

    A port that was judged otherwise than the site has it (another mode, for a question) counts as it was judged.
    """
    given = {j.port: j for j in judged}
    out = []
    for unit in found.of_kind("unit"):
        model = found.get(unit.ref_of("model"))
        most = model.number("budget_w") if model else None
        if model is None or most is None or not any(p.parent_tag == unit.ref.tag for p in given):
            continue
        own = {j.port: j for j in judged_ports(found) if j.port.parent_tag == unit.ref.tag}
        own |= {p: j for p, j in given.items() if p.parent_tag == unit.ref.tag}
        draws = [d for j in own.values() if (d := port_draw(found, j))]
        if draws:
            out.append(_budget(found, unit, model, most, draws))
    return tuple(out)


def port_draw(site: Site, judged: JudgedPort) -> PortDraw | None:
    """What hangs on one port and asks for its power; None when nothing does."""
    direct = [r for r in judged.reach.reached if r.what is What.UNIT and not r.maybe]
    ways = {r.ref: r.beyond for r in direct} or ({judged.device: ()} if judged.device else {})
    asking = {m.reached.ref: m.match for m in judged.every if not m.reached.maybe}
    asking = asking or ({judged.device: judged.match} if judged.device and judged.match else {})
    mode = POWERED.get(judged.mode)
    devices = [
        (ref, wants(site, ref, beyond))
        for ref, beyond in ways.items()
        if mode and not _ASKS_NOTHING.intersection(asking[ref].because if ref in asking else ())
        if not own_feed(site, ref)
    ]
    if not devices or mode is None:
        return None
    by_class = [_by_class(mode, judged.limit_w, one) for _, one in devices]
    plates = [_plate(site, mode, judged.limit_w, ref, one) for ref, one in devices]
    refused = mode is not Mode.ALWAYS_24V and judged.match is not None and judged.match.works is Band.NO
    codes = [Reason.CLASS_UNKNOWN] if mode is not Mode.ALWAYS_24V and _unclassed(devices) else []
    known = all(one.load is not None for _, one in devices)
    codes += [] if known else [Reason.LOAD_UNKNOWN]
    plate = _added(plates)
    return PortDraw(
        judged.port,
        tuple(ref for ref, _ in devices),
        _or_nothing(_added(by_class if mode is Mode.ALWAYS_24V else by_class[:1]), refused),
        plate,
        _or_nothing(_with_loss(plate, judged.match.watts if judged.match else None), refused),
        known,
        mode is not Mode.ALWAYS_24V,
        tuple(codes),
        judged.because,
    )


def own_feed(site: Site, unit: Ref) -> bool:
    """Whether a unit has a plug of its own in a socket, or in a port that gives mains."""
    for claim in site.about(subject=unit, relation="fed_by"):
        port = site.get(claim.object)
        gives = port.text("gives") if port and claim.object.kind == "port" else ""
        if claim.object.kind in OWN_FEED or gives in ("mains", "battery mains"):
            return True
    return False


@once_a_site
def draws_by_unit(site: Site) -> Mapping[Ref, tuple[PortDraw, ...]]:
    """What hangs on the ports of each unit that gives power over data wires."""
    found: dict[Ref, list[PortDraw]] = collections.defaultdict(list)
    for judged in judged_ports(site):
        if judged.port.parent_tag and (draw := port_draw(site, judged)):
            found[Ref("unit", judged.port.parent_tag)].append(draw)
    return {unit: tuple(draws) for unit, draws in found.items()}


@once_a_site
def handed_on(site: Site, *, unit: Ref) -> Handed | None:
    """What a unit hands on over data wires, at its ports; None when it gives no such power at all."""
    gives = any(j.port.parent_tag == unit.tag for j in judged_ports(site))
    if not gives:
        return None
    draws = draws_by_unit(site).get(unit, ())
    thing = site.get(unit)
    model = site.get(thing.ref_of("model")) if thing else None
    most = model.number("budget_w") if model else None
    total = _added([d.at_port for d in draws])
    if most is not None and total.high > most:
        total = Interval(min(total.low, most), most, "W", total.inputs if total.low < most else ())
    unknown = tuple(ref for d in draws if not d.known for ref in d.devices)
    return Handed(total, unknown, tuple(dict.fromkeys(e for d in draws for e in d.because)))


def handing_efficiency(model: Thing | None) -> tuple[Interval, bool]:
    """Efficiency of a unit that hands power on, and whether it is noted; else what is common practice. [1]"""
    percent = model.number("efficiency_percent") if model else None
    return (Interval.exact(percent / 100, "1"), True) if percent else (EFFICIENCY, False)


def _budget(site: Site, unit: Thing, model: Thing, most: float, draws: Sequence[PortDraw]) -> Budget:
    ordered = sorted(draws, key=lambda d: _turn(site, d.port))
    class_w, plate_w = sum(d.by_class.high for d in draws), sum(d.plate.high for d in draws if d.known)
    typical_w = sum(d.plate.low for d in draws if d.known)
    reserves = model.text("reserves")
    asks_first = any(d.asks_first for d in draws)
    rules = [Rule(reserves)] if reserves in set(Rule) else list(Rule) if asks_first else [Rule.BY_DRAW]
    codes = [c for d in draws for c in d.codes]
    codes += [Reason.RESERVES_UNKNOWN] if asks_first and not reserves else []
    codes += [Reason.ORDER_ASSUMED] if len(draws) > 1 and any(_turn(site, d.port)[0] for d in draws) else []
    over = {
        Reason.OVER_TYPICAL: typical_w,
        Reason.OVER_PLAN: PLAN_MARGIN * typical_w,
        Reason.OVER_PLATE: plate_w,
        Reason.OVER_CLASS: class_w,
    }
    said = [code for code, watts in over.items() if watts > most + _ROUNDING] or [Reason.WITHIN]
    ports = [p.entries for d in draws if (p := site.get(d.port))]
    entries = (*unit.entries, *model.entries, *(e for p in ports for e in p), *(e for d in draws for e in d.because))
    return Budget(
        unit.ref.tag,
        most,
        class_w,
        plate_w,
        typical_w,
        PLAN_MARGIN * typical_w,
        reserves,
        tuple(_order(rule, most, ordered) for rule in rules),
        tuple(dict.fromkeys(ref.tag for d in draws if not d.known for ref in d.devices)),
        tuple(dict.fromkeys((*said, *codes))),
        tuple(dict.fromkeys(entries)),
    )


def _turn(site: Site, port: Ref) -> tuple[bool, float, Ref]:
    """Place of a port in the order of serving: those with a noted place first, then by number."""
    thing = site.get(port)
    place = thing.number("serves_order") if thing else None
    return (place is None, place or 0.0, port)


def _order(rule: Rule, most: float, draws: Sequence[PortDraw]) -> Order:
    asked = [d.by_class if rule is Rule.BY_CLASS else d.at_port for d in draws]
    steps = []
    for n, (draw, starts) in enumerate(zip(draws, starts_in_order(budget_w=most, asked=asked), strict=True)):
        device = " & ".join(ref.tag for ref in draw.devices)
        steps.append(Step(draw.port.tag, device, asked[n], _added(asked[: n + 1]), starts))
    return Order(rule, tuple(steps))


def _by_class(mode: Mode, limit_w: float | None, device: DevicePower) -> Interval:
    """Watts kept back for one device: those of its class, but never of more than the mode of the port has."""
    if mode is Mode.ALWAYS_24V:
        most = device.load.high if device.load else limit_w
        return Interval(most if device.load and most else 0.0, most or 0.0, "W", () if device.load else ("load_w",))
    highest = power_class(class_number=HIGHEST_CLASS[mode]).pse_power.value
    if device.class_number is not None and 0 <= device.class_number <= 8:
        return Interval.exact(min(power_class(class_number=device.class_number).pse_power.value, highest), "W")
    least = power_class(class_number=1).pse_power.value
    wanted = power_class(class_number=HIGHEST_CLASS[device.mode if device.mode in HIGHEST_CLASS else mode])
    return Interval(least, min(wanted.pse_power.value, highest), "W", ("class",))


def _plate(site: Site, mode: Mode, limit_w: float | None, ref: Ref, device: DevicePower) -> Interval:
    """Watts a device takes, typical to greatest; where the greatest is not noted, up to what its class or port allows."""
    if device.load is not None:
        return device.load
    thing = site.get(ref)
    model = site.get(thing.ref_of("model")) if thing else None
    typical = model.number("typical_w") if model else None
    if mode is Mode.ALWAYS_24V:
        most = limit_w or 0.0
    else:
        number = device.class_number if device.class_number in range(9) else HIGHEST_CLASS[mode]
        most = power_class(class_number=number or 0).pd_power.value
    low = min(typical or 0.0, most)
    return Interval(low, most, "W", ("load_w",) if low < most else ())


def _unclassed(devices: Sequence[tuple[Ref, DevicePower]]) -> bool:
    return any(one.class_number is None for _, one in devices)


def _with_loss(plate: Interval, watts: Interval | None) -> Interval:
    """What is drawn from the port: the device and what the wire takes, as far as that is known."""
    if watts is None:
        return plate
    low, high = max(plate.low, watts.low), max(plate.high, watts.high)
    return Interval(low, high, "W", tuple(dict.fromkeys((*plate.inputs, *watts.inputs))) if low < high else ())


def _or_nothing(watts: Interval, refused: bool) -> Interval:
    """A device that does not come up for another reason asks nothing; nobody should count on that."""
    return Interval(0.0, watts.high, "W", (*watts.inputs, "match")) if refused and watts.high > 0 else watts


def _added(parts: Sequence[Interval]) -> Interval:
    low, high = sum(p.low for p in parts), sum(p.high for p in parts)
    inputs = dict.fromkeys(i for p in parts for i in p.inputs)
    return Interval(low, high, "W", tuple(inputs) if low < high else ())

"""Minutes of every UPS of a site: from its battery, and from the loads that really hang on its battery sockets.

House rules
-----------
1. Only ports that give `battery mains` count, and what is fed by them through sockets, strips and switches that are on.
2. A switch counts with what it hands on over data wires, divided by its efficiency: the UPS carries all of it.
3. A test outranks the model, until the battery is changed; from then on the battery only gets older.
4. A battery of unknown age, past its life, or called dead may give nothing: the least is then no minute.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import enum
import math
from collections.abc import Iterator

from pullstring.copper.lengths import TEMPERATURE_C
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Account, Site, Thing, once_a_site
from pullstring.model.refs import Ref
from pullstring.model.when import FIRST, BadDate, When, parse_when
from pullstring.power.budget import handed_on, handing_efficiency
from pullstring.power.heat import own_draw, standing_in
from pullstring.power.ups import SEALED_EXPONENT, both_ways, capacity_left

UPS_EFFICIENCY = Interval(0.75, 0.95, "1", ("efficiency",))
"""Of an inverter of which none is noted. Ours, assumed; 0.85 is a usual figure."""
RATE_H = Interval(10.0, 20.0, "h", ("rate_h",))
"""Hours over which a battery's ampere hours are given where none is noted; 20 on most. Common practice."""
SAID = ("assumed", "told")
YEAR_S = 365.25 * 86400
_MAINS = ("mains", "battery mains")


class Reason(enum.StrEnum):
    """What the minutes rest on, and what they lack."""

    TESTED = "tested"
    RECKONED = "reckoned"
    SAID = "only_said"
    TEST_OLDER = "test_before_battery"
    DEAD = "called_dead"
    PAST_LIFE = "battery_past_its_life"
    AGE_UNKNOWN = "battery_age_unknown"
    BATTERY_UNKNOWN = "battery_unknown"
    LOAD_UNKNOWN = "load_unknown"
    LOAD_ADDED = "load_added_since_test"
    NOTHING_ON_BATTERY = "nothing_on_battery"
    SURGE_ONLY = "surge_only"
    RATE_ASSUMED = "rate_assumed"
    EFFICIENCY_ASSUMED = "efficiency_assumed"
    TEMPERATURE_ASSUMED = "temperature_assumed"


@dataclasses.dataclass(frozen=True)
class Backup:
    """One UPS: how long it holds.

    `minutes` is None where nothing can be said; `by_peukert` and `by_energy` are the two reckonings in it. `load` is what its
    battery sockets carry; its greatest is None in `load_high_known` False. `units` hang on the battery, `surge_only` on the
    sockets without it, and `unknown` are those on the battery whose draw is not noted.
    """

    unit: str
    minutes: Interval | None
    by_peukert: Interval | None
    by_energy: Interval | None
    load: Interval
    load_high_known: bool
    units: tuple[str, ...]
    surge_only: tuple[str, ...]
    unknown: tuple[str, ...]
    codes: tuple[Reason, ...]
    because: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Carried:
    """What hangs on some sockets: watts, the units, those of unknown draw, and the entries that say so.

    `since` is when the last of them was surely plugged in, None where that is open.
    """

    watts: Interval
    units: tuple[Ref, ...]
    unknown: tuple[Ref, ...]
    since: dt.datetime | None
    because: tuple[str, ...]


@once_a_site
def backups(site: Site) -> tuple[Backup, ...]:
    """Every UPS that stands, in order."""
    return tuple(
        _backup(site, unit)
        for unit in site.of_kind("unit")
        if unit.stands and (model := site.get(unit.ref_of("model"))) and model.text("what") == "UPS"
    )


def least_minutes(site: Site, *, unit: Ref) -> float:
    """Minutes for which a UPS surely holds; none where nothing can be said. [min]"""
    found = next((b for b in backups(site) if Ref("unit", b.unit) == unit), None)
    return found.minutes.low if found and found.minutes else 0.0


def _backup(site: Site, unit: Thing) -> Backup:
    model = site.get(unit.ref_of("model"))
    load = carried(site, unit=unit.ref, gives=("battery mains",))
    surge = carried(site, unit=unit.ref, gives=("mains",))
    codes: list[Reason] = []
    reckoned = _reckoned(site, unit, model, load, codes) if load.units else None
    if not load.units:
        codes.append(Reason.NOTHING_ON_BATTERY)
    if surge.units:
        codes.append(Reason.SURGE_ONLY)
    if load.unknown:
        codes.append(Reason.LOAD_UNKNOWN)
    minutes = _outranked(site, unit, reckoned[2] if reckoned else None, load.since, codes)
    entries = (*unit.entries, *(model.entries if model else ()), *load.because, *surge.because)
    room = site.get(standing_in(site, unit) or Ref("room", "?"))
    return Backup(
        unit.ref.tag,
        minutes,
        reckoned[0] if reckoned else None,
        reckoned[1] if reckoned else None,
        load.watts,
        not load.unknown,
        tuple(r.tag for r in load.units),
        tuple(r.tag for r in surge.units),
        tuple(r.tag for r in load.unknown),
        tuple(dict.fromkeys(codes)),
        tuple(dict.fromkeys((*entries, *(room.entries if room else ())))),
    )


def _reckoned(
    site: Site, unit: Thing, model: Thing | None, load: Carried, codes: list[Reason]
) -> tuple[Interval, Interval, Interval] | None:
    """Minutes by both ways; None where the battery is not known."""
    volts, amp_hours = (model.number(n) if model else None for n in ("battery_v", "battery_ah"))
    if not volts or not amp_hours:
        codes.append(Reason.BATTERY_UNKNOWN)
        return None
    hours = model.number("battery_rate_h") if model else None
    percent = model.number("efficiency_percent") if model else None
    codes += [] if hours else [Reason.RATE_ASSUMED]
    codes += [] if percent else [Reason.EFFICIENCY_ASSUMED]
    watts = Interval(load.watts.low, math.inf, "W", ("load_w",)) if load.unknown else load.watts
    if watts.high <= 0:
        codes.append(Reason.LOAD_UNKNOWN)
        return None
    return both_ways(
        load=watts,
        efficiency=Interval.exact(percent / 100, "1") if percent else UPS_EFFICIENCY,
        battery_v=volts,
        capacity_ah=amp_hours,
        rate=Interval.exact(hours, "h") if hours else RATE_H,
        exponent=SEALED_EXPONENT,
        left=_left(site, unit, codes),
    )


def _left(site: Site, unit: Thing, codes: list[Reason]) -> Interval:
    """Part of the battery's capacity that is left."""
    age, temperature = battery_age(site, unit), _temperature(site, unit)
    if temperature is None:
        codes.append(Reason.TEMPERATURE_ASSUMED)
        temperature = TEMPERATURE_C
    left = capacity_left(age=age, temperature=temperature)
    if age is None:
        codes.append(Reason.AGE_UNKNOWN)
    elif left.low == 0:
        codes.append(Reason.PAST_LIFE)
    return left


def battery_age(site: Site, unit: Thing) -> Interval | None:
    """Years since the battery was made or last changed, by the site's day; None when nobody noted it. [year]"""
    made = _date(unit.text("battery_date"))
    if made is None:
        return None
    now = parse_when(site.moment).latest
    low, high = ((now - moment).total_seconds() / YEAR_S for moment in (made.latest, made.earliest))
    return Interval(max(low, 0.0), max(high, 0.0), "year", ("battery_age",) if high > max(low, 0.0) else ())


def _date(text: str) -> When | None:
    try:
        return parse_when(text) if text else None
    except BadDate:
        return None


def _temperature(site: Site, unit: Thing) -> Interval | None:
    """Of the room a unit stands in, coldest to hottest; None unless both are noted. [C]"""
    room = site.get(standing_in(site, unit) or Ref("room", "?"))
    cold, hot = (room.number(n) if room else None for n in ("winter_min_c", "summer_max_c"))
    if cold is None or hot is None:
        return None
    return Interval(min(cold, hot), max(cold, hot), "C", ("temperature_c",) if cold != hot else ())


def _outranked(
    site: Site, unit: Thing, reckoned: Interval | None, plugged: dt.datetime | None, codes: list[Reason]
) -> Interval | None:
    """What a test or a saying makes of the minutes, and a battery that is called dead."""
    said = unit.fields.get("runs_without_mains_min")
    minutes = reckoned
    if said and unit.number("runs_without_mains_min") is not None:
        minutes = _said(site, unit, said.last, reckoned, codes)
        if minutes and Reason.TESTED in codes and plugged and plugged > said.last.at.latest:
            codes.append(Reason.LOAD_ADDED)
            low = min(minutes.low, reckoned.low if reckoned else 0.0)
            minutes = Interval(low, minutes.high, "min", (*minutes.inputs, "load_w") if low < minutes.high else ())
    elif reckoned is not None:
        codes.append(Reason.RECKONED)
    health = unit.fields.get("health")
    dead = health is not None and unit.text("health") == "called dead"
    made = _date(unit.text("battery_date"))
    if dead and health and not (made and made.earliest > health.last.at.latest):
        tested = Reason.TESTED in codes and said is not None and said.last.at.earliest > health.last.at.latest
        if not tested:
            codes.append(Reason.DEAD)
            if minutes is not None and minutes.high > 0:
                minutes = Interval(0.0, minutes.high, "min", tuple(dict.fromkeys((*minutes.inputs, "health"))))
    return minutes


def _said(site: Site, unit: Thing, account: Account, reckoned: Interval | None, codes: list[Reason]) -> Interval | None:
    """Minutes somebody noted: a test holds, worn by its age; a mere saying only widens what was reckoned."""
    value = unit.number("runs_without_mains_min") or 0.0
    made = _date(unit.text("battery_date"))
    if made and made.earliest > account.at.latest:
        codes.append(Reason.TEST_OLDER)
        return reckoned
    if account.evidence.grade in SAID:
        codes.append(Reason.SAID)
        low, high = (reckoned.low, max(reckoned.high, value)) if reckoned else (0.0, value)
        low = min(low, value)
        names = (*(reckoned.inputs if reckoned else ()), "saying")
        return Interval(low, high, "min", tuple(dict.fromkeys(names)) if low < high else ())
    codes.append(Reason.TESTED)
    now = parse_when(site.moment).latest
    began = account.at.latest if account.at.earliest == FIRST else account.at.earliest  # undated: when it was entered
    since = Interval(
        max((now - account.at.latest).total_seconds() / YEAR_S, 0.0),
        max((now - began).total_seconds() / YEAR_S, 0.0),
        "year",
    )
    age = battery_age(site, unit)
    oldest = max(since.high, age.high if age else 0.0)
    worn = capacity_left(age=Interval(since.low, oldest, "year"), temperature=Interval.exact(25.0, "C"))
    low = value * worn.low if since.high > 0 else value
    return Interval(low, value, "min", ("test_age",) if low < value else ())


def carried(site: Site, *, unit: Ref, gives: tuple[str, ...]) -> Carried:
    """What hangs on those sockets of a unit that give what is named."""
    watts = Interval.exact(0.0, "W")
    units: dict[Ref, None] = {}
    unknown: dict[Ref, None] = {}
    because: dict[str, None] = {}
    since: dt.datetime | None = None
    for there, entries, sure, plugged in _fed(site, unit, gives):
        because.update(dict.fromkeys(entries))
        since = max(since or plugged, plugged)
        if there in units or there == unit:
            continue
        units[there] = None
        one, lacking, said = _draw(site, there, frozenset({unit}))
        watts = _plus(watts, one if sure else Interval(0.0, one.high, "W", (*one.inputs, "fed_by")))
        unknown.update(dict.fromkeys(lacking))
        because.update(dict.fromkeys(said))
    return Carried(watts, tuple(units), tuple(unknown), since, tuple(because))


def _fed(site: Site, unit: Ref, gives: tuple[str, ...]) -> Iterator[tuple[Ref, tuple[str, ...], bool, dt.datetime]]:
    """Units fed by the ports of a unit that give this, through sockets, strips and switches that are on."""
    start = _ports(site, unit, gives)
    queue = [(p.ref, p.entries, True) for p in start]
    seen = {p.ref for p in start}
    while queue:
        here, entries, sure = queue.pop(0)
        for claim in site.about(relation="fed_by", object=here):
            thing = site.get(claim.subject)
            if claim.subject in seen or thing is None or not thing.stands or not _is_on(thing):
                continue
            seen.add(claim.subject)
            said = (*entries, *claim.entries, *thing.entries)
            certain = sure and not claim.contradicted
            if claim.subject.kind == "unit":
                yield claim.subject, said, certain, claim.at.earliest
            else:
                queue.append((claim.subject, said, certain))


def _ports(site: Site, unit: Ref, gives: tuple[str, ...]) -> list[Thing]:
    return [
        p
        for p in site.of_kind("port")
        if p.stands and p.ref.parent_tag and Ref("unit", p.ref.parent_tag) == unit and p.text("gives") in gives
    ]


def _is_on(thing: Thing) -> bool:
    return (thing.text("turned") or thing.text("usual")) != "off"


def _draw(site: Site, unit: Ref, above: frozenset[Ref]) -> tuple[Interval, tuple[Ref, ...], tuple[str, ...]]:
    """What one unit takes at its plug with all that it hands on; units of unknown draw; entries.

    Mains that it hands on may pass with no loss, as through a UPS while it has mains.
    """
    thing = site.get(unit)
    model = site.get(thing.ref_of("model")) if thing else None
    passed = handed_on(site, unit=unit)
    own = own_draw(model, gives=passed is not None)
    unknown = [unit] if own is None else []
    watts = own or Interval.exact(0.0, "W")
    entries = [*(thing.entries if thing else ()), *(model.entries if model else ())]
    efficiency, _ = handing_efficiency(model)
    if passed is not None:
        watts = _plus(watts, _over(passed.watts, efficiency))
        unknown += passed.unknown
        entries += passed.because
    for there, said, sure, _ in _fed(site, unit, _MAINS):
        if there in above or there == unit:
            continue
        one, lacking, more = _draw(site, there, above | {unit})
        one = _over(one, Interval(efficiency.low, 1.0, "1", ("efficiency",)))
        watts = _plus(watts, one if sure else Interval(0.0, one.high, "W", (*one.inputs, "fed_by")))
        unknown += lacking
        entries += [*said, *more]
    return watts, tuple(unknown), tuple(entries)


def _over(watts: Interval, efficiency: Interval) -> Interval:
    low, high = watts.low / efficiency.high, watts.high / efficiency.low
    inputs = (*watts.inputs, *(efficiency.inputs if watts.high > 0 else ()))
    return Interval(low, high, "W", tuple(dict.fromkeys(inputs)) if low < high else ())


def _plus(one: Interval, other: Interval) -> Interval:
    low, high = one.low + other.low, one.high + other.high
    return Interval(low, high, "W", tuple(dict.fromkeys((*one.inputs, *other.inputs))) if low < high else ())

"""What a veteran notices about gear and networks: addresses, who gives them out, batteries, cold rooms, locked boxes."""

from __future__ import annotations

import collections
import datetime as dt
import ipaddress
import re
from collections.abc import Iterator

from pullstring.model.answers import Problem
from pullstring.model.asbuilt import Thing
from pullstring.model.problems import listed, problem
from pullstring.model.refs import Ref
from pullstring.model.when import BadDate, parse_when
from pullstring.notice.look import Look
from pullstring.reach.loops import loops

_RANGE = re.compile(r"\d{1,3}(?:\.\d{1,3}){3}")
BATTERY_YEARS = 4  # published pages on UPS batteries say 3 to 5 years; the middle is ours
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


def gear(look: Look) -> Iterator[Problem]:
    """All detections of this family."""
    yield from _clashes(look)
    yield from _defaults(look)
    yield from _in_range(look)
    yield from _servers(look)
    yield from _batteries(look)
    yield from _climate(look)
    yield from _locked(look)
    yield from _rings(look)


def address(text: str) -> Address | None:
    """An address that somebody set by hand; None for 'auto' and the like."""
    try:
        return ipaddress.ip_address(text.strip().split("/")[0])
    except ValueError:
        return None


def _addresses(look: Look) -> Iterator[tuple[Address, Thing, tuple[str, ...]]]:
    """Fixed addresses of what stands: a unit's own, else that of the position it is mounted at."""
    taken: set[Ref] = set()
    for unit in look.site.of_kind("unit"):
        at = next((c.object for c in look.site.about(subject=unit.ref, relation="mounted_at")), None)
        place = look.site.get(at)
        if not look.in_use(unit):
            continue
        own = address(unit.text("address"))
        given = own or (address(place.text("address")) if place else None)
        if place:
            taken.add(place.ref)
        if given:
            yield given, unit, unit.entries if own else (*unit.entries, *(place.entries if place else ()))


def _clashes(look: Look) -> Iterator[Problem]:
    held: dict[tuple[str, Address], list[tuple[Thing, tuple[str, ...]]]] = collections.defaultdict(list)
    for number, unit, entries in _addresses(look):
        held[_network(look, unit), number].append((unit, entries))
    for (_, number), units in sorted(held.items(), key=lambda h: (h[0][0], str(h[0][1]))):
        if len(units) > 1:
            where = listed(u.ref for u, _ in units)
            yield problem("address_clash", where=where, says=str(number), because=[e for _, es in units for e in es])


def _network(look: Look, unit: Thing) -> str:
    """The network of a unit's ports, where it is said and one; else the common one."""
    said = {
        str(n)
        for p in look.site.of_kind("port")
        if p.ref.parent_tag and Ref("unit", p.ref.parent_tag) == unit.ref and (n := p.ref_of("network"))
    }
    return said.pop() if len(said) == 1 else ""


def _defaults(look: Look) -> Iterator[Problem]:
    """A reset would bring a unit up with an address that something else has, or that is the gateway."""
    used = {number: unit.ref for number, unit, _ in _addresses(look)}
    gateways = {a: n.ref for n in look.site.of_kind("network") if (a := address(n.text("gateway")))}
    for unit in look.site.of_kind("unit"):
        model = look.model(unit)
        default = address(model.text("default_address")) if model else None
        if not unit.stands or model is None or default is None or address(unit.text("address")) == default:
            continue
        holder = gateways.get(default) or used.get(default)
        if holder and holder != unit.ref:
            says = f"{default}, the address of {holder},"
            if holder.kind == "network":
                says = f"{default}, the gateway of {holder},"
            yield problem("default_clash", where=str(unit.ref), says=says, because=[*unit.entries, *model.entries])


def _in_range(look: Look) -> Iterator[Problem]:
    ranges = [(n.text("gives_from"), n.text("gives_to"), n) for n in look.site.of_kind("network") if n.stands]
    for server in look.site.of_kind("unit"):
        if look.in_use(server) and len(ends := _RANGE.findall(_long(server))) == 2:
            ranges.append((ends[0], ends[1], server))
    for start, end, network in ranges:
        first, last = address(start), address(end)
        if first is None or last is None:
            continue
        for number, unit, entries in _addresses(look):
            if number.version == first.version == last.version and int(first) <= int(number) <= int(last):
                says = f"{number}, of {first} to {last}"
                yield problem("fixed_in_range", where=str(unit.ref), says=says, because=[*entries, *network.entries])


def _long(server: Thing) -> str:
    """What a unit says it hands out, with its own network before short ends such as `.100 to .199`."""
    own = server.text("address").rpartition(".")[0]
    return re.sub(r"(?<![\d.])\.(\d{1,3})\b", rf"{own}.\1" if own else r".\1", server.text("hands_out"))


def _servers(look: Look) -> Iterator[Problem]:
    """Units that give out addresses, those planned to come included, in one network."""
    by_network: dict[str, list[Thing]] = collections.defaultdict(list)
    for unit in look.site.of_kind("unit"):
        if unit.text("gives_addresses") == "yes" and (look.in_use(unit) or unit.text("state") == "planned"):
            by_network[_network(look, unit)].append(unit)
    for units in by_network.values():
        if len(units) > 1:
            entries = [e for u in units for e in u.entries]
            yield problem("two_servers", where=listed(u.ref for u in units), because=entries)


def _batteries(look: Look) -> Iterator[Problem]:
    for unit in look.site.of_kind("unit"):
        text = unit.text("battery_date")
        if not look.in_use(unit) or not text or text == "none":
            continue
        try:
            made = parse_when(text)
        except BadDate:
            continue
        if look.today - made.latest > dt.timedelta(days=BATTERY_YEARS * 365.25):
            yield problem("battery_old", where=str(unit.ref), says=text, because=unit.entries)


def _climate(look: Look) -> Iterator[Problem]:
    """A unit, there or planned, in a room whose winter or summer lies outside what its model bears."""
    for unit in look.site.of_kind("unit"):
        model, room = look.model(unit), look.site.get(unit.ref_of("room"))
        if room is None:
            at = next((c.object for c in look.site.about(subject=unit.ref, relation="mounted_at")), None)
            place = look.site.get(at)
            room = look.site.get(place.ref_of("room")) if place else None
        if unit.text("state") == "removed" or model is None or room is None:
            continue
        read = [
            r for r in look.site.readings if r.measured.subject == room.ref and r.measured.quantity == "temperature"
        ]
        values = [r.measured.value_si for r in read if r.measured.value_si is not None]
        because = [*unit.entries, *model.entries, *room.entries, *(r.entry for r in read)]
        for code, limit, said, pick in (
            ("too_cold", model.number("low_c"), room.number("winter_min_c"), min),
            ("too_hot", model.number("high_c"), room.number("summer_max_c"), max),
        ):
            extreme = pick([*values, *([said] if said is not None else [])], default=None)
            sign = 1 if pick is min else -1
            if limit is not None and extreme is not None and sign * extreme < sign * limit:
                says = f"{room.ref}, where it comes to {extreme:g} °C; it is made for {limit:g} °C"
                yield problem(code, where=str(unit.ref), says=says, because=because)


def _locked(look: Look) -> Iterator[Problem]:
    for unit in look.site.of_kind("unit"):
        if unit.stands and unit.text("login") == "locked":
            yield problem("login_locked", where=str(unit.ref), because=unit.entries)


def _rings(look: Look) -> Iterator[Problem]:
    """Two ways between units that pass everything on; where one of them may not, it is left to the verb that asks."""
    for loop in loops(look.site):
        if loop.sure:
            one, other = loop.pull
            yield problem("loop", where=listed(loop.units), says=f"pull {one} from {other}", because=loop.because)

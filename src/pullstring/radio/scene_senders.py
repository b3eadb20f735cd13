"""Access points, routers with radio and repeaters as senders: where each hangs, what it radiates, how it spreads it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import shapely
import shapely.ops

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.refs import Ref, tag_key
from pullstring.radio.antennas import antennas
from pullstring.radio.conditions import parse_conditions
from pullstring.radio.scene import BANDS, Point, Sender, Spot
from pullstring.radio.scene_assumed import Power, Taken, assumed, powers
from pullstring.radio.scene_rooms import Drawn, drawn_rooms
from pullstring.radio.scene_storeys import Storey, storeys

EIRP = {"2.4 GHz": "eirp_2g4_dbm", "5 GHz": "eirp_5g_dbm", "6 GHz": "eirp_6g_dbm"}
ALWAYS = ("access point", "repeater")
ROUTER = "router"
MAST = "radio"
CEILING = "ceiling"
NO_RADIO = "none"
NOT_IN_USE = ("removed", "lost", "out of use")
GONE = ("called dead",)
NUDGE_M = 0.05  # ours: what is noted right on a wall or a ceiling hangs just inside it


@dataclasses.dataclass(frozen=True)
class Source:
    """A thing that sends or is considered to: the unit or the place, its model, the position it hangs at."""

    thing: Thing
    model: Thing | None
    position: Thing | None
    planned: bool

    def first(self, name: str) -> object | None:
        """What was said of the unit, else of its place, else of its model; `none` counts as said."""
        for thing in (self.thing, self.position, self.model):
            if thing is not None and (value := thing.get(name)) is not None:
                return value
        return None

    def number(self, name: str) -> float | None:
        """The same as a number."""
        value = self.first(name)
        return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None

    @property
    def kind(self) -> str:
        """What it is, as its model says; a place without a unit is for an access point."""
        if self.model is not None:
            return self.model.text("what")
        return ALWAYS[0] if self.thing.ref.kind == "position" else ""


@once_a_site
def sources(site: Site) -> tuple[tuple[Source, ...], tuple[Taken, ...]]:
    """All that sends or is planned to, in the order of names, and what was taken for granted in choosing them."""
    found, taken = [], []
    filled: set[Ref] = set()
    boxed = {u for p in site.of_kind("part") if p.stands and p.ref_of("box") and (u := p.ref_of("unit"))}
    heard = heard_names(site)
    for unit in site.of_kind("unit"):
        position = _position(site, unit)
        if position is not None and unit.text("state") not in NOT_IN_USE:
            filled.add(position.ref)
        source = Source(unit, site.get(unit.ref_of("model")), position, unit.text("state") == "planned")
        if unit.text("state") in NOT_IN_USE or unit.text("health") in GONE:
            continue
        if unit.ref in boxed and position is None and unit.number("x_m") is None:
            continue
        if _sends(source, unit.ref.key in heard):
            found.append(source)
        elif source.kind == ROUTER and source.first("antenna") is None:
            taken.append(Taken("router_without_radio", (unit.ref,)))
    for place in site.of_kind("position"):
        if place.text("state") == "planned" and place.ref not in filled and place.text("antenna") != NO_RADIO:
            found.append(Source(place, None, place, planned=True))
    return tuple(found), tuple(taken)


def heard_names(site: Site) -> frozenset[str]:
    """Compared tags of what readings say they heard."""
    said = (
        parse_conditions(r.measured.evidence.conditions).heard
        for r in site.readings
        if r.measured.quantity.startswith("level ")
    )
    return frozenset(tag_key(tag) for tag in said if tag)


def _sends(source: Source, heard: bool) -> bool:
    antenna = source.first("antenna")
    if antenna == NO_RADIO:
        return False
    if source.kind in ALWAYS:
        return True
    noted = antenna is not None or any(source.number(name) is not None for name in EIRP.values())
    return (source.kind == ROUTER or not source.kind) and (noted or heard)


def _position(site: Site, unit: Thing) -> Thing | None:
    best = site.best(unit.ref, "mounted_at")
    return site.get(best.object) if best else None


def senders_of(
    site: Site, levels: Mapping[Ref, Storey], drawn: Sequence[Drawn]
) -> tuple[tuple[Sender, ...], tuple[Taken, ...], tuple[Ref, ...]]:
    """Senders that have a place, what was taken for granted of them, and those without a place."""
    chosen, first = sources(site)
    made: list[Sender] = []
    taken, lost = list(first), []
    for source in chosen:
        spot, room, how = spot_of(site, source, levels, drawn)
        if spot is None or room is None:
            lost.append(source.thing.ref)
            continue
        one, guesses = _sender(source, spot, room)
        if any(s.name == one.name for s in made):
            one = dataclasses.replace(one, name=str(source.thing.ref))
        made.append(one)
        taken += [Taken(code, (source.thing.ref,)) for code in (*how, *guesses)]
    return tuple(sorted(made, key=lambda s: (s.spot, s.name))), tuple(taken), tuple(lost)


@once_a_site
def masts_of(site: Site) -> tuple[Sender, ...]:
    """Radios that serve no rooms but talk to another one far off, where they have a place; in the order of names."""
    levels = storeys(site)
    drawn = drawn_rooms(site, levels)
    found = []
    for unit in site.of_kind("unit"):
        source = Source(unit, site.get(unit.ref_of("model")), _position(site, unit), unit.text("state") == "planned")
        if source.kind != MAST or unit.text("state") in NOT_IN_USE:
            continue
        spot, room, _ = spot_of(site, source, levels, drawn)
        if spot is not None and room is not None:
            found.append(_sender(source, spot, room)[0])
    return tuple(sorted(found, key=lambda s: s.name))


def _sender(source: Source, spot: tuple[float, float, float], room: Drawn | Storey) -> tuple[Sender, list[str]]:
    storey = room.storey if isinstance(room, Drawn) else room
    usual = powers().get(source.kind, powers()[ALWAYS[0]])
    said = {band: value for band, name in EIRP.items() if (value := source.number(name)) is not None}
    silent = {band for band, name in EIRP.items() if source.first(name) == NO_RADIO}
    guessed = {b: p for b, p in usual.eirp_dbm.items() if b not in said and b not in silent}
    eirp = {band: {**guessed, **said}[band] for band in BANDS if band in guessed or band in said}
    antenna = source.first("antenna") or _usual_antenna(source, spot, room, usual)
    tilt = source.number("tilt_deg")
    sender = Sender(
        source.thing.ref.tag,
        spot,
        eirp,
        assumed("assumed_power_spread_db" if guessed else "noted_power_spread_db"),
        str(antenna),
        storey.frame.angle_deg + _azimuth(source, spot, room),
        antennas()[str(antenna)].rest_tilt_deg if tilt is None else tilt,
        room.thing.ref.tag if isinstance(room, Drawn) else "",
        source.planned,
    )
    return sender, (["power_assumed"] if guessed else []) + ([] if source.first("antenna") else ["antenna_assumed"])


def _usual_antenna(source: Source, spot: Spot, room: Drawn | Storey, usual: Power) -> str:
    """An access point under the ceiling has the antenna made for there; others are near to even."""
    if source.kind != ALWAYS[0]:
        return usual.antenna
    hung = source.position is not None and source.position.text("mount") == CEILING
    top = room.storey.frame.z_m + room.storey.z_m + room.height_m if isinstance(room, Drawn) else math.inf
    return CEILING if hung or top - spot[2] <= assumed("near_ceiling_m") else usual.antenna


def _azimuth(source: Source, spot: Spot, room: Drawn | Storey) -> float:
    """As noted; else towards the middle of its room, to the left of the building's x axis. [deg]"""
    if (noted := source.number("azimuth_deg")) is not None:
        return noted
    if not isinstance(room, Drawn):
        return 0.0
    middle = room.area.centroid
    there = room.storey.to_site((float(middle.x), float(middle.y)), 0.0)
    east, north = there[0] - spot[0], there[1] - spot[1]
    if math.hypot(east, north) < NUDGE_M:
        return 0.0
    return math.degrees(math.atan2(north, east)) - room.storey.frame.angle_deg


def spot_of(
    site: Site, source: Source, levels: Mapping[Ref, Storey], drawn: Sequence[Drawn]
) -> tuple[Spot | None, Drawn | Storey | None, list[str]]:
    """Where a source hangs on the site, its room or else its storey, and codes of what was taken for granted."""
    at = next((t for t in (source.thing, source.position) if t and t.number("x_m") is not None), None)
    homes = [t.ref_of("room") for t in (at, source.thing, source.position) if t is not None]
    home = next((h for h in homes if h), None)
    inside = next((r for r in drawn if r.thing.ref == home), None)
    room = site.get(home)
    storey = inside.storey if inside else levels.get(room.ref_of("floor") or home) if room and home else None
    if storey is None:
        return None, None, []
    codes: list[str] = []
    if at is not None and at.number("y_m") is not None:
        point = (at.number("x_m") or 0.0, at.number("y_m") or 0.0)
        inside = room_at(point, storey, drawn, home=home)
    elif inside is not None:
        centre = inside.area.representative_point()
        middle = inside.area.centroid
        spot = middle if inside.area.contains(middle) else centre
        point = (float(spot.x), float(spot.y))
        codes.append("place_in_room_assumed")
    else:
        return None, None, []
    height, guessed = _height(source, at, inside, storey)
    codes += ["height_assumed"] if guessed else []
    return storey.to_site(_inside(point, inside), storey.z_m + height), inside or storey, codes


def room_at(point: Point, storey: Storey, drawn: Sequence[Drawn], *, home: Ref | None) -> Drawn | None:
    """The room of a storey in which a point lies, or the nearest one, no farther than half a wall is thick.

    On a line between two rooms it lies in the one that is noted.
    """
    here = shapely.Point(point)
    near = sorted(
        (round(r.area.distance(here), 2), r.thing.ref != home, n) for n, r in enumerate(drawn) if r.storey == storey
    )
    return drawn[near[0][2]] if near and near[0][0] <= assumed("facing_m") / 2 else None


def _height(source: Source, at: Thing | None, room: Drawn | None, storey: Storey) -> tuple[float, bool]:
    """Height above the floor, and whether nobody noted it."""
    top = max((room.height_m if room else storey.ceiling_m) - assumed("ceiling_drop_m"), 0.1)
    for thing in (at, source.thing, source.position):
        if thing is not None and (z := thing.number("z_m")) is not None:
            return (min(max(z, NUDGE_M), top) if room else z), False
    on_ceiling = source.position is not None and source.position.text("mount") == CEILING
    on_ceiling = on_ceiling or source.first("antenna") == CEILING
    return (top if on_ceiling else min(assumed("other_height_m"), top)), True


def _inside(point: Point, room: Drawn | None) -> Point:
    """The point, moved off the side of its room where it was noted right on it."""
    if room is None or room.area.buffer(-NUDGE_M / 2).covers(shapely.Point(point)):
        return point
    inner = room.area.buffer(-NUDGE_M)
    if inner.is_empty:
        return point
    near = shapely.ops.nearest_points(inner, shapely.Point(point))[0]
    return (float(near.x), float(near.y))

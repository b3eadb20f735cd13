"""Level readings of the record as learning wants them: where they were taken, of whom, with which device."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping, Sequence

import shapely

from pullstring.model.asbuilt import Reading as Recorded
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import BadName, Ref
from pullstring.radio.conditions import Conditions, parse_conditions
from pullstring.radio.learning_readings import Reading
from pullstring.radio.scene import Room, Scene, Spot
from pullstring.radio.scene_assumed import assumed
from pullstring.radio.scene_rooms import Drawn, drawn_rooms
from pullstring.radio.scene_storeys import Storey, storeys

QUANTITIES = {"level 2.4 GHz": "2.4 GHz", "level 5 GHz": "5 GHz", "level 6 GHz": "6 GHz"}
MOVED = ("move", "put in", "take out", "swap")
"""Acts after which a reading of an access point tells nothing of where it hangs now."""
UNKNOWN_DEVICE = "a device nobody noted"


@dataclasses.dataclass(frozen=True)
class Level:
    """One level reading of the record: what it says, and `reading` where it can be learned from.

    `why_not` is a code where it cannot: no place, nobody there who sends so, a band nobody sends, a stranger, moved or come
    since, too strong to tell, no level that a device shows.
    """

    entry: str
    subject: Ref
    band: str
    room: str
    conditions: Conditions
    heard: Ref | None
    reading: Reading | None
    why_not: str
    read_dbm: float | None = None
    """What was read, also where nothing can be learned from it."""
    measured_dbm: float | None = None
    """The number of the reading, whatever its sign."""
    outdated: bool = False
    """Whether an access point came or was moved since, so that it no longer says how strong the strongest is there."""


def readings_of(site: Site, scene: Scene) -> tuple[Level, ...]:
    """All level readings in the order of the record."""
    levels = storeys(site)
    drawn = drawn_rooms(site, levels)
    rooms = {r.name: r for r in scene.rooms}
    found = [r for r in site.readings if r.measured.quantity in QUANTITIES]
    floors = _floors(found)
    return tuple(_level(site, r, scene, levels, drawn, rooms, floors) for r in found)


def device_of(recorded: Recorded) -> str:
    """The device that read it, as written, without case."""
    return " ".join(recorded.measured.evidence.instrument.casefold().split()) or UNKNOWN_DEVICE


def _floors(found: Sequence[Recorded]) -> Mapping[str, float]:
    """By device the weakest level that it can hear: as assumed, or a step below the weakest it did hear. [dBm]"""
    floors: dict[str, float] = {}
    for one in found:
        value = one.measured.value_si if one.measured.sign == "=" and is_possible(one) else None
        weakest = value if value is not None else 0.0
        usual = floors.get(device_of(one), assumed("hearing_floor_dbm"))
        floors[device_of(one)] = min(usual, weakest - 1)
    return floors


def is_possible(recorded: Recorded) -> bool:
    """False for a level that no device shows, so that a slip of the pen moves nothing."""
    value, sign = recorded.measured.value_si, recorded.measured.sign
    if value is None:
        return True
    return value >= assumed("faintest_read_dbm") and (sign != "=" or value <= assumed("strongest_read_dbm"))


def _level(
    site: Site,
    recorded: Recorded,
    scene: Scene,
    levels: Mapping[Ref, Storey],
    drawn: Sequence[Drawn],
    rooms: Mapping[str, Room],
    floors: Mapping[str, float],
) -> Level:
    measured, said = recorded.measured, parse_conditions(recorded.measured.evidence.conditions)
    room, spots = _spots(site, measured.subject, said, levels, drawn, rooms)
    heard, sender = _heard(site, said, scene)
    why = _why_not(site, recorded, said, spots, heard, sender)
    why = why or _not_sent(scene, QUANTITIES[measured.quantity], sender) or _changed(site, recorded, scene, heard)
    reading = None
    if not why:
        reading = Reading(
            measured.key or recorded.entry,
            spots,
            sender,
            device_of(recorded),
            QUANTITIES[measured.quantity],
            measured.value_si if measured.sign == "=" else None,
            measured.value_si
            if measured.sign == "<" and measured.value_si is not None
            else floors[device_of(recorded)],
            said.count,
            said.turned,
            recorded.at.text,
        )
    read = measured.value_si if measured.sign == "=" else None
    band, outdated = QUANTITIES[measured.quantity], bool(why or _changed(site, recorded, scene, None))
    return Level(
        recorded.entry, measured.subject, band, room, said, heard, reading, why, read, measured.value_si, outdated
    )


def _why_not(
    site: Site, recorded: Recorded, said: Conditions, spots: Sequence[Spot], heard: Ref | None, sender: str | None
) -> str:
    if said.stranger:
        return "stranger"
    if not is_possible(recorded):
        return "no_such_level"
    if not spots:
        return "no_place"
    if said.heard and sender is None:
        return "no_such_sender" if heard is None or site.get(heard) is None else "not_sending"
    if recorded.measured.sign == ">":
        return "too_strong"
    return ""


def _not_sent(scene: Scene, band: str, sender: str | None) -> str:
    """Whether what was heard, or where nobody is named anybody, is not known to send the band."""
    meant = [s for s in scene.senders if sender is None or s.name == sender]
    return "" if any(band in s.eirp_dbm for s in meant) else "band_not_sent"


def _changed(site: Site, recorded: Recorded, scene: Scene, heard: Ref | None) -> str:
    """Whether what was heard hangs elsewhere since, or, where nothing or nobody in particular was heard, anything came."""
    then = recorded.at.latest
    if heard is not None:
        return "moved_since" if _moved(site, heard, then) else ""
    for sender in scene.senders:
        unit = site.get(Ref("unit", sender.name)) if ":" not in sender.name and not sender.planned else None
        if unit is not None and (_moved(site, unit.ref, then) or (unit.made and unit.made.at.earliest > then)):
            return "came_since"
    return ""


def _moved(site: Site, unit: Ref, then: datetime.datetime) -> bool:
    return any(d.act in MOVED and unit in (d.subject, d.object) and d.at.earliest > then for d in site.done)


def _heard(site: Site, said: Conditions, scene: Scene) -> tuple[Ref | None, str | None]:
    """The unit or place that a reading names, and the sender of the scene that it is."""
    if not said.heard:
        return None, None
    try:
        named = [Ref(kind, said.heard) for kind in ("unit", "position")]
    except BadName:
        return None, None
    by_key = {Ref("unit", s.name).key: s.name for s in scene.senders if ":" not in s.name}
    for ref in named:
        real = site.other_names.get(ref, ref)
        if real.key in by_key and site.get(real):
            return real, by_key[real.key]
        mounted = [c.subject for c in site.about(object=real, relation="mounted_at") if c.subject.key in by_key]
        if mounted:
            return mounted[-1], by_key[mounted[-1].key]
    there = [ref for ref in named if site.get(ref)]
    return (there[0] if there else None), None


def _spots(
    site: Site,
    subject: Ref,
    said: Conditions,
    levels: Mapping[Ref, Storey],
    drawn: Sequence[Drawn],
    rooms: Mapping[str, Room],
) -> tuple[str, tuple[Spot, ...]]:
    """The room of a reading, and its spot, or the points of the room where only that is known."""
    thing = site.get(subject)
    if thing is None:
        return "", ()
    home = thing if subject.kind == "room" else site.get(thing.ref_of("room"))
    inside = next((r for r in drawn if home is not None and r.thing.ref == home.ref), None)
    storey = _storey(thing, home, inside, levels)
    point, height = _point(thing, said)
    if storey is not None and point is not None:
        here = [r for r in drawn if r.storey == storey and r.area.covers(shapely.Point(point))]
        there = inside if inside in here or not here else here[0]
        z = storey.z_m + (assumed("judging_height_m") if height is None else height)
        return (there.thing.ref.tag if there else ""), (storey.to_site(point, z),)
    name = inside.thing.ref.tag if inside else ""
    return name, rooms[name].points if name in rooms else ()


def _storey(thing: Thing, home: Thing | None, inside: Drawn | None, levels: Mapping[Ref, Storey]) -> Storey | None:
    if inside is not None:
        return inside.storey
    floor = thing.ref if thing.ref.kind == "floor" else home.ref_of("floor") if home else None
    return levels.get(floor) if floor else None


def _point(thing: Thing, said: Conditions) -> tuple[tuple[float, float] | None, float | None]:
    """Where somebody stood, in the building's axes, and the height above the floor if it was said."""
    if said.at_m:
        return (said.at_m[0], said.at_m[1]), (said.at_m[2] if len(said.at_m) > 2 else None)
    x, y = thing.number("x_m"), thing.number("y_m")
    return ((x, y) if x is not None and y is not None else None), None

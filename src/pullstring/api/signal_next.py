"""Where to read next: the places that narrow the rooms' answers most for each minute of walking."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from pullstring.model.geometry import frame_of
from pullstring.model.refs import Ref
from pullstring.radio.learning_readings import Reading
from pullstring.radio.next_reading import Chooser, Wanted
from pullstring.reach.walking import constants as walking_constants
from pullstring.reach.walking import walk_times
from pullstring.trace.assumed import assumed_costs

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site
    from pullstring.radio.scene import Room, Spot

MOST = 5  # ours: proposals of one answer
READING_MIN = 1.5  # ours: a turn within a circle of one metre, and writing it down
MOST_CANDIDATES = 60  # ours
USUAL_DEVICE = "phone"


def next_readings(site: Site, work: Worked) -> list[dict[str, Any]]:
    """The best places, each the best after those before it; none where nothing would change."""
    rooms = [r for r in work.scene.rooms if work.held.rooms[r.name]][:MOST_CANDIDATES]
    wanted = _wanted(work)
    if not rooms or not wanted or not any(not s.planned for s in work.scene.senders):
        return []
    places = [work.held.rooms[r.name][_centre(r)] for r in rooms]
    chooser = Chooser(
        work.base.checked.learned, work.ground, wanted, tuple(places), _like(work), _minutes(site, rooms), READING_MIN
    )
    found = []
    for one in chooser.walk(MOST):
        room = rooms[one.candidate]
        spot = room.points[_centre(room)]
        found.append(
            {
                "room": room.name,
                "floor": room.floor,
                "x_m": spot[0],
                "y_m": spot[1],
                "own_m": _own(site, room, spot),
                "minutes": one.minutes,
                "narrows_db": one.narrows_db,
                "helps": list(one.helps),
            }
        )
    return found


def _own(site: Site, room: Room, spot: Spot) -> list[float]:
    """A spot in the axes of the room's building, as a reading is written."""
    floor = site.get(Ref("floor", room.floor))
    return list(frame_of(site, floor.ref_of("building") if floor else None).from_site(spot[0], spot[1]))


def _wanted(work: Worked) -> tuple[Wanted, ...]:
    """One answer for each room and band that somebody needs, at the level needed; without needs the agreed edge everywhere."""
    found: dict[tuple[str, str], Wanted] = {}
    for need in work.base.needs:
        for part in need.parts:
            if need.room is None or not work.held.rooms.get(need.room.tag):
                continue
            for band in (b for b in part.bands if b in work.bands):
                key = (need.room.tag, band)
                level = max(part.level_dbm, found[key].need_dbm) if key in found else part.level_dbm
                found[key] = Wanted(*key, tuple(work.held.rooms[need.room.tag]), level, 1.0 / need.priority)
    if not found:
        for room, at in work.held.rooms.items():
            for band in work.bands if at else ():
                found[room, band] = Wanted(room, band, tuple(at), work.rules.edge_dbm[band], 1.0)
    return tuple(found[key] for key in sorted(found))


def _centre(room: Room) -> int:
    """The judging point nearest to the middle of all."""
    points = np.array(room.points)
    return int(((points[:, :2] - points[:, :2].mean(0)) ** 2).sum(1).argmin())


def _like(work: Worked) -> Reading:
    """A reading such as those before: with the device used most, turning, as one would now."""
    used = [r.device for r in work.base.readings]
    device = max(sorted(set(used)), key=used.count) if used else USUAL_DEVICE
    return Reading("next", ((0.0, 0.0, 0.0),), None, device, work.bands[0], None, -90.0, 1, True, "")


def _minutes(site: Site, rooms: list[Room]) -> Any:
    """Minutes from the closet (first row) and from each candidate's room to each."""
    closet = next((r.ref for r in site.of_kind("room") if r.text("closet") == "yes"), None)
    refs = [Ref("room", r.name) for r in rooms]
    start = closet or refs[0]
    pace, door_s = assumed_costs(), walking_constants()["door_s"]
    walk = walk_times(site, [start, *refs], walk_m_per_s=pace.walk_m_per_s, stairs_s=pace.stairs_s, door_s=door_s)
    return walk.seconds[:, 1:] / 60

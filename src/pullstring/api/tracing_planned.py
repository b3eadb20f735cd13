"""The job of tracing as the record has it: kit, places, what may be touched, what is in place, and the planner."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from pullstring.api.tracing_odds import kept_outlets
from pullstring.api.tracing_worked import Worked, worked
from pullstring.model.asbuilt import once_a_site
from pullstring.model.conductors import outlet_of
from pullstring.model.refs import BadName, Ref
from pullstring.model.tones import BadTone, parse_tone
from pullstring.reach.walking import assumed_guesses, walk_times, way_up
from pullstring.reach.walking import constants as walking_constants
from pullstring.trace.acts import Standing
from pullstring.trace.assumed import assumed_costs, assumed_noise, assumed_prior, assumed_sure
from pullstring.trace.guarded import may_touch, only_volts
from pullstring.trace.kit_at_hand import KitAtHand, kit_at_hand
from pullstring.trace.places import OutletPlace, assumed_effort, outlet_places
from pullstring.trace.policy import Job

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site


@dataclasses.dataclass(frozen=True)
class Ground:
    """What stands in the way of acts: by outlet why it cannot be touched, ends that must not be, and what lacks only its volts."""

    blocked: Mapping[int, str]
    untouchable: frozenset[int]
    volts_first: frozenset[Ref]
    places: Mapping[Ref, OutletPlace]


@dataclasses.dataclass(frozen=True)
class Planned:
    """The job: what is believed, what is at hand, what is in the way, walking times, and where the closet is."""

    done: Worked
    kit: KitAtHand
    ground: Ground
    travel_s: np.typing.NDArray[np.float64]
    closet: Ref | None
    guessed: bool

    def job(self, *, at: int | None = None) -> Job:
        """A planner at its beginning; `at` is an outlet by number, the closet if None."""
        traced = self.done.traced
        job = Job(
            kit=self.kit.for_planner,
            scene=traced.scene,
            travel_s=self.travel_s,
            costs=assumed_costs(),
            prior=assumed_prior(),
            noise=assumed_noise(),
            sure=assumed_sure(),
            off_limits=self.ground.blocked,
            untouchable=self.ground.untouchable,
            standing=self.standing(at),
            readings=traced.readings,
        )
        job.desk.adopt(self.done.table.copy())
        job.state.rows.again()
        return job

    def standing(self, at: int | None) -> Standing:
        """Where one stands and what the record says is still in place."""
        traced = self.done.traced
        remotes, marks = {}, {}
        for one in traced.placed:
            if one.quantity == "remote placed" and one.value is not None:
                if one.spot.outlet is not None:
                    remotes[one.spot.outlet] = int(one.value) - 1
                elif one.spot.end is not None:
                    marks[one.spot.end] = int(one.value) - 1
        return Standing(len(traced.outlets) if at is None else at, remotes=remotes, marks=marks)


@once_a_site
def planned(site: Site, *, today: str) -> Planned:
    """The job as it stands on a day."""
    done, costs = worked(site), assumed_costs()
    traced = done.traced
    walking = walking_constants()
    speed, stairs_s, door_s = costs.walk_m_per_s, costs.stairs_s, walking["door_s"]
    ways = way_up(site, walk_m_per_s=speed, stairs_s=stairs_s, door_s=door_s, guesses=assumed_guesses())
    places = {p.outlet: p for p in outlet_places(site, effort=assumed_effort(), ways_up=ways)}
    closet = _closet(site, traced.ends)
    stops = [*traced.outlets, closet] if closet else list(traced.outlets)
    times = walk_times(site, stops, walk_m_per_s=speed, stairs_s=stairs_s, door_s=door_s)
    travel = np.zeros((len(traced.outlets) + 1,) * 2)
    travel[: len(stops), : len(stops)] = times.seconds
    if closet is None:
        travel[-1, :-1] = travel[:-1, -1] = walking["unknown_m"] / costs.walk_m_per_s
    for number, outlet in enumerate(traced.outlets):
        if outlet in places:  # what stands before it is moved once there and once back
            travel[number, :] += places[outlet].extra_s / 2
            travel[:, number] += places[outlet].extra_s / 2
            travel[number, number] = 0.0
    guessed = closet is None or bool((times.how == "guessed").any())
    return Planned(done, kit_at_hand(site, today=today), _ground(site, done, places), travel, closet, guessed)


def _ground(site: Site, done: Worked, places: Mapping[Ref, OutletPlace]) -> Ground:
    blocked: dict[int, str] = {}
    untouchable, volts = set[int](), set[Ref]()
    in_use = {n for n, end in enumerate(done.traced.ends) if _is_plugged_in(site, end)}
    for number, outlet in enumerate(done.traced.outlets):
        place = places.get(outlet)
        if place is not None and not place.reachable:
            blocked[number] = "not reachable"
        reasons = may_touch(site, outlet)
        if only_volts(reasons):
            volts.add(outlet)
        elif reasons:
            blocked[number] = "untouchable"
    for number, end in enumerate(done.traced.ends):
        reasons = may_touch(site, end)
        if only_volts(reasons):
            volts.add(end)
        elif reasons:
            untouchable.add(number)
    for number, nets in enumerate(done.odds.nets):
        for ends, why in ((in_use, "in use"), (untouchable, "likely live")):
            if sum(chance for net, chance in nets.items() if net & ends) > IN_USE:
                blocked.setdefault(number, why)
    for outlet in _heard_of_guarded(site, done):
        if outlet in done.traced.outlets:
            blocked[done.traced.outlets.index(outlet)] = "likely live"
    for outlet in kept_outlets(site):
        if outlet in done.traced.outlets:
            number = done.traced.outlets.index(outlet)
            blocked.setdefault(number, "in use")
            in_use |= {n for n, chance in enumerate(done.odds.own[number][:-1]) if chance > LIKELIER}
    untouchable |= in_use
    volts -= {done.traced.ends[n] for n in in_use}
    return Ground(blocked, frozenset(untouchable), frozenset(volts), places)


LIKELIER = 0.5
"""Ours: an end on which an outlet with something kept is likelier than not stays untouched. [share]"""
IN_USE = 0.2
"""Ours: from this chance on that an outlet is on a line in use, or on a wire that may not be touched, nothing is put on it."""


def _heard_of_guarded(site: Site, done: Worked) -> set[Ref]:
    """Outlets at which a tone was heard from an end that is protected or live, or the other way about: nothing goes on them."""
    guarded = {one.thing for one in done.traced.left_out if one.why in ("protected", "live")}
    found = set()
    for reading in site.readings:
        if reading.measured.quantity != "tone" or not reading.measured.value_si:
            continue
        try:
            sides = {reading.measured.subject, parse_tone(reading.measured.written).source}
        except (BadTone, BadName):
            continue
        if sides & guarded:
            found |= {outlet_of(r) for r in sides if r.kind in ("outlet", "jack")}
    return found


def _is_plugged_in(site: Site, end: Ref) -> bool:
    """Whether the plug of an end sits in a unit: what goes on its wire goes into that unit too."""
    plugged = site.best(end, "plugged")
    return plugged is not None and plugged.status != "ruled out" and plugged.object.kind == "port"


def _closet(site: Site, ends: tuple[Ref, ...]) -> Ref | None:
    """The room in which most of the ends are; of equals the one noted as the closet, then by tag."""
    rooms: dict[Ref, int] = {}
    for end in ends:
        thing = site.get(end)
        if thing and (room := thing.ref_of("room")):
            rooms[room] = rooms.get(room, 0) + 1
    noted = {r.ref for r in site.of_kind("room") if r.text("closet") == "yes"}
    return min(rooms, key=lambda r: (-rooms[r], r not in noted, r), default=min(noted, default=None))

"""Each outlet as a place to go to: where it is, whether one gets at it and if not why, how long it takes longer, what to mind.

Codes only; the sentences stand with the papers. Whether a locked door or a let room keeps somebody out is for a person
to say: it is shown, with the words of the record, and not decided.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
import re
from collections.abc import Iterator, Mapping

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref

_MASS = re.compile(r"(\d+(?:[.,]\d+)?)\s*kg\b", re.IGNORECASE)
_PAINTED = re.compile(r"\bpaint", re.IGNORECASE)
_NOT_OPENED = re.compile(r"\bnot opened\b", re.IGNORECASE)
_MAINS_WORK = re.compile(r"\belectrician\b", re.IGNORECASE)
STOPS = ("mains", "untouched", "painted", "heavy", "lost")
"""Why an outlet is not reached now, worst first: somebody may be hurt, somebody said no, it takes more than one visit's hands."""


@dataclasses.dataclass(frozen=True)
class Effort:
    """What getting at an outlet takes besides the way there: all assumed, ours."""

    furniture_s: float
    heavy_kg: float
    open_s: float
    ladder_s: float
    high_m: float


@dataclasses.dataclass(frozen=True, order=True)
class Why:
    """A code with what it is about and the words of the record, if any."""

    code: str
    of: Ref
    words: str = ""


@dataclasses.dataclass(frozen=True)
class OutletPlace:
    """Where an outlet is and what getting at it means.

    `stops` says why it is not to be reached now, `cautions` what to mind on the way and there, `unknown` what nobody noted.
    """

    outlet: Ref
    room: Ref | None
    floor: Ref | None
    building: Ref | None
    outdoors: bool
    reachable: bool
    stops: tuple[Why, ...]
    cautions: tuple[Why, ...]
    unknown: tuple[str, ...]
    extra_s: float


@functools.cache
def _constants() -> dict[str, float]:
    text = (importlib.resources.files("pullstring.trace") / "places_assumed.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


def assumed_effort() -> Effort:
    """The assumed effort."""
    return Effort(**_constants())


def outlet_places(site: Site, *, effort: Effort, ways_up: Mapping[Ref, str]) -> tuple[OutletPlace, ...]:
    """Every outlet that is not gone or only planned, in the order of their tags.

    Parameters
    ----------
    ways_up : mapping
        For each room how one gets up there: 'stairs', 'hatch' or 'not noted', as `reach.walking.way_up` gives it.
    """
    return tuple(
        _place(site, o, effort, ways_up)
        for o in site.of_kind("outlet")
        if o.text("state") not in ("removed", "planned")
    )


def _place(site: Site, outlet: Thing, effort: Effort, ways_up: Mapping[Ref, str]) -> OutletPlace:
    room = site.get(outlet.ref_of("room"))
    floor = site.get(room.ref_of("floor")) if room else None
    building = floor.ref_of("building") if floor else None
    stops = tuple(dict.fromkeys(sorted(_stops(site, outlet, effort), key=lambda w: (STOPS.index(w.code), w))))
    cautions = tuple(sorted({*_at_outlet(site, outlet, effort), *_in_room(site, outlet, room, building, ways_up)}))
    return OutletPlace(
        outlet.ref,
        room.ref if room else None,
        floor.ref if floor else None,
        building,
        outlet.text("outdoors") == "yes",
        not stops,
        stops,
        cautions,
        tuple(_unknown(outlet, room, floor)),
        _extra_s(outlet, cautions, effort),
    )


def _said(outlet: Thing) -> str:
    return " ".join(outlet.text(n) for n in ("condition", "found", "plate", "blocked_by"))


def _stops(site: Site, outlet: Thing, effort: Effort) -> Iterator[Why]:
    blocked = outlet.text("blocked_by") if outlet.get("blocked_by") != "none" else ""
    mains = [h for h in _hazards(site, outlet.ref) if h.text("style") == "mains"]
    if outlet.text("shares_box_with_mains") == "yes" or mains or _MAINS_WORK.search(blocked):
        yield Why("mains", outlet.ref, next((h.text("says") for h in mains), blocked))
    for constraint in site.of_kind("constraint"):
        if constraint.stands and outlet.ref in constraint.refs_of("untouched"):
            yield Why("untouched", constraint.ref, constraint.text("what"))
    if outlet.text("condition") == "painted over" or _PAINTED.search(_said(outlet)):
        yield Why("painted", outlet.ref, blocked or outlet.text("found"))
    if (mass := _MASS.search(blocked)) and float(mass[1].replace(",", ".")) >= effort.heavy_kg:
        yield Why("heavy", outlet.ref, blocked)
    if outlet.text("state") == "lost":
        yield Why("lost", outlet.ref, outlet.text("note"))


def _hazards(site: Site, ref: Ref) -> Iterator[Thing]:
    """Hazards at a thing; of suspect stuff that was sampled and found clear there is none."""
    for hazard in site.of_kind("hazard"):
        if hazard.stands and ref in hazard.refs_of("where") and hazard.text("sample") != "clear":
            yield hazard


def _at_outlet(site: Site, outlet: Thing, effort: Effort) -> Iterator[Why]:
    for hazard in _hazards(site, outlet.ref):
        yield Why(f"hazard {hazard.text('style') or 'other'}", hazard.ref, hazard.text("says"))
    if outlet.text("outdoors") == "yes":
        yield Why("outdoors", outlet.ref)
    if outlet.text("condition") in ("wet", "broken", "corroded"):
        yield Why(outlet.text("condition"), outlet.ref, outlet.text("found"))
    if _is_furnished(outlet):
        yield Why("furniture", outlet.ref, outlet.text("blocked_by"))
    if (height := outlet.number("z_m")) is not None and height > effort.high_m:
        yield Why("ladder", outlet.ref)


def _in_room(
    site: Site, outlet: Thing, room: Thing | None, building: Ref | None, ways_up: Mapping[Ref, str]
) -> Iterator[Why]:
    if room is None:
        return
    if room.text("access") and room.get("access") != "none":
        yield Why("access", room.ref, room.text("access"))
    for hazard in _hazards(site, room.ref):
        yield Why(f"hazard {hazard.text('style') or 'other'}", hazard.ref, hazard.text("says"))
    for key in site.of_kind("key"):
        opened = set(key.refs_of("opens"))
        if key.stands and opened & {room.ref, building, outlet.ref}:
            yield Why("key", key.ref)
    for season in site.of_kind("season"):
        if season.stands and room.ref in season.refs_of("rooms"):
            yield Why("season", season.ref, season.text("says"))
    for constraint in site.of_kind("constraint"):
        if constraint.stands and room.ref in constraint.refs_of("rooms") and constraint.text("hours"):
            yield Why("hours", constraint.ref, constraint.text("what"))
    way = ways_up.get(room.ref, "stairs")
    if way != "stairs":
        yield Why("ladder" if way == "hatch" else "way_up_not_noted", room.ref)


def _is_furnished(outlet: Thing) -> bool:
    """Whether something stands before it that can be moved; paint and an electrician cannot."""
    blocked = outlet.text("blocked_by")
    return bool(blocked and blocked != "none" and not _PAINTED.search(blocked) and not _MAINS_WORK.search(blocked))


def _extra_s(outlet: Thing, cautions: tuple[Why, ...], effort: Effort) -> float:
    """Seconds more than for a plate that stands free: furniture, a plate to be opened, a ladder. [s]"""
    codes = {w.code for w in cautions}
    closed = outlet.text("condition") == "not opened" or bool(_NOT_OPENED.search(outlet.text("found")))
    return effort.furniture_s * ("furniture" in codes) + effort.open_s * closed + effort.ladder_s * ("ladder" in codes)


def _unknown(outlet: Thing, room: Thing | None, floor: Thing | None) -> Iterator[str]:
    if room is None and outlet.text("outdoors") != "yes":
        yield "room"
    elif room is not None and floor is None:
        yield "floor"
    if outlet.number("x_m") is None or outlet.number("y_m") is None:
        yield "coordinates"

"""What to photograph, ask and prepare, and how large the work may be, from a few told lines. Codes and numbers only.

The rules are rows of `data/start_rules.csv`, each with its provenance; the questions and photographs are tables beside it.
"""

from __future__ import annotations

import csv
import functools
import math
import re
from collections.abc import Sequence
from importlib import resources
from typing import Any

from pullstring.model.answers import Interval, Severity, spread
from pullstring.model.pasted import Pasted
from pullstring.model.pasted_scan import Found, Told

MOST_QUESTIONS = 12
MOST_CONCERNS = 5
MOST_ROOM_PHOTOS = 40  # ours: more rooms are asked for in one line
MASONRY = ("stone", "brick", "thick", "concrete")
CANDIDATES = (
    "incoming_line",
    "router",
    "alarm",
    "fire panel",
    "lift",
    "door phone",
    "card terminal",
    "emergency call",
    "mains",
)


@functools.cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    text = (resources.files("pullstring.plan") / "data" / name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@functools.cache
def rule(code: str) -> Interval:
    """A rule of thumb as a range."""
    row = next(r for r in _rows("start_rules.csv") if r["code"] == code)
    return Interval(float(row["low"]), float(row["high"]), row["unit"])


def provenance(code: str) -> str:
    """Where a rule of thumb comes from."""
    return next(r["provenance"] for r in _rows("start_rules.csv") if r["code"] == code)


def started(told: Pasted, rooms: Sequence[Told]) -> dict[str, Any]:
    """Photo list, questions, sheets, size and concerns, all as codes and numbers."""
    said = said_of(told, rooms)
    size = size_of(told, rooms)
    return {
        "photos": photos(told, rooms),
        "questions": questions(said),
        "tags": tags(told, rooms),
        "untouched": untouched(told),
        "size": size,
        "concerns": concerns(told, rooms, size),
        "assumed": assumed(told, rooms, said),
    }


def assumed(told: Pasted, rooms: Sequence[Told], said: set[str]) -> list[str]:
    """What is taken for granted, besides the rules of thumb that the size names."""
    speeds = told.of("speed")
    found = {
        "told_only": True,
        "rooms_guessed": not rooms and not told.of("rooms"),
        "first_floor_above": any(r.floor == "1" for r in rooms),
        "walls_alike": "walls" in said,
        "walls_guessed": "walls" not in said,
        "sockets_guessed": "sockets" not in said,
        "small_rooms_unserved": any(r.small for r in rooms),
        "same_name_same_room": bool(rooms),
        "speed_mbps": bool(speeds),
        "nearest_length": any(f.low is not None for f in told.of("outbuilding")),
        "one_person": True,
    }
    return [code for code, true in found.items() if true]


def there(told: Pasted, *whats: str) -> list[Found]:
    """What is said to be there, without what is said not to be."""
    return [f for f in told.of(*whats) if f.other != "none"]


def said_of(told: Pasted, rooms: Sequence[Told]) -> set[str]:
    """Which subjects of a question were spoken of, and which doubts the text leaves."""
    kinds = {f.what for f in told.found}
    placed = {f.name for f in told.of("gear") if f.room}
    facts = {
        "rooms": bool(rooms),
        "guards": "guard" in kinds,
        "guarded": bool(there(told, "guard")),
        "line_place": "router" in placed,
        "caretaker": any(f.name == "caretaker" for f in told.of("person")),
        "complaints": "need" in kinds,
        "closet": bool(placed & {"switch or panel", "telephone block"}),
        "first_floor_doubt": any(r.floor == "1" for r in rooms) and not any(r.floor == "0" for r in rooms),
        "floors_missing": any(not r.floor and not r.small for r in rooms),
        "walls": "wall" in kinds,
        "sockets": sockets(told) is not None,
        "dates": bool({"leave", "stay"} & kinds),
        "drilling": "constraint" in kinds,
        "outbuilding_far_unknown": any(f.low is None for f in there(told, "outbuilding")),
        "medium": "medium" in kinds,
        "speed": "speed" in kinds,
        "people": "people" in kinds,
        "outbuildings": "outbuilding" in kinds,
        "built": "built" in kinds,
        "storeys": "storeys" in kinds or any(r.floor for r in rooms),
    }
    return {name for name, true in facts.items() if true}


def questions(said: set[str]) -> list[dict[str, str]]:
    """At most twelve, most helpful first, none about what was said."""
    asked = [
        {"code": row["code"], "whom": row["whom"]}
        for row in _rows("start_questions.csv")
        if row["unless"] not in said and (not row["needs"] or row["needs"] in said)
    ]
    return asked[:MOST_QUESTIONS]


def photos(told: Pasted, rooms: Sequence[Told]) -> list[dict[str, Any]]:
    """Numbered requests, each with what it is about and its cautions."""
    guards = list(dict.fromkeys(f.name for f in there(told, "guard")))
    houses = list(dict.fromkeys(f.name for f in there(told, "outbuilding")))
    names = [r.name for r in rooms]
    about: dict[str, list[list[str]]] = {
        "once": [[]],
        "guard": [[g] for g in guards],
        "room": [[n] for n in names[:MOST_ROOM_PHOTOS]]
        + ([names[MOST_ROOM_PHOTOS:]] if names[MOST_ROOM_PHOTOS:] else []),
        "outbuilding": [[h] for h in houses],
    }
    wanted = [
        {"code": row["code"], "about": about_one, "cautions": row["cautions"].split()}
        for row in _rows("start_photos.csv")
        for about_one in about[row["each"]]
    ]
    places = {f.name: f.room for f in told.of("gear") if f.room}
    for photo in wanted:
        if photo["code"] == "router" and "router" in places:
            photo["about"] = [places["router"]]
    return [{"number": n, **photo} for n, photo in enumerate(wanted, 1)]


def sockets(told: Pasted) -> int | None:
    """How many old sockets were told; a number of rooms alone is taken as one socket a room; None when nothing was said."""
    gear = told.of("gear")
    said = [f for f in gear if f.name in ("telephone sockets", "data sockets", "sockets of some kind")]
    if not said:
        return None
    return sum(0 if f.other == "none" else int(max(f.low or 1, f.high or 1)) for f in said)


def tags(told: Pasted, rooms: Sequence[Told]) -> dict[str, Any]:
    """How many blank tags the sheet has, and what that stands on."""
    count, basis = sockets(told), "sockets"
    if count is None:
        count, basis = sum(1 for r in rooms if not r.small), "rooms" if rooms else "nothing"
    least, most = int(rule("least_tags").low), int(rule("most_tags").low)
    return {"first": 1, "last": min(max(count, least), most), "basis": basis, "count": count}


def untouched(told: Pasted) -> list[dict[str, Any]]:
    """Candidates that nobody may touch: told, told to be absent, or only possible."""
    heard = {f.name: f.other for f in told.of("guard")}
    words = {f.name: f.piece for f in there(told, "guard")}
    names = list(dict.fromkeys([*CANDIDATES, *heard]))
    state = {"": "told", "none": "denied"}
    own = [
        {"code": n, "state": state[heard[n]] if n in heard else "possible", "words": words.get(n, "")} for n in names
    ]
    own += [
        {"code": "words", "state": "told", "words": f.piece} for f in told.of("touch") if f.piece not in words.values()
    ]
    return sorted(own, key=lambda o: ("told", "possible", "denied").index(str(o["state"])))


def wall_class(told: Pasted) -> str:
    """Masonry, metal lath, light or unknown, by the worst wall word."""
    words = {f.name for f in there(told, "wall")}
    if "metal lath" in words:
        return "metal lath"
    return "masonry" if words & set(MASONRY) else "light" if words else "unknown"


def size_of(told: Pasted, rooms: Sequence[Told]) -> dict[str, Any]:
    """Access points, runs, hours and days as ranges, a class in words and never a price."""
    assumed = []
    count = float(sum(1 for r in rooms if not r.small))
    told_count = max([f.low or 0.0 for f in told.of("rooms")], default=0.0)
    room_count = Interval.exact(max(count, told_count), "rooms")
    if not rooms and not told_count:
        room_count = rule("rooms_unknown")
        assumed.append("rooms_unknown")
    walls = f"rooms_per_unit:{wall_class(told)}"
    houses = len({f.name for f in there(told, "outbuilding")})
    units = spread(
        lambda rooms, rooms_per_unit: math.ceil(rooms / rooms_per_unit) + houses,
        "access points",
        rooms=room_count,
        rooms_per_unit=rule(walls),
    )
    old = sockets(told)
    if old is None:
        per = rule("sockets_per_room_unknown")
        old_sockets = Interval(per.low * room_count.low, per.high * room_count.high, "sockets")
        assumed.append("sockets_per_room_unknown")
    else:
        old_sockets = Interval.exact(float(old), "sockets")
    runs = spread(
        lambda access_points, spare_runs: access_points + spare_runs,
        "runs",
        access_points=units,
        spare_runs=rule("spare_runs"),
    )
    hours = _hours(units=units, old_sockets=old_sockets, houses=houses)
    days = spread(
        lambda hours, hours_per_day: math.ceil(hours / hours_per_day),
        "days",
        hours=hours,
        hours_per_day=rule("hours_per_day"),
    )
    used = [
        walls,
        *assumed,
        "spare_runs",
        "hours_first",
        "hours_per_socket",
        "hours_per_unit",
        "hours_last",
        "hours_per_day",
    ]
    used += ["hours_per_outbuilding"] if houses else []
    return {
        "rooms": room_count,
        "access_points": units,
        "sockets": old_sockets,
        "runs": runs,
        "hours": hours,
        "days": days,
        "class": _class(hours.middle),
        "walls": wall_class(told),
        "rules": [{"code": c, "low": rule(c).low, "high": rule(c).high, "provenance": provenance(c)} for c in used],
    }


def _hours(*, units: Interval, old_sockets: Interval, houses: int) -> Interval:
    def law(
        *,
        access_points: float,
        sockets: float,
        hours_per_unit: float,
        hours_per_socket: float,
        hours_first: float,
        hours_last: float,
        hours_per_outbuilding: float,
    ) -> float:
        work = access_points * hours_per_unit + sockets * hours_per_socket + houses * hours_per_outbuilding
        return hours_first + work + hours_last

    names = ("hours_per_unit", "hours_per_socket", "hours_first", "hours_last", "hours_per_outbuilding")
    return spread(law, "h", access_points=units, sockets=old_sockets, **{n: rule(n) for n in names})


def _class(hours: float) -> str:
    names = ("small", "middle", "large")
    return next((n for n in names if hours <= rule(f"class_{n}").high), "very large")


def concerns(told: Pasted, rooms: Sequence[Told], size: dict[str, Any]) -> list[dict[str, Any]]:
    """What is wrong or dangerous in what was told, worst first, at most five."""
    found: list[tuple[Severity, str, list[str], float | None]] = []
    years = [int(m[0]) for f in told.of("built") if (m := re.search(r"\d{4}", f.name))]
    if years and min(years) < rule("built_old").low:
        found.append((Severity.HURT, "old_materials", [], float(min(years))))
    for hazard in there(told, "hazard"):
        found.append((Severity.HURT, "hazard", [hazard.name], None))
    if guards := [f.name for f in there(told, "guard")]:
        found.append((Severity.OUTAGE, "guards", list(dict.fromkeys(guards)), None))
    houses = there(told, "outbuilding")
    if houses:
        found.append((Severity.OUTAGE, "between_buildings", list(dict.fromkeys(f.name for f in houses)), None))
    stays = [f.low for f in told.of("stay") if f.low is not None]
    if stays and stays[0] < size["days"].low:
        found.append((Severity.MONEY, "too_little_time", [], stays[0]))
    found += [
        (Severity.MONEY, "far_outbuilding", [f.name], f.low)
        for f in houses
        if f.low and f.low > rule("far_outbuilding").low
    ]
    if size["walls"] == "metal lath":
        found.append((Severity.MONEY, "metal_lath", [], None))
    levels = {r.name: int(r.floor) for r in rooms if re.fullmatch(r"-?\d+", r.floor)}
    for f in told.of("above"):
        if f.room in levels and f.to in levels and levels[f.room] <= levels[f.to]:
            found.append((Severity.TIDY, "above_but_not_higher", [f.room, f.to], None))
    worst = found[:MOST_CONCERNS]  # they were looked for worst first
    return [{"severity": s.name.lower(), "code": c, "about": a, "number": n} for s, c, a, n in worst]

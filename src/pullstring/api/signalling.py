"""The verb `signal`: room by room and band the level with its interval, who serves, what readings taught, where to read next.

Answers: `bands`, `edge_dbm` (by band); `as_read_by` (the device as which levels are told, null
for a plain antenna); `rooms` (`room`, `name`, `floor`, `known`, `why_not_known`, `bands`: by band `level_dbm`
reached at nine points in ten with `low_dbm` and `high_dbm` (4 chances in 5), the same for `median_dbm`, `server`, `second`,
`second_dbm`, `rate_mbps`, `at_edge`, `read_dbm`; `needs`: `need`, `what`, `band`, `level_dbm`, `chance`, `limited_by`, `why_not`);
`senders` (place on the site plan, `bands`: `channel`, `eirp_dbm`); `readings` (`read_dbm`, what the others foretell, `off_db`,
`doubted`, `tells_now`: false where an access point came or was moved since; `why_not` where it teaches nothing); `repeat`;
`learned`; `leave_one_out_db`, `before_db`; `next`; `air_rules`; `channels`; `air` (what hangs on each access point and the share
of its airtime that takes); `uplinks`; `over_air` (how access points without a wire are reached over the air, and what arrives);
`links`; `taken` (`code`, `of`); `limits`; `not_known`.

`signal_moved` gives `moved` (`sender`, `floor`, `x_m`, `y_m`), `rooms` and `bands` alone.
`signal_field` is a grid of levels of one floor and band for a drawing, no answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from pullstring.api.request import BadRequest, answered, asked_for, load
from pullstring.model.answers import Answer, Ask, Progress, Request, silent
from pullstring.model.asbuilt import once_a_site

if TYPE_CHECKING:
    from pullstring.api.signal_worked import Worked
    from pullstring.model.asbuilt import Site

ASSUMED = ("signal_priors",)
LIMITS = ("people_and_furniture", "local_mean", "air_rules")
KINDS = ("room",)
Facts = dict[str, Any]


def signal(
    path: Path,
    request: Request,
    *,
    planned: bool = False,
    doors: str = "usual",
    even: bool = False,
    links: Sequence[str] = (),
    progress: Progress = silent,
) -> Answer:
    """Levels in every room, or in those that are named.

    `planned` counts access points that are only planned; `doors` usual, open or shut; `even` takes layers of walls as even as
    drawn; `links` names two ends of a link through the air, else those are found that look at each other.
    """
    from pullstring.api.signal_worked import worked
    from pullstring.radio.scene_faults import scene_problems

    site = load(path, request)
    if request.seed < 0:
        raise BadRequest([f"the seed {request.seed} is below 0; any whole number from 0 on will do"])
    named = _rooms(site, request.tags) if request.tags else None
    work = worked(site, planned=planned, doors=doors, even=even, seed=request.seed, progress=progress)
    said = dict(
        _said(
            site,
            planned=planned,
            doors=doors,
            even=even,
            seed=request.seed,
            rules=request.rules or site.rule_set,
            links=tuple(links),
        )
    )
    if named is not None:
        said["rooms"] = [row for row in said["rooms"] if row["room"] in named]
        said["not_known"] = [tag for tag in said["not_known"] if tag in named]
    return answered(
        "signal",
        site,
        request,
        said,
        because=tuple(dict.fromkeys(one.entry for one in work.base.levels if one.reading)),
        assumed=ASSUMED,
        problems=tuple(scene_problems(site, work.base.made)),
        ask=_ask(said["next"]),
    )


def _rooms(site: Site, tags: Sequence[str]) -> set[str]:
    """Tags of the rooms that are named; raises BadRequest with all that are none."""
    found = asked_for(site, tags, KINDS)
    if others := [r for r in found if r.kind not in KINDS]:
        raise BadRequest([f"{r} is no room, and levels are told by room; name its room" for r in others])
    return {r.tag for r in found}


@once_a_site
def _said(site: Site, *, planned: bool, doors: str, even: bool, seed: int, rules: str, links: tuple[str, ...]) -> Facts:
    """The whole answer, every room."""
    from pullstring.api.signal_air import air_rules, airtime, channels, uplinks_said
    from pullstring.api.signal_links import links_of
    from pullstring.api.signal_mesh import meshed
    from pullstring.api.signal_next import next_readings
    from pullstring.api.signal_worked import worked

    work = worked(site, planned=planned, doors=doors, even=even, seed=seed)
    rooms = room_rows(site, work)
    answer = {
        "bands": list(work.bands),
        "edge_dbm": {b: work.rules.edge_dbm[b] for b in work.bands},
        "as_read_by": work.base.device,
        "rooms": rooms,
        "senders": sender_rows(site, work, rules=air_rules(rules)["rules"]),
        "readings": reading_rows(work),
        "repeat": [
            {"kind": d.kind, "keys": list(d.keys), "off_db": d.off_db, "aside": d.aside}
            for d in work.base.checked.doubts
        ],
        "learned": learned_rows(work),
        "leave_one_out_db": work.base.checked.leave_one_out_db,
        "before_db": work.base.checked.before_db,
        "next": next_readings(site, work),
        "air_rules": air_rules(rules),
        "channels": channels(site, work, rules=rules),
        "air": airtime(site, work, rules=rules),
        "uplinks": uplinks_said(),
        "over_air": meshed(site, work, planned=planned),
        "links": links_of(site, work, named=links),
        "taken": [{"code": t.code, "of": [r.tag for r in t.of]} for t in work.base.made.taken],
        "limits": [
            *LIMITS,
            *(["one_device"] if len({r.device for r in work.base.readings}) == 1 else []),
            *([] if work.base.whole else ["fewer_paths"]),
        ],
        "not_known": [row["room"] for row in rooms if not row["known"]],
    }
    return cast(Facts, rounded(answer))


def rounded(value: Any) -> Any:
    """The same with every number to a thousandth: what is finer is noise of the arithmetic, and differs between machines."""
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    return [rounded(v) for v in value] if isinstance(value, list) else value


def _ask(found: Sequence[Facts]) -> Ask | None:
    return Ask(f"room:{found[0]['room']}", "read_level_there", f"{found[0]['minutes']:.0f}") if found else None


def signal_moved(path: Path, request: Request, *, sender: str, x_m: float, y_m: float, floor: str) -> Answer:
    """The rooms as they would be if an access point stood elsewhere, in the axes of its building; nothing is written."""
    from pullstring.api.signal_moving import moved

    site = load(path, request)
    found = moved(site, request, sender=sender, x_m=x_m, y_m=y_m, floor=asked_for(site, [floor], ["floor"])[0])
    said = {
        "moved": {"sender": sender, "floor": floor, "x_m": x_m, "y_m": y_m},
        "rooms": room_rows(site, found),
        "bands": list(found.bands),
    }
    return answered("signal", site, request, rounded(said))


def signal_field(path: Path, request: Request, *, floor: str, band: str, step_m: float) -> Facts:
    """Levels of one floor and band on a grid in the building's axes, for a drawing."""
    from pullstring.api.signal_grid import grid

    site = load(path, request)
    return grid(site, request, floor=asked_for(site, [floor], ["floor"])[0], band=band, step_m=step_m)


def room_rows(site: Site, work: Worked) -> list[Facts]:
    """Every room with its bands and needs, by floor and tag."""
    from pullstring.api.signal_rooms import rows

    return rows(site, work)


def sender_rows(site: Site, work: Worked, *, rules: str) -> list[Facts]:
    """Every access point with its place on the site plan."""
    from pullstring.api.signal_stations import channel_of

    floors, wide = {room.name: room.floor for room in work.scene.rooms}, work.base.stations
    return [
        {
            "sender": s.name.rpartition(":")[2],
            "room": s.room,
            "floor": floors.get(s.room, ""),
            "x_m": s.spot[0],
            "y_m": s.spot[1],
            "z_m": s.spot[2],
            "antenna": s.antenna,
            "planned": s.planned,
            "bands": {
                band: {
                    "eirp_dbm": eirp,
                    "channel": found.name
                    if (found := channel_of(site, s, band, width_mhz=wide[s.name].width_mhz[band], rules=rules))
                    else None,
                }
                for band, eirp in sorted(s.eirp_dbm.items())
            },
        }
        for s in work.scene.senders
    ]


def reading_rows(work: Worked) -> list[Facts]:
    """Every level reading with what all others foretell there; what nothing was learned from with what all of them do."""
    from pullstring.api.signal_readings import rows

    return rows(work)


def learned_rows(work: Worked) -> Facts:
    """What readings taught, in plain numbers."""
    from pullstring.radio.learning import FOUR_IN_FIVE
    from pullstring.radio.scene import MIDDLE_HZ
    from pullstring.radio.skins import normal_loss_db

    learned = work.base.checked.learned
    if not learned.solved.rows.readings:
        return {"offsets": [], "exponent": None, "walls": []}
    walls = []
    for one in learned.walls:
        prior = normal_loss_db(work.scene.skins[one.name], band=one.band, frequency_hz=MIDDLE_HZ[one.band])
        if one.high - one.low < 0.95 * 2 * FOUR_IN_FIVE * one.before_spread:  # something was learned of it
            walls.append(
                {
                    "wall_type": one.name,
                    "band": one.band,
                    "prior_db": prior,
                    "db": max(0.0, prior + one.value),
                    "low_db": max(0.0, prior + one.low),
                    "high_db": max(0.0, prior + one.high),
                }
            )
    n = learned.exponent
    return {
        "offsets": [
            {"device": o.name, "band": o.band, "db": o.value, "low_db": o.low, "high_db": o.high}
            for o in learned.offsets
        ],
        "exponent": {"value": n.value, "low": n.low, "high": n.high},
        "walls": walls,
    }


def no_such_band(band: str, bands: Sequence[str]) -> BadRequest:
    """The refusal of a band that nobody sends."""
    return BadRequest([f"there is no band {band!r} here; the bands are {', '.join(bands) or 'none'}"])

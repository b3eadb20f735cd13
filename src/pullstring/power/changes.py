"""Before a mode is set, a plug moved or a unit swapped: the same match over everything reached, as it would be then.

STOP where something could be harmed or what works now would end; ASK where the record cannot tell; GO else. What must be put
back is named with it: the mode as it was, and whether it is saved, so that a power cut does not undo or redo the change.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterable

from pullstring.model.answers import Band
from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.power.budget import own_feed
from pullstring.power.ports import POWERED, JudgedPort, judge_port
from pullstring.power.supposed import with_field, with_plugs
from pullstring.power.verdicts import Match


class Verdict(enum.StrEnum):
    """What to do."""

    STOP = "STOP"
    ASK = "ASK"
    GO = "GO"


class Why(enum.StrEnum):
    """Why a change has its verdict, beside the codes of the matches."""

    HAZARD_THEN = "hazard_then"
    ENDS_WHAT_WORKS = "ends_what_works"
    WORKS_THEN = "works_then"
    NOTHING_LOST = "nothing_lost"
    NOT_SURE = "not_sure_then"
    MODE_LEFT_BEHIND = "mode_left_behind"
    NOT_SAVED = "mode_not_saved"
    SAVED_UNKNOWN = "saved_unknown"
    NOT_PLUGGED = "not_plugged_there"
    PORT_TAKEN = "port_taken"


@dataclasses.dataclass(frozen=True)
class PutBack:
    """A port as it is now: to what it must be set again if the change is undone, and whether that setting is saved."""

    port: Ref
    gives: str
    saved: str


@dataclasses.dataclass(frozen=True)
class Change:
    """A change that is only thought of: its verdict, why, the ports as they are and as they would be, what loses power.

    `then` may be empty where no port that gives power is touched. `supposed` is the site as it would be.
    """

    verdict: Verdict
    why: tuple[Why, ...]
    now: tuple[JudgedPort, ...]
    then: tuple[JudgedPort, ...]
    loses: tuple[Ref, ...]
    put_back: tuple[PutBack, ...]
    because: tuple[str, ...]
    supposed: Site = dataclasses.field(repr=False, compare=False)


def check_mode(site: Site, *, port: Ref, gives: str) -> Change:
    """A port set to give something else, or nothing."""
    return _change(site, with_field(site, port, gives=gives), {port: (_gives(site, port), gives)}, (port,), ())


def check_move(site: Site, *, plug: Ref, to_port: Ref) -> Change:
    """A plug (the end of a cable, or the port of a unit on a cord) taken from where it is and put into another port."""
    now = [c for c in site.about(relation="plugged") if plug in (c.subject, c.object) and c.support]
    left = tuple(dict.fromkeys(c.object if c.subject == plug else c.subject for c in now))
    there = [c for c in site.about(relation="plugged") if to_port in (c.subject, c.object) and c not in now]
    then = with_plugs(site, drop=now, add=[(plug, to_port)])
    ports = {p: (_gives(site, p), _gives(site, p)) for p in (*(r for r in left if r.kind == "port"), to_port)}
    more = [*([Why.NOT_PLUGGED] if not now else []), *([Why.PORT_TAKEN] if there else [])]
    more += [Why.MODE_LEFT_BEHIND for p in ports if p != to_port and _gives(site, p) in POWERED]
    return _change(site, then, ports, tuple(r for r in left if r.kind == "port"), tuple(more))


def check_swap(site: Site, *, unit: Ref, model: Ref) -> Change:
    """A unit changed for one of another model, on the same cords; the settings of its place stay as they are."""
    fed = [port for port in _giving(site) if any(m.reached.ref == unit for m in _judged(site, port).every)]
    own = [p.ref for p in site.of_kind("port") if p.ref.parent_tag and Ref("unit", p.ref.parent_tag) == unit]
    ports = {p: (_gives(site, p), _gives(site, p)) for p in (*fed, *(p for p in own if _gives(site, p) in POWERED))}
    return _change(site, with_field(site, unit, model=str(model)), ports, (), ())


def _giving(site: Site) -> list[Ref]:
    return [p.ref for p in site.of_kind("port") if p.stands and p.text("gives") in POWERED]


def _gives(site: Site, port: Ref) -> str:
    thing = site.get(port)
    return thing.text("gives") if thing else ""


def _judged(site: Site, port: Ref) -> JudgedPort:
    return judge_port(site, port=port, gives=_gives(site, port) or "nothing")


def _change(
    site: Site, supposed: Site, ports: dict[Ref, tuple[str, str]], touched: tuple[Ref, ...], more: tuple[Why, ...]
) -> Change:
    now = tuple(judge_port(site, port=p, gives=before or "nothing") for p, (before, _) in ports.items())
    then = tuple(judge_port(supposed, port=p, gives=after or "nothing") for p, (_, after) in ports.items())
    running = {r for j in now for r in _running(j)}
    still = {r for j in then for r in _running(j)}
    loses = tuple(sorted(r for r in running - still if not own_feed(site, r)))
    why = list(more)
    if any(j.verdict and j.verdict.hazard for j in then):
        why.append(Why.HAZARD_THEN)
    if loses:
        why.append(Why.ENDS_WHAT_WORKS)
    if any(_unsure(j.verdict) for j in then):
        why.append(Why.NOT_SURE)
    changed = [p for p, (before, after) in ports.items() if before != after]
    saved = [(p, thing.text("mode_saved") if (thing := site.get(p)) else "") for p in touched]
    why += [Why.NOT_SAVED for _, word in saved if word == "no"]
    why += [Why.SAVED_UNKNOWN for p, word in saved if not word and p in changed]
    why += [] if loses else [Why.WORKS_THEN if still else Why.NOTHING_LOST]
    return Change(
        _verdict(why),
        tuple(dict.fromkeys(why)),
        now,
        then,
        loses,
        tuple(PutBack(p, _gives(site, p) or "nothing", word or "unknown") for p, word in saved),
        tuple(dict.fromkeys(e for j in (*now, *then) for e in j.because)),
        supposed,
    )


def _running(judged: JudgedPort) -> Iterable[Ref]:
    return (m.reached.ref for m in judged.every if m.match.works in (Band.LIKELY, Band.POSSIBLE) and m.match.volts)


def _unsure(verdict: Match | None) -> bool:
    return verdict is not None and not verdict.hazard and verdict.works in (Band.POSSIBLE, Band.UNLIKELY)


def _verdict(why: Iterable[Why]) -> Verdict:
    said = set(why)
    if said & {Why.HAZARD_THEN, Why.ENDS_WHAT_WORKS, Why.PORT_TAKEN}:
        return Verdict.STOP
    if said & {Why.NOT_SURE, Why.MODE_LEFT_BEHIND, Why.NOT_SAVED, Why.SAVED_UNKNOWN, Why.NOT_PLUGGED}:
        return Verdict.ASK
    return Verdict.GO

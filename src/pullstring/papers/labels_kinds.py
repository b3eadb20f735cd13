"""What is printed for a site: ends, outlets, what must not be touched, what is reserved or temporary, and units.

Each function gives pieces with the thing they are for, and sentences for what was left out. Only the record speaks: people's
names, telephone numbers and secrets do not print; a company and a role do.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.grades import grade
from pullstring.model.refs import PARTS, BadName, Ref, parse_ref
from pullstring.model.when import BadDate
from pullstring.model.wiring import runs
from pullstring.papers import figures, words_labels
from pullstring.papers.identifiers import Identified, identified, register
from pullstring.papers.labels_art import Piece
from pullstring.papers.words_labels import BANDS

CABLES = ("link", "backbone", "between buildings", "end", "cable")
SURE = "seen"  # what is only told or assumed is printed as such
ALWAYS = "24 V always-on"
RISING = ("802.3af", "802.3at", "802.3bt")
GOOD = ("works", "tested")
ROLES = ("owner", "provider")


@dataclasses.dataclass
class Found:
    """Pieces with what each is for, and what was left out, in sentences."""

    pieces: list[tuple[Ref, Piece]] = dataclasses.field(default_factory=list)
    left: list[str] = dataclasses.field(default_factory=list)


@dataclasses.dataclass(frozen=True)
class Wanted:
    """Who prints, and when: the day and the role on reserved tags."""

    today: str
    day: str | None
    role: str | None
    do_not_touch: Mapping[str, str]
    good_ports: frozenset[str]


def ends(site: Site, wanted: Wanted) -> Found:
    """One label for each end of each standing cable; an end that nobody recorded gets one too, for a cable has two."""
    found = Found()
    arrives = _arrivals(site)
    for one in register(site):
        if one.what not in CABLES or not one.stands:
            continue
        here = [t for ref in ([*one.ends] or [one.ref]) if (t := site.get(ref)) and t.ref.kind == "end"]
        standing = [t for t in here if t.stands]
        for end in standing:
            other = next((t for t in here if t.ref != end.ref), None)
            found.pieces.append((end.ref, _end(site, one, end, _where(site, end, other, arrives))))
        if len(here) < 2 and one.ref.kind == "cable":
            first = here[0] if here else None
            back = words_labels.goes_to(_place(site, first), _room(site, first), sure=True) if first else _nowhere()
            found.pieces.append((one.ref, _piece("plain", one, (back, *words_labels.found_as((one.ref.tag,), ())))))
        found.left += _doubts(one)
    by_tag = [one.identifier for one in register(site) if one.what in ("end", "cable") and one.stands]
    if by_tag:
        found.left.append(words_labels.WHY["own_tag"].format(", ".join(by_tag)))
    return found


def _nowhere() -> str:
    return words_labels.goes_to("", "", sure=True)


def _end(site: Site, one: Identified, end: Thing, where: str) -> Piece:
    tags = (end.ref.tag,) if end.ref.tag.casefold() != one.identifier.casefold() else ()
    return _piece("plain", one, (where, *words_labels.found_as(tags, one.old_labels)))


def _piece(kind: str, one: Identified, lines: Sequence[str], *, band: str = "") -> Piece:
    said = tuple(line for line in lines if line)
    return Piece(kind, one.identifier, said, band or BANDS.get(kind, ""), one.identifier, f"label {one.identifier}")


def _doubts(one: Identified) -> list[str]:
    """What stood against a better identifier."""
    about = one.found_as[0] if one.found_as else one.identifier
    return [words_labels.WHY[code].format(about, ", ".join(one.old_labels)) for code in one.why if code != "own_tag"]


def _arrivals(site: Site) -> dict[Ref, list[tuple[Ref, bool]]]:
    """For each closet end the outlets and ports where its run arrives, and whether somebody saw it."""
    out: dict[Ref, list[tuple[Ref, bool]]] = {}
    for run in runs(site):
        sure = run.grade is not None and grade(run.grade).rank >= grade(SURE).rank and not run.contradicted
        out[run.start] = [(ref, sure) for ref in run.to]
    return out


def _where(site: Site, end: Thing, other: Thing | None, arrives: Mapping[Ref, Sequence[tuple[Ref, bool]]]) -> str:
    """Where the cable goes from this end: the room of its other end, else where its run arrives."""
    for ref, sure in arrives.get(end.ref, ()):
        whole = Ref(PARTS[ref.kind], ref.parent_tag) if ref.parent_tag else ref
        return words_labels.goes_to(ref.tag, _room(site, site.get(whole)), sure=sure)
    if other is None:
        return _nowhere()
    return words_labels.goes_to(_place(site, other), _room(site, other), sure=True)


def _place(site: Site, end: Thing | None) -> str:
    claim = site.best(end.ref, "ends_at") if end else None
    return claim.object.tag if claim and claim.object.kind not in ("stop", "use") else ""


def _room(site: Site, thing: Thing | None) -> str:
    room = site.get(thing.ref_of("room")) if thing else None
    return (room.text("name") or room.ref.tag) if room else ""


def outlets(site: Site, wanted: Wanted) -> Found:
    """One label for each link that arrives at an outlet, else one with the outlet's own tag."""
    found = Found()
    at: dict[Ref, dict[str, tuple[Identified, bool]]] = collections.defaultdict(dict)
    for start, places in _arrivals(site).items():
        link = identified(site, start)
        for ref, sure in places:
            outlet = Ref("outlet", ref.parent_tag) if ref.kind == "jack" and ref.parent_tag else ref
            if link and outlet.kind == "outlet":
                at[outlet].setdefault(link.identifier, (link, sure))
    for outlet_thing in site.of_kind("outlet"):
        if not outlet_thing.stands:
            continue
        room, own = _room(site, outlet_thing), identified(site, outlet_thing.ref)
        old = words_labels.found_as((), (outlet_thing.text("label"),) if outlet_thing.text("label") else ())[1]
        for link, sure in at[outlet_thing.ref].values():
            said = words_labels.at_outlet(outlet_thing.ref.tag, room, sure=sure)
            found.pieces.append((outlet_thing.ref, _piece("plain", link, (said, old))))
        if not at[outlet_thing.ref] and own:
            found.pieces.append((outlet_thing.ref, _piece("plain", own, (room, old))))
    return found


def protected(site: Site, wanted: Wanted) -> Found:
    """A do-not-touch tag for each end and unit that only a company may touch; a cable without ends gets one itself."""
    found = Found()
    for name, companies in sorted(wanted.do_not_touch.items(), key=lambda pair: _ref(pair[0])):
        thing = site.get(_ref(name))
        if thing is None or not thing.stands or thing.ref.kind not in ("end", "unit", "cable"):
            continue
        if thing.ref.kind == "cable" and site.ends_by_cable.get(thing.ref):
            continue
        one = identified(site, thing.ref)
        if one is None:
            continue
        own = "" if thing.ref.tag.casefold() == one.identifier.casefold() else thing.ref.tag
        about = words_labels.found_as((own,) if own else (), one.old_labels)
        who = words_labels.call([_company(site, word.strip()) for word in companies.split(",")])
        found.pieces.append((thing.ref, _piece("protected", one, (who, thing.text("name"), *about))))
    return found


def _ref(name: str) -> Ref:
    """A thing by its name; what is no name is nobody."""
    try:
        return parse_ref(name)
    except BadName:
        return Ref("thing", "?")


def _called(site: Site, kind: str, word: str) -> Thing | None:
    """The company or role of that tag, if a word is one."""
    return site.get(_ref(f"{kind}:{word}")) if word else None


def _company(site: Site, word: str) -> tuple[str, str]:
    """Name and hours of a company or role; whatever else stands there may be a person's name and does not print."""
    for kind in ("company", "role"):
        thing = _called(site, kind, word)
        if thing:
            return thing.text("name") or thing.ref.tag, thing.text("hours")
    return f"the {word}" if word in ROLES else "whose it is", ""


def reserved(site: Site, wanted: Wanted) -> Found:
    """A tag with the day at both ends of each cable that is kept for later use."""
    found = Found()
    for cable in site.of_kind("cable"):
        if cable.text("reserved") != "yes" or not cable.stands:
            continue
        note = cable.fields["reserved"].last
        day = _day(wanted.day or note.at.text)
        role = _role(site, wanted.role or note.evidence.by)
        one = identified(site, cable.ref)
        recorded = [e for e in site.ends_by_cable.get(cable.ref, ()) if e.stands]
        if not day:
            found.left.append(words_labels.reserved_without_day(cable.ref.tag))
            continue
        for ref in [e.ref for e in recorded] or [cable.ref]:
            own = identified(site, ref) or one
            if own:
                about = words_labels.found_as((ref.tag,), own.old_labels)
                found.pieces.append((ref, _piece("reserved", own, (words_labels.reserved(day, role), *about))))
    return found


def _role(site: Site, tag: str) -> str:
    """What a role is; a word that is no role of the record may be a person's name and does not print."""
    role = _called(site, "role", tag)
    return (role.text("name").partition(",")[0] or role.ref.tag) if role else ""


def temporary(site: Site, wanted: Wanted) -> Found:
    """A tag for each temporary work that is open, with its day and who left it."""
    found = Found()
    for work in site.of_kind("temporary"):
        one = identified(site, work.ref)
        if not work.stands or work.text("ended") == "yes" or one is None:
            continue
        visit = site.get(work.ref_of("until_visit"))
        until = _day(work.text("must_end") or (visit.text("arrives") if visit else ""))
        made = work.made
        by = words_labels.left_by(_role(site, made.evidence.by) if made else "", _day(made.at.text) if made else "")
        roles = [name for tag in work.text("known_to").replace(",", " ").split() if (name := _role(site, tag))]
        lines = (work.text("what"), words_labels.gone_by(until), by, words_labels.known_to(roles))
        found.pieces.append((work.ref, _piece("temporary", one, lines)))
    return found


def _day(text: str) -> str:
    """A date as people write it, without its clock; what is noted as one and is none stays as it was written."""
    if not text or text == "none":
        return ""
    try:
        return figures.date(text.partition("T")[0])
    except BadDate:
        return text


def units(site: Site, wanted: Wanted) -> Found:
    """Stickers: 24 V only, standard power, or dead. What nobody tested gets none and is told."""
    found, plain = Found(), []
    kept = {r for part in site.of_kind("part") if part.stands and (r := part.ref_of("unit"))}
    for unit in site.of_kind("unit"):
        model = site.get(unit.ref_of("model"))
        takes = model.text("takes") if model else ""
        health, one = unit.text("health"), identified(site, unit.ref)
        here = unit.stands or unit.ref in kept or unit.text("state") == "removed" and health == "called dead"
        if one is None or not here:
            continue
        if health == "called dead":
            _dead(site, unit, takes, one, wanted, found)
        elif takes and takes != ALWAYS and takes not in RISING:
            plain.append(unit.ref.tag)
        elif health not in GOOD:
            found.left.append(words_labels.untested(unit.ref.tag))
        elif not takes:
            found.left.append(words_labels.takes_unknown(unit.ref.tag))
        else:
            kind = "24v" if takes == ALWAYS else "standard"
            lines = (unit.text("name"), words_labels.STICKER[kind].format(takes))
            found.pieces.append((unit.ref, _piece(kind, one, lines)))
    if plain:
        found.left.append(words_labels.own_supply(plain))
    return found


def _dead(site: Site, unit: Thing, takes: str, one: Identified, wanted: Wanted, found: Found) -> None:
    """Dead is said only after it failed on a port that gives what it takes and is known to be good."""
    port = site.get(unit.ref_of("tried_on"))
    gives = port.text("gives") if port else ""
    holder = site.get(Ref("unit", port.ref.parent_tag)) if port and port.ref.parent_tag else None
    good = port is not None and (
        port.ref.tag in wanted.good_ports or holder is not None and holder.text("health") in GOOD
    )
    if good and _fits(takes, gives):
        found.pieces.append((unit.ref, _piece("dead", one, (words_labels.STICKER["dead"], unit.text("name")))))
    else:
        found.left.append(words_labels.called_dead(unit.ref.tag, port.ref.tag if port else ""))


def _fits(takes: str, gives: str) -> bool:
    """Whether a port gives what a unit takes: the same, or a later kind of the standard."""
    if takes in RISING and gives in RISING:
        return RISING.index(gives) >= RISING.index(takes)
    return bool(takes) and takes == gives


def good_ports(power: Mapping[str, Any]) -> frozenset[str]:
    """Ports on which something is likely to run, from an answer of `power`."""
    return frozenset(
        p["port"]
        for p in power.get("ports", ())
        if p.get("works") == "likely" and not p.get("hazard") and p.get("device")
    )


def chosen(found: Found, only: Iterable[Ref], what: str) -> Iterator[tuple[Ref, Piece]]:
    """The pieces for the things asked for; those that have none are told."""
    asked = list(only)
    if not asked:
        yield from found.pieces
        return
    for ref in asked:
        if not any(ref == of for of, _ in found.pieces):
            found.left.append(words_labels.not_this_kind(ref.tag, what))
    yield from ((of, piece) for of, piece in found.pieces if of in asked)

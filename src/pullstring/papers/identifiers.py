"""Identifiers of a property by the open administration standard, from what the record says; derived, never recorded.

The standard is ANSI/TIA-606. Its forms stand here FROM MEMORY, and editions differ: **verify locally** before they are
promised to anybody. Classes: 1 one equipment room, 2 one building with several spaces, 3 several buildings, 4 several sites.
Forms: space `fs` (floor, letter), link in a building `fs-an`, cable between spaces `fs1/fs2-n`, between buildings
`b1-fs1/b2-fs2-n` (the standard's brackets are left out: no small code holds them), fire-stop `f-FSLn` (its hours are told
beside), earthing bar `fs-PBB` for the first of a building and `fs-SBB` for others.

House rules
-----------
1. What is noted later never changes an identifier. Among equals the thing that was made first in the record comes first, and
   what was removed keeps its identifier. Only what is learnt of the thing itself (its room or floor, another tag, that it
   leads to another space) can change one, and not even that once its label is noted, see 4.
2. `n` of a link is the number of its closet end's found-tag, so that E07 becomes A07; `a` is A, and B, C ... for ends made
   later with the same number. Tags without a number are counted in the order of making, with letters from N on. So `a` names
   no panel, and a link keeps its identifier when it is moved from the board to a panel.
3. Floor and space are always written, though class 1 may leave them out: a second closet would otherwise rename everything.
   Space letters count through the whole property, so that no building's name is needed inside a building.
4. A label that the record states in the form of the standard is respected; one without floor and space gets these before it.
5. Where the standard's form cannot be had, the found-tag is the identifier, and `why` says so. No two are ever the same.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.refs import Ref
from pullstring.papers.identifiers_links import Link, links
from pullstring.papers.identifiers_spaces import (
    Space,
    first_noted,
    floor_of,
    level_word,
    said_to_be_none,
    spaces,
)

FOUND_KINDS = ("outlet", "unit", "block", "rack", "temporary", "bond")
"""Kinds that keep the tag they were given; cables and ends follow by their links."""


@dataclasses.dataclass(frozen=True)
class Identified:
    """One identifier with what bears it.

    `what` is space, link, backbone, between buildings, fire-stop, earthing bar, or the kind of the thing; `by` says stated,
    counted or found tag; `why` is a code for what stood against another identifier. `found_as` and `old_labels` are printed
    beside. What no longer `stands` keeps its identifier, reserved.
    """

    identifier: str
    what: str
    ref: Ref
    by: str
    ends: tuple[Ref, ...] = ()
    found_as: tuple[str, ...] = ()
    old_labels: tuple[str, ...] = ()
    stands: bool = True
    why: tuple[str, ...] = ()
    beside: str = ""


@dataclasses.dataclass(frozen=True)
class SiteClass:
    """The class of a property, with the counts that made it so."""

    number: int
    sites: int
    buildings: int
    spaces: int


def site_class(site: Site) -> SiteClass:
    """The class of administration: 1 one equipment room, 2 one building, 3 several buildings, 4 several sites.

    References
    ----------
    ANSI/TIA-606 (from memory; verify locally).
    """
    sites, buildings = (sum(t.stands for t in site.of_kind(kind)) for kind in ("property", "building"))
    rooms = sum(space.stands for space in spaces(site).values())
    number = 4 if sites > 1 else 3 if buildings > 1 else 2 if rooms > 1 else 1
    return SiteClass(number, sites, buildings, rooms)


@once_a_site
def register(site: Site) -> tuple[Identified, ...]:
    """Every identifier of the property, each once: spaces, links, fire-stops, earthing bars, then what keeps its found-tag."""
    found = [*_spaces(site), *(_of_link(link) for link in links(site)), *_fire_stops(site), *_bars(site)]
    taken = {one.identifier.casefold() for one in found}
    return (*found, *_by_tag(site, taken))


def identified(site: Site, ref: Ref) -> Identified | None:
    """The identifier of a thing: of a cable or an end that of its link."""
    return _by_thing(site).get(ref)


@once_a_site
def _by_thing(site: Site) -> dict[Ref, Identified]:
    found: dict[Ref, Identified] = {}
    for one in register(site):
        for ref in (one.ref, *one.ends):
            found.setdefault(ref, one)
    return found


def _spaces(site: Site) -> Iterator[Identified]:
    for space in spaces(site).values():
        room = site.things[space.room]
        if space.fs:
            names = tuple(n for n in (room.text("name"), room.text("old_names")) if n)
            yield Identified(space.fs, "space", space.room, "counted", (), (room.ref.tag,), names, room.stands)


def _of_link(link: Link) -> Identified:
    return Identified(
        link.identifier, link.what, link.ref, link.by, link.ends, link.found_as, link.old_labels, link.stands, link.why
    )


def _fire_stops(site: Site) -> Iterator[Identified]:
    """`f-FSLn` for each pathway of which a fire-stop is noted; n counts pathways in the order of making, from 1."""
    for number, pathway in enumerate(sorted(site.of_kind("pathway"), key=first_noted), 1):
        stop = pathway.get("fire_stop")
        if stop is None or said_to_be_none(stop):
            continue
        rooms = [site.get(r) for r in pathway.refs_of("rooms")]
        floors = [f for room in rooms if room and (f := floor_of(site, room))]
        level = next((w for f in floors if (w := level_word(f))), "")
        if level:
            tag = f"{level}-FSL{number:02d}"
            yield Identified(
                tag, "fire-stop", pathway.ref, "counted", (), (pathway.ref.tag,), (), pathway.stands, (), str(stop)
            )
        else:
            yield Identified(
                f"FSL-{pathway.ref.tag}", "fire-stop", pathway.ref, "found tag", (), (pathway.ref.tag,), (),
                pathway.stands, ("no_floor",), str(stop),
            )  # fmt: skip


def _bars(site: Site) -> Iterator[Identified]:
    """One earthing bar in each space in which a bond to a bar is noted: the first of its building PBB, others SBB."""
    of_space: dict[Ref, list[Thing]] = {}
    for bond in sorted(site.of_kind("bond"), key=first_noted):
        said = " ".join(bond.text(n) for n in ("conductor", "electrode", "note")).casefold()
        rooms = [t.ref_of("room") for ref in bond.refs_of("joins") if (t := site.get(ref))]
        room = next((r for r in rooms if r in spaces(site)), None)
        if room and any(word.strip(".,;:()").endswith(("bar", "busbar")) for word in said.split()):
            of_space.setdefault(room, []).append(bond)
    has_first: set[Ref | None] = set()
    for room, bonds in of_space.items():
        space = spaces(site)[room]
        if not space.fs:
            continue
        name = "SBB" if space.building in has_first else "PBB"
        has_first.add(space.building)
        yield Identified(
            f"{space.fs}-{name}", "earthing bar", bonds[0].ref, "counted", tuple(b.ref for b in bonds[1:]),
            tuple(b.ref.tag for b in bonds), (), any(b.stands for b in bonds), (), bonds[0].text("conductor"),
        )  # fmt: skip


def _by_tag(site: Site, taken: set[str]) -> Iterator[Identified]:
    """Things that keep their found-tag; of two kinds with one tag the later made is written with its kind."""
    linked = {r for link in links(site) for r in (link.ref, *link.ends)}
    barred = {r for bar in _bars(site) for r in (bar.ref, *bar.ends)}
    things = [t for kind in FOUND_KINDS for t in site.of_kind(kind) if t.ref not in barred]
    bare = [t for t in site.of_kind("end") if t.ref not in linked]
    covered = linked | {c for t in bare if (c := t.ref_of("cable"))}
    bare += [t for t in site.of_kind("cable") if t.ref not in covered]
    rank = {kind: n for n, kind in enumerate(("end", "cable", *FOUND_KINDS))}
    for thing in sorted([*bare, *things], key=lambda t: (*first_noted(t), rank[t.ref.kind])):
        tag, why = thing.ref.tag, ("own_tag",)
        if tag.casefold() in taken:
            tag, why = f"{thing.ref.kind}:{thing.ref.tag}", ("tag_taken",)
        taken.add(tag.casefold())
        label = thing.text("label")
        yield Identified(
            tag,
            thing.ref.kind,
            thing.ref,
            "found tag",
            (),
            (thing.ref.tag,),
            (label,) if label else (),
            thing.stands,
            why,
        )


def space_of(site: Site, room: Ref | None) -> Space | None:
    """The space that a room is, if cables come together in it."""
    return spaces(site).get(room) if room else None

"""Links: one identifier for each cable that begins in a space, the same at both its ends."""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Iterable, Sequence

from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.norms import LinkId
from pullstring.model.refs import Ref
from pullstring.papers.identifiers_spaces import LETTERS, OUTLETS, Space, first_noted, placed_at, spaces, stated

_NUMBERED = re.compile(r"[^\W\d_]*0*([0-9]{1,4})")  # a found-tag of letters and a number: E07
WITHOUT_NUMBER = 12  # letters from N on: a found-tag without a number is counted, apart from those that have one
_BACKBONE = re.compile(
    r"(?:[0-9A-Z]{1,8}-)?(?:B?[0-9]{1,3})[A-Z]{1,2}/(?:[0-9A-Z]{1,8}-)?(?:B?[0-9]{1,3})[A-Z]{1,2}-[A-Z]{0,2}[0-9]{1,4}"
)


@dataclasses.dataclass(frozen=True)
class Link:
    """A cable (or a lone end) with its identifier; the fields are those of `Identified`."""

    identifier: str
    what: str
    ref: Ref
    by: str
    ends: tuple[Ref, ...]
    found_as: tuple[str, ...]
    old_labels: tuple[str, ...]
    stands: bool
    why: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class _Raw:
    """A cable that begins in a space, before identifiers are given out."""

    ref: Ref
    start: Thing
    space: Space
    other: Space | None
    ends: tuple[Thing, ...]
    labels: tuple[str, ...]
    stands: bool


@once_a_site
def links(site: Site) -> tuple[Link, ...]:
    """All cables that begin in a space, in the order in which their closet ends were made; each identifier once."""
    raws = sorted(_raws(site), key=lambda raw: first_noted(raw.start))
    numbers = _numbers(site)
    taken: set[str] = set()
    said: dict[Ref, str] = {}
    why: dict[Ref, tuple[str, ...]] = {}
    for raw in raws:  # what is stated comes before what is counted
        text = _stated(raw)
        if text and text.casefold() in taken:
            why[raw.ref] = ("stated_twice",)
        elif text:
            taken.add(text.casefold())
            said[raw.ref] = text
            why[raw.ref] = () if _agrees(raw, text) else ("stated_elsewhere",)
    out = []
    for raw in raws:
        text = said.get(raw.ref) or _counted(raw, numbers[raw.start.ref], taken)
        taken.add(text.casefold())
        out.append(_link(raw, text, "stated" if raw.ref in said else "counted", why.get(raw.ref, ())))
    return tuple(out)


def _link(raw: _Raw, text: str, by: str, why: tuple[str, ...]) -> Link:
    ends = tuple(e.ref for e in raw.ends)
    found_as = tuple(dict.fromkeys(r.tag for r in (*ends, raw.ref) if r.tag.casefold() != text.casefold()))
    own = {text.casefold(), text.casefold().removeprefix(f"{raw.space.fs}-".casefold())}
    old = tuple(label for label in raw.labels if label.casefold() not in own)
    return Link(text, _what(raw), raw.ref, by, ends, found_as, old, raw.stands, why)


def _what(raw: _Raw) -> str:
    if raw.other is None:
        return "link"
    return "between buildings" if raw.other.building != raw.space.building else "backbone"


def _raws(site: Site) -> Iterable[_Raw]:
    """One for each cable with an end in a space of known floor; a lone end there is its own."""
    places = {room: space for room, space in spaces(site).items() if space.fs}
    by_cable: dict[Ref, list[Thing]] = collections.defaultdict(list)
    for end in site.of_kind("end"):
        by_cable[end.ref_of("cable") or end.ref].append(end)
    for ref, found in by_cable.items():
        inside = [e for e in found if e.ref_of("room") in places]
        if not inside:
            continue
        start = min(inside, key=lambda e: (max(placed_at(e), places[_room(e)].became), first_noted(e)))
        space = places[_room(start)]
        known = max(placed_at(e) for e in inside)
        rooms = [(e, places[_room(e)]) for e in sorted(inside, key=first_noted)]
        far = [here for e, here in rooms if here != space and here.became <= known and _between(site, e, here, space)]
        ends = (start, *(e for e in sorted(found, key=first_noted) if e is not start))
        cable = site.get(ref)
        stands = cable.stands if cable and ref.kind == "cable" else start.stands
        yield _Raw(ref, start, space, far[0] if far else None, ends, _labels(site, ends), stands)


def _between(site: Site, end: Thing, here: Space, start: Space) -> bool:
    """Whether a cable counts as one between spaces: it leaves the building, or it stops at no outlet.

    Else a room that becomes a space later would rename the links that stop at its outlets.
    """
    claim = site.best(end.ref, "ends_at")
    return here.building != start.building or claim is None or claim.object.kind not in OUTLETS


def _room(end: Thing) -> Ref:
    room = end.ref_of("room")
    assert room is not None
    return room


def _labels(site: Site, ends: Sequence[Thing]) -> tuple[str, ...]:
    """Old labels on the ends, and on the rows and jacks where they end."""
    found = [e.text("label") for e in ends]
    for end in ends:
        claim = site.best(end.ref, "ends_at")
        place = site.get(claim.object) if claim else None
        if place and place.ref.kind in ("row", "jack"):
            found.append(place.text("label"))
    return tuple(dict.fromkeys(" ".join(text.split()) for text in found if text and text != "none"))


def _stated(raw: _Raw) -> str:
    """What a label, or a found-tag that is written in full, says already; empty when none does."""
    for label in raw.labels:
        if _BACKBONE.fullmatch(label.upper()):
            return label.upper()
    link = stated(raw.labels) or _full(stated(e.ref.tag for e in raw.ends))
    if link is None:
        return ""
    return str(link) if link.floor is not None else f"{raw.space.fs}-{link}"


def _full(link: LinkId | None) -> LinkId | None:
    return link if link and link.floor is not None else None


def _agrees(raw: _Raw, text: str) -> bool:
    """Whether the stated identifier names the space in which the cable begins."""
    return raw.space.fs in text.replace("/", "-").split("-")


@once_a_site
def _numbers(site: Site) -> dict[Ref, tuple[int, int]]:
    """For each end its number and how many ends made before it have the same.

    Over all ends of the property, wherever they are: so it changes neither by what is noted later nor by a room that is.
    """
    seen: collections.Counter[int] = collections.Counter()
    found, without = {}, 0
    for end in sorted(site.of_kind("end"), key=first_noted):
        tag = _NUMBERED.fullmatch(end.ref.tag)
        if tag:
            number = int(tag[1])
            found[end.ref] = number, seen[number]
            seen[number] += 1
        else:
            without += 1
            found[end.ref] = without, WITHOUT_NUMBER
    return found


def _counted(raw: _Raw, number: tuple[int, int], taken: set[str]) -> str:
    """The first identifier of the form that nobody has: letters go on where a number is had already."""
    count, earlier = number
    backbone = raw.other is not None
    while True:
        letters = _panel(earlier, plain=backbone)
        text = f"{_spaces_of(raw)}-{letters}{count:02d}" if backbone else f"{raw.space.fs}-{letters}{count:02d}"
        if text.casefold() not in taken:
            return text
        earlier += 1


def _panel(place: int, *, plain: bool) -> str:
    """A, B ... Z without I and O, AA, AB ...; for cables between spaces the first has no letter."""
    if plain and not place:
        return ""
    tens, ones = divmod(place - plain, len(LETTERS))
    return (LETTERS[tens - 1] if tens else "") + LETTERS[ones]


def _spaces_of(raw: _Raw) -> str:
    """Both spaces, the one lettered first first; with their buildings where these differ."""
    assert raw.other is not None
    one, other = sorted((raw.space, raw.other), key=lambda s: (len(s.letter), s.letter))
    if one.building == other.building:
        return f"{one.fs}/{other.fs}"
    return "/".join(f"{s.building.tag}-{s.fs}" if s.building else s.fs for s in (one, other))

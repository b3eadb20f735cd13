"""The registers of a site: every end of a cable and every outlet, in the order of their tags, each with how sure it is."""

from __future__ import annotations

import collections
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import answered, load
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Claim, Site, Thing
    from pullstring.model.refs import Ref


def ends(path: Path, request: Request) -> Answer:
    """Every end that was ever tagged: its cable, where it sits, where it goes, what it carries."""
    site = load(path, request)
    photos = photos_of(site)
    rows = [_end(site, e, photos) for e in site.of_kind("end")]
    return answered("ends", site, request, {"ends": rows})


def outlets(path: Path, request: Request) -> Answer:
    """Every outlet: its room and place, its condition, and the ends that are said to arrive there."""
    site = load(path, request)
    photos = photos_of(site)
    arriving: dict[Ref, list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        if claim.support is None or claim.relation not in ("ends_at", "goes_to"):
            continue
        at = _outlet_of(claim.object)
        if at is not None:
            arriving[at].append(claim)
    rows = [_outlet(site, o, arriving[o.ref], photos) for o in site.of_kind("outlet")]
    return answered("outlets", site, request, {"outlets": rows})


def photos_of(site: Site) -> dict[Ref, list[dict[str, str]]]:
    """Photographs by what they show; only those that are for everybody on the site."""
    found: dict[Ref, list[dict[str, str]]] = collections.defaultdict(list)
    for photo in site.of_kind("photo"):
        if photo.text("privacy") == "private" or photo.text("state") == "removed":
            continue
        for ref in photo.refs_of("of"):
            found[ref].append({"tag": photo.ref.tag, "sha256": photo.text("sha256"), "shows": photo.text("shows")})
    return found


def photos_of_thing(path: Path, request: Request, ref: str) -> list[dict[str, str]]:
    """The photographs of one thing, written `kind:TAG`."""
    from pullstring.model.refs import parse_ref

    return photos_of(load(path, request)).get(parse_ref(ref), [])


def _outlet_of(ref: Ref) -> Ref | None:
    from pullstring.model.refs import Ref

    if ref.kind == "outlet":
        return ref
    return Ref("outlet", ref.parent_tag) if ref.kind == "jack" and ref.parent_tag else None


def _claimed(site: Site, ref: Ref, relation: str) -> list[dict[str, Any]]:
    """What is said of one relation, the surest first."""
    from pullstring.model.grades import grade

    found = sorted(
        site.about(subject=ref, relation=relation), key=lambda c: (-grade(c.support or "assumed").rank, str(c.object))
    )
    return [{"to": str(c.object), "grade": c.support, "status": c.status} for c in found]


def _room(site: Site, thing: Thing) -> dict[str, str]:
    room = site.get(thing.ref_of("room"))
    floor = site.get(room.ref_of("floor")) if room else None
    return {
        "room": room.ref.tag if room else "",
        "room_name": room.text("name") if room else "",
        "floor": floor.ref.tag if floor else "",
    }


def _end(site: Site, end: Thing, photos: dict[Ref, list[dict[str, str]]]) -> dict[str, Any]:
    cable = site.get(end.ref_of("cable"))
    return {
        "end": end.ref.tag,
        "cable": cable.ref.tag if cable else "",
        "jacket": (cable.text("jacket") if cable else "") or end.text("jacket"),
        **_room(site, end),
        "found": end.text("found"),
        "label": end.text("label"),
        "state": end.text("state") or "there",
        "sits": _claimed(site, end.ref, "ends_at") + _claimed(site, end.ref, "plugged"),
        "goes": _claimed(site, end.ref, "goes_to"),
        "carries": _claimed(site, end.ref, "carries"),
        "photos": photos.get(end.ref, []),
    }


def _outlet(site: Site, outlet: Thing, claims: list[Claim], photos: dict[Ref, list[dict[str, str]]]) -> dict[str, Any]:
    ends = {}
    for claim in claims:
        ends[str(claim.subject)] = {
            "end": claim.subject.tag,
            "grade": claim.support,
            "status": claim.status,
            "at": claim.object.tag,
        }
    return {
        "outlet": outlet.ref.tag,
        **_room(site, outlet),
        "plate": outlet.text("plate"),
        "found": outlet.text("found"),
        "label": outlet.text("label"),
        "condition": outlet.text("condition"),
        "shares_box_with_mains": outlet.text("shares_box_with_mains") == "yes",
        "state": outlet.text("state") or "there",
        "ends": [ends[name] for name in sorted(ends)],
        "photos": photos.get(outlet.ref, []),
    }

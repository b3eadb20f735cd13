"""The shapes of one floor as plain numbers, for a page on which they are drawn and moved."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.request import BadRequest, asked_for, load
from pullstring.api.taking import next_tag
from pullstring.model.answers import Request, plain

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site, Thing
    from pullstring.model.refs import Ref

FIRST_TAGS = {
    "building": "B1",
    "floor": "F0",
    "room": "R01",
    "wall_type": "T1",
    "wall": "W01",
    "opening": "D01",
    "outlet": "O01",
    "position": "P1",
    "unit": "D01",
    "block": "K1",
    "pathway": "PW1",
    "end": "E01",
    "scan": "S1",
    "photo": "P001",
}
"""Ours: what the first thing of a kind is called where nobody has begun."""


def shapes(path: Path, request: Request, *, floor: str) -> dict[str, Any]:
    """All that is drawn on a floor, and the rooms of its building; raises BadRequest when there is no such floor."""
    site = load(path, request)
    ref = asked_for(site, [floor], ["floor"])[0]
    on = site.things[ref]
    building = on.ref_of("building")
    beside = [f for f in site.of_kind("floor") if f.ref_of("building") == building and _stays(f)]
    rooms = [r for r in site.of_kind("room") if _stays(r) and r.ref_of("floor") in (*(f.ref for f in beside), None)]
    here = {r.ref for r in rooms if r.ref_of("floor") == ref}
    walls = [w for w in site.of_kind("wall") if _stays(w) and ref in w.refs_of("floors")]
    drawn = {w.ref for w in walls}
    return {
        "floor": _floor(on),
        "floors": [_floor(f) for f in beside],
        "rooms": [_room(r) for r in rooms],
        "walls": [_wall(site, w) for w in walls if w.text("line")],
        "openings": [
            _said(o, "fill", "usual", wall=_tag(o, "wall"), **_numbers(o, "u0_m", "u1_m", "z0_m", "z1_m"))
            for o in site.of_kind("opening")
            if _stays(o) and o.ref_of("wall") in drawn
        ],
        "wall_types": [
            _said(t, "name", "hatch", **_numbers(t, "thickness_m")) for t in site.of_kind("wall_type") if _stays(t)
        ],
        **{kind + "s": _placed(site, kind, here) for kind in ("outlet", "position", "unit", "block")},
        "ends": [
            {"tag": e.ref.tag, "room": _tag(e, "room")}
            for e in site.of_kind("end")
            if _stays(e) and e.ref_of("room") in here
        ],
        "pathways": [
            _said(p, "style", rooms=[r.tag for r in p.refs_of("rooms")])
            for p in site.of_kind("pathway")
            if _stays(p) and here & set(p.refs_of("rooms"))
        ],
        "scans": [_scan(site, s) for s in site.of_kind("scan") if _stays(s) and s.ref_of("floor") == ref],
        "next": {kind: next_tag(site, kind, first) for kind, first in FIRST_TAGS.items()},
    }


def floors_of(path: Path, request: Request) -> dict[str, Any]:
    """Buildings and floors to choose from before anything is drawn, and the tags that come next."""
    site = load(path, request)
    return {
        "site": site.property_tag,
        "buildings": [{"tag": b.ref.tag, "name": b.text("name")} for b in site.of_kind("building") if _stays(b)],
        "floors": [_floor(f) for f in site.of_kind("floor") if _stays(f)],
        "next": {kind: next_tag(site, kind, first) for kind, first in FIRST_TAGS.items()},
    }


def _stays(thing: Thing) -> bool:
    return thing.text("state") != "removed"


def _tag(thing: Thing, field: str) -> str:
    ref = thing.ref_of(field)
    return ref.tag if ref else ""


def _numbers(thing: Thing, *names: str) -> dict[str, float | None]:
    return {name: thing.number(name) for name in names}


def _said(thing: Thing, *texts: str, **more: Any) -> dict[str, Any]:
    said = {"tag": thing.ref.tag, **{t: thing.text(t) for t in texts}, "state": thing.text("state"), **more}
    result: dict[str, Any] = plain(said)
    return result


def _floor(thing: Thing) -> dict[str, Any]:
    return _said(thing, "name", building=_tag(thing, "building"), **_numbers(thing, "level", "z_m", "ceiling_m"))


def _room(thing: Thing) -> dict[str, Any]:
    from pullstring.model.geometry import as_polygon, parse_outline

    pieces = [as_polygon(p) for p in parse_outline(thing.text("outline"))] if thing.text("outline") else []
    return _said(thing, "name", "closet", floor=_tag(thing, "floor"), pieces=pieces, **_numbers(thing, "height_m"))


def _wall(site: Site, thing: Thing) -> dict[str, Any]:
    from pullstring.model.geometry import DEFAULT_WALL_M, parse_outline

    built = site.get(thing.ref_of("wall_type"))
    thickness = thing.number("thickness_m") or (built.number("thickness_m") if built else None)
    return _said(
        thing,
        line=parse_outline(thing.text("line"))[0][:2],
        wall_type=_tag(thing, "wall_type"),
        thickness_m=thickness or DEFAULT_WALL_M,
        floors=[f.tag for f in thing.refs_of("floors")],
    )


def _placed(site: Site, kind: str, rooms: set[Ref]) -> list[dict[str, Any]]:
    """Things of a kind that are in these rooms."""
    return [
        _said(t, "name", "label", "mount", "style", room=_tag(t, "room"), **_numbers(t, "x_m", "y_m", "z_m"))
        for t in site.of_kind(kind)
        if _stays(t) and t.ref_of("room") in rooms
    ]


def _scan(site: Site, thing: Thing) -> dict[str, Any]:
    photo = site.get(thing.ref_of("photo"))
    return _said(
        thing,
        "scale_points",
        "cross_points",
        "common_points",
        floor=_tag(thing, "floor"),
        photo=_tag(thing, "photo"),
        sha256=photo.text("sha256") if photo else "",
        **_numbers(thing, "scale_length_m", "cross_length_m"),
    )


def known_floor(path: Path, request: Request, tag: str) -> Ref:
    """The floor that a tag names; raises BadRequest."""
    return asked_for(load(path, request), [tag], ["floor"])[0]


__all__ = ["FIRST_TAGS", "BadRequest", "floors_of", "known_floor", "shapes"]

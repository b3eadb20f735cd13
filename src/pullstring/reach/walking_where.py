"""Where a thing is met on foot: the region and the point at which one stands before it."""

from __future__ import annotations

import dataclasses
import math

import shapely

from pullstring.model.asbuilt import Site, Thing
from pullstring.model.geometry import Point
from pullstring.model.refs import PARTS, Ref
from pullstring.reach.walking_net import Net, ground
from pullstring.reach.walking_ways import BOXES, GUESSED, PLAN

HOLDERS = {"jack": "outlet", "row": "block", "port": "unit"}
MOST_STEPS = 6
"""How often one thing may stand for another: an end for its row, the row for its block."""


@dataclasses.dataclass(frozen=True)
class Spot:
    """A region, a point in it (None: the region has no shape), how well it is known, and what was taken for granted."""

    region: int
    at: Point | None
    tier: int
    code: str


def spot_of(net: Net, ref: Ref) -> Spot:
    """Where a thing is met; the middle of its room where its place is not noted, somewhere on the property without a room."""
    thing = standing_at(net.site, ref)
    if ref.kind == "room" or (thing is not None and thing.ref.kind == "room"):
        region = net.rooms.get(ref if ref.kind == "room" else thing.ref)  # type: ignore[union-attr]
        if region is not None:
            return Spot(region, net.ways.regions[region].middle(), PLAN if ref.kind == "room" else BOXES, "")
    if thing is None:
        return Spot(net.middle, None, GUESSED, "no_room")
    room = thing.ref_of("room")
    x, y = thing.number("x_m"), thing.number("y_m")
    region = net.rooms.get(room) if room else None
    if region is None:
        outdoors = thing.text("outdoors") == "yes" and x is not None and y is not None
        return (_outdoors(net, (x, y)) if outdoors else None) or Spot(net.middle, None, GUESSED, "no_room")  # type: ignore[arg-type]
    shape = net.ways.regions[region]
    if shape.shape is None:
        return Spot(region, None, BOXES, "no_outline")
    if x is None or y is None:
        return Spot(region, shape.middle(), BOXES, "middle_of_room")
    return Spot(region, shape.snapped((x, y)), PLAN, "")


def standing_at(site: Site, ref: Ref) -> Thing | None:
    """The thing that has the place of another: an end is met at its row, a row at its block, a port at its unit."""
    found: Thing | None = None
    for _ in range(MOST_STEPS):
        thing = site.get(ref)
        if thing is not None and (thing.ref_of("room") or thing.text("outdoors") == "yes"):
            found = thing if found is None or thing.number("x_m") is not None else found
            if found.number("x_m") is not None or ref.kind != "end":
                return found
        holder = _holder(site, thing, ref)
        if holder is None:
            break
        ref = holder
    return found


def _holder(site: Site, thing: Thing | None, ref: Ref) -> Ref | None:
    if ref.kind in HOLDERS and ref.parent_tag:
        return Ref(PARTS[ref.kind], ref.parent_tag)
    for relation in ("ends_at", "plugged", "mounted_at"):
        claim = site.best(ref, relation)
        if claim is not None and claim.object.kind != "stop":
            return claim.object
    return None


def _outdoors(net: Net, at: Point) -> Spot | None:
    """A point outdoors, in the axes of the building to whose outer wall it is nearest; its building is not noted."""
    found = []
    for building, region in net.outdoors.items():
        storey = ground(net, building)
        if storey is None:
            continue
        gap = float(storey.shapes.footprint().boundary.distance(shapely.Point(at)))
        x, y, _ = storey.frame.to_site(at, 0.0)
        found.append((round(gap, 3), region, net.ways.regions[region].snapped((x, y))))
    if not found:
        return None
    gap, region, point = min(found, key=lambda f: f[0])
    return Spot(region, point, BOXES, "nearest_building") if math.isfinite(gap) else None

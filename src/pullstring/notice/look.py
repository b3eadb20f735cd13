"""What all detections look at: the site, its nets, runs, powered ports and reach, each worked out once."""

from __future__ import annotations

import collections
import datetime as dt
import functools

from pullstring.copper.judged import JudgedRun, judged_runs
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.conductors import Group, conductor_nets, outlet_of
from pullstring.model.refs import Ref
from pullstring.model.when import parse_when
from pullstring.model.wiring import Net, nets
from pullstring.power.ports import JudgedPort, judged_ports
from pullstring.reach.rules import Reach, build


class Look:
    """One look at a site; `today` is the day the question is asked of."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.today: dt.datetime = parse_when(site.moment).latest

    @functools.cached_property
    def runs(self) -> tuple[JudgedRun, ...]:
        """All runs, judged."""
        return judged_runs(self.site)

    @functools.cached_property
    def ports(self) -> tuple[JudgedPort, ...]:
        """All ports that give power, judged."""
        return judged_ports(self.site)

    @functools.cached_property
    def nets(self) -> tuple[Net, ...]:
        """Pairs that touch, what meets only in a device left apart."""
        return nets(self.site, through_devices=False)

    @functools.cached_property
    def wires(self) -> tuple[Group, ...]:
        """Conductors that touch, through devices that join straight."""
        return conductor_nets(self.site)

    @functools.cached_property
    def reach(self) -> Reach:
        """Rules of what hangs on what."""
        return build(self.site)

    @functools.cached_property
    def ends(self) -> dict[Ref, list[Thing]]:
        """Standing ends by cable."""
        found: dict[Ref, list[Thing]] = collections.defaultdict(list)
        for end in self.site.of_kind("end"):
            if end.stands and (cable := end.ref_of("cable")):
                found[cable].append(end)
        return found

    @functools.cached_property
    def closets(self) -> frozenset[Ref]:
        """Rooms marked as a closet."""
        return frozenset(r.ref for r in self.site.of_kind("room") if r.text("closet") == "yes")

    @functools.cached_property
    def plugged(self) -> dict[Ref, list[Ref]]:
        """What sits in a port, jack or outlet, and where a plug sits, both ways."""
        found: dict[Ref, list[Ref]] = collections.defaultdict(list)
        for claim in self.site.about(relation="plugged"):
            found[claim.subject].append(claim.object)
            found[claim.object].append(claim.subject)
            if claim.object.kind == "jack":
                found[outlet_of(claim.object)].append(claim.subject)
        return found

    def building(self, ref: Ref | None) -> Ref | None:
        """The building in which a room, outlet, end, unit or floor is; None when nobody said."""
        seen = 0
        while ref is not None and seen < 6:
            if ref.kind == "building":
                return ref
            thing, seen = self.site.get(outlet_of(ref)), seen + 1
            if thing is None:
                return None
            ref = next((r for n in ("room", "floor", "building") if (r := thing.ref_of(n))), None)
        return None

    def far_places(self, end: Thing) -> list[Ref]:
        """Where an end lies: its room, else the outlets at which it ends or arrives, unless that is ruled out."""
        room = end.ref_of("room")
        if room:
            return [room]
        return [
            c.object
            for relation in ("ends_at", "goes_to")
            for c in self.site.about(subject=end.ref, relation=relation)
            if c.object.kind in ("outlet", "jack") and not c.contradicted
        ]

    @staticmethod
    def in_use(unit: Thing) -> bool:
        """Whether a unit stands and is not switched off for good."""
        return unit.text("state") in ("", "there", "none")

    def feeds_above(self, thing: Ref) -> list[tuple[Ref, tuple[str, ...]]]:
        """What a thing is fed by, then what that hangs on, up to the breaker or the port of a unit."""
        found: list[tuple[Ref, tuple[str, ...]]] = []
        queue = [thing]
        while queue:
            for claim in self.site.about(subject=queue.pop(), relation="fed_by"):
                if not claim.contradicted and all(claim.object != ref for ref, _ in found):
                    found.append((claim.object, claim.entries))
                    queue.append(claim.object)
        return found

    def room(self, ref: Ref) -> Ref | None:
        """The room in which a thing is, if it is noted."""
        thing = self.site.get(outlet_of(ref))
        return ref if ref.kind == "room" else thing.ref_of("room") if thing else None

    def model(self, unit: Ref | Thing | None) -> Thing | None:
        """The model of a unit."""
        thing = self.site.get(unit) if isinstance(unit, Ref) else unit
        return self.site.get(thing.ref_of("model")) if thing else None

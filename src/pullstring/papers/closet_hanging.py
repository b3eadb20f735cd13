"""Who hangs where in a closet: the ends, pairs, ports and clips on every row and port, and where each of them goes."""

from __future__ import annotations

import collections
import dataclasses
import re
from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.asbuilt import Claim, Site, Thing
from pullstring.model.refs import Ref
from pullstring.model.wiring import cable_of, closet_ends
from pullstring.papers.closet_words import number_of

_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)
Run = Mapping[str, Any]
COMMON = 4  # ours: a service on more ends than this is not told on each


@dataclasses.dataclass(frozen=True)
class Hung:
    """One thing on a row or port: how it is written there, the end it belongs to, and why it sits there."""

    ref: Ref
    tag: str
    detail: str
    end: Ref | None
    state: str
    how: str | None = None
    contradicted: bool = False


class Hanging:
    """The site as one stands before it: what is on each place, looked up once."""

    def __init__(self, site: Site, runs: Sequence[Run] | None, untouchable: Mapping[str, str]) -> None:
        self.site = site
        self.untouchable = untouchable
        self.closet = {e.ref for e in closet_ends(site)}
        self.run_of = {Ref("end", str(r["end"])): r for r in runs} if runs is not None else self._told()
        self.on: dict[Ref, list[Hung]] = collections.defaultdict(list)
        self.clips: dict[Ref, list[Ref]] = collections.defaultdict(list)
        self.placed: set[Ref] = set()
        for claim in site.claims:
            if claim.support is not None and self._stand(claim.subject) and self._stand(claim.object):
                self._take(claim)
        for joint in site.of_kind("joint"):
            if joint.text("state") != "removed":
                self._joint(joint)
        for hung in self.on.values():
            hung.sort(key=lambda h: (h.ref, h.detail))

    def _told(self) -> dict[Ref, Run]:
        """Without answers of the laws: the strongest saying of where an end goes."""
        found: dict[Ref, Run] = {}
        for end in self.site.of_kind("end"):
            best = self.site.best(end.ref, "goes_to")
            to = [str(c.object) for c in self.site.about(subject=end.ref, relation="goes_to")]
            support, against = (best.support, best.contradicted) if best else (None, False)
            found[end.ref] = {"end": end.ref.tag, "to": to, "grade": support, "contradicted": against}
        return found

    def _stand(self, ref: Ref) -> bool:
        thing = self.site.get(ref)
        return thing is None or thing.text("state") != "removed"

    def _take(self, claim: Claim) -> None:
        a, b = claim.subject, claim.object
        if claim.relation in ("ends_at", "plugged"):
            if a.kind == "end":
                if b.kind != "stop":
                    self.placed.add(a)
                    self._put(b, self._end(a, claim))
            elif a.kind == "port":
                self._put(b, self._thing(a, claim))
                self._put(a, self._thing(b, claim))
        elif claim.relation == "fed_by":
            self._put(b, self._thing(a, claim))
        elif claim.relation == "joined":
            for place, other in ((a, b), (b, a)):
                if place.kind != "row":
                    continue
                if other.kind == "row":
                    self._clip(place, other)
                else:
                    self._put(place, self._wire(other, claim))

    def _put(self, place: Ref, hung: Hung) -> None:
        if all(h.ref != hung.ref or h.detail != hung.detail for h in self.on[place]):
            self.on[place].append(hung)

    def _clip(self, place: Ref, other: Ref) -> None:
        if other not in self.clips[place]:
            self.clips[place].append(other)

    def _joint(self, joint: Thing) -> None:
        ends = joint.refs_of("ends")
        rows = [r for r in ends if r.kind == "row"]
        for row in rows:
            for other in ends:
                if other.kind == "row" and other != row:
                    self._clip(row, other)
                elif other.kind in ("end", "pair"):
                    self._put(row, self._wire(other, None))

    def _wire(self, ref: Ref, claim: Claim | None) -> Hung:
        if ref.kind == "end":
            self.placed.add(ref)
            return self._end(ref, claim)
        return self._thing(ref, claim)

    def _end(self, end: Ref, claim: Claim | None) -> Hung:
        named = _PAIR.search(" ".join(s.detail for s in claim.sayings)) if claim else None
        thing = self.site.get(end)
        return Hung(
            end, end.tag, f"pair {named[1]}" if named else "", end, thing.text("state") if thing else "", *_how(claim)
        )

    def _thing(self, ref: Ref, claim: Claim | None) -> Hung:
        if ref.kind == "pair" and ref.parent_tag:
            end = self.closet_end(Ref("cable", ref.parent_tag))
            if end:
                self.placed.add(end)
                return Hung(ref, end.tag, f"pair {number_of(ref)}", end, "", *_how(claim))
        holder = Ref("unit", ref.parent_tag) if ref.kind == "port" and ref.parent_tag else ref
        thing = self.site.get(holder)
        return Hung(ref, ref.tag, "", None, thing.text("state") if thing else "", *_how(claim))

    def closet_end(self, cable: Ref) -> Ref | None:
        """The end of a cable that is in the closet, if any; else its first."""
        ends = [e.ref for e in self.site.ends_by_cable.get(cable, ()) if self._stand(e.ref)]
        return next((e for e in ends if e in self.closet), ends[0] if ends else None)

    def guard(self, *refs: Ref | None) -> str | None:
        """Who alone may touch one of these things; None when nobody said so."""
        for ref in refs:
            if ref is None:
                continue
            cable = cable_of(self.site, ref) if ref.kind == "end" else None
            pair = Ref("cable", ref.parent_tag) if ref.kind == "pair" and ref.parent_tag else None
            for one in (ref, cable, pair):
                if one is not None and str(one) in self.untouchable:
                    return self.untouchable[str(one)]
        return None

    def carried(self, end: Ref | None) -> list[str]:
        """Names of the services that are noted on an end, but for those that nearly every end carries."""
        if end is None:
            return []
        found = [c.object for c in self.site.about(subject=end, relation="carries") if c.object.kind == "service"]
        found = [s for s in found if len(self.site.about(object=s, relation="carries")) <= COMMON]
        return [(t.text("name") if (t := self.site.get(s)) else "") or s.tag for s in sorted(found)]

    def elsewhere(self, end: Ref | None, place: Ref) -> list[Ref]:
        """Other rows and ports of the same end: the cord from a panel to a switch."""
        if end is None:
            return []
        found = [
            c.object
            for relation in ("ends_at", "plugged")
            for c in self.site.about(subject=end, relation=relation)
            if c.object != place and c.object.kind in ("row", "port")
        ]
        return sorted(set(found))

    def loose(self, room: Ref | None) -> list[Thing]:
        """Closet ends of a room that sit on nothing, in order."""
        return [
            e
            for e in self.site.of_kind("end")
            if e.ref in self.closet and e.ref_of("room") == room and e.ref not in self.placed and self._stand(e.ref)
        ]


def _how(claim: Claim | None) -> tuple[str | None, bool]:
    return (claim.support, claim.contradicted) if claim else (None, False)


def rows_of(site: Site, block: Thing, hanging: Hanging) -> list[Ref]:
    """Every row of a block in order: those counted, those noted, and those that something sits on."""
    own = {t.ref for t in site.of_kind("row") if t.text("state") != "removed"} | set(hanging.on) | set(hanging.clips)
    found = {r for r in own if r.kind == "row" and r.parent_tag and Ref("block", r.parent_tag) == block.ref}
    return sorted(found | {Ref("row", f"{block.ref.tag}.{n}") for n in range(1, int(block.number("rows") or 0) + 1)})


def ports_of(site: Site, unit: Ref, hanging: Hanging) -> list[Ref]:
    """Every port of a unit in order: those noted and those that something is plugged into."""
    own = {t.ref for t in site.of_kind("port") if t.text("state") != "removed"} | set(hanging.on)
    own |= {c.object for c in site.about(relation="fed_by") if c.object.kind == "port"}
    return sorted(r for r in own if r.kind == "port" and r.parent_tag and Ref("unit", r.parent_tag) == unit)

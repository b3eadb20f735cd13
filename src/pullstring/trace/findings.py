"""What the odds mean in the house: runs, chains, rings, clips, hidden splices, cut cables, and ends that go elsewhere.

House rules
-----------
1. Every finding has a chance and the entries it stands on; what is below even is not told.
2. Outlets whose cables are joined by a clip are no chain: lifted, each is on its own end. On one end, or on a ring, they are.
3. A hidden splice is told where the jacket at the outlet is not that of the closet end; behind a plate where both are seen, it is
   there. Where a cable goes on visibly from a plate with a jack it is a chain, not hidden.
4. A cable is cut where a meter finds it open and no outlet is on it, nor likelier on it than elsewhere; how far off is a range.
"""

from __future__ import annotations

import collections
import dataclasses
import functools
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Thing
from pullstring.model.refs import Ref
from pullstring.trace import readings as read
from pullstring.trace.assumed_evidence import weights
from pullstring.trace.evidence import Traced
from pullstring.trace.evidence_blocks import BY_HAND
from pullstring.trace.evidence_ground import arrival
from pullstring.trace.evidence_lengths import lengths
from pullstring.trace.evidence_looks import ALIKE, of_another_family
from pullstring.trace.evidence_said import goes_elsewhere, volts_on
from pullstring.trace.posterior import Posterior
from pullstring.trace.relations import Floats
from pullstring.trace.scene import NO_NET

TOLD = 0.5
"""Ours: a finding below this chance is not told."""


@dataclasses.dataclass(frozen=True)
class Stand:
    """One finding: a code, the things it names, the chance, the entries; a length, or a word of the record, where there is one.

    Codes of outlets: run, chain, ring, no cable, fed from elsewhere, unknown. Codes of ends: goes to, ring, clip, clip lifted,
    splice, cut, coil, stub, elsewhere, plugged, live, protected, coax, fibre, lost, removed, planned, unknown.
    """

    what: str
    about: tuple[Ref, ...]
    chance: float
    because: tuple[str, ...]
    length: Interval | None = None
    says: str = ""


@dataclasses.dataclass(frozen=True)
class Found:
    """A thing and all that was found of it, the main finding first."""

    thing: Ref
    stands: tuple[Stand, ...]

    @property
    def main(self) -> Stand:
        """What it is first of all."""
        return self.stands[0]


@dataclasses.dataclass(frozen=True)
class Findings:
    """Outlets by number, then every closet end in order of its tag, left out or not."""

    outlets: tuple[Found, ...]
    ends: tuple[Found, ...]

    def of(self, ref: Ref) -> Found:
        """What was found of one thing; KeyError where it is neither."""
        found = next((f for f in (*self.outlets, *self.ends) if f.thing == ref), None)
        if found is None:
            raise KeyError(str(ref))
        return found


def findings(traced: Traced, odds: Posterior) -> Findings:
    """Everything that is worth saying of outlets and ends, with its chance and its entries."""
    view = _View(traced, odds)
    outlets = tuple(Found(ref, (view.outlet(o),)) for o, ref in enumerate(traced.outlets))
    ends = [Found(ref, tuple(view.end(e))) for e, ref in enumerate(traced.ends)]
    ends += [
        Found(one.thing, (Stand(one.why, one.about, one.chance, one.because, says=one.says),))
        for one in traced.left_out
        if one.thing.kind == "end"
    ]
    return Findings(outlets, tuple(sorted(ends, key=lambda f: f.thing)))


class _View:
    """One set of odds looked at from outlets and from ends."""

    def __init__(self, traced: Traced, odds: Posterior) -> None:
        self.traced, self.odds = traced, odds
        self.about: Mapping[int, list[read.OfOutlet]] = collections.defaultdict(list)
        for reading in traced.readings:
            if isinstance(reading, read.OfOutlet):
                self.about[reading.outlet].append(reading)
        self.joined = {pair: p for pair, p in odds.joined.items() if p >= TOLD}
        self.by_hand = {
            frozenset(traced.ground.end_number[x] for x in t.ends): t
            for block in traced.blocks
            for t in block.touches
            if t.how in BY_HAND
        }

    @functools.cached_property
    def rings(self) -> tuple[frozenset[int], ...]:
        """For each end those that are likely one with it out of sight, itself included."""
        return tuple(self._ring_of(e) for e in range(len(self.traced.ends)))

    @functools.cached_property
    def on_ring(self) -> Floats:
        """Chance of each outlet to be on the ring of each end."""
        own = self.odds.own[:, :-1]
        return np.stack([own[:, sorted(r)].sum(axis=1) for r in self.rings], axis=1) if self.rings else own

    def _ring_of(self, end: int) -> frozenset[int]:
        found = {end}
        for a, b in self.joined:
            if end in (a, b) and frozenset((a, b)) not in self.by_hand:
                found |= {a, b}
        return frozenset(found)

    def on(self, outlet: int, ends: frozenset[int]) -> float:
        """Chance that the own end of an outlet is one of these."""
        return float(sum(self.odds.own[outlet, e] for e in ends))

    def entries(self, outlet: int, ends: frozenset[int]) -> tuple[str, ...]:
        """Entries that speak of an outlet and one of these ends, or of none where there are none."""
        found: list[str] = []
        for reading in self.about[outlet]:
            if _speaks_of(reading, ends):
                found += reading.because
        return tuple(dict.fromkeys(found))

    def outlet(self, o: int) -> Stand:
        """What an outlet is."""
        none = float(self.odds.own[o, -1])
        if not self.traced.ends:
            return Stand("unknown", (), 0.0, ())
        best = self.rings[int(self.on_ring[o].argmax())] if self.rings else NO_NET
        chance = self.on(o, best)
        if none >= max(chance, TOLD):
            return self._without(o, none)
        if chance < TOLD:
            return Stand("unknown", (), 1 - max(none, chance), self.entries(o, best))
        others = [p for p in range(len(self.traced.outlets)) if p != o and self.on(p, best) >= TOLD]
        about = tuple(self.traced.ends[e] for e in sorted(best)) + tuple(self.traced.outlets[p] for p in others)
        what = "ring" if len(best) > 1 else "chain" if others else "run"
        return Stand(what, about, chance, self.entries(o, best))

    def _without(self, o: int, chance: float) -> Stand:
        ground, outlet = self.traced.ground, self.traced.outlets[o]
        because = self.entries(o, NO_NET)
        from_ = self.traced.tails.get(o, ())
        if from_ or ground.far.get(outlet):
            return Stand("fed from elsewhere", from_, chance, because)
        return Stand("no cable", (), chance, because)

    def end(self, e: int) -> Iterator[Stand]:
        """Everything that is found of an end; what it goes to first, and at least that nobody knows."""
        outlets = [o for o in range(len(self.traced.outlets)) if self.on_ring[o, e] >= TOLD]
        found = [*self._goes_to(e, outlets), *self._joins(e), *self._splices(e, outlets)]
        if not outlets:
            found += [*self._elsewhere(e), *self._cut(e)][:1]
        if volts := volts_on(self.traced.ground, self.traced.ends[e]):
            found.append(Stand("live", (), 1.0, volts))
        yield from found or [self._unknown(e)]

    def _goes_to(self, e: int, outlets: Sequence[int]) -> Iterator[Stand]:
        if outlets:
            ring = self.rings[e]
            because = tuple(dict.fromkeys(x for o in outlets for x in self.entries(o, ring)))
            chance = min(self.on(o, ring) for o in outlets)
            yield Stand("goes to", tuple(self.traced.outlets[o] for o in outlets), chance, because)

    def _joins(self, e: int) -> Iterator[Stand]:
        for (a, b), chance in sorted(self.joined.items()):
            if e not in (a, b):
                continue
            other = self.traced.ends[b if e == a else a]
            touch = self.by_hand.get(frozenset((a, b)))
            because = self._joined_by(a, b)
            what = "ring" if touch is None else "clip" if touch.parted is None else "clip lifted"
            yield Stand(what, (other,), chance, because)

    def _joined_by(self, a: int, b: int) -> tuple[str, ...]:
        """Entries of what was noted, heard or read alike on two ends."""
        found: list[str] = []
        together = self.traced.scene.block_of[a]
        for r in self.traced.readings:
            joined = isinstance(r, read.JoinLeaning) and {r.a, r.b} == {a, b}
            ohms = isinstance(r, read.Ohms) and r.end in (a, b) and together not in r.opened
            found += r.because[:1] if ohms else r.because if joined else ()
        return tuple(dict.fromkeys(found))

    def _splices(self, e: int, outlets: Sequence[int]) -> Iterator[Stand]:
        ground, near = self.traced.ground, self.traced.ground.jacket(self.traced.ends[e])
        if not near:
            return
        strange = [o for o in outlets if self._strange(o, near)]
        both = [o for o in outlets if self._both(o, near)]
        hiding = [o for o in both if _hides(ground.site.things[self.traced.outlets[o]])]
        if not strange or (both and not hiding):
            return
        where = hiding or strange
        far = {ground.jacket(f.ref) for o in strange for f in ground.far.get(self.traced.outlets[o], ())} - {""}
        seen = [f.ref for o in (*where, *strange) for f in ground.far.get(self.traced.outlets[o], ())]
        because = [x for ref in (self.traced.ends[e], *seen) for x in ground.look_entries(ref)]
        chance = min(self.on(o, self.rings[e]) for o in strange)
        about = tuple(self.traced.outlets[o] for o in where)
        yield Stand("splice", about, chance, tuple(dict.fromkeys(because)), says=" ".join([near, *sorted(far)]))

    def _strange(self, o: int, near: str) -> bool:
        """Whether only other jackets than that of the closet end are seen behind a plate."""
        ground = self.traced.ground
        far = [ground.jacket(f.ref) for f in ground.far.get(self.traced.outlets[o], ())]
        alike = [j for j in far if j == near or any({j, near} <= group for group in ALIKE)]
        return bool(far) and all(far) and not alike

    def _both(self, o: int, near: str) -> bool:
        ground = self.traced.ground
        far = {ground.jacket(f.ref) for f in ground.far.get(self.traced.outlets[o], ())} - {""}
        return near in far and len(far) > 1

    def _elsewhere(self, e: int) -> Iterator[Stand]:
        """What speaks for an end going to something that is no outlet."""
        traced, end, free = self.traced, self.traced.ends[e], self._free(e)
        for number, one in goes_elsewhere(traced.ground):
            if number == e and one.chance >= TOLD:
                yield Stand(one.what, one.about, min(one.chance, free), one.because)
        sent = [s for s in traced.sent if s.end == end and s.level]
        for tone in sent:
            claim = arrival(traced.ground.site, tone.to)
            if claim is not None and claim.object.kind == "stop" and claim.object.key == "coil":
                yield Stand("coil", (tone.to,), free, (*tone.because, *claim.entries))
        if sent:
            because = tuple(x for s in sent for x in s.because)
            yield Stand("elsewhere", tuple(dict.fromkeys(s.to for s in sent)), free, because)
        yield from self._same_look(e)

    def _same_look(self, e: int) -> Iterator[Stand]:
        """A far end at no outlet that alone has the jacket which this end alone has."""
        ground, end = self.traced.ground, self.traced.ends[e]
        near = ground.jacket(end)
        same = [x for x in (*ground.ends, *(o for o in ground.out if o.kind == "end")) if ground.jacket(x) == near]
        there = [f for f in ground.loose if near and ground.jacket(f.ref) == near]
        if len(same) == 1 and len(there) == 1:
            because = (*ground.look_entries(end), *ground.look_entries(there[0].ref))
            yield Stand("elsewhere", (there[0].ref,), self._free(e) * weights()["jacket_same"], because)

    def _cut(self, e: int) -> Iterator[Stand]:
        traced, end = self.traced, self.traced.ends[e]
        length = lengths(traced.ground.site).get(end)
        chance = self._free(e) * weights()["cut_if_no_outlet"]
        best_of = [o for o in range(len(traced.outlets)) if int(self.odds.own[o].argmax()) == e]
        if length and length.to_open and chance >= TOLD and not best_of:
            yield Stand("cut", (), chance, length.because, length.interval)

    def _free(self, e: int) -> float:
        """Chance that no outlet is on an end (outlets taken as independent)."""
        return float((1 - self.odds.own[:, e]).prod())

    def _unknown(self, e: int) -> Stand:
        """Nobody knows; which kind of thing it may be, and what speaks of it at all."""
        ground, end = self.traced.ground, self.traced.ends[e]
        says = ground.jacket(end) if of_another_family(ground.jacket(end)) else ""
        likely = sorted(range(len(self.traced.outlets)), key=lambda o: -self.odds.own[o, e])
        about = tuple(self.traced.outlets[o] for o in likely[:3] if self.odds.own[o, e] >= RIVAL)
        return Stand("unknown", about, self._free(e), ground.look_entries(end), says=says)


RIVAL = 0.05
"""Ours: an outlet is named beside an end of which nobody knows from this chance on."""


def _speaks_of(reading: read.OfOutlet, ends: frozenset[int]) -> bool:
    """Whether a reading of an outlet speaks for one of some ends, or for no cable where there are none."""
    if isinstance(reading, read.Tone):
        return reading.end in ends and reading.level > 0
    if isinstance(reading, read.Remote):
        return reading.end in ends and reading.hit
    if isinstance(reading, read.Plugs):
        return bool(ends & frozenset(reading.words)) and reading.bits > 0
    if isinstance(reading, read.Bundle):
        return bool(ends & reading.ends) and reading.level > 0
    return max((reading.log_weight.get(e, 0.0) for e in ends), default=reading.log_none) > 0


def _hides(outlet: Thing) -> bool:
    """Whether a plate has no jack, so that what is behind it is hidden."""
    return outlet.number("positions") == 0 or "blank" in outlet.text("plate").casefold()

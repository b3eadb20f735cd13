"""Present practice as ways of working in the world: fixed rounds with k numbered remotes, and one tone with every end probed."""

from __future__ import annotations

import dataclasses
from collections.abc import Generator, Sequence
from typing import Any

from bench.tracing_world.practice import LOUD, tour_of
from bench.tracing_world.site import Site
from bench.tracing_world.tours import walking_order
from bench.tracing_world.truth import Ends
from pullstring.trace.readings import Remote, Tone


@dataclasses.dataclass(frozen=True)
class Step:
    """An act of a fixed round."""

    kind: str
    at: int
    what: int | None = None


Steps = Generator[tuple[Step, ...], Sequence[Remote], None]


class FixedRounds:
    """Take off the old batch, place the new, clip; an outlet without an answer gets the tagged ends again, for it alone."""

    def __init__(self, site: Site, remotes: int) -> None:
        self.site, self.remotes = site, remotes
        self.found: list[Ends] = [frozenset()] * site.outlets
        self._steps = self._rounds()
        self._next: tuple[Step, ...] | None = next(self._steps, None)
        self._asked = False

    def next_acts(self) -> tuple[Step, ...]:
        self._asked = True
        return self._next or ()

    def told(self, readings: Sequence[Any], *, position: int, seconds: float) -> None:
        """Go on with what was clipped; what is told before anything was asked for, such as old labels, is not looked at."""
        if not self._asked:
            return
        self._asked = False
        try:
            self._next = self._steps.send([r for r in readings if isinstance(r, Remote)])
        except StopIteration:
            self._next = None

    def answer(self) -> tuple[Ends, ...]:
        return tuple(self.found)

    def claimed(self) -> tuple[float, ...]:
        """Practice claims to be right."""
        return (1.0,) * self.site.outlets

    def _rounds(self) -> Steps:
        tour, old, tagged, at = tour_of(self.site), list[int](), list[int](), self.site.closet
        for first in range(0, len(tour), self.remotes):
            batch = tour[first : first + self.remotes]
            order = walking_order(self.site.travel_s, at, old)
            yield (
                *(Step("take off remote", o) for o in order),
                *(Step("place remote", o, number) for number, o in enumerate(batch)),
            )
            at = self.site.closet
            untagged = [e for e in range(self.site.ends) if e not in tagged]
            hits = yield from self._clipped(untagged)
            for outlet in batch:
                if not any(o == outlet for o, _ in hits):
                    again = yield from self._clipped(tagged)
                    hits += [(o, e) for o, e in again if o == outlet]
            for outlet in batch:
                self.found[outlet] = frozenset(e for o, e in hits if o == outlet)
            tagged += sorted({e for _, e in hits} - set(tagged))
            yield tuple(Step("tag", o) for o in batch)
            old = batch
        yield tuple(Step("take off remote", o) for o in walking_order(self.site.travel_s, at, old))

    def _clipped(self, ends: Sequence[int]) -> Generator[tuple[Step, ...], Sequence[Remote], list[tuple[int, int]]]:
        """Outlet and end of every number read on some ends."""
        readings = (yield tuple(Step("clip", e) for e in ends)) if ends else ()
        return [(r.outlet, r.end) for r in readings if r.hit]


class FixedTone:
    """Outlet by outlet in walking order, the tone on it, all ends probed in rising number; the answer is every loud end."""

    def __init__(self, site: Site) -> None:
        self.site, self._left = site, tour_of(site)
        self.found: list[Ends] = [frozenset()] * site.outlets

    def next_acts(self) -> tuple[Step, ...]:
        if not self._left:
            return ()
        outlet = self._left.pop(0)
        touches = (Step("touch", e) for e in range(self.site.ends))
        return Step("place tone", outlet), *touches, Step("tag", outlet), Step("take off tone", outlet)

    def told(self, readings: Sequence[Any], *, position: int, seconds: float) -> None:
        loud = [(r.outlet, r.end) for r in readings if isinstance(r, Tone) and r.level == LOUD]
        for outlet in {o for o, _ in loud}:
            self.found[outlet] = frozenset(e for o, e in loud if o == outlet)

    def answer(self) -> tuple[Ends, ...]:
        return tuple(self.found)

    def claimed(self) -> tuple[float, ...]:
        """Practice claims to be right."""
        return (1.0,) * self.site.outlets

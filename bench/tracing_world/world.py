"""The hidden truth behind instruments, a clock and a place where one stands; acts cost seconds and give readings.

The same placement at the same point gives the same level as long as the source stays; numbers and plugs are drawn anew.
"""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np

from bench.tracing_world.numbers import PAIRS, Instruments, Levels, Times
from bench.tracing_world.site import Site
from bench.tracing_world.trouble import EVERYWHERE, NO_TROUBLE, Trouble
from bench.tracing_world.truth import Ends, Truth
from pullstring.trace import readings as read


class NotPossible(AssertionError):
    """An act that cannot be done: where one stands, what the bag holds, what is in place."""


@dataclasses.dataclass(frozen=True)
class Bag:
    """What may be used: numbered remotes for outlets, numbered marks and coded plugs for ends, a tone."""

    remotes: int = 0
    marks: int = 0
    plugs: int = 0
    tone: bool = False


class World:
    """One job. Nothing of the truth leaves it but readings."""

    def __init__(  # every hidden thing is an input
        self,
        site: Site,
        truth: Truth,
        *,
        bag: Bag,
        instruments: Instruments,
        times: Times,
        rng: np.random.Generator,
        trouble: Trouble = NO_TROUBLE,
    ) -> None:
        self.site, self.bag, self.times = site, bag, times
        self._nets, self._instruments, self._rng, self._trouble = truth.nets, instruments, rng, trouble
        self._beside = beside(site.bundles)
        self.position, self.clock_s, self.acts = site.closet, 0.0, 0
        self.remotes: dict[int, int] = {}
        self.marks: dict[int, int] = {}
        self.words: dict[int, int] = {}
        self.tagged: set[int] = set()
        self.tone_at: int | None = None
        self._placement = 0
        self._levels: dict[str, int] = {}
        self._number = itertools.count()

    def said_before(self) -> tuple[read.Leaning, ...]:
        """Old labels, as far as they are believed: right with `label_right`, else any other end alike."""
        right, others = self._trouble.label_right, max(1, self.site.ends - 1)
        return tuple(
            read.Leaning(
                key=f"label of {label.outlet}",
                outlet=label.outlet,
                log_weight={label.end: math.log(right / (1 - right) * others)},
                source=f"label {label.outlet}",
            )
            for label in self._trouble.labels
        )

    def walk(self, to: int) -> None:
        if not 0 <= to <= self.site.closet:
            raise NotPossible(f"place {to} is none")
        if to != self.position:
            enter_s = self.times.enter_outlet if to != self.site.closet else 0.0
            self.clock_s += float(self.site.travel_s[self.position, to]) + enter_s
            self.position = to

    def place_tone(self, outlet: int) -> None:
        if not self.bag.tone or self.tone_at is not None:
            raise NotPossible("there is no tone in the bag")
        self._act(outlet, self.times.put_source)
        self.tone_at, self._placement = outlet, self._placement + 1

    def take_off_tone(self, outlet: int) -> None:
        if self.tone_at != outlet:
            raise NotPossible(f"there is no tone on outlet {outlet}")
        self._act(outlet, self.times.take_source)
        self.tone_at = None

    def place_remote(self, outlet: int, number: int) -> None:
        if not 0 <= number < self.bag.remotes or number in self.remotes:
            raise NotPossible(f"remote {number} is not in the bag")
        if outlet in self.remotes.values():
            raise NotPossible(f"there is a remote on outlet {outlet}")
        self._act(outlet, self.times.put_source)
        self.remotes[number] = outlet

    def take_off_remote(self, outlet: int) -> None:
        number = next((n for n, o in self.remotes.items() if o == outlet), None)
        if number is None:
            raise NotPossible(f"there is no remote on outlet {outlet}")
        self._act(outlet, self.times.take_source)
        del self.remotes[number]

    def touch(self, end: int) -> read.Tone:
        """Probe on one end while a tone is placed."""
        outlet = self._toned(self.times.probe_end, (end,))
        key = f"tone {self._placement} at {outlet}: {end}"
        level = self._kept(key, (end,))
        return read.Tone(key=key, outlet=outlet, end=end, level=level, source="tone", when=self.clock_s)

    def touch_set(self, ends: Ends) -> read.Bundle:
        """Probe on several ends at once: the loudest of them."""
        outlet = self._toned(self.times.probe_set, ends)
        key = f"tone {self._placement} at {outlet}: set {sorted(ends)}"
        level = self._kept(key, ends)
        return read.Bundle(key=key, outlet=outlet, ends=ends, level=level, source="tone", when=self.clock_s)

    def clip(self, end: int) -> tuple[read.Remote, ...]:
        """Reader on one end: every placed remote answers or does not."""
        self._act(self.site.closet, self.times.clip_end, (end,))
        return tuple(self._answer(o, end, number, f"remote {number}") for number, o in sorted(self.remotes.items()))

    def mark(self, end: int, number: int) -> None:
        """Numbered mark on an end; one that sits elsewhere is moved, what the end had falls off."""
        if not 0 <= number < self.bag.marks:
            raise NotPossible(f"mark {number} is not in the bag")
        self._act(self.site.closet, self.times.put_mark, (end,))
        for other in [e for e, n in self.marks.items() if n == number]:
            del self.marks[other]
        self.words.pop(end, None)
        self.marks[end] = number

    def plug(self, end: int, word: int) -> None:
        """Coded plug on an end; bit k of the word shorts pair k."""
        self.words.pop(end, None)
        if not 0 < word < 1 << PAIRS or len(self.words) >= self.bag.plugs:
            raise NotPossible(f"there is no plug with word {word} left in the bag")
        self._act(self.site.closet, self.times.put_mark, (end,))
        self.marks.pop(end, None)
        self.words[end] = word

    def read_outlet(self, outlet: int) -> tuple[read.Remote | read.Plugs, ...]:
        """Tester at an outlet: all numbers on marked ends, and which pairs are closed by plugs."""
        self._act(outlet, self.times.read_outlet)
        found: list[read.Remote | read.Plugs] = [
            self._answer(outlet, end, number, f"mark {number}") for end, number in sorted(self.marks.items())
        ]
        if self.words:
            key, bits = f"plugs {next(self._number)}", self._closed(outlet)
            told = {"source": "tester", "when": self.clock_s}
            found.append(read.Plugs(key=key, outlet=outlet, words=dict(self.words), pairs=PAIRS, bits=bits, **told))
        return tuple(found)

    def tag(self, outlet: int) -> None:
        """A tag is written wherever one stands."""
        self._act(self.position, self.times.tag_outlet)
        self.tagged.add(outlet)

    def close(self) -> None:
        """End of the job: what was not tagged is tagged now; nothing may be left on an outlet."""
        for outlet in range(self.site.outlets):
            if outlet not in self.tagged:
                self.tag(outlet)
        if self.remotes or self.tone_at is not None:
            raise NotPossible(f"left behind: remotes on {sorted(self.remotes.values())}, tone on {self.tone_at}")

    def _act(self, at: int, takes_s: float, ends: Ends | tuple[int, ...] = ()) -> None:
        if self.position != at:
            raise NotPossible(f"one stands at {self.position}, not at {at}")
        if any(not 0 <= e < self.site.ends for e in ends):
            raise NotPossible(f"ends {sorted(ends)} are not all there")
        self.clock_s += takes_s
        self.acts += 1

    def _toned(self, takes_s: float, ends: Ends | tuple[int, ...]) -> int:
        if self.tone_at is None or not ends:
            raise NotPossible("a probe needs a placed tone and an end")
        self._act(self.site.closet, takes_s, ends)
        return self.tone_at

    def _kept(self, key: str, ends: Ends | tuple[int, ...]) -> int:
        """The level stays, but a flat battery gives none."""
        assert self.tone_at is not None
        if key not in self._levels:
            draws = self._rng.random(len(ends))
            levels = [level(self._chances(self.tone_at, e), float(d)) for e, d in zip(sorted(ends), draws, strict=True)]
            self._levels[key] = 0 if self._trouble.is_flat(self.clock_s) else max(levels)
        return self._levels[key]

    def _chances(self, outlet: int, end: int) -> Levels:
        net = self._nets[outlet]
        if end in net:
            return self._instruments.connected
        near = not net.isdisjoint(self._beside.get(end, ()))
        return self._instruments.neighbour if near else self._instruments.elsewhere

    def _answer(self, outlet: int, end: int, number: int, source: str) -> read.Remote:
        on = end in self._nets[outlet]
        chance = self._instruments.number_read if on else self._instruments.number_ghost
        hit = bool(self._rng.random() < chance)
        if (stuck := self._trouble.of_number(number)) is not None:
            hit = stuck == EVERYWHERE
        key = f"{source}, reading {next(self._number)}"
        return read.Remote(key=key, outlet=outlet, end=end, hit=hit, source=source, when=self.clock_s)

    def _closed(self, outlet: int) -> int:
        shorted = 0
        for end in self._nets[outlet]:
            shorted |= self.words.get(end, 0)
        bits = 0
        for pair, draw in enumerate(self._rng.random(PAIRS)):
            yes = self._instruments.pair_closed if shorted >> pair & 1 else self._instruments.pair_ghost
            bits |= int(draw < yes) << pair
        return bits


def level(chances: Levels, draw: float) -> int:
    """Nothing, faint or loud, for a number drawn evenly in [0, 1)."""
    return int(draw >= chances[0]) + int(draw >= chances[0] + chances[1])


def beside(bundles: tuple[tuple[int, ...], ...]) -> dict[int, set[int]]:
    """For each end the ends next to it in its bundle."""
    found: dict[int, set[int]] = {}
    for bundle in bundles:
        for a, b in itertools.pairwise(bundle):
            found.setdefault(a, set()).add(b)
            found.setdefault(b, set()).add(a)
    return found

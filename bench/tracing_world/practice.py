"""Present practice with one tone, step by step: from outlet to outlet, probing in the closet until it is loud."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from bench.tracing_world.numbers import Instruments, Times
from bench.tracing_world.site import Site
from bench.tracing_world.tours import walking_order
from bench.tracing_world.truth import Ends, Truth
from bench.tracing_world.world import beside

LOUD = 2
Levels = npt.NDArray[np.int64]


@dataclasses.dataclass(frozen=True)
class Done:
    """What a way of working took and what it says of each outlet."""

    seconds: float
    answer: tuple[Ends, ...]
    acts: int = 0

    def right(self, truth: Truth) -> int:
        """Outlets of which the whole set is named."""
        return sum(a == n for a, n in zip(self.answer, truth.nets, strict=True))

    def any_end(self, truth: Truth) -> int:
        """Outlets of which one end is named, or rightly none."""
        pairs = zip(self.answer, truth.nets, strict=True)
        return sum(bool(a & n) or a == n for a, n in pairs)


def drawn_levels(site: Site, truth: Truth, instruments: Instruments, rng: np.random.Generator) -> Levels:
    """Level at every end while the tone is on each outlet in turn, one placement each."""
    relation = np.zeros((site.outlets, site.ends), dtype=np.int64)
    near = beside(site.bundles)
    for outlet, net in enumerate(truth.nets):
        for end in net:
            relation[outlet, list(near.get(end, ()))] = 1
        relation[outlet, list(net)] = 2
    chances = np.array([instruments.elsewhere, instruments.neighbour, instruments.connected])[relation]
    draws = rng.random(relation.shape)
    found: Levels = (draws >= chances[:, :, 0]).astype(np.int64) + (draws >= chances[:, :, :2].sum(axis=2))
    return found


def until_found(site: Site, levels: Levels, times: Times, tour: Sequence[int]) -> Done:
    """Each outlet in turn: unlabelled ends first, then labelled ones; the first loud end is the answer."""
    return _outlet_by_outlet(site, levels, times, tour, stop=True)


def probe_every_end(site: Site, levels: Levels, times: Times, tour: Sequence[int]) -> Done:
    """The same, but all ends are probed; the answer is the first loud end, on a block with all loud ends of the block."""
    return _outlet_by_outlet(site, levels, times, tour, stop=False)


def _outlet_by_outlet(site: Site, levels: Levels, times: Times, tour: Sequence[int], *, stop: bool) -> Done:
    block_of = {end: block for block in site.blocks for end in block}
    labelled: list[int] = []
    answer: list[Ends] = [frozenset()] * site.outlets
    seconds, acts, at, fresh = 0.0, 0, site.closet, list(range(site.ends))
    for outlet in tour:
        heard = levels[outlet]
        order = [*fresh, *labelled]
        loud = next((n for n, end in enumerate(order) if heard[end] == LOUD), None)
        probed = len(order) if loud is None or not stop else loud + 1
        if loud is not None:
            found = order[loud]
            together = () if stop else block_of.get(found, ())
            answer[outlet] = frozenset({found, *(e for e in together if heard[e] == LOUD)})
            for end in (found, *sorted(answer[outlet] - {found})):
                if end in fresh:
                    fresh.remove(end)
                    labelled.append(end)
        seconds += float(site.travel_s[at, outlet]) + 2 * float(site.travel_s[site.closet, outlet])
        seconds += 2 * times.enter_outlet + times.put_source + times.take_source + times.tag_outlet
        seconds += probed * times.probe_end
        acts += probed + 3
        at = outlet
    return Done(seconds, tuple(answer), acts)


def tour_of(site: Site) -> list[int]:
    """Walking order over all outlets from the closet."""
    return walking_order(site.travel_s, site.closet, range(site.outlets))

"""Runs judged with what a receiver has to spare over them: the full answer of what a run can carry, and the next test.

Heavier than `judged`, for it needs curves over frequency; the other rooms do with `judged`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from pullstring.copper.by_standard import promised
from pullstring.copper.cables import PAIRS_NEEDED
from pullstring.copper.capability import Capability, Margin, Reason, RunFacts, judge_data, usable_pairs
from pullstring.copper.estimate import margins
from pullstring.copper.judged import JudgedRun, judged_runs
from pullstring.copper.made_of import Made, made_of
from pullstring.copper.makeup import Part, RateMargin
from pullstring.copper.next_test import Worth, worth_testing
from pullstring.copper.phy_limits import phy_needs
from pullstring.copper.read import Said, readings_of_run
from pullstring.model.asbuilt import Site

REASON_OF = {
    Part.LOSS: Reason.LOSS,
    Part.NOTCH: Reason.NOTCH,
    Part.CROSSTALK: Reason.CROSSTALK,
    Part.DELAY: Reason.DELAY,
}


@dataclasses.dataclass(frozen=True)
class EstimatedRun:
    """A judged run with its makeup, its margins by kind of Ethernet, what each reading says, and the tests worth doing."""

    judged: JudgedRun
    made: Made
    capability: Capability
    margins: tuple[RateMargin, ...]
    said: tuple[Said, ...]
    worth: tuple[Worth, ...]
    two_pairs_trap: bool


def estimated_runs(site: Site, *, kit: Iterable[str]) -> tuple[EstimatedRun, ...]:
    """All runs of a site, in the order of their closet ends, for somebody with this kit."""
    have = frozenset(kit)
    return tuple(estimate(site, judged, kit=have) for judged in judged_runs(site))


def estimate(site: Site, judged: JudgedRun, *, kit: Iterable[str]) -> EstimatedRun:
    """One run with all that can be said of it."""
    facts = judged.facts
    made = made_of(site, judged.run, facts)
    found = margins(made.makeup)
    hottest = [c.number("temperature_c") for ref in judged.run.cables if (c := site.get(ref))]
    facts = dataclasses.replace(
        facts,
        margins=_by_rate(found),
        by_standard=promised(made.makeup, hottest_c=max((t for t in hottest if t is not None), default=None)),
    )
    return EstimatedRun(
        judged,
        made,
        judged.capability if judged.out_of_use else judge_data(facts),
        found,
        readings_of_run(site, judged.run),
        () if judged.out_of_use else worth_testing(facts, kit),
        _stops_at_two(facts) and not judged.out_of_use,
    )


def _stops_at_two(facts: RunFacts) -> bool:
    """Whether two or three pairs are all there is: two gigabit ports then agree on 1000 and the link never comes up."""
    usable = usable_pairs(facts)
    return usable is not None and PAIRS_NEEDED[100] <= usable < PAIRS_NEEDED[1000]


def _by_rate(found: Iterable[RateMargin]) -> dict[int, Margin]:
    """The margins of the usual kinds over two and four pairs, by rate [Mb/s]."""
    usual = {phy_needs(mbps).name for mbps in (10, 100, 1000)}
    return {
        m.mbps: Margin(m.margin.low, m.margin.high, REASON_OF[m.part]) for m in found if m.name in usual and m.margin
    }


def kit_at_hand(site: Site) -> frozenset[str]:
    """Kinds of kit that the record says are carried."""
    return frozenset(k.text("style") for k in site.of_kind("kit") if k.stands and k.text("style"))

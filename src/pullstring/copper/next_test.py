"""The cheapest test that could change what is said of a run: every unknown is tried at its best and at its worst.

A test counts only if one of its two ends would give another headline than now. What may be done at all on a live or
protected line (no tone, ohms or device before volts) is asked before this, with the record at hand.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import importlib.resources
from collections.abc import Callable, Iterable, Mapping

from pullstring.copper.cables import PAIRS_NEEDED, RATES_MBPS, cable_kind
from pullstring.copper.capability import Capability, RunFacts, judge_data, usable_pairs
from pullstring.model.answers import Band, Interval

SHORT_RUN = Interval(3, 10, "m")
LONG_RUN = Interval(150, 200, "m")
BEST_JACKET, WORST_JACKET = "cat6", "quad"
"""The ends at which an unknown is tried; ours, assumed: what an old house may hold."""


@dataclasses.dataclass(frozen=True)
class Test:
    """One test: likely minutes, kinds of kit of which one is needed (none: eyes and hands), and what it settles."""

    name: str
    minutes: float
    kit: frozenset[str]
    settles: str


@dataclasses.dataclass(frozen=True)
class Worth:
    """A test with the headline it could lead to at worst and at best, and whether the kit for it is at hand."""

    test: Test
    worst: Capability
    best: Capability
    at_hand: bool
    could_raise: bool


@functools.cache
def tests_at_hand() -> tuple[Test, ...]:
    """All tests, cheapest first."""
    text = importlib.resources.files("pullstring.copper").joinpath("tests_at_hand.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    found = [Test(r["test"], float(r["minutes"]), frozenset(r["kit"].split("|")) - {""}, r["settles"]) for r in rows]
    return tuple(sorted(found, key=lambda test: test.minutes))


def worth_testing(facts: RunFacts, kit: Iterable[str]) -> tuple[Worth, ...]:
    """The tests that could change the headline of a run: kit at hand first, then what could raise it, then the cheapest."""
    now, have = judge_data(facts), frozenset(kit)
    found = []
    for test in tests_at_hand():
        ends = _ENDS[test.settles](facts)
        if ends is None:
            continue
        worst, best = (judge_data(end) for end in ends)
        if any(_headline(end) != _headline(now) for end in (worst, best)):
            raises = _headline(best) > _headline(now)
            found.append(Worth(test, worst, best, not test.kit or bool(test.kit & have), raises))
    return tuple(sorted(found, key=lambda worth: (not worth.at_hand, not worth.could_raise)))


def _headline(said: Capability) -> tuple[int, int]:
    return -list(Band).index(said.band), said.mbps


_Ends = tuple[RunFacts, RunFacts] | None


def _length(facts: RunFacts) -> _Ends:
    if facts.length is None:
        return dataclasses.replace(facts, length=LONG_RUN), dataclasses.replace(facts, length=SHORT_RUN)
    if facts.length.high <= facts.length.low * 1.2:
        return None
    ends = (Interval.exact(x, "m") for x in (facts.length.high, facts.length.low))
    longest, shortest = (dataclasses.replace(facts, length=end) for end in ends)
    return longest, shortest


def _jacket(facts: RunFacts) -> _Ends:
    if facts.kind.known:
        return None
    worst, best = (dataclasses.replace(facts, kind=cable_kind(name)) for name in (WORST_JACKET, BEST_JACKET))
    return worst, best


def _pairs(facts: RunFacts) -> _Ends:
    if facts.whole_pairs is not None:
        return None
    most = usable_pairs(facts)
    return dataclasses.replace(facts, whole_pairs=0), dataclasses.replace(
        facts, whole_pairs=4 if most is None else most
    )


def _taps(facts: RunFacts) -> _Ends:
    return (facts, dataclasses.replace(facts, taps=0, margins={})) if facts.taps else None


def _rate(facts: RunFacts) -> _Ends:
    usable = usable_pairs(facts)
    fits = [mbps for mbps in RATES_MBPS if usable is None or usable >= PAIRS_NEEDED[mbps]]
    if not fits or facts.ran_mbps is not None and facts.ran_mbps >= fits[-1]:
        return None
    return facts, dataclasses.replace(facts, ran_mbps=float(fits[-1]))


_ENDS: Mapping[str, Callable[[RunFacts], _Ends]] = {
    "length": _length,
    "jacket": _jacket,
    "pairs": _pairs,
    "taps": _taps,
    "rate": _rate,
}

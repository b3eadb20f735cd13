"""What a run of a site is made of: its cables in order, the joints between them, what hangs on it, how warm it may be.

What nobody noted is taken at its whole spread and told in `assumed`: a length of 0 to 90 m, 10 to 30 degrees, 0 to 13 mm of
untwisted wire at each end. A cord that is recorded with both ends counts as a piece of stranded cable. A length beyond what any
model holds for is taken at that bound: nothing gets over it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from pullstring.copper.capability import RunFacts
from pullstring.copper.lengths import TEMPERATURE_C, WARMED_C, of_cable, settle
from pullstring.copper.limits import untwisted_limit
from pullstring.copper.makeup import LONGEST_M, Branch, Makeup, Splice, Stretch
from pullstring.copper.series import cords_of, hanging_on
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Site, Thing
from pullstring.model.refs import Ref
from pullstring.model.wiring import CORDS, Run, ends_of

UNKNOWN_M = Interval(0, 90, "m", ("length_m",))
"""A run of unknown length: up to a permanent link. TIA-568 (read in published texts)."""

UNKNOWN_BRANCH_M = Interval(0, 30, "m", ("branch_m",))
"""A branch of unknown length. Ours, assumed: from the block to the furthest plate of a floor."""


@dataclasses.dataclass(frozen=True)
class Made:
    """A run as its estimate sees it, the entries that say so, and what was taken for granted."""

    makeup: Makeup
    because: tuple[str, ...]
    assumed: tuple[str, ...]


def made_of(site: Site, run: Run, facts: RunFacts) -> Made:
    """The makeup of a run, of whose length and whole pairs so much is known."""
    lengths = _lengths(site, run, facts.length)
    because: list[str] = []
    assumed: list[str] = []
    parts: list[Stretch | Branch | Splice] = []
    joints = _joints(site, run)
    for number, (cable, metres) in enumerate(zip(run.cables, lengths, strict=True)):
        if number:
            joint = joints[number - 1]
            parts.append(Splice(joint.text("style") or "splice" if joint else "splice"))
            because += joint.entries if joint else ()
        parts.append(_stretch(site, cable, metres or UNKNOWN_M, because, assumed))
        if metres is None:
            assumed.append("unknown_length_0_90")
    for cable in hanging_on(site, run):
        metres = settle(of_cable(site, cable)).interval
        if metres is None:
            metres = UNKNOWN_BRANCH_M
            assumed.append("unknown_branch_0_30")
        parts.append(Branch(_stretch(site, cable, metres, because, assumed), None))
    for cord in cords_of(site, run):
        metres = settle(of_cable(site, cord)).interval
        if metres is not None:
            parts.append(_stretch(site, cord, metres, because, assumed))
    return Made(Makeup(tuple(parts), facts.whole_pairs), tuple(dict.fromkeys(because)), tuple(dict.fromkeys(assumed)))


def _lengths(site: Site, run: Run, length: Interval | None) -> list[Interval | None]:
    """A length for each cable: of a single one that of the run; of several their own, and what is left over for one unknown."""
    if len(run.cables) == 1:
        return [length]
    own = [settle(of_cable(site, cable)).interval for cable in run.cables]
    if own.count(None) != 1 or length is None:
        return own
    known = [metres for metres in own if metres is not None]
    left = Interval(
        max(length.low - sum(m.high for m in known), 0.0),
        max(length.high - sum(m.low for m in known), 0.0),
        "m",
        length.inputs,
    )
    return [left if metres is None else metres for metres in own]


def _joints(site: Site, run: Run) -> list[Thing | None]:
    """The joint between each cable of a run and the next; None where only a claim joins them."""
    found: list[Thing | None] = []
    for one, other in zip(run.cables, run.cables[1:], strict=False):
        ends = {*ends_of(site, one)}, {*ends_of(site, other)}
        there = (j for j in site.of_kind("joint") if j.stands and all(set(j.refs_of("ends")) & e for e in ends))
        found.append(next(there, None))
    return found


def _stretch(site: Site, cable: Ref, metres: Interval, because: list[str], assumed: list[str]) -> Stretch:
    thing = site.get(cable)
    fields = thing.fields if thing else {}
    jacket = thing.text("jacket") if thing else ""
    hottest = thing.number("temperature_c") if thing else None
    gauge = thing.number("gauge_awg") if thing else None
    because += [fields[n].last.entry for n in ("jacket", "gauge_awg", "temperature_c", "screened") if n in fields]
    if hottest is None:
        assumed.append("temperature_10_30")
    return Stretch(
        jacket=jacket or "unknown",
        length_m=Interval(min(metres.low, LONGEST_M), min(metres.high, LONGEST_M), "m", metres.inputs),
        temperature_c=TEMPERATURE_C if hottest is None else Interval(hottest - WARMED_C, hottest, "C"),
        untwisted_m=_untwisted(site, cable, because, assumed),
        awg=Interval.exact(gauge, "AWG") if gauge is not None and 0 <= gauge <= 40 else None,
        cord=jacket in CORDS,
        screened=thing is not None and thing.text("screened") == "yes",
    )


def _untwisted(site: Site, cable: Ref, because: list[str], assumed: list[str]) -> Interval:
    """Both ends together: as noted, else from none to what the standard allows. [m]"""
    low = high = 0.0
    ends: Sequence[Ref | None] = (*ends_of(site, cable), None, None)[:2]
    for end in ends:
        thing = site.get(end) if end else None
        noted = thing.number("untwisted_m") if thing else None
        if thing is not None and noted is not None:
            low, high = low + noted, high + noted
            because.append(thing.fields["untwisted_m"].last.entry)
        else:
            high += untwisted_limit(category="5e").value
            assumed.append("untwist_by_standard")
    return Interval(low, high, "m", ("untwisted_m",) if high > low else ())

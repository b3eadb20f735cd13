"""First judgement: which data rate a run may carry, from its jacket, its pairs, its joints and its length.

House rules
-----------
1. A device that ran at a rate outranks what the jacket, the joints and the length would say.
2. Every other rule can only lower a band. So a longer run, one more tap or one pair less never raises it.
3. Two whole pairs stop at 100 Mb/s, whatever ran before: then two accounts stand against each other.
4. Poor evidence is worth `possible`: nobody has looked at the pairs, or knows the length or the jacket.
   A meter cannot see crosstalk either, so even a whole data cable is `likely`, never promised.
5. The margin of the receiver over what this very wire leaves is worth `likely` when its worst end is above zero, `possible` when
   only its best end is; a rate that the standard itself promises over such a run needs no margin.
6. No standard allows a splice or a tap in a data run, so with one it is `possible` at best, and only with all conductors
   mapped and a margin to show for it.

Reasons are codes; the sentences live with the words of the pages.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterator, Mapping

from pullstring.copper.cables import PAIRS_NEEDED, RATES_MBPS, CableKind
from pullstring.model.answers import Band, Interval

LINK_M = 90.0
"""Longest fixed run of a standard link. [m] TIA-568 permanent link (read in a published text)."""

REACH_M = {10: 183.0, 100: 100.0, 1000: 100.0}
"""Beyond this a rate is unlikely. [m] 100 m: IEEE 802.3 clauses 25 and 40 (from memory); 183 m: the 1000 ns
of clause 14 at 545 ns per 100 m (computed here)."""


class Reason(enum.StrEnum):
    """Why a rate has its band."""

    RAN = "ran"
    RAN_AGAINST_PAIRS = "ran_against_pairs"
    TOO_FEW_PAIRS = "too_few_pairs"
    PAIRS_UNKNOWN = "pairs_unknown"
    TAPPED = "tapped"
    SPLICED = "spliced"
    UNTWISTED = "untwisted"
    KIND = "kind"
    KIND_UNKNOWN = "kind_unknown"
    LOSS = "loss"
    NOTCH = "notch"
    CROSSTALK = "crosstalk"
    DELAY = "delay"
    LENGTH = "length"
    LENGTH_UNKNOWN = "length_unknown"
    OUT_OF_USE = "out_of_use"


@dataclasses.dataclass(frozen=True)
class Margin:
    """What a receiver has to spare over a run, worst to best, and the part of the run that decides it. [dB]"""

    low_db: float
    high_db: float
    part: Reason


@dataclasses.dataclass(frozen=True)
class RunFacts:
    """All that a judgement stands on.

    Parameters
    ----------
    kind : CableKind
        The worst jacket of the run.
    whole_pairs : int or None
        Pairs found continuous and free of shorts from end to end; None if nobody has looked. [pairs]
    twisted : bool or None
        As seen at the ends; None if not looked at, then the kind decides.
    joints : int
        Splices and loops in the run. [count]
    taps : int
        Branches left on it. [count]
    shorted_pairs : int
        Pairs known to be damaged; counts only while `whole_pairs` is None. [pairs]
    ran_mbps : float or None
        Highest rate at which a device ran over it, not stale; None if none did. [Mb/s]
    length : Interval or None
        Length of the run; None if not known. [m]
    margins : mapping
        By rate [Mb/s]; a rate without one has no model, and then only the other rules speak.
    by_standard : frozenset of int
        Rates that a standard promises over this very run. [Mb/s]
    """

    kind: CableKind
    whole_pairs: int | None
    twisted: bool | None
    joints: int
    taps: int
    shorted_pairs: int
    ran_mbps: float | None
    length: Interval | None
    margins: Mapping[int, Margin] = dataclasses.field(default_factory=dict)
    by_standard: frozenset[int] = frozenset()


@dataclasses.dataclass(frozen=True)
class Rate:
    """One rate, how likely the run carries it, and the reason that decided."""

    mbps: int
    band: Band
    reason: Reason


@dataclasses.dataclass(frozen=True)
class Capability:
    """What a run may carry: the best band, the highest rate that has it, and every rate by itself.

    `mbps` is 0 where every rate is `no`. `telephone` is the band for a plain telephone line.
    """

    mbps: int
    band: Band
    reason: Reason
    telephone: Band
    rates: tuple[Rate, ...]


def judge_data(facts: RunFacts) -> Capability:
    """Which rates a run may carry, in bands.

    References
    ----------
    Pairs and reach: IEEE 802.3 clauses 14, 25, 40. No splice or tap in a data run: ANSI/TIA/EIA-568-B.1.
    How far each rule lowers the band is ours. Checked in ``tests/copper/test_capability.py``.
    """
    usable = usable_pairs(facts)
    flat = facts.kind.twisted is False or facts.twisted is False
    rates: list[Rate] = []
    for mbps in RATES_MBPS:
        margin = facts.margins.get(mbps)
        limits = [
            *_by_pairs(mbps, usable),
            *_by_joints(facts, margin),
            *(_by_twist(mbps) if flat else ()),
            *(() if mbps in facts.by_standard else _by_margin(margin)),
            (facts.kind.bands[mbps], Reason.KIND if facts.kind.known else Reason.KIND_UNKNOWN),
            *_by_evidence(facts.whole_pairs),
            *_by_length(mbps, facts.length),
        ]
        if facts.ran_mbps is not None and mbps <= facts.ran_mbps:
            enough = usable is None or usable >= PAIRS_NEEDED[mbps]
            limits = [(Band.LIKELY, Reason.RAN) if enough else (Band.POSSIBLE, Reason.RAN_AGAINST_PAIRS)]
        if rates:  # what fails at a slower rate is not promised at a faster one
            limits.append((rates[-1].band, rates[-1].reason))
        band, reason = max(limits, key=lambda limit: _WORSE.index(limit[0]))
        rates.append(Rate(mbps, band, reason))
    return _headline(tuple(rates), usable, facts.whole_pairs is not None)


def usable_pairs(facts: RunFacts) -> int | None:
    """Pairs that may be used: those found whole, or those of the jacket less the damaged; None when nobody can say."""
    if facts.whole_pairs is not None:
        return facts.whole_pairs
    return None if facts.kind.pairs is None else max(facts.kind.pairs - facts.shorted_pairs, 0)


def judge_out_of_use() -> Capability:
    """A run with a cable that was noted as out of use, lost or removed carries nothing, whatever it did before."""
    rates = tuple(Rate(mbps, Band.NO, Reason.OUT_OF_USE) for mbps in RATES_MBPS)
    return Capability(0, Band.NO, Reason.OUT_OF_USE, Band.NO, rates)


_WORSE = list(Band)
_Limit = tuple[Band, Reason]


def _by_pairs(mbps: int, usable: int | None) -> Iterator[_Limit]:
    if usable is not None and usable < PAIRS_NEEDED[mbps]:
        yield (Band.NO, Reason.TOO_FEW_PAIRS)


def _by_evidence(whole_pairs: int | None) -> Iterator[_Limit]:
    if whole_pairs is None:
        yield (Band.POSSIBLE, Reason.PAIRS_UNKNOWN)


def _by_joints(facts: RunFacts, margin: Margin | None) -> Iterator[_Limit]:
    shown = facts.whole_pairs is not None and margin is not None and margin.low_db >= 0
    band = Band.POSSIBLE if shown else Band.UNLIKELY
    if facts.taps > 0:
        yield (band, Reason.TAPPED)
    if facts.joints > 0:
        yield (band, Reason.SPLICED)


def _by_margin(margin: Margin | None) -> Iterator[_Limit]:
    if margin is not None and margin.low_db < 0:
        yield (Band.POSSIBLE if margin.high_db >= 0 else Band.UNLIKELY, margin.part)


def _by_twist(mbps: int) -> Iterator[_Limit]:
    yield ({10: Band.POSSIBLE, 100: Band.UNLIKELY, 1000: Band.NO}[mbps], Reason.UNTWISTED)


def _by_length(mbps: int, length: Interval | None) -> Iterator[_Limit]:
    if length is None:
        yield (Band.POSSIBLE, Reason.LENGTH_UNKNOWN)
    elif length.low > REACH_M[mbps]:
        yield (Band.UNLIKELY, Reason.LENGTH)
    elif length.high > LINK_M:
        yield (Band.POSSIBLE, Reason.LENGTH)


def _headline(rates: tuple[Rate, ...], usable: int | None, pinned: bool) -> Capability:
    telephone = Band.NO if usable == 0 else Band.LIKELY if pinned else Band.POSSIBLE
    top = min(rates, key=lambda rate: (_WORSE.index(rate.band), -rate.mbps))
    if top.band is Band.NO:
        return Capability(0, Band.NO, rates[0].reason, telephone, rates)
    if top.band is Band.UNLIKELY:  # not even the slowest is to be counted on
        top = rates[0]
    return Capability(top.mbps, top.band, top.reason, telephone, rates)

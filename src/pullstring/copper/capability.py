"""First judgement: which data rate a run may carry, from its jacket, its pairs, its joints and its length.

House rules
-----------
1. A device that ran at a rate outranks what the jacket, the joints and the length would say.
2. Every other rule can only lower a band. So a longer run, one more tap or one pair less never raises it.
3. Two whole pairs stop at 100 Mb/s, whatever ran before: then two accounts stand against each other.
4. Poor evidence is worth `possible`: nobody has looked at the pairs, or knows the length or the jacket.
   A meter cannot see crosstalk either, so even a whole data cable is `likely`, never promised.

Reasons are codes; the sentences live with the words of the pages.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterator

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
    LENGTH = "length"
    LENGTH_UNKNOWN = "length_unknown"
    OUT_OF_USE = "out_of_use"


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


def judge_data(
    *,
    kind: CableKind,
    whole_pairs: int | None,
    twisted: bool | None,
    joints: int,
    taps: int,
    shorted_pairs: int,
    ran_mbps: float | None,
    length: Interval | None,
) -> Capability:
    """Which rates a run may carry, in bands.

    Parameters
    ----------
    kind : CableKind
        The worst jacket of the run.
    whole_pairs : int or None
        Pairs found continuous and free of shorts from end to end; None if nobody has looked. [pairs]
    twisted : bool or None
        As seen at the ends; None if not looked at, then the kind decides.
    joints : int
        Splices and clips in the run. [count]
    taps : int
        Branches left on it. [count]
    shorted_pairs : int
        Pairs known to be shorted; counts only while `whole_pairs` is None. [pairs]
    ran_mbps : float or None
        Highest rate at which a device ran over it, not stale; None if none did. [Mb/s]
    length : Interval or None
        Length of the run; None if not known. [m]

    Returns
    -------
    Capability
        Bands per rate, and the headline.

    References
    ----------
    Pairs and reach: IEEE 802.3 clauses 14, 25, 40. No splice or tap in a data run: ANSI/TIA/EIA-568-B.1.
    How far each rule lowers the band is ours. Checked in ``tests/copper/test_capability.py``.
    """
    usable = whole_pairs if whole_pairs is not None else _left(kind.pairs, shorted_pairs)
    flat = kind.twisted is False or twisted is False
    rates = []
    for mbps in RATES_MBPS:
        limits = [
            *_by_pairs(mbps, usable),
            *_by_joints(taps, joints),
            *(_by_twist(mbps) if flat else ()),
            (kind.bands[mbps], Reason.KIND if kind.known else Reason.KIND_UNKNOWN),
            *_by_evidence(whole_pairs),
            *_by_length(mbps, length),
        ]
        if ran_mbps is not None and mbps <= ran_mbps:
            enough = usable is None or usable >= PAIRS_NEEDED[mbps]
            limits = [(Band.LIKELY, Reason.RAN) if enough else (Band.POSSIBLE, Reason.RAN_AGAINST_PAIRS)]
        band, reason = max(limits, key=lambda limit: _WORSE.index(limit[0]))
        rates.append(Rate(mbps, band, reason))
    return _headline(tuple(rates), usable, whole_pairs is not None)


def judge_out_of_use() -> Capability:
    """A run with a cable that was noted as out of use, lost or removed carries nothing, whatever it did before."""
    rates = tuple(Rate(mbps, Band.NO, Reason.OUT_OF_USE) for mbps in RATES_MBPS)
    return Capability(0, Band.NO, Reason.OUT_OF_USE, Band.NO, rates)


_WORSE = list(Band)
_Limit = tuple[Band, Reason]


def _left(pairs: int | None, shorted_pairs: int) -> int | None:
    return None if pairs is None else max(pairs - shorted_pairs, 0)


def _by_pairs(mbps: int, usable: int | None) -> Iterator[_Limit]:
    if usable is not None and usable < PAIRS_NEEDED[mbps]:
        yield (Band.NO, Reason.TOO_FEW_PAIRS)


def _by_evidence(whole_pairs: int | None) -> Iterator[_Limit]:
    if whole_pairs is None:
        yield (Band.POSSIBLE, Reason.PAIRS_UNKNOWN)


def _by_joints(taps: int, joints: int) -> Iterator[_Limit]:
    if taps > 0:
        yield (Band.UNLIKELY, Reason.TAPPED)
    if joints > 0:
        yield (Band.UNLIKELY, Reason.SPLICED)


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
    return Capability(top.mbps, top.band, top.reason, telephone, rates)

"""Where a pair of a run is open, from capacitances read at one end or at both.

House rules
-----------
1. Read from both ends, an open pair tells its distance as a share of the way, whatever its farads per metre.
2. Read from one end, it is measured against a sound pair of the same jacket read there, else by the kind of the jacket.
3. A pair whose loop was closed is not open, and a reading that could be the whole way says nothing of an open.
"""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Iterator, Sequence

from pullstring.copper.lengths import LengthFrom, Source, Wire, by_reading
from pullstring.copper.readings import (
    length_by_capacitance,
    open_distance,
    open_distance_by_sister,
    open_share,
    overlap,
)
from pullstring.copper.taken import Taken
from pullstring.model.answers import Interval


class By(enum.StrEnum):
    """How the distance to an open was found."""

    RATIO = "ratio"
    SISTER = "sister"
    KIND = "kind"


@dataclasses.dataclass(frozen=True)
class Open:
    """An open pair: distance from the closet end and from the far end, share of the way, how found, and the entries."""

    pair: int
    near: Interval | None
    far: Interval | None
    share: Interval | None
    by: By
    because: tuple[str, ...]
    assumed: tuple[str, ...] = ()


def open_pairs(
    taken: Sequence[Taken], wire: Wire, *, way: Interval | None, because: tuple[str, ...]
) -> tuple[tuple[Open, ...], tuple[LengthFrom, ...]]:
    """Pairs found open, and the lengths of the whole way that readings from both their ends give.

    Parameters
    ----------
    taken : sequence of Taken
        Readings on a run; only those that count are looked at.
    wire : Wire
        What the wire may be.
    way : Interval or None
        Length from end to end by other sources than these capacitances. [m]
    because : tuple of str
        Entries behind `way`.

    Returns
    -------
    tuple
        Opens by pair, and a length for each pair read at both ends.

    References
    ----------
    `pullstring.copper.readings.open_distance`. Checked in ``tests/copper/test_read.py``.
    """
    counted = [t for t in taken if t.rejected is None]
    closed = {t.pair for t in counted if t.loop}
    caps = [t for t in counted if t.quantity == "capacitance" and t.pair not in closed]
    sound = [t for t in counted if t.quantity == "capacitance" and _whole(wire, t, way)]
    opens, lengths = [], []
    for pair in sorted({t.pair for t in caps}):
        near, far = (next((t for t in caps if t.pair == pair and t.side == side), None) for side in ("near", "far"))
        both = _both(wire, near, far, way, because) if near and far else None
        if both:
            opens.append(both[0])
            lengths.append(both[1])
        else:
            opens += list(_single([t for t in caps if t.pair == pair], sound, wire, way, because))[:1]
    return tuple(opens), tuple(lengths)


def _length(wire: Wire, taken: Taken) -> Interval:
    found = by_reading(wire, taken)
    assert found is not None, "only readings that count are asked"
    return found.interval


def _whole(wire: Wire, taken: Taken, way: Interval | None) -> bool:
    return way is not None and overlap(lengths=[_length(wire, taken), way]) is not None


def _both(
    wire: Wire, near: Taken, far: Taken, way: Interval | None, because: tuple[str, ...]
) -> tuple[Open, LengthFrom] | None:
    assert near.value is not None and far.value is not None
    total = Interval(near.value.low + far.value.low, near.value.high + far.value.high, "F", ("near_f", "far_f"))
    summed = length_by_capacitance(capacitance=total, capacitance_f_per_m=wire.farads)
    if way is None:
        found = overlap(lengths=[near.value, far.value]) is None
    else:
        short = any(_length(wire, t).high < way.low for t in (near, far))
        found = short and overlap(lengths=[summed, way]) is not None
    share = open_share(near=near.value, far=far.value)
    if not found or share is None:
        return None
    length = overlap(lengths=[way, summed]) if way else summed
    assert length is not None
    here = open_distance(near=near.value, far=far.value, length=length)
    there = open_distance(near=far.value, far=near.value, length=length)
    why = tuple(dict.fromkeys((*near.because, *far.because, *wire.farads_because, *because)))
    assumed = tuple(dict.fromkeys((*near.assumed, *far.assumed)))
    own = tuple(dict.fromkeys((*near.because, *far.because, *wire.farads_because)))
    said = Open(near.pair, here, there, share, By.RATIO, why, assumed)
    return said, LengthFrom(Source.BOTH_ENDS, summed, near.pair, own, assumed)


def _single(
    caps: Sequence[Taken], sound: Sequence[Taken], wire: Wire, way: Interval | None, because: tuple[str, ...]
) -> Iterator[Open]:
    for taken in caps:
        length = _length(wire, taken)
        if way is None or length.high >= way.low or taken.value is None:
            continue
        sister = next((s for s in sound if s.side == taken.side and s.pair != taken.pair), None)
        if sister and sister.value is not None and sister.value.low > 0:
            here = open_distance_by_sister(broken=taken.value, sound=sister.value, length=way)
            why = (*taken.because, *sister.because, *because)
            by, there = By.SISTER, Interval(max(way.low - here.high, 0.0), way.high - here.low, "m", here.inputs)
        else:
            here, by, why = length, By.KIND, (*taken.because, *wire.farads_because, *because)
            there = Interval(way.low - here.high, way.high - here.low, "m", (*here.inputs, *way.inputs))
        ends = (there, here) if taken.side == "far" else (here, there)
        assumed = taken.assumed if taken.side else (*taken.assumed, "read_at_near_end")
        yield Open(taken.pair, *ends, None, by, tuple(dict.fromkeys(why)), assumed)

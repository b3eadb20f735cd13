"""Lengths of cables, by meter or marks, against the way along walls and floors to each outlet: soft and wide.

House rules
-----------
1. A run is longer than the way by a slack that nobody knows; a wire that is shorter than the way does not reach.
2. A length that fits says little, for many outlets are as far; one that does not fit says more. Both are bounded.
3. Metre marks of one jacket at both ends say more: marks of two cables differ by anything.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping

from pullstring.copper.lengths import by_jacket, by_reading, settle, wire_of
from pullstring.copper.taken import taken_on
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Site, Thing, once_a_site
from pullstring.model.geometry import place_of
from pullstring.model.refs import Ref
from pullstring.model.wiring import Run, runs
from pullstring.trace import readings as read
from pullstring.trace.assumed_evidence import weights
from pullstring.trace.evidence_ground import Ground


@dataclasses.dataclass(frozen=True)
class Length:
    """A length of the wire behind an end, the entries, and whether a meter found it open there (capacitance)."""

    interval: Interval
    because: tuple[str, ...]
    to_open: bool


@once_a_site
def lengths(site: Site) -> Mapping[Ref, Length]:
    """What meter, marks and notes say of the length behind each closet end."""
    found: dict[Ref, Length] = {}
    for run in runs(site):
        if length := _length(site, dataclasses.replace(run, cables=run.cables[:1], back=None)):
            found[run.start] = length
    return found


def _length(site: Site, run: Run) -> Length | None:
    """Of the first cable alone, for where it goes on is what is asked."""
    wire = wire_of(site, run)
    sources = [*by_jacket(site, run)] if run.cables else []
    sources += [s for t in taken_on(site, run) if (s := by_reading(wire, t))]
    settled = settle(sources)
    if settled.interval is None:
        return None
    kinds = {t.quantity for t in taken_on(site, run) if t.rejected is None}
    because = tuple(dict.fromkeys(e for s in sources if s not in settled.against for e in s.because))
    return Length(settled.interval, because, "capacitance" in kinds and "loop resistance" not in kinds)


def way_m(site: Site, end: Ref, outlet: Ref) -> float | None:
    """The way along walls and floors from the closet to an outlet; None where one of them has no place."""
    here, there = _closet_place(site, end), _outlet_place(site, outlet)
    if here is None or there is None:
        return None
    return sum(abs(a - b) for a, b in zip(here, there, strict=True))


@once_a_site
def _closets(site: Site) -> Mapping[Ref, tuple[float, float, float]]:
    """A point for each closet: its block, else any thing of it with a place."""
    found: dict[Ref, tuple[float, float, float]] = {}
    for kind in ("unit", "outlet", "block"):
        for thing in site.of_kind(kind):
            room, place = thing.ref_of("room"), place_of(site, thing)
            if room and place:
                found[room] = place.on_site
    return found


def _closet_place(site: Site, end: Ref) -> tuple[float, float, float] | None:
    thing = site.get(end)
    room = thing.ref_of("room") if thing else None
    return _closets(site).get(room) if room else None


def _outlet_place(site: Site, outlet: Ref) -> tuple[float, float, float] | None:
    return _outlets(site).get(outlet)


@once_a_site
def _outlets(site: Site) -> Mapping[Ref, tuple[float, float, float]]:
    return {thing.ref: place.on_site for thing in site.of_kind("outlet") if (place := place_of(site, thing))}


def fit_log(*, length: Interval, way: float, flat_m: float, most_log: float) -> float:
    r"""Natural log of how much likelier a length is for a run along a known way than for any run.

    :math:`\ln\frac{(1-w)\,N(L; d+s, \sigma) + w/F}{1/F}` with :math:`\sigma^2 = \sigma_s^2 + (q d)^2 + (h/\sqrt3)^2`,
    :math:`h` being half the range of the reading; never above `most_log`, never below the least.

    Parameters
    ----------
    length : Interval
        By meter or marks. [m]
    way : float
        Along walls and floors. [m]
    flat_m : float
        A length without a known outlet is anything up to this. [m]
    most_log : float
        Bound above.

    Returns
    -------
    float
        Natural log of a ratio.

    References
    ----------
    Ours, all constants assumed (`assumed_evidence.csv`). Checked in ``tests/trace/test_evidence_lengths.py``.
    """
    c = weights()
    half = (length.high - length.low) / 2
    sigma = math.sqrt(c["way_extra_sd_m"] ** 2 + (c["way_share_sd"] * way) ** 2 + half**2 / 3)
    if length.high < way:
        return c["length_least_log"]
    z = (length.middle - way - c["way_extra_m"]) / sigma
    density = math.exp(-z * z / 2) / (sigma * math.sqrt(2 * math.pi))
    ratio = (1 - c["length_wild"]) * density * flat_m + c["length_wild"]
    return min(max(math.log(ratio), c["length_least_log"]), most_log)


def fits(ground: Ground) -> Iterator[read.Leaning]:
    """For each outlet how well the lengths behind all ends fit the way to it; told with the entries of those that fit best."""
    known, c = lengths(ground.site), weights()
    for outlet, number in ground.outlet_number.items():
        logs: dict[Ref, float] = {}
        for end in ground.ends:
            length, way = known.get(end), way_m(ground.site, end, outlet)
            if length is not None and way is not None:
                log = fit_log(length=length.interval, way=way, flat_m=c["length_flat_m"], most_log=c["length_most_log"])
                logs[end] = log
        best = sorted(logs, key=lambda end: (-logs[end], end))[:MOST_NAMED]
        because = tuple(dict.fromkeys(e for end in best for e in known[end].because))
        if logs:
            weights_by_end = {ground.end_number[end]: log for end, log in logs.items()}
            yield read.Leaning(key=f"length {outlet}", because=because, outlet=number, log_weight=weights_by_end)


MOST_NAMED = 4
"""Ours: of so many ends that fit best the entries are told."""


def marks(ground: Ground) -> Iterator[read.Leaning]:
    """Metre marks at an end and at an outlet, of jackets that may be one."""
    c = weights()
    near = [(ref, n, m) for ref, n in ground.end_number.items() if (m := _mark(ground.site.get(ref))) is not None]
    for outlet, number in ground.outlet_number.items():
        for far in ground.far.get(outlet, ()):
            there = _mark(far)
            if there is None:
                continue
            for end, e, here in near:
                way = way_m(ground.site, end, outlet)
                jackets = {j for j in (ground.jacket(end), ground.jacket(far.ref)) if j}
                if way is None or len(jackets) > 1:
                    continue
                metres = Interval(max(0.0, abs(here - there) - 1), abs(here - there) + 1, "m")
                log = fit_log(length=metres, way=way, flat_m=c["marks_flat_m"], most_log=c["marks_most_log"])
                entries = (ground.site.things[end].fields["mark_m"].last.entry, far.fields["mark_m"].last.entry)
                key = f"marks {far.ref} {end}"
                yield read.Leaning(key=key, because=entries, outlet=number, log_weight={e: log})


def _mark(thing: Thing | None) -> float | None:
    return thing.number("mark_m") if thing else None

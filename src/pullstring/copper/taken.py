"""Which meter readings were taken on a run, with their spread, and which of them do not count and why.

House rules
-----------
1. A reading counts for a run when it was taken at one of its two ends, or anywhere on the only cable of the run.
2. A loop wants its far end shorted, a capacitance wants it open. What the conditions say otherwise does not count; where
   they are silent the right state is assumed, and that is listed.
3. With voltage on the pair, ohms and farads mean nothing: volts first. Where nobody read volts, their absence is assumed.
4. After work on the cable, its ends or the row it lies on, an older reading speaks of what was. Age alone shortens no cable.
5. A capacitance of a pair that touches other cables counts only if it was read with those taken off.
"""

from __future__ import annotations

import collections
import dataclasses
import enum
import math
from collections.abc import Iterable, Mapping

from pullstring.copper.conditions import ALL_PAIRS, Conditions, Far, parse_conditions
from pullstring.model.acts import ACTS
from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Done, Reading, Site, once_a_site
from pullstring.model.refs import Ref
from pullstring.model.when import FIRST
from pullstring.model.wiring import Run, ends_of

QUIET_V = 1.0  # ours, assumed: below this a pair is taken as without voltage
OHM_SHARE, OHM_STEP_OHM, LEADS_OHM = 0.01, 0.05, 0.3  # ours, assumed: a hand meter, and its leads where not taken off
FARAD_SHARE, FARAD_STEP_F = 0.03, 20e-12  # ours, assumed: a hand meter
LEAST_OHM = 1e-3  # ours, assumed: no wire between two clips has less
WORK = frozenset(act.name for act in ACTS.values() if act.stale) | {"put in", "take out"}
LOOPS = ("loop resistance", "resistance")
QUANTITIES = (*LOOPS, "wire resistance", "capacitance")


class Rejected(enum.StrEnum):
    """Why a reading does not count for the length of a run, or for what its wires are like."""

    VOLTS = "volts"
    STALE = "stale"
    FAR_OPEN = "far_open"
    FAR_SHORTED = "far_shorted"
    NOT_SAID_SHORTED = "not_said_shorted"
    PART_OF_RUN = "part_of_run"
    TOUCHING = "touching"
    NO_VALUE = "no_value"
    CONNECTED = "connected"
    SUPERSEDED = "superseded"
    DISAGREES = "disagrees"


@dataclasses.dataclass(frozen=True)
class Taken:
    """One reading on a run: from which side, of which pair and wire, its value with its spread, and why it does not count.

    `side` is `near` (the closet end), `far`, or empty where only the cable is named. `assumed` are codes of what was not
    said; `because` the entries it stands on, or that speak against it.
    """

    reading: Reading
    side: str
    pair: int
    wire: str
    conditions: Conditions
    value: Interval | None
    rejected: Rejected | None
    assumed: tuple[str, ...]
    because: tuple[str, ...]

    @property
    def quantity(self) -> str:
        """What was measured."""
        return self.reading.measured.quantity

    @property
    def loop(self) -> bool:
        """Whether it was taken between the two wires of a pair that are joined at the far end."""
        return (
            self.quantity == "loop resistance" or self.quantity == "resistance" and self.conditions.far is Far.SHORTED
        )


def taken_on(site: Site, run: Run) -> tuple[Taken, ...]:
    """All readings of ohms and farads on a run, in the order of the record; of equal ones the last counts."""
    places = _places(site, run)
    found = [_taken(site, run, places, r) for r in readings_at(site, places) if r.measured.quantity in QUANTITIES]
    last = {_slot(t): t for t in sorted(found, key=lambda t: t.reading.at.earliest) if t.rejected is None}
    return tuple(
        t
        if t.rejected or last[_slot(t)] is t
        else dataclasses.replace(t, rejected=Rejected.SUPERSEDED, because=last[_slot(t)].because)
        for t in found
    )


def readings_at(site: Site, places: Iterable[Ref]) -> list[Reading]:
    """Readings on some things, those on the pairs of a cable with the cable, in the order of the record."""
    found = _readings_by_place(site)
    return [reading for _, reading in sorted((pair for p in places for pair in found.get(p, ())), key=lambda p: p[0])]


@once_a_site
def _readings_by_place(site: Site) -> Mapping[Ref, list[tuple[int, Reading]]]:
    found: dict[Ref, list[tuple[int, Reading]]] = collections.defaultdict(list)
    for number, reading in enumerate(site.readings):
        found[_holder(reading.measured.subject)].append((number, reading))
    return found


@once_a_site
def _work_by_place(site: Site) -> Mapping[Ref, list[Done]]:
    found: dict[Ref, list[Done]] = collections.defaultdict(list)
    for done in site.done:
        if done.act in WORK:
            for ref in {_holder(r) for r in (done.subject, done.object) if r is not None}:
                found[ref].append(done)
    return found


def _holder(ref: Ref) -> Ref:
    """A pair is found with its cable, everything else by itself."""
    return Ref("cable", ref.parent_tag) if ref.kind == "pair" and ref.parent_tag else ref


def far_end(site: Site, run: Run) -> Ref | None:
    """The end of the last cable of a run that is not joined to the one before; None when none was noted."""
    if not run.cables:
        return None
    *before, last = run.cables
    near = {run.start} if not before else {e for e in ends_of(site, last) if _joins(site, e, before[-1])}
    left = [e for e in ends_of(site, last) if e not in near]
    return left[0] if len(left) == 1 and near else None


def _joins(site: Site, end: Ref, cable: Ref) -> bool:
    others = set(ends_of(site, cable))
    claims = (*site.about(subject=end, relation="joined"), *site.about(object=end, relation="joined"))
    joints = (set(j.refs_of("ends")) for j in site.of_kind("joint") if j.stands)
    return any({c.subject, c.object} & others for c in claims) or any(end in j and j & others for j in joints)


def _slot(taken: Taken) -> tuple[str, str, int, str]:
    return "loop" if taken.loop else taken.quantity, taken.side, taken.pair, taken.wire


def _places(site: Site, run: Run) -> dict[Ref, str]:
    """Where a reading on the run may have been taken: `near`, `far`, empty for the whole cable, `part` for a part."""
    only = len(run.cables) == 1
    places = {ref: "" if only else "part" for c in run.cables for ref in (c, *ends_of(site, c))}
    far = far_end(site, run)
    if far:
        places[far] = "far"
    places[run.start] = "near"
    for claim in site.about(subject=run.start, relation="ends_at"):
        if claim.object.kind == "row" and claim.status == "holds":
            places[claim.object] = "near"
    return places


def _pair_of(subject: Ref, said: Conditions) -> int | None:
    number = subject.tag.rpartition(".")[2]
    return int(number) if subject.kind == "pair" and number.isdecimal() else said.pair


def _taken(site: Site, run: Run, places: dict[Ref, str], reading: Reading) -> Taken:
    measured = reading.measured
    wanted = Far.OPEN if measured.quantity == "capacitance" else Far.SHORTED
    said = parse_conditions(measured.evidence.conditions, wanted=wanted)
    pair, place = _pair_of(measured.subject, said), places[_holder(measured.subject)]
    value = _around(reading, said)
    quiet, volts, why = _volts(site, places, reading, pair or 1)
    work = _worked_on(site, places, reading)
    rejected = _rejected(run, reading, said, place, value)
    because: tuple[str, ...] = (reading.entry, *why)
    if volts:
        rejected, because = Rejected.VOLTS, volts
    elif work:
        rejected, because = Rejected.STALE, tuple(d.entry for d in work)
    assumed = [
        *(["no_volts"] if not quiet else []),
        *([f"far_{wanted}"] if said.far is None else []),
        *(["first_pair"] if not pair else []),
        *(["leads_in_reading"] if not said.leads_off and wanted is Far.SHORTED else []),
    ]
    side = place if place != "part" else ""
    return Taken(reading, side, pair or 1, said.wire, said, value, rejected, tuple(assumed), because)


def _around(reading: Reading, said: Conditions) -> Interval | None:
    """The value with what the meter, and leads that were not taken off, leave open; below `<` anything down to nothing."""
    measured = reading.measured
    x = measured.value_si
    if x is None or measured.sign not in ("=", "<") or not 0 <= x < math.inf:
        return None
    below = measured.sign == "<"
    if measured.quantity == "capacitance":
        off = x * FARAD_SHARE + FARAD_STEP_F
        return Interval(0.0 if below else max(x - off, 0.0), x + off, "F", ("capacitance_f",))
    off, name = x * OHM_SHARE + OHM_STEP_OHM, "wire_ohm" if measured.quantity == "wire resistance" else "loop_ohm"
    leads = x if below else 0.0 if said.leads_off else LEADS_OHM
    return Interval(max(x - off - leads, LEAST_OHM), max(x + off, LEAST_OHM), "ohm", (name,))


def _rejected(run: Run, reading: Reading, said: Conditions, place: str, value: Interval | None) -> Rejected | None:
    quantity = reading.measured.quantity
    if value is None:
        return Rejected.NO_VALUE
    if place == "part":
        return Rejected.PART_OF_RUN
    if quantity == "capacitance":
        if said.far is Far.SHORTED:
            return Rejected.FAR_SHORTED
        return Rejected.TOUCHING if run.touching and not said.alone else None
    if said.far is Far.OPEN:
        return Rejected.FAR_OPEN
    return Rejected.NOT_SAID_SHORTED if quantity == "resistance" and said.far is None else None


def _volts(
    site: Site, places: dict[Ref, str], taken: Reading, pair: int
) -> tuple[bool, tuple[str, ...], tuple[str, ...]]:
    """Whether both kinds of volts were read and found absent; entries with voltage; entries without.

    Of each kind the last reading before counts, or the first after where there is none before.
    """
    loud: list[str] = []
    quiet: list[str] = []
    kinds = 0
    for quantity in ("volts DC", "volts AC"):
        those = [r for r in readings_at(site, places) if r.measured.quantity == quantity and _same(r, pair)]
        before = [r.at.earliest for r in those if r.at.earliest <= taken.at.latest]
        when = max(before) if before else min((r.at.earliest for r in those), default=None)
        at_once = [r for r in those if r.at.earliest == when]
        found = [r.entry for r in at_once if not _without(r)]
        loud += found
        quiet += [r.entry for r in at_once if _without(r)]
        kinds += bool(at_once)
    return kinds == 2, tuple(loud), tuple(quiet) if not loud else ()


def _same(reading: Reading, pair: int) -> bool:
    said = parse_conditions(reading.measured.evidence.conditions, wanted=Far.OPEN)
    number = _pair_of(reading.measured.subject, said)
    return number in (None, ALL_PAIRS, pair)


def _without(reading: Reading) -> bool:
    measured = reading.measured
    return measured.sign == "none" or measured.sign in ("=", "<") and abs(measured.value_si or 0) < QUIET_V


def _worked_on(site: Site, places: dict[Ref, str], reading: Reading) -> list[Done]:
    when = reading.at.earliest if reading.at.earliest != FIRST else reading.at.latest
    found = _work_by_place(site)
    return list(dict.fromkeys(d for p in places for d in found.get(p, ()) if d.at.latest > when))

"""The verb `runs`: where every run goes, what it can carry, and the cheapest test that would change the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.cutting import must_stay
from pullstring.api.request import CAUTIONS_WORK, answered, asked_for, load, problems_of
from pullstring.api.run_details import details
from pullstring.model.answers import Answer, Ask, Request

if TYPE_CHECKING:
    from pullstring.copper.estimated import EstimatedRun
    from pullstring.model.asbuilt import Site

EYES = frozenset({"marks", "look"})
"""Tests that touch no wire."""
CAUTION_OF = {"resistor": "alarm_loop"}


def runs(path: Path, request: Request, *, whole: bool = True) -> Answer:
    """For every run: where it goes and how sure, what it can carry, the deciding reason and the next test.

    `whole` adds how each figure came about: makeup, margins, what every reading says, the tests worth doing.
    """
    from pullstring.copper.estimated import estimate, kit_at_hand
    from pullstring.copper.judged import judged_runs
    from pullstring.copper.next_test import tests_at_hand

    found = load(path, request)
    judged = judged_runs(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("end", "cable"))
        judged = tuple(j for j in judged if j.run.start in wanted or any(c in wanted for c in j.run.cables))
    carried = kit_at_hand(found)
    kit = carried or frozenset(style for test in tests_at_hand() for style in test.kit)
    estimated = [estimate(found, j, kit=kit) for j in judged]
    rows = [_run(found, e, whole=whole) for e in estimated]
    free = [(e, row["next_test"]) for e, row in zip(estimated, rows, strict=True) if not row["protected_by"]]
    taken = dict.fromkeys(a for e in estimated for a in (*e.made.assumed, *e.judged.said.assumed))
    return answered(
        "runs",
        found,
        request,
        {"runs": rows, "kit": sorted(carried)},
        because=tuple(dict.fromkeys(e for row in rows for e in row["because"])),
        problems=problems_of(found)[:5],
        assumed=("limits_by_standard", *taken, *(() if carried else ("any_kit",))),
        cautions=CAUTIONS_WORK,
        ask=_ask_run(free),
    )


def _run(found: Site, estimated: EstimatedRun, *, whole: bool) -> dict[str, Any]:
    from pullstring.reach.guards import guards_of

    judged, said = estimated.judged, estimated.capability
    run = judged.run
    start = found.get(run.start)
    only = sorted({w for ref in (run.start, *run.cables) for w in guards_of(found, ref).values()})
    row: dict[str, Any] = {
        "end": run.start.tag,
        "cables": [c.tag for c in run.cables],
        "label": start.text("label") if start else "",
        "to": [str(t) for t in run.to],
        "grade": run.grade,
        "contradicted": run.contradicted,
        "joints": run.joints,
        "touching": [c.tag for c in run.touching],
        "jackets": list(judged.jackets),
        "length": judged.length,
        "mbps": said.mbps,
        "band": said.band,
        "reason": said.reason,
        "ran_at": judged.ran_at,
        "spare": _spare(estimated),
        "telephone": said.telephone,
        "whole_pairs": judged.whole,
        "loop": judged.loop,
        "capacitance": judged.capacitance,
        "rates": [{"mbps": r.mbps, "band": r.band, "reason": r.reason} for r in said.rates],
        "single_pair": _single_pair(estimated),
        "advice": ["two_pairs_negotiate"] if estimated.two_pairs_trap else [],
        "read": [
            {
                "quantity": r.measured.quantity,
                "written": r.measured.written,
                "value": r.measured.value_si,
                "unit": r.measured.unit_si,
                "at": r.at.text,
            }
            for r in judged.read
        ],
        "protected_by": only,
        "next_test": "company_first" if only else _next_test(found, estimated),
        "because": list(dict.fromkeys((*judged.because, *estimated.made.because))),
    }
    return {**row, **details(found, estimated)} if whole else row


def _spare(estimated: EstimatedRun) -> Any:
    """The margin at the rate of the headline; None where no model speaks. [dB]"""
    from pullstring.copper.phy_limits import phy_needs

    mbps = estimated.capability.mbps
    name = phy_needs(mbps).name if mbps else ""
    return next((m.margin for m in estimated.margins if m.name == name), None)


def _single_pair(estimated: EstimatedRun) -> Mapping[str, Any]:
    """Ethernet over one pair at 10 Mb/s with converters: its band by margin alone, which is our estimate."""
    from pullstring.model.answers import Band

    one = next(m for m in estimated.margins if m.name == "10BASE-T1L")
    if estimated.judged.out_of_use or one.margin is None:
        band = Band.NO
    elif one.margin.low >= 0 and estimated.judged.whole:
        band = Band.LIKELY
    else:
        band = Band.POSSIBLE if one.margin.high >= 0 else Band.UNLIKELY
    return {"name": one.name, "band": band, "margin": one.margin, "reason": one.part}


def _next_test(found: Site, estimated: EstimatedRun) -> str:
    """The cheapest test that would change the answer, as a code. No tone, ohms or device before volts."""
    from pullstring.reach.guards import carried_away, is_idle, metered

    judged = estimated.judged
    if judged.out_of_use:
        return "none"
    if set(carried_away(found, [judged.run.start])) & must_stay(found):
        return "in_use"
    if any(said.stop for said in estimated.said):
        return "resistor"
    weak = judged.run.grade in (None, "assumed", "told")
    test = _wanted(estimated, weak=weak)
    if test in EYES or test == "none":
        return test
    if not metered(found, judged.run.start):
        return "volts"
    return test if is_idle(found, judged.run.start) else "find_service"


def _wanted(estimated: EstimatedRun, *, weak: bool) -> str:
    """What one would do on a wire known to be idle: first where it goes, then what it carries."""
    judged = estimated.judged
    if judged.run.contradicted:
        return "tone_isolated"
    if judged.facts.taps:
        return "part_first"
    if weak:
        return "tone"
    return next((worth.test.name for worth in estimated.worth if worth.at_hand), _missing_kit(estimated))


def _missing_kit(estimated: EstimatedRun) -> str:
    return f"kit_{estimated.worth[0].test.name}" if estimated.worth else "none"


def _ask_run(free: Sequence[tuple[EstimatedRun, str]]) -> Ask | None:
    unknown = [
        (e.judged.run.start, test)
        for e, test in free
        if e.judged.run.grade in (None, "assumed", "told") and test not in ("in_use", "none")
    ]
    return Ask(str(unknown[0][0]), unknown[0][1], str(len(unknown))) if unknown else None

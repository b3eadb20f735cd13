"""The verb `runs`: where every run goes, what it can carry, and the cheapest test that would change the answer."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.cutting import must_stay
from pullstring.api.request import CAUTIONS_WORK, answered, asked_for, load, problems_of
from pullstring.model.answers import Answer, Ask, Request

if TYPE_CHECKING:
    from pullstring.copper.judged import JudgedRun
    from pullstring.model.asbuilt import Site


def runs(path: Path, request: Request) -> Answer:
    """For every run: where it goes and how sure, what it can carry, the deciding reason and the next test."""
    from pullstring.copper.judged import judged_runs
    from pullstring.reach.guards import guards_of

    found = load(path, request)
    judged = judged_runs(found)
    if request.tags:
        wanted = asked_for(found, request.tags, ("end", "cable"))
        judged = tuple(j for j in judged if j.run.start in wanted or any(c in wanted for c in j.run.cables))
    only = {
        j.run.start: sorted({w for ref in (j.run.start, *j.run.cables) for w in guards_of(found, ref).values()})
        for j in judged
    }
    rows = [_run(found, j, only[j.run.start]) for j in judged]
    because = tuple(dict.fromkeys(e for j in judged for e in j.because))
    return answered(
        "runs",
        found,
        request,
        {"runs": rows},
        because=because,
        problems=problems_of(found)[:5],
        assumed=("temperature_10_30", "length_within_5_percent"),
        cautions=CAUTIONS_WORK,
        ask=_ask_run(found, [j for j in judged if not only[j.run.start]]),
    )


def _run(found: Site, judged: JudgedRun, only: Sequence[str]) -> dict[str, Any]:
    run = judged.run
    start = found.get(run.start)
    return {
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
        "mbps": judged.capability.mbps,
        "band": judged.capability.band,
        "reason": judged.capability.reason,
        "telephone": judged.capability.telephone,
        "loop": judged.loop,
        "capacitance": judged.capacitance,
        "rates": [{"mbps": r.mbps, "band": r.band, "reason": r.reason} for r in judged.capability.rates],
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
        "protected_by": list(only),
        "next_test": "company_first" if only else _next_test(found, judged),
        "because": list(judged.because),
    }


def _next_test(found: Site, judged: JudgedRun) -> str:
    """The cheapest test that would firm up the answer, as a code. No tone, ohms or device before volts."""
    from pullstring.reach.guards import carried_away, is_idle, metered

    if judged.capability.reason == "out_of_use":
        return "none"
    if set(carried_away(found, [judged.run.start])) & must_stay(found):
        return "in_use"
    if judged.run.grade in (None, "assumed", "told") or judged.run.contradicted or judged.run.touching:
        if not metered(found, judged.run.start):
            return "volts"
        if not is_idle(found, judged.run.start):
            return "find_service"
    if judged.run.contradicted:
        return "tone_isolated"
    if judged.run.touching:
        return "part_first"
    if judged.run.grade in (None, "assumed", "told"):
        return "tone"
    if judged.run.grade in ("seen", "toned") and judged.whole is None:
        return "pin_out"
    if "reading" in judged.missing:
        return "link_test"
    return "none"


def _ask_run(found: Site, judged: Sequence[JudgedRun]) -> Ask | None:
    unknown = [
        j for j in judged if j.run.grade in (None, "assumed", "told") and _next_test(found, j) not in ("in_use", "none")
    ]
    return Ask(str(unknown[0].run.start), _next_test(found, unknown[0]), str(len(unknown))) if unknown else None

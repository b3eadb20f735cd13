"""The first page: what must not be touched, the ends, the runs."""

from __future__ import annotations

from pathlib import Path

from pullstring.api.cutting import if_cut
from pullstring.api.judging import runs
from pullstring.api.request import CAUTIONS_WORK, answered, load, problems_of
from pullstring.model.answers import Answer, Request


def sheet(path: Path, request: Request) -> Answer:
    """The first page: what must not be touched, the ends, the runs."""
    found = load(path, request)
    judged = runs(path, request, whole=False)
    cut = if_cut(path, Request(today=request.today, as_of=request.as_of, known_by=request.known_by))
    ends = [
        {
            "end": e.ref.tag,
            "cable": (e.ref_of("cable") or e.ref).tag,
            "found": e.text("found"),
            "label": e.text("label"),
        }
        for e in found.of_kind("end")
        if e.ref.tag in {r["end"] for r in judged.answer["runs"]}
    ]
    name = next((t.text("name") for t in found.of_kind("property")), "")
    return answered(
        "sheet",
        found,
        request,
        {
            "name": name,
            "do_not_touch": cut.answer["do_not_touch"],
            "single_points": cut.answer["single_points"],
            "names": cut.answer["names"],
            "ends": ends,
            "runs": judged.answer["runs"],
        },
        because=judged.because,
        problems=problems_of(found)[:5],
        assumed=judged.assumed,
        cautions=("nothing_cut", *CAUTIONS_WORK),
        ask=judged.ask,
    )

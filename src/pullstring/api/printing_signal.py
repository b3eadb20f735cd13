"""Signal as drawn: one floor and band for a page or a file, and the papers of `print --only signal`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.on_paper import printable
from pullstring.api.request import BadRequest, asked_for, load
from pullstring.model.answers import Request

if TYPE_CHECKING:
    from pullstring.api.printing import Job
    from pullstring.model.asbuilt import Site
    from pullstring.model.refs import Ref
    from pullstring.papers.book_parts import Chapter
    from pullstring.papers.folder import Paper
    from pullstring.papers.ink import Inks

FINEST_M, COARSEST_M = 0.25, 1.0
"""Ours: from point to point of the grid that lines are drawn from. [m]"""
MOST_POINTS = 8000
"""Ours: points of one grid; a larger floor has a coarser one."""
Facts = Mapping[str, Any]


def drawn_signal(
    path: Path,
    request: Request,
    answer: Facts,
    *,
    floor: str,
    band: str,
    scale: int,
    inks: Inks | None = None,
) -> str:
    """One floor in one band as SVG, from the answer of `signal`; raises BadRequest for a floor or band that is not there."""
    if band not in answer["bands"]:
        raise BadRequest([f"there is no band {band!r} here; the bands are {', '.join(answer['bands'])}"])
    site = load(path, request)
    ref = asked_for(site, [floor], ["floor"])[0]
    return _drawn(request, site, answer, ref, band, scale, inks)


def _drawn(
    request: Request,
    site: Site,
    answer: Facts,
    ref: Ref,
    band: str,
    scale: int,
    inks: Inks | None,
) -> str:
    from pullstring.api.signal_grid import grid
    from pullstring.papers.drawing import floor_svg
    from pullstring.papers.ink import DAY
    from pullstring.papers.signal_layer import of_answer

    field = grid(site, request, floor=ref, band=band, step_m=_step_m(site, ref))
    signal = of_answer(answer, field)
    return floor_svg(
        site, ref, scale=scale, as_of=request.as_of or request.today, inks=inks or DAY, runs=(), signal=signal
    )


def _step_m(site: Site, floor: Ref) -> float:
    from pullstring.model.geometry import floor_plan

    points = [p for room in floor_plan(site, floor).rooms for piece in room.pieces for p in piece]
    if not points:
        return COARSEST_M
    wide, high = (max(p[i] for p in points) - min(p[i] for p in points) for i in (0, 1))
    wanted = math.ceil(math.sqrt(wide * high / MOST_POINTS) / 0.05) * 0.05
    return round(min(max(wanted, FINEST_M), COARSEST_M), 2)


def signal_papers(job: Job) -> Iterator[Paper]:
    """Each floor and band as a drawing, and all of them with their sentences as one PDF."""
    from pullstring.papers import signal_sheets
    from pullstring.papers.folder import Paper
    from pullstring.papers.sentences_signal import PAPER
    from pullstring.papers.typst_page import TooLarge

    answer, sheets = _asked(job)
    if not answer["senders"] and not answer["readings"]:
        if "signal" in job.wanted.only:
            job.left.append(PAPER["none"])
        return
    for sheet in sheets:
        says = PAPER["svg"].format(f"{sheet.floor} {sheet.name}".strip(), sheet.band)
        yield Paper(f"{sheet.stem}.svg", sheet.svg.encode(), says)
    site = job.asked.site
    name = next((t.text("name") for t in site.of_kind("property")), "") or site.property_tag
    try:
        data = signal_sheets.pdf(
            answer,
            sheets,
            _floors(job),
            title=PAPER["title"].format(name),
            footer=PAPER["foot"].format(site.property_tag, job.day),
        )
    except TooLarge as error:
        job.left.append(str(error))
    else:
        yield Paper("signal.pdf", data, PAPER["pdf"])


def signal_chapters(job: Job) -> list[Chapter]:
    """The chapter of the book, when signal is printed with it."""
    from pullstring.papers.signal_sheets import chapter

    if "signal" not in job.wanted.only:
        return []
    answer, sheets = _asked(job)
    return [chapter(answer, sheets, _floors(job))]


def _asked(job: Job) -> tuple[Facts, list[Any]]:
    """The answer as paper may know it, and its drawings; worked out once a print."""
    from pullstring.api.signalling import signal
    from pullstring.model.refs import Ref
    from pullstring.papers.signal_sheets import drawn

    if job.signal is not None:
        return job.signal
    path, request = job.asked.path, job.asked.request
    answer = printable(signal(path, request).answer)
    site, inks = job.asked.site, job.inks

    def draw(floor: str, band: str, scale: int) -> str:
        return _drawn(request, site, answer, Ref("floor", floor), band, scale, inks)

    job.signal = answer, drawn(_floors(job), answer["bands"], draw, scale=job.wanted.scale)
    return job.signal


def _floors(job: Job) -> list[dict[str, str]]:
    return [{"tag": f.ref.tag, "name": f.text("name")} for f in job.floors if f is not None]

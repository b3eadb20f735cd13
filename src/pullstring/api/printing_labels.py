"""Labels as a print takes them: which kinds, on what, and what was left out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pullstring.api.request import BadRequest

if TYPE_CHECKING:
    from pullstring.api.printing import Job
    from pullstring.papers.folder import Paper

WITHOUT_ASKING = ("ends", "outlets", "protected", "units", "reserved", "temporary", "card")
"""Kinds that are printed when none is named; strips for ports need the distance of the ports."""
GUARDED = ("protected", "ports")
POWERED = ("ports", "card", "units")


def label_papers(job: Job) -> Iterator[Paper]:
    """Each kind of label on its sheet or tape; a kind of which there is nothing is told only when it was named."""
    from pullstring.papers.folder import Paper
    from pullstring.papers.labels_for import labels_for
    from pullstring.papers.sentences_book import FOLDER

    wanted, asked = job.wanted, job.asked
    for what in wanted.labels or WITHOUT_ASKING:
        for on in _media(what, wanted.tape, wanted.sheet):
            made = labels_for(
                asked.site,
                what,
                on=on,
                today=asked.request.today,
                used=wanted.used if what != "card" and not on.startswith("tape") else 0,
                do_not_touch=asked.cut.answer["do_not_touch"] if what in GUARDED else None,
                power=asked.power.answer if what in POWERED else None,
                black_only=wanted.black,
            )
            if made.data:
                stem = "".join(c if c.isalnum() else "_" for c in on) if on[:1].isalpha() else "sheet"
                name = "port_card.pdf" if what == "card" else f"labels_{what}_{stem}.pdf"
                words = FOLDER["card"] if what == "card" else FOLDER["labels"].format(what, on)
                yield Paper(name, made.data, words)
                job.left += made.left
            elif wanted.labels:
                job.left += made.left


def _media(what: str, tape: str | None, sheet: str | None) -> tuple[str, ...]:
    """On what a kind is printed: as asked; else on A4, and ends on 12 mm tape as well."""
    if tape and sheet:
        raise BadRequest(["labels go on tape or on a sheet; name one of --tape and --sheet"])
    if what == "card":
        return ("a5",)
    if tape:
        return (f"tape{tape}",)
    if sheet:
        return (sheet,)
    return ("a4", "tape12") if what == "ends" else ("a4",)

"""The verb `print`: papers from one record. Each answer that they stand on is asked for once, and only when a paper needs it."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pullstring.api.on_paper import printable, printable_site
from pullstring.api.request import BadRequest, load
from pullstring.model.answers import Answer, Progress, Request

if TYPE_CHECKING:
    from pullstring.model.asbuilt import Site, Thing
    from pullstring.papers.book import Facts
    from pullstring.papers.book_drawings import Plan
    from pullstring.papers.folder import Paper
    from pullstring.papers.ink import Inks

PAPERS = ("first", "book", "plans", "closet", "riser", "labels", "tables", "blanks", "walk", "signal")
"""What can be printed, in the order of the index page."""
WHEN_ASKED = ("walk",)
"""Printed only when it is named: it holds for one walk."""
STEPS = {"first": 1, "book": 8, "plans": 4, "closet": 1, "riser": 1, "labels": 3, "tables": 1, "blanks": 1}
STEPS |= {"walk": 2, "signal": 6}
"""How long each takes, roughly, for the progress alone."""
DRAWING = 0.6
"""How much of the work on the book is its drawings, roughly."""


@dataclasses.dataclass(frozen=True)
class Wanted:
    """What to print and how; empty means all, or as the paper does by itself.

    `scale` is of plans, `black` leaves colours out, `floor` draws one floor only; `tape` (mm), `sheet`, `used` and `labels`
    are of labels; `filled` are the blank sheets that bear the tags known already.
    """

    only: tuple[str, ...] = ()
    scale: int | None = None
    black: bool = False
    floor: str | None = None
    tape: str | None = None
    sheet: str | None = None
    used: int = 0
    labels: tuple[str, ...] = ()
    filled: tuple[str, ...] = ()


class Asked:
    """The answers about one site in one request, each worked out when it is first wanted."""

    def __init__(self, path: Path, request: Request) -> None:
        self.path = path
        self.request = Request(today=request.today, as_of=request.as_of, known_by=request.known_by)

    @functools.cached_property
    def site(self) -> Site:
        """The site as paper may know it."""
        return printable_site(load(self.path, self.request))

    @functools.cached_property
    def sheet(self) -> Answer:
        """The first page."""
        from pullstring.api.first_page import sheet

        return sheet(self.path, self.request)

    @functools.cached_property
    def cut(self) -> Answer:
        """What must not be touched, and single points."""
        from pullstring.api.cutting import if_cut

        return _cleaned(if_cut(self.path, self.request))

    @functools.cached_property
    def runs(self) -> Answer:
        """Every run with all that stands behind it."""
        from pullstring.api.judging import runs

        return _cleaned(runs(self.path, self.request))

    @functools.cached_property
    def power(self) -> Answer:
        """Ports and power."""
        from pullstring.api.powering import power

        return _cleaned(power(self.path, self.request))

    @functools.cached_property
    def facts(self) -> Facts:
        """All that the book and the workbook stand on."""
        from pullstring.api.registers import ends, outlets
        from pullstring.api.request import problems_of
        from pullstring.papers.book import Facts

        told = problems_of(load(self.path, self.request))
        return Facts(
            self.site,
            self.sheet,
            self.cut,
            self.runs,
            self.power,
            printable(ends(self.path, self.request).answer["ends"]),
            printable(outlets(self.path, self.request).answer["outlets"]),
            printable([_port(self.site, p) for p in self.site.of_kind("port")]),
            tuple(dataclasses.replace(p, says=printable(p.says), where=printable(p.where)) for p in told),
            self._removal(),
        )

    @functools.cached_property
    def tree(self) -> dict[str, Any]:
        """What hangs on what."""
        from pullstring.api.drawn import tree

        return printable(tree(self.path, self.request))  # type: ignore[no-any-return]

    @functools.cached_property
    def going(self) -> tuple[str, ...]:
        """All that is noted as out of use and not kept for later."""
        kinds = ("cable", "unit", "outlet", "joint")
        out = [t for kind in kinds for t in self.site.of_kind(kind) if t.text("state") == "out of use"]
        return tuple(str(t.ref) for t in out if t.text("reserved") != "yes")

    def _removal(self) -> Answer | None:
        """An order in which that comes out; None where there is nothing."""
        from pullstring.api.cutting import if_cut

        if not self.going:
            return None
        return _cleaned(if_cut(self.path, dataclasses.replace(self.request, tags=self.going), in_order=True))


@dataclasses.dataclass
class Job:
    """One print: what is asked, what is wanted, drawings that several papers share, and what was left out, in sentences."""

    asked: Asked
    wanted: Wanted
    floors: Sequence[Thing | None]
    progress: Progress
    left: list[str] = dataclasses.field(default_factory=list)
    signal: tuple[Any, Any] | None = None

    @property
    def day(self) -> str:
        """The day that the papers tell of."""
        return (self.asked.request.as_of or self.asked.request.today)[:10]

    @functools.cached_property
    def inks(self) -> Inks:
        """Day or black only."""
        from pullstring.papers.ink import BLACK_ONLY, DAY

        return BLACK_ONLY if self.wanted.black else DAY

    @functools.cached_property
    def plans(self) -> list[Plan]:
        """Each floor once, for the book and for its own files."""
        from pullstring.papers.book_drawings import Look, plans

        runs, guarded = self.asked.runs.answer["runs"], self.asked.cut.answer["do_not_touch"]
        look = Look(self.wanted.scale, self.day, self.inks, runs, guarded, self.asked.going)
        return plans(
            self.asked.site, self.floors, look, progress=lambda part, words: self.progress(DRAWING * part, words)
        )

    @functools.cached_property
    def closets(self) -> list[tuple[str, str]]:
        """Each closet once."""
        from pullstring.papers.book_drawings import closets

        guarded = self.asked.cut.answer["do_not_touch"]
        return closets(self.asked.site, inks=self.inks, runs=self.asked.runs.answer["runs"], untouchable=guarded)

    @functools.cached_property
    def riser(self) -> str | None:
        """What hangs on what, once."""
        from pullstring.papers.book_drawings import riser

        return riser(self.asked.tree, inks=self.inks)


def papers_of(path: Path, request: Request, wanted: Wanted, *, progress: Progress) -> tuple[list[Paper], list[str]]:
    """All papers that are wanted, as bytes, and what was left out; nothing is written.

    Raises
    ------
    BadRequest
        When the floor asked for does not exist, or an option belongs to no paper that is wanted.
    """
    from pullstring.papers.sentences_book import SAID_OF

    only = [name for name in PAPERS if name in wanted.only] or [name for name in PAPERS if name not in WHEN_ASKED]
    asked = Asked(path, request)
    drawn = any(name in only for name in ("plans", "book", "signal"))
    job = Job(asked, wanted, _floors(asked, wanted) if drawn or wanted.floor else (), lambda _, __: None)
    whole, done = sum(STEPS[name] for name in only), 0
    made: list[Paper] = []
    for name in only:
        begun, part = done / whole, STEPS[name] / whole
        progress(begun, SAID_OF[name])
        job.progress = lambda f, words, begun=begun, part=part: progress(begun + part * f, words)  # type: ignore[misc]
        made += list(_MAKERS[name](job))
        done += STEPS[name]
    return made, list(dict.fromkeys(job.left))


def print_to(
    path: Path,
    folder: Path,
    request: Request,
    wanted: Wanted,
    *,
    progress: Progress,
    lines: Sequence[str] = (),
    more: Sequence[tuple[str, str]] = (),
) -> tuple[list[tuple[str, str]], list[str]]:
    """The papers into a folder with an index page, which also leads to `more`; gives names, and what is left out."""
    from pullstring.papers import folder as out
    from pullstring.papers.figures import date
    from pullstring.papers.sentences_book import FOLDER

    made, left = papers_of(path, request, wanted, progress=progress)
    site = load(path, request)
    name = next((t.text("name") for t in site.of_kind("property")), "") or site.property_tag
    pictures = {p.name: len(p.data) for p in made if p.name.startswith("floor_") and p.name.endswith(".svg")}
    named = [(p.name, p.says) for p in made]
    index = out.index_page(
        title=name,
        lines=(*lines, FOLDER["as_of"].format(date((request.as_of or request.today)[:10]))),
        made=[*named, *more],
        old=out.older(folder, made),
        pictures=pictures,
    )
    out.put(folder, made, index)
    progress(1.0, "index page")
    return [*named, (out.INDEX, "open this"), *more], left


def _floors(asked: Asked, wanted: Wanted) -> list[Thing | None]:
    from pullstring.model.columns import did_you_mean
    from pullstring.model.refs import tag_key
    from pullstring.papers.book_drawings import floors_of

    found = floors_of(asked.site)
    if wanted.floor is None:
        return found
    chosen = [f for f in found if f is not None and f.ref.key == tag_key(wanted.floor)]
    if not chosen:
        tags = [f.ref.tag for f in found if f is not None]
        raise BadRequest([f"there is no floor {wanted.floor!r} to draw{did_you_mean(wanted.floor, tags)}"])
    return list(chosen)


def _first(job: Job) -> Iterator[Paper]:
    from pullstring.papers.book_first import page, page_data
    from pullstring.papers.book_letters import Letters
    from pullstring.papers.folder import Paper
    from pullstring.papers.html import html_page
    from pullstring.papers.sentences_book import FOLDER
    from pullstring.papers.typst_page import made

    yield Paper("first_page.pdf", made("first.typ", page_data(job.asked.sheet, Letters())), FOLDER["first_pdf"])
    yield Paper("first_page.html", html_page(page(job.asked.sheet)).encode(), FOLDER["first_html"])


def _book(job: Job) -> Iterator[Paper]:
    from pullstring.api.printing_signal import signal_chapters
    from pullstring.papers.book import book_pdf
    from pullstring.papers.book_drawings import closet_chapter, plan_chapter, riser_chapter
    from pullstring.papers.folder import Paper
    from pullstring.papers.sentences_book import FOLDER

    drawn = [plan_chapter(job.asked.site, job.plans), closet_chapter(job.closets), riser_chapter(job.riser)]
    drawn += signal_chapters(job)
    job.progress(DRAWING, "the pages of the book")
    yield Paper("book.pdf", book_pdf(job.asked.facts, drawn), FOLDER["book"])


def _plans(job: Job) -> Iterator[Paper]:
    from pullstring.papers.folder import Paper
    from pullstring.papers.ink import on_white
    from pullstring.papers.sentences_book import FOLDER
    from pullstring.papers.typst_page import TooLarge, drawing_sheet

    name = job.asked.site.property_tag
    for plan in job.plans:
        yield Paper(f"{plan.stem}.svg", plan.svg.encode(), FOLDER["floor_svg"].format(plan.name))
        try:
            data = drawing_sheet(on_white(plan.svg), title=f"{name} {plan.title}")
        except TooLarge as error:
            job.left.append(str(error))
        else:
            yield Paper(f"{plan.stem}.pdf", data, plan.title)


def _closet(job: Job) -> Iterator[Paper]:
    from pullstring.papers.folder import Paper
    from pullstring.papers.ink import on_white
    from pullstring.papers.sentences_book import BOOK, FOLDER
    from pullstring.papers.typst_page import sheets_of_a4

    for n, (title, svg) in enumerate(job.closets, 1):
        yield Paper(f"closet_{n}.svg", svg.encode(), FOLDER["closet"].format(title))
    if job.closets:
        pages = [(title, on_white(svg)) for title, svg in job.closets]
        yield Paper("closet.pdf", sheets_of_a4(pages, title=BOOK["closet"]), BOOK["closet"])


def _riser(job: Job) -> Iterator[Paper]:
    from pullstring.papers.folder import Paper
    from pullstring.papers.ink import on_white
    from pullstring.papers.sentences_book import BOOK, FOLDER
    from pullstring.papers.typst_page import TooLarge, drawing_sheet

    if job.riser is None:
        return
    yield Paper("riser.svg", job.riser.encode(), FOLDER["riser"])
    try:
        yield Paper("riser.pdf", drawing_sheet(on_white(job.riser), title=BOOK["riser"]), FOLDER["riser"])
    except TooLarge as error:
        job.left.append(str(error))


def _tables(job: Job) -> Iterator[Paper]:
    from pullstring.papers.folder import Paper
    from pullstring.papers.schedule import workbook
    from pullstring.papers.sentences_book import FOLDER

    yield Paper("tables.xlsx", workbook(job.asked.facts), FOLDER["tables"])


def _blanks(job: Job) -> Iterator[Paper]:
    from pullstring.papers.blanks import FORM_NAMES, ON_WIRES, blanks
    from pullstring.papers.folder import Paper
    from pullstring.papers.sentences_book import FOLDER

    filled = job.wanted.filled
    guarded = job.asked.cut.answer["do_not_touch"] if any(name in filled for name in ON_WIRES) else ()
    data = blanks(job.asked.site, day=job.day, forms=filled or FORM_NAMES, filled=filled, guarded=guarded)
    yield Paper("blanks.pdf", data, FOLDER["blanks"])


def _labels(job: Job) -> Iterator[Paper]:
    from pullstring.api.printing_labels import label_papers

    yield from label_papers(job)


def _walk(job: Job) -> Iterator[Paper]:
    from pullstring.api.tracing_next import walk_paper

    yield walk_paper(job.asked.request, site=job.asked.site, day=job.day)


def _signal(job: Job) -> Iterator[Paper]:
    from pullstring.api.printing_signal import signal_papers

    yield from signal_papers(job)


_MAKERS = {
    "first": _first,
    "book": _book,
    "plans": _plans,
    "closet": _closet,
    "riser": _riser,
    "labels": _labels,
    "tables": _tables,
    "blanks": _blanks,
    "walk": _walk,
    "signal": _signal,
}


def _cleaned(answer: Answer) -> Answer:
    return dataclasses.replace(answer, answer=printable(answer.answer))


def _port(site: Site, port: Thing) -> dict[str, str]:
    """A port with what is plugged in, from either side."""
    from pullstring.model.refs import Ref

    claims = (*site.about(subject=port.ref, relation="plugged"), *site.about(object=port.ref, relation="plugged"))
    claims = (*claims, *site.about(object=port.ref, relation="ends_at"))
    there = [str(c.object if c.subject == port.ref else c.subject) for c in claims]
    network = port.ref_of("network")
    unit = site.get(Ref("unit", port.ref.parent_tag)) if port.ref.parent_tag else None
    model = site.get(unit.ref_of("model")) if unit else None
    return {
        "port": port.ref.tag,
        "name": (unit.text("name") or (model.text("what") if model else "")) if unit else "",
        "gives": port.text("gives"),
        "saved": port.text("mode_saved"),
        "plugged": ", ".join(dict.fromkeys(r.partition(":")[2] for r in there)),
        "network": network.tag if network else "",
    }

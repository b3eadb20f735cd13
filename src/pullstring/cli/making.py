"""The verbs that make things to look at: print, serve, demo."""

from __future__ import annotations

import itertools
import re
import shutil
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import click

from pullstring import api
from pullstring.cli.common import SITE, Hand, as_json_text, asking, request
from pullstring.demo import ARRIVAL, ARRIVAL_DAY, STAGES
from pullstring.model.answers import Answer, Progress, Request

DEMO_HAND: Hand = {"author": "TEC", "device": "demo", "wrote": "2026-03-03T20:00:00+00:00"}
ABOUT = (
    "Everything here is invented: the house, the village, the roles, the gear.",
    "Black is what is there, red is what is added, blue is what is measured or predicted.",
)


def demo_ids() -> Callable[[], str]:
    """Ids for the demo, so that it is the same bytes wherever it is made."""
    count = itertools.count(1)
    return lambda: f"{next(count):032x}"


def said(fraction: float, words: str) -> None:
    """Progress as a line on standard error."""
    click.echo(f"{round(100 * fraction):3d} % {words}", err=True)


@click.command("print")
@SITE
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--floor", "only", metavar="TAG", help="draw this floor only")
@asking
def print_(path: Path, folder: Path, only: str | None, as_json: bool, strict: bool, **options: Any) -> int:
    """First page, floor drawings at 1:100 and labels into a folder, with an index page to open."""
    asked = request(**options)
    files, left = papers(path, folder, asked, only=only, progress=said)
    for sentence in left:
        click.echo(sentence, err=True)
    for name, what in files:
        click.echo(f"{folder / name}  {what}")
    return 0


def papers(
    path: Path,
    folder: Path,
    asked: Request,
    *,
    only: str | None,
    progress: Progress,
    more: tuple[tuple[str, str], ...] = (),
) -> tuple[list[tuple[str, str]], list[str]]:
    """Write all papers of a site; gives the files and what was left out."""
    from pullstring.model.columns import did_you_mean
    from pullstring.model.refs import tag_key
    from pullstring.papers import folder as out

    drawn = api.floors(path, asked)
    if only is not None:
        chosen = [f for f in drawn if f.ref.key == tag_key(only)]
        if not chosen:
            raise api.BadRequest(
                [f"there is no floor {only!r} to draw{did_you_mean(only, [f.ref.tag for f in drawn])}"]
            )
        drawn = chosen
    sheet, site = api.sheet(path, asked), api.load(path, asked)
    folder.mkdir(parents=True, exist_ok=True)
    files = out.first_page(folder, sheet)
    progress(0.2, "first page")
    files += out.floors(
        folder, site, drawn, as_of=asked.as_of or asked.today, progress=lambda f, words: progress(0.2 + 0.6 * f, words)
    )
    made, left = out.labels(folder, site)
    files += made
    name = next((t.text("name") for t in site.of_kind("property")), "") or site.property_tag
    out.index_page(folder, title=name, lines=ABOUT if more else (), made=[*files, *more])
    progress(1.0, "index page")
    return [*files, ("index.html", "open this"), *more], left


@click.command("serve")
@SITE
@click.option("--port", type=int, default=8471, show_default=True)
@asking
def serve(path: Path, port: int, as_json: bool, strict: bool, **options: Any) -> int:
    """The first page and the floors in the browser, read-only, on this machine only."""
    from pullstring.web.server import serve as run

    asked = request(**options)
    api.load(path, asked)
    run(path, asked, port=port, ready=lambda address: click.echo(f"{address}  (Ctrl-C ends it)", err=True))
    return 0


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("pullstring-demo"))
def demo(folder: Path) -> int:
    """The whole job on the built-in, invented property, stage by stage, into a new folder with an index page to open."""
    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        if not folder.is_dir() or any(not _ours(p.relative_to(folder).as_posix()) for p in folder.rglob("*")):
            raise api.BadRequest([f"{folder}: this folder holds other things; name a new one"])
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)
    site, asked = folder / "demo.site", Request(today=ARRIVAL_DAY)
    new_id, code = demo_ids(), _code()
    api.new(site, asked, code=code, name="", new_id=new_id, **DEMO_HAND)
    asks = [("answers", STAGES[0][1], VERBS), *((f"later/{stage}", day, VERBS[:2]) for stage, day in STAGES[1:])]
    more = [
        (f"{name}/{verb}.json", f"what `pullstring {verb}` answers on {day}")
        for name, day, verbs in asks
        for verb, _ in verbs
    ]
    more += [("tables/", "the whole site as tables, with its photographs"), ("demo.site", "the record itself")]
    for (stage, day), (name, _, verbs) in zip(STAGES, asks, strict=True):
        with resources.as_file(resources.files("pullstring.demo").joinpath(ARRIVAL[0], stage)) as tables:
            api.import_(site, Request(today=day), folder=tables, new_id=new_id, **DEMO_HAND)
        (folder / name).mkdir(parents=True)
        for verb, ask in verbs:
            text = as_json_text(ask(site, Request(today=day)))
            (folder / name / f"{verb}.json").write_text(text, encoding="utf-8", newline="")
        if name == "answers":
            papers(site, folder, asked, only=None, progress=said, more=tuple(more))
            _tell(site, folder, asked)
        said(1.0, f"{stage}, as of {day}")
    api.export(site, Request(today=STAGES[-1][1]), folder=folder / "tables")
    click.echo(f"\nAsk on:  pullstring runs {site}\n         pullstring if-cut {site} E01")
    return 0


VERBS: tuple[tuple[str, Callable[[Path, Request], Answer]], ...] = (
    ("site", api.site),
    ("runs", api.runs),
    ("power", api.power),
    ("if-cut", api.if_cut),
)
"""What the demo asks on arrival; at each later stage only the first two."""


def _ours(name: str) -> bool:
    """Whether the demo itself makes a file or folder of that name."""
    made = r"index\.html|demo\.site|first_page\.(pdf|html)|labels?_(a4|tape)\.pdf|floor_\w+\.(svg|pdf)"
    made += r"|tables(/photos(/[\w-]+\.jpg)?|/\w+\.csv)?|answers(/[\w-]+\.json)?|later(/\w+(/[\w-]+\.json)?)?"
    return re.fullmatch(made, name) is not None


def _code() -> str:
    from pullstring.log.tables_io import read_folder

    with resources.as_file(resources.files("pullstring.demo").joinpath(*ARRIVAL)) as tables:
        raw = next(t for t in read_folder(tables)[0] if t.table == "property")
    return raw.rows[0][1][raw.header.index("property")]


def _tell(site: Path, folder: Path, asked: Request) -> None:
    from pullstring.papers.words import problem

    worst = api.site(site, asked, listed=False).problems[:5]
    click.echo(f"Made {folder / 'index.html'}: open it in a browser. The property is invented.\n")
    click.echo("The first five things that are wrong there:")
    for found in worst:
        click.echo(f"  {problem(found)}")


COMMANDS = {"print": print_, "serve": serve, "demo": demo}

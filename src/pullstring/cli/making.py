"""The verbs that make things to look at: print, demo."""

from __future__ import annotations

import itertools
import re
import shutil
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pullstring import api
from pullstring.cli.common import SITE, Hand, as_json_text, asking, request
from pullstring.demo import ARRIVAL, ARRIVAL_DAY, STAGES
from pullstring.model.answers import Answer, Request

if TYPE_CHECKING:
    from pullstring.api.printing import Wanted

DEMO_HAND: Hand = {"author": "TEC", "device": "demo", "wrote": "2026-03-03T20:00:00+00:00"}
PAPERS = ("first", "book", "plans", "closet", "riser", "labels", "tables", "blanks", "walk", "signal")
"""What can be printed; the same as in `api.printing`, which is loaded only when something is."""
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
@click.option("--only", "only", multiple=True, type=click.Choice(PAPERS), help="this paper only; may be given again")
@click.option("--floor", metavar="TAG", help="draw this floor only")
@click.option("--scale", type=click.Choice(("50", "100")), help="of plans; else the largest that A4 or A3 holds")
@click.option("--black", is_flag=True, help="drawings and labels in black only")
@click.option("--labels", multiple=True, metavar="WHAT", help="this kind of labels only: ends, outlets, card, ...")
@click.option("--tape", type=click.Choice(("12", "24")), help="labels on tape of so many millimetres")
@click.option("--sheet", metavar="TEXT", help="labels on this sheet: a4, or its millimetres")
@click.option(
    "--used", type=click.IntRange(min=0), default=0, metavar="N", help="places of the first sheet that are gone"
)
@click.option(
    "--for", "filled", multiple=True, metavar="FORM", help="blank sheets with the tags known: ends, ports, ..."
)
@asking
def print_(path: Path, folder: Path, as_json: bool, strict: bool, **options: Any) -> int:
    """First page, book, drawings, labels, workbook and blank sheets into a folder, with an index page to open."""
    from pullstring.api import printing

    files, left = printing.print_to(path, folder, request(**options), _wanted(options), progress=said)
    for sentence in left:
        click.echo(sentence, err=True)
    for name, what in files:
        click.echo(f"{folder / name}  {what}")
    return 0


def _wanted(options: dict[str, Any]) -> Wanted:
    """What to print, from the verb's options: an option of one paper alone asks for that paper."""
    from pullstring.api.printing import Wanted
    from pullstring.papers.sentences_book import FORMS

    wrong = [f for f in options["filled"] if f not in FORMS]
    if wrong:
        raise api.BadRequest([f"there is no blank sheet {f!r}; there are {', '.join(FORMS)}" for f in wrong])
    only = list(options["only"])
    for paper, names in OPTIONS_OF.items():
        if any(options[name] for name in names) and paper not in only:
            only.append(paper)
    scale = options["scale"]
    return Wanted(
        only=tuple(only),
        scale=int(scale) if scale else None,
        **{name: options[name] for name in ("black", "floor", "tape", "sheet", "used", "labels", "filled")},
    )


OPTIONS_OF = {"labels": ("labels", "tape", "sheet", "used"), "blanks": ("filled",)}
"""Options that ask for their paper by being named."""


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("pullstring-demo"))
def demo(folder: Path) -> int:
    """The whole job on the built-in, invented property, stage by stage, into a new folder with an index page to open."""
    from pullstring.api import printing

    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        if not folder.is_dir() or any(not _ours(p.relative_to(folder).as_posix()) for p in folder.rglob("*")):
            raise api.BadRequest([f"{folder}: this folder holds other things; name a new one"])
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)
    site, asked = folder / "demo.site", Request(today=ARRIVAL_DAY)
    new_id, code = demo_ids(), _code()
    api.new(site, asked, code=code, name="", new_id=new_id, **DEMO_HAND)
    asks = [
        ("answers", STAGES[0][1], VERBS),
        *((f"later/{stage}", day, tuple(v for v in VERBS if v[0] in LATER)) for stage, day in STAGES[1:]),
    ]
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
            printing.print_to(site, folder, asked, printing.Wanted(), progress=said, lines=ABOUT, more=more)
            _tell(site, folder, asked)
        said(1.0, f"{stage}, as of {day}")
    api.export(site, Request(today=STAGES[-1][1]), folder=folder / "tables")
    click.echo(
        f"\nAsk on:  pullstring runs {site}\n         pullstring trace {site} --next\n"
        f"         pullstring signal {site}\n         pullstring if-cut {site} E01"
    )
    return 0


VERBS: tuple[tuple[str, Callable[[Path, Request], Answer]], ...] = (
    ("site", api.site),
    ("runs", api.runs),
    ("trace", api.trace),
    ("power", api.power),
    ("if-cut", api.if_cut),
    ("signal", api.signal),
)
"""What the demo asks on arrival."""
LATER = ("site", "runs", "trace", "signal")
"""What it asks at each later stage."""


def _ours(name: str) -> bool:
    """Whether the demo itself makes a file or folder of that name."""
    from pullstring.papers.folder import is_ours

    made = r"demo\.site"
    made += r"|tables(/photos(/[\w-]+\.jpg)?|/\w+\.csv)?|answers(/[\w-]+\.json)?|later(/\w+(/[\w-]+\.json)?)?"
    return is_ours(name) or re.fullmatch(made, name) is not None


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


COMMANDS = {"print": print_, "demo": demo}

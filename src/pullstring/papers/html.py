"""A page as one self-contained HTML string: style and faces inside, nothing fetched, all text escaped."""

from __future__ import annotations

import base64
import dataclasses
import functools

import jinja2
import markupsafe

from pullstring.papers.blocks import Page
from pullstring.papers.drawing_style import plan_css
from pullstring.papers.ink import DAY, FACES, NIGHT, Inks, font_folder

_CLASSES = {"l": "", "r": "r", "m": "m"}


def html_page(page: Page, *, night: bool = False, font_base: str | None = None, lang: str = "en") -> str:
    """The page for a browser.

    Parameters
    ----------
    page : Page
        What to show.
    night : bool
        Dark sheet, for lofts and cellars.
    font_base : str or None
        Address of a folder that serves the faces; None puts them into the string.
    lang : str
        Language of the text.
    """
    return _template().render(
        page=page,
        lang=lang,
        night=night,
        kinds=[type(block).__name__.lower() for block in page.blocks],
        classes=_CLASSES,
        tight=_tight,
        svg=lambda block: markupsafe.Markup(block.svg),
        style=markupsafe.Markup(style(font_base=font_base)),
    )


def _tight(identifier: str) -> markupsafe.Markup:
    """A dot is as wide as a letter in the fixed-width face and would read as a space: the style draws it narrower."""
    return markupsafe.escape(identifier).replace(".", markupsafe.Markup("<i>.</i>"))


def style(*, font_base: str | None = None) -> str:
    """The style sheet of all our pages, with both prints."""
    source = jinja2.PackageLoader("pullstring.papers", "").get_source(jinja2.Environment(), "page.css")[0]
    night_plan = plan_css(NIGHT, under="[data-print=night] ")
    return "\n".join(
        [
            _faces(font_base),
            f":root{{{_tokens(DAY)}}}",
            f"[data-print=night]{{{_tokens(NIGHT)}}}",
            source,
            f"@media screen{{{night_plan}}}",
            f"@media print{{:root,[data-print=night]{{{_tokens(DAY)}}}}}",
        ]
    )


def _tokens(inks: Inks) -> str:
    return ";".join(f"--{name.replace('_', '-')}:{value}" for name, value in dataclasses.asdict(inks).items())


@functools.cache
def _faces(font_base: str | None) -> str:
    rules = []
    for (family, weight), file in FACES.items():
        if font_base is None:
            data = base64.b64encode((font_folder() / file).read_bytes()).decode()
            where = f"data:font/otf;base64,{data}"
        else:
            where = f"{font_base.rstrip('/')}/{file}"
        rules.append(f'@font-face{{font-family:"{family}";font-weight:{weight};src:url("{where}") format("opentype")}}')
    return "\n".join(rules)


@functools.cache
def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("pullstring.papers", ""),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    return environment.get_template("page.html")

"""A page as one self-contained HTML string: style and faces inside, nothing fetched, all text escaped."""

from __future__ import annotations

import base64
import dataclasses
import functools
import urllib.parse

import jinja2
import markupsafe

from pullstring.papers.blocks import Page
from pullstring.papers.closet_marks import css as closet_css
from pullstring.papers.drawing_style import plan_css
from pullstring.papers.ink import DAY, FACES, NIGHT, Inks, font_folder

SERVED_FACES = (("B612", 400), ("B612", 700), ("B612 Mono", 400))
"""Faces that a page fetches; the fixed-width face has one weight there."""
NOT_TAGS = ("entry", "entries")
"""Columns in fixed width that hold no tags."""
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
        linked=lambda cell, _: _tight(cell),
        svg=lambda block: markupsafe.Markup(block.svg),
        style=markupsafe.Markup(style(font_base=font_base)),
    )


def fragment(page: Page, *, link: str = "") -> markupsafe.Markup:
    """The blocks of a page alone, for a page that stands around them.

    Parameters
    ----------
    page : Page
        What to show.
    link : str
        Address in which `{}` stands for a tag; identifiers in fixed width become links to it. Empty: no links.
    """

    def linked(cell: str, column: str) -> markupsafe.Markup:
        if not link or column in NOT_TAGS:
            return _tight(cell)
        parts = []
        for tag in cell.split(", "):
            where = link.format(urllib.parse.quote(tag, safe=""))
            tight = _tight(tag)
            parts.append(markupsafe.Markup('<a href="{}">{}</a>').format(where, tight) if tag.strip("–? ") else tight)
        return markupsafe.Markup(", ").join(parts)

    body = _environment().get_template("blocks.html").module.body  # type: ignore[attr-defined]
    kinds = [type(block).__name__.lower() for block in page.blocks]
    made: markupsafe.Markup = body(page, kinds, _CLASSES, _tight, lambda block: markupsafe.Markup(block.svg), linked)
    return made


def ink_css() -> str:
    """The style sheet that the program's own server gives to its pages: tokens, both prints, faces by address."""
    woff = "\n".join(
        f'@font-face{{font-family:"{family}";font-weight:{weight};font-display:swap;'
        f'src:url("/fonts/{file.removesuffix(".otf")}.woff2") format("woff2")}}'
        for (family, weight), file in FACES.items()
        if (family, weight) in SERVED_FACES
    )
    tokens = f":root{{{_tokens(DAY)}}}\n[data-print=night]{{{_tokens(NIGHT)}}}"
    return f"{woff}\n{tokens}\n@media print{{:root,[data-print=night]{{{_tokens(DAY)}}}}}\n"


def page_css() -> str:
    """The style of blocks, and the drawings' night print; without faces and tokens, which `ink_css` holds."""
    source = jinja2.PackageLoader("pullstring.papers", "").get_source(jinja2.Environment(), "page.css")[0]
    night = plan_css(NIGHT, under="[data-print=night] ") + closet_css(NIGHT, under="[data-print=night] .drawing ")
    return source + f"@media screen{{{night}}}\n"


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


def _template() -> jinja2.Template:
    return _environment().get_template("page.html")


@functools.cache
def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.PackageLoader("pullstring.papers", ""),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )

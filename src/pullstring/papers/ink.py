"""Three inks on one paper: black is what is there, red is what we add, blue is what we measure or predict."""

from __future__ import annotations

import dataclasses
from importlib import resources
from pathlib import Path


@dataclasses.dataclass(frozen=True)
class Inks:
    """The colours of one print; contrast of every ink on the sheet is 5:1 or more (WCAG 2 relative luminance)."""

    sheet: str
    paper: str
    ink: str
    ink_2: str
    red: str
    blue: str
    red_wash: str
    blue_wash: str
    grid: str
    rule: str


DAY = Inks(
    sheet="#fdfdfa",
    paper="#f6f7f2",
    ink="#17191c",
    ink_2="#55595c",
    red="#b5330a",
    blue="#0b4f86",
    red_wash="#fbe9e1",
    blue_wash="#e4eef6",
    grid="#e6e9e1",
    rule="#c9ccc4",
)
NIGHT = Inks(
    sheet="#151b20",
    paper="#0f1418",
    ink="#eceee8",
    ink_2="#a9b0b2",
    red="#ff9a6b",
    blue="#86c5f4",
    red_wash="#3a2118",
    blue_wash="#14293a",
    grid="#222b32",
    rule="#39424a",
)
BLACK_ONLY = Inks(
    sheet="#ffffff",
    paper="#ffffff",
    ink="#000000",
    ink_2="#000000",
    red="#000000",
    blue="#000000",
    red_wash="#ffffff",
    blue_wash="#ffffff",
    grid="#dddddd",
    rule="#000000",
)


def on_white(svg: str) -> str:
    """A drawing in the day's inks for paper: what is the sheet's own colour stays white, so that no dots are printed there."""
    return svg.replace(DAY.sheet, "#ffffff").replace(DAY.paper, "#ffffff")


FACES = {
    ("B612", 400): "B612-Regular.otf",
    ("B612", 700): "B612-Bold.otf",
    ("B612 Mono", 400): "B612Mono-Regular.otf",
    ("B612 Mono", 700): "B612Mono-Bold.otf",
}
"""Family and weight of each packaged face."""
SECOND_FACES = {
    ("DejaVu Sans", 400): "DejaVuSans.ttf",
    ("DejaVu Sans", 700): "DejaVuSans-Bold.ttf",
    ("DejaVu Sans Mono", 400): "DejaVuSansMono.ttf",
}
"""Faces for the letters that the first ones lack: Latin of the east, Greek, Cyrillic and more."""


def font_folder() -> Path:
    """Folder of the packaged faces and their licences."""
    return Path(str(resources.files("pullstring.papers") / "fonts"))

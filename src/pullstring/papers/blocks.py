"""What a page is made of, before anybody knows whether it goes to the terminal, the browser or paper.

All text in a block is finished: figures are already words. A renderer chooses only where things stand.
"""

from __future__ import annotations

import dataclasses

TONES = {"plain": "", "caution": "Caution: ", "ask": "To find out: "}
"""What a paragraph's tone puts before it, in every rendering; tone is never told by colour."""


@dataclasses.dataclass(frozen=True)
class Heading:
    """A heading; level 1 parts the page, level 2 parts a section."""

    text: str
    level: int = 1

    def __post_init__(self) -> None:
        if self.level not in (1, 2):
            raise ValueError(f"a heading has level 1 or 2, not {self.level}")


@dataclasses.dataclass(frozen=True)
class Para:
    """A paragraph: plain, a caution, or the thing that would help most to know."""

    text: str
    tone: str = "plain"

    def __post_init__(self) -> None:
        if self.tone not in TONES:
            raise ValueError(f"{self.tone!r} is no tone; it is one of {', '.join(TONES)}")

    @property
    def spoken(self) -> str:
        """The text with its tone before it."""
        return TONES[self.tone] + self.text


@dataclasses.dataclass(frozen=True)
class Table:
    """Rows under named columns; `align` holds one letter a column: l or r, and m for identifiers in fixed width."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str = ""

    def __post_init__(self) -> None:
        if not self.align:
            object.__setattr__(self, "align", "l" * len(self.columns))
        if len(self.align) != len(self.columns) or set(self.align) - set("lrm"):
            raise ValueError(f"{self.align!r} does not align {len(self.columns)} columns; write l, r or m for each")
        wrong = [number for number, row in enumerate(self.rows, 1) if len(row) != len(self.columns)]
        if wrong:
            raise ValueError(f"row {wrong[0]} has not {len(self.columns)} cells, as the columns have")


@dataclasses.dataclass(frozen=True)
class Drawing:
    """A drawing to scale as SVG; `says` stands for it where nothing can be drawn."""

    svg: str
    says: str


Block = Heading | Para | Table | Drawing


@dataclasses.dataclass(frozen=True)
class Page:
    """One page for one reader."""

    title: str
    blocks: tuple[Block, ...]
    footer: str = ""

"""Columns of a drawing that is too long for one: pieces one under the other, a new column where the next does not fit."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Protocol


class Piece(Protocol):
    """Something that stands in a column as wide as all columns are."""

    @property
    def height(self) -> float:
        """Height it takes."""

    @property
    def keep(self) -> bool:
        """Whether it may not stand last in a column."""

    @property
    def under(self) -> bool:
        """Whether it belongs under the head before it."""

    @property
    def more(self) -> Piece | None:
        """What stands at the top of the next column when the pieces under it go on there."""

    def at(self, x: float, y: float) -> list[str]:
        """Its marks, from its top left corner."""


@dataclasses.dataclass(frozen=True)
class Stood:
    """A piece with its column and its top."""

    piece: Piece
    column: int
    y: float


def columns_of(pieces: Sequence[Piece], *, tall: float) -> list[Stood]:
    """Every piece in a column no taller than `tall`; a piece that is taller stands alone."""
    stood: list[Stood] = []
    column, y = 0, 0.0
    head: Piece | None = None
    for number, piece in enumerate(pieces):
        need = piece.height
        last = piece
        for after in pieces[number + 1 :]:
            if not last.keep:
                break
            need, last = need + after.height, after
        if y > 0 and y + need > tall:
            column, y = column + 1, 0.0
            if head is not None and piece.under:
                stood.append(Stood(head, column, y))
                y += head.height
        head = piece.more or head
        stood.append(Stood(piece, column, y))
        y += piece.height
    return stood

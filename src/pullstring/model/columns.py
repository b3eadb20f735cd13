"""The tables people fill in: which there are, their columns, and what a cell of each may hold. Read from `data/`."""

from __future__ import annotations

import csv
import dataclasses
import difflib
import functools
from collections.abc import Iterable
from importlib import resources

from pullstring.model.units import BASE_UNIT

_NOT_NEGATIVE = (0.0, float("inf"))
RANGES = {
    "gauge_awg": (0.0, 40.0),
    "pairs": (0.0, 3600.0),
    "class": (0.0, 8.0),
    "rows": (1.0, 10000.0),
    "positions": (0.0, 1000.0),
    "low_c": (-273.15, 1000.0),
    "high_c": (-273.15, 1000.0),
    **dict.fromkeys(
        (
            "length_m",
            "thickness_m",
            "height_m",
            "ceiling_m",
            "u0_m",
            "u1_m",
            "typical_w",
            "max_w",
            "budget_w",
            "limit_w",
            "loss_2g4_db",
            "loss_5g_db",
            "runs_without_mains_min",
        ),
        _NOT_NEGATIVE,
    ),
}
"""What a number may be, by column. Coordinates have no bounds."""


@dataclasses.dataclass(frozen=True)
class Column:
    """One column: its name, its type and of what.

    Types: tag text number whole choice ref refs anyref outline when reading relation:NAME.
    """

    name: str
    type: str
    of: str
    required: bool
    help: str

    @property
    def options(self) -> tuple[str, ...]:
        """Choices, or kinds a reference may name."""
        return tuple(self.of.split("|")) if self.of else ()

    @property
    def relation(self) -> str | None:
        """Name of the relation that the column claims, if it is one."""
        return self.type.partition(":")[2] or None


@dataclasses.dataclass(frozen=True)
class Table:
    """One table: its kind of thing ('' for claims, measurements and plugged) and its columns."""

    name: str
    kind: str
    about: str
    columns: tuple[Column, ...]

    def column(self, name: str) -> Column | None:
        """A column by its name."""
        return next((c for c in self.columns if c.name == name), None)


def _rows(name: str) -> list[dict[str, str]]:
    text = (resources.files("pullstring.model") / "data" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def tables() -> dict[str, Table]:
    """All tables by name, things first, then claims, measurements and plugged."""
    everywhere: list[Column] = []
    own: dict[str, list[Column]] = {}
    for row in _rows("columns.csv"):
        column = Column(row["column"], row["type"], row["of"] or "", row["required"] == "yes", row["help"] or "")
        (everywhere if row["table"] == "*" else own.setdefault(row["table"], [])).append(column)
    about = {row["table"]: (row["kind"], row["about"]) for row in _rows("tables.csv")}
    evidence = [c for c in everywhere if c.name not in ("state", "note")]
    return {
        name: Table(name, *about.get(name, ("", "")), tuple(cols + (everywhere if name in about else evidence)))
        for name, cols in own.items()
    }


@functools.cache
def kinds() -> dict[str, Table]:
    """Tables of things by the kind they hold."""
    return {t.kind: t for t in tables().values() if t.kind}


def find_column(table: Table, header: str) -> tuple[Column, str | None] | None:
    """The column a header means, and the unit it names: `length_ft` is `length_m` with feet in its cells."""
    name = "_".join(header.strip().casefold().replace("-", "_").split())
    if exact := table.column(name):
        return exact, None
    stem, _, unit = name.rpartition("_")
    for column in table.columns:
        if column.type == "number" and column.name.rpartition("_")[0] in (stem, name):
            return column, (unit if column.name.rpartition("_")[0] == stem else BASE_UNIT[column.of])
    return None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """'; did you mean X?' when a known word is close, else nothing."""
    close = difflib.get_close_matches(word.casefold(), {k.casefold(): k for k in known}, n=1, cutoff=0.6)
    return f"; did you mean {next(k for k in known if k.casefold() == close[0])}?" if close else ""

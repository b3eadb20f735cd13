"""The tables people fill in: which there are, their columns, and what a cell of each may hold. Read from `data/`."""

from __future__ import annotations

import csv
import dataclasses
import difflib
import functools
import math
from collections.abc import Iterable, Mapping
from importlib import resources

from pullstring.model.units import BASE_UNIT


@dataclasses.dataclass(frozen=True)
class Column:
    """One column: its name, its type and of what.

    Types: tag text number whole choice ref refs anyref anyrefs outline layers when reading money secret act relation:NAME.
    `low` and `high` bound its numbers; what is `private` never leaves in a shared set.
    """

    name: str
    type: str
    of: str
    required: bool
    help: str
    low: float = -math.inf
    high: float = math.inf
    private: bool = False

    @property
    def options(self) -> tuple[str, ...]:
        """Choices, or kinds a reference may name."""
        return tuple(self.of.split("|")) if self.of else ()

    @property
    def relation(self) -> str | None:
        """Name of the relation that the column claims, if it is one."""
        return self.type.partition(":")[2] or None

    @property
    def names_things(self) -> bool:
        """Whether its value is one or several references, kept as a field."""
        return self.type in ("ref", "refs", "anyref", "anyrefs")


@dataclasses.dataclass(frozen=True)
class Table:
    """One table: its kind of thing ('' for claims, measurements, plugged and acts) and its columns."""

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


def _column(row: Mapping[str, str]) -> Column:
    return Column(
        row["column"],
        row["type"],
        row["of"] or "",
        row["required"] == "yes",
        row["help"] or "",
        float(row["low"] or -math.inf),
        float(row["high"] or math.inf),
        row["private"] == "yes",
    )


@functools.cache
def tables() -> dict[str, Table]:
    """All tables by name, things first, then claims, measurements, plugged and acts."""
    everywhere: list[Column] = []
    own: dict[str, list[Column]] = {}
    for row in _rows("columns.csv"):
        column = _column(row)
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

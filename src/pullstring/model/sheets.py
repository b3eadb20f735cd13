"""Sheets as they came from files, before it is known which table each is: rows of texts with the numbers people see."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping

from pullstring.model.columns import find_column, tables
from pullstring.model.tables import Fault, RawTable

ROWS_ABOVE = 5  # ours: how far down a second row of names is looked for


@dataclasses.dataclass(frozen=True)
class Sheet:
    """One CSV file or one sheet of a workbook. `rows` holds its rows that are not empty; the first names the columns.

    `place` is how a sentence names it: `rooms.csv`, or `survey.xlsx, sheet rooms`.
    """

    file: str
    name: str
    place: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    @property
    def header(self) -> tuple[str, ...]:
        """Names of the columns."""
        return self.rows[0][1]

    @property
    def table(self) -> str:
        """The table that the sheet's name says."""
        return table_name(self.name)


@dataclasses.dataclass(frozen=True)
class Origin:
    """Where a table stood: the row that names its columns, and what each of our columns is called there."""

    header_row: int
    headers: Mapping[str, str] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass(frozen=True)
class Gathered:
    """Tables ready to be understood, the places they came from, what is wrong already and what a reader must be told.

    `said` holds pairs of a code and what it is about; the pages know the sentence.
    """

    tables: tuple[RawTable, ...]
    origins: Mapping[str, Origin]
    faults: tuple[Fault, ...] = ()
    said: tuple[tuple[str, tuple[str, ...]], ...] = ()


def table_name(name: str) -> str:
    """A sheet's name as a table is called: no case; spaces, hyphens and low lines are one."""
    return "_".join(name.replace("-", " ").replace("_", " ").casefold().split())


def as_table(sheet: Sheet) -> RawTable:
    """The sheet as the table that its name says."""
    return RawTable(sheet.place, sheet.table, sheet.header, sheet.rows[1:])


def gathered(sheets: Iterable[Sheet]) -> Gathered:
    """Sheets with our own names and headers as tables."""
    raw: list[RawTable] = []
    origins: dict[str, Origin] = {}
    faults: list[Fault] = []
    for sheet in sheets:
        origins[sheet.place] = Origin(sheet.rows[0][0])
        wrong = header_faults(sheet)
        faults += wrong
        if not wrong:
            raw.append(as_table(sheet))
    return Gathered(tuple(raw), origins, tuple(faults), twice((t.table, t.file) for t in raw))


def twice(stands: Iterable[tuple[str, str]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """For each table that stands in several places: where. All of them are read."""
    places: dict[str, list[str]] = {}
    for table, place in stands:
        places.setdefault(table, []).append(place)
    return tuple(("table_twice", (table, *where)) for table, where in places.items() if len(where) > 1)


def header_faults(sheet: Sheet) -> list[Fault]:
    """Names of columns that stand in a later row, or stand again below: told once instead of a fault in every cell."""
    table = tables().get(sheet.table)
    if table is None:
        return []
    number, first = sheet.rows[0]
    known = _known_names(sheet.table, first)
    for row, cells in sheet.rows[1:ROWS_ABOVE]:
        below = _known_names(sheet.table, cells)
        if below > max(1, known):
            says = f"the names of the columns seem to stand in row {row}; take out the rows above it"
            return [Fault(sheet.place, number, "", says)]
    names = tuple(_bare(c) for c in first)
    again = [n for n, cells in sheet.rows[1:] if [c for c in map(_bare, cells) if c] == [c for c in names if c]]
    return [Fault(sheet.place, n, "", "this row names the columns once more; take it out") for n in again]


def _known_names(table: str, cells: Iterable[str]) -> int:
    return sum(1 for c in cells if c.strip() and find_column(tables()[table], c))


def _bare(cell: str) -> str:
    return " ".join(cell.split()).casefold()


def placed(fault: Fault, origins: Mapping[str, Origin]) -> Fault:
    """A fault with the row of the names and the column's own header as they stand in the file."""
    origin = origins.get(fault.file)
    if origin is None:
        return fault
    row = origin.header_row if fault.row == 1 else fault.row
    header = origin.headers.get(fault.column)
    return dataclasses.replace(fault, row=row, column=f"{header} ({fault.column})" if header else fault.column)

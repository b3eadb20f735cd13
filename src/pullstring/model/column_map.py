"""A foreign sheet read through a small map: which of our tables it is, and which of our columns each of its columns is.

The map is a TOML file with one `[[sheet]]` for each table that a foreign sheet gives; one sheet may give several.
`docs/foreign_sheets.md` shows the form.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pullstring.model.columns import Column, Table, did_you_mean, find_column, tables
from pullstring.model.sheets import Gathered, Origin, Sheet, gathered, table_name, twice
from pullstring.model.tables import Fault, RawTable
from pullstring.model.units import READINGS, BadQuantity, parse_quantity

_KEYS = {"file", "sheet", "table", "columns", "constants", "note", "ignore"}
_TARGET_KEYS = {"column", "unit", "prefix", "replace"}


@dataclasses.dataclass(frozen=True)
class Target:
    """Our column for a foreign one: unit of its numbers, letters put before its tags, words replaced by ours."""

    column: str
    unit: str = ""
    prefix: str = ""
    replace: Mapping[str, str] = dataclasses.field(default_factory=dict)

    def cell(self, text: str) -> str:
        """A foreign cell as ours."""
        bare = text.strip()
        bare = self.replace.get(bare.casefold(), bare)
        if bare and self.unit and bare[-1].isdigit():
            bare = f"{bare} {self.unit}"
        return f"{self.prefix}{bare}" if bare and bare.casefold() != "none" else bare


@dataclasses.dataclass(frozen=True)
class Part:
    """What one `[[sheet]]` of a map says."""

    file: str
    sheet: str
    table: str
    columns: tuple[tuple[str, Target], ...]
    constants: Mapping[str, str]
    note: tuple[str, ...]
    ignore: tuple[str, ...]

    def means(self, sheet: Sheet) -> bool:
        """Whether a sheet is the one that is meant; names without case."""
        same = self.file.casefold() == sheet.file.casefold()
        return same and (not self.sheet or table_name(self.sheet) == table_name(sheet.name))

    @property
    def headers(self) -> set[str]:
        """Foreign headers that the part speaks of."""
        return {_bare(h) for h in (*(h for h, _ in self.columns), *self.note, *self.ignore)}


def read_map(file: str, raw: Mapping[str, Any]) -> tuple[tuple[Part, ...], list[Fault]]:
    """A map as it came from TOML; all that is wrong in it, each with its place."""
    faults: list[Fault] = []
    parts: list[Part] = []
    for key in raw.keys() - {"sheet"}:
        faults.append(Fault(file, 0, key, "this is not known in a map; it holds [[sheet]] parts"))
    given = raw.get("sheet")
    if not isinstance(given, list) or not given:
        return (), [*faults, Fault(file, 0, "", "the map holds no [[sheet]]; write one for each table to be read")]
    for number, part in enumerate(given, start=1):
        read, wrong = _part(f"{file}, sheet {number}", part)
        faults += wrong
        parts += [read] if read else []
    return tuple(parts), faults


def _part(place: str, raw: Any) -> tuple[Part | None, list[Fault]]:
    if not isinstance(raw, dict):
        return None, [Fault(place, 0, "", "this is no table; begin it with [[sheet]]")]
    faults = [
        Fault(place, 0, key, f"this is not known here{did_you_mean(key, _KEYS)}") for key in sorted(raw.keys() - _KEYS)
    ]
    table = tables().get(str(raw.get("table", "")))
    if not raw.get("file"):
        faults.append(Fault(place, 0, "file", "this is missing; name the file of the foreign sheet"))
    if table is None:
        close = did_you_mean(str(raw.get("table", "")), tables())
        faults.append(Fault(place, 0, "table", f"there is no table {raw.get('table', '')!r}{close}"))
        return None, faults
    columns: list[tuple[str, Target]] = []
    given = [(h, one) for h, m in _pairs(raw, "columns", place, faults) for one in (m if isinstance(m, list) else [m])]
    for header, means in given:
        target, wrong = _target(place, header, means, table)
        faults += wrong
        if target and any(target.column == t.column for _, t in columns):
            faults.append(Fault(place, 0, header, f"two columns give {target.column}; keep one, put the other in note"))
        elif target:
            columns.append((header, target))
    constants = {name: _constant(value) for name, value in _pairs(raw, "constants", place, faults)}
    for name in constants:
        found = find_column(table, name)
        if found is None:
            close = did_you_mean(name, [c.name for c in table.columns])
            faults.append(Fault(place, 0, name, f"there is no such column in {table.name}{close}"))
        elif any(found[0].name == t.column for _, t in columns):
            faults.append(Fault(place, 0, name, "a column of the sheet gives this already; keep one of the two"))
    lists = {}
    for name in ("note", "ignore"):
        value = raw.get(name, [])
        lists[name] = tuple(map(str, value)) if isinstance(value, list) else ()
        if not isinstance(value, list):
            faults.append(Fault(place, 0, name, 'this is a list of foreign columns; write it as ["one", "two"]'))
    if lists["note"] and "note" in {*constants, *(t.column for _, t in columns)}:
        faults.append(Fault(place, 0, "note", "a column gives the note already; name that column in this list instead"))
    part = Part(
        str(raw.get("file", "")),
        str(raw.get("sheet", "")),
        table.name,
        tuple(columns),
        constants,
        lists["note"],
        lists["ignore"],
    )
    return part, faults


def _constant(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, dt.date | dt.time) else str(value)


def _pairs(raw: Mapping[str, Any], name: str, place: str, faults: list[Fault]) -> Iterable[tuple[str, Any]]:
    value = raw.get(name, {})
    if not isinstance(value, dict):
        faults.append(Fault(place, 0, name, f"this is no table; write it as [sheet.{name}]"))
        return ()
    return tuple((str(k), v) for k, v in value.items())


def _target(place: str, header: str, means: Any, table: Table) -> tuple[Target | None, list[Fault]]:
    says = {"column": means} if isinstance(means, str) else means
    if not isinstance(says, dict) or not isinstance(says.get("column"), str):
        return None, [Fault(place, 0, header, 'this names no column; write it as "theirs" = "ours"')]
    faults = [
        Fault(place, 0, header, f"{key!r} is not known here{did_you_mean(key, _TARGET_KEYS)}")
        for key in sorted(says.keys() - _TARGET_KEYS)
    ]
    found = find_column(table, says["column"])
    if found is None:
        close = did_you_mean(says["column"], [c.name for c in table.columns])
        return None, [*faults, Fault(place, 0, header, f"there is no column {says['column']!r} in {table.name}{close}")]
    column, unit = found
    unit = str(says.get("unit") or unit or "")
    if unit and (says_no := _no_unit(column, unit)):
        faults.append(Fault(place, 0, header, says_no))
    replace = says.get("replace", {})
    if not isinstance(replace, dict):
        return None, [*faults, Fault(place, 0, header, 'replace is a table; write it as { theirs = "ours" }')]
    words = {str(k).strip().casefold(): str(v) for k, v in replace.items()}
    return Target(column.name, unit, str(says.get("prefix", "")), words), faults


def _no_unit(column: Column, unit: str) -> str:
    """Why a unit cannot stand in a column; nothing when it can."""
    if column.type == "reading":
        quantities = sorted(set(READINGS.values()))
    elif column.type == "number":
        quantities = [column.of]
    else:
        return f"{column.name} holds no numbers with a unit; leave the unit out"
    says = ""
    for quantity in quantities:
        try:
            parse_quantity("1", quantity, unit=unit)
        except BadQuantity as error:
            says = str(error) if column.type == "number" else f"{unit!r} is no unit of any reading"
        else:
            return ""
    return says


def is_unit(column: Column, unit: str) -> bool:
    """Whether the numbers of a column may be given in that unit."""
    return not _no_unit(column, unit)


def mapped(sheets: Sequence[Sheet], parts: Sequence[Part], map_file: str) -> Gathered:
    """Sheets as our tables: those that the map speaks of through it, the others by their own names."""
    raw: list[RawTable] = []
    origins: dict[str, Origin] = {}
    faults: list[Fault] = []
    said: list[tuple[str, tuple[str, ...]]] = []
    own: list[Sheet] = []
    used: set[int] = set()
    for sheet in sheets:
        meant = [(n, p) for n, p in enumerate(parts) if p.means(sheet)]
        if not meant:
            own.append(sheet)
            continue
        used |= {n for n, _ in meant}
        faults += _unmentioned(sheet, set().union(*(p.headers for _, p in meant)), map_file)
        left = {n for n, cells in sheet.rows[1:]}
        for _, part in meant:
            table, origin, wrong = _as_ours(sheet, part, several=len(meant) > 1)
            raw.append(table)
            origins[table.file] = origin
            faults += wrong
            left -= {n for n, _ in table.rows}
        if left:
            said.append(("rows_left", (sheet.place, *map(str, sorted(left)))))
    for number, part in enumerate(parts):
        if number not in used:
            where = f"{part.file}{', sheet ' + part.sheet if part.sheet else ''}"
            faults.append(Fault(map_file, 0, where, "there is no such file or sheet in the source"))
    rest = gathered(own)
    raw += rest.tables
    return Gathered(
        tuple(raw),
        {**rest.origins, **origins},
        (*faults, *rest.faults),
        (*said, *twice((t.table, t.file) for t in raw)),
    )


def _unmentioned(sheet: Sheet, known: set[str], map_file: str) -> list[Fault]:
    """Columns that the map does not mention, that nobody can name, or that two columns share: none is lost in silence."""
    faults: list[Fault] = []
    row, header = sheet.rows[0]
    names = [_bare(h) for h in header]
    for index in range(max(len(cells) for _, cells in sheet.rows)):
        name = names[index] if index < len(names) else ""
        if name and names.index(name) != index:
            says = "two columns of the sheet bear this name; give one of them another name there"
            faults.append(Fault(sheet.place, row, header[index].strip(), says))
        elif name and name not in known:
            says = f"{map_file} says nothing of this column; map it, or name it under note or ignore"
            faults.append(Fault(sheet.place, row, header[index].strip(), says))
        elif not name and any(index < len(cells) and cells[index].strip() for _, cells in sheet.rows):
            says = "this column has cells but no name; give it a name in the sheet"
            faults.append(Fault(sheet.place, row, f"number {index + 1}", says))
    return faults


def _as_ours(sheet: Sheet, part: Part, *, several: bool) -> tuple[RawTable, Origin, list[Fault]]:
    places = {_bare(h): i for i, h in enumerate(sheet.header) if h.strip()}
    faults = [
        Fault(sheet.place, sheet.rows[0][0], header, "this column of the map is not in the sheet")
        for header in (*dict.fromkeys(h for h, _ in part.columns), *part.note)
        if _bare(header) not in places
    ]
    at = [(header, places[_bare(header)], target) for header, target in part.columns if _bare(header) in places]
    notes = [(h, places[_bare(h)]) for h in part.note if _bare(h) in places]
    table = tables()[part.table]
    tag = next((c.name for c in table.columns if c.type == "tag"), "")
    header = [target.column for _, _, target in at] + list(part.constants) + (["note"] if notes else [])
    rows = []
    for number, cells in sheet.rows[1:]:
        ours = [target.cell(cells[i]) if i < len(cells) else "" for _, i, target in at]
        ours += part.constants.values()
        if notes:
            ours.append("; ".join(f"{h}: {cells[i].strip()}" for h, i in notes if i < len(cells) and cells[i].strip()))
        if not tag or tag not in header or ours[header.index(tag)]:
            rows.append((number, tuple(ours)))
    place = f"{sheet.place} as {part.table}" if several else sheet.place
    origin = Origin(sheet.rows[0][0], {target.column: h for h, _, target in at})
    return RawTable(place, part.table, tuple(header), tuple(rows)), origin, faults


def _bare(header: str) -> str:
    return " ".join(header.split()).casefold()

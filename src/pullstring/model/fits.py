"""What of a foreign sheet fits: which table it may be, which of its columns are understood, and a map to begin with."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Sequence

from pullstring.model.column_map import is_unit
from pullstring.model.columns import Column, Table, did_you_mean, find_column, tables
from pullstring.model.sheets import Sheet

_BRACKETS = re.compile(r"\s*[(\[]\s*([^)\]]*?)\s*[)\]]\s*$")
EVERYWHERE = ("state", "note", "grade", "method", "conditions", "instrument", "by", "at")


@dataclasses.dataclass(frozen=True)
class Fit:
    """One sheet against the table it may be. `named` is True when the sheet bears the table's own name."""

    place: str
    file: str
    sheet: str
    table: str
    named: bool
    understood: tuple[tuple[str, str, str], ...]
    strange: tuple[tuple[str, str], ...]
    missing: tuple[str, ...]


def fit(sheet: Sheet) -> Fit:
    """The best table for a sheet: the one of its name, else the one that knows most of its headers, if any does."""
    named = tables().get(sheet.table)
    headers = [h.strip() for h in sheet.header if h.strip()]
    table = named or max(tables().values(), key=lambda t: (_score(t, headers), -len(t.columns)))
    if not named and _score(table, headers) < 1:
        return Fit(sheet.place, sheet.file, sheet.name, "", False, (), tuple((h, "") for h in headers), ())
    understood, strange = [], []
    for header in headers:
        found = _found(table, header)
        if found:
            understood.append((header, found[0].name, found[1] or ""))
        else:
            strange.append((header, did_you_mean(header, [c.name for c in table.columns]).strip("; ")))
    there = {column for _, column, _ in understood}
    missing = tuple(c.name for c in table.columns if c.required and c.name not in there)
    return Fit(sheet.place, sheet.file, sheet.name, table.name, bool(named), tuple(understood), tuple(strange), missing)


def _found(table: Table, header: str) -> tuple[Column, str | None] | None:
    """The column a header means, also when it writes the unit in brackets: `Length (ft)`; what is no unit is none."""
    for text in (header, _BRACKETS.sub(r" \1", header)):
        found = find_column(table, text)
        if found and (not found[1] or is_unit(found[0], found[1])):
            return found
    return None


def _score(table: Table, header: Sequence[str]) -> float:
    """Own columns known count one, those of all tables a tenth, the tag three."""
    score = 0.0
    for text in header:
        found = _found(table, text)
        if found:
            score += 3 if found[0].type == "tag" else 0.1 if found[0].name in EVERYWHERE else 1
    return score


def map_to_begin_with(fits: Sequence[Fit]) -> str:
    """A map as TOML for the sheets that need one, with a blank for each column that was not understood."""
    lines = []
    for one in fits:
        if one.named and not one.strange and not one.missing:
            continue  # it is read as it stands
        lines += ["[[sheet]]", f"file = {_quoted(one.file)}", f"sheet = {_quoted(one.sheet)}"]
        lines += [f"table = {_quoted(one.table)}", "ignore = []", "[sheet.columns]"]
        said: set[str] = set()
        for header, column, unit in one.understood:
            means = f"{{ column = {_quoted(column)}, unit = {_quoted(unit)} }}" if unit else _quoted(column)
            lines.append(("# " if header in said or column in said else "") + f"{_quoted(header)} = {means}")
            said |= {header, column}
        for header, close in one.strange:
            lines.append(f'# {_quoted(header)} = ""' + (f"  # {close}" if close else ""))
        lines += [f'# a column for {name} is needed: "theirs" = {_quoted(name)}' for name in one.missing]
        lines += ["[sheet.constants]", 'grade = "told"', ""]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    """A text as TOML writes it: as JSON does, but letters stay letters and no control sign stays bare."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")

"""What of a foreign sheet fits: which table it may be, which of its columns are understood, and a map to begin with."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence

from pullstring.model.columns import Table, did_you_mean, find_column, tables
from pullstring.model.sheets import Sheet

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
    """The best table for a sheet: the one of its name, else the one that knows most of its headers."""
    named = tables().get(sheet.table)
    table = named or max(tables().values(), key=lambda t: (_score(t, sheet.header), -len(t.columns)))
    understood, strange = [], []
    for header in (h.strip() for h in sheet.header if h.strip()):
        found = find_column(table, header)
        if found:
            understood.append((header, found[0].name, found[1] or ""))
        else:
            strange.append((header, did_you_mean(header, [c.name for c in table.columns]).strip("; ")))
    there = {column for _, column, _ in understood}
    missing = tuple(c.name for c in table.columns if c.required and c.name not in there)
    return Fit(sheet.place, sheet.file, sheet.name, table.name, bool(named), tuple(understood), tuple(strange), missing)


def _score(table: Table, header: Sequence[str]) -> float:
    """Own columns known count one, those of all tables a tenth, the tag three."""
    score = 0.0
    for text in header:
        found = find_column(table, text) if text.strip() else None
        if found:
            score += 3 if found[0].type == "tag" else 0.1 if found[0].name in EVERYWHERE else 1
    return score


def map_to_begin_with(fits: Sequence[Fit]) -> str:
    """A map as TOML, with a blank for each column that was not understood."""
    lines = []
    for one in fits:
        lines += ["[[sheet]]", f"file = {json.dumps(one.file)}", f"sheet = {json.dumps(one.sheet)}"]
        lines += [f"table = {json.dumps(one.table)}", "ignore = []", "[sheet.columns]"]
        for header, column, unit in one.understood:
            means = (
                json.dumps(column) if not unit else f"{{ column = {json.dumps(column)}, unit = {json.dumps(unit)} }}"
            )
            lines.append(f"{json.dumps(header)} = {means}")
        for header, close in one.strange:
            lines.append(f'# {json.dumps(header)} = ""' + (f"  # {close}" if close else ""))
        lines += [f'# a column for {name} is needed: "theirs" = {json.dumps(name)}' for name in one.missing]
        lines += ["[sheet.constants]", 'grade = "told"', ""]
    return "\n".join(lines)

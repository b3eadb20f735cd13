"""The tables of a site as one workbook: a sheet a table, frozen names, a filter, lists of choices. Same site, same bytes."""

from __future__ import annotations

import datetime as dt
import math
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pullstring.log.refusals import RecordError
from pullstring.log.tables_io import keep_before
from pullstring.log.workbook import ABOUT, MARK, column_letters, number_cell
from pullstring.model.columns import Column, tables

MADE = dt.datetime(2026, 1, 1)  # a fixed day, so that the same site gives the same bytes
LONGEST_LIST = 255  # characters of a list of choices inside a cell's rule: the limit of the file format
LONGEST_TEXT = 32767  # characters in one cell: the limit of the file format
WIDEST, NARROWEST = 48, 7
ROWS_MORE = 200  # rows below the last that offer their choices too


def write_workbook(path: Path, rows: Mapping[str, Sequence[Mapping[str, str]]], *, site: str, says: str) -> None:
    """Write tables as sheets; the file appears whole or not at all, and what it replaces is kept beside.

    A text too long for a cell is refused, not cut.
    """
    import xlsxwriter

    _refuse_long(path, rows)
    if path.exists() and not _is_ours(path):
        raise RecordError(f"{path}: there is something else of that name; choose another name")
    part = path.with_name(path.name + ".part")
    options = {"strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False, "in_memory": True}
    try:
        book = xlsxwriter.Workbook(str(part), options)
        book.set_properties({"title": f"Tables of {site}", "created": MADE})
        bold = book.add_format({"bold": True, "bottom": 1})
        about = book.add_worksheet(ABOUT)
        about.set_column(0, 0, 100)
        for number, line in enumerate((MARK, f"Site {site}.", says, "Sheet names and column names stay as they are.")):
            about.write_string(number, 0, line)
        for name, content in rows.items():
            _sheet(book.add_worksheet(name[:31]), bold, tables()[name].columns, content)
        book.close()
        keep_before(path, part.read_bytes())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _refuse_long(path: Path, rows: Mapping[str, Sequence[Mapping[str, str]]]) -> None:
    far = [
        f"{path.name}, sheet {name}, cell {column_letters(place)}{number}: this text of {len(row[column.name])} characters "
        f"is longer than the {LONGEST_TEXT} a workbook can hold; export into a folder instead"
        for name, content in rows.items()
        for place, column in enumerate(tables()[name].columns)
        for number, row in enumerate(content, start=2)
        if len(row.get(column.name, "")) > LONGEST_TEXT
    ]
    if far:
        raise RecordError("\n".join(far))


def _is_ours(path: Path) -> bool:
    """Whether a file is a workbook that this program wrote."""
    try:
        with zipfile.ZipFile(path) as packed:
            return MARK.encode() in packed.read("xl/sharedStrings.xml")
    except (OSError, KeyError, zipfile.BadZipFile):
        return False


def _sheet(sheet: Any, bold: Any, columns: Sequence[Column], rows: Sequence[Mapping[str, str]]) -> None:
    for place, column in enumerate(columns):
        sheet.write_string(0, place, column.name, bold)
        if column.help:
            sheet.write_comment(0, place, column.help)
        longest = max([len(column.name), *(len(r.get(column.name, "")) for r in rows)])
        sheet.set_column(place, place, max(NARROWEST, min(longest + 2, WIDEST)))
        for number, row in enumerate(rows, start=1):
            _cell(sheet, number, place, column, row.get(column.name, ""))
        listed = ",".join(column.options)
        if column.type == "choice" and len(listed) <= LONGEST_LIST:
            rule = {"validate": "list", "source": list(column.options), "error_type": "warning"}
            sheet.data_validation(1, place, len(rows) + ROWS_MORE, place, rule)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(rows), 1), len(columns) - 1)


def _cell(sheet: Any, number: int, place: int, column: Column, text: str) -> None:
    if not text:
        return
    if column.type in ("number", "whole"):
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if math.isfinite(value) and number_cell(value) == text:  # only what is read again as the same text
            sheet.write_number(number, place, value)
            return
    sheet.write_string(number, place, text)

"""Workbooks in: the sheets of one .xlsx file as rows of texts.

The reader of sheets gives values with their types, but no word on cells that hold an error, or a formula never worked
out; so the sheet's own XML is looked through for those, and for a sheet too wide to be held.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import html
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

from pullstring.model.sheets import Sheet, table_name
from pullstring.model.tables import Fault

ABOUT = "about"
MARK = "Tables of a site, written by pullstring"
"""First cell of the sheet that says what a workbook of ours is; that sheet is no table."""
MOST_BYTES = 400_000_000  # ours: unpacked size of a workbook
MOST_CELLS = 4_000_000  # ours: rows times columns of one sheet
_LOCKED = bytes.fromhex("d0cf11e0a1b11ae1")
_CELL = re.compile(rb"<(?:\w+:)?c\s[^>]*?\br=[\"']([A-Z]{1,3})([0-9]{1,7})[\"']")
_WHOLE_CELL = re.compile(
    rb"<(?:\w+:)?c\s([^>]*?\br=[\"']([A-Z]{1,3})([0-9]{1,7})[\"'][^>]*?)(?:/>|>(.*?)</(?:\w+:)?c>)", re.DOTALL
)
_ERROR = re.compile(rb"\bt=[\"']e[\"']")
_FORMULA_TEXT = re.compile(rb"\bt=[\"']str[\"']")
_VALUE = re.compile(rb"<(?:\w+:)?v[^>]*>([^<]+)<")
_TAG = re.compile(r"<(?:\w+:)?(sheet|Relationship)\s([^>]*?)/?>")
_ATTRIBUTE = re.compile(r"""([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")


@dataclasses.dataclass(frozen=True)
class Book:
    """What one workbook holds."""

    sheets: tuple[Sheet, ...] = ()
    faults: tuple[Fault, ...] = ()
    said: tuple[tuple[str, tuple[str, ...]], ...] = ()


class _NoWorkbook(ValueError):
    """The file cannot be read as a workbook; its text is the sentence."""


def read_workbook(path: Path) -> Book:
    """All sheets of a workbook; a sheet that names no table is left to whoever understands the tables."""
    try:
        data = path.read_bytes()
        parts = _parts(data)
        return _sheets(path.name, data, parts)
    except OSError as error:
        says = f"the file cannot be read ({error.strerror}); check its rights"
    except _NoWorkbook as error:
        says = str(error)
    return Book((), (Fault(path.name, 0, "", says),))


def _parts(data: bytes) -> dict[str, bytes]:
    """The XML of each sheet by its name; refuses what is no workbook, or one that is locked or far too large."""
    if not data:
        raise _NoWorkbook("the file is empty; save the workbook anew, or take the file away")
    if data.startswith(_LOCKED):
        raise _NoWorkbook(
            "the workbook is locked with a password, or is of the old kind under a new name; "
            "open it, take the password off and save it as .xlsx"
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > MOST_BYTES:
                raise _NoWorkbook("the workbook is too large to be read; keep the tables and take out the rest")
            names = dict(_named_parts(packed))
            return {name: packed.read(part) for name, part in names.items()}
    except (zipfile.BadZipFile, KeyError, EOFError, NotImplementedError, RuntimeError, ValueError, OSError) as error:
        if isinstance(error, _NoWorkbook):
            raise
        raise _NoWorkbook(
            "this is no workbook, or it is broken; open it in a spreadsheet and save it anew as .xlsx"
        ) from error
    except Exception as error:  # whatever a damaged packing makes the unpacker raise
        raise _NoWorkbook("the workbook is broken; open it in a spreadsheet and save it anew as .xlsx") from error


def _named_parts(packed: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    book = packed.read("xl/workbook.xml").decode("utf-8-sig")
    links = packed.read("xl/_rels/workbook.xml.rels").decode("utf-8-sig")
    targets = {a.get("Id"): a.get("Target", "") for a in _attributes(links, "Relationship")}
    for found in _attributes(book, "sheet"):
        target = targets.get(next((v for k, v in found.items() if k.endswith(":id")), ""), "")
        part = target.lstrip("/") if target.startswith("/") else str(PurePosixPath("xl") / target)
        if "worksheets/" in part:
            yield html.unescape(found.get("name", "")), part


def _attributes(xml: str, tag: str) -> Iterator[dict[str, str]]:
    for found in _TAG.finditer(xml):
        if found[1] == tag:
            yield {key: a or b for key, a, b in _ATTRIBUTE.findall(found[2])}


def _sheets(file: str, data: bytes, parts: dict[str, bytes]) -> Book:
    from python_calamine import CalamineWorkbook, SheetTypeEnum

    sheets: list[Sheet] = []
    faults: list[Fault] = []
    said: list[tuple[str, tuple[str, ...]]] = []
    book = _guarded(CalamineWorkbook.from_filelike, io.BytesIO(data))
    for known in book.sheets_metadata:
        place = f"{file}, sheet {known.name}"
        xml = parts.get(known.name, b"")
        if known.typ != SheetTypeEnum.WorkSheet:
            said.append(("not_a_table", (place,)))
        elif (far := _far(xml)) is not None:
            says = (
                f"the sheet reaches as far as column {far[0]} and row {far[1]}; take out what stands far from the table"
            )
            faults.append(Fault(place, 0, "", says))
        else:
            cells = _guarded(book.get_sheet_by_name, known.name)
            rows, wrong, merged = _rows(place, _guarded(cells.to_python, skip_empty_area=False), cells, xml)
            if not rows and not wrong:
                said.append(("sheet_empty", (place,)))
            elif not _ours(known.name, rows):
                sheets += [Sheet(file, known.name, place, rows)] if rows else []
                faults += wrong
                said += merged
    return Book(tuple(sheets), tuple(faults), tuple(said))


def _guarded(call: Any, *given: Any, **named: Any) -> Any:
    """A call into the reader of sheets; whatever it raises over a damaged file becomes a sentence."""
    try:
        return call(*given, **named)
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as error:  # a panic of compiled code is no Exception
        raise _NoWorkbook(
            f"the workbook cannot be read ({str(error).splitlines()[0][:80] if str(error) else 'no reason given'}); "
            "open it in a spreadsheet and save it anew as .xlsx"
        ) from error


def _ours(name: str, rows: Sequence[tuple[int, tuple[str, ...]]]) -> bool:
    return table_name(name) == ABOUT and bool(rows) and rows[0][1][0].startswith(MARK)


def _far(xml: bytes) -> tuple[str, int] | None:
    """The last column and row with a cell that says something, when the two span more than can be held."""
    at = {(len(c), c, len(r), r) for c, r in _CELL.findall(xml)}
    if not at:
        return None
    column, row = max(a[:2] for a in at)[1].decode(), int(max(a[2:] for a in at)[1])
    if row * _column_number(column) <= MOST_CELLS:
        return None
    said = [(m[2].decode(), int(m[3])) for m in _WHOLE_CELL.finditer(xml) if m[4]]
    column = max((c for c, _ in said), key=_column_number, default="A")
    row = max((r for _, r in said), default=1)
    return (column, row) if row * _column_number(column) > MOST_CELLS else None


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def column_letters(index: int) -> str:
    """Letters over a column, counted from 0, as spreadsheets show them."""
    letters, left = "", index + 1
    while left:
        left, rest = divmod(left - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


_Rows = tuple[tuple[int, tuple[str, ...]], ...]
_Said = list[tuple[str, tuple[str, ...]]]


def _rows(place: str, values: list[list[Any]], sheet: Any, xml: bytes) -> tuple[_Rows, list[Fault], _Said]:
    faults = list(_cells_without_value(place, xml))
    said: _Said = []
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ():
        whole = top < bottom < len(values) and left < len(values[top]) and values[top][left] != ""
        if whole and any(v != "" for row in values[:top] for v in row):  # below the names: one value for several rows
            said.append(("merged", (place, f"{column_letters(left)}{top + 1}:{column_letters(right)}{bottom + 1}")))
            for below in range(top + 1, bottom + 1):
                values[below][left] = values[top][left]
    rows = []
    for number, row in enumerate(values, start=1):
        texts = []
        for index, value in enumerate(row):
            text = value if isinstance(value, str) else _text(value)
            if text is None:
                says = (
                    f"cell {column_letters(index)}{number} holds the moment {value.isoformat(' ', 'minutes')} without its "
                    f"offset; write it as a text with the offset, such as {value.isoformat('T', 'minutes')}+01:00"
                )
                faults.append(Fault(place, number, "", says))
            texts.append(text or "")
        if any(t.strip() for t in texts):
            rows.append((number, tuple(texts)))
    return tuple(rows), faults, said


def _text(value: Any) -> str | None:
    """A value of a cell as a text, as short as it can be; None for a moment that lacks its offset."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number_cell(value)
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else None
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return value.isoformat("minutes" if not value.second else "seconds")
    if isinstance(value, dt.timedelta):
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02d}" + (f":{seconds:02d}" if seconds else "")
    return str(value)


def number_cell(value: float) -> str:
    """A number of a spreadsheet as text: whole ones without point, others with the 15 digits that a spreadsheet keeps."""
    return str(int(value)) if abs(value) < 1e15 and value == int(value) else f"{value:.15g}"


def _cells_without_value(place: str, xml: bytes) -> Iterator[Fault]:
    """Cells that hold an error or a formula without its result: the reader of sheets gives those as blank."""
    if not _ERROR.search(xml) and b"<f" not in xml and b":f" not in xml:
        return
    for found in _WHOLE_CELL.finditer(xml):
        cell, inner = f"{found[2].decode()}{found[3].decode()}", found[4] or b""
        value = _VALUE.search(inner)
        if _ERROR.search(found[1]):
            what = value[1].decode("utf-8", "replace") if value else "an error"
            says = f"cell {cell} holds the error {what}; mend its formula, or write the value"
        elif re.search(rb"<(?:\w+:)?f[\s>/]", inner) and not value and not _FORMULA_TEXT.search(found[1]):
            says = (
                f"cell {cell} holds a formula that was never worked out; open the workbook in a spreadsheet and save it"
            )
        else:
            continue
        yield Fault(place, int(found[3]), "", says)

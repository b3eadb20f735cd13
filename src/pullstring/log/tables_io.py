"""Tables as bytes: a folder of CSV files and workbooks in, a folder of CSV files out. Nothing is passed over in silence."""

from __future__ import annotations

import csv
import dataclasses
import io
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

from pullstring.model.column_map import Part, read_map
from pullstring.model.columns import tables as known_tables
from pullstring.model.sheets import Sheet, gathered
from pullstring.model.tables import Fault, RawTable

CSV_NAMES = (".csv", ".tsv")
WORKBOOK_NAMES = (".xlsx", ".xlsm")
OTHER_SPREADSHEETS = (".xls", ".xlsb", ".ods", ".numbers")
PHOTO_FOLDER = "photos"
BEFORE = ".before"  # ending of a file that was set aside when its place was written anew
LONGEST_CELL = 10_000_000  # ours: characters in one cell of a CSV file
_SEPARATOR_ROW = re.compile(r"sep=(.)", re.IGNORECASE)
_HARMLESS = re.compile(r"[+-]\s*[\d.,]+(?:[eE][+-]?\d+)?\s*[^\W\d_]*")
_ESCAPED = re.compile(r"'(?=['=+\-@\t\r])")


@dataclasses.dataclass(frozen=True)
class Source:
    """What a folder or a file holds: sheets, what is wrong, what a reader must be told, and the files left unread."""

    sheets: tuple[Sheet, ...]
    faults: tuple[Fault, ...]
    said: tuple[tuple[str, tuple[str, ...]], ...] = ()
    unread: tuple[Path, ...] = ()
    folder: Path = Path()


def read_source(source: Path) -> Source:
    """All CSV files and workbooks of a folder in the order of their names, or one file of either kind.

    Hidden files and the lock files of open workbooks are ignored; all other files are listed as unread.
    """
    if source.is_file():
        return _read_files([source], source.parent, alone=True)
    if not source.is_dir():
        says = "there is no such folder or file; name a folder of CSV files, or one workbook (.xlsx)"
        return Source((), (Fault(str(source), 0, "", says),))
    files = sorted(p for p in source.iterdir() if not p.name.startswith((".", "~$")))
    return _read_files(files, source, alone=False)


def _read_files(files: Sequence[Path], folder: Path, *, alone: bool) -> Source:
    from pullstring.log.workbook import read_workbook

    sheets: list[Sheet] = []
    faults: list[Fault] = []
    said: list[tuple[str, tuple[str, ...]]] = []
    unread: list[Path] = []
    for path in files:
        suffix = path.suffix.casefold()
        if suffix in CSV_NAMES and not path.is_dir():
            read, wrong = read_csv(path)
            sheets += read
            faults += wrong
        elif suffix in WORKBOOK_NAMES and not path.is_dir():
            book = read_workbook(path)
            sheets += book.sheets
            faults += book.faults
            said += book.said
        elif suffix in OTHER_SPREADSHEETS:
            says = f"a file of this kind ({suffix}) is not read; open it in a spreadsheet and save it as .xlsx"
            faults.append(Fault(path.name, 0, "", says))
        elif alone:
            says = "this is no table; name a folder of CSV files, a CSV file or a workbook (.xlsx)"
            faults.append(Fault(path.name, 0, "", says))
        elif path.is_dir() and path.name.casefold() == PHOTO_FOLDER:
            unread += sorted(p for p in path.iterdir() if not p.name.startswith("."))
        else:
            unread.append(path)
    if not sheets and not faults:
        says = "this holds no table; each table is one CSV file such as rooms.csv, or one sheet of a workbook (.xlsx)"
        faults.append(Fault(str(folder), 0, "", says))
    return Source(tuple(sheets), tuple(faults), tuple(said), tuple(unread), folder)


def read_folder(folder: Path) -> tuple[list[RawTable], list[Fault]]:
    """The tables of a folder under their own names, and what could not be read."""
    source = read_source(folder)
    found = gathered(source.sheets)
    return list(found.tables), [*source.faults, *found.faults]


def read_map_file(path: Path) -> tuple[tuple[Part, ...], list[Fault]]:
    """A map for foreign sheets from its TOML file, and all that is wrong in it."""
    try:
        return read_map(path.name, tomllib.loads(path.read_bytes().decode("utf-8-sig")))
    except OSError as error:
        says = f"the map cannot be read ({error.strerror}); check its name"
    except UnicodeDecodeError:
        says = "the map is not UTF-8; save it as UTF-8"
    except tomllib.TOMLDecodeError as error:
        says = f"this is no TOML ({error}); see docs/foreign_sheets.md for the form"
    return (), [Fault(path.name, 0, "", says)]


def read_csv(path: Path) -> tuple[list[Sheet], list[Fault]]:
    """One CSV file. Comma, semicolon and tab are told apart; a byte-order mark is ignored; only UTF-8 is read."""

    def wrong(says: str, row: int = 0) -> Fault:
        return Fault(path.name, row, "", says)

    try:
        data = path.read_bytes()
        if data[:2] in (b"\xff\xfe", b"\xfe\xff") or data.count(0) * 4 > len(data):
            return [], [wrong("the file is written in UTF-16; save it as CSV UTF-8")]
        rows = parse_csv(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        says = f"byte {error.start + 1}, in line {row} of the file, is not UTF-8; save the file as CSV UTF-8"
        return [], [wrong(says)]
    except csv.Error as error:
        return [], [wrong(f"the file cannot be read as CSV ({error}); save it anew as CSV UTF-8")]
    except OSError as error:
        return [], [wrong(f"the file cannot be read ({error.strerror}); check its rights")]
    if not rows:
        return [], [wrong("the file is empty; its first row names the columns", 1)]
    if len(rows) > 1 and not data.endswith((b"\n", b"\r")) and len(rows[-1][1]) < len(rows[0][1]):
        had, number = len(rows[-1][1]), rows[-1][0]
        says = f"the file ends in the middle of this row: {had} of {len(rows[0][1])} cells; get the whole file, or end the line"
        return [Sheet(path.name, path.stem, path.name, rows)], [wrong(says, number)]
    nul = [n for n, cells in rows if any("\0" in c for c in cells)]
    faults = [wrong("a cell of this row holds a NUL, which is no letter; write the cell anew", n) for n in nul]
    return [Sheet(path.name, path.stem, path.name, rows)], faults


def parse_csv(text: str) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Rows of a CSV text that are not empty, with the numbers a spreadsheet shows."""
    csv.field_size_limit(LONGEST_CELL)
    lines = text.lstrip("\r\n").split("\n", 1)
    named = _SEPARATOR_ROW.fullmatch(lines[0].strip())
    delimiter = named[1] if named else max(",;\t", key=lambda d: len(next(csv.reader([lines[0]], delimiter=d), [])))
    numbered = enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), start=1)
    rows = [(n, tuple(cells)) for n, cells in numbered if any(c.strip() for c in cells)]
    if "'" in text:
        rows = [(n, tuple(_ESCAPED.sub("", c, count=1) if c[:1] == "'" else c for c in cells)) for n, cells in rows]
    return tuple(rows[1:] if named else rows)


def guarded(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: one that begins with = + - @ gets an apostrophe in front.

    Numbers with their sign stay. Reading takes the apostrophe off again.
    """
    return "'" + cell if cell[:1] in "=@\t\r'+-" and cell and not _HARMLESS.fullmatch(cell) and _risky(cell) else cell


def _risky(cell: str) -> bool:
    return cell[0] != "'" or _ESCAPED.match(cell) is not None


def keep_before(path: Path, written: bytes) -> None:
    """Move a file that says something else than what will now be written to its name with `.before` behind."""
    if path.is_file() and path.read_bytes() != written:
        path.replace(path.with_name(path.name + BEFORE))


def set_aside(place: Path) -> list[str]:
    """Names of the files that were set aside in a folder, or for a file."""
    found = place.glob(f"*.csv{BEFORE}") if place.is_dir() else [place.with_name(place.name + BEFORE)]
    return sorted(p.name for p in found if p.is_file())


def write_folder(
    folder: Path, tables: Mapping[str, Sequence[Mapping[str, str]]], headers: Mapping[str, Sequence[str]]
) -> list[str]:
    """Write each table as `NAME.csv`, with all its columns, UTF-8, one line feed a row.

    A file that says something else is kept beside as `NAME.csv.before`, for somebody may have written in it. Gives the names
    of tables that lie in the folder from before and were not written now.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, headers[name], lineterminator="\n")
        writer.writeheader()
        writer.writerows({column: guarded(cell) for column, cell in row.items()} for row in rows)
        written = out.getvalue().encode()
        keep_before(folder / f"{name}.csv", written)
        (folder / f"{name}.csv").write_bytes(written)
    there = {p.stem: p.name for p in folder.iterdir() if p.suffix.casefold() == ".csv"}
    return sorted(file for stem, file in there.items() if stem in known_tables() and stem not in tables)

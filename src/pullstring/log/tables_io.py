"""Tables as bytes: a folder of CSV files in and out."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from pullstring.model.tables import Fault, RawTable


def read_folder(folder: Path) -> tuple[list[RawTable], list[Fault]]:
    """All CSV files of a folder as raw tables, in order of their names, and what could not be read.

    Comma, semicolon and tab are told apart by the header; a byte-order mark is ignored. Nothing but UTF-8 is read.
    """
    if not folder.is_dir():
        return [], [Fault(str(folder), 0, "", "there is no such folder; name the folder that holds the CSV files")]
    found, faults = [], []
    files = sorted(p for p in folder.iterdir() if p.suffix.casefold() == ".csv")
    if not files:
        faults.append(
            Fault(str(folder), 0, "", "this folder holds no CSV file; each table is one file such as rooms.csv")
        )
    for path in files:
        try:
            raw = parse_csv(path.name, path.read_bytes().decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            faults.append(Fault(path.name, 0, "", f"byte {error.start + 1} is not UTF-8; save the file as CSV UTF-8"))
        except (OSError, csv.Error) as error:
            faults.append(
                Fault(path.name, 0, "", f"the file cannot be read as CSV ({error}); save it anew as CSV UTF-8")
            )
        else:
            if raw is None:
                faults.append(Fault(path.name, 1, "", "the file is empty; its first row names the columns"))
            else:
                found.append(raw)
    return found, faults


def parse_csv(file: str, text: str) -> RawTable | None:
    """One CSV text as a raw table; None when it has no header."""
    first = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    numbered = [(i, tuple(cells)) for i, cells in enumerate(rows, start=1)]
    start = next((k for k, (_, cells) in enumerate(numbered) if any(c.strip() for c in cells)), None)
    if start is None:
        return None
    return RawTable(
        file, Path(file).stem.casefold().replace("-", "_"), numbered[start][1], tuple(numbered[start + 1 :])
    )


def write_folder(
    folder: Path, tables: Mapping[str, Sequence[Mapping[str, str]]], headers: Mapping[str, Sequence[str]]
) -> None:
    """Write each table as `NAME.csv`, with all its columns, UTF-8, one line feed a row."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, headers[name], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        (folder / f"{name}.csv").write_text(out.getvalue(), encoding="utf-8", newline="")

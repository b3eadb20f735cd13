"""Sites made from the packaged tables, whole or bent, for the journeys."""

from __future__ import annotations

import csv
from collections.abc import Callable
from importlib import resources
from pathlib import Path

from pullstring import api
from pullstring.model.answers import Request

ASKED = Request(today="2026-03-10")
HAND = {"author": "TEC", "device": "laptop", "wrote": "2026-03-10T20:00:00+00:00"}
Rows = dict[str, list[dict[str, str]]]


def packaged(name: str) -> Rows:
    """The rows of a packaged property, by table."""
    folder = resources.files("pullstring.demo")
    for part in name.split("/"):
        folder = folder / part
    return {
        p.name.removesuffix(".csv"): list(csv.DictReader(p.read_text(encoding="utf-8").splitlines()))
        for p in sorted(folder.iterdir(), key=lambda p: p.name)
        if p.name.endswith(".csv")
    }


def write(folder: Path, rows: Rows, *, delimiter: str = ",") -> Path:
    """Rows as a folder of CSV files."""
    folder.mkdir(parents=True, exist_ok=True)
    for table, content in rows.items():
        with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(content[0]), delimiter=delimiter)
            writer.writeheader()
            writer.writerows(content)
    _photographs(folder, rows.get("photos", []))
    return folder


def _photographs(folder: Path, rows: list[dict[str, str]]) -> None:
    """The packaged photographs that rows name, beside them."""
    with resources.as_file(resources.files("pullstring.demo")) as demo:
        for found in demo.glob("*/*/photos/*.jpg"):
            if found.name in {row.get("file") for row in rows}:
                (folder / "photos").mkdir(exist_ok=True)
                (folder / "photos" / found.name).write_bytes(found.read_bytes())


def make(
    folder: Path, rows: Rows, *, code: str = "KC", bend: Callable[[Path], None] | None = None, delimiter: str = ","
) -> Path:
    """A site file from rows."""
    tables = write(folder / "tables", rows, delimiter=delimiter)
    if bend:
        bend(tables)
    path = folder / "house.site"
    api.new(path, ASKED, code=code, name="", **HAND)
    api.import_(path, ASKED, folder=tables, **HAND)
    return path

"""How long an import takes, stage by stage: `python -m bench.tables [ROWS]`. The site is invented and drawn by seed.

Shown as milliseconds here and as a ratio to one plain pass of a CSV reader over the same files, in one run.
"""

from __future__ import annotations

import csv
import random
import sys
import tempfile
import time
from pathlib import Path

from pullstring import api
from pullstring.model.answers import Request

ASKED = Request(today="2026-04-01")
HAND = {"author": "TEC", "device": "bench", "wrote": "2026-04-01T10:00:00+00:00"}


def write(folder: Path, size: int, *, seed: int) -> None:
    """Rows in equal parts: cables, ends, outlets, claims, measurements."""
    dice, part = random.Random(seed), size // 5
    rows: dict[str, list[dict[str, object]]] = {
        "cables": [{"cable": f"C{n}", "jacket": "cat5", "pairs": 4, "length_m": n % 90} for n in range(part)],
        "outlets": [{"outlet": f"O{n}", "plate": "8P8C", "positions": 1 + n % 2} for n in range(part)],
        "ends": [{"end": f"E{n}", "cable": f"C{n}", "label": f"LINE {n}"} for n in range(part)],
        "claims": [
            {"subject": f"end:E{n}", "relation": "goes_to", "object": f"outlet:O{dice.randrange(part)}"}
            for n in range(part)
        ],
        "measurements": [
            {"subject": f"end:E{n}", "quantity": "capacitance", "value": f"{dice.random():.3f} nF"} for n in range(part)
        ],
    }
    for name, content in rows.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, [*content[0], "grade", "at"])
            writer.writeheader()
            writer.writerows({**row, "grade": "seen", "at": "2026-03-03"} for row in content)


def imported(words: str, site: Path, source: Path) -> list[tuple[str, float]]:
    """One import and its stages, as the verb itself tells its progress."""
    told = [("", time.perf_counter())]
    said = api.import_(
        site, ASKED, folder=source, progress=lambda _, stage: told.append((stage, time.perf_counter())), **HAND
    )
    parts = [(f"  {stage}", at - before) for (_, before), (stage, at) in zip(told, told[1:], strict=False)]
    return [(f"{words} ({said.answer['entered']} entered)", told[-1][1] - told[0][1]), *parts]


def main(size: int) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name:
        folder, site = Path(name) / "in", Path(name) / "a.site"
        folder.mkdir()
        write(folder, size, seed=1)
        start = time.perf_counter()
        read = sum(len(list(csv.reader(p.open(encoding="utf-8", newline="")))) for p in folder.iterdir())
        plain_s = time.perf_counter() - start
        print(f"{read - 5} rows")
        api.new(site, ASKED, code="BENCH", name="", **HAND)
        stages: list[tuple[str, float]] = [("plain CSV reader", plain_s)]
        stages += imported("import", site, folder)
        stages += imported("import again", site, folder)
        start = time.perf_counter()
        api.export(site, ASKED, folder=Path(name) / "out.xlsx")
        stages.append(("export as a workbook", time.perf_counter() - start))
        stages += imported("import the workbook", site, Path(name) / "out.xlsx")
        for words, took_s in stages:
            print(f"{words:36s} {1000 * took_s:7.0f} ms  {took_s / plain_s:7.1f} x plain reader")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)

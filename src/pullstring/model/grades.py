"""How sure a claim is: two ladders of grades, with odds and ages that are ours and editable (`data/grades.csv`)."""

from __future__ import annotations

import csv
import dataclasses
import functools
from importlib import resources


@dataclasses.dataclass(frozen=True)
class Grade:
    """One rung: its ladder, its height, the odds we give it, and after how many days it is stale (None: never)."""

    name: str
    ladder: str
    rank: int
    odds: float
    stale_after_days: int | None
    provenance: str


@functools.cache
def grades() -> dict[str, Grade]:
    """All grades by name, in the order of the data file."""
    text = (resources.files("pullstring.model") / "data" / "grades.csv").read_text(encoding="utf-8")
    return {
        row["grade"]: Grade(
            row["grade"],
            row["ladder"],
            int(row["rank"]),
            float(row["odds"]),
            int(row["stale_after_days"]) if row["stale_after_days"] else None,
            row["provenance"],
        )
        for row in csv.DictReader(text.splitlines())
    }


def grade(name: str) -> Grade:
    """One grade by its name; KeyError when there is none."""
    return grades()[name]


def weakest(names: list[str]) -> str | None:
    """The lowest rung among the given grades; an answer is as strong as the weakest claim it stands on."""
    return min(names, key=lambda n: (grade(n).rank, n)) if names else None

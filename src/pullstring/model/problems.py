"""Every problem that can be told: how bad, its sentence, its remedy, the caution beside it. Read from `data/problems.csv`."""

from __future__ import annotations

import csv
import dataclasses
import functools
from collections.abc import Iterable
from importlib import resources

from pullstring.model.answers import Problem, Severity


@dataclasses.dataclass(frozen=True)
class Sentence:
    """A row of the catalogue; `says` and `remedy` have places for where it is and what was found."""

    code: str
    severity: Severity
    says: str
    remedy: str
    caution: str


@functools.cache
def catalogue() -> dict[str, Sentence]:
    """All problems by code."""
    text = (resources.files("pullstring.model") / "data" / "problems.csv").read_text(encoding="utf-8")
    return {
        row["code"]: Sentence(
            row["code"], Severity[row["severity"].upper()], row["says"], row["remedy"], row["caution"]
        )
        for row in csv.DictReader(text.splitlines())
    }


def problem(code: str, *, where: str, says: str = "", because: Iterable[str] = ()) -> Problem:
    """A problem of the catalogue at a place, with the entries it stands on; KeyError for an unknown code."""
    row = catalogue()[code]
    remedy = row.remedy.replace("{says}", says)
    return Problem(row.severity, code, where, says, remedy, tuple(dict.fromkeys(because)))


def listed(refs: Iterable[object], *, most: int = 6) -> str:
    """Things in a row: `a, b and c`; more than `most` are counted."""
    names = [str(r) for r in refs]
    if len(names) > most:
        names = [*names[: most - 1], f"{len(names) - most + 1} more"]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "nothing"


def worst_first(found: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems in the order in which they are told: by harm, then by the catalogue's own order, then by place."""
    rank = {code: number for number, code in enumerate(catalogue())}
    return tuple(sorted(found, key=lambda p: (p.severity, rank[p.code], p.where, p.says)))

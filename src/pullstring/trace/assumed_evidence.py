"""What is assumed when entries of the record are weighed: all ours, nobody measured them, edit to your own experience."""

from __future__ import annotations

import csv
import functools
import importlib.resources
import math

from pullstring.model.grades import grade
from pullstring.trace.assumed import constants


@functools.cache
def weights() -> dict[str, float]:
    """Every assumed constant of the evidence by its name (`assumed_evidence.csv`)."""
    text = (importlib.resources.files("pullstring.trace") / "assumed_evidence.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


def logit(chance: float) -> float:
    """Natural log of the odds of a chance."""
    return math.log(chance) - math.log1p(-chance)


def said_log(*, grade_name: str, among: int) -> float:
    """Natural log of what a saying of this grade adds for the one place it names, against each of the others.

    With nothing else known the place then has the odds of the grade.
    """
    return logit(grade(grade_name).odds) + math.log(max(among - 1, weights()["candidates_least"] - 1))


def none_log(*, chance: float, among: int) -> float:
    """Natural log of what speaks for an outlet without a cable here, so that it has this chance with nothing else known.

    An outlet is taken for granted to have a cable, and an end an outlet; that is what has to be outweighed.
    """
    c = constants()
    usual = math.log(c["prior_outlets_1"] / (c["prior_outlets_0"] * c["prior_no_cable"]))
    return logit(chance) + math.log(max(among, 1)) + usual

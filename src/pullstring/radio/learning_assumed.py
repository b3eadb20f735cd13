"""What learning from readings takes for granted before the first one: all data, most of it ours; edit to your own experience."""

from __future__ import annotations

import csv
import functools
import importlib.resources
from collections.abc import Mapping


@functools.cache
def assumed() -> Mapping[str, float]:
    """Every number of `data/assumed_learning.csv` by its name."""
    file = importlib.resources.files("pullstring.radio") / "data" / "assumed_learning.csv"
    return {row["name"]: float(row["value"]) for row in csv.DictReader(file.read_text(encoding="utf-8").splitlines())}

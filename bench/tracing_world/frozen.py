"""The frozen cases as sites and truths of this world."""

from __future__ import annotations

import json
import pathlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from bench.tracing_world.practice import Levels
from bench.tracing_world.site import Floats, Site
from bench.tracing_world.truth import Truth

WHERE = pathlib.Path(__file__).resolve().parents[2] / "tests" / "authorities" / "tracing"


def cases(name: str) -> list[dict[str, Any]]:
    """All cases of one file."""
    found: list[dict[str, Any]] = json.loads((WHERE / f"{name}.json").read_text(encoding="utf-8"))["cases"]
    return found


def travel_s(case: Mapping[str, Any]) -> Floats:
    """Walking times, kept as hundredths of a second below the diagonal."""
    count = len(case["travel_cs"]) + 1
    found = np.zeros((count, count))
    for i, row in enumerate(case["travel_cs"], 1):
        found[i, :i] = found[:i, i] = np.array(row) / 100
    return found


def site_of(case: Mapping[str, Any]) -> Site:
    bundles, blocks = (tuple(tuple(group) for group in case.get(what, ())) for what in ("bundles", "blocks"))
    return Site(case["m"], travel_s(case), bundles, blocks)


def truth_of(case: Mapping[str, Any]) -> Truth:
    return Truth(tuple(case["own"]), tuple(frozenset(group) for group in case["joined"]))


def levels_of(case: Mapping[str, Any]) -> Levels:
    """The frozen draw of tone levels."""
    return np.array([[int(level) for level in row] for row in case["tone_levels"]])

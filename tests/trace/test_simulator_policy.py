"""The program's own choice of acts, driven through the world of the bench: targets of the bench on few scenarios, and on more.

A ratio is seconds over those of present practice in the same building. Targets hold for 200 scenarios; with fewer a few
standard errors are given, from the published spreads of a ratio.
"""

import math

import numpy as np
import pytest

from bench import tracing
from bench.tracing_world import frozen, runs, tiny
from tests.tiers import slow

TINY = {case["id"]: case for case in frozen.cases("identify_small")}
SPREADS = {"one tone": 0.27, "8 remotes": 0.09, "16 remotes": 0.09, "ids": 0.02}
"""Published: the largest standard deviation of a ratio over scenarios, for any size."""


def target(size, kit, count, seed):
    outlets, ends = tracing.outlets_and_ends(size)
    some = [runs.run(runs.Case(outlets, ends, kit, "as believed", seed, number)) for number in range(count)]
    most, least = tracing.TARGETS[size, kit]
    assert np.mean([row.ratio for row in some]) <= most + 2 * SPREADS[kit] / math.sqrt(count)
    answers = count * outlets
    assert np.mean([row.right for row in some]) >= least - 3 * math.sqrt(least * (1 - least) / answers)
    claimed, right = (float(np.mean([getattr(row, f) for row in some])) for f in ("claimed", "right"))
    assert claimed == pytest.approx(right, abs=0.004 + 3 * math.sqrt(0.005 / answers))


@pytest.mark.parametrize(("size", "kit", "count"), [("20x30", "8 remotes", 12), ("8x12", "one tone", 12)])
def test_target__few_scenarios(size, kit, count):
    target(size, kit, count, seed=41)


@slow("20 s, every row that has a target")
@pytest.mark.parametrize(("size", "kit"), tracing.TARGETS)
def test_target__every_row(size, kit):
    target(size, kit, {"80x120": 3, "48x60": 10}.get(size, 20), seed=42)


@pytest.mark.parametrize("name", ["J0", "J1", "J4", pytest.param("J5", marks=slow("6 s, 125 assignments"))])
def test_tiny__near_the_optimum_and_never_below(name):
    """Readings are certain, so every answer must be right; 1.10 of the least expected time is the worst allowed."""
    case = TINY[name]
    found = tiny.judged(name, frozen.site_of(case), case["remotes"])
    assert found.right == pytest.approx(1.0)
    assert case["optimal_expected_s"] - 0.01 <= found.expected_s <= 1.10 * case["optimal_expected_s"]

"""Which tests run when, and the one seed that differs from run to run.

The quick tier is every test without `slow`. A slow one needs a small sibling in the quick tier.
Hypothesis draws the same examples each time; a property worth a new draw each run takes the fresh seed:

    @hypothesis.seed(FRESH_SEED)
    @hypothesis.given(...)
    def test_merge__fresh_draw(...): ...
"""

import os
import re

import pytest

FRESH_SEED = int(os.environ.get("PULLSTRING_SEED") or int.from_bytes(os.urandom(4), "big"))
os.environ["PULLSTRING_SEED"] = str(FRESH_SEED)  # child processes and parallel workers draw the same

_COST = re.compile(r"(?P<seconds>\d+) s, \S.*")


def slow(cost: str) -> pytest.MarkDecorator:
    """Leave a test to `run.py test --all`. `cost` says how long and why: `@slow("40 s, all six orders")`."""
    if not _COST.fullmatch(cost):
        raise ValueError(f"slow({cost!r}): write CPU seconds and a reason, like '40 s, all six orders'.")
    return pytest.mark.slow(cost)


def seconds(mark: pytest.Mark) -> int:
    """CPU seconds that a slow test says it takes."""
    found = _COST.fullmatch(mark.args[0])
    assert found is not None, mark
    return int(found["seconds"])

"""One cut and all single cuts by the engine against naive recomputation, as ratios in one run.

From the repository's folder: `python -m bench.reach [SIZE]`. The naive way passes over all rules until nothing
changes. As drawn, most rules stand after those they need, so it is done in a few passes; a record promises no such
order, so the rules are shuffled too.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from pullstring.reach.consequence import Fact, Rule, goes_dark, single_removals
from tests.reach.drawn_site import Drawn

T = TypeVar("T")
SAMPLE = 40  # elements cut one by one; the naive time for all of them is this time scaled up


def naive(rules: Sequence[Rule], removed: frozenset[str]) -> set[Fact]:
    holds: set[Fact] = set()
    changed = True
    while changed:
        changed = False
        for rule in rules:
            if rule.head not in holds and removed.isdisjoint(rule.through) and holds.issuperset(rule.bodies):
                holds.add(rule.head)
                changed = True
    return holds


def naive_cut(rules: Sequence[Rule], services: Mapping[str, Fact], element: str) -> tuple[str, ...]:
    before, after = naive(rules, frozenset()), naive(rules, frozenset({element}))
    return tuple(sorted(name for name, f in services.items() if f in before and f not in after))


def seconds(act: Callable[[], T]) -> tuple[float, T]:
    start = time.process_time()
    result = act()
    return time.process_time() - start, result


def compare(order: str, rules: Sequence[Rule], services: Mapping[str, Fact], every: Sequence[str]) -> None:
    some = every[:: max(1, len(every) // SAMPLE)]
    slow_s, slow = seconds(lambda: {e: naive_cut(rules, services, e) for e in some})
    fast_s, fast = seconds(lambda: {e: goes_dark(rules, services, {e}) for e in some})
    all_s, dark = seconds(lambda: single_removals(rules, services))
    if not slow == fast == {e: dark[e] for e in some}:
        raise SystemExit("bench/reach.py: the engine and naive recomputation differ; they must be equal.")
    naive_all_s = slow_s / len(some) * (len(every) + 1) / 2  # the site before the cut is needed once only
    print(f"rules {order}, engine / naive:")
    print(f"  one cut          {fast_s / slow_s:.3f}    ({fast_s / len(some) * 1e3:.1f} ms)")
    print(f"  all single cuts  {all_s / naive_all_s:.5f}  ({all_s * 1e3:.0f} ms; naive scaled up)")


def main(size: int) -> None:
    site = Drawn(size, 1)
    every = sorted(site.elements)
    print(f"{len(every)} elements, {len(site.rules)} rules, {len(site.services)} services")
    compare("as drawn", site.rules, site.services, every)
    compare("shuffled", random.Random(1).sample(site.rules, len(site.rules)), site.services, every)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)

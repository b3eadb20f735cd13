"""One cut, all single cuts, an order and odds by the engine against naive recomputation, as ratios in one run.

From the repository's folder: `python -m bench.reach [SIZE]`. The naive way passes over all rules until nothing
changes. As drawn, most rules stand after those they need, so it is done in a few passes; a record promises no such
order, so the rules are shuffled too. Times are CPU times of one process.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from pullstring.reach.consequence import Fact, Rule, goes_dark, prepared, single_removals
from pullstring.reach.odds import weighed
from pullstring.reach.order import Plan, removal_plan
from tests.reach.drawn_site import Drawn

T = TypeVar("T")
SAMPLE = 40  # elements cut one by one; the naive time for all of them is this time scaled up
OUT = 120  # telephone elements that come out in order, all data services kept
LINKS = 200  # uncertain links


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
    """CPU time of a piece of work, and what it gives. [s]"""
    start = time.process_time()
    result = act()
    return time.process_time() - start, result


def best(act: Callable[[], T]) -> tuple[float, T]:
    """The best of three times. [s]"""
    return min((seconds(act) for _ in range(3)), key=lambda took: took[0])


def compare(order: str, rules: tuple[Rule, ...], services: Mapping[str, Fact], every: Sequence[str]) -> None:
    """Cuts by the engine and naively: they must be equal. A list of rules is made ready anew at each question."""
    some = every[:: max(1, len(every) // SAMPLE)]
    slow_s, slow = seconds(lambda: {e: naive_cut(rules, services, e) for e in some})
    cold_s, cold = best(lambda: {e: goes_dark(list(rules), services, {e}) for e in some})
    ready = prepared(rules)
    fast_s, fast = best(lambda: {e: goes_dark(ready, services, {e}) for e in some})
    all_s, dark = best(lambda: single_removals(list(rules), services))
    ready_s, _ = best(lambda: single_removals(ready, services))
    if not slow == fast == cold == {e: dark[e] for e in some}:
        raise SystemExit("bench/reach.py: the engine and naive recomputation differ; they must be equal.")
    one_s, every_s = slow_s / len(some), slow_s / len(some) * (len(every) + 1) / 2  # the site uncut: once only
    print(f"rules {order}, CPU time and engine / naive:")
    shown("one cut, from the rules", cold_s / len(some), one_s)
    shown("one cut, rules made ready", fast_s / len(some), one_s)
    shown("all single cuts, from the rules", all_s, every_s)
    shown("all single cuts, made ready", ready_s, every_s)


def shown(name: str, took_s: float, naive_s: float) -> None:
    print(f"  {name:34s} {took_s * 1e3:8.1f} ms   {took_s / naive_s:9.5f}")


def in_order(site: Drawn, every: Sequence[str]) -> None:
    """An order, the naive way being one naive cut for each element that might come next at each step."""
    keep = [name for name in site.services if name.startswith("svc")]
    old = [e for e in every if e.startswith(("block", "tel")) and e != "telco"]
    remove = random.Random(1).sample(old, min(OUT, len(old)))
    if not remove:
        print("no telephone elements were drawn; nothing comes out in order")
        return
    one_s, _ = seconds(lambda: naive(site.rules, frozenset()))
    took_s, plan = best(lambda: removal_plan(list(site.rules), site.services, remove, keep))
    print(f"order of {len(remove)}, {len(keep)} services kept; naive scaled up from one fixed point:")
    shown("removal order, from the rules", took_s, one_s * len(remove) * (len(remove) + 1) / 2)
    print(f"  {told(plan)}")


def told(plan: Plan) -> str:
    sure = "no order is better" if plan.is_best else f"no order is below {plan.at_least}"
    return f"{len(plan.steps)} steps, {len(plan.blocked)} blocked, largest step {plan.largest_step} ({sure})"


def by_chance(site: Drawn) -> None:
    """Odds of all services with many uncertain links, the naive way being two fixed points for each way drawn."""
    dice = random.Random(1)
    uncertain = {i: dice.choice((0.5, 0.7, 0.9, 0.95)) for i in dice.sample(range(len(site.rules)), LINKS)}
    one_s, _ = seconds(lambda: naive(site.rules, frozenset()))
    took_s, found = best(lambda: weighed(list(site.rules), site.services, {"core"}, uncertain, seed=1))
    print(f"odds, {len(uncertain)} uncertain links, {found.ways} ways drawn; naive scaled up from one fixed point:")
    shown("odds of every service", took_s, one_s * 2 * found.ways)


def main(size: int) -> None:
    site = Drawn(size, 1)
    every = sorted(site.elements)
    print(f"{len(every)} elements, {len(site.rules)} rules, {len(site.services)} services")
    compare("as drawn", tuple(site.rules), site.services, every)
    compare("shuffled", tuple(random.Random(1).sample(site.rules, len(site.rules))), site.services, every)
    in_order(site, every)
    by_chance(site)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)

"""All single removals by the engine against plain recomputation, as a ratio in one run: `python bench/reach.py`."""

from __future__ import annotations

import random
import time

from pullstring.reach.consequence import Rule, live, single_removals


def site(size: int, seed: int) -> tuple[list[Rule], dict[str, tuple[str, str]]]:
    """A tree of switches with a leaf service at every third element; invented."""
    dice = random.Random(seed)
    rules = [Rule(("P", "e0"), (), ()), Rule(("D", "e0"), (("P", "e0"),), ())]
    for i in range(1, size):
        up = f"e{dice.randrange(max(0, i - 40), i)}"
        rules += [Rule(("P", f"e{i}"), (("P", up),), ()), Rule(("D", f"e{i}"), (("D", up), ("P", f"e{i}")), ())]
    return rules, {f"s{i}": ("D", f"e{i}") for i in range(0, size, 3)}


if __name__ == "__main__":
    rules, services = site(600, 1)
    start = time.process_time()
    fast = single_removals(rules, services)
    middle = time.process_time()
    before = live(rules)
    slow = {}
    for element in fast:
        after = live(rules, {element})
        slow[element] = tuple(sorted(n for n, f in services.items() if f in before and f not in after))
    end = time.process_time()
    assert fast == slow
    print(f"600 elements, all single removals: engine / plain = {(middle - start) / (end - middle):.2f}")

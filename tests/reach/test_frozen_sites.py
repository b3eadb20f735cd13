"""The engine and the orders against twenty frozen sites with exact answers (`frozen/ORIGIN.md`)."""

from __future__ import annotations

import collections
import itertools
import json
from pathlib import Path

import pytest

from pullstring.reach.consequence import Fact, Rule, goes_dark, live, single_points, single_removals
from pullstring.reach.order import removal_plan
from tests.reach.plain import darkened, plainly

FROZEN = json.loads((Path(__file__).parent / "frozen" / "sites.json").read_text("utf-8"))["cases"]
TO_EMPTY = [case for case in FROZEN if "removal" in case]
every_site = pytest.mark.parametrize("case", FROZEN, ids=[case["id"] for case in FROZEN])
every_removal = pytest.mark.parametrize("case", TO_EMPTY, ids=[case["id"] for case in TO_EMPTY])


def fact(text: str, names: list[str]) -> Fact:
    return text[0], names[int(text[1:])]


def read(case: dict) -> tuple[list[Rule], dict[str, Fact]]:
    names = case["elements"]
    rules = [
        Rule(fact(h, names), tuple(fact(b, names) for b in bodies), tuple(names[t] for t in through))
        for h, bodies, through in case["rules"]
    ]
    rules += [Rule(fact(s, names), (), ()) for s in case["sources"]]
    return rules, {f"{i:03d}": ("D", names[element]) for i, (_, element) in enumerate(case["services"])}


def asked(case: dict) -> tuple[list[str], list[str]]:
    """What shall come out, and the kept services, by name."""
    removal = case["removal"]
    return [case["elements"][e] for e in removal["remove"]], [f"{n:03d}" for n in removal["keep"]]


@every_site
def test_frozen_sites__dark_at_start(case: dict) -> None:
    rules, services = read(case)
    alive = live(rules)
    assert [int(n) for n, f in services.items() if f not in alive] == case["dark_at_start"]


@every_site
def test_frozen_sites__every_single_removal(case: dict) -> None:
    rules, services = read(case)
    expected = dict(zip(case["elements"], case["dark_if_removed"], strict=True))
    found = {element: [int(n) for n in names] for element, names in single_removals(rules, services).items()}
    assert found == expected
    assert {e: [int(n) for n in goes_dark(rules, services, {e})] for e in expected} == expected


@every_removal
def test_frozen_sites__elements_that_kept_services_block(case: dict) -> None:
    rules, services = read(case)
    remove, keep = asked(case)
    blocked = [case["elements"][e] for e in case["removal"]["blocked"]]
    points = single_points(rules, services, keep)
    assert [e for e in remove if e in points] == blocked
    plan = removal_plan(rules, services, remove, keep)
    assert sorted(plan.blocked) == blocked
    assert sorted(step.element for step in plan.steps) == sorted(set(remove) - set(blocked))


@every_removal
def test_frozen_sites__largest_step_is_the_best_of_all_orders(case: dict) -> None:
    """All orders once more, by plain recomputation; where none is allowed, of all but what is blocked."""
    rules, services = read(case)
    remove, keep = asked(case)
    removal = case["removal"]
    dark: dict[frozenset[str], frozenset[str]] = {}
    before = plainly(rules)
    for size in range(len(remove) + 1):
        for gone in itertools.combinations(remove, size):
            dark[frozenset(gone)] = frozenset(darkened(before, plainly(rules, gone), services))

    def sizes(order: tuple[str, ...]) -> list[int]:
        sets = [frozenset(order[:n]) for n in range(len(order) + 1)]
        return [len(dark[b]) - len(dark[a]) for a, b in itertools.pairwise(sets)]

    largest = {
        order: max(sizes(order))
        for order in itertools.permutations(remove)
        if not any(dark[frozenset(order[:n])] & set(keep) for n in range(len(order) + 1))
    }
    assert len(largest) == removal["orders_allowed"]
    plan = removal_plan(rules, services, remove, keep)
    order = tuple(step.element for step in plan.steps)
    assert [len(step.goes_dark) for step in plan.steps] == sizes(order)
    assert plan.is_best
    if removal["an_order"] is None:
        assert not largest
        assert plan.largest_step == min(max(sizes(o)) for o in itertools.permutations(order))
        return
    assert (min(largest.values()), max(largest.values())) == (
        removal["best_largest_step"],
        removal["worst_largest_step"],
    )
    assert largest[tuple(case["elements"][e] for e in removal["an_order"])] == removal["best_largest_step"]
    assert largest[order] == plan.largest_step == removal["best_largest_step"]


def test_frozen_sites__hold_every_kind_of_trouble() -> None:
    """What the sites cannot show they cannot prove: series elements, second feeds, two bodies, a dark start, a spare."""
    everything = [rule for case in FROZEN for rule in case["rules"]]
    heads = collections.Counter((case["id"], h) for case in FROZEN for h, _, _ in case["rules"] if h[0] == "P")
    assert sum(len(through) > 1 for _, _, through in everything) > 50
    assert sum(len(bodies) > 1 for _, bodies, _ in everything) > 50
    assert sum(count > 1 for count in heads.values()) > 20
    assert [case["id"] for case in FROZEN if case["dark_at_start"]] == ["R01", "R05", "R09", "R13", "R17"]
    assert all([] in case["dark_if_removed"] for case in FROZEN)
    orders = [case["removal"] for case in TO_EMPTY]
    assert sum(r["best_largest_step"] != r["worst_largest_step"] for r in orders) == 4
    assert sum(bool(r["blocked"]) for r in orders) == 1

"""The engine against twenty frozen sites with exact answers, and against plain recomputation on random ones."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from pullstring.reach.consequence import Fact, Rule, goes_dark, live, proof, single_points, single_removals

FROZEN = json.loads((Path(__file__).parents[1] / "authorities" / "reach_sites.json").read_text())["cases"]


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


@pytest.mark.parametrize("case", FROZEN, ids=[str(i) for i in range(len(FROZEN))])
def test_frozen_sites__every_single_removal(case: dict) -> None:
    rules, services = read(case)
    alive = live(rules)
    assert [int(n) for n, f in services.items() if f not in alive] == sorted(case["dark_at_start"])
    dark = single_removals(rules, services)
    for element, expected in zip(case["elements"], case["dark_if_removed"], strict=True):
        assert [int(n) for n in dark.get(element, ())] == sorted(expected), element
        assert [int(n) for n in goes_dark(rules, services, {element})] == sorted(expected), element


def plainly(rules: list[Rule], removed: set[str]) -> set[Fact]:
    """Recompute until nothing changes; slow and without any cleverness."""
    holds: set[Fact] = set()
    while True:
        new = {
            r.head
            for r in rules
            if r.head[1] not in removed and not removed & set(r.through) and all(b in holds for b in r.bodies)
        }
        if new <= holds:
            return holds
        holds |= new


@pytest.mark.parametrize("seed", range(60))
def test_random_sites__equal_to_plain_recomputation(seed: int) -> None:
    dice = random.Random(seed)
    names = [f"e{i}" for i in range(dice.randint(4, 14))]
    facts = [(k, n) for k in "PD" for n in names]
    rules = [
        Rule(
            dice.choice(facts),
            tuple(dice.sample(facts, dice.randint(0, 2) if dice.random() < 0.2 else dice.randint(1, 2))),
            tuple(dice.sample(names, dice.randint(0, 2))),
        )
        for _ in range(dice.randint(5, 40))
    ]
    services = {n: ("D", n) for n in names}
    assert live(rules) == plainly(rules, set())
    for name, dark in single_removals(rules, services).items():
        before, after = plainly(rules, set()), plainly(rules, {name})
        assert dark == tuple(sorted(n for n, f in services.items() if f in before and f not in after))


def test_loop_without_source__stays_dark() -> None:
    rules = [Rule(("P", "a"), (("P", "b"),), ()), Rule(("P", "b"), (("P", "a"),), ())]
    assert live(rules) == frozenset()


def test_second_feed__one_may_go_both_may_not() -> None:
    rules = [
        Rule(("P", "mains"), (), ()),
        Rule(("P", "battery"), (), ()),
        Rule(("P", "u"), (("P", "mains"),), ()),
        Rule(("P", "u"), (("P", "battery"),), ()),
    ]
    services = {"s": ("P", "u")}
    assert goes_dark(rules, services, {"mains"}) == ()
    assert goes_dark(rules, services, {"mains", "battery"}) == ("s",)
    assert single_points(rules, services, ["s"]) == {"u": ("s",)}


def test_proof__stands_on_what_is_before_it() -> None:
    rules, services = read(FROZEN[0])
    for wanted in services.values():
        shown: set[Fact] = set()
        for rule in proof(rules, wanted):
            assert set(rule.bodies) <= shown
            shown.add(rule.head)
        assert wanted in shown or wanted not in live(rules)

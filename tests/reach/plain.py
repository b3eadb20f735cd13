"""Plain recomputation, without any cleverness, and small rule systems in which anything goes."""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Mapping

from pullstring.reach.consequence import Fact, Rule


def plainly(rules: Iterable[Rule], removed: Collection[str] = ()) -> set[Fact]:
    """Recompute until nothing changes."""
    gone = set(removed)
    standing = [r for r in rules if r.head[1] not in gone and not gone & set(r.through)]
    holds: set[Fact] = set()
    while True:
        new = {r.head for r in standing if all(b in holds for b in r.bodies)}
        if new <= holds:
            return holds
        holds |= new


def darkened(before: Collection[Fact], after: Collection[Fact], services: Mapping[str, Fact]) -> tuple[str, ...]:
    return tuple(sorted(name for name, f in services.items() if f in before and f not in after))


def elements_of(rules: Iterable[Rule]) -> list[str]:
    return sorted({e for r in rules for e in (*r.through, r.head[1], *(b[1] for b in r.bodies))})


def any_rules(dice: random.Random) -> list[Rule]:
    """Alternatives, series elements, rings with and without a source, facts that need two bodies; anything goes."""
    names = [f"e{i}" for i in range(dice.randint(4, 14))]
    facts = [(kind, name) for kind in "PD" for name in names]
    rules = [Rule(f, (), ()) for f in dice.sample(facts, dice.randint(1, 3))]
    for _ in range(dice.randint(5, 40)):
        through = tuple(dice.sample(names, dice.randint(0, 2)))
        rules.append(Rule(dice.choice(facts), tuple(dice.sample(facts, dice.randint(1, 2))), through))
    for _ in range(dice.randint(0, 2)):
        ring = dice.sample(facts, 3)
        rules += [Rule(a, (b,), ()) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]
    loose = [("P", f"loose{i}") for i in range(dice.randint(2, 4))]
    rules += [Rule(a, (b,), ()) for a, b in zip(loose, [*loose[1:], loose[0]], strict=True)]
    dice.shuffle(rules)
    return rules


def any_services(rules: Iterable[Rule]) -> dict[str, Fact]:
    return {f"{kind} {name}": (kind, name) for kind in "PD" for name in elements_of(rules)}

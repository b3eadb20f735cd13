"""What goes dark when something is taken away: rules, their least fixed point, and removals.

A fact is ("P", element) powered or ("D", element) carries a signal. A rule gives its head when all its bodies hold and every
element of `through` is present; several rules with one head are alternatives. What holds is the least fixed point, so
a loop without a source never feeds itself.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence

Fact = tuple[str, str]


@dataclasses.dataclass(frozen=True)
class Rule:
    """One way in which a fact comes to hold. `because` names the entries that it stands on."""

    head: Fact
    bodies: tuple[Fact, ...]
    through: tuple[str, ...]
    because: tuple[str, ...] = ()

    @property
    def elements(self) -> frozenset[str]:
        """Everything that must be present, the head's own element among it."""
        return frozenset((*self.through, self.head[1]))


def live(rules: Sequence[Rule], removed: Collection[str] = frozenset()) -> frozenset[Fact]:
    """The least fixed point with some elements removed, in time linear in the rules."""
    return frozenset(_derive(rules, frozenset(removed)))


def _derive(rules: Sequence[Rule], removed: frozenset[str]) -> dict[Fact, Rule]:
    """Each fact that holds, with the rule that first gave it, in the order they were found."""
    waiting: dict[Fact, list[int]] = collections.defaultdict(list)
    missing: list[int] = []
    ready: collections.deque[int] = collections.deque()
    for i, rule in enumerate(rules):
        bodies = set(rule.bodies)
        missing.append(len(bodies))
        if removed and not removed.isdisjoint(rule.elements):
            continue
        for body in bodies:
            waiting[body].append(i)
        if not bodies:
            ready.append(i)
    holds: dict[Fact, Rule] = {}
    while ready:
        rule = rules[ready.popleft()]
        if rule.head in holds:
            continue
        holds[rule.head] = rule
        for i in waiting[rule.head]:
            missing[i] -= 1
            if missing[i] == 0:
                ready.append(i)
    return holds


def proof(rules: Sequence[Rule], fact: Fact, removed: Collection[str] = frozenset()) -> tuple[Rule, ...]:
    """One well-founded reason for a fact: rules in an order in which each has its bodies before it; empty if it fails."""
    holds = _derive(rules, frozenset(removed))
    if fact not in holds:
        return ()
    needed, stack = {fact}, [fact]
    while stack:
        for body in holds[stack.pop()].bodies:
            if body not in needed:
                needed.add(body)
                stack.append(body)
    return tuple(rule for head, rule in holds.items() if head in needed)


def goes_dark(rules: Sequence[Rule], services: Mapping[str, Fact], removed: Collection[str]) -> tuple[str, ...]:
    """Services alive before and not after, in order of their names."""
    before, after = live(rules), live(rules, removed)
    return tuple(sorted(name for name, fact in services.items() if fact in before and fact not in after))


def single_removals(rules: Sequence[Rule], services: Mapping[str, Fact]) -> dict[str, tuple[str, ...]]:
    """For every element, what its removal alone darkens. Only what a service's own proof uses can darken it."""
    every = {element for rule in rules for element in rule.elements}
    holds = _derive(rules, frozenset())
    uses = {
        name: {e for r in proof(rules, fact) for e in r.elements} for name, fact in services.items() if fact in holds
    }
    suspects: set[str] = set().union(*uses.values())
    dark: dict[str, tuple[str, ...]] = {}
    for element in sorted(every):
        if element not in suspects:
            dark[element] = ()
            continue
        after = live(rules, {element})
        dark[element] = tuple(sorted(n for n, used in uses.items() if element in used and services[n] not in after))
    return dark


def single_points(
    rules: Sequence[Rule], services: Mapping[str, Fact], keep: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """Elements whose removal alone darkens a service that must be kept, with those services."""
    kept = {name: services[name] for name in keep if name in services}
    return {element: names for element, names in single_removals(rules, kept).items() if names}

"""What goes dark when something is taken away: rules, their least fixed point, and removals.

A fact is ("P", element) powered or ("D", element) carries a signal. A rule gives its head when all its bodies hold
and every element of `through` is present; several rules with one head are alternatives. What holds is the least
fixed point, so a loop without a source never feeds itself.

A removal is worked out from the whole site. First every fact is doubted whose noted derivation used what is taken
away, directly or through another doubted fact. Then those are restored that some other rule still gives from facts
that are not doubted, or already restored. The rest is lost. Only the doubted part is looked at.
"""

from __future__ import annotations

import collections
import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence

Fact = tuple[str, str]

_NEVER = -1  # in place of a rule's number: no rule gives this fact


@dataclasses.dataclass(frozen=True)
class Rule:
    """One way in which a fact comes to hold. `because` names the entries that it stands on."""

    head: Fact
    bodies: tuple[Fact, ...]
    through: tuple[str, ...]
    because: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.head[1] not in self.through:
            object.__setattr__(self, "through", (*self.through, self.head[1]))

    @property
    def elements(self) -> frozenset[str]:
        """Everything that must be present, the head's own element among it."""
        return frozenset(self.through)


@dataclasses.dataclass(frozen=True)
class _Net:
    """Rules and facts by number, and who stands on whom."""

    facts: tuple[Fact, ...]
    number: Mapping[Fact, int]
    head: tuple[int, ...]  # by rule
    bodies: tuple[tuple[int, ...], ...]  # by rule
    waiting: tuple[list[int], ...]  # by fact: rules with this body
    giving: tuple[list[int], ...]  # by fact: rules with this head
    using: Mapping[str, list[int]]  # by element: rules that need it present


def live(rules: Sequence[Rule], removed: Collection[str] = frozenset()) -> frozenset[Fact]:
    """The least fixed point with some elements removed, in time linear in the rules."""
    net = _tie(rules)
    found, _ = _derive(net, _dead(net, removed))
    return frozenset(net.facts[fact] for fact in found)


def proof(rules: Sequence[Rule], fact: Fact, removed: Collection[str] = frozenset()) -> tuple[Rule, ...]:
    """One well-founded reason for a fact: rules, each after those that give its bodies; empty if it fails."""
    net = _tie(rules)
    found, noted = _derive(net, _dead(net, removed))
    wanted = net.number.get(fact)
    if wanted is None or noted[wanted] == _NEVER:
        return ()
    needed, stack = {wanted}, [wanted]
    while stack:
        for body in net.bodies[noted[stack.pop()]]:
            if body not in needed:
                needed.add(body)
                stack.append(body)
    return tuple(rules[noted[one]] for one in found if one in needed)


def goes_dark(rules: Sequence[Rule], services: Mapping[str, Fact], removed: Collection[str]) -> tuple[str, ...]:
    """Services alive before and not after, in order of their names."""
    net = _tie(rules)
    _, noted = _derive(net, frozenset())
    return _named(_lost(net, noted, _dead(net, removed)), _at(net, services))


def single_removals(rules: Sequence[Rule], services: Mapping[str, Fact]) -> dict[str, tuple[str, ...]]:
    """For every element that a rule names, in order, the services that its removal alone darkens."""
    net = _tie(rules)
    _, noted = _derive(net, frozenset())
    at = _at(net, services)
    every = {element for _, element in net.facts} | set(net.using)
    return {element: _named(_lost(net, noted, _dead(net, (element,))), at) for element in sorted(every)}


def single_points(
    rules: Sequence[Rule], services: Mapping[str, Fact], keep: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """Elements whose removal alone darkens a service that must be kept, with those services.

    A name in `keep` that is not among the services has no fact to lose and is passed over.
    """
    kept = {name: services[name] for name in keep if name in services}
    return {element: names for element, names in single_removals(rules, kept).items() if names}


def _tie(rules: Sequence[Rule]) -> _Net:
    number: dict[Fact, int] = {}
    for rule in rules:
        for fact in (rule.head, *rule.bodies):
            if fact not in number:
                number[fact] = len(number)
    head = tuple([number[rule.head] for rule in rules])
    bodies = tuple([tuple([number[body] for body in rule.bodies]) for rule in rules])
    waiting: tuple[list[int], ...] = tuple([[] for _ in number])
    giving: tuple[list[int], ...] = tuple([[] for _ in number])
    using: dict[str, list[int]] = {}
    for i, rule in enumerate(rules):
        giving[head[i]].append(i)
        for body in bodies[i]:
            waiting[body].append(i)
        for element in rule.through:
            using.setdefault(element, []).append(i)
    return _Net(tuple(number), number, head, bodies, waiting, giving, using)


def _dead(net: _Net, removed: Iterable[str]) -> frozenset[int]:
    """Rules that give nothing once these elements are gone."""
    return frozenset(i for element in removed for i in net.using.get(element, ()))


def _derive(net: _Net, dead: frozenset[int]) -> tuple[list[int], list[int]]:
    """The facts that hold, in the order they were found; and by fact, the rule that first gave it."""
    missing = [len(bodies) for bodies in net.bodies]
    ready = collections.deque(i for i, count in enumerate(missing) if count == 0 and i not in dead)
    found: list[int] = []
    noted = [_NEVER] * len(net.facts)
    while ready:
        rule = ready.popleft()
        fact = net.head[rule]
        if noted[fact] != _NEVER:
            continue
        noted[fact] = rule
        found.append(fact)
        for i in net.waiting[fact]:
            missing[i] -= 1
            if missing[i] == 0 and i not in dead:
                ready.append(i)
    return found, noted


def _lost(net: _Net, noted: Sequence[int], dead: frozenset[int]) -> set[int]:
    """Facts that hold on the whole site and no longer without these rules."""
    doubted = {net.head[i] for i in dead if noted[net.head[i]] == i}
    stack = list(doubted)
    while stack:
        for i in net.waiting[stack.pop()]:
            fact = net.head[i]
            if noted[fact] == i and fact not in doubted:
                doubted.add(fact)
                stack.append(fact)
    return doubted - _restored(net, noted, dead, doubted)


def _restored(net: _Net, noted: Sequence[int], dead: frozenset[int], doubted: set[int]) -> set[int]:
    """Doubted facts that other rules still give, from facts outside the doubt inwards."""
    missing: dict[int, int] = {}
    ready: list[int] = []
    for fact in doubted:
        for i in net.giving[fact]:
            if i in dead or any(noted[body] == _NEVER for body in net.bodies[i]):
                continue
            missing[i] = sum(body in doubted for body in net.bodies[i])
            if missing[i] == 0:
                ready.append(i)
    back: set[int] = set()
    while ready:
        fact = net.head[ready.pop()]
        if fact in back:
            continue
        back.add(fact)
        for i in net.waiting[fact]:
            if i in missing:
                missing[i] -= 1
                if missing[i] == 0:
                    ready.append(i)
    return back


def _at(net: _Net, services: Mapping[str, Fact]) -> dict[int, list[str]]:
    """Service names by the number of the fact they live on; a fact that no rule names is never alive."""
    at: dict[int, list[str]] = collections.defaultdict(list)
    for name, fact in services.items():
        if fact in net.number:
            at[net.number[fact]].append(name)
    return dict(at)


def _named(lost: Collection[int], at: Mapping[int, list[str]]) -> tuple[str, ...]:
    return tuple(sorted(name for fact in lost for name in at.get(fact, ())))

"""What goes dark when something is taken away: rules, their least fixed point, and removals.

A fact is ("P", element) powered or ("D", element) carries a signal. A rule gives its head when all its bodies hold
and every element of `through` is present; several rules with one head are alternatives. What holds is the least
fixed point, so a loop without a source never feeds itself.

One removal is worked out from the whole site. First every fact is doubted whose noted derivation used what is taken
away, directly or through another doubted fact. Then those are restored that some other rule still gives from facts
that are not doubted, or already restored. The rest is lost. Only the doubted part is looked at.

Many removals are worked out at once. Each is a world, and a world is one binary place in a long whole number: a fact
has a number that tells in which worlds it fails. At first every doubted fact fails everywhere. A rule fails where one
of its bodies fails or one of its elements is gone; a fact fails only where all its rules fail; so numbers only shrink
until nothing changes. In each place alone that is the least fixed point of that world.
"""

from __future__ import annotations

import collections
import dataclasses
import functools
import heapq
import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

Fact = tuple[str, str]

_NEVER = -1  # in place of a rule's number: no rule gives this fact
_MUCH = 4  # when more than one fact in so many is doubted, all are derived anew: that is quicker then
_KEPT = 2  # how many sets of rules stay ready for the next question


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


@dataclasses.dataclass(frozen=True, eq=False)
class Tied:
    """Rules made ready for questions: rules and facts by number, who stands on whom, what holds and by which rule.

    Every question may be given these instead of the rules. `order` is well-founded: the rule that is noted for a fact
    has its bodies earlier in it.
    """

    rules: tuple[Rule, ...]
    number: Mapping[Fact, int]
    head: Sequence[int]  # by rule
    bodies: Sequence[tuple[int, ...]]  # by rule
    waiting: Sequence[Sequence[int]]  # by fact: rules with this body
    order: Sequence[int]  # facts that hold with nothing removed, as they were found
    noted: Sequence[int]  # by fact: the rule that first gave it

    @functools.cached_property
    def facts(self) -> tuple[Fact, ...]:
        """Facts by number."""
        return tuple(self.number)

    @functools.cached_property
    def rank(self) -> Mapping[int, int]:
        """Place in `order` by fact."""
        return {fact: place for place, fact in enumerate(self.order)}

    @functools.cached_property
    def giving(self) -> Sequence[Sequence[int]]:
        """Rules by the fact that they give."""
        found: list[list[int]] = [[] for _ in self.number]
        for i, fact in enumerate(self.head):
            found[fact].append(i)
        return found

    @functools.cached_property
    def using(self) -> Mapping[str, Sequence[int]]:
        """Rules by the element that they need present."""
        found: dict[str, list[int]] = {}
        for i, rule in enumerate(self.rules):
            for element in rule.through:
                found.setdefault(element, []).append(i)
        return found

    @functools.cached_property
    def elements(self) -> tuple[str, ...]:
        """Every element that a rule names, in order."""
        return tuple(sorted({element for _, element in self.number} | set(self.using)))

    def alive(self, services: Mapping[str, Fact]) -> dict[str, int]:
        """Facts of the services that are alive with nothing removed, by name in order."""
        at = ((name, self.number.get(services[name], _NEVER)) for name in sorted(services))
        return {name: fact for name, fact in at if fact != _NEVER and self.noted[fact] != _NEVER}


def prepared(rules: Sequence[Rule] | Tied) -> Tied:
    """Rules made ready. Of a tuple, which cannot change, they are kept for the next question on the same one."""
    if isinstance(rules, Tied):
        return rules
    for tied in _latest:
        if tied.rules is rules:
            return tied
    tied = _tie(tuple(rules))
    if isinstance(rules, tuple):
        _latest[:] = [tied, *_latest[: _KEPT - 1]]
    return tied


_latest: list[Tied] = []


def live(rules: Sequence[Rule] | Tied, removed: Collection[str] = frozenset()) -> frozenset[Fact]:
    """The least fixed point with some elements removed, in time linear in the rules."""
    tied = prepared(rules)
    found, _ = _without(tied, removed)
    return frozenset(tied.facts[fact] for fact in found)


def proof(rules: Sequence[Rule] | Tied, fact: Fact, removed: Collection[str] = frozenset()) -> tuple[Rule, ...]:
    """One well-founded reason for a fact: rules, each after those that give its bodies; empty if it fails."""
    tied = prepared(rules)
    found, noted = _without(tied, removed)
    wanted = tied.number.get(fact)
    if wanted is None or noted[wanted] == _NEVER:
        return ()
    needed, stack = {wanted}, [wanted]
    while stack:
        for body in tied.bodies[noted[stack.pop()]]:
            if body not in needed:
                needed.add(body)
                stack.append(body)
    return tuple(tied.rules[noted[one]] for one in found if one in needed)


def goes_dark(rules: Sequence[Rule] | Tied, services: Mapping[str, Fact], removed: Collection[str]) -> tuple[str, ...]:
    """Services alive before and not after, in order of their names."""
    tied = prepared(rules)
    lost = _lost(tied, _dead(tied, removed))
    return tuple(sorted(name for name, fact in services.items() if tied.number.get(fact) in lost))


def single_removals(rules: Sequence[Rule] | Tied, services: Mapping[str, Fact]) -> dict[str, tuple[str, ...]]:
    """For every element that a rule names, in order, the services that its removal alone darkens."""
    tied = prepared(rules)
    elements = tied.elements
    world = {element: 1 << place for place, element in enumerate(elements)}
    dark: list[list[str]] = [[] for _ in elements]
    for name, fails in failing_services(tied, services, without(tied, world), width=len(elements)).items():
        for place in places(fails):
            dark[place].append(name)
    return {element: tuple(names) for element, names in zip(elements, dark, strict=True)}


def single_points(
    rules: Sequence[Rule] | Tied, services: Mapping[str, Fact], keep: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """Elements whose removal alone darkens a service that must be kept, with those services.

    A name in `keep` that is not among the services has no fact to lose and is passed over.
    """
    kept = {name: services[name] for name in keep if name in services}
    return {element: names for element, names in single_removals(rules, kept).items() if names}


@dataclasses.dataclass(frozen=True, eq=False)
class Doubt:
    """The part of a site that may fail when some rules do: the facts, and the rules that give them from outside."""

    tied: Tied
    facts: frozenset[int]
    start: tuple[int, ...]


def doubt(tied: Tied, rules: Iterable[int]) -> Doubt:
    """All that may fail when these rules give nothing; every other fact keeps its noted derivation."""
    facts = _doubted(tied, rules)
    ways = (i for fact in sorted(facts, key=tied.rank.__getitem__) for i in tied.giving[fact])
    return Doubt(tied, frozenset(facts), tuple(i for i in ways if facts.isdisjoint(tied.bodies[i])))


def failing(part: Doubt, absent: Mapping[int, int], *, width: int) -> list[int]:
    """In which worlds each fact fails, by fact.

    Parameters
    ----------
    part : Doubt
        Made of at least the rules of `absent`.
    absent : mapping
        By rule, the worlds in which it gives nothing. Other rules are there in all worlds.
    width : int
        How many worlds there are. [worlds]
    """
    tied, everywhere = part.tied, (1 << width) - 1
    head, bodies, rank = tied.head, tied.bodies, tied.rank
    fails = [everywhere if rule == _NEVER else 0 for rule in tied.noted]
    for fact in part.facts:
        fails[fact] = everywhere
    queue: list[int] = []
    queued: set[int] = set()
    touched: Sequence[int] = part.start
    while True:
        for i in touched:
            fact = head[i]
            was = fails[fact]
            if was:
                missing = absent.get(i, 0)
                for body in bodies[i]:
                    missing |= fails[body]
                now = was & missing
                if now != was:
                    fails[fact] = now
                    if fact not in queued:
                        queued.add(fact)
                        heapq.heappush(queue, rank[fact])
        if not queue:
            return fails
        fact = tied.order[heapq.heappop(queue)]
        queued.discard(fact)
        touched = tied.waiting[fact]


def failing_services(
    tied: Tied, services: Mapping[str, Fact], absent: Mapping[int, int], *, width: int
) -> dict[str, int]:
    """In which worlds each service that is alive on the whole site fails, by name in order; see `failing`."""
    fails = failing(doubt(tied, absent), absent, width=width)
    return {name: fails[fact] for name, fact in tied.alive(services).items()}


def without(tied: Tied, world: Mapping[str, int]) -> dict[int, int]:
    """By rule, the worlds in which it gives nothing, when each element is gone from the worlds given for it."""
    absent: dict[int, int] = {}
    for element, gone in world.items():
        for i in tied.using.get(element, ()):
            absent[i] = absent.get(i, 0) | gone
    return absent


def places(worlds: int) -> Iterator[int]:
    """The places of a number that are one, from the lowest."""
    while worlds:
        lowest = worlds & -worlds
        yield lowest.bit_length() - 1
        worlds ^= lowest


def _tie(rules: tuple[Rule, ...]) -> Tied:
    number: collections.defaultdict[Fact, int] = collections.defaultdict(itertools.count().__next__)
    at = number.__getitem__  # counts facts as they are first asked for
    head = [at(rule.head) for rule in rules]
    given = [rule.bodies for rule in rules]
    bodies = [(at(needs[0]),) if len(needs) == 1 else tuple(map(at, needs)) for needs in given]
    number.default_factory = None
    waiting: list[list[int]] = [[] for _ in number]
    for i, needs in enumerate(bodies):
        for body in needs:
            waiting[body].append(i)
    order, noted = _derive(head, bodies, waiting, frozenset())
    return Tied(rules, number, head, bodies, waiting, order, noted)


def _dead(tied: Tied, removed: Collection[str]) -> frozenset[int]:
    """Rules that give nothing once these elements are gone."""
    gone = frozenset(removed)
    return frozenset([i for i, rule in enumerate(tied.rules) if not gone.isdisjoint(rule.through)])


def _without(tied: Tied, removed: Collection[str]) -> tuple[Sequence[int], Sequence[int]]:
    """The facts that hold, in the order they were found; and by fact, the rule that first gave it."""
    if not removed:
        return tied.order, tied.noted
    return _derive(tied.head, tied.bodies, tied.waiting, _dead(tied, removed))


def _derive(
    head: Sequence[int], bodies: Sequence[tuple[int, ...]], waiting: Sequence[Sequence[int]], dead: frozenset[int]
) -> tuple[list[int], list[int]]:
    missing = [len(needs) for needs in bodies]
    ready = [i for i, count in enumerate(missing) if not count and i not in dead]
    found: list[int] = []
    noted = [_NEVER] * len(waiting)
    for rule in ready:  # grows while it is read
        fact = head[rule]
        if noted[fact] != _NEVER:
            continue
        noted[fact] = rule
        found.append(fact)
        for i in waiting[fact]:
            missing[i] -= 1
            if not missing[i] and i not in dead:
                ready.append(i)
    return found, noted


def _lost(tied: Tied, dead: frozenset[int]) -> set[int]:
    """Facts that hold on the whole site and no longer without these rules."""
    doubted = _doubted(tied, dead)
    if not doubted:
        return doubted
    if _MUCH * len(doubted) > len(tied.order):
        return doubted.difference(_derive(tied.head, tied.bodies, tied.waiting, dead)[0])
    return doubted - _restored(tied, dead, doubted)


def _doubted(tied: Tied, rules: Iterable[int]) -> set[int]:
    """Facts whose noted derivation needs one of these rules."""
    head, noted = tied.head, tied.noted
    doubted = {head[i] for i in rules if noted[head[i]] == i}
    stack = list(doubted)
    while stack:
        for i in tied.waiting[stack.pop()]:
            fact = head[i]
            if noted[fact] == i and fact not in doubted:
                doubted.add(fact)
                stack.append(fact)
    return doubted


def _restored(tied: Tied, dead: frozenset[int], doubted: set[int]) -> set[int]:
    """Doubted facts that other rules still give, from facts outside the doubt inwards."""
    missing: dict[int, int] = {}
    ready: list[int] = []
    for i, fact in enumerate(tied.head):
        if fact not in doubted or i in dead or any(tied.noted[body] == _NEVER for body in tied.bodies[i]):
            continue
        missing[i] = sum(body in doubted for body in tied.bodies[i])
        if missing[i] == 0:
            ready.append(i)
    back: set[int] = set()
    while ready:
        fact = tied.head[ready.pop()]
        if fact in back:
            continue
        back.add(fact)
        for i in tied.waiting[fact]:
            if i in missing:
                missing[i] -= 1
                if missing[i] == 0:
                    ready.append(i)
    return back

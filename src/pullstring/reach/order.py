"""In which order things come out, so that no kept service ever goes dark and no step darkens more than it must.

Whether a set may be gone does not depend on the order, for taking away never brings back. How much goes dark at one step
does. Few elements are put in the best order there is: all sets of them are worlds of one fixed point, and the best
way to a set is the best way to one element less. Many elements are put in order from the front, each time the one that
darkens least next, and from the back, each time the one that darkens least as the last; the better of both is taken.

Nearness: two elements are neighbours when one rule names both, in its head, its bodies or its `through`. The distance of
a service from an element is the least number of such steps to the element of the service's fact.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from pullstring.reach.consequence import (
    Doubt,
    Fact,
    Rule,
    Tied,
    doubt,
    failing,
    failing_services,
    places,
    prepared,
    without,
)

MOST_EXACT = 12
"""Up to so many elements every order is weighed; 4,096 sets."""
LISTEN = 2
"""How many services are listened to at each step."""


@dataclasses.dataclass(frozen=True)
class Step:
    """One element comes out: the services newly dark by it, and the nearest that must still be alive.

    Who pulls the wrong thing because of a wrong label most likely hits what is near; so these are listened to.
    """

    element: str
    goes_dark: tuple[str, ...]
    check_alive: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Plan:
    """Steps in order, and what cannot come out.

    `blocked` gives the kept services that would go dark if the element came out after all steps. No order of the steps
    has a largest step below `at_least`; with equal numbers the order is the best. No rule names what is `unknown`:
    nothing is known to hang on it, and it is in no step.
    """

    steps: tuple[Step, ...]
    blocked: Mapping[str, tuple[str, ...]]
    largest_step: int
    at_least: int
    unknown: tuple[str, ...] = ()

    @property
    def is_best(self) -> bool:
        """Whether it is sure that no order of these steps has a smaller largest step."""
        return self.largest_step == self.at_least


def removal_plan(
    rules: Sequence[Rule] | Tied, services: Mapping[str, Fact], remove: Iterable[str], keep: Iterable[str]
) -> Plan:
    """Elements in an order in which no kept service ever goes dark, with a largest step as small as was found.

    The order in which elements, services or rules are given does not show in it, nor does an element that is given
    twice. A kept name that is not among the services, or that is dark before, has nothing to lose and is passed over.
    """
    tied = prepared(rules)
    asked = sorted(set(remove))
    named = frozenset(tied.elements)
    known = [element for element in asked if element in named]
    kept = {name: services[name] for name in keep if name in services}
    free = [element for element in known if element not in _standing(tied, kept, known, ())]
    stage = _Stage.of(tied, services, kept, free)
    order, surely = _best(stage) if len(free) <= MOST_EXACT else _good(stage)
    steps = _steps(tied, services, kept, order)
    return Plan(
        steps,
        _standing(tied, kept, [element for element in known if element not in order], order),
        max((len(step.goes_dark) for step in steps), default=0),
        surely,
        tuple(element for element in asked if element not in named),
    )


def _standing(
    tied: Tied, kept: Mapping[str, Fact], elements: Sequence[str], gone: Sequence[str]
) -> dict[str, tuple[str, ...]]:
    """Elements that darken kept services when each alone comes out after those that are gone, with those services."""
    world = {element: 1 << place for place, element in enumerate(elements)}
    world |= dict.fromkeys(gone, (1 << len(elements)) - 1)
    dark: dict[str, list[str]] = {}
    for name, fails in failing_services(tied, kept, without(tied, world), width=len(elements)).items():
        for place in places(fails):
            dark.setdefault(elements[place], []).append(name)
    return {element: tuple(dark[element]) for element in elements if element in dark}


@dataclasses.dataclass(frozen=True)
class _Stage:
    """What is asked again and again: the doubtful part of the site, and in it the facts of services."""

    part: Doubt
    elements: tuple[str, ...]
    facts: tuple[int, ...]  # one for each service that may go dark
    kept: frozenset[int]

    @classmethod
    def of(cls, tied: Tied, services: Mapping[str, Fact], kept: Mapping[str, Fact], elements: Sequence[str]) -> _Stage:
        part = doubt(tied, without(tied, dict.fromkeys(elements, 1)))
        facts = tuple(fact for fact in tied.alive(services).values() if fact in part.facts)
        return cls(part, tuple(elements), facts, frozenset(tied.alive(kept).values()))

    def dark(self, gone: Mapping[str, int], *, width: int) -> tuple[list[int], int]:
        """How many services are dark in each world, and the worlds in which a kept one is.

        Elements are gone from the worlds given for them.
        """
        fails = failing(self.part, without(self.part.tied, gone), width=width)
        forbidden = 0
        for fact in self.kept:
            forbidden |= fails[fact]
        return _counts((fails[fact] for fact in self.facts), width=width), forbidden


def _counts(words: Iterable[int], *, width: int) -> list[int]:
    """In how many of the numbers each place is one. `planes` are the digits of all counts, the lowest first."""
    planes: list[int] = []
    for carry in words:
        digit = 0
        while carry:
            if digit == len(planes):
                planes.append(0)
            planes[digit], carry = planes[digit] ^ carry, planes[digit] & carry
            digit += 1
    return [sum((plane >> place & 1) << digit for digit, plane in enumerate(planes)) for place in range(width)]


def _best(stage: _Stage) -> tuple[list[str], int]:
    """The best order of as many elements as can go together, and its largest step; by sets, each from one smaller.

    A set is a number with a one for each element in it, and the world in which these are gone.
    """
    count = len(stage.elements)
    sets, every = 1 << count, (1 << (1 << count)) - 1
    gone = {element: every // ((1 << (1 << n)) + 1) << (1 << n) for n, element in enumerate(stage.elements)}
    dark, forbidden = stage.dark(gone, width=sets)
    allowed = [s for s in range(sets) if not forbidden >> s & 1]
    least = {0: 0}
    for s in allowed[1:]:
        least[s] = min(max(least[s ^ 1 << n], dark[s] - dark[s ^ 1 << n]) for n in places(s))
    whole = min(allowed, key=lambda s: (-s.bit_count(), least[s], dark[s], s))
    order: list[int] = []
    left = whole
    while left:  # from the back, the largest step that does no harm
        fit = [n for n in places(left) if max(least[left ^ 1 << n], dark[left] - dark[left ^ 1 << n]) <= least[whole]]
        last = max(fit, key=lambda n: (dark[left] - dark[left ^ 1 << n], n))
        order.append(last)
        left ^= 1 << last
    return [stage.elements[n] for n in reversed(order)], least[whole]


def _good(stage: _Stage) -> tuple[list[str], int]:
    """An order from the front or from the back, and a number that the largest step of no order is below."""
    forward, largest = _forward(stage)
    surely = _at_least(stage, forward)
    if largest > surely:
        backward, other = _backward(stage, forward)
        if other < largest:
            return backward, surely
    return forward, surely


def _forward(stage: _Stage) -> tuple[list[str], int]:
    """Each time the element that darkens least next, until all are out or each left would darken a kept service."""
    order: list[str] = []
    left, before, largest = list(stage.elements), 0, 0
    while left:
        gone = {element: 1 << place for place, element in enumerate(left)}
        gone |= dict.fromkeys(order, (1 << len(left)) - 1)
        dark, forbidden = stage.dark(gone, width=len(left))
        fit = [place for place in range(len(left)) if not forbidden >> place & 1]
        if not fit:
            break
        best = min(fit, key=lambda place: (dark[place], place))
        largest, before = max(largest, dark[best] - before), dark[best]
        order.append(left[best])
        left = [left[place] for place in fit if place != best]
    return order, largest


def _backward(stage: _Stage, elements: Sequence[str]) -> tuple[list[str], int]:
    """Each time, of those not yet placed, the one that darkens least as the last."""
    order: list[str] = []
    left, largest = sorted(elements), 0
    (after,), _ = stage.dark(dict.fromkeys(left, 1), width=1)
    while left:
        dark, _ = stage.dark(_all_but_one(left), width=len(left))
        best = max(range(len(left)), key=lambda place: (dark[place], place))
        largest, after = max(largest, after - dark[best]), dark[best]
        order.append(left.pop(best))
    return order[::-1], largest


def _all_but_one(elements: Sequence[str]) -> dict[str, int]:
    """As many worlds as elements; in each its own element is still there and all others are gone."""
    everywhere = (1 << len(elements)) - 1
    return {element: everywhere ^ 1 << place for place, element in enumerate(elements)}


def _at_least(stage: _Stage, elements: Sequence[str]) -> int:
    """What some step of every order must darken.

    A service that an element darkens alone, and all others together do not, goes dark at that element's step. And the
    steps together darken what all darken, so the largest is no less than the mean.
    """
    tied = stage.part.tied
    alone = failing(stage.part, without(tied, {e: 1 << n for n, e in enumerate(elements)}), width=len(elements))
    others = failing(stage.part, without(tied, _all_but_one(elements)), width=len(elements))
    own = _counts((alone[fact] & ~others[fact] for fact in stage.facts), width=len(elements))
    (total,), _ = stage.dark(dict.fromkeys(elements, 1), width=1)
    return max([*own, -(-total // max(1, len(elements)))])


def _steps(
    tied: Tied, services: Mapping[str, Fact], kept: Mapping[str, Fact], order: Sequence[str]
) -> tuple[Step, ...]:
    """Each step with what it darkens: one world after each step, and a service goes dark in the first that it fails in."""
    everywhere = (1 << len(order)) - 1
    gone = {element: everywhere >> place << place for place, element in enumerate(order)}
    fails = failing_services(tied, services, without(tied, gone), width=len(order))
    dark: list[list[str]] = [[] for _ in order]
    for name, worlds in fails.items():
        if worlds:
            dark[next(places(worlds))].append(name)
    near = _Near(tied, {name: services[name][1] for name in fails}, frozenset(kept))
    found = []
    staying = set(fails)
    for element, names in zip(order, dark, strict=True):
        staying -= set(names)
        found.append(Step(element, tuple(names), near.to(element, staying)))
    return tuple(found)


@dataclasses.dataclass(frozen=True, eq=False)
class _Near:
    """Who is near whom, worked out as it is asked for."""

    tied: Tied
    at: Mapping[str, str]  # elements of the services
    kept: frozenset[str]
    met: dict[str, frozenset[str]] = dataclasses.field(default_factory=dict)

    @functools.cached_property
    def on(self) -> Mapping[str, Sequence[str]]:
        """Services by element."""
        found: dict[str, list[str]] = {}
        for name, element in self.at.items():
            found.setdefault(element, []).append(name)
        return found

    def to(self, element: str, alive: Collection[str]) -> tuple[str, ...]:
        """The nearest kept services that are alive, then the nearest others; what is not connected comes last, by name."""
        wanted = min(LISTEN, len(self.kept.intersection(alive)))
        near: list[str] = []
        others: list[str] = []
        for ring in self.rings(element):
            here = sorted(name for one in ring for name in self.on.get(one, ()) if name in alive)
            near += [name for name in here if name in self.kept]
            others += [name for name in here if name not in self.kept]
            if len(near) >= wanted and len(near) + len(others) >= LISTEN:
                return tuple([*near, *others][:LISTEN])
        far = sorted(set(alive).difference(near, others))
        near += [name for name in far if name in self.kept]
        others += [name for name in far if name not in self.kept]
        return tuple([*near, *others][:LISTEN])

    def rings(self, element: str) -> Iterator[set[str]]:
        """The element itself, its neighbours, their neighbours, and so on; each once."""
        ring = {element}
        seen = set(ring)
        while ring:
            yield ring
            ring = {other for one in ring for other in self.neighbours(one)} - seen
            seen |= ring

    def neighbours(self, element: str) -> frozenset[str]:
        """All that a rule names together with an element, and itself."""
        if element not in self.met:
            facts = (self.tied.number.get((kind, element)) for kind in ("P", "D"))
            needing = (i for fact in facts if fact is not None for i in self.tied.waiting[fact])
            rules = (self.tied.rules[i] for i in {*self.tied.using.get(element, ()), *needing})
            self.met[element] = frozenset(
                one for rule in rules for one in (*rule.through, *(body[1] for body in rule.bodies))
            )
        return self.met[element]

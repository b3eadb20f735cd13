"""How likely a removal silences a service, where it is not sure what hangs on what.

Each uncertain link is there or not with its own chance, apart from the others. Of the possible objects of one contradicted
claim at most one is right: their chances are those of independent links, given that no two of them are there at once.
Few links: every way in which they may be is counted with its weight. Many: ways are drawn with a seed. Either way each
is a world, and one fixed point before and one after the removal give all of them.

The draws of a link follow from the seed and its own name only. So a link more or less does not change the draws of others.
"""

from __future__ import annotations

import collections
import dataclasses
import hashlib
import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from pullstring.model.answers import Odds
from pullstring.model.asbuilt import Claim, Site
from pullstring.model.grades import grade
from pullstring.reach.consequence import Fact, Rule, Tied, doubt, failing, prepared, without

Link = int | str
"""A rule by its place in the rules; or an entry, for all rules that stand on it."""

Column = npt.NDArray[np.intp]
Weights = npt.NDArray[np.float64]

MOST_COUNTED = 4096
"""Up to so many ways are counted one by one: twelve links that are there or not."""
LEAST_DRAWN = 200
DRAWN = 4096
"""How many ways are drawn unless said otherwise: none dark among so many leaves less than 0.1 %."""
MOST_CHANCE = 0.01
"""Ours, assumed: above this chance to silence a kept service a removal is never GO."""
_NO_OPTION = -1
_PAIR = re.compile(r"pair\s+(\d+)", re.IGNORECASE)


@dataclasses.dataclass(frozen=True)
class Weighed:
    """Chances by service: that it goes dark, alive before and not after; and that it is alive before.

    A chance is `assumed` unless it is the same whatever the uncertain links are.
    """

    dark: Mapping[str, Odds]
    alive: Mapping[str, Odds]
    ways: int
    drawn: bool


def dark_odds(
    rules: Sequence[Rule] | Tied,
    services: Mapping[str, Fact],
    removed: Collection[str],
    uncertain: Mapping[Link, float],
    *,
    seed: int,
    exclusive: Iterable[Collection[Link]] = (),
    drawn: int = DRAWN,
) -> dict[str, Odds]:
    """The chance of each service to go dark; see `weighed`."""
    return dict(weighed(rules, services, removed, uncertain, seed=seed, exclusive=exclusive, drawn=drawn).dark)


def weighed(
    rules: Sequence[Rule] | Tied,
    services: Mapping[str, Fact],
    removed: Collection[str],
    uncertain: Mapping[Link, float],
    *,
    seed: int,
    exclusive: Iterable[Collection[Link]] = (),
    drawn: int = DRAWN,
) -> Weighed:
    """The chance of each service to go dark when these elements are removed, and to be alive before.

    Parameters
    ----------
    rules : sequence of Rule
        With all uncertain links in them.
    services : mapping
        Facts by name.
    removed : collection of str
        Elements taken away together.
    uncertain : mapping
        Chance of each uncertain link to be there, 0 to 1. An entry that no rule stands on has no effect. [share]
    seed : int
        For drawing; the same seed gives the same answer. [count]
    exclusive : iterable
        Groups of links of which no two are there at once.
    drawn : int
        How many ways are drawn when there are too many to count, 200 or more. [count]
    """
    tied = prepared(rules)
    choices = _choices(tied, uncertain, exclusive, drawn)
    count = math.prod(len(choice.chances) for choice in choices)
    if count <= MOST_COUNTED:
        columns, weights = _counted(choices, count)
    else:
        columns, weights = [_drawn(choice, seed, drawn) for choice in choices], np.full(drawn, 1 / drawn)
    ways = _Ways(weights, drawn=count > MOST_COUNTED)
    width = len(weights) + 2
    missing = _absent(tied, uncertain, choices, columns)
    gone = without(tied, dict.fromkeys(removed, (1 << width) - 1))
    part = doubt(tied, {*missing, *gone})
    before, after = failing(part, missing, width=width), failing(part, {**missing, **gone}, width=width)
    at = {name: tied.number.get(services[name]) for name in sorted(services)}
    dead = (1 << width) - 1
    return Weighed(
        {n: ways.dark(dead, dead) if f is None else ways.dark(before[f], after[f]) for n, f in at.items()},
        {n: ways.alive(dead if f is None else before[f]) for n, f in at.items()},
        len(weights),
        ways.drawn,
    )


def never_go(found: Weighed, keep: Iterable[str]) -> dict[str, Odds]:
    """Kept services for which the removal is never GO, with the chance that each goes dark if it is alive now.

    A kept service is taken to be alive now, whatever the record makes of it. Of drawn ways the chance is taken as high as
    it may well be: none dark among n still leaves 3 / n (the rule of three, 95 %), and k dark leave about
    (k + 2 sqrt k + 3) / n.
    """
    refused = {}
    for name in sorted(set(keep).intersection(found.dark)):
        alive, dark = found.alive[name], found.dark[name]
        if alive.chance == 0 and not alive.assumed:
            continue
        chance = dark.chance / alive.chance if alive.chance else 1.0
        highest = chance
        if found.drawn and dark.assumed and alive.chance:
            count, n = dark.chance * found.ways, alive.chance * found.ways
            highest = (count + 2 * math.sqrt(count) + 3) / n
        if highest > MOST_CHANCE:
            refused[name] = Odds(min(1.0, max(chance, highest)), dark.assumed or alive.assumed)
    return refused


def uncertain_links(site: Site) -> tuple[dict[Link, float], tuple[tuple[Link, ...], ...]]:
    """Chances of the site's claims by their first entry, from the odds of their grades, and groups that exclude one another.

    A claim that is also denied has the chance that is left when two such sayings meet: p (1 - q) against q (1 - p).
    """
    chances: dict[Link, float] = {}
    rivals: dict[tuple[object, ...], list[Claim]] = collections.defaultdict(list)
    for claim in site.claims:
        if claim.support is None:
            continue
        chances[claim.entries[0]] = _chance(claim)  # an entry makes one claim
        rivals[claim.subject, claim.relation, _pair(claim)].append(claim)
    groups = (
        tuple(dict.fromkeys(claim.entries[0] for claim in claims))
        for claims in rivals.values()
        if len(claims) > 1 and claims[0].relation in EXCLUSIVE
    )
    return chances, tuple(group for group in groups if len(group) > 1)


EXCLUSIVE = frozenset({"ends_at", "plugged", "fed_by", "other_end"})
"""Relations of which a thing has one object only."""


def _pair(claim: Claim) -> str:
    """Which pair of an end on a row a claim speaks of, the first unless said; the pairs of one end are on as many rows."""
    named = _PAIR.search(" ".join(saying.detail for saying in claim.sayings))
    return named[1] if named and claim.object.kind == "row" else "1"


def _chance(claim: Claim) -> float:
    holds = grade(claim.support).odds if claim.support else 0.0
    if claim.against is None:
        return holds
    fails = grade(claim.against).odds
    if holds == fails:
        return 0.5  # also where both are sure
    return holds * (1 - fails) / (holds * (1 - fails) + fails * (1 - holds))


@dataclasses.dataclass(frozen=True)
class _Choice:
    """Links of which at most one is there: each of them or none, with the chances in that order; none of chance 0."""

    group: tuple[Link, ...]
    links: tuple[Link | None, ...]
    chances: tuple[float, ...]


def _choices(
    tied: Tied, uncertain: Mapping[Link, float], exclusive: Iterable[Collection[Link]], drawn: int
) -> list[_Choice]:
    groups = [sorted(set(group), key=_key) for group in exclusive]
    faults = list(_faults(tied, uncertain, groups, drawn))
    if faults:
        raise ValueError("\n".join(faults))
    grouped = {link for group in groups for link in group}
    groups += [[link] for link in uncertain if link not in grouped]
    standing = {entry for rule in tied.rules for entry in rule.because}
    found = []
    for group in sorted(groups, key=lambda group: _key(group[0])):
        if any(isinstance(link, int) or link in standing for link in group):
            found.append(_choice(group, [uncertain[link] for link in group]))
    return found


def _key(link: Link) -> tuple[str, str]:
    return (type(link).__name__, str(link).rjust(12))


def _choice(group: Sequence[Link], chances: Sequence[float]) -> _Choice:
    """Chances of each link and of none, given that no two are there."""
    none = math.prod(1 - p for p in chances)
    alone = [p * math.prod(1 - q for j, q in enumerate(chances) if j != i) for i, p in enumerate(chances)]
    options: list[tuple[Link | None, float]] = [*zip(group, alone, strict=True), (None, none)]
    if not any(weight for _, weight in options):  # several are given as sure: then one of them, each as likely
        options = [(link, float(p == 1)) for link, p in zip(group, chances, strict=True)]
    total = math.fsum(weight for _, weight in options)
    options = [(link, weight / total) for link, weight in options if weight]
    return _Choice(tuple(group), tuple(link for link, _ in options), tuple(weight for _, weight in options))


def _faults(tied: Tied, uncertain: Mapping[Link, float], groups: Sequence[Sequence[Link]], drawn: int) -> Iterator[str]:
    for link, chance in uncertain.items():
        if not 0 <= chance <= 1:
            yield f"link {link}: a chance lies between 0 and 1; {chance} does not"
        if isinstance(link, int) and not 0 <= link < len(tied.rules):
            yield f"link {link}: there are rules 0 to {len(tied.rules) - 1}"
    members = collections.Counter(link for group in groups for link in group)
    for link, times in members.items():
        if link not in uncertain:
            yield f"link {link}: it is in a group that excludes, but has no chance of its own"
        if times > 1:
            yield f"link {link}: it is in {times} groups that exclude; one is right"
    if drawn < LEAST_DRAWN:
        yield f"drawn {drawn}: at least {LEAST_DRAWN} ways are drawn"


def _counted(choices: Sequence[_Choice], ways: int) -> tuple[list[Column], Weights]:
    """By choice, what it is in each way, so that every combination comes once; and the weights of the ways."""
    columns, weights, stride = [], np.ones(ways), 1
    for choice in choices:
        column = np.arange(ways) // stride % len(choice.chances)
        weights *= np.array(choice.chances)[column]
        columns.append(column)
        stride *= len(choice.chances)
    return columns, weights / weights.sum()


def _drawn(choice: _Choice, seed: int, ways: int) -> Column:
    """What a choice is in each way, drawn from its name and the seed."""
    stream = hashlib.shake_256(f"{seed} {choice.group!r}".encode()).digest(8 * ways)
    uniform = np.frombuffer(stream, dtype="<u8") / 2.0**64
    return np.minimum(np.searchsorted(np.cumsum(choice.chances), uniform, side="right"), len(choice.chances) - 1)


def _absent(
    tied: Tied, uncertain: Iterable[Link], choices: Sequence[_Choice], columns: Sequence[Column]
) -> dict[int, int]:
    """By rule, the worlds in which it gives nothing.

    After the ways come two worlds more: one in which no uncertain link is there, and one in which all are. What is
    alive in the first, or dark in the second, is so whatever the links are, for a link more never silences anything.
    """
    standing: dict[Link, list[int]] = {link: [link] for link in uncertain if isinstance(link, int)}
    wanted = frozenset(link for link in uncertain if isinstance(link, str))
    for i, rule in enumerate(tied.rules):
        for entry in wanted.intersection(rule.because):
            standing.setdefault(entry, []).append(i)
    absent: dict[int, int] = {}
    for choice, column in zip(choices, columns, strict=True):
        for link in choice.group:
            option = choice.links.index(link) if link in choice.links else _NO_OPTION
            never, surely = option == _NO_OPTION, choice.links == (link,)
            gone = np.concatenate([column != option, [not surely, never]])
            word = int.from_bytes(np.packbits(gone, bitorder="little").tobytes(), "little")
            for i in standing.get(link, ()):
                absent[i] = absent.get(i, 0) | word
    return absent


@dataclasses.dataclass(frozen=True)
class _Ways:
    """Chances from the worlds in which a service fails before and after; the two worlds more come last."""

    weights: Weights
    drawn: bool

    def dark(self, before: int, after: int) -> Odds:
        """Alive before and not after."""
        surely = not self.with_none(before) and self.with_all(after)
        never = not self.with_none(after) or self.with_all(before)
        return self.odds(~before & after, sure=surely or never)

    def alive(self, before: int) -> Odds:
        """Alive before."""
        return self.odds(~before, sure=not self.with_none(before) or self.with_all(before))

    def odds(self, worlds: int, *, sure: bool) -> Odds:
        """The weight of some worlds; the two more weigh nothing. Where all ways are counted and agree, that is sure too."""
        count = len(self.weights)
        ways = worlds & (1 << count) - 1
        agree = ways in (0, (1 << count) - 1)
        if self.drawn or agree:
            return Odds(ways.bit_count() / count, assumed=not (sure or agree and not self.drawn))
        there = np.frombuffer(ways.to_bytes(-(-count // 8), "little"), dtype=np.uint8)
        return Odds(min(1.0, float(self.weights[np.unpackbits(there, bitorder="little")[:count] == 1].sum())))

    def with_none(self, fails: int) -> bool:
        """Whether it fails when no uncertain link is there."""
        return bool(fails >> len(self.weights) & 1)

    def with_all(self, fails: int) -> bool:
        """Whether it fails when all are."""
        return bool(fails >> len(self.weights) + 1 & 1)

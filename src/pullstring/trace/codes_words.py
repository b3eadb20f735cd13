"""Words over pairs: which pairs to leave open, to short or to close by a resistor on each end, so that one walk tells the ends.

House rules
-----------
1. What an outlet shows is the word of its net: joined ends show the stronger of what each has on a pair, a short over a resistor
   over open. So words are chosen for nets, not for ends: ends that may be joined get words of few pairs first.
2. When words are fewer than ends, several walks are made with other words each time; all words of an end together are its code.
3. Nets that still show alike are told.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence

from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.scene import NO_NET, BadScene, Net

Word = tuple[int, ...]
"""For each pair 0 open, 1 the weaker mark, 2 the stronger; with open and short alone 1 is the short."""
LEAST = 1e-4
"""Ours: nets below this chance are not told."""
MOST_CODES = 20_000
"""Ours: of more codes than these only the first are looked at; there are enough."""


@dataclasses.dataclass(frozen=True)
class WordPlan:
    """The words of each walk by end, and which nets show alike in all walks together.

    `levels` is 2 for open and short, 3 with a resistor besides. `alike` are groups of nets, each a set of ends.
    """

    pairs: int
    levels: int
    walks: tuple[Mapping[int, Word], ...]
    alike: tuple[tuple[Net, ...], ...]

    def shown(self, net: Net) -> tuple[Word, ...]:
        """What an outlet on a net shows, walk by walk."""
        return tuple(joint((walk[e] for e in net), pairs=self.pairs) for walk in self.walks)


def words_of(*, pairs: int, levels: int) -> tuple[Word, ...]:
    """All words with at least one mark, those with few marks first: levels to the power of pairs, less one.

    Parameters
    ----------
    pairs : int
        Pairs that reach from end to outlet.
    levels : int
        2 open and short, 3 with one value of resistor besides.
    """
    every = itertools.product(range(levels), repeat=pairs)
    return tuple(sorted((w for w in every if any(w)), key=lambda w: (sum(1 for d in w if d), sum(w), w[::-1])))


def joint(words: Iterable[Word], *, pairs: int) -> Word:
    """What joined ends show together: on each pair the stronger mark; nothing without ends."""
    found = [0] * pairs
    for word in words:
        found = [max(a, b) for a, b in zip(found, word, strict=True)]
    return tuple(found)


def bits_of(word: Word) -> int:
    """A word of open and short as a number: bit k is set when pair k is shorted."""
    return sum(1 << pair for pair, digit in enumerate(word) if digit)


def least_walks(*, ends: int, pairs: int, levels: int) -> int:
    r"""Walks that are needed at least to tell the ends and 'no cable' apart: :math:`\lceil \ln(M+1) / \ln(q+1) \rceil`.

    Parameters
    ----------
    ends : int
        Ends to tell apart, M.
    pairs, levels : int
        As for `words_of`; q is the count of words.

    References
    ----------
    Counting bound for distinguishable marks without joints (ours). Checked in ``tests/trace/test_codes_words.py``.
    """
    walks, codes = 0, 1
    while codes < ends + 1:
        walks, codes = walks + 1, codes * levels**pairs
    return walks


def words_for(
    ends: Sequence[int],
    *,
    pairs: int,
    levels: int,
    prior: Prior,
    blocks: Sequence[Sequence[int]] = (),
    walks: int | None = None,
) -> WordPlan:
    """Words for ends, so that nets show alike as little as possible.

    Parameters
    ----------
    ends : sequence of int
        Ends to mark.
    pairs, levels : int
        As for `words_of`.
    prior : Prior
        Weight of joined ends: what shows alike is put on nets that are unlikely.
    blocks : sequence of sequences of int
        Ends that may be joined in the closet.
    walks : int or None
        How many walks may be made; None for as few as can tell the ends alone apart.

    Raises
    ------
    BadScene
        No pair, levels that are none, or an end that stands twice.
    """
    faults = [] if pairs >= 1 else [f"{pairs} pairs bear no word; one or more would be right"]
    faults += [] if levels in (2, 3) else [f"{levels} levels are none; 2 open and short, 3 with a resistor besides"]
    faults += [f"end {e} stands twice; leave one out" for e in sorted({e for e in ends if list(ends).count(e) > 1})]
    faults += [f"{walks} walks are none; one or more would be right"] if walks is not None and walks < 1 else []
    if faults:
        raise BadScene(faults)
    many = walks or max(1, least_walks(ends=len(ends), pairs=pairs, levels=levels))
    inside = [[e for e in block if e in set(ends)] for block in blocks]
    inside = [block for block in inside if len(block) > 1]
    job = _Codes(pairs, levels, many, prior.joined)
    for block in sorted(inside, key=lambda b: (-len(b), b)):
        for end in block:
            job.give(end, block)
    for end in ends:
        if end not in job.of_end:
            job.give(end, (end,))
    by_walk = tuple({e: job.of_end[e][n * pairs : (n + 1) * pairs] for e in ends} for n in range(many))
    alike = [tuple(sorted(nets, key=lambda s: (len(s), sorted(s)))) for nets in job.nets.values() if len(nets) > 1]
    return WordPlan(pairs, levels, by_walk, tuple(sorted(alike, key=lambda g: [sorted(n) for n in g])))


class _Codes:
    """Codes given so far, and the nets that show each."""

    def __init__(self, pairs: int, levels: int, walks: int, joined: float) -> None:
        self.length, self.joined = pairs * walks, joined
        every: Iterable[Word] = itertools.islice(_by_marks(self.length, levels), MOST_CODES)
        spans = [slice(n * pairs, (n + 1) * pairs) for n in range(walks)]
        self.codes = list(every)
        self.full = sorted(self.codes, key=lambda c: sum(not any(c[s]) for s in spans))
        self.of_end: dict[int, Word] = {}
        self.nets: dict[Word, list[Net]] = {}

    def give(self, end: int, block: Sequence[int]) -> None:
        """The code with which this end, alone and joined, is least mistaken; in a block one of few marks."""
        others = [e for e in block if e in self.of_end]
        joins = [(frozenset(c), joint((self.of_end[e] for e in c), pairs=self.length)) for c in _subsets(others)]
        codes = self.codes if len(block) > 1 else self.full
        best, least = codes[0], math.inf
        for code in codes:
            harm = self._harm(code, joins)
            if harm < least:
                best, least = code, harm
            if not harm:
                break
        self.of_end[end] = best
        for net, shown in joins:
            self.nets.setdefault(joint((shown, best), pairs=self.length), []).append(net | {end})

    def _harm(self, code: Word, joins: Sequence[tuple[Net, Word]]) -> float:
        """Weight of nets that would show alike."""
        shown: dict[Word, float] = {}
        harm = 0.0
        for net, word in joins:
            mixed = joint((word, code), pairs=self.length)
            weight = self.joined ** len(net)
            harm += weight * (
                sum(self.joined ** (len(n) - 1) for n in self.nets.get(mixed, ())) + shown.get(mixed, 0.0)
            )
            shown[mixed] = shown.get(mixed, 0.0) + weight
        return harm


def _by_marks(length: int, levels: int) -> Iterable[Word]:
    """All codes but the empty one, those with few marks first."""
    for many in range(1, length + 1):
        for places in itertools.combinations(range(length), many):
            for marks in itertools.product(range(1, levels), repeat=many):
                code = [0] * length
                for place, mark in zip(places, marks, strict=True):
                    code[place] = mark
                yield tuple(code)


def _subsets(items: Sequence[int]) -> Iterable[tuple[int, ...]]:
    return itertools.chain.from_iterable(itertools.combinations(items, k) for k in range(len(items) + 1))


def decode_words(
    plan: WordPlan, read: Sequence[Word | None], *, noise: Noise, prior: Prior, blocks: Sequence[Sequence[int]] = ()
) -> tuple[tuple[Net, float], ...]:
    """Which net an outlet is on after what it showed in each walk, likeliest first; the empty net is 'no cable here'.

    Parameters
    ----------
    plan : WordPlan
        The words.
    read : sequence of Word or None
        What was read in each walk so far; None where it was not looked, which says nothing.
    noise : Noise
        A mark is read with `pair_hit`, an open pair is read as marked with `pair_false`; a wrong mark is any of the others.
    prior : Prior
        Weights of joined ends, of an end that gets its first outlet, of 'no cable here'; ends outside the plan are left out.
    blocks : sequence of sequences of int
        Ends that may be joined.

    Raises
    ------
    BadScene
        More readings than walks, or a word of another length or level.

    References
    ----------
    The odds of one outlet by itself; those of several together are the work of ``posterior`` with ``Plugs``. Checked against it
    in ``tests/trace/test_codes_words.py``.
    """
    faults = [f"{len(read)} words were read in {len(plan.walks)} walks"] if len(read) > len(plan.walks) else []
    faults += [
        f"word {word} is none of {plan.pairs} pairs with marks 0 to {plan.levels - 1}"
        for word in read
        if word is not None and (len(word) != plan.pairs or not all(0 <= d < plan.levels for d in word))
    ]
    if faults:
        raise BadScene(faults)
    ends = set(plan.walks[0]) if plan.walks else set()
    nets = {NO_NET: prior.no_cable * prior.by_count[0] / prior.by_count[1]}
    inside = [[e for e in block if e in ends] for block in blocks]
    for block in [*inside, *([e] for e in sorted(ends - {e for b in inside for e in b}))]:
        for net in filter(None, _subsets(block)):
            rest = _partings(len(block) - len(net), prior.joined) / _partings(len(block), prior.joined)
            nets[frozenset(net)] = len(net) * prior.joined ** (len(net) - 1) * rest
    logs = {net: math.log(w) + _log_read(plan.shown(net), read, plan.levels, noise) for net, w in nets.items() if w > 0}
    top = max(logs.values())
    total = sum(math.exp(v - top) for v in logs.values())
    found = sorted(((net, math.exp(v - top) / total) for net, v in logs.items()), key=lambda f: (-f[1], sorted(f[0])))
    return tuple(f for n, f in enumerate(found) if n == 0 or f[1] >= LEAST)


@functools.cache
def _partings(ends: int, joined: float) -> float:
    r"""Sum of the weights of all ways to part ends into groups: :math:`Z_n = \sum_k {n-1 \choose k-1} \kappa^{k-1} Z_{n-k}`."""
    if ends == 0:
        return 1.0
    return sum(math.comb(ends - 1, k - 1) * joined ** (k - 1) * _partings(ends - k, joined) for k in range(1, ends + 1))


def _log_read(shown: Sequence[Word], read: Sequence[Word | None], levels: int, noise: Noise) -> float:
    log = 0.0
    for true, got in zip(shown, read, strict=False):
        for a, b in zip(true, got or (), strict=False):
            right = noise.pair_hit if a else 1 - noise.pair_false
            log += math.log(max(right if a == b else (1 - right) / (levels - 1), 1e-12))
    return log

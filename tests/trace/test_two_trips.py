"""The two-trip procedure against trying every pair of groupings, and played with wires in any order."""

import functools
import random

import hypothesis
import hypothesis.strategies as some
import pytest

from pullstring.trace.two_trips import IMPOSSIBLE, TooFew, by_remembering, tells_apart, two_trips


def shapes(total, most=None):
    """All ways to write a number as a sum, falling."""
    if total == 0:
        yield ()
    for part in range(min(total, most or total), 0, -1):
        for rest in shapes(total - part, part):
            yield (part, *rest)


def can(first, second):
    """Whether wires can be put into two groupings of these shapes with no two alike: wire by wire, without any theory."""
    wanted = tuple(sorted(second))

    @functools.cache
    def put(place, left, used):
        """Wires of the first grouping one after the other; `left` the free places of the second by size."""
        if place == sum(first):
            return True
        sizes = [s for s in first for _ in range(s)]
        own = sizes[place]
        used = used if place and sizes[place - 1] == own else ()
        return any(
            n and size not in used and put(place + 1, tuple((s, m - (s == size)) for s, m in left), tuple(sorted((*used, size))))
            for size, n in left
        )  # fmt: skip

    places = {}
    for size in wanted:
        places[size] = places.get(size, 0) + size
    return put(0, tuple(places.items()), ())


@pytest.mark.parametrize("wires", range(1, 13))
def test_every_pair_of_groupings__fails_for_two_five_and_nine_only(wires):
    """The published result, shown by search to twelve wires."""
    found = any(can(a, b) for a in shapes(wires) for b in shapes(wires))
    assert found == (wires not in (2, 5, 9))
    assert (two_trips(wires=wires) is not None) == found


@pytest.mark.parametrize("wires", range(1, 101))
def test_groupings__tell_every_wire_apart(wires):
    plan = two_trips(wires=wires)
    if wires in IMPOSSIBLE:
        assert plan is None
        return
    assert tells_apart(first=plan.first, second=plan.second)
    assert sorted(w for cell in plan.first for w in cell) == list(range(1, wires + 1))
    assert sorted(w for cell in plan.second for w in cell) == list(range(1, wires + 1))


def test_verifier__sees_a_bad_grouping():
    """Four wires in two pairs and the same pairs again: all have the counts 2 and 2. Groups of three and one: three are alike."""
    assert not tells_apart(first=((1, 2), (3, 4)), second=((1, 3), (2, 4)))
    assert not tells_apart(first=((1, 2, 3), (4,)), second=((1, 2, 3), (4,)))
    assert not tells_apart(first=((1,), (2, 3)), second=((1,), (2, 2)))
    assert tells_apart(first=((1,), (2, 3)), second=((2,), (1, 3)))


def touching(ties, wire_of):
    """For each wire the wires it touches, itself among them."""
    found = {}
    for cell in ties:
        group = frozenset(wire_of[name] for name in cell)
        found.update(dict.fromkeys(group, group))
    return found


@hypothesis.given(some.integers(1, 60).filter(lambda n: n not in (2, 5, 9)), some.randoms())
def test_played__every_wire_gets_at_both_ends_the_same_name(wires, dice):
    """The cable joins number here and wire there in an order nobody knows; the far hand names wires of one count in any order."""
    plan = two_trips(wires=wires)
    order = list(range(1, wires + 1))
    dice.shuffle(order)
    far_of = dict(enumerate(order, 1))
    seen_there = touching(plan.first, far_of)
    far_name = {}
    for count, names in plan.names.items():
        these = [w for w in seen_there if len(seen_there[w]) == count]
        dice.shuffle(these)
        far_name.update(zip(these, names, strict=True))
    named_far = {name: wire for wire, name in far_name.items()}
    here_of = {far: here for here, far in far_of.items()}
    seen_here = touching(plan.second, {name: here_of[far] for name, far in named_far.items()})
    first = {w: len(cell) for cell in plan.first for w in cell}
    for here in range(1, wires + 1):
        assert plan.key[first[here], len(seen_here[here])] == far_name[far_of[here]]


@hypothesis.given(some.integers(3, 40), some.randoms())
@hypothesis.example(5, random.Random(1))
@hypothesis.example(9, random.Random(1))
def test_remembering__played_back_names_every_wire(wires, dice):
    """At the far end pairs are named as they are met; back here the chain is followed from the lone wire that touches."""
    plan = by_remembering(wires=wires)
    order = list(range(1, wires + 1))
    dice.shuffle(order)
    far_of = dict(enumerate(order, 1))
    here_of = {far: here for here, far in far_of.items()}
    pairs = [tuple(far_of[w] for w in pair) for pair in plan.first]
    lone = [far_of[w] for w in plan.alone]
    dice.shuffle(pairs)
    dice.shuffle(lone)
    far_name = {wire: name for name, wire in enumerate([*lone, *(w for p in pairs for w in dice.sample(p, 2))], 1)}
    wire_of = {name: here_of[far] for far, name in far_name.items()}
    meets = {}
    for a, b in plan.second:
        meets[wire_of[a]], meets[wire_of[b]] = wire_of[b], wire_of[a]
    mate = {w: v for a, b in plan.first for w, v in ((a, b), (b, a))}
    at = next(w for w in plan.alone if w in meets)
    named, name = {at: 1}, len(plan.alone) + 1
    named |= {w: 2 for w in plan.alone if w not in meets}
    while at in meets:
        named[meets[at]], named[mate[meets[at]]] = name, name + 1
        at, name = mate[meets[at]], name + 2
    assert named == {w: far_name[far_of[w]] for w in range(1, wires + 1)}


def test_too_few__says_what_to_do():
    with pytest.raises(TooFew, match="another conductor"):
        by_remembering(wires=2)
    with pytest.raises(TooFew):
        two_trips(wires=0)

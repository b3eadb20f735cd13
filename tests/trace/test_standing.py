"""How an outlet stands: thresholds as given, ties said to be ties, nothing picked where nothing is known."""

from __future__ import annotations

import pytest

from pullstring.trace.assumed import Prior, Sure, assumed_noise, assumed_prior
from pullstring.trace.posterior import posterior
from pullstring.trace.readings import Remote, Tone
from pullstring.trace.scene import NO_NET, Scene
from pullstring.trace.standing import State, shared_with, standings

SURE = Sure(net=0.99, none=0.95)
A, B, C = (frozenset((e,)) for e in range(3))
AB = frozenset((0, 1))


@pytest.mark.parametrize(
    ("chances", "state"),
    [
        ({A: 0.99, B: 0.01}, State.SURE),
        ({A: 0.9899, B: 0.0101}, State.LIKELY),
        ({NO_NET: 0.95, A: 0.05}, State.NO_CABLE),
        ({NO_NET: 0.9499, A: 0.0501}, State.LIKELY),
        ({A: 0.95, B: 0.05}, State.LIKELY),  # what is enough for "no cable" is not enough for a net
        ({A: 0.49, B: 0.485, C: 0.025}, State.TIE),
        ({A: 0.52, B: 0.48}, State.LIKELY),
        ({A: 0.3, B: 0.2, C: 0.2, NO_NET: 0.3}, State.TIE),
        ({A: 0.4, B: 0.3, C: 0.3}, State.OPEN),
        ({A: 0.2, B: 0.2, AB: 0.05, C: 0.05, NO_NET: 0.5}, State.LIKELY),
    ],
)
def test_standing__by_its_chances(chances, state):
    [one] = standings([chances], sure=SURE)
    assert one.state is state
    assert bool(one.tied) == (state is State.TIE)


def test_standing__a_tie_names_all_of_it_and_only_it():
    [one] = standings([{A: 0.33, B: 0.33, C: 0.329, NO_NET: 0.011}], sure=SURE)
    assert set(one.tied) == {A, B, C}


def test_standing__nobody_reads_anything_and_nothing_is_picked():
    scene = Scene(6, 10)
    odds = posterior(scene, [], prior=assumed_prior(), noise=assumed_noise())
    assert {one.state for one in standings(odds.nets, sure=SURE)} == {State.OPEN}


def test_standing__two_ends_that_nothing_parts_are_a_tie():
    """A tone heard loud on two ends that stand alone fits both alike: by symmetry each has half of the chance."""
    scene = Scene(1, 2)
    read = [Tone(key="a", outlet=0, end=0, level=2), Tone(key="b", outlet=0, end=1, level=2)]
    odds = posterior(scene, read, prior=Prior(no_cable=0.0001, by_count=(1, 1), joined=0), noise=assumed_noise())
    [one] = standings(odds.nets, sure=SURE)
    assert (one.state, set(one.tied)) == (State.TIE, {A, B})


def test_shared__a_chain_names_its_others_and_a_guess_names_nobody():
    scene = Scene(3, 3)
    read = [Remote(key=f"{o}{n}", outlet=o, end=0, hit=True) for o in (0, 1) for n in range(2)]
    odds = posterior(scene, read, prior=assumed_prior(), noise=assumed_noise())
    stands = standings(odds.nets, sure=SURE)
    assert [s.state for s in stands[:2]] == [State.SURE, State.SURE]
    assert shared_with(stands) == ((1,), (0,), ())

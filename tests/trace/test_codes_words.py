"""Words over pairs: counts by hand, joined ends, several walks, and what is read back."""

import itertools
import math

import pytest

from pullstring.trace import readings as said
from pullstring.trace.assumed import Noise, Prior
from pullstring.trace.codes_words import bits_of, decode_words, joint, least_walks, words_for, words_of
from pullstring.trace.posterior import posterior
from pullstring.trace.scene import BadScene, Scene

PRIOR = Prior(no_cable=0.08, by_count=(0.18, 1.0, 0.20, 0.06), joined=0.45)
NOISE = Noise(
    on=(0.03, 0.07, 0.90), beside=(0.55, 0.38, 0.07), far=(0.97, 0.025, 0.005),
    remote_hit=0.98, remote_false=0.0005, pair_hit=0.985, pair_false=0.01,
)  # fmt: skip


@pytest.mark.parametrize(("pairs", "levels", "count"), [(1, 2, 1), (2, 2, 3), (4, 2, 15), (2, 3, 8), (4, 3, 80)])
def test_words__counts(pairs, levels, count):
    """2^2 - 1, 2^4 - 1, and with one value of resistor 3^4 - 1."""
    words = words_of(pairs=pairs, levels=levels)
    assert len(set(words)) == count and all(any(w) for w in words)
    assert sum(1 for d in words[0] if d) == 1


def test_joint__the_stronger_mark_of_each_pair():
    assert joint([(0, 1, 2, 0), (1, 0, 1, 0)], pairs=4) == (1, 1, 2, 0)
    assert joint([], pairs=2) == (0, 0)
    assert bits_of((1, 0, 1, 1)) == 0b1101


@pytest.mark.parametrize(("ends", "walks"), [(0, 0), (1, 1), (15, 1), (16, 2), (60, 2), (255, 2), (256, 3)])
def test_least_walks__of_four_pairs(ends, walks):
    """ln(M+1) / ln 16, rounded up: 15 ends in one walk, 255 in two."""
    assert least_walks(ends=ends, pairs=4, levels=2) == walks
    assert walks == math.ceil(math.log(ends + 1) / math.log(16) - 1e-12)


def nets_of(ends, blocks):
    found = [frozenset((e,)) for e in ends]
    for block in blocks:
        found += [frozenset(c) for k in range(2, len(block) + 1) for c in itertools.combinations(block, k)]
    return found


def alike(plan, nets):
    groups = {}
    for net in nets:
        groups.setdefault(plan.shown(net), set()).add(net)
    return {frozenset(g) for g in groups.values() if len(g) > 1}


@pytest.mark.parametrize(("ends", "blocks", "walks"), [
    (15, [], 1), (60, [], 2), (8, [(0, 1, 2)], 1), (60, [(0, 1, 2, 3), (4, 5, 6, 7), (8, 9, 10, 11), (12, 13, 14, 15)], 2),
    (40, [(3, 4), (7, 9), (20, 30, 31)], 2),
])  # fmt: skip
def test_words_for__every_net_shows_its_own(ends, blocks, walks):
    """60 ends with four blocks of four are 44 + 4 * 15 = 104 nets; two walks of four pairs have 255 codes."""
    plan = words_for(range(ends), pairs=4, levels=2, prior=PRIOR, blocks=blocks, walks=walks)
    assert len(plan.walks) == walks and plan.alike == ()
    assert alike(plan, nets_of(range(ends), blocks)) == set()
    assert all(any(any(w) for w in plan.shown(frozenset((e,)))) for e in range(ends))


def test_words_for__ends_of_a_block_get_single_pairs():
    plan = words_for(range(5), pairs=4, levels=2, prior=PRIOR, blocks=[(1, 2, 3)])
    assert sorted(sum(plan.walks[0][e]) for e in (1, 2, 3)) == [1, 1, 1]
    assert len({plan.walks[0][e] for e in (1, 2, 3)}) == 3


def test_words_for__over_two_walks_a_block_end_is_marked_once():
    """Then the joint of any of them is told from the joint of any others by who is missing."""
    plan = words_for(range(30), pairs=4, levels=2, prior=PRIOR, blocks=[(1, 2, 3, 4)])
    assert [sum(sum(walk[e]) for walk in plan.walks) for e in (1, 2, 3, 4)] == [1, 1, 1, 1]


def test_words_for__says_what_shows_alike_when_words_run_out():
    """Two pairs have three words: with a block of two, its joint (1, 1) is the third, so a third end shows like the joint."""
    plan = words_for([0, 1, 2], pairs=2, levels=2, prior=PRIOR, blocks=[(0, 1)], walks=1)
    assert plan.alike == ((frozenset({2}), frozenset({0, 1})),)
    assert {frozenset(g) for g in plan.alike} == alike(plan, nets_of([0, 1, 2], [(0, 1)]))
    crowd = words_for(range(5), pairs=2, levels=2, prior=PRIOR, walks=1)
    assert {frozenset(g) for g in crowd.alike} == alike(crowd, nets_of(range(5), [])) != set()


def test_words_for__a_resistor_makes_eighty_words():
    plan = words_for(range(80), pairs=4, levels=3, prior=PRIOR)
    assert len(plan.walks) == 1 and plan.alike == ()


def test_words_for__no_ends_and_faults():
    assert words_for([], pairs=4, levels=2, prior=PRIOR).alike == ()
    with pytest.raises(BadScene) as caught:
        words_for([1, 1], pairs=0, levels=5, prior=PRIOR, walks=0)
    assert len(caught.value.faults) == 4


def test_decode__reads_back_what_was_put_on():
    blocks = [(0, 1, 2, 3)]
    plan = words_for(range(20), pairs=4, levels=2, prior=PRIOR, blocks=blocks, walks=2)
    for net in nets_of(range(20), blocks):
        found = decode_words(plan, plan.shown(net), noise=NOISE, prior=PRIOR, blocks=blocks)
        assert found[0][0] == net and found[0][1] > 0.5
    none = decode_words(plan, [(0, 0, 0, 0)] * 2, noise=NOISE, prior=PRIOR, blocks=blocks)
    assert none[0][0] == frozenset()


@pytest.mark.parametrize("read", [(1, 0), (1, 1), (0, 0), (0, 1)])
def test_decode__equals_the_engine_for_one_outlet(read):
    """One outlet alone: the odds of the exact engine, which has its own tests against plain counting."""
    scene = Scene(1, 6, (), ((0, 1), (2, 3, 4)))
    plan = words_for(range(6), pairs=2, levels=2, prior=PRIOR, blocks=scene.blocks, walks=1)
    words = {e: bits_of(w) for e, w in plan.walks[0].items()}
    reading = said.Plugs(key="a", outlet=0, words=words, pairs=2, bits=bits_of(read))
    exact = posterior(scene, [reading], prior=PRIOR, noise=NOISE).nets[0]
    mine = dict(decode_words(plan, [read], noise=NOISE, prior=PRIOR, blocks=scene.blocks))
    for net, chance in exact.items():
        assert mine.get(net, 0.0) == pytest.approx(chance, abs=1.01e-4)


def test_decode__not_looked_says_nothing_and_faults_are_told():
    plan = words_for(range(20), pairs=4, levels=2, prior=PRIOR)
    found = dict(decode_words(plan, [None, None], noise=NOISE, prior=PRIOR))
    assert found[frozenset({3})] == pytest.approx(1 / (20 + 0.08 * 0.18))
    with pytest.raises(BadScene) as caught:
        decode_words(plan, [(0, 1), (0, 0, 0, 3), None], noise=NOISE, prior=PRIOR)
    assert len(caught.value.faults) == 3

"""Odds against frozen answers of two other programs and against plain counting; messages against both."""

import math

import hypothesis
import hypothesis.strategies as some
import numpy as np
import pytest

from pullstring.trace import readings as read
from pullstring.trace.desk import Desk
from pullstring.trace.posterior import odds_of, posterior
from pullstring.trace.scene import BadScene, Scene
from pullstring.trace.table import Table, log_prior_total
from tests.trace.counted import counted
from tests.trace.frozen import CASES, apart, constants, furthest, readings, scene


@pytest.mark.parametrize("name", sorted(CASES))
def test_exact__frozen_cases_to_two_millionths(name):
    """Six digits were kept, so half a millionth of rounding; 2e-6 is the bound that came with the cases."""
    case = CASES[name]
    odds = posterior(scene(case), readings(case), **constants())
    assert odds.how == "exact"
    assert furthest(case, odds) < 2e-6
    assert odds.log_evidence == pytest.approx(case["log_evidence"], abs=2e-6)


def test_messages__mean_distance_on_the_frozen_cases_without_shorts():
    own, nets = [], []
    for case in CASES.values():
        log = readings(case)
        if case["n"] and not any(isinstance(r, read.Short) for r in log):
            odds, _ = odds_of(_table(scene(case), log), up_to=0)
            assert odds.how == "propagated"
            a, b = apart(case, odds)
            own, nets = own + a, nets + b
    assert np.mean(own) <= 0.04
    assert np.mean(nets) <= 0.04


def test_messages__sixty_noisy_logs_stay_near_the_exact_odds():
    """Bounds measured by another program on such logs: mean 0.03, worst 0.2 of the own end and 0.35 of the net."""
    dice = np.random.default_rng(41)
    own, nets = [], []
    for _ in range(60):
        where, log = drawn(dice, outlets=4, ends=5, block=3, most=15)
        exact, _ = odds_of(_table(where, log))
        near, _ = odds_of(_table(where, log), up_to=0)
        own += list(np.abs(exact.own - near.own).sum(axis=1) / 2)
        for a, b in zip(exact.nets, near.nets, strict=True):
            nets.append(sum(abs(a.get(n, 0) - b.get(n, 0)) for n in {*a, *b}) / 2)
    assert np.mean(own) <= 0.03 and max(own) <= 0.2
    assert np.mean(nets) <= 0.03 and max(nets) <= 0.35


def drawn(dice, *, outlets, ends, block, most):
    """A scene with one block and one bundle, and a log of up to `most` readings that hang together."""
    own = [int(e) for e in dice.integers(0, ends + 1, outlets)]
    blocks = (tuple(int(e) for e in dice.permutation(ends)[:block]),) if block else ()
    where = Scene(outlets, ends, (tuple(int(e) for e in dice.permutation(ends)),), blocks)
    log = []
    for n in range(int(dice.integers(0, most + 1))):
        o, e, kind = int(dice.integers(outlets)), int(dice.integers(ends)), dice.random()
        on = own[o] == e
        if kind < 0.5:
            levels = (
                (0.03, 0.07, 0.9) if on else (0.55, 0.38, 0.07) if own[o] in where.beside[e] else (0.97, 0.025, 0.005)
            )
            log.append(read.Tone(key=str(n), outlet=o, end=e, level=int(dice.choice(3, p=levels))))
        elif kind < 0.7:
            log.append(read.Remote(key=str(n), outlet=o, end=e, hit=bool(dice.random() < (0.98 if on else 0.0005))))
        elif kind < 0.85:
            touched = frozenset(int(x) for x in dice.permutation(ends)[:3])
            log.append(read.Bundle(key=str(n), outlet=o, ends=touched, level=2 if own[o] in touched else 0))
        else:
            words = {x: int(dice.integers(1, 16)) for x in range(ends)}
            log.append(read.Plugs(key=str(n), outlet=o, words=words, pairs=4, bits=words.get(own[o], 0)))
    return where, log


@hypothesis.given(some.data())
@hypothesis.settings(max_examples=40, deadline=None)
def test_exact__equals_plain_counting(data):
    """Any small scene, any log, opened blocks and shorts among it."""
    outlets, ends = data.draw(some.integers(0, 3)), data.draw(some.integers(0, 4))
    order = data.draw(some.permutations(range(ends)))
    size = data.draw(some.integers(0, min(3, ends)))
    where = Scene(outlets, ends, (tuple(order),), (tuple(order[:size]),) if size > 1 else ())
    log = [_any_reading(data, where, n) for n in range(data.draw(some.integers(0, 5)))] if outlets and ends else []
    odds, right = posterior(where, log, **constants()), counted(where, log)
    if outlets:
        assert odds.own == pytest.approx(np.array(right["own"]), abs=1e-9)
    for mine, known in zip(odds.nets, right["nets"], strict=True):
        assert {n: mine.get(n, 0.0) for n in known} == pytest.approx(known, abs=1e-9)
    assert dict(odds.joined) == pytest.approx(right["joined"], abs=1e-9)
    assert odds.log_evidence == pytest.approx(right["log_evidence"], abs=1e-9)


def _any_reading(data, where, n):
    o, e = data.draw(some.integers(0, where.outlets - 1)), data.draw(some.integers(0, where.ends - 1))
    told = {"key": str(n), "opened": frozenset(data.draw(some.sets(some.integers(0, 0))) if where.blocks else ())}
    level = data.draw(some.integers(0, 2))
    return data.draw(
        some.sampled_from(
            [
                read.Tone(outlet=o, end=e, level=level, **told),
                read.Bundle(outlet=o, ends=frozenset(range(e + 1)), level=level, **told),
                read.Remote(outlet=o, end=e, hit=level > 0, **told),
                read.Plugs(outlet=o, words={e: 1, where.ends - 1: 2}, pairs=2, bits=level, **told),
                read.Short(outlets=frozenset(range(o + 1)), end=e, closed=level > 0, **told),
            ]
        )
    )


def test_exact__one_to_one_equals_the_permanent():
    """With one outlet on each end and no other way, the odds are ratios of permanents (here over all permutations)."""
    import itertools

    from pullstring.trace.assumed import Prior

    dice = np.random.default_rng(3)
    weights = dice.random((5, 5)) + 0.01
    prior = Prior(no_cable=1e-30, by_count=(0.0, 1.0, 0.0, 0.0), joined=0.45)
    log = [
        read.Leaning(key=str(o), outlet=o, log_weight={e: math.log(weights[o, e]) for e in range(5)}) for o in range(5)
    ]
    odds = posterior(Scene(5, 5), log, prior=prior, noise=constants()["noise"])
    right = np.zeros((5, 5))
    for way in itertools.permutations(range(5)):
        right[range(5), way] += math.prod(weights[o, e] for o, e in enumerate(way))
    assert odds.own[:, :5] == pytest.approx(right / right.sum(axis=1, keepdims=True), abs=1e-9)


def test_components__a_large_scene_with_settled_outlets_is_summed_exactly():
    """Thirty outlets of which each was read thrice on its own end: the odds equal those of each component alone."""
    where = Scene(30, 30, (tuple(range(30)),), ((0, 1, 2), (10, 11)))
    log = [
        read.Remote(key=f"{o} {e} {n}", outlet=o, end=e, hit=o == e)
        for o in range(30)
        for n in range(3)
        for e in {o, (o + 7) % 30, 0, 1, 2}
    ]
    odds = posterior(where, log, **constants())
    assert odds.how == "exact"
    assert odds.own.sum(axis=1) == pytest.approx(np.ones(30))
    assert all(odds.own[o].argmax() == o for o in range(30))


def test_desk__order_and_taking_back_leave_no_trace():
    case = CASES["P09"]
    log = readings(case)
    straight = posterior(scene(case), log, **constants())
    desk = Desk(scene(case), **constants())
    extra = read.Remote(key="never was so", outlet=0, end=0, hit=True)
    desk.add_all([extra, *reversed(log)])
    desk.posterior()
    desk.take_back(extra)
    assert desk.posterior().own == pytest.approx(straight.own, abs=1e-12)
    assert desk.posterior().log_evidence == pytest.approx(straight.log_evidence, abs=1e-9)


def test_desk__the_same_placement_and_point_counts_once():
    where = Scene(2, 3, ((0, 1, 2),))
    once = posterior(where, [read.Tone(key="p1 E0", outlet=0, end=0, level=2)], **constants())
    thrice = posterior(where, [read.Tone(key="p1 E0", outlet=0, end=0, level=2)] * 3, **constants())
    other = posterior(where, [read.Tone(key=k, outlet=0, end=0, level=2) for k in ("p1 E0", "p2 E0")], **constants())
    assert thrice.own == pytest.approx(once.own)
    assert other.own[0, 0] > once.own[0, 0] + 0.01


def test_desk__a_copy_goes_its_own_way():
    desk = Desk(Scene(2, 2), **constants())
    other = desk.copy()
    other.add(read.Remote(key="1", outlet=0, end=0, hit=True))
    assert desk.posterior().own[0, 0] == pytest.approx(desk.posterior().own[0, 1])
    assert other.posterior().own[0, 0] > 0.99


@pytest.mark.parametrize(("outlets", "ends"), [(0, 0), (0, 4), (3, 0)])
def test_posterior__nothing_on_one_side(outlets, ends):
    odds = posterior(Scene(outlets, ends), [], **constants())
    assert odds.own.shape == (outlets, ends + 1)
    assert np.isfinite(odds.own).all()
    if ends == 0:
        assert (odds.own == 1.0).all()
        assert all(n == {frozenset(): 1.0} for n in odds.nets)


def test_posterior__contradictions_never_give_nan():
    """Every remote is read on every end three times over, on more outlets than one end can hold."""
    where = Scene(14, 6, (tuple(range(6)),), ((0, 1, 2),))
    log = [
        read.Remote(key=f"{o} {e} {n}", outlet=o, end=e, hit=n < 2)
        for o in range(14)
        for e in range(6)
        for n in range(4)
    ]
    assert posterior(where, log, **constants()).log_evidence < -300
    log += [read.Leaning(key=f"x{o}", outlet=o, log_weight={0: 900.0}, log_none=-900.0) for o in range(14)]
    odds = posterior(where, log, **constants())
    assert np.isfinite(odds.own).all() and math.isfinite(odds.log_evidence)
    assert odds.own.sum(axis=1) == pytest.approx(np.ones(14))
    assert odds.own[:, 0].sum() == pytest.approx(3, abs=0.01), "an end takes three outlets at most"


def test_prior_total__equals_adding_up_every_way():
    where = Scene(3, 3, (), ((0, 1),))
    assert log_prior_total(where, constants()["prior"]) == pytest.approx(math.log(_all_ways()), abs=1e-12)


def _all_ways():
    import itertools

    weights, total = (0.18, 1.0, 0.20, 0.06), 0.0
    for own in itertools.product([0, 1, 2, None], repeat=3):
        total += 0.08 ** own.count(None) * math.prod(weights[own.count(e)] for e in range(3))
    return total * (1 + 0.45)


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (read.Tone(key="k", outlet=2, end=0, level=1), "outlet 2 is not one of the 2 outlets"),
        (read.Tone(key="k", outlet=0, end=9, level=1), "end 9 is not one of the 3 ends"),
        (read.Tone(key="k", outlet=0, end=0, level=3), "level 3 is none"),
        (read.JoinLeaning(key="k", a=0, b=2, log_odds=1.0), "no two ends of one block"),
        (read.EndLeaning(key="k", end=0, log_weight=(0.0, math.inf)), "no finite number"),
    ],
)
def test_desk__a_reading_that_does_not_fit_is_refused_and_counts_for_nothing(reading, says):
    desk = Desk(Scene(2, 3, (), ((0, 1),)), **constants())
    before = desk.posterior().own
    with pytest.raises(BadScene, match=says):
        desk.add(reading)
    assert desk.posterior().own == pytest.approx(before)


def test_scene__all_faults_at_once():
    with pytest.raises(BadScene) as refused:
        Scene(2, 3, ((0, 5), (0,)), ((1, 1),))
    assert len(refused.value.faults) == 3


def test_leanings__an_end_known_to_be_cut_takes_no_outlet():
    odds = posterior(Scene(1, 2), [read.EndLeaning(key="c", end=0, log_weight=(0.0, -9.0))], **constants())
    assert odds.own[0, 0] < 0.001
    assert odds.own[0, 1] > 0.9


def test_leanings__a_join_told_makes_both_ends_one_net():
    where = Scene(1, 2, (), ((0, 1),))
    odds = posterior(where, [read.JoinLeaning(key="clip", a=0, b=1, log_odds=9.0)], **constants())
    assert odds.joined[0, 1] > 0.999
    assert odds.nets[0][frozenset((0, 1))] > 0.98


def _table(where, log):
    table = Table(where, **constants())
    for reading in log:
        table.add(reading)
    return table


def test_scene__neighbours_of_a_net_are_beside_it_and_not_on_it():
    where = Scene(1, 5, ((0, 1, 2, 3),), ((1, 2),))
    assert where.neighbours(frozenset((1, 2))) == {0, 3}
    assert where.neighbours(frozenset((4,))) == frozenset()


def test_components__a_resistor_round_in_a_large_scene_is_still_summed_exactly():
    """Twenty outlets, resistors on four of them of which two share an end: by components the same as for the four alone."""
    placed = {0: 1000.0, 1: 2200.0, 2: 4700.0, 3: 10000.0}
    read_ohms = {0: 687.5, 1: None, 2: 4702.0, 3: 10010.0}
    ohms = [
        read.Ohms(key=f"r{e}", end=e, ohm=o, placed=placed, off=0.01, line_ohm=(0.0, 8.0)) for e, o in read_ohms.items()
    ]
    others = [
        read.Remote(key=f"{o} {e} {n}", outlet=o, end=e, hit=o == e)
        for o in range(20)
        for e in (o, *range(4))
        for n in range(2)
        if o >= 4
    ]
    large = posterior(Scene(20, 20), [*ohms, *others], **constants())
    small = posterior(Scene(4, 4), ohms, **constants())
    assert large.how in ("exact", "mixed")
    assert large.own[:4, :4] == pytest.approx(small.own[:, :4], abs=0.02)
    assert large.own[0, 0] > 0.98 and large.own[1, 0] > 0.98


def test_components__a_block_of_six_and_ten_outlets_takes_no_longer_than_messages_do():
    """Ten outlets heard on ends that may all be joined: by messages then, since 203 partitions of six are too many to sum over."""
    where = Scene(10, 8, (), ((0, 1, 2, 3, 4, 5),))
    log = [read.Tone(key=f"{o} {e}", outlet=o, end=e, level=2) for o in range(10) for e in range(6)]
    odds = posterior(where, log, **constants())
    assert odds.how == "propagated"
    assert np.isfinite(odds.own).all()
    assert all(odds.joined[a, b] > 0.9 for a, b in [(0, 1), (2, 5)]), "what is heard everywhere is joined"


def test_components__one_large_block_beside_settled_outlets_is_still_named_by_its_own():
    """The block of a component is found by itself among nodes that look alike (a comparison of arrays once raised here)."""
    where = Scene(12, 14, (), ((0, 1, 2), (3, 4, 5)))
    log = [read.Remote(key=f"{o} {n}", outlet=o, end=o + 2, hit=True) for o in range(12) for n in range(3)]
    odds = posterior(where, log, **constants())
    assert odds.how == "exact"
    assert all(sum(c for net, c in odds.nets[o].items() if o + 2 in net) > 0.99 for o in range(12))

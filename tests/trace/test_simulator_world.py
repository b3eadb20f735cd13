"""The world of the bench by itself: instruments err as often as stated, acts cost what they should, nobody may cheat.

A share found in K draws lies within 4.5 standard errors of the stated one; seeds are fixed, so these tests do not flicker.
"""

import collections
import dataclasses
import itertools
import math

import numpy as np
import pytest

from bench.tracing_world import numbers, practice
from bench.tracing_world.drive import drive
from bench.tracing_world.rounds import FixedRounds, Step
from bench.tracing_world.site import Site, drawn_site
from bench.tracing_world.trouble import EVERYWHERE, NOWHERE, Trouble, old_labels
from bench.tracing_world.truth import NONE, Counts, Truth, drawn_groups, drawn_truth, group_odds, parted
from bench.tracing_world.world import Bag, NotPossible, World

TIMES, HABITS, ERRING = numbers.times(), numbers.habits(), numbers.instruments()
AWAY = np.array([[0.0, 3.0, 10.0], [3.0, 0.0, 8.0], [10.0, 8.0, 0.0]])
SITE = Site(6, AWAY, ((0, 1, 2, 3, 4, 5),), ((0, 4),))
"""Two outlets and the closet as place 2; six ends in one bundle, ends 0 and 4 on a block."""
HIDDEN = Truth((0, NONE), (frozenset({0, 4}),))
"""Outlet 0 is on end 0, which is joined to 4: ends 1, 3 and 5 lie beside, 2 is far. Outlet 1 has no cable."""
FULL = Bag(remotes=2, marks=6, plugs=6, tone=True)


def world(bag=FULL, instruments=ERRING, trouble=None, seed=1, truth=HIDDEN, site=SITE):
    rng = np.random.default_rng(seed)
    extra = {"trouble": trouble} if trouble else {}
    return World(site, truth, bag=bag, instruments=instruments, times=TIMES, rng=rng, **extra)


def near(found, share, count):
    assert found / count == pytest.approx(share, abs=4.5 * math.sqrt(share * (1 - share) / count) + 1e-12)


@pytest.mark.parametrize(
    ("outlet", "end", "shares"),
    [
        (0, 0, ERRING.connected),
        (0, 4, ERRING.connected),
        (0, 1, ERRING.neighbour),
        (0, 3, ERRING.neighbour),
        (0, 5, ERRING.neighbour),
        (0, 2, ERRING.elsewhere),
        (1, 0, ERRING.elsewhere),
    ],
)
def test_tone__levels_as_often_as_stated(outlet, end, shares):
    count, here = 3000, world()
    heard = collections.Counter()
    for _ in range(count):
        here.walk(outlet)
        here.place_tone(outlet)
        here.walk(SITE.closet)
        heard[here.touch(end).level] += 1
        here.walk(outlet)
        here.take_off_tone(outlet)
    for level, share in enumerate(shares):
        near(heard[level], share, count)


def test_tone_on_a_set__loudest_of_independent_draws():
    """Ends 1 and 3 beside and 2 far: nothing with .55 x .55 x .97, nothing or faint with .93 x .93 x .995."""
    count, here = 3000, world()
    heard = collections.Counter()
    for _ in range(count):
        here.walk(0)
        here.place_tone(0)
        here.walk(SITE.closet)
        heard[here.touch_set(frozenset({1, 2, 3})).level] += 1
        here.walk(0)
        here.take_off_tone(0)
    near(heard[0], 0.55 * 0.55 * 0.97, count)
    near(heard[2], 1 - 0.93 * 0.93 * 0.995, count)


def test_practice__levels_all_at_once_are_the_same_law():
    """Present practice draws its levels in one go; they must come from the same chances."""
    rng, count = np.random.default_rng(2), 3000
    drawn = np.array([practice.drawn_levels(SITE, HIDDEN, ERRING, rng) for _ in range(count)])
    relation = [ERRING.connected, ERRING.neighbour, ERRING.elsewhere, ERRING.neighbour, ERRING.connected]
    for end, shares in enumerate([*relation, ERRING.neighbour]):
        for level, share in enumerate(shares):
            near((drawn[:, 0, end] == level).sum(), share, count)
            near((drawn[:, 1, end] == level).sum(), ERRING.elsewhere[level], count)


def test_tone__same_placement_and_point_same_level():
    for seed in range(30):
        here = world(seed=seed)
        here.walk(0)
        here.place_tone(0)
        here.walk(SITE.closet)
        once = [here.touch(e) for e in range(6)]
        here.touch_set(frozenset(range(6)))
        again = [here.touch(e) for e in range(6)]
        assert [(r.key, r.level) for r in once] == [(r.key, r.level) for r in again]


def test_tone__new_placement_draws_anew():
    keys, levels = set(), set()
    here = world()
    for _ in range(60):
        here.walk(0)
        here.place_tone(0)
        here.walk(SITE.closet)
        heard = here.touch(1)
        keys.add(heard.key)
        levels.add(heard.level)
        here.walk(0)
        here.take_off_tone(0)
    assert len(keys) == 60
    assert levels >= {0, 1}


@pytest.mark.parametrize(("end", "share"), [(0, 0.98), (4, 0.98), (1, 0.0005), (2, 0.0005)])
def test_remote__read_as_often_as_stated_and_drawn_anew_each_time(end, share):
    here, count = world(), 20000
    here.walk(0)
    here.place_remote(0, 1)
    here.walk(SITE.closet)
    found = [here.clip(end) for _ in range(count)]
    assert {len(f) for f in found} == {1}
    assert len({f[0].key for f in found}) == count
    near(sum(f[0].hit for f in found), share, count)


def test_plugs__words_of_joined_ends_add_up():
    """Word 1 on end 0 and word 2 on end 4: pairs 0 and 1 are closed for outlet 0, none for outlet 1."""
    here, count = world(), 4000
    here.plug(0, 1)
    here.plug(4, 2)
    here.plug(2, 12)
    for outlet, shares in ((0, (0.985, 0.985, 0.01, 0.01)), (1, (0.01,) * 4)):
        here.walk(outlet)
        bits = [here.read_outlet(outlet)[-1].bits for _ in range(count)]
        for pair, share in enumerate(shares):
            near(sum(b >> pair & 1 for b in bits), share, count)


def test_marks__every_number_heard_at_an_outlet():
    here = world(instruments=numbers.CERTAIN)
    for end in range(6):
        here.mark(end, end)
    here.walk(0)
    assert {r.end for r in here.read_outlet(0) if r.hit} == {0, 4}
    here.walk(1)
    assert [r.hit for r in here.read_outlet(1)] == [False] * 6


def test_clock__a_job_added_up_by_hand():
    here = world()
    here.mark(0, 3)  # 8
    here.plug(1, 5)  # 8
    here.walk(1)  # 8 and 10 to enter
    here.walk(1)  # one is there
    here.place_remote(1, 0)  # 15
    here.read_outlet(1)  # 14
    here.walk(0)  # 3 and 10
    here.place_tone(0)  # 15
    here.walk(2)  # 10
    here.touch(0)  # 4
    here.touch_set(frozenset({1, 2, 3}))  # 7
    here.clip(5)  # 9
    here.walk(0)  # 10 and 10
    here.take_off_tone(0)  # 6
    here.tag(0)  # 6
    here.walk(1)  # 3 and 10
    here.take_off_remote(1)  # 6
    here.close()  # the other tag: 6
    assert here.clock_s == pytest.approx(8 + 8 + 18 + 15 + 14 + 13 + 15 + 10 + 4 + 7 + 9 + 20 + 6 + 6 + 13 + 6 + 6)


@pytest.mark.parametrize(
    ("bag", "acts"),
    [
        (Bag(), [("place tone", 0, None)]),
        (Bag(remotes=1), [("place remote", 0, 1)]),
        (Bag(remotes=1), [("place remote", 0, 0), ("place remote", 1, 0)]),
        (Bag(remotes=2), [("place remote", 0, 0), ("place remote", 0, 1)]),
        (Bag(tone=True), [("place tone", 0, None), ("place tone", 1, None)]),
        (Bag(tone=True), [("place tone", 0, None), ("take off tone", 1, None)]),
        (Bag(tone=True), [("touch", 0, None)]),
        (Bag(remotes=1), [("take off remote", 0, None)]),
        (Bag(marks=1), [("mark", 0, 1)]),
        (Bag(plugs=1), [("mark", 0, 1), ("mark", 1, 2)]),
        (Bag(plugs=1), [("mark", 0, 16)]),
        (Bag(plugs=1), [("mark", 6, 1)]),
        (Bag(tone=True), [("sing", 0, None)]),
        (Bag(remotes=1), [("place remote", 0, 0)]),  # and left behind
    ],
)
def test_kit__nobody_may_use_more_than_the_bag_holds_or_leave_it_behind(bag, acts):
    with pytest.raises(NotPossible):
        drive(Listed([Step(*act) for act in acts]), world(bag=bag))


def test_act__only_where_one_stands():
    for act in (lambda w: w.place_tone(0), lambda w: w.read_outlet(1), lambda w: w.place_remote(1, 0)):
        with pytest.raises(NotPossible, match="one stands at 2"):
            act(world())
    here = world()
    here.walk(0)
    with pytest.raises(NotPossible, match="one stands at 0"):
        here.clip(0)


def test_marks__a_moved_mark_leaves_its_end():
    here = world(bag=Bag(marks=1), instruments=numbers.CERTAIN)
    here.mark(0, 0)
    here.mark(2, 0)
    here.walk(0)
    assert [(r.end, r.hit) for r in here.read_outlet(0)] == [(2, False)]


def test_flat_battery__nothing_is_heard_while_it_lasts():
    here = world(instruments=numbers.CERTAIN, trouble=Trouble(flat_s=(100.0, 200.0)))
    heard = []
    while here.clock_s < 400:
        here.walk(0)
        here.place_tone(0)
        here.walk(SITE.closet)
        heard.append(here.touch(0))
        here.walk(0)
        here.take_off_tone(0)
    assert {100 <= r.when < 200 for r in heard} == {True, False}
    assert all((r.level == 0) == (100 <= r.when < 200) for r in heard)


@pytest.mark.parametrize(("how", "hits"), [(EVERYWHERE, {True}), (NOWHERE, {False})])
def test_stuck_remote__its_number_everywhere_or_nowhere(how, hits):
    here = world(instruments=numbers.CERTAIN, trouble=Trouble(stuck=((1, how),)))
    for number, outlet in enumerate((1, 0)):
        here.walk(outlet)
        here.place_remote(outlet, number)
    here.walk(SITE.closet)
    found = [r for end in range(6) for r in here.clip(end)]
    assert {r.hit for r in found if r.source == "remote 1"} == hits
    assert {r.hit for r in found if r.source == "remote 0"} == {False}


def test_crosstalk_doubled__neighbours_only():
    loud = ERRING.crosstalk_doubled()
    assert loud.neighbour == pytest.approx((0.10, 0.76, 0.14))
    assert dataclasses.replace(loud, neighbour=ERRING.neighbour) == ERRING


def test_old_labels__so_many_and_so_many_wrong():
    rng = np.random.default_rng(5)
    site = drawn_site(20, 30, times=TIMES, rng=rng)
    truth = drawn_truth(site, habits=HABITS, rng=rng)
    labels = old_labels(truth, 30, count=7, wrong=2, rng=rng)
    assert len({label.outlet for label in labels}) == 7
    assert [label.end in truth.net(label.outlet) for label in labels] == [False] * 2 + [True] * 5


def test_old_labels__believed_as_far_as_stated():
    """Right with 0.95, else evenly another of five ends: odds of 0.95 to 0.01 for the named end against each other one."""
    labels = old_labels(HIDDEN, 6, count=1, wrong=1, rng=np.random.default_rng(1))
    (said,) = world(trouble=Trouble(labels=labels, label_right=0.95)).said_before()
    assert said.outlet == 0
    assert set(said.log_weight) == {labels[0].end} and labels[0].end not in {0, 4}
    assert said.log_weight[labels[0].end] == pytest.approx(math.log(0.95 / 0.01))


def enumerated(outlets, ends):
    """Weight of every labelled assignment by the plain product."""
    found = {}
    for own in itertools.product([*range(ends), NONE], repeat=outlets):
        counts = [own.count(e) for e in range(ends)]
        if max(counts) < 4:
            found[own] = 0.08 ** own.count(NONE) * math.prod((0.18, 1.0, 0.20, 0.06)[c] for c in counts)
    return found


def test_counts__sum_of_all_weights_by_enumeration():
    for outlets, ends in ((1, 1), (3, 2), (4, 3), (5, 2)):
        total = math.log(sum(enumerated(outlets, ends).values()))
        assert Counts(outlets, ends, HABITS).log_total() == pytest.approx(total, abs=1e-12)


def test_drawn_truth__every_assignment_as_often_as_its_weight():
    site = Site(3, np.zeros((4, 4)), (), ())
    weights = enumerated(3, 3)
    total, count, rng = sum(weights.values()), 20000, np.random.default_rng(3)
    drawn = collections.Counter(drawn_truth(site, habits=HABITS, rng=rng).own for _ in range(count))
    assert set(drawn) <= set(weights)
    for own, weight in weights.items():
        near(drawn[own], weight / total, count)


def test_drawn_groups__every_parting_as_often_as_its_weight():
    rng, count = np.random.default_rng(4), 8000
    drawn = collections.Counter(str(drawn_groups(range(4), HABITS, rng)) for _ in range(count))
    for groups, share in zip(parted(range(4)), group_odds(4, HABITS), strict=True):
        near(drawn[str(groups)], share, count)


@pytest.mark.parametrize(
    ("outlets", "ends", "blocks"), [(8, 12, 0), (20, 29, 1), (20, 30, 2), (48, 60, 4), (80, 120, 8)]
)
def test_drawn_site__bundles_and_blocks_as_defined(outlets, ends, blocks):
    site = drawn_site(outlets, ends, times=TIMES, rng=np.random.default_rng(6))
    assert [len(b) for b in site.blocks] == [4] * blocks
    assert len({e for b in site.blocks for e in b}) == 4 * blocks
    assert [len(b) for b in site.bundles] == [12] * (ends // 12) + [ends % 12] * (ends % 12 > 0)
    assert sorted(e for b in site.bundles for e in b) == list(range(ends))
    assert site.outlets == outlets and (site.travel_s == site.travel_s.T).all()


def test_truth__nets():
    assert HIDDEN.nets == (frozenset({0, 4}), frozenset())


class Listed:
    """A way of working that does what is on its list."""

    def __init__(self, steps):
        self.steps = steps

    def next_acts(self):
        steps, self.steps = self.steps, ()
        return steps

    def told(self, readings, *, position, seconds):
        assert position is not None and seconds >= 0

    def answer(self):
        return (frozenset(),) * 2

    def claimed(self):
        return (1.0,) * 2


def test_fixed_rounds__two_outlets_by_hand():
    """One remote, no noise: outlet 1 (8 s away), six clips, back; take off, outlet 0 (3 s), six clips, back; take off.

    Outlet 1 has no cable, so nothing is tagged and nothing is clipped again. Outlet 0 answers at both joined ends.
    """
    done = drive(FixedRounds(SITE, 1), world(bag=Bag(remotes=1), instruments=numbers.CERTAIN))
    first = 8 + 10 + 15 + 8 + 6 * 9 + 6
    second = 8 + 10 + 6 + 3 + 10 + 15 + 10 + 6 * 9 + 6
    assert done.seconds == pytest.approx(first + second + 10 + 10 + 6)
    assert done.answer == (frozenset({0, 4}), frozenset())


def test_fixed_rounds__tagged_ends_are_clipped_again_for_an_outlet_without_an_answer():
    """Both outlets on end 0; without noise the second finds it only among the tagged: five untagged ends, then the tagged one."""
    both = Truth((0, 0), ())
    done = drive(FixedRounds(SITE, 1), world(bag=Bag(remotes=1), instruments=numbers.CERTAIN, truth=both))
    first = 8 + 10 + 15 + 8 + 6 * 9 + 6
    second = 8 + 10 + 6 + 3 + 10 + 15 + 10 + 5 * 9 + 9 + 6
    assert done.seconds == pytest.approx(first + second + 10 + 10 + 6)
    assert done.answer == (frozenset({0}), frozenset({0}))


def test_fixed_rounds__again_for_each_outlet_alone():
    """Number 1 is read everywhere: the first batch tags every end, so in the second all six are clipped for each of two.

    Places one second apart in a row, the closet at its near end.
    """
    at = np.array([1.0, 2.0, 3.0, 4.0, 0.0])
    site = Site(6, np.abs(at[:, None] - at), (), ())
    truth = Truth((0, 1, 2, 3), ())
    here = World(
        site,
        truth,
        bag=Bag(remotes=2),
        instruments=numbers.CERTAIN,
        times=TIMES,
        rng=np.random.default_rng(1),
        trouble=Trouble(stuck=((1, EVERYWHERE),)),
    )
    done = drive(FixedRounds(site, 2), here)
    first = 1 + 1 + 2 * 25 + 2 + 6 * 9 + 2 * 6
    second = 4 + 2 * 16 + 2 * 25 + 4 + 2 * 6 * 9 + 2 * 6
    assert done.seconds == pytest.approx(first + second + 4 + 2 * 16)
    everything = frozenset(range(6))
    assert done.answer == (frozenset({0}), everything, frozenset({2}), everything)

"""Several things at hand: what pays most comes next, fewer marks than ends move on, what is dead is worked around."""

import dataclasses

import numpy as np
import pytest

from bench.tracing_world import numbers, under_test
from bench.tracing_world.drive import carry_out, drive
from bench.tracing_world.site import drawn_site
from bench.tracing_world.trouble import NO_TROUBLE, NOWHERE, Trouble
from bench.tracing_world.truth import drawn_truth
from bench.tracing_world.world import Bag, World
from pullstring.trace.acts import Standing
from pullstring.trace.kits import Kit
from tests.trace.test_policy import house


def drawn(bag, seed, *, instruments=None, trouble=NO_TROUBLE, outlets=20, ends=30):
    dice, real = np.random.default_rng(seed), instruments or numbers.instruments()
    site = drawn_site(outlets, ends, times=numbers.times(), rng=dice)
    truth = drawn_truth(site, habits=numbers.habits(), rng=dice)
    world = World(site, truth, bag=bag, instruments=real, times=numbers.times(), rng=dice, trouble=trouble)
    job = under_test.job(site, bag, believed=real, habits=numbers.habits(), times=numbers.times())
    return job, world, truth


def seconds(bag, seeds=range(6)):
    """Mean over some buildings; a kit of more can only help, so it is held against a kit of less in the same ones."""
    told, right = [], []
    for seed in seeds:
        job, world, truth = drawn(bag, seed)
        done = drive(job, world)
        told.append(done.seconds)
        right += [a == b for a, b in zip(done.answer, truth.nets, strict=True)]
    assert np.mean(right) > 0.97
    return np.mean(told)


@pytest.mark.parametrize("remotes", [1, 2])
def test_kit__few_remotes_beside_a_tone_are_no_slower_than_the_tone(remotes):
    """A reader that tells one number at 9 s an end tells less a second than a tone over halves of the ends at 7 s."""
    assert seconds(Bag(remotes=remotes, tone=True)) <= seconds(Bag(tone=True)) * 1.03


def test_kit__one_remote_alone_is_slower_than_a_tone():
    """So the choice above is one."""
    assert seconds(Bag(remotes=1)) > seconds(Bag(tone=True)) * 1.2


def test_kit__plugs_beside_remotes_are_no_slower_than_remotes():
    assert seconds(Bag(remotes=8, plugs=30, tone=True)) <= seconds(Bag(remotes=8, tone=True)) * 1.05


def test_kit__fewer_marks_than_ends_are_quicker_than_the_tone_alone():
    """Each walk settles the outlets on the ends that are marked; a third of the ends a walk is three shrinking walks."""
    assert seconds(Bag(marks=10, tone=True)) < 0.75 * seconds(Bag(tone=True))


def test_marks__fewer_than_ends_move_on():
    """The world refuses a mark that is not in the bag; a number that is put elsewhere comes off where it was."""
    job, world, truth = drawn(Bag(marks=10), 3, instruments=numbers.CERTAIN)
    marked = set()
    while acts := job.next_acts():
        marked |= {a.at for a in acts if a.kind == "mark"}
        readings = tuple(r for act in acts for r in carry_out(world, act))
        job.told(readings, position=world.position, seconds=world.clock_s)
        assert job.state.standing.marks == world.marks
    assert len(marked) > 20
    assert job.answer() == truth.nets


def test_plugs__no_more_than_there_are():
    """The world refuses an eleventh plug on an end; the tone does the rest."""
    job, world, truth = drawn(Bag(plugs=10, tone=True), 4, instruments=numbers.CERTAIN)
    done = drive(job, world)
    assert done.answer == truth.nets
    assert 0 < len(world.words) <= 10


def dead_mark(seed):
    """A job with a mark on every end of which one, on the end of an outlet that is alone on it, is never read."""
    _, _, truth = drawn(Bag(marks=30), seed)
    alone = next(o for o, net in enumerate(truth.nets) if len(net) == 1 and truth.nets.count(net) == 1)
    (end,) = truth.nets[alone]
    return (*drawn(Bag(marks=30), seed, trouble=Trouble(stuck=((end, NOWHERE),))), alone, end)


@pytest.mark.parametrize("seed", range(4))
def test_marks__a_dead_one_is_not_taken_for_no_cable(seed):
    """Three silent readings of one mark are one dead mark, not three reasons; a mark that was read elsewhere tells."""
    job, world, truth, alone, end = dead_mark(seed)
    first = job.next_acts()
    assert [a.what for a in first if a.at == end] == [end], "marks go on in the order of ends, so the dead one is on it"
    done = drive(job, world)
    assert done.answer[alone] == {end}
    assert sum(a == b for a, b in zip(done.answer, truth.nets, strict=True)) >= 19


def test_walk__half_done_is_gone_on_with():
    """Two of four remotes are out and one stands at the second outlet: the others come next, not the reader."""
    job = house(6, 8, kit=Kit(remotes=4))
    first = job.next_acts()
    out = {a.at: a.what for a in first[:2]}
    job.stands(Standing(first[1].at, remotes=out))
    left = job.next_acts()
    assert {a.kind for a in left} == {"place remote"}
    assert {a.at for a in left}.isdisjoint(out) and len(left) == 2


def test_walk__with_all_remotes_out_the_reader_comes_next():
    job = house(6, 8, kit=Kit(remotes=4))
    out = {a.at: a.what for a in job.next_acts()}
    job.stands(Standing(6, remotes=out))
    assert [a.kind for a in job.next_acts()] == ["clip"]


def test_marks__on_already_are_read_and_not_put_on_again():
    job = house(4, 5, kit=Kit(marks=5, tone=True))
    job.stands(Standing(4, marks={e: e for e in range(5)}))
    assert [a.kind for a in job.next_acts()] == ["read"]


def test_offer__a_quicker_reader_wins_over_the_tone():
    """All outlets near by: two remotes tell less a second than the tone at the usual 9 s a clip, and more at one."""
    job = house(20, 30, kit=Kit(remotes=2, tone=True))
    job.state = dataclasses.replace(job.state, travel_s=job.state.travel_s * 0.2)
    usual = job.next_acts()[0].kind
    quick = dataclasses.replace(job.state.costs, clip_s=1.0)
    job.state = dataclasses.replace(job.state, costs=quick)
    assert (usual, job.next_acts()[0].kind) == ("place tone", "place remote")


def test_offer__far_outlets_are_for_the_walk_that_passes_them_all():
    """The nearest outlet alone would be cheap by tone; the walk with the tester passes it anyhow."""
    job = house(6, 8, kit=Kit(marks=4, tone=True))
    job.state = dataclasses.replace(job.state, travel_s=job.state.travel_s * 100)
    assert {a.kind for a in job.next_acts()} == {"mark"}

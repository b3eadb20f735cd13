"""What to do next: allowed acts only, everything off at the end, right answers, and a person who goes another way."""

import dataclasses

import numpy as np
import pytest

from bench.tracing_world import numbers, under_test
from bench.tracing_world.drive import carry_out, drive
from bench.tracing_world.site import drawn_site
from bench.tracing_world.truth import drawn_truth
from bench.tracing_world.world import Bag, World
from pullstring.trace import readings as read
from pullstring.trace.acts import Act, Standing
from pullstring.trace.assumed import assumed_costs, assumed_sure
from pullstring.trace.kits import Kit
from pullstring.trace.policy import Job
from pullstring.trace.scene import Scene
from tests.trace.frozen import constants

BAGS = {
    "8 remotes": Bag(remotes=8, tone=True),
    "3 remotes": Bag(remotes=3),
    "marks": Bag(marks=30, tone=True),
    "plugs": Bag(plugs=30),
    "tone": Bag(tone=True),
}


def drawn(outlets, ends, bag, seed):
    dice = np.random.default_rng(seed)
    site = drawn_site(outlets, ends, times=numbers.times(), rng=dice)
    truth = drawn_truth(site, habits=numbers.habits(), rng=dice)
    world = World(site, truth, bag=bag, instruments=numbers.instruments(), times=numbers.times(), rng=dice)
    job = under_test.job(site, bag, believed=numbers.instruments(), habits=numbers.habits(), times=numbers.times())
    return job, world, truth


@pytest.mark.parametrize("name", BAGS)
def test_job__twenty_outlets_are_named_and_nothing_is_left_behind(name):
    """The world refuses what cannot be done (no such remote, wrong place, something left on an outlet)."""
    right = claimed = 0.0
    for seed in range(4):
        job, world, truth = drawn(20, 30, BAGS[name], seed)
        done = drive(job, world)
        right += sum(a == b for a, b in zip(done.answer, truth.nets, strict=True)) / 80
        claimed += sum(done.claimed) / 80
    assert right >= 0.95
    assert abs(claimed - right) < 0.05


def house(outlets, ends, **told):
    """A row of outlets, six seconds apart, the closet at the near end."""
    at = np.append(np.arange(1, outlets + 1), 0) * 6.0
    return Job(
        scene=Scene(outlets, ends),
        travel_s=np.abs(at[:, None] - at[None]),
        costs=assumed_costs(),
        sure=assumed_sure(),
        **constants(),
        **told,
    )


def played(job, own, *, most=400):
    """Carry acts out where every reading is as it should be; all acts done."""
    placed, tone, marks, done = {}, None, {}, []
    for _ in range(most):
        acts = job.next_acts()
        if not acts:
            return done
        readings = []
        for n, act in enumerate(acts):
            key = f"{len(done)} {n}"
            match act.kind:
                case "place remote":
                    placed[act.at] = act.what
                case "take off remote":
                    del placed[act.at]
                case "place tone":
                    tone = act.at
                case "take off tone":
                    tone = None
                case "clip":
                    readings += [
                        read.Remote(key=f"{key} {o}", outlet=o, end=act.at, hit=own[o] == act.at) for o in placed
                    ]
                case "touch":
                    readings.append(read.Tone(key=key, outlet=tone, end=act.at, level=2 * (own[tone] == act.at)))
                case "touch set":
                    readings.append(read.Bundle(key=key, outlet=tone, ends=act.what, level=2 * (own[tone] in act.what)))
                case "mark":
                    marks[act.at] = act.what
                case "read":
                    readings += [
                        read.Remote(key=f"{key} {e}", outlet=act.at, end=e, hit=own[act.at] == e) for e in marks
                    ]
        done += acts
        job.told(readings, position=job.state.standing.after(acts[-1], closet=len(own)).position, seconds=0.0)
    raise AssertionError("no end")


@pytest.mark.parametrize("kit", [Kit(remotes=3), Kit(tone=True), Kit(marks=9)])
def test_job__what_is_off_limits_is_never_proposed(kit):
    own = [0, 1, 2, 3, 4, 5]
    job = house(6, 9, kit=kit, off_limits={1, 4}, untouchable={2, 7})
    done = played(job, own)
    outlets = {a.at for a in done if a.kind not in ("clip", "touch", "touch set", "mark")}
    ends = {a.at for a in done if a.kind in ("clip", "touch", "mark")} | {
        e for a in done if a.kind == "touch set" for e in a.what
    }
    assert not outlets & {1, 4} and not ends & {2, 7}
    assert {job.unsure().get(o) for o in (1, 4)} == {"off limits"}
    assert all(job.answer()[o] == {own[o]} for o in (0, 3, 5)), "2 is on an end that nobody may touch"


def test_job__an_empty_bag_proposes_nothing():
    assert house(3, 3, kit=Kit()).next_acts() == ()


@pytest.mark.parametrize(("outlets", "ends"), [(0, 0), (0, 3), (2, 0)])
def test_job__nothing_to_trace(outlets, ends):
    job = house(outlets, ends, kit=Kit(remotes=2, tone=True))
    played(job, [None] * outlets, most=60)
    assert len(job.answer()) == outlets


def test_job__more_remotes_than_outlets():
    done = played(house(2, 4, kit=Kit(remotes=16)), [3, 0])
    assert sum(a.kind == "place remote" for a in done) == 2


def test_job__what_is_known_already_is_not_visited():
    own = [0, 1, 2, 3]
    known = [read.Remote(key=f"{o} {n}", outlet=o, end=o, hit=True) for o in (0, 2) for n in range(2)]
    done = played(house(4, 4, kit=Kit(remotes=4), readings=known), own)
    assert {a.at for a in done if a.kind == "place remote"} == {1, 3}


def test_job__no_walk_for_a_trifle():
    """One outlet all but settled at the far end of the house: what is missing is not worth going there."""
    nearly = [read.Remote(key="a", outlet=5, end=5, hit=True), read.Leaning(key="b", outlet=5, log_weight={6: 4.6})]
    known = [read.Remote(key=f"{o} {n}", outlet=o, end=o, hit=True) for o in range(5) for n in range(2)]
    job = house(6, 7, kit=Kit(tone=True), readings=[*known, *nearly])
    assert 0.5 < job.claimed()[5] < 0.99
    far = dataclasses.replace(job.state, travel_s=job.state.travel_s * 1000)
    job.state = far
    assert job.next_acts() == ()
    assert job.unsure() == {5: "not worth it"}


def test_job__symmetric_to_the_last_is_a_tie():
    """Two outlets that only ever read as joined ends of one unopened pair: nothing tells which is whose."""
    job = house(2, 2, kit=Kit())
    assert job.unsure() == {0: "tie", 1: "tie"}


def test_job__a_person_who_goes_another_way_is_followed():
    """Asked to place three remotes, somebody placed one elsewhere and clipped an end of his own choice."""
    own = [0, 1, 2, 3, 4, 5]
    job = house(6, 8, kit=Kit(remotes=3))
    assert len(job.next_acts()) == 3
    seen = [read.Remote(key="mine", outlet=5, end=5, hit=True)]
    job.stands(Standing(6, remotes={5: 0}), seen)
    done = played_on(job, own, {5: 0})
    assert all(job.answer()[o] == {o} for o in range(6))
    assert sum(a.kind == "place remote" and a.at == 5 for a in done) == 0
    assert sum(a.kind == "take off remote" and a.at == 5 for a in done) == 1, "a remote still in place is not forgotten"


def played_on(job, own, placed):
    placed, done = dict(placed), []
    for _ in range(200):
        acts = job.next_acts()
        if not acts:
            return done
        readings = []
        for n, act in enumerate(acts):
            if act.kind == "place remote":
                placed[act.at] = act.what
            elif act.kind == "take off remote":
                del placed[act.at]
            else:
                readings += [
                    read.Remote(key=f"{len(done)} {n} {o}", outlet=o, end=act.at, hit=own[o] == act.at) for o in placed
                ]
        done += acts
        job.told(readings, position=job.state.standing.after(acts[-1], closet=len(own)).position, seconds=0.0)
    raise AssertionError("no end")


def test_walk__tells_all_acts_seconds_and_outlets_and_changes_nothing():
    job = house(6, 8, kit=Kit(remotes=4))
    coming = job.next_walk()
    assert [a.kind for a in coming.acts[:4]] == ["place remote"] * 4
    assert set(coming.settles) == {a.at for a in coming.acts[:4]}
    # out along the row and back: the furthest of the four, twice, and four times getting into place (10 s)
    reach = max(coming.settles) + 1
    assert coming.walking_s == pytest.approx(2 * reach * 6.0 + 4 * 10)
    assert coming.acts[4] == Act("walk", 6)
    assert coming.seconds == pytest.approx(coming.walking_s + 4 * 15)
    assert job.next_acts() == coming.acts[:4], "looking ahead changes nothing"


def test_walk__with_marks_holds_the_whole_walk():
    coming = house(5, 7, kit=Kit(marks=7)).next_walk()
    assert [a.kind for a in coming.acts] == ["mark"] * 7 + ["read"] * 5
    assert coming.settles == (0, 1, 2, 3, 4)


def test_job__the_same_question_has_the_same_answer():
    first, second = (played(house(6, 8, kit=Kit(tone=True)), [5, 4, 3, 2, 1, 0]) for _ in range(2))
    assert first == second


def test_act__only_known_kinds():
    with pytest.raises(ValueError, match="no act"):
        Act("pull", 1)


def test_driver__acts_are_those_of_the_world():
    job, world, _ = drawn(4, 6, Bag(tone=True), 1)
    (act,) = job.next_acts()
    assert carry_out(world, act) == ()
    assert world.tone_at == act.at


def test_job__a_dead_mark_is_not_an_outlet_without_a_cable():
    """The mark on end 2 is never read: the outlet there reads empty, and is read again under a mark that was heard elsewhere."""
    own, dead = [0, 1, 2, 3, 4, 5], 2
    job = house(6, 9, kit=Kit(marks=9))
    marks, done, reads = {}, [], {}
    for _ in range(200):
        acts = job.next_acts()
        if not acts:
            break
        readings = []
        for n, act in enumerate(acts):
            if act.kind == "mark":
                marks = {e: m for e, m in marks.items() if m != act.what} | {act.at: act.what}
            else:
                reads[act.at] = reads.get(act.at, 0) + 1
                readings += [
                    read.Remote(
                        key=f"{len(done)} {n} {e}",
                        outlet=act.at,
                        end=e,
                        hit=own[act.at] == e and m != dead,
                        source=f"mark {m}",
                        when=float(len(done)),
                    )
                    for e, m in marks.items()
                ]
        done += acts
        job.told(readings, position=job.state.standing.after(acts[-1], closet=6).position, seconds=0.0)
    assert job.answer() == tuple(frozenset((o,)) for o in range(6))
    assert sum(reads.values()) < 6 + 8, "only the empty one is read again"

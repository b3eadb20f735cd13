"""Instruments that were not what they seemed: silent for an afternoon, stuck, dead; a house that bleeds more."""

import itertools
import math

import numpy as np
import pytest

from pullstring.trace import readings as read
from pullstring.trace.doubts import _in_one_house, doubted
from pullstring.trace.explain import explain, reasons_of, to_repeat
from pullstring.trace.posterior import posterior
from pullstring.trace.scene import Scene
from tests.trace.frozen import constants

LOUD = {"on": (0.03, 0.07, 0.90), "beside": (0.55, 0.38, 0.07), "far": (0.97, 0.025, 0.005)}


def walk(outlets, ends, *, silent=frozenset(), beside=LOUD["beside"], seed=1, none=frozenset()):
    """A tone on each outlet in turn, every end probed; outlet o is on end o, the tone set dead on some of them."""
    dice = np.random.default_rng(seed)
    where = Scene(outlets, ends, (tuple(range(ends)),))
    log = []
    for o in range(outlets):
        for e in range(ends):
            chances = LOUD["far"]
            if o not in none:
                chances = LOUD["on"] if e == o else beside if abs(e - o) == 1 else LOUD["far"]
            level = 0 if o in silent else int(dice.choice(3, p=chances))
            log.append(read.Tone(key=f"{o} {e}", outlet=o, end=e, level=level, source="tone set", when=float(o)))
    return where, log


def test_doubts__a_silent_afternoon_is_not_four_outlets_without_a_cable():
    where, log = walk(12, 14, silent={5, 6, 7, 8})
    plain, found = posterior(where, log, **constants()), doubted(where, log, **constants())
    assert all(plain.own[o, -1] > 0.2 for o in (5, 6, 7, 8)), "believed as it stands, silence says: no cable here"
    assert all(found.posterior.own[o, -1] < 0.06 for o in (5, 6, 7, 8))
    (doubt,) = found.doubts
    assert (doubt.source, doubt.what) == ("tone set", "silent")
    assert {r.outlet for r in doubt.readings} == {5, 6, 7, 8}
    assert doubt.chance > 0.95


def test_doubts__one_outlet_without_a_cable_is_believed_when_the_set_works_before_and_after():
    where, log = walk(8, 10, none={4})
    found = doubted(where, log, **constants())
    plain = posterior(where, log, **constants())
    assert found.posterior.own[4, -1] > 0.6 * plain.own[4, -1]
    assert not any(d.what == "silent" and d.chance > 0.9 for d in found.doubts)


def test_doubts__a_check_that_worked_ends_the_silence():
    """The same silence, but the set was tried on itself between and after: then the outlets are what is silent."""
    where, log = walk(12, 14, none={5, 6})
    checks = [read.Checked(key=f"c{w}", source="tone set", when=w, works=True) for w in (4.5, 5.5, 6.5)]
    without, with_checks = doubted(where, log, **constants()), doubted(where, [*log, *checks], **constants())
    for o in (5, 6):
        assert with_checks.posterior.own[o, -1] > without.posterior.own[o, -1]


def test_doubts__a_check_that_was_silent_takes_the_silence_for_nothing():
    where, log = walk(6, 8, silent={3})
    failed = read.Checked(key="c", source="tone set", when=3.5, works=False)
    without, with_check = doubted(where, log, **constants()), doubted(where, [*log, failed], **constants())
    assert with_check.posterior.own[3, -1] < without.posterior.own[3, -1]
    assert any(d.what == "silent" for d in with_check.doubts)


def remotes(where, hits, *, seed=2):
    """Remotes 0 and 1 on outlets in turn, every end clipped; `hits` makes of (remote, outlet, end) what is read."""
    return [
        read.Remote(key=f"{o} {e}", outlet=o, end=e, hit=hits(o % 2, o, e), source=f"remote {o % 2}", when=float(o))
        for o in range(where.outlets)
        for e in range(where.ends)
    ]


def test_doubts__a_stuck_remote_is_named_and_says_nothing():
    where = Scene(8, 8)
    log = remotes(where, lambda remote, o, e: remote == 1 or o == e)
    found = doubted(where, log, **constants())
    (doubt,) = [d for d in found.doubts if d.what == "stuck"]
    assert doubt.source == "remote 1" and doubt.chance > 0.99
    for o in (0, 2, 4, 6):
        assert found.posterior.own[o, o] > 0.99
    for o in (1, 3, 5, 7):
        assert found.posterior.own[o, :8].max() < 0.5, "four ends are left for four outlets"
        assert found.posterior.own[o, [1, 3, 5, 7]].sum() > 0.85


def test_doubts__a_dead_remote_is_named_and_its_outlets_keep_their_cable():
    where = Scene(8, 8)
    log = remotes(where, lambda remote, o, e: remote == 0 and o == e)
    found = doubted(where, log, **constants())
    assert [(d.source, d.what) for d in found.doubts] == [("remote 1", "dead")]
    assert all(found.posterior.own[o, -1] < 0.1 for o in (1, 3, 5, 7))


def test_doubts__a_house_that_bleeds_twice_as_much_is_recognised():
    where, log = walk(40, 40, beside=(0.10, 0.76, 0.14))
    assert [d.what for d in doubted(where, log, **constants()).doubts] == ["bleeds"]
    where, log = walk(40, 40)
    assert not doubted(where, log, **constants()).doubts


def test_doubts__sound_instruments_change_next_to_nothing():
    where, log = walk(10, 12)
    plain, found = posterior(where, log, **constants()), doubted(where, log, **constants())
    assert not found.doubts
    assert np.abs(plain.own - found.posterior.own).max() < 0.05


def test_doubts__order_does_not_matter():
    where, log = walk(9, 10, silent={2, 3, 4})
    dice = np.random.default_rng(0)
    shuffled = [log[i] for i in dice.permutation(len(log))]
    a, b = doubted(where, log, **constants()), doubted(where, shuffled, **constants())
    assert a.posterior.own == pytest.approx(b.posterior.own, abs=1e-6)


@pytest.mark.parametrize(("outlets", "ends"), [(0, 0), (0, 3), (3, 0)])
def test_doubts__nothing_there(outlets, ends):
    assert not doubted(Scene(outlets, ends), [], **constants()).doubts


def test_explain__for_and_against_by_weight():
    where = Scene(2, 3, ((0, 1, 2),))
    log = [
        read.Tone(key="a", outlet=0, end=0, level=2),
        read.Remote(key="b", outlet=0, end=1, hit=True),
        read.Remote(key="c", outlet=0, end=0, hit=True),
        read.Leaning(key="d", outlet=0, log_weight={2: 0.5}),
    ]
    told = explain(where, log, 0, **constants())
    weights = {r.reading.key: r.weight for r in told.reasons}
    assert told.net == frozenset((0,))
    assert weights["a"] > 0 and weights["c"] > 0 and weights["b"] < 0
    assert [r.reading.key for r in told.reasons][0] in ("b", "c"), "a number read weighs more than a tone"


def test_explain__each_listed_reading_moves_the_odds_its_way():
    """Taking a reading back lowers the chance when it spoke for the place, and raises it when it spoke against."""
    where = Scene(3, 4, ((0, 1, 2, 3),), ((1, 2),))
    log = [
        read.Tone(key="a", outlet=0, end=1, level=2),
        read.Tone(key="b", outlet=0, end=0, level=2),
        read.Bundle(key="c", outlet=0, ends=frozenset((2, 3)), level=1),
        read.Short(key="d", outlets=frozenset((0, 1)), end=1, closed=True),
        read.Remote(key="e", outlet=1, end=3, hit=True),
        read.Leaning(key="f", outlet=0, log_weight={1: 1.0}),
    ]
    told = explain(where, log, 0, **constants())
    assert len(told.reasons) >= 4
    for reason in told.reasons:
        rest = [r for r in log if r is not reason.reading]
        without = doubted(where, rest, **constants()).posterior.nets[0].get(told.net, 0.0)
        assert (without < told.chance) == (reason.weight > 0), reason


def test_explain__by_elimination_the_others_carry_it():
    where = Scene(3, 3)
    log = [read.Remote(key=f"{o}{n}", outlet=o, end=o, hit=True) for o in (0, 1) for n in (1, 2)]
    told = explain(where, log, 2, **constants())
    assert told.net == frozenset((2,)) and told.chance > 0.4
    assert not told.reasons and told.others > -0.5
    assert set(told.rests_on) == {0, 1}


def test_explain__the_reading_that_contradicts_all_others_is_to_be_repeated():
    where = Scene(4, 4)
    log = [read.Remote(key=f"{o}{e}", outlet=o, end=e, hit=o == e) for o in range(4) for e in range(4)]
    log.append(read.Remote(key="odd one", outlet=2, end=0, hit=True))
    found = doubted(where, log, **constants())
    assert [r.reading.key for r in to_repeat(found.table, found.posterior)][:1] in (["odd one"], ["20"])
    assert {r.reading.key for r in to_repeat(found.table, found.posterior)} <= {"odd one", "20", "22"}
    told = reasons_of(found.table, found.posterior, 2)
    assert told.net == frozenset((2,)) or told.net == frozenset((0,))


def test_explain__nothing_to_repeat_in_a_clean_log():
    where = Scene(4, 4)
    log = [read.Remote(key=f"{o}{e}", outlet=o, end=e, hit=o == e) for o in range(4) for e in range(4)]
    found = doubted(where, log, **constants())
    assert not to_repeat(found.table, found.posterior)
    with pytest.raises(IndexError, match="outlet 9"):
        explain(where, log, 9, **constants())


def test_explain__what_the_others_add_is_what_is_left_of_the_odds():
    where = Scene(2, 2)
    log = [read.Tone(key="a", outlet=0, end=0, level=2), read.Remote(key="b", outlet=1, end=1, hit=True)]
    told = explain(where, log, 0, **constants())
    (reason,) = told.reasons
    odds = told.chance / (1 - told.chance)
    assert told.others == pytest.approx(math.log(odds) - reason.weight)
    assert told.others > 0, "the other end is taken"


def states(stays):
    """All ways in which a tone set may have worked or been silent over some stays, with their chances."""
    for way in itertools.product((True, False), repeat=stays):
        chance, before = 1.0, True
        for works in way:
            begins, lasts = 0.01, 0.9
            silent = begins if before else lasts
            chance *= 1 - silent if works else silent
            before = works
        yield way, chance


@pytest.mark.parametrize("silent", [(), (1,), (1, 2), (0, 1, 2, 3), (3,)])
def test_doubts__agree_with_every_way_the_set_may_have_been_silent(silent):
    """Four stays: each of the 16 ways weighed by the evidence of the readings that then count; ours is an approximation of it."""
    where, log = walk(4, 5, silent=frozenset(silent), seed=3)
    beliefs, total = np.zeros((4, 6)), 0.0
    for way, chance in states(4):
        if any(not works and any(r.level for r in log if r.outlet == o) for o, works in enumerate(way)):
            continue
        odds = posterior(where, [r for r in log if way[r.outlet]], **constants())
        weight = chance * math.exp(odds.log_evidence)
        beliefs, total = beliefs + weight * odds.own, total + weight
    ours, _, _ = _in_one_house(where, log, **constants())
    assert ours.own == pytest.approx(beliefs / total, abs=0.02)


def test_explain__a_settled_outlet_still_shows_every_reading_that_settled_it():
    """Twelve outlets, each read on its own end four times: nothing else is believed, and all four still speak."""
    where = Scene(12, 12)
    log = [read.Remote(key=f"{o} {n}", outlet=o, end=o, hit=True) for o in range(12) for n in range(4)]
    told = explain(where, log, 5, **constants())
    assert told.chance > 0.999999
    assert sorted(r.reading.key for r in told.reasons) == [f"5 {n}" for n in range(4)]
    assert all(r.weight == pytest.approx(math.log(0.98 / 0.0005), abs=0.1) for r in told.reasons)


def test_explain__one_misread_silence_is_named_though_the_set_is_doubted_a_little():
    """A loud tone twice and a number say where outlet 1 is; one probe of that end heard nothing."""
    where, log = walk(6, 8, seed=4)
    log += [
        read.Remote(key="n", outlet=1, end=1, hit=True),
        read.Tone(key="again", outlet=1, end=1, level=2, source="tone set", when=10.0),
        read.Tone(key="other day", outlet=3, end=3, level=2, source="tone set", when=11.0),
        read.Tone(key="misread", outlet=1, end=1, level=0, source="tone set", when=12.0),
    ]
    found = doubted(where, log, **constants())
    assert "misread" in [r.reading.key for r in to_repeat(found.table, found.posterior, found.doubts)]

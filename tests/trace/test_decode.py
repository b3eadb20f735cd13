"""Ohms of a whole walk decoded: runs, chains, bridges, rings, strangers, and readings that fit two."""

import itertools
import math

import hypothesis
import hypothesis.strategies as some
import pytest

from pullstring.copper.readings import Cause
from pullstring.trace.assumed import Prior
from pullstring.trace.decode import Kind, before
from pullstring.trace.decode import decode as decoded
from pullstring.trace.decode_split import Act, rivals, split, to_lift
from pullstring.trace.ohms_on_net import ASSUMED, fit, foreign
from pullstring.trace.readings import Ohms
from pullstring.trace.scene import BadScene

PRIOR = Prior(no_cable=0.08, by_count=(0.18, 1.0, 0.20, 0.06), joined=0.45)
EIGHT = {1: 1200.0, 3: 2200.0, 14: 3900.0, 15: 4700.0, 17: 6800.0, 8: 12000.0, 9: 18000.0, 20: 33000.0}


def read(end, ohm, *, placed=EIGHT, key="", opened=(), baseline=None, off=0.006, line=(0.0, 8.0)):
    return Ohms(
        key=key or f"at{end}", end=end, ohm=ohm, placed=placed, off=off, line_ohm=line, baseline=baseline,
        opened=frozenset(opened),
    )  # fmt: skip


def beside(*ohms):
    return 1 / sum(1 / o for o in ohms)


def decode(readings, *, unread=30, **more):
    """Thirty ends of the closet are left unread, unless a test says otherwise."""
    return decoded(readings, prior=PRIOR, unread=unread, **more)


def best(found, end):
    way = found.of(end).best
    return sorted(way.outlets), sorted(way.ends), way.kind


def test_runs__each_end_its_own():
    found = decode([read(10, 1203.0), read(11, 2209.0), read(25, None)])
    assert best(found, 10) == ([1], [10], Kind.RUN)
    assert best(found, 11) == ([3], [11], Kind.RUN)
    assert best(found, 25) == ([], [25], Kind.BARE)
    assert found.of(10).best.chance > 0.999 and found.whole
    assert found.outlets[20][0][0] == frozenset()


def test_bridge__two_ends_of_a_block_read_the_parallel():
    """3.9 k beside 4.7 k is 2131.4 ohm at both ends while the clip is on; 2.2 k lies 3.2 % away."""
    found = decode([read(13, 2134.0), read(14, 2135.0), read(11, 2208.0)], blocks=[(13, 14)])
    assert best(found, 13) == best(found, 14) == ([14, 15], [13, 14], Kind.BRIDGE)
    assert best(found, 11) == ([3], [11], Kind.RUN)
    assert to_lift(found.of(13).best) == ((13, 14),)
    (a, b, chance) = found.joints[0]
    assert (a, b) == (13, 14) and chance > 0.99


def test_bridge__after_lifting_each_reads_its_own():
    """The older readings were of both ends together; since the block was opened only the new ones count."""
    old = [read(13, 2134.0), read(14, 2135.0)]
    new = [read(13, 3905.0, key="n13", opened=[0]), read(14, 4703.0, key="n14", opened=[0])]
    found = decode([*old, *new], blocks=[(13, 14)])
    assert best(found, 13) == ([14], [13], Kind.RUN)
    assert best(found, 14) == ([15], [14], Kind.RUN)
    assert to_lift(found.of(13).best) == ()


def test_chain__one_end_reads_the_parallel():
    """1.2 k beside 33 k: 1157.9 ohm at one end alone."""
    found = decode([read(12, beside(1200, 33000) + 3), read(40, None)])
    assert best(found, 12) == ([1, 20], [12], Kind.CHAIN)


def test_ring__two_ends_of_no_block_read_the_same_three():
    placed = {11: 4300.0, 12: 8200.0, 13: 16000.0, 1: 33000.0}
    ohm = beside(4300, 8200, 16000) + 4
    found = decode([read(12, ohm, placed=placed), read(40, ohm, placed=placed), read(10, 33010.0, placed=placed)])  # fmt: skip
    assert best(found, 12) == best(found, 40) == ([11, 12, 13], [12, 40], Kind.RING)
    assert to_lift(found.of(12).best) == ()


def test_known_bridge__is_one_end_with_two_readings():
    known = decode([read(13, 2134.0), read(14, 2135.0)], joined=[frozenset({13, 14})])
    assert known.of(13).best.outlets == {14, 15} and known.of(13).best.ends == {13, 14}
    assert known.of(14).best == known.of(13).best


def test_one_clip_on_two_ends__is_a_ring_or_something_else_never_two_runs():
    found = decode([read(1, 1203.0), read(2, 1203.0)])
    for way in found.of(1).ways:
        if way.kind is Kind.RUN:
            assert way.chance < 0.01
    assert best(found, 1) == ([1], [1, 2], Kind.RING)
    apart = decode([read(1, 1203.0), read(2, 1203.0)], ring=0.0)
    one, two = apart.of(1).best, apart.of(2).best
    assert {w.kind for w in apart.of(1).ways} == {Kind.RUN, Kind.SOMETHING_ELSE}
    assert one.chance == pytest.approx(0.5, abs=0.01) and two.chance == pytest.approx(0.5, abs=0.01)


def test_something_else__stop_it_may_be_an_alarm_loop():
    """47 k is more than any clip alone: an end-of-line resistor of an alarm loop has 1 to 100 k."""
    found = decode([read(26, 47000.0), read(10, 1203.0)]).of(26)
    assert found.best.kind is Kind.SOMETHING_ELSE and found.best.chance > 0.99 and found.stop
    assert not decode([read(26, 3.0e6)]).of(26).stop


BEFORE = {
    None: (),
    5.0: (Cause.SHORT_IN_THE_WAY,),
    300.0: (Cause.NOT_COPPER, Cause.STOP_ASK_COMPANY),
    4700.0: (Cause.RESISTOR, Cause.STOP_ASK_COMPANY),
    2e6: (Cause.OPEN_OR_LEAK,),
}


@pytest.mark.parametrize("ohm", BEFORE)
def test_before__what_an_end_read_first(ohm):
    assert before(ohm=ohm, line_ohm=(0.0, 20.0)) == BEFORE[ohm]


def test_baseline__a_known_stranger_is_taken_out():
    """A bell of 15 k was read before; 2.2 k beside it reads 1918.6, which fits nothing without the baseline."""
    ohm = beside(2200, 15000) + 3
    assert best(decode([read(9, ohm, baseline=15000.0)]), 9) == ([3], [9], Kind.RUN)
    assert decode([read(9, ohm)]).of(9).best.kind is Kind.SOMETHING_ELSE
    assert best(decode([read(9, 15010.0, baseline=15000.0)]), 9)[2] is Kind.BARE


def test_two_fit__is_said_and_one_clip_settles_it():
    """2.2 k alone and 3.9 k beside 5.1 k (2210 ohm) read alike; with 5.1 k gone they read 2.2 k or 3.9 k."""
    placed = {3: 2200.0, 14: 3900.0, 20: 5100.0}
    reading = read(7, 2209.0, placed=placed)
    found = decode([reading], unread=1).of(7)
    assert {w.outlets for w in rivals(found)} == {frozenset({3}), frozenset({14, 20})}
    act = split(found, reading, take_off_s={3: 80.0, 14: 60.0, 20: 20.0}.get)
    assert (act.act, act.outlet, act.seconds) == (Act.TAKE_OFF, 20, 20.0)
    assert {a.way.outlets: a.ohm for a in act.after} == {frozenset({3}): 2200.0, frozenset({14, 20}): 3900.0}
    off = {3: 2200.0, 14: 3900.0}
    again = decode([reading, read(7, 3903.0, placed=off, key="again")])
    assert again.of(7).best.outlets == {14, 20} and again.of(7).best.chance > 0.99


def test_two_fit__at_another_end_the_same_clip_decides():
    """The 2.2 k is seen at end 8, so end 7 is the pair: no act is wanted."""
    placed = {3: 2200.0, 14: 3900.0, 20: 5100.0}
    reading = read(7, 2209.0, placed=placed)
    found = decode([reading, read(8, 2203.0, placed=placed)], ring=0.0)
    chances = {(w.outlets, found.of(8).best.outlets) for w in found.of(7).ways}
    assert chances and found.of(7).best.outlets != found.of(8).best.outlets
    assert split(decode([read(7, 1203.0)]).of(7), read(7, 1203.0), take_off_s=lambda _: 1.0) is None


def test_split__lifting_in_the_closet_is_cheaper_than_a_walk():
    placed = {3: 2200.0, 14: 3900.0, 20: 5100.0}
    reading, other = read(7, 2209.0, placed=placed), read(8, 2209.0, placed=placed)
    found = decode([reading, other], blocks=[(7, 8)], joined=[frozenset({7, 8})]).of(7)
    walk = split(found, reading, take_off_s=lambda _: 60.0)
    assert walk.act is Act.TAKE_OFF and walk.outlet in placed
    closet = split(found, reading, take_off_s=lambda _: 60.0, lift_s=10.0)
    assert (closet.act, closet.ends, closet.seconds) == (Act.LIFT, {7, 8}, 10.0)
    pair = next(a for a in closet.after if a.way.outlets == {14, 20})
    assert {pair.ohm, *pair.may_ohm} == {3900.0, 5100.0}


def test_split__nothing_parts_equal_resistors():
    """Two of 2.2 k: whichever is taken off, the other case still reads 2.2 k or open; one of them always parts. With a
    baseline that swamps them (1 ohm) nothing does."""
    placed = {1: 2200.0, 2: 2200.0}
    reading = read(7, 2203.0, placed=placed)
    assert split(decode([reading]).of(7), reading, take_off_s=float).outlet == 1
    swamped = read(7, 4.0, placed=placed, baseline=1.0)
    assert split(decode([swamped]).of(7), swamped, take_off_s=float) is None


def test_faults__all_at_once():
    with pytest.raises(BadScene) as caught:
        decode([read(1, -5.0, placed={1: -2.0}, off=0.0, line=(9.0, 3.0))])
    assert len(caught.value.faults) == 4


def test_nothing_read__nothing_said():
    found = decode([])
    assert found.ends == () and found.outlets == {} and found.whole


def counted(readings, ends, placed):
    """Every way to give each outlet an end or none, every way to call an end a stranger's: chances by plain sums.

    An outlet that shows nowhere has the weight of no cable (0.08), and of a clip without contact on an end that read open.
    """
    totals = {e: {} for e in ends}
    whole = 0.0
    for own in itertools.product([None, *ends], repeat=len(placed)):
        sets = {e: frozenset(o for o, at in zip(placed, own, strict=True) if at == e) for e in ends}
        for strange in itertools.product([False, True], repeat=len(ends)):
            odd = dict(zip(ends, strange, strict=True))
            if any(odd[e] and sets[e] or len(sets[e]) > 3 for e in ends):
                continue
            chance = (0.08 + 0.01 / 0.18 * sum(r.ohm is None for r in readings)) ** own.count(None)
            for r in readings:
                chance *= PRIOR.by_count[len(sets[r.end])]
                sound = (1 - ASSUMED.something_else) * fit(r, [r.placed[o] for o in sorted(sets[r.end])])
                chance *= foreign(r) if odd[r.end] else sound
            whole += chance
            for e in ends:
                kind = "else" if odd[e] else sets[e]
                totals[e][kind] = totals[e].get(kind, 0.0) + chance
    return {e: {k: c / whole for k, c in found.items()} for e, found in totals.items()}


@hypothesis.settings(max_examples=40, deadline=None)
@hypothesis.given(
    some.lists(some.sampled_from([1200, 2200, 3900, 1760, 2133, 1163, 786, 900, 5600, None]), min_size=3, max_size=3)
)
def test_odds__equal_plain_counting_of_everything(ohms):
    """Without joints: three ends, three outlets and values that are easily mixed up (2.2 k and 3.9 k beside 4.9 k)."""
    placed = {0: 1200.0, 1: 2200.0, 2: 3900.0}
    readings = [read(e, ohm, placed=placed, off=0.02) for e, ohm in enumerate(ohms)]
    found = decode(readings, ring=0.0, unread=0)
    plain = counted(readings, [0, 1, 2], list(placed))
    for end in found.ends:
        for way in end.ways:
            key = "else" if way.kind is Kind.SOMETHING_ELSE else way.outlets
            assert way.chance == pytest.approx(plain[end.end].get(key, 0.0), abs=2e-4)


def test_joints__weights_by_hand():
    """Two ends of a block, one outlet, both read 1.2 k. Joined: 0.45 times the ways to share one outlet over two ends
    (2 * 1 * 0.18); else one end has it (1) and the other is a stranger's (0.18 times its chance)."""
    placed = {0: 1200.0}
    readings = [read(0, 1203.0, placed=placed), read(1, 1203.0, placed=placed)]
    found = decode(readings, blocks=[(0, 1)], unread=0)
    good, odd = 0.99 * fit(readings[0], [1200.0]), foreign(readings[0])
    joined = 0.45 * 2 * 0.18 * good**2 / 0.08
    single, both = 0.18 * good * odd / 0.08, (0.18 * odd) ** 2
    assert found.of(0).best.chance == pytest.approx(joined / (joined + 2 * single + both))


def test_ring__weights_by_hand():
    """Two ends of no block read the one 1.2 k. A ring is one cable, so its outlet has the weight of one on an end (1) times that of
    a ring (0.02) and each end is read; else one end has it and the other is a stranger's."""
    placed = {0: 1200.0}
    readings = [read(0, 1203.0, placed=placed), read(1, 1203.0, placed=placed)]
    found = decode(readings, ring=0.02, unread=0)
    good, odd = 0.99 * fit(readings[0], [1200.0]), foreign(readings[0])
    joined = 0.02 * good**2 / 0.08
    single, both = 0.18 * good * odd / 0.08, (0.18 * odd) ** 2
    shares = {w.kind: w.chance for w in found.of(0).ways}
    whole = joined + 2 * single + both
    assert 1 - shares[Kind.RING] == pytest.approx((2 * single + both) / whole, rel=1e-6)


def test_opened_block__still_alike_means_another_joint():
    """The clip was lifted and both still read 1.2 k: no bridge of the block, but joined where nobody looked."""
    new = [read(13, 1203.0, opened=[0]), read(14, 1203.0, opened=[0])]
    assert best(decode(new, blocks=[(13, 14)]), 13) == ([1], [13, 14], Kind.RING)


def test_order_of_readings__does_not_matter():
    readings = [read(13, 2134.0), read(14, 2135.0), read(11, 2208.0), read(10, 1203.0), read(25, None)]
    one = decode(readings, blocks=[(13, 14)])
    other = decode(readings[::-1], blocks=[(13, 14)])
    assert [(e.end, e.best.outlets) for e in one.ends] == [(e.end, e.best.outlets) for e in other.ends]
    assert all(
        math.isclose(a.best.chance, b.best.chance, rel_tol=1e-9) for a, b in zip(one.ends, other.ends, strict=True)
    )

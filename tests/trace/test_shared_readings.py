"""Readings over several outlets: resistors and plain shorts, exactly and by messages."""

import itertools

import numpy as np
import pytest

from pullstring.trace import readings as read
from pullstring.trace.ohms_on_net import log_likelihood
from pullstring.trace.posterior import odds_of, posterior
from pullstring.trace.scene import Scene
from pullstring.trace.table import Table
from tests.trace.counted import KAPPA, NU, W, parted
from tests.trace.frozen import constants

PARTS = dict(enumerate([1200.0, 2200.0, 3900.0, 4700.0, 6800.0, 12000.0, 18000.0, 33000.0]))
METER = {"off": 0.006, "line_ohm": (1.0, 8.0)}


def ohms(end, ohm, key=None, placed=PARTS, **told):
    return read.Ohms(key=key or f"E{end}", end=end, ohm=ohm, placed=placed, **METER, **told)


def test_ohms__eight_parts_and_a_clip_between_two_rows():
    """1.2k and 2.2k alone; 3.9k beside 4.7k is 2131.4 ohm on both clipped ends, until the clip is lifted."""
    where = Scene(8, 9, (), ((2, 3),))
    alone = [ohms(0, 1209.3), ohms(1, 2210.3), *(ohms(n, PARTS[n] + 4) for n in range(4, 8)), ohms(8, None)]
    clipped = [ohms(2, 2131.4), ohms(3, 2131.4)]
    odds = posterior(where, [*alone, *clipped], **constants())
    assert odds.joined[2, 3] > 0.99
    for outlet in (2, 3):
        assert odds.nets[outlet][frozenset((2, 3))] > 0.98
        assert odds.own[outlet, 2] == pytest.approx(0.5, abs=0.02), "which of the two is whose is not known yet"
    lifted = [
        ohms(2, 3866.7, key="E2 lifted", opened=frozenset((0,))),
        ohms(3, 4738.8, key="E3 lifted", opened=frozenset((0,))),
    ]
    after = posterior(where, [*alone, *clipped, *lifted], **constants())
    assert after.own[2, 2] > 0.99 and after.own[3, 3] > 0.99
    assert after.joined[2, 3] > 0.99, "as wired they were joined; the older readings keep their meaning"


def test_ohms__a_chain_reads_the_parallel_on_one_end():
    odds = posterior(
        Scene(8, 8), [ohms(0, 776.0), *(ohms(n, PARTS[n]) for n in range(2, 8)), ohms(1, None)], **constants()
    )
    assert odds.own[0, 0] > 0.98 and odds.own[1, 0] > 0.98, "1.2k beside 2.2k is 776 ohm"


def test_ohms__by_messages_the_same_is_found():
    where = Scene(8, 9, (), ((2, 3),))
    log = [ohms(n, PARTS[n] + 3) for n in (0, 1, 4, 5, 6, 7)] + [ohms(2, 2131.4), ohms(3, 2131.4), ohms(8, None)]
    table = Table(where, **constants())
    for reading in log:
        table.add(reading)
    odds, _ = odds_of(table, up_to=0)
    assert odds.how == "propagated"
    assert all(odds.own[n, n] > 0.97 for n in (0, 1, 4, 5, 6, 7))
    assert all(sum(c for net, c in odds.nets[o].items() if net & {2, 3}) > 0.97 for o in (2, 3))


def test_shared__equals_plain_counting_with_ohms_and_shorts():
    """Three outlets, three ends, a block of two: every state weighed by hand."""
    where = Scene(3, 3, (), ((0, 1),))
    placed = {0: 1000.0, 1: 2200.0, 2: 4700.0}
    log = [
        ohms(0, 1003.0, placed=placed),
        ohms(1, 690.0, placed=placed),
        ohms(0, 2203.0, key="after", placed=placed, opened=frozenset((0,))),
        read.Short(key="s", outlets=frozenset((1, 2)), end=2, closed=True),
    ]
    odds = posterior(where, log, **constants())
    weights = np.zeros((3, 4))
    for parts in parted([0, 1]):
        group = {2: {2}} | {e: set(g) for g in parts for e in g}
        for own in itertools.product([0, 1, 2, None], repeat=3):
            counts = [own.count(e) for e in range(3)]
            chance = KAPPA ** (2 - len(parts)) * NU ** own.count(None) * np.prod([W[c] for c in counts])
            for r in log:
                net = {r.end} if 0 in r.opened and r.end < 2 else group[r.end]
                there = frozenset(o for o, e in enumerate(own) if e in net)
                if isinstance(r, read.Short):
                    chance *= 0.985 if there & r.outlets else 0.01
                else:
                    chance *= np.exp(log_likelihood(r, there & frozenset(placed)))
            for o, e in enumerate(own):
                weights[o, 3 if e is None else e] += chance
    assert odds.own == pytest.approx(weights / weights.sum(axis=1, keepdims=True), abs=1e-9)


def test_shorts__four_trips_name_sixteen_outlets():
    """A short on every outlet whose number has bit k, read at all ends: what is closed spells the number."""
    where = Scene(16, 16)
    log = [
        read.Short(
            key=f"{k} {e} {again}",
            outlets=frozenset(o for o in range(1, 16) if o >> k & 1),
            end=e,
            closed=bool(e >> k & 1),
        )
        for k in range(4)
        for e in range(16)
        for again in range(2)
    ]
    odds = posterior(where, log, **constants())
    assert all(odds.own[o, o] > 0.9 for o in range(1, 16))

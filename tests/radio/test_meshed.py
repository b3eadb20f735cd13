"""Ways over the air: against every way there is, and one hop worked out in the head from the published tables."""

from __future__ import annotations

import itertools
import math
import random

import pytest

from pullstring.model.answers import Interval
from pullstring.radio.meshed import MOST_HOPS, Hop, hop_between, over_air
from pullstring.radio.room_rates import Station


def station(name: str, *, width_mhz: int = 20, streams: int = 1, standard: str = "HT") -> Station:
    return Station(name, {"5 GHz": 20.0}, 3.0, {"5 GHz": width_mhz}, streams, standard)


def at(low: float, high: float) -> Interval:
    return Interval(low, high, "dBm")


def hop(low_mbps: float, high_mbps: float, level_dbm: float = -60.0) -> Hop:
    return Hop(at(level_dbm, level_dbm), Interval(low_mbps, high_mbps, "Mbit/s"))


def test_hop__goes_by_its_weaker_direction_and_the_older_end():
    """IEEE 802.11n, 20 MHz, one stream: 65 Mbit/s from -64 dBm, 6.5 from -82, nothing below."""
    wide = station("A", width_mhz=80, streams=2, standard="HE")
    found = hop_between(wide, station("B"), "5 GHz", there_dbm=at(-50, -50), back_dbm=at(-64, -64))
    assert (found.level.low, found.rate.low) == (-64, 65.0)
    weaker = hop_between(wide, station("B"), "5 GHz", there_dbm=at(-50, -40), back_dbm=at(-90, -64))
    assert weaker.rate.low == 0.0 and weaker.rate.high == 65.0
    same = hop_between(station("B"), wide, "5 GHz", there_dbm=at(-64, -64), back_dbm=at(-50, -50))
    assert same == found


def test_way__two_good_hops_beat_a_bad_one_and_not_a_fair_one():
    """1/(1/300 + 1/300) = 150: more than 100, less than 200."""
    two = {("A", "M", "5 GHz"): hop(300, 300, -50.0), ("M", "B", "5 GHz"): hop(300, 300, -55.0)}
    for direct, way, shared in ((100, ("A", "M", "B"), 150.0), (200, ("A", "B"), 200.0)):
        _, found = over_air(["M", "B"], {**two, ("B", "A", "5 GHz"): hop(direct, direct, -70.0)}, fed=["A"])
        assert found.way == way and found.shared.low == found.shared.high == pytest.approx(shared)
        assert found.alone.low == max(direct, 300.0 if len(way) == 3 else 0.0)
        assert found.level == at(-55.0, -55.0) if len(way) == 3 else at(-70.0, -70.0)


def test_way__another_band_counts_alone():
    found = over_air(["B"], {("A", "B", "5 GHz"): hop(0, 40), ("A", "B", "2.4 GHz"): hop(20, 30)}, fed=["A"])
    assert [(f.band, f.shared.low) for f in found] == [("2.4 GHz", 20)]


def test_way__one_that_is_sure_and_slow_before_one_that_may_carry_nothing():
    """Three hops of the slowest step against one that may carry nothing or 5 Gbit/s."""
    slow = {(a, b, "5 GHz"): hop(6.5, 6.5) for a, b in itertools.pairwise("AXYB")}
    found = over_air(["X", "Y", "B"], {**slow, ("A", "B", "5 GHz"): hop(0, 5000)}, fed=["A"])
    assert found[-1].way == ("A", "X", "Y", "B") and found[-1].shared.low > 0


def test_nothing_reaches__no_way_and_no_rate():
    [found] = over_air(["B"], {("A", "B", "5 GHz"): hop(0, 0)}, fed=["A"])
    assert (found.way, found.level, found.shared.high) == ((), None, 0.0)
    assert over_air(["A"], {}, fed=["A"]) == ()


@pytest.mark.parametrize("seed", range(40))
def test_ways__the_best_of_all_there_are(seed):
    """Every simple way of up to three hops from any with a wire; the sum of 1/rate is the least there is."""
    dice = random.Random(seed)
    names = [f"S{n}" for n in range(6)]
    hops = {
        (a, b, "5 GHz"): hop(rate := dice.choice([0, 6.5, 13, 65, 130, 300, 600]), rate)
        for a, b in itertools.combinations(names, 2)
        if dice.random() < 0.6
    }
    fed = dice.sample(names, dice.choice([1, 2]))
    rate = {(a, b): h.rate.low for (x, y, _), h in hops.items() for a, b in ((x, y), (y, x))}
    found = {f.name: f for f in over_air(names, hops, fed=fed)}
    assert set(found) == set(names) - set(fed)
    for name in found:
        between = [n for n in names if n not in fed and n != name]
        ways = [
            (root, *middle, name)
            for root in fed
            for count in range(MOST_HOPS)
            for middle in itertools.permutations(between, count)
        ]
        spent = [sum(1 / r if (r := rate.get(p, 0)) else math.inf for p in itertools.pairwise(way)) for way in ways]
        best = min(spent)
        if math.isinf(best):
            assert found[name].way == ()
        else:
            assert sum(1 / rate[p] for p in itertools.pairwise(found[name].way)) == pytest.approx(best)
            assert found[name].shared.high == pytest.approx(1 / best)

"""Who shares the air with whom, hops, other uplinks and roaming, on cases worked out in the head."""

import csv
import math
import pathlib

import hypothesis
import pytest
from hypothesis import strategies as st

from pullstring.model.answers import Interval
from pullstring.radio import sharing
from pullstring.radio.air import Channel
from pullstring.radio.sharing import OnAir

FILE = pathlib.Path(__file__).parents[1] / "authorities" / "radio" / "radio_checks.csv"
ROWS = {row["id"]: row for row in csv.DictReader(FILE.read_text("utf-8").splitlines())}


@pytest.mark.parametrize("number", [209, 210, 211])
def test_hops__printed_rows(number):
    row = ROWS[f"RC{number}"]
    share = sharing.hop_share(hop_count=int(row["inputs"].partition("=")[2]))
    assert share.high == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))


def test_hops__pessimistic_rule():
    """1/2^(n-1): 1, 1/2, 1/4, 1/8."""
    assert [sharing.hop_share(hop_count=n).low for n in (1, 2, 3, 4)] == [1.0, 0.5, 0.25, 0.125]


def test_mesh__equal_hops_on_one_radio():
    """300 over three hops: each frame is sent three times, 100 at best; a quarter at worst."""
    found = sharing.mesh_rate(hops_mbps=[300.0, 300.0, 300.0], own_backhaul=False)
    assert (found.low, found.high) == (pytest.approx(75.0), pytest.approx(100.0))


def test_mesh__unequal_hops_add_their_airtime():
    """A megabit takes 1/300 s on the first hop and 1/100 s on the second: 75 a second."""
    found = sharing.mesh_rate(hops_mbps=[300.0, 100.0], own_backhaul=False)
    assert found.high == pytest.approx(75.0) and found.low == pytest.approx(50.0)


def test_mesh__own_backhaul_leaves_the_slowest_hop():
    assert sharing.mesh_rate(hops_mbps=[300.0, 100.0], own_backhaul=True) == Interval.exact(100.0, "Mbit/s")


def test_mesh__a_dead_hop_is_no_way():
    assert sharing.mesh_rate(hops_mbps=[300.0, 0.0], own_backhaul=False) == Interval.exact(0.0, "Mbit/s")


@hypothesis.given(st.lists(st.floats(1.0, 2000.0), min_size=1, max_size=6), st.booleans())
def test_mesh__one_more_hop_never_carries_more(hops, own_backhaul):
    shorter = sharing.mesh_rate(hops_mbps=hops, own_backhaul=own_backhaul)
    longer = sharing.mesh_rate(hops_mbps=[*hops, 2000.0], own_backhaul=own_backhaul)
    assert longer.high <= shorter.high + 1e-9 and longer.low <= shorter.low + 1e-9


def test_weak_hops__each_hop_must_meet_the_rate_alone():
    assert sharing.weak_hops(hops_mbps=[300.0, 40.0, 50.0], needed_mbps=50.0) == (2,)


def test_airtime__the_slow_device_takes_more():
    """5 Mbit/s of 50 to 60 is 1/12 to 1/10; of 10 it is half."""
    quick = sharing.airtime_share(needed_mbps=5.0, goodput_mbps=Interval(50.0, 60.0, "Mbit/s"))
    slow = sharing.airtime_share(needed_mbps=5.0, goodput_mbps=Interval.exact(10.0, "Mbit/s"))
    assert (quick.low, quick.high) == (pytest.approx(1 / 12), pytest.approx(0.1))
    assert slow.low == slow.high == 0.5


def test_airtime__where_nothing_arrives_no_share_is_enough():
    assert sharing.airtime_share(needed_mbps=1.0, goodput_mbps=Interval.exact(0.0, "Mbit/s")).low == math.inf


def test_hears__the_same_for_each_20_mhz():
    """-82 dBm in 20 MHz is -76 dBm over 80 MHz (6.02 dB more)."""
    assert sharing.hears(level_dbm=-82.0, width_mhz=20) and not sharing.hears(level_dbm=-82.1, width_mhz=20)
    assert sharing.hears(level_dbm=-75.9, width_mhz=80) and not sharing.hears(level_dbm=-76.1, width_mhz=80)
    assert not sharing.hears(level_dbm=math.nan, width_mhz=20)


def radio(name, channel, share=0.2, foreign=False, band="2.4 GHz"):
    return OnAir(name, Channel(band, (channel,)), share, foreign)


def both(*pairs):
    return {key: level for a, b, level in pairs for key in ((a, b), (b, a))}


def test_turns__a_row_of_three_where_the_outer_two_do_not_hear_each_other():
    found = sharing.taking_turns(
        [radio("A", 6, 0.3), radio("B", 6, 0.4), radio("C", 6, 0.5)], both(("A", "B", -70.0), ("B", "C", -80.0))
    )
    assert [one.waits_for for one in found] == [("B",), ("A", "C"), ("B",)]
    assert [one.taken_share for one in found] == pytest.approx([0.7, 1.2, 0.9])
    assert [one.fits for one in found] == [True, False, True]
    assert [one.fair_share for one in found] == pytest.approx([1 / 2, 1 / 3, 1 / 2])
    assert found[1].left_share == pytest.approx(0.2)
    assert sharing.groups_of_turns(found) == (("A", "B", "C"),)


def test_turns__another_channel_or_too_faint_costs_nothing():
    found = sharing.taking_turns(
        [radio("A", 1), radio("B", 6), radio("C", 1)], both(("A", "B", -50.0), ("A", "C", -83.0))
    )
    assert all(one.waits_for == () and one.left_share == 1.0 for one in found)
    assert sharing.groups_of_turns(found) == ()


def test_turns__a_neighbour_counts_and_is_not_answered_for():
    (found,) = sharing.taking_turns(
        [radio("A", 6), radio("next door", 6, 0.6, foreign=True)], {("next door", "A"): -75.0}
    )
    assert found.waits_for == ("next door",) and found.taken_share == pytest.approx(0.8)


def test_turns__partly_across_is_noise_and_no_turn():
    (found,) = sharing.taking_turns(
        [radio("A", 6), radio("next door", 8, 0.6, foreign=True)], {("next door", "A"): -75.0}
    )
    assert found.waits_for == () and found.noise_from == ("next door",)


def test_turns__one_that_hears_is_enough():
    """The one that does not hear talks over the other, so both lose the air."""
    found = sharing.taking_turns([radio("A", 6), radio("B", 6)], {("A", "B"): -80.0, ("B", "A"): -90.0})
    assert [one.waits_for for one in found] == [("B",), ("A",)]


def test_uplinks__have_a_spread_and_say_that_they_are_practice():
    for one in sharing.uplinks().values():
        assert one.rate.low < one.rate.high and "common practice" in one.provenance
    assert sharing.uplinks()["power line"].rate.high < sharing.uplinks()["coax"].rate.low


def test_roaming__second_access_point_at_least_75():
    assert sharing.second_for_roaming({"A": -50.0, "B": -75.0, "C": -80.0}) == ("B", True)
    assert sharing.second_for_roaming({"A": -50.0, "B": -75.1}) == ("B", False)
    assert sharing.second_for_roaming({"A": -50.0, "B": math.nan}) == (None, False)
    assert sharing.second_for_roaming({"B": -60.0, "A": -60.0}) == ("B", True)

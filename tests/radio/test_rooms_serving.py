"""What hangs on each access point and how much of its air that takes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullstring.radio.needs import Part, Wanted
from pullstring.radio.needs_met import need_answer
from pullstring.radio.room_rates import Station, devices, rates
from pullstring.radio.rooms import RoomSamples, room_answer
from pullstring.radio.rooms_assumed import assumed_rules
from pullstring.radio.serving import hanging, radio_name, with_others
from pullstring.radio.sharing import Turns

RULES = assumed_rules()
STATIONS = {n: Station(n, {"5 GHz": 23.0}, 3.0, {"5 GHz": 20}, 2, "HE") for n in ("A", "B")}


def part(*, down=10.0, up=0.0, count=1, busy=1.0):
    return Part("call", -70.0, ("5 GHz",), down, up, "phone", count, busy)


def wanted(need, *parts):
    return Wanted(need, None, None, "", 1, parts, None, ())


def house(levels, wants):
    """Answers of a house: `levels` by room [draws, access points, points], `wants` by room."""
    sampled = {r: RoomSamples(r, ("A", "B"), {"5 GHz": np.asarray(v, dtype=float)}, 0.0) for r, v in levels.items()}
    answers = {r: room_answer(s, edges={}, rules=RULES, barred=None) for r, s in sampled.items()}
    needs = [
        need_answer(w, sampled[r], stations=STATIONS, rules=RULES, barred=answers[r].why_not_known)
        for r, all_of in wants.items()
        for w in all_of
    ]
    found = hanging(needs, samples=sampled, answers=answers, stations=STATIONS, rules=RULES)
    return {(h.sender, h.band): h for h in found}, answers, needs


NEAR_A = [[[-50.0], [-90.0]]]
NEAR_B = [[[-90.0], [-50.0]]]


def test_hanging__by_hand():
    # -50 dBm of A: -56.5 on a phone. HE, 20 MHz, 2 streams: step 9 from -57 on, 6 dB better step 11 from -58 on:
    # 234 x 8 x 5/6 x 2 / 13.6 us = 229.4 by the table, 234 x 10 x 5/6 x 2 / 13.6 us = 286.8 expected. In use 0.6 to 0.7
    # of it. 10 Mbit/s half of the time: expected 5 / (286.8 x 0.65), low end 5 / (286.8 x 0.7), high end 5 / (229.4 x 0.6).
    found, _, _ = house({"R1": NEAR_A}, {"R1": [wanted("N1", part(busy=0.5))]})
    (h,) = found.values()
    assert (h.sender, h.band, h.rooms, h.needs, h.slowest) == ("A", "5 GHz", ("R1",), ("N1",), "N1")
    assert h.percent == pytest.approx(100 * 5 / (286.765 * 0.65), rel=1e-4)
    assert h.range.low == pytest.approx(100 * 5 / (286.765 * 0.7), rel=1e-4)
    assert h.range.high == pytest.approx(100 * 5 / (229.412 * 0.6), rel=1e-4)
    assert (h.is_busy, h.not_reached) == (False, ())


def test_hanging__each_room_on_its_own_access_point():
    found, _, _ = house(
        {"R1": NEAR_A, "R2": NEAR_B, "R3": NEAR_B},
        {"R1": [wanted("N1", part())], "R2": [wanted("N2", part())], "R3": [wanted("N3", part(count=3))]},
    )
    assert found["A", "5 GHz"].needs == ("N1",)
    assert found["B", "5 GHz"].rooms == ("R2", "R3")
    assert found["B", "5 GHz"].needs == ("N2", "N3")
    assert found["B", "5 GHz"].percent == pytest.approx(4 * found["A", "5 GHz"].percent)
    assert found["B", "5 GHz"].slowest == "N3"


def test_hanging__over_half_of_the_air_is_a_finding():
    # One use is 10 / (286.765 x 0.65) = 5.365 %; nine stay below half, ten do not.
    busy = [house({"R1": NEAR_A}, {"R1": [wanted("N1", part(count=n))]})[0]["A", "5 GHz"].is_busy for n in (9, 10)]
    assert busy == [False, True]


def test_hanging__a_need_that_gets_no_link_counts_with_the_slowest_rate_and_is_named():
    found, _, _ = house({"R1": [[[-94.0], [-99.0]]]}, {"R1": [wanted("N1", part(down=1.0))]})
    (h,) = found.values()
    assert h.not_reached == ("N1",)
    # HE step 0, two streams: 234 x 1/2 x 2 / 13.6 us = 17.2 Mbit/s.
    assert h.percent == pytest.approx(100 / (17.2059 * 0.65), rel=1e-4)


def test_hanging__an_access_point_that_only_serves_takes_nothing():
    found, _, _ = house({"R1": NEAR_A}, {})
    h = found["A", "5 GHz"]
    assert (h.percent, h.range.low, h.range.high, h.needs, h.slowest) == (0.0, 0.0, 0.0, (), None)


cases = st.tuples(st.integers(1, 6), st.integers(1, 7), st.integers(0, 2**31))


def drawn(case):
    rng = np.random.default_rng(case[2])
    levels = {r: rng.uniform(-85, -45, (case[0], 2, case[1])) for r in ("R1", "R2", "R3")}
    wants = {r: [wanted(f"N{r}{k}", part(down=2.0, up=1.0, count=k + 1, busy=0.3)) for k in range(2)] for r in levels}
    return levels, wants


@given(cases)
@settings(max_examples=25)
def test_hanging__middle_equals_naive_loops(case):
    levels, wants = drawn(case)
    found, answers, _ = house(levels, wants)
    for (sender, band), h in found.items():
        draws = [0.0] * case[0]
        for room, all_of in wants.items():
            if answers[room].bands[band].server != sender:
                continue
            sampled = RoomSamples(room, ("A", "B"), {"5 GHz": levels[room]}, 0.0)
            down, up = rates(sampled, band, device=devices()["phone"], station=STATIONS[sender], better_db=6.0)
            for d in range(case[0]):
                middles = [max(sorted_middle(list(rate[d])), 17.2058823) for rate in (down, up)]
                for w in all_of:
                    use = w.parts[0]
                    one = use.down_mbps / middles[0] + use.up_mbps / middles[1]
                    draws[d] += use.count * use.busy_share * one / 0.65
        assert h.percent == pytest.approx(100 * sorted_middle(draws), rel=1e-6)


def sorted_middle(values):
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


@given(cases, st.floats(0, 12))
@settings(max_examples=25)
def test_hanging__more_level_never_takes_more_of_the_air(case, by):
    levels, wants = drawn(case)
    one, _, _ = house(levels, wants)
    more, _, _ = house({r: v + by for r, v in levels.items()}, wants)
    assert set(one) == set(more)
    for key in one:
        assert more[key].percent <= one[key].percent + 1e-9
        assert more[key].range.low <= one[key].range.low + 1e-9
        assert more[key].range.high <= one[key].range.high + 1e-9
        assert more[key].range.low <= more[key].percent + 1e-9 <= more[key].range.high + 2e-9


def test_with_others__adds_up_and_may_make_a_finding():
    found, _, _ = house({"R1": NEAR_A}, {"R1": [wanted("N1", part())]})
    turn = Turns(radio_name("A", "5 GHz"), (radio_name("B", "5 GHz"), "stranger"), (), 0.6, 0.4, 1 / 3)
    (h,) = with_others(tuple(found.values()), [turn], RULES)
    assert h.with_others_percent == pytest.approx(60.0)
    assert (h.is_busy, h.waits_for) == (True, ("B, 5 GHz", "stranger"))
    (alone,) = with_others(tuple(found.values()), [], RULES)
    assert alone.with_others_percent is None

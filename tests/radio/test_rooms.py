"""Rooms' answers: the vectorised ones against naive loops over the definitions, properties, and cases worked out by hand."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullstring.radio.rooms import (
    RoomSamples,
    band_answer,
    is_too_wide,
    middle_and_ends,
    reached_dbm,
    room_answer,
)
from pullstring.radio.rooms_assumed import assumed_rules

RULES = assumed_rules()
EDGE = -67.0


def samples(levels, senders=None, *, band="5 GHz", lowered=0.0):
    array = np.asarray(levels, dtype=float)
    names = tuple(senders or [f"A{k}" for k in range(array.shape[1])])
    return RoomSamples("R1", names, {band: array}, lowered_db=lowered)


def answered(levels, senders=None):
    return band_answer(samples(levels, senders), "5 GHz", edge_dbm=EDGE, rules=RULES)


# The naive reading of the definitions: no numpy but for the shapes.


def naive_reached(levels, share):
    """Try every level that occurs: the highest one that at least the share of the points reach."""
    fine = [x for x in levels if sum(y >= x for y in levels) >= share * len(levels) - 1e-9]
    return max(fine)


def naive_quantile(values, q):
    ordered = sorted(values)
    at = q * (len(ordered) - 1)
    low = math.floor(at)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (at - low) * (ordered[high] - ordered[low])


def naive_band(levels, senders):
    """Levels as nested lists [draw][sender][point]; a sender of NaN does not send."""
    sends = sorted((n, k) for k, n in enumerate(senders) if not math.isnan(levels[0][k][0]))
    strong, half, second, first = [], [], [], dict.fromkeys((n for n, _ in sends), 0)
    for draw in levels:
        best_here, second_here = [], []
        for p in range(len(draw[0])):
            here = [(draw[k][p], n) for n, k in sends]
            top = max(x for x, _ in here)
            best_here.append(top)
            first[next(n for x, n in here if x == top)] += 1
            second_here.append(sorted((x for x, _ in here), reverse=True)[1] if len(here) > 1 else -1e9)
        strong.append(naive_reached(best_here, 0.9))
        half.append(naive_reached(best_here, 0.5))
        second.append(naive_reached(second_here, 0.9))
    server = max(sorted(first), key=lambda n: first[n])
    return {
        "level": statistics.median(strong),
        "low": naive_quantile(strong, 0.1),
        "high": naive_quantile(strong, 0.9),
        "median": statistics.median(half),
        "server": server,
        "share": first[server] / sum(first.values()),
        "second_dbm": statistics.median(second),
        "roaming": sum(x >= -75 for x in second) / len(second),
        "at_edge": sum(x >= EDGE for x in strong) / len(strong),
    }


arrays = st.tuples(st.integers(1, 5), st.integers(2, 4), st.integers(1, 23), st.integers(0, 2**31)).map(
    lambda t: np.random.default_rng(t[3]).integers(-95, -40, size=t[:3]).astype(float)
)
"""Whole numbers, so that ties happen."""


@given(arrays, st.booleans())
@settings(max_examples=60)
def test_band_answer__equals_naive_loops(levels, one_is_silent):
    if one_is_silent and levels.shape[1] > 2:
        levels[:, 1, :] = np.nan
    names = [f"A{(3 * k + 1) % 7}" for k in range(levels.shape[1])]
    answer, naive = answered(levels, names), naive_band(levels.tolist(), names)
    assert answer.level_dbm == pytest.approx(naive["level"])
    assert answer.low_dbm == pytest.approx(naive["low"])
    assert answer.high_dbm == pytest.approx(naive["high"])
    assert answer.median_dbm == pytest.approx(naive["median"])
    assert answer.server == naive["server"]
    assert answer.server_share == pytest.approx(naive["share"])
    assert answer.second_dbm == pytest.approx(naive["second_dbm"])
    assert answer.roaming.chance == pytest.approx(naive["roaming"])
    assert answer.at_edge.chance == pytest.approx(naive["at_edge"])


@given(st.lists(st.integers(-90, -40), min_size=1, max_size=40), st.sampled_from([0.5, 0.75, 0.9, 0.95, 1.0]))
def test_reached__is_the_highest_level_that_the_share_reaches(levels, share):
    assert reached_dbm(level_dbm=np.array(levels, dtype=float), points_share=share) == naive_reached(levels, share)


def test_reached__ten_points_leave_one_out_and_nine_none():
    # 90 % of ten points are nine: the weakest may be left out. 90 % of nine points are 8.1: all nine are needed.
    ten = np.arange(-70.0, -60.0)
    assert reached_dbm(level_dbm=ten, points_share=0.9) == -69.0
    assert reached_dbm(level_dbm=ten[:9], points_share=0.9) == -70.0
    assert reached_dbm(level_dbm=np.array([-55.0]), points_share=0.9) == -55.0


def test_middle_and_ends__eleven_draws():
    # 10 % and 90 % of eleven draws in order are the second and the tenth.
    assert middle_and_ends(values=np.arange(11.0), interval_share=0.8) == pytest.approx((5.0, 1.0, 9.0))


def test_band_answer__by_hand():
    # Two access points, two points, one draw. At p1 A leads by 10 dB, at p2 B by 6; both points are needed for 90 %.
    answer = answered([[[-50.0, -76.0], [-60.0, -70.0]]], ["A", "B"])
    assert (answer.level_dbm, answer.low_dbm, answer.high_dbm) == (-70.0, -70.0, -70.0)
    assert answer.median_dbm == -50.0  # one point of two is half of them
    assert (answer.server, answer.server_share) == ("A", 0.5)  # one point each: the name decides
    assert answer.second_dbm == -76.0
    assert answer.second is None  # below -75
    assert answer.roaming.chance == 0.0
    assert answer.at_edge.chance == 0.0


def test_band_answer__second_named_from_minus_75_on():
    at = answered([[[-50.0, -50.0], [-75.0, -75.0]]], ["A", "B"])
    below = answered([[[-50.0, -50.0], [-75.1, -75.1]]], ["A", "B"])
    assert (at.second, at.roaming.chance) == ("B", 1.0)
    assert (below.second, below.roaming.chance) == (None, 0.0)


def test_band_answer__one_access_point_has_no_second():
    answer = answered([[[-50.0, -60.0]]], ["A"])
    assert (answer.second, answer.second_dbm, answer.roaming.chance) == (None, None, 0.0)


def test_band_answer__second_is_never_the_server_itself():
    # A leads at two points of three and is second at the third; B is second at two: B is named, and B it is anyway.
    answer = answered([[[-50.0, -50.0, -60.0], [-60.0, -61.0, -50.0], [-90.0, -90.0, -90.0]]], ["A", "B", "C"])
    assert (answer.server, answer.second) == ("A", "B")


def test_band_answer__order_and_names_of_senders_do_not_move_levels():
    rng = np.random.default_rng(4)
    levels = rng.uniform(-90, -40, size=(6, 4, 12))
    names = ["B", "D", "A", "C"]
    order = [2, 0, 3, 1]
    assert answered(levels, names) == answered(levels[:, order, :], [names[k] for k in order])


def test_band_answer__shuffled_points_and_draws_move_nothing():
    rng = np.random.default_rng(5)
    levels = rng.uniform(-90, -40, size=(6, 3, 12))
    other = levels[rng.permutation(6)][:, :, rng.permutation(12)]
    assert answered(levels) == answered(other)


@given(arrays, st.floats(0, 20))
@settings(max_examples=40)
def test_band_answer__raising_every_level_moves_all_by_as_much(levels, by):
    one, other = answered(levels), answered(levels + by)
    for name in ("level_dbm", "low_dbm", "high_dbm", "median_dbm", "second_dbm"):
        assert getattr(other, name) == pytest.approx(getattr(one, name) + by)
    assert other.at_edge.chance >= one.at_edge.chance
    assert other.roaming.chance >= one.roaming.chance
    assert other.server == one.server


@given(arrays, st.integers(0, 2**31))
@settings(max_examples=40)
def test_band_answer__one_more_access_point_never_lowers_a_room(levels, seed):
    more = np.random.default_rng(seed).uniform(-95, -40, size=(levels.shape[0], 1, levels.shape[2]))
    one, other = answered(levels), answered(np.concatenate([levels, more], axis=1))
    for name in ("level_dbm", "low_dbm", "high_dbm", "median_dbm", "second_dbm"):
        assert getattr(other, name) >= getattr(one, name) - 1e-9
    assert other.at_edge.chance >= one.at_edge.chance
    assert other.roaming.chance >= one.roaming.chance


def test_band_answer__one_more_draw_inside_stays_inside():
    rng = np.random.default_rng(6)
    levels = rng.uniform(-90, -40, size=(9, 2, 10))
    one = answered(levels)
    middle_draw = np.full((1, 2, 10), one.level_dbm)
    other = answered(np.concatenate([levels, middle_draw]))
    assert other.low_dbm >= one.low_dbm - 1e-9
    assert other.high_dbm <= one.high_dbm + 1e-9


def test_band_answer__nobody_sends():
    assert answered(np.full((3, 2, 4), np.nan)) is None
    assert band_answer(samples([[[-50.0]]]), "6 GHz", edge_dbm=EDGE, rules=RULES) is None


def test_band_answer__what_never_arrives_is_no_infinity():
    answer = answered([[[-np.inf, -50.0]]], ["A"])
    assert math.isfinite(answer.level_dbm)
    assert answer.level_dbm < -200


def room(levels, *, barred=None, band="5 GHz"):
    return room_answer(samples(levels, band=band), edges={}, rules=RULES, barred=barred)


def test_room_answer__reasons():
    spread = np.linspace(-90.0, -40.0, 11).reshape(11, 1, 1)  # 80 % of it is 40 dB wide
    assert room([[[-50.0]]], barred="walls_unknown").why_not_known == "walls_unknown"
    assert room(np.zeros((2, 1, 0))).why_not_known == "no_points"
    assert room(np.full((2, 1, 3), np.nan)).why_not_known == "no_sender"
    assert room_answer(RoomSamples("R1", (), {}, lowered_db=0.0), edges={}, rules=RULES, barred=None).why_not_known == (
        "no_sender"
    )
    assert room(spread).why_not_known == "too_wide"
    assert room(spread).bands == {}
    assert room([[[-50.0]]]).why_not_known is None


def test_room_answer__wide_but_hopeless_is_known():
    # From -180 to -100 dBm: nobody knows how little, but nothing is held anywhere in it.
    assert room(np.linspace(-180.0, -100.0, 11).reshape(11, 1, 1)).why_not_known is None


def test_room_answer__one_band_known_makes_the_room_known():
    wide = np.linspace(-90.0, -40.0, 11).reshape(11, 1, 1)
    both = RoomSamples("R1", ("A",), {"2.4 GHz": np.full((11, 1, 1), -60.0), "5 GHz": wide}, lowered_db=0.0)
    answer = room_answer(both, edges={}, rules=RULES, barred=None)
    assert answer.why_not_known is None
    assert list(answer.bands) == ["2.4 GHz"]
    assert answer.unknown_bands == {"5 GHz": "too_wide"}


def test_room_answer__the_agreed_edge_wins_over_the_usual_one():
    levels = [[[-69.0]]]
    usual = room(levels).bands["5 GHz"]
    agreed = room_answer(samples(levels), edges={"5 GHz": -70.0}, rules=RULES, barred=None).bands["5 GHz"]
    assert (usual.edge_dbm, usual.at_edge.chance) == (-67.0, 0.0)  # common practice
    assert (agreed.edge_dbm, agreed.at_edge.chance) == (-70.0, 1.0)


def test_is_too_wide__exactly_at_the_limit_is_an_answer():
    low = -40.0 - RULES.widest_db
    # Of eleven draws the second and the tenth are the ends.
    at = [low, *[low] * 5, *[-40.0] * 5]
    answer = answered(np.array(at).reshape(11, 1, 1))
    assert answer.high_dbm - answer.low_dbm == RULES.widest_db
    assert not is_too_wide(answer, rules=RULES)

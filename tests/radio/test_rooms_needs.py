"""Needs: what their words ask of the air, and the chance that they are met both ways."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullstring.radio.needs import Part, Wanted, asked_of_air, kinds
from pullstring.radio.needs_met import least_up_dbm, need_answer
from pullstring.radio.room_rates import Device, Station, devices, rates, room_rate
from pullstring.radio.rooms import RoomSamples
from pullstring.radio.rooms_assumed import assumed_rules
from pullstring.radio.scene import BANDS

RULES = assumed_rules()
PHONE = devices()["phone"]
A = Station("A", {"2.4 GHz": 20.0, "5 GHz": 23.0}, 3.0, {"2.4 GHz": 20, "5 GHz": 80}, 2, "HE")
B = Station("B", {"2.4 GHz": 20.0, "5 GHz": 30.0}, 0.0, {"2.4 GHz": 20, "5 GHz": 20}, 2, "HE")
STATIONS = {"A": A, "B": B}


def words(says, *, band="", level=None):
    parts, doubts = asked_of_air(says, band=band, level_dbm=level)
    return [(p.kind, p.count) for p in parts], doubts


# Words


@pytest.mark.parametrize(
    ("says", "found"),
    [
        ("video call", [("call", 1)]),
        ("the owner calls from here", [("call", 1)]),
        ("a television", [("television", 1)]),
        ("TV, films", [("television", 2)]),
        ("phones", [("web page", 1)]),
        ("Two phones and one tablet", [("web page", 3)]),
        ("12 guests at a table; one laptop", [("guests", 12), ("laptop", 1)]),
        ("guests' phones", [("guests", 1)]),
        ("boiler gateway", [("only 2.4 GHz", 1)]),
        ("card terminal from 11 to 23 h", [("till", 1)]),
        ("door phone kept", []),
        ("desk telephone; phone", [("web page", 1)]),
        ("calls, TV by cable", [("call", 1)]),
        ("telephoned yesterday, recall, TVA", []),
        ("", []),
    ],
)
def test_words__name_a_use(says, found):
    assert words(says)[0] == found


def test_words__a_level_without_a_known_word_is_taken_and_doubted():
    found, doubts = words("the usual", level=-66.0)
    assert (found, doubts) == ([("other", 1)], ("words_not_known",))
    assert words("the usual") == ([], ())


def test_words__the_records_level_wins():
    (own,), _ = asked_of_air("video call", band="", level_dbm=None)
    (said,), _ = asked_of_air("video call", band="", level_dbm=-61.5)
    assert (own.level_dbm, said.level_dbm) == (-67.0, -61.5)  # -67: common practice for calls


def test_words__the_records_band_wins_and_is_doubted_where_such_a_device_does_not_know_it():
    (part,), doubts = asked_of_air("heating gateway", band="5 GHz", level_dbm=None)
    assert (part.bands, doubts) == (("5 GHz",), ("band_of_device",))
    (part,), doubts = asked_of_air("heating gateway", band="any", level_dbm=None)
    assert (part.bands, doubts) == (("2.4 GHz",), ())


def test_words__only_2_4_narrows_what_stands_beside_it():
    parts, _ = asked_of_air("2.4 GHz only camera, laptop", band="", level_dbm=None)
    assert {p.kind: p.bands for p in parts} == {
        "only 2.4 GHz": ("2.4 GHz",),
        "camera": ("2.4 GHz",),
        "laptop": BANDS,
    }


def test_words__wired_asks_nothing_of_the_air():
    assert asked_of_air("television", band="wired", level_dbm=-60.0) == ((), ())


def test_kinds__every_use_has_level_band_rate_and_device():
    uses = [k for k in kinds().values() if k.level_dbm is not None]
    assert {k.kind for k in uses} >= {"only 2.4 GHz", "call", "television", "web page", "other"}
    for kind in uses:
        assert kind.bands and set(kind.bands) <= set(BANDS), kind.kind
        assert -80 <= kind.level_dbm <= -60, kind.kind
        assert kind.down_mbps > 0 and kind.up_mbps > 0 and 0 < kind.busy_share <= 1, kind.kind
        assert set(kind.bands) <= set(devices()[kind.device].width_mhz), kind.kind


def test_devices__phones_as_common_practice_has_them():
    # 12 to 17 dBm, 3 to 10 dB lower: 80 % of a normal spread lie within 1.2816 standard deviations.
    assert PHONE.eirp_dbm == 14.5
    assert PHONE.lower_db == 6.5
    assert PHONE.spread_db == pytest.approx(7 / (2 * 1.2815516), rel=1e-6)


# Chances


def part(level=-67.0, *, bands=("5 GHz",), up=4.0, device="phone", kind="call"):
    return Part(kind, level, bands, 4.0, up, device, 1, 0.5)


def wanted(*parts):
    return Wanted("N1", None, None, "", 1, parts, None, ())


def samples(lowered=0.0, **bands):
    named = {{"g2": "2.4 GHz", "g5": "5 GHz", "g6": "6 GHz"}[k]: np.asarray(v, dtype=float) for k, v in bands.items()}
    count = next(iter(named.values())).shape[1]
    return RoomSamples("R1", ("A", "B")[:count], named, lowered_db=lowered)


def answer(sampled, *parts, barred=None):
    return need_answer(wanted(*parts), sampled, stations=STATIONS, rules=RULES, barred=barred)


def normal(z):
    return statistics.NormalDist().cdf(z)


SPREAD = math.hypot(PHONE.spread_db, RULES.body_spread_db)


def test_need__at_its_level_by_the_usual_phone_is_one_in_two():
    # The usual phone reads 6.5 dB lower; then -60.5 dBm of a plain antenna is -67 on it, and half of all phones read less.
    found = answer(samples(g5=[[[-60.5]]]), part(up=0.001))
    assert found.chance.chance == pytest.approx(0.5)
    assert (found.band, found.level_dbm, found.limited_by) == ("5 GHz", -67.0, "down")


def test_need__three_db_to_spare():
    found = answer(samples(g5=[[[-57.5]]]), part(up=0.001))
    assert found.chance.chance == pytest.approx(normal(3 / SPREAD))


def test_need__levels_told_as_a_device_reads_them_count_once():
    plain = answer(samples(g5=[[[-60.0]]]), part())
    told = answer(samples(lowered=6.5, g5=[[[-66.5]]]), part())
    assert told.chance.chance == pytest.approx(plain.chance.chance)


def test_need__the_way_back_by_hand():
    # 4 Mbit/s up is 6.2 on the air at 0.65; HE, 80 MHz, two streams carries that from its slowest step on: -76 dBm.
    # A at 23 dBm arrives with -80; a phone of 14.5 dBm arrives at A with -80 - 23 + 14.5 + 3 = -85.5: 9.5 dB missing.
    found = answer(samples(g5=[[[-80.0]]]), part(-95.0))
    assert least_up_dbm(part(), PHONE, A, "5 GHz") == -76.0
    assert found.parts[0].chance_up.chance == pytest.approx(normal(-9.5 / SPREAD))
    assert found.parts[0].chance_down.chance == pytest.approx(normal(8.5 / SPREAD))
    assert found.chance.chance == pytest.approx(normal(-9.5 / SPREAD))
    assert found.limited_by == "up"


def test_need__a_louder_access_point_does_not_help_the_way_back():
    # B sends 7 dB more than A, so the same level means a longer way: the phone arrives there weaker.
    quiet = need_answer(wanted(part(-95.0)), RoomSamples("R", ("A",), {"5 GHz": np.full((1, 1, 1), -80.0)}, 0.0),
                        stations=STATIONS, rules=RULES, barred=None)  # fmt: skip
    loud = need_answer(wanted(part(-95.0)), RoomSamples("R", ("B",), {"5 GHz": np.full((1, 1, 1), -80.0)}, 0.0),
                       stations={"B": Station("B", {"5 GHz": 30.0}, 3.0, {"5 GHz": 80}, 2, "HE")}, rules=RULES,
                       barred=None)  # fmt: skip
    assert loud.parts[0].chance_up.chance < quiet.parts[0].chance_up.chance


def test_need__a_rate_that_no_link_carries_is_never_met():
    # One stream of HT at 20 MHz ends at 72 Mbit/s on the air.
    found = answer(samples(g5=[[[-30.0]]]), part(device="small device", up=500.0))
    assert found.chance.chance == 0.0
    assert found.limited_by == "up"


def naive_chance(sampled, parts):
    """Loops over draws, bands, points and access points; the normal distribution from the standard library."""
    draws = []
    for d in range(next(iter(sampled.level_dbm.values())).shape[0]):
        together = 1.0
        for p in parts:
            device = devices()[p.device]
            spread = math.hypot(device.spread_db, RULES.body_spread_db)
            best = -math.inf
            for band in p.bands:
                if band not in sampled.level_dbm or band not in device.width_mhz:
                    continue
                at_points = []
                for point in range(sampled.level_dbm[band].shape[2]):
                    best_here = -math.inf
                    for k, name in enumerate(sampled.senders):
                        level, station = sampled.level_dbm[band][d, k, point], STATIONS[name]
                        if math.isnan(level):
                            continue
                        least = least_up_dbm(p, device, station, band)
                        down = level - device.lower_db - p.level_dbm
                        up = level - station.eirp_dbm[band] + station.gain_dbi + device.eirp_dbm - least
                        best_here = max(best_here, min(down, up))
                    at_points.append(best_here)
                ordered = sorted(at_points)
                best = max(best, next(x for x in reversed(ordered)
                                      if sum(y >= x for y in ordered) >= 0.9 * len(ordered) - 1e-9))  # fmt: skip
            together *= normal(best / spread)
        draws.append(together)
    return sum(draws) / len(draws)


cases = st.tuples(st.integers(1, 4), st.integers(1, 2), st.integers(1, 12), st.integers(0, 2**31))


def drawn(case):
    rng = np.random.default_rng(case[3])
    return samples(g2=rng.uniform(-90, -45, case[:3]), g5=rng.uniform(-90, -45, case[:3]))


USES = (part(bands=("2.4 GHz", "5 GHz")), part(-70.0, bands=("2.4 GHz",), device="small device", kind="only 2.4 GHz"))


@given(cases)
@settings(max_examples=40)
def test_need__equals_naive_loops(case):
    sampled = drawn(case)
    assert answer(sampled, *USES).chance.chance == pytest.approx(naive_chance(sampled, USES))


@given(cases, st.floats(0, 15))
@settings(max_examples=40)
def test_need__more_level_never_lowers_a_chance(case, by):
    one = drawn(case)
    more = RoomSamples(one.room, one.senders, {b: v + by for b, v in one.level_dbm.items()}, 0.0)
    assert answer(more, *USES).chance.chance >= answer(one, *USES).chance.chance - 1e-12


@given(cases)
@settings(max_examples=40)
def test_need__one_more_access_point_never_lowers_a_chance(case):
    both = drawn((case[0], 2, *case[2:]))
    one = RoomSamples("R1", ("A",), {b: v[:, :1, :] for b, v in both.level_dbm.items()}, 0.0)
    assert answer(both, *USES).chance.chance >= answer(one, *USES).chance.chance - 1e-12


@given(cases)
@settings(max_examples=30)
def test_need__one_more_use_or_one_band_less_never_helps(case):
    sampled = drawn(case)
    all_of_it = answer(sampled, *USES).chance.chance
    assert all_of_it <= min(answer(sampled, use).chance.chance for use in USES) + 1e-12
    only = part(bands=("5 GHz",))
    assert answer(sampled, only).chance.chance <= answer(sampled, USES[0]).chance.chance + 1e-12


def test_need__two_bands_are_one_chance_not_two():
    # Draw one has the level at 2.4 GHz only, draw two at 5 GHz only: whichever way it is, one band holds it.
    far, near = -120.0, -30.0
    sampled = samples(g2=[[[near]], [[far]]], g5=[[[far]], [[near]]])
    assert answer(sampled, part(bands=("2.4 GHz", "5 GHz"))).chance.chance == pytest.approx(1.0)
    assert answer(sampled, part(bands=("5 GHz",))).chance.chance == pytest.approx(0.5)


def test_need__nine_points_of_ten_are_enough_and_eight_are_not():
    good, bad = -40.0, -120.0
    assert answer(samples(g5=[[[bad] + [good] * 9]]), part()).chance.chance == pytest.approx(1.0, abs=1e-3)
    assert answer(samples(g5=[[[bad] * 2 + [good] * 8]]), part()).chance.chance == pytest.approx(0.0, abs=1e-3)


def test_need__why_there_is_no_chance_to_tell():
    sampled = samples(g5=[[[-50.0]]])
    by_cable = Wanted("N1", None, None, "TV by cable", 1, (), "by_cable", ())
    asked = {"stations": STATIONS, "rules": RULES}
    assert need_answer(by_cable, sampled, **asked, barred=None).why_not == "by_cable"
    assert answer(sampled, part(), barred="too_wide").why_not == "too_wide"
    assert answer(sampled, part(bands=("6 GHz",))).why_not == "no_sender"
    assert answer(sampled, part(bands=("6 GHz",))).chance is None
    assert answer(sampled, part()).why_not is None


def test_need__a_use_without_its_band_is_not_met_beside_one_that_is():
    found = answer(
        samples(g5=[[[-30.0]]]), part(), part(bands=("2.4 GHz",), kind="only 2.4 GHz", device="small device")
    )
    assert (found.chance.chance, found.kind, found.band) == (0.0, "only 2.4 GHz", None)


# Rates


def test_rates__down_and_up_by_hand():
    # Plain -60 dBm of A at 23 dBm. Down: -66.5 on the phone. HE table at 80 MHz: step 3 at -68, step 4 at -64; so step 3,
    # 2 streams: 980 x 4 x 1/2 x 2 / 13.6 us = 288.2 Mbit/s. Up: -60 - 23 + 14.5 + 3 = -65.5: step 3 as well.
    sampled = RoomSamples("R1", ("A",), {"5 GHz": np.full((1, 1, 1), -60.0)}, 0.0)
    down, up = rates(sampled, "5 GHz", device=PHONE, station=A, better_db=0.0)
    assert down[0, 0] == pytest.approx(288.235, abs=0.001)
    assert up[0, 0] == pytest.approx(288.235, abs=0.001)
    # 6 dB better is -60.5 and -59.5 in the table: step 5 begins at -60, so down step 4 (432.4) and up step 5 (576.5).
    down, up = rates(sampled, "5 GHz", device=PHONE, station=A, better_db=6.0)
    assert (down[0, 0], up[0, 0]) == (pytest.approx(432.353, abs=0.001), pytest.approx(576.471, abs=0.001))


def test_rates__nothing_comes_back_nothing_goes_down():
    # A remote sender of 60 dBm would be heard at -60, but a phone's way back ends 45 dB lower.
    loud = Station("A", {"5 GHz": 60.0}, 0.0, {"5 GHz": 80}, 2, "HE")
    sampled = RoomSamples("R1", ("A",), {"5 GHz": np.full((1, 1, 1), -60.0)}, 0.0)
    down, up = rates(sampled, "5 GHz", device=PHONE, station=loud, better_db=0.0)
    assert (down[0, 0], up[0, 0]) == (0.0, 0.0)


def test_rates__older_narrower_of_both_ends():
    # HT of one stream at 20 MHz, however good the access point: at most 65 Mbit/s with the long guard interval.
    small = devices()["small device"]
    sampled = RoomSamples("R1", ("A",), {"5 GHz": np.full((1, 1, 1), -30.0)}, 0.0)
    down, _ = rates(sampled, "5 GHz", device=small, station=A, better_db=0.0)
    assert down[0, 0] == pytest.approx(65.0)
    assert rates(sampled, "6 GHz", device=PHONE, station=A, better_db=0.0) is None
    only_24 = Device("x", 14.0, 5.0, 2.0, 1, {"2.4 GHz": 20}, "HT")
    assert rates(sampled, "5 GHz", device=only_24, station=A, better_db=0.0) is None


def test_room_rate__design_is_the_weak_points_and_expected_the_usual_ones():
    # Nine points at -40 dBm, one at -80 left out, one at -60: of eleven points ten are needed.
    levels = np.array([-80.0, -60.0, *[-40.0] * 9]).reshape(1, 1, 11)
    sampled = RoomSamples("R1", ("A",), {"5 GHz": levels}, 0.0)
    found = room_rate(sampled, "5 GHz", device=PHONE, stations=STATIONS, rules=RULES)
    assert found.design_mbps == pytest.approx(288.235, abs=0.001)  # as above, at -60
    # At -40: -46.5 on the phone, -52.5 in the table 6 dB better: step 11 begins at -46, with 6 dB at -52.
    assert found.expected_mbps == pytest.approx(1200.98, abs=0.01)
    assert (found.low_mbps, found.high_mbps) == (found.design_mbps, found.expected_mbps)


@given(cases)
@settings(max_examples=25)
def test_room_rate__in_order_and_rising_with_level(case):
    sampled = drawn(case)
    more = RoomSamples("R1", sampled.senders, {b: v + 4 for b, v in sampled.level_dbm.items()}, 0.0)
    one, other = (room_rate(s, "5 GHz", device=PHONE, stations=STATIONS, rules=RULES) for s in (sampled, more))
    assert one.low_mbps <= one.design_mbps <= one.expected_mbps <= one.high_mbps
    for name in ("design_mbps", "expected_mbps", "low_mbps", "high_mbps", "up_low_mbps", "up_high_mbps"):
        assert getattr(other, name) >= getattr(one, name)


def test_least_up__the_rate_on_the_air_is_more_than_the_rate_in_use():
    # HE, two streams. 80 MHz: step 0 is 72.1 Mbit/s from -76 dBm on, step 1 from -73. In use 0.65 of it: 46.8.
    assert [least_up_dbm(part(up=u), PHONE, A, "5 GHz") for u in (46.0, 48.0)] == [-76.0, -73.0]
    # 2.4 GHz, 20 MHz: step 0 is 17.2 Mbit/s from -82 dBm on; 0.45 of it in use: 7.7.
    assert [least_up_dbm(part(up=u), PHONE, A, "2.4 GHz") for u in (7.5, 8.0)] == [-82.0, -79.0]

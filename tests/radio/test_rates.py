"""Rates and least levels against the printed rows, and what must hold of any table of them."""

import csv
import math
import pathlib
import re

import numpy as np
import pytest

from pullstring.radio import rate_tables, rates

FILE = pathlib.Path(__file__).parents[1] / "authorities" / "radio" / "radio_checks.csv"
ROWS = {row["id"]: row for row in csv.DictReader(FILE.read_text("utf-8").splitlines())}


def rows(first, last):
    return [ROWS[f"RC{number}"] for number in range(first, last + 1)]


def holds(row, value):
    assert value == pytest.approx(float(row["value"]), abs=float(row["tolerance"]) + 1e-9), row


def numbers(row):
    return [float(found) for found in re.findall(r"-?\d+(?:\.\d+)?", row["inputs"])]


@pytest.mark.parametrize("row", rows(148, 152), ids=lambda row: row["id"])
def test_noise__printed_rows(row):
    width_mhz, figure_db = numbers(row)
    holds(row, rates.noise_floor_dbm(bandwidth_hz=width_mhz * 1e6, noise_figure_db=figure_db))


@pytest.mark.parametrize("row", rows(153, 176), ids=lambda row: row["id"])
def test_least_level__printed_rows(row):
    step, width_mhz, _ = numbers(row)
    holds(row, rate_tables.sensitivity_dbm(standard="HE", step_number=int(step), width_mhz=int(width_mhz)))


@pytest.mark.parametrize("row", rows(177, 186), ids=lambda row: row["id"])
def test_rate__printed_rows(row):
    step, width_mhz, streams, guard_us = numbers(row)
    rate = rate_tables.step_rate_mbps(
        standard=row["quantity"].split()[0],
        step_number=int(step),
        width_mhz=int(width_mhz),
        streams=int(streams),
        guard_s=guard_us * 1e-6,
    )
    holds(row, rate)


def test_power_sum__two_equal_levels():
    holds(ROWS["RC187"], rates.power_sum_dbm(levels_dbm=np.array([-70.0, -70.0])))


def test_power_sum__nothing_is_nothing_and_unknown_counts_as_nothing():
    assert rates.power_sum_dbm(levels_dbm=np.array([])) == -math.inf
    assert rates.power_sum_dbm(levels_dbm=np.array([-60.0, math.nan])) == pytest.approx(-60.0)


def test_steps__older_kinds_are_the_first_of_the_newest():
    """IEEE 802.11n has steps 0 to 7 and 802.11ac 0 to 9 with the levels of 802.11ax (read in a published text)."""
    newest = [step.sensitivity_dbm for step in rate_tables.steps("HE")]
    assert [step.sensitivity_dbm for step in rate_tables.steps("HT")] == newest[:8]
    assert [step.sensitivity_dbm for step in rate_tables.steps("VHT")] == newest[:10]
    assert len(newest) == 12


def test_steps__what_signal_to_noise_the_table_asks_for():
    """Level + 86 dB at 20 MHz: noise figure 10 and 5 dB of loss in the receiver above -101 dBm."""
    asked = [step.sensitivity_dbm + 86 for step in rate_tables.steps("HE")]
    assert asked == [4, 7, 9, 12, 16, 20, 21, 22, 27, 29, 32, 34]


def test_steps__the_one_that_is_left_out():
    """At 20 MHz one stream of 256 values at 5/6 has 52 x 8 x 5/6 = 346.67 bits a symbol, three have 1040: a whole number."""
    named = {"standard": "VHT", "step_number": 9, "width_mhz": 20, "guard_s": rate_tables.LONG_GUARD_S}
    assert math.isnan(rate_tables.step_rate_mbps(**named, streams=1))
    assert rate_tables.step_rate_mbps(**named, streams=3) == pytest.approx(1040 / 4, abs=1e-9)
    assert rates.rate_mbps(level_dbm=-30.0, width_mhz=20, streams=1, standard="VHT", margin_db=0.0) == pytest.approx(
        78.0
    )


@pytest.mark.parametrize("standard", ["HT", "VHT", "HE"])
def test_ladder__more_level_never_carries_less(standard):
    for width in rate_tables.widths_of(standard):
        for streams in (1, 2):
            least, carried = rate_tables.ladder(standard=standard, width_mhz=width, streams=streams)
            assert (np.diff(least) > 0).all() and (np.diff(carried) > 0).all()


def rate(level_dbm, margin_db=0.0, width_mhz=80):
    return rates.rate_mbps(level_dbm=level_dbm, width_mhz=width_mhz, streams=2, standard="HE", margin_db=margin_db)


def test_rate_at_level__on_the_edge_of_a_step_and_just_below():
    """Step 11 at 80 MHz needs -46 dBm and carries 1201.0 with two streams; step 0 needs -76."""
    assert rate(-46.0) == pytest.approx(1201.0, abs=0.1)
    assert rate(-46.1) < 1100
    assert rate(-76.0) > 0
    assert rate(-76.1) == 0.0


def test_rate_at_level__expected_takes_the_table_six_lower():
    for level in np.arange(-90.0, -30.0, 0.7):
        assert rate(level, rates.EXPECTED_BETTER_DB) == rate(level + 6.0)


def test_rate_at_level__many_at_once_and_the_unknown_stays_unknown():
    many = rate(np.array([-40.0, -82.0, math.nan]))
    assert many[0] == rate(-40.0) and many[1] == 0.0 and math.isnan(many[2])


def test_rate_at_level__a_wide_channel_is_no_gain_at_the_edge():
    """-80 dBm over 20 MHz is above the least level there (-82) and below that of 80 MHz (-76)."""
    assert rate(-80.0, width_mhz=20) > 0 and rate(-80.0, width_mhz=80) == 0.0


def test_needed__is_the_least_level_that_gives_the_rate():
    named = {"width_mhz": 40, "streams": 2, "standard": "HE", "margin_db": 0.0}
    for wanted in (1.0, 50.0, 100.0, 400.0):
        level = rates.needed_dbm(wanted_mbps=wanted, **named)
        assert rates.rate_mbps(level_dbm=level, **named) >= wanted > rates.rate_mbps(level_dbm=level - 0.01, **named)
    assert rates.needed_dbm(wanted_mbps=5000.0, **named) is None


def test_way_back__a_weak_phone_closes_the_link_first():
    """26 dBm down through 90 dB give -64 at the phone, 14 dBm back give -76. At 40 MHz that is step 4 (from -67; 468 x 3 x 2
    bits in 13.6 us) down and step 1 (from -76; 468 x 1 x 2) up."""
    up = rates.uplink_dbm(
        downlink_dbm=-64.0,
        access_point_eirp_dbm=26.0,
        access_point_gain_dbi=0.0,
        client_eirp_dbm=14.0,
        client_gain_dbi=0.0,
    )
    assert up == pytest.approx(-76.0)
    both = rates.carried(downlink_dbm=-64.0, uplink_dbm=up, width_mhz=40, streams=2, standard="HE", margin_db=0.0)
    assert both.down_mbps == pytest.approx(468 * 3 * 2 / 13.6) and both.up_mbps == pytest.approx(468 * 2 / 13.6)
    assert both.both_mbps == both.up_mbps


def test_way_back__antenna_gain_helps_both_ways():
    """23 dBm into 6 dBi radiates 29; the same 6 dBi take up the phone's 15 dBm: 29 - 100 = -71 down, 15 - 100 + 6 = -79 up."""
    up = rates.uplink_dbm(
        downlink_dbm=-71.0,
        access_point_eirp_dbm=29.0,
        access_point_gain_dbi=6.0,
        client_eirp_dbm=15.0,
        client_gain_dbi=0.0,
    )
    assert up == pytest.approx(-79.0)


def test_goodput__clean_air_keeps_more_than_mixed():
    clean, mixed = (rates.goodput_mbps(on_air_mbps=100.0, air=air) for air in ("clean", "mixed"))
    assert (clean.low, clean.high, mixed.low, mixed.high) == (60.0, 70.0, 40.0, 50.0)
    assert rates.usual_air("2.4 GHz") == "mixed" and rates.usual_air("5 GHz") == "clean"


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: rate_tables.steps("XT"), "HT, VHT or HE"),
        (lambda: rate_tables.sensitivity_dbm(standard="HT", step_number=3, width_mhz=80), "it has 20, 40"),
        (lambda: rate_tables.sensitivity_dbm(standard="VHT", step_number=10, width_mhz=80), "steps 0 to 9"),
        (lambda: rates.goodput_share("thin"), "clean, mixed"),
    ],
)
def test_what_is_not_held__is_refused_with_what_is(call, says):
    with pytest.raises(ValueError, match=says):
        call()

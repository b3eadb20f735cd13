"""Channels and what the rules of a place allow, against printed rows and counts."""

import csv
import pathlib
import re

import pytest

from pullstring.radio import air
from pullstring.radio.air import Channel, allowed, block, meeting

FILE = pathlib.Path(__file__).parents[1] / "authorities" / "radio" / "radio_checks.csv"
ROWS = {row["id"]: row for row in csv.DictReader(FILE.read_text("utf-8").splitlines())}
US, EUROPE = "example-A", "example-B"


@pytest.mark.parametrize("number", range(188, 199))
def test_middle__printed_rows(number):
    row = ROWS[f"RC{number}"]
    (band,) = re.findall(r"\d(?:\.\d)? GHz", row["quantity"])
    channel = int(row["inputs"].split()[-1])
    assert air.centre_mhz(band=band, channel_number=channel) == float(row["value"])


def count(rules, band, width_mhz):
    held = [one for one in allowed(rules=rules, band=band) if not one.low_power and one.channel.width_mhz == width_mhz]
    parts = [part for one in held for part in one.channel.parts]
    assert len(parts) == len(set(parts))
    return len(held)


@pytest.mark.parametrize(
    ("row", "rules", "band", "width_mhz"),
    [
        ("RC201", US, "6 GHz", 20),
        ("RC202", US, "6 GHz", 80),
        ("RC203", US, "6 GHz", 160),
        ("RC204", EUROPE, "6 GHz", 20),
        ("RC205", EUROPE, "6 GHz", 80),
        ("RC206", EUROPE, "6 GHz", 160),
        ("RC207", EUROPE, "5 GHz", 20),
        ("RC208", EUROPE, "5 GHz", 80),
    ],
)
def test_count__printed_rows(row, rules, band, width_mhz):
    assert count(rules, band, width_mhz) == int(ROWS[row]["value"])


def test_count__of_channels_apart_at_2_4():
    lists = {rules: air.apart(rules=rules, band="2.4 GHz") for rules in (US, EUROPE)}
    assert lists[US] == ((1, 6, 11),)
    assert len(lists[US][0]) == int(ROWS["RC199"]["value"])
    assert max(map(len, lists[EUROPE])) == int(ROWS["RC200"]["value"])
    for listed in {one for found in lists.values() for one in found}:
        channels = [Channel("2.4 GHz", (number,)) for number in listed]
        assert all(meeting(a, b) == air.FREE for a in channels for b in channels if a != b)


def test_count__wide_blocks_by_other_accounts():
    """29 of 40 MHz and 3 of 320 in 5925 to 7125 MHz, 12 and 1 in 5945 to 6425; 6 of 80 MHz at 5 GHz in the US (from memory)."""
    assert (count(US, "6 GHz", 40), count(US, "6 GHz", 320)) == (29, 3)
    assert (count(EUROPE, "6 GHz", 40), count(EUROPE, "6 GHz", 320)) == (12, 1)
    assert count(US, "5 GHz", 80) == 6


@pytest.mark.parametrize("rules", air.rule_sets())
@pytest.mark.parametrize("band", air.bands())
def test_allowed__lies_inside_the_band(rules, band):
    """2400 to 2483.5, 5150 to 5850 or 5895, 5925 to 7125 MHz."""
    low, high = {"2.4 GHz": (2400, 2483.5), "5 GHz": (5150, 5850), "6 GHz": (5925, 7125)}[band]
    for one in allowed(rules=rules, band=band):
        half = one.channel.width_mhz / 2
        assert low <= one.channel.middle_mhz - half and one.channel.middle_mhz + half <= high


def terms(rules, channel, width_mhz, band="5 GHz"):
    (found,) = [
        one
        for one in allowed(rules=rules, band=band)
        if channel in one.channel.parts and one.channel.width_mhz == width_mhz
    ]
    return found


def test_radar__minute_or_ten_and_the_strictest_part_counts():
    """36 to 48 need no listening; 52 to 64 a minute; 120 to 128 ten minutes in Europe and one in the US."""
    assert terms(EUROPE, 44, 80).wait_s == 0
    assert terms(EUROPE, 52, 20).wait_s == 60
    assert terms(EUROPE, 116, 20).wait_s == 60
    assert terms(EUROPE, 116, 80).wait_s == 600
    assert terms(US, 124, 20).wait_s == 60
    assert terms(EUROPE, 36, 160).radar and not terms(EUROPE, 36, 80).radar


def test_power__strictest_part_and_by_the_width_where_each_mhz_is_limited():
    """6 GHz indoors in the US: 5 dBm/MHz is 18, 24, 27 and 30 dBm at 20, 80, 160 and 320 MHz."""
    found = [terms(US, 5, width, "6 GHz").eirp_dbm for width in (20, 80, 160, 320)]
    assert found == pytest.approx([18, 24, 27, 30], abs=0.1)
    assert terms(US, 36, 160).eirp_dbm == 30  # 36 to 48 would allow 36, 52 to 64 do not
    assert terms(EUROPE, 44, 20).eirp_dbm == 23
    assert terms(EUROPE, 6, 20, "2.4 GHz").eirp_dbm == 20


def test_listened_first__every_fourth_channel_of_6_ghz_and_every_wide_block():
    """5, 21, 37 ...: one in every block of 80 MHz, so only narrow channels can miss it."""
    narrow = [
        one.channel.parts[0]
        for one in allowed(rules=EUROPE, band="6 GHz")
        if len(one.channel.parts) == 1 and one.listened_first
    ]
    assert narrow == [5, 21, 37, 53, 69, 85]
    assert all(one.listened_first for one in allowed(rules=US, band="6 GHz") if one.channel.width_mhz >= 80)


def test_block__from_any_channel_in_it():
    assert block(band="5 GHz", channel_number=44, width_mhz=80).parts == (36, 40, 44, 48)
    assert block(band="5 GHz", channel_number=157, width_mhz=40).name == "157 to 161"
    assert block(band="6 GHz", channel_number=37, width_mhz=160).middle_mhz == 5950 + 5 * 47


@pytest.mark.parametrize(
    ("one", "other", "how"),
    [
        (("2.4 GHz", (1,)), ("2.4 GHz", (1,)), air.SAME),
        (("2.4 GHz", (1,)), ("2.4 GHz", (3,)), air.PARTLY),
        (("2.4 GHz", (1,)), ("2.4 GHz", (4,)), air.PARTLY),
        (("2.4 GHz", (1,)), ("2.4 GHz", (5,)), air.FREE),
        (("5 GHz", (36, 40, 44, 48)), ("5 GHz", (44,)), air.SAME),
        (("5 GHz", (36, 40)), ("5 GHz", (44, 48)), air.FREE),
        (("5 GHz", (149,)), ("6 GHz", (149,)), air.FREE),
    ],
)
def test_meeting__by_the_frequencies_that_20_mhz_take(one, other, how):
    a, b = Channel(*one), Channel(*other)
    assert meeting(a, b) == meeting(b, a) == how


def test_every_row__says_where_it_comes_from_and_to_look_it_up():
    for rules in air.rule_sets():
        for row in air.sub_bands(rules):
            assert "verify locally" in row.provenance and row.edition


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: air.sub_bands("example-Z"), "example-A, example-B"),
        (lambda: air.centre_mhz(band="5 GHz", channel_number=50), "36 to 64 by 4"),
        (lambda: air.centre_mhz(band="60 GHz", channel_number=1), "2.4 GHz, 5 GHz, 6 GHz"),
        (lambda: block(band="5 GHz", channel_number=165, width_mhz=320), "no block of 320 MHz"),
        (lambda: block(band="2.4 GHz", channel_number=6, width_mhz=40), "no block of 40 MHz"),
    ],
)
def test_what_is_not_held__is_refused_with_what_is(call, says):
    with pytest.raises(ValueError, match=says):
        call()

"""A channel plan by the rules of a place: what it says, strangers, radios that keep theirs, and what is found now."""

import itertools
import time

import pytest

from pullstring.plan.channels import (
    Radio,
    Stranger,
    channel_plan,
    least_width_mhz,
    overlap_of,
    pair_weight,
    total_db,
)
from pullstring.plan.channels_air import airs_of
from pullstring.radio.air import Channel, meeting

US, EUROPE = "example-A", "example-B"


def airs(band="2.4 GHz", rules=US, **other):
    named = {"radar": True, "low_power": False, "outdoors": False, "without": (), "only": (), "most_mhz": 80}
    return airs_of(rules=rules, band=band, **(named | other))


def radios(names, least=20, most=20, **present):
    return [Radio(name, least, most, present=present.get(name)) for name in names]


def every_pair(names, weight):
    return {pair: weight for pair in itertools.combinations(names, 2)}


def two4(channel):
    return Channel("2.4 GHz", (channel,))


def plan(own, weights, strangers=(), air=None):
    return channel_plan(own, weights, list(strangers), air or airs(), step_limit=1000)


def test_three_radios__take_three_channels():
    found = plan(radios("ABC"), every_pair("ABC", 30))
    assert sorted(one.channel.parts[0] for one in found.choices) == [1, 6, 11]
    assert found.overlap_db == 0 and found.proven and all(one.overlaps == () for one in found.choices)


def test_four_radios__the_two_that_hear_least_share():
    weights = {("A", "B"): 30, ("A", "C"): 25, ("A", "D"): 20, ("B", "C"): 22, ("B", "D"): 7, ("C", "D"): 40}
    found = plan(radios("ABCD"), weights)
    assert (found.overlap_db, found.least_db, found.overlap_proven) == (7, 7, True)
    (shared,) = [one.overlaps for one in found.choices if one.name == "B"]
    assert [(one.other, one.how, one.above_db, one.counts_db) for one in shared] == [("D", "same", 7, 7)]


def test_four_channels__where_13_is_allowed():
    """1, 5, 9, 13: four radios on four channels, where 1, 6, 11 would make two share."""
    found = plan(radios("ABCD"), every_pair("ABCD", 9), air=airs(rules=EUROPE))
    assert sorted(one.channel.parts[0] for one in found.choices) == [1, 5, 9, 13] and found.overlap_db == 0


def test_stranger__is_given_way_to():
    loud = Stranger("next door", two4(1), {"A": 30, "B": 2, "C": 30})
    found = plan(radios("ABC"), every_pair("ABC", 25), [loud])
    assert {one.name: one.channel for one in found.choices}["B"] == two4(1)
    assert found.overlap_db == 2


def test_stranger__partly_across_counts_twice():
    """On 3 it lies across 1 and not across 6: `PARTLY_TIMES` is ours, 2."""
    odd = Stranger("next door", two4(3), {"A": 10})
    assert total_db(overlap_of({"A": two4(1)}, {}, [odd])) == 20
    assert total_db(overlap_of({"A": two4(3)}, {}, [odd])) == 10
    assert plan(radios("A"), {}, [odd]).choices[0].channel == two4(11)  # 6 lies 15 MHz from 3


def test_keeps__its_channel_and_the_others_go_round_it():
    own = [*radios("AB"), Radio("C", 20, 20, keeps=two4(6))]
    found = plan(own, every_pair("ABC", 20))
    by_name = {one.name: one for one in found.choices}
    assert by_name["C"].channel == two4(6) and by_name["C"].kept
    assert {by_name[name].channel for name in "AB"} == {two4(1), two4(11)}
    assert found.overlap_db == found.least_db == 0


def test_keeps__two_that_collide_are_no_fault_of_the_plan():
    own = [Radio("A", 20, 20, keeps=two4(6)), Radio("B", 20, 20, keeps=two4(6)), *radios("C")]
    found = plan(own, every_pair("ABC", 12))
    assert (found.overlap_db, found.least_db, found.proven) == (12, 12, True)


def test_present__by_how_much_it_is_worse():
    """Now: A and B both on 6, C on 8, which is 10 MHz from 6: 30 + 2 x 30 + 2 x 30."""
    now = {"A": two4(6), "B": two4(6), "C": two4(8)}
    found = plan(radios("ABC", **now), every_pair("ABC", 30))
    assert (found.present_db, found.worse_db) == (150, 150)


def test_present__unknown_is_not_guessed():
    assert plan(radios("AB", A=two4(1)), every_pair("AB", 30)).worse_db is None


def test_present__what_is_well_stays():
    """Nothing overlaps now, so nothing is moved, though other plans are as good."""
    now = {"A": two4(11), "B": two4(1), "C": two4(6)}
    found = plan(radios("ABC", **now), every_pair("ABC", 30))
    assert {one.name: one.channel for one in found.choices} == now and not any(one.moved for one in found.choices)


def test_width__as_wide_as_overlap_allows():
    """Europe has four blocks of 80 MHz at 5 GHz: four radios take one each; a fifth makes some narrower, never overlapping."""
    four = plan(radios("ABCD", 20, 80), every_pair("ABCD", 30), air=airs("5 GHz", EUROPE))
    assert (four.overlap_db, four.width_mhz) == (0, 320)
    five = plan(radios("ABCDE", 20, 80), every_pair("ABCDE", 30), air=airs("5 GHz", EUROPE))
    assert (five.overlap_db, five.width_mhz) == (0, 4 * 80 + 40)  # 132 and 136 are left for the fifth


def test_width__at_least_what_the_rooms_need():
    found = plan(
        [Radio("A", 40, 80), Radio("B", 40, 80), Radio("C", 20, 80)],
        every_pair("ABC", 30),
        air=airs("5 GHz", EUROPE, radar=False),
    )
    widths = {one.name: one.channel.width_mhz for one in found.choices}
    assert found.overlap_db > 0 and widths["A"] >= 40 and widths["B"] >= 40
    assert not any(one.narrow for one in found.choices)


def test_width__where_the_place_has_none_so_wide_it_is_said():
    found = plan([Radio("A", 80, 80)], {}, air=airs("5 GHz", EUROPE, without=(44, 60, 104, 120)))
    assert found.choices[0].channel.width_mhz == 40 and found.choices[0].narrow


def test_radar__is_shunned_among_equals_and_barred_when_told():
    """Two radios of 80 MHz fit on 36 to 48 and 149 to 161 in the US without listening for radar."""
    found = plan(radios("AB", 20, 80), every_pair("AB", 30), air=airs("5 GHz", US))
    assert {one.channel.parts[0] for one in found.choices} == {36, 149}
    barred = airs("5 GHz", US, radar=False)
    assert {part for one in barred[0] for part in one.channel.parts} == {36, 40, 44, 48, 149, 153, 157, 161, 165}


def test_found_late__is_shunned_among_equals_at_6_ghz():
    found = plan(radios("ABCDEF"), every_pair("ABCDEF", 30), air=airs("6 GHz", EUROPE, most_mhz=20))
    assert sorted(one.channel.parts[0] for one in found.choices) == [5, 21, 37, 53, 69, 85]


def test_outdoors__channels_for_indoors_do_not_count():
    parts = {part for one in airs("5 GHz", EUROPE, outdoors=True)[0] for part in one.channel.parts}
    assert min(parts) == 100
    assert airs("6 GHz", EUROPE, outdoors=True) == ()


@pytest.mark.parametrize("rules", [US, EUROPE])
@pytest.mark.parametrize("band", ["2.4 GHz", "5 GHz", "6 GHz"])
def test_airs__channels_of_a_list_are_apart_or_inside_each_other(rules, band):
    for listed in airs(band, rules, low_power=True, most_mhz=320):
        for one, other in itertools.combinations([allowed.channel for allowed in listed], 2):
            a, b = set(one.parts), set(other.parts)
            assert a < b or b < a or meeting(one, other) == "free"


def test_many__more_than_a_table_holds_says_what_is_proven():
    """Twenty radios that all hear each other alike on three channels: 6, 7 and 7 on each, 15 + 21 + 21 pairs of 4 dB."""
    names = [f"R{number}" for number in range(20)]
    found = channel_plan(radios(names), every_pair(names, 4), [], airs(), step_limit=50)
    assert found.overlap_db == 228 and found.least_db <= 228
    assert found.overlap_proven == (found.least_db == 228)


@pytest.mark.parametrize(
    ("eirp_dbm", "loss_db", "weight"),
    [(20, 80, 25), (20, 105, 0), (20, 130, 0), (22, 100.5, 6), (22, 101.5, 6)],
)
def test_weight__db_above_85_below_a_milliwatt_halves_to_even(eirp_dbm, loss_db, weight):
    assert pair_weight(eirp_dbm=eirp_dbm, loss_db=loss_db) == weight


def test_least_width__by_the_rooms_rate():
    assert [least_width_mhz(rate_mbps=rate) for rate in (10, 60, 61, 250, 251)] == [20, 20, 40, 40, 80]


def test_requests__that_cannot_be_answered_say_why():
    with pytest.raises(ValueError, match="named twice"):
        plan(radios("AA"), {})
    with pytest.raises(ValueError, match="allow at least one"):
        channel_plan(radios("A"), {}, [], (), step_limit=1)
    with pytest.raises(ValueError, match="allow a narrower"):
        plan([Radio("A", 5, 10)], {})


def test_nobody__is_an_empty_plan():
    found = plan([], {})
    assert found.choices == () and found.overlap_db == 0 and found.proven


@pytest.mark.parametrize(("many", "most_s"), [(13, 1.0), (15, 10.0)])
def test_speed__a_crowded_building_with_strangers_everywhere_is_proven_in_time(many, most_s):
    """Everybody hears everybody and a stranger on each of the 19 channels, so that no two blocks are alike. CPU time."""
    names = [f"R{number}" for number in range(many)]
    weights = {(a, b): 1 + (i * 37) % 48 for i, (a, b) in enumerate(itertools.combinations(names, 2))}
    air = airs("5 GHz", EUROPE, most_mhz=160)
    singles = [one.channel for one in air[0] if len(one.channel.parts) == 1]
    strangers = [
        Stranger(channel.name, channel, {name: (i * 7 + channel.parts[0]) % 20 for i, name in enumerate(names)})
        for channel in singles
    ]
    start = time.process_time()
    found = plan(radios(names, 20, 160), weights, strangers, air)
    took_s = time.process_time() - start
    assert found.proven and found.steps == 0
    assert took_s <= most_s

"""The cheapest test that could change what is said of a run.

Outside reasons: what each test can tell (jacket marks give a length, a wire map gives pairs, a device that ran gives a
rate), and the minutes of common practice. That a test which cannot change the answer is not asked for is the point.
"""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.cables import cable_kind, cable_kinds
from pullstring.copper.capability import Margin, Reason, RunFacts, judge_data
from pullstring.copper.next_test import tests_at_hand as at_hand
from pullstring.copper.next_test import worth_testing
from pullstring.model.answers import Interval

SHORT = Interval.exact(20.0, "m")
ALL = ("meter", "wire mapper", "link tester")


def facts(name="cat5e", **said):
    known = {
        "whole_pairs": 4, "twisted": None, "joints": 0, "taps": 0, "shorted_pairs": 0, "ran_mbps": None, "length": SHORT,
    }  # fmt: skip
    return RunFacts(kind=cable_kind(name), **{**known, **said})


def names(found):
    return [worth.test.name for worth in found]


def test_worth__a_whole_data_cable_of_known_length_needs_no_test():
    assert worth_testing(facts(), ALL) == ()


@pytest.mark.parametrize(
    ("said", "kit", "first"),
    [
        ({"whole_pairs": None}, ALL, "pin_out"),
        ({"whole_pairs": None}, ("link tester",), "link_test"),
        ({"length": None}, (), "marks"),
        ({"taps": 1}, (), "part_first"),
        ({"joints": 1}, ALL, "link_test"),
        ({"name": "unknown", "whole_pairs": 4}, (), "look"),
    ],
)
def test_worth__the_first_test(said, kit, first):
    assert names(worth_testing(facts(**said), kit))[0] == first


def test_worth__kit_that_is_not_at_hand_comes_last_and_is_told():
    found = worth_testing(facts(whole_pairs=None, length=None), ())
    assert [w.at_hand for w in found] == sorted((w.at_hand for w in found), reverse=True)
    assert not next(w for w in found if w.test.name == "pin_out").at_hand


def test_worth__a_tap_and_a_splice_change_the_next_test():
    """The plain run needs nothing; with a tap somebody must part it; with a splice only a device can tell."""
    plain, margin = facts(), {100: Margin(-2.0, 4.0, Reason.NOTCH), 1000: Margin(-9.0, -1.0, Reason.NOTCH)}
    tapped = dataclasses.replace(plain, taps=1, margins=margin)
    assert names(worth_testing(plain, ALL)) == []
    assert set(names(worth_testing(tapped, ALL))) == {"link_test", "part_first"}


def test_worth__two_pairs_that_ran_at_100_have_nothing_left_to_prove():
    assert "link_test" not in names(worth_testing(facts(whole_pairs=2, ran_mbps=100.0), ALL))
    assert "link_test" in names(worth_testing(facts("cat5", whole_pairs=4, ran_mbps=100.0), ALL))


@given(
    name=st.sampled_from(list(cable_kinds())),
    whole=st.sampled_from([None, 0, 1, 2, 3, 4]),
    taps=st.integers(0, 2),
    joints=st.integers(0, 2),
    length=st.sampled_from([None, SHORT, Interval(10, 120, "m")]),
    kit=st.sets(st.sampled_from(ALL)),
)
def test_worth__every_test_told_could_change_the_headline(name, whole, taps, joints, length, kit):
    start = facts(name, whole_pairs=whole, taps=taps, joints=joints, length=length)
    now = judge_data(start)
    for worth in worth_testing(start, kit):
        ends = {(end.mbps, end.band) for end in (worth.worst, worth.best)}
        assert ends != {(now.mbps, now.band)}
        assert worth.at_hand == (not worth.test.kit or bool(worth.test.kit & kit))


def test_tests__have_minutes_and_a_word_for_where_they_come_from():
    assert all(test.minutes > 0 for test in at_hand())
    assert len({test.name for test in at_hand()}) == len(at_hand())


def test_worth__a_length_that_is_known_well_enough_is_not_measured_again():
    """60 to 70 m changes nothing; 60 to 150 m could be beyond the reach, and marks would tell."""
    assert "marks" not in names(worth_testing(facts(length=Interval(60, 70, "m")), ALL))
    assert "marks" in names(worth_testing(facts(length=Interval(60, 150, "m")), ALL))
    found = next(w for w in worth_testing(facts(length=Interval(60, 150, "m")), ALL) if w.test.name == "marks")
    assert (found.best.mbps, found.best.band.value) == (1000, "likely") and found.worst.band.value != "likely"

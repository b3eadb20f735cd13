"""Which rates a standard promises over a run. Outside reasons: TIA-568 categories, 90 m of fixed cable, 13 mm of untwist
(75 mm for Category 3), less length in heat by clause 6.4.7 (83.3 m at 40 C, 75.0 m at 60 C); IEEE 802.3 clauses 14, 25, 40."""

import pytest

from pullstring.copper.by_standard import promised
from pullstring.copper.makeup import Branch, Makeup, Splice, Stretch
from pullstring.model.answers import Interval

ALL = [10, 100, 1000]


def stretch(jacket="cat5e", length=50.0, untwisted=0.026, cord=False, screened=False):
    return Stretch(
        jacket,
        Interval.exact(length, "m"),
        Interval.exact(20, "C"),
        Interval.exact(untwisted, "m"),
        None,
        cord,
        screened,
    )


def rates(*parts, hottest=None):
    return sorted(promised(Makeup(parts, 4), hottest_c=hottest))


@pytest.mark.parametrize(
    ("jacket", "wanted"),
    [
        ("cat3", [10]),
        ("cat5", [10, 100, 1000]),
        ("cat5e", [10, 100, 1000]),
        ("cat6a", [10, 100, 1000]),
        ("quad", []),
        ("unknown", []),
    ],
)
def test_by_category(jacket, wanted):
    assert rates(stretch(jacket)) == wanted


def test_the_least_category_of_the_run_counts():
    assert rates(stretch("cat6", 20), stretch("cat3", 20)) == [10]


@pytest.mark.parametrize(
    ("length", "hottest", "holds"),
    [(90, None, True), (90.1, None, False), (90, 20, True), (90, 40, False), (83, 40, True), (84, 40, False), (75, 60, True),
     (75.1, 60, False), (10, 61, False), (90, 5, True)],
)  # fmt: skip
def test_length_and_heat(length, hottest, holds):
    assert bool(rates(stretch(length=length), hottest=hottest)) == holds


def test_a_screen_takes_heat_better():
    assert rates(stretch(length=86, screened=True), hottest=40) and not rates(stretch(length=86), hottest=40)


def test_a_cord_does_not_count_as_fixed_cable():
    assert rates(stretch(length=89), stretch(length=5, cord=True))


@pytest.mark.parametrize(
    "part", [Splice("splice"), Splice("loop"), Branch(stretch(length=1), None)], ids=["splice", "loop", "branch"]
)
def test_nothing_is_promised_over_a_joint_or_with_a_branch(part):
    assert rates(stretch(), part, stretch()) == []


@pytest.mark.parametrize(
    ("jacket", "untwisted", "wanted"),
    [("cat5e", 0.026, [10, 100, 1000]), ("cat5e", 0.03, []), ("cat3", 0.15, [10]), ("cat3", 0.16, [])],
)
def test_untwisted_beyond_the_limit_of_both_ends(jacket, untwisted, wanted):
    assert rates(stretch(jacket, untwisted=untwisted)) == wanted


def test_no_cable__no_promise():
    assert rates() == [] and rates(Splice("splice")) == []


def test_untwist_that_nobody_looked_at_counts_at_its_worst():
    open_ = Stretch(
        "cat5e", Interval(10, 12, "m"), Interval.exact(20, "C"), Interval(0.0, 0.05, "m"), None, False, False
    )
    assert rates(open_) == []

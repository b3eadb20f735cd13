"""Which rate a run may carry.

Reasons outside the code: pairs per rate (IEEE 802.3 clauses 14, 25, 40: the count read, the reach from
memory), 90 m of fixed run (TIA-568, read), no splice or tap in a data run (ANSI/TIA/EIA-568-B.1, read), quad
links at 10 and fails at 100 (read in an article on old wiring). How far each lowers the band is ours.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.copper.cables import cable_kind, cable_kinds
from pullstring.copper.capability import Reason, RunFacts, judge_data
from pullstring.model.answers import Band, Interval

ORDER = list(Band)


def judged(name, **said):
    facts = {
        "whole_pairs": 4, "twisted": None, "joints": 0, "taps": 0, "shorted_pairs": 0, "ran_mbps": None,
        "length": Interval(20, 30, "m"),
    }  # fmt: skip
    return judge_data(RunFacts(kind=cable_kind(name), **{**facts, **said}))


def headline(got):
    return got.mbps, got.band, got.reason


@pytest.mark.parametrize(
    ("name", "said", "wanted"),
    [
        ("cat5e", {}, (1000, Band.LIKELY, Reason.KIND)),
        ("cat6", {}, (1000, Band.LIKELY, Reason.KIND)),
        ("cat5", {}, (100, Band.LIKELY, Reason.KIND)),
        ("cat3", {}, (10, Band.LIKELY, Reason.KIND)),
        ("cat5e", {"whole_pairs": 2}, (100, Band.LIKELY, Reason.KIND)),
        ("cat5e", {"whole_pairs": 3}, (100, Band.LIKELY, Reason.KIND)),
        ("cat5e", {"whole_pairs": 1}, (0, Band.NO, Reason.TOO_FEW_PAIRS)),
        ("cat5e", {"whole_pairs": None}, (1000, Band.POSSIBLE, Reason.PAIRS_UNKNOWN)),
        ("cat5e", {"whole_pairs": None, "shorted_pairs": 1}, (100, Band.POSSIBLE, Reason.PAIRS_UNKNOWN)),
        ("cat5e", {"joints": 1}, (10, Band.UNLIKELY, Reason.SPLICED)),
        ("cat5e", {"taps": 1}, (10, Band.UNLIKELY, Reason.TAPPED)),
        ("cat5e", {"taps": 2}, (10, Band.UNLIKELY, Reason.TAPPED)),
        ("cat5e", {"joints": 3}, (10, Band.UNLIKELY, Reason.SPLICED)),
        ("cat5e", {"twisted": False}, (10, Band.POSSIBLE, Reason.UNTWISTED)),
        ("quad", {"whole_pairs": 2}, (10, Band.POSSIBLE, Reason.UNTWISTED)),
        ("quad", {"whole_pairs": 2, "twisted": True}, (10, Band.POSSIBLE, Reason.UNTWISTED)),
        ("drop wire", {"whole_pairs": None}, (0, Band.NO, Reason.TOO_FEW_PAIRS)),
        ("coax", {"whole_pairs": None}, (0, Band.NO, Reason.TOO_FEW_PAIRS)),
        ("what?", {"whole_pairs": None, "length": None}, (100, Band.POSSIBLE, Reason.KIND_UNKNOWN)),
        ("cat5e", {"length": None}, (1000, Band.POSSIBLE, Reason.LENGTH_UNKNOWN)),
        ("cat3", {"ran_mbps": 100}, (100, Band.LIKELY, Reason.RAN)),
        ("quad", {"whole_pairs": None, "ran_mbps": 10, "taps": 2}, (10, Band.LIKELY, Reason.RAN)),
        ("cat5e", {"ran_mbps": 1000, "joints": 1, "length": None}, (1000, Band.LIKELY, Reason.RAN)),
    ],
)
def test_judge_data__headline(name, said, wanted):
    assert headline(judged(name, **said)) == wanted


def test_judge_data__cat3_is_likely_at_10_and_possible_at_100():
    assert [rate.band for rate in judged("cat3").rates] == [Band.LIKELY, Band.POSSIBLE, Band.UNLIKELY]


def test_judge_data__two_whole_pairs_stop_at_100():
    got = judged("cat6", whole_pairs=2).rates
    assert (got[2].band, got[2].reason) == (Band.NO, Reason.TOO_FEW_PAIRS)
    assert got[1].band is Band.LIKELY


def test_judge_data__ran_at_1000_but_two_pairs_are_whole_is_two_accounts():
    """No device runs 1000BASE-T over two pairs; neither account may win by itself."""
    got = judged("cat5e", whole_pairs=2, ran_mbps=1000)
    assert (got.rates[2].band, got.rates[2].reason) == (Band.POSSIBLE, Reason.RAN_AGAINST_PAIRS)
    assert headline(got) == (100, Band.LIKELY, Reason.RAN)


def test_judge_data__ran_at_100_says_nothing_of_1000():
    got = judged("cat5e", ran_mbps=100, joints=1)
    assert headline(got) == (100, Band.LIKELY, Reason.RAN)
    assert (got.rates[2].band, got.rates[2].reason) == (Band.UNLIKELY, Reason.SPLICED)


@pytest.mark.parametrize(
    ("low", "high", "bands"),
    [
        (80, 90, (Band.LIKELY, Band.LIKELY)),
        (80, 91, (Band.POSSIBLE, Band.POSSIBLE)),
        (100, 140, (Band.POSSIBLE, Band.POSSIBLE)),
        (101, 140, (Band.POSSIBLE, Band.UNLIKELY)),
        (184, 190, (Band.UNLIKELY, Band.UNLIKELY)),
    ],
)
def test_judge_data__length_lowers_10_and_1000(low, high, bands):
    """90 m of fixed run, 100 m of channel; 10BASE-T to 183 m by its delay limit."""
    got = judged("cat5e", length=Interval(low, high, "m")).rates
    assert (got[0].band, got[2].band) == bands


def test_judge_data__a_spliced_run_still_carries_a_telephone():
    got = judged("quad", whole_pairs=1, joints=2)
    assert (got.band, got.telephone) == (Band.NO, Band.LIKELY)
    assert judged("quad", whole_pairs=0).telephone is Band.NO
    assert judged("quad", whole_pairs=None).telephone is Band.POSSIBLE


FACTS = st.fixed_dictionaries(
    {
        "whole_pairs": st.sampled_from([None, None, 4, 4, 4, 5, 3, 2, 1, 0]),
        "twisted": st.sampled_from([None, True, True, False]),
        "joints": st.sampled_from([0, 0, 0, 1, 2]),
        "taps": st.sampled_from([0, 0, 1, 1, 2]),
        "shorted_pairs": st.integers(0, 4),
        "ran_mbps": st.sampled_from([None, 10.0, 100.0, 1000.0]),
        "length": st.builds(
            lambda low, more: Interval(low, low + more, "m"),
            st.floats(0, 60) | st.floats(0, 250),
            st.floats(0, 80),
        ),
    }
)
WORSE = {
    "longer": lambda f, x: {"length": Interval(f["length"].low + x, f["length"].high + x, "m")},
    "length lost": lambda f, x: {"length": None} if f["length"].high <= 90 else {},
    "one tap more": lambda f, x: {"taps": f["taps"] + 1},
    "one joint more": lambda f, x: {"joints": f["joints"] + 1},
    "one pair less": lambda f, x: {"whole_pairs": max(f["whole_pairs"] - 1, 0)} if f["whole_pairs"] else {},
    "one pair shorted": lambda f, x: {"shorted_pairs": f["shorted_pairs"] + 1},
    "seen untwisted": lambda f, x: {"twisted": False},
    "never ran": lambda f, x: {"ran_mbps": None} if _ran_is_no_conflict(f) else {},
}


def _ran_is_no_conflict(facts):
    return facts["whole_pairs"] is None or facts["whole_pairs"] >= 4


@pytest.mark.parametrize("how", WORSE)
@given(name=st.sampled_from(list(cable_kinds())), facts=FACTS, more=st.floats(0, 100))
def test_judge_data__worse_facts_never_raise_a_band(how, name, facts, more):
    kind = cable_kind(name)
    before = judge_data(RunFacts(kind=kind, **facts))
    after = judge_data(RunFacts(kind=kind, **{**facts, **WORSE[how](facts, more)}))
    for one, other in zip(before.rates, after.rates, strict=True):
        assert ORDER.index(other.band) >= ORDER.index(one.band)
    assert (ORDER.index(after.band), -after.mbps) >= (ORDER.index(before.band), -before.mbps)
    assert ORDER.index(after.telephone) >= ORDER.index(before.telephone)


@given(name=st.sampled_from(list(cable_kinds())), facts=FACTS)
def test_judge_data__headline_is_one_of_its_rates_and_a_faster_rate_is_never_likelier(name, facts):
    got = judge_data(RunFacts(kind=cable_kind(name), **facts))
    ranks = [ORDER.index(rate.band) for rate in got.rates]
    assert ranks == sorted(ranks)
    assert ORDER.index(got.band) == min(ranks)
    assert (got.mbps == 0) == (got.band is Band.NO)

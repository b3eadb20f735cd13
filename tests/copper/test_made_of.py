"""From the record to the parts of a run, and the whole way to its estimate. Outside reason: what is noted, row by row."""

import pytest

from pullstring.copper.estimated import estimate, estimated_runs, kit_at_hand
from pullstring.copper.judged import judged_runs
from pullstring.copper.made_of import made_of
from pullstring.model.answers import Band
from tests.notice.lines import site

ONE = """
rooms room=CL closet=yes
cables cable=C1 jacket=cat5e pairs=4 length_m=40 gauge_awg=24 temperature_c=45 screened=yes grade=seen
ends end=E1 cable=C1 room=CL untwisted_m=0.02 grade='pinned out'
ends end=F1 cable=C1 ends_at=outlet:O1 grade='pinned out'
outlets outlet=O1
"""
SPLICED = ONE.replace(" ends_at=outlet:O1", "") + (
    "cables cable=C2 jacket=quad pairs=2 length_m=10 grade=seen\nends end=E2 cable=C2 grade='pinned out'\n"
    "ends end=F2 cable=C2 ends_at=outlet:O1 grade='pinned out'\njoints joint=J1 style=splice ends='end:F1 end:E2' grade=seen\n"
)
TAP = (
    "cables cable=T jacket=cat5e pairs=4 {length}\nends end=Ta cable=T\njoints joint=Q style=tap ends='end:E1 end:Ta'\n"
)


def made(text):
    here = site(text)
    judged = next(j for j in judged_runs(here) if j.run.start.tag == "E1")
    return made_of(here, judged.run, judged.facts)


def test_one_cable__all_that_is_noted():
    found = made(ONE)
    (stretch,) = found.makeup.parts
    assert (stretch.jacket, stretch.awg.low, stretch.screened, stretch.cord) == ("cat5e", 24, True, False)
    assert stretch.length_m.low <= 40 <= stretch.length_m.high
    assert (stretch.temperature_c.low, stretch.temperature_c.high) == (25, 45)  # the hottest place and 20 less
    assert (stretch.untwisted_m.low, round(stretch.untwisted_m.high, 3)) == (
        0.02,
        0.033,
    )  # one end noted, 13 mm for the other
    assert found.makeup.good_pairs == 4
    assert "temperature_10_30" not in found.assumed and "untwist_by_standard" in found.assumed


def test_splice__both_cables_with_the_joint_between():
    parts = made(SPLICED).makeup.parts
    assert [type(p).__name__ for p in parts] == ["Stretch", "Splice", "Stretch"]
    assert [parts[0].jacket, parts[1].kind, parts[2].jacket] == ["cat5e", "splice", "quad"]
    assert parts[2].length_m.low <= 10 <= parts[2].length_m.high


def test_splice__what_is_left_over_goes_to_the_cable_without_a_length():
    """Loop ohms of the whole way give the total; 40 m of it are known."""
    text = SPLICED.replace(" length_m=10", " gauge_awg=24") + (
        "measurements subject=end:E1 quantity='loop resistance' value='8.42 ohm' grade=metered "
        "conditions='far end shorted, leads taken off, 20 C'\n"
    )
    tail = made(text).makeup.parts[2]
    assert tail.length_m.low <= 10 <= tail.length_m.high  # 8.42 ohm is 50 m of 24 AWG
    assert tail.length_m.high < 20


@pytest.mark.parametrize(("length", "low", "high"), [("length_m=3 grade=seen", 2.8, 3.2), ("", 0, 30)])
def test_tap__its_length_as_noted_or_the_whole_spread(length, low, high):
    found = made(ONE + TAP.format(length=length))
    (branch,) = found.makeup.branches
    assert low <= branch.stretch.length_m.low <= branch.stretch.length_m.high <= high
    assert ("unknown_branch_0_30" in found.assumed) == (length == "")


def test_unknown_length__is_taken_as_0_to_90_and_told():
    found = made(ONE.replace(" length_m=40", ""))
    assert (found.makeup.parts[0].length_m.low, found.makeup.parts[0].length_m.high) == (0, 90)
    assert "unknown_length_0_90" in found.assumed


def test_length_beyond_all_reason__is_answered_and_carries_nothing():
    here = site(ONE.replace("length_m=40", "length_m=500000"))
    (found,) = estimated_runs(here, kit=())
    assert all(rate.band in (Band.UNLIKELY, Band.NO) for rate in found.capability.rates)


def test_cord__carries_the_run_on_and_is_no_branch():
    text = ONE + (
        "cables cable=P jacket=cord length_m=5 grade=seen\nends end=Pa cable=P plugged=outlet:O1\nends end=Pb cable=P\n"
    )
    found = made(text)
    assert not found.makeup.branches
    assert [p.cord for p in found.makeup.parts] == [False, True]
    here = site(text)
    assert next(j for j in judged_runs(here) if j.run.start.tag == "E1").facts.taps == 0


def test_because__holds_what_the_parts_were_made_from():
    here = site(ONE)
    (found,) = estimated_runs(here, kit=())
    noted = {
        here.get(found.judged.run.cables[0]).fields[n].last.entry for n in ("jacket", "temperature_c", "gauge_awg")
    }
    assert noted <= set(found.made.because)


def test_estimate__a_3_m_tap_a_splice_and_heat_change_band_reason_and_next_test():
    """The plain run needs nothing more; tapped and spliced it is not to be counted on."""
    plain, changed = (
        estimate(here, next(j for j in judged_runs(here) if j.run.start.tag == "E1"), kit=("link tester",))
        for here in (
            site(ONE.replace("temperature_c=45", "temperature_c=20")),
            site(SPLICED + TAP.format(length="length_m=3 grade=seen")),
        )
    )
    assert (plain.capability.mbps, plain.capability.band, [w.test.name for w in plain.worth]) == (1000, Band.LIKELY, [])
    assert plain.capability.rates[1].band is Band.LIKELY and changed.capability.rates[1].band is Band.UNLIKELY
    notch = next(m for m in changed.margins if m.name == "100BASE-TX").notch
    assert notch is not None and notch.frequency.low < 16.2e6 < notch.frequency.high  # 3 m at 0.65 of light: 16.2 MHz
    assert [w.test.name for w in changed.worth] == [
        "link_test"
    ]  # parted it would still be spliced: only a device can tell
    tapped = next(iter(estimated_runs(site(ONE + TAP.format(length="length_m=3 grade=seen")), kit=("link tester",))))
    assert {"part_first", "link_test"} <= {w.test.name for w in tapped.worth}


def test_kit__of_the_record():
    assert kit_at_hand(site("kit kit=K1 style=meter\nkit kit=K2 style=probe state=removed\n")) == {"meter"}


def test_joint__its_style_and_only_the_one_between_the_two():
    loop = (
        SPLICED.replace("style=splice", "style=loop")
        + "joints joint=J0 style=series ends='end:Z1 end:Z2'\nends end=Z1\nends end=Z2\n"
    )
    assert made(loop).makeup.splices[0].kind == "loop"
    gone = made(
        SPLICED + "claims subject=end:F1 relation=joined object=end:E2 grade=seen\njoints joint=J1 state=removed\n"
    )
    assert [s.kind for s in gone.makeup.splices] == ["splice"]


def test_gauge_of_0__is_a_gauge():
    assert made(ONE.replace("gauge_awg=24", "gauge_awg=0")).makeup.parts[0].awg.low == 0


def test_what_is_left_over__is_as_wide_as_both_spreads():
    """A total of 45 to 55 m less 38 to 42 m leaves 3 to 17 m, not less."""
    import dataclasses

    from pullstring.model.answers import Interval

    here = site(SPLICED.replace(" length_m=10", ""))
    judged = next(j for j in judged_runs(here) if j.run.start.tag == "E1")
    facts = dataclasses.replace(judged.facts, length=Interval(45, 55, "m"))
    tail = made_of(here, judged.run, facts).makeup.parts[2].length_m
    head = made_of(here, judged.run, facts).makeup.parts[0].length_m
    assert (tail.low, tail.high) == pytest.approx((45 - head.high, 55 - head.low))


@pytest.mark.parametrize(("broken", "trap"), [("", False), ("4", True), ("3 4", True), ("2 3 4", False)])
def test_two_gigabit_ports__never_come_up_over_two_or_three_pairs(broken, trap):
    text = ONE + "".join(f"pairs pair=C1.{n} condition=open grade=seen\n" for n in broken.split())
    (found,) = estimated_runs(site(text), kit=())
    assert found.two_pairs_trap == trap


def test_heat__the_hottest_cable_of_the_run_counts():
    """80 m, 84 at most, are promised at 20 C and not at 60 C, where 75 m are (TIA-568-C.2 clause 6.4.7)."""
    straight = ONE.replace("untwisted_m=0.02", "untwisted_m=0.013")
    cool = straight.replace("length_m=40", "length_m=80").replace("temperature_c=45", "temperature_c=20")
    warm = cool.replace("temperature_c=20", "temperature_c=60")
    bands = [next(iter(estimated_runs(site(text), kit=()))).capability.rates[2].band for text in (cool, warm)]
    assert bands[0] is Band.LIKELY and bands[1] is not Band.LIKELY

"""What the readings on a run say, from the record.

Reasons outside the code: 24 AWG 8.42 ohm for 100 m at 20 C (wire table, read), so 27 m loop 4.55 ohm; data cable 46 to 56 pF/m
(56 the limit of TIA-568, from memory), so 27 m are 1.24 to 1.51 nF; marks 412 and 439, 0.36 and 0.52 nF, resistors of 3.9k and
4.7k read together as 2131 ohm: worked values of the invented demo property. What a meter leaves open is ours.
"""

import dataclasses
import random

import pytest

from pullstring.copper.conditions import Far, parse_conditions
from pullstring.copper.expected import Verdict
from pullstring.copper.lengths import Source
from pullstring.copper.line import conductor_ohm_per_m
from pullstring.copper.open_pairs import By
from pullstring.copper.read import length_of_run, readings_of_run
from pullstring.copper.readings import Cause
from pullstring.copper.taken import Rejected
from pullstring.model.replay import replay
from pullstring.model.wiring import runs
from tests.notice.lines import TODAY, entries, site

ROOMS = "rooms room=CL closet=yes\nrooms room=R1\n"
MARKED = ("mark_m=412", "mark_m=439")
SHORT = "pair 1, shorted at the outlet, leads taken off, 20 C"
OPEN = "pair 1, far end open"


def cable(n=1, *, more="jacket=cat5e gauge_awg=24", marks=("", "")):
    return (
        f"cables cable=C{n} pairs=4 {more} grade=seen\n"
        f"ends end=E{n} cable=C{n} room=CL grade=seen {marks[0]}\nends end=X{n} cable=C{n} room=R1 grade=seen {marks[1]}\n"
    )


def read(quantity, value, conditions="", *, on="end:E1", at="2026-03-03T10:00+01:00"):
    said = f"conditions='{conditions}'" if conditions else ""
    return f"measurements subject={on} quantity='{quantity}' value='{value}' grade=metered {said} at={at}\n"


def quiet(on="end:E1"):
    at = "2026-03-03T09:00+01:00"
    return read("volts DC", "none", "all pairs", on=on, at=at) + read("volts AC", "none", "all pairs", on=on, at=at)


def first(found):
    return next(r for r in runs(found) if r.start.tag == "E1")


def length(text):
    found = site(ROOMS + text)
    return length_of_run(found, first(found))


def said(text):
    found = site(ROOMS + text)
    return readings_of_run(found, first(found))


def about(interval, low, high, rel=0.02):
    return (interval.low, interval.high) == (pytest.approx(low, rel=rel), pytest.approx(high, rel=rel))


# --- one source alone ---------------------------------------------------------------------------------------------


def test_length__marks_of_both_ends():
    got = length(cable(marks=MARKED))
    assert about(got.interval, 26, 28) and got.interval.inputs == ("mark_m",)
    assert (got.narrowest, got.agree) == (Source.MARKS, None)
    assert got.assumed == () and len(got.because) == 2


def test_length__loop_of_known_gauge_is_narrow_and_of_unknown_gauge_wide():
    """4.55 ohm: 27.0 m of 24 AWG; in a quad of 22 to 26 AWG 17 to 43 m (5.296, 13.39 ohm for 100 m)."""
    known = length(cable() + read("loop resistance", "4.55 ohm", SHORT))
    wide = length(cable(more="jacket=quad") + read("loop resistance", "4.55 ohm", SHORT))
    assert about(known.interval, 27.0 * 0.979, 27.0 * 1.021, rel=0.002)
    assert about(wide.interval, 4.4545 / 0.2678, 4.6455 / 0.1059, rel=0.01)
    assert known.interval.inputs == ("loop_ohm",) and "awg" in wide.interval.inputs


def test_length__temperature_from_the_conditions_else_noted_else_assumed():
    silent = SHORT.replace(", 20 C", "")
    by_reading = length(cable() + read("loop resistance", "4.55 ohm", SHORT))
    assumed = length(cable() + read("loop resistance", "4.55 ohm", silent))
    hot = length(cable(more="jacket=cat5e gauge_awg=24 temperature_c=50") + read("loop resistance", "4.55 ohm", silent))
    assert "temperature" in assumed.assumed and "temperature" not in by_reading.assumed + hot.assumed
    assert assumed.interval.high - assumed.interval.low > by_reading.interval.high - by_reading.interval.low
    assert hot.interval.low == pytest.approx(by_reading.interval.low / (1 + 0.00393 * 30), rel=1e-6)


@pytest.mark.parametrize(
    ("jacket", "value", "truth_m"), [("quad", "0.36 nF", 7), ("cat5", "0.52 nF", 10), ("cat5", "1.096 nF", 20.65)]
)
def test_length__demo_capacitances_hold_the_true_length(jacket, value, truth_m):
    got = length(cable(more=f"jacket={jacket}") + read("capacitance", value, "pair 1"))
    assert got.interval.low <= truth_m <= got.interval.high
    assert "far_open" in got.assumed


def test_length__tape_and_notes_by_their_grade():
    """5 % of a seen length, 10 % of a told one, 15 % of an assumed one; a tape within 2 % and 0.1 m."""
    for grade, low, high in (("seen", 19, 21), ("told", 18, 22), ("assumed", 17, 23)):
        lines = f"cables cable=C1 length_m=20 grade={grade}\nends end=E1 cable=C1 room=CL\n"
        assert about(length(lines).interval, low, high)
    assert about(length(cable() + read("length", "20 m", on="cable:C1")).interval, 19.5, 20.5)


def test_length__nothing_known_is_none():
    got = length(cable())
    assert (got.interval, got.sources, got.agree, got.because) == (None, (), None, ())


def test_length__two_cables_in_series_add():
    """27 m by marks and 10 m noted (5 %): 26 + 9.5 to 28 + 10.5."""
    text = cable(1, marks=MARKED) + cable(2, more="jacket=quad length_m=10")
    splice = "joints joint=J1 style=splice ends='end:X1 end:E2' grade=seen\n"
    got = length(text + splice)
    assert got.narrowest is Source.PARTS and about(got.interval, 35.5, 38.5)
    unknown = length(cable(1, marks=MARKED) + cable(2) + splice)
    assert unknown.interval is None, "one part without a length leaves the sum unknown"


def test_series__readings_at_both_outer_ends_count_and_those_on_a_part_do_not():
    text = (
        cable(1)
        + cable(2)
        + "joints joint=J1 style=splice ends='end:X1 end:E2' grade=seen\n"
        + read("loop resistance", "6.7 ohm", SHORT)
        + read("capacitance", "2 nF", OPEN, on="end:X2")
        + read("capacitance", "1 nF", OPEN, on="cable:C2")
    )
    got = length(text)
    assert [s.source for s in got.sources] == [Source.LOOP, Source.CAPACITANCE]
    assert [r.reason for r in got.rejected] == [Rejected.PART_OF_RUN]
    assert [t.taken.side for t in said(text)] == ["near", "far", ""]


def test_length__leads_that_were_not_taken_off_may_be_part_of_it():
    """0.3 ohm of leads are 1.8 m of 24 AWG."""
    off, on = (length(cable() + read("loop resistance", "4.55 ohm", c)).interval for c in (SHORT, "shorted, 20 C"))
    assert on.high == off.high and off.low - on.low == pytest.approx(0.3 / 0.16842, abs=0.01)


def test_length__a_cable_noted_as_cool_may_be_cooler_still():
    """Hottest place 5 C, so from -15 C: the same ohms may be up to 16 % more metres than at 20 C."""
    silent = SHORT.replace(", 20 C", "")
    cool = length(cable(more="jacket=cat5e gauge_awg=24 temperature_c=5") + read("loop resistance", "4.55 ohm", silent))
    at_20 = length(cable() + read("loop resistance", "4.55 ohm", SHORT))
    assert cool.interval.high == pytest.approx(at_20.interval.high / (1 - 0.00393 * 35), rel=1e-6)


def test_length__a_reading_from_marks_is_known_to_a_metre():
    got = length(cable() + read("length", "27 m", "from mark 0412 to mark 0439", on="cable:C1"))
    assert got.narrowest is Source.MARKS and about(got.interval, 26, 28)


def test_length__marks_before_the_tape_and_both_accounts_are_said():
    got = length(cable(marks=MARKED) + read("length", "20 m", on="cable:C1"))
    assert about(got.interval, 26, 28) and [f.causes for f in got.findings] == [(Cause.TWO_ACCOUNTS,)]


def test_row__a_reading_taken_at_the_block_is_one_of_its_end_until_a_clip_there_is_moved():
    rows = "blocks block=B1\nrows row=B1.1\nrows row=B1.2\nends end=E1 ends_at=B1.1 grade=seen\n"
    at_row = read("capacitance", "1.4 nF", OPEN, on="row:B1.1")
    assert said(cable() + rows + at_row)[0].taken.side == "near"
    clip = "acts act=part subject=row:B1.2 object=row:B1.1 grade=seen at=2026-03-10\n"
    assert length(cable() + rows + at_row).interval is not None
    assert length(cable() + rows + FARADS + clip).rejected[0].reason is Rejected.STALE


# --- what does not count ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "value", "conditions", "why"),
    [
        ("loop resistance", "4.55 ohm", "far end open", Rejected.FAR_OPEN),
        ("loop resistance", "4.55 ohm", "not shorted", Rejected.FAR_OPEN),
        ("capacitance", "1.4 nF", "far end shorted", Rejected.FAR_SHORTED),
        ("resistance", "4.55 ohm", "pair 1", Rejected.NOT_SAID_SHORTED),
        ("loop resistance", "none", SHORT, Rejected.NO_VALUE),
        ("loop resistance", "> 2000 ohm", SHORT, Rejected.NO_VALUE),
    ],
)
def test_rejected__far_end_in_the_wrong_state(quantity, value, conditions, why):
    got = length(cable() + read(quantity, value, conditions))
    assert (got.interval, got.because) == (None, ())
    assert [r.reason for r in got.rejected] == [why]


def test_silent_conditions__the_right_state_is_assumed_and_listed():
    got = length(cable() + read("loop resistance", "4.55 ohm") + read("capacitance", "1.4 nF"))
    assert {"far_shorted", "far_open", "no_volts", "first_pair", "leads_in_reading"} <= set(got.assumed)
    told = length(cable() + quiet() + read("loop resistance", "4.55 ohm", SHORT) + read("capacitance", "1.4 nF", OPEN))
    assert told.assumed == ()
    assert told.interval.low > got.interval.low, "leads that were not taken off may be 0.3 ohm of it"


@pytest.mark.parametrize(("quantity", "value"), [("volts DC", "-48 V"), ("volts AC", "12 V"), ("volts DC", "> 0.5 V")])
def test_volts__ohms_and_farads_mean_nothing(quantity, value):
    text = cable() + quiet() + read(quantity, value, at="2026-03-03T09:30+01:00")
    got = length(text + read("loop resistance", "4.55 ohm", SHORT) + read("capacitance", "1 uF", OPEN))
    assert got.interval is None and {r.reason for r in got.rejected} == {Rejected.VOLTS}
    assert all(len(r.because) == 1 for r in got.rejected)


def test_volts__another_pair_or_gone_before_the_reading_do_not_matter():
    loop = read("loop resistance", "4.55 ohm", SHORT)
    other = read("volts DC", "48 V", "pair 2", at="2026-03-03T09:30+01:00")
    assert length(cable() + other + loop).interval is not None
    before = read("volts DC", "48 V", "pair 1", at="2026-03-03T08:00+01:00")
    assert length(cable() + before + quiet() + loop).interval is not None
    assert length(cable() + before + loop).interval is None
    after = read("volts DC", "48 V", "pair 1", at="2026-03-04T08:00+01:00")
    assert length(cable() + quiet() + loop + after).interval is not None, "what came later was not there yet"
    assert length(cable() + loop + after).interval is None, "no volts read before it: the first after speaks"


@pytest.mark.parametrize("act", ["cut", "mend"])
def test_stale__cable_worked_on_since(act):
    loop = read("loop resistance", "4.55 ohm", SHORT)
    later = f"acts act={act} subject=cable:C1 grade=seen at=2026-03-10\n"
    earlier = later.replace("2026-03-10", "2026-02-10")
    assert length(cable() + loop + later).rejected[0].reason is Rejected.STALE
    assert length(cable() + loop + earlier).interval is not None


def test_stale__terminated_since():
    text = cable() + "blocks block=B1\nrows row=B1.1\n" + read("capacitance", "1.4 nF", OPEN)
    act = "acts act=terminate subject=end:E1 object=row:B1.1 grade=seen at=2026-03-10\n"
    assert length(text).interval is not None
    assert [r.reason for r in length(text + act).rejected] == [Rejected.STALE]


def test_touching__a_capacitance_with_other_cables_on_it_is_no_length():
    bridged = cable(1) + cable(2) + "joints joint=J1 style=tap ends='end:X1 end:X2' grade=seen\n"
    got = length(bridged + read("capacitance", "1.4 nF", OPEN))
    assert got.interval is None and got.rejected[0].reason is Rejected.TOUCHING
    assert length(bridged + read("capacitance", "1.4 nF", OPEN + ", clip lifted")).interval is not None
    assert length(bridged + read("loop resistance", "4.55 ohm", SHORT)).interval is not None


def test_same_reading_again__the_last_counts():
    again = read("loop resistance", "5.0 ohm", SHORT, at="2026-03-05T10:00+01:00")
    text = cable() + again + read("loop resistance", "4.55 ohm", SHORT)
    got = length(text)
    assert [r.reason for r in got.rejected] == [Rejected.SUPERSEDED]
    assert got.interval.low > 28, "5 ohm are 29.7 m"
    record = entries(ROOMS + text)
    turned = [dataclasses.replace(e, tick=100 - e.tick) if e.id in {x.id for x in record[-2:]} else e for e in record]
    found = replay(turned, today=TODAY)
    assert length_of_run(found, first(found)).interval == got.interval, "the last on site, not the last written down"


# --- something is connected ---------------------------------------------------------------------------------------


def test_ringer__no_length_and_said_so():
    got = length(cable() + read("capacitance", "1 uF", OPEN))
    assert got.interval is None
    assert [(r.reason, r.causes) for r in got.rejected] == [(Rejected.CONNECTED, (Cause.RINGER,))]
    assert said(cable() + read("capacitance", "47 nF", OPEN))[0].causes == (Cause.CAPACITOR,)


@pytest.mark.parametrize("quantity", ["resistance", "loop resistance"])
@pytest.mark.parametrize("conditions", ["", "far end open", SHORT])
def test_resistor_nobody_placed__stop_and_ask_the_company(quantity, conditions):
    """An end-of-line resistor of 4.7k looks like a spare pair of telephone wire (common practice)."""
    text = cable(more="jacket='alarm 4-core'") + read(quantity, "4.7 kohm", conditions)
    got = said(text)[0]
    assert got.stop and got.causes == (Cause.RESISTOR, Cause.STOP_ASK_COMPANY)
    assert got.compared.verdict is Verdict.NOT_COMPARABLE
    assert length(text).interval is None


PLACED = "".join(f"outlets outlet=O{n} room=R1\n" for n in (1, 2, 3)) + "".join(
    f"measurements subject=outlet:{o} quantity='resistor placed' value='{v} ohm' grade=metered at=2026-03-03T08:00+01:00\n"
    for o, v in (("O1", 3900), ("O2", 4700), ("O3", 1200))
)


@pytest.mark.parametrize(
    ("value", "placed"), [("3866.7 ohm", 1), ("2131.4 ohm", 2), ("1209.3 ohm", 1), ("1235 ohm", 1)]
)
def test_resistor_of_the_round__single_or_two_bridged(value, placed):
    """Demo: 3.9k with 4.7k beside it reads 2131 ohm. 1235 is 1.2k of a 1 % part with some 20 ohm of wire."""
    got = said(cable() + PLACED + read("resistance", value, "pair 1"))[0]
    assert got.causes == (Cause.CODED_RESISTOR,) and not got.stop
    assert len(got.because) == 1 + placed
    later = PLACED.replace("2026-03-03", "2026-03-20")
    assert said(cable() + later + read("resistance", value, "pair 1"))[0].stop, "placed only afterwards"


def test_resistor_that_fits_none_of_the_round__stop():
    assert said(cable() + PLACED + read("resistance", "5600 ohm", "pair 1"))[0].stop
    assert said(cable() + PLACED + read("resistance", "300 ohm", "pair 1"))[0].causes[0] is Cause.NOT_COPPER
    leak = said(cable() + PLACED + read("resistance", "2 Mohm", "pair 1"))[0]
    assert leak.causes == (Cause.OPEN_OR_LEAK,) and not leak.stop


@pytest.mark.parametrize(
    ("value", "causes"), [("none", (Cause.OPEN_OR_LEAK,)), ("> 2000 ohm", (Cause.OPEN_OR_LEAK,)), ("> 2 ohm", ())]
)
def test_no_closed_loop__open(value, causes):
    assert length(cable() + read("loop resistance", value, SHORT)).rejected[0].causes == causes


def test_less_than_the_meter_shows__a_length_down_to_nothing():
    """Below 0.1 nF of data cable: at most 2.7 m to the cut."""
    got = length(cable() + read("capacitance", "< 0.1 nF", OPEN)).interval
    assert got.low == 0 and 2.1 < got.high < 2.8
    assert length(cable() + read("loop resistance", "< 1 ohm", SHORT)).interval.low < 0.1


# --- together, and against each other -------------------------------------------------------------------------------

LOOP, FARADS = read("loop resistance", "4.55 ohm", SHORT), read("capacitance", "1.4 nF", OPEN)


def test_agree__the_answer_is_what_all_allow():
    got = length(cable(marks=MARKED) + quiet() + LOOP + FARADS)
    assert got.agree is True and got.narrowest is Source.LOOP
    assert about(got.interval, 26.45, 27.57, rel=0.005)
    assert got.findings == () and got.opens == ()


def test_loop_too_high__splice_or_joint_and_the_ohms_too_many():
    """27 m loop 4.55 ohm; 7 ohm are 2.45 too many, the marks leave 0.17 and the meter 0.12."""
    got = length(cable(marks=MARKED) + FARADS + read("loop resistance", "7 ohm", SHORT))
    (finding,) = got.findings
    assert finding.causes == (Cause.BAD_JOINT, Cause.SPLICE_OR_THINNER) and got.agree is False
    assert finding.amount.low <= 2.45 <= finding.amount.high and finding.amount.unit == "ohm"
    assert finding.amount.high - finding.amount.low < 0.6
    assert about(got.interval, 26, 28), "the marks stand"
    assert Rejected.DISAGREES in [r.reason for r in got.rejected]


def wires(a, b):
    return read("wire resistance", f"{a} ohm", f"wire a, {SHORT}") + read(
        "wire resistance", f"{b} ohm", f"wire b, {SHORT}"
    )


@pytest.mark.parametrize(
    ("a", "b", "causes", "wire"),
    [
        (4.73, 2.27, (Cause.BAD_JOINT,), 1),
        (2.27, 4.73, (Cause.BAD_JOINT,), 2),
        (3.5, 3.5, (Cause.SPLICE_OR_THINNER,), 0),
    ],
)
def test_single_wires__a_bad_joint_told_from_a_hidden_splice(a, b, causes, wire):
    """One wire of 27 m is 2.27 ohm: 4.73 beside it is a joint of 2.46 ohm; 3.5 on both is other wire."""
    text = cable(marks=MARKED) + FARADS + read("loop resistance", "7 ohm", SHORT) + wires(a, b)
    got = length(text)
    assert (got.wires[0].said.cause, got.wires[0].said.wire) == (causes[0], wire)
    assert got.findings[0].causes == causes
    if wire:
        assert got.wires[0].said.extra.low <= 2.46 <= got.wires[0].said.extra.high


def test_single_wires__never_expected_from_the_loop_over_them():
    """The loop has the same fault, so it cannot tell what to expect of its wires."""
    text = cable(marks=MARKED) + LOOP + wires(2.27, 2.27)
    loop, _, _ = said(text)
    got = length(text).wires[0]
    assert got.said.cause is None and loop.taken.reading.entry not in got.because


def test_single_wires__solved_from_three_loops():
    """Wires of 4.73, 2.27 and 2.27 ohm: 7.00, 7.00 and 4.54 between them."""
    three = "".join(
        read("wire resistance", f"{ohm} ohm", f"pair 1, wires {pair}, far end joined, leads taken off, 20 C")
        for pair, ohm in (("1-2", 7.0), ("1 to 3", 7.0), ("2 and 3", 4.54))
    )
    got = length(cable(marks=MARKED) + three).wires[0].said
    assert (got.cause, got.wire) == (Cause.BAD_JOINT, 1)
    assert got.extra.low <= 2.46 <= got.extra.high
    wrong = three.replace("4.54", "24.54")
    assert length(cable(marks=MARKED) + wrong).wires[0].said.cause is Cause.WIRES_DO_NOT_FIT


def test_capacitance_too_high__tap_or_ringer_and_its_metres():
    """3 nF at 46 to 56 pF/m are 54 to 65 m: 25 to 40 m more than the marks."""
    got = length(cable(marks=MARKED) + LOOP + read("capacitance", "3 nF", OPEN))
    (finding,) = got.findings
    assert finding.causes == (Cause.TAP_OR_RINGER,) and finding.source is Source.CAPACITANCE
    assert finding.amount.low <= 25 and finding.amount.high >= 38 and finding.amount.unit == "m"
    assert about(got.interval, 26.45, 27.57, rel=0.005)


def test_both_too_high__a_longer_way_comes_first():
    """9.1 ohm and 2.7 nF are both 54 m: the marks are of another jacket, or misread."""
    got = length(cable(marks=MARKED) + read("loop resistance", "9.1 ohm", SHORT) + read("capacitance", "2.7 nF", OPEN))
    assert {f.causes[0] for f in got.findings} == {Cause.LONGER_WAY} and len(got.findings) == 2


def test_capacitance_too_low__cut_with_both_distances():
    """0.6 nF at 46 to 56 pF/m: 10 to 14 m from here, so 12 to 18 m from there."""
    got = length(cable(marks=MARKED) + read("capacitance", "0.6 nF", OPEN))
    (found,) = got.opens
    assert found.by is By.KIND and found.near.low <= 11.6 <= found.near.high and found.far.low <= 15.4 <= found.far.high
    assert found.near.high + found.far.low >= 26
    assert about(got.interval, 26, 28) and got.findings == ()


def test_cut__read_from_the_far_end_or_only_on_the_cable():
    from_there = length(cable(marks=MARKED) + read("capacitance", "0.6 nF", OPEN, on="end:X1")).opens[0]
    from_here = length(cable(marks=MARKED) + read("capacitance", "0.6 nF", OPEN)).opens[0]
    assert (from_there.near, from_there.far) == (from_here.far, from_here.near)
    assert from_here.far.low == pytest.approx(26 - from_here.near.high)
    assert from_here.far.high == pytest.approx(28 - from_here.near.low)
    on_cable = length(cable(marks=MARKED) + read("capacitance", "0.6 nF", OPEN, on="cable:C1")).opens[0]
    assert "read_at_near_end" in on_cable.assumed and "read_at_near_end" not in from_here.assumed


def test_cut__not_where_the_reading_could_be_the_whole_way():
    """1.2 nF at 46 pF/m are 26 m, and with the meter 27.3."""
    assert length(cable(marks=MARKED) + read("capacitance", "1.2 nF", OPEN)).opens == ()


def test_open_at_two_places__no_ratio():
    """0.6 and 0.2 nF leave a piece out: 0.8 nF are at most 18 m of 26."""
    both = read("capacitance", "0.6 nF", OPEN) + read("capacitance", "0.2 nF", OPEN, on="end:X1")
    assert length(cable(marks=MARKED) + both).opens[0].by is By.KIND


def test_sister__only_one_read_at_the_same_end():
    there = read("capacitance", "1.4 nF", "pair 2, far end open", on="end:X1")
    assert length(cable(marks=MARKED) + there + read("capacitance", "0.6 nF", OPEN)).opens[0].by is By.KIND


def test_open__against_a_sound_pair_read_at_the_same_end():
    """0.6 of 1.4 nF on 27 m: 11.6 m, whatever the farads per metre of the jacket."""
    sound = read("capacitance", "1.4 nF", "pair 2, far end open")
    (found,) = length(cable(marks=MARKED) + sound + read("capacitance", "0.6 nF", OPEN)).opens
    by_kind = length(cable(marks=MARKED) + read("capacitance", "0.6 nF", OPEN)).opens[0]
    assert found.by is By.SISTER and found.near.low <= 11.57 <= found.near.high
    assert (found.far.low, found.far.high) == (26 - found.near.high, 28 - found.near.low)
    assert found.near.high - found.near.low < by_kind.near.high - by_kind.near.low


def test_open__by_ratio_from_both_ends():
    """0.6 nF here and 0.8 nF there: 3/7 of 27 m is 11.6 m."""
    both = read("capacitance", "0.6 nF", OPEN) + read("capacitance", "0.8 nF", OPEN, on="end:X1")
    got = length(cable(marks=MARKED) + both)
    (found,) = got.opens
    assert found.by is By.RATIO
    assert found.share.low <= 3 / 7 <= found.share.high
    assert found.near.low <= 11.57 <= found.near.high and found.far.low <= 15.43 <= found.far.high
    assert [s.source for s in got.sources] == [Source.MARKS, Source.BOTH_ENDS] and got.agree
    alone = length(cable() + both)
    assert alone.opens[0].by is By.RATIO and alone.interval.low <= 27 <= alone.interval.high


def test_open__a_jacket_nobody_knows_still_gives_the_ratio():
    both = read("capacitance", "0.6 nF", OPEN) + read("capacitance", "0.8 nF", OPEN, on="end:X1")
    known, unknown = (length(cable(more=m, marks=MARKED) + both).opens[0] for m in ("jacket=cat5e", "jacket=unknown"))
    assert unknown.by is By.RATIO and unknown.share == known.share


def test_no_open__both_ends_read_the_whole_way():
    same = read("capacitance", "1.4 nF", OPEN) + read("capacitance", "1.4 nF", OPEN, on="end:X1")
    assert length(cable(marks=MARKED) + same).opens == ()
    assert length(cable() + same).opens == (), "equal readings without a length prove nothing"


def test_estimate_against_readings__the_readings_stand():
    rule = "cables cable=C1 length_m=60 grade=assumed\n"
    got = length(cable() + rule + LOOP + FARADS)
    assert got.interval.high < 28 and [f.causes for f in got.findings] == [(Cause.ESTIMATE_WRONG,)]


def test_loop_and_capacitance_alone__the_shorter_stands():
    """Joints add ohms and branches add farads: of two closed readings the shorter is nearer."""
    got = length(cable() + LOOP + read("capacitance", "3 nF", OPEN))
    assert got.interval.high < 28 and got.findings[0].causes == (Cause.TAP_OR_RINGER,)
    got = length(cable() + FARADS + read("loop resistance", "9 ohm", SHORT))
    assert got.interval.high < 32 and got.findings[0].causes == (Cause.BAD_JOINT, Cause.SPLICE_OR_THINNER)


# --- expected against read ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        (LOOP, Verdict.WITHIN),
        (read("loop resistance", "7 ohm", SHORT), Verdict.ABOVE),
        (read("loop resistance", "3 ohm", SHORT), Verdict.BELOW),
        (FARADS, Verdict.WITHIN),
        (read("capacitance", "3 nF", OPEN), Verdict.ABOVE),
        (read("capacitance", "0.6 nF", OPEN), Verdict.BELOW),
        (read("wire resistance", "2.27 ohm", f"wire a, {SHORT}"), Verdict.WITHIN),
        (read("wire resistance", "4 ohm", f"wire a, {SHORT}"), Verdict.ABOVE),
        (read("capacitance", "1.4 nF", "far end shorted"), Verdict.NOT_COMPARABLE),
    ],
)
def test_compared__with_what_the_marks_expect(reading, verdict):
    (got,) = said(cable(marks=MARKED) + reading)
    assert got.compared.verdict is verdict
    assert bool(got.compared.causes) == (verdict in (Verdict.ABOVE, Verdict.BELOW))


def test_compared__never_with_itself():
    assert said(cable() + LOOP)[0].compared.verdict is Verdict.NOT_COMPARABLE
    one, other = said(cable() + LOOP + FARADS)
    assert one.compared.verdict is other.compared.verdict is Verdict.WITHIN


# --- because ------------------------------------------------------------------------------------------------------

STORIES = {
    "agree": cable(marks=MARKED) + quiet() + LOOP + FARADS,
    "cut": cable(marks=MARKED) + quiet() + read("capacitance", "0.6 nF", OPEN),
    "ratio": cable(marks=MARKED)
    + read("capacitance", "0.6 nF", OPEN)
    + read("capacitance", "0.8 nF", OPEN, on="end:X1"),
    "splice": cable(marks=MARKED) + quiet() + FARADS + read("loop resistance", "7 ohm", SHORT) + wires(3.5, 3.5),
    "apart": cable(more="jacket=quad", marks=MARKED)
    + "cables cable=C1 gauge_awg=24 grade=seen\ncables cable=C1 temperature_c=25 grade=seen\n"
    + read("loop resistance", "4.55 ohm", "pair 1, shorted, leads taken off"),
    "rejected": cable(marks=MARKED)
    + LOOP
    + read("capacitance", "1.4 nF", "far end shorted")
    + read("ran at", "1000 Mb/s")
    + read("resistance", "4700 ohm", "pair 2")
    + read("volts DC", "48 V", "pair 3")
    + read("level 5 GHz", "-60 dBm", on="room:R1"),
}


def worth(got):
    """What an answer holds: whatever is taken away from it makes one of these worse."""
    ranges = [got.interval, *(s.interval for s in got.sources), *(o.near for o in got.opens)]
    width = float("inf") if got.interval is None else sum(r.high - r.low for r in ranges)
    held = len(got.sources) + len(got.findings) + len(got.opens) + len(got.wires)
    return width, held, len(got.assumed)


@pytest.mark.parametrize("story", STORIES)
def test_because__dropping_a_used_entry_weakens_dropping_another_changes_nothing(story):
    record = entries(ROOMS + STORIES[story])
    found = replay(record, today=TODAY)
    whole = length_of_run(found, first(found))
    assert whole.because
    tried = 0
    for gone in record:
        rest = replay([e for e in record if e is not gone], today=TODAY)
        left = [r for r in runs(rest) if r.start.tag == "E1" and r.cables]
        if not left:
            continue  # the end or its cable itself is gone
        got = length_of_run(rest, left[0])
        if gone.id in whole.because:
            tried += 1
            (width, held, assumed), (was, had, before) = worth(got), worth(whole)
            assert width > was or held < had or assumed > before, gone
        elif not any(gone.id in (*r.because, r.entry) for r in whole.rejected):
            assert (got.interval, got.agree, got.opens, got.assumed) == (
                whole.interval, whole.agree, whole.opens, whole.assumed,
            ), gone  # fmt: skip
    assert tried >= 2


def test_a_thousand_runs__the_truth_lies_inside_and_a_tap_adds_farads():
    """Runs drawn inside the spreads of the table; the meter off by less than it may be. One record holds them all."""
    dice = random.Random(44)
    lines, truth = [ROOMS], {}
    for n in range(1, 1001):
        metres, awg, celsius = dice.uniform(3, 150), dice.choice((22, 24, 26)), dice.uniform(10, 30)
        loop = 2 * metres * conductor_ohm_per_m(awg=awg, temperature_c=celsius) * dice.uniform(0.991, 1.009)
        farads = metres * dice.uniform(45e-12, 100e-12) * dice.uniform(0.971, 1.029)
        tap = dice.choice((0, 0, dice.uniform(100, 300))) * 100e-12
        start = dice.randint(0, 500)
        marks = (f"mark_m={start}", f"mark_m={start + metres + dice.uniform(-0.9, 0.9):.2f}")
        lines.append(cable(n, more="jacket=quad", marks=marks))
        lines.append(read("loop resistance", f"{loop:.3f} ohm", "pair 1, short, leads off", on=f"end:E{n}"))
        lines.append(read("capacitance", f"{(farads + tap) * 1e9:.4f} nF", OPEN, on=f"end:E{n}"))
        truth[f"E{n}"] = metres, tap
    found = site("".join(lines))
    tapped = 0
    for run in runs(found):
        metres, tap = truth[run.start.tag]
        got = length_of_run(found, run)
        assert got.interval.low <= metres <= got.interval.high, run.start
        assert got.opens == ()
        taps = [f for f in got.findings if f.causes == (Cause.TAP_OR_RINGER,)]
        assert not taps or tap, "no tap is seen where there is none"
        tapped += bool(taps)
    assert tapped > 100


# --- conditions as people write them --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "far", "pair", "wire"),
    [
        ("", None, None, ""),
        ("Far end shorted", Far.SHORTED, None, ""),
        ("pair 3, strapped at the plate", Far.SHORTED, 3, ""),
        ("first pair; far end OPEN", Far.OPEN, 1, ""),
        ("all pairs, wire to wire", None, 0, ""),
        ("not shorted", Far.OPEN, None, ""),
        ("shorted at the outlet, other pairs open", Far.SHORTED, None, ""),
        ("leg b, far end short", Far.SHORTED, None, "2"),
        ("ring of pair 2", None, 2, "2"),
        ("wires 1-3, ends joined", Far.SHORTED, None, "13"),
        ("wire 3 to 2", None, None, "23"),
        ("while a call rang", None, None, ""),
        ("reopened the box", None, None, ""),
    ],
)
def test_conditions__read_forgivingly(text, far, pair, wire):
    got = parse_conditions(text, wanted=Far.SHORTED)
    assert (got.far, got.pair, got.wire) == (far, pair, wire)


def test_conditions__temperature_leads_and_nothing_else_on_it():
    got = parse_conditions("pair 1, leads taken off, clip lifted, attic at -4 C", wanted=Far.SHORTED)
    assert (got.temperature_c, got.leads_off, got.alone) == (-4, True, True)
    assert parse_conditions("leads not known, 20 cm", wanted=Far.SHORTED).temperature_c is None
    assert parse_conditions("cat 5 C cable", wanted=Far.SHORTED).leads_off is False
    both = "one end open, other short"
    assert parse_conditions(both, wanted=Far.OPEN).far is Far.OPEN

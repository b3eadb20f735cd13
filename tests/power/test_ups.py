"""How long a UPS holds: two reckonings, what is left of a battery, and what really hangs on its battery sockets."""

from __future__ import annotations

import random

import pytest

from pullstring.model.answers import Interval
from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry, Evidence, Noted
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when
from pullstring.power.backup import Backup, Reason, backups, least_minutes
from pullstring.power.ups import (
    aged_share,
    ageing_factor,
    battery_current_a,
    both_ways,
    capacity_left,
    cold_share,
    peukert_exponent,
    peukert_hours,
    peukert_hours_at_1a,
    ups_minutes_by_energy,
    ups_minutes_by_peukert,
)
from tests.notice.lines import TODAY, entries

WORKED = {"load_w": 150.0, "efficiency": 0.85, "battery_v": 24.0, "capacity_ah": 9.0}


def exact(value: float, unit: str = "1") -> Interval:
    return Interval.exact(value, unit)


def test_peukert__two_definitions_of_the_capacity_are_two_laws():
    """100 Ah at 5 A: the rated time of 20 h by the one, 100 / 5^1.2 = 14.5 h by the other."""
    assert peukert_hours(capacity_ah=100, rate_h=20, current_a=5, exponent=1.2) == pytest.approx(20)
    assert peukert_hours_at_1a(capacity_ah=100, current_a=5, exponent=1.2) == pytest.approx(14.5, abs=0.05)


def test_peukert__exponent_from_two_capacities_gives_both_back():
    k = peukert_exponent(first_ah=100, first_h=20, second_ah=56, second_h=1)
    assert k == pytest.approx(1.24, abs=0.005)
    assert peukert_hours(capacity_ah=100, rate_h=20, current_a=56, exponent=k) == pytest.approx(1)
    with pytest.raises(ValueError, match="two different times"):
        peukert_exponent(first_ah=100, first_h=20, second_ah=56, second_h=20)


def test_minutes__worked_by_hand_and_half_as_much_again_by_watt_hours():
    """150 / (0.85 x 24) = 7.353 A; 20 (9 / 147.06)^1.15 x 0.8 h = 38.6 min; 24 x 9 x 0.85 x 0.8 / 150 h = 58.75 min."""
    assert battery_current_a(load_w=150, efficiency=0.85, battery_v=24) == pytest.approx(7.353, abs=0.001)
    by_peukert = ups_minutes_by_peukert(**WORKED, rate_h=20, exponent=1.15, capacity_left=0.8)
    by_energy = ups_minutes_by_energy(**WORKED, capacity_left=0.8)
    assert by_peukert == pytest.approx(38.6, abs=0.1)
    assert by_energy == pytest.approx(58.75, abs=0.01)


def test_both_ways__runs_from_one_method_to_the_other_and_names_it():
    peukert, energy, both = both_ways(
        load=exact(150, "W"), efficiency=exact(0.85), battery_v=24, capacity_ah=9,
        rate=exact(20, "h"), exponent=exact(1.15), left=exact(0.8),
    )  # fmt: skip
    assert (peukert.low, peukert.high) == pytest.approx((38.6, 38.6), abs=0.1)
    assert (energy.low, energy.high) == pytest.approx((58.75, 58.75), abs=0.01)
    assert (both.low, both.high, both.inputs) == (peukert.low, energy.high, ("method",))


def test_both_ways__names_its_inputs_and_fixing_one_shrinks_it():
    wide = {
        "load": Interval(80, 150, "W", ("load_w",)), "efficiency": Interval(0.75, 0.95, "1"),
        "rate": Interval(10, 20, "h"), "exponent": Interval(1.05, 1.15, "1"),
        "left": Interval(0.5, 1, "1", ("battery_age",)),
    }  # fmt: skip
    battery = {"battery_v": 24.0, "capacity_ah": 9.0}
    *_, whole = both_ways(**wide, **battery)
    assert set(whole.inputs) == {"load_w", "efficiency", "rate_h", "exponent", "battery_age", "method"}
    for name, one in wide.items():
        peukert, _, narrow = both_ways(**{**wide, name: Interval.exact(one.middle, one.unit)}, **battery)
        first, _, _ = both_ways(**wide, **battery)
        assert peukert.high - peukert.low < first.high - first.low
        assert narrow.high - narrow.low <= whole.high - whole.low


def test_both_ways__tells_no_time_beyond_the_hours_of_the_printed_capacity():
    *_, both = both_ways(
        load=exact(0.5, "W"), efficiency=exact(1.0), battery_v=24, capacity_ah=9,
        rate=exact(20, "h"), exponent=exact(1.1), left=exact(1.0),
    )  # fmt: skip
    assert both.high == 20 * 60


def test_minutes__more_load_older_battery_or_colder_never_holds_longer():
    dice = random.Random(2)
    for _ in range(1000):
        low = dice.uniform(5, 200)
        given = {
            "load": Interval(low, low + dice.uniform(0, 50), "W"), "efficiency": Interval(0.8, 0.9, "1"),
            "battery_v": 24.0, "capacity_ah": 9.0, "rate": Interval(10, 20, "h"),
            "exponent": Interval(1.05, 1.15, "1"), "left": Interval(0.4, 0.9, "1"),
        }  # fmt: skip
        *_, here = both_ways(**given)
        more = dice.uniform(0, 30)
        heavier = Interval(given["load"].low + more, given["load"].high + more, "W")
        for name, worse in (("load", heavier), ("left", Interval(0.3, 0.8, "1")), ("battery_v", 12.0)):
            *_, there = both_ways(**{**given, name: worse})
            assert there.low <= here.low + 1e-9
            assert there.high <= here.high + 1e-9


def test_left__cold_one_percent_a_degree_heat_twice_the_age_in_ten():
    assert [cold_share(temperature_c=t) for t in (35, 25, 15, -5)] == pytest.approx([1, 1, 0.9, 0.7])
    assert [ageing_factor(temperature_c=t) for t in (10, 25, 35, 45)] == pytest.approx([1, 1, 2, 4])
    assert [aged_share(age_years=a, life_years=5) for a in (0, 5, 25, 40)] == pytest.approx([1, 0.8, 0, 0])


def test_left__new_worn_and_past_its_life():
    """At 25 C: 3 years are the shorter life, so 0.8 at worst there, and 1 - 0.2 x 3/5 = 0.88 at best."""
    at_25 = exact(25.0, "C")
    new = capacity_left(age=exact(0, "year"), temperature=at_25)
    worn = capacity_left(age=exact(3, "year"), temperature=at_25)
    past = capacity_left(age=exact(4, "year"), temperature=at_25)
    assert (new.low, new.high) == (1, 1)
    assert (worn.low, worn.high) == pytest.approx((0.8, 0.88))
    assert (past.low, past.high) == pytest.approx((0, 0.84))
    assert capacity_left(age=exact(2, "year"), temperature=exact(35.0, "C")).low == 0
    nobody = capacity_left(age=None, temperature=at_25)
    assert (nobody.low, nobody.high, nobody.inputs) == (0, 1, ("battery_age",))


CLOSET = """
property property=PP grade=seen
buildings building=M grade=seen
floors floor=M0 building=M level=0 grade=seen
rooms room=K floor=M0 closet=yes winter_min_c=25 summer_max_c=25 grade=seen
circuits circuit=CB breaker=on grade=seen
sockets socket=X1 room=K fed_by=circuit:CB grade=seen
models model=UPS what=UPS takes=plug typical_w=15 battery_v=24 grade=seen
units unit=U1 model=UPS room=K fed_by=socket:X1 battery_date=2026-04-01 grade=seen
ports port=U1.battery gives="battery mains" grade=seen
ports port=U1.surge gives=mains grade=seen
sockets socket=P1 form=strip room=K fed_by=port:U1.battery grade=seen
models model=SW what=switch takes=plug budget_w=150 typical_w=20 max_w=170 grade=seen
units unit=S1 model=SW room=K fed_by=socket:P1 grade=seen
models model=RT what=router takes=plug typical_w=10 max_w=10 grade=seen
units unit=R1 model=RT room=K fed_by=port:U1.battery grade=seen
units unit=R2 model=RT room=K fed_by=port:U1.surge grade=seen
"""
POINT = """
models model=AP what="access point" takes=802.3af class=3 typical_w=9 max_w=9 grade=seen
ports port=S1.1 gives=802.3af plugged=port:D1.1 grade=seen
units unit=D1 model=AP grade=seen
"""
FACTS = {
    "UPS": {"battery_ah": 9.0, "battery_rate_h": 20.0, "efficiency_percent": 85.0},
    "SW": {"efficiency_percent": 90.0},
}


def record(text: str, facts: dict[str, dict[str, float]] = FACTS) -> list[Entry]:
    """The lines, and figures of the models, each noted by one entry."""
    found = entries(text)
    at = parse_when("2026-04-01T10:00+00:00")
    for n, (tag, said) in enumerate(facts.items(), len(found) + 1):
        body = Noted(Ref("model", tag), said, Evidence("seen"))
        found.append(Entry(f"m{n:03d}", "TEC", "a", n, n, at, f"{TODAY}T10:00:00+00:00", body))
    return found


def held(text: str, facts: dict[str, dict[str, float]] = FACTS) -> Backup:
    (one,) = backups(replay(record(text, facts), today=TODAY))
    return one


def site(text: str) -> Site:
    return replay(record(text), today=TODAY)


def test_backup__only_what_hangs_on_the_battery_sockets_counts():
    """Switch 20 and router 10 on the battery; the second router is on the surge-only socket."""
    one = held(CLOSET)
    assert (one.load.low, one.load.high) == (30, 30)
    assert set(one.units) == {"S1", "R1"}
    assert one.surge_only == ("R2",)
    assert Reason.SURGE_ONLY in one.codes
    assert Reason.RECKONED in one.codes


def test_backup__minutes_by_hand():
    """30 / (0.85 x 24) = 1.4706 A. Watt-hours: 24 x 9 x 0.85 / 30 = 6.12 h. Peukert: 20 (9 / 29.41)^1.15 = 5.125 h."""
    one = held(CLOSET)
    assert one.by_energy is not None
    assert one.by_peukert is not None
    assert one.minutes is not None
    assert one.by_energy.high == pytest.approx(6.12 * 60)
    assert one.by_peukert.low == pytest.approx(5.125 * 60, rel=0.005)
    assert one.minutes.low == pytest.approx(one.by_peukert.low)
    assert one.minutes.high == pytest.approx(one.by_energy.high)
    assert {"method", "exponent"} <= set(one.minutes.inputs)


def test_backup__what_a_switch_hands_on_counts_with_its_loss():
    """9 W over a cord at 0.9: 10 W more on the battery."""
    one = held(CLOSET + POINT)
    assert (one.load.low, one.load.high) == pytest.approx((40, 40))
    assert one.minutes.low < held(CLOSET).minutes.low


def test_backup__everything_on_the_surge_side_holds_nothing():
    text = CLOSET.replace("fed_by=port:U1.battery", "fed_by=port:U1.surge")
    one = held(text)
    assert one.minutes is None
    assert one.units == ()
    assert Reason.NOTHING_ON_BATTERY in one.codes
    assert least_minutes(site(text), unit=Ref("unit", "U1")) == 0


def test_backup__a_strip_behind_a_switch_that_is_off_carries_nothing():
    text = CLOSET + "switches switch=W1 usual=off fed_by=socket:P1 grade=seen\n"
    text = text.replace("units unit=S1 model=SW room=K fed_by=socket:P1", "units unit=S1 model=SW room=K")
    text += "sockets socket=P2 form=strip fed_by=switch:W1 grade=seen\nunits unit=S1 fed_by=socket:P2 grade=seen\n"
    assert held(text).load.high == 10
    assert held(text.replace("usual=off", "usual=on")).load.high == 30


@pytest.mark.parametrize(
    ("was", "now", "code"),
    [
        (" battery_date=2026-04-01", "", Reason.AGE_UNKNOWN),
        ("battery_date=2026-04-01", "battery_date=2019", Reason.PAST_LIFE),
        ("battery_date=2026-04-01", 'battery_date=2026-04-01 health="called dead"', Reason.DEAD),
    ],
)
def test_backup__a_battery_that_may_be_dead_surely_holds_no_minute(was, now, code):
    one = held(CLOSET.replace(was, now))
    assert one.minutes is not None
    assert one.minutes.low == 0
    assert one.minutes.high <= held(CLOSET).minutes.high
    assert code in one.codes


def test_backup__unknown_battery_is_no_figure_but_a_reason():
    one = held(CLOSET, {"SW": FACTS["SW"]})
    assert one.minutes is None
    assert Reason.BATTERY_UNKNOWN in one.codes
    assert one.load.high == 30


def test_backup__unknown_rate_efficiency_and_room_are_assumed_and_told():
    text = CLOSET.replace(" winter_min_c=25 summer_max_c=25", "")
    one = held(text, {"UPS": {"battery_ah": 9.0}})
    assert {Reason.RATE_ASSUMED, Reason.EFFICIENCY_ASSUMED, Reason.TEMPERATURE_ASSUMED} <= set(one.codes)
    known = held(CLOSET)
    assert one.minutes.low < known.minutes.low
    assert one.minutes.high > known.minutes.high
    assert {"efficiency", "rate_h", "temperature_c"} <= set(one.minutes.inputs)


def test_backup__a_unit_of_unknown_draw_leaves_the_least_open():
    text = CLOSET + "models model=XX what=player takes=plug grade=seen\n"
    text += "units unit=X9 model=XX fed_by=socket:P1 grade=seen\n"
    one = held(text)
    assert one.unknown == ("X9",)
    assert one.load_high_known is False
    assert one.minutes.low == 0
    assert one.minutes.high == pytest.approx(held(CLOSET).minutes.high)


TEST = "units unit=U1 runs_without_mains_min=22 grade=seen at=2026-03-31\n"


def test_backup__a_test_outranks_the_reckoning():
    one = held(CLOSET.replace("battery_date=2026-04-01", "battery_date=2025") + TEST)
    assert Reason.TESTED in one.codes
    assert one.minutes.high == 22
    assert 0 < one.minutes.low < 22


def test_backup__an_undated_test_is_as_old_as_its_entering():
    one = held(CLOSET + TEST.replace(" at=2026-03-31", ""))
    assert Reason.TESTED in one.codes
    assert one.minutes.low == pytest.approx(22, rel=0.01)


def test_backup__a_saying_does_not_outrank_it():
    text = CLOSET + TEST.replace("grade=seen", "grade=told").replace("2026-03-31", "2026-04-01")
    one = held(text)
    assert Reason.SAID in one.codes
    assert one.minutes.low == 22
    assert one.minutes.high == held(CLOSET).minutes.high


def test_backup__a_test_before_the_battery_was_changed_says_nothing():
    one = held(CLOSET + TEST.replace("2026-03-31", "2025-06-01"))
    assert Reason.TEST_OLDER in one.codes
    assert one.minutes == held(CLOSET).minutes


def test_backup__a_load_added_after_the_test_takes_its_least():
    text = CLOSET.replace("battery_date=2026-04-01", "battery_date=2023-06-01") + TEST
    text += "models model=BIG what=player takes=plug typical_w=600 max_w=600 grade=seen\n"
    text += "units unit=X9 model=BIG fed_by=socket:P1 grade=seen at=2026-04-01\n"
    one = held(text)
    assert Reason.LOAD_ADDED in one.codes
    assert one.minutes.low < 15


def test_backup__called_dead_after_a_test():
    text = CLOSET.replace("battery_date=2026-04-01", "battery_date=2025") + TEST
    text += 'units unit=U1 health="called dead" grade=seen at=2026-04-01\n'
    one = held(text)
    assert Reason.DEAD in one.codes
    assert (one.minutes.low, one.minutes.high) == (0, 22)


def test_backup__two_in_a_row_carry_each_other_once():
    """A second UPS on the first: the first carries the second with its load, the second its own."""
    text = CLOSET.replace("units unit=R1 model=RT room=K fed_by=port:U1.battery", "units unit=R1 model=RT room=K")
    text += """
    units unit=U2 model=UPS room=K fed_by=port:U1.battery battery_date=2026-04-01 grade=seen
    ports port=U2.battery gives="battery mains" grade=seen
    units unit=R1 fed_by=port:U2.battery grade=seen
    """
    first, second = backups(replay(record(text), today=TODAY))
    assert second.load.low == 10
    assert first.load.low == 20 + 15 + 10
    assert first.load.high == pytest.approx(20 + 15 + 10 / 0.85)


def test_backup__two_that_feed_each_other_are_counted_once():
    """A mistake in the record, or a joke of whoever plugged them: the first carries the second and its router."""
    text = CLOSET.replace("units unit=U1 model=UPS room=K fed_by=socket:X1", "units unit=U1 model=UPS room=K")
    text += """
    units unit=U2 model=UPS room=K fed_by=port:U1.battery battery_date=2026-04-01 grade=seen
    ports port=U2.battery gives="battery mains" grade=seen
    units unit=R3 model=RT fed_by=port:U2.battery grade=seen
    units unit=U1 fed_by=port:U2.battery grade=seen
    """
    first, second = backups(replay(record(text), today=TODAY))
    assert first.load.low == 20 + 10 + 15 + 10
    assert second.load.low == 10 + 15 + 20 + 10 + 10  # the surge-only socket of the first is fed by the second


def test_backup__without_an_entry_the_answer_is_weaker():
    """Taking away what says a load hangs there or what the battery is: the least never rises above what it was with it known."""
    everything = record(CLOSET + POINT)
    (full,) = backups(replay(everything, today=TODAY))
    battery = next(e for e in everything if isinstance(e.body, Noted) and "battery_ah" in e.body.fields)
    assert battery.id in full.because
    (less,) = backups(replay([e for e in everything if e is not battery], today=TODAY))
    assert less.minutes is None
    strip = [e for e in everything if "P1" in repr(e.body) and "fed_by" in repr(e.body) and e.id in full.because]
    assert strip
    for entry in strip:
        (other,) = backups(replay([e for e in everything if e is not entry], today=TODAY))
        assert "S1" not in other.units

"""Where the watts end: what stays in the closet, what warms the cable, what a bundle rises by."""

from __future__ import annotations

import random

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Noted
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.power.heat import (
    ClosetHeat,
    Reason,
    btu_per_h,
    bundle_rise,
    bundle_rise_scaled_c,
    cable_heat_w_per_m,
    closet_heat_w,
    closet_heats,
    conductor_current_a,
    conductors_heat_w_per_m,
    lp_rating_ok,
)
from pullstring.power.supposed import with_field
from tests.notice.lines import TODAY, entries, site

RACK = """
property property=PP grade=seen
buildings building=M grade=seen
floors floor=M0 building=M level=0 grade=seen
rooms room=K floor=M0 closet=yes grade=seen
rooms room=H floor=M0 grade=seen
racks rack=RK room=K grade=seen
models model=SW what=switch takes=plug budget_w=150 typical_w=20 max_w=170 grade=seen
models model=RT what=router takes=plug typical_w=10 max_w=15 grade=seen
models model=SH what=other takes=plug typical_w=30 max_w=30 grade=seen
models model=UP what=UPS takes=plug typical_w=15 grade=seen
models model=PT what=panel takes=none grade=seen
units unit=N1 model=SW rack=RK grade=seen
units unit=N2 model=RT room=K grade=seen
units unit=N3 model=SH room=K grade=seen
units unit=N4 model=UP room=K grade=seen
units unit=N5 model=PT room=K grade=seen
units unit=N6 model=RT room=H grade=seen
units unit=N7 model=RT room=K state=planned grade=seen
"""
POINT = """
models model=AP what="access point" takes=802.3at class=4 typical_w=9 max_w=18 grade=seen
ports port=N1.1 gives=802.3at plugged=port:D1.1 grade=seen
units unit=D1 model=AP room=H grade=seen
"""


def closet(found: Site) -> ClosetHeat:
    (one,) = closet_heats(found)
    return one


def test_closet_heat__what_is_handed_on_heats_the_far_room():
    """(60 + 370) / 0.9 goes in, 370 goes on: 107.8 W stay, 368 BTU/h."""
    stays = closet_heat_w(base_w=60, delivered_w=370, efficiency=0.9)
    assert stays == pytest.approx((60 + 370) / 0.9 - 370)
    assert stays == pytest.approx(107.8, abs=0.05)
    assert btu_per_h(heat_w=stays) == pytest.approx(368, abs=0.5)
    assert closet_heat_w(base_w=60, delivered_w=370, efficiency=1.0) == 60


def test_btu__a_ton_of_cooling():
    assert btu_per_h(heat_w=3516.85) == pytest.approx(12000, abs=1)


def test_closet__typical_draws_of_a_rack():
    """20 + 10 + 30 + 15 = 75 W, x 3.412 = 255.9 BTU/h; the panel takes nothing, one unit is elsewhere, one only planned."""
    one = closet(site(RACK))
    assert one.typical_w == 75
    assert one.btu_per_h.low == pytest.approx(255.9, abs=0.05)
    assert one.units == ("N1", "N2", "N3", "N4")
    assert one.heat.high == 80  # the router at most 15; what the switch can give is not its own
    assert one.heat.inputs == ("load_w",)
    assert Reason.GREATEST_UNKNOWN in one.codes  # of the UPS


def test_closet__what_a_switch_hands_on_leaves_only_its_loss():
    """9 to 18 W handed on: at 0.9 the closet keeps a ninth of it, 1 and 2 W."""
    found = with_field(site(RACK + POINT), Ref("model", "SW"), efficiency_percent=90)
    one = closet(found)
    assert one.heat.low == pytest.approx(75 + 1)
    assert one.heat.high == pytest.approx(80 + 2)
    assert Reason.EFFICIENCY_ASSUMED not in one.codes
    assumed = closet(site(RACK + POINT))
    assert Reason.EFFICIENCY_ASSUMED in assumed.codes
    assert set(assumed.heat.inputs) == {"load_w", "efficiency"}
    assert assumed.heat.high == pytest.approx(80 + 18 * (1 / 0.85 - 1))


def test_closet__no_more_is_handed_on_than_the_switch_can_give():
    """Asked for up to 18 W, able to give 12: at 0.9 a ninth of 12 stays."""
    text = (RACK + POINT).replace("budget_w=150 typical_w=20 max_w=170", "budget_w=12 typical_w=20 max_w=32")
    one = closet(with_field(site(text), Ref("model", "SW"), efficiency_percent=90))
    assert one.heat.high == pytest.approx(80 + 12 / 9)


def test_closet__a_unit_in_it_that_is_powered_over_its_wire_heats_it():
    there = closet(site(RACK + POINT.replace("room=H", "room=K")))
    assert there.typical_w == pytest.approx(closet(site(RACK + POINT)).typical_w + 9)


def test_closet__a_unit_without_figures_is_named_and_makes_the_sum_a_least():
    one = closet(
        site(RACK + "models model=XX what=player takes=plug grade=seen\nunits unit=N8 model=XX room=K grade=seen\n")
    )
    assert one.unknown == ("N8",)
    assert Reason.DRAW_UNKNOWN in one.codes
    assert one.typical_w == 75


def test_closet__an_empty_one():
    text = "\n".join(line for line in RACK.splitlines() if not line.startswith("units"))
    one = closet(site(text))
    assert (one.heat.high, one.codes) == (0, (Reason.NOTHING_THERE,))


def test_closet__without_an_entry_it_is_less():
    everything = entries(RACK)
    full = closet(replay(everything, today=TODAY))
    shelf = next(e for e in everything if isinstance(e.body, Noted) and e.body.subject == Ref("unit", "N3"))
    assert shelf.id in full.because
    assert closet(replay([e for e in everything if e is not shelf], today=TODAY)).typical_w == 45


def test_conductor_current__half_the_loop_over_two_pairs_a_quarter_over_four():
    assert conductor_current_a(current_a=0.6, pairs=2) == 0.3
    assert conductor_current_a(current_a=1.732, pairs=4) == 0.433
    with pytest.raises(ValueError, match="2 or 4"):
        conductor_current_a(current_a=1, pairs=3)


def test_cable_heat__class_8_and_class_4():
    """8 x 0.433^2 x 0.08421 = 0.126 W/m; 4 x 0.3^2 x 0.08421 = 0.030 W/m; all eight at 0.5 A 0.168 W/m."""
    eight = cable_heat_w_per_m(awg=24, conductor_a=0.433, temperature_c=20)
    four = conductors_heat_w_per_m(awg=24, conductor_a=0.3, conductors=4, temperature_c=20)
    assert eight == pytest.approx(0.126, abs=0.0005)
    assert four == pytest.approx(0.030, abs=0.0005)
    assert cable_heat_w_per_m(awg=24, conductor_a=0.5, temperature_c=20) == pytest.approx(0.168, abs=0.001)


def test_bundle__the_profile_and_its_square():
    """100 cables at 600 mA rise by 7.2 C; at 1000 mA by 20 C."""
    at_profile = bundle_rise(cables=100, pair_a=0.6)
    assert (at_profile.low, at_profile.high, at_profile.inputs) == (7.2, 7.2, ())
    assert bundle_rise_scaled_c(rise_c=7.2, from_a=0.6, to_a=1.0) == pytest.approx(20)


def test_bundle__fewer_cables_less_and_between_root_and_proportion():
    """25 cables: a quarter at least, a half at most."""
    fewer = bundle_rise(cables=25, pair_a=0.6)
    assert (fewer.low, fewer.high, fewer.inputs) == (pytest.approx(1.8), pytest.approx(3.6), ("cooling",))
    more = bundle_rise(cables=400, pair_a=0.6)
    assert (more.low, more.high) == (pytest.approx(14.4), pytest.approx(28.8))
    with pytest.raises(ValueError, match="1 or more"):
        bundle_rise(cables=0, pair_a=0.6)


def test_lp_marking__forty_five_degrees_and_the_rise():
    assert lp_rating_ok(rise_c=20, rating_c=75)
    assert not lp_rating_ok(rise_c=20, rating_c=60)
    assert lp_rating_ok(rise_c=30, rating_c=75)
    assert not lp_rating_ok(rise_c=30.1, rating_c=75)


def test_heat__more_current_thinner_hotter_or_more_cables_never_less():
    dice = random.Random(3)
    for _ in range(1000):
        awg, amps, temperature, more = dice.uniform(22, 26), dice.uniform(0, 0.5), dice.uniform(0, 60), dice.random()
        here = cable_heat_w_per_m(awg=awg, conductor_a=amps, temperature_c=temperature)
        assert cable_heat_w_per_m(awg=awg + more, conductor_a=amps, temperature_c=temperature) >= here
        assert cable_heat_w_per_m(awg=awg, conductor_a=amps + more, temperature_c=temperature) >= here
        assert cable_heat_w_per_m(awg=awg, conductor_a=amps, temperature_c=temperature + more) >= here
        count = dice.randrange(1, 192)
        rise = bundle_rise(cables=count, pair_a=amps)
        for other in (bundle_rise(cables=count + 1, pair_a=amps), bundle_rise(cables=count, pair_a=amps + more)):
            assert other.low >= rise.low
            assert other.high >= rise.high

"""What a switch can give: the sums, who starts, both ways of counting, and what asks nothing of it."""

from __future__ import annotations

import random

import pytest

from pullstring.model.answers import Interval
from pullstring.model.entries import Claimed
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.power.budget import Budget, Reason, Rule, Starts, budgets, starts_in_order
from pullstring.power.ports import judged_ports
from pullstring.power.supposed import with_field
from tests.notice.lines import TODAY, entries, site

INN = """
models model=SW what=switch takes=plug budget_w=150 typical_w=20 max_w=170 grade=seen
models model=AP1 what="access point" takes=802.3af class=3 typical_w=8.5 max_w=10.5 grade=seen
models model=AP2 what="access point" takes=802.3af class=3 typical_w=7 max_w=9.5 grade=seen
models model=AP3 what="access point" takes=802.3at class=4 typical_w=11 max_w=16 second_port_power=no grade=seen
models model=AP4 what="access point" takes="24 V always-on" typical_w=4.5 max_w=6 least_v=18 grade=seen
"""
MIXED = ("AP1", "AP2", "AP2", "AP2", "AP3", "AP3", "AP3", "AP4", "AP4")
MODES = {"AP1": "802.3af", "AP2": "802.3af", "AP3": "802.3at", "AP4": "24 V always-on"}


def hung(models: tuple[str, ...], *, more: str = "", reserves: str = "", order: tuple[int, ...] = ()) -> str:
    """Lines of a switch with one device at the end of a cord on each port."""
    text = INN.replace("budget_w=150", f"budget_w=150 reserves={reserves}") if reserves else INN
    text += "units unit=S1 model=SW grade=seen\n"
    for n, model in enumerate(models, 1):
        turn = f" serves_order={order[n - 1]}" if order else ""
        text += f'ports port=S1.{n} gives="{MODES[model]}" limit_w=30{turn} plugged=port:D{n}.1 grade=seen\n'
        text += f"units unit=D{n} model={model} grade=seen\n"
    return text + more


def budget(text: str) -> Budget:
    found = site(text)
    (one,) = budgets(found, judged_ports(found))
    return one


def states(one: Budget, rule: Rule) -> list[Starts]:
    (order,) = [o for o in one.orders if o.rule is rule]
    return [step.starts for step in order.steps]


def test_budget__three_sums_of_a_mixed_switch():
    """By class 4 x 15.4 + 3 x 30 + 2 x 6; by plate 10.5 + 3 x 9.5 + 3 x 16 + 2 x 6; typical 8.5 + 21 + 33 + 9."""
    one = budget(hung(MIXED))
    assert one.class_w == pytest.approx(163.6)
    assert one.plate_w == pytest.approx(99.0)
    assert one.typical_w == pytest.approx(71.5)
    assert 100 * one.class_w / one.budget_w == pytest.approx(109.1, abs=0.05)
    assert 100 * one.plate_w / one.budget_w == pytest.approx(66.0, abs=0.05)
    assert 100 * one.typical_w / one.budget_w == pytest.approx(47.7, abs=0.05)
    assert one.codes[0] is Reason.OVER_CLASS
    assert Reason.OVER_PLATE not in one.codes


def test_budget__margin_of_a_quarter_is_told_apart_from_the_limit():
    """71.5 x 1.25 = 89.4, inside 150; with a budget of 80 the plan is over and the typical draw is not."""
    one = budget(hung(MIXED))
    assert one.planned_w == pytest.approx(89.375)
    assert Reason.OVER_PLAN not in one.codes
    tight = budget(hung(MIXED).replace("budget_w=150", "budget_w=80"))
    assert Reason.OVER_PLAN in tight.codes
    assert Reason.OVER_TYPICAL not in tight.codes


def test_budget__unknown_way_of_counting_shows_both_outcomes_and_asks():
    """By class: 61.6, 91.6, 121.6, 151.6 > 150, so port 7 is refused and the two of 6 W after it may start."""
    one = budget(hung(MIXED))
    assert (one.reserves, [o.rule for o in one.orders]) == ("", [Rule.BY_CLASS, Rule.BY_DRAW])
    assert Reason.RESERVES_UNKNOWN in one.codes
    assert states(one, Rule.BY_CLASS) == [Starts.YES] * 6 + [Starts.NO, Starts.MAYBE, Starts.MAYBE]
    assert states(one, Rule.BY_DRAW) == [Starts.YES] * 9


@pytest.mark.parametrize("reserves", ["class", "draw"])
def test_budget__known_way_of_counting_shows_one(reserves):
    one = budget(hung(MIXED, reserves=reserves))
    assert [o.rule for o in one.orders] == [Rule(reserves)]
    assert Reason.RESERVES_UNKNOWN not in one.codes


def test_budget__ports_in_the_order_of_serving_then_by_number():
    turned = budget(hung(MIXED, reserves="class", order=(9, 8, 7, 6, 5, 4, 3, 2, 1)))
    assert [s.port for s in turned.orders[0].steps] == [f"S1.{n}" for n in range(9, 0, -1)]
    assert states(turned, Rule.BY_CLASS) == [Starts.YES] * 8 + [Starts.NO]
    assert Reason.ORDER_ASSUMED not in turned.codes
    twelve = budget(hung(("AP1",) * 12, reserves="class"))
    assert [s.port for s in twelve.orders[0].steps] == [f"S1.{n}" for n in range(1, 13)]
    assert Reason.ORDER_ASSUMED in twelve.codes
    assert states(twelve, Rule.BY_CLASS) == [Starts.YES] * 9 + [Starts.NO] * 3


def test_budget__watts_add_up_step_by_step():
    one = budget(hung(("AP1", "AP3", "AP4"), reserves="class"))
    assert [s.total.high for s in one.orders[0].steps] == pytest.approx([15.4, 45.4, 51.4])
    assert [s.watts.high for s in one.orders[0].steps] == pytest.approx([15.4, 30.0, 6.0])


@pytest.mark.parametrize(
    ("asked_w", "start"),
    [(15.4, 24), (30.0, 12), (8.0, 46)],
    ids=["class 3", "class 4", "8 W by draw"],
)
def test_starts_in_order__370_w(asked_w, start):
    """370 / 15.4 = 24.03, 370 / 30 = 12.3, 370 / 8 = 46.25."""
    found = starts_in_order(budget_w=370, asked=[Interval.exact(asked_w, "W")] * 48)
    assert found == (Starts.YES,) * start + (Starts.NO,) * (48 - start)


def test_starts_in_order__one_that_fits_only_at_its_least_may_start():
    asked = [Interval(5, 8, "W"), Interval(3, 6, "W"), Interval(6, 7, "W")]
    assert starts_in_order(budget_w=10, asked=asked) == (Starts.YES, Starts.MAYBE, Starts.NO)


def test_starts_in_order__more_load_or_less_budget_never_adds_to_those_that_start():
    dice = random.Random(1)
    for _ in range(1000):
        asked = [Interval(low, low + dice.uniform(0, 5), "W") for low in (dice.uniform(1, 20) for _ in range(8))]
        n, more, whole = dice.randrange(8), dice.uniform(0, 10), dice.uniform(10, 100)
        heavier = [*asked]
        heavier[n] = Interval(asked[n].low + more, asked[n].high + more, "W")
        sure = {i for i, s in enumerate(starts_in_order(budget_w=whole, asked=asked)) if s is Starts.YES}
        for other in (
            starts_in_order(budget_w=whole, asked=heavier),
            starts_in_order(budget_w=whole - more, asked=asked),
        ):
            assert {i for i, s in enumerate(other) if s is Starts.YES} <= sure
        assert starts_in_order(budget_w=whole, asked=heavier)[n] is not Starts.YES or n in sure


def test_budget__own_plug_and_injector_ask_nothing():
    """D2 has its plug in a socket; D3 hangs behind an injector that has its own plug."""
    text = hung(("AP1", "AP1", "AP1"), reserves="class")
    text = text.replace("plugged=port:D3.1", "plugged=port:J1.in")
    text += """
    circuits circuit=CB breaker=on grade=seen
    sockets socket=X1 fed_by=circuit:CB grade=seen
    units unit=D2 fed_by=socket:X1 grade=seen
    models model=INJ what=injector takes=plug typical_w=1 max_w=20 grade=seen
    units unit=J1 model=INJ fed_by=socket:X1 grade=seen
    ports port=J1.in gives=nothing grade=seen
    ports port=J1.out gives=802.3af plugged=port:D3.1 grade=seen
    """
    one = budget(text)
    assert one.class_w == pytest.approx(15.4)
    assert [s.device for s in one.orders[0].steps] == ["D1"]


def test_budget__device_that_does_not_fit_the_port_asks_nothing():
    """A unit that wants 24 V is not seen by a standard port."""
    text = hung(("AP1", "AP1")).replace("units unit=D2 model=AP1", "units unit=D2 model=AP4")
    assert budget(text).class_w == pytest.approx(15.4)


def test_budget__what_a_device_hands_on_counts_with_the_loss():
    """A class 4 unit of 16 W hands 4 to 6 W on at 0.8: 16 + 7.5 by plate; the class is the same."""
    text = hung(("AP3",), reserves="draw").replace("second_port_power=no", "second_port_power=yes")
    text += """
    models model=CH what="access point" takes=802.3af class=2 typical_w=4 max_w=6 grade=seen
    ports port=D1.2 plugged=port:C1.1 grade=seen
    units unit=C1 model=CH grade=seen
    """
    found = with_field(site(text), Ref("model", "AP3"), efficiency_percent=80)
    (one,) = budgets(found, judged_ports(found))
    assert one.plate_w == pytest.approx(16 + 6 / 0.8)
    assert one.typical_w == pytest.approx(11 + 4 / 0.8)
    assert one.class_w == pytest.approx(30)


def test_budget__a_plug_in_the_battery_socket_of_a_ups_is_a_plug_too():
    text = (
        hung(("AP1", "AP1")) + "models model=UPS what=UPS takes=plug grade=seen\nunits unit=U1 model=UPS grade=seen\n"
    )
    text += 'ports port=U1.battery gives="battery mains" grade=seen\nunits unit=D2 fed_by=port:U1.battery grade=seen\n'
    assert budget(text).class_w == pytest.approx(15.4)


def test_budget__a_unit_that_gives_24_v_only_is_not_asked_about_classes():
    one = budget(hung(("AP4",)))
    assert [o.rule for o in one.orders] == [Rule.BY_DRAW]
    assert one.codes == (Reason.WITHIN,)
    assert Reason.RESERVES_UNKNOWN in budget(hung(("AP4", "AP1"))).codes


def test_budget__two_devices_bridged_on_one_standard_port_are_one_class_and_may_get_nothing():
    """A port reads one class; two devices in parallel spoil what it looks for, so nothing may be drawn at all."""
    text = hung(("AP1",)).replace(" plugged=port:D1.1", "") + "units unit=D2 model=AP1 grade=seen\n"
    text += "ports port=D1.1 gives=nothing grade=seen\nports port=D2.1 gives=nothing grade=seen\n"
    text += "".join(f"cables cable=C{n} jacket=cat5e pairs=4 length_m=5 grade=seen\n" for n in (1, 2, 3))
    text += "".join(f"ends end=E{n} cable=C{(n + 1) // 2} grade=seen\n" for n in range(1, 7))
    text += """
    joints joint=J1 style=splice ends="E2 & E3 & E5" grade=seen
    plugged plug=end:E1 into=port:S1.1 grade=seen
    plugged plug=end:E4 into=port:D1.1 grade=seen
    plugged plug=end:E6 into=port:D2.1 grade=seen
    """
    one = budget(text)
    (step,) = one.orders[0].steps
    assert step.device == "D1 & D2"
    assert one.class_w == pytest.approx(15.4)
    assert one.plate_w == pytest.approx(21.0)
    assert step.watts.low == 0
    assert "match" in step.watts.inputs


def test_budget__unknown_class_and_unknown_draw_are_told_not_counted_as_nothing():
    text = hung(("AP1", "AP1")).replace("units unit=D2 model=AP1", "units unit=D2 model=XX")
    text += 'models model=XX what="access point" takes=802.3af grade=seen\n'
    one = budget(text)
    assert one.unknown == ("D2",)
    assert {Reason.CLASS_UNKNOWN, Reason.LOAD_UNKNOWN} <= set(one.codes)
    assert one.class_w == pytest.approx(30.8)
    (order,) = [o for o in one.orders if o.rule is Rule.BY_DRAW]
    assert order.steps[1].watts.high >= 12.95


def test_budget__the_wire_takes_its_part_of_what_is_counted():
    """At the port: 10.5 W at 44 V over 80 m is above 10.5 W; over a plain cord it is 10.5 W."""
    cord = budget(hung(("AP1",), reserves="draw")).orders[0].steps[0].watts
    assert (cord.low, cord.high) == pytest.approx((8.5, 10.5))
    text = hung(("AP1",), reserves="draw").replace(" plugged=port:D1.1", "")
    text += """
    ports port=D1.1 gives=nothing grade=seen
    cables cable=C1 jacket=cat5e pairs=4 length_m=80 grade=seen
    ends end=E1 cable=C1 grade=seen
    ends end=E2 cable=C1 grade=seen
    plugged plug=end:E1 into=port:S1.1 grade=seen
    plugged plug=end:E2 into=port:D1.1 grade=seen
    """
    long = budget(text)
    watts = long.orders[0].steps[0].watts
    assert watts.high > 10.6
    assert long.plate_w == pytest.approx(10.5)


def test_budget__asking_for_one_port_still_counts_the_whole_unit():
    found = site(hung(MIXED))
    (one,) = budgets(found, judged_ports(found)[:1])
    assert one.class_w == pytest.approx(163.6)


def test_budget__without_an_entry_the_answer_changes():
    """Each plug that is not in the record takes its device out of the sums."""
    everything = entries(hung(MIXED))
    full = budget(hung(MIXED))
    plugs = [e for e in everything if isinstance(e.body, Claimed)]
    assert len(plugs) == len(MIXED)
    for plug in plugs:
        assert plug.id in full.because
        less = replay([e for e in everything if e is not plug], today=TODAY)
        (one,) = budgets(less, judged_ports(less))
        assert one.class_w < full.class_w

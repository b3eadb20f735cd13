"""Power at both ends for every class of IEEE 802.3 clauses 33 and 145.

Sources: watts at port and device read in a published table of classes; least voltages and loops from memory,
and they close: the quadratic turns one column of watts into the other. Conductor currents are computed here.
"""

import pytest

from pullstring.power.classes import pair_current, power_class, power_classes
from pullstring.power.loop import (
    greatest_load_w,
    greatest_loop_ohm,
    load_current_a,
    load_power_w,
    load_voltage_v,
    supply_power_w,
)

CLASSES = [  # class, PSE W, PD W, PSE V, loop ohm, tolerance of PSE W
    (0, 15.4, 12.95, 44, 20, 0.005),
    (1, 4.0, 3.84, 44, 20, 0.01),
    (2, 7.0, 6.49, 44, 20, 0.01),
    (3, 15.4, 12.95, 44, 20, 0.005),
    (4, 30.0, 25.5, 50, 12.5, 0.005),
    (5, 45.0, 40.0, 50, 6.25, 0.1),
    (6, 60.0, 51.0, 50, 6.25, 0.005),
    (7, 75.0, 62.0, 52, 6.25, 0.01),
    (8, 90.0, 71.3, 52, 6.25, 0.05),
]


@pytest.mark.parametrize(("number", "pse_w", "pd_w", "pse_v", "loop", "within"), CLASSES)
def test_classes__table_holds_the_printed_values(number, pse_w, pd_w, pse_v, loop, within):
    one = power_class(class_number=number)
    held = (one.pse_power, one.pd_power, one.pse_voltage, one.loop_resistance)
    assert [limit.value for limit in held] == [pse_w, pd_w, pse_v, loop]
    assert [limit.unit for limit in held] == ["W", "W", "V", "ohm"]


def test_classes__nine_of_them_each_with_its_provenance():
    assert list(power_classes()) == list(range(9))
    for one in power_classes().values():
        assert one.pd_power.provenance.startswith("read in")
        assert one.pse_voltage.provenance == "from memory"
        assert one.pairs == (4 if one.number >= 5 else 2)


def test_classes__there_is_no_ninth():
    with pytest.raises(ValueError, match="classes 0 to 8"):
        power_class(class_number=9)


@pytest.mark.parametrize(("number", "pse_w", "pd_w", "pse_v", "loop", "within"), CLASSES)
def test_supply_power__device_watts_to_port_watts(number, pse_w, pd_w, pse_v, loop, within):
    assert supply_power_w(supply_v=pse_v, load_w=pd_w, loop_ohm=loop) == pytest.approx(pse_w, abs=within)


@pytest.mark.parametrize(("number", "pse_w", "pd_w", "pse_v", "loop", "within"), CLASSES)
def test_load_voltage__port_watts_to_device_watts(number, pse_w, pd_w, pse_v, loop, within):
    """The other direction: what the port gives at its least voltage, less what the loop takes."""
    amps = pse_w / pse_v
    left_w = pse_w - amps**2 * loop
    assert left_w == pytest.approx(pd_w, abs=max(within, 0.1 if number == 5 else 0.03))
    volts = load_voltage_v(supply_v=pse_v, load_w=left_w, loop_ohm=loop)
    assert volts == pytest.approx(pse_v - amps * loop, rel=1e-9)


@pytest.mark.parametrize(
    ("number", "device_v"), [(0, 37.0), (3, 37.0), (4, 42.5), (5, 44.3), (6, 42.5), (7, 42.9), (8, 41.1)]
)
def test_load_voltage__least_volts_at_the_device(number, device_v):
    """Specified voltages from memory; classes 1 and 2 have none here."""
    one = power_class(class_number=number)
    volts = load_voltage_v(
        supply_v=one.pse_voltage.value, load_w=one.pd_power.value, loop_ohm=one.loop_resistance.value
    )
    assert volts == pytest.approx(device_v, abs=0.1)
    assert one.pd_voltage is not None
    assert one.pd_voltage.value == device_v


@pytest.mark.parametrize(
    ("pse_v", "amps", "loop", "pd_w"),
    [(44, 0.35, 20, 12.95), (50, 0.6, 12.5, 25.5), (50, 1.2, 6.25, 51.0), (52, 1.7308, 6.25, 71.3)],
)
def test_load_current__the_printed_currents(pse_v, amps, loop, pd_w):
    """P = V I - I^2 R at the currents of types 1 to 4."""
    assert load_current_a(supply_v=pse_v, load_w=pd_w, loop_ohm=loop) == pytest.approx(amps, abs=0.001)
    assert pse_v * amps - amps**2 * loop == pytest.approx(pd_w, abs=0.03)


def test_load_current__a_conductor_of_class_8_and_of_class_4():
    """Four conductors carry each pole of class 8, two each pole of class 4."""
    assert load_current_a(supply_v=52, load_w=71.3, loop_ohm=6.25) / 4 == pytest.approx(0.433, abs=0.0005)
    assert load_current_a(supply_v=50, load_w=25.5, loop_ohm=12.5) / 2 == pytest.approx(0.300, abs=0.0001)


def test_greatest_load__type_1_loop():
    assert greatest_load_w(supply_v=44, loop_ohm=20) == pytest.approx(24.2, abs=0.01)


def test_supply_power__class_3_loop_budget_is_twenty_ohm():
    """(15.4 - 12.95) / 0.35^2 = 20 ohm."""
    assert power_class(class_number=3).loop_resistance.value == pytest.approx(
        (15.4 - 12.95) / (15.4 / 44) ** 2, abs=0.01
    )


def test_load_voltage__class_4_over_100_m_of_24_awg():
    assert load_voltage_v(supply_v=52, load_w=25.5, loop_ohm=8.42) == pytest.approx(47.48, abs=0.01)


def test_supply_power__class_4_with_a_ten_ohm_loop():
    assert supply_power_w(supply_v=50, load_w=25.5, loop_ohm=10) == pytest.approx(28.82, abs=0.01)


@pytest.mark.parametrize(
    ("pse_v", "amps", "loop", "pd_w"),
    [(44, 0.35, 20, 12.95), (50, 0.6, 12.5, 25.5), (50, 1.2, 6.25, 51.0), (52, 1.7308, 6.25, 71.3)],
)
def test_load_power__what_arrives_at_the_printed_currents(pse_v, amps, loop, pd_w):
    assert load_power_w(supply_v=pse_v, current_a=amps, loop_ohm=loop) == pytest.approx(pd_w, abs=0.03)


def test_greatest_loop__class_3_and_class_4():
    """(15.4 - 12.95) / 0.35^2 = 20 and (30 - 25.5) / 0.6^2 = 12.5 ohm."""
    assert greatest_loop_ohm(supply_v=44, load_w=12.95, supply_w=15.4) == pytest.approx(20, abs=0.01)
    assert greatest_loop_ohm(supply_v=50, load_w=25.5, supply_w=30) == pytest.approx(12.5, abs=0.01)


@pytest.mark.parametrize(("type_number", "milliamps"), [(1, 350), (2, 600), (3, 600), (4, 960)])
def test_pair_current__by_type(type_number, milliamps):
    """350 and 600 mA read in a published text, 960 mA from memory."""
    limit = pair_current(type_number=type_number)
    assert limit.value * 1000 == milliamps
    assert limit.provenance == ("read in a published text" if type_number < 3 else "from memory")


def test_pair_current__no_class_asks_more_of_a_pair_than_its_type_allows():
    """A pairset carries the current of its class, shared by two pairsets where four pairs are used."""
    for one in power_classes().values():
        amps = one.pse_power.value / one.pse_voltage.value
        assert amps / (one.pairs / 2) <= pair_current(type_number=one.type_number).value + 1e-9

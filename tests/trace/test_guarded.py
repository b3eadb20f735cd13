"""Ohms, tones and resistors only where volts were read, nobody else owns it, and no alarm loop is suspected."""

import pytest

from pullstring.model.refs import parse_ref
from pullstring.trace.guarded import Why, may_touch, only_volts
from tests.notice.lines import site

QUIET = "measurements subject={0} quantity='volts DC' value=none at=2026-03-20\n"
QUIET += "measurements subject={0} quantity='volts AC' value=none at=2026-03-20\n"
BASE = "rooms room=CL closet=yes\nblocks block=B1\ncables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL\n"
OUTLET = BASE + "rooms room=R1\noutlets outlet=O1 room=R1\n"
METERED = BASE + QUIET.format("end:E1")
COMPANY = "companies company=ALM may_touch='E1, E9' {0}\n"


def why(text, ref="end:E1"):
    return [str(r) for r in may_touch(site(text), parse_ref(ref))]


def test_metered_and_quiet__may_be_touched():
    assert why(METERED) == []
    assert why(METERED, "cable:C1") == why(METERED, "pair:C1.2") == []


def test_before_volts__nothing_is_put_on_it():
    assert why(BASE) == ["volts not read"]
    assert only_volts(may_touch(site(BASE), parse_ref("end:E1")))
    assert not only_volts(may_touch(site(METERED), parse_ref("end:E1")))


@pytest.mark.parametrize("quantity", ["volts DC", "volts AC"])
def test_one_kind_of_volts__is_not_enough(quantity):
    assert why(BASE + f"measurements subject=end:E1 quantity='{quantity}' value=none at=2026-03-20\n") == [
        "volts not read"
    ]


@pytest.mark.parametrize("value", ["48 V", "-48 V", "12 V"])
def test_live__whichever_way_the_meter_was_held(value):
    """A telephone pair has 48 V, a door bell 12 V (common practice)."""
    text = METERED + f"measurements subject=pair:C1.2 quantity='volts DC' value='{value}' at=2026-03-20\n"
    assert why(text) == ["live"]


def test_live__on_what_shares_its_row():
    text = (
        METERED + "ends end=E1 ends_at=row:B1.1 at=2026-03-19\ncables cable=C2\nends end=E2 cable=C2 ends_at=row:B1.1\n"
    )
    assert why(text + "measurements subject=end:E2 quantity='volts DC' value='48 V'\n") == ["live"]


def test_stale__a_reading_of_two_years_ago_is_none():
    assert why(METERED.replace("2026-03-20", "2024-03-20")) == ["volts not read"]


def test_protected__only_its_company_even_when_it_was_asked():
    text = METERED + COMPANY.format("asked=yes") + "services service=FIRE keep=yes protected_by=ALM carried_on=end:E1\n"
    (reason,) = may_touch(site(text), parse_ref("end:E1"))
    assert (reason.why, reason.company) == (Why.PROTECTED, "ALM") and reason.because


def test_protected__is_not_said_twice_of_one_company():
    text = METERED + COMPANY.format("asked=no") + "services service=FIRE protected_by=ALM carried_on=end:E1\n"
    assert why(text) == ["protected"]


RESISTOR = "measurements subject=end:E1 quantity=resistance value='4700 ohm' at=2026-03-20\n"
SUSPECT = {
    "jacket": METERED.replace("cable=C1 pairs=4", "cable=C1 pairs=4 jacket='alarm 4-core'"),
    "jacket as seen at the end": METERED.replace("room=CL\nmeas", "room=CL jacket='alarm 6-core'\nmeas"),
    "label": METERED.replace("end=E1 cable=C1", "end=E1 cable=C1 label='FIRE, 1988'"),
    "a resistor that nobody placed": METERED + RESISTOR,
}


@pytest.mark.parametrize("name", SUSPECT)
def test_alarm_loop__until_its_company_was_asked(name):
    text = SUSPECT[name]
    (reason,) = may_touch(site(text), parse_ref("end:E1"))
    assert reason.why is Why.ALARM and reason.because
    assert why(text + COMPANY.format("asked=no")) == ["alarm", "company not asked"]
    assert why(text + COMPANY.format("asked=yes")) == []


def test_alarm_loop__our_own_resistor_is_none():
    text = OUTLET + QUIET.format("end:E1") + RESISTOR
    placed = "measurements subject=outlet:O1 quantity='resistor placed' value='4700 ohm' at=2026-03-20\n"
    assert why(text) == ["alarm"]
    assert why(text + placed) == []


def test_alarm_loop__a_fireplace_is_none():
    assert why(METERED.replace("end=E1 cable=C1", "end=E1 cable=C1 label=FIREPLACE")) == []


def test_company_named_for_an_end__is_asked_first():
    assert why(METERED + COMPANY.format("")) == ["company not asked"]
    assert why(METERED + COMPANY.format("").replace("E1,", "E10,")) == []


def test_outlet__mains_in_its_box_is_never_touched():
    text = OUTLET.replace("room=R1\n", "room=R1 shares_box_with_mains=yes\n", 2).replace(
        "rooms room=R1 shares_box_with_mains=yes", "rooms room=R1"
    )
    text += QUIET.format("outlet:O1")
    assert why(text, "outlet:O1") == ["mains in box"]
    assert why(text + "outlets outlet=O1 shares_box_with_mains=no\n", "outlet:O1") == []


def test_outlet__without_a_known_cable_is_metered_on_the_spot():
    assert why(OUTLET, "outlet:O1") == ["volts not read"]
    assert why(OUTLET + QUIET.format("outlet:O1"), "outlet:O1") == []
    assert why(OUTLET + QUIET.format("jack:O1.a"), "outlet:O1") == []
    assert why(OUTLET + QUIET.format("outlet:O1").replace("none", "'48 V'", 1), "outlet:O1") == ["live"]
    assert why(OUTLET + QUIET.format("outlet:O1").replace("2026", "2020"), "outlet:O1") == ["volts not read"]


def test_outlet__one_kind_of_volts_there_is_not_enough_and_a_live_jack_is_live():
    dc = "measurements subject={0} quantity='volts DC' value={1} at=2026-03-20\n"
    assert why(OUTLET + dc.format("outlet:O1", "none"), "outlet:O1") == ["volts not read"]
    assert why(OUTLET + QUIET.format("outlet:O1") + dc.format("jack:O1.a", "'48 V'"), "outlet:O1") == ["live"]


def test_outlet__volts_before_work_there_prove_nothing():
    text = OUTLET + "ends end=X1 cable=C1\n" + QUIET.format("outlet:O1")
    assert why(text, "outlet:O1") == []
    assert why(text + "acts act=terminate subject=end:X1 object=outlet:O1 at=2026-03-21\n", "outlet:O1") == [
        "volts not read"
    ]


def test_outlet__is_as_its_cable_is():
    arrives = OUTLET + "ends end=X1 cable=C1 ends_at=outlet:O1 at=2026-03-19\n"
    assert why(arrives, "outlet:O1") == ["volts not read"]
    assert why(arrives + QUIET.format("end:E1"), "outlet:O1") == []
    alarm = arrives + QUIET.format("end:E1") + "ends end=E1 label=ALARM\n"
    assert why(alarm, "outlet:O1") == ["alarm"]


def test_every_reason__is_named():
    text = OUTLET.replace("outlet=O1 room=R1", "outlet=O1 room=R1 shares_box_with_mains=yes label=FIRE")
    assert why(text, "outlet:O1") == ["mains in box", "alarm", "volts not read"]

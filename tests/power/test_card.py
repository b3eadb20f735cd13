"""The port card: what may be plugged in and what never. Outside reason: a standard port asks before it gives (IEEE 802.3
clause 33), 24 V always-on asks nobody (common practice)."""

import pytest

from pullstring.model.refs import parse_ref
from pullstring.power.card import MAY, NEVER, cards, supply
from tests.notice.lines import site
from tests.power.test_changes import HOUSE


def by_port(text):
    return {port.port.tag: port for card in cards(site(text)) for port in card.ports}


def test_card__each_port_of_a_unit_that_gives_power():
    found = by_port(HOUSE)
    assert list(found) == ["W.1", "W.2", "W.3", "W.4"]
    assert [found[p].saved for p in found] == ["yes", "no", "yes", "yes"]
    assert [d.tag for d in found["W.1"].devices] == ["A"]
    assert found["W.3"].may == ("plug", "none")


@pytest.mark.parametrize("gives", list(MAY))
def test_card__nothing_may_and_never_at_once(gives):
    assert not set(MAY[gives]) & set(NEVER[gives])


def test_card__an_always_on_port_takes_24_v_gear_only_and_names_its_open_jacks():
    text = HOUSE + (
        "cables cable=C2 jacket=cat5e pairs=4\nends end=E2 cable=C2 plugged=port:W.2 grade=seen\n"
        "ends end=F2 cable=C2 ends_at=outlet:O2 grade=seen\noutlets outlet=O2\n"
    )
    port = by_port(text)["W.2"]
    assert port.may == ("24 V always-on",) and "plug" in port.never
    assert [jack.tag for jack in port.open_jacks] == ["O2.1"]
    assert port.verdict is not None and port.verdict.hazard


def test_supply__counts_ports_and_loads_and_names_who_is_left():
    text = HOUSE + "units unit=B model=AF\nports port=B.1\nunits unit=D model=V24 state=planned\n"
    now, then = supply(site(text), planned=False), supply(site(text), planned=True)
    assert (now.standard_ports, now.always_on_ports, now.standard_loads, now.always_on_loads) == (2, 1, 2, 0)
    assert now.unfed == (parse_ref("unit:B"),)
    assert (then.always_on_loads, then.too_many) == (1, 0)
    assert {p.tag for p in now.free} == {"W.2", "W.4"}


def test_supply__one_load_too_many():
    text = HOUSE + "".join(f"units unit=B{n} model=AF\nports port=B{n}.1\n" for n in range(3))
    assert supply(site(text), planned=False).too_many == 1


def test_card__leaves_out_mains_and_what_is_gone():
    text = HOUSE + "ports port=W.9 gives=mains\nports port=W.8 state=removed\n"
    assert list(by_port(text)) == ["W.1", "W.2", "W.3", "W.4"]


def test_supply__ports_of_planned_units_count_only_when_asked():
    text = HOUSE + (
        "units unit=P model=SW state=planned\nports port=P.1 gives=802.3at\n"
        "units unit=R state=removed\nports port=R.1 gives=802.3at\n"
    )
    assert supply(site(text), planned=False).standard_ports == 2
    assert supply(site(text), planned=True).standard_ports == 3

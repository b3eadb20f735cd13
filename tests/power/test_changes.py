"""Before a mode is set, a plug moved or a unit swapped. Outside reasons: IEEE 802.3 classes and alternatives (A on 1-2 and 3-6,
B on 4-5 and 7-8), 24 V always-on on 4-5 and 7-8 without asking (common practice), and that a change must not end what works."""

import pytest

from pullstring.model.refs import parse_ref
from pullstring.power.changes import Verdict, Why, check_mode, check_move, check_swap
from tests.notice.lines import site

HOUSE = """
models model=SW what=switch passes="when powered" takes=plug
models model=AF what="access point" passes="when powered" takes=802.3af class=3 typical_w=5 max_w=9
models model=AT what="access point" passes="when powered" takes=802.3at class=4 typical_w=9 max_w=16
models model=V24 what="access point" passes="when powered" takes="24 V always-on" typical_w=4 max_w=6 least_v=18
circuits circuit=K breaker=on
sockets socket=S form=wall fed_by=circuit:K
units unit=W model=SW fed_by=socket:S
ports port=W.1 gives=802.3at mode_saved=yes
ports port=W.2 gives="24 V always-on" mode_saved=no
ports port=W.3 gives=nothing mode_saved=yes
ports port=W.4 gives=802.3af mode_saved=yes
units unit=A model=AF
ports port=A.1
cables cable=C1 jacket=cat5e pairs=4 gauge_awg=24 length_m=20 grade=seen
ends end=E1 cable=C1 plugged=port:W.1 grade="pinned out"
ends end=F1 cable=C1 ends_at=outlet:O1 grade="pinned out"
outlets outlet=O1
plugged plug=port:A.1 into=outlet:O1 grade=seen
rooms room=CL closet=yes
ends end=E1 room=CL
measurements subject=cable:C1 quantity='wire map' value=whole grade=metered
"""
SHORT_5_7 = "pairs pair=C1.1 touches=pair:C1.4\n"


def ref(text):
    return parse_ref(text)


@pytest.mark.parametrize(
    ("gives", "verdict", "why"),
    [
        ("802.3af", Verdict.GO, Why.WORKS_THEN),  # class 3 is granted by an af port
        ("802.3at", Verdict.GO, Why.WORKS_THEN),
        ("nothing", Verdict.STOP, Why.ENDS_WHAT_WORKS),
        ("24 V always-on", Verdict.STOP, Why.HAZARD_THEN),
    ],
)
def test_mode__of_the_port_of_a_class_3_unit(gives, verdict, why):
    found = check_mode(site(HOUSE), port=ref("port:W.1"), gives=gives)
    assert found.verdict is verdict and why in found.why
    assert [(b.port.tag, b.gives, b.saved) for b in found.put_back] == [("W.1", "802.3at", "yes")]
    assert found.loses == (() if verdict is Verdict.GO else (ref("unit:A"),))


def test_mode__a_class_4_unit_is_lost_on_an_af_port():
    found = check_mode(site(HOUSE + "units unit=A model=AT\n"), port=ref("port:W.1"), gives="802.3af")
    assert found.verdict is Verdict.STOP and found.loses == (ref("unit:A"),)


def test_mode__always_on_over_a_short_between_its_poles_is_a_hazard_even_for_24_v_gear():
    """Pins 5 and 7 are plus and minus of 24 V, and nothing to alternative A."""
    text = HOUSE + "units unit=A model=V24\n"
    assert Why.HAZARD_THEN not in check_mode(site(text), port=ref("port:W.1"), gives="24 V always-on").why
    assert Why.HAZARD_THEN in check_mode(site(text + SHORT_5_7), port=ref("port:W.1"), gives="24 V always-on").why


def test_mode__whether_it_is_saved_is_asked():
    text = HOUSE.replace("gives=802.3at mode_saved=yes", "gives=802.3at")
    found = check_mode(site(text), port=ref("port:W.1"), gives="802.3af")
    assert found.verdict is Verdict.ASK and Why.SAVED_UNKNOWN in found.why
    assert found.put_back[0].saved == "unknown"


@pytest.mark.parametrize(
    ("to", "verdict", "why"),
    [
        ("port:W.4", Verdict.ASK, Why.MODE_LEFT_BEHIND),  # runs there; the port left behind still gives
        ("port:W.3", Verdict.STOP, Why.ENDS_WHAT_WORKS),
        ("port:W.2", Verdict.STOP, Why.HAZARD_THEN),
    ],
)
def test_move__of_a_powered_run(to, verdict, why):
    found = check_move(site(HOUSE), plug=ref("end:E1"), to_port=ref(to))
    assert found.verdict is verdict and why in found.why
    assert [b.port.tag for b in found.put_back] == ["W.1"]


def test_move__into_a_port_that_is_taken_is_stopped():
    text = HOUSE + "units unit=B model=AF\nports port=B.1\nplugged plug=port:B.1 into=port:W.4\n"
    assert Why.PORT_TAKEN in check_move(site(text), plug=ref("end:E1"), to_port=ref("port:W.4")).why


def test_move__the_site_itself_is_not_touched():
    here = site(HOUSE)
    before = here.claims
    check_move(here, plug=ref("end:E1"), to_port=ref("port:W.2"))
    check_mode(here, port=ref("port:W.1"), gives="nothing")
    assert here.claims == before and here.get(ref("port:W.1")).text("gives") == "802.3at"


@pytest.mark.parametrize(
    ("model", "verdict"),
    [("AF", Verdict.GO), ("AT", Verdict.GO), ("V24", Verdict.STOP)],
)
def test_swap__by_what_the_new_unit_takes(model, verdict):
    assert check_swap(site(HOUSE), unit=ref("unit:A"), model=ref(f"model:{model}")).verdict is verdict


@pytest.mark.parametrize("worse", ["units unit=A state=planned\n", SHORT_5_7, "pairs pair=C1.2 condition=open\n"])
@pytest.mark.parametrize("gives", ["802.3af", "802.3at", "24 V always-on", "nothing"])
def test_worse_facts__never_better_a_verdict(worse, gives):
    order = [Verdict.GO, Verdict.ASK, Verdict.STOP]
    now = check_mode(site(HOUSE), port=ref("port:W.1"), gives=gives)
    then = check_mode(site(HOUSE + worse), port=ref("port:W.1"), gives=gives)
    if now.loses == () or then.loses:  # what did not run before cannot be lost
        assert order.index(then.verdict) >= order.index(now.verdict)


def test_mode__not_saved_is_asked_even_where_all_goes_on_working():
    text = HOUSE.replace("gives=802.3at mode_saved=yes", "gives=802.3at mode_saved=no")
    found = check_mode(site(text), port=ref("port:W.1"), gives="802.3af")
    assert found.verdict is Verdict.ASK and Why.NOT_SAVED in found.why


def test_mode__that_the_record_cannot_judge_is_asked():
    """Nobody knows what the unit wants: the model is not noted."""
    found = check_mode(site(HOUSE + "units unit=A model=none\n"), port=ref("port:W.1"), gives="802.3af")
    assert found.verdict is Verdict.ASK and Why.NOT_SURE in found.why

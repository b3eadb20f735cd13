"""Minutes that may be counted on: what is noted of a unit's own battery, the least of a UPS, nothing of a dead one."""

from pullstring.model.refs import parse_ref
from pullstring.reach.batteries import minutes_on_battery, promised_minutes
from tests.notice.lines import site

TEXT = """
models model=RT what=router takes=plug
models model=UP what=UPS takes=plug
units unit=R model=RT runs_without_mains_min=30
units unit=N runs_without_mains_min=12
units unit=D model=RT runs_without_mains_min=40 health='called dead'
units unit=G model=RT runs_without_mains_min=50 state=removed
units unit=U model=UP
units unit=P model=RT
"""


def test_promised__as_noted_and_nothing_of_what_is_dead_or_gone():
    found = {ref.tag: minutes for ref, minutes in promised_minutes(site(TEXT)).items()}
    assert found == {"R": 30, "N": 12, "U": 0}


def test_on_battery__only_what_was_asked_for_and_holds():
    asked = [parse_ref("unit:R"), parse_ref("unit:U"), parse_ref("unit:P")]
    assert minutes_on_battery(site(TEXT), asked) == {parse_ref("unit:R"): 30}

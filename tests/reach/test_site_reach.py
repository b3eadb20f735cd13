"""What hangs on what, trap by trap: each house is one that a person can work out in the head, and each has a near miss."""

from __future__ import annotations

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Claimed
from pullstring.model.refs import parse_ref
from pullstring.model.replay import replay
from pullstring.reach.consequence import goes_dark, live, proof, single_points
from pullstring.reach.points import feeds, power_path
from pullstring.reach.rules import build, build_without_mains
from tests.notice.lines import TODAY, entries, site

MODELS = """
models model=RT what=router passes="when powered" takes=plug
models model=SW what=switch passes="when powered" takes=plug
models model=UPS what=UPS passes=no takes=plug
models model=INJ what=injector passes=always takes=plug
models model=ROOF what=radio passes="when powered" takes="24 V always-on"
models model=AP what="access point" passes="when powered" takes=802.3af
models model=TEL what=telephone passes=no takes=line
models model=PANEL what=panel passes=always takes=plug
models model=RED what="series jack" passes=always takes=none
circuits circuit=BAR breaker=on
circuits circuit=HALL breaker=on
"""
CLOSET = (
    MODELS
    + """
switches switch=SW1 fed_by=circuit:BAR usual=on
sockets socket=K1 form=wall fed_by=switch:SW1
sockets socket=K2 form=wall fed_by=circuit:HALL
sockets socket=P1 form=strip filtered=yes fed_by=socket:K1
units unit=INJ model=INJ fed_by=socket:P1
units unit=ROOF model=ROOF
ports port=INJ.radio gives="24 V always-on"
ports port=INJ.lan gives=nothing
ports port=ROOF.1 gives=nothing
cables cable=C01 pairs=4
ends end=E01 cable=C01 plugged=port:INJ.radio
ends end=X01 cable=C01 plugged=port:ROOF.1
units unit=R model=RT fed_by=socket:P1
plugged plug=port:INJ.lan into=port:R.wan
services service=NET arrives_at=unit:R needs=data source=feed from=unit:ROOF keep=yes
"""
)


def dark(text: str, *removed: str) -> str:
    """What goes dark, without the word service."""
    reach = build(site(text))
    return " ".join(n.removeprefix("service:") for n in goes_dark(reach.rules, reach.services, removed))


def alive(text: str, **options: float) -> str:
    found = site(text)
    reach = build_without_mains(found, minutes=options["minutes"]) if options else build(found)
    holds = live(reach.rules)
    return " ".join(sorted(n.removeprefix("service:") for n, fact in reach.services.items() if fact in holds))


def path(found: Site, unit: str) -> str:
    return " ".join(r.tag for r in power_path(found, unit=parse_ref(f"unit:{unit}")).points)


def test_feed__six_single_points_from_the_breaker_to_the_roof() -> None:
    """Breaker, switch beside the bar, socket, strip, injector, cable: counted by hand in the order the power comes."""
    found = site(CLOSET)
    assert path(found, "ROOF") == "BAR SW1 K1 P1 INJ C01"
    assert set(feeds(found)) == {"service:NET"}
    for point in feeds(found)["service:NET"].points:
        assert dark(CLOSET, str(point)) == "NET"


def test_feed__a_second_plug_leaves_only_what_both_need() -> None:
    """The injector plugged into the hall too: no single socket is left before it."""
    both = site(CLOSET + "claims subject=unit:INJ relation=fed_by object=socket:K2\n")
    assert path(both, "ROOF") == "INJ C01"
    assert power_path(both, unit=parse_ref("unit:ROOF")).fed


def test_feed__of_a_unit_that_nothing_feeds_nothing_is_said() -> None:
    nobody = power_path(site(CLOSET + "ports port=INJ.radio gives=nothing\n"), unit=parse_ref("unit:ROOF"))
    assert (nobody.points, nobody.fed, nobody.because) == ((), False, ())


@pytest.mark.parametrize(
    ("change", "left"),
    [
        ("", "NET"),
        ("switches switch=SW1 usual=off\n", ""),  # the switch in the bar at one o'clock at night
        ("switches switch=SW1 turned=off\n", ""),
        ("circuits circuit=BAR breaker=off\n", ""),
        ("circuits circuit=HALL breaker=off\n", "NET"),  # another breaker
        ("sockets socket=P1 state=removed\n", ""),
        ("sockets socket=P1 filtered=no\n", "NET"),  # a filter stops data over mains, not power
        ("ports port=INJ.radio gives=802.3af\n", ""),  # a 24 V unit stays dark on a standard port
        ("pairs pair=C01.1 condition=open\n", ""),  # 24 V goes on 4-5 and 7-8
        ("pairs pair=C01.2 condition=open\n", ""),  # data go on 1-2 and 3-6
        ("measurements subject=cable:C01 quantity='wire map' value='whole; touch 5+7'\n", ""),  # plus meets minus
        ("measurements subject=cable:C01 quantity='wire map' value='whole; touch 4+5'\n", "NET"),  # equal poles
    ],
)
def test_closet__one_cell_changed(change: str, left: str) -> None:
    assert alive(CLOSET + change) == left


STAPLED = (
    MODELS
    + """
units unit=W model=SW fed_by=socket:K2
sockets socket=K2 form=wall fed_by=circuit:HALL
ports port=W.1 gives=802.3af alternative={alternative}
units unit=N8 model=AP
cables cable=C17 pairs=4
ends end=E17 cable=C17 plugged=port:W.1
ends end=F17 cable=C17 plugged=port:N8.1
services service=N8 arrives_at=unit:N8 needs=power
measurements subject=cable:C17 quantity='wire map' value='whole; touch {pins}'
"""
)


@pytest.mark.parametrize(
    ("alternative", "pins", "left"),
    [
        ("A", "5+7", "N8"),  # the staple through blue and brown spares 1-2 and 3-6
        ("B", "5+7", ""),
        ("B", "4+5", "N8"),  # inside one pair: equal poles, power does not notice
        ("A", "1+2", "N8"),
        ("A", "2+3", ""),  # one pole on the other
        ("A", "2+4", "N8"),  # the other wire carries no power
    ],
)
def test_power_over_data__follows_the_pairs_that_are_whole_for_it(alternative: str, pins: str, left: str) -> None:
    assert alive(STAPLED.format(alternative=alternative, pins=pins)) == left


UPS = (
    MODELS
    + """
sockets socket=K1 form=wall fed_by=circuit:BAR
units unit=U model=UPS fed_by=socket:K1 {minutes}
ports port=U.battery gives="battery mains"
ports port=U.surge gives=mains
units unit=R model=RT fed_by=port:U.{side}
ports port=R.1 gives=nothing
services service=NET arrives_at=unit:R needs=data source=feed from=port:R.1
"""
)


@pytest.mark.parametrize(
    ("side", "noted", "gone", "left"),
    [
        ("battery", "runs_without_mains_min=20 grade=seen at=2026-03-20", 19, "NET"),  # a test wears with the battery
        ("battery", "runs_without_mains_min=20 grade=seen at=2026-03-20", 21, ""),
        ("battery", "runs_without_mains_min=20 grade=told at=2026-03-20", 20, ""),  # a saying is no test
        ("surge", "runs_without_mains_min=20 grade=seen at=2026-03-20", 5, ""),  # not behind the battery
        ("battery", "", 5, ""),  # minutes nobody noted are not promised
        ("battery", "runs_without_mains_min=20 health='called dead'", 5, ""),
    ],
)
def test_ups__holds_its_battery_sockets_for_its_minutes(side: str, noted: str, gone: float, left: str) -> None:
    text = UPS.format(side=side, minutes=noted)
    assert alive(text) == "NET"  # with the mains on, both sides give
    assert alive(text, minutes=gone) == left


def test_ups__of_which_only_the_surge_side_is_noted_holds_nothing_there() -> None:
    text = UPS.format(side="surge", minutes="runs_without_mains_min=20")
    assert alive(text.replace('ports port=U.battery gives="battery mains"\n', ""), minutes=5) == ""


def test_ups__one_breaker_off_is_not_the_mains_lost() -> None:
    """A cut counts no minutes: it stays cut."""
    assert dark(UPS.format(side="battery", minutes="runs_without_mains_min=20"), "circuit:BAR") == "NET"


LINES = (
    MODELS
    + """
rooms room=CL closet=yes
blocks block=B
rows row=B.2
cables cable=C03 pairs=2
ends end=OUT cable=C03
ends end=E03 cable=C03 room=CL plugged=port:RED.in
units unit=RED model=RED
cables cable=C04 pairs=2
ends end=E04 cable=C04 room=CL plugged=port:RED.out
ends end=X04 cable=C04 plugged=port:ALARM.line
cables cable=C05 pairs=2
ends end=X05 cable=C05 plugged=port:ALARM.back
ends end=E05 cable=C05 room=CL plugged=port:RED.back
claims subject=pair:C05.1 relation=joined object=row:B.2
sockets socket=K7 form=wall fed_by=circuit:HALL
units unit=ALARM model=PANEL fed_by=socket:K7
cables cable=C06 pairs=2
ends end=E06 cable=C06 room=CL ends_at=row:B.2
ends end=X06 cable=C06 plugged=port:CAB.line
units unit=CAB model=TEL
services service=FIRE arrives_at=unit:ALARM needs=line source=exchange from=end:OUT keep=yes
services service=LIFT arrives_at=unit:CAB needs=line source=exchange from=end:OUT keep=yes
"""
)


@pytest.mark.parametrize(
    ("removed", "silent"),
    [
        ("unit:RED", "FIRE LIFT"),  # the red jack looks like scrap and holds both
        ("end:E04", "FIRE LIFT"),
        ("unit:ALARM", "FIRE LIFT"),  # the panel taken off parts the line to the lift
        ("end:E05", "LIFT"),
        ("row:B.2", "LIFT"),
        ("block:B", "LIFT"),
        ("cable:C06", "LIFT"),
        ("socket:K7", "FIRE"),  # the panel is dark; what passes through it needs no power
        ("pair:C06.2", ""),  # the coiled pair
        ("circuit:BAR", ""),
    ],
)
def test_series__alarm_then_lift(removed: str, silent: str) -> None:
    assert dark(LINES, removed) == silent


def test_series__a_lift_that_lies_on_the_line_itself_does_not_hang_on_the_alarm() -> None:
    own = LINES.replace("pair:C05.1 relation=joined", "pair:C03.1 relation=joined")
    assert (dark(own, "unit:ALARM"), dark(own, "unit:RED")) == ("FIRE", "FIRE")


RING = (
    MODELS
    + """
rooms room=CL closet=yes
blocks block=B
rows row=B.8
rows row=B.9
rows row=B.1 clip_to=row:B.8
outlets outlet=O1
cables cable=IN pairs=1
ends end=OUT cable=IN
ends end=NEAR cable=IN room=CL ends_at=row:B.1
cables cable=C12 pairs=2
ends end=E12 cable=C12 room=CL ends_at=row:B.8
ends end=F12 cable=C12 ends_at=outlet:O1
cables cable=C40 pairs=2
ends end=F40 cable=C40 ends_at=outlet:O1
ends end=E40 cable=C40 room=CL ends_at=row:B.9
units unit=T model=TEL
plugged plug=port:T.line into=outlet:O1
services service=DESK arrives_at=unit:T needs=line source=exchange from=end:OUT
claims subject=row:B.1 relation=joined object=row:B.8
{back}
"""
)
BOTH_ENDS = "claims subject=row:B.1 relation=joined object=row:B.9"


def test_ring__fed_at_both_ends_lives_on_either() -> None:
    text = RING.format(back=BOTH_ENDS)
    assert [dark(text, r) for r in ("end:E12", "cable:C12", "end:E40", "cable:C40")] == ["", "", "", ""]
    assert dark(text, "end:E12", "end:E40") == dark(text, "row:B.1") == dark(text, "outlet:O1") == "DESK"


def test_ring__fed_at_one_end_hangs_on_that_one() -> None:
    text = RING.format(back="")
    assert [dark(text, r) for r in ("end:E12", "end:E40")] == ["DESK", ""]


CABINET = (
    MODELS
    + """
rooms room=CL closet=yes
blocks block=B
rows row=B.32
cables cable=IN pairs=1
ends end=OUT cable=IN
ends end=NEAR cable=IN room=CL ends_at=row:B.32
cables cable=C09 jacket=25-pair pairs=25
ends end=E09 cable=C09 room=CL
ends end=F09 cable=C09
claims subject=pair:C09.3 relation=joined object=row:B.32
claims subject=pair:C09.3 relation=joined object=pair:C09b.1
cables cable=C09b pairs=2
ends end=G09 cable=C09b
ends end=H09 cable=C09b ends_at=outlet:O23
outlets outlet=O23
units unit=T model=TEL
plugged plug=port:T.line into=outlet:O23
services service=DESK arrives_at=unit:T needs=line source=exchange from=end:OUT
"""
)


def test_cabinet__an_outlet_without_an_end_of_its_own_vanishes_with_the_old_tail() -> None:
    assert [dark(CABINET, r) for r in ("cable:C09", "pair:C09.3", "end:E09")] == ["DESK", "DESK", "DESK"]
    assert [dark(CABINET, r) for r in ("pair:C09.4", "pair:C09b.2")] == ["", ""]


ROUTER_LINE = (
    CLOSET
    + """
cables cable=FLAT jacket="flat cord" pairs=1
ends end=A cable=FLAT plugged=port:R.tel
ends end=B cable=FLAT plugged=port:T.line
units unit=T model=TEL
services service=CALL arrives_at=unit:T needs=line source=own from=port:R.tel
"""
)


def test_line_from_inside__lives_as_long_as_the_router_and_brings_no_data() -> None:
    assert dark(ROUTER_LINE, "switch:SW1") == "CALL NET"
    assert dark(ROUTER_LINE, "cable:C01") == "NET"  # the roof is cut; the line is made inside
    assert dark(ROUTER_LINE, "cable:FLAT") == "CALL"


def test_unknown_feed__is_told_and_still_hangs_on_its_cable() -> None:
    """Nobody noted what feeds the access point: it is taken as powered, and told; its data hang on its wire all the same."""
    text = CLOSET + (
        "units unit=N3 model=AP\nports port=R.1\nplugged plug=port:N3.1 into=port:R.1\n"
        "services service=WIFI arrives_at=unit:N3 needs=data source=feed from=unit:ROOF\n"
    )
    assert build(site(text)).assumed == ("unit:N3",)
    assert (alive(text), dark(text, "port:N3.1")) == ("NET WIFI", "WIFI")
    known = text.replace("ports port=R.1\n", "ports port=R.1 gives=nothing\n")
    assert (build(site(known)).assumed, alive(known)) == ((), "NET")


def test_far_end_unknown__is_no_promise_and_no_loss() -> None:
    text = CLOSET + "cables cable=C50 pairs=4\nends end=E50 cable=C50 plugged=port:R.2\noutlets outlet=O5\n"
    there = text + "services service=TV arrives_at=outlet:O5 needs=data source=feed from=unit:ROOF\n"
    assert (alive(there), dark(there, "cable:C50")) == ("NET", "")
    said = there + "claims subject=end:E50 relation=goes_to object=outlet:O5 grade=told\n"
    assert (alive(said), dark(said, "cable:C50")) == ("NET TV", "TV")


def test_single_points__of_a_house_with_two_ways_leave_out_what_has_a_twin() -> None:
    text = RING.format(back=BOTH_ENDS)
    reach = build(site(text))
    points = set(single_points(reach.rules, reach.services, ["service:DESK"]))
    assert {"end:NEAR", "row:B.1", "outlet:O1", "unit:T"} <= points
    assert not points & {"end:E12", "end:E40", "cable:C12", "cable:C40", "row:B.8", "row:B.9"}


@pytest.mark.parametrize("text", [CLOSET, LINES, CABINET, ROUTER_LINE, RING.format(back="")])
def test_because__a_claim_that_is_named_is_needed_and_another_is_not(text: str) -> None:
    """In a house with one way for everything: without a named claim the service leaves or its power is only assumed."""
    every = entries(text)
    reach = build(replay(every, today=TODAY))
    named = {name: {e for r in proof(reach.rules, fact) for e in r.because} for name, fact in reach.services.items()}
    assert all(named.values())
    for entry in every:
        if not isinstance(entry.body, Claimed):
            continue
        left = build(replay([e for e in every if e is not entry], today=TODAY))
        lives = live(left.rules)
        silent = {name for name, fact in reach.services.items() if left.services.get(name, fact) not in lives}
        if str(entry.body.subject) in left.assumed:  # taken as fed by something unknown, and told
            assert entry.body.relation == "fed_by" and not silent
            continue
        assert silent == {name for name, because in named.items() if entry.id in because}, entry.body


@pytest.mark.parametrize("text", [CLOSET, LINES, CABINET, RING.format(back=BOTH_ENDS)])
def test_grade__weaker_sayings_silence_nothing_and_free_nothing(text: str) -> None:
    """What is only told is guarded like what was seen: a weak claim never makes less go dark."""

    def graded(word: str) -> str:
        lines = [line if line.startswith("models") else f"{line} grade={word}" for line in text.strip().splitlines()]
        return "\n".join(line for line in lines if line.strip() and not line.startswith(" grade"))

    strong, weak = build(site(graded("seen"))), build(site(graded("assumed")))
    for element in {e for rule in strong.rules for e in rule.through}:
        assert goes_dark(strong.rules, strong.services, {element}) == goes_dark(weak.rules, weak.services, {element})

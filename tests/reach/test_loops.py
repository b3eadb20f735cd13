"""Loops of the data network. Outside reason: a bridge sends on every port what it hears on another (IEEE 802.1D), so two ways
between two bridges go round for ever; a router, a plain device and a cut way end the ring."""

import pytest

from pullstring.model.conductors import outlet_of
from pullstring.reach.loops import loops
from tests.notice.lines import site

HEAD = """
models model=SW what=switch passes="when powered" takes=plug
models model=WALL what="access point" passes="when powered" takes=plug
models model=MAINSNET what=adapter passes="when powered" takes=plug
models model=TV what=player passes=no takes=plug
models model=RT what=router passes="when powered" takes=plug
circuits circuit=K breaker=on
sockets socket=S1 form=wall fed_by=circuit:K
units unit=A model=SW fed_by=socket:S1
units unit=B model=SW fed_by=socket:S1
ports port=A.1
ports port=A.2
ports port=A.3
ports port=B.1
ports port=B.2
ports port=B.3
"""
TWO_CORDS = "plugged plug=port:A.1 into=port:B.1\nplugged plug=port:A.2 into=port:B.2\n"
WALL_UNIT = """
cables cable=C1 jacket=cat5e pairs=4
ends end=E1 cable=C1 plugged=port:A.1
ends end=F1 cable=C1 ends_at=outlet:O1
cables cable=C2 jacket=cat5e pairs=4
ends end=E2 cable=C2 plugged=port:A.2
ends end=F2 cable=C2 ends_at=outlet:O2
outlets outlet=O1
outlets outlet=O2
units unit=N7 model=WALL fed_by=socket:S1
ports port=N7.1
ports port=N7.2
plugged plug=port:N7.1 into=outlet:O1
plugged plug=port:N7.2 into=port:B.1
plugged plug=port:B.2 into=outlet:O2
"""
ADAPTERS = """
units unit=D10 model=MAINSNET fed_by=socket:S1
units unit=D11 model=MAINSNET fed_by=socket:S1
ports port=D10.lan
ports port=D10.mains
ports port=D11.lan
ports port=D11.mains
plugged plug=port:D10.lan into=port:A.3
plugged plug=port:D10.mains into=port:D11.mains
plugged plug=port:D11.lan into=port:B.3
"""


def rings(text):
    return [({u.tag for u in loop.units}, loop.sure) for loop in loops(site(HEAD + text))]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (TWO_CORDS, [({"A", "B"}, True)]),
        ("plugged plug=port:A.1 into=port:A.2\n", [({"A"}, True)]),  # one switch, both ends of one cord
        (WALL_UNIT, [({"A", "N7", "B"}, True)]),  # the second port of a wall unit and the next outlet, into one switch
        (
            "plugged plug=port:A.1 into=port:B.1\n" + ADAPTERS,
            [({"A", "B", "D10", "D11"}, True)],
        ),  # left in after the run came
        (TWO_CORDS + ADAPTERS, [({"A", "B"}, True), ({"A", "B", "D10", "D11"}, True)]),
    ],
)
def test_loop__is_told(text, wanted):
    assert sorted(rings(text), key=str) == sorted(wanted, key=str)


@pytest.mark.parametrize(
    "text",
    [
        "plugged plug=port:A.1 into=port:B.1\n",  # one cord
        ADAPTERS,  # the adapters alone are the only way
        WALL_UNIT.replace("plugged plug=port:B.2 into=outlet:O2", ""),  # the small switch hangs on the second port only
        WALL_UNIT.replace("into=port:B.1", "into=port:T.1") + "units unit=T model=TV\nports port=T.1\n",  # a player
        TWO_CORDS.replace("port:B.2", "port:R.lan1")
        + "units unit=R model=RT\nports port=R.lan1\nports port=R.wan\nplugged plug=port:R.wan into=port:B.3\n",  # routed
        TWO_CORDS + "units unit=B state=removed\n",
        WALL_UNIT + "cables cable=C2 state='out of use'\n",
        WALL_UNIT + "pairs pair=C2.3 condition=open\n",  # no data over a broken pair
    ],
)
def test_loop__near_misses_are_silent(text):
    assert rings(text) == []


def test_loop__through_a_router_that_may_pass_is_possible():
    """Nobody noted which port is which: it may join them all."""
    text = TWO_CORDS.replace("port:B.2", "port:R.1") + "units unit=R model=RT\nports port=R.1\nports port=R.2\n"
    assert rings(text + "plugged plug=port:R.2 into=port:B.3\n") == [({"A", "B", "R"}, False)]


def test_pull__the_cord_that_costs_no_kept_service():
    """The device hangs on B; the line comes in at A: one of two cords may go, and so may the adapters, but not its own cord."""
    text = (
        "plugged plug=port:A.1 into=port:B.1\n"
        + ADAPTERS
        + "ports port=A.wan\nservices service=NET arrives_at=unit:B needs=data source=feed from=port:A.wan keep=yes\n"
    )
    (loop,) = loops(site(HEAD + text))
    assert loop.darkens == ()
    assert {r.kind for r in loop.pull} == {"port"}


def test_because__without_a_plug_there_is_no_loop():
    from pullstring.model.replay import replay
    from tests.notice.lines import TODAY, entries

    every = entries(HEAD + TWO_CORDS)
    (loop,) = loops(replay(every, today=TODAY))
    plugs = [e for e in every if e.id in loop.because and "plugged" in str(e.body)]
    assert len(plugs) == 2
    for plug in plugs:
        assert loops(replay([e for e in every if e is not plug], today=TODAY)) == ()


def test_every_ring_of_random_networks_is_found():
    """Against the count of independent cycles: edges - nodes + components, worked out with a union of sets."""
    import random

    dice = random.Random(11)
    for _ in range(60):
        n = dice.randint(2, 7)
        cords = [tuple(dice.sample(range(n), 2)) for _ in range(dice.randint(1, 10))]
        text = "".join(f"units unit=S{i} model=SW fed_by=socket:S1\n" for i in range(n))
        for k, (a, b) in enumerate(cords):
            text += f"ports port=S{a}.{k}a\nports port=S{b}.{k}b\nplugged plug=port:S{a}.{k}a into=port:S{b}.{k}b\n"
        group = list(range(n))
        extra = 0
        for a, b in cords:
            if group[a] == group[b]:
                extra += 1
            group = [group[a] if g == group[b] else g for g in group]
        found = loops(site(HEAD + text))
        assert (len(found) > 0) == (extra > 0)
        assert len(found) <= extra
        for loop in found:
            assert len(loop.ports) == 2 * len(loop.units)


SMALL = "plugged plug=port:A.1 into=port:B.1\n"
UNSEEN = """
units unit=D10 model=MAINSNET fed_by=socket:S1
units unit=D11 model=MAINSNET fed_by=socket:S1
plugged plug=port:D10.lan into=port:A.3
plugged plug=port:D11.lan into=port:B.3
"""
RADIOS = """
models model=AIR what=radio passes="when powered" takes=plug
units unit=R1 model=AIR fed_by=socket:S1
units unit=R2 model=AIR fed_by=socket:S1
plugged plug=port:R1.1 into=port:A.3
plugged plug=port:R2.1 into=port:B.3
"""
REPEATER = """
models model=REP what=repeater passes="when powered" takes=plug
units unit=X model=REP fed_by=socket:S1
units unit=Y model=WALL fed_by=socket:S1
plugged plug=port:X.1 into=port:A.3
plugged plug=port:Y.1 into=port:B.3
"""


@pytest.mark.parametrize(
    ("text", "units"),
    [
        (UNSEEN, {"A", "B", "D10", "D11"}),
        (RADIOS, {"A", "B", "R1", "R2"}),
        (REPEATER, {"A", "B", "X", "Y"}),
    ],
)
def test_loop__over_mains_or_air_that_nobody_noted_is_possible(text, units):
    assert rings(SMALL + text) == [(units, False)]
    assert rings(text) == []


ONE_PAIR = "ports port=D10.mains\nports port=D9.mains\nunits unit=D9 model=MAINSNET fed_by=socket:S1\n"


@pytest.mark.parametrize(
    "text",
    [
        UNSEEN.replace("D11 model=MAINSNET", "D11 model=OTHER")
        + "models model=OTHER what=adapter passes='when powered'\n",
        UNSEEN + ONE_PAIR + "plugged plug=port:D10.mains into=port:D9.mains\n",  # its partner is known, and is another
        UNSEEN + "networks network=N1\nnetworks network=N2\n"
        "ports port=D10.lan network=N1\nports port=D11.lan network=N2\n",
        UNSEEN + "units unit=D11 state=removed\n",
        RADIOS.replace("what=radio passes='when powered'", "what=radio passes=no").replace('"when powered"', "no"),
        REPEATER.replace("plugged plug=port:X.1 into=port:A.3\n", ""),
        REPEATER + "plugged plug=port:X.air into=port:R.air\nunits unit=R model=RT\n",  # it is known to hear a router
    ],
)
def test_loop__over_mains_or_air_near_misses_are_silent(text):
    lines = sorted(text.strip().splitlines(), key=lambda line: not line.startswith(("models", "networks", "units")))
    assert rings(SMALL + "\n".join(lines)) == []


def test_loop__sure_ones_do_not_go_over_what_nobody_noted():
    assert sorted(rings(TWO_CORDS + UNSEEN), key=str) == sorted(
        [({"A", "B"}, True), ({"A", "B", "D10", "D11"}, False)], key=str
    )


def test_loop__a_long_sure_one_is_told_whole_though_air_is_shorter():
    """Ten switches in a ring of cords; over the adapters it would be eight units, but nobody noted that they meet."""
    names = ["A", "P1", "P2", "P3", "P4", "B", "Q1", "Q2", "Q3", "Q4"]
    text = "".join(f"units unit={n} model=SW fed_by=socket:S1\n" for n in names)
    text += "".join(
        f"plugged plug=port:{x}.8 into=port:{y}.9\n" for x, y in zip(names, names[1:] + names[:1], strict=True)
    )
    assert ({*names}, True) in rings(text + UNSEEN)


def test_loop__an_outlet_patched_twice_from_one_switch():
    text = "outlets outlet=O1\nplugged plug=port:A.1 into=outlet:O1\nplugged plug=port:A.2 into=outlet:O1\n"
    assert rings(text) == [({"A"}, True)]


def test_loop__one_plug_said_to_be_in_two_ports_is_no_loop():
    """It sits in one of them; nobody knows in which."""
    text = "cables cable=C1\nends end=E1 cable=C1\nends end=F1 cable=C1 plugged=port:A.1\n"
    assert rings(text + "plugged plug=end:E1 into=port:B.1\nplugged plug=end:E1 into=port:B.2\n") == []


@pytest.mark.parametrize("gone", ["circuits circuit=K breaker=off\n", "models model=SW passes=none\n"])
def test_loop__a_unit_without_power_or_of_unknown_kind_makes_it_possible_only(gone):
    assert rings(WALL_UNIT + gone.replace("model=SW passes=none", "model=WALL what=other")) == [
        ({"A", "N7", "B"}, False)
    ]


def test_loop__a_saying_against_it_makes_it_possible_only():
    against = "plugged plug=port:A.1 into=port:B.1 holds=no\n"
    (loop,) = loops(site(HEAD + TWO_CORDS + against.replace("holds=no", "holds=no grade=assumed")))
    assert not loop.sure


def test_grade__the_weakest_link():
    seen = TWO_CORDS.replace("\n", " grade=seen\n")
    (loop,) = loops(site(HEAD + seen))
    assert loop.grade == "seen"
    (loop,) = loops(site(HEAD + seen.replace("grade=seen", "grade=told", 1)))
    assert loop.grade == "told"


FED = (
    WALL_UNIT.replace("units unit=N7 model=WALL fed_by=socket:S1", "units unit=N7 model=POE")
    + "ports port=A.1 gives=802.3af\n"
)
POE = "models model=POE what='access point' passes='when powered' takes=802.3af\n"


def test_pull__the_cord_that_costs_no_power_and_no_kept_service():
    """The demo's trap: wall unit's second port and the next outlet both into one small switch; the run feeds the unit."""
    text = POE + FED + "services service=WIFI arrives_at=unit:N7 needs=power keep=yes\n"
    (loop,) = loops(site(HEAD + text))
    assert (loop.darkens, {str(r) for r in loop.pull}) == ((), {"port:N7.2", "port:B.1"})


def test_pull__not_the_cord_that_feeds_a_unit_though_all_others_are_dearer():
    text = POE + (
        "ports port=A.1 gives=802.3af\nunits unit=N7 model=POE\nplugged plug=port:N7.1 into=port:A.1\n"
        "outlets outlet=O1\nplugged plug=port:N7.2 into=outlet:O1\nplugged plug=port:A.2 into=outlet:O1\n"
    )
    (loop,) = loops(site(HEAD + text))
    assert "outlet:O1" in {str(outlet_of(r)) for r in loop.pull}


def test_pull__not_the_plug_in_a_unit_that_only_a_company_may_touch():
    text = "companies company=ISP\n" + TWO_CORDS + "units unit=B protected_by=ISP\n"
    third = "units unit=C model=SW fed_by=socket:S1\nplugged plug=port:C.1 into=port:A.3\nplugged plug=port:C.2 into=port:B.3\n"
    pulls = {tuple(str(r) for r in loop.pull) for loop in loops(site(HEAD + text + third)) if len(loop.units) == 3}
    assert pulls == {("port:A.3", "port:C.1")} or pulls == {("port:C.1", "port:A.3")}


def test_because__everything_that_the_loop_stands_on_and_nothing_else():
    """Each claim and each unit's own row that is named, taken out, ends the loop; each claim that is not, does not."""
    from pullstring.model.entries import Claimed
    from pullstring.model.replay import replay
    from tests.notice.lines import TODAY, entries

    every = entries(HEAD + WALL_UNIT + "plugged plug=port:A.3 into=outlet:O9\noutlets outlet=O9\n")
    (loop,) = loops(replay(every, today=TODAY))
    for entry in every:
        if isinstance(entry.body, Claimed) and entry.body.relation != "fed_by":
            left = loops(replay([e for e in every if e is not entry], today=TODAY))
            assert (left == ()) == (entry.id in loop.because), entry.body

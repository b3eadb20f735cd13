"""Loops of the data network. Outside reason: a bridge sends on every port what it hears on another (IEEE 802.1D), so two ways
between two bridges go round for ever; a router, a plain device and a cut way end the ring."""

import pytest

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

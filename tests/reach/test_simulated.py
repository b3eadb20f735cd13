"""What goes dark, against a forward simulation that was written from the tables without a look at the program.

500 random properties, every element taken away alone, several at once, and one after the other in a random order. The
simulation is itself held to small properties that can be worked out in the head.
"""

from __future__ import annotations

import collections
import random
from collections.abc import Iterator

import pytest

from pullstring.reach import consequence, rules
from tests.notice.lines import site
from tests.reach.simulated import forward
from tests.reach.simulated.draw import LEAST, MOST, drawn
from tests.reach.simulated.paper import as_text, elements, from_text
from tests.tiers import FRESH_SEED

SITES, BLOCK = 500, 50
FEATURES = (
    "switch on the way", "something switched off", "strip", "UPS", "battery socket", "surge socket",
    "injector and roof radio", "feed on a cable", "second source of data", "router", "power over data port",
    "powered over data", "cord", "outlet", "wrong or no power on the port", "panel", "splice", "tap on data", "coupler",
    "far end only told", "two jacks on a plate", "open pair", "second port data only", "second port hands power on",
    "two feeds on two sockets", "two feeds: plug and data", "feed nobody noted", "ring", "power loop without a source",
    "power loop with a source", "only planned", "exchange pair", "protector", "telephone block", "series jack",
    "router's telephone socket", "line far end only told", "chain", "loop joint", "tap", "clip",
    "two lines in one cable", "outlet fed from a cabinet", "pair by pair joint", "pair joined to a pair",
    "ring with both ends in the closet", "order of the wires noted", "block of single pairs",
    "two positions by the plate's name", "pairs exchanged in a splice", "out of use", "line into a port for data",
    "service data", "service line",
    "service power", "kept", "not kept", "protected",
)  # fmt: skip
"""Each must show in at least one property of twenty."""


class Both:
    """One property in two ways: as the program sees it and as it is simulated."""

    def __init__(self, seed: int) -> None:
        paper = drawn(seed)
        self.seed, self.rows, self.unsaid = seed, paper.rows, paper.unsaid
        self.place = forward.Property(paper.rows)
        self.working = forward.working(self.place)
        self.program = rules.build(site(as_text(paper.rows)))
        self.elements = [e for e in elements(paper.rows) if e not in paper.unsaid]

    def simulated(self, *removed: str) -> set[str]:
        return set(self.working - forward.working(self.place, removed))

    def says(self, *removed: str) -> set[str]:
        return set(consequence.goes_dark(self.program.rules, self.program.services, removed))

    def at_the_start(self) -> Iterator[str]:
        """Services of which the two do not agree whether they work before anything is taken away."""
        alive = consequence.live(self.program.rules)
        program = {name for name, fact in self.program.services.items() if fact in alive}
        yield from (
            f"seed {self.seed}: only the program has {name} working at the start" for name in program - self.working
        )
        yield from (
            f"seed {self.seed}: only simulated does {name} work at the start" for name in self.working - program
        )

    def alone(self) -> Iterator[str]:
        """Elements of which the two do not agree what their removal silences."""
        every = consequence.single_removals(self.program.rules, self.program.services)
        for element in self.elements:
            yield from self._differ((element,), set(every.get(element, ())))

    def together(self, *, times: int) -> Iterator[str]:
        """Two or three elements at once."""
        dice = random.Random(f"together {self.seed}")
        for _ in range(times):
            removed = dice.sample(self.elements, dice.choice((2, 3)))
            yield from self._differ(removed, self.says(*removed))

    def one_by_one(self, *, steps: int) -> Iterator[str]:
        """Elements taken away one after the other; each step counts what all that is gone silences."""
        order = random.Random(f"order {self.seed}").sample(self.elements, min(steps, len(self.elements)))
        for n in range(1, len(order) + 1):
            yield from self._differ(order[:n], self.says(*order[:n]))

    def _differ(self, removed: tuple[str, ...] | list[str], program: set[str]) -> Iterator[str]:
        simulated = self.simulated(*removed)
        if program != simulated:
            yield (
                f"seed {self.seed}, without {', '.join(removed)}: only the program has {sorted(program - simulated)} dark, "
                f"only simulated are {sorted(simulated - program)}"
            )


def told(differences: list[str]) -> str:
    """The first differences and how to see the tables."""
    head = f"{len(differences)} differences; tables: as_text(drawn(SEED).rows)"
    return "\n".join([head, *differences[:15]])


@pytest.mark.parametrize("first", range(0, SITES, BLOCK))
def test_simulated__at_the_start_and_without_every_element(first: int) -> None:
    every = map(Both, range(first, first + BLOCK))
    found = [d for both in every for d in (*both.at_the_start(), *both.alone())]
    assert not found, told(found)


def test_simulated__two_or_three_at_once() -> None:
    found = [d for seed in range(0, SITES, 5) for d in Both(seed).together(times=12)]
    assert not found, told(found)


def test_simulated__one_after_the_other_in_a_random_order() -> None:
    found = [d for seed in range(2, SITES, 5) for d in Both(seed).one_by_one(steps=12)]
    assert not found, told(found)


def test_simulated__fresh_draw() -> None:
    found = []
    for seed in range(FRESH_SEED + SITES, FRESH_SEED + SITES + 40):
        both = Both(seed)
        found += [*both.at_the_start(), *both.alone(), *both.together(times=4), *both.one_by_one(steps=6)]
    assert not found, told(found)


def test_drawn__each_feature_in_one_of_twenty_and_15_to_60_things() -> None:
    papers = [drawn(seed) for seed in range(SITES)]
    seen = collections.Counter(f for paper in papers for f in paper.features)
    assert not {f: seen[f] for f in FEATURES if seen[f] < SITES // 20}
    assert set(seen) - set(FEATURES) <= {"second port"}
    sizes = [paper.size() for paper in papers]
    assert LEAST <= min(sizes) < 25 and 55 < max(sizes) <= MOST


def test_drawn__the_same_seed_draws_the_same_and_something_hangs_on_something() -> None:
    assert drawn(7).rows == drawn(7).rows != drawn(8).rows
    silenced = [sum(bool(both.simulated(e)) for e in both.elements) for both in map(Both, range(40))]
    assert sum(n > 5 for n in silenced) > 30


HEAD = """
    models model=SW what=switch passes="when powered" takes=plug
    models model=ROUTER what=router passes="when powered" takes=plug
    models model=AP what="access point" passes="when powered" takes=802.3af
    models model=PD what=switch passes="when powered" takes=802.3af
    models model=AP24 what="access point" passes="when powered" takes="24 V always-on" second_port_power=yes
    models model=PHONE what=telephone passes=no takes=line
    models model=PANEL what=panel passes=always takes=plug
    models model=SERIES what="series jack" passes=always takes=none
    circuits circuit=K breaker=on
    sockets socket=S form=wall fed_by=circuit:K
"""


def dark(text: str) -> dict[str, str]:
    """By element, the services that its removal silences in the simulation, as letters."""
    rows = from_text(HEAD + text)
    place = forward.Property(rows)
    found = {e: forward.goes_dark(place, [e]) for e in elements(rows)}
    return {e: "".join(sorted(s.removeprefix("service:") for s in names)) for e, names in found.items() if names}


def start(text: str) -> str:
    """Services that work in the simulation with nothing taken away."""
    return "".join(
        sorted(s.removeprefix("service:") for s in forward.working(forward.Property(from_text(HEAD + text))))
    )


def test_forward__power_and_data_over_one_cable() -> None:
    """A lamp hangs on its last wire: every piece between socket and access point silences it; the other port does not."""
    found = dark("""
        units unit=R model=ROUTER fed_by=socket:S
        ports port=R.1 gives=802.3af
        ports port=R.2 gives=nothing
        units unit=A model=AP
        ports port=A.1 gives=nothing
        cables cable=C pairs=4
        ends end=E cable=C plugged=port:R.1
        ends end=F cable=C ends_at=outlet:O
        outlets outlet=O positions=1
        plugged plug=port:A.1 into=outlet:O
        services service=N arrives_at=unit:A needs=data source=feed from=unit:R
    """)
    chain = "circuit:K socket:S unit:R port:R.1 end:E cable:C end:F outlet:O port:A.1 unit:A"
    assert found == dict.fromkeys(chain.split(), "N")


def test_forward__two_that_power_only_each_other_are_dark() -> None:
    """Neither can be first. With one plug in the wall both run, and that plug is all they hang on."""
    island = """
        units unit=A model=PD
        ports port=A.in gives=nothing
        ports port=A.out gives=802.3af
        units unit=B model=PD {plug}
        ports port=B.in gives=nothing
        ports port=B.out gives=802.3af
        plugged plug=port:A.out into=port:B.in
        plugged plug=port:B.out into=port:A.in
        services service=A arrives_at=unit:A needs=power source=none
        services service=B arrives_at=unit:B needs=power source=none
    """
    assert start(island.format(plug="")) == ""
    assert start(island.format(plug="fed_by=socket:S")) == "AB"
    assert dark(island.format(plug="fed_by=socket:S"))["socket:S"] == "AB"


def test_forward__a_ring_of_three_switches_needs_two_cuts() -> None:
    rows = from_text(
        HEAD
        + "\n".join(
            f"units unit={u} model=SW fed_by=socket:S\nports port={u}.1 gives=nothing\nports port={u}.2 gives=nothing"
            for u in "XYZ"
        )
        + """
        plugged plug=port:X.1 into=port:Y.2
        plugged plug=port:Y.1 into=port:Z.2
        plugged plug=port:Z.1 into=port:X.2
        services service=N arrives_at=unit:Z needs=data source=feed from=unit:X
        """
    )
    place = forward.Property(rows)
    assert not forward.goes_dark(place, ["port:X.1"]) and not forward.goes_dark(place, ["unit:Y"])
    assert forward.goes_dark(place, ["port:X.2", "port:Y.1"]) == {"service:N"}


def test_forward__the_lift_hangs_behind_the_alarm_panel() -> None:
    """Series jack: the line goes out to the panel and comes back; without the panel the lift is mute (trade practice).

    The panel passes the line without its mains, but is itself no alarm without.
    """
    found = dark("""
        rooms room=Z closet=yes
        cables cable=X pairs=1
        ends end=X1 cable=X
        ends end=X2 cable=X ends_at=port:J.in
        units unit=J model=SERIES
        ports port=J.in gives=nothing
        ports port=J.out gives=nothing
        ports port=J.back gives=nothing
        units unit=P model=PANEL fed_by=socket:S
        ports port=P.line gives=nothing
        ports port=P.back gives=nothing
        plugged plug=port:J.out into=port:P.line
        cables cable=G pairs=2
        ends end=G1 cable=G ends_at=port:P.back
        ends end=G2 cable=G room=Z ends_at=port:J.back
        rows row=B.1
        claims subject=pair:G.1 relation=joined object=row:B.1
        cables cable=L pairs=1
        ends end=L1 cable=L ends_at=row:B.1
        ends end=L2 cable=L ends_at=port:T.line
        units unit=T model=PHONE
        ports port=T.line gives=nothing
        services service=F arrives_at=unit:P needs=line source=exchange from=end:X1
        services service=L arrives_at=unit:T needs=line source=exchange from=end:X1
    """)
    both = "cable:X end:X1 end:X2 port:J.in unit:J port:J.out port:P.line unit:P"
    lift = "port:P.back end:G1 cable:G end:G2 row:B.1 end:L1 cable:L end:L2 port:T.line unit:T"
    assert found == {
        **dict.fromkeys(both.split(), "FL"), **dict.fromkeys(lift.split(), "L"), **dict.fromkeys(("circuit:K", "socket:S"), "F")
    }  # fmt: skip


def test_forward__a_telephone_socket_brings_no_data_and_needs_its_router() -> None:
    found = dark("""
        units unit=R model=ROUTER fed_by=socket:S
        ports port=R.wan gives=nothing
        ports port=R.tel gives=nothing
        cables cable=C pairs=4
        ends end=E cable=C
        ends end=F cable=C plugged=port:R.wan
        units unit=T model=PHONE
        ports port=T.line gives=nothing
        plugged plug=port:R.tel into=port:T.line
        services service=N arrives_at=unit:R needs=data source=feed from=end:E
        services service=T arrives_at=unit:T needs=line source=own from=port:R.tel
    """)
    assert found == {
        **dict.fromkeys(("circuit:K", "socket:S", "unit:R"), "NT"),
        **dict.fromkeys(("cable:C", "end:E", "end:F", "port:R.wan"), "N"),
        **dict.fromkeys(("port:R.tel", "port:T.line", "unit:T"), "T"),
    }  # fmt: skip


def test_forward__two_lines_in_one_cable_do_not_mix() -> None:
    found = dark("""
        rows row=B.1
        rows row=B.2
        cables cable=X pairs=1
        ends end=X1 cable=X
        ends end=X2 cable=X ends_at=row:B.1
        cables cable=Z pairs=1
        ends end=Z1 cable=Z
        ends end=Z2 cable=Z ends_at=row:B.2
        cables cable=Y pairs=2
        ends end=Y1 cable=Y ends_at=row:B.1
        claims subject=end:Y1 relation=ends_at object=row:B.2 detail="pair 2"
        ends end=Y2 cable=Y ends_at=row:B.3
        claims subject=end:Y2 relation=ends_at object=row:B.4 detail="pair 2"
        rows row=B.3
        rows row=B.4
        services service=A arrives_at=row:B.3 needs=line source=exchange from=end:X1
        services service=B arrives_at=row:B.4 needs=line source=exchange from=end:Z1
    """)
    assert found["cable:X"] == found["row:B.1"] == found["row:B.3"] == "A"
    assert found["cable:Z"] == found["row:B.2"] == found["row:B.4"] == "B"
    assert found["cable:Y"] == found["end:Y1"] == "AB"


def test_forward__a_ring_cable_is_fed_from_either_end() -> None:
    ring = """
        rows row=B.1
        rows row=B.2
        cables cable=X pairs=1
        ends end=X1 cable=X
        ends end=X2 cable=X ends_at=row:B.1
        joints joint=J style=clip ends="row:B.1 row:B.2"
        cables cable=Q pairs=2
        ends end=Q1 cable=Q ends_at=row:B.1
        ends end=Q2 cable=Q ends_at=row:B.2
        outlets outlet=O positions=1
        claims subject=end:Q1 relation=goes_to object=outlet:O
        claims subject=end:Q2 relation=goes_to object=outlet:O
        services service=A arrives_at=outlet:O needs=line source=exchange from=end:X1
    """
    assert dark(ring) == dict.fromkeys(["cable:X", "end:X1", "end:X2", "row:B.1", "cable:Q", "outlet:O"], "A")


def test_forward__a_joint_of_three_holds_when_one_is_taken_off() -> None:
    found = dark("""
        cables cable=X pairs=1
        ends end=X1 cable=X
        ends end=X2 cable=X
        cables cable=Y pairs=1
        ends end=Y1 cable=Y
        ends end=Y2 cable=Y ends_at=outlet:O
        cables cable=Z pairs=1
        ends end=Z1 cable=Z
        ends end=Z2 cable=Z ends_at=outlet:P
        outlets outlet=O positions=1
        outlets outlet=P positions=1
        joints joint=J style=tap ends="end:Y1 end:X2 end:Z1"
        services service=A arrives_at=outlet:O needs=line source=exchange from=end:X1
        services service=B arrives_at=outlet:P needs=line source=exchange from=end:X1
    """)
    assert found["end:Y1"] == "A" and found["end:Z1"] == "B" and found["joint:J"] == found["end:X2"] == "AB"


def test_forward__power_by_the_pairs_that_are_whole() -> None:
    """24 V lies on 4-5 and 7-8, data on 1-2 and 3-6: an open brown pair (4) ends the one and not the other."""
    cable = """
        units unit=W model=SW fed_by=socket:S
        ports port=W.1 gives="24 V always-on"
        units unit=A model=AP24
        ports port=A.1 gives=nothing
        ports port=A.2
        units unit=B model=AP24
        ports port=B.1 gives=nothing
        cables cable=C pairs=4
        ends end=E cable=C plugged=port:W.1
        ends end=F cable=C plugged=port:A.1
        plugged plug=port:A.2 into=port:B.1
        services service=A arrives_at=unit:A needs=power source=none
        services service=B arrives_at=unit:B needs=power source=none
        services service=D arrives_at=port:A.1 needs=data source=feed from=unit:W
    """
    assert start(cable) == "ABD"
    assert dark(cable)["port:A.2"] == "B" and dark(cable)["end:F"] == "ABD"
    assert start(cable + "pairs pair=C.4 condition=open") == "D"
    assert start(cable + "pairs pair=C.3 condition=open") == "AB"

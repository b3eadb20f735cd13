"""Telephone lines of a random property: from the exchange, by way of the alarm panel to the lift, and over old house cable."""

from __future__ import annotations

from tests.reach.simulated.paper import Paper

LINE = "line"
BLOCK = "BB"


def block_row(paper: Paper) -> str:
    """A row of the telephone block."""
    if "telephone block" not in paper.features:
        paper.write("blocks", block=BLOCK, room="CLOSET", style="split")
        paper.has("telephone block")
    return paper.row(BLOCK)


def phone(paper: Paper, *, at: str = "") -> str:
    """A telephone, plugged in at an outlet when one is named; with the service that somebody can call from it."""
    name = paper.unit("T", "PHONE", ports={"line": "nothing"})
    if at:
        paper.write("plugged", plug=f"port:{name}.line", into=at)
    line_service(paper, f"unit:{name}")
    return f"port:{name}.line"


def line_service(paper: Paper, at: str) -> None:
    """Somebody must be able to call from here."""
    start = paper.dice.choice(paper.line_sources)
    paper.service(at, LINE, source="own" if start.startswith("port:") else "exchange", from_=start)


def exchange(paper: Paper) -> None:
    """The drop wire: its outer end is the source; it comes to a protector or straight to a row of the block."""
    cable = paper.cable(pairs=paper.dice.randint(1, 2), jacket="drop wire")
    paper.line_sources.append(f"end:{paper.end(cable)}")
    row = block_row(paper)
    if paper.chance(0.5):
        guard = paper.unit("Y", "GUARD", ports={"in": "nothing", "out": "nothing"})
        paper.end(cable, closet=True, ends_at=f"port:{guard}.in")
        jumper = paper.cable(pairs=1, jacket="station wire")
        paper.end(jumper, closet=True, ends_at=f"port:{guard}.out")
        paper.end(jumper, closet=True, ends_at=f"row:{row}")
        paper.has("protector")
    else:
        paper.end(cable, closet=True, ends_at=f"row:{row}")
    paper.lines.append(row)
    paper.has("exchange pair")


def router_telephone(paper: Paper) -> None:
    """Voltage from inside: a router's telephone socket feeds a row of the block or a telephone."""
    routers = [c["unit"] for t, c in paper.rows if t == "units" and c.get("model") == "ROUTER"]
    if not routers:
        plug = paper.dice.choice(paper.outlets_of_power)
        routers = [paper.unit("G", "ROUTER", ports={"wan": "nothing", "1": "nothing"}, fed_by=plug)]
    port = f"{paper.dice.choice(routers)}.tel"
    if f"port:{port}" in paper.gives:
        return
    paper.write("ports", port=port, gives="nothing")
    paper.gives[f"port:{port}"] = "nothing"
    paper.line_sources.append(f"port:{port}")
    cable = paper.cable(pairs=2, jacket="flat cord")
    paper.end(cable, closet=True, plugged=f"port:{port}")
    if paper.chance(0.5):
        row = block_row(paper)
        paper.end(cable, closet=True, ends_at=f"row:{row}")
        paper.lines.append(row)
    else:
        to = phone(paper)
        paper.end(cable, plugged=to)
    where = paper.sources[:1]
    if where:
        unit = "unit:" + port.partition(".")[0]
        paper.service(unit, "data", source="feed", from_=where[0])
    name = paper.unit("T", "PHONE", ports={"line": "nothing"})
    paper.service(f"unit:{name}", LINE, source="own", from_=f"port:{port}")
    paper.write("plugged", plug=f"port:{name}.line", into=f"outlet:{_outlet_of(paper, port)}")
    paper.has("router's telephone socket")


def _outlet_of(paper: Paper, port: str) -> str:
    """An outlet wired to a port that already has a cord in it: a second cord by a splitter plug."""
    outlet, cable = paper.outlet(), paper.cable(pairs=2, jacket="flat cord")
    paper.end(cable, closet=True, plugged=f"port:{port}")
    paper.end(cable, ends_at=f"outlet:{outlet}")
    return outlet


def a_line(paper: Paper) -> str:
    """A row on which a line should stand."""
    if not paper.lines:
        exchange(paper)
    return paper.dice.choice(paper.lines)


def alarm_then_lift(paper: Paper) -> None:
    """Series jack: the line goes out to the alarm panel and what comes back feeds a row, and from there the lift."""
    row = a_line(paper)
    jack = paper.unit("Z", "SERIES", ports={"in": "nothing", "out": "nothing", "back": "nothing"})
    panel = paper.unit(
        "P", "PANEL", ports={"line": "nothing", "back": "nothing"}, fed_by=paper.dice.choice(paper.outlets_of_power)
    )
    into, out, back = (paper.cable(pairs=2, jacket="alarm 4-core") for _ in range(3))
    paper.end(into, closet=True, ends_at=f"row:{row}")
    paper.end(into, closet=True, ends_at=f"port:{jack}.in")
    paper.end(out, closet=True, ends_at=f"port:{jack}.out")
    paper.end(out, ends_at=f"port:{panel}.line")
    paper.end(back, ends_at=f"port:{panel}.back")
    paper.end(back, closet=True, ends_at=f"port:{jack}.back")
    after = block_row(paper)
    paper.write("claims", subject=f"pair:{back}.1", relation="joined", object=f"row:{after}", grade="seen")
    lift = paper.cable(pairs=1, jacket="unknown")
    paper.end(lift, closet=True, ends_at=f"row:{after}")
    paper.end(lift, ends_at=phone(paper))
    if paper.chance(0.6):
        line_service(paper, f"unit:{panel}")
    if paper.chance(0.3):
        paper.lines.append(after)
    paper.has("series jack")


def home_run(paper: Paper) -> None:
    """A cable from a row to an outlet with a telephone; sometimes the far end is only told, sometimes it is tapped."""
    cable, outlet = paper.cable(pairs=paper.dice.choice([1, 2, 4]), jacket="quad"), paper.outlet()
    near = paper.end(cable, closet=True, ends_at=f"row:{a_line(paper)}")
    if paper.chance(0.5):
        for place in dict.fromkeys([outlet, paper.outlet() if paper.chance(0.4) else outlet]):
            paper.write("claims", subject=f"end:{near}", relation="goes_to", object=f"outlet:{place}", grade="toned")
        paper.has("line far end only told")
    else:
        paper.end(cable, ends_at=f"outlet:{outlet}")
    if paper.chance(0.5):
        phone(paper, at=f"outlet:{outlet}")
    else:
        line_service(paper, f"outlet:{outlet}")


def chain(paper: Paper) -> None:
    """Outlets one behind the other: on one jack, or on two jacks with a loop noted between them."""
    place, last, row = "", "", a_line(paper)
    for _ in range(paper.dice.randint(2, 3)):
        loop = paper.chance(0.5)
        outlet, cable = paper.outlet(positions=2 if loop else 1), paper.cable(pairs=2, jacket="quad")
        first = paper.end(cable, closet=not place, ends_at=place or f"row:{row}")
        if place.startswith("jack:"):
            paper.write("joints", joint=paper.tag("Q"), style="loop", ends=f"end:{last} end:{first}")
            paper.has("loop joint")
        last = paper.end(cable, ends_at=f"jack:{outlet}.1" if loop else f"outlet:{outlet}")
        for n in "12" if loop else "":
            paper.write("jacks", jack=f"{outlet}.{n}", connector="6P4C")
        plug = f"jack:{outlet}.1" if loop else f"outlet:{outlet}"
        place = f"jack:{outlet}.2" if loop else f"outlet:{outlet}"
        if paper.chance(0.6):
            phone(paper, at=plug)
    paper.has("chain")


def tapped(paper: Paper) -> None:
    """A house cable in two parts with a third on the joint, in any order."""
    parts = [paper.cable(pairs=2, jacket="quad") for _ in "abc"]
    paper.end(parts[0], closet=True, ends_at=f"row:{a_line(paper)}")
    ends = [paper.end(part) for part in parts]
    for part in parts[1:]:
        outlet = paper.outlet()
        paper.end(part, ends_at=f"outlet:{outlet}")
        phone(paper, at=f"outlet:{outlet}")
    paper.dice.shuffle(ends)
    paper.write("joints", joint=paper.tag("Q"), style="tap", ends=" ".join(f"end:{e}" for e in ends))
    paper.has("tap")


def clip(paper: Paper) -> None:
    """A bridging clip takes a line to another row: noted at the row or as a joint."""
    row, other = a_line(paper), block_row(paper)
    if paper.chance(0.5):
        paper.write("rows", row=row, clip_to=f"row:{other}")
    else:
        third = [block_row(paper)] if paper.chance(0.4) else []
        rows = paper.dice.sample([row, other, *third], 2 + len(third))
        paper.write("joints", joint=paper.tag("Q"), style="clip", ends=" ".join(f"row:{r}" for r in rows))
        paper.lines += third
    paper.lines.append(other)
    paper.has("clip")


def two_lines_one_cable(paper: Paper) -> None:
    """Two pairs of one cable on two rows, the far ends on two rows again, each with its own telephone."""
    if len(paper.lines) < 2:
        exchange(paper)
    cable = paper.cable(pairs=paper.dice.choice([2, 3, 6]), jacket="gel 6-pair")
    rows = [a_line(paper), a_line(paper)]
    near, far = paper.end(cable, closet=True, ends_at=f"row:{rows[0]}"), None
    if rows[0] != rows[1]:
        paper.write(
            "claims", subject=f"end:{near}", relation="ends_at", object=f"row:{rows[1]}", detail="pair 2", grade="seen"
        )
    if paper.chance(0.7):
        onward = paper.cable(pairs=2, jacket="quad")
        ends = f"end:{paper.end(cable)} end:{paper.end(onward)}"
        paper.write("joints", joint=paper.tag("Q"), style="splice", ends=ends, pairs="1>2 2>1")
        cable = onward
        paper.has("pairs exchanged in a splice")
    for pair in (1, 2):
        row, lead = block_row(paper), paper.cable(pairs=1, jacket="station wire")
        if far is None:
            far = paper.end(cable, ends_at=f"row:{row}")
        else:
            paper.write(
                "claims",
                subject=f"end:{far}",
                relation="ends_at",
                object=f"row:{row}",
                detail=f"pair {pair}",
                grade="seen",
            )
        paper.end(lead, ends_at=f"row:{row}")
        paper.end(lead, ends_at=phone(paper))
    paper.has("two lines in one cable")


def cabinet(paper: Paper) -> None:
    """An outlet that is fed from a cabinet: pair 3 of a trunk goes on into another cable."""
    trunk, tail, outlet = paper.cable(pairs=6, jacket="gel 6-pair"), paper.cable(pairs=2), paper.outlet()
    paper.end(trunk, closet=True)
    far = paper.end(trunk)
    start = paper.end(tail)
    paper.end(tail, ends_at=f"outlet:{outlet}")
    paper.write("claims", subject=f"pair:{trunk}.3", relation="joined", object=f"row:{a_line(paper)}", grade="seen")
    if paper.chance(0.5):
        paper.write("joints", joint=paper.tag("Q"), style="tap", ends=f"end:{far} end:{start}", pairs="3>1")
        paper.has("pair by pair joint")
    else:
        paper.write("claims", subject=f"pair:{trunk}.3", relation="joined", object=f"pair:{tail}.1", grade="told")
        paper.unsaid |= {f"end:{far}", f"end:{start}"}
        paper.has("pair joined to a pair")
    phone(paper, at=f"outlet:{outlet}")
    paper.has("outlet fed from a cabinet")


def line_into_a_switch(paper: Paper) -> None:
    """A line that somebody plugged into a port for data, and a telephone on another port: nothing rings."""
    power = paper.dice.choice(paper.outlets_of_power)
    switch = paper.unit("N", "SWITCH", ports={"1": "nothing", "2": "nothing"}, fed_by=power)
    cable = paper.cable(pairs=4)
    paper.end(cable, closet=True, ends_at=f"row:{a_line(paper)}")
    paper.end(cable, closet=True, plugged=f"port:{switch}.1")
    paper.write("plugged", plug=phone(paper), into=f"port:{switch}.2")
    paper.has("line into a port for data")


def ring_cable(paper: Paper) -> None:
    """One cable, both ends in the closet, outlets somewhere along it."""
    cable, outlets = paper.cable(pairs=2, jacket="quad"), [paper.outlet() for _ in range(paper.dice.randint(1, 2))]
    ends = [paper.end(cable, closet=True, ends_at=f"row:{a_line(paper)}")]
    row = a_line(paper) if paper.chance(0.5) else block_row(paper)
    ends.append(paper.end(cable, closet=True, ends_at=f"row:{row}"))
    for end in ends:
        for outlet in outlets:
            paper.write("claims", subject=f"end:{end}", relation="goes_to", object=f"outlet:{outlet}", grade="toned")
    for outlet in outlets:
        phone(paper, at=f"outlet:{outlet}")
    if row not in paper.lines:
        paper.lines.append(row)
    paper.has("ring with both ends in the closet")


PARTS = (
    *(
        exchange,
        router_telephone,
        alarm_then_lift,
        home_run,
        chain,
        tapped,
        clip,
        two_lines_one_cable,
        cabinet,
        ring_cable,
    ),
    *(home_run, chain, two_lines_one_cable, cabinet, line_into_a_switch),
)
"""Some twice, so that each shows often enough."""

"""A random property as tables of the record: power and data here, telephone lines in `draw_lines`.

Everything is invented. A seed gives the same property each time. What is drawn is what the tables can say: circuits,
switches, sockets, strips, a UPS, an incoming line with its injector and roof radio, routers and switches, cables by way of
outlets, panels, splices and couplers, units powered by plug, over data, both or by nobody knows what.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from tests.reach.simulated import draw_lines
from tests.reach.simulated.draw_ways import join, straight, take
from tests.reach.simulated.paper import Paper

MODELS = (
    ("RADIO", "radio", "when powered", "24 V always-on", ""),
    ("INJ24", "injector", "always", "plug", ""),
    ("ROUTER", "router", "when powered", "plug", ""),
    ("SWITCH", "switch", "when powered", "plug", ""),
    ("SWITCHAF", "switch", "when powered", "802.3af", ""),
    ("APAF", "access point", "when powered", "802.3af", "no"),
    ("APAT", "access point", "when powered", "802.3at", "no"),
    ("AP24", "access point", "when powered", "24 V always-on", "no"),
    ("AP24P", "access point", "when powered", "24 V always-on", "yes"),
    ("PRINTER", "printer", "no", "plug", ""),
    ("COUPLER", "coupler", "always", "none", ""),
    ("UPS", "UPS", "no", "plug", ""),
    ("PHONE", "telephone", "no", "line", ""),
    ("PANEL", "panel", "always", "plug", ""),
    ("SERIES", "series jack", "always", "none", ""),
    ("GUARD", "protector", "always", "none", ""),
)
FITS = {
    "802.3af": ("802.3af", "802.3at", "802.3bt"),
    "802.3at": ("802.3at", "802.3bt"),
    "24 V always-on": ("24 V always-on",),
}
"""What a port must give so that a unit that takes this runs (IEEE 802.3 clauses 33 and 145, from memory: a lower class runs
on a higher type; 24 V always-on is no part of it)."""
TAKES = {name: takes for name, _, _, takes, _ in MODELS}
LEAST, MOST = 15, 60


def drawn(seed: int) -> Paper:
    """One property of 15 to 60 things."""
    dice = random.Random(seed)
    while True:
        paper = _try(dice)
        if LEAST <= paper.size() <= MOST:
            return sources_named(paper)


def _try(dice: random.Random) -> Paper:
    paper = Paper(dice)
    target = max(dice.randint(LEAST, MOST), dice.randint(LEAST, MOST))
    paper.write("companies", company="PRO")
    paper.write("rooms", room="CLOSET", closet="yes")
    paper.write("rooms", room="FAR")
    for name, what, passes, takes, second in MODELS:
        paper.write("models", model=name, what=what, passes=passes, takes=takes, second_port_power=second)
    mains(paper)
    flavour = dice.choice(("data", "lines", "both"))
    if flavour != "lines":
        feed(paper)
        switch(paper)
    deck: list[Callable[[Paper], None]] = []
    while paper.size() < target:
        if not deck:
            deck = [*DATA, *DATA] if flavour == "data" else [*DATA, *draw_lines.PARTS] if flavour == "both" else []
            deck = [*(deck or draw_lines.PARTS), power_island, power_island, ups]
            dice.shuffle(deck)
        deck.pop()(paper)
    return paper


def sources_named(paper: Paper) -> Paper:
    """Give each service that needs data one of the places where data come in; make sure that some service is there."""
    where = list(paper.sources)
    for table, cells in paper.rows:
        if table == "services" and cells["needs"] == "data" and where:
            cells.update(source="feed", **{"from": paper.dice.choice(where)})
        elif table == "services" and cells["needs"] != "line":
            cells.setdefault("source", "none")
    for source in where:
        paper.write("services", service=paper.tag("V"), arrives_at=source, needs="data", source="feed", from_=source)
    return paper


def on_off(paper: Paper, name: str) -> dict[str, str]:
    """A breaker or switch: mostly on; what it was last turned to is truer than how it is usually."""
    usual = "off" if paper.chance(0.05) else paper.dice.choice(["on", "on", ""])
    turned = paper.dice.choice(["", "", "", "on", "off"]) if paper.chance(0.2) else ""
    if "off" in (usual, turned):
        paper.has("something switched off")
    return {name: usual, "turned": turned}


def mains(paper: Paper) -> None:
    """One to three circuits with sockets, switches on the way and strips."""
    for _ in range(paper.dice.randint(1, 3)):
        circuit = paper.tag("K")
        paper.write("circuits", circuit=circuit, **on_off(paper, "breaker"))
        feeder = f"circuit:{circuit}"
        while paper.chance(0.25):
            name = paper.tag("W")
            paper.write("switches", switch=name, fed_by=feeder, **on_off(paper, "usual"))
            feeder = f"switch:{name}"
            paper.has("switch on the way")
        socket = _socket(paper, feeder)
        if paper.chance(0.5):
            _socket(paper, socket, form="strip")
            paper.has("strip")
        if paper.chance(0.1):
            paper.outlets_of_power.append(feeder)


def _socket(paper: Paper, fed_by: str, *, form: str = "wall") -> str:
    name = paper.tag("S")
    paper.write("sockets", socket=name, form=form, fed_by=fed_by)
    paper.outlets_of_power.append(f"socket:{name}")
    return f"socket:{name}"


def plug(paper: Paper) -> str:
    """Somewhere to plug a unit in."""
    return paper.dice.choice(paper.outlets_of_power)


def ups(paper: Paper) -> None:
    """A UPS with sockets behind its battery and a socket for surges only; now and then it feeds itself."""
    itself = paper.chance(0.15)
    name = paper.unit(
        "U", "UPS", ports={"battery": "battery mains", "surge": "mains"}, fed_by="" if itself else plug(paper)
    )
    strip = _socket(paper, f"port:{name}.battery", form="strip")
    if itself:
        paper.write("units", unit=name, fed_by=strip)
        paper.has("power loop without a source")
        paper.outlets_of_power.remove(strip)
        machine = paper.unit("D", "PRINTER", ports={"1": "nothing"}, fed_by=strip)
        paper.service(f"unit:{machine}", "power")
        return
    paper.outlets_of_power += [f"port:{name}.surge"] * 2 + [strip]
    paper.has("UPS", "battery socket", "surge socket")


def feed(paper: Paper) -> None:
    """An incoming line: roof radio on the injector's 24 V, or a cable from outside; then a router."""
    if paper.chance(0.7):
        radio = paper.unit("R", "RADIO", ports={"1": "nothing"})
        gives = "nothing" if paper.chance(0.05) else "24 V always-on"
        injector = paper.unit("J", "INJ24", ports={"radio": gives, "lan": "nothing"}, fed_by=plug(paper))
        cable = paper.cable(pairs=4, jacket="unknown")
        paper.end(cable, closet=True, plugged=f"port:{injector}.radio")
        paper.end(cable, plugged=f"port:{radio}.1")
        paper.write("incoming_lines", incoming_line=paper.tag("IL"), medium="radio", provider="PRO", cable=cable)
        paper.sources.append(f"unit:{radio}")
        arrives = f"port:{injector}.lan"
        paper.has("injector and roof radio")
    else:
        cable = paper.cable(pairs=4, jacket="unknown")
        outside = paper.end(cable)
        paper.sources.append(f"end:{outside}")
        coupler = paper.unit("X", "COUPLER", ports={"a": "?", "b": "?"})
        paper.end(cable, closet=True, plugged=f"port:{coupler}.a")
        arrives = f"port:{coupler}.b"
        paper.has("feed on a cable", "coupler")
    router = paper.unit("G", "ROUTER", ports=dict.fromkeys(("wan", "1", "2", "3"), "nothing"), fed_by=plug(paper))
    paper.write("plugged", plug=arrives, into=f"port:{router}.wan")
    paper.free_ports += [f"port:{router}.{n}" for n in "123"]
    paper.has("router")


def second_feed(paper: Paper) -> None:
    """Another way in, straight into a switch or router that has a port to spare."""
    if not paper.free_ports:
        return
    modem = paper.unit("G", "ROUTER", ports={"out": "nothing"}, fed_by=plug(paper))
    paper.write("plugged", plug=f"port:{modem}.out", into=take(paper))
    paper.sources.append(f"unit:{modem}")
    paper.has("second source of data")


def switch(paper: Paper) -> None:
    """A switch with ports that give power, linked to a port to spare; rarely linked to nothing."""
    kinds = ["802.3af", "802.3at", "24 V always-on", "nothing", "nothing"]
    gives = {str(n): paper.dice.choice(kinds) for n in range(1, paper.dice.randint(3, 5))}
    if paper.chance(0.1):
        gives["1"] = "?"
    fed_by = "" if paper.chance(0.1) else plug(paper)
    state = "out of use" if paper.chance(0.08) else ""
    name = paper.unit("N", "SWITCH", ports={"up": "nothing", **gives}, fed_by=fed_by, state=state)
    paper.has("power over data port", *([] if fed_by else ["feed nobody noted"]), *([state] if state else []))
    if paper.free_ports and paper.chance(0.95):
        join(paper, take(paper), f"port:{name}.up")
    paper.free_ports += [f"port:{name}.{n}" for n in gives]
    if paper.chance(0.2):
        paper.service(f"unit:{name}", "power")


def ring(paper: Paper) -> None:
    """One more link between two ports to spare: now there are two ways round."""
    if len(paper.free_ports) > 2:
        join(paper, take(paper), take(paper))
        paper.has("ring")


def device(paper: Paper) -> None:
    """Something that wants data, with power of one kind or another."""
    if not paper.free_ports:
        return
    model = paper.dice.choice(["APAF", "APAF", "APAT", "APAT", "AP24", "PRINTER", "PRINTER"])
    wants = TAKES[model]
    port = take(paper, gives=FITS.get(wants, ()), wrong=paper.chance(0.3))
    fed_by = plug(paper) if wants == "plug" else ""
    if wants == "plug" and paper.chance(0.3):
        fed_by = ""
        paper.has("feed nobody noted")
    elif wants != "plug":
        if paper.gives[port] in FITS[wants]:
            paper.has("powered over data")
        else:
            paper.has("wrong or no power on the port")
        if paper.chance(0.45):
            fed_by = plug(paper)
            paper.has("two feeds: plug and data")
    state = "out of use" if paper.chance(0.1) else ""
    name = paper.unit("D", model, ports={"1": "nothing"}, fed_by=fed_by, state=state)
    paper.has(*([state] if state else []))
    join(paper, port, f"port:{name}.1")
    paper.service(f"unit:{name}", "data" if paper.chance(0.8) else "power")


def second_port(paper: Paper) -> None:
    """A unit with a second port that passes data, and power or not, to another one."""
    if not paper.free_ports:
        return
    model = paper.dice.choice(["APAF", "AP24", "AP24P", "AP24P"])
    second = "?" if model == "AP24P" and paper.chance(0.6) else "24 V always-on" if model == "AP24P" else "nothing"
    first = paper.unit("D", model, ports={"1": "nothing", "2": second})
    join(paper, take(paper, gives=FITS[TAKES[model]]), f"port:{first}.1")
    behind = "AP24" if model == "AP24P" or paper.chance(0.2) else "PRINTER"
    other = paper.unit("D", behind, ports={"1": "nothing"}, fed_by=plug(paper) if behind == "PRINTER" else "")
    straight(paper, f"port:{first}.2", f"port:{other}.1")
    paper.service(f"unit:{other}", "data" if paper.chance(0.7) else "power")
    paper.has("second port", "second port hands power on" if model == "AP24P" else "second port data only")


def two_feeds(paper: Paper) -> None:
    """A unit with two inlets on two sockets."""
    if not paper.free_ports:
        return
    name = paper.unit("D", "PRINTER", ports={"1": "nothing"})
    for inlet, socket in enumerate(dict.fromkeys((plug(paper), plug(paper))), 1):
        paper.write("claims", subject=f"unit:{name}", relation="fed_by", object=socket, detail=f"inlet {inlet}")
    join(paper, take(paper), f"port:{name}.1")
    paper.service(f"unit:{name}", "data")
    paper.has("two feeds on two sockets")


def power_island(paper: Paper) -> None:
    """Two switches that power only each other: no source, so both are dark, with what hangs on them."""
    a, b = (paper.unit("N", "SWITCHAF", ports={"in": "nothing", "out": "802.3af", "3": "nothing"}) for _ in "ab")
    straight(paper, f"port:{a}.out", f"port:{b}.in")
    straight(paper, f"port:{b}.out", f"port:{a}.in")
    if paper.free_ports and paper.chance(0.5):
        join(paper, take(paper), f"port:{a}.3")
    if paper.chance(0.5):
        paper.write("units", unit=a, fed_by=plug(paper))
        paper.has("power loop with a source")
    else:
        paper.has("power loop without a source")
    paper.service(f"unit:{b}", paper.dice.choice(["power", "data"]))


def planned(paper: Paper) -> None:
    """A cable and a unit that are only planned: they carry nothing yet."""
    if len(paper.free_ports) < 2:
        return
    name = paper.cable(pairs=4, state="planned")
    paper.end(name, closet=True, plugged=paper.dice.choice(paper.free_ports))
    unit = paper.unit(
        "D", "PRINTER", ports={"1": "nothing"}, fed_by=plug(paper), state=paper.dice.choice(("planned", "removed"))
    )
    paper.end(name, plugged=f"port:{unit}.1")
    other = paper.cable(pairs=4, state=paper.dice.choice(("planned", "removed")))
    for _ in "ab":
        paper.end(other, closet=True, plugged=take(paper))
    paper.has("only planned")


DATA = (*[device] * 4, ring, *[second_port] * 2, two_feeds, ring, second_feed, planned, switch)

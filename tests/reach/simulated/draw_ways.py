"""The ways in which a house joins two ports: cords, cables to an outlet, panels, joints, couplers, and half of it untold."""

from __future__ import annotations

from tests.reach.simulated.paper import Paper


def take(paper: Paper, *, gives: tuple[str, ...] = (), wrong: bool = False) -> str:
    """A port to spare, of those that give what is wanted (or, when `wrong`, something else) if there is one."""
    fitting = [p for p in paper.free_ports if (paper.gives[p] in gives) != wrong] or paper.free_ports
    port = paper.dice.choice(fitting)
    paper.free_ports.remove(port)
    return port


def join(paper: Paper, a: str, b: str) -> None:
    """From a port in the closet to a port elsewhere, in one of the ways that a house offers."""
    paper.dice.choice(WAYS)(paper, a, b)


def straight(paper: Paper, a: str, b: str) -> None:
    """A cord that is not recorded apart."""
    paper.write("plugged", plug=a, into=b)


def cord(paper: Paper, a: str, b: str) -> None:
    """A recorded cord."""
    name = paper.cable(pairs=4, jacket="cord")
    paper.end(name, closet=True, plugged=a)
    paper.end(name, plugged=b)
    paper.has("cord")


def by_outlet(paper: Paper, a: str, b: str) -> None:
    """A house cable with a plug in the closet to an outlet, and a cord there."""
    name, outlet = paper.cable(pairs=4), paper.outlet()
    near = paper.end(name, closet=True, plugged=a)
    paper.end(name, ends_at=f"outlet:{outlet}")
    if paper.chance(0.3):
        paper.write("claims", subject=f"end:{near}", relation="goes_to", object=f"outlet:{outlet}", grade="toned")
    paper.write("plugged", plug=b, into=f"outlet:{outlet}")
    if paper.chance(0.3):
        paper.service(f"outlet:{outlet}", "data")
    paper.has("outlet")


def by_panel(paper: Paper, a: str, b: str) -> None:
    """Cord and house cable on one position of a panel."""
    if "panel" not in paper.features:
        paper.write("blocks", block="PP", room="CLOSET", style="panel")
    row, patch, name = paper.row("PP"), paper.cable(pairs=4, jacket="cord"), paper.cable(pairs=4)
    paper.end(patch, closet=True, plugged=a)
    paper.end(patch, closet=True, ends_at=f"row:{row}")
    paper.end(name, closet=True, ends_at=f"row:{row}")
    paper.end(name, plugged=b)
    paper.has("panel")


def by_splice(paper: Paper, a: str, b: str) -> None:
    """Two cables in a splice, rarely with a third on it."""
    first, second = paper.cable(pairs=4), paper.cable(pairs=4)
    paper.end(first, closet=True, plugged=a)
    ends = [paper.end(first), paper.end(second)]
    paper.end(second, plugged=b)
    if paper.chance(0.6):
        stub = paper.cable(pairs=4)
        ends.append(paper.end(stub))
        if paper.chance(0.5):
            outlet = paper.outlet()
            paper.end(stub, ends_at=f"outlet:{outlet}")
            paper.service(f"outlet:{outlet}", "data")
        paper.dice.shuffle(ends)
        paper.has("tap on data")
    style = "splice" if len(ends) == 2 else "tap"
    paper.write("joints", joint=paper.tag("Q"), style=style, ends=" ".join(f"end:{e}" for e in ends))
    paper.has("splice")


def by_coupler(paper: Paper, a: str, b: str) -> None:
    """Two cords in a coupler, through which data and power pass."""
    name = paper.unit("X", "COUPLER", ports={"a": "?", "b": "?"})
    cord(paper, a, f"port:{name}.a")
    paper.write("plugged", plug=f"port:{name}.b", into=b)
    paper.has("coupler")


def told_where(paper: Paper, a: str, b: str) -> None:
    """The far end was never recorded; only where it goes is."""
    name, outlet = paper.cable(pairs=4), paper.outlet()
    near = paper.end(name, closet=True, plugged=a)
    paper.write("claims", subject=f"end:{near}", relation="goes_to", object=f"outlet:{outlet}", grade="toned")
    paper.write("plugged", plug=b, into=f"outlet:{outlet}")
    paper.has("far end only told")


def damaged(paper: Paper, a: str, b: str) -> None:
    """A cable with one pair open: of those that data need, or of the other two."""
    name = paper.cable(pairs=4)
    paper.end(name, closet=True, plugged=a)
    paper.end(name, plugged=b)
    paper.write("pairs", pair=f"{name}.{paper.dice.randint(1, 4)}", condition="open")
    paper.has("open pair")


def two_on_a_plate(paper: Paper, a: str, b: str) -> None:
    """A plate with two jacks, a cable on each, that do not touch; a second unit may hang on the other."""
    outlet = paper.outlet(positions=2)
    cables = [paper.cable(pairs=4) for _ in "ab"]
    for n, jack in enumerate(("1", "2")):
        paper.write("jacks", jack=f"{outlet}.{jack}", connector="8P8C")
        port = a if n == 0 else take(paper) if paper.free_ports else ""
        paper.end(cables[n], closet=True, plugged=port)
        paper.end(cables[n], ends_at=f"jack:{outlet}.{jack}")
    paper.write("plugged", plug=b, into=f"jack:{outlet}.1")
    paper.has("two jacks on a plate")


def crossed_wires(paper: Paper, a: str, b: str) -> None:
    """One end wired as T568A, the other as T568B: data cross over and arrive."""
    name, outlet = paper.cable(pairs=4), paper.outlet()
    paper.end(name, closet=True, plugged=a, scheme=paper.dice.choice(("T568A", "T568B")))
    paper.end(name, ends_at=f"outlet:{outlet}", scheme=paper.dice.choice(("T568A", "T568B", "")))
    paper.write("plugged", plug=b, into=f"outlet:{outlet}")
    paper.has("order of the wires noted")


def on_one_row(paper: Paper, a: str, b: str) -> None:
    """Two cables on one row of a block that takes one pair: a line would pass, data do not."""
    if "block of single pairs" not in paper.features:
        paper.write("blocks", block="BS", room="CLOSET", style="split")
    row, first, second = paper.row("BS"), paper.cable(pairs=4), paper.cable(pairs=4)
    paper.end(first, closet=True, plugged=a)
    paper.end(first, closet=True, ends_at=f"row:{row}")
    paper.end(second, closet=True, ends_at=f"row:{row}")
    paper.end(second, plugged=b)
    paper.has("block of single pairs")


def plate_by_name(paper: Paper, a: str, b: str) -> None:
    """A plate with a position for each of two cables, of which only the plate was noted."""
    outlet = paper.outlet(positions=2)
    for port in (a, take(paper) if paper.free_ports else ""):
        name = paper.cable(pairs=4)
        paper.end(name, closet=True, plugged=port)
        paper.end(name, ends_at=f"outlet:{outlet}")
    paper.write("plugged", plug=b, into=f"jack:{outlet}.1")
    paper.has("two positions by the plate's name")


WAYS = (
    straight, cord, by_outlet, by_panel, by_splice, by_splice, by_coupler, told_where, two_on_a_plate, damaged,
    crossed_wires, on_one_row, plate_by_name,
)  # fmt: skip

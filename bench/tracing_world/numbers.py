"""The world's own numbers: what is hidden, how instruments err, what acts take. All assumed, all read from `numbers.csv`."""

from __future__ import annotations

import csv
import dataclasses
import functools
import math
import pathlib

Levels = tuple[float, float, float]
PAIRS = 4
"""Pairs of a coded plug, each open or shorted: 15 words that are not empty."""


@dataclasses.dataclass(frozen=True)
class Habits:
    """How such wiring tends to be: weights of an outlet without cable, of an end by its outlets, of each bridge on a block."""

    no_cable: float
    on_end: tuple[float, ...]
    bridge: float


@dataclasses.dataclass(frozen=True)
class Instruments:
    """Chances of nothing, faint, loud by relation; of reading a number, and a closed pair, rightly and as a ghost."""

    connected: Levels
    neighbour: Levels
    elsewhere: Levels
    number_read: float
    number_ghost: float
    pair_closed: float
    pair_ghost: float

    def crosstalk_doubled(self) -> Instruments:
        """The neighbour in the bundle is heard twice as often, faint and loud alike; 1 at most."""
        _, faint, loud = self.neighbour
        loud = min(1.0, 2 * loud)
        faint = min(1.0 - loud, 2 * faint)
        return dataclasses.replace(self, neighbour=(1.0 - faint - loud, faint, loud))


@dataclasses.dataclass(frozen=True)
class Times:
    """Seconds an act takes; walking in metres per second."""

    put_source: float
    take_source: float
    probe_end: float
    probe_set: float
    clip_end: float
    put_mark: float
    read_outlet: float
    tag_outlet: float
    enter_outlet: float
    stairs: float
    stairs_way: float
    walking: float


CERTAIN = Instruments(
    connected=(0.0, 0.0, 1.0),
    neighbour=(1.0, 0.0, 0.0),
    elsewhere=(1.0, 0.0, 0.0),
    number_read=1.0,
    number_ghost=0.0,
    pair_closed=1.0,
    pair_ghost=0.0,
)
"""Instruments that never err."""


@functools.cache
def table() -> dict[str, float]:
    """Every number by its name."""
    with (pathlib.Path(__file__).parent / "numbers.csv").open(encoding="utf-8", newline="") as lines:
        return {row["name"]: float(row["value"]) for row in csv.DictReader(lines)}


def habits() -> Habits:
    t = table()
    on_end = tuple(t[f"weight_outlets_on_end_{k}"] for k in range(4))
    return Habits(no_cable=t["weight_no_cable"], on_end=on_end, bridge=t["weight_bridge"])


def instruments(setting: str = "") -> Instruments:
    """The usual setting, or the one whose names begin with `setting`."""
    t = {name.removeprefix(setting): value for name, value in table().items() if name.startswith(setting)}

    def levels(relation: str) -> Levels:
        found = t[f"{relation}_nothing"], t[f"{relation}_faint"], t[f"{relation}_loud"]
        assert math.isclose(sum(found), 1.0), relation
        return found

    return Instruments(
        connected=levels("connected"),
        neighbour=levels("neighbour"),
        elsewhere=levels("elsewhere"),
        number_read=t["number_read"],
        number_ghost=t["number_ghost"],
        pair_closed=t["pair_closed"],
        pair_ghost=t["pair_ghost"],
    )


def times() -> Times:
    t = table()
    return Times(**{field.name: t[field.name] for field in dataclasses.fields(Times)})

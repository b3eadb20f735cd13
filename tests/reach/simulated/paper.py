"""Table rows as they are collected: what is written stays as words, for the program and for the simulation alike."""

from __future__ import annotations

import dataclasses
import random
import shlex
from collections.abc import Sequence

Row = tuple[str, dict[str, str]]
OF = {
    "circuits": "circuit",
    "switches": "switch",
    "sockets": "socket",
    "units": "unit",
    "ports": "port",
    "cables": "cable",
    "ends": "end",
    "joints": "joint",
    "blocks": "block",
    "rows": "row",
    "outlets": "outlet",
    "jacks": "jack",
    "pairs": "pair",
}
"""Tables of things that somebody could take away, with the kind each holds."""


def as_text(rows: Sequence[Row]) -> str:
    """One line for each row, as `tests.notice.lines` reads it."""
    return "\n".join(table + "".join(f" {k}={shlex.quote(v)}" for k, v in cells.items()) for table, cells in rows)


def from_text(text: str) -> list[Row]:
    """Rows back from such lines."""
    found = []
    for line in filter(None, map(str.strip, text.splitlines())):
        table, *cells = shlex.split(line)
        found.append((table, dict(c.split("=", 1) for c in cells)))
    return found


def natural(ref: str) -> tuple[str, int]:
    """So that E3 comes before E29."""
    return ref.rstrip("0123456789"), int("0" + ref[len(ref.rstrip("0123456789")) :])


def elements(rows: Sequence[Row]) -> list[str]:
    """Everything that can be taken away, in the order in which it was first written."""
    return list(dict.fromkeys(f"{OF[table]}:{cells[OF[table]]}" for table, cells in rows if table in OF))


@dataclasses.dataclass
class Paper:
    """A property being drawn: its rows, what is still free to hang something on, and which features it has."""

    dice: random.Random
    rows: list[Row] = dataclasses.field(default_factory=list)
    features: set[str] = dataclasses.field(default_factory=set)
    outlets_of_power: list[str] = dataclasses.field(default_factory=list)
    free_ports: list[str] = dataclasses.field(default_factory=list)
    """Ports that carry data and have nothing in them."""
    gives: dict[str, str] = dataclasses.field(default_factory=dict)
    lines: list[str] = dataclasses.field(default_factory=list)
    """Rows of the telephone block on which a line should stand."""
    sources: list[str] = dataclasses.field(default_factory=list)
    """Where data come in."""
    line_sources: list[str] = dataclasses.field(default_factory=list)
    """Where lines come in."""
    unsaid: set[str] = dataclasses.field(default_factory=set)
    """Elements of which the record does not say enough to decide what their removal parts."""
    counts: dict[str, int] = dataclasses.field(default_factory=dict)

    def write(self, table: str, **cells: str) -> None:
        """One more row; blank cells are left out."""
        self.rows.append((table, {k.rstrip("_"): v for k, v in cells.items() if v}))

    def tag(self, letter: str) -> str:
        """A tag that was not used before."""
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def chance(self, odds: float) -> bool:
        """Whether it comes out so."""
        return self.dice.random() < odds

    def has(self, *features: str) -> None:
        """Note features that this property now shows."""
        self.features.update(features)

    def size(self) -> int:
        """How many things there are by now."""
        return len(elements(self.rows))

    def cable(self, *, pairs: int, jacket: str = "cat5e", state: str = "") -> str:
        """A new cable without ends."""
        name = self.tag("C")
        self.write("cables", cable=name, jacket=jacket, pairs=str(pairs), state=state)
        return name

    def end(self, cable: str, *, closet: bool = False, **where: str) -> str:
        """A new end of a cable, in the closet or in another room."""
        name = self.tag("E")
        self.write("ends", end=name, cable=cable, room="CLOSET" if closet else "FAR", **where)
        return name

    def unit(self, letter: str, model: str, *, ports: dict[str, str], fed_by: str = "", state: str = "") -> str:
        """A new unit with its ports and what each gives; `?` leaves it unsaid."""
        name = self.tag(letter)
        self.write("units", unit=name, model=model, fed_by=fed_by, room="FAR", state=state)
        for port, power in ports.items():
            self.write("ports", port=f"{name}.{port}", gives="" if power == "?" else power)
            self.gives[f"port:{name}.{port}"] = power
        return name

    def outlet(self, *, positions: int = 1) -> str:
        """A new outlet in another room."""
        name = self.tag("O")
        self.write("outlets", outlet=name, room="FAR", positions=str(positions))
        return name

    def row(self, block: str) -> str:
        """A new row of a block."""
        name = self.tag(f"{block}.")
        self.write("rows", row=name)
        return name

    def service(self, at: str, needs: str, **more: str) -> None:
        """A service that must arrive somewhere; where it comes from is added when the property is complete."""
        keep = self.dice.choice(["yes", "yes", "no", ""])
        guard = "PRO" if self.chance(0.2) else ""
        self.write("services", service=self.tag("V"), arrives_at=at, needs=needs, keep=keep, protected_by=guard, **more)
        self.has(f"service {needs}", "kept" if keep == "yes" else "not kept", *(["protected"] if guard else []))

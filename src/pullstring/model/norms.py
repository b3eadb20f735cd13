"""Fixed facts of open standards: rack unit, pair colours, pins, and the shape of a link identifier."""

from __future__ import annotations

import dataclasses
import re

RACK_UNIT_M = 0.04445
"""Height of one rack unit, 1.75 in. [m] EIA-310 (read in published pages)."""

TIP = ("white", "red", "black", "yellow", "violet")
RING = ("blue", "orange", "green", "brown", "slate")
"""Colours of the 25-pair code (read in a published text); larger cables repeat it in bound groups."""

T568A = {
    1: "white/green", 2: "green", 3: "white/orange", 4: "blue",
    5: "white/blue", 6: "orange", 7: "white/brown", 8: "brown",
}  # fmt: skip
T568B = {
    1: "white/orange", 2: "orange", 3: "white/green", 4: "blue",
    5: "white/blue", 6: "green", 7: "white/brown", 8: "brown",
}  # fmt: skip
"""Colours by pin of an eight-position jack. TIA-568 (read in a published text)."""

QUAD_PAIRS = (("green", "red"), ("black", "yellow"))
"""Tip and ring of both lines of old four-wire station cable (read in a published text)."""


def rack_height_m(*, units: int) -> float:
    """Height of a number of rack units. [m]"""
    return units * RACK_UNIT_M


def pair_colours(number: int) -> tuple[str, str]:
    """Tip and ring colour of a pair, 1 to 25, of the 25-pair code."""
    if not 1 <= number <= 25:
        raise ValueError(f"pair {number}: the 25-pair code has pairs 1 to 25; count within the bound group")
    return TIP[(number - 1) // 5], RING[(number - 1) % 5]


def pair_number(*, tip: str, ring: str) -> int:
    """Number of the pair with these two colours; the order of the two words matters."""
    if tip not in TIP or ring not in RING:
        raise ValueError(f"pair {tip}/{ring}: tip is one of {', '.join(TIP)}; ring one of {', '.join(RING)}")
    return TIP.index(tip) * 5 + RING.index(ring) + 1


def rj21_pins(number: int) -> tuple[int, int]:
    """Tip and ring pin of a pair, 1 to 25, on the 50-pin connector (from memory)."""
    if not 1 <= number <= 25:
        raise ValueError(f"pair {number}: the 50-pin connector has pairs 1 to 25; give one of them")
    return 25 + number, number


def block_rows(number: int) -> tuple[int, int]:
    """Tip and ring row of a pair, 1 to 25, on a block of 50 rows, tip first (common practice)."""
    if not 1 <= number <= 25:
        raise ValueError(f"pair {number}: a block of 50 rows holds pairs 1 to 25; give one of them")
    return 2 * number - 1, 2 * number


@dataclasses.dataclass(frozen=True)
class LinkId:
    """A horizontal link: floor and space of its closet, panel letters, port digits as written.

    Floor and space are None in a property with a single closet. ANSI/TIA-606 (from memory).
    """

    floor: int | None
    space: str | None
    panel: str
    port: str

    @property
    def port_number(self) -> int:
        """The port as a number; leading zeros dropped."""
        return int(self.port)

    def __str__(self) -> str:
        closet = "" if self.floor is None else f"{self.floor}{self.space}-"
        return f"{closet}{self.panel}{self.port}"


_LINK = re.compile(r"(?:(?P<floor>[0-9]{1,3})(?P<space>[A-Z])-)?(?P<panel>[A-Z]{1,2})(?P<port>[0-9]{2,4})")


def link_id(text: str) -> LinkId:
    """Read a link identifier such as `2A-C07` or, with one closet, `A47`; case does not matter."""
    found = _LINK.fullmatch(text.strip().upper())
    if found is None:
        raise ValueError(
            f"link {text!r}: write floor, space, hyphen, panel, port like 2A-C07, or panel and port like A47"
        )
    floor = found["floor"]
    return LinkId(None if floor is None else int(floor), found["space"], found["panel"], found["port"])

"""Mill House, invented: two floors, five rooms, ten walls, an access point below the ceiling of the hall; in metres or in feet.

Ground floor: Hall 0 0 to 6 4, Store 0 4 to 6 8 (one door between, in wall MW5). Upper floor: Loft 0 0 to 6 8 with a corner cut
out, over a floor with a stair hole. Walls MW1 to MW4 stand through both floors.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from pullstring.model.asbuilt import Site
from tests.notice.lines import site

FOOT_M = 0.3048
LENGTHS = re.compile(r"<([^>]*)>")
NAMES = re.compile(r"\b(M[A-Z]+\d+)\b")
BY = "grade=seen by=TEC at=2026-03-01"

HOUSE = f"""
property property=MH name="Mill House, invented" {BY}
wall_types wall_type=MT1 layers="plaster <15>; brick <225>; plaster <15>" hatch=brick {BY}
wall_types wall_type=MT2 class="wood lath" hatch=lath {BY}
wall_types wall_type=MT3 class="joist floor" loss_2g4_db=7 loss_5g_db=10 {BY}
wall_types wall_type=MT4 class="coated glass" {BY}
buildings building=MB1 x_m=<0> y_m=<0> z_m=<0> angle_deg=0 {BY}
floors floor=MF0 building=MB1 level=0 z_m=<0> ceiling_m=<2.6> {BY}
floors floor=MF1 building=MB1 level=1 z_m=<3> ceiling_m=<2.4> {BY}
rooms room=MR1 floor=MF0 name=Hall outline="<0 0; 6 4>" height_m=<2.6> {BY}
rooms room=MR2 floor=MF0 name=Store outline="<0 4; 6 8>" height_m=<2.6> {BY}
rooms room=MR3 floor=MF1 name=Loft outline="<0 0; 6 0; 6 6; 4 6; 4 8; 0 8>" height_m=<2.4> {BY}
walls wall=MW1 floors="MF0 MF1" line="<0 0; 6 0>" wall_type=MT1 {BY}
walls wall=MW2 floors="MF0 MF1" line="<6 0; 6 8>" wall_type=MT1 {BY}
walls wall=MW3 floors="MF0 MF1" line="<6 8; 0 8>" wall_type=MT1 {BY}
walls wall=MW4 floors="MF0 MF1" line="<0 8; 0 0>" wall_type=MT1 {BY}
walls wall=MW5 floors=MF0 line="<0 4; 6 4>" wall_type=MT2 {BY}
walls wall=MW6 floors=MF1 line="<4 6; 6 6>" wall_type=MT2 z1_m=<2> {BY}
walls wall=MW7 floors=MF1 line="<4 6; 4 8>" {BY}
openings opening=MD1 wall=MW5 u0_m=<1> u1_m=<1.9> z0_m=<0> z1_m=<2> fill=door usual=shut {BY}
openings opening=MD2 wall=MW1 u0_m=<2> u1_m=<3.2> z0_m=<0.9> z1_m=<2.1> fill=window {BY}
openings opening=MD3 wall=MW1 u0_m=<2> u1_m=<3.2> z0_m=<3.9> z1_m=<5.1> fill=window wall_type=MT4 {BY}
openings opening=MD4 wall=MW6 u0_m=<0.5> u1_m=<1.4> fill=open {BY}
slabs slab=MS1 floor=MF1 outline="<0 0; 6 8>" holes="<4 0; 6 2>" wall_type=MT3 {BY}
models model=MM1 what="access point" antenna=ceiling eirp_2g4_dbm=17 eirp_5g_dbm=22 eirp_6g_dbm=none {BY}
units unit=MU1 model=MM1 room=MR1 x_m=<2> y_m=<2> z_m=<2.5> {BY}
measurements subject=room:MR2 quantity="level 5 GHz" value="-61 dBm" key=K1 conditions="heard from MU1" {BY}
"""


def house(
    *,
    add: str = "",
    drop: tuple[str, ...] = (),
    swap: Mapping[str, str] | None = None,
    feet: bool = False,
    lines: Callable[[list[str]], list[str]] = list,
) -> Site:
    """The house; `add` more rows, `drop` rows that hold one of these words, `swap` one text for another, all lengths in feet."""
    text = HOUSE
    for old, new in (swap or {}).items():
        assert old in text, old
        text = text.replace(old, new)
    rows = [
        row for row in text.splitlines() if row and not any(re.search(rf"\b{re.escape(word)}\b", row) for word in drop)
    ]
    return site(LENGTHS.sub(in_feet if feet else in_metres, "\n".join(lines([*rows, *add.splitlines()]))))


def in_metres(found: re.Match[str]) -> str:
    """Lengths as they stand; a layer's thickness in millimetres."""
    return f"{found[1]} mm" if _thin(found) else found[1]


def in_feet(found: re.Match[str]) -> str:
    """The same lengths in feet, a layer's thickness in inches."""
    if _thin(found):
        return f"{float(found[1]) / 25.4:.13g} in"
    feet = re.sub(r"\d+(?:\.\d+)?", lambda number: f"{float(number[0]) / FOOT_M:.13g}", found[1])
    return f"{feet}ft"


def _thin(found: re.Match[str]) -> bool:
    return bool(re.search(r"(?:plaster|brick) $", found.string[: found.start()]))


def renamed(rows: list[str]) -> list[str]:
    """Every tag of the house by another name, in another order."""
    return [NAMES.sub(lambda name: f"Z{name[1][::-1]}q", row) for row in rows]

"""The invented house of `radio_house.json` as a person would note it: rows of tables, layers in words, metres or feet."""

from __future__ import annotations

import re

from pullstring.model.asbuilt import Site
from tests.notice.lines import site
from tests.radio.reference_house import named, told

FOOT_M = 0.3048
BY = "grade=seen by=TEC at=2026-03-01"
LENGTHS = re.compile(r"<([^>]*)>")


def house(*, x_m: float = 0, y_m: float = 0, z_m: float = 0, angle_deg: float = 0, feet: bool = False) -> Site:
    """The house where and how it is asked for; one access point of 20 dBm in the best direction."""
    text = "\n".join(_rows(f"x_m=<{x_m}> y_m=<{y_m}> z_m=<{z_m}> angle_deg={angle_deg}"))
    return site(LENGTHS.sub(_in_feet if feet else r"\1", text))


def _in_feet(found: re.Match[str]) -> str:
    return re.sub(r"-?\d+(?:\.\d+)?", lambda number: f"{float(number[0]) / FOOT_M:.13g}", found[1]) + "ft"


def _rows(place: str) -> list[str]:
    given = told()
    fills = [o["fill"] for w in given["walls"] for o in w["openings"] if o["fill"]]
    kinds = {named(part): part for part in (*given["walls"], *given["slabs"], *fills)}
    tags = {name: f"T{n}" for n, name in enumerate(kinds)}
    rows = [f"property property=P1 name='invented' {BY}", f"buildings building=B1 {place} {BY}"]
    for name, part in kinds.items():
        rows.append(
            f"wall_types wall_type={tags[name]} layers='{part['material']} {1000 * part['thickness']:g} mm' {BY}"
        )
    for level, slab in enumerate(given["slabs"]):
        rows.append(f"floors floor=F{level} building=B1 level={level} z_m=<{slab['z']}> ceiling_m=<2.8> {BY}")
        holes = " | ".join(f"{o['x0']} {o['y0']}; {o['x1']} {o['y1']}" for o in slab["openings"])
        x0, y0, x1, y1 = slab["rect"]
        row = f"slabs slab=S{level} floor=F{level} outline='<{x0} {y0}; {x1} {y1}>' wall_type={tags[named(slab)]}"
        rows.append(f"{row} {f'holes={chr(39)}<{holes}>{chr(39)}' if holes else ''} {BY}")
    for room in given["rooms"]:
        x0, y0, x1, y1 = room["rect"]
        rows.append(f"rooms room={room['id']} floor=F{room['storey']} outline='<{x0} {y0}; {x1} {y1}>' {BY}")
    for wall in given["walls"]:
        (x0, y0), (x1, y1) = wall["p0"], wall["p1"]
        line = f"line='<{x0} {y0}; {x1} {y1}>' wall_type={tags[named(wall)]}"
        rows.append(f"walls wall={wall['id']} floors=F{wall['storey']} {line} {BY}")
        base = wall["z0"]
        for o in wall["openings"]:
            box = (
                f"u0_m=<{o['u0']}> u1_m=<{o['u1']}> z0_m=<{round(o['z0'] - base, 6)}> z1_m=<{round(o['z1'] - base, 6)}>"
            )
            stands = f"fill=window usual=shut wall_type={tags[named(o['fill'])]}" if o["fill"] else "fill=open"
            rows.append(f"openings opening={o['name']} wall={wall['id']} {box} {stands} {BY}")
    at = given["tx"]
    rows.append(f"models model=M1 what='access point' antenna=isotropic eirp_2g4_dbm=20 eirp_5g_dbm=20 {BY}")
    rows.append(f"units unit=AP model=M1 room=G1 x_m=<{at['x']}> y_m=<{at['y']}> z_m=<{at['z']}> {BY}")
    return rows

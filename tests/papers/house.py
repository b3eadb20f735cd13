"""A small invented house for looking at papers: two storeys' worth of trouble on one floor, no real place."""

from __future__ import annotations

import functools

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Entry, Evidence, Noted, Scalar
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when

TODAY = "2026-11-20"
FLOOR = Ref("floor", "B0")
ROWS: dict[str, dict[str, Scalar]] = {
    "property:MLH": {"name": "Mill house (invented)"},
    "building:B": {"angle_deg": 0},
    "floor:B0": {"building": "building:B", "name": "Ground floor", "z_m": 0, "ceiling_m": 2.7},
    "floor:B1": {"building": "building:B", "name": "Upper floor", "z_m": 3, "ceiling_m": 2.5},
    "room:R1": {"floor": "floor:B0", "name": "Parlour", "outline": "0 0; 5 4"},
    "room:R2": {"floor": "floor:B0", "name": "Television and games room", "outline": "5 0; 9 4"},
    "room:R3": {"floor": "floor:B0", "name": "Passage", "outline": "0 4; 9 5.4 | 7 5.4; 9 8"},
    "room:R4": {"floor": "floor:B0", "name": "Kitchen", "outline": "0 5.4; 5 8"},
    "room:R5": {"floor": "floor:B0", "name": "Closet <old>", "outline": "5 5.4; 7 8", "closet": "yes"},
    "room:R6": {"floor": "floor:B1", "name": "Attic", "outline": "0 0; 9 0; 9 5; 4 8; 0 8"},
    "wall_type:W1": {
        "name": "Rubble stone",
        "hatch": "rubble",
        "thickness_m": 0.5,
        "loss_2g4_db": 18,
        "loss_5g_db": 28,
    },
    "wall_type:W2": {
        "name": "Brick, plaster both sides",
        "hatch": "brick",
        "thickness_m": 0.23,
        "loss_2g4_db": 8,
        "loss_5g_db": 14,
    },
    "wall_type:W4": {
        "name": "Stud, plaster on wood lath",
        "hatch": "lath",
        "thickness_m": 0.12,
        "loss_2g4_db": 4,
        "loss_5g_db": 6,
    },
    "wall_type:W5": {
        "name": "Stud, plaster on metal lath",
        "hatch": "metal lath",
        "thickness_m": 0.12,
        "loss_2g4_db": 24,
        "loss_5g_db": 16,
    },
    "wall_type:W6": {"name": "Stud, plasterboard", "hatch": "timber", "thickness_m": 0.1},
    "wall:w1": {"floors": "floor:B0", "line": "0 0; 9 0", "wall_type": "wall_type:W1"},
    "wall:w2": {"floors": "floor:B0", "line": "9 0; 9 8", "wall_type": "wall_type:W1"},
    "wall:w3": {"floors": "floor:B0", "line": "9 8; 0 8", "wall_type": "wall_type:W1"},
    "wall:w4": {"floors": "floor:B0", "line": "0 8; 0 0", "wall_type": "wall_type:W1"},
    "wall:w5": {"floors": "floor:B0", "line": "0 4; 9 4", "wall_type": "wall_type:W5"},
    "wall:w6": {"floors": "floor:B0", "line": "5 0; 5 4", "wall_type": "wall_type:W2"},
    "wall:w7": {"floors": "floor:B0", "line": "0 5.4; 7 5.4", "wall_type": "wall_type:W4"},
    "wall:w8": {"floors": "floor:B0", "line": "5 5.4; 5 8", "wall_type": "wall_type:W6"},
    "wall:w9": {"floors": "floor:B0", "line": "7 5.4; 7 8", "wall_type": "wall_type:W4"},
    "opening:d1": {"wall": "wall:w5", "u0_m": 3.6, "u1_m": 4.5, "fill": "door"},
    "opening:d2": {"wall": "wall:w5", "u0_m": 5.4, "u1_m": 6.3, "fill": "door"},
    "opening:d3": {"wall": "wall:w9", "u0_m": 0.9, "u1_m": 1.7, "fill": "door"},
    "opening:d4": {"wall": "wall:w4", "u0_m": 2.8, "u1_m": 3.8, "fill": "door"},
    "opening:d5": {"wall": "wall:w7", "u0_m": 1, "u1_m": 2.4, "fill": "door"},
    "opening:n1": {"wall": "wall:w1", "u0_m": 1.5, "u1_m": 2.9, "z0_m": 0.9, "fill": "window"},
    "opening:n2": {"wall": "wall:w1", "u0_m": 6.2, "u1_m": 7.6, "z0_m": 0.9, "fill": "window"},
    "opening:h1": {"wall": "wall:w8", "u0_m": 1.2, "u1_m": 1.8, "z0_m": 1, "fill": "hatch"},
    "outlet:O1": {"room": "room:R1", "x_m": 0.2, "y_m": 2, "z_m": 0.35, "positions": 1},
    "outlet:O2": {"room": "room:R2", "x_m": 8.8, "y_m": 1.5, "z_m": 0.35, "positions": 2},
    "outlet:O3": {"room": "room:R2", "x_m": 8.8, "y_m": 1.8, "z_m": 0.35, "positions": 1},
    "outlet:O4": {"room": "room:R4", "x_m": 2.4, "y_m": 7.8, "z_m": 0.35, "state": "out of use"},
    "outlet:O5": {"room": "room:R2", "x_m": 5.1, "y_m": 2.2, "z_m": 0.35, "state": "planned", "positions": 2},
    "outlet:O6": {"room": "room:R1"},
    "outlet:O7": {"room": "room:R6", "x_m": 4.5, "y_m": 0.1, "positions": 1},
    "block:K1": {"room": "room:R5", "x_m": 6.1, "y_m": 7.75, "rows": 60},
    "model:MA": {"what": "access point"},
    "unit:A1": {"model": "model:MA", "room": "room:R1", "x_m": 3.2, "y_m": 3.1, "z_m": 2.5},
    "unit:A2": {"model": "model:MA", "room": "room:R3", "x_m": 8, "y_m": 6.2, "z_m": 2.5, "state": "planned"},
}


def entries(rows: dict[str, dict[str, Scalar]]) -> list[Entry]:
    """One Noted for each thing, wall losses assumed, everything else seen."""
    return [
        Entry(
            f"t{n}",
            "tester",
            "bench",
            n,
            n,
            parse_when("2026-11-03"),
            "2026-11-03T10:00+00:00",
            Noted(
                parse_ref(ref),
                fields,
                Evidence("assumed" if ref.startswith("wall_type") else "seen", "by eye"),
                new=True,
            ),
        )
        for n, (ref, fields) in enumerate(rows.items(), 1)
    ]


@functools.cache
def house() -> Site:
    """The site of the small house."""
    return replay(entries(ROWS), today=TODAY, as_of="2026-11-18")


def changed(**fields: dict[str, Scalar]) -> Site:
    """The house with some fields of some things set anew; names as `outlet_O1`."""
    rows = {ref: dict(values) for ref, values in ROWS.items()}
    for name, values in fields.items():
        kind, _, tag = name.rpartition("_")
        rows[f"{kind}:{tag}"] = {**rows.get(f"{kind}:{tag}", {}), **values}
    return replay(entries(rows), today=TODAY)

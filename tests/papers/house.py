"""A small invented house for looking at papers: two storeys' worth of trouble on one floor, no real place."""

from __future__ import annotations

import functools

from pullstring.model.asbuilt import Site
from pullstring.model.entries import Claimed, Did, Entry, Evidence, Noted, Scalar
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


CLAIMS = ("goes_to", "ends_at", "mounted_at")


def entries(rows: dict[str, dict[str, Scalar]]) -> list[Entry]:
    """One Noted for each thing, wall losses assumed, everything else seen; then what goes where, and what was put in."""
    bodies: list[Noted | Claimed | Did] = []
    said: list[Noted | Claimed | Did] = []
    for ref, fields in rows.items():
        own = {n: v for n, v in fields.items() if n not in (*CLAIMS, "put_in")}
        seen = Evidence("assumed" if ref.startswith("wall_type") else "seen", "by eye")
        bodies.append(Noted(parse_ref(ref), own, seen, new=True))
        said += [
            Claimed(parse_ref(ref), n, parse_ref(str(fields[n])), True, Evidence("toned", "by tone"))
            for n in CLAIMS
            if n in fields
        ]
        if "put_in" in fields:
            said.append(Did("put in", parse_ref(ref), None, {}, seen))
    return [
        Entry(f"t{n}", "tester", "bench", n, n, parse_when("2026-11-03"), "2026-11-03T10:00+00:00", body)
        for n, body in enumerate([*bodies, *said], 1)
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


def corridor_house(
    rooms: int, *, per_room: int = 1, states: tuple[str, ...] = ("there",)
) -> dict[str, dict[str, Scalar]]:
    """Rooms on both sides of a corridor whose void leads from the closet to each; a run for each outlet."""
    long = (rooms + 1) // 2 * 4.0
    names = [f"room:C{n}" for n in range(rooms)]
    rows: dict[str, dict[str, Scalar]] = {
        "property:P": {"name": "Corridor house (invented)"},
        "building:B": {}, "floor:F": {"building": "building:B", "name": "Ground floor", "z_m": 0},
        "floor:G": {"building": "building:B", "name": "Upper floor", "z_m": 3},
        "room:H": {"floor": "floor:F", "name": "Corridor", "outline": f"0 0; {long} 2"},
        "room:K": {"floor": "floor:F", "name": "Closet", "outline": "-3 0; 0 2", "closet": "yes"},
        "room:U": {"floor": "floor:G", "name": "Upper room", "outline": f"{long - 4} -2; {long} 4"},
        "wall_type:W": {"hatch": "brick", "thickness_m": 0.24}, "wall_type:L": {"hatch": "lath", "thickness_m": 0.12},
        "pathway:V": {"rooms": " & ".join(["room:K", "room:H", *names]), "style": "void"},
        "pathway:S": {"rooms": "room:H & room:U", "style": "shaft"},
        "block:B1": {"room": "room:K", "x_m": -2.9, "y_m": 1.0, "rows": 40},
        "wall:h0": {"floors": "floor:F", "line": f"0 0; {long} 0", "wall_type": "wall_type:W"},
        "wall:h1": {"floors": "floor:F", "line": f"0 2; {long} 2", "wall_type": "wall_type:W"},
        "wall:k": {"floors": "floor:F", "line": "0 0; 0 2", "wall_type": "wall_type:L"},
        "wall:k1": {"floors": "floor:F", "line": "-3 0; -3 2", "wall_type": "wall_type:L"},
        "opening:dk": {"wall": "wall:k", "u0_m": 0.5, "u1_m": 1.4, "fill": "door"},
    }  # fmt: skip
    for n in range(rooms):
        x, up = n // 2 * 4.0, n % 2
        y0, y1 = (2.0, 6.0) if up else (-4.0, 0.0)
        rows[f"room:C{n}"] = {"floor": "floor:F", "name": f"Guest {n + 1}", "outline": f"{x} {y0}; {x + 4} {y1}"}
        rows[f"wall:s{n}"] = {"floors": "floor:F", "line": f"{x} {y0}; {x} {y1}", "wall_type": "wall_type:L"}
        rows[f"opening:d{n}"] = {"wall": f"wall:h{up}", "u0_m": x + 0.6, "u1_m": x + 1.4, "fill": "door"}
        for i in range(per_room):
            tag, state = f"{n}{'abcdef'[i]}", states[(n + i) % len(states)]
            rows[f"outlet:O{tag}"] = {"room": f"room:C{n}", "x_m": x + 2.0 + 0.3 * i, "y_m": y1 - 0.1 if up else y0 + 0.1,
                                      "positions": 1, "state": "planned" if state == "planned" else "there"}  # fmt: skip
            rows[f"cable:C{tag}"] = {"jacket": "cat6", "state": "planned" if state == "planned" else "there"}
            rows[f"cable:C{tag}"] |= {"put_in": True} if state == "new" else {}
            rows[f"end:E{tag}"] = {"cable": f"cable:C{tag}", "room": "room:K", "goes_to": f"outlet:O{tag}"}
    return rows

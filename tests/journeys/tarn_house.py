"""Tarn House, invented: five rooms on two floors and a shed far off, two access points, in metres or in feet.

Everything is laid out in whole feet, so that both ways of writing it are the same house to the last digit:

    upper floor   | bedroom 20 ft      | study 24 ft, A2        |
    ground floor  | hall 12, A1 ( arch ) parlour 18 | kitchen 14 |

The hall opens into the parlour by an arch. Between parlour and kitchen stands metal lath with a shut door.
"""

from __future__ import annotations

from pathlib import Path

from tests.journeys.sites import Rows, make

DAY = "2026-03-05"
BY = {"grade": "seen", "by": "TEC", "at": DAY}
FOOT_M = 0.3048
OUTLINES = {
    "HALL": ("T0", (0, 0, 12, 20)),
    "PARL": ("T0", (12, 0, 30, 20)),
    "KITC": ("T0", (30, 0, 44, 20)),
    "BEDR": ("T1", (0, 0, 20, 20)),
    "STUD": ("T1", (20, 0, 44, 20)),
    "SHED": ("S0", (0, 0, 10, 10)),
}
WALLS = {
    "o1": ("T0 T1", (0, 0, 44, 0), "STONE"),
    "o2": ("T0 T1", (44, 0, 44, 20), "STONE"),
    "o3": ("T0 T1", (0, 20, 44, 20), "STONE"),
    "o4": ("T0 T1", (0, 0, 0, 20), "STONE"),
    "i1": ("T0", (12, 0, 12, 20), "BRICK"),
    "i2": ("T0", (30, 0, 30, 20), "LATH"),
    "i3": ("T1", (20, 0, 20, 20), "BOARD"),
    "s1": ("S0", (0, 0, 10, 0), "STONE"),
    "s2": ("S0", (10, 0, 10, 10), "STONE"),
    "s3": ("S0", (0, 10, 10, 10), "STONE"),
    "s4": ("S0", (0, 0, 0, 10), "STONE"),
}
TYPES = {
    "STONE": ("rubble stone", "18", "28"),
    "BRICK": ("brick half", "5", "9"),
    "LATH": ("metal lath both sides", "24", "16"),
    "BOARD": ("plasterboard", "2", "3"),
    "FLOOR": ("joist floor", "7", "10"),
}
STANDS = {"A1": ("HALL", (6, 10, 8)), "A2": ("STUD", (32, 10, 7))}
READ = (
    ("HALL", "level 2.4 GHz", "-40 dBm", "A1"),
    ("HALL", "level 5 GHz", "-45 dBm", "A1"),
    ("PARL", "level 2.4 GHz", "-52 dBm", "A1"),
    ("PARL", "level 5 GHz", "-59 dBm", "A1"),
    ("BEDR", "level 5 GHz", "-62 dBm", "A2"),
    ("STUD", "level 2.4 GHz", "-44 dBm", "A2"),
    ("STUD", "level 5 GHz", "-48 dBm", "A2"),
    ("SHED", "level 5 GHz", "none", ""),
)
"""What a phone showed, with the access point it was on; invented so that a plain house would show about this."""


class Written:
    """Lengths and outlines as one unit writes them."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def length(self, feet: float) -> str:
        """`12 ft`, or metres without a unit."""
        return f"{feet:g} ft" if self.unit == "ft" else f"{feet * FOOT_M:.6g}"

    def corners(self, box: tuple[int, ...]) -> str:
        """Two points."""
        if self.unit == "ft":
            return f"{box[0]} {box[1]}; {box[2]} {box[3]} ft"
        a, b, c, d = (f"{v * FOOT_M:.6g}" for v in box)
        return f"{a} {b}; {c} {d}"


def reading(room: str, quantity: str, value: str, heard: str, *, number: int) -> dict[str, str]:
    """One row of the table of measurements."""
    said = "; ".join(["doors shut", "mean of 5", *([f"heard from {heard}"] if heard else [])])
    named = {"subject": f"room:{room}", "quantity": quantity, "value": value, "key": f"K{number}", "conditions": said}
    return {**named, "instrument": "phone", "grade": "metered", "by": "TEC", "at": f"{DAY}T09:{number:02d}+00:00"}


def rows(*, unit: str = "m", read=READ, arch: str = "open", senders: tuple[str, ...] = ("A1", "A2")) -> Rows:
    """The tables. `arch` is what stands between hall and parlour: `open`, or `shut` for a door that is."""
    w = Written(unit)
    told = {"grade": "told", "by": "OWN", "at": DAY}
    floors = {"T0": ("T", "0", 0), "T1": ("T", "1", 10), "S0": ("S", "0", 0)}
    arched = {"fill": "open", "usual": "open"} if arch == "open" else {"fill": "door", "usual": "shut"}
    needs = (
        ("N1", "HALL", "video calls", "", "-67"),
        ("N2", "KITC", "boiler gateway, 2.4 GHz only", "2.4 GHz", ""),
        ("N3", "STUD", "television", "5 GHz", ""),
        ("N4", "PARL", "television by cable", "", ""),
        ("N5", "SHED", "phones", "5 GHz", "-70"),
    )
    return {
        "property": [{"property": "TH", "name": "Tarn House, invented", "rule_set": "example-A", **told}],
        "buildings": [
            {"building": b, "name": name, "x_m": w.length(x), "y_m": w.length(0), "z_m": w.length(0), **BY}
            for b, name, x in (("T", "House", 0), ("S", "Shed", 300))
        ],
        "floors": [
            {"floor": f, "building": b, "level": level, "z_m": w.length(z), "ceiling_m": w.length(9), **BY}
            for f, (b, level, z) in floors.items()
        ],
        "wall_types": [
            {"wall_type": t, "name": t.lower(), "class": kind, "loss_2g4_db": low, "loss_5g_db": high, **BY}
            for t, (kind, low, high) in TYPES.items()
        ],
        "rooms": [
            {"room": r, "floor": f, "name": r.title(), "outline": w.corners(box), **BY} for r, (f, box) in OUTLINES.items()
        ],
        "walls": [
            {"wall": name, "floors": floor, "line": w.corners(box), "wall_type": kind, **BY}
            for name, (floor, box, kind) in WALLS.items()
        ],
        "openings": [
            {"opening": "d1", "wall": "i1", "u0_m": w.length(6), "u1_m": w.length(10), "z0_m": w.length(0),
             "z1_m": w.length(7), **arched, **BY},
            {"opening": "d2", "wall": "i2", "u0_m": w.length(8), "u1_m": w.length(11), "z0_m": w.length(0),
             "z1_m": w.length(7), "fill": "door", "usual": "shut", **BY},
        ],
        "slabs": [
            {"slab": "f1", "floor": "T1", "outline": w.corners((0, 0, 44, 20)), "wall_type": "FLOOR", **BY},
        ],
        "models": [
            {"model": "MA", "what": "access point", "eirp_2g4_dbm": "20", "eirp_5g_dbm": "23", "antenna": "omni", **BY},
        ],
        "units": [
            {"unit": a, "model": "MA", "name": f"access point {a}", "room": room, "x_m": w.length(at[0]),
             "y_m": w.length(at[1]), "z_m": w.length(at[2]), **BY}
            for a, (room, at) in STANDS.items() if a in senders
        ],
        "needs": [
            {"need": n, "room": room, "what": what, "band": band, "level_dbm": level, "priority": "1", **told}
            for n, room, what, band, level in needs
        ],
        "measurements": [reading(*row, number=k) for k, row in enumerate(read)],
    }  # fmt: skip


def tarn_house(folder: Path, **how) -> Path:
    """The record of the house, in a file."""
    tables = {name: content for name, content in rows(**how).items() if content}
    return make(folder, tables, code="TH")

"""Lime House, invented: a shop with rooms above it, eight cable ends in a cupboard, six outlets, and what is true of them.

W1 goes to P1. W2 goes to P2 and on to P3. W3 goes to P4 and is joined on the block with W4, which goes nowhere. W5 goes to P5,
where the till must stay. W6 is the alarm's. W7 goes nowhere. P6 has no cable.
"""

from __future__ import annotations

from pathlib import Path

from tests.journeys.sites import Rows, make

DAY = "2026-03-05"
BY = {"grade": "seen", "by": "TEC", "at": DAY}
TRUTH = {"P1": ("W1",), "P2": ("W2",), "P3": ("W2",), "P4": ("W3", "W4"), "P5": ("W5",), "P6": ()}
ON_BLOCK = {"W1": 1, "W2": 2, "W3": 3, "W4": 4, "W5": 5, "W7": 7}


def volts(end: str) -> list[dict[str, str]]:
    """Nothing read on it, DC and AC."""
    return [
        reading(f"end:{end}", f"volts {what}", "none", instrument="meter", conditions="all pairs")
        for what in ("DC", "AC")
    ]


def reading(subject: str, quantity: str, value: str, **more: str) -> dict[str, str]:
    """One row of the table of measurements."""
    blank = {"key": "", "conditions": "", "instrument": "", "by": "TEC", "at": f"{DAY}T09:00+00:00"}
    return {"subject": subject, "quantity": quantity, "value": value, "grade": "metered", **blank, **more}


def tone(
    at: str, source: str, *, level: str = "loud", care: str = "isolated confirmed", minute: int = 0
) -> dict[str, str]:
    """A tone heard at one thing, sent from another."""
    when = f"{DAY}T10:{minute:02d}+00:00"
    return reading(at, "tone", f"{level} from {source} {care}".strip(), instrument="tone set and probe", at=when)


def rows(*, read: list[dict[str, str]] | None = None) -> Rows:
    """The tables; `read` are the readings besides volts."""
    told = {"grade": "told", "by": "OWN", "at": DAY}
    ends = [f"W{n}" for n in range(1, 9)]
    place = {
        "P1": ("R1", 1, 1),
        "P2": ("R1", 5, 1),
        "P3": ("R2", 1, 4),
        "P4": ("R3", 1, 1),
        "P5": ("R1", 3, 3),
        "P6": ("R4", 5, 1),
    }
    outline = {"R1": "0 0; 6 4", "R2": "0 4; 6 8", "K1": "6 0; 8 4", "R3": "0 0; 4 4", "R4": "4 0; 8 4"}
    jackets = {"W6": "alarm 4-core", "W8": "cat5"}
    return {
        "property": [{"property": "LH", "name": "Lime House, invented", "rule_set": "example-A", **told}],
        "buildings": [{"building": "L", "name": "House", "x_m": "0", "y_m": "0", "z_m": "0", **BY}],
        "floors": [
            {"floor": f"L{n}", "building": "L", "level": str(n), "name": name, "z_m": str(3 * n), "ceiling_m": "2.6", **BY}
            for n, name in enumerate(("ground floor", "upper floor"))
        ],
        "rooms": [
            {"room": room, "floor": floor, "name": name, "outline": outline[room], "closet": "yes" if room == "K1" else "", **BY}
            for room, floor, name in (
                ("R1", "L0", "Shop"),
                ("R2", "L0", "Store"),
                ("K1", "L0", "Cupboard"),
                ("R3", "L1", "Front room"),
                ("R4", "L1", "Back room"),
            )
        ],
        "companies": [
            {"company": "ALM", "name": "alarm company", "may_touch": "alarm", "asked": "", **told},
        ],
        "blocks": [{"block": "B1", "room": "K1", "rows": "10", **BY}],
        "rows": [{"row": f"B1.{n}", **BY} for n in range(1, 9)],
        "cables": [{"cable": f"C{e[1:]}", "jacket": jackets.get(e, "cat3"), "pairs": "2", **BY} for e in ends],
        "ends": [
            {
                "end": e,
                "cable": f"C{e[1:]}",
                "room": "K1",
                "ends_at": f"row:B1.{ON_BLOCK[e]}" if e in ON_BLOCK else "",
                "label": {"W5": "TILL"}.get(e, ""),
                "jacket": jackets.get(e, "cat3"),
                **BY,
            }
            for e in ends
        ],
        "outlets": [
            {"outlet": o, "room": room, "x_m": str(x), "y_m": str(y), "z_m": "0.3", "plate": "6P4C flush", "positions": "1", **BY}
            for o, (room, x, y) in place.items()
        ],
        "units": [{"unit": "U1", "name": "till", "room": "R1", **BY}],
        "services": [
            {"service": "S1", "protected_by": "ALM", "carried_on": "end:W6", "arrives_at": "", "keep": "yes", **told},
            {"service": "S2", "protected_by": "", "carried_on": "", "arrives_at": "outlet:P5", "keep": "yes", **told},
        ],
        "kit": [
            {"kit": "KT1", "style": "tone set", "checked": DAY, "note": "", **BY},
            {"kit": "KT2", "style": "probe", "checked": DAY, "note": "", **BY},
            {"kit": "KT3", "style": "meter", "checked": DAY, "note": "", **BY},
            {"kit": "KT4", "style": "resistors", "checked": "", "note": "1 %: 1.2k 2.2k 3.9k 4.7k 6.8k 12k", **BY},
        ],
        "claims": [
            {"subject": "row:B1.3", "relation": "joined", "object": "row:B1.4", "detail": "a clip", **BY},
        ],
        "measurements": [
            *(v for e in ("W1", "W2", "W3", "W4", "W5", "W7", "W8") for v in volts(e)),
            *(USUAL if read is None else read),
        ],
    }  # fmt: skip


USUAL = [
    tone("outlet:P1", "end:W1", minute=1),
    tone("outlet:P2", "end:W2", minute=5),
    tone("outlet:P3", "end:W2", minute=9),
    tone("outlet:P4", "end:W3", minute=14),
    tone("outlet:P1", "end:W5", level="none", care="", minute=20),
]
"""What was heard so far; P5 and P6 were not tried."""


def lime_house(
    folder: Path,
    *,
    read: list[dict[str, str]] | None = None,
    without: tuple[str, ...] = (),
    kit: list[dict[str, str]] | None = None,
) -> Path:
    """The record of the house, in a file; `without` leaves tables out, `kit` is another bag."""
    tables = {name: content for name, content in rows(read=read).items() if name not in without}
    if kit is not None:
        tables["kit"] = [{**row, **BY} for row in kit]
    return make(folder, tables, code="LH")

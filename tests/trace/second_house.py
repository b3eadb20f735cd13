"""A house that is made, not noted: its truth is drawn first, then what a person would see and read of it. Feet, own tags."""

from __future__ import annotations

import dataclasses
import random

from tests.trace.houses import read

TAKES = ("run", "run", "run", "run", "run", "ring", "ring", "ring", "clip", "clip", "chain", "chain", "splice", "empty")
"""What each outlet is, before it is shuffled."""


@dataclasses.dataclass
class Made:
    """The rows, and the truth: by outlet its ends, by end what it is."""

    text: str = ""
    ends: dict[str, set[str]] = dataclasses.field(default_factory=dict)
    is_what: dict[str, str] = dataclasses.field(default_factory=dict)
    cut_m: float = 0.0


def made(seed: int, *, head: str = "X", plate: str = "N") -> Made:
    """A house of 14 outlets and 17 ends: runs read by remotes, a ring, a clip, a chain, a splice, a cut, a coil, an alarm."""
    dice = random.Random(seed)
    house = Made("rooms: room=K, closet=yes, floor=G\nrooms: room=L, floor=G\nfloors: floor=G, building=H, z_m=0 ft\n")
    house.text += "buildings: building=H\nblocks: block=BB, room=K, x_m=0 ft, y_m=0 ft, z_m=4 ft\n"
    house.text += "companies: company=GUARD\n"
    plates, wires = _tags(dice, plate, len(TAKES)), _tags(dice, head, 17)
    kinds: dict[str, list[str]] = {}
    for tag, kind in zip(plates, dice.sample(TAKES, len(TAKES)), strict=True):
        kinds.setdefault(kind, []).append(tag)
        x, y = dice.randint(20, 70), dice.randint(0, 20)
        text = f"outlets: outlet={tag}, room=L, x_m={x} ft, y_m={y} ft, z_m=1 ft, positions=1, grade=seen"
        house.text += text + (", condition=empty\n" if kind == "empty" else "\n")
        house.ends[tag] = set()
    free = iter(wires)
    _runs(house, kinds["run"], [next(free) for _ in range(5)])
    _ring(house, kinds["ring"], next(free), next(free))
    _clip(house, kinds["clip"], next(free), next(free))
    _chain(house, kinds["chain"], next(free))
    _splice(house, kinds["splice"][0], next(free))
    _dead(house, next(free), cut_ft=dice.randint(8, 14))
    _coil(house, next(free))
    _company(house, next(free), next(free))
    _none(house, next(free), next(free))
    return house


def _tags(dice: random.Random, head: str, count: int) -> list[str]:
    return [f"{head}{n}" for n in dice.sample(range(10, 99), count)]


def _end(house: Made, tag: str, jacket: str, *, pairs: int, row: str = "", what: str = "") -> None:
    house.is_what[tag] = what
    house.text += f"cables: cable=c{tag}, jacket={jacket}, pairs={pairs}, grade=seen\n"
    at = f", ends_at=BB.{row}" if row else ""
    house.text += f"rows: row=BB.{row}, grade=seen\n" if row else ""
    house.text += f"ends: end={tag}, cable=c{tag}, room=K{at}, grade=seen\n"


def _far(house: Made, outlet: str, jacket: str, pairs: int, letter: str = "a") -> None:
    tag = f"far {outlet}{letter}".replace(" ", "")
    house.text += f"ends: end={tag}, room=L, ends_at={outlet}, jacket={jacket}, pairs={pairs}, grade=seen\n"


def _runs(house: Made, outlets: list[str], ends: list[str]) -> None:
    """Numbered remotes on the outlets, every end clipped once."""
    for n, outlet in enumerate(outlets, start=1):
        _far(house, outlet, "cat5", 4)
        house.text += read(f"outlet:{outlet}", "remote placed", str(n), minute=n)
    for n, (outlet, end) in enumerate(zip(outlets, ends, strict=True), start=1):
        _end(house, end, "cat5", pairs=4, what="goes to")
        house.ends[outlet] = {end}
        house.text += read(f"end:{end}", "remotes heard", f"{n} of 1-{len(outlets)}", minute=20 + n)


def _ring(house: Made, outlets: list[str], one: str, other: str) -> None:
    for end in (one, other):
        _end(house, end, "quad", pairs=2, what="ring")
    house.text += read(f"end:{other}", "tone", f"loud from end:{one} isolated confirmed", key="ring", minute=60)
    for n, outlet in enumerate(outlets):
        house.ends[outlet] = {one, other}
        _far(house, outlet, "quad", 2, "a")
        _far(house, outlet, "quad", 2, "b")
        value = f"loud from end:{one} isolated confirmed"
        house.text += read(f"outlet:{outlet}", "tone", value, key=f"ring{n}", minute=61 + n)


def _clip(house: Made, outlets: list[str], one: str, other: str) -> None:
    """Resistors on both outlets, both ends read with the clip on and with it lifted: 1/(1/2700 + 1/8200) = 2031.2 ohm."""
    _end(house, one, "cat3", pairs=4, row="7", what="clip")
    _end(house, other, "cat3", pairs=4, row="8", what="clip")
    house.text += "rows: row=BB.7, clip_to=BB.8, grade=seen\n"
    for n, (outlet, end, ohm) in enumerate(zip(outlets, (one, other), ("2700", "8200"), strict=True)):
        house.ends[outlet] = {end}
        _far(house, outlet, "cat3", 4)
        on = read(f"outlet:{outlet}", "resistor placed", f"{ohm} ohm", minute=80 + n, instrument="1 % part")
        house.text += on + read(f"end:{end}", "resistance", "2035 ohm", minute=84 + n)
        alone = f"{float(ohm) * 1.004:.0f} ohm"
        house.text += read(f"end:{end}", "resistance", alone, minute=90 + n, conditions="clip lifted")


def _chain(house: Made, outlets: list[str], end: str) -> None:
    _end(house, end, "quad", pairs=2, what="goes to")
    for n, outlet in enumerate(outlets):
        house.ends[outlet] = {end}
        _far(house, outlet, "quad", 2)
        value = f"loud from end:{end} isolated confirmed"
        house.text += read(f"outlet:{outlet}", "tone", value, key=f"chain{n}", minute=110 + n)


def _splice(house: Made, outlet: str, end: str) -> None:
    """Four pairs in the closet, a quad at the plate."""
    _end(house, end, "cat5", pairs=4, what="splice")
    house.ends[outlet] = {end}
    _far(house, outlet, "quad", 2)
    value = f"loud from end:{end} isolated confirmed"
    house.text += read(f"outlet:{outlet}", "tone", value, key="splice", minute=120)


def _dead(house: Made, end: str, *, cut_ft: int) -> None:
    """52 pF a metre (usual telephone cable); every outlet is 20 ft off or more along the walls."""
    _end(house, end, "cat5", pairs=4, what="cut")
    house.cut_m = cut_ft * 0.3048
    conditions = "pair 1 and far end open"
    farads = f"{house.cut_m * 0.052:.3f} nF"
    house.text += read(f"end:{end}", "capacitance", farads, minute=130, conditions=conditions)


def _coil(house: Made, end: str) -> None:
    _end(house, end, "cat5e", pairs=4, what="coil")
    house.text += "ends: end=loft, room=L, ends_at=stop:coil, jacket=cat5e, pairs=4, grade=seen\n"
    house.text += read("end:loft", "tone", f"loud from end:{end} isolated confirmed", key="coil", minute=135)


def _company(house: Made, one: str, other: str) -> None:
    for end in (one, other):
        _end(house, end, "alarm 4-core", pairs=2, what="protected")
    on = f"end:{one} & end:{other}"
    house.text += f"services: service=GUARDED, needs=line, keep=yes, protected_by=GUARD, carried_on={on}, grade=told\n"


def _none(house: Made, coax: str, stub: str) -> None:
    _end(house, coax, "coax", pairs=0, what="coax")
    _end(house, stub, "cat5", pairs=4, what="stub")
    house.text += f"cables: cable=c{stub}, length_m=1 ft, grade=seen\n"

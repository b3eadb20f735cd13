"""Readings of a walk through the invented inn, computed from its truth; the same seed gives the same bytes.

    .venv/bin/python tools/make_walk.py

The truth lies with the tests, so the program cannot read it. What comes out is what a meter, a probe and two eyes give:
no place to which an end goes. A meter is off by 1 % of ohms and 3 % of farads at most, evenly spread (ours, assumed).
"""

from __future__ import annotations

import csv
import datetime as dt
import pathlib
import random
import re
from collections.abc import Iterable, Sequence

SEED = 3
OHM_PER_M = 0.1684  # one pair of 24 AWG out and back at 20 C, rounded as in the scenario
NF_PER_M = 0.052  # usual telephone value
OHM_OFF, NF_OFF = 0.01, 0.03
REFERENCE = (9.5, 8.0, 1.5)
ROUTE_M = {"A": 6.6, "F": 3.1, "C": -0.3}
SPARE_M = 3.3  # 3.0 m of loop in the closet and 0.3 m at the outlet
ZONE = dt.timezone(dt.timedelta(hours=1))
TUESDAY, WEDNESDAY = (dt.datetime(2026, 3, day, tzinfo=ZONE) for day in (3, 4))
MULTI = re.compile(r"(?:(\d+) )?(DC|AC|ring|none)(?: (\S+))?")
HEADER = ("subject", "quantity", "value", "key", "grade", "conditions", "instrument", "by", "at")
ROOT = pathlib.Path(__file__).resolve().parents[1]
INN = ROOT / "src" / "pullstring" / "demo" / "three_lamps"
Row = dict[str, str]


def read(path: pathlib.Path) -> list[Row]:
    """Rows of a table."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(path: pathlib.Path, header: Sequence[str], rows: Iterable[Row]) -> None:
    """A table, rows as given."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, header, lineterminator="\n", restval="")
        writer.writeheader()
        writer.writerows(rows)


def lengths_m(truth: Iterable[Row]) -> dict[str, float]:
    """Length of each run whose outlet is known in truth: up or down to the route, along both axes, down or up again."""
    outlets = {row["outlet"]: row for row in read(INN / "1_arrival" / "outlets.csv")}
    rooms = {row["room"]: row["floor"] for row in read(INN / "1_arrival" / "rooms.csv") if row["floor"]}
    floors = {row["floor"]: float(row["z_m"]) for row in read(INN / "1_arrival" / "floors.csv")}
    x0, y0, z0 = REFERENCE
    found = {}
    for row in truth:
        if row["outlet"]:
            outlet, route = outlets[row["outlet"]], ROUTE_M[row["route"]]
            z = floors[rooms[outlet["room"]]] + float(outlet["z_m"])
            aside = abs(float(outlet["x_m"]) - x0) + abs(float(outlet["y_m"]) - y0)
            found[row["end"]] = abs(z0 - route) + aside + abs(route - z) + SPARE_M
    return found


class Walk:
    """Readings in the order they were taken, one a minute."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self.noise = random.Random(SEED)
        self.now = TUESDAY

    def off(self, value: float, part: float) -> float:
        """A value as the meter shows it."""
        return value * (1 + self.noise.uniform(-part, part))

    def take(
        self,
        subject: str,
        quantity: str,
        value: str,
        *,
        with_: str,
        conditions: str = "",
        grade: str = "metered",
        minutes: int = 0,
    ) -> None:
        """One reading; `minutes` pass after it."""
        row = (subject, quantity, value, f"W{len(self.rows) + 1:03d}", grade, conditions, with_, "TEC", self.stamp)
        self.rows.append(dict(zip(HEADER, row, strict=True)))
        self.now += dt.timedelta(minutes=minutes)

    @property
    def stamp(self) -> str:
        """The moment with its offset."""
        return self.now.isoformat(timespec="minutes")


def volts(walk: Walk, truth: Iterable[Row]) -> None:
    """Direct and alternating volts on every end that may be metered."""
    walk.now = TUESDAY.replace(hour=15, minute=10)
    for row in truth:
        if row["volts"] == "not metered":
            continue
        by_pair: dict[str, dict[str, str]] = {}
        for item in row["volts"].split(";"):
            found = MULTI.fullmatch(item.strip())
            assert found, item
            by_pair.setdefault(found[1] or "", {})[found[2]] = found[3] or ""
        for pair, seen in by_pair.items():
            subject = f"pair:{row['cable']}.{pair}" if pair else f"end:{row['end']}"
            how = "" if pair else "all pairs, wire to wire and wire to earth" if seen == {"none": ""} else "first pair"
            for word in ("DC", "AC"):
                value = f"{walk.off(float(seen[word]), OHM_OFF):.1f} V" if word in seen else "none"
                walk.take(subject, f"volts {word}", value, with_="meter", conditions=how)
            if "ring" in seen:
                walk.take(subject, "volts AC", f"{seen['ring']} V", with_="meter", conditions="while a call rang")
        walk.now += dt.timedelta(minutes=1)


def farads(walk: Walk, truth: Iterable[Row], length: dict[str, float], *, when: str) -> None:
    """Capacitance of pairs that are open at the far end; the two that were cut show where."""
    for row in truth:
        if row["open"] in (("after",) if when == "after" else ("yes", "cut")):
            value = float(row["open_nf"]) if row["open_nf"] else walk.off(length[row["end"]] * NF_PER_M, NF_OFF)
            how = {"yes": "pair 1, far end open", "cut": "pair 1", "after": "pair 1, clip lifted, resistor taken off"}[
                row["open"]
            ]
            digits = 2 if row["open_nf"] else 3
            walk.take(
                f"end:{row['end']}", "capacitance", f"{value:.{digits}f} nF", with_="meter", conditions=how, minutes=1
            )


def resistors(walk: Walk, truth: Sequence[Row], length: dict[str, float]) -> None:
    """Eight parts at eight plates, read from the closet; then the clip between rows 10 and 11 is lifted and two read again."""
    placed = [row for row in truth if row["resistor"]]
    walk.now = WEDNESDAY.replace(hour=8)
    for row in placed:
        value = f"{int(row['resistor'])} ohm"
        walk.take(f"outlet:{row['outlet']}", "resistor placed", value, with_="1 % part", conditions="pair 1", minutes=1)
    bridged = [float(row["resistor"]) for row in placed if row["state"] == "bridged"]
    together = 1 / sum(1 / ohm for ohm in bridged)

    def alone(row: Row) -> str:
        return f"{walk.off(float(row['resistor']), OHM_OFF) + length[row['end']] * OHM_PER_M:.1f} ohm"

    for row in placed:
        is_bridged = row["state"] == "bridged"
        value, how = (f"{together:.1f} ohm", "clip on rows 10 and 11") if is_bridged else (alone(row), "pair 1")
        walk.take(f"end:{row['end']}", "resistance", value, with_="meter", conditions=how, minutes=1)
    walk.take("end:E14", "tone", "faint from end:E13", with_="tone set and probe", conditions="clip on rows 10 and 11")
    walk.now = WEDNESDAY.replace(hour=8, minute=30)
    for row in placed:
        if row["state"] == "bridged":
            how = "clip on rows 10 and 11 lifted"
            walk.take(f"end:{row['end']}", "resistance", alone(row), with_="meter", conditions=how, minutes=1)


def tones(walk: Walk, truth: Iterable[Row]) -> None:
    """Where the tone of each end was heard and stopped by a short."""
    walk.now = WEDNESDAY.replace(hour=8, minute=40)
    walk.take("end:E14", "tone", "none from end:E13 isolated", with_="tone set and probe", conditions="clip lifted")
    for row in truth:
        for place in row["tone_at"].split():
            shown = "loud from end:" + row["end"] + " isolated"
            confirmed = " confirmed" if place.startswith(("outlet:", "end:")) and place != "outlet:O05" else ""
            how = "outside the plate, which stayed shut" if place == "outlet:O05" else ""
            walk.take(place, "tone", shown + confirmed, with_="tone set and probe", conditions=how, minutes=3)


def loops_and_maps(walk: Walk, truth: Sequence[Row], length: dict[str, float]) -> None:
    """Loops with the far end shorted, wire maps, and at what the live ones ran; a length from the marks of a jacket."""
    walk.now = WEDNESDAY.replace(hour=10, minute=5)
    for row in truth:
        if row["ran_mbps"]:
            how = "as plugged in on arrival, by the lights of the port"
            walk.take(
                f"end:{row['end']}", "ran at", f"{row['ran_mbps']} Mb/s", with_="switch", conditions=how, grade="ran"
            )
    walk.now = WEDNESDAY.replace(hour=11, minute=20)
    for row in truth:
        if row["loop"]:
            value = f"{walk.off(length[row['end']] * OHM_PER_M, OHM_OFF):.2f} ohm"
            how = "pair 1, shorted at the outlet, leads taken off"
            walk.take(f"end:{row['end']}", "loop resistance", value, with_="meter", conditions=how, minutes=1)
    for row in truth:
        if row["map"]:
            how = "unplugged for the test" if row["ran_mbps"] else ""
            walk.take(f"end:{row['end']}", "wire map", row["map"], with_="wire mapper", conditions=how, minutes=2)
    how = "from mark 0412 in the closet to mark 0439 at the plate"
    walk.take("cable:C22", "length", "27 m", with_="marks of the jacket", conditions=how, grade="seen")
    walk.take("cable:C39", "length", "0.3 m", with_="tape", grade="seen")


def far_ends(seen: Iterable[Row]) -> Iterable[Row]:
    """What hangs behind the plates; to which cable it belongs is not seen."""
    tail = {"grade": "seen", "by": "TEC"}
    yield {"end": "E22", "mark_m": "412", "found": "mark 0412", "at": "2026-03-03"} | tail
    yield {"end": "E33", "scheme": "telephone", "found": "order of a telephone plate", "at": "2026-03-03"} | tail
    for row in seen:
        late = row["end"][:3] in ("F15", "F24", "F25", "F26", "F28", "F29", "F38")
        day = "2026-03-04T09:45+01:00" if late else "2026-03-03"
        yield {k: v for k, v in row.items() if k != "cable"} | tail | {"at": day}


def make(folder: pathlib.Path) -> None:
    """Write the two tables of the walk into a folder."""
    truth = read(ROOT / "tests" / "demo" / "truth.csv")
    length = lengths_m(truth)
    walk = Walk()
    volts(walk, truth)
    walk.now = TUESDAY.replace(hour=18, minute=10)
    farads(walk, truth, length, when="first")
    resistors(walk, truth, length)
    walk.now = WEDNESDAY.replace(hour=8, minute=35)
    farads(walk, truth, length, when="after")
    tones(walk, truth)
    loops_and_maps(walk, truth, length)
    write(folder / "measurements.csv", HEADER, walk.rows)
    header = ("end", "room", "ends_at", "jacket", "pairs", "scheme", "mark_m", "found", "grade", "by", "at")
    write(folder / "ends.csv", header, far_ends(read(ROOT / "tests" / "demo" / "truth_far_ends.csv")))


if __name__ == "__main__":
    make(INN / "2_walk")

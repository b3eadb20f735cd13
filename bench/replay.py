"""How long a record takes to be read and replayed: `python -m bench.replay [ENTRIES]`. The record is invented and drawn by seed.

Shown as milliseconds here and as a ratio to one plain reading of the same lines as JSON, in one run.
"""

from __future__ import annotations

import json
import random
import sys
import time
from collections.abc import Callable
from typing import TypeVar

from pullstring.model.entries import Body, Claimed, Did, Entry, Evidence, Measured, Noted, StruckOut, from_json, to_json
from pullstring.model.refs import Ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when

T = TypeVar("T")
GRADES = ("assumed", "told", "seen", "toned", "pinned out")


def drawn(size: int, *, seed: int) -> list[Entry]:
    """Notes, claims, readings and acts on cables, ends, outlets and ports; one in fifty struck out."""
    dice = random.Random(seed)
    things = max(20, size // 25)
    entries: list[Entry] = []
    for n in range(1, size + 1):
        evidence = Evidence(dice.choice(GRADES), by="TEC")
        end, cable = Ref("end", f"E{dice.randrange(things)}"), Ref("cable", f"C{dice.randrange(things)}")
        outlet, port = Ref("outlet", f"O{dice.randrange(things)}"), Ref("port", f"U{dice.randrange(things)}.1")
        bodies: list[Body] = [
            Noted(end, {"cable": str(cable), "found": f"row {n}"}, evidence, new=n % 7 == 0),
            Noted(cable, {"pairs": 4, "length_m": n / 10, "jacket": "cat5"}, evidence, new=n % 5 == 0),
            Claimed(end, dice.choice(("goes_to", "ends_at")), outlet, dice.random() < 0.9, evidence),
            Measured(end, "volts DC", "=", dice.random(), "V", "0.1 V", evidence, f"k{n}"),
            Did(dice.choice(("plug in", "unplug")), end, port, {}, evidence),
        ]
        body: Body = dice.choices(bodies, (3, 3, 3, 2, 1))[0]
        if n > 50 and n % 50 == 0:
            body = StruckOut(entries[dice.randrange(n - 1)].id, "mistaken")
        at = parse_when(f"20{dice.randrange(20, 26)}-0{dice.randrange(1, 10)}-1{dice.randrange(10)}")
        wrote = "2026-03-01T10:00:00+00:00"
        entries.append(Entry(f"{n:032x}", "TEC", f"d{n % 3}", n, n, at, wrote, body, key=f"{n:064x}"))
    return entries


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """What a piece of work gives, and the best of three times. [s]"""
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        found = work()
        best = min(best, time.perf_counter() - start)
    return found, best


def main(size: int) -> None:
    """Print the table."""
    lines = [to_json(e) for e in drawn(size, seed=1)]
    _, plain_s = timed(lambda: [json.loads(line) for line in lines])
    entries, parsed_s = timed(lambda: [from_json(line) for line in lines])
    site, replayed_s = timed(lambda: replay(entries, today="2026-04-01"))
    print(f"{size} entries, {len(site.things)} things, {len(site.claims)} claims, {len(site.readings)} readings")
    for name, took_s in (("plain JSON", plain_s), ("read as entries", parsed_s), ("replay", replayed_s)):
        print(f"{name:16s} {1000 * took_s:8.0f} ms   {took_s / plain_s:6.2f} x plain JSON")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)

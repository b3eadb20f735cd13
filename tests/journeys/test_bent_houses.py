"""Whole houses with some cells bent to what their columns still take: whatever is asked ends in an answer, never in a traceback,
never in a number that is none."""

from __future__ import annotations

import random

import pytest

from pullstring.model.columns import tables
from pullstring.model.entries import Entry
from pullstring.model.replay import replay
from pullstring.model.tables import RawTable, understand
from pullstring.model.towrite import not_yet_said
from pullstring.model.when import parse_when
from tests.journeys.asked_all import ask_everything
from tests.journeys.sites import Rows, packaged
from tests.tiers import FRESH_SEED

LOOKED_AT = (
    "cables", "ends", "joints", "pairs", "outlets", "jacks", "blocks", "rows", "models", "units", "ports", "circuits",
    "switches", "sockets", "services", "claims", "measurements", "plugged", "kit", "incoming_lines",
)  # fmt: skip
READINGS = (
    "3 ohm", "0 ohm", "1e9 ohm", "48 V", "< 2 V", "none", "1 nF", "0.3 uF", "100 Mb/s", "whole; touch 5+7", "20 C", "5 W",
)  # fmt: skip
NUMBERS = ("0", "1", "2", "3", "4", "24", "0.001", "1e-9", "1e6", "123456", "90", "-1", "99.9", "40", "none")


def bent(rows: Rows, dice: random.Random, *, cells: int) -> Rows:
    out = {table: [dict(row) for row in content] for table, content in rows.items() if table in LOOKED_AT and content}
    refs: dict[str, list[str]] = {}
    for table, content in out.items():
        key = next((c for c in tables()[table].columns if c.type == "tag"), None)
        if key:
            refs[key.name] = [row[key.name] for row in content if row.get(key.name)]
    for _ in range(cells):
        table = dice.choice(list(out))
        row = dice.choice(out[table])
        column = dice.choice([c for c in tables()[table].columns if c.type != "tag"])
        row[column.name] = _cell(column, refs, dice)
        if dice.random() < 0.1:
            out[table].append(dict(row))
        elif dice.random() < 0.1 and len(out[table]) > 1:
            out[table].remove(row)
    return out


def _cell(column, refs, dice: random.Random) -> str:
    some = [f"{kind}:{tag}" for kind, tags in refs.items() for tag in tags]
    match column.type.partition(":")[0]:
        case "choice":
            return dice.choice([*column.options, ""])
        case "number" | "whole":
            return dice.choice(NUMBERS)
        case "ref":
            return dice.choice([*refs.get(column.of, []), "", "nowhere"])
        case "relation" | "anyref" | "refs":
            return dice.choice([*some, ""])
        case "reading":
            return dice.choice(
                ["3 ohm", "0 ohm", "48 V", "none", "1 nF", "0.3 uF", "100 Mb/s", "whole; touch 5+7", "< 2 V", "1e9 ohm"]
            )
        case _:
            return dice.choice(["", "far end open", "pair 2", "1>2 2>1", "2020"])


def asked(seed: int, name: str) -> None:
    dice = random.Random(seed)
    rows = bent(packaged(name), dice, cells=dice.choice((3, 10, 40)))
    raw = []
    for table, content in rows.items():
        heads = tuple(dict.fromkeys(h for row in content for h in row))
        cells = tuple((n, tuple(row.get(h, "") for h in heads)) for n, row in enumerate(content, 2))
        raw.append(RawTable(f"{table}.csv", table, heads, cells))
    said = understand(raw, known={}, today="2026-04-01")
    fresh = not_yet_said(replay([], today="2026-04-01"), said.statements, frozenset())
    wrote = "2026-04-01T10:00:00+00:00"
    entries = [Entry(f"i{n}", "T", "a", n, n, parse_when(s.at), wrote, s.body) for n, s in enumerate(fresh, 1)]
    ask_everything(replay(entries, today="2026-04-01"))


@pytest.mark.parametrize("first", range(0, 60, 15))
def test_bent_small_house(first: int) -> None:
    for seed in range(first, first + 15):
        asked(seed, "two_rooms")


@pytest.mark.parametrize("seed", range(4))
def test_bent_inn(seed: int) -> None:
    asked(1000 + seed, "three_lamps/1_arrival")


def test_bent_houses__fresh_draw() -> None:
    for n in range(15):
        asked(FRESH_SEED + n, "two_rooms")
    asked(FRESH_SEED, "three_lamps/1_arrival")

"""What was read: beside what is predicted, what does not fit, what it taught, how far off all the same, what to read next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_signal import AGAIN, LEFT_OUT, READING_WHY, SAID
from pullstring.papers.words_signal_said import between, dbm, decibels, listed, minutes, named, share

Facts = Mapping[str, Any]
FEW = 3
"""So many of a kind are named in the first lines; all stand in the tables."""


def read_enough(said: Facts, band: str, *, edge_dbm: float) -> tuple[int, int]:
    """In how many rooms the agreed edge or more was read, and of how many a reading tells of now; nothing is predicted here."""
    best: dict[str, float] = {}
    for one in said["readings"]:
        if one["band"] == band and one.get("tells_now", True):
            read = float("-inf") if one["read_dbm"] is None else one["read_dbm"]
            best[one["room"]] = max(read, best.get(one["room"], float("-inf")))
    return sum(level >= edge_dbm for level in best.values()), len(best)


def read_counted(said: Facts) -> str:
    """How many rooms were read at the agreed edge or above it, by band; empty where no reading tells of now."""
    parts = []
    for band in said["bands"]:
        enough, of = read_enough(said, band, edge_dbm=said["edge_dbm"][band])
        parts += [f"{enough} of {of} at {band}"] if of else []
    return SAID["read there"].format(listed(parts, last="and")) if parts else ""


def doubted_line(said: Facts) -> str:
    """What does not fit together, in one line; empty where all does."""
    doubted = [r for r in said["readings"] if r["doubted"]]
    if not doubted:
        return ""
    more = f", and {len(doubted) - FEW} more" if len(doubted) > FEW else ""
    return AGAIN["first"].format(listed([_read_line(r) for r in doubted[:FEW]], last="and"), more)


def _read_line(reading: Facts) -> str:
    foreseen = "" if reading["predicted_dbm"] is None else f" where {dbm(reading['predicted_dbm'])} is predicted"
    return f"{_what(reading)} at {reading['band']} in room {reading['room']}{foreseen}"


def _what(reading: Facts) -> str:
    return "none heard" if reading["read_dbm"] is None else f"{dbm(reading['read_dbm'])} dBm"


def left_out(said: Facts) -> str:
    """How far off the prediction is where it was not told the answer; always said."""
    off, before = said["leave_one_out_db"], said["before_db"]
    if off is None:
        return LEFT_OUT["none"]
    if before is None:
        return LEFT_OUT["told alone"].format(decibels(off))
    return LEFT_OUT["told"].format(decibels(off), decibels(before))


def next_line(said: Facts) -> str:
    """Where to read next, or that it would not help."""
    if not said["next"]:
        return SAID["no next"]
    one = said["next"][0]
    room = next((named(r) for r in said["rooms"] if r["room"] == one["room"]), f"room {one['room']}")
    return SAID["next"].format(room, minutes(one["minutes"]), decibels(one["narrows_db"]))


READ_COLUMNS = ("room", "band", "from", "read, dBm", "predicted", "4 in 5", "off, dB", "so")


def readings(said: Facts) -> list[Block]:
    """What was read beside what is predicted there; then what is to be read again."""
    rows = tuple(
        (
            r["room"] or "–",
            r["band"],
            r.get("from") or "–",
            "none heard" if r["read_dbm"] is None else dbm(r["read_dbm"]),
            "–" if r["predicted_dbm"] is None else dbm(r["predicted_dbm"]),
            between(r["low_dbm"], r["high_dbm"], bare=True),
            "–" if r["off_db"] is None else f"{round(r['off_db']):+d}",
            _so(r),
        )
        for r in said["readings"]
    )
    return [Heading("Readings"), Table(READ_COLUMNS, rows, "mlmrrlrl"), *_again(said)] if rows else []


def _so(reading: Facts) -> str:
    if reading["doubted"]:
        return AGAIN["so"]
    if reading.get("why_not"):
        return AGAIN["teaches nothing"].format(sentence(READING_WHY, reading["why_not"]))
    return "–"


def _again(said: Facts) -> Iterator[Para]:
    """Readings that contradict others, each with what to do."""
    by_key: dict[str, Facts] = {}
    for one in said["readings"]:
        by_key.setdefault(one["key"], one)
    for doubt in said.get("repeat") or ():
        found = [by_key[key] for key in doubt["keys"] if key in by_key]
        if not found:
            continue
        where = f"{_what(found[0])} at {found[0]['band']} in room {found[0]['room']}"
        off = decibels(abs(doubt["off_db"]))
        if doubt["kind"] == "pair" and len(found) > 1:
            told = AGAIN["pair"].format(where, _what(found[1]), off)
        elif len(found) > 1:
            told = AGAIN["against"].format(where, off, f"{_what(found[1])} in room {found[1]['room']}")
        else:
            told = AGAIN["alone"].format(where, off)
        yield Para(told + (AGAIN["aside"] if doubt.get("aside") else ""))


def learned(said: Facts) -> list[Block]:
    """What the readings taught: devices, distance, walls; and how far off it is all the same."""
    found = said["learned"] or {}
    if not said["readings"] and not found.get("offsets"):
        return []
    lines = [_offset(o) for o in found.get("offsets", ())]
    if (fall := found.get("exponent")) and fall.get("value") is not None:
        lines.append(SAID["distance"].format(*(f"{fall[n]:.1f}" for n in ("value", "low", "high"))))
    walls = tuple(
        (w["wall_type"], w["band"], decibels(w["prior_db"]), decibels(w["db"]), share(w["low_db"], w["high_db"]))
        for w in found.get("walls", ())
    )
    blocks: list[Block] = [Para(line) for line in (*lines, left_out(said))]
    if walls:
        heads = ("wall type", "band", "dB before", "dB now", "4 in 5")
        blocks.append(Table(heads, walls, "mlrrl"))
    return [Heading("What the readings taught"), *blocks]


def _offset(offset: Facts) -> str:
    device = offset["device"][:1].upper() + offset["device"][1:]
    device += f" at {offset['band']}" if offset.get("band") else ""
    lower, upper = sorted((abs(offset["low_db"]), abs(offset["high_db"])))
    if offset["low_db"] < 0 < offset["high_db"]:
        return f"{device} reads as predicted, within {decibels(upper)} dB."
    way = "less" if offset["db"] < 0 else "more"
    return SAID["offset"].format(device, decibels(abs(offset["db"])), way, decibels(lower), decibels(upper))


def next_readings(said: Facts) -> list[Block]:
    """Where to read next, the best first."""
    names = {r["room"]: r["name"] for r in said["rooms"]}
    rows = tuple(
        (n["room"], names.get(n["room"], ""), _spot(n), minutes(n["minutes"]), decibels(n["narrows_db"]))
        for n in said["next"]
    )
    if not rows:
        return []
    heads = ("room", "name", "where, in the building's axes", "takes", "narrows by, dB")
    return [
        Heading("Where to read next"),
        Table(heads, rows, "mlllr"),
        Para(SAID["in order"]),
        Para(SAID["how to read"]),
    ]


def _spot(one: Facts) -> str:
    x, y = one.get("own_m") or (one.get("x_m"), one.get("y_m"))
    return "anywhere" if x is None or y is None else f"x {x:.1f} m, y {y:.1f} m"


def read_parts(said: Facts) -> Sequence[Block]:
    """All of it, as a page shows it beside the drawing."""
    return [*next_readings(said), *readings(said)]

"""The page of signal: what matters first, then rooms band by band, needs, readings, what was learned, what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer, Odds
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_scene import SCENE_TAKEN
from pullstring.papers.sentences_signal import LEFT_OUT, LIMITS, NEED_WHY_NOT, SAID, WHY_NOT_KNOWN
from pullstring.papers.words_signal_said import (
    between,
    dbm,
    decibels,
    level,
    listed,
    minutes,
    named,
    rate,
    served,
    share,
)
from pullstring.papers.words_signal_wires import air, channels, links, uplinks

Facts = Mapping[str, Any]
FEW = 3
"""So many of a kind are named in the first lines; all stand in the tables."""


def signal(answer: Answer) -> tuple[str, list[Block]]:
    """The whole page."""
    said = answer.answer
    if not said["rooms"]:
        return f"Signal at {answer.site}, room by room", [Para(SAID["no rooms"])]
    as_read = SAID["as device"].format(said["as_read_by"]) if said.get("as_read_by") else SAID["as plain"]
    blocks: list[Block] = [*(Para(line) for line in first_lines(said)), Para(as_read)]
    blocks += [*rooms(said), *needs(said), *not_known(said), *readings(said), *learned(said), *next_readings(said)]
    blocks += [*channels(said.get("channels") or {}), *links(said.get("links") or ())]
    blocks += [*air(said.get("air") or ()), *uplinks(said.get("uplinks") or ()), *taken(said), *limits(said)]
    return f"Signal at {answer.site}, room by room", blocks


def first_lines(said: Facts) -> list[str]:
    """At most five: how many rooms reach the edge, the need least sure, what contradicts, how far off, what to read next."""
    lines = [_counted(said)]
    if least := _least(said):
        lines.append(least)
    if doubted := [r for r in said["readings"] if r["doubted"]]:
        told = listed([_read_line(r) for r in doubted[:FEW]], last="and")
        lines.append(f"Does not fit together, so read it again: {told}{_more(len(doubted))}.")
    return [*lines, left_out(said), next_line(said)]


def _more(count: int) -> str:
    return f", and {count - FEW} more" if count > FEW else ""


def _counted(said: Facts) -> str:
    count, same = len(said["rooms"]), len(set(said["edge_dbm"].values())) == 1
    parts = []
    for band in said["bands"]:
        there = [r["bands"][band] for r in said["rooms"] if r["bands"].get(band)]
        enough = sum(1 for b in there if b["level_dbm"] >= said["edge_dbm"][band])
        parts.append(f"{enough} of {count} at {band}" + ("" if same else f" ({dbm(said['edge_dbm'][band])} dBm)"))
    dark = len(said["not_known"])
    told = f"; of {dark} nothing is known" if dark else ""
    edge = f"the agreed {dbm(said['edge_dbm'][said['bands'][0]])} dBm" if same else "the agreed edge"
    return f"Rooms with {edge} or more in nine tenths of them: {listed(parts, last='and')}{told}."


def _least(said: Facts) -> str:
    """Needs that are met by less than four chances in five, the least sure first."""
    found = [(r, n) for r in said["rooms"] for n in r["needs"] if n["chance"] is not None and n["chance"] < 0.8]
    found.sort(key=lambda rn: (rn[1]["chance"], rn[0]["room"], rn[1]["need"]))
    if not found:
        return ""
    told = [f"{need_name(n)} in {named(r)} ({chance_of(n)})" for r, n in found[:FEW]]
    return f"Least sure to be met: {listed(told, last='and')}{_more(len(found))}."


def need_name(need: Facts) -> str:
    """What a need is for, with its band where it has one."""
    return f"{need['what'] or need['need']}{' at ' + need['band'] if need.get('band') else ''}"


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
    room = next((named(r) for r in said["rooms"] if r["room"] == one["room"]), one["room"])
    return f"Read next in {room}: {minutes(one['minutes'])}; it narrows the rooms' answers by {decibels(one['narrows_db'])} dB."


def band_line(band: str, at: Facts) -> str:
    """One band in a room as one sentence."""
    parts = [
        f"{band}: about {dbm(at['level_dbm'])} dBm or more in nine tenths of it, {between(at['low_dbm'], at['high_dbm'])}"
    ]
    parts += [s for s in (served(at), rate(at["rate_mbps"], unit=True)) if s]
    if at["read_dbm"] is not None:
        parts.append(f"read there: {dbm(at['read_dbm'])}")
    return "; ".join(parts) + "."


def room_sentence(room: Facts) -> str:
    """A room in a few short sentences: each band, then each need with its chance; or why nothing is known."""
    if not room["known"] or not room["bands"]:
        return f"Not known: {why_not_known(room)}."
    told = [band_line(band, at) for band, at in room["bands"].items()]
    met = [f"{need_name(n)} {chance_of(n)}" for n in room["needs"]]
    return " ".join([*told, *([f"Chance that it is enough: {', '.join(met)}."] if met else [])])


def chance_of(need: Facts) -> str:
    """The chance that a need is met, in words, or why there is none to tell."""
    if need["chance"] is None:
        return sentence(NEED_WHY_NOT, need.get("why_not") or "not known")
    return figures.odds(Odds(need["chance"]))


def why_not_known(room: Facts) -> str:
    """Why nothing is known of a room."""
    return sentence(WHY_NOT_KNOWN, room["why_not_known"] or "no_sender")


ROOM_COLUMNS = ("room", "name", "band", "dBm (4 in 5)", "in half", "served by", "Mb/s", "read")


def rooms(said: Facts) -> list[Block]:
    """Every room and band as a table."""
    rows = tuple(
        _room_row(room, band, at, first=n == 0)
        for room in said["rooms"]
        for n, (band, at) in enumerate(room["bands"].items())
    )
    return [Heading("Rooms"), Table(ROOM_COLUMNS, rows, "mllllllr"), Para(SAID["columns"])] if rows else []


def _room_row(room: Facts, band: str, at: Facts, *, first: bool) -> tuple[str, ...]:
    return (
        room["room"],
        room["name"] if first else "",
        band,
        level(at["level_dbm"], at["low_dbm"], at["high_dbm"]),
        dbm(at["median_dbm"]),
        (at["server"] or "–") + (f", {at['second']} {dbm(at['second_dbm'])}" if at["second"] else ""),
        rate(at["rate_mbps"]) or "–",
        "–" if at["read_dbm"] is None else dbm(at["read_dbm"]),
    )


def needs(said: Facts) -> list[Block]:
    """Every need with its chance."""
    rows = tuple(
        (r["room"], need_name(n), dbm(n["level_dbm"]) if n["level_dbm"] is not None else "–", chance_of(n))
        for r in said["rooms"]
        for n in r["needs"]
    )
    return [Heading("What is needed"), Table(("room", "for", "asks, dBm", "chance"), rows, "mlrl")] if rows else []


def not_known(said: Facts) -> list[Block]:
    """Rooms of which nothing is known, and why."""
    rows = tuple((r["room"], r["name"], why_not_known(r)) for r in said["rooms"] if not r["known"])
    return [Heading("Not known"), Table(("room", "name", "why"), rows, "mll")] if rows else []


def readings(said: Facts) -> list[Block]:
    """What was read beside what is predicted there."""
    rows = tuple(
        (
            r["room"],
            r["band"],
            "none heard" if r["read_dbm"] is None else dbm(r["read_dbm"]),
            "–" if r["predicted_dbm"] is None else dbm(r["predicted_dbm"]),
            between(r["low_dbm"], r["high_dbm"], bare=True),
            "–" if r["off_db"] is None else f"{r['off_db']:+.0f}",
            "does not fit: read it again" if r["doubted"] else "–",
        )
        for r in said["readings"]
    )
    heads = ("room", "band", "read, dBm", "predicted", "4 in 5", "off, dB", "so")
    return [Heading("Readings"), Table(heads, rows, "mlrrlrl")] if rows else []


def _read_line(reading: Facts) -> str:
    read = "none heard" if reading["read_dbm"] is None else f"{dbm(reading['read_dbm'])} dBm"
    foreseen = "" if reading["predicted_dbm"] is None else f" where {dbm(reading['predicted_dbm'])} is predicted"
    return f"{read} at {reading['band']} in room {reading['room']}{foreseen}"


def learned(said: Facts) -> list[Block]:
    """What the readings taught: devices, distance, walls; and how far off it is all the same."""
    found = said["learned"] or {}
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
    lower, upper = sorted((abs(offset["low_db"]), abs(offset["high_db"])))
    if offset["low_db"] < 0 < offset["high_db"]:
        return f"{device} reads as predicted, within {decibels(upper)} dB."
    way = "low" if offset["db"] < 0 else "high"
    return f"{device} reads {decibels(abs(offset['db']))} dB too {way} ({decibels(lower)} to {decibels(upper)})."


def next_readings(said: Facts) -> list[Block]:
    """Where to read next, the best first."""
    rows = tuple((n["room"], _spot(n), minutes(n["minutes"]), decibels(n["narrows_db"])) for n in said["next"])
    if not rows:
        return []
    heads = ("room", "where", "takes", "narrows by, dB")
    return [Heading("Where to read next"), Table(heads, rows, "mllr")]


def _spot(one: Facts) -> str:
    if one.get("x_m") is None:
        return "anywhere"
    return f"x {one['x_m']:.1f} m, y {one['y_m']:.1f} m"


def taken(said: Facts) -> list[Block]:
    """What was taken for granted of the plan, with the things it was taken of."""
    told = [SCENE_TAKEN[t["code"]].format(_few(t["of"])) for t in said.get("taken") or () if t["code"] in SCENE_TAKEN]
    return [Heading("Taken for granted of the plan"), Para("; ".join(told) + ".")] if told else []


def _few(tags: Sequence[str]) -> str:
    most = 2 * FEW
    shown, left = tags[:most], len(tags) - most
    return f"{', '.join(shown)} and {left} more" if left > 0 else listed(tags, last="and")


def limits(said: Facts) -> list[Block]:
    """Where the answer ends."""
    told: Sequence[str] = [sentence(LIMITS, code) for code in said.get("limits") or ()]
    return [Heading("Where this ends"), *(Para(line) for line in told)] if told else []


VERBS = {"signal": signal}

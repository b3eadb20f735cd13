"""The page of signal: what matters first, then rooms band by band, needs, readings, what was learned, what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pullstring.model.answers import Answer, Odds
from pullstring.papers import figures
from pullstring.papers.blocks import Block, Heading, Para, Table
from pullstring.papers.phrases import said as sentence
from pullstring.papers.sentences_scene import SCENE_TAKEN
from pullstring.papers.sentences_signal import LIMITS, NEED_SO, NEED_WHY_NOT, SAID, WHY_NOT_KNOWN
from pullstring.papers.words_signal_read import (
    FEW,
    doubted_line,
    learned,
    left_out,
    next_line,
    next_readings,
    read_counted,
    readings,
)
from pullstring.papers.words_signal_said import SILENT_DBM, between, dbm, level, listed, rate, served
from pullstring.papers.words_signal_wires import air, channels, links, uplinks

Facts = Mapping[str, Any]
ENOUGH = 0.8
"""Ours: a need that is met with this chance or more is not named among those least sure."""
SUREST = 0.002
"""Ours: no chance is told as none or as certain; less than this is `less than 1 in 100`."""


def signal(answer: Answer) -> tuple[str, list[Block]]:
    """The whole page."""
    said = answer.answer
    if "moved" in said:
        there = SAID["moved"].format(
            said["moved"]["sender"], said["moved"]["floor"], *(said["moved"][n] for n in ("x_m", "y_m"))
        )
        return f"Signal at {answer.site}, if one stood elsewhere", [Para(there), *rooms(said), *needs(said)]
    if not said["rooms"]:
        return f"Signal at {answer.site}, room by room", [Para(SAID["no rooms"])]
    blocks: list[Block] = [*(Para(line) for line in first_lines(said)), Para(as_read(said))]
    blocks += [*rooms(said), *needs(said), *not_known(said), *readings(said), *learned(said), *next_readings(said)]
    blocks += [*channels(said.get("channels") or {}, said.get("air_rules")), *links(said.get("links") or ())]
    blocks += [
        *air(said.get("air") or ()),
        *uplinks(said.get("uplinks") or (), said.get("over_air") or ()),
        *taken(said),
        *limits(said),
    ]
    return f"Signal at {answer.site}, room by room", blocks


def as_read(said: Facts) -> str:
    """As which device the levels are told."""
    device = said.get("as_read_by")
    if not said["bands"]:
        return SAID["or read"]
    if not device:
        return SAID["as plain"]
    return SAID["as device"].format(device if device.split()[0] in ("a", "an", "the") else f"the {device}")


def first_lines(said: Facts) -> list[str]:
    """At most five: how many rooms reach the edge, the need least sure, what contradicts, how far off, what to read next."""
    if not said["bands"]:
        return [SAID["nobody sends"]]
    lines = [" ".join(line for line in (_counted(said), read_counted(said)) if line), _least(said), doubted_line(said)]
    return [*(line for line in lines if line), left_out(said), next_line(said)]


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
    found = [(r, n) for r in said["rooms"] for n in r["needs"] if n["chance"] is not None and n["chance"] < ENOUGH]
    found.sort(key=lambda rn: (rn[1]["chance"], rn[0]["room"], rn[1]["need"]))
    if not found:
        return ""
    told = [f"{r['room']} {_short(need_name(n))} ({chance_of(n)})" for r, n in found[:FEW]]
    return f"Least sure to be met: {listed(told, last='and')}{_more(len(found))}."


SHORT = 34
"""Letters of a need in the first lines; longer ones end at a word."""


def _short(text: str) -> str:
    return text if len(text) <= SHORT else f"{text[:SHORT].rsplit(' ', 1)[0].rstrip(',;')} ..."


def need_name(need: Facts) -> str:
    """What a need is for: the unit where it is one, then its words."""
    return f"{need['unit']}: {need['what'] or need['need']}" if need.get("unit") else need["what"] or need["need"]


def band_line(band: str, at: Facts) -> str:
    """One band in a room as one sentence."""
    level_dbm, range_dbm = at["level_dbm"], (at["low_dbm"], at["high_dbm"])
    if level_dbm < SILENT_DBM:
        best = at["high_dbm"]
        parts = [f"{band}: not heard" if best < SILENT_DBM else f"{band}: likely not heard, at best {dbm(best)} dBm"]
    else:
        parts = [f"{band}: about {dbm(level_dbm)} dBm or more in nine tenths of it, {between(*range_dbm)}"]
        parts += [s for s in (served(at), rate(at["rate_mbps"], unit=True)) if s]
    if at["read_dbm"] is not None:
        parts.append(f"read there: {dbm(at['read_dbm'])}")
    return "; ".join(parts) + "."


def room_sentence(room: Facts) -> str:
    """A room in a few short sentences: each band, then each need with its chance; or why nothing is known."""
    if not room["known"] or not room["bands"]:
        return f"Not known: {why_not_known(room)}."
    told = [band_line(band, at) for band, at in room["bands"].items()]
    met = [_met(n) for n in room["needs"]]
    return " ".join([*told, *([f"Chance that it is enough: {'; '.join(met)}."] if met else [])])


def _met(need: Facts) -> str:
    band = f" at {need['band']}" if need.get("band") else ""
    why = f" ({told})" if (told := why_weak(need)) else ""
    return f"{need_name(need)}{band}: {chance_of(need)}{why}"


def chance_of(need: Facts) -> str:
    """The chance that a need is met, in words, or why there is none to tell."""
    if need["chance"] is None:
        return sentence(NEED_WHY_NOT, need.get("why_not") or "not known")
    return figures.odds(Odds(min(max(need["chance"], SUREST), 1 - SUREST)))


def why_weak(need: Facts) -> str:
    """What holds a need back, or why its words were not taken as they stand; empty where there is nothing to say."""
    up = need.get("limited_by") == "up" and need["chance"] is not None and need["chance"] < ENOUGH
    told = [NEED_SO["way back"]] if up else []
    return ", ".join([*told, *(NEED_SO[code] for code in need.get("doubts") or () if code in NEED_SO)])


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
        _by(at) if at["level_dbm"] >= SILENT_DBM else "–",
        rate(at["rate_mbps"]) or "–",
        "–" if at["read_dbm"] is None else dbm(at["read_dbm"]),
    )


def _by(at: Facts) -> str:
    return (at["server"] or "–") + (f", {at['second']} {dbm(at['second_dbm'])}" if at["second"] else "")


def needs(said: Facts) -> list[Block]:
    """Every need with its chance, and what holds it back."""
    rows = tuple(
        (
            r["room"],
            need_name(n),
            n["band"] or "–",
            dbm(n["level_dbm"]) if n["level_dbm"] is not None else "–",
            chance_of(n),
            why_weak(n) or "–",
        )
        for r in said["rooms"]
        for n in r["needs"]
    )
    heads = ("room", "for", "band", "asks, dBm", "chance", "so")
    return [Heading("What is needed"), Table(heads, rows, "mllrll")] if rows else []


def not_known(said: Facts) -> list[Block]:
    """Rooms of which nothing is known, and why."""
    rows = tuple((r["room"], r["name"], why_not_known(r)) for r in said["rooms"] if not r["known"])
    return [Heading("Not known"), Table(("room", "name", "why"), rows, "mll")] if rows else []


def taken(said: Facts) -> list[Block]:
    """What was taken for granted of the plan, with the things it was taken of."""
    told = [SCENE_TAKEN[t["code"]].format(_few(t["of"])) for t in said.get("taken") or () if t["code"] in SCENE_TAKEN]
    lines = [Para(f"{line[:1].upper()}{line[1:]}.") for line in told]
    return [Heading("Taken for granted of the plan"), *lines] if lines else []


def _few(tags: Sequence[str]) -> str:
    most = 2 * FEW
    shown, left = tags[:most], len(tags) - most
    return f"{', '.join(shown)} and {left} more" if left > 0 else listed(tags, last="and")


def limits(said: Facts) -> list[Block]:
    """Where the answer ends."""
    told: Sequence[str] = [sentence(LIMITS, code) for code in said.get("limits") or ()]
    return [Heading("Where this ends"), *(Para(line) for line in told)] if told else []


VERBS = {"signal": signal}
